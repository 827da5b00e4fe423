"""Targets and limits as one linear programme in the weights.

Variables are the weights [g], in the order of the recipe.  Every row is ``lower <= row . weights <=
upper`` in grams, carries the target that made it, and is exact (:mod:`formulate.mix.targets`).  Needs
numpy alone; nothing here knows a solver.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from formulate.arrays import Array
from formulate.ingredients import properties
from formulate.mix.mixtures import (
    COST_KEY,
    CROSSED,
    LEFT,
    RATIO_SLACK_G,
    SHOWN_COST,
    SHOWN_PERCENT,
    Mixture,
)
from formulate.mix.targets import Condition, condition_between, targets_of
from formulate.recipes import Range, Ratio

__all__ = ["Programme", "Row", "programme", "value_per_ingredient"]


_ARITHMETIC = 1e-9  # of the batch


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
    condition:
        What the row asks of the composition; ``None`` where it asks something else of the weights.
    growth:
        What each bound grows by per gram by which the mix is more than planned, as it is asked of the mix
        as it is [g/g].
    """

    key: str
    side: str
    coefficients: Array
    lower: float
    upper: float
    width: float
    slack: float = 0.0
    condition: Condition | None = field(default=None, repr=False)
    growth: tuple[float, float] = (0.0, 0.0)


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

    def holds(self, weights: Array) -> bool:
        """Say whether weights [g] keep every row, limit and the total, but for arithmetic."""
        tiny = _ARITHMETIC * self.batch_g
        values, total = self.matrix @ weights, float(self.reach @ weights)
        return bool(
            np.all((values >= self.row_lower - tiny) & (values <= self.row_upper + tiny))
            and np.all((weights >= self.lower - tiny) & (weights <= self.upper + tiny))
            and self.total_least - tiny <= total <= self.total_most + tiny
        )

    def after(self, held: Array) -> Programme:
        """Return the programme of what is to come when so much is there [g], shape (ingredients,)."""
        rows = (
            replace(row, lower=row.lower - value, upper=row.upper - value)
            for row, value in zip(self.rows, self.matrix @ held, strict=True)
        )
        there = float(self.reach @ held)
        rest = replace(
            self,
            lower=np.maximum(self.lower - held, 0.0),
            upper=np.maximum(self.upper - held, 0.0),
            total_least=self.total_least - there,
            total_most=self.total_most - there,
        )
        return _assemble(rest, tuple(rows))

    def with_columns(
        self, keys: tuple[str, ...], upper: Array, rows: tuple[Row, ...] = ()
    ) -> Programme:
        """Return the programme with further variables, from 0 to so much, and further rows over all.

        Rows that are there already do not have the further variables.
        """
        more, count = np.zeros(len(keys)), len(self.keys)
        matrix = np.zeros((len(self.rows) + len(rows), count + len(keys)))
        matrix[: len(self.rows), :count] = self.matrix
        for at, row in enumerate(rows, start=len(self.rows)):
            matrix[at] = row.coefficients
        old = (
            Row(r.key, r.side, c, r.lower, r.upper, r.width, r.slack, r.condition, r.growth)
            for r, c in zip(self.rows, matrix, strict=False)
        )
        return Programme(
            keys=(*self.keys, *keys),
            batch_g=self.batch_g,
            total_least=self.total_least,
            total_most=self.total_most,
            reach=np.append(self.reach, more),
            lower=np.append(self.lower, more),
            upper=np.append(self.upper, upper),
            rows=(*old, *rows),
            matrix=matrix,
            row_lower=np.append(self.row_lower, [row.lower for row in rows]),
            row_upper=np.append(self.row_upper, [row.upper for row in rows]),
        )

    def loosened(self) -> Programme:
        """Return the programme in which an exact target is met as far off as it is judged to be met."""
        if not any(row.slack for row in self.rows):
            return self
        rows = (
            replace(row, lower=row.lower - row.slack, upper=row.upper + row.slack)
            for row in self.rows
        )
        return _assemble(self, tuple(rows))

    def widened(
        self, keys: tuple[str, ...], compositions: Array, upper: Array, price: float = 0.0
    ) -> Programme:
        """Return the programme with further ingredients, of which there need be none.

        Parameters
        ----------
        keys:
            Of the further ingredients.
        compositions:
            g per 100 g, shape (further, columns).
        upper:
            The most of each [g], shape (further,).
        price:
            Of each, per kg.
        """
        rows = tuple(
            replace(row, coefficients=np.append(row.coefficients, _of(row, compositions, price)))
            for row in self.rows
        )
        wider = replace(
            self,
            keys=(*self.keys, *keys),
            reach=np.append(self.reach, np.ones(len(keys))),
            lower=np.append(self.lower, np.zeros(len(keys))),
            upper=np.append(self.upper, upper),
        )
        return _assemble(wider, rows)


