"""The mix: weights, limits and targets, the verdict on every edit, and what can be argued about."""

from __future__ import annotations

import streamlit as st
from desk import state
from desk.answers import present
from desk.argue import argue
from desk.bars import composition_bars
from desk.header import Head
from desk.mix_entries import (
    batch_entry,
    ingredient_menu,
    target_menu,
    targets_editor,
    weights_editor,
)
from desk.outcome import answer, outcome, sureness
from desk.plain import draw, heading, slip
from desk.preparing import preparation_view
from desk.strips import LEGEND, targets_table
from desk.welcome import welcome

from formulate.answer import Result
from formulate.errors import FormulateError
from formulate.recipe import Recipe


def entries(base: Recipe) -> Recipe:
    """Draw the entries and return the recipe that they hold."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        with st.container(width="stretch"):
            draw(heading("Weights"))
        recipe = batch_entry(base)
        ingredient_menu(base)
    recipe = weights_editor(base, recipe)
    preparation_view(base)
    with st.container(horizontal=True, vertical_alignment="bottom"):
        with st.container(width="stretch"):
            draw(heading("What it must be"))
        target_menu(base)
    recipe = targets_editor(base, recipe)
    if not base.targets:
        draw(heading("", "Nothing is asked yet: add a target, sweetness for example."))
    return recipe


def targets(now: Result | None, new: Result | None) -> None:
    """Every target as a strip."""
    head = "Nearest" if new is not None and new.status == "impossible" else "Balanced"
    first = () if now is None else now.mix.targets
    second = () if new is None else new.mix.targets
    if first or second:
        draw(heading("Where it lies"), LEGEND, targets_table(first, second, head))


def screen() -> None:
    """Draw the page."""
    head = Head()
    left, right = st.columns(2, gap="medium")
    with left:
        recipe = state.hold(entries(state.base()))
        slip(st.session_state.slip)
    head.fill(recipe)
    with right:
        try:
            now = present(recipe)
        except FormulateError as error:
            slip(str(error))
            return
        new = answer(recipe)
        targets(now, new)
        sureness()
        outcome(recipe, new)
    with left:
        made_of(now, new)
    argue(recipe)
    st.page_link("screens/cold.py", label="Go on to the cold", icon=":material/arrow_forward:")


def made_of(now: Result | None, new: Result | None) -> None:
    """What both mixes are made of."""
    mixes = {"Now": now, "Balanced": new if new and new.status == "balanced" else None}
    shown = {name: result.mix for name, result in mixes.items() if result is not None}
    if shown:
        draw(heading("What it is made of"), composition_bars(shown))


if state.in_hand() is None:
    welcome()
else:
    screen()
