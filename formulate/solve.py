"""The only room that knows a solver: scipy's HiGHS.

Takes arrays, checks that they are finite, and returns weights or a named status.  scipy is imported
when the first programme is solved, because importing it takes longer than solving.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.errors import SolverFault
from formulate.programme import Programme

__all__ = [
    "Solution",
    "cheapest",
    "fewest",
    "greatest",
    "is_possible",
    "least_change",
    "least_miss",
    "on_steps",
    "span",
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
    """Weights [g] in the order of the programme, and the value of the objective."""

    weights: Array
    objective: float


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
    base = np.maximum(start, _SMALLEST_BASE * programme.batch_g)
    weight = (1.0 + _tie_break(programme)) / base
    # weights = start + up - down, with up and down not negative
    rows, lower, upper = _with_total(programme)
    matrix = np.hstack([rows, -rows])
    offset = rows @ start
    up_most = np.maximum(programme.upper - start, 0.0)
    down_most = np.maximum(start - programme.lower, 0.0)
    up_least = np.maximum(programme.lower - start, 0.0)
    down_least = np.maximum(start - programme.upper, 0.0)
    found = _linear(
        np.concatenate([weight, weight]),
        matrix,
        lower - offset,
        upper - offset,
        np.concatenate([up_least, down_least]),
        np.concatenate([np.maximum(up_most, up_least), np.maximum(down_most, down_least)]),
    )
    if found is None:
        return None
    moved = found.weights[:count] - found.weights[count:]
    return Solution(np.clip(start + moved, programme.lower, programme.upper), found.objective)


def cheapest(programme: Programme, prices: Array) -> Solution | None:
    """Return the mix of least cost, ``prices`` per kg, shape (ingredients,); ``None`` if none can be."""
    scale = max(float(prices.max()), 1e-9)
    cost = prices / scale + _TIE * _tie_break(programme)
    return _linear(cost, *_with_total(programme), programme.lower, programme.upper)


def fewest(programme: Programme, usual: ArrayLike) -> Solution | None:
    """Return the mix of fewest and most usual ingredients; ``None`` if none can be.

    Each ingredient that is used costs its rank (1 usual to 5 rare) plus 3, so that one rare
    ingredient is preferred to three usual ones.  Of the mixes of the chosen ingredients it is the one
    with the least of the unusual, then the alphabet.
    """
    optimize = _optimize()
    rank = np.asarray(usual, dtype=float)
    count = len(rank)
    rows, lower, upper = _with_total(programme)
    ceiling = np.minimum(programme.upper, programme.batch_g)
    used = np.hstack([np.eye(count), -np.diag(ceiling)])  # weight <= ceiling x used
    constraints = [
        optimize.LinearConstraint(np.hstack([rows, np.zeros_like(rows)]), lower, upper),
        optimize.LinearConstraint(used, -np.inf, 0.0),
    ]
    _check_finite(rows, programme.lower, programme.upper)
    answer = optimize.milp(
        np.concatenate([np.zeros(count), rank + 3.0 + _tie_break(programme)]),
        constraints=constraints,
        bounds=optimize.Bounds(
            np.concatenate([programme.lower, np.zeros(count)]),
            np.concatenate([ceiling, np.ones(count)]),
        ),
        integrality=np.repeat([0, 1], count),
    )
    if answer.status == _INFEASIBLE:
        return None
    if answer.x is None:
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    chosen = answer.x[count:] > 0.5
    within = np.where(chosen, ceiling, programme.lower)
    return _linear(rank + 0.01 * _tie_break(programme), rows, lower, upper, programme.lower, within)


def is_possible(programme: Programme) -> bool:
    """Say whether any mix meets every row and limit."""
    flat = np.zeros(len(programme.keys))
    return _linear(flat, *_with_total(programme), programme.lower, programme.upper) is not None


def greatest(programme: Programme, coefficients: Array) -> Solution | None:
    """Return the mix of greatest ``coefficients . weights``; ``None`` if no mix can be."""
    rows, lower, upper = _with_total(programme)
    found = _linear(-coefficients, rows, lower, upper, programme.lower, programme.upper)
    return None if found is None else Solution(found.weights, -found.objective)


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
    return None if found is None else Solution(found.weights[:count], found.objective)


def _with_total(programme: Programme) -> tuple[Array, Array, Array]:
    """The rows, and one more: the weights add up to the batch."""
    matrix = np.vstack([programme.matrix, np.ones(len(programme.keys))])
    lower = np.append(programme.row_lower, programme.batch_g)
    upper = np.append(programme.row_upper, programme.batch_g)
    return matrix, lower, upper


def _tie_break(programme: Programme) -> Array:
    """0 to 1e-6 per ingredient, growing in the order of the alphabet."""
    order = np.argsort(np.argsort(programme.keys))
    return np.asarray(_TIE * order / max(len(order) - 1, 1))


def _linear(
    cost: Array, matrix: Array, lower: Array, upper: Array, least: Array, most: Array
) -> Solution | None:
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
    return Solution(np.asarray(answer.x), float(answer.fun))


def _check_finite(*arrays: Array) -> None:
    for array in arrays:
        if not np.isfinite(array).all():
            raise SolverFault("A number of the programme is not finite; it was not solved.")


def _optimize() -> Any:
    from scipy import optimize  # imported late: it takes longer than solving

    return optimize
