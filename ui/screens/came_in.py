"""What came in: the readings, prices and stock of each delivery, and what they ask of the mix."""

from __future__ import annotations

import streamlit as st
from desk.entries.delivery import delivery
from desk.entries.editor import editor
from desk.entries.frames import LOT_FIELDS, ingredient_frame, with_ingredients
from desk.entries.lots import readings_html
from desk.entries.numbers import number_column
from desk.entries.pack_view import pack_view
from desk.hand import state
from desk.pictures.columns import beside
from desk.pictures.plain import draw, heading, slip
from desk.pictures.words import HELP
from desk.questions.outcome import outcome_in_short
from desk.views.header import Head
from desk.views.welcome import welcome

from formulate.errors import InputError
from formulate.recipes import Recipe


def lots_editor(base: Recipe, slips: list[InputError]) -> Recipe:
    """The deliveries as a table; returns the recipe that it holds."""
    edited = editor(
        ingredient_frame(base, LOT_FIELDS),
        key=state.key("lots"),
        alt="Readings, prices and stock of each ingredient",
        columns={
            "name": st.column_config.TextColumn("Ingredient", width=230),
            "brix": number_column("Reads, °Bx", help=HELP["brix"]),
            "brix_temperature_c": number_column("Read at, °C", help=HELP["brix_temperature_c"]),
            "brix_plus_minus": number_column("Give or take, °Bx", help=HELP["brix_plus_minus"]),
            "price_per_kg": number_column("Price per kg", help=HELP["price_per_kg"]),
            "stock_g": number_column("In stock, g", help=HELP["stock_g"]),
        },
    )
    return with_ingredients(base, edited, LOT_FIELDS, slips)


def screen() -> None:
    """Draw the page."""
    head = Head()
    draw(
        heading(
            "What came in",
            "Put in what each delivery reads, and prices and stock if they matter today. Leave empty "
            "what you did not read: the table's own figures then stand.",
        )
    )
    slips: list[InputError] = []
    recipe = state.hold(lots_editor(state.base(), slips), slips)
    slip(st.session_state.slip)
    head.fill(recipe)
    left, right = beside("came_in", 1.25, 1.0)
    with left:
        draw(readings_html(recipe))
        delivery(recipe)
        pack_view(recipe)
    with right:
        outcome_in_short(recipe)
        st.page_link("screens/mix.py", label="Go on to the mix", icon=":material/arrow_forward:")


if state.in_hand() is None:
    welcome()
else:
    screen()
