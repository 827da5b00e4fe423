"""Why no mix can do it: what cannot hold together, the proof of it, and what could be reached instead."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from formulate.arrays import Array
from formulate.errors import SolverFault
from formulate.freezing import freezing_model
from formulate.ingredients import position
from formulate.mix import (
    CROSSED,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    LEAST_WATER_PERCENT,
    LEFT,
    SOME_WATER,
    Limit,
    Mixture,
    Programme,
    leasts,
    mosts,
    target_name,
    value_per_ingredient,
)
from formulate.recipes import Range, Recipe
from formulate.solver import (
    Certificate,
    Solution,
    blended,
    contradiction_g,
    greatest,
    is_possible,
    least_miss,
    objective_of,
    of_its_name,
    of_limits,
    of_prices,
    span,
    within_usual,
)

__all__ = [
    "Demand",
    "Explanation",
    "Reach",
    "bounds_of",
    "demands",
    "explain",
    "freezing_extreme",
    "reach",
    "restricted",
]


_WATER = position("water")
_MOST_STEPS = 12
_NO_PART = 1e-7


@dataclass(frozen=True, slots=True)
class Demand:
    """One side of a target (``kind`` is ``target``), a limit of a weight (``limit``), or a ``count``.

    Attributes
    ----------
    side:
        ``min``, ``max`` or ``exact``.
    bound:
        In ``unit``; of a weight in grams at the scale.
    field:
        Of a limit, the field of the recipe that sets it: ``min_g``, ``max_g``, ``fixed``, ``stock_g`` or
        ``least_use_g``; else "".
    """

    kind: str
    key: str
    side: str
    bound: float
    name: str
    unit: str
    field: str = ""


@dataclass(frozen=True, slots=True)
class Reach:
    """What a target can reach.

    ``given`` is ``others`` (all others hold), ``limits`` (no other is asked) or ``none``: whatever its
    value, the others contradict each other already, and ``low`` and ``high`` are ``None``.
    """

    key: str
    low: float | None
    high: float | None
    given: str


@dataclass(frozen=True)
class Explanation:
    """Why no mix can do it.

    Attributes
    ----------
    nearest:
        Weights that keep the limits and miss the targets least [g]: within the usual, with what gives the
        dessert its name, and near the recipe, where that can be.
    conflict:
        Demands that cannot hold together, though without any one of them the others can.
    certificate:
        The proof, verified: multipliers of the programme's rows and total.
    contradiction:
        By how much it contradicts itself, above 0.
    """

    nearest: Array
    conflict: tuple[Demand, ...]
    certificate: Certificate
    contradiction: float


def explain(mix: Mixture, programme: Programme) -> Explanation:
    """Return why no mix meets a programme that has none.

    The least sum of misses is one linear programme; its prices are the proof, and name the demands that
    take part in it.  From these a deletion filter leaves out, limits first, what is not needed.

    Raises
    ------
    SolverFault
        If the proof does not hold when it is checked.
    """
    missed = least_miss(programme)
    nearest = _nearest(mix, programme)
    if mix.crossings:
        return _crossed(mix, programme, nearest)
    if missed is None:
        certificate = of_limits(programme)
    else:
        certificate = of_prices(programme, missed.prices, missed.total_price)
    contradiction = contradiction_g(programme, certificate)
    if contradiction <= 0.0:
        raise SolverFault("That no mix can be could not be proved. Please report this recipe.")
    kept = _taking_part(demands(mix, programme), programme, certificate)
    for demand in sorted(kept, key=lambda entry: entry.kind == "target"):
        rest = [entry for entry in kept if entry is not demand]
        if not is_possible(restricted(programme, rest)):
            kept = rest
    return Explanation(nearest, tuple(kept), certificate, contradiction)


def _nearest(mix: Mixture, programme: Programme) -> Array:
    """The mix that a cook would know as the same dessert and misses least, the nearest to the recipe.

    Where the limits allow none such, the one that misses least at all; where they contradict each other,
    these scaled to the batch.
    """
    objective = objective_of(mix, programme)
    usual = blended(mix, within_usual(mix, programme))
    water = [row for row in programme.rows if row.key == SOME_WATER]  # what is meant to freeze
    for tried in (of_its_name(mix, usual), usual, programme):
        found = least_miss(tried, objective)
        if found is None:
            continue
        wet = all(row.coefficients @ found.weights >= row.lower for row in water)
        if wet or tried is programme:
            return found.weights
    return _limits_scaled(programme)


def _crossed(mix: Mixture, programme: Programme, nearest: Array) -> Explanation:
    """Two limits of one ingredient contradict each other: the row that says so is the proof."""
    crossing = mix.crossings[0]
    multipliers = np.array([float(row.key == f"{CROSSED}{crossing.key}") for row in programme.rows])
    proof = Certificate(multipliers, 0.0)
    contradiction = contradiction_g(programme, proof)
    if contradiction <= 0.0:
        raise SolverFault("That no mix can be could not be proved. Please report this recipe.")
    name = mix.names[mix.keys.index(crossing.key)]
    pair = tuple(
        Demand("limit", crossing.key, side, limit.grams, name, "g", limit.field)
        for side, limit in (("min", crossing.least), ("max", crossing.most))
    )
    return Explanation(nearest, pair, proof, contradiction)


def _limits_scaled(programme: Programme) -> Array:
    """The limits that are in the way, scaled to the batch."""
    least, most = (float(programme.reach @ at) for at in (programme.lower, programme.upper))
    limits = programme.upper if 0.0 < most < programme.batch_g else programme.lower
    total = most if limits is programme.upper else least
    return np.asarray(limits * (programme.batch_g / total))


def _taking_part(
    every: list[Demand], programme: Programme, certificate: Certificate
) -> list[Demand]:
    """Demands with a multiplier, or all if these alone should not be impossible (rounding)."""
    pull = certificate.rows @ programme.matrix + certificate.total * programme.reach
    least = _NO_PART * float(np.abs(certificate.rows).max(initial=abs(certificate.total)))
    part = set()
    for row, price in zip(programme.rows, certificate.rows, strict=True):
        if abs(price) > least:
            part.add(("target", row.key, "min" if price > 0.0 else "max"))
            part.add(("target", row.key, "exact"))
    for key, each in zip(programme.keys, pull, strict=True):
        if each != 0.0:
            part.add(("limit", key, "max" if each > 0.0 else "min"))
    found = [demand for demand in every if (demand.kind, demand.key, demand.side) in part]
    return every if is_possible(restricted(programme, found)) else found


def bounds_of(recipe: Recipe, key: str) -> Range:
    """Return the bounds that a recipe gives for a target, ratio or group."""
    if key == FROZEN_WATER_KEY:
        assert recipe.serving is not None
        return recipe.serving.frozen_water
    if key in recipe.targets:
        return recipe.targets[key]
    if key.startswith(LEFT):
        return Range(0.0, None)
    if key == SOME_WATER:
        return Range(LEAST_WATER_PERCENT, None)
    named = {entry.key: entry.bounds for entry in recipe.ratios}
    named |= {entry.key: entry.bounds for entry in recipe.groups}
    return named[key]


def demands(mix: Mixture, programme: Programme) -> list[Demand]:
    """Return every side of every target, and every limit that a cook has set."""
    found = []
    for row in programme.rows:
        if row.key.startswith(CROSSED):
            continue
        bounds = bounds_of(mix.recipe, row.key)
        name, unit = target_name(row.key, mix.recipe)
        for side, bound in (("min", bounds.min), ("max", bounds.max)):
            if bound is not None and row.side in (side, "range"):
                found.append(Demand("target", row.key, side, bound, name, unit))
        if row.side == "exact" and bounds.min is not None:
            found.append(Demand("target", row.key, "exact", bounds.min, name, unit))
    for index, (key, name) in enumerate(zip(programme.keys, mix.names, strict=True)):
        entry, buy = mix.recipe.ingredients[index], float(mix.buys[index])
        low, high = float(programme.lower[index]), float(programme.upper[index])
        if low > 0.0:
            field = _field_of(leasts(entry), low)
            found.append(Demand("limit", key, "min", low, name, "g", field))
        if high < _natural_most(programme, index):
            field = _field_of(mosts(entry, buy), high)
            found.append(Demand("limit", key, "max", high, name, "g", field))
    return found


def _field_of(limits: tuple[Limit, ...], grams: float) -> str:
    """The field that sets the strictest limit, "" if it is not the recipe that sets it."""
    return limits[0].field if limits and limits[0].grams == grams else ""


def restricted(programme: Programme, kept: list[Demand]) -> Programme:
    """Return the programme with only these demands; the total stays."""
    held = {(demand.kind, demand.key, demand.side) for demand in kept}
    rows = []
    for row in programme.rows:
        if row.side == "range":
            lower = row.lower if ("target", row.key, "min") in held else -np.inf
            upper = row.upper if ("target", row.key, "max") in held else np.inf
            rows.append(replace(row, lower=lower, upper=upper))
        elif ("target", row.key, row.side) in held:
            rows.append(row)
    least, most = programme.lower.copy(), programme.upper.copy()
    for index, key in enumerate(programme.keys):
        if ("limit", key, "min") not in held:
            least[index] = 0.0
        if ("limit", key, "max") not in held:
            most[index] = max(_natural_most(programme, index), least[index])
    return programme.only(tuple(rows)).with_limits(least, most)


def _natural_most(programme: Programme, index: int) -> float:
    """The most of an ingredient that the batch itself leaves room for [g]."""
    share = float(programme.reach[index])
    return programme.batch_g / share if 0.0 < share < 1.0 else programme.batch_g


def reach(mix: Mixture, programme: Programme, key: str, *, alone: bool) -> Reach:
    """Return the span that a target can reach, given the others.

    Parameters
    ----------
    key:
        The target, ratio or group.
    alone:
        Whether to say what it could reach if no other were asked, where the others contradict already.
    """
    bases = [("others", programme.without(key))]
    if alone:
        bases.append(("limits", programme.only(())))
    for given, base in bases:
        found = _span(mix, base, key)
        if found is not None:
            return Reach(key, *found, given)
    return Reach(key, None, None, "none")


def _span(mix: Mixture, base: Programme, key: str) -> tuple[float, float] | None:
    recipe = mix.recipe
    if key in (FREEZING_KEY, FROZEN_WATER_KEY):
        return _freezing_span(mix, base, key)
    for group in recipe.groups:
        if group.key == key:
            members = np.isin(mix.keys, group.keys) * mix.reach
            return span(base, members * (100.0 / base.batch_g))
    if any(ratio.key == key for ratio in recipe.ratios):
        return None  # a ratio has no span: the other may go to nothing
    return span(base, value_per_ingredient(mix, key) / base.batch_g)


def _freezing_span(mix: Mixture, base: Programme, key: str) -> tuple[float, float] | None:
    """Span of a freezing point [°C] or of frozen water [%].

    Both are quotients of linear functions, so the extreme is found by Dinkelbach's iteration: solve
    the linear programme at the present value, take the value of the mix that it finds, repeat.
    """
    ends = []
    for sign in (-1.0, 1.0):
        found = freezing_extreme(mix, key, sign, partial(greatest, base))
        if found is None:
            return None
        ends.append(found)
    return min(ends), max(ends)


def freezing_extreme(
    mix: Mixture, key: str, sign: float, greatest_of: Callable[[Array], Solution | None]
) -> float | None:
    """Return the softest (sign -1) or hardest (sign 1) value that a mix can have.

    Parameters
    ----------
    key:
        The freezing point [°C] or frozen water [%].
    greatest_of:
        Finds the mix of the greatest ``coefficients . weights``; ``None`` if no mix can be.
    """
    model = freezing_model()
    water = mix.compositions[:, _WATER] / 100.0
    value = -3.0 if key == FREEZING_KEY else 70.0
    for _ in range(_MOST_STEPS):
        found = greatest_of(sign * _excess(mix, key, value, water))
        if found is None:
            return None
        composition = found.weights @ mix.compositions / float(mix.reach @ found.weights)
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


def _excess(mix: Mixture, key: str, value: float, water: Array) -> Array:
    """Water beyond what stays liquid at the value: grows as the mix freezes harder."""
    model = freezing_model()
    if key == FREEZING_KEY:
        return water - model.liquid_water(mix.compositions, [value])[:, 0] / 100.0
    assert mix.recipe.serving is not None
    held = model.liquid_water(mix.compositions, [mix.recipe.serving.temperature_c])[:, 0] / 100.0
    return (1.0 - value / 100.0) * water - held
