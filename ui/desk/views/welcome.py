"""The first screen: what this is for, three recipes to try, a file to open, a blank one to start."""

from __future__ import annotations

import streamlit as st

from desk.entries.numbers import needed_entry
from desk.hand import state
from desk.hand.files import example_title, upload
from desk.pictures.plain import draw, slip, text
from formulate.data import example_bytes
from formulate.recipes import Recipe, RecipeIngredient, serving_kinds
from formulate.report import CAUTIONS

__all__ = ["welcome"]

#: The three that a new reader is offered: heading, what it shows, page to start on.
_FIRST = {
    "damson_sorbet": (
        "A new crate of damsons",
        "The fruit reads 11 °Bx and the sorbet is too sweet. Put in what yours reads, and see "
        "what that asks of the other weights.",
        "screens/came_in.py",
    ),
    "bay_leaf_ice_cream": (
        "A base for a herb",
        "Milk, cream, yolk and bay leaf. Say how rich, how sweet and how firm, and have the weights "
        "found.",
        "screens/mix.py",
    ),
    "sea_buckthorn_sorbet_too_hard": (
        "Will it scoop?",
        "A sea buckthorn sorbet, not churned yet. See how hard it comes out of the freezer, and what "
        "would mend it.",
        "screens/cold.py",
    ),
}
_KINDS = {
    "sorbet": "Sorbet",
    "ice_cream": "Ice cream",
    "soft_serving": "Soft serving",
    "block": "Block",
    "granita": "Granita",
    "parfait": "Parfait",
}


def welcome() -> None:
    """Draw the first screen."""
    draw(
        '<h1 class="name">Before you churn</h1><p class="tagline">Put in what came through the door and '
        "what the dessert must be. You get the weights, the freezing curve, and whether it will scoop "
        "at your temperature.</p>"
    )
    slip(st.session_state.fault)
    if state.can_undo():
        st.button(
            "Bring the last recipe back", key="undo", on_click=state.undo, icon=":material/undo:"
        )
    for column, (name, (head, words, page)) in zip(
        st.columns(len(_FIRST), gap="medium"), _FIRST.items(), strict=True
    ):
        with column, st.container(border=True, height="stretch"):
            draw(f'<div class="choice"><h2>{text(head)}</h2><p>{text(words)}</p></div>')
            if st.button(
                f"Try {example_title(name).removesuffix(' too hard').lower()}",
                key=f"try_{name}",
                type="primary",
                width="stretch",
            ):
                state.open_bytes(example_bytes(name), name)
                st.switch_page(page)
    left, right = st.columns(2, gap="medium")
    with left, st.container(border=True, height="stretch"):
        draw('<div class="choice"><h2>Your own recipe</h2></div>')
        upload("upload_first")
    with right, st.container(border=True, height="stretch"):
        draw('<div class="choice"><h2>A blank one</h2></div>')
        kind = st.selectbox(
            "What is it to be?", list(_KINDS), format_func=_KINDS.__getitem__, key="blank_kind"
        )
        grams = needed_entry(st.container(), "Batch, g", 1000.0, (1.0, 1e6), key="blank_batch")
        if st.button("Start from nothing", key="blank", width="stretch"):
            state.put(_blank(kind, grams))
            st.switch_page("screens/mix.py")
    items = "".join(f"<li>{text(caution)}</li>" for caution in CAUTIONS)
    draw(f'<div class="note watch"><ul>{items}</ul></div>')


def _blank(kind: str, grams: float) -> Recipe:
    """Water alone, served as its kind usually is."""
    return Recipe(
        name=f"New {_KINDS[kind].lower()}",
        batch_g=grams,
        ingredients=(RecipeIngredient("water"),),
        serving=serving_kinds()[kind],
    )
