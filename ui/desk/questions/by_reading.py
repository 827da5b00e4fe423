"""One balanced mix for each reading of a fruit: a picture, a table, and a text to pin on the wall."""

from __future__ import annotations

import streamlit as st

from desk.entries.frames import names_of
from desk.hand.answers import remembered
from desk.hand.files import file_stem
from desk.hand.units import mass, weight_unit
from desk.hand.waiting import wait_for
from desk.pictures.palette import palette
from desk.pictures.plain import draw, paragraphs, table, text
from formulate import ladder
from formulate.answers import Ladder, readings_of
from formulate.face import ladder_spec
from formulate.ingredients import reading_at_20_c
from formulate.mix import mixture
from formulate.recipes import Recipe
from formulate.report import band_sentences, ladder_text

__all__ = ["ladder_view"]

_READ = ("fruit", "puree", "juice", "vegetable")


def ladder_view(recipe: Recipe) -> None:
    """Ask for an ingredient and readings, and show the ladder."""
    names = names_of(recipe)
    kinds = zip(recipe.ingredients, mixture(recipe).kinds, strict=True)
    keys = [e.key for e, kind in kinds if e.brix is not None or e.lot or kind in _READ]
    keys.sort(key=lambda key: _noted(recipe, key) is None)
    if not keys:
        draw(paragraphs(["No fruit, purée or juice in this recipe is read with a refractometer."]))
        return
    one, two, three, four = st.columns([2, 1, 1, 1])
    key = one.selectbox("By the reading of", keys, format_func=names.__getitem__, key="ladder_of")
    middle = round(_noted(recipe, key) or 12.0)
    low = two.text_input("From, °Bx", f"{max(middle - 3, 1)}", key=f"ladder_from_{key}")
    high = three.text_input("To, °Bx", f"{middle + 3}", key=f"ladder_to_{key}")
    step = four.text_input("Step, °Bx", "0.5", key="ladder_step", persist_state="session")
    readings = readings_of(f"{low}:{high}:{step}")
    found = wait_for("ladder", "Balancing every reading", remembered, ladder, recipe, key, readings)
    if all(rung.grams is None for rung in found.rungs):
        draw(paragraphs(["No mix meets the targets at any of these readings."]))
        return
    st.vega_lite_chart(
        ladder_spec(found, palette()),
        width="stretch",
        alt=f"Weights against the reading of {names[key]}",
    )
    draw(_table(found))
    draw(paragraphs(band_sentences(found), "under"))
    st.download_button(
        "Save the table as text",
        ladder_text(found, recipe),
        file_name=f"{file_stem(recipe.name)}_by_reading.txt",
        key="ladder_save",
        on_click="ignore",
    )


def _noted(recipe: Recipe, key: str) -> float | None:
    """What this lot reads, where it was noted [°Bx]."""
    entry = next(entry for entry in recipe.ingredients if entry.key == key)
    if entry.lot is not None and entry.lot.reading is not None:
        return reading_at_20_c(entry.lot)
    return entry.brix


def _table(found: Ladder) -> str:
    heads = [f"Reading, °Bx; weights in {weight_unit()}", *found.names]
    rows = []
    for rung in found.rungs:
        reading = text(f"{rung.brix:g}")
        if rung.grams is None:
            rows.append([reading, "no mix can do it", *[""] * (len(found.names) - 1)])
        else:
            rows.append([reading, *(mass(each) for each in rung.grams)])
    return table("One mix per reading", heads, rows, numbers=tuple(range(1, len(heads))))
