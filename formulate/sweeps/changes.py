"""Many things of a recipe set at once, by the paths with which a cook names them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from formulate.errors import InputError, nearest
from formulate.recipes import Range, Recipe, RecipeIngredient, Serving

__all__ = ["Changes"]

#: What may be varied of an ingredient, and between what [°Bx, money per kg, g].
_OF_INGREDIENT: Mapping[str, tuple[float, float]] = {
    "brix": (0.0, 85.0),
    "price_per_kg": (0.0, 1e9),
    "min_g": (0.0, 1e9),
    "max_g": (0.0, 1e9),
    "stock_g": (0.0, 1e9),
}
_OF_SERVING: Mapping[str, tuple[float, float]] = {
    "temperature_c": (-30.0, -0.01),
    "frozen_water.min": (0.0, 99.99),
    "frozen_water.max": (0.0, 99.99),
}
_WINDOW = "[serving]"  # no key of a target


class Changes:
    """What is set of a recipe, collected, as one bound may pass another until all are set."""

    def __init__(self, recipe: Recipe) -> None:
        self._of = recipe
        self._fields: dict[str, dict[str, Any]] = {}
        self._bounds: dict[str, dict[str, float | None]] = {}
        self._temperature_c: float | None = None

    def put(self, path: str, value: float) -> None:
        """Set one thing."""
        head, _, last = path.rpartition(".")
        if last in _OF_INGREDIENT and any(entry.key == head for entry in self._of.ingredients):
            _check(path, value, *_OF_INGREDIENT[last], above=last == "brix")
            lot = {"brix_temperature_c": 20.0, "lot": None}  # another lot: nothing is known of it
            self._fields.setdefault(head, {}).update(
                {last: value}, **(lot if last == "brix" else {})
            )
            return
        first, _, rest = path.partition(".")
        if first == "target" and rest:
            key, _, side = rest.rpartition(".")
            key, side = (key, side) if side in ("min", "max") and key else (rest, "")
            self._move(key, self._of.targets.get(key, Range()), side, value)
        elif first == "serving" and rest in _OF_SERVING:
            _check(path, value, *_OF_SERVING[rest])
            if rest == "temperature_c":
                self._temperature_c = value
            else:
                window = (self._of.serving or Serving()).frozen_water
                self._move(_WINDOW, window, rest.partition(".")[2], value)
        else:
            raise _unknown(self._of, path)

    def _move(self, key: str, bounds: Range, side: str, value: float) -> None:
        both = self._bounds.setdefault(key, {"min": bounds.min, "max": bounds.max})
        both.update({side: value} if side else {"min": value, "max": value})

    def recipe(self, exchanged: bool) -> Recipe:
        """Return the recipe with all that was set."""
        changed: dict[str, Any] = {}
        if self._fields:
            changed["ingredients"] = tuple(
                replace(entry, **_ordered(self._fields[entry.key], entry, exchanged))
                if entry.key in self._fields
                else entry
                for entry in self._of.ingredients
            )
        ranges = {key: _range(both, exchanged) for key, both in self._bounds.items()}
        window = ranges.pop(_WINDOW, None)
        if ranges:
            changed["targets"] = {**self._of.targets, **ranges}
        if window is not None or self._temperature_c is not None:
            serving = self._of.serving or Serving()
            at, share = self._temperature_c, window or serving.frozen_water
            at = serving.temperature_c if at is None else at
            changed["serving"] = replace(serving, temperature_c=at, frozen_water=share)
        return replace(self._of, **changed)


def _range(both: dict[str, float | None], exchanged: bool) -> Range:
    low, high = both["min"], both["max"]
    if exchanged and low is not None and high is not None and low > high:
        low, high = high, low
    return Range(low, high)


def _ordered(fields: dict[str, Any], entry: RecipeIngredient, exchanged: bool) -> dict[str, Any]:
    """What is set of an ingredient, with limits that cross exchanged, if so asked."""
    low, high = fields.get("min_g", entry.min_g), fields.get("max_g", entry.max_g)
    if exchanged and low is not None and high is not None and low > high:
        return {**fields, "min_g": high, "max_g": low}
    return fields


def _unknown(recipe: Recipe, path: str) -> InputError:
    known = [f"{entry.key}.{name}" for entry in recipe.ingredients for name in _OF_INGREDIENT]
    known += [f"target.{key}.{side}" for key in recipe.targets for side in ("min", "max")]
    known += [f"serving.{name}" for name in _OF_SERVING]
    hint = nearest(path, known) or "Name INGREDIENT.brix, INGREDIENT.price or target.sugars.max."
    problem = "is not something of this recipe that can be varied"
    return InputError(f"vary {path}", problem, hint)


def _check(path: str, value: float, low: float, high: float, above: bool = False) -> None:
    if not low <= value <= high or (above and value == low):
        problem = f"is {value:g}, and must be from {low:g} to {high:g}"
        raise InputError(f"vary {path}", problem, "Choose other values.")
