"""The entries of the page of the mix: batch, weights with limits, targets, what to add and take out."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from desk.entries.editor import editor
from desk.entries.frames import (
    WEIGHT_FIELDS,
    ingredient_frame,
    names_of,
    target_frame,
    with_ingredients,
    with_targets,
)
from desk.entries.numbers import needed_entry, number_column
from desk.entries.own_ingredient import own_ingredient
from desk.hand import state
from desk.pictures.words import HELP, target_help
from formulate.errors import InputError
from formulate.ingredients import ingredient_table, properties
from formulate.mix import COST_KEY, FREEZING_KEY, target_name
from formulate.recipes import Range, Recipe, RecipeIngredient, without

__all__ = ["batch_entry", "ingredient_menu", "target_menu", "targets_editor", "weights_editor"]


def batch_entry(base: Recipe) -> Recipe:
    """The size of the batch."""
    grams = needed_entry(
        st.container(width=170),
        "Batch, g",
        base.batch_g,
        (1.0, 1e7),
        key=state.key("batch"),
        help=HELP["batch"],
    )
    return replace(base, batch_g=grams)


def weights_editor(base: Recipe, recipe: Recipe, slips: list[InputError]) -> Recipe:
    """The weights and limits; ``base`` is what the editor starts from, ``recipe`` what goes on."""
    edited = editor(
        ingredient_frame(base, WEIGHT_FIELDS),
        key=state.key("weights"),
        alt="Weights and limits of each ingredient",
        columns={
            "name": st.column_config.TextColumn("Ingredient", width=182),
            "grams": number_column("Now, g", width=94, help=HELP["grams"]),
            "min_g": number_column("Least, g", width=94, help=HELP["min_g"]),
            "max_g": number_column("Most, g", width=94, help=HELP["max_g"]),
            "fixed": st.column_config.CheckboxColumn("Hold", width=70, help=HELP["fixed"]),
        },
    )
    return with_ingredients(recipe, edited, WEIGHT_FIELDS, slips)


def targets_editor(base: Recipe, recipe: Recipe, slips: list[InputError]) -> Recipe:
    """The targets, least and most."""
    if not base.targets:
        return recipe
    names = {key: _named(key, base) for key in base.targets}
    edited = editor(
        target_frame(base, names),
        key=state.key("targets"),
        alt="Targets, least and most",
        columns={
            "name": st.column_config.TextColumn("Target", help=target_help()),
            "min": number_column("At least", width=96, help=HELP["target_min"]),
            "max": number_column("At most", width=96, help=HELP["target_max"]),
        },
    )
    return with_targets(recipe, edited, slips)


def ingredient_menu(recipe: Recipe) -> None:
    """Add an ingredient of the table or of one's own, or take one out."""
    names = names_of(recipe)
    table = ingredient_table()
    menu = st.popover(
        "Ingredients", icon=":material/add:", key="ingredient_menu", on_change="rerun"
    )
    if not menu.open:
        return
    with menu:
        st.selectbox(
            "Add from the table",
            [key for key in table if key not in names],
            index=None,
            format_func=lambda key: table[key].name,
            key="added",
            on_change=_add,
            placeholder=f"search {len(table)} ingredients",
        )
        st.selectbox(
            "Take out",
            list(names),
            index=None,
            format_func=names.__getitem__,
            key="removed",
            on_change=_remove,
            placeholder="choose one",
            disabled=len(names) < 2,
        )
        own_ingredient(recipe)


def target_menu(recipe: Recipe) -> None:
    """Ask for something more, or no longer."""
    known = [*properties(), FREEZING_KEY, COST_KEY]
    menu = st.popover("Targets", icon=":material/add:", key="target_menu", on_change="rerun")
    if not menu.open:
        return
    with menu:
        st.selectbox(
            "Ask for",
            [key for key in known if key not in recipe.targets],
            index=None,
            format_func=lambda key: _named(key, recipe),
            key="target_added",
            on_change=_ask,
            placeholder="sweetness, solids, fat…",
        )
        st.selectbox(
            "No longer ask for",
            list(recipe.targets),
            index=None,
            format_func=lambda key: _named(key, recipe),
            key="target_removed",
            on_change=_drop,
            placeholder="choose one",
        )


def _named(key: str, recipe: Recipe) -> str:
    name, unit = target_name(key, recipe)
    return f"{name}, {unit.replace('g sucrose/100 g', 'g sucrose per 100 g')}"


def _add() -> None:
    key, recipe = st.session_state.added, state.in_hand()
    if key and recipe is not None:
        state.put(replace(recipe, ingredients=(*recipe.ingredients, RecipeIngredient(key))))
    st.session_state.added = None


def _remove() -> None:
    key, recipe = st.session_state.removed, state.in_hand()
    if key and recipe is not None:
        state.put(without(recipe, key))
    st.session_state.removed = None


def _ask() -> None:
    key, recipe = st.session_state.target_added, state.in_hand()
    if key and recipe is not None:
        state.put(replace(recipe, targets={**recipe.targets, key: Range()}))
    st.session_state.target_added = None


def _drop() -> None:
    key, recipe = st.session_state.target_removed, state.in_hand()
    if key and recipe is not None:
        rest = {name: bounds for name, bounds in recipe.targets.items() if name != key}
        state.put(replace(recipe, targets=rest))
    st.session_state.target_removed = None
