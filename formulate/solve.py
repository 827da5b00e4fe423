"""The only room that knows a solver: scipy's HiGHS.

Takes arrays, checks that they are finite, and returns weights or a named status.  scipy is imported
when the first programme is solved, because importing it takes longer than solving.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.errors import SolverFault
from formulate.programme import Programme
from formulate.recipe import Counts

__all__ = [
    "Solution",
    "change_weights",
    "cheapest",
    "counted_change",
    "fewest",
    "greatest",
    "is_possible",
    "least_change",
    "least_miss",
    "on_steps",
    "span",
    "spans_near",
]

Array = NDArray[np.float64]

# A change counts relative to the present weight, but not below this share of the batch: otherwise a
# pinch could never change and a new ingredient could never come in.
_SMALLEST_BASE = 0.02

# Written tie-break: where two mixes are equally good, the one that changes (or uses) ingredients
# earlier in the alphabet by their key wins.
_TIE = 1e-6

_MOST_NODES = 2000

_OPTIMAL, _INFEASIBLE = 0, 2


@dataclass(frozen=True)
class Solution:
    """Weights [g] in the order of the programme, and the value of the objective.

    Attributes
    ----------
    prices:
        Change of the objective per gram by which the bound of each row is raised, shape (rows,): not
        above 0 where the upper bound holds it, not below 0 where the lower one does.
    total_price:
        The same for the total.
    gap:
        How far the objective may lie above the best one [share]; 0 unless counts were asked for.
    """

    weights: Array
    objective: float
    prices: Array
    total_price: float = 0.0
    gap: float = 0.0


@dataclass(frozen=True)
class _Answer:
    """Variables, objective, and change of the objective per unit of each row's bound."""

    x: Array
    objective: float
    prices: Array


def least_change(programme: Programme, start: Array) -> Solution | None:
    """Return the mix with the smallest sum of relative changes from ``start``; ``None`` if none can be.

    Parameters
    ----------
    programme:
        Rows and limits.
    start:
        Present weights [g], shape (ingredients,), not negative.
    """
    count = len(programme.keys)
    weight = change_weights(programme, start)
    rows, lower, upper = _with_total(programme)
    least, most = _up_and_down(programme, start)
    offset = rows @ start
    found = _linear(
        np.concatenate([weight, weight]),
        np.hstack([rows, -rows]),
        lower - offset,
        upper - offset,
        least,
        most,
    )
    if found is None:
        return None
    moved = found.x[:count] - found.x[count:]
    weights = np.clip(start + moved, programme.lower, programme.upper)
    return _solution(weights, found)


def change_weights(programme: Programme, start: Array) -> Array:
    """Return what one gram of change of each ingredient counts [1/g], tie-break included."""
    base = np.maximum(start, _SMALLEST_BASE * programme.batch_g)
    return np.asarray((1.0 + _tie_break(programme)) / base)


def spans_near(
    programme: Programme, start: Array, ceiling: float, directions: Array
) -> list[tuple[float, float]]:
    """Return the least and greatest ``direction . weights`` of mixes that change no more than a ceiling.

    Parameters
    ----------
    programme, start:
        As for :func:`least_change`.
    ceiling:
        Greatest sum of relative changes; at least that of the least change.
    directions:
        Shape (directions, ingredients).
    """
    weight = change_weights(programme, start)
    rows, lower, upper = _with_total(programme)
    least, most = _up_and_down(programme, start)
    offset = rows @ start
    matrix = np.vstack([np.hstack([rows, -rows]), np.concatenate([weight, weight])])
    low, high = np.append(lower - offset, -np.inf), np.append(upper - offset, ceiling)
    found = []
    for direction in directions:
        ends = []
        for sign in (1.0, -1.0):
            cost = sign * np.concatenate([direction, -direction])
            answer = _linear(cost, matrix, low, high, least, most)
            if answer is None:
                raise SolverFault("The mix that was found before cannot be found again.")
            ends.append(sign * answer.objective + float(direction @ start))
        found.append((ends[0], ends[1]))
    return found


