"""Targets and limits as one linear programme in the weights.

Variables are the weights [g], in the order of the recipe.  Every row is ``lower <= row . weights <=
upper`` in grams, carries the target that made it, and is exact: a wish about freezing is linear
because the water that solutes keep liquid is linear in composition (see
:mod:`formulate.freezing.curve`).  Needs numpy alone; nothing here knows a solver.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.freezing import held_at
from formulate.ingredients import position, properties
from formulate.mix.mixtures import (
    COST_KEY,
    CROSSED,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    LEAST_WATER_PERCENT,
    LEFT,
    RATIO_SLACK_G,
    SHOWN_COST,
    SHOWN_DEGREES,
    SHOWN_PERCENT,
    SOME_WATER,
    Mixture,
)
from formulate.recipes import Range, Ratio

__all__ = ["Programme", "Row", "programme", "value_per_ingredient"]


_WATER_EXPECTED = 0.65  # of a mix
_WATER_AT_LEAST = 0.4  # the less water, the more a gram of it counts: for what rounding may miss

_WATER = position("water")


@dataclass(frozen=True)
class Row:
    """One side or both of one target, as a row in grams.

    Attributes
    ----------
    key:
        The target that made the row.
    side:
        ``min``, ``max`` or ``exact``, as the target says it: a freezing point has its own row for
        each side because each belongs to another temperature.
    coefficients:
        Grams of the row per gram of each ingredient.
    lower, upper:
        Bounds [g], ``-inf`` or ``inf`` where there is none.
    width:
        What counts as one unit of missing the target [g].
    slack:
        By how much a rounded mix may miss the row [g]; 0 unless the target is exact.
    """

    key: str
    side: str
    coefficients: Array
    lower: float
    upper: float
    width: float
    slack: float = 0.0


@dataclass(frozen=True)
class Programme:
    """Rows, limits and total of a mix.

    Attributes
    ----------
    total_least, total_most:
        What reaches the mix in all [g]; both the batch unless a pot may grow.
    reach:
        Grams that reach the mix per gram of each ingredient, shape (ingredients,).
    matrix, row_lower, row_upper:
        The rows as arrays, shapes (rows, ingredients), (rows,), (rows,) [g/g, g, g].
    """

    keys: tuple[str, ...]
    batch_g: float
    total_least: float
    total_most: float
    reach: Array
    lower: Array
    upper: Array
    rows: tuple[Row, ...]
    matrix: Array
    row_lower: Array
    row_upper: Array

    def without(self, key: str) -> Programme:
        """Return the programme without the rows of one target."""
        return _assemble(self, tuple(row for row in self.rows if row.key != key))

    def only(self, rows: tuple[Row, ...]) -> Programme:
        """Return the programme with these rows in place of its own."""
        return _assemble(self, rows)

    def with_limits(self, lower: Array, upper: Array) -> Programme:
        """Return the programme with other limits of the weights [g]."""
        return replace(self, lower=lower, upper=upper)


def programme(mix: Mixture) -> Programme:
    """Return the linear programme of a recipe."""
    recipe = mix.recipe
    rows: list[Row] = []
    for key, bounds in recipe.targets.items():
        if key == FREEZING_KEY:
            rows += _freezing_rows(mix, bounds)
        else:
            rows += _value_rows(key, value_per_ingredient(mix, key), bounds, recipe.batch_g)
    if recipe.serving is not None:
        rows += _frozen_water_rows(mix, recipe.serving.temperature_c, recipe.serving.frozen_water)
    if any(row.key in (FREEZING_KEY, FROZEN_WATER_KEY) for row in rows):
        rows += _some_water_row(mix)
    for ratio in recipe.ratios:
        rows += _ratio_rows(mix, ratio)
    for group in recipe.groups:
        members = np.isin(mix.keys, group.keys).astype(float)
        rows += _value_rows(group.key, 100.0 * members * mix.reach, group.bounds, recipe.batch_g)
    rows += _left_rows(mix)
    rows += _crossed_rows(mix)
    batch = recipe.batch_g
    empty = Programme(
        mix.keys,
        batch,
        batch,
        batch,
        mix.reach,
        mix.lower,
        mix.upper,
        (),
        *_arrays((), len(mix.keys)),
    )
    return _assemble(empty, tuple(rows))


def value_per_ingredient(mix: Mixture, key: str) -> Array:
    """Return a target's value of each ingredient alone, shape (ingredients,); a mix has their mean."""
    if key == COST_KEY:
        assert mix.prices is not None
        return mix.prices
    return mix.compositions @ properties()[key].weights


def _value_rows(key: str, values: Array, bounds: Range, batch_g: float) -> list[Row]:
    """A property between bounds: sum of weight x (value / 100) between batch x (bound / 100)."""
    if bounds.min is None and bounds.max is None:
        return []
    share = batch_g / 100.0
    shown = SHOWN_COST if key == COST_KEY else SHOWN_PERCENT
    exact = bounds.min == bounds.max
    lower = -np.inf if bounds.min is None else share * bounds.min
    upper = np.inf if bounds.max is None else share * bounds.max
    size = max(abs(bound) for bound in (bounds.min, bounds.max) if bound is not None)
    span = upper - lower if np.isfinite(upper - lower) else 0.0
    width = max(span, 0.1 * share * size if span == 0.0 else 0.0, share * shown)
    side = "exact" if exact else "range"
    slack = share * shown if exact else 0.0
    return [Row(key, side, values / 100.0, lower, upper, width, slack)]


