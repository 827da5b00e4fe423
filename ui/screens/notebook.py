"""The notebook: write down what was made and what it was like, look up, plan, see what was learned."""

from __future__ import annotations

import streamlit as st
from desk.hand import state
from desk.hand.notebook_file import answer_view, opened
from desk.notes.copies import copies_view
from desk.notes.learned import learned_view
from desk.notes.look_up import read_view
from desk.notes.week_view import week_view
from desk.notes.write_down import write_view
from desk.pictures.plain import draw, heading, slip

from formulate.errors import FormulateError
from formulate.notebook import Notebook, default_path
from formulate.recipes import Recipe


def screen(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Draw the tab that is open."""
    for remark in () if notebook is None else notebook.remarks:
        slip(remark)
    write, read, plan, learned, copies = st.tabs(
        ["Write down", "Look up", "Plan a week", "What was learned", "Keep safe"],
        on_change="rerun",
        key="book",
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
    if copies.open:
        with copies:
            copies_view(notebook)


draw('<h1 class="name">The notebook</h1>')
answer_view()
_notebook = None
try:
    _notebook = opened()
except FormulateError as error:
    slip(str(error))
    copies_view(None)
else:
    try:
        screen(_notebook, state.in_hand())
    except FormulateError as error:
        slip(str(error))
    finally:
        if _notebook is not None:
            _notebook.close()
draw(
    heading(
        "",
        f"Kept in {default_path()}, on the machine that serves these pages, for all who open them. "
        "Batches and versions are added, never overwritten. A copy and everything as plain files are "
        "written beside it every day that it is used.",
    )
)
