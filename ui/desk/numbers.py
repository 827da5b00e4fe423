"""Numbers in the cells of an editor, with a decimal point or a decimal comma.

Streamlit's own number cells read 10,5 as 105.  Here the cells hold text; what is no number is answered
with a sentence, and so is 1,200, of which nobody knows whether it is twelve hundred or one point two.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from desk.plain import slip
from formulate.errors import InputError

__all__ = ["cells", "number", "number_column", "number_entry"]

_NUMBER = re.compile(r"[-−]?(\d+([.,]\d*)?|[.,]\d+)")
_UNCLEAR = re.compile(r"[-−]?[1-9]\d{0,2}(,\d{3})+")


def number_column(label: str, **about: Any) -> Any:
    """A column of numbers, to the right."""
    return st.column_config.TextColumn(label, alignment="right", max_chars=14, **about)


def number_entry(
    place: DeltaGenerator, label: str, value: float | None, *, key: str, **about: Any
) -> float | None:
    """An entry for one number; what is none is answered with a sentence under it and counts as empty."""
    shown = "" if value is None else f"{value:.10g}"
    typed = place.text_input(label, shown, key=key, max_chars=14, **about)
    try:
        return number(typed)
    except InputError as error:
        with place:
            slip(f"{error.problem}. {error.remedy}")
        return None


def cells(values: Iterable[float | None]) -> Any:
    """Numbers as such a column holds them."""
    shown = [None if value is None else f"{value:.10g}" for value in values]
    return pd.array(shown, dtype="string")


def number(cell: object) -> float | None:
    """The number of a cell, ``None`` where it is empty.

    Raises
    ------
    InputError
        If it is none, or not clear.
    """
    if cell is None or pd.isna(cell):  # type: ignore[call-overload]
        return None
    text = str(cell).strip()
    if not text:
        return None
    if _UNCLEAR.fullmatch(text):
        plain = text.replace(",", "")
        remedy = f"Write {plain}, or {text.replace(',', '.', 1)} with a point."
        raise InputError("", f'"{text}" can be read in two ways', remedy)
    if not _NUMBER.fullmatch(text):
        raise InputError(
            "", f'"{text}" is not a number', "Write it alone, without a unit, like 12.5."
        )
    return float(text.replace(",", ".").replace("−", "-"))