def programme(mix: Mixture) -> Programme:
    """Return the linear programme of a recipe.

    Parameters
    ----------
    mix:
        The recipe met with the tables.

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> programme(mixture(fm.load("damson_sorbet"))).matrix.shape[1]
    6
    """
    recipe, batch = mix.recipe, mix.recipe.batch_g
    rows = [
        _row(target.key, condition, mix.compositions, batch)
        for target in targets_of(recipe)
        for condition in target.conditions
    ]
    if COST_KEY in recipe.targets:
        assert mix.prices is not None
        rows += _share_rows(COST_KEY, mix.prices, recipe.targets[COST_KEY], SHOWN_COST, batch)
    for ratio in recipe.ratios:
        rows += _ratio_rows(mix, ratio)
    for group in recipe.groups:
        members = 100.0 * np.isin(mix.keys, group.keys) * mix.reach
        rows += _share_rows(group.key, members, group.bounds, SHOWN_PERCENT, batch)
    rows += _left_rows(mix)
    rows += _crossed_rows(mix)
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
    """Return a target's value of each ingredient alone, shape (ingredients,); a mix has their mean.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    key:
        Of a property or component.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> value_per_ingredient(mixture(fm.load("damson_sorbet")), "sucrose").round(1)[1].item()
    100.0
    """
    if key == COST_KEY:
        assert mix.prices is not None
        return mix.prices
    return mix.compositions @ properties()[key].weights


def _of(row: Row, compositions: Array, price: float) -> Array:
    """What a gram of each of some compositions brings to a row, shape (compositions,)."""
    if row.condition is not None:
        return row.condition.of(compositions)
    return np.full(len(compositions), price / 100.0 if row.key == COST_KEY else 0.0)


def _row(key: str, asked: Condition, compositions: Array, batch_g: float) -> Row:
    """A condition on 100 g of the mix as a row in grams of the batch."""
    share = batch_g / 100.0
    return Row(
        key,
        asked.side,
        asked.of(compositions),
        share * asked.lower,
        share * asked.upper,
        share * asked.width,
        share * asked.slack,
        asked,
        (asked.lower / 100.0, asked.upper / 100.0),
    )


def _share_rows(key: str, values: Array, bounds: Range, shown: float, batch_g: float) -> list[Row]:
    """A value of each ingredient, of which a mix has the mean, between bounds."""
    return [
        replace(_row(key, asked, np.eye(len(values)), batch_g), condition=None)
        for asked in condition_between(values, bounds, shown)
    ]


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


def _assemble(base: Programme, rows: tuple[Row, ...]) -> Programme:
    matrix, lower, upper = _arrays(rows, len(base.keys))
    return replace(base, rows=rows, matrix=matrix, row_lower=lower, row_upper=upper)


def _arrays(rows: tuple[Row, ...], columns: int) -> tuple[Array, Array, Array]:
    matrix = np.array([row.coefficients for row in rows]).reshape(len(rows), columns)
    lower = np.array([row.lower for row in rows], dtype=float)
    upper = np.array([row.upper for row in rows], dtype=float)
    return matrix, lower, upper
