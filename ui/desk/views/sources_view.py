"""Where each number of an ingredient comes from."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import streamlit as st

from desk.pictures.plain import draw, heading, table, text
from formulate.ingredients import COMPONENTS, ingredient_table
from formulate.recipes import Recipe
from formulate.report import ingredients_data

__all__ = ["sources_view"]

_NAMES = {component.key: component.name for component in COMPONENTS}
_BASIS = {
    "defined": "by definition",
    "specification": "typical trade specification",
    "estimated": "estimate: take a reading",
}


def _named(part: str) -> str:
    """A part of a composition in words."""
    if part == "*":
        return "Everything else"
    return _NAMES.get(part, part.replace("_", " ").capitalize())


@lru_cache(maxsize=32)
def about(key: str) -> dict[str, Any]:
    """Everything that the table says of one ingredient."""
    return ingredients_data((ingredient_table()[key],))[0]


def sources_view(recipe: Recipe | None) -> None:
    """Ask for an ingredient, first those of the recipe in hand, and show its numbers and sources."""
    entries = ingredient_table()
    used = [e.key for e in recipe.ingredients if e.key in entries] if recipe else []
    key = st.selectbox(
        "Ingredient",
        [*used, *(key for key in entries if key not in used)],
        format_func=lambda key: entries[key].name,
        key="source_of",
        persist_state="session",
    )
    found = about(key)
    parts = found["composition"]
    sources = {row["component"]: row for row in found["sources"]}
    rows = []
    for name in dict.fromkeys([*parts, *sources]):
        row = sources.get(name, {})
        value = parts.get(name)
        basis = row.get("basis", "")
        rows.append(
            [
                text(_named(name)),
                "" if value is None else f"{value:.2f}",
                text(_BASIS.get(basis, basis)),
                text(" ".join(part for part in (row.get("source"), row.get("source_row")) if part)),
                text(row.get("note", "")),
            ]
        )
    allergens = ", ".join(found["allergens"]) or "none by the table"
    draw(
        heading(
            found["name"],
            f"A {found['kind'].replace('_', ' ')}. Allergens: {allergens}. "
            f"{found['edible_percent']:g} % of what is bought is used.",
        ),
        table(
            f"Composition of {found['name']}",
            ["Part", "% by mass", "Basis", "Source", "Note"],
            rows,
            numbers=(1,),
        ),
    )
