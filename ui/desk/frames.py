"""Tables for the editors from a recipe, and the recipe back from what the editors hold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pandas as pd

from formulate.mixture import mixture
from formulate.recipe import Range, Recipe, RecipeIngredient

__all__ = [
    "LOT_FIELDS",
    "WEIGHT_FIELDS",
    "ingredient_frame",
    "names_of",
    "number",
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
        columns[field] = pd.array(values, dtype="bool" if field == "fixed" else "Float64")
    return pd.DataFrame(columns, index=[entry.key for entry in recipe.ingredients])


def with_ingredients(recipe: Recipe, frame: pd.DataFrame, fields: tuple[str, ...]) -> Recipe:
    """The recipe with what such a table holds."""
    entries = []
    for place, entry in enumerate(recipe.ingredients):
        row = frame.iloc[place]
        changed: dict[str, Any] = {}
        for field in fields:
            value = bool(row[field]) if field == "fixed" else number(row[field])
            changed[field] = _ALWAYS[field] if value is None and field in _ALWAYS else value
        entries.append(replace(entry, **changed))
    return replace(recipe, ingredients=tuple(entries))


def target_frame(recipe: Recipe, names: dict[str, str]) -> pd.DataFrame:
    """One row per target: name with unit, least and most."""
    bounds = list(recipe.targets.values())
    return pd.DataFrame(
        {
            "name": [names[key] for key in recipe.targets],
            "min": pd.array([each.min for each in bounds], dtype="Float64"),
            "max": pd.array([each.max for each in bounds], dtype="Float64"),
        },
        index=list(recipe.targets),
    )


def with_targets(recipe: Recipe, frame: pd.DataFrame) -> Recipe:
    """The recipe with what that table holds."""
    bounds = {
        key: Range(number(frame["min"].iloc[place]), number(frame["max"].iloc[place]))
        for place, key in enumerate(recipe.targets)
    }
    return replace(recipe, targets=bounds)


def _shown(entry: RecipeIngredient, field: str) -> object:
    """A field as its cell shows it: what only belongs to a reading stays empty without one."""
    idle = field in _ALWAYS and entry.brix is None and getattr(entry, field) == _ALWAYS[field]
    return None if idle else getattr(entry, field)


def number(value: object) -> float | None:
    """A cell as a number, ``None`` where it is empty."""
    return None if value is None or pd.isna(value) else float(value)  # type: ignore[arg-type]
