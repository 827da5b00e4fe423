"""The room that knows a solver: scipy's HiGHS.

Takes arrays, checks that they are finite, and returns weights or a named status.  scipy is imported
when the first programme is solved, because importing it takes longer than solving.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.mix import Programme
from formulate.solver.highs import Answer, linear

__all__ = [
    "TIE",
    "Solution",
    "change_weights",
    "cheapest",
    "cost_weights",
    "greatest",
    "greatest_near",
    "is_possible",
    "least_change",
    "least_miss",
    "solution",
    "span",
    "tie_break",
    "up_and_down",
    "weighted",
    "with_total",
]


# A change counts relative to the present weight, but not below this share of the batch: otherwise a
# pinch could never change and a new ingredient could never come in.
_SMALLEST_BASE = 0.02

_NO_CHANGE = 1e-3  # of what a change counts: to find a weight that nobody has given

# Written tie-break: where two mixes are equally good, the one that changes (or uses) ingredients
# earlier in the alphabet by their key wins.
TIE = 1e-6


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


def least_change(
    programme: Programme, start: Array, known: NDArray[np.bool_] | None = None
) -> Solution | None:
    """Return the mix with the smallest sum of relative changes from ``start``; ``None`` if none can be.

    Parameters
    ----------
    programme:
        Rows and limits.
    start:
        Present weights [g], shape (ingredients,), not negative.
    known:
        Which of them are known; all, if not given.
    """
    count = len(programme.keys)
    weight = change_weights(programme, start, known)
    rows, lower, upper = with_total(programme)
    least, most = up_and_down(programme, start)
    offset = rows @ start
    found = linear(
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
    return solution(weights, found)


def change_weights(
    programme: Programme, start: Array, known: NDArray[np.bool_] | None = None
) -> Array:
    """Return what one gram of change of each ingredient counts [1/g], tie-break included.

    What has no known weight does not change: what is found for it decides ties alone.
    """
    base = np.maximum(start, _SMALLEST_BASE * programme.batch_g)
    count = np.ones(len(base)) if known is None else np.where(known, 1.0, _NO_CHANGE)
    return np.asarray(count * (1.0 + tie_break(programme)) / base)


def weighted(
    programme: Programme, start: Array, change: float, coefficients: Array
) -> Solution | None:
    """Return the mix of least ``change x sum of relative changes + coefficients . weights``.

    Takes what :func:`least_change` does; ``None`` if no mix can be.
    """
    count = len(programme.keys)
    weight = change * change_weights(programme, start) + TIE * tie_break(programme)
    rows, lower, upper = with_total(programme)
    least, most = up_and_down(programme, start)
    offset = rows @ start
    found = linear(
        np.concatenate([weight + coefficients, weight - coefficients]),
        np.hstack([rows, -rows]),
        lower - offset,
        upper - offset,
        least,
        most,
    )
    if found is None:
        return None
    moved = found.x[:count] - found.x[count:]
    return solution(np.clip(start + moved, programme.lower, programme.upper), found)


def greatest_near(
    programme: Programme,
    start: Array,
    known: NDArray[np.bool_],
    ceiling: float,
    coefficients: Array,
) -> Solution | None:
    """Return the mix of greatest ``coefficients . weights`` that changes no more than a ceiling.

    Parameters
    ----------
    programme, start, known:
        As for :func:`least_change`.
    ceiling:
        Greatest sum of relative changes.
    coefficients:
        Shape (ingredients,).
    """
    count = len(programme.keys)
    weight = change_weights(programme, start, known)
    rows, lower, upper = with_total(programme)
    least, most = up_and_down(programme, start)
    offset = rows @ start
    found = linear(
        np.concatenate([-coefficients, coefficients]),
        np.vstack([np.concatenate([weight, weight]), np.hstack([rows, -rows])]),
        np.append(-np.inf, lower - offset),
        np.append(ceiling, upper - offset),
        least,
        most,
    )
    if found is None:
        return None
    weights = np.clip(start + found.x[:count] - found.x[count:], programme.lower, programme.upper)
    return Solution(weights, float(coefficients @ weights), -found.prices[1:-1])


def up_and_down(programme: Programme, start: Array) -> tuple[Array, Array]:
    """Return limits of what is added and taken away: weights = start + up - down, both not negative."""
    up_most = np.maximum(programme.upper - start, 0.0)
    down_most = np.maximum(start - programme.lower, 0.0)
    up_least = np.maximum(programme.lower - start, 0.0)
    down_least = np.maximum(start - programme.upper, 0.0)
    least = np.concatenate([up_least, down_least])
    return least, np.maximum(np.concatenate([up_most, down_most]), least)


def cheapest(programme: Programme, prices: Array) -> Solution | None:
    """Return the mix of least cost, ``prices`` per kg, shape (ingredients,); ``None`` if none can be."""
    cost = cost_weights(programme, prices)
    found = linear(cost, *with_total(programme), programme.lower, programme.upper)
    return None if found is None else solution(found.x, found)


def cost_weights(programme: Programme, prices: Array) -> Array:
    """Return what one gram of each ingredient costs [1 of the dearest], tie-break included."""
    scale = max(float(prices.max()), 1e-9)
    return np.asarray(prices / scale + TIE * tie_break(programme))


def is_possible(programme: Programme) -> bool:
    """Say whether any mix meets every row and limit."""
    flat = np.zeros(len(programme.keys))
    return linear(flat, *with_total(programme), programme.lower, programme.upper) is not None


def greatest(programme: Programme, coefficients: Array) -> Solution | None:
    """Return the mix of greatest ``coefficients . weights``; ``None`` if no mix can be."""
    rows, lower, upper = with_total(programme)
    found = linear(-coefficients, rows, lower, upper, programme.lower, programme.upper)
    if found is None:
        return None
    return Solution(found.x, -found.objective, -found.prices[:-1], -float(found.prices[-1]))


def span(programme: Programme, coefficients: Array) -> tuple[float, float] | None:
    """Return the least and greatest ``coefficients . weights``; ``None`` if no mix can be."""
    most, least = greatest(programme, coefficients), greatest(programme, -coefficients)
    if most is None or least is None:
        return None
    return -least.objective, most.objective


def least_miss(programme: Programme) -> Solution | None:
    """Return the mix that misses its targets least: sum over rows of miss / width.

    Limits and the total hold; ``None`` if even they cannot.
    """
    rows, lower, upper = with_total(programme)
    count, missing = len(programme.keys), len(programme.rows)
    below = np.vstack([np.eye(missing), np.zeros((1, missing))])
    widths = np.array([row.width for row in programme.rows])
    found = linear(
        np.concatenate([TIE * 1e-3 * tie_break(programme), 1.0 / widths, 1.0 / widths]),
        np.hstack([rows, below, -below]),
        lower,
        upper,
        np.concatenate([programme.lower, np.zeros(2 * missing)]),
        np.concatenate([programme.upper, np.full(2 * missing, np.inf)]),
    )
    return None if found is None else solution(found.x[:count], found)


def solution(weights: Array, found: Answer) -> Solution:
    """Return weights with the prices of an answer, the last of which is the total's."""
    return Solution(weights, found.objective, found.prices[:-1], float(found.prices[-1]))


def with_total(programme: Programme) -> tuple[Array, Array, Array]:
    """Return the rows, and one more: what the weights add up to."""
    matrix = np.vstack([programme.matrix, programme.reach])
    lower = np.append(programme.row_lower, programme.total_least)
    upper = np.append(programme.row_upper, programme.total_most)
    return matrix, lower, upper


def tie_break(programme: Programme) -> Array:
    """Return 0 to 1e-6 per ingredient, growing in the order of the alphabet."""
    order = np.argsort(np.argsort(programme.keys))
    return np.asarray(TIE * order / max(len(order) - 1, 1))
