"""Tables for the editors from a recipe, and the recipe back from what the editors hold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pandas as pd

from desk.entries.numbers import cells, number
from formulate.errors import InputError
from formulate.mix import mixture
from formulate.recipes import Range, Recipe, RecipeIngredient

__all__ = [
    "LOT_FIELDS",
    "WEIGHT_FIELDS",
    "ingredient_frame",
    "names_of",
    "target_frame",
    "with_ingredients",
    "with_targets",
]

#: Columns of the two tables of ingredients.
LOT_FIELDS = ("brix", "brix_temperature_c", "brix_plus_minus", "price_per_kg", "stock_g")
WEIGHT_FIELDS = ("grams", "min_g", "max_g", "fixed")

_ALWAYS = {
    name: field.default
    for name, field in RecipeIngredient.__dataclass_fields__.items()
    if name in ("brix_temperature_c", "brix_plus_minus")
}


def names_of(recipe: Recipe) -> dict[str, str]:
    """Names of the ingredients by key."""
    return dict(
        zip((entry.key for entry in recipe.ingredients), mixture(recipe).names, strict=True)
    )


def ingredient_frame(recipe: Recipe, fields: tuple[str, ...]) -> pd.DataFrame:
    """One row per ingredient: its name and some of its fields."""
    names = names_of(recipe)
    columns: dict[str, Any] = {"name": [names[entry.key] for entry in recipe.ingredients]}
    for field in fields:
        values = [_shown(entry, field) for entry in recipe.ingredients]
        columns[field] = pd.array(values, dtype="bool") if field == "fixed" else cells(values)
    return pd.DataFrame(columns, index=[entry.key for entry in recipe.ingredients])


def with_ingredients(
    recipe: Recipe, frame: pd.DataFrame, fields: tuple[str, ...], slips: list[InputError]
) -> Recipe:
    """The recipe with what such a table holds; what cannot be is added to the slips."""
    entries = []
    for place, entry in enumerate(recipe.ingredients):
        row = frame.iloc[place]
        changed: dict[str, Any] = {}
        for field in fields:
            if field == "fixed":
                changed[field] = bool(row[field])
                continue
            value = _read(row[field], getattr(entry, field), entry.key, field, slips)
            changed[field] = _ALWAYS[field] if value is None and field in _ALWAYS else value
        try:
            entries.append(replace(entry, **changed))
        except InputError as error:
            slips.append(error.about(entry.key))
            entries.append(entry)
    return replace(recipe, ingredients=tuple(entries))


def target_frame(recipe: Recipe, names: dict[str, str]) -> pd.DataFrame:
    """One row per target: name with unit, least and most."""
    bounds = list(recipe.targets.values())
    return pd.DataFrame(
        {
            "name": [names[key] for key in recipe.targets],
            "min": cells(each.min for each in bounds),
            "max": cells(each.max for each in bounds),
        },
        index=list(recipe.targets),
    )


def with_targets(recipe: Recipe, frame: pd.DataFrame, slips: list[InputError]) -> Recipe:
    """The recipe with what that table holds; what cannot be is added to the slips."""
    bounds = {}
    for place, (key, known) in enumerate(recipe.targets.items()):
        low, high = (
            _read(frame[side].iloc[place], getattr(known, side), key, side, slips)
            for side in ("min", "max")
        )
        try:
            bounds[key] = Range(low, high)
        except InputError as error:
            slips.append(error.about(key))
            bounds[key] = known
    return replace(recipe, targets=bounds)


def _read(
    cell: object, known: float | None, key: str, field: str, slips: list[InputError]
) -> float | None:
    try:
        return number(cell, known)
    except InputError as error:
        slips.append(error.about(key, field))
        return None


def _shown(entry: RecipeIngredient, field: str) -> Any:
    """A field as its cell shows it: what only belongs to a reading stays empty without one."""
    idle = field in _ALWAYS and entry.brix is None and getattr(entry, field) == _ALWAYS[field]
    return None if idle else getattr(entry, field)
