"""The corner of the programme that an optimum sits in, and moving it when the programme changes.

What an optimum minimises is ``cost . weights + change . |weights - start|``.  A mix of n ingredients is
fixed by n things that hold it: rows at a bound, weights at a limit, weights at their start.  When a
reading or a bound changes a little the same things hold it, and the new mix follows from n linear
equations; whether it is still the best is checked by the signs of its multipliers, without a solver.
That makes it an independent proof that a solved mix is optimal, too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.mix import Programme
from formulate.solver.objectives import Objective

__all__ = [
    "ActiveSet",
    "Optimum",
    "active_set_of",
    "holds_between",
    "optima_at",
    "optimum_at",
]


_AT_BOUND = 1e-7  # of the batch
_FEASIBLE = 1e-8  # of the batch
_SIGN = 1e-7  # of the largest multiplier
_DOUBLINGS = 7
_HALVINGS = 14


@dataclass(frozen=True)
class ActiveSet:
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
class Optimum:
    """An optimum found from its corner: weights [g], objective, and price of each row and the total."""

    weights: Array
    objective: float
    prices: Array


@dataclass(frozen=True)
class _Hold:
    """One thing that is tight: its kind, index, side, gradient, and how much it matters."""

    kind: str
    index: int
    side: int
    gradient: Array
    weight: float


def active_set_of(
    programme: Programme, objective: Objective, weights: Array, prices: Array
) -> ActiveSet | None:
    """Return what holds an optimum; ``None`` if it is no corner.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    objective:
        What it minimises.
    weights:
        The optimum [g].
    prices:
        Price of each row, as the solver gave them: where more things are tight than needed, those with
        a price are taken first.

    Returns
    -------
    ActiveSet or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> from formulate.solver import best, relative_change
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> asked = relative_change(rows, mix.start)
    >>> found = best(rows, asked)
    >>> corner = active_set_of(rows, asked, found.weights, found.prices)
    >>> len(corner.rows) + len(corner.limits) + len(corner.start)
    6
    """
    count = len(programme.keys)
    chosen = _independent(_tight(programme, objective, weights, prices), count)
    if chosen is None:
        return None
    kept = {hold.index for hold in chosen if hold.kind == "start"}
    away = np.where(
        np.abs(weights - objective.start) <= 1e-9 * programme.batch_g, 0, weights - objective.start
    )
    sides = [0 if index in kept else int(np.sign(away[index])) for index in range(count)]
    for hold in chosen:
        if hold.kind == "limit" and sides[hold.index] == 0 and hold.index not in kept:
            sides[hold.index] = (
                hold.side
            )  # at a limit that is its start: on the side it cannot leave
    return ActiveSet(
        rows=tuple((hold.index, hold.side) for hold in chosen if hold.kind == "row"),
        limits=tuple((hold.index, hold.side) for hold in chosen if hold.kind == "limit"),
        start=tuple(sorted(kept)),
        side=tuple(sides),
    )


def optimum_at(programme: Programme, objective: Objective, corner: ActiveSet) -> Optimum | None:
    """Return the optimum that a corner holds, ``None`` if it is not the optimum of this programme.

    Parameters
    ----------
    programme:
        Rows, limits and total: those of the corner, changed a little.
    objective:
        What is minimised.
    corner:
        From :func:`active_set_of`.

    Returns
    -------
    Optimum or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> from formulate.solver import best, relative_change
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> asked = relative_change(rows, mix.start)
    >>> found = best(rows, asked)
    >>> corner = active_set_of(rows, asked, found.weights, found.prices)
    >>> abs(optimum_at(rows, asked, corner).objective - found.objective) < 1e-6
    True
    """
    active, bounds = _equations(programme, objective, corner)
    if not np.isfinite(bounds).all():
        return None
    side = np.array(corner.side)
    try:
        weights: Array = np.asarray(np.linalg.solve(active, bounds), dtype=float)
        multipliers = np.linalg.solve(active.T, objective.cost + objective.change * side)
    except np.linalg.LinAlgError:
        return None
    wrong_side = (weights - objective.start) * side < -_AT_BOUND * programme.batch_g
    if np.any(wrong_side & (objective.change > 0.0)) or not _possible(programme, weights):
        return None
    if not _signs_are_right(programme, objective, corner, multipliers):
        return None
    prices = np.zeros(len(programme.rows) + 1)
    for (index, _), multiplier in zip(corner.rows, multipliers, strict=False):
        prices[index] = multiplier
    inside = np.clip(weights, programme.lower, programme.upper)
    return Optimum(inside, objective.of(inside), prices)


def optima_at(
    first: Programme, last: Programme, parts: Array, objective: Objective, corner: ActiveSet
) -> tuple[Array, NDArray[np.bool_]]:
    """Return what :func:`optimum_at` does for many programmes on the straight line between two.

    Parameters
    ----------
    first, last:
        Programmes that differ in their rows alone.
    parts:
        Where between them, 0 to 1, shape (n,).
    objective, corner:
        As there.

    Returns
    -------
    Weights [g], shape (n, ingredients), and whether they are the optimum, shape (n,).

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> from formulate.solver import best, relative_change
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> asked = relative_change(rows, mix.start)
    >>> found = best(rows, asked)
    >>> corner = active_set_of(rows, asked, found.weights, found.prices)
    >>> weights, proved = optima_at(rows, rows, np.array([0.0, 0.5, 1.0]), asked, corner)
    >>> weights.shape, bool(proved.all())
    ((3, 6), True)
    """
    one, low_part = _equations(first, objective, corner)
    other, high_part = _equations(last, objective, corner)
    number, count, lots = len(corner.rows), len(corner.side), len(parts)
    held = np.array([*(index for index, _ in corner.limits), *corner.start], dtype=np.intp)
    free = np.setdiff1d(np.arange(count), held)
    side = np.array(corner.side)
    slope = objective.cost + objective.change * side
    share = parts[:, None]
    # What a limit or its start holds is put in; the rest follows from the rows, a smaller system.
    rows = (1.0 - share[..., None]) * one[:number] + share[..., None] * other[:number]
    bounds = (1.0 - share) * low_part[:number] + share * high_part[:number]
    active = rows[:, :, free]
    good = np.abs(np.linalg.det(active)) > 0.0
    active[~good] = np.eye(number)
    weights = np.empty((lots, count))
    weights[:, held] = low_part[number:]
    rest = bounds - rows[:, :, held] @ low_part[number:]
    weights[:, free] = np.linalg.solve(active, rest[..., None])[..., 0]
    right = np.broadcast_to(slope[free][:, None], (lots, number, 1))
    prices = np.linalg.solve(np.swapaxes(active, 1, 2), right)[..., 0]
    of_held = slope[held] - np.einsum("nr,nrh->nh", prices, rows[:, :, held])
    multipliers = np.hstack([prices, of_held])
    tiny = _FEASIBLE * first.batch_g
    values = (1.0 - parts)[:, None] * (weights @ first.matrix.T) + parts[:, None] * (
        weights @ last.matrix.T
    )
    lower = first.row_lower + share * _moved(first.row_lower, last.row_lower)
    upper = first.row_upper + share * _moved(first.row_upper, last.row_upper)
    good &= np.all((values >= lower - tiny) & (values <= upper + tiny), axis=1)
    good &= np.all((weights >= first.lower - tiny) & (weights <= first.upper + tiny), axis=1)
    wrong_side = (weights - objective.start) * side < -_AT_BOUND * first.batch_g
    good &= ~np.any(wrong_side & (objective.change > 0.0), axis=1)
    good &= _signs_are_right(first, objective, corner, multipliers)
    return np.clip(weights, first.lower, first.upper), good


def _moved(first: Array, last: Array) -> Array:
    """How far bounds move from one programme to another; 0 where there is none."""
    found = np.zeros(len(first))
    there = np.isfinite(first)
    found[there] = last[there] - first[there]
    return found


def holds_between(
    moved: Callable[[float], Optimum | None], bound: float, step: float
) -> tuple[float, float]:
    """Return the bounds between which a corner stays the optimum.

    Parameters
    ----------
    moved:
        The optimum that the corner holds with the bound at a value, or ``None``.
    bound:
        Where it holds.
    step:
        A first step to either side; the search goes as far as 64 of it.

    Returns
    -------
    tuple of float

    Examples
    --------
    >>> holds_between(lambda bound: None, 20.0, 0.1)
    (20.0, 20.0)
    """
    return _farthest(moved, bound, -step), _farthest(moved, bound, step)


def _farthest(moved: Callable[[float], Optimum | None], bound: float, step: float) -> float:
    good, bad = 0.0, None
    for _ in range(_DOUBLINGS):
        trial = 2.0 * good if good else step
        if moved(bound + trial) is None:
            bad = trial
            break
        good = trial
    if bad is None:
        return bound + good
    for _ in range(_HALVINGS):
        middle = 0.5 * (good + bad)
        if moved(bound + middle) is None:
            bad = middle
        else:
            good = middle
    return bound + good


def _tight(
    programme: Programme, objective: Objective, weights: Array, prices: Array
) -> list[_Hold]:
    """Everything that is tight, what matters most first; the total always."""
    tiny = _AT_BOUND * programme.batch_g
    count = len(programme.keys)
    unit = np.eye(count)
    found = [_Hold("row", len(programme.rows), 1, programme.reach, np.inf)]
    for index, (row, price) in enumerate(zip(programme.matrix, prices, strict=True)):
        size = max(1.0, float(np.abs(row).max(initial=0.0)))
        value = float(row @ weights)
        for side, bound in ((-1, programme.row_lower[index]), (1, programme.row_upper[index])):
            if abs(value - bound) <= tiny * size:
                found.append(_Hold("row", index, side, row / size, abs(float(price))))
    for index in range(count):
        if objective.change[index] > 0.0 and abs(weights[index] - objective.start[index]) <= tiny:
            found.append(_Hold("start", index, 0, unit[index], 2e-12))
        for side, bound in ((-1, programme.lower[index]), (1, programme.upper[index])):
            if abs(weights[index] - bound) <= tiny:
                found.append(_Hold("limit", index, side, unit[index], 1e-12))
    return sorted(found, key=lambda hold: -hold.weight)


def _independent(candidates: list[_Hold], count: int) -> list[_Hold] | None:
    """The first candidates that together fix all weights; ``None`` if they do not."""
    basis: list[Array] = []
    chosen = []
    for candidate in candidates:
        rest = candidate.gradient.astype(float)
        length = float(np.linalg.norm(rest))
        for direction in basis:
            rest = rest - (rest @ direction) * direction
        left = float(np.linalg.norm(rest))
        if length > 0.0 and left > 1e-6 * length:
            basis.append(rest / left)
            chosen.append(candidate)
        if len(chosen) == count:
            return chosen
    return None


def _equations(
    programme: Programme, objective: Objective, corner: ActiveSet
) -> tuple[Array, Array]:
    """The equations that hold the corner: rows, then limits, then starts."""
    count, total = len(programme.keys), len(programme.rows)
    unit = np.eye(count)
    matrix, bounds = [], []
    for index, side in corner.rows:
        if index == total:
            matrix.append(programme.reach)
            bounds.append(programme.total_most)
        else:
            matrix.append(programme.matrix[index])
            bounds.append(programme.row_upper[index] if side > 0 else programme.row_lower[index])
    for index, side in corner.limits:
        matrix.append(unit[index])
        bounds.append(programme.upper[index] if side > 0 else programme.lower[index])
    for index in corner.start:
        matrix.append(unit[index])
        bounds.append(objective.start[index])
    return np.array(matrix), np.array(bounds)


def _signs_are_right(
    programme: Programme, objective: Objective, corner: ActiveSet, multipliers: Array
) -> NDArray[np.bool_]:
    """Whether every multiplier pushes the way that what it belongs to can hold, along the last axis.

    Where a start is also a limit, the limit bears what the objective to stay does not.
    """
    tiny = _AT_BOUND * programme.batch_g
    side, below, above = [], [], []  # what each may do: -1 or 1 one way, 0 both; and how far
    for index, which in corner.rows:
        if index == len(programme.rows):
            equal = programme.total_least == programme.total_most
        else:
            equal = programme.row_lower[index] == programme.row_upper[index]
        side.append(0 if equal else which)
    for index, which in corner.limits:
        side.append(which if programme.lower[index] < programme.upper[index] else 0)
    for way in side:
        below.append(0.0 if way < 0 else -np.inf)
        above.append(0.0 if way > 0 else np.inf)
    for index in corner.start:
        low, high = (
            objective.cost[index] - objective.change[index],
            objective.cost[index] + objective.change[index],
        )
        below.append(low if objective.start[index] < programme.upper[index] - tiny else -np.inf)
        above.append(high if objective.start[index] > programme.lower[index] + tiny else np.inf)
    allowed = _SIGN * np.abs(multipliers).max(axis=-1, keepdims=True, initial=0.0)
    inside = (multipliers >= np.array(below) - allowed) & (multipliers <= np.array(above) + allowed)
    return np.asarray(inside.all(axis=-1))


def _possible(programme: Programme, weights: Array) -> bool:
    tiny = _FEASIBLE * programme.batch_g
    values = programme.matrix @ weights
    return bool(
        np.all(values >= programme.row_lower - tiny)
        and np.all(values <= programme.row_upper + tiny)
        and np.all(weights >= programme.lower - tiny)
        and np.all(weights <= programme.upper + tiny)
    )
