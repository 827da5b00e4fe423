"""What the page holds: tables for the editors from a recipe, and a recipe back from the editors."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from formulate.recipe import Range, Recipe, Serving

__all__ = ["ingredient_frame", "recipe_from", "target_frame"]

_NUMBERS = ("grams", "min_g", "max_g", "brix")


def ingredient_frame(recipe: Recipe, names: dict[str, str]) -> pd.DataFrame:
    """Return one row per ingredient: name, weight, limits, fixed, reading."""
    rows = [
        {
            "name": names[entry.key],
            "grams": entry.grams,
            "min_g": entry.min_g,
            "max_g": entry.max_g,
            "fixed": entry.fixed,
            "brix": entry.brix,
        }
        for entry in recipe.ingredients
    ]
    frame = pd.DataFrame(rows, index=[entry.key for entry in recipe.ingredients])
    return frame.astype(dict.fromkeys(_NUMBERS, "float64"))


def target_frame(recipe: Recipe, names: dict[str, str]) -> pd.DataFrame:
    """Return one row per target: name with unit, least and most."""
    rows = [
        {"name": names[key], "min": bounds.min, "max": bounds.max}
        for key, bounds in recipe.targets.items()
    ]
    frame = pd.DataFrame(rows, columns=["name", "min", "max"], index=list(recipe.targets))
    return frame.astype({"min": "float64", "max": "float64"})


def recipe_from(
    recipe: Recipe,
    batch_g: float,
    ingredients: pd.DataFrame,
    targets: pd.DataFrame,
    serving: Serving | None,
) -> Recipe:
    """Return the recipe with what the editors hold; everything else stays as it was."""
    entries = []
    for entry in recipe.ingredients:
        row = ingredients.loc[entry.key]
        entries.append(
            replace(
                entry,
                grams=_number(row["grams"]),
                min_g=_number(row["min_g"]),
                max_g=_number(row["max_g"]),
                fixed=bool(row["fixed"]),
                brix=_number(row["brix"]),
            )
        )
    bounds = {
        key: Range(_number(targets.loc[key, "min"]), _number(targets.loc[key, "max"]))
        for key in recipe.targets
    }
    return replace(
        recipe, batch_g=batch_g, ingredients=tuple(entries), targets=bounds, serving=serving
    )


def _number(value: object) -> float | None:
    return None if value is None or pd.isna(value) else float(value)  # type: ignore[arg-type]
