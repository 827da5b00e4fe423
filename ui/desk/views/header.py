"""The head of every page: name, undo, files, units, and the verdict on the mix as it stands."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from desk.hand import state, units
from desk.hand.answers import present
from desk.hand.files import download, example_title, open_example, upload
from desk.pictures.plain import draw, slip, text
from desk.views.verdict import verdict_html, waiting_html
from formulate.data import example_names
from formulate.errors import FormulateError
from formulate.recipes import Recipe

__all__ = ["Head"]


class Head:
    """The head of a page, whose verdict is filled in once the entries of the page are read."""

    def __init__(self) -> None:
        with st.container(
            horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"
        ):
            self._name = st.container(width="stretch")
            self._tools = st.container(horizontal=True, width="content", gap="small", key="tools")
        self._fault = st.container()
        self._verdict = st.container(key="verdict")

    def fill(self, recipe: Recipe) -> None:
        """Draw name, tools and verdict of the recipe as it stands."""
        with self._name:
            draw(f'<h1 class="name">{text(recipe.name)}</h1>')
        with self._tools:
            _tools(recipe)
        with self._fault:
            slip(st.session_state.fault)
        with self._verdict:
            try:
                result = present(recipe)
            except FormulateError as error:
                draw(waiting_html(str(error)))
                return
            if result is None:
                draw(waiting_html("give weights, or take the balanced ones"))
            else:
                draw(verdict_html(result, stale=bool(st.session_state.slip)))


def _tools(recipe: Recipe) -> None:
    st.button(
        "Undo",
        key="undo",
        icon=":material/undo:",
        on_click=state.undo,
        disabled=not state.can_undo(),
        help="Take the last change back (Ctrl+Z). The browser's back button does it too.",
        shortcut="Mod+Z",
    )
    st.button(
        "Redo",
        key="redo",
        icon=":material/redo:",
        on_click=state.redo,
        disabled=not state.can_redo(),
        help="Do it again (Ctrl+Y).",
        shortcut="Mod+Y",
    )
    menu = st.popover("Recipe", icon=":material/folder_open:", key="recipe_menu", on_change="rerun")
    if menu.open:
        with menu:
            _files(recipe)
    menu = st.popover("Units", icon=":material/straighten:", key="units_menu", on_change="rerun")
    if menu.open:
        with menu:
            _units()


def _files(recipe: Recipe) -> None:
    st.text_input(
        "Name", recipe.name, max_chars=80, key=state.key("recipe_name"), on_change=_rename
    )
    download(recipe)
    upload("upload")
    st.selectbox(
        "Open an example",
        example_names(),
        index=None,
        format_func=example_title,
        key="example",
        on_change=open_example,
        placeholder="choose one",
    )
    st.button(
        "Close",
        key="close",
        on_click=state.close,
        width="stretch",
        help="Undo brings it back.",
    )
    st.caption(
        "The address of this page holds the whole recipe: bookmark it, or open it in a second tab."
    )


def _rename() -> None:
    recipe, name = state.in_hand(), st.session_state[state.key("recipe_name")].strip()
    if recipe is not None and name:
        state.put(replace(recipe, name=name))


def _units() -> None:
    """°C or °F, g or oz; kept while the tab is open."""
    for label, name, choices in (
        ("Temperatures", "temperature_unit", units.TEMPERATURES),
        ("Weights", "weight_unit", units.WEIGHTS),
    ):
        chosen = st.session_state.get(name, choices[0])
        st.segmented_control(
            label,
            choices,
            default=chosen,
            required=True,
            key=f"choice_{name}",
            on_change=_choose_unit,
            args=(name,),
        )
    st.caption("For what is shown. Entries, sentences and files keep °C and g.")


def _choose_unit(name: str) -> None:
    st.session_state[name] = st.session_state[f"choice_{name}"]
