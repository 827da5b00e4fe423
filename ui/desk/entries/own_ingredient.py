"""An ingredient of one's own: a name and what its pack says, % by mass."""

from __future__ import annotations

import re
from dataclasses import replace

import pandas as pd
import streamlit as st

from desk.entries.editor import editor
from desk.entries.numbers import number, number_column
from desk.hand import state
from desk.pictures.plain import slip
from formulate.errors import InputError
from formulate.ingredients import COMPONENTS, OWN_KEYS, ingredient_table, own_composition
from formulate.recipes import Recipe, RecipeIngredient

__all__ = ["NAMES", "add_own", "is_taken", "key_of", "own_ingredient"]

NAMES = {
    **{component.key: component.name for component in COMPONENTS},
    "msnf": "Milk solids-not-fat",
    "egg_yolk_solids": "Egg-yolk solids",
    "dextrose_equivalent": "Dextrose equivalent, for a syrup (beside the 100 %)",
}


def own_ingredient(recipe: Recipe) -> None:
    """Ask for a name and a composition, and add it to the recipe."""
    part = st.expander("One of your own", key="own", on_change="rerun")
    if not part.open:
        return
    with part:
        name = st.text_input("What you call it", max_chars=60, key="own_name")
        table = editor(
            pd.DataFrame({"part": pd.Series(dtype="str"), "percent": pd.Series(dtype="string")}),
            key=f"own_parts_{len(recipe.ingredients)}",
            num_rows="dynamic",
            alt="Parts of your ingredient, % by mass, 100 in all",
            columns={
                "part": st.column_config.SelectboxColumn(
                    "Part",
                    options=list(OWN_KEYS),
                    format_func=lambda key: NAMES.get(str(key), str(key)),
                    required=True,
                ),
                "percent": number_column("%"),
            },
        )
        parts: dict[str, float] = {}
        key = key_of(name)
        try:
            rows = [(part, number(percent)) for part, percent in table.itertuples(index=False)]
            parts = {str(part): percent for part, percent in rows if part and percent is not None}
            fault = _fault(recipe, key, parts)
        except InputError as error:
            fault = f"{error.problem}. {error.remedy}"
        if name:
            slip(fault)
        st.button(
            "Add it",
            key="own_add",
            width="stretch",
            disabled=bool(fault),
            on_click=add_own,
            args=(key, parts),
        )


def _fault(recipe: Recipe, key: str, parts: dict[str, float]) -> str:
    if not key:
        return "Give it a name."
    if is_taken(recipe, key):
        return "There is one of that name already: give it another."
    try:
        own_composition(parts, key)
    except InputError as error:
        return str(error)
    return ""


def key_of(name: str) -> str:
    """The key of an ingredient that a cook calls so."""
    return re.sub(r"\W+", "_", name.lower()).strip("_")


def is_taken(recipe: Recipe, key: str) -> bool:
    """Whether the table or the recipe has an ingredient of that key."""
    return key in ingredient_table() or any(entry.key == key for entry in recipe.ingredients)


def add_own(key: str, parts: dict[str, float]) -> None:
    """Add an ingredient of one's own to the recipe in hand."""
    recipe = state.in_hand()
    if recipe is not None:
        entry = RecipeIngredient(key, composition=parts)
        state.put(replace(recipe, ingredients=(*recipe.ingredients, entry)))
