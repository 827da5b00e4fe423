"""Weights that a scale can show, still within the targets.

Each weight is rounded to the scale's step; then single steps and exchanges between two ingredients
repair whatever rounding has broken, smallest relative repair first: a gram of fruit, not of gum.  Where
that does not succeed, an integer programme finds the nearest multiples of the steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from formulate.programme import Programme
from formulate.recipe import Scale
from formulate.solve_whole import on_steps

__all__ = ["Weighable", "weighable"]

Array = NDArray[np.float64]

_MOST_MOVES = 400
_ENOUGH = 1e-9
_SMALL_REPAIR = 0.01  # of a weight
_MOST_PAIRED = 150


@dataclass(frozen=True)
class Weighable:
    """Rounded weights [g]; ``refined`` says how many times finer than the scale they had to be."""

    weights: Array
    refined: int


def weighable(programme: Programme, exact: Array, scale: Scale) -> Weighable | None:
    """Return the weights nearest to ``exact`` that a scale shows and that keep every row and the total.

    Tries the scale's own steps, then steps 10 and 100 times finer; ``None`` if none will do.

    Parameters
    ----------
    programme:
        Rows and limits; rows of exact targets may be missed by their slack.
    exact:
        A mix that meets the programme [g], shape (ingredients,).
    scale:
        The steps of the kitchen's scales.
    """
    for refined in (1, 10, 100):
        steps = np.where(exact < scale.fine_below_g, scale.fine_step_g, scale.step_g) / refined
        found = _repaired(programme, exact, steps)
        if found is None:
            found = on_steps(programme, exact, steps)
        if found is not None and _miss(programme, found[None, :])[0] <= _ENOUGH:
            return Weighable(np.round(found, 9) + 0.0, refined)
    return None


def _repaired(programme: Programme, exact: Array, steps: Array) -> Array | None:
    """Round to steps and repair; ``None`` if a row, limit or the total stays broken."""
    free = (programme.upper > programme.lower) & (exact > 0.0)
    rounded = np.where(free, np.round(exact / steps) * steps, exact)
    if float(_miss(programme, rounded[None, :])[0]) <= _ENOUGH:
        return rounded
    moves = _moves(tuple(steps.tolist()), tuple(np.flatnonzero(free).tolist()))
    if not len(moves):
        return None
    greedy = _by_single_moves(programme, exact, rounded, moves, steps)
    if greedy is not None and _away(greedy[None, :], exact, rounded, steps)[0] <= _SMALL_REPAIR:
        return greedy
    paired = _by_pairs(programme, exact, rounded, moves, steps)
    return greedy if paired is None else paired


def _by_single_moves(
    programme: Programme, exact: Array, rounded: Array, moves: Array, steps: Array
) -> Array | None:
    """Take the move that repairs most, again and again; ``None`` if none does any more."""
    weights = rounded
    for _ in range(_MOST_MOVES):
        miss = float(_miss(programme, weights[None, :])[0])
        if miss <= _ENOUGH:
            return weights
        tried = weights + moves
        left = _miss(programme, tried)
        best = np.lexsort((_away(tried, exact, rounded, steps), np.round(left, 12)))[0]
        if left[best] >= miss - 1e-12:
            return None
        weights = tried[best]
    return None


def _by_pairs(
    programme: Programme, exact: Array, rounded: Array, moves: Array, steps: Array
) -> Array | None:
    """The least of all repairs by one or two moves, ``None`` if none repairs everything."""
    if len(moves) > _MOST_PAIRED:
        return None
    one, other = np.triu_indices(len(moves))
    tried = rounded + np.vstack([moves, moves[one] + moves[other]])
    whole = _miss(programme, tried) <= _ENOUGH
    if not whole.any():
        return None
    tried = tried[whole]
    return np.asarray(tried[np.argmin(_away(tried, exact, rounded, steps))])


def _away(tried: Array, exact: Array, rounded: Array, steps: Array) -> Array:
    """Largest relative distance from the rounded weights, then all distances, shape (mixes,)."""
    relative = np.abs(tried - rounded) / np.maximum(exact, steps)
    return np.asarray(relative.max(axis=1) + 1e-3 * relative.sum(axis=1))


@lru_cache(maxsize=64)
def _moves(steps: tuple[float, ...], free: tuple[int, ...]) -> Array:
    """All single steps and all exchanges between two free ingredients, shape (moves, ingredients)."""
    size, index, unit = np.array(steps), np.array(free, dtype=int), np.eye(len(steps))
    singles = unit[index] * size[index, None]
    one, other = (part.ravel() for part in np.meshgrid(index, index))
    one, other = one[one != other], other[one != other]
    larger = np.maximum(size[one], size[other])[:, None]
    moves = np.vstack([singles, -singles, larger * (unit[one] - unit[other])])
    moves.setflags(write=False)
    return moves


def _miss(programme: Programme, weights: Array) -> Array:
    """How far each row of weights misses rows, limits and total; 0 where all hold, shape (mixes,)."""
    slack = np.array([row.slack for row in programme.rows])
    width = np.array([row.width for row in programme.rows])
    value = weights @ programme.matrix.T
    below = np.maximum(programme.row_lower - slack - value, 0.0)
    above = np.maximum(value - programme.row_upper - slack, 0.0)
    limits = np.maximum(programme.lower - weights, 0.0) + np.maximum(weights - programme.upper, 0.0)
    total = weights @ programme.reach
    total = np.maximum(programme.total_least - total, 0.0) + np.maximum(
        total - programme.total_most, 0.0
    )
    tiny = 1e-12 * programme.batch_g
    missed = np.where(below + above > tiny, (below + above) / width, 0.0).sum(axis=1)
    outside = (limits.sum(axis=1) + total) / programme.batch_g
    return np.asarray(missed + 1e3 * np.where(outside > 1e-10, outside, 0.0))
