"""What a cook does with each ingredient before the churn: buy, weigh, prepare; in sentences."""

from __future__ import annotations

from formulate.arrays import Array
from formulate.mix.mixtures import Mixture
from formulate.recipes import infusion_of, infusion_sentences, preparation_sentences

__all__ = ["preparation"]


def preparation(mix: Mixture, weights: Array) -> tuple[str, ...]:
    """Return what to do with each ingredient that has steps, in the order of the recipe.

    Parameters
    ----------
    mix, weights:
        The recipe met with the tables, and the weights at the scale [g], shape (ingredients,).
    """
    found: list[str] = []
    grams = dict(zip(mix.keys, (float(each) for each in weights), strict=True))
    names = dict(zip(mix.keys, mix.names, strict=True))
    for index, (entry, done) in enumerate(zip(mix.recipe.ingredients, mix.prepared, strict=True)):
        if done is None or grams[entry.key] <= 0.0:
            continue
        for step in entry.steps:
            liquid = str(step.get("in"))
            if step.do == "infuse" and grams.get(liquid, 0.0) > 0.0:
                figures = infusion_of(step, mix.raw[index], mix.kinds[index])
                words = (names[entry.key].lower(), names[liquid].lower())
                how = infusion_sentences(*words, grams[entry.key], grams[liquid], figures)
                found.append(how[0])
        found += preparation_sentences(names[entry.key], done, grams[entry.key])
    return tuple(found)
