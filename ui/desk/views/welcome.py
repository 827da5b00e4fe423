"""The first screen: what this is for, three recipes to try, a file to open, a new dessert to begin."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing

import streamlit as st

from desk.entries.numbers import needed_entry
from desk.hand import state
from desk.hand.files import example_title, upload
from desk.hand.notebook_file import opened
from desk.pictures.plain import draw, slip, text
from formulate.data import example_bytes
from formulate.errors import FormulateError, InputError
from formulate.ingredients import ingredient_table
from formulate.notebook import search
from formulate.recipes import (
    Recipe,
    RecipeIngredient,
    kind_name,
    recipe_of_style,
    serving_kinds,
    styles,
)
from formulate.report import CAUTIONS, raised

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


def welcome() -> None:
    """Draw the first screen."""
    draw(
        '<p class="brand">formulate</p><h1 class="name">Before you churn</h1>'
        '<p class="tagline">Put in what came through the door and '
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
    left, right = st.columns([0.324, 0.676], gap="medium")  # under the first of three
    with left, st.container(border=True, height="stretch"):
        draw('<div class="choice"><h2>Your own recipe</h2></div>')
        upload("upload_first")
        _kept()
    with right, st.container(border=True, height="stretch"):
        _new_dessert()
    items = "".join(f"<li>{text(caution)}</li>" for caution in CAUTIONS)
    draw(f'<div class="note watch"><ul>{items}</ul></div>')


def _kept() -> None:
    """Offer what the notebook keeps; what is wrong with the notebook is said on its own page."""
    try:
        notebook = opened()
    except FormulateError:
        return
    if notebook is None:
        return
    with closing(notebook):
        kept = {found.newest.name: found.newest for found in search(notebook)}
    if not kept:
        return
    name = st.selectbox(
        "From the notebook", list(kept), index=None, key="kept", placeholder="choose one"
    )
    if name is not None:
        state.put(kept[name].recipe)
        st.switch_page("screens/mix.py")


def _new_dessert() -> None:
    """Ask for a style, what gives the dessert its name and how much; a press opens a first recipe."""
    draw('<div class="choice"><h2>A new dessert</h2></div>')
    one, two = st.columns(2)
    name = one.text_input("What you call it", max_chars=80, key="blank_name").strip()
    known, table = styles(), ingredient_table()
    style = two.selectbox(
        "Of which style?",
        list(known),
        index=None,
        format_func=lambda key: f"{known[key].name}: {known[key].says}",
        key="blank_style",
        placeholder="none: start from nothing",
    )
    grams = needed_entry(two, "Batch, g", 1000.0, (1.0, 1e6), key="blank_batch")
    if style is None:
        kind = one.selectbox(
            "How is it served?", list(serving_kinds()), format_func=kind_name, key="blank_kind"
        )
        _begin("Start from nothing", lambda: _blank(name, kind, grams))
        return
    mains = one.multiselect(
        "What gives it its name?",
        list(table),
        format_func=lambda key: table[key].name,
        key="blank_mains",
        placeholder="a fruit, a herb, chocolate…",
    )
    given = dict.fromkeys(mains)
    _begin("Make a first recipe", lambda: recipe_of_style(style, given, grams, name or None))


def _begin(words: str, first: Callable[[], Recipe]) -> None:
    """A press opens the first recipe, or says why there is none."""
    if st.button(words, key="blank", width="stretch"):
        try:
            state.put(first())
        except InputError as error:
            slip(f"{raised(error.problem)}.")
            return
        st.switch_page("screens/mix.py")


def _blank(name: str, kind: str, grams: float) -> Recipe:
    """Water alone, served as its kind usually is."""
    return Recipe(
        name=name or f"New {kind_name(kind).lower()}",
        batch_g=grams,
        ingredients=(RecipeIngredient("water"),),
        serving=serving_kinds()[kind],
    )
