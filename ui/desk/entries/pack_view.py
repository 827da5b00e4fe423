"""Something in a pack: its label typed in, what it holds estimated from that, and into the recipe."""

from __future__ import annotations

from functools import lru_cache

import streamlit as st

from desk.entries.own_ingredient import NAMES, add_own, is_taken, key_of
from desk.pictures.plain import draw, paragraphs, slip, table, text
from formulate.errors import FormulateError
from formulate.ingredients import COLUMNS
from formulate.labels import PackComposition, pack_composition
from formulate.recipes import Recipe
from formulate.report import sentences

__all__ = ["pack_view"]

_FIGURES = {
    "energy_kcal": "Energy, kcal",
    "fat": "Fat, g",
    "saturates": "of which saturates, g",
    "carbohydrate": "Carbohydrate, g",
    "sugars": "of which sugars, g",
    "fibre": "Fibre, g",
    "protein": "Protein, g",
    "salt": "Salt, g",
    "alcohol_percent_vol": "Alcohol, % vol",
}


def pack_view(recipe: Recipe) -> None:
    """Ask for the figures of a label and its list of ingredients."""
    part = st.expander("Something in a pack, by its label", key="pack", on_change="rerun")
    if not part.open:
        return
    with part:
        one, two = st.columns(2)
        name = one.text_input("What you call it", max_chars=60, key="pack_name")
        per = two.selectbox("Figures are per", ["100 g", "100 ml"], key="pack_per")
        columns = st.columns(3)
        label: dict[str, object] = {"per": per}
        for place, (key, words) in enumerate(_FIGURES.items()):
            value = columns[place % 3].text_input(words, key=f"pack_{key}", max_chars=12).strip()
            if value:
                label[key] = value.replace(",", ".")
        listed = st.text_area(
            "Ingredients in their order, with commas between",
            key="pack_list",
            max_chars=2000,
            height=80,
            placeholder="raspberries 90 %, sugar",
        )
        if not listed.strip():
            draw(paragraphs(["Fill in what the label says; leave the rest empty."], "under"))
            return
        label["ingredients"] = [word.strip() for word in listed.split(",") if word.strip()]
        try:
            found = _read(tuple(sorted((key, _frozen(value)) for key, value in label.items())))
        except FormulateError as error:
            slip(str(error))
            return
        draw(_told(found), paragraphs(sentences(found.notes), "under"))
        _add_button(recipe, name, found)


def _frozen(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


@lru_cache(maxsize=16)
def _read(label: tuple[tuple[str, object], ...]) -> PackComposition:
    words = {key: list(value) if isinstance(value, tuple) else value for key, value in label}
    return pack_composition(words, "label")


def _told(found: PackComposition) -> str:
    rows = []
    for key, value, spread in zip(COLUMNS, found.composition, found.deviation, strict=True):
        if value >= 0.05 and key in NAMES:
            rows.append([text(NAMES[key]), f"{value:.1f} ± {max(spread, 0.05):.1f} %"])
    return table(
        "What the pack holds", ["Estimated from the label", "% by mass"], rows, numbers=(1,)
    )


def _add_button(recipe: Recipe, name: str, found: PackComposition) -> None:
    key = key_of(name)
    taken = is_taken(recipe, key)
    if key and taken:
        slip("There is one of that name already: give it another.")
    st.button(
        "Add it to the recipe",
        key="pack_add",
        type="primary",
        disabled=not key or taken,
        on_click=add_own,
        args=(key, found.own()),
    )
