"""Preparation before the mix: the steps of each ingredient, what they do to the weights, and new ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import streamlit as st

from desk.entries.frames import names_of
from desk.entries.numbers import number_entry
from desk.hand import state
from desk.pictures.plain import draw, heading, paragraphs, slip
from formulate.errors import FormulateError
from formulate.mix import mixture, preparation
from formulate.recipes import VERBS, Recipe, steps_from_data, steps_to_data
from formulate.report import sentences

__all__ = ["preparation_view"]

_LABELS = {
    "waste_percent": "Waste, %",
    "fibre_percent": "Fibre held back, %",
    "juice_percent": "Juice, %",
    "pulp_percent": "Pulp that comes along, %",
    "fat_kept_percent": "Fat kept, %",
    "steam_percent": "Steam, %",
    "alcohol_kept_percent": "Alcohol kept, %",
    "to_brix": "To a reading of, °Bx",
    "to_percent": "To so much of its weight, %",
    "to_moisture_percent": "To so much water, %",
    "grams_taken_per_gram": "Takes up, g per g",
    "grams_kept_per_gram": "Liquid it keeps, g per g of it",
    "solids_percent": "Its sugars and the like that pass into the liquid, %",
    "water_percent": "Its own water that passes into the liquid, %",
    "spread_percent": "Give or take, %",
}
_LIQUIDS = ("infuse", "bloom", "hydrate")


def preparation_view(recipe: Recipe) -> None:
    """Say how each ingredient is prepared, and offer to change that."""
    names = names_of(recipe)
    steps = [
        f"{names[entry.key]} ({', '.join(step.do for step in entry.steps)})"
        for entry in recipe.ingredients
        if entry.steps
    ]
    if steps:
        draw(paragraphs([f"Prepared first: {'; '.join(steps)}."], "under"))
    part = st.expander(
        "Preparation: stoning, sieving, infusing", key="preparing", on_change="rerun"
    )
    if not part.open:
        return
    with part:
        told = _told(recipe)
        draw(paragraphs(told or ("Everything goes in as it is weighed.",), "said"))
        _change(recipe)


def _told(recipe: Recipe) -> tuple[str, ...]:
    try:
        mix = mixture(recipe)
    except FormulateError:
        return ()
    weights = np.zeros(len(mix.keys)) if mix.start is None else mix.start
    return sentences(preparation(mix, weights))


def _change(recipe: Recipe) -> None:
    """Ask for an ingredient and a step, and offer to add it or to take the last one out."""
    names = names_of(recipe)
    one, two = st.columns(2)
    of = one.selectbox("Prepare", list(names), format_func=names.__getitem__, key="step_of")
    do = two.selectbox("by", list(VERBS), index=None, placeholder="choose a step", key="step_do")
    entry = next(entry for entry in recipe.ingredients if entry.key == of)
    if entry.steps:
        words = ", ".join(step.do for step in entry.steps)
        draw(heading("", f"{names[of]}: {words}."))
        st.button("Take the last step out", key="step_out", on_click=_take_out, args=(of,))
    if do is None:
        return
    row = _settings(do, of, names)
    if do == "infuse" and "in" not in row:
        draw(paragraphs(["Choose what it is infused in."], "under"))
        return
    try:
        steps = steps_from_data([*steps_to_data(entry.steps), row], names[of])
        entries = tuple(
            replace(each, steps=steps) if each.key == of else each for each in recipe.ingredients
        )
        mixture(replace(recipe, ingredients=entries))
    except FormulateError as error:
        slip(str(error))
        return
    st.button("Add this step", key="step_add", type="primary", on_click=_add, args=(of, row))


def _settings(do: str, of: str, names: dict[str, str]) -> dict[str, object]:
    """Entries for the settings of a step; what is left empty is taken as usual."""
    verb = VERBS[do]
    row: dict[str, object] = {"do": do}
    columns = st.columns(2)
    if do in _LIQUIDS:
        liquid = columns[0].selectbox(
            "in",
            [key for key in names if key != of],
            index=None,
            format_func=names.__getitem__,
            key=f"step_in_{do}",
        )
        if liquid:
            row["in"] = liquid
    if "hot" in verb.words:
        with columns[1]:
            row["hot"] = st.toggle("in hot liquid", True, key="step_hot")
        minutes = number_entry(columns[0], "for, minutes", None, (0.0, 10080.0), key="step_minutes")
        if minutes is not None:
            row["minutes"] = minutes
    for place, name in enumerate((*verb.ends, *verb.settings)):
        value = number_entry(
            columns[place % 2],
            _LABELS.get(name, name),
            None,
            key=f"step_{do}_{name}",
            placeholder="usual",
        )
        if value is not None:
            row[name] = value
    return row


def _add(of: str, row: dict[str, object]) -> None:
    recipe = state.in_hand()
    if recipe is not None:
        _put(recipe, of, lambda rows: [*rows, row])
    st.session_state.step_do = None


def _take_out(of: str) -> None:
    recipe = state.in_hand()
    if recipe is not None:
        _put(recipe, of, lambda rows: rows[:-1])


def _put(recipe: Recipe, of: str, change) -> None:  # type: ignore[no-untyped-def]
    entries = tuple(
        replace(entry, steps=steps_from_data(change(steps_to_data(entry.steps)), of))
        if entry.key == of
        else entry
        for entry in recipe.ingredients
    )
    state.put(replace(recipe, ingredients=entries))
