"""Linear programmes as arrays: the room that calls HiGHS, itself or through scipy.

Takes arrays, checks that they are finite, and returns arrays or a named status.  Solvers are
imported when first needed, because importing them takes longer than solving.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from threading import get_ident
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import SolverFault

__all__ = [
    "INFEASIBLE",
    "OPTIMAL",
    "Answer",
    "bounded_least_squares",
    "check_finite",
    "linear",
    "linear_plain",
    "scipy_optimize",
    "sparse_linear",
]


OPTIMAL, INFEASIBLE = 0, 2

_LARGE = 1e4
_TIE = 1e-7  # of the largest cost

# A badly scaled programme may end with neither answer: then without presolve, then by interior point.
_TRIES = (("highs", True), ("highs", False), ("highs-ipm", True))


@dataclass(frozen=True)
class Answer:
    """Variables, objective, and change of the objective per unit of each row's bound.

    ``unique`` says that no other variables are as good; where it is not set there may be some.
    """

    x: Array
    objective: float
    prices: Array
    unique: bool = False


def linear(
    cost: Array, matrix: Array, lower: Array, upper: Array, least: Array, most: Array
) -> Answer | None:
    """Minimise cost . x with lower <= matrix x <= upper and least <= x <= most.

    Calls HiGHS itself, in a ninth of the time that :func:`linear_plain` takes, most of which is scipy's
    preparation, and without presolve, which takes longer than the few pivots that it saves; where HiGHS
    ends without an answer, that one is asked.

    Parameters
    ----------
    cost:
        Shape (columns,).
    matrix:
        Shape (rows, columns).
    lower, upper:
        Bounds of the rows, shape (rows,); infinite for none.
    least, most:
        Bounds of x, shape (columns,).

    Returns
    -------
    Answer or None
        ``None`` if there is no such x.

    Raises
    ------
    SolverFault
        If a number is not finite, or neither finds an answer.

    Examples
    --------
    >>> one = np.ones(1)
    >>> found = linear(one, np.ones((1, 1)), 2.0 * one, np.inf * one, 0.0 * one, 9.0 * one)
    >>> found.x.tolist()
    [2.0]
    """
    if not _may_be_solved(cost, matrix, lower, upper, least, most):
        return None
    unit = _unit(lower, upper, least, most)
    highs = _highs()
    model = highs.HighsLp()
    rows, columns = matrix.shape
    model.num_col_, model.num_row_ = columns, rows
    model.col_cost_, model.col_lower_, model.col_upper_ = cost * unit, least / unit, most / unit
    model.row_lower_, model.row_upper_ = lower / unit, upper / unit
    model.a_matrix_.format_ = highs.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.arange(0, rows * columns + 1, columns, dtype=np.int32)
    model.a_matrix_.index_ = np.tile(np.arange(columns, dtype=np.int32), rows)
    model.a_matrix_.value_ = np.ascontiguousarray(matrix, dtype=float).ravel()
    solver = _solver(get_ident())
    solver.passModel(model)
    solver.run()
    status = solver.getModelStatus()
    if status == highs.HighsModelStatus.kInfeasible:
        return None
    found = solver.getSolution()
    x = unit * np.array(found.col_value, dtype=float)
    if status != highs.HighsModelStatus.kOptimal or not np.isfinite(x).all():
        return linear_plain(cost, matrix, lower, upper, least, most)
    prices = np.array(found.row_dual, dtype=float)
    free = (least < most, lower < upper)
    unique = _is_unique(solver.getBasis(), found.col_dual, prices, cost * unit, free)
    return Answer(x, float(cost @ x), prices / unit, unique)


def _is_unique(
    basis: Any, costs: Any, prices: Array, scale: Array, free: tuple[NDArray[np.bool_], ...]
) -> bool:
    """Whether everything that rests at a bound it could leave would cost something by leaving it."""
    inside = _highs().HighsBasisStatus.kBasic
    tiny = _TIE * float(np.abs(scale).max(initial=0.0))
    for status, reduced, may_move in (
        (basis.col_status, np.array(costs), free[0]),
        (basis.row_status, prices, free[1]),
    ):
        rests = np.array([each != inside for each in status], dtype=bool)
        if np.any(rests & may_move & (np.abs(reduced) <= tiny)):
            return False
    return True


def linear_plain(
    cost: Array, matrix: Array, lower: Array, upper: Array, least: Array, most: Array
) -> Answer | None:
    """Return what :func:`linear` does, through scipy."""
    if not _may_be_solved(cost, matrix, lower, upper, least, most):
        return None
    unit = _unit(lower, upper, least, most)
    cost, (lower, upper, least, most) = (
        cost * unit,
        (bound / unit for bound in (lower, upper, least, most)),
    )
    equal = lower == upper
    above, below = np.isfinite(lower) & ~equal, np.isfinite(upper) & ~equal
    for method, presolve in _TRIES:
        answer = scipy_optimize().linprog(
            cost,
            A_ub=np.vstack([matrix[below], -matrix[above]]),
            b_ub=np.concatenate([upper[below], -lower[above]]),
            A_eq=matrix[equal],
            b_eq=lower[equal],
            bounds=np.column_stack([least, most]),
            method=method,
            options={"presolve": presolve},
        )
        if answer.status in (OPTIMAL, INFEASIBLE):
            break
    if answer.status == INFEASIBLE:
        return None
    if answer.status != OPTIMAL or answer.x is None or not np.isfinite(answer.x).all():
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    prices = np.zeros(len(lower))
    prices[equal] = answer.eqlin.marginals
    prices[below] += answer.ineqlin.marginals[: below.sum()]
    prices[above] -= answer.ineqlin.marginals[below.sum() :]
    return Answer(unit * np.asarray(answer.x), float(answer.fun), prices / unit)


def _unit(*bounds: Array) -> float:
    """The unit in which a large programme is solved, as solvers judge by absolute tolerances.

    A power of two, so that nothing is rounded; 1 up to ten kilograms.
    """
    sizes = np.abs(np.concatenate(bounds))
    size = float(sizes[np.isfinite(sizes)].max(initial=0.0))
    return 1.0 if size <= _LARGE else float(2.0 ** np.ceil(np.log2(size / _LARGE)))


def _may_be_solved(
    cost: Array, matrix: Array, lower: Array, upper: Array, least: Array, most: Array
) -> bool:
    """Check that numbers are numbers; say whether the limits leave room."""
    check_finite(cost, matrix, least)
    if np.isnan(lower).any() or np.isnan(upper).any() or np.isnan(most).any():
        raise SolverFault("A bound is not a number.")
    return not (np.any(least > most) or np.any(lower > upper))


@lru_cache(maxsize=1)
def _highs() -> Any:
    """The core of highspy: its wrapper prints a banner to stdout for every model."""
    from highspy import _core

    return _core


@lru_cache(maxsize=8)
def _solver(thread: int) -> Any:
    """A solver for each thread, as making one takes as long as solving with it.

    It forgets a programme and its solution when it is passed the next.
    """
    solver = _highs()._Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("presolve", "off")
    solver.setOptionValue("threads", 1)
    return solver


def bounded_least_squares(matrix: Array, target: Array, lowest: Array) -> Array:
    """Return x of least ``|matrix x - target|`` with x not below ``lowest``.

    Parameters
    ----------
    matrix:
        Shape (rows, columns).
    target:
        Shape (rows,).
    lowest:
        Shape (columns,).

    Returns
    -------
    ndarray
        Shape (columns,).

    Examples
    --------
    >>> bounded_least_squares(np.eye(2), np.array([1.0, -1.0]), np.zeros(2)).round(6).tolist()
    [1.0, 0.0]
    """
    check_finite(matrix, target, lowest)
    answer = scipy_optimize().lsq_linear(matrix, target, bounds=(lowest, np.inf))
    return np.asarray(answer.x)


def sparse_linear(
    blocks: list[tuple[Array, Array]],
    lower: Array,
    upper: Array,
    start: Array,
    change: Array,
    least: Array,
    most: Array,
    further: tuple[Array, Array, Array],
) -> tuple[Array, float] | None:
    """Minimise ``change . |x - start|`` where every block of rows shares its first variables.

    Parameters
    ----------
    blocks:
        Pairs of coefficients: of the shared variables, which come first, and of the block's own.
    lower, upper:
        Bounds of all rows in turn.
    start, change, least, most:
        Of all variables: present value, price of a change, limits.
    further:
        Further rows over all variables, and their bounds.

    Returns
    -------
    The variables and the objective; ``None`` if there is no solution.

    Examples
    --------
    >>> one = np.ones((1, 1))
    >>> sparse_linear(
    ...     [(one, one)], np.array([3.0]), np.array([3.0]), np.zeros(2), np.array([1.0, 2.0]),
    ...     np.zeros(2), np.array([2.0, 9.0]), (np.zeros((0, 2)), np.zeros(0), np.zeros(0)),
    ... )[0].round(6).tolist()
    [2.0, 1.0]
    """
    from scipy import sparse

    count = len(start)
    own = sparse.block_diag([block[1] for block in blocks])
    rows = sparse.hstack([np.vstack([block[0] for block in blocks]), own])
    parts = [rows, sparse.csr_matrix(further[0])]
    low, high = [lower, further[1]], [upper, further[2]]
    matrix = sparse.vstack(parts).tocsr()
    offset = matrix @ start
    answer = scipy_optimize().milp(
        np.concatenate([change, change]),
        constraints=scipy_optimize().LinearConstraint(
            sparse.hstack([matrix, -matrix]),
            np.concatenate(low) - offset,
            np.concatenate(high) - offset,
        ),
        bounds=scipy_optimize().Bounds(
            np.concatenate([np.maximum(least - start, 0.0), np.maximum(start - most, 0.0)]),
            np.concatenate([np.maximum(most - start, 0.0), np.maximum(start - least, 0.0)]),
        ),
    )
    if answer.status == INFEASIBLE:
        return None
    if answer.x is None or not np.isfinite(answer.x).all():
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    return np.asarray(start + answer.x[:count] - answer.x[count:]), float(answer.fun)


def check_finite(*arrays: Array) -> None:
    """Raise ``SolverFault`` if a number is not finite."""
    for array in arrays:
        if not np.isfinite(array).all():
            raise SolverFault("A number of the programme is not finite; it was not solved.")


def scipy_optimize() -> Any:
    """Return scipy.optimize."""
    from scipy import optimize  # imported late: it takes longer than solving

    return optimize
