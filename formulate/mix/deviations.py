"""How far doubts move what a mix must be: every side of every target has a standard deviation.

Each doubt (:mod:`formulate.mix.uncertainty`) moves each condition on the composition linearly in the
weights, and so does what a scale cannot show.  The one matrix of these effects steers the margin that is
kept inside a target, and gives the chance that a mix holds what it must.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from formulate.arrays import Array
from formulate.freezing import freezing_model
from formulate.ingredients import COMPONENT_KEYS
from formulate.mix.mixtures import Mixture
from formulate.mix.targets import Condition
from formulate.mix.uncertainty import curve_deviation, lot_doubts, model_doubts

__all__ = ["Side", "deviations", "effects", "per_weight", "scale_deviation", "sides_of"]

_PARTS = len(COMPONENT_KEYS)


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One bound of a condition: ``sign x (functional . composition - bound) >= 0``.

    Attributes
    ----------
    sign:
        1 for the least, -1 for the most.
    row:
        Place of the condition among those that it was taken from.
    """

    condition: Condition
    sign: float
    bound: float
    row: int

    @property
    def of_share(self) -> Array:
        """Value of each column per g, counted from the bound, shape (columns,)."""
        found = self.condition.functional.copy()
        found[:_PARTS] -= self.bound / 100.0
        return found


def sides_of(conditions: tuple[Condition | None, ...]) -> tuple[Side, ...]:
    """Return the finite bounds of some conditions, in their order; ``None`` has none.

    Parameters
    ----------
    conditions:
        One for each row of a programme.

    Returns
    -------
    tuple of Side

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet"))).rows
    >>> len(sides_of(tuple(row.condition for row in rows))) >= len(rows)
    True
    """
    return tuple(
        Side(condition, sign, bound, row)
        for row, condition in enumerate(conditions)
        if condition is not None
        for sign, bound in ((1.0, condition.lower), (-1.0, condition.upper))
        if np.isfinite(bound)
    )


def deviations(mix: Mixture, sides: tuple[Side, ...]) -> Array:
    """Return what one standard deviation of each doubt does to each side, per gram of each ingredient.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    sides:
        From :func:`sides_of`.

    Returns
    -------
    Shape (sides, doubts, ingredients) [g/g]; a mix moves a side by the product with its weights.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> sides = sides_of(tuple(row.condition for row in programme(mix).rows))
    >>> found = deviations(mix, sides)
    >>> found.shape[0] == len(sides), found.shape[2]
    (True, 6)
    """
    count = len(mix.keys)
    if not sides:
        return np.zeros((0, 1, count))
    values = np.array([side.of_share for side in sides])
    plain = np.array([side.condition.functional for side in sides])
    cold = np.array([side.condition.temperature_c is not None for side in sides])
    owners, changes = _lots(mix)
    models = model_doubts()
    curves = freezing_model().shares.shape[1]
    found = np.zeros((len(sides), len(owners) + len(models) + curves, count))
    by_lot = values @ changes.T / 100.0
    found[:, np.arange(len(owners)), owners] = by_lot
    for place, doubt in enumerate(models, start=len(owners)):
        moved = (
            plain * doubt.columns
        ) @ mix.compositions.T  # a doubt about the model moves no mass
        moved += np.outer(cold, mix.compositions @ doubt.bound)
        found[:, place] = moved / 100.0
    solutes = (mix.compositions @ freezing_model().shares).T / 100.0
    for index, side in enumerate(sides):
        temperature = side.condition.temperature_c
        if temperature is not None:
            found[index, -curves:] = curve_deviation((temperature,))[0][:, None] * solutes
    told = np.abs(found).max(axis=(0, 2)) > 0.0
    return np.asarray(found[:, told])


def per_weight(mix: Mixture, sides: tuple[Side, ...]) -> Array:
    """Return what a gram of each ingredient does to each side, shape (sides, ingredients) [g/g].

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    sides:
        From :func:`sides_of`.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> sides = sides_of(tuple(row.condition for row in programme(mix).rows))
    >>> per_weight(mix, sides).shape == (len(sides), 6)
    True
    """
    if not sides:
        return np.zeros((0, len(mix.keys)))
    values = np.array([side.of_share for side in sides])
    return np.asarray(values @ mix.compositions.T / 100.0)


def scale_deviation(mix: Mixture, weights: Array) -> Array:
    """Return the standard deviation of each weight as the scale shows it [g], shape (ingredients,).

    A weight that is shown may lie anywhere within half a step to either side.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,).

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> scale_deviation(mix, mix.start).round(2).tolist()
    [0.29, 0.29, 0.29, 0.29, 0.03, 0.29]
    """
    scale = mix.recipe.scale
    step = np.where(weights < scale.fine_below_g, scale.fine_step_g, scale.step_g)
    return np.asarray(step * (weights > 0.0) / sqrt(12.0))


def effects(mix: Mixture, sides: tuple[Side, ...], weights: Array) -> Array:
    """Return what every doubt does to every side of one mix, weighing included [g of the batch].

    Parameters
    ----------
    weights:
        [g], shape (ingredients,).

    Returns
    -------
    Shape (sides, doubts); the root sum of squares along the doubts is a standard deviation.
    """
    by_scale = per_weight(mix, sides) * scale_deviation(mix, weights)
    return np.hstack([deviations(mix, sides) @ weights, by_scale])


def _lots(mix: Mixture) -> tuple[Array, Array]:
    """Whose each doubt about a lot is, and the change of what 100 g of it bring."""
    owners, changes = [], []
    for index, _ in enumerate(mix.keys):
        for _, change in lot_doubts(mix, index):
            owners.append(index)
            changes.append(change)
    width = mix.compositions.shape[1]
    return np.array(owners, dtype=np.intp), np.array(changes).reshape(len(changes), width)
