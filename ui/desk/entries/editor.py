"""Tables that a cook writes into: ingredients or targets down the side, numbers across."""

from __future__ import annotations

from typing import Any

import pandas as pd
import streamlit as st

__all__ = ["editor"]


def editor(
    frame: pd.DataFrame, columns: dict[str, Any], *, alt: str, key: str | None = None, **about: Any
) -> pd.DataFrame:
    """Draw a table and return it as edited.

    Rows are fixed, and so are their names where the frame has a column ``name``; with
    ``num_rows="dynamic"`` rows come and go.  ``alt`` says to a screen reader what the table holds.
    """
    growing = about.get("num_rows") == "dynamic"
    edited: pd.DataFrame = st.data_editor(
        frame,
        key=key,
        hide_index=True,
        row_height=44,
        height="content",
        width="stretch",
        disabled=False if growing else ["name"],
        placeholder="",
        alt=alt if growing else f"{alt}. Arrow keys move, Enter edits a cell.",
        column_config=columns,
        **about,
    )
    return edited
