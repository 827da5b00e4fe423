"""One wish against another: the exact line of the best trade-offs, and a press to take a mix of it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import streamlit as st
from desk.hand.answers import again
from desk.hand.patience import patiently
from desk.pictures.palette import palette
from desk.pictures.plain import draw, paragraphs, table, text
from desk.pictures.units import mass, weight_unit
from desk.questions.outcome import take

from formulate.answers import WISHES, Frontier, frontier
from formulate.ingredients import properties
from formulate.mix import COST_KEY
from formulate.recipes import Recipe, to_toml

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
        "but also", wishes, index=wishes.index("sweetness"), format_func=wish_words, key="other_wish",
        persist_state="session",
    )  # fmt: skip
    found = patiently(
        "trade", "Trading one for the other", _frontier, to_toml(recipe), first, second
    )
    if found is None:
        draw(paragraphs(["No mix meets the targets, so there is nothing to choose from."]))
        return
    if len(found.corners) > 1:
        st.vega_lite_chart(
            _picture(found), width="stretch", alt=f"{wish_name(first)} against {wish_name(second)}"
        )
    draw(_table(found))
    draw(paragraphs(["Between two neighbours, a blend of both gives every trade-off."], "under"))
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
        "change": "Change, sum of relative changes",
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


def _picture(found: Frontier) -> dict[str, Any]:
    colours = palette()
    rows = [
        {"mix": str(place), "first": corner.first, "second": corner.second}
        for place, corner in enumerate(found.corners, start=1)
    ]
    across = {"type": "quantitative", "scale": {"zero": False, "nice": True}}
    encoding = {
        "x": {"field": "first", "title": wish_name(found.first), **across},
        "y": {"field": "second", "title": wish_name(found.second), **across},
    }
    return {
        "data": {"values": rows},
        "encoding": encoding,
        "layer": [
            {"mark": {"type": "line", "strokeWidth": 3, "color": colours["accent"]}},
            {"mark": {"type": "point", "filled": True, "size": 110, "color": colours["accent"]}},
            {
                "mark": {"type": "text", "dy": -14, "fontSize": 15, "color": colours["ink"]},
                "encoding": {"text": {"field": "mix"}},
            },
        ],
        "height": 300,
        "config": {
            "axis": {"labelFontSize": 14, "titleFontSize": 14, "labelColor": colours["muted"]}
        },
    }


@lru_cache(maxsize=32)
def _frontier(text: str, first: str, second: str) -> Frontier | None:
    return frontier(again(text), first, second)
