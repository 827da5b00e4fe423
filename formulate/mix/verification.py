"""The one judgement that every proposed mix passes: what the recipe asks, from composition alone.

Nothing here sees the solver's matrix or its rounding.  Total, limits and stock, fixed weights, least
uses, counts, ratios, groups, cost and every target are recomputed from the weights, the compositions
and the exact freezing curves, with one table of tolerances, for one mix or for thousands at once.  A
mix that fails is a fault of this program and is never shown.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import VerificationFault
from formulate.freezing import exactly_held_at, freezing_model
from formulate.ingredients import position, properties
from formulate.mix.assessment import Assessment, assess
from formulate.mix.many import Made, made
from formulate.mix.mixtures import (
    COST_KEY,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    RATIO_SLACK_G,
    SHOWN_COST,
    SHOWN_DEGREES,
    SHOWN_PERCENT,
    Mixture,
)
from formulate.recipes import Range

__all__ = ["kept_demands", "require_verified", "verified"]

Kept = NDArray[np.bool_]

_WATER = position("water")
_COLDEST_C = -30.0  # a mix that does not freeze above it is judged as freezing there

#: Tolerances.  A batch is as good as made within half a step of the scale.  Sums are exact but for
#: arithmetic, of the batch and of a value; curves are interpolated to 0.001 °C and 0.001 % of water.  An
#: exact target is met within half of the last digit that is shown of it.
_HALF_A_STEP = 0.5
_OF_BATCH = 1e-6
_OF_VALUE = 1e-6
_CURVE = 1e-3
_SHOWN = {FREEZING_KEY: SHOWN_DEGREES, COST_KEY: SHOWN_COST}


def verified(mix: Mixture, weights: Array, *, counted: bool = True) -> Assessment:
    """Return everything that is known of a proposed mix that keeps all that the recipe asks.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,).
    counted:
        Whether counts of changes and ingredients and least uses are asked, too.

    Returns
    -------
    Assessment

    Raises
    ------
    VerificationFault
        If it keeps something not.

    Examples
    --------
    >>> import formulate as fm
    >>> result = fm.balance(fm.load("damson_sorbet"))
    >>> weights = np.array([weight.grams for weight in result.mix.weights])
    >>> verified(result.mixture, weights).all_met
    True
    >>> verified(result.mixture, 1.1 * weights)
    Traceback (most recent call last):
    ...
    formulate.errors.VerificationFault: The mix was recomputed and does not keep the total. ...
    """
    require_verified(mix, made(mix, weights[None, :]), counted=counted)
    return assess(mix, weights)


def require_verified(mix: Mixture, mixes: Made, *, counted: bool = True) -> None:
    """Refuse all mixes if one of them does not keep what the recipe asks.

    Parameters
    ----------
    mix:
        The recipe met with the tables, for its limits.
    mixes:
        From :func:`formulate.mix.made`.
    counted:
        Whether counts of changes and ingredients and least uses are asked, too.

    Raises
    ------
    VerificationFault
        With the first demand that is not kept.

    Examples
    --------
    >>> import formulate as fm
    >>> result = fm.balance(fm.load("damson_sorbet"))
    >>> weights = np.array([[weight.grams for weight in result.mix.weights]])
    >>> require_verified(result.mixture, made(result.mixture, weights))
    """
    for demand, kept in kept_demands(mix, mixes, counted=counted).items():
        if not kept.all():
            raise VerificationFault(
                f"The mix was recomputed and does not keep the {demand}. It is not shown. Please "
                "report this recipe."
            )


def kept_demands(mix: Mixture, mixes: Made, *, counted: bool = True) -> dict[str, Kept]:
    """Return whether each mix keeps each demand, by the demand's name, each of shape (mixes,).

    Parameters
    ----------
    mix, mixes, counted:
        As for :func:`require_verified`.

    Returns
    -------
    dict of ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> mixture = fm.check(fm.load("damson_sorbet")).mixture
    >>> kept = kept_demands(mixture, made(mixture, mixture.start[None, :]))
    >>> [demand for demand, each in kept.items() if not each.all()]
    ['target sweetness']
    """
    found = {"total": _total(mix, mixes)}
    found |= dict(_limits(mix, mixes))
    found |= dict(_counts(mix, mixes)) if counted else {}
    found |= {
        f"target {key}": _within(key, values, bounds, slack)
        for key, values, bounds, slack in _asked(mixes)
    }
    return found


def _total(mix: Mixture, mixes: Made) -> Kept:
    batch = mix.recipe.batch_g
    room = _HALF_A_STEP * mix.recipe.scale.step_g + _OF_BATCH * batch
    return np.asarray(np.abs(mixes.reached - batch) <= room)


def _limits(mix: Mixture, mixes: Made) -> Iterator[tuple[str, Kept]]:
    """Least and most of each weight, fixed ones and the stock among them."""
    tiny = _OF_BATCH * mix.recipe.batch_g
    for index, key in enumerate(mix.keys):
        grams = mixes.weights[:, index]
        yield (
            f"limits of {key}",
            (grams >= mix.lower[index] - tiny) & (grams <= mix.upper[index] + tiny),
        )


def _counts(mix: Mixture, mixes: Made) -> Iterator[tuple[str, Kept]]:
    tiny, counts = _OF_BATCH * mix.recipe.batch_g, mix.recipe.counts
    used = mixes.weights > tiny
    for index, entry in enumerate(mix.recipe.ingredients):
        if entry.least_use_g:
            enough = mixes.weights[:, index] >= entry.least_use_g - tiny
            yield f"least use of {entry.key}", ~used[:, index] | enough
    if counts.most_ingredients is not None:
        yield "most ingredients", used.sum(axis=1) <= counts.most_ingredients
    if counts.most_changes is not None and mix.start is not None:
        moved = mix.known & (np.abs(mixes.weights - mix.start) > tiny)
        yield "most changes", moved.sum(axis=1) <= counts.most_changes


def _asked(mixes: Made) -> Iterator[tuple[str, Array, Range, Array | float]]:
    """Key, value of each mix, range, and by how much an exact one may be missed."""
    recipe, rows = mixes.recipe, mixes.compositions
    for key, bounds in recipe.targets.items():
        shown = _SHOWN.get(key, SHOWN_PERCENT)
        if key == FREEZING_KEY:
            points = freezing_model().initial_freezing_point(rows)
            yield key, np.where(np.isnan(points), _COLDEST_C, points), bounds, shown
        elif key == COST_KEY:
            assert mixes.prices is not None
            yield key, mixes.weights @ mixes.prices / mixes.reached, bounds, shown
        else:
            yield key, rows @ properties()[key].weights, bounds, shown
    if recipe.serving is not None:
        held = rows @ exactly_held_at(recipe.serving.temperature_c)
        water = np.maximum(rows[:, _WATER], 1e-9)
        frozen = 100.0 * np.clip(1.0 - held / water, 0.0, 1.0)
        yield FROZEN_WATER_KEY, frozen, recipe.serving.frozen_water, SHOWN_PERCENT
    keys = [entry.key for entry in recipe.ingredients]
    for ratio in recipe.ratios:
        of, to = (mixes.weights[:, keys.index(key)] for key in (ratio.of, ratio.to))
        none = (of <= 0.0) & (to <= 0.0)  # none of either keeps any ratio
        value = np.divide(of, to, out=np.full(len(of), np.inf), where=to > 0.0)
        value[none] = ratio.bounds.min or ratio.bounds.max or 0.0
        yield ratio.key, value, ratio.bounds, _ratio_slack(value, to)
    for group in recipe.groups:
        members = np.isin(keys, group.keys) * mixes.reach
        share = 100.0 * (mixes.weights @ members) / mixes.reached
        yield group.key, share, group.bounds, SHOWN_PERCENT


def _ratio_slack(value: Array, to: Array) -> Array:
    """An exact ratio may be off by the larger step of a usual scale."""
    size = np.where(np.isfinite(value), value, 0.0)
    return np.asarray(RATIO_SLACK_G * (1.0 + size) / np.maximum(to, RATIO_SLACK_G))


def _within(key: str, values: Array, bounds: Range, slack: Array | float) -> Kept:
    curve = _CURVE if key in (FREEZING_KEY, FROZEN_WATER_KEY) else 0.0
    allowed = curve + _OF_VALUE * (1.0 + np.abs(np.where(np.isfinite(values), values, 0.0)))
    if bounds.min is not None and bounds.min == bounds.max:
        allowed = allowed + slack
    low = -np.inf if bounds.min is None else bounds.min
    high = np.inf if bounds.max is None else bounds.max
    return np.asarray((values >= low - allowed) & (values <= high + allowed))
