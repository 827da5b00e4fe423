"""The sheet: what goes on the label, what to mind, what it costs, and the page for the bench."""

from __future__ import annotations

import streamlit as st
from desk.entries.heating import heat_and_cold
from desk.hand import state
from desk.pictures.columns import beside
from desk.pictures.plain import draw, heading
from desk.views.batch_sheet import batch_sheet
from desk.views.header import Head
from desk.views.label_view import label_view
from desk.views.to_mind import cost_html, mind_html
from desk.views.welcome import welcome


def screen() -> None:
    """Draw the page."""
    head = Head()
    recipe = state.in_hand()
    assert recipe is not None
    head.fill(recipe)
    if not recipe.is_weighed:
        draw(
            heading(
                "No weights yet",
                "The sheet is for the present weights: take the balanced ones on the page of the mix.",
            )
        )
        st.page_link("screens/mix.py", label="Back to the mix", icon=":material/arrow_back:")
        return
    batch_sheet(recipe)
    left, right = beside("label", 1.15, 1.0)
    with left:
        label_view(recipe)
    with right:
        draw(cost_html(recipe))
        draw(mind_html(recipe))
        heat_and_cold()
    st.page_link(
        "screens/notebook.py",
        label="Made it? Write it down in the notebook",
        icon=":material/arrow_forward:",
    )


if state.in_hand() is None:
    welcome()
else:
    screen()
