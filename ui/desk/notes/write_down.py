"""Writing into the notebook: a version of the recipe, a batch that was made, what the cook says of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date as Date

import pandas as pd
import streamlit as st

from desk.entries.editor import editor
from desk.entries.frames import names_of
from desk.entries.numbers import cells, number_column
from desk.hand.notebook_file import change, read, turn
from desk.notes.shelf import lot_choices, lots_view
from desk.pictures.plain import draw, heading, paragraphs
from formulate.notebook import (
    FIRMNESS,
    SWEETNESS,
    Batch,
    Figures,
    KeptVersion,
    Notebook,
    Verdict,
    batches,
    folded,
    keep,
    made,
    search,
    verdict,
)
from formulate.recipes import Recipe, parse, to_toml

__all__ = ["write_view"]

_FIGURES = {
    "brix": "The mix reads at 20 °C, °Bx",
    "churn_minutes": "Churned for, min",
    "draw_c": "Drawn at, °C",
    "serving_c": "Served at, °C",
    "overrun_percent": "Overrun, %",
}
_MOST_BATCHES = 50


def write_view(notebook: Notebook | None, recipe: Recipe | None) -> None:
    """Ask what to write down."""
    cook = st.text_input(
        "Your name",
        key="cook",
        max_chars=60,
        persist_state="session",
        width=320,
        placeholder="stands beside what you write",
    )
    left, right = st.columns(2, gap="large")
    if recipe is not None:
        newest = _newest(notebook, recipe)
        with left:
            _keep_view(recipe, newest, cook)
            _batch_view(notebook, recipe, newest, cook)
    else:
        with left:
            draw(heading("No recipe is open", "Open one to keep it or to note a batch of it."))
    with right:
        _verdict_view(() if notebook is None else batches(notebook), cook)
        lots_view(notebook, recipe)


def _newest(notebook: Notebook | None, recipe: Recipe) -> KeptVersion | None:
    if notebook is None:
        return None
    found = (each.newest for each in search(notebook))
    return next((kept for kept in found if folded(kept.name) == folded(recipe.name)), None)


def _keep_view(recipe: Recipe, newest: KeptVersion | None, cook: str) -> None:
    under = "Not in the notebook yet."
    if newest is not None:
        by = f" by {newest.cook}" if newest.cook else ""
        under = f"Version {newest.number} is the newest, kept on {newest.kept[:10]}{by}."
    draw(heading(f"Keep {recipe.name}", under))
    if newest is not None and newest.toml == _as_kept(recipe):
        draw(paragraphs(["The open recipe is this one, word for word."]))
        return
    note = st.text_input("What changed, and why", key=f"keep_note_{turn()}", max_chars=500)
    onto = None if newest is None else newest.number
    st.button(
        f"Keep as version {(onto or 0) + 1}",
        key="keep",
        type="primary",
        on_click=_keep,
        args=(recipe, onto, cook, note),
    )


def _batch_view(
    notebook: Notebook | None, recipe: Recipe, newest: KeptVersion | None, cook: str
) -> None:
    names = names_of(recipe)
    draw(heading("A batch was made", "What was really weighed, and what was read of it."))
    with st.form(f"batch_{turn()}", border=False):
        weighed = editor(
            pd.DataFrame(
                {
                    "name": list(names.values()),
                    "grams": cells(entry.grams for entry in recipe.ingredients),
                },
                index=list(names),
            ),
            alt="What was weighed, in grams",
            columns={
                "name": st.column_config.TextColumn("Ingredient"),
                "grams": number_column("Weighed, g"),
            },
        )
        columns = st.columns(2)
        chosen = {
            key: columns[place % 2].selectbox(
                f"Which {names[key]}?",
                lots,
                index=None,
                format_func=lambda left: left.name,
                key=f"made_lot_{key}_{turn()}",
                placeholder="as the recipe says",
            )
            for place, (key, lots) in enumerate(lot_choices(notebook, recipe).items())
        }
        typed = {
            field: columns[place % 2].text_input(label, key=f"made_{field}_{turn()}", max_chars=14)
            for place, (field, label) in enumerate(_FIGURES.items())
        }
        on = columns[1].date_input("Made on", Date.today(), format="YYYY-MM-DD", key="made_on")
        note = st.text_input("Note", key=f"made_note_{turn()}", max_chars=500)
        pressed = st.form_submit_button("Note this batch", key="note_batch")
    if pressed:
        used = {key: left.number for key, left in chosen.items() if left is not None}
        said = (recipe, newest, weighed, used, typed, on, cook, note)
        change(
            lambda notebook: _made(notebook, *said, sure=False),
            lambda notebook: _made(notebook, *said, sure=True),
        )
        st.rerun()


def _verdict_view(known: tuple[Batch, ...], cook: str) -> None:
    draw(heading("What was it like?", "Each verdict teaches what this kitchen calls just right."))
    recent = {each.number: each for each in reversed(known) if not each.struck}
    if not recent:
        draw(paragraphs(["No batch is noted yet."]))
        return
    numbers = list(recent)[:_MOST_BATCHES]
    with st.form(f"verdict_{turn()}", border=False):
        which = st.selectbox(
            "Batch",
            numbers,
            format_func=lambda number: _title(recent[number]),
            key=f"verdict_of_{turn()}",
        )
        served = recent[which].figures.serving_c
        at = st.text_input(
            "Tasted at, °C",
            key=f"verdict_at_{turn()}",
            max_chars=14,
            placeholder="" if served is None else f"{served:g}, as served",
        )
        firmness = st.segmented_control(
            "Firmness",
            list(FIRMNESS),
            format_func=FIRMNESS.__getitem__,
            key=f"verdict_firmness_{turn()}",
        )
        sweetness = st.segmented_control(
            "Sweetness",
            list(SWEETNESS),
            format_func=SWEETNESS.__getitem__,
            key=f"verdict_sweetness_{turn()}",
        )
        one, two = st.columns(2)
        sandy, icy = (
            place.checkbox(word, key=f"verdict_{word}_{turn()}")
            for place, word in ((one, "Sandy"), (two, "Icy"))
        )
        note = st.text_input("In your own words", key=f"verdict_note_{turn()}", max_chars=500)
        pressed = st.form_submit_button("Note this verdict", key="note_verdict")
    if pressed:
        said = Verdict(None, firmness, sweetness, sandy, icy, note, cook)
        change(lambda notebook: _said(notebook, which, said, at, served))
        st.rerun()


def _keep(recipe: Recipe, onto: int | None, cook: str, note: str) -> None:
    def work(notebook: Notebook) -> str:
        kept = keep(notebook, recipe, onto=onto, cook=cook, note=note)
        return f"{kept.name} is kept as version {kept.number}."

    change(work)


def _made(
    notebook: Notebook,
    recipe: Recipe,
    newest: KeptVersion | None,
    weighed: pd.DataFrame,
    used: dict[str, int],
    typed: dict[str, str],
    on: Date,
    cook: str,
    note: str,
    *,
    sure: bool,
) -> str:
    """Note the batch, of the recipe as it stands: what is not kept yet is kept first."""
    weights = {
        key: read(grams, f"{name}, weighed") or 0.0
        for key, name, grams in weighed.itertuples(name=None)
    }
    figures = Figures(**{field: read(text, _FIGURES[field]) for field, text in typed.items()})
    kept = keep(notebook, recipe, onto=None if newest is None else newest.number, cook=cook)
    noted = made(
        notebook,
        kept.name,
        weights,
        version=kept.number,
        lots_used=used,
        figures=figures,
        on=on,
        cook=cook,
        note=note,
        sure=sure,
    )
    return f"Batch {noted.number} of {noted.name}, version {noted.version}, is noted."


def _said(notebook: Notebook, number: int, said: Verdict, at: str, served: float | None) -> str:
    tasted = read(at, "Tasted at")
    noted = verdict(notebook, number, replace(said, at_c=served if tasted is None else tasted))
    return f"A verdict on batch {noted.number} is noted."


def _title(batch: Batch) -> str:
    by = f", {batch.cook}" if batch.cook else ""
    return f"{batch.number}: {batch.name}, {batch.made.isoformat()}{by}"


def _as_kept(recipe: Recipe) -> str:
    return to_toml(parse(to_toml(recipe).encode("utf-8"), recipe.name))
