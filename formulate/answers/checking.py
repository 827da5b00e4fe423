"""What the present weights of a recipe give: nothing is solved, no solver imported."""

from __future__ import annotations

from formulate.answers.result import Result
from formulate.errors import InputError
from formulate.messages import Message, message
from formulate.mix import Mixture, assess, mixture, preparation
from formulate.recipes import Recipe

__all__ = ["check", "scaling"]

_SHOWN_G = 0.05


def check(recipe: Recipe) -> Result:
    """Return what the present weights give, scaled to the batch but for those that are fixed.

    Nothing is solved.

    Parameters
    ----------
    recipe:
        A recipe with weights.

    Returns
    -------
    Result
        ``meets`` or ``misses``.

    Raises
    ------
    InputError
        If a weight is not known, or the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> check(fm.load("damson_sorbet")).status == "misses"
    True
    """
    mix = mixture(recipe)
    present = mix.present
    if mix.start is None:
        problem, remedy = "gives no weights to check", "Give grams, or balance it instead."
        raise InputError(recipe.name, problem, remedy, field="grams")
    if present is None:
        missing = tuple(key for key, known in zip(mix.keys, mix.known, strict=True) if not known)
        problem = f"gives no weight of {', '.join(missing)}, and none is guessed"
        remedy = "Give grams to each, 0 for none, or balance it instead."
        raise InputError(recipe.name, problem, remedy, field="grams", value=missing)
    judged = assess(mix, present)
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status="meets" if judged.all_met else "misses",
        mix=judged,
        mixture=mix,
        present=judged.targets,
        preparation=preparation(mix, present),
        messages=scaling(mix),
    )


def scaling(mix: Mixture) -> tuple[Message, ...]:
    """Return that the present weights were scaled to the batch, if they were.

    Parameters
    ----------
    mix:
        The recipe met with the tables.

    Returns
    -------
    tuple of Message

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> scaling(mixture(fm.load("damson_sorbet")))
    ()
    """
    total, batch = mix.scaled_from, mix.recipe.batch_g
    if total is None or abs(total - batch) <= _SHOWN_G:
        return ()
    fixed = any(entry.fixed for entry in mix.recipe.ingredients)
    return (message("scaled_to_batch", value=total, limit=batch, fixed=fixed),)
