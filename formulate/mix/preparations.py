"""What a cook does with each ingredient before the churn: buy, weigh, prepare."""

from __future__ import annotations

from formulate.arrays import Array
from formulate.messages import Message
from formulate.mix.mixtures import Mixture
from formulate.recipes import infusion_notes, infusion_of, preparation_notes

__all__ = ["preparation"]


def preparation(mix: Mixture, weights: Array) -> tuple[Message, ...]:
    """Return what to do with each ingredient that has steps, in the order of the recipe.

    Parameters
    ----------
    mix, weights:
        The recipe met with the tables, and the weights at the scale [g], shape (ingredients,).

    Returns
    -------
    tuple
        One for each such ingredient.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> preparation(mix, mix.start)
    ()
    """
    found: list[Message] = []
    grams = dict(zip(mix.keys, (float(each) for each in weights), strict=True))
    names = dict(zip(mix.keys, mix.names, strict=True))
    for index, (entry, done) in enumerate(zip(mix.recipe.ingredients, mix.prepared, strict=True)):
        if done is None or grams[entry.key] <= 0.0:
            continue
        for step in entry.steps:
            liquid = str(step.get("in"))
            if step.do == "infuse" and grams.get(liquid, 0.0) > 0.0:
                figures = infusion_of(step, mix.raw[index], mix.kinds[index])
                how = infusion_notes(
                    names[entry.key], names[liquid], grams[entry.key], grams[liquid], figures
                )
                found.append(how[0])
        found += preparation_notes(names[entry.key], done, grams[entry.key])
    return tuple(found)
