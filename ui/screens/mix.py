"""The mix: weights, limits and targets, the verdict on every edit, and what else can be asked."""

from __future__ import annotations

import streamlit as st
from desk.entries.mix_entries import (
    batch_entry,
    ingredient_menu,
    target_menu,
    targets_editor,
    weights_editor,
)
from desk.entries.preparing import preparation_view
from desk.hand import state
from desk.hand.answers import present
from desk.pictures.bars import composition_bars
from desk.pictures.columns import beside
from desk.pictures.plain import draw, heading, paragraphs, slip
from desk.pictures.strips import targets_table
from desk.questions.more import more_questions
from desk.questions.outcome import answer, moved, outcome, sureness
from desk.views.header import Head
from desk.views.welcome import welcome
from streamlit.delta_generator import DeltaGenerator

from formulate import Result
from formulate.errors import FormulateError, InputError
from formulate.recipes import Recipe
from formulate.report import sentences


def entries(
    base: Recipe, slips: list[InputError], above: DeltaGenerator, below: DeltaGenerator
) -> tuple[Recipe, DeltaGenerator, DeltaGenerator]:
    """Draw the entries; return the recipe that they hold, and places for a slip in either table."""
    with above:
        draw('<h2 class="unseen">Weights</h2>')
        with st.container(horizontal=True, vertical_alignment="bottom"):
            with st.container(width="stretch"):
                recipe = batch_entry(base)
            ingredient_menu(base)
            target_menu(base)
        recipe = weights_editor(base, recipe, slips)
        under_weights = st.container()
        preparation_view(base)
    with below:
        draw(heading("What it must be"))
        recipe = targets_editor(base, recipe, slips)
        if not base.targets:
            draw(heading("", "Nothing is asked yet: add sweetness or total solids under Targets."))
        return recipe, under_weights, st.container()


def targets(now: Result | None, new: Result | None) -> None:
    """Every target as a strip."""
    head = "Nearest" if new is not None and new.status == "impossible" else "Balanced"
    first = () if now is None else now.mix.targets
    second = () if new is None else new.mix.targets
    if first or second:
        draw(heading("Where it lies"), targets_table(first, second, head))


def screen() -> None:
    """Draw the page."""
    head = Head()
    left, right = beside("mix", 1.0, 1.0)
    low_left, low_right = beside("targets", 1.0, 1.0)
    slips: list[InputError] = []
    edited, under_weights, under_targets = entries(state.base(), slips, left, low_left)
    recipe = state.hold(edited, slips)
    with under_weights if st.session_state.slip_of_weight else under_targets:
        slip(st.session_state.slip)
    head.fill(recipe)
    with right:
        try:
            now = present(recipe)
        except FormulateError as error:
            slip(str(error))
            return
        if len(recipe.ingredients) < 2:
            draw(
                heading(
                    "Nothing to mix yet",
                    "Add what goes in under Ingredients, and what the mix must be under Targets. "
                    "Weights can stay empty: they are found.",
                )
            )
            return
        new = answer(recipe)
        outcome(recipe, new)
    still = now is not None and new is not None and not moved(new.mix.weights)
    with right if still else low_right:
        targets(now, new)
        sureness()
    with low_left:
        if now is not None:
            draw(paragraphs(sentences(now.messages), "under"))
        made_of(now, new)
    more_questions(recipe)
    st.page_link("screens/cold.py", label="Will it scoop?", icon=":material/arrow_forward:")


def made_of(now: Result | None, new: Result | None) -> None:
    """What both mixes are made of."""
    other = new is not None and new.status == "balanced" and (now is None or moved(new.mix.weights))
    mixes = {"Now": now, "Balanced": new if other else None}
    shown = {name: result.mix for name, result in mixes.items() if result is not None}
    if shown:
        draw(heading("What it is made of"), composition_bars(shown))


if state.in_hand() is None:
    welcome()
else:
    screen()
