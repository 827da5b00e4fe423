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
from formulate.errors import InputError
from formulate.ingredients import position
from formulate.mix import Programme, made, require_verified
from formulate.recipes import Recipe
from formulate.solver import (
    AGREES,
    Chosen,
    Rooms,
    Uncertain,
    active_set_of,
    contradictions_g,
    is_counted,
    least_miss,
    of_limits,
    of_prices,
    optima_at,
    optimum,
    programmes_in_order,
    uncertain,
)

__all__ = ["Rebalanced", "rebalance"]


_WATER = position("water")
_ARITHMETIC = 1e-6  # of a target's bound, after linear algebra
_HALVINGS = 4
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

    Returns
    -------
    Rebalanced

    Raises
    ------
    InputError
        If the recipe is not of that kind, has no such ingredient, or a reading cannot be.
    VerificationFault
        If a mix, recomputed from its composition, does not keep what is asked.

    Examples
    --------
    >>> import formulate as fm
    >>> rebalance(fm.load("damson_sorbet"), "damson", [11.0, 12.0, 13.0]).weights.shape
    (3, 6)
    """
    brix = np.asarray(readings, dtype=float).ravel()
    if not brix.size or not np.all((brix > 0.0) & (brix <= 85.0)):
        raise InputError("readings", "must be from above 0 to 85 °Bx", "Read again.")
    if any(entry.steps for entry in recipe.ingredients):
        raise InputError(recipe.name, "has steps", "Take them out, or use a ladder.")
    ends = between(recipe, key, (float(brix.min()), float(brix.max())))
    one, _ = ends.ends[0]
    if is_counted(one) or (one.start is None and one.prices is None):
        problem = "counts ingredients, or gives neither weights nor all prices"
        raise InputError(recipe.name, problem, "Give grams, and take the counts out.")
    width = ends.high - ends.low
    part = np.zeros(len(brix)) if width == 0.0 else (brix - ends.low) / width
    weights = np.full((len(brix), len(one.keys)), np.nan)
    in_order = tuple(zip(*(programmes_in_order(*end) for end in ends.ends), strict=True))
    waiting = np.argsort(part, kind="stable")
    solved = 0
    while waiting.size:
        place = int(waiting[len(waiting) // 2])
        mix, rows = ends.at(float(brix[place]))
        found = optimum(mix, rows)
        solved += 1
        if found is None:
            loosest = in_order[-1]
            here = programmes_in_order(mix, rows)
            hopeless = _hopeless(loosest, part[waiting], here[-1])
            waiting = waiting[~hopeless & (waiting != place)]
            continue
        weights[place] = found.weights
        waiting = waiting[waiting != place]
        near = _near(ends, in_order, found, programmes_in_order(mix, rows), part[waiting])
        if near is not None:
            held, good = near
            weights[waiting[good]] = held[good]
            waiting = waiting[~good]
    possible = ~np.isnan(weights[:, 0])
    (_, _), (last, _) = ends.ends
    of = one.keys.index(key)
    share = part[possible][:, None]
    lots = (1.0 - share) * one.compositions[of] + share * last.compositions[of]
    require_verified(one, made(one, weights[possible], lots, of))
    return Rebalanced(weights, possible, solved)


def _near(
    ends: Readings,
    in_order: tuple[tuple[Programme, Programme], ...],
    found: Chosen,
    here: tuple[Programme, ...],
    parts: Array,
) -> tuple[Array, NDArray[np.bool_]] | None:
    """The mixes of other lots that what holds this one holds too, shape (n, ingredients), and which.

    A lot that could have a mix earlier in the order of wishes is not among them.
    """
    if not parts.size or found.eased:
        return None
    corner = active_set_of(found.kept, found.objective, found.columns, found.solution.prices)
    if corner is None:
        return None
    count, asked = len(found.weights), ends.recipe.balance.margin
    kept, told = [], []
    for (mix, _), programme in zip(ends.ends, in_order[found.rank], strict=True):
        unsure = uncertain(mix, programme)
        rooms = unsure.rooms(found.weights, asked) if asked > 0.0 else found.rooms
        if len(rooms.sides) != len(found.rooms.sides):
            return None
        kept.append(rooms.kept(programme))
        told.append((unsure, rooms))
    held, good = optima_at(kept[0], kept[1], parts, found.objective, corner)
    for rank in range(found.rank):
        good &= _hopeless(in_order[rank], parts, here[rank])
    held = held[:, :count]
    if asked > 0.0:
        good &= _agree(told, held, parts, good, asked)
    return held, good


def _agree(
    told: list[tuple[Uncertain, Rooms]],
    held: Array,
    parts: Array,
    good: NDArray[np.bool_],
    asked: float,
) -> NDArray[np.bool_]:
    """Lots around the middle one at which the room asked for is the room that a mix needs.

    Rooms go nearly straight from one end of the readings to the other, so it is enough to look at the
    ends of a run of lots; where these do not agree, the run is halved about its middle.
    """
    run = np.flatnonzero(good)
    for _ in range(_HALVINGS):
        if not run.size or all(_agrees(told, held[at], parts[at], asked) for at in run[[0, -1]]):
            break
        quarter = max(len(run) // 4, 1)
        run = run[quarter:-quarter]
    else:
        run = run[:0]
    found = np.zeros(len(parts), dtype=bool)
    found[run] = True
    return found


def _agrees(told: list[tuple[Uncertain, Rooms]], weights: Array, part: float, asked: float) -> bool:
    """Whether the room between those of both ends is what these weights need, to what tangents tell."""
    shares = (1.0 - part, part)
    laid = sum(
        share * (rooms.slopes @ weights + rooms.constants)
        for share, (_, rooms) in zip(shares, told, strict=True)
    )
    needed = sum(
        share * unsure.rooms(weights, asked).sizes
        for share, (unsure, _) in zip(shares, told, strict=True)
    )
    return bool(np.all(np.abs(laid - needed) <= AGREES * np.abs(needed)))


def _hopeless(
    ends: tuple[Programme, Programme], parts: Array, rows: Programme
) -> NDArray[np.bool_]:
    """Which lots the proof that one of them has no mix holds for, too, shape (n,)."""
    proof, missed = of_limits(rows), least_miss(rows)
    if missed is not None:
        proof = of_prices(rows, missed.prices, missed.total_price)
    greatest = float(np.abs(proof.rows).max(initial=abs(proof.total)))
    sure = _PROOF * greatest * rows.batch_g
    return contradictions_g(*ends, parts, proof) > sure
