"""Deliveries in the notebook: what is left of each, what to use first, and a new one."""

from __future__ import annotations

from datetime import date as Date
from typing import Any

import streamlit as st

from desk.hand.notebook_file import change, read, turn
from desk.hand.units import mass, weight_unit
from desk.pictures.plain import draw, heading, paragraphs, table, text
from formulate.ingredients import ingredient_table, lot_from_data
from formulate.notebook import Left, Notebook, delivered, stock
from formulate.planning import name_of
from formulate.recipes import Recipe

__all__ = ["lot_choices", "lots_view"]

_FIGURES = {
    "grams": "Came in, g",
    "price_per_kg": "Price per kg",
    "reading": "Reads, °Bx",
    "temperature_c": "at, °C",
}


def lots_view(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Show the shelf and ask for a delivery."""
    known = () if notebook is None else stock(notebook)
    there = [each for each in known if each.is_there]
    draw(heading("On the shelf", "What to use first stands first." if there else ""))
    if there:
        unit = weight_unit()
        heads = ["Delivery", f"Left, {unit}", "Use by"]
        draw(
            table(
                "Deliveries, what to use first at the top", heads, map(_row, there), numbers=(1, 2)
            )
        )
    _delivery(recipe)


def lot_choices(notebook: Notebook | None, recipe: Recipe) -> dict[str, list[Left]]:
    """Deliveries that may be left of each ingredient of a recipe."""
    found: dict[str, list[Left]] = {}
    keys = {entry.key for entry in recipe.ingredients}
    for each in () if notebook is None else stock(notebook):
        if each.is_there and each.lot.key in keys:
            found.setdefault(each.lot.key, []).append(each)
    return found


def _row(each: Left) -> list[str]:
    left = "not noted" if each.grams is None else mass(each.grams)
    day = "–" if each.lot.use_by is None else each.lot.use_by.isoformat()
    reads = "" if each.lot.reading is None else f"<small>reads {each.lot.reading:g}</small>"
    return [f"{text(name_of(each.lot.key))}, {text(each.name)}{reads}", left, day]


def _delivery(recipe: Recipe | None) -> None:
    own = [] if recipe is None else [entry.key for entry in recipe.ingredients]
    keys = list(dict.fromkeys([*own, *ingredient_table()]))
    number = turn()
    with st.form(f"delivery_{number}", border=False):
        draw(heading("", "A delivery came in:"))
        one, two = st.columns(2)
        key = one.selectbox(
            "Ingredient",
            keys,
            index=None,
            format_func=name_of,
            key=f"came_key_{number}",
            placeholder="choose or type",
        )
        name = two.text_input("What you call it", key=f"came_name_{number}", max_chars=60)
        date = one.date_input(
            "Came in on", Date.today(), format="YYYY-MM-DD", key=f"came_date_{number}"
        )
        use_by = two.date_input("Use by", None, format="YYYY-MM-DD", key=f"came_use_by_{number}")
        typed = {
            field: (one, two)[place % 2].text_input(
                label, key=f"came_{field}_{number}", max_chars=14
            )
            for place, (field, label) in enumerate(_FIGURES.items())
        }
        pressed = st.form_submit_button("Note this delivery", key="note_lot")
    if not pressed:
        return
    if key is None:
        draw(paragraphs(["Say what was delivered."]))
        return
    about = {"key": key, "name": name, "date": date, "use_by": use_by}
    change(
        lambda notebook: _noted(notebook, about, typed, False),
        lambda notebook: _noted(notebook, about, typed, True),
    )
    st.rerun()


def _noted(notebook: Notebook, about: dict[str, Any], typed: dict[str, str], sure: bool) -> str:
    figures = {field: read(entry, _FIGURES[field]) for field, entry in typed.items()}
    lot = lot_from_data(about | figures, "delivery")
    noted = delivered(notebook, lot, sure=sure)
    return f"{name_of(lot.key)}, {noted.name}, is noted."