def _freezing_rows(mix: Mixture, bounds: Range) -> list[Row]:
    """Freezes at or above min: liquid(min) <= water.  Freezes at or below max: liquid(max) >= water."""
    exact = bounds.min == bounds.max
    rows = []
    for side, bound in (("min", bounds.min), ("max", bounds.max)):
        if bound is None:
            continue
        row = _liquid(mix, bound) - mix.compositions[:, _WATER] / 100.0
        # One degree of freezing point is worth this much liquid water at the bound, for a mix that
        # is two thirds water and starts to freeze there: liquid falls as 1 / temperature.
        per_degree = mix.recipe.batch_g * _WATER_EXPECTED / abs(bound)
        slack = SHOWN_DEGREES * mix.recipe.batch_g * _WATER_AT_LEAST / abs(bound) if exact else 0.0
        lower, upper = (-np.inf, 0.0) if side == "min" else (0.0, np.inf)
        rows.append(Row(FREEZING_KEY, side, row, lower, upper, 0.2 * per_degree, slack))
    return rows


def _frozen_water_rows(mix: Mixture, temperature_c: float, window: Range) -> list[Row]:
    """Frozen water between p and q %: (1 - q/100) water <= liquid(t) <= (1 - p/100) water."""
    rows = []
    liquid, water = _liquid(mix, temperature_c), mix.compositions[:, _WATER] / 100.0
    exact = window.min == window.max
    water_expected = _WATER_EXPECTED * mix.recipe.batch_g
    slack = _WATER_AT_LEAST * mix.recipe.batch_g * SHOWN_PERCENT / 100.0 if exact else 0.0
    for side, bound in (("min", window.min), ("max", window.max)):
        if bound is None:
            continue
        row = liquid - (1.0 - bound / 100.0) * water
        lower, upper = (-np.inf, 0.0) if side == "min" else (0.0, np.inf)
        rows.append(Row(FROZEN_WATER_KEY, side, row, lower, upper, 0.06 * water_expected, slack))
    return rows


def _some_water_row(mix: Mixture) -> list[Row]:
    water, least = value_per_ingredient(mix, "water"), Range(LEAST_WATER_PERCENT, None)
    rows = _value_rows("water", water, least, mix.recipe.batch_g)
    return [replace(row, key=SOME_WATER, side="min") for row in rows]


def _ratio_rows(mix: Mixture, ratio: Ratio) -> list[Row]:
    """Grams of one for each gram of another: of >= min x to, of <= max x to."""
    of, to = mix.keys.index(ratio.of), mix.keys.index(ratio.to)
    exact = ratio.bounds.min == ratio.bounds.max
    rows = []
    for side, bound in (("min", ratio.bounds.min), ("max", ratio.bounds.max)):
        if bound is None:
            continue
        row = np.zeros(len(mix.keys))
        row[of], row[to] = 1.0, -bound
        lower, upper = (0.0, np.inf) if side == "min" else (-np.inf, 0.0)
        width = 0.01 * mix.recipe.batch_g
        slack = RATIO_SLACK_G if exact else 0.0
        rows.append(Row(ratio.key, side, row, lower, upper, width, slack))
    return rows


def _left_rows(mix: Mixture) -> list[Row]:
    """Herbs cannot keep more of a liquid than there is: what is left of it is not below zero."""
    rows: dict[str, Array] = {}
    for index, done in enumerate(mix.prepared):
        for liquid, kept in ({} if done is None else done.liquids).items():
            at = mix.keys.index(liquid)
            row = rows.setdefault(liquid, np.zeros(len(mix.keys)))
            row[at] = mix.reach[at]
            row[index] -= kept
    return [
        Row(f"{LEFT}{liquid}", "min", row, 0.0, np.inf, 0.01 * mix.recipe.batch_g)
        for liquid, row in rows.items()
    ]


def _crossed_rows(mix: Mixture) -> list[Row]:
    """0 >= least - most, which cannot hold: so that limits that contradict each other are never met."""
    none, width = np.zeros(len(mix.keys)), 0.01 * mix.recipe.batch_g
    return [
        Row(f"{CROSSED}{crossing.key}", "min", none, crossing.gap, np.inf, width)
        for crossing in mix.crossings
    ]


def _liquid(mix: Mixture, temperature_c: float) -> Array:
    """Water that a gram of each ingredient keeps liquid [g], shape (ingredients,)."""
    return np.asarray(mix.compositions @ held_at((temperature_c,))[0] / 100.0)


def _assemble(base: Programme, rows: tuple[Row, ...]) -> Programme:
    matrix, lower, upper = _arrays(rows, len(base.keys))
    return replace(base, rows=rows, matrix=matrix, row_lower=lower, row_upper=upper)


def _arrays(rows: tuple[Row, ...], columns: int) -> tuple[Array, Array, Array]:
    matrix = np.array([row.coefficients for row in rows]).reshape(len(rows), columns)
    lower = np.array([row.lower for row in rows], dtype=float)
    upper = np.array([row.upper for row in rows], dtype=float)
    return matrix, lower, upper
