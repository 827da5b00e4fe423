"""A week's menu on the page: a file of it, or rows of what is served when."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date as Date
from datetime import timedelta

import pandas as pd
import streamlit as st

from desk.entries.editor import editor
from desk.entries.numbers import cells, needed_entry, number, number_column
from formulate.data import menu_bytes
from formulate.errors import InputError
from formulate.planning import Serve, WeekMenu, parse_menu

__all__ = ["menu_entries", "menu_in_hand", "menu_sources"]

_EXAMPLE = "november_week"


@dataclass(frozen=True)
class _Hand:
    """The menu that the entries start from, and how often it was another."""

    menu: WeekMenu
    turn: int


def menu_in_hand() -> WeekMenu | None:
    """The menu that the entries start from."""
    hand: _Hand | None = st.session_state.get("week_hand")
    return None if hand is None else hand.menu


def menu_sources(recipe: str | None) -> None:
    """Offer a file, an example, and a new menu that begins with the open recipe."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.file_uploader(
            "Open a menu file",
            type="toml",
            key="week_file",
            on_change=_upload,
            max_upload_size=1,
            help="A TOML file of at most 1 MB: what is served when, and the lots on the shelf.",
        )
    with st.container(horizontal=True):
        st.button("Try an example week", key="week_example", on_click=_open_example)
        if recipe is not None:
            st.button("Start a new week", key="week_new", on_click=_begin, args=(recipe,))


def menu_entries(base: WeekMenu, words: list[str]) -> WeekMenu:
    """Draw the entries; return the menu that they hold.

    Parameters
    ----------
    words:
        Recipes that may be chosen.

    Raises
    ------
    InputError
        If a row cannot be read, or there is none.
    """
    turn = st.session_state.week_hand.turn
    edited = editor(
        _frame(base),
        {
            "day": st.column_config.DateColumn("Day", format="ddd D MMM", required=True),
            "service": st.column_config.TextColumn("Service", max_chars=40),
            "recipe": st.column_config.SelectboxColumn("Recipe", options=words, required=True),
            "portions": number_column("Portions"),
            "grams": number_column("g each, or in all"),
        },
        alt="What is served: day, service, recipe, portions and grams",
        key=f"week_serves_{turn}",
        num_rows="dynamic",
    )
    one, two, three, four = st.columns(4)
    churn = needed_entry(
        one, "One churn takes, g", base.churn_g, (50.0, 1e6), key=f"week_churn_{turn}"
    )
    stays = needed_entry(
        two, "Stays in the machine, g", base.left_in_machine_g, (0.0, 1e5), key=f"week_stays_{turn}"
    )
    keeps = three.number_input(
        "Kept for so many days",
        0,
        30,
        base.keeps_days,
        key=f"week_keeps_{turn}",
        help="How long after its churn this kitchen serves a mix; your local rules come first.",
    )
    with four:
        together = st.toggle(
            "Churn for several days at once", base.together, key=f"week_together_{turn}"
        )
    if stays >= churn:
        raise InputError(
            "Stays in the machine", f"is {stays:g} g of a churn of {churn:g} g", "Weigh it."
        )
    return replace(
        base,
        serves=_serves(edited),
        churn_g=churn,
        left_in_machine_g=stays,
        keeps_days=int(keeps),
        together=together,
    )


def _frame(menu: WeekMenu) -> pd.DataFrame:
    each = [
        serve.grams if serve.portions is None else serve.grams / serve.portions
        for serve in menu.serves
    ]
    return pd.DataFrame(
        {
            "day": pd.to_datetime([serve.day for serve in menu.serves]),
            "service": pd.array([serve.service for serve in menu.serves], dtype="string"),
            "recipe": pd.array([serve.recipe for serve in menu.serves], dtype="string"),
            "portions": cells(
                None if serve.portions is None else float(serve.portions) for serve in menu.serves
            ),
            "grams": cells(each),
        }
    )


def _serves(frame: pd.DataFrame) -> tuple[Serve, ...]:
    found = []
    for count, row in enumerate(frame.itertuples(index=False), start=1):
        if pd.isna(row.day) or pd.isna(row.recipe):
            continue  # a row that is only begun
        place = f"row {count}"
        try:
            portions, grams = number(row.portions), number(row.grams)
        except InputError as error:
            raise InputError(place, error.problem, error.remedy) from None
        if grams is None or not 0.0 < grams * (portions or 1.0) <= 1e6:
            raise InputError(place, "says no amount", "Write portions and grams each, or grams.")
        if portions is not None and (portions != int(portions) or portions < 1.0):
            raise InputError(place, f"has {portions:g} portions", "Give a whole number.")
        service = "" if pd.isna(row.service) else str(row.service)
        day = pd.Timestamp(row.day).date()
        whole = None if portions is None else int(portions)
        found.append(Serve(day, str(row.recipe), grams * (whole or 1), service, whole))
    if not found:
        raise InputError("the week", "serves nothing yet", "Add a row: a day, a recipe, grams.")
    return tuple(found)


def _put(menu: WeekMenu) -> None:
    hand: _Hand | None = st.session_state.get("week_hand")
    st.session_state.week_hand = _Hand(menu, 0 if hand is None else hand.turn + 1)
    st.session_state.week_fault = ""


def _open_example() -> None:
    _put(parse_menu(menu_bytes(_EXAMPLE), _EXAMPLE))


def _upload() -> None:
    file = st.session_state.week_file
    if file is None:
        return
    try:
        _put(parse_menu(file.getvalue(), file.name))
    except InputError as error:
        st.session_state.week_fault = str(error)


def _begin(recipe: str) -> None:
    tomorrow = Date.today() + timedelta(days=1)
    serve = Serve(tomorrow, recipe, 1500.0, "dinner", 25)
    _put(WeekMenu("The week", (serve,), 1800.0, 0.0, 1, False, ()))
