"""The batch sheet: how large, in which type, a look at it, and the files to print."""

from __future__ import annotations

import base64

import streamlit as st

from desk.entries.numbers import needed_entry
from desk.hand.answers import present
from desk.hand.files import file_stem
from desk.hand.units import weight_unit
from desk.pictures.columns import beside
from desk.pictures.plain import draw, heading, slip
from formulate import sheet
from formulate.errors import FormulateError
from formulate.printing import Sheet, sheet_html
from formulate.recipes import Recipe

__all__ = ["batch_sheet"]

_SIZES = ("as the recipe", "another batch", "portions")


def batch_sheet(recipe: Recipe) -> None:
    """Ask how large, and show the sheet for the present weights."""
    left, right = beside("sheet", 1.0, 2.1)
    with left:
        draw(heading("For the bench", "The present weights, in order of work, on A4."))
        made = _asked(recipe)
        if made is None:
            return
        printed = sheet_html(made)
        name = file_stem(recipe.name)
        st.download_button(
            "Save to print (HTML)",
            printed,
            file_name=f"{name}.html",
            mime="text/html",
            key="sheet_html",
            on_click="ignore",
            type="primary",
            width="stretch",
            icon=":material/print:",
        )
        st.download_button(
            "Save as PDF",
            lambda: _pdf(made),
            file_name=f"{name}.pdf",
            mime="application/pdf",
            key="sheet_pdf",
            on_click="ignore",
            width="stretch",
        )
    with right:
        # An address of its own kind: the picture of the sheet can neither run in this page nor reach it.
        packed = base64.b64encode(printed.encode()).decode()
        st.iframe(
            f"data:text/html;charset=utf-8;base64,{packed}",
            height=760,
            alt=f"The batch sheet of {recipe.name}",
        )


def _asked(recipe: Recipe) -> Sheet | None:
    """The sheet at the size that is asked for; a fault is said beside the entries."""
    size = st.radio("How much", _SIZES, key="sheet_size", persist_state="session")
    batch, portions, grams = None, None, None
    if size == _SIZES[1]:
        batch = needed_entry(
            st.container(),
            "Batch, g",
            recipe.batch_g,
            (1.0, 1e6),
            key="sheet_batch",
            persist_state="session",
        )
    if size == _SIZES[2]:
        portions = st.number_input(
            "Portions", 1, 100_000, 40, key="sheet_portions", persist_state="session"
        )
        grams = needed_entry(
            st.container(),
            "of, g each",
            60.0,
            (1.0, 1e4),
            key="sheet_portion_g",
            persist_state="session",
        )
    large = st.toggle("In very large type", key="sheet_large", persist_state="session")
    try:
        result = present(recipe)
        assert result is not None
        return sheet(
            result,
            batch_g=batch,
            portions=portions,
            portion_g=grams,
            large=large,
            us_weights=weight_unit() == "oz",
        )
    except FormulateError as error:
        slip(str(error))
        return None


def _pdf(made: Sheet) -> bytes:
    """The sheet as PDF; what writes it is only loaded when it is asked for."""
    from formulate.printing import sheet_pdf

    return sheet_pdf(made)