def _up_and_down(programme: Programme, start: Array) -> tuple[Array, Array]:
    """Limits of what is added and taken away: weights = start + up - down, both not negative."""
    up_most = np.maximum(programme.upper - start, 0.0)
    down_most = np.maximum(start - programme.lower, 0.0)
    up_least = np.maximum(programme.lower - start, 0.0)
    down_least = np.maximum(start - programme.upper, 0.0)
    least = np.concatenate([up_least, down_least])
    return least, np.maximum(np.concatenate([up_most, down_most]), least)


def counted_change(
    programme: Programme, start: Array, counts: Counts, least_use: Array
) -> Solution | None:
    """Return the least change with at most so many changes and ingredients, none or at least a minimum.

    Parameters
    ----------
    programme, start:
        As for :func:`least_change`.
    counts:
        Most changes and most ingredients.
    least_use:
        What is used at least, where it is used at all [g], shape (ingredients,).
    """
    count = len(programme.keys)
    weight = change_weights(programme, start)
    least, most = _up_and_down(programme, start)
    rows, lower, upper = _with_total(programme)
    zeros, eye = np.zeros((len(rows), 2 * count)), np.eye(count)
    none = np.zeros((count, count))
    up_most, down_most = most[:count], most[count:]
    ceiling = np.minimum(programme.upper, programme.batch_g)
    # columns: up, down, changed (0 or 1), used (0 or 1)
    blocks = [
        (np.hstack([rows, -rows, zeros]), lower - rows @ start, upper - rows @ start),
        (np.hstack([eye, none, -np.diag(up_most), none]), None, np.zeros(count)),
        (np.hstack([none, eye, -np.diag(down_most), none]), None, np.zeros(count)),
        (np.hstack([eye, -eye, none, -np.diag(ceiling)]), None, -start),
        (np.hstack([eye, -eye, none, -np.diag(least_use)]), -start, None),
    ]
    for most_of, place in ((counts.most_changes, 2), (counts.most_ingredients, 3)):
        if most_of is not None:
            row = np.zeros((1, 4 * count))
            row[0, place * count : (place + 1) * count] = 1.0
            blocks.append((row, None, np.array([float(most_of)])))
    found = _mixed(
        np.concatenate([weight, weight, np.full(2 * count, _TIE)]),
        blocks,
        np.concatenate([least, np.zeros(2 * count)]),
        np.concatenate([most, np.ones(2 * count)]),
        np.repeat([0, 0, 1, 1], count),
    )
    if found is None:
        return None
    x, objective, gap = found
    weights = np.clip(start + x[:count] - x[count : 2 * count], programme.lower, programme.upper)
    weights = np.where(x[2 * count : 3 * count] < 0.5, start, weights)
    weights = np.where(x[3 * count :] < 0.5, 0.0, weights)
    return Solution(weights, objective, np.zeros(len(programme.rows)), gap=gap)


def _mixed(
    cost: Array,
    blocks: list[tuple[Array, Array | None, Array | None]],
    least: Array,
    most: Array,
    whole: Array,
) -> tuple[Array, float, float] | None:
    """Minimise cost . x over blocks of rows with some x whole; return x, objective and gap."""
    optimize = _optimize()
    _check_finite(cost, least, *(block[0] for block in blocks))
    if np.any(least > most):
        return None
    answer = optimize.milp(
        cost,
        constraints=[
            optimize.LinearConstraint(
                matrix, -np.inf if low is None else low, np.inf if high is None else high
            )
            for matrix, low, high in blocks
        ],
        bounds=optimize.Bounds(least, most),
        integrality=whole,
        options={"node_limit": 20 * _MOST_NODES, "mip_rel_gap": 1e-6},
    )
    if answer.status == _INFEASIBLE:
        return None
    if answer.x is None:
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    return np.asarray(answer.x), float(answer.fun), float(answer.mip_gap or 0.0)


def cheapest(programme: Programme, prices: Array) -> Solution | None:
    """Return the mix of least cost, ``prices`` per kg, shape (ingredients,); ``None`` if none can be."""
    scale = max(float(prices.max()), 1e-9)
    cost = prices / scale + _TIE * _tie_break(programme)
    found = _linear(cost, *_with_total(programme), programme.lower, programme.upper)
    return None if found is None else _solution(found.x, found)


