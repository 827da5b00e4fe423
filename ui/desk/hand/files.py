"""Recipe files in and out: a place to drop one, the examples, the name of a file."""

from __future__ import annotations

import re

import streamlit as st

from desk.hand import state
from formulate.data import example_bytes
from formulate.recipes import Recipe, to_toml

__all__ = ["download", "example_title", "file_stem", "open_example", "upload"]


def upload(key: str) -> None:
    """A place to drop a recipe file."""
    st.file_uploader(
        "Open a recipe file",
        type="toml",
        key=key,
        on_change=_open_upload,
        args=(key,),
        max_upload_size=1,
        help="A TOML file of at most 1 MB, as Save gives it. Nothing in it is run.",
    )


def download(recipe: Recipe) -> None:
    """A button that saves the recipe."""
    st.download_button(
        "Save as a file",
        to_toml(recipe),
        file_name=f"{file_stem(recipe.name)}.toml",
        mime="application/toml",
        key="download",
        on_click="ignore",
        width="stretch",
        type="primary",
    )


def open_example() -> None:
    """Open the example that is chosen in the menu."""
    name = st.session_state.example
    if name:
        state.open_bytes(example_bytes(name), name)
        st.session_state.example = None


def example_title(name: str) -> str:
    """An example's name as words."""
    return name.replace("_", " ").capitalize()


def file_stem(name: str) -> str:
    """A name that every system takes for a file."""
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:60] or "recipe"


def _open_upload(key: str) -> None:
    file = st.session_state[key]
    if file is not None:
        state.open_bytes(file.getvalue(), file.name)
