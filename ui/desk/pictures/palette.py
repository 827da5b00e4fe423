"""Colours of what the pages draw themselves, for a light and a dark room.

Text has at least 7:1 against its ground, marks and lines that carry meaning at least 3:1 (WCAG 2.2);
``tests/ui/test_contrast.py`` computes it.  Nothing is told by colour alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import streamlit as st

from formulate.face import COLOURS

__all__ = ["DARK", "LIGHT", "PARTS", "palette", "root_style"]

#: What a mix is made of, in the order of a bar.
PARTS = ("water", "sugars", "fat", "protein", "fibre", "other")

LIGHT: Mapping[str, str] = MappingProxyType(
    {
        **COLOURS,
        "ground": "#fffdf9",
        "panel": "#f6f0e7",
        "on_accent": "#ffffff",
        "band": "#efd9b4",
        "water": "#d3e4ec",
        "sugars": "#f1cfd9",
        "fat": "#f5e2ab",
        "protein": "#dfd3ec",
        "fibre": "#d3e5cf",
        "other": "#e3dcd2",
    }
)

DARK: Mapping[str, str] = MappingProxyType(
    {
        "ground": "#1d1a1c",
        "panel": "#2a2528",
        "line": "#4b434a",
        "ink": "#f5eee5",
        "muted": "#c8bdb4",
        "accent": "#eda3bd",
        "on_accent": "#1d1a1c",
        "now": "#b9ada3",
        "good": "#93d3a2",
        "bad": "#f5a893",
        "window": "#d6a75c",
        "band": "#574526",
        "freezer": "#8fc1e0",
        "water": "#2c4552",
        "sugars": "#5d3545",
        "fat": "#5a4a1e",
        "protein": "#463a5a",
        "fibre": "#34502f",
        "other": "#4a443d",
    }
)


def palette() -> Mapping[str, str]:
    """The colours for the theme that the reader sees."""
    return DARK if st.context.theme.type == "dark" else LIGHT


def root_style() -> str:
    """The colours as variables of CSS."""
    return "".join(f"--{name}:{value};" for name, value in palette().items())
