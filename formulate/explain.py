"""Why no mix can do it: what cannot hold together, and what could be reached instead."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.components import position
from formulate.freezing import freezing_model
from formulate.mixture import FREEZING_KEY, Mixture
from formulate.programme import FROZEN_WATER_KEY, Programme, value_per_ingredient
from formulate.result import TargetValue
from formulate.solve import greatest, is_possible, least_miss, span

__all__ = ["Demand", "Reach", "conflict", "nearest_mix", "reach"]

Array = NDArray[np.float64]

_WATER = position("water")
_MOST_STEPS = 12


@dataclass(frozen=True, slots=True)
class Demand:
    """One side of a target, or one limit of a weight: ``kind`` is ``target``, ``limit`` or ``total``."""

    kind: str
    key: str
    side: str
    bound: float


@dataclass(frozen=True, slots=True)
class Reach:
    """What a target can reach; ``given`` is ``others`` (all other targets hold) or ``limits`` only."""

    key: str
    low: float
    high: float
    given: str


def nearest_mix(programme: Programme) -> Array:
    """Return the weights [g] that keep the limits and miss the targets least.

    Where the limits alone cannot make the batch, the limits that are in the way, scaled to the batch.
    """
    found = least_miss(programme)
    if found is not None:
        return found.weights
    least, most = float(programme.lower.sum()), float(programme.upper.sum())
    limits = programme.upper if 0.0 < most < programme.batch_g else programme.lower
    total = most if limits is programme.upper else least
    return np.asarray(limits * (programme.batch_g / total))


def conflict(mix: Mixture, programme: Programme) -> tuple[Demand, ...]:
    """Return demands that cannot hold together, though without any one of them the others can.

    A deletion filter: each demand is left out in turn, limits first, and stays out if the rest is
    still impossible.  What remains is minimal.  That weights add up to the batch is never given up.
    """
    kept = _demands(mix, programme)
    for demand in sorted(kept, key=lambda entry: entry.kind == "target"):
        rest = [entry for entry in kept if entry is not demand]
        if not is_possible(_restricted(programme, rest)):
            kept = rest
    return tuple(kept)


def reach(mix: Mixture, programme: Programme, missed: TargetValue) -> Reach | None:
    """Return the span that a missed target can reach, given the others or else the limits alone."""
    for given, base in (("others", programme.without(missed.key)), ("limits", programme.only(()))):
        if missed.key in (FREEZING_KEY, FROZEN_WATER_KEY):
            found = _freezing_span(mix, base, missed.key)
        else:
            share = value_per_ingredient(mix, missed.key) / programme.batch_g
            found = span(base, share)
        if found is not None:
            return Reach(missed.key, *found, given)
    return None


def _demands(mix: Mixture, programme: Programme) -> list[Demand]:
    recipe = mix.recipe
    demands = []
    for row in programme.rows:
        bounds = recipe.targets.get(row.key)
        if bounds is None:
            assert recipe.serving is not None
            bounds = recipe.serving.frozen_water
        for side, bound in (("min", bounds.min), ("max", bounds.max)):
            if bound is not None and row.side in (side, "range"):
                demands.append(Demand("target", row.key, side, bound))
        if row.side == "exact" and bounds.min is not None:
            demands.append(Demand("target", row.key, "exact", bounds.min))
    for key, low, high in zip(programme.keys, programme.lower, programme.upper, strict=True):
        if low > 0.0:
            demands.append(Demand("limit", key, "min", float(low)))
        if high < programme.batch_g:
            demands.append(Demand("limit", key, "max", float(high)))
    return demands


def _restricted(programme: Programme, demands: list[Demand]) -> Programme:
    """The programme with only these demands."""
    held = {(demand.kind, demand.key, demand.side) for demand in demands}
    rows = []
    for row in programme.rows:
        sides = {
            "min": ("target", row.key, "min") in held,
            "max": ("target", row.key, "max") in held,
            "exact": ("target", row.key, "exact") in held,
        }
        if row.side == "range":
            lower = row.lower if sides["min"] else -np.inf
            upper = row.upper if sides["max"] else np.inf
            rows.append(replace(row, lower=lower, upper=upper))
        elif sides[row.side]:
            rows.append(row)
    least, most = programme.lower.copy(), programme.upper.copy()
    for index, key in enumerate(programme.keys):
        if ("limit", key, "min") not in held:
            least[index] = 0.0
        if ("limit", key, "max") not in held:
            most[index] = max(programme.batch_g, least[index])
    return programme.only(tuple(rows)).with_limits(least, most)


def _freezing_span(mix: Mixture, base: Programme, key: str) -> tuple[float, float] | None:
    """Span of a freezing point [°C] or of frozen water [%].

    Both are quotients of linear functions, so the extreme is found by Dinkelbach's iteration: solve
    the linear programme at the present value, take the value of the mix that it finds, repeat.
    """
    if not is_possible(base):
        return None
    ends = [_extreme(mix, base, key, sign) for sign in (-1.0, 1.0)]
    return min(ends), max(ends)


def _extreme(mix: Mixture, base: Programme, key: str, sign: float) -> float:
    """Softest (sign -1) or hardest (sign 1) value that a mix can have."""
    model = freezing_model()
    water = mix.compositions[:, _WATER] / 100.0
    value = _start_value(mix, key)
    for _ in range(_MOST_STEPS):
        coefficients = _excess(mix, key, value, water)
        found = greatest(base, sign * coefficients)
        assert found is not None  # the caller has checked that the base is possible
        weights = found.weights
        composition = weights @ mix.compositions / weights.sum()
        if key == FREEZING_KEY:
            new = float(np.nan_to_num(model.initial_freezing_point(composition)[0], nan=-30.0))
            new = min(new, -1e-4)
        else:
            assert mix.recipe.serving is not None
            new = float(model.frozen_water(composition, [mix.recipe.serving.temperature_c])[0, 0])
        if abs(new - value) < 1e-6:
            break
        value = new
    return value


def _start_value(mix: Mixture, key: str) -> float:
    return -3.0 if key == FREEZING_KEY else 70.0


def _excess(mix: Mixture, key: str, value: float, water: Array) -> Array:
    """Water beyond what stays liquid at the value: grows as the mix freezes harder."""
    model = freezing_model()
    if key == FREEZING_KEY:
        return water - model.liquid_water(mix.compositions, [value])[:, 0] / 100.0
    assert mix.recipe.serving is not None
    held = model.liquid_water(mix.compositions, [mix.recipe.serving.temperature_c])[:, 0] / 100.0
    return (1.0 - value / 100.0) * water - held
