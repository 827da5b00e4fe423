"""What a mix is, recomputed from its composition.

Nothing here sees the solver's matrix: a mix is judged from the weights, the compositions and the
exact freezing curves alone, so that an error in the programme cannot hide itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.freezing import exactly_held_at, freezing_model, frozen_at
from formulate.ingredients import COMPONENTS, position, properties
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
from formulate.mix.names import target_name
from formulate.recipes import Range, Serving, middle_of

__all__ = [
    "CURVE_TEMPERATURES",
    "Assessment",
    "TargetValue",
    "Weight",
    "assess",
    "target_values",
]


#: Temperatures of every curve [°C].
CURVE_TEMPERATURES: tuple[float, ...] = tuple(float(-step) for step in range(2, 25))

_WATER = position("water")
_ALWAYS_SHOWN = ("water", "total_solids", "fat", "msnf", "sugars", "sweetness", "energy_kcal")
_ARITHMETIC = 1e-7
_NOTHING = 1e-7  # % of the mix


@dataclass(frozen=True, slots=True)
class Weight:
    """One line of a mix [g].

    Attributes
    ----------
    grams:
        At the scale now.
    before:
        As the recipe has it, ``None`` where it does not say.
    bought:
        What that takes from the shelf.
    reached:
        What comes into the mix after the steps: below zero for a herb that is strained out with some of
        its liquid.
    start:
        What its change is counted from: ``before``, scaled to the batch if all weights are known.
    """

    key: str
    name: str
    grams: float
    before: float | None
    bought: float
    reached: float
    start: float | None = None


@dataclass(frozen=True, slots=True)
class TargetValue:
    """One target and what the mix makes of it, in the unit of the target."""

    key: str
    name: str
    unit: str
    min: float | None
    max: float | None
    value: float
    met: bool


@dataclass(frozen=True, slots=True)
class Assessment:
    """A mix and everything that is known of it.

    Attributes
    ----------
    properties:
        Value of every target and of the usual properties, by key.
    initial_freezing_point_c:
        Temperature of the first ice [°C]; 0 where nothing is dissolved; ``None`` if it does not
        freeze above -30 °C.
    frozen_water:
        Pairs of temperature [°C] and frozen water [% of all water].
    serving_temperature_c:
        Where frozen water reaches the middle of the serving window [°C]; ``None`` if not above -30 °C.
    serving_frozen_water:
        Frozen water at the kitchen's serving temperature [%].
    composition:
        g per 100 g, shape (columns,).
    """

    weights: tuple[Weight, ...]
    properties: dict[str, float]
    initial_freezing_point_c: float | None
    frozen_water: tuple[tuple[float, float], ...]
    serving: Serving
    serving_temperature_c: float | None
    serving_frozen_water: float
    targets: tuple[TargetValue, ...]
    composition: Array = field(repr=False, compare=False)

    @property
    def all_met(self) -> bool:
        """Whether every target is met."""
        return all(target.met for target in self.targets)

    @property
    def verdict(self) -> str:
        """``scoopable``, ``too hard`` or ``too soft`` at the serving temperature."""
        window = self.serving.frozen_water
        if window.max is not None and self.serving_frozen_water > window.max + SHOWN_PERCENT:
            return "too hard"
        if window.min is not None and self.serving_frozen_water < window.min - SHOWN_PERCENT:
            return "too soft"
        return "scoopable"


def assess(mix: Mixture, weights: Array) -> Assessment:
    """Return everything that is known of a mix, from composition.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        Weights [g], shape (ingredients,), with a positive sum.

    Returns
    -------
    Assessment

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> assess(mix, mix.start).verdict
    'scoopable'
    """
    recipe = mix.recipe
    total = _reached(mix, weights)
    if total <= 0.0:
        raise InputError(
            recipe.name, "nothing is left after straining", "Use less herb, more liquid."
        )
    composition = _mean(mix.compositions, weights, total)
    if composition.min() < -_NOTHING:
        part = COMPONENTS[int(np.argmin(composition[: len(COMPONENTS)]))].name.lower()
        problem = f"straining takes out more {part} than goes in"
        raise InputError(recipe.name, problem, "Use less herb, or more of its liquid.")
    composition = np.maximum(composition, 0.0)
    values = _values(mix, (*_ALWAYS_SHOWN, *recipe.targets), weights, composition, total)
    model = freezing_model()
    serving = recipe.serving or Serving()
    reached = model.temperatures_at_frozen_water(
        composition, (0.0, middle_of(serving.frozen_water))
    )
    point, served = (_number_or_none(temperature) for temperature in reached[0])
    targets = _targets(mix, weights, composition, values, point)
    bound_together = {t.key: t.value for t in targets if t.key.startswith(("ratio ", "group "))}
    curve = frozen_at(CURVE_TEMPERATURES, composition)
    shown = dict(values)
    if FREEZING_KEY in recipe.targets and point is not None:
        shown[FREEZING_KEY] = point
    shown |= bound_together
    starts = [
        None if mix.start is None or before is None else float(mix.start[at])
        for at, before in enumerate(mix.before)
    ]
    return Assessment(
        weights=tuple(
            Weight(
                key,
                name,
                float(grams),
                before,
                float(grams * buy),
                float(grams * reach),
                start,
            )
            for key, name, grams, before, buy, reach, start in zip(
                mix.keys, mix.names, weights, mix.before, mix.buys, mix.reach, starts, strict=True
            )
        ),
        properties=shown,
        initial_freezing_point_c=point,
        frozen_water=tuple(
            (temperature, float(percent))
            for temperature, percent in zip(CURVE_TEMPERATURES, curve, strict=True)
        ),
        serving=serving,
        serving_temperature_c=served,
        serving_frozen_water=_exact_frozen_water(composition, serving.temperature_c),
        targets=targets,
        composition=composition,
    )


def target_values(mix: Mixture, weights: Array) -> tuple[TargetValue, ...]:
    """Return what a mix makes of every target, from composition: a small part of :func:`assess`.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,), with a positive sum.

    Returns
    -------
    tuple of TargetValue

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> [target.key for target in target_values(mix, mix.start) if not target.met]
    ['sweetness']
    """
    total = _reached(mix, weights)
    composition = _mean(mix.compositions, weights, total)
    values = _values(mix, tuple(mix.recipe.targets), weights, composition, total)
    point = None
    if FREEZING_KEY in mix.recipe.targets:
        point = _number_or_none(freezing_model().initial_freezing_point(composition)[0])
    return _targets(mix, weights, composition, values, point)


def _values(
    mix: Mixture, keys: tuple[str, ...], weights: Array, composition: Array, total: float
) -> dict[str, float]:
    """Those of the keys that are properties, and the cost where it is known."""
    known = properties()
    values = {key: float(composition @ known[key].weights) for key in keys if key in known}
    if mix.prices is not None:
        values[COST_KEY] = float(sum(mix.prices * weights)) / total
    return values


def _reached(mix: Mixture, weights: Array) -> float:
    """What reaches the mix in all [g], added one by one."""
    return float(sum(reach * grams for reach, grams in zip(mix.reach, weights, strict=True)))


def _mean(compositions: Array, weights: Array, total: float) -> Array:
    """Mass mean of the ingredients' compositions, added one by one."""
    mean = np.zeros(compositions.shape[1])
    for row, grams in zip(compositions, weights, strict=True):
        mean += row * (grams / total)
    return mean


