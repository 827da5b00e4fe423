"""The notebook: write down what was made and what it was like, look up, plan, see what was learned."""

from __future__ import annotations

import streamlit as st
from desk.hand import state
from desk.hand.book_file import answer_view, opened
from desk.notes.book_learned import learned_view
from desk.notes.book_read import read_view
from desk.notes.book_write import write_view
from desk.notes.week_view import week_view
from desk.pictures.plain import draw, heading, slip

from formulate.errors import FormulateError
from formulate.notebook import Notebook, default_path
from formulate.recipes import Recipe


def screen(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Draw the tab that is open."""
    write, read, plan, learned = st.tabs(
        ["Write down", "Look up", "Plan a week", "What was learned"], on_change="rerun", key="book"
    )
    if write.open:
        with write:
            write_view(notebook, recipe)
    if read.open:
        with read:
            read_view(notebook)
    if plan.open:
        with plan:
            week_view(notebook, recipe)
    if learned.open:
        with learned:
            learned_view(notebook, recipe)


draw('<h1 class="name">The notebook</h1>')
answer_view()
try:
    _notebook = opened()
    try:
        screen(_notebook, state.in_hand())
    finally:
        if _notebook is not None:
            _notebook.close()
except FormulateError as error:
    slip(str(error))
draw(
    heading(
        "",
        f"Kept in {default_path()}, on the machine that serves these pages, for all who open them. "
        "Batches and versions are added, never overwritten. The command “formulate notebook export” "
        "writes it all as plain files.",
    )
)
