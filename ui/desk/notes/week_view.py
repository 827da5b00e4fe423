"""A week planned on the page: what to make when, from which lots, what to order, what expires."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby

import streamlit as st

from desk.hand.files import file_stem
from desk.hand.units import mass, weight_unit
from desk.hand.waiting import Stopped, wait_for
from desk.notes.week_entries import menu_entries, menu_in_hand, menu_sources
from desk.pictures.plain import block, draw, heading, paragraphs, slip, table, text
from formulate.data import example_names
from formulate.errors import FormulateError
from formulate.face import recipe_named
from formulate.notebook import Left, Notebook, search, stock
from formulate.planning import Making, Week, WeekLine, WeekMenu, shelf, week
from formulate.printing import week_html
from formulate.recipes import Recipe
from formulate.report import (
    WEEK_CAUTIONS,
    buy_words,
    day_words,
    draw_words,
    in_all,
    lot_words,
    made_words,
    reasons,
    sentence,
    sentences,
    waste_words,
    week_csv,
)

__all__ = ["week_view"]


def week_view(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Ask for a menu and show its plan."""
    draw(
        heading(
            "Plan a week",
            "What is served when. The plan takes what expires first, balances each mix to the lots it "
            "gets, and says what to order.",
        )
    )
    menu_sources(None if recipe is None else recipe.name)
    slip(st.session_state.get("week_fault", ""))
    base = menu_in_hand()
    if base is None:
        return
    words = _words(notebook, recipe)
    try:
        menu = menu_entries(base, list(dict.fromkeys([*words, *(s.recipe for s in base.serves)])))
        chosen = {
            word: _recipe(word, notebook, recipe)
            for word in dict.fromkeys(serve.recipe for serve in menu.serves)
        }
        noted = () if notebook is None else stock(notebook)
        found = wait_for("week", "Planning the week", _plan, menu, chosen, noted)
    except Stopped:
        return
    except FormulateError as error:
        slip(str(error))
        return
    _draw(found)


def _plan(menu: WeekMenu, recipes: Mapping[str, Recipe], noted: tuple[Left, ...]) -> Week:
    return week(menu, recipes, shelf(menu.lots, noted, recipes.values()))


def _words(notebook: Notebook | None, recipe: Recipe | None) -> list[str]:
    """Recipes by the words of a menu: the open one, kept, examples."""
    kept = [] if notebook is None else [each.newest.name for each in search(notebook)]
    desk = [] if recipe is None else [recipe.name]
    return list(dict.fromkeys([*desk, *kept, *example_names()]))


def _recipe(word: str, notebook: Notebook | None, desk: Recipe | None) -> Recipe:
    if desk is not None and word == desk.name:
        return desk
    return recipe_named(word, notebook)


def _draw(found: Week) -> None:
    with st.container(horizontal=True):
        name = file_stem(found.name)
        st.download_button(
            "Save to print (HTML)",
            week_html(found),
            file_name=f"{name}.html",
            mime="text/html",
            key="week_html",
            on_click="ignore",
            type="primary",
        )
        st.download_button(
            "Save the account (CSV)",
            week_csv(found).encode("utf-8-sig"),
            file_name=f"{name}.csv",
            mime="text/csv",
            key="week_csv",
            on_click="ignore",
        )
    left, right = st.columns([1.25, 1.0], gap="large")
    with left:
        for day, makings in groupby(found.makings, key=lambda making: making.churning.day):
            draw(heading(day_words(day)), *(_making(making) for making in makings))
    with right:
        if found.use_first:
            draw(heading("Use first"), _list(lot_words(use) for use in found.use_first))
        if found.ahead:
            begin = (
                f"{day_words(each.begin)}: {sentence(each.what)} ({each.mix})"
                for each in found.ahead
            )
            draw(heading("Begin"), _list(begin))
        draw(heading("Order"), _order(found.lines))
        wasted = [waste_words(line) for line in found.lines if line.wasted]
        if wasted:
            draw(heading("Expires unused"), _list(wasted))
        draw(block("note watch", paragraphs(WEEK_CAUTIONS)))


def _making(making: Making) -> str:
    head = f'<h3 class="head">{text(making.name)}</h3>'
    if not making.is_possible:
        why = paragraphs((f"No mix can do it; {made_words(making)}.", *reasons(making)))
        return head + block("note bad", why) + paragraphs(sentences(making.notes), "under")
    draws = {each.key: each for each in making.draws}
    unit = weight_unit()
    rows = [
        [
            f"{text(weight.name)}<small>{text(draw_words(draws[weight.key]))}</small>"
            if weight.key in draws
            else text(weight.name),
            f"<b>{mass(weight.grams)}</b>",
            mass(in_all(making, weight)),
        ]
        for weight in making.result.mix.weights
        if weight.grams > 0.0
    ]
    heads = ["Ingredient, and where it comes from", f"{unit} a churn", f"{unit} in all"]
    return (
        head
        + paragraphs([made_words(making)], "under")
        + table(making.name, heads, rows, numbers=(1, 2))
        + paragraphs(sentences((*making.notes, *making.result.messages)), "under")
    )


def _order(lines: tuple[WeekLine, ...]) -> str:
    rows = [
        [
            f"{text(line.order.name)}<small>{text(buy_words(line))}</small>",
            mass(line.order.needed_g),
            mass(line.order.stock_g),
            f"<b>{mass(line.order.buy_g)}</b>",
            "–" if not line.order.cost else f"{line.order.cost:.2f}",
        ]
        for line in lines
    ]
    heads = [f"Ingredient, {weight_unit()}", "Needs", "In stock", "Buy", "Cost"]
    return table("What to order", heads, rows, numbers=(1, 2, 3, 4))


def _list(lines) -> str:  # type: ignore[no-untyped-def]
    return f"<ul>{''.join(f'<li>{text(line)}</li>' for line in lines)}</ul>"
