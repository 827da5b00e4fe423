"""Programmes with whole numbers: counts of ingredients, and weights that a scale shows.

The other room that knows a solver; every search stops after a fixed number of nodes, so that the same
input always gives the same answer, and says how far from the best it may have stopped.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.arrays import Array
from formulate.errors import SolverFault
from formulate.mix import Programme
from formulate.recipes import Counts
from formulate.solver.highs import INFEASIBLE, check_finite, linear, scipy_optimize
from formulate.solver.objectives import (
    TIE,
    Solution,
    change_weights,
    solution,
    tie_break,
    up_and_down,
    with_total,
)

__all__ = ["counted_change", "fewest", "on_steps"]


_MOST_NODES = 2000


def counted_change(
    programme: Programme,
    start: Array,
    counts: Counts,
    least_use: Array,
    not_again: tuple[frozenset[int], ...] = (),
    known: NDArray[np.bool_] | None = None,
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
    not_again:
        Sets of ingredients that are not wanted once more.
    known:
        Which present weights are known; the others can be anything, and that is no change.
    """
    count = len(programme.keys)
    known = np.ones(count, dtype=bool) if known is None else known
    weight = change_weights(programme, start, known)
    least, most = up_and_down(programme, start)
    rows, lower, upper = with_total(programme)
    zeros, eye = np.zeros((len(rows), 2 * count)), np.eye(count)
    none = np.zeros((count, count))
    up_most, down_most = most[:count], most[count:]
    ceiling = _ceiling(programme)
    # columns: up, down, changed (0 or 1), used (0 or 1)
    blocks = [
        (np.hstack([rows, -rows, zeros]), lower - rows @ start, upper - rows @ start),
        (np.hstack([eye, none, -np.diag(up_most), none]), None, np.zeros(count)),
        (np.hstack([none, eye, -np.diag(down_most), none]), None, np.zeros(count)),
        (np.hstack([eye, -eye, none, -np.diag(ceiling)]), None, -start),
        (np.hstack([eye, -eye, none, -np.diag(least_use)]), -start, None),
    ]
    every = np.ones(count)
    for most_of, place, which in (
        (counts.most_changes, 2, known.astype(float)),
        (counts.most_ingredients, 3, every),
    ):
        if most_of is not None:
            row = np.zeros((1, 4 * count))
            row[0, place * count : (place + 1) * count] = which
            blocks.append((row, None, np.array([float(most_of)])))
    blocks += [_another_set(used, count, 3 * count) for used in not_again]
    found = _mixed(
        np.concatenate([weight, weight, np.full(2 * count, TIE)]),
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


def fewest(
    programme: Programme,
    usual: ArrayLike,
    counts: Counts,
    least_use: Array,
    not_again: tuple[frozenset[int], ...] = (),
) -> Solution | None:
    """Return the mix of fewest and most usual ingredients; ``None`` if none can be.

    Each ingredient that is used costs its rank (1 usual to 5 rare) plus 3, so that one rare
    ingredient is preferred to three usual ones.  Of the mixes of the chosen ingredients it is the one
    with the least of the unusual, then the alphabet.
    """
    rank = np.asarray(usual, dtype=float)
    count = len(rank)
    rows, lower, upper = with_total(programme)
    ceiling = _ceiling(programme)
    none = np.zeros_like(rows)
    blocks: list[tuple[Array, Array | None, Array | None]] = [
        (np.hstack([rows, none]), lower, upper),
        (np.hstack([np.eye(count), -np.diag(ceiling)]), None, np.zeros(count)),
        (np.hstack([np.eye(count), -np.diag(least_use)]), np.zeros(count), None),
    ]
    if counts.most_ingredients is not None:
        row = np.concatenate([np.zeros(count), np.ones(count)])[None, :]
        blocks.append((row, None, np.array([float(counts.most_ingredients)])))
    blocks += [_another_set(used, count, count) for used in not_again]
    found = _mixed(
        np.concatenate([np.zeros(count), rank + 3.0 + tie_break(programme)]),
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
    cost = rank + 0.01 * tie_break(programme)
    answer = linear(cost, rows, lower, upper, least, np.maximum(within, least))
    return None if answer is None else replace(solution(answer.x, answer), gap=found[2])


def on_steps(programme: Programme, exact: Array, steps: Array) -> Array | None:
    """Return the multiples of ``steps`` nearest to ``exact`` that meet the programme, or ``None``.

    Nearest is the smallest sum of steps moved.  Rows may be missed by their slack; a weight that
    cannot move keeps its value even if it is no multiple.  Stops after a fixed number of nodes, so
    that the same input always gives the same answer.
    """
    optimize = scipy_optimize()
    count = len(exact)
    slack = np.array([row.slack for row in programme.rows])
    rows, lower, upper = with_total(programme)
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
    check_finite(scaled, least, most)
    if np.any(least > most):
        return None
    answer = optimize.milp(
        np.concatenate([np.zeros(count), np.ones(count) + tie_break(programme)]),
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


def _ceiling(programme: Programme) -> Array:
    """The most of each ingredient that its limit and the batch leave room for [g]."""
    share = programme.reach
    less = (share > 0.0) & (
        share < 1.0
    )  # a jug keeps some of it: more than the batch may be weighed
    room = programme.batch_g / np.where(less, share, 1.0)
    return np.minimum(programme.upper, room)


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
