"""The kitchen's notebook on the pages: which file it is, and a change with its answer as a sentence.

Everybody who opens these pages writes into the notebook of the machine that serves them.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st
from desk.entries.numbers import number
from desk.pictures.plain import block, draw, paragraphs, slip

from formulate.errors import FormulateError, InputError
from formulate.notebook import Notebook, default_path, open_notebook

__all__ = ["answer_view", "change", "opened", "read", "turn"]


def opened() -> Notebook | None:
    """The notebook to read in, ``None`` where there is none yet; raises InputError as it does."""
    return open_notebook(create=False) if default_path().exists() else None


def change(work: Callable[[Notebook], str]) -> None:
    """Change the notebook, a new one if there is none, and keep what is said of it for the page."""
    state = st.session_state
    state.book_said = state.book_fault = ""
    try:
        with open_notebook() as notebook:
            state.book_said = work(notebook)
        state.book_turn = turn() + 1
    except FormulateError as error:
        state.book_fault = str(error)


def read(cell: object, place: str) -> float | None:
    """The number of an entry, ``None`` where it is empty; an InputError names the entry."""
    try:
        return number(cell)
    except InputError as error:
        raise InputError(place, error.problem, error.remedy) from None


def turn() -> int:
    """How many changes were made here: entries with this in their key are empty after the next."""
    return int(st.session_state.setdefault("book_turn", 0))


def answer_view() -> None:
    """Say once what became of the last change."""
    said, fault = (st.session_state.pop(name, "") for name in ("book_said", "book_fault"))
    slip(fault)
    if said:
        draw(f'<div role="status">{block("note", paragraphs([said]))}</div>')
