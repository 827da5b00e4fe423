"""What the present weights of a recipe give: nothing is solved, no solver imported."""

from __future__ import annotations

import numpy as np

from formulate.answers.result import Result
from formulate.errors import InputError
from formulate.mix import assess, mixture, preparation
from formulate.recipes import Recipe

__all__ = ["check"]


def check(recipe: Recipe) -> Result:
    """Return what the present weights give, scaled to the batch.  Nothing is solved.

    Raises
    ------
    InputError
        If the recipe gives no weights, or cannot be read against the tables.
    """
    mix = mixture(recipe)
    if mix.start is None:
        raise InputError(
            recipe.name, "gives no weights to check", "Give grams, or balance it instead."
        )
    judged = assess(mix, mix.start)
    grams = np.array([entry.grams or 0.0 for entry in recipe.ingredients])
    total = float(mix.reach @ grams)
    messages: list[str] = []
    if abs(total - recipe.batch_g) > 0.05:
        messages.append(
            f"The weights add up to {total:,.0f} g and were scaled to the batch of "
            f"{recipe.batch_g:,.0f} g."
        )
    status = "meets" if judged.all_met else "misses"
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status=status,
        mix=judged,
        mixture=mix,
        present=judged.targets,
        preparation=preparation(mix, mix.start),
        messages=tuple(messages),
    )
