"""More questions about the mix: one at a time, so that only the one that is open is answered."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from desk.hand.waiting import Stopped
from desk.pictures.plain import draw, heading, slip
from desk.questions.by_reading import ladder_view
from desk.questions.house_rules import rules_view
from desk.questions.other_mixes import others_view
from desk.questions.pot import pot_view
from desk.questions.room_to_move import ranges_view
from desk.questions.two_wishes import trade_view
from formulate.errors import FormulateError
from formulate.recipes import Recipe

__all__ = ["more_questions"]

_VIEWS: dict[str, Callable[[Recipe], None]] = {
    "How far can it move?": ranges_view,
    "One mix per reading": ladder_view,
    "One wish against another": trade_view,
    "Other ingredients": others_view,
    "A pot on the stove": pot_view,
    "House rules": rules_view,
}


def more_questions(recipe: Recipe) -> None:
    """Offer the questions, and draw the answer to the one that is chosen."""
    draw(heading("Ask more", "Choose a question; nothing here changes the recipe by itself."))
    chosen = st.pills(
        "Question",
        list(_VIEWS),
        key="question",
        label_visibility="collapsed",
        persist_state="session",
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
