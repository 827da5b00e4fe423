"""Programmes with whole numbers: counts of ingredients, and weights that a scale shows.

The other room that knows a solver; every search stops after a fixed number of nodes, so that the same
input always gives the same answer, and says how far from the best it may have stopped.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import SolverFault
from formulate.mix import Programme
from formulate.recipes import Counts
from formulate.solver.highs import INFEASIBLE, check_finite, scipy_optimize
from formulate.solver.objectives import (
    Objective,
    Solution,
    order_of_ties,
    up_and_down,
    with_total,
)

__all__ = ["counted", "on_steps"]


_MOST_NODES = 2000
_FEWER = 1e-4  # what one more change or ingredient costs where everything else is as good


def counted(
    programme: Programme,
    objective: Objective,
    counts: Counts,
    least_use: Array,
    not_again: tuple[frozenset[int], ...] = (),
    known: NDArray[np.bool_] | None = None,
) -> Solution | None:
    """Return what :func:`formulate.solver.best` does, with at most so many changes and ingredients.

    Parameters
    ----------
    programme, objective:
        As there.  Columns after the first ``len(least_use)`` are no ingredients and are not counted.
    counts:
        Most changes and most ingredients.
    least_use:
        What is used at least, where it is used at all [g], shape (ingredients,).
    not_again:
        Sets of ingredients that are not wanted once more.
    known:
        Which present weights are known; the others can be anything, and that is no change.
    """
    count, real = len(programme.keys), len(least_use)
    start = objective.start
    least, most = up_and_down(programme, start)
    rows, lower, upper = with_total(programme)
    zeros, eye = np.zeros((len(rows), 2 * real)), np.eye(real, count)
    none, nothing = np.zeros((real, real)), np.zeros((real, count))
    up_most, down_most = most[:real], most[count : count + real]
    reach = programme.reach[:real]
    room = programme.batch_g / np.where((reach > 0.0) & (reach < 1.0), reach, 1.0)
    ceiling = np.minimum(programme.upper[:real], room)
    began = start[:real]
    # columns: up, down, changed (0 or 1), used (0 or 1)
    blocks: list[tuple[Array, Array | None, Array | None]] = [
        (np.hstack([rows, -rows, zeros]), lower - rows @ start, upper - rows @ start),
        (np.hstack([eye, nothing, -np.diag(up_most), none]), None, np.zeros(real)),
        (np.hstack([nothing, eye, -np.diag(down_most), none]), None, np.zeros(real)),
        (np.hstack([eye, -eye, none, -np.diag(ceiling)]), None, -began),
        (np.hstack([eye, -eye, none, -np.diag(least_use)]), -began, None),
    ]
    width = 2 * count + 2 * real
    every = np.ones(real)
    counts_change = every if known is None else known.astype(float)
    for most_of, place, which in (
        (counts.most_changes, 0, counts_change),
        (counts.most_ingredients, 1, every),
    ):
        if most_of is not None:
            row = np.zeros((1, width))
            row[0, 2 * count + place * real : 2 * count + (place + 1) * real] = which
            blocks.append((row, None, np.array([float(most_of)])))
    blocks += [_another_set(used, real, width - real) for used in not_again]
    found = _mixed(
        np.concatenate(
            [
                objective.change + objective.cost,
                objective.change - objective.cost,
                np.full(2 * real, _FEWER) * (1.0 + np.tile(order_of_ties(programme)[:real], 2)),
            ]
        ),
        blocks,
        np.concatenate([least, np.zeros(2 * real)]),
        np.concatenate([most, np.ones(2 * real)]),
        np.repeat([0, 1], [2 * count, 2 * real]),
    )
    if found is None:
        return None
    x, _, gap = found
    weights = np.clip(start + x[:count] - x[count : 2 * count], programme.lower, programme.upper)
    changed, used = x[2 * count : 2 * count + real], x[2 * count + real :]
    weights[:real] = np.where(changed < 0.5, began, weights[:real])
    weights[:real] = np.where(used < 0.5, 0.0, weights[:real])
    return Solution(weights, objective.of(weights), np.zeros(len(programme.rows)), gap=gap)


def on_steps(
    programme: Programme, demands: tuple[Array, Array, Array], exact: Array, steps: Array
) -> Array | None:
    """Return the multiples of ``steps`` nearest to ``exact`` that keep some demands, or ``None``.

    Nearest is the smallest sum of steps moved.  A weight that cannot move keeps its value even if it is
    no multiple.  Stops after a fixed number of nodes, so that the same input always gives the same
    answer.

    Parameters
    ----------
    programme:
        Its limits hold.
    demands:
        Coefficients, shape (demands, ingredients), and their bounds.
    exact, steps:
        [g], shape (ingredients,).
    """
    optimize = scipy_optimize()
    count = len(exact)
    rows, lower, upper = demands
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
    check_finite(scaled, least, most)
    if np.any(least > most):
        return None
    answer = optimize.milp(
        np.concatenate([np.zeros(count), np.ones(count) + 1e-3 * order_of_ties(programme)]),
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


def _another_set(
    used: frozenset[int], count: int, offset: int
) -> tuple[Array, Array | None, Array | None]:
    """At least one ingredient of a set is not used, or one outside it is."""
    row = np.zeros((1, offset + count))
    row[0, offset:] = 1.0
    row[0, [offset + index for index in used]] = -1.0
    return row, np.array([1.0 - len(used)]), None


def _mixed(
    cost: Array,
    blocks: list[tuple[Array, Array | None, Array | None]],
    least: Array,
    most: Array,
    whole: Array,
) -> tuple[Array, float, float] | None:
    """Minimise cost . x over blocks of rows with some x whole; return x, objective and gap."""
    optimize = scipy_optimize()
    check_finite(cost, least, *(block[0] for block in blocks))
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
    if answer.status == INFEASIBLE:
        return None
    if answer.x is None:
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    return np.asarray(answer.x), float(answer.fun), float(answer.mip_gap or 0.0)
