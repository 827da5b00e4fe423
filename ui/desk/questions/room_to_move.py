"""How far each weight and target can move before something breaks, and what each target costs."""

from __future__ import annotations

import streamlit as st

from desk.entries.numbers import needed_entry
from desk.hand.answers import remembered
from desk.hand.units import weight_unit
from desk.hand.waiting import wait_for
from desk.pictures.bars import spans_table
from desk.pictures.plain import draw, heading, paragraphs
from desk.pictures.words import HELP
from formulate import ranges
from formulate.recipes import Recipe
from formulate.report import ranges_data

__all__ = ["ranges_view"]


def ranges_view(recipe: Recipe) -> None:
    """Ask how much worse than the best a mix may be, and show the spans."""
    slack = needed_entry(
        st.container(),
        "How far from the best may it be?",
        0.1,
        (0.0, 10.0),
        key="slack",
        width=320,
        help=HELP["slack"],
        persist_state="session",
    )
    found = wait_for("ranges", "Moving every weight and target", remembered, ranges, recipe, slack)
    if found is None:
        draw(paragraphs(["No mix meets the targets, so there is nothing to move around."]))
        return
    left, right = st.columns(2, gap="large")
    with left:
        draw(spans_table(f"Weight, {weight_unit()}", found.ingredients))
    with right:
        draw(spans_table("Target", found.targets))
    prices = [price["text"] for price in ranges_data(found)["prices"]]
    if prices:
        draw(heading("What the targets cost"), paragraphs(prices))
    if found.newcomers:
        words = ", ".join(
            each.name
            if each.below_price is None
            else f"{each.name} (below {each.below_price:.2f} per kg)"
            for each in found.newcomers
        )
        draw(paragraphs([f"What would come in, if it were in the kitchen: {words}."]))
