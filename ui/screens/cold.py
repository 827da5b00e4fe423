"""Will it scoop: how the mix freezes, whether it scoops, how long it takes, and how sure that is."""

from __future__ import annotations

import streamlit as st
from desk.entries.serving_entries import serving_entries
from desk.hand import state
from desk.hand.answers import present
from desk.hand.units import temperature_unit
from desk.pictures.columns import beside
from desk.pictures.curve import curve_words
from desk.pictures.palette import palette
from desk.pictures.plain import draw, heading, slip
from desk.questions.outcome import answer, outcome_in_short
from desk.views.cold_facts import cold_facts, curve_table, doubts_html, opinion_html, watch_html
from desk.views.header import Head
from desk.views.times import times
from desk.views.welcome import welcome

from formulate import Result
from formulate.errors import FormulateError, InputError
from formulate.face import curve_spec


def screen() -> None:
    """Draw the page."""
    head = Head()
    left, right = beside("curve", 1.75, 1.0)
    with right:
        draw(heading("Served and kept"))
        slips: list[InputError] = []
        recipe = state.hold(serving_entries(state.base(), slips), slips)
        slip(st.session_state.slip)
    head.fill(recipe)
    with left:
        draw(heading("How it freezes"))
        try:
            now = present(recipe)
        except FormulateError as error:
            slip(str(error))
            return
        new = answer(recipe)
    mixes: dict[str, Result] = {} if now is None else {"now": now}
    if new is not None and new.status == "balanced":
        mixes["balanced"] = new
    if not mixes:
        with left:
            draw(
                heading(
                    "", "Give weights or targets on the page of the mix, and the curve follows."
                )
            )
        return
    with left:
        picture = curve_spec(mixes, palette(), temperature_unit())
        st.vega_lite_chart(picture, width="stretch", alt=curve_words(mixes))
        outcome_in_short(recipe)
    draw(heading("What to expect"), cold_facts(mixes))
    shown = now or mixes["balanced"]
    draw(watch_html(mixes))
    left, right = beside("doubts", 1.0, 1.0)
    with left:
        draw(doubts_html(shown))
    with right:
        draw(opinion_html(shown))
    times(recipe, use_balanced=now is None)
    with st.expander("The curve as a table", on_change="rerun", key="curve_table") as part:
        if part.open:
            draw(curve_table(mixes))
    st.page_link("screens/sheet.py", label="Go on to the sheet", icon=":material/arrow_forward:")


if state.in_hand() is None:
    welcome()
else:
    screen()
