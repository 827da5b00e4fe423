"""What the targets ask of the weights: the balanced mix, or why there is none and the ways out."""

from __future__ import annotations

import streamlit as st

from desk.hand import state
from desk.hand.answers import asked, balanced, present
from desk.hand.waiting import Stopped, wait_for
from desk.pictures.bars import changes_table
from desk.pictures.plain import block, draw, heading, markdown_safe, paragraphs, slip
from desk.pictures.words import HELP
from formulate import Result
from formulate.errors import FormulateError
from formulate.mix import Weight
from formulate.recipes import Recipe
from formulate.report import changes, conflict_sentences, lowering_words, seal, sentence, sentences

__all__ = ["answer", "moved", "outcome", "outcome_in_short", "sureness", "take", "take_button"]

_SURE = {"as good as it gets": None, "8 in 10": 0.8, "9 in 10": 0.9, "19 in 20": 0.95}


def answer(recipe: Recipe) -> Result | None:
    """The balanced mix at the sureness that is chosen; a fault is said where this is called."""
    if not asked(recipe):
        return None
    try:
        sure = _SURE[st.session_state.get("sure") or next(iter(_SURE))]
        return wait_for("balance", "Looking for the weights", balanced, recipe, sure)
    except Stopped:
        return None
    except FormulateError as error:
        slip(str(error))
        return None


def sureness() -> None:
    """Ask how sure each target must be."""
    st.segmented_control(
        "How sure must each target be?",
        list(_SURE),
        default=next(iter(_SURE)),
        required=True,
        key="sure",
        help=HELP["confidence"],
        persist_state="session",
    )


def outcome_in_short(recipe: Recipe) -> None:
    """Say in a few lines what a reading asks of the weights, and offer to take them."""
    draw(heading("New weights"))
    result = answer(recipe)
    if result is None:
        draw(paragraphs(["Set targets on the page of the mix, and the weights follow."], "under"))
        return
    if result.status == "impossible":
        draw(block("note bad", paragraphs(conflict_sentences(result))))
        draw(paragraphs(["The page of the mix shows ways out."], "under"))
        return
    changed = moved(result.mix.weights)
    if not changed:
        draw(paragraphs(["Nothing has to change: the present weights meet every target."]))
        return
    draw(changes_table(changed, "Balanced", total=False))
    take_button(recipe, result)


def outcome(recipe: Recipe, result: Result | None) -> None:
    """Show the balanced weights with what changed and why, or the conflict with its ways out."""
    if result is None:
        return
    if result.status == "impossible":
        _conflict(recipe, result)
        return
    draw(heading("The balanced weights"))
    changed = moved(result.mix.weights)
    if changed:
        draw(changes_table(result.mix.weights, "Balanced"))
    draw(paragraphs([*sentences(result.messages), *(() if changed else changes(result))]))
    if changed:
        take_button(recipe, result)


def take(recipe: Recipe, grams: tuple[float, ...]) -> None:
    """Make these weights the present ones."""
    keys = (entry.key for entry in recipe.ingredients)
    state.put(recipe.with_weights(dict(zip(keys, grams, strict=True))))


def take_button(recipe: Recipe, result: Result) -> None:
    """A press makes the balanced weights the present ones; what must be known first stands above it."""
    first = (*seal(result).warnings, *lowering_words(present(recipe), result))
    if first:
        draw(block("note watch", paragraphs(first)))
    grams = tuple(weight.grams for weight in result.mix.weights)
    st.button(
        "Take the balanced weights",
        key="take",
        type="primary",
        icon=":material/check:",
        on_click=take,
        args=(recipe, grams),
    )


def moved(weights: tuple[Weight, ...]) -> tuple[Weight, ...]:
    """The weights that a scale shows to differ."""
    return tuple(
        weight
        for weight in weights
        if weight.before is None or f"{weight.grams:.1f}" != f"{weight.before:.1f}"
    )


def _conflict(recipe: Recipe, result: Result) -> None:
    draw(heading("No mix can do all of this"))
    draw(block("note bad", paragraphs(conflict_sentences(result))))
    if result.proposals:
        draw(
            heading("Any one of these makes a mix possible", "Each was solved; one press takes it.")
        )
        for place, proposal in enumerate(result.proposals):
            st.button(
                markdown_safe(sentence(proposal.what).rstrip(".")),
                key=f"way_{place}",
                icon=":material/add:" if proposal.kind == "add" else ":material/open_in_full:",
                on_click=state.put,
                args=(proposal.recipe,),
                width="stretch",
            )
    with st.expander("The mix that misses least"):
        draw(changes_table(result.mix.weights, "Nearest"))
