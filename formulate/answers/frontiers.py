"""Trade-offs: the exact frontier between two wishes.

Both wishes are linear (or sums of absolute changes), so that the best trade-offs form a polygon; its
corners are found one by one, each by a programme that weighs the two wishes by the slope of an edge, and
no corner is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.freezing import freezing_model
from formulate.ingredients import position, properties
from formulate.mix import (
    COST_KEY,
    Assessment,
    Mixture,
    Programme,
    mixture,
    programme,
    value_per_ingredient,
    verified,
)
from formulate.recipes import Recipe
from formulate.solver import (
    Objective,
    as_usual,
    best,
    relative_change,
)

__all__ = ["WISHES", "Corner", "Frontier", "frontier"]


#: Wishes beside the properties; a minus before a property means that more is better.
WISHES = ("change", COST_KEY, "hardness")

_WATER = position("water")
_NO_BETTER = 1e-7
_AS_GOOD = 1e-9
_MOST_CORNERS = 60


@dataclass(frozen=True, slots=True)
class Corner:
    """One mix on the frontier: the value of both wishes, and the mix."""

    first: float
    second: float
    mix: Assessment


@dataclass(frozen=True, slots=True)
class Frontier:
    """Corners from best in the first wish to best in the second; between them mixes can be blended."""

    first: str
    second: str
    corners: tuple[Corner, ...]


def frontier(recipe: Recipe, first: str, second: str) -> Frontier | None:
    """Return the frontier between two wishes, ``None`` if no mix meets the targets.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    first, second:
        ``change`` (sum of relative changes), ``cost_per_kg``, ``hardness`` (water frozen at the serving
        temperature beyond the middle of the window [g per 100 g]), or a property to make small, with a
        minus before it to make large: ``sweetness``, ``-total_solids``.

    Returns
    -------
    Frontier or None

    Raises
    ------
    InputError
        If a wish is unknown, or lacks the weights, prices or serving that it needs.

    Examples
    --------
    >>> import formulate as fm
    >>> corners = frontier(fm.load("damson_sorbet"), "change", "sweetness").corners
    >>> corners[0].first <= corners[-1].first, corners[0].second >= corners[-1].second
    (True, True)
    """
    mix = mixture(recipe)
    rows = as_usual(mix, programme(mix))
    wishes = (_wish(mix, rows, first), _wish(mix, rows, second))
    one_end, other_end = _end(rows, *wishes), _end(rows, *wishes[::-1])
    if one_end is None or other_end is None:
        return None
    found: list[Array] = [one_end, other_end]
    index = 0
    while index < len(found) - 1 and len(found) < _MOST_CORNERS:
        one, other = (_values(wishes, weights) for weights in found[index : index + 2])
        slope = np.array([one[1] - other[1], other[0] - one[0]])
        if slope.max(initial=0.0) <= _NO_BETTER:
            index += 1
            continue
        between = _best(rows, *wishes, *(slope / slope.max()))
        gain = float(slope @ (one - _values(wishes, between)))
        if gain > _NO_BETTER * float(np.abs(slope) @ (np.abs(one) + 1.0)):
            found.insert(index + 1, between)
        else:
            index += 1
    corners = tuple(
        Corner(
            wishes[0].shown(weights),
            wishes[1].shown(weights),
            verified(mix, weights, counted=False),
        )
        for weights in found
    )
    return Frontier(first, second, corners)


@dataclass(frozen=True)
class _Wish:
    """One wish, to be made small; ``sign`` is -1 where it is worded as something to be made large."""

    objective: Objective
    sign: float

    def shown(self, weights: Array) -> float:
        """The value as the wish is worded."""
        return self.sign * self.objective.of(weights)


def _wish(mix: Mixture, rows: Programme, word: str) -> _Wish:
    """Read a wish.

    Raises
    ------
    InputError
        If it is unknown, or lacks the weights, prices or serving that it needs.
    """
    sign, key = (-1.0 if word.startswith("-") else 1.0), word.removeprefix("-")
    start = np.zeros(len(mix.keys)) if mix.start is None else mix.start
    nothing = np.zeros(len(mix.keys))
    if key == "change":
        if mix.start is None:
            raise InputError(word, "needs the weights of a present recipe", "Give grams.")
        return _Wish(relative_change(rows, start, mix.known.astype(float)), 1.0)
    if key == "hardness":
        coefficients = _hardness(mix) / rows.batch_g * 100.0
    elif key == COST_KEY:
        if mix.prices is None:
            raise InputError(word, "needs every price", "Give price_per_kg to each.")
        coefficients = mix.prices / rows.batch_g
    elif key in properties():
        coefficients = value_per_ingredient(mix, key) / rows.batch_g
    else:
        known = (*WISHES, *properties())
        raise InputError(word, "is not a wish that is known here", nearest(key, known))
    return _Wish(Objective(start, nothing, sign * coefficients), sign)


def _hardness(mix: Mixture) -> Array:
    """Frozen water beyond the middle of the serving window [g/g]; linear, and 0 where it scoops best."""
    serving = mix.recipe.serving
    if serving is None:
        raise InputError("hardness", "needs a [serving] table", "Say at what °C it is served.")
    low, high = serving.frozen_water.min or 0.0, serving.frozen_water.max or 99.0
    held = freezing_model().liquid_water(mix.compositions, [serving.temperature_c])[:, 0] / 100.0
    water = mix.compositions[:, _WATER] / 100.0
    return np.asarray((1.0 - 0.005 * (low + high)) * water - held)


def _values(wishes: tuple[_Wish, _Wish], weights: Array) -> Array:
    return np.array([wish.objective.of(weights) for wish in wishes])


def _best(rows: Programme, first: _Wish, second: _Wish, one: float, other: float) -> Array:
    """The mix of least weighed sum of two wishes, where there is a mix."""
    found = best(
        rows,
        Objective(
            first.objective.start,
            one * first.objective.change + other * second.objective.change,
            one * first.objective.cost + other * second.objective.cost,
        ),
    )
    assert found is not None
    return found.weights


def _end(rows: Programme, first: _Wish, second: _Wish) -> Array | None:
    """The best mix by one wish, and of all such mixes the best by the other."""
    found = best(rows, first.objective)
    if found is None:
        return None
    ceiling = found.objective + _AS_GOOD * (1.0 + abs(found.objective))
    tied = best(rows, second.objective, within=(first.objective, ceiling))
    return (found if tied is None else tied).weights
