"""What the notebook teaches of this kitchen, and a press that puts it into the open recipe."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from desk.hand import state
from desk.hand.waiting import Stopped, wait_for
from desk.pictures.plain import block, draw, heading, paragraphs
from formulate.notebook import (
    Kitchen,
    Notebook,
    as_learned,
    batches,
    default_path,
    kitchen_of,
    lots,
    open_notebook,
)
from formulate.recipes import Recipe
from formulate.report import kitchen_text, sentences

__all__ = ["learned_view"]


def learned_view(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Say what was learned and how sure that is."""
    draw(
        heading(
            "What this kitchen has taught",
            "From verdicts, weighings and readings in the notebook. With few of them the usual figures "
            "count most.",
        )
    )
    kitchen = None if notebook is None else _kitchen(notebook)
    if kitchen is None:
        draw(paragraphs(["Nothing yet: note batches, and what they were like."]))
        return
    lines = kitchen_text(kitchen).splitlines()
    draw(paragraphs(lines))
    if recipe is None:
        return
    changed, said = as_learned(recipe, kitchen)
    draw(heading(f"For {recipe.name}"))
    if changed == recipe:
        draw(paragraphs(["Nothing that this recipe leaves open was learned."]))
        return
    draw(block("note", paragraphs(sentences(said))))
    st.button(
        "Put this into the recipe",
        key="as_learned",
        type="primary",
        on_click=state.put,
        args=(changed,),
    )


def _kitchen(notebook: Notebook) -> Kitchen | None:
    known = batches(notebook)
    taught = sum(len(each.verdicts) + len(each.weighings) for each in known)
    struck = sum(bool(each.struck) for each in known)
    stand = (len(known), taught, struck, len(lots(notebook)))
    try:
        return wait_for("learned", "Reading the notebook", _learn, default_path(), stand)
    except Stopped:
        return None


def _learn(path: Path, stand: tuple[int, ...]) -> Kitchen:
    """What a notebook teaches that stands so far; in a thread, with a view of its own."""
    with open_notebook(path, create=False) as notebook:
        return kitchen_of(notebook)
