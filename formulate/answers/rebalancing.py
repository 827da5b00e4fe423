"""Thousands of lots rebalanced at once: one solve for each corner, not for each lot.

A lot's reading moves every row of the programme along a straight line.  The corner that holds one lot is
tried on all that are left, as one batch of small linear systems with the checks that prove an optimum
(:func:`formulate.solver.active_set.held_by`, all at once); what it does not hold waits for the
next corner.  Where
no mix can be, the proof of that is tried on all that are left, too.  Every answer is recomputed from
composition.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.answers.ladders import Readings, between
from formulate.arrays import Array
from formulate.errors import InputError, VerificationFault
from formulate.freezing import freezing_model
from formulate.ingredients import position, properties
from formulate.mix import FREEZING_KEY, Programme
from formulate.recipes import Recipe
from formulate.solver import (
    active_set_of,
    contradictions_g,
    least_miss,
    of_limits,
    of_prices,
    optima_at,
    optimum,
    within_usual,
)

__all__ = ["Rebalanced", "rebalance"]


_WATER = position("water")
_ARITHMETIC = 1e-6  # of a target's bound, after linear algebra
_PROOF = 1e-7  # of the batch and the greatest multiplier: a lot that is nearer is solved by itself


@dataclass(frozen=True)
class Rebalanced:
    """The exact mix of every lot.

    Attributes
    ----------
    weights:
        [g], shape (lots, ingredients); NaN where no mix can be.
    possible:
        Whether there is a mix, shape (lots,).
    solved:
        How many programmes were solved.
    """

    weights: Array
    possible: NDArray[np.bool_]
    solved: int


def rebalance(recipe: Recipe, key: str, readings: ArrayLike) -> Rebalanced:
    """Return the least-change mix for every reading of one ingredient.

    Parameters
    ----------
    recipe:
        With weights or prices, and without counts or steps.
    key:
        The ingredient that is read.
    readings:
        [°Bx], shape (lots,), in any order.

    Raises
    ------
    InputError
        If the recipe is not of that kind, has no such ingredient, or a reading cannot be.
    VerificationFault
        If a mix, recomputed from its composition, misses a target.
    """
    brix = np.asarray(readings, dtype=float).ravel()
    if not brix.size or not np.all((brix > 0.0) & (brix <= 85.0)):
        raise InputError("readings", "must be from above 0 to 85 °Bx", "Read again.")
    if any(entry.steps for entry in recipe.ingredients):
        raise InputError(recipe.name, "has steps", "Take them out, or use a ladder.")
    ends = between(recipe, key, (float(brix.min()), float(brix.max())))
    wish = ends.wish
    if wish is None:
        problem = "counts ingredients, or gives neither weights nor all prices"
        raise InputError(recipe.name, problem, "Give grams, and take the counts out.")
    first, last = (within_usual(*end) for end in ends.ends)
    width = ends.high - ends.low
    part = np.zeros(len(brix)) if width == 0.0 else (brix - ends.low) / width
    weights = np.full((len(brix), len(first.keys)), np.nan)
    waiting = np.argsort(part, kind="stable")
    solved = 0
    while waiting.size:
        place = int(waiting[len(waiting) // 2])
        mix, rows = ends.at(float(brix[place]))
        found = optimum(mix, rows)
        solved += 1
        if found is None:
            (_, one), (_, other) = ends.ends
            waiting = waiting[~_hopeless(one, other, part[waiting], rows)]
            waiting = waiting[waiting != place]
            continue
        weights[place] = found.weights
        corner = active_set_of(within_usual(mix, rows), wish, found.weights, found.prices)
        if corner is not None:
            held, good = optima_at(first, last, part[waiting], wish, corner)
            weights[waiting[good]] = held[good]
            waiting = waiting[~good]
        waiting = waiting[waiting != place]
    possible = ~np.isnan(weights[:, 0])
    _require_met(ends, part, weights, possible)
    return Rebalanced(weights, possible, solved)


def _hopeless(
    first: Programme, last: Programme, parts: Array, rows: Programme
) -> NDArray[np.bool_]:
    """Which lots the proof that one of them has no mix holds for, too, shape (n,)."""
    proof, missed = of_limits(rows), least_miss(rows)
    if missed is not None:
        proof = of_prices(rows, missed.prices, missed.total_price)
    greatest = float(np.abs(proof.rows).max(initial=abs(proof.total)))
    sure = _PROOF * greatest * rows.batch_g
    return contradictions_g(first, last, parts, proof) > sure


def _require_met(ends: Readings, part: Array, weights: Array, possible: NDArray[np.bool_]) -> None:
    """Recompute every mix from composition and refuse the lot if one misses a target."""
    (first, _), (last, _) = ends.ends
    recipe = first.recipe
    grams, share = weights[possible], part[possible][:, None]
    total = grams @ first.reach
    mixes = (1.0 - share) * (grams @ first.compositions) + share * (grams @ last.compositions)
    mixes = mixes / total[:, None]
    asked = [
        (mixes @ properties()[key].weights, bounds)
        for key, bounds in recipe.targets.items()
        if key in properties()
    ]
    if FREEZING_KEY in recipe.targets:
        points = freezing_model().initial_freezing_point(mixes)
        asked.append((points, recipe.targets[FREEZING_KEY]))
    if recipe.serving is not None:
        held = freezing_model().water_held_exact([recipe.serving.temperature_c])[0]
        frozen = 100.0 * (1.0 - mixes @ held / mixes[:, _WATER])
        asked.append((frozen, recipe.serving.frozen_water))
    for values, bounds in asked:
        for bound, sign in ((bounds.min, 1.0), (bounds.max, -1.0)):
            if bound is None:
                continue
            allowed = 1e-3 + _ARITHMETIC * abs(bound)
            if np.any(sign * (values - bound) < -allowed):
                raise VerificationFault("A rebalanced lot misses a target; none is shown.")
