"""What is minimised over a programme, and the questions that are asked of one.

Takes arrays, checks that they are finite, and returns weights or ``None``.  Which of several equally
good mixes is taken is written down: the one that moves ingredients earlier in the alphabet by their key.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.mix import Programme
from formulate.solver.highs import Answer, linear

__all__ = [
    "SMALLEST_BASE",
    "Objective",
    "Solution",
    "best",
    "greatest",
    "is_possible",
    "least_miss",
    "order_of_ties",
    "relative_change",
    "solution",
    "span",
    "up_and_down",
    "with_total",
]


#: Least base of a relative change, of the batch.
SMALLEST_BASE = 0.02

# A tie is decided within this much of the best objective, relative to it.
_AS_GOOD = 1e-9


@dataclass(frozen=True)
class Objective:
    """What is minimised: ``cost . weights + change . |weights - start|``.

    Attributes
    ----------
    start:
        [g], shape (ingredients,).
    change, cost:
        Per gram of change, and per gram [1/g], shapes (ingredients,).
    """

    start: Array
    change: Array
    cost: Array

    def of(self, weights: Array) -> float:
        """Return the value at some weights [g]."""
        return float(self.cost @ weights + self.change @ np.abs(weights - self.start))


def relative_change(programme: Programme, start: Array, known: Array | None = None) -> Objective:
    """Return the plain sum of relative changes, in which every ingredient counts alike.

    A change counts relative to the present weight, but not below a small share of the batch: otherwise a
    pinch could never change and a new ingredient could never come in.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    start:
        Present weights [g], shape (ingredients,), not negative.
    known:
        1 for weights that are known, 0 for others, which change for nothing; all if not given.

    Returns
    -------
    Objective

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> relative_change(programme(mix), mix.start).of(mix.start)
    0.0
    """
    base = np.maximum(start, SMALLEST_BASE * programme.batch_g)
    change = 1.0 / base if known is None else known / base
    return Objective(start, change, np.zeros(len(start)))


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


def best(
    programme: Programme, objective: Objective, within: tuple[Objective, float] | None = None
) -> Solution | None:
    """Return the mix of least objective; ``None`` if none can be.

    Where several are equally good a second programme, with the first optimum as a row, takes the one that
    moves least in the order of the alphabet, earlier keys first to move.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    objective:
        Of as many ingredients.
    within:
        Another objective with the same start, and its greatest value.

    Returns
    -------
    Solution or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> rows.holds(best(rows, relative_change(rows, mix.start)).weights)
    True
    """
    count = len(programme.keys)
    rows, lower, upper = with_total(programme)
    offset = rows @ objective.start
    matrix, low, high = np.hstack([rows, -rows]), lower - offset, upper - offset
    if within is not None:
        other, ceiling = within
        matrix = np.vstack([_per_move(other), matrix])
        low = np.append(-np.inf, low)
        high = np.append(ceiling - float(other.cost @ other.start), high)
    least, most = up_and_down(programme, objective.start)
    cost = _per_move(objective)
    found = linear(cost, matrix, low, high, least, most)
    if found is None:
        return None
    x = found.x
    if not found.unique:
        ties = order_of_ties(programme) / programme.batch_g
        tied = linear(
            np.concatenate([ties, ties]),
            np.vstack([matrix, cost]),
            np.append(low, -np.inf),
            np.append(high, found.objective + _AS_GOOD * (1.0 + abs(found.objective))),
            least,
            most,
        )
        x = x if tied is None else tied.x
    weights = np.clip(objective.start + x[:count] - x[count:], programme.lower, programme.upper)
    prices = found.prices if within is None else found.prices[1:]
    return Solution(weights, objective.of(weights), prices[:-1], float(prices[-1]))


def _per_move(objective: Objective) -> Array:
    """What a gram more costs, then what a gram less does, from the start."""
    return np.concatenate([objective.change + objective.cost, objective.change - objective.cost])


def up_and_down(programme: Programme, start: Array) -> tuple[Array, Array]:
    """Return limits of what is added and taken away: weights = start + up - down, both not negative."""
    up_most = np.maximum(programme.upper - start, 0.0)
    down_most = np.maximum(start - programme.lower, 0.0)
    up_least = np.maximum(programme.lower - start, 0.0)
    down_least = np.maximum(start - programme.upper, 0.0)
    least = np.concatenate([up_least, down_least])
    return least, np.maximum(np.concatenate([up_most, down_most]), least)


def is_possible(programme: Programme) -> bool:
    """Say whether any mix meets every row and limit.

    Parameters
    ----------
    programme:
        Rows, limits and total.

    Returns
    -------
    bool

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> is_possible(programme(mixture(fm.load("damson_sorbet"))))
    True
    """
    flat = np.zeros(len(programme.keys))
    return linear(flat, *with_total(programme), programme.lower, programme.upper) is not None


def greatest(programme: Programme, coefficients: Array) -> Solution | None:
    """Return the mix of greatest ``coefficients . weights``; ``None`` if no mix can be.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    coefficients:
        Shape (ingredients,).

    Returns
    -------
    Solution or None

    Examples
    --------
    >>> import formulate as fm
    >>> import numpy as np
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> round(float(greatest(rows, np.ones(6)).weights.sum()), 6)
    2000.0
    """
    rows, lower, upper = with_total(programme)
    found = linear(-coefficients, rows, lower, upper, programme.lower, programme.upper)
    if found is None:
        return None
    return Solution(found.x, -found.objective, -found.prices[:-1], -float(found.prices[-1]))


def span(programme: Programme, coefficients: Array) -> tuple[float, float] | None:
    """Return the least and greatest ``coefficients . weights``; ``None`` if no mix can be.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    coefficients:
        Shape (ingredients,).

    Returns
    -------
    tuple of float, or None

    Examples
    --------
    >>> import formulate as fm
    >>> import numpy as np
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> [round(end) for end in span(rows, np.eye(6)[0])]
    [900, 1150]
    """
    most, least = greatest(programme, coefficients), greatest(programme, -coefficients)
    if most is None or least is None:
        return None
    return -least.objective, most.objective


def least_miss(programme: Programme, objective: Objective | None = None) -> Solution | None:
    """Return the mix that misses its targets least: sum over rows of miss / width.

    Limits and the total hold; ``None`` if even they cannot.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    objective:
        Of the mixes that miss as little, the one of least objective is taken; else the first of the
        alphabet.

    Returns
    -------
    Solution or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> round(float(least_miss(rows).weights.sum()), 6)
    2000.0
    """
    rows, lower, upper = with_total(programme)
    count, missing = len(programme.keys), len(programme.rows)
    below = np.vstack([np.eye(missing), np.zeros((1, missing))])
    widths = np.array([row.width for row in programme.rows])
    start = np.zeros(count) if objective is None else objective.start
    least, most = up_and_down(programme, start)
    offset = rows @ start
    matrix = np.hstack([rows, -rows, below, -below])
    limits = (
        lower - offset,
        upper - offset,
        np.concatenate([least, np.zeros(2 * missing)]),
        np.concatenate([most, np.full(2 * missing, np.inf)]),
    )
    cost = np.concatenate([np.zeros(2 * count), 1.0 / widths, 1.0 / widths])
    found = linear(cost, matrix, *limits)
    if found is None:
        return None
    x = found.x
    if objective is None:
        ties = order_of_ties(programme) / programme.batch_g
        second = np.concatenate([ties, ties])
    else:
        change, grams = objective.change, objective.cost
        second = np.concatenate([change + grams, change - grams])
    low, high, *bounds = limits
    tied = linear(
        np.concatenate([second, np.zeros(2 * missing)]),
        np.vstack([matrix, cost]),
        np.append(low, -np.inf),
        np.append(high, found.objective * (1.0 + 1e-6) + 1e-9),
        *bounds,
    )
    x = x if tied is None else tied.x
    weights = np.clip(start + x[:count] - x[count : 2 * count], programme.lower, programme.upper)
    return solution(weights, found)


def solution(weights: Array, found: Answer) -> Solution:
    """Return weights with the prices of an answer, the last of which is the total's."""
    return Solution(weights, found.objective, found.prices[:-1], float(found.prices[-1]))


def with_total(programme: Programme) -> tuple[Array, Array, Array]:
    """Return the rows, and one more: what the weights add up to.

    Parameters
    ----------
    programme:
        Rows, limits and total.

    Returns
    -------
    tuple of ndarray
        Matrix, shape (rows + 1, ingredients), lower and upper bounds, shape (rows + 1,).

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> matrix, lower, upper = with_total(rows)
    >>> float(lower[-1]), float(upper[-1])
    (2000.0, 2000.0)
    """
    matrix = np.vstack([programme.matrix, programme.reach])
    lower = np.append(programme.row_lower, programme.total_least)
    upper = np.append(programme.row_upper, programme.total_most)
    return matrix, lower, upper


def order_of_ties(programme: Programme) -> Array:
    """Return 1 to 2 per ingredient, growing in the order of the alphabet by key, shape (ingredients,).

    Parameters
    ----------
    programme:
        Rows, limits and total.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> found = order_of_ties(rows)
    >>> min(zip(found, rows.keys))[1]
    'damson'
    """
    order = np.argsort(np.argsort(programme.keys))
    return np.asarray(1.0 + order / max(len(order) - 1, 1))
