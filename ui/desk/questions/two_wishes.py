"""One wish against another: the exact line of the best trade-offs, and a press to take a mix of it."""

from __future__ import annotations

import streamlit as st

from desk.hand.answers import remembered
from desk.hand.units import mass, weight_unit
from desk.hand.waiting import wait_for
from desk.pictures.palette import palette
from desk.pictures.plain import draw, paragraphs, table, text
from desk.questions.outcome import take
from formulate import tradeoff
from formulate.answers import WISHES, Frontier
from formulate.face import frontier_spec
from formulate.ingredients import properties
from formulate.mix import COST_KEY
from formulate.recipes import Recipe

__all__ = ["trade_view"]

_WORDS = {
    "change": "as little change as possible",
    COST_KEY: "as cheap as possible",
    "hardness": "as soft as possible",
}


def trade_view(recipe: Recipe) -> None:
    """Ask for two wishes and show what one costs the other."""
    wishes = [*WISHES]
    for name in properties():
        wishes += [name, f"-{name}"]
    one, two = st.columns(2)
    first = one.selectbox(
        "I would like it", wishes, format_func=wish_words, key="wish", persist_state="session"
    )
    second = two.selectbox(
        "but also",
        wishes,
        index=wishes.index("sweetness"),
        format_func=wish_words,
        key="other_wish",
        persist_state="session",
    )
    found = wait_for(
        "trade", "Trading one for the other", remembered, tradeoff, recipe, first, second
    )
    if found is None:
        draw(paragraphs(["No mix meets the targets, so there is nothing to choose from."]))
        return
    if len(found.corners) > 1:
        st.vega_lite_chart(
            frontier_spec(found, (wish_name(first), wish_name(second)), palette()),
            width="stretch",
            alt=f"{wish_name(first)} against {wish_name(second)}",
        )
    draw(_table(found))
    draw(paragraphs(["Mixed half and half, two neighbours give what lies between them."], "under"))
    with st.container(horizontal=True):
        for place, corner in enumerate(found.corners, start=1):
            st.button(
                f"Take mix {place}",
                key=f"corner_{place}",
                on_click=take,
                args=(recipe, tuple(weight.grams for weight in corner.mix.weights)),
            )


def wish_words(word: str) -> str:
    """A wish as the end of a sentence."""
    if word in _WORDS:
        return _WORDS[word]
    name = properties()[word.removeprefix("-")].name.lower()
    return f"with {'much' if word.startswith('-') else 'little'} {name}"


def wish_name(word: str) -> str:
    """What a wish is measured in."""
    units = {
        "change": "Change, all weights together",
        COST_KEY: "Cost, per kg",
        "hardness": "Water frozen beyond the middle of the window, g per 100 g",
    }
    if word in units:
        return units[word]
    known = properties()[word.removeprefix("-")]
    return f"{known.name}, {known.unit}"


def _table(found: Frontier) -> str:
    first = found.corners[0].mix
    heads = ["Mix", wish_name(found.first), wish_name(found.second), "Verdict"]
    heads += [f"{weight.name}, {weight_unit()}" for weight in first.weights]
    rows = [
        [
            str(place),
            f"{corner.first:.3g}",
            f"{corner.second:.3g}",
            text(corner.mix.verdict),
            *(mass(weight.grams) for weight in corner.mix.weights),
        ]
        for place, corner in enumerate(found.corners, start=1)
    ]
    numbers = (1, 2, *range(4, len(heads)))
    return table("The best trade-offs", heads, rows, numbers=numbers)
