"""The recipe in hand: what the editors start from, what they hold now, and every step before.

An editor of Streamlit keeps a cook's edits as differences from the table that it was given.  That table
therefore stays the same for as long as the editor's key does (``base``); what comes out of the editors
is ``recipe``.  Whatever changes the recipe otherwise (a proposal, undo, another page) makes it the new
base under a new key.  Keys carry a random word, so that a browser that reconnects to a restarted server
cannot lay its old edits over a new table.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from desk.entries.mistakes import is_of_an_ingredient, spoken
from desk.hand.link import recipe_of, word_of
from formulate.errors import InputError
from formulate.mix import mixture
from formulate.recipes import Recipe, parse, to_toml

__all__ = [
    "base",
    "begin",
    "can_redo",
    "can_undo",
    "close",
    "hold",
    "in_hand",
    "key",
    "open_bytes",
    "put",
    "redo",
    "undo",
]

_MOST_STEPS = 200
_MOST_INGREDIENTS = 150
_LINK = "recipe"


def begin(screen: str) -> None:
    """Make ready for a run: read the address, and give a page that is newly shown a fresh base."""
    state = st.session_state
    if "version" not in state:
        state.version, state.word = 0, secrets.token_hex(4)
        state.recipe = state.base = None
        state.past, state.step = [], -1
        state.fault = state.slip = ""
        state.slip_of_weight = False
        state.screen = screen
    link = st.query_params.get(_LINK)
    if link and (state.recipe is None or _went_back()) and link != _word():
        _open_link(link)
    if state.screen != screen:
        left = f"An entry was not taken. {state.slip}" if state.slip else ""
        state.screen, state.fault = screen, left
        _fresh()
    _publish()


def in_hand() -> Recipe | None:
    """The recipe as it stands."""
    found: Recipe | None = st.session_state.recipe
    return found


def base() -> Recipe:
    """The recipe that the editors of this version start from."""
    found: Recipe = st.session_state.base
    return found


def key(name: str) -> str:
    """Key of an editor: another one whenever the base is another."""
    return f"{name}_{st.session_state.word}_{st.session_state.version}"


def hold(edited: Recipe, slips: Sequence[InputError] = ()) -> Recipe:
    """Keep what the editors hold, if it can be; return the recipe as it stands.

    A slip (no number, least above most, a reading that cannot be) is kept as a sentence, and the last
    good recipe stays in hand until it is mended.
    """
    state = st.session_state
    try:
        for slip in slips:
            raise slip
        checked = _checked(edited)
    except InputError as error:
        state.slip = spoken(error, state.recipe)
        state.slip_of_weight = is_of_an_ingredient(error, state.recipe)
    else:
        state.slip = ""
        state.slip_of_weight = False
        _record(checked)
        state.recipe = checked
    _publish()
    found: Recipe = state.recipe
    return found


def put(recipe: Recipe) -> None:
    """Open a recipe: every editor starts afresh from it."""
    _record(recipe)
    st.session_state.recipe = recipe
    st.session_state.fault = ""
    _fresh()


def open_bytes(data: bytes, name: str) -> bool:
    """Open a recipe file; if it is none, keep the reason as a sentence and the old recipe as it was."""
    try:
        recipe = _checked(parse(data, name))
    except InputError as error:
        st.session_state.fault = str(error)
        return False
    put(recipe)
    return True


def close() -> None:
    """Put the recipe away and go back to the first screen; undo brings it back."""
    state = st.session_state
    state.recipe = state.base = None
    state.version += 1
    state.fault = state.slip = ""
    st.query_params.pop(_LINK, None)


def undo() -> None:
    """Go one step back."""
    _go(-1)


def redo() -> None:
    """Go one step forward again."""
    _go(1)


def can_undo() -> bool:
    """Whether there is a step to go back to."""
    state = st.session_state
    return bool(state.step > 0 or (state.recipe is None and state.step >= 0))


def can_redo() -> bool:
    """Whether a step was undone."""
    return bool(st.session_state.step < len(st.session_state.past) - 1)


def _go(by: int) -> None:
    state = st.session_state
    if state.recipe is not None:
        state.step = min(max(state.step + by, 0), len(state.past) - 1)
    state.recipe = state.past[state.step]
    _fresh()


def _checked(recipe: Recipe) -> Recipe:
    """The recipe as its file would say it; raises where file or tables refuse it."""
    if len(recipe.ingredients) > _MOST_INGREDIENTS:
        problem = (
            f"has {len(recipe.ingredients):,} ingredients, and a page shows {_MOST_INGREDIENTS}"
        )
        raise InputError(recipe.name, problem, "Use the command for it.")
    again = parse(to_toml(recipe).encode(), recipe.name)
    mixture(again)
    return again


def _record(recipe: Recipe) -> None:
    state = st.session_state
    if state.past and state.past[state.step] == recipe:
        return
    state.past = [*state.past[: state.step + 1], recipe][-_MOST_STEPS:]
    state.step = len(state.past) - 1


def _fresh() -> None:
    st.session_state.base = st.session_state.recipe
    st.session_state.version += 1
    st.session_state.slip = ""


def _open_link(link: str) -> None:
    try:
        put(_checked(recipe_of(link)))
    except InputError as error:
        st.session_state.fault = str(error)


def _publish() -> None:
    """Write the recipe into the address."""
    word = _word()
    if word is None:
        st.query_params.pop(_LINK, None)
    elif st.query_params.get(_LINK) != word:
        st.query_params[_LINK] = word


def _word() -> str | None:
    recipe = st.session_state.recipe
    return None if recipe is None else word_of(recipe)


def _went_back() -> bool:
    """Whether the browser's own back or forward button asked for this run."""
    return bool(getattr(get_script_run_ctx(), "is_history_navigation", False))
