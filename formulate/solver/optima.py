"""Which of all the mixes that meet a programme: the objective, chosen by what the recipe gives."""

from __future__ import annotations

import numpy as np

from formulate.arrays import Array
from formulate.mix import Mixture, Programme
from formulate.recipes import Counts, most_share
from formulate.solver.active_set import Objective
from formulate.solver.objectives import (
    Solution,
    change_weights,
    cheapest,
    cost_weights,
    least_change,
)
from formulate.solver.whole_numbers import counted_change, fewest

__all__ = ["is_counted", "kept_to_counts", "objective_of", "optimum", "within_usual"]


_SAME_G = 1e-7
_SMALL_REACH = 1e-3  # g/g: of a herb next to nothing reaches the mix
_REAL_USE = 1e-3  # of the batch: less of an ingredient makes no other mix


def optimum(
    mix: Mixture, programme: Programme, not_again: tuple[frozenset[int], ...] = ()
) -> Solution | None:
    """Return the mix that the recipe asks for, ``None`` if none can be.

    The smallest change from the present weights where there are any; else the cheapest where every
    ingredient has a price; else the one of fewest and most usual ingredients.  Counts of changes and
    ingredients, and weights that are none or at least so much, are kept; sets of ingredients of
    ``not_again`` are not taken once more.  A mix :func:`within_usual` comes before any other.
    """
    usual = within_usual(mix, programme)
    found = _best(mix, usual, not_again)
    if found is None and usual is not programme:
        return _best(mix, programme, not_again)
    return found


def within_usual(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme in which no ingredient rises beyond what is usual of its kind.

    Where a recipe gives a ``max_g`` or has more than that already, it is the cook who knows.
    """
    entries = zip(mix.recipe.ingredients, mix.kinds, strict=True)
    share = np.array([1.0 if e.max_g is not None else most_share(kind) for e, kind in entries])
    most = share * programme.batch_g / np.maximum(mix.reach, _SMALL_REACH)
    start = np.zeros(len(mix.keys)) if mix.start is None else mix.start
    open_ = (share >= 1.0) | (start > most) | (most >= programme.upper)
    if open_.all():
        return programme
    upper = np.where(open_, programme.upper, most)
    return programme.with_limits(programme.lower, np.maximum(upper, programme.lower))


def _best(
    mix: Mixture, programme: Programme, not_again: tuple[frozenset[int], ...]
) -> Solution | None:
    least_use = np.array([entry.least_use_g or 0.0 for entry in mix.recipe.ingredients])
    counts, counted = mix.recipe.counts, is_counted(mix) or bool(not_again)
    if not_again:
        least_use = np.maximum(least_use, _REAL_USE * programme.batch_g)
        least_use = np.minimum(least_use, programme.upper)
    if mix.start is not None:
        if counted:
            return counted_change(programme, mix.start, counts, least_use, not_again, mix.known)
        return least_change(programme, mix.start, mix.known)
    if mix.prices is not None and not counted:
        return cheapest(programme, mix.prices)
    return fewest(programme, mix.usual, counts, least_use, not_again)


def is_counted(mix: Mixture) -> bool:
    """Say whether the recipe counts changes or ingredients, or has weights that are none or so much."""
    least_use = any(entry.least_use_g for entry in mix.recipe.ingredients)
    return mix.recipe.counts != Counts() or least_use


def objective_of(mix: Mixture, programme: Programme) -> Objective | None:
    """Return what :func:`optimum` minimises, ``None`` where it counts and so is no linear wish."""
    nothing = np.zeros(len(mix.keys))
    if is_counted(mix):
        return None
    if mix.start is not None:
        weight = change_weights(programme, mix.start, mix.known)
        return Objective(mix.start, weight, nothing)
    if mix.prices is not None:
        return Objective(nothing, nothing, cost_weights(programme, mix.prices))
    return None


def kept_to_counts(mix: Mixture, programme: Programme, weights: Array) -> Programme:
    """Return the programme with limits that keep what was decided, for rounding.

    What is unchanged stays, what is not used stays at nothing, what has a minimum use keeps it, where
    that was counted; and what is within the usual stays there.
    """
    usual = within_usual(mix, programme)
    if usual is not programme and np.all(weights <= usual.upper + _SAME_G):
        programme = usual
    if not is_counted(mix):
        return programme
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
