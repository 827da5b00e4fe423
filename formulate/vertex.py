"""The corner of the programme that an optimum sits in, and moving it when the programme changes.

A least-change mix of n ingredients is fixed by n things that hold it: rows at a bound, weights at a
limit, weights at their start.  When a reading or a bound changes a little the same things hold it, and
the new mix follows from n linear equations; whether it is still the best is checked by the signs of its
multipliers, without a solver.  This is also an independent proof that a solved mix is optimal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.programme import Programme

__all__ = ["Corner", "Held", "corner_of", "held_by"]

Array = NDArray[np.float64]

_AT_BOUND = 1e-7  # of the batch
_FEASIBLE = 1e-8  # of the batch
_SIGN = 1e-7  # of the largest multiplier


@dataclass(frozen=True)
class Corner:
    """What holds an optimum.

    Attributes
    ----------
    rows:
        Pairs of a row's index and the side that holds: -1 lower, 1 upper.  The index after the last
        row is the total.
    limits:
        Pairs of an ingredient's index and the side: -1 lower limit, 1 upper.
    start:
        Ingredients that keep their start.
    side:
        Whether each ingredient lies above (1) or below (-1) its start, 0 where it keeps it, shape
        (ingredients,).
    """

    rows: tuple[tuple[int, int], ...]
    limits: tuple[tuple[int, int], ...]
    start: tuple[int, ...]
    side: tuple[int, ...]


@dataclass(frozen=True)
class Held:
    """An optimum found from its corner: weights [g], objective, and price of each row and the total."""

    weights: Array
    objective: float
    prices: Array


def corner_of(programme: Programme, start: Array, weights: Array, prices: Array) -> Corner | None:
    """Return what holds a least-change mix; ``None`` if it is no corner.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    start:
        Present weights [g], shape (ingredients,).
    weights:
        The optimum [g].
    prices:
        Price of each row, as the solver gave them: where more things are tight than needed, those with
        a price are taken first.
    """
    tiny = _AT_BOUND * programme.batch_g
    count = len(programme.keys)
    candidates: list[tuple[float, str, int, int, Array]] = [
        (np.inf, "row", len(programme.rows), 1, np.ones(count))
    ]
    values = programme.matrix @ weights
    for index, (value, price) in enumerate(zip(values, prices, strict=True)):
        size = max(1.0, float(np.abs(programme.matrix[index]).max(initial=0.0)))
        for side, bound in ((-1, programme.row_lower[index]), (1, programme.row_upper[index])):
            if abs(value - bound) <= tiny * size:
                candidates.append((abs(price), "row", index, side, programme.matrix[index] / size))
    for index in range(count):
        unit = np.eye(count)[index]
        for side, bound in ((-1, programme.lower[index]), (1, programme.upper[index])):
            if abs(weights[index] - bound) <= tiny:
                candidates.append((1e-9, "limit", index, side, unit))
        if abs(weights[index] - start[index]) <= tiny:
            candidates.append((2e-9, "start", index, 0, unit))
    chosen = _independent(sorted(candidates, key=lambda entry: -entry[0]), count)
    if chosen is None:
        return None
    kept = {index for _, kind, index, _, _ in chosen if kind == "start"}
    side = [0 if index in kept else int(np.sign(weights[index] - start[index])) for index in range(count)]
    for _, kind, index, which, _ in chosen:
        if kind == "limit" and side[index] == 0 and index not in kept:
            side[index] = which  # sits at a limit that is its start: on the side it cannot leave
    return Corner(
        rows=tuple((index, which) for _, kind, index, which, _ in chosen if kind == "row"),
        limits=tuple((index, which) for _, kind, index, which, _ in chosen if kind == "limit"),
        start=tuple(sorted(kept)),
        side=tuple(side),
    )


def _independent(
    candidates: list[tuple[float, str, int, int, Array]], count: int
) -> list[tuple[float, str, int, int, Array]] | None:
    """The first candidates that together fix all weights; ``None`` if they do not."""
    basis: list[Array] = []
    chosen = []
    for candidate in candidates:
        rest = candidate[4].astype(float)
        length = np.linalg.norm(rest)
        for direction in basis:
            rest = rest - (rest @ direction) * direction
        left = np.linalg.norm(rest)
        if length > 0.0 and left > 1e-6 * length:
            basis.append(rest / left)
            chosen.append(candidate)
        if len(chosen) == count:
            return chosen
    return None


def held_by(
    programme: Programme, start: Array, change_weights: Array, corner: Corner
) -> Held | None:
    """Return the optimum that a corner holds, ``None`` if it is not the optimum of this programme.

    Parameters
    ----------
    programme:
        Rows, limits and total: those of the corner, changed a little.
    start, change_weights:
        Present weights [g], and what a gram of change of each counts [1/g].
    corner:
        From :func:`corner_of`.
    """
    count = len(programme.keys)
    total = len(programme.rows)
    matrix, bounds = [], []
    for index, side in corner.rows:
        if index == total:
            matrix.append(np.ones(count))
            bounds.append(programme.total_most)
        else:
            matrix.append(programme.matrix[index])
            bounds.append(programme.row_upper[index] if side > 0 else programme.row_lower[index])
    for index, side in corner.limits:
        matrix.append(np.eye(count)[index])
        bounds.append(programme.upper[index] if side > 0 else programme.lower[index])
    for index in corner.start:
        matrix.append(np.eye(count)[index])
        bounds.append(start[index])
    active, target = np.array(matrix), np.array(bounds)
    if not np.isfinite(target).all():
        return None
    side_of = np.array(corner.side)
    slope = change_weights * side_of
    try:
        weights = np.linalg.solve(active, target)
        multipliers = np.linalg.solve(active.T, slope)
    except np.linalg.LinAlgError:
        return None
    if not _possible(programme, weights):
        return None
    moved = weights - start
    if np.any(moved * side_of < -_AT_BOUND * programme.batch_g):
        return None
    prices = np.zeros(total + 1)
    allowed = _SIGN * float(np.abs(multipliers).max(initial=0.0))
    place = 0
    for index, side in corner.rows:
        prices[index] = multipliers[place]
        equal = index == total or programme.row_lower[index] == programme.row_upper[index]
        if not equal and multipliers[place] * side > allowed:
            return None
        place += 1
    for index, side in corner.limits:
        if programme.lower[index] < programme.upper[index] and multipliers[place] * side > allowed:
            return None
        place += 1
    for index in corner.start:
        if abs(multipliers[place]) > change_weights[index] + allowed:
            return None
        place += 1
    objective = float(change_weights @ np.abs(moved))
    return Held(np.clip(weights, programme.lower, programme.upper), objective, prices)


def _possible(programme: Programme, weights: Array) -> bool:
    tiny = _FEASIBLE * programme.batch_g
    values = programme.matrix @ weights
    return bool(
        np.all(values >= programme.row_lower - tiny)
        and np.all(values <= programme.row_upper + tiny)
        and np.all(weights >= programme.lower - tiny)
        and np.all(weights <= programme.upper + tiny)
    )
