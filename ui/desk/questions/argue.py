"""Arguing with the mix: one question at a time, so that only the one that is open is calculated."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st
from desk.hand.patience import Stopped
from desk.pictures.plain import draw, heading, slip
from desk.questions.argue_ladder import ladder_view
from desk.questions.argue_others import others_view
from desk.questions.argue_pot import pot_view
from desk.questions.argue_ranges import ranges_view
from desk.questions.argue_rules import rules_view
from desk.questions.argue_trade import trade_view

from formulate.errors import FormulateError
from formulate.recipes import Recipe

__all__ = ["argue"]

_VIEWS: dict[str, Callable[[Recipe], None]] = {
    "How far can it move?": ranges_view,
    "One mix per reading": ladder_view,
    "One wish against another": trade_view,
    "Other ingredients": others_view,
    "A pot on the stove": pot_view,
    "House rules": rules_view,
}


def argue(recipe: Recipe) -> None:
    """Offer the questions, and draw the answer to the one that is chosen."""
    draw(heading("Argue with it", "Choose a question; nothing here changes the recipe by itself."))
    chosen = st.pills(
        "Question", list(_VIEWS), key="argue", label_visibility="collapsed", persist_state="session"
    )
    if chosen is None:
        return
    with st.container(border=True):
        try:
            _VIEWS[chosen](recipe)
        except Stopped:
            return
        except FormulateError as error:
            slip(str(error))