def _exact_frozen_water(composition: Array, temperature_c: float) -> float:
    """Frozen water [%] from the exact curves of the solutes, not the grid."""
    water = float(composition[_WATER])
    if water <= 0.0:
        return 0.0
    liquid = float(exactly_held_at(temperature_c) @ composition) / water
    return 100.0 * min(max(1.0 - liquid, 0.0), 1.0)


def _targets(
    mix: Mixture, weights: Array, composition: Array, values: dict[str, float], point: float | None
) -> tuple[TargetValue, ...]:
    recipe = mix.recipe
    asked: list[tuple[str, Range, float, float]] = []
    for key, bounds in recipe.targets.items():
        if key == FREEZING_KEY:
            # A mix that does not freeze above -30 °C is judged as freezing there.
            asked.append((key, bounds, -30.0 if point is None else point, SHOWN_DEGREES))
        else:
            shown = SHOWN_COST if key == COST_KEY else SHOWN_PERCENT
            asked.append((key, bounds, values[key], shown))
    if recipe.serving is not None:
        frozen = _exact_frozen_water(composition, recipe.serving.temperature_c)
        asked.append((FROZEN_WATER_KEY, recipe.serving.frozen_water, frozen, SHOWN_PERCENT))
    grams = dict(zip(mix.keys, (float(weight) for weight in weights), strict=True))
    for ratio in recipe.ratios:
        to = grams[ratio.to]
        value = grams[ratio.of] / to if to > 0.0 else (0.0 if grams[ratio.of] == 0.0 else 1e9)
        slack = RATIO_SLACK_G * (1.0 + value) / max(to, RATIO_SLACK_G)
        if to <= 0.0 and value == 0.0:  # none of either keeps any ratio
            value = ratio.bounds.min or ratio.bounds.max or 0.0
        asked.append((ratio.key, ratio.bounds, value, slack))
    reached = dict(zip(mix.keys, mix.reach, strict=True))
    for group in recipe.groups:
        part = sum(grams[key] * float(reached[key]) for key in group.keys)
        share = 100.0 * part / _reached(mix, weights)
        asked.append((group.key, group.bounds, share, SHOWN_PERCENT))
    return tuple(
        _target(key, *target_name(key, recipe), bounds, value, shown)
        for key, bounds, value, shown in asked
    )


def _target(
    key: str, name: str, unit: str, bounds: Range, value: float, shown: float
) -> TargetValue:
    exact = bounds.min is not None and bounds.min == bounds.max
    # Curves are interpolated to 1e-5 of their value and roots to 0.001 °C; sums are exact.
    curve = {FREEZING_KEY: 1e-3, FROZEN_WATER_KEY: 1e-3}.get(key, _ARITHMETIC * (1.0 + abs(value)))
    allowed = shown if exact else curve
    low = bounds.min is None or value >= bounds.min - allowed
    high = bounds.max is None or value <= bounds.max + allowed
    return TargetValue(key, name, unit, bounds.min, bounds.max, value, low and high)


def _number_or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)