def fewest(
    programme: Programme, usual: ArrayLike, counts: Counts, least_use: Array
) -> Solution | None:
    """Return the mix of fewest and most usual ingredients; ``None`` if none can be.

    Each ingredient that is used costs its rank (1 usual to 5 rare) plus 3, so that one rare
    ingredient is preferred to three usual ones.  Of the mixes of the chosen ingredients it is the one
    with the least of the unusual, then the alphabet.
    """
    rank = np.asarray(usual, dtype=float)
    count = len(rank)
    rows, lower, upper = _with_total(programme)
    ceiling = np.minimum(programme.upper, programme.batch_g)
    none = np.zeros_like(rows)
    blocks: list[tuple[Array, Array | None, Array | None]] = [
        (np.hstack([rows, none]), lower, upper),
        (np.hstack([np.eye(count), -np.diag(ceiling)]), None, np.zeros(count)),
        (np.hstack([np.eye(count), -np.diag(least_use)]), np.zeros(count), None),
    ]
    if counts.most_ingredients is not None:
        row = np.concatenate([np.zeros(count), np.ones(count)])[None, :]
        blocks.append((row, None, np.array([float(counts.most_ingredients)])))
    found = _mixed(
        np.concatenate([np.zeros(count), rank + 3.0 + _tie_break(programme)]),
        blocks,
        np.concatenate([programme.lower, np.zeros(count)]),
        np.concatenate([ceiling, np.ones(count)]),
        np.repeat([0, 1], count),
    )
    if found is None:
        return None
    chosen = found[0][count:] > 0.5
    within = np.where(chosen, ceiling, programme.lower)
    least = np.where(chosen, np.maximum(programme.lower, least_use), programme.lower)
    cost = rank + 0.01 * _tie_break(programme)
    answer = _linear(cost, rows, lower, upper, least, np.maximum(within, least))
    return None if answer is None else replace(_solution(answer.x, answer), gap=found[2])


def is_possible(programme: Programme) -> bool:
    """Say whether any mix meets every row and limit."""
    flat = np.zeros(len(programme.keys))
    return _linear(flat, *_with_total(programme), programme.lower, programme.upper) is not None


def greatest(programme: Programme, coefficients: Array) -> Solution | None:
    """Return the mix of greatest ``coefficients . weights``; ``None`` if no mix can be."""
    rows, lower, upper = _with_total(programme)
    found = _linear(-coefficients, rows, lower, upper, programme.lower, programme.upper)
    if found is None:
        return None
    return Solution(found.x, -found.objective, -found.prices[:-1], -float(found.prices[-1]))


def span(programme: Programme, coefficients: Array) -> tuple[float, float] | None:
    """Return the least and greatest ``coefficients . weights``; ``None`` if no mix can be."""
    most, least = greatest(programme, coefficients), greatest(programme, -coefficients)
    if most is None or least is None:
        return None
    return -least.objective, most.objective


def on_steps(programme: Programme, exact: Array, steps: Array) -> Array | None:
    """Return the multiples of ``steps`` nearest to ``exact`` that meet the programme, or ``None``.

    Nearest is the smallest sum of steps moved.  Rows may be missed by their slack; a weight that
    cannot move keeps its value even if it is no multiple.  Stops after a fixed number of nodes, so
    that the same input always gives the same answer.
    """
    optimize = _optimize()
    count = len(exact)
    slack = np.array([row.slack for row in programme.rows])
    rows, lower, upper = _with_total(programme)
    lower, upper = lower - np.append(slack, 0.0), upper + np.append(slack, 0.0)
    still = programme.lower >= programme.upper
    scale = np.where(still, 1.0, steps)
    least, most = programme.lower / scale, programme.upper / scale
    whole = ~still & (exact > 0.0)
    least, most = (
        np.where(whole, np.ceil(least - 1e-9), least),
        np.where(whole, np.floor(most + 1e-9), most),
    )
    unused = ~still & (exact <= 0.0)
    least, most = np.where(unused, 0.0, least), np.where(unused, 0.0, most)
    away = np.eye(count)
    target = exact / scale
    scaled = rows * scale
    _check_finite(scaled, least, most)
    if np.any(least > most):
        return None
    answer = optimize.milp(
        np.concatenate([np.zeros(count), np.ones(count) + _tie_break(programme)]),
        constraints=[
            optimize.LinearConstraint(np.hstack([scaled, np.zeros_like(scaled)]), lower, upper),
            optimize.LinearConstraint(np.hstack([away, -away]), -np.inf, target),
            optimize.LinearConstraint(np.hstack([away, away]), target, np.inf),
        ],
        bounds=optimize.Bounds(
            np.concatenate([least, np.zeros(count)]), np.concatenate([most, np.full(count, np.inf)])
        ),
        integrality=np.concatenate([whole.astype(int), np.zeros(count)]),
        options={"node_limit": _MOST_NODES, "mip_rel_gap": 0.02},
    )
    if answer.x is None:
        return None
    multiples = np.where(whole, np.round(answer.x[:count]), answer.x[:count])
    return np.asarray(multiples * scale)


