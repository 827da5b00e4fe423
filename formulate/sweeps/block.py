"""One block of a sweep: the points of which it consists, and the mix of each.

Where points differ in one reading alone, many lots are rebalanced at once
(:mod:`formulate.answers.rebalancing`);
else every point is met with the tables and solved by itself.  Both ways give the same weights, exact and
not rounded to a scale, and every mix is recomputed from its composition.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.answers import between, rebalance
from formulate.arrays import Array
from formulate.data import versions
from formulate.errors import InputError
from formulate.mix import made, measures, mixture, programme, require_verified, value_keys
from formulate.solver import optimum
from formulate.sweeps.axes import Sweep

__all__ = [
    "BALANCED",
    "IMPOSSIBLE",
    "REFUSED",
    "Block",
    "block",
    "value_columns",
]


#: What became of a point: a mix, no mix can do it, or values that cannot be.
BALANCED, IMPOSSIBLE, REFUSED = 0, 1, 2


@dataclass(frozen=True)
class Block:
    """The rows of a block.

    Attributes
    ----------
    points:
        Their numbers, shape (rows,).
    left_out:
        Which set is left out, as in :meth:`formulate.sweeps.axes.Sweep.values`, shape (rows,).
    varied:
        The value of each axis, shape (rows, axes).
    status:
        Of each point: balanced, impossible, refused, shape (rows,).
    weights:
        Exact weights [g] of the ingredients of the recipe, NaN without a mix, shape (rows, ingredients).
    values:
        By column, each of shape (rows,); NaN without a mix or where not known.
    """

    points: NDArray[np.int64]
    left_out: NDArray[np.int64]
    varied: Array
    status: NDArray[np.int8]
    weights: Array
    values: dict[str, Array]


def value_columns(sweep: Sweep) -> tuple[str, ...]:
    """Return the keys of :attr:`Block.values`, the same for every block."""
    return value_keys(sweep.pattern)


def block(sweep: Sweep, number: int) -> Block:
    """Return a block of a sweep; it follows from the two alone.

    Raises
    ------
    InputError
        If program, tables or random numbers here are not those that the sweep was made with.
    SolverFault, VerificationFault
        If an answer cannot be trusted.
    """
    here = {**versions(), "numpy": np.__version__}
    if here != sweep.made_with:
        words = ", ".join(f"{key} {value}" for key, value in sweep.made_with.items())
        problem = "has another program, or other tables, than the sweep was begun with"
        raise InputError("this machine", problem, f"Install {words} on every machine.")
    points = sweep.numbers(number)
    left_out, varied = sweep.values(points)
    count = len(points)
    found = Block(
        points,
        left_out,
        varied,
        np.full(count, REFUSED, dtype=np.int8),
        np.full((count, len(sweep.recipe.ingredients)), np.nan),
        {key: np.full(count, np.nan) for key in value_columns(sweep)},
    )
    size = sweep.run if sweep.is_fast else 1
    for run in np.split(np.arange(count), np.flatnonzero(np.diff(points // size)) + 1):
        if not (sweep.is_fast and _fill_at_once(sweep, found, run)):
            for row in run:
                _fill_one(sweep, found, int(row))
    return found


def _fill_one(sweep: Sweep, found: Block, row: int) -> None:
    """Meet one point with the tables and balance it."""
    try:
        recipe = sweep.recipe_at(int(found.left_out[row]), found.varied[row])
        mix = mixture(recipe)
    except InputError:
        return
    solution = optimum(mix, programme(mix))
    if solution is None:
        found.status[row] = IMPOSSIBLE
        return
    found_mix = made(mix, solution.weights[None, :])
    require_verified(mix, found_mix)
    values = measures(found_mix)
    _keep(sweep, found, np.array([row]), mix.keys, solution.weights[None, :], values)


def _fill_at_once(sweep: Sweep, found: Block, run: NDArray[np.int64]) -> bool:
    """Rebalance points that differ in one reading; say whether it could be done so."""
    at = sweep.read_axis
    assert at is not None
    key = sweep.axes[at].reads
    assert key is not None
    readings = found.varied[run, at]
    recipe = sweep.recipe
    try:
        recipe = sweep.recipe_at(int(found.left_out[run[0]]), found.varied[run[0]])
        low, high = float(readings.min()), float(readings.max())
        lots = between(recipe, key, (low, high))
        rebalanced = rebalance(recipe, key, readings)
    except InputError:  # a reading that cannot be, or a set without weights: point by point
        return False
    found.status[run] = np.where(rebalanced.possible, BALANCED, IMPOSSIBLE)
    rows, weights = run[rebalanced.possible], rebalanced.weights[rebalanced.possible]
    if not len(rows):
        return True
    (first, _), (last, _) = lots.ends
    of = first.keys.index(key)
    share = (readings[rebalanced.possible] - low) / (high - low or 1.0)
    lot = np.outer(1.0 - share, first.compositions[of]) + np.outer(share, last.compositions[of])
    values = measures(made(first, weights, lot, of))
    _keep(sweep, found, rows, first.keys, weights, values)
    return True


def _keep(
    sweep: Sweep,
    found: Block,
    rows: NDArray[np.int64],
    keys: tuple[str, ...],
    weights: Array,
    values: dict[str, Array],
) -> None:
    """Put mixes into their rows; of what is left out there is nothing."""
    places = [entry.key for entry in sweep.recipe.ingredients]
    found.status[rows] = BALANCED
    found.weights[rows] = 0.0
    found.weights[rows[:, None], [places.index(key) for key in keys]] = weights
    for key, column in values.items():
        found.values[key][rows] = column
