"""How it is served and kept: kind, temperature, window, freezer, overrun."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from desk.entries.numbers import needed_entry, number_entry
from desk.hand import state
from desk.pictures.words import HELP
from formulate.errors import InputError
from formulate.recipes import Range, Recipe, Serving, kind_name, serving_kinds

__all__ = ["serving_entries"]


def serving_entries(base: Recipe, slips: list[InputError]) -> Recipe:
    """Draw the entries and return the recipe that they hold; what cannot be is added to the slips.

    A recipe without a serving asks nothing of the frozen water until something is entered here.
    """
    serving = base.serving or Serving()
    kinds = list(serving_kinds())
    st.selectbox(
        "Served as",
        kinds,
        index=kinds.index(serving.kind) if serving.kind else None,
        format_func=kind_name,
        key=state.key("kind"),
        on_change=_choose,
        placeholder="choose: it sets the usual window",
        help=HELP["kind"],
    )
    one, two = st.columns(2)
    cold = (-30.0, -1.0)
    served = needed_entry(
        one, "Serve at, °C", serving.temperature_c, cold, key=state.key("serve"), help=HELP["serve"]
    )
    freezer = needed_entry(
        two, "Freezer, °C", serving.freezer_c, cold, key=state.key("freezer"), help=HELP["freezer"]
    )
    one, two = st.columns(2)  # a row each, so that they stand in this order on a phone too
    window = serving.frozen_water
    low, high = (
        number_entry(
            place,
            f"Window, at {side} % frozen",
            bound,
            (0.0, 100.0),
            key=state.key(name),
            help=HELP["window"],
        )
        for place, side, bound, name in (
            (one, "least", window.min, "low"),
            (two, "most", window.max, "high"),
        )
    )
    overrun = needed_entry(
        st.columns(2)[0],
        "Overrun, %",
        serving.overrun_percent,
        (0.0, 300.0),
        key=state.key("overrun"),
        help=HELP["overrun"],
    )
    try:
        edited = replace(
            serving,
            temperature_c=served,
            frozen_water=Range(low, high),
            freezer_c=freezer,
            overrun_percent=overrun,
        )
    except InputError as error:
        slips.append(error.moved("serving window"))
        return base
    if base.serving is None and edited == Serving():
        return base
    return replace(base, serving=edited)


def _choose() -> None:
    recipe = state.in_hand()
    kind = st.session_state[state.key("kind")]
    if recipe is None or not kind:
        return
    kept = recipe.serving or Serving()
    usual = replace(
        serving_kinds()[kind], freezer_c=kept.freezer_c, overrun_percent=kept.overrun_percent
    )
    state.put(replace(recipe, serving=usual))