def least_miss(programme: Programme) -> Solution | None:
    """Return the mix that misses its targets least: sum over rows of miss / width.

    Limits and the total hold; ``None`` if even they cannot.
    """
    rows, lower, upper = _with_total(programme)
    count, missing = len(programme.keys), len(programme.rows)
    below = np.vstack([np.eye(missing), np.zeros((1, missing))])
    widths = np.array([row.width for row in programme.rows])
    found = _linear(
        np.concatenate([_TIE * 1e-3 * _tie_break(programme), 1.0 / widths, 1.0 / widths]),
        np.hstack([rows, below, -below]),
        lower,
        upper,
        np.concatenate([programme.lower, np.zeros(2 * missing)]),
        np.concatenate([programme.upper, np.full(2 * missing, np.inf)]),
    )
    return None if found is None else _solution(found.x[:count], found)


def _solution(weights: Array, found: _Answer) -> Solution:
    return Solution(weights, found.objective, found.prices[:-1], float(found.prices[-1]))


def _with_total(programme: Programme) -> tuple[Array, Array, Array]:
    """The rows, and one more: what the weights add up to."""
    matrix = np.vstack([programme.matrix, np.ones(len(programme.keys))])
    lower = np.append(programme.row_lower, programme.total_least)
    upper = np.append(programme.row_upper, programme.total_most)
    return matrix, lower, upper


def _tie_break(programme: Programme) -> Array:
    """0 to 1e-6 per ingredient, growing in the order of the alphabet."""
    order = np.argsort(np.argsort(programme.keys))
    return np.asarray(_TIE * order / max(len(order) - 1, 1))


def _linear(
    cost: Array, matrix: Array, lower: Array, upper: Array, least: Array, most: Array
) -> _Answer | None:
    """Minimise cost . x with lower <= matrix x <= upper and least <= x <= most."""
    _check_finite(cost, matrix, least)
    if np.isnan(lower).any() or np.isnan(upper).any() or np.isnan(most).any():
        raise SolverFault("A bound is not a number.")
    if np.any(least > most):
        return None
    equal = lower == upper
    above, below = np.isfinite(lower) & ~equal, np.isfinite(upper) & ~equal
    answer = _optimize().linprog(
        cost,
        A_ub=np.vstack([matrix[below], -matrix[above]]),
        b_ub=np.concatenate([upper[below], -lower[above]]),
        A_eq=matrix[equal],
        b_eq=lower[equal],
        bounds=np.column_stack([least, most]),
        method="highs",
    )
    if answer.status == _INFEASIBLE:
        return None
    if answer.status != _OPTIMAL or answer.x is None or not np.isfinite(answer.x).all():
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    prices = np.zeros(len(lower))
    prices[equal] = answer.eqlin.marginals
    prices[below] += answer.ineqlin.marginals[: below.sum()]
    prices[above] -= answer.ineqlin.marginals[below.sum() :]
    return _Answer(np.asarray(answer.x), float(answer.fun), prices)


def _check_finite(*arrays: Array) -> None:
    for array in arrays:
        if not np.isfinite(array).all():
            raise SolverFault("A number of the programme is not finite; it was not solved.")


def _optimize() -> Any:
    from scipy import optimize  # imported late: it takes longer than solving

    return optimize
