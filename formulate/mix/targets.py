"""What a mix must be: each target as one object, linear conditions on a composition.

A property between bounds is one condition.  A wish about freezing is linear, too, because the water that
solutes keep liquid is linear in composition (:mod:`formulate.freezing`): each of its sides is a
condition of its own, as it belongs to another temperature or share.  Programme, doubts, prices of further
ingredients, ladders and sweeps all take their coefficients from here; the judgement of a mix
(:mod:`formulate.mix.assessment`) does not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from formulate.arrays import Array
from formulate.freezing import held_at
from formulate.ingredients import COLUMNS, position, properties
from formulate.mix.mixtures import (
    COST_KEY,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    LEAST_WATER_PERCENT,
    SHOWN_DEGREES,
    SHOWN_PERCENT,
    SOME_WATER,
)
from formulate.recipes import Range, Recipe

__all__ = ["Condition", "Target", "condition_between", "targets_of", "window_target"]

_WATER = position("water")
_WATER_EXPECTED = 0.65  # of a mix
_WATER_AT_LEAST = 0.4  # the less water, the more a gram of it counts: for what rounding may miss


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """``lower <= functional . composition <= upper`` for a composition in g per 100 g.

    Attributes
    ----------
    side:
        ``min``, ``max``, ``range`` or ``exact``, as the target says it.
    functional:
        Over :data:`formulate.ingredients.COLUMNS`.
    lower, upper:
        In the unit of a property; of a wish about freezing, g of liquid water per 100 g.  ``-inf`` or
        ``inf`` where there is none.
    width:
        What counts as one unit of missing the target.
    slack:
        By how much an exact target may be missed; what a page shows is the same.  0 else.
    temperature_c:
        The temperature at which liquid water is counted [°C]; ``None`` for a property.
    """

    side: str
    functional: Array
    lower: float
    upper: float
    width: float
    slack: float = 0.0
    temperature_c: float | None = None

    def of(self, compositions: Array) -> Array:
        """Return grams of the condition per gram of each composition.

        Parameters
        ----------
        compositions:
            g per 100 g, shape (..., columns).
        """
        return np.asarray(compositions @ self.functional / 100.0)


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """One thing that a mix must be.

    Attributes
    ----------
    key:
        As the recipe names it; :data:`FROZEN_WATER_KEY` for the serving window.
    bounds:
        Range [unit of the target].
    tolerance:
        By how much an exact target may be missed [unit of the target]: half of the last digit shown.
    conditions:
        What that asks of a composition; none where no bound is given.
    """

    key: str
    bounds: Range
    tolerance: float
    conditions: tuple[Condition, ...]


def targets_of(recipe: Recipe) -> tuple[Target, ...]:
    """Return every target of a recipe that is asked of the composition, cost, ratios and groups aside.

    Where ice is asked for, water is too: without any, nothing is frozen, and every wish about freezing
    reads 0 <= 0.

    Parameters
    ----------
    recipe:
        Its targets must be known properties.

    Examples
    --------
    >>> from formulate.data import example_bytes
    >>> from formulate.recipes import parse
    >>> sorbet = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    >>> [target.key for target in targets_of(sorbet)]
    ['total_solids', 'sweetness', 'stabiliser', 'frozen_water', 'some water']
    """
    found = []
    for key, bounds in recipe.targets.items():
        if key == FREEZING_KEY:
            found.append(Target(key, bounds, SHOWN_DEGREES, _freezing(bounds)))
        elif key != COST_KEY:
            weights = properties()[key].weights
            asked = condition_between(weights, bounds, SHOWN_PERCENT)
            found.append(Target(key, bounds, SHOWN_PERCENT, asked))
    if recipe.serving is not None:
        found.append(window_target(recipe.serving.temperature_c, recipe.serving.frozen_water))
    if any(t.conditions for t in found if t.key in (FREEZING_KEY, FROZEN_WATER_KEY)):
        found.append(_some_water())
    return tuple(found)


def window_target(temperature_c: float, window: Range) -> Target:
    """Return the target of a serving window.

    Parameters
    ----------
    temperature_c:
        Serving temperature [°C], from -30 to below 0.
    window:
        Frozen water [% of all water].
    """
    asked = _frozen_water(temperature_c, window)
    return Target(FROZEN_WATER_KEY, window, SHOWN_PERCENT, asked)


def condition_between(functional: Array, bounds: Range, shown: float) -> tuple[Condition, ...]:
    """Return the condition of a value between bounds: one, or none without a bound.

    Parameters
    ----------
    functional:
        Values of 1 g of each column per 100 g, shape (columns,).
    bounds:
        [Unit of the value].
    shown:
        Half of the last digit that is shown of it.
    """
    if bounds.min is None and bounds.max is None:
        return ()
    exact = bounds.min == bounds.max
    lower = -np.inf if bounds.min is None else bounds.min
    upper = np.inf if bounds.max is None else bounds.max
    size = max(abs(bound) for bound in (bounds.min, bounds.max) if bound is not None)
    span = upper - lower if np.isfinite(upper - lower) else 0.0
    width = max(span, 0.1 * size if span == 0.0 else 0.0, shown)
    side = "exact" if exact else "range"
    return (Condition(side, functional, lower, upper, width, shown if exact else 0.0),)


def _freezing(bounds: Range) -> tuple[Condition, ...]:
    """Freezes at or above min: liquid(min) <= water.  Freezes at or below max: liquid(max) >= water."""
    exact = bounds.min == bounds.max
    found = []
    for side, bound in (("min", bounds.min), ("max", bounds.max)):
        if bound is None:
            continue
        # One degree of freezing point is worth this much liquid water at the bound, for a mix that
        # is two thirds water and starts to freeze there: liquid falls as 1 / temperature.
        width = 0.2 * 100.0 * _WATER_EXPECTED / abs(bound)
        slack = SHOWN_DEGREES * 100.0 * _WATER_AT_LEAST / abs(bound) if exact else 0.0
        found.append(_beyond(side, _liquid(bound), 1.0, width, slack, bound))
    return tuple(found)


def _frozen_water(temperature_c: float, window: Range) -> tuple[Condition, ...]:
    """Frozen water between p and q %: (1 - q/100) water <= liquid(t) <= (1 - p/100) water."""
    exact = window.min == window.max
    slack = _WATER_AT_LEAST * SHOWN_PERCENT if exact else 0.0
    return tuple(
        _beyond(
            side,
            _liquid(temperature_c),
            1.0 - bound / 100.0,
            6.0 * _WATER_EXPECTED,
            slack,
            temperature_c,
        )
        for side, bound in (("min", window.min), ("max", window.max))
        if bound is not None
    )


def _beyond(
    side: str, liquid: Array, share: float, width: float, slack: float, temperature_c: float
) -> Condition:
    """Liquid water less a share of all water: not above 0 for the least, not below 0 for the most."""
    functional = liquid.copy()
    functional[_WATER] -= share
    lower, upper = (-np.inf, 0.0) if side == "min" else (0.0, np.inf)
    return Condition(side, functional, lower, upper, width, slack, temperature_c)


def _some_water() -> Target:
    least = Range(LEAST_WATER_PERCENT, None)
    functional = np.zeros(len(COLUMNS))
    functional[_WATER] = 1.0
    (asked,) = condition_between(functional, least, SHOWN_PERCENT)
    return Target(SOME_WATER, least, SHOWN_PERCENT, (replace(asked, side="min"),))


@lru_cache(maxsize=256)
def _liquid(temperature_c: float) -> Array:
    """Water that a gram of each column keeps liquid [g], shape (columns,)."""
    return np.asarray(held_at((temperature_c,))[0])
