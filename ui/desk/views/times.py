"""How long a container hardens and tempers, and how long a scoop holds."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import streamlit as st

from desk.entries.numbers import needed_entry, number_entry
from desk.hand.answers import again, balanced, present
from desk.hand.units import temperature
from desk.pictures.plain import block, draw, heading, paragraphs, slip, text
from formulate.errors import FormulateError
from formulate.face import DRAW_C, harden, scoop_holds, temper
from formulate.recipes import Recipe, to_toml
from formulate.report import TIME_CAUTIONS, duration, timing_sentences
from formulate.timing import AIR, PLACES, SHAPES, WALLS, Timing, vessel

__all__ = ["times"]

_USUAL = {"round": "120x80", "block": "160x100x60", "ball": "60"}
_SHAPES = {"round": "Round tub", "block": "Block or tray", "ball": "Ball"}
_PLACES = {"fridge": "in the fridge", "bench": "on the bench"}


@st.fragment
def times(recipe: Recipe, use_balanced: bool) -> None:
    """Ask for a container and show the times; alone on the page in being drawn again."""
    draw(
        heading(
            "Into the freezer and out of it", "Inner sizes. All sides count as cooled, lid too."
        )
    )
    one, two, three, four = st.columns(4)
    shape = one.selectbox(
        "Container",
        list(SHAPES),
        format_func=_SHAPES.__getitem__,
        key="shape",
        persist_state="session",
    )
    size = two.text_input(
        f"{' x '.join(SHAPES[shape][0]).capitalize()}, mm",
        _USUAL[shape],
        key=f"size_{shape}",
        persist_state="session",
    )
    wall = three.selectbox("Wall", list(WALLS), index=2, key="wall", persist_state="session")
    air = four.selectbox("Air in the freezer", list(AIR), key="air", persist_state="session")
    start = needed_entry(
        one, "Out of the churn at, °C", DRAW_C, (-20.0, 0.0), key="drawn", persist_state="session"
    )
    place = two.selectbox("Temper in", list(PLACES), key="place", persist_state="session")
    grams = needed_entry(
        three, "One scoop, g", 60.0, (1.0, 1000.0), key="scoop", persist_state="session"
    )
    minutes = number_entry(
        four,
        "Minutes you plan",
        None,
        (1.0, 2880.0),
        key="minutes",
        persist_state="session",
    )
    asked = (start, shape, size, wall, air, place, grams, minutes)
    try:
        found = _times(to_toml(recipe), use_balanced, asked)
    except FormulateError as error:
        slip(str(error))
        return
    cards = "".join(_card(doing, timing, asked) for doing, timing, asked in found)
    draw(f'<div class="facts">{cards}</div>')
    draw(block("note watch", paragraphs(TIME_CAUTIONS)))


def _card(doing: str, timing: Timing, asked: float | None) -> str:
    """One time, large, and under it what a cook needs to know of it, and of the minutes asked for."""
    words = " ".join(timing_sentences(timing, doing, asked))
    return f"<div><b>{text(duration(timing.minutes))}</b><span>{text(words)}</span></div>"


@lru_cache(maxsize=64)
def _times(
    text: str, use_balanced: bool, asked: tuple[Any, ...]
) -> tuple[tuple[str, Timing, float | None], ...]:
    start, shape, size, wall, air, place, grams, minutes = asked
    recipe = again(text)
    result = balanced(recipe) if use_balanced else present(recipe)
    assert result is not None
    serving = result.mix.serving
    box = vessel(shape, size, wall)
    cold = max(serving.freezer_c + 1.0, min(serving.temperature_c, start - 1.0))
    hard = harden(result, box, start_c=start, core_c=cold, air=air, minutes=minutes)
    found = [(f"Hardening from {temperature(start)}", hard, minutes)]
    if serving.freezer_c < serving.temperature_c:
        warm = temper(result, box, place=place, minutes=minutes)
        found.append(
            (f"Tempering {_PLACES[place]} from {temperature(serving.freezer_c)}", warm, minutes)
        )
    scoop = scoop_holds(result, grams)
    found.append((f"A scoop of {grams:g} g in the room, melting a tenth of its ice,", scoop, None))
    return tuple(found)
