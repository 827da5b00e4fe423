"""House rules: what must hold together, how much may change, and what may not be proposed."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pyarrow as pa
import streamlit as st

from desk.entries.editor import editor
from desk.entries.frames import names_of
from desk.entries.numbers import cells, needed_entry, number, number_column
from desk.hand import state
from desk.pictures.plain import draw, heading, slip
from formulate.labels import ALLERGENS
from formulate.recipes import Counts, Exclude, Group, Range, Ratio, Recipe, Scale

__all__ = ["rules_view"]

_WORDS = pd.ArrowDtype(pa.list_(pa.string()))


def rules_view(recipe: Recipe) -> None:
    """Draw the rules of the recipe in hand; they are taken at a press, all together."""
    names = names_of(recipe)
    with st.form(state.key("rules"), border=False):
        draw(heading("Grams of one for each gram of another"))
        ratios = editor(
            _ratio_frame(recipe),
            key=state.key("ratios"),
            num_rows="dynamic",
            alt="Ratios of two ingredients, least and most",
            columns={
                "of": _choice("Grams of", names),
                "to": _choice("per gram of", names),
                "min": number_column("At least"),
                "max": number_column("At most"),
            },
        )
        draw(heading("Ingredients that together are so much of the mix, %"))
        groups = editor(
            _group_frame(recipe),
            key=state.key("groups"),
            num_rows="dynamic",
            alt="Groups of ingredients, least and most % of the mix",
            columns={
                "name": st.column_config.TextColumn("Name", max_chars=60),
                "keys": st.column_config.MultiselectColumn(
                    "Ingredients",
                    options=list(names),
                    format_func=lambda key: names.get(str(key), str(key)),
                ),
                "min": number_column("At least, %"),
                "max": number_column("At most, %"),
            },
        )
        counts, scale, exclude = _counts(recipe), _scale(recipe), _exclude(recipe)
        pressed = st.form_submit_button("Take these rules", type="primary")
    if pressed:
        edited = replace(
            recipe,
            ratios=_ratios(ratios),
            groups=_groups(groups),
            counts=counts,
            scale=scale,
            exclude=exclude,
        )
        state.hold(edited)
        if not st.session_state.slip:
            state.put(state.in_hand() or recipe)
            st.rerun()
    slip(st.session_state.slip)


def _choice(label: str, names: dict[str, str]) -> object:
    return st.column_config.SelectboxColumn(
        label, options=list(names), format_func=lambda key: names.get(str(key), str(key))
    )


def _counts(recipe: Recipe) -> Counts:
    draw(heading("How many"))
    one, two = st.columns(2)
    changes = one.number_input(
        "Weights that may change", 0, 100, recipe.counts.most_changes, key=state.key("most_changes")
    )
    used = two.number_input(
        "Ingredients in all", 1, 100, recipe.counts.most_ingredients, key=state.key("most_used")
    )
    return Counts(changes, used)


def _scale(recipe: Recipe) -> Scale:
    draw(heading("What the scales show"))
    one, two, three = st.columns(3)
    known, steps = recipe.scale, (0.001, 1000.0)
    return Scale(
        needed_entry(one, "Step, g", known.step_g, steps, key=state.key("step")),
        needed_entry(two, "Fine step, g", known.fine_step_g, steps, key=state.key("fine_step")),
        needed_entry(
            three,
            "for weights below, g",
            known.fine_below_g,
            (0.0, 1e5),
            key=state.key("fine_below"),
        ),
    )


def _exclude(recipe: Recipe) -> Exclude:
    draw(heading("What may not be proposed"))
    allergens = st.multiselect(
        "With these allergens",
        list(ALLERGENS["eu"]),
        default=[word for word in recipe.exclude.allergens if word in ALLERGENS["eu"]],
        format_func=ALLERGENS["eu"].__getitem__,
        key=state.key("no_allergens"),
    )
    one, two = st.columns(2)
    animal = one.checkbox("Of animal origin", recipe.exclude.animal, key=state.key("no_animal"))
    alcohol = two.checkbox("With alcohol", recipe.exclude.alcohol, key=state.key("no_alcohol"))
    return replace(recipe.exclude, allergens=tuple(allergens), animal=animal, alcohol=alcohol)


def _ratio_frame(recipe: Recipe) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "of": pd.array([ratio.of for ratio in recipe.ratios], dtype="str"),
            "to": pd.array([ratio.to for ratio in recipe.ratios], dtype="str"),
            "min": cells(ratio.bounds.min for ratio in recipe.ratios),
            "max": cells(ratio.bounds.max for ratio in recipe.ratios),
        }
    )


def _group_frame(recipe: Recipe) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "name": pd.array([group.name for group in recipe.groups], dtype="str"),
            "keys": pd.array([list(group.keys) for group in recipe.groups], dtype=_WORDS),
            "min": cells(group.bounds.min for group in recipe.groups),
            "max": cells(group.bounds.max for group in recipe.groups),
        }
    )


def _ratios(frame: pd.DataFrame) -> tuple[Ratio, ...]:
    rows = frame[["of", "to", "min", "max"]].itertuples(index=False)
    return tuple(
        Ratio(str(of), str(to), Range(number(low), number(high)))
        for of, to, low, high in rows
        if isinstance(of, str) and isinstance(to, str) and of and to
    )


def _groups(frame: pd.DataFrame) -> tuple[Group, ...]:
    rows = frame[["name", "keys", "min", "max"]].itertuples(index=False)
    return tuple(
        Group(name, tuple(keys), Range(number(low), number(high)))
        for name, keys, low, high in rows
        if isinstance(name, str) and name and keys is not None and len(keys)
    )
