"""Really different mixes, as a cook would name them, and the mix without one ingredient."""

from __future__ import annotations

import streamlit as st

from desk.entries.frames import names_of
from desk.hand import state
from desk.hand.answers import remembered
from desk.hand.units import mass, weight_unit
from desk.hand.waiting import wait_for
from desk.pictures.plain import draw, heading, paragraphs, table, text
from formulate import alternatives, without
from formulate.recipes import Recipe

__all__ = ["others_view"]


def others_view(recipe: Recipe) -> None:
    """Show really different mixes, and ask what is out of stock."""
    found = wait_for("others", "Looking for other mixes", remembered, alternatives, recipe, 3)
    if found:
        heads = [f"Weights, {weight_unit()}", *(f"Mix {n}" for n in range(1, len(found) + 1))]
        grams = [{weight.key: weight.grams for weight in mix.weights} for mix in found]
        called = {weight.key: weight.name for mix in found for weight in mix.weights}
        rows = [
            [text(name), *(mass(each[key]) if each.get(key) else "–" for each in grams)]
            for key, name in called.items()
        ]
        rows.append(["Verdict", *(text(each.verdict) for each in found)])
        draw(
            heading("Really different mixes"),
            paragraphs([f"Mix {n}: {way}." for n, way in enumerate(found.ways, start=1)]),
            table("Different mixes", heads, rows, numbers=tuple(range(1, len(heads)))),
        )
        with st.container(horizontal=True):
            for place, each in enumerate(found.recipes, start=1):
                st.button(
                    f"Take mix {place}", key=f"different_{place}", on_click=state.put, args=(each,)
                )
    else:
        draw(paragraphs(["No really different mix meets the targets within the usual."]))
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
