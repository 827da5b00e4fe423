"""Really different mixes: other sets of the same ingredients, and the mix without one of them."""

from __future__ import annotations

import streamlit as st

from desk.entries.frames import names_of
from desk.hand.answers import remembered
from desk.hand.units import mass, weight_unit
from desk.hand.waiting import wait_for
from desk.pictures.plain import draw, heading, paragraphs, table, text
from desk.questions.outcome import take
from formulate import alternatives, without
from formulate.recipes import Recipe

__all__ = ["others_view"]


def others_view(recipe: Recipe) -> None:
    """Show mixes of different ingredients, and ask what is out of stock."""
    found = tuple(
        wait_for("others", "Looking for other mixes", remembered, alternatives, recipe, 3)
    )
    if found:
        heads = [f"Weights, {weight_unit()}", *(f"Mix {n}" for n in range(1, len(found) + 1))]
        rows = []
        for place, weight in enumerate(found[0].weights):
            cells = (each.weights[place].grams for each in found)
            rows.append([text(weight.name), *(mass(g) if g > 1e-6 else "–" for g in cells)])
        rows.append(["Verdict", *(text(each.verdict) for each in found)])
        draw(
            heading("The best mixes of different ingredients"),
            table("Different mixes", heads, rows, numbers=tuple(range(1, len(heads)))),
        )
        with st.container(horizontal=True):
            for place, each in enumerate(found, start=1):
                st.button(
                    f"Take mix {place}",
                    key=f"different_{place}",
                    on_click=take,
                    args=(recipe, tuple(weight.grams for weight in each.weights)),
                )
    else:
        draw(paragraphs(["No mix meets the targets with these ingredients."]))
    names = names_of(recipe)
    if len(names) < 2:
        return
    key = st.selectbox(
        "And without",
        list(names),
        index=None,
        format_func=names.__getitem__,
        key="without",
        width=360,
        placeholder="what is out of stock?",
    )
    if key is None:
        return
    result = wait_for("without", "Balancing without it", remembered, without, recipe, key)
    if result.status == "impossible":
        draw(paragraphs([f"Without {names[key]} no mix meets the targets."]))
        return
    rows = [[text(weight.name), mass(weight.grams)] for weight in result.mix.weights]
    draw(table(f"Without {names[key]}", ["Ingredient", weight_unit()], rows, numbers=(1,)))
