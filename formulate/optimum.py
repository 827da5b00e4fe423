"""Which of all the mixes that meet a programme: the objective, chosen by what the recipe gives."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formulate.mixture import Mixture
from formulate.programme import Programme
from formulate.recipe import Counts
from formulate.solve import Solution, cheapest, counted_change, fewest, least_change

__all__ = ["kept_to_counts", "optimum"]

Array = NDArray[np.float64]

_SAME_G = 1e-7


def optimum(mix: Mixture, programme: Programme) -> Solution | None:
    """Return the mix that the recipe asks for, ``None`` if none can be.

    The smallest change from the present weights where there are any; else the cheapest where every
    ingredient has a price; else the one of fewest and most usual ingredients.  Counts of changes and
    ingredients, and weights that are none or at least so much, are kept.
    """
    least_use = np.array([entry.least_use_g or 0.0 for entry in mix.recipe.ingredients])
    counts = mix.recipe.counts
    counted = counts != Counts() or bool(least_use.any())
    if mix.start is not None:
        if counted:
            return counted_change(programme, mix.start, counts, least_use)
        return least_change(programme, mix.start)
    if mix.prices is not None and not counted:
        return cheapest(programme, mix.prices)
    return fewest(programme, mix.usual, counts, least_use)


def kept_to_counts(mix: Mixture, programme: Programme, weights: Array) -> Programme:
    """Return the programme with limits that keep what counts have decided, for rounding.

    What is unchanged stays, what is not used stays at nothing, what has a minimum use keeps it.
    """
    lower, upper = programme.lower.copy(), programme.upper.copy()
    counts = mix.recipe.counts
    least_use = np.array([entry.least_use_g or 0.0 for entry in mix.recipe.ingredients])
    used = weights > _SAME_G
    lower = np.where(used, np.maximum(lower, least_use), lower)
    if counts.most_ingredients is not None or least_use.any():
        upper = np.where(used, upper, 0.0)
    if counts.most_changes is not None and mix.start is not None:
        same = np.abs(weights - mix.start) <= _SAME_G
        lower = np.where(same, mix.start, lower)
        upper = np.where(same, mix.start, upper)
    return programme.with_limits(lower, np.maximum(upper, lower))
