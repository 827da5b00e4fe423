"""Numbers in cells and entries, with a decimal point or a decimal comma.

Streamlit's own entries for numbers read 10,5 as 105.  Here they hold text; what is no number is answered
with a sentence, and so is 1,200, of which nobody knows whether it is twelve hundred or one point two.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from desk.pictures.plain import slip
from formulate.errors import InputError

__all__ = ["cells", "needed_entry", "number", "number_column", "number_entry"]

_NUMBER = re.compile(r"[-−]?(\d+([.,]\d*)?|[.,]\d+)")
_UNCLEAR = re.compile(r"[-−]?[1-9]\d{0,2}(,\d{3})+")


def number_column(label: str, **about: Any) -> Any:
    """A column of numbers, to the right."""
    return st.column_config.TextColumn(label, alignment="right", max_chars=14, **about)


def number_entry(
    place: DeltaGenerator,
    label: str,
    value: float | None,
    allowed: tuple[float, float] | None = None,
    *,
    key: str,
    **about: Any,
) -> float | None:
    """An entry for one number; what cannot be is answered with a sentence under it.

    Parameters
    ----------
    value:
        What stands there at first, and what counts as long as something else cannot be.
    allowed:
        The least and the greatest that can be.

    Returns
    -------
    float or None
        ``None`` where the entry is empty.
    """
    if allowed is not None and allowed[0] >= 0.0:
        place = place.container(key=f"keypad_{key}")
    typed = place.text_input(label, _shown(value) or "", key=key, max_chars=14, **about)
    try:
        return _within(number(typed, value), allowed)
    except InputError as error:
        with place:
            slip(f"{error.problem}. {error.remedy}")
        return value


def needed_entry(
    place: DeltaGenerator,
    label: str,
    value: float,
    allowed: tuple[float, float] | None = None,
    *,
    key: str,
    **about: Any,
) -> float:
    """An entry like :func:`number_entry` that counts as ``value`` where it is empty."""
    found = number_entry(place, label, value, allowed, key=key, **about)
    return value if found is None else found


def cells(values: Iterable[float | None]) -> Any:
    """Numbers as such a column holds them."""
    return pd.array([_shown(value) for value in values], dtype="string")


def number(cell: object, known: float | None = None) -> float | None:
    """The number of a cell, ``None`` where it is empty; ``known`` to the last digit where it shows that.

    Raises
    ------
    InputError
        If it is none, or not clear.
    """
    if cell is None or pd.isna(cell):
        return None
    text = str(cell).strip()
    if not text:
        return None
    if text == _shown(known):
        return known
    if _UNCLEAR.fullmatch(text):
        plain = text.replace(",", "")
        remedy = f"Write {plain}, or {text.replace(',', '.', 1)} with a point."
        raise InputError("", f'"{text}" can be read in two ways', remedy)
    if not _NUMBER.fullmatch(text):
        raise InputError(
            "", f'"{text}" is not a number', "Write it alone, without a unit, like 12.5."
        )
    return float(text.replace(",", ".").replace("−", "-"))


def _shown(value: float | None) -> str | None:
    return None if value is None else f"{value:.10g}"


def _within(found: float | None, allowed: tuple[float, float] | None) -> float | None:
    if found is None or allowed is None or allowed[0] <= found <= allowed[1]:
        return found
    low, high = allowed
    raise InputError("", f"{found:g} cannot be", f"Give {low:,g} to {high:,g}.")
