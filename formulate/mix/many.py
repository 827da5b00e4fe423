"""What many mixes are, recomputed from their compositions all at once.

The same figures as :mod:`formulate.mix.assessment` gives of one mix, by the same curves; tests
hold the two
together.  Nothing here sees a matrix of the solver.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.freezing import exactly_held_at, freezing_model
from formulate.ingredients import position, properties
from formulate.mix.mixtures import COST_KEY, FREEZING_KEY, FROZEN_WATER_KEY, Mixture
from formulate.recipes import Recipe, Serving, middle_of

__all__ = ["Made", "made", "measures", "value_keys"]


_AT_ONCE = 2048  # mixes whose curves fit a cache
_WATER = position("water")
_ARITHMETIC = 1e-6  # of a bound, after linear algebra
_CURVE = 1e-3  # °C or % of water: curves are interpolated
_COLDEST_C = -30.0


@dataclass(frozen=True)
class Made:
    """Mixes of one recipe, whose lots may differ.

    Attributes
    ----------
    recipe:
        What is asked of them.
    weights:
        [g], shape (mixes, ingredients).
    reached:
        What reaches each mix in all [g], shape (mixes,).
    reach:
        Grams that reach the mix per gram of each ingredient, shape (ingredients,).
    compositions:
        g per 100 g, shape (mixes, columns).
    prices:
        Per kg of each ingredient at the scale, or ``None``.
    """

    recipe: Recipe
    weights: Array
    reached: Array
    reach: Array
    compositions: Array
    prices: Array | None


def made(mix: Mixture, weights: Array, lots: Array | None = None, of: int = 0) -> Made:
    """Return mixes of a recipe.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (mixes, ingredients).
    lots:
        Where the lot of one ingredient differs from mix to mix: its compositions [g per 100 g], shape
        (mixes, columns).
    of:
        The index of that ingredient.

    Returns
    -------
    Made

    Examples
    --------
    >>> import formulate as fm
    >>> import numpy as np
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> made(mix, np.stack([mix.start, mix.start])).weights.shape
    (2, 6)
    """
    reached = weights @ mix.reach
    totals = weights @ mix.compositions
    if lots is not None:
        totals = totals + weights[:, [of]] * (lots - mix.compositions[of])
    return Made(mix.recipe, weights, reached, mix.reach, totals / reached[:, None], mix.prices)


def value_keys(recipe: Recipe) -> tuple[str, ...]:
    """Return the keys of what a row says of a mix: its targets, then how it freezes, then its cost.

    Parameters
    ----------
    recipe:
        The recipe.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> value_keys(fm.load("damson_sorbet"))[:2]
    ('total_solids', 'sweetness')
    """
    told = [key for key in recipe.targets if key not in (FREEZING_KEY, COST_KEY)]
    told += [ratio.key for ratio in recipe.ratios] + [group.key for group in recipe.groups]
    return (*told, FREEZING_KEY, "serving_temperature_c", FROZEN_WATER_KEY, COST_KEY)


def measures(mixes: Made) -> dict[str, Array]:
    """Return every value of :func:`value_keys`, each of shape (mixes,).

    NaN where a mix does not freeze so far above -30 °C, where nothing is known of the cost, and for a
    ratio to nothing.

    Parameters
    ----------
    mixes:
        From :func:`made`.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> round(float(measures(made(mix, mix.start[None, :]))["stabiliser"][0]), 3)
    0.22
    """
    recipe, rows = mixes.recipe, mixes.compositions
    found = {key: rows @ properties()[key].weights for key in recipe.targets if key in properties()}
    keys = [entry.key for entry in recipe.ingredients]
    for ratio in recipe.ratios:
        of, to = (mixes.weights[:, keys.index(key)] for key in (ratio.of, ratio.to))
        found[ratio.key] = np.divide(of, to, out=np.full(len(of), np.nan), where=to > 0.0)
    for group in recipe.groups:
        members = np.isin(keys, group.keys) * mixes.reach
        found[group.key] = 100.0 * (mixes.weights @ members) / mixes.reached
    serving = recipe.serving or Serving()
    reached = _temperatures(rows, (0.0, middle_of(serving.frozen_water)))
    found[FREEZING_KEY], found["serving_temperature_c"] = reached[:, 0], reached[:, 1]
    held = exactly_held_at(serving.temperature_c)
    frozen = 100.0 * (1.0 - rows @ held / rows[:, _WATER])
    found[FROZEN_WATER_KEY] = np.clip(frozen, 0.0, 100.0)
    cost = np.full(len(rows), np.nan)
    found[COST_KEY] = cost if mixes.prices is None else mixes.weights @ mixes.prices / mixes.reached
    return {key: found[key] for key in value_keys(recipe)}


def _temperatures(rows: Array, percents: Sequence[float]) -> Array:
    model, shares = freezing_model(), tuple(percents)
    parts = [
        model.temperatures_at_frozen_water(rows[start : start + _AT_ONCE], shares)
        for start in range(0, len(rows), _AT_ONCE)
    ]
    return np.vstack(parts) if parts else np.empty((0, len(shares)))
