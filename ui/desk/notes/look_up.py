"""Looking things up in the notebook: recipes, their versions and batches, two versions side by side."""

from __future__ import annotations

import streamlit as st

from desk.entries.numbers import needed_entry
from desk.hand import state
from desk.pictures.plain import draw, heading, paragraphs, table, text
from formulate.notebook import (
    Batch,
    Comparison,
    KeptVersion,
    Moved,
    Notebook,
    batches,
    compare,
    history,
    made_recipe,
    open_notebook,
    search,
)
from formulate.printing import notebook_html
from formulate.recipes import Recipe
from formulate.report import figures_words, printed_recipe, sentences, verdict_words

__all__ = ["read_view"]

_MOST_SHOWN = 100


def read_view(notebook: Notebook | None) -> None:
    """Search, open a recipe, and compare its versions."""
    if notebook is None:
        draw(heading("Nothing is kept yet", "What you write down stands here afterwards."))
        return
    words = st.text_input(
        "Search recipes, notes and verdicts", key="book_words", persist_state="session", width=420
    )
    found = search(notebook, words)
    if not found:
        draw(paragraphs(["Nothing in the notebook has these words."]))
        return
    names = [each.newest.name for each in found]
    rows = [
        [text(each.newest.name), str(each.newest.number), str(each.batches), each.newest.kept[:10]]
        for each in found[:_MOST_SHOWN]
    ]
    heads = ["Recipe", "Versions", "Batches", "Last kept"]
    draw(table("Recipes in the notebook", heads, rows, numbers=(1, 2, 3)))
    st.download_button(
        "Save these as a page to print",
        lambda: _page(names),
        file_name="notebook.html",
        mime="text/html",
        key="book_print",
        on_click="ignore",
    )
    name = st.selectbox(
        "Look at",
        names,
        index=0 if len(names) == 1 else None,
        key="book_name",
        width=420,
        placeholder="choose a recipe",
        persist_state="session",
    )
    if name is None:
        return
    versions = history(notebook, name)
    left, right = st.columns(2, gap="large")
    with left:
        _versions_view(versions)
        _batches_view(notebook, batches(notebook, name))
    with right:
        _compare_view(notebook, name, [each.number for each in versions])


def _versions_view(versions: tuple[KeptVersion, ...]) -> None:
    draw(heading("Versions"))
    rows = [
        [str(each.number), each.kept[:16].replace("T", " "), text(each.cook), text(each.note)]
        for each in reversed(versions)
    ]
    draw(table("Versions, newest first", ["Version", "Kept (UTC)", "By", "Why"], rows))
    numbers = [each.number for each in reversed(versions)]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        number = st.selectbox("Version", numbers, key="book_version", width=140)
        st.button("Open it", key="book_open", on_click=_open, args=(versions[number - 1],))


def _batches_view(notebook: Notebook, known: tuple[Batch, ...]) -> None:
    draw(heading("Batches", "" if known else "None is noted yet."))
    for each in reversed(known):
        by = f" by {each.cook}" if each.cook else ""
        lines = [f"Batch {each.number}, {each.made.isoformat()}{by}, version {each.version}."]
        lines += [f"Struck: {each.struck}."] if each.struck else []
        figures = figures_words(each.figures)
        lines += [f"{figures[0].upper()}{figures[1:]}."] if figures else []
        lines += [f"Said: {verdict_words(said)}." for said in each.verdicts]
        lines += [each.note] if each.note else []
        draw(paragraphs(lines))
    if known:
        with st.container(horizontal=True, vertical_alignment="bottom"):
            numbers = [each.number for each in reversed(known)]
            number = st.selectbox("Batch", numbers, key="book_batch", width=140)
            recipe = made_recipe(notebook, number)
            grams = needed_entry(
                st.container(width=170),
                "for, g of mix",
                recipe.batch_g,
                (1.0, 1e7),
                key=f"book_again_{number}",
            )
            st.button(
                "Make it again",
                key="book_again",
                on_click=_put,
                args=(made_recipe(notebook, number, grams),),
                help="With the weights and lots that were really used.",
            )


def _compare_view(notebook: Notebook, name: str, numbers: list[int]) -> None:
    if len(numbers) < 2:
        return
    draw(heading("Side by side"))
    one, two = st.columns(2)
    first = one.selectbox("Version", numbers, index=len(numbers) - 2, key="book_first")
    second = two.selectbox("and version", numbers, index=len(numbers) - 1, key="book_second")
    found = compare(notebook, name, first, second)
    draw(
        _moved_table(f"Weight, g in {found.per_g:,.0f} g", found, found.weights),
        _moved_table("Property", found, found.properties),
    )
    if found.settings:
        rows = [[text(place), text(was), text(now)] for place, was, now in found.settings]
        draw(table("What else the files say", ["What else", *_heads(found)], rows))
    draw(paragraphs(sentences(found.remarks), "under"))


def _moved_table(title: str, found: Comparison, rows: tuple[Moved, ...]) -> str:
    lines = []
    for row in rows:
        unit = "" if row.unit in ("g", "") else f"<small>{text(row.unit)}</small>"
        cells = [
            "–" if value is None else text(f"{value + 0.0:,.{row.digits}f}")
            for value in (row.before, row.after)
        ]
        if row.has_moved:
            cells[1] = f'<b>{cells[1]}</b> <span class="unseen">has moved</span>'
        lines.append([f"{text(row.name)}{unit}", *cells])
    return table(title, [title, *_heads(found)], lines, numbers=(1, 2))


def _heads(found: Comparison) -> list[str]:
    return [f"version {found.first}", f"version {found.second}"]


def _page(names: list[str]) -> str:
    """All about these recipes; read when it is asked for, which may be after this run."""
    with open_notebook(create=False) as notebook:
        return notebook_html(
            printed_recipe(history(notebook, name), batches(notebook, name)) for name in names
        )


def _open(version: KeptVersion) -> None:
    state.put(version.recipe)


def _put(recipe: Recipe) -> None:
    state.put(recipe)
