"""Held hot for long enough, cooled fast enough: what quoted rules say of a cook's own figures."""

from __future__ import annotations

import streamlit as st

from desk.entries.numbers import needed_entry, number_entry
from desk.hand.units import celsius, shown_temperature, temperature_unit
from desk.pictures.plain import draw, heading, paragraphs, slip
from formulate.errors import FormulateError
from formulate.face import heated
from formulate.report import cooling_sentences, heat_sentences, lethality_sentences
from formulate.safety import CoolingLeg, cooling_verdicts

__all__ = ["heat_and_cold"]


def heat_and_cold() -> None:
    """Ask how hot and how long it was held, and how fast it cooled."""
    part = st.expander(
        "Was it hot for long enough, and cooled fast enough?", key="heating", on_change="rerun"
    )
    if not part.open:
        return
    with part:
        one, two = st.columns(2)
        unit = temperature_unit()
        hottest = (shown_temperature(40.0), shown_temperature(150.0))
        at = number_entry(one, f"Held at, {unit}", None, hottest, key=f"held_at_{unit}")
        seconds = number_entry(two, "for, s", None, (0.0, 36_000.0), key="held_for")
        if at is not None and seconds is not None:
            _heat(celsius(at), seconds)
        draw(heading("", "Cooling, as far as you read it:"))
        legs = []
        allowed = (shown_temperature(-5.0), shown_temperature(100.0))
        for place, (start, end) in enumerate(((60.0, 20.0), (20.0, 5.0))):
            one, two, three = st.columns(3)
            first, last = (
                needed_entry(
                    where, f"{word}, {unit}", shown_temperature(usual), allowed,
                    key=f"leg_{word}_{place}_{unit}",
                )
                for where, word, usual in ((one, "From", start), (two, "to", end))
            )  # fmt: skip
            taken = number_entry(three, "in, min", None, (0.0, 3000.0), key=f"leg_minutes_{place}")
            if taken is not None:
                legs.append((celsius(first), celsius(last), taken))
        if legs:
            try:
                verdicts = cooling_verdicts([CoolingLeg(*leg) for leg in legs])
                draw(paragraphs(cooling_sentences(verdicts)))
            except FormulateError as error:
                slip(str(error))


def _heat(at: float, seconds: float) -> None:
    try:
        verdicts, advice = heated(at, seconds)
    except FormulateError as error:
        slip(str(error))
        return
    draw(paragraphs(heat_sentences(verdicts, at)))
    if advice is not None:
        draw(paragraphs(lethality_sentences(advice), "under"))
