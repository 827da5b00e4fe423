"""A mix that holds its targets though readings and compositions are uncertain, and what that costs.

Every doubt (:mod:`formulate.mix.uncertainty`) moves every row of the programme, linearly in the
weights.  A
row then has a standard deviation, the root of a sum of squares, and must keep a distance of so many of
it from its bound.  That is a convex condition; it is met by cutting planes, each a linear row, until
none is missing: a sequence of linear programmes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.freezing import freezing_model
from formulate.mix import (
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    Mixture,
    Programme,
    Row,
    curve_deviation,
    lot_doubts,
    model_doubts,
    programme,
)
from formulate.solver.objectives import Solution
from formulate.solver.optima import optimum

__all__ = ["Chance", "chances", "row_deviations", "safe_optimum"]


_MOST_CUTS = 40
_CLOSE = 1e-6  # of a row's width


@dataclass(frozen=True, slots=True)
class Chance:
    """Probability that a target holds [%], taking doubts as normal and independent."""

    key: str
    percent: float


def row_deviations(mix: Mixture, rows: Programme) -> tuple[Array, ...]:
    """Return what each doubt does to each row, per gram of each ingredient.

    Returns
    -------
    For each row an array of shape (doubts, ingredients) [g/g]; a mix moves the row by its product with
    the weights.
    """
    count = len(mix.keys)
    owners, changes, constants, solutes = _doubts(mix)
    effect = _as_ingredients(mix, changes)
    found = []
    for index, row in enumerate(rows.rows):
        moved = np.zeros((len(owners), count))
        moved[np.arange(len(owners)), owners] = effect[index]
        temperature = _temperature(mix, row)
        if temperature is not None:
            moved[np.arange(len(owners)), owners] += constants / 100.0
            curves = (solutes * curve_deviation((temperature,))[0]).T / 100.0
            moved = np.vstack([moved, curves])
        found.append(_merged(moved, mix))
    return tuple(found)


def safe_optimum(
    mix: Mixture, rows: Programme, confidence: float
) -> tuple[Solution, Programme] | None:
    """Return the best mix of which every target holds with a confidence, ``None`` if there is none.

    Parameters
    ----------
    confidence:
        Probability with which each target must hold, above 0 to below 1.

    Returns
    -------
    The mix, and the programme with the cuts that make it safe.
    """
    distance = NormalDist().inv_cdf(0.5 + 0.5 * confidence)
    deviations = row_deviations(mix, rows)
    cuts: list[Row] = []
    for _ in range(_MOST_CUTS):
        wider = rows.only((*rows.rows, *cuts))
        found = optimum(mix, wider)
        if found is None:
            return None
        more = [
            cut
            for row, moved in zip(rows.rows, deviations, strict=True)
            for cut in _cuts(row, moved, found.weights, distance)
        ]
        if not more:
            return found, wider
        cuts += more
    return None


def chances(mix: Mixture, rows: Programme, weights: Array) -> tuple[Chance, ...]:
    """Return the probability that each target holds, for some weights [g]."""
    found: dict[str, float] = {}
    normal = NormalDist()
    for row, moved in zip(rows.rows, row_deviations(mix, rows), strict=True):
        value = float(row.coefficients @ weights)
        spread = float(np.linalg.norm(moved @ weights))
        for bound, sign in ((row.lower, 1.0), (row.upper, -1.0)):
            if not np.isfinite(bound):
                continue
            room = sign * (value - bound) + (row.slack if row.side == "exact" else 0.0)
            missed = (
                float(room < -_CLOSE * row.width) if spread <= 0.0 else normal.cdf(-room / spread)
            )
            found[row.key] = found.get(row.key, 0.0) + missed
    return tuple(Chance(key, 100.0 * max(0.0, 1.0 - missed)) for key, missed in found.items())


def _cuts(row: Row, moved: Array, weights: Array, distance: float) -> list[Row]:
    """Rows that keep a mix as far from a bound as its deviation asks; none where it is far enough."""
    if row.side == "exact":
        return []  # an exact value cannot keep a distance from itself
    doubt = moved @ weights
    spread = float(np.linalg.norm(doubt))
    if spread <= 0.0:
        return []
    gradient = distance * (doubt @ moved) / spread
    value = float(row.coefficients @ weights)
    found = []
    if value + distance * spread > row.upper + _CLOSE * row.width:
        found.append(replace(row, coefficients=row.coefficients + gradient, lower=-np.inf))
    if value - distance * spread < row.lower - _CLOSE * row.width:
        found.append(replace(row, coefficients=row.coefficients - gradient, upper=np.inf))
    return found


def _doubts(mix: Mixture) -> tuple[NDArray[np.intp], Array, Array, Array]:
    """Doubts one by one: whose, change of composition, constant liquid water; and dissolved solutes.

    A doubt about the model is one of each ingredient here; :func:`_merged` adds them up.
    """
    owners, changes, constants = [], [], []
    for index, _ in enumerate(mix.keys):
        for _, change in lot_doubts(mix, index):
            owners.append(index)
            changes.append(change)
            constants.append(0.0)
    for doubt in model_doubts():
        for index, row in enumerate(mix.compositions):
            owners.append(index)
            changes.append(row * doubt.columns)
            constants.append(float(row @ doubt.bound))
    solutes = mix.compositions @ freezing_model().shares
    return np.array(owners), np.array(changes), np.array(constants), solutes


def _merged(moved: Array, mix: Mixture) -> Array:
    """Rows of one doubt about the model, given for each ingredient, added up to one."""
    count = len(mix.keys)
    lots = sum(len(lot_doubts(mix, index)) for index in range(count))
    models = len(model_doubts())
    parts = [moved[:lots]]
    for place in range(models):
        start = lots + place * count
        parts.append(moved[start : start + count].sum(axis=0)[None, :])
    parts.append(moved[lots + models * count :])
    return np.vstack(parts)


def _as_ingredients(mix: Mixture, changes: Array) -> Array:
    """What each change of composition does to each row: rows are linear in composition."""
    number = len(changes)
    recipe = mix.recipe
    entries = tuple(
        replace(recipe.ingredients[0], key=f"doubt {index}", grams=0.0) for index in range(number)
    )
    pseudo = replace(
        mix,
        recipe=replace(recipe, ingredients=entries, ratios=(), groups=()),
        names=("",) * number,
        usual=(1,) * number,
        compositions=changes,
        reach=np.zeros(number),
        prepared=(None,) * number,
        lower=np.zeros(number),
        upper=np.zeros(number),
        start=None,
        prices=None if mix.prices is None else np.zeros(number),
    )
    matrix = programme(pseudo).matrix
    whole = np.zeros((len(programme(mix).rows), number))
    whole[: len(matrix)] = matrix  # ratios and groups come last, and have no doubt
    return whole


def _temperature(mix: Mixture, row: Row) -> float | None:
    """The temperature at which a row counts liquid water [°C]."""
    if row.key == FROZEN_WATER_KEY:
        assert mix.recipe.serving is not None
        return mix.recipe.serving.temperature_c
    if row.key == FREEZING_KEY:
        bounds = mix.recipe.targets[FREEZING_KEY]
        return bounds.min if row.side == "min" else bounds.max
    return None
