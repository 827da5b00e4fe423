"""The kitchen's notebook on the pages: which file it is, and a change with its answer as a sentence.

Everybody who opens these pages writes into the notebook of the machine that serves them.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from desk.entries.numbers import number
from desk.pictures.plain import block, draw, paragraphs, slip
from formulate.errors import FormulateError, InputError
from formulate.notebook import Doubt, Notebook, default_path, open_notebook

__all__ = ["answer_view", "change", "opened", "read", "say", "turn"]


def opened() -> Notebook | None:
    """The notebook to read in, ``None`` where there is none yet; raises InputError as it does."""
    return open_notebook(create=False) if default_path().exists() else None


def change(work: Callable[[Notebook], str], sure: Callable[[Notebook], str] | None = None) -> None:
    """Change the notebook, a new one if there is none, and keep what is said of it for the page.

    ``sure`` is the same change for one who was asked about a doubt and says that it is right.
    """

    def whole() -> str:
        with open_notebook() as notebook:
            try:
                return " ".join([work(notebook), *notebook.remarks])
            except Doubt as doubt:
                st.session_state.book_doubt = sure
                remedy = "Correct it, or say below that it is right."
                raise InputError(doubt.place, doubt.problem, remedy) from None

    if say(whole):
        st.session_state.book_turn = turn() + 1


def say(work: Callable[[], str]) -> bool:
    """Do something with the notebook's file and keep what is said of it; whether it was done."""
    state = st.session_state
    state.book_said = state.book_fault = ""
    state.book_doubt = None
    try:
        state.book_said = work()
    except FormulateError as error:
        state.book_fault = str(error)
        return False
    return True


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
    doubted = st.session_state.get("book_doubt")
    slip(fault)
    if fault and doubted is not None:
        st.button("It is right: note it", key="book_sure", on_click=change, args=(doubted,))
    if said:
        draw(f'<div role="status">{block("note", paragraphs([said]))}</div>')
