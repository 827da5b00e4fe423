"""The draft label on a page: nutrition, ingredients with their allergens, names, what is still to do."""

from __future__ import annotations

import streamlit as st

from desk.entries.numbers import number_entry
from desk.hand.answers import present
from desk.pictures.plain import block, draw, heading, paragraphs, slip, table, text
from formulate import label
from formulate.errors import FormulateError
from formulate.labels import ALLERGENS, RULES, Label, Line
from formulate.recipes import Recipe
from formulate.report import (
    LABEL_CAUTIONS,
    amount_words,
    jurisdiction_words,
    listed,
    name_sentence,
    sentence,
    sentences,
)

__all__ = ["label_view"]

_RULES = {"eu": "European Union, UK", "us": "United States"}
_MARKS = {"allows": "✓", "refuses": "✗", "undecided": "?"}


def label_view(recipe: Recipe) -> None:
    """Ask for the rules and a portion, and show the draft."""
    draw(heading("On the label", LABEL_CAUTIONS[0]))
    with st.container(horizontal=True, vertical_alignment="bottom"):
        rules = st.segmented_control(
            "Rules of",
            list(RULES),
            format_func=_RULES.__getitem__,
            default="eu",
            required=True,
            key="rules",
            persist_state="session",
        )
        portion = number_entry(
            st.container(width=220),
            "Portion, g",
            None,
            (1.0, 10_000.0),
            key="portion",
            persist_state="session",
            placeholder="none" if rules == "eu" else "two thirds of a cup",
        )
    try:
        result = present(recipe)
        assert result is not None
        found = label(result, rules or "eu", portion)
    except FormulateError as error:
        slip(str(error))
        return
    draw(_allergens(found), _ingredients(found))
    if found.per_100_g:
        draw(_panel("Per 100 g", found.per_100_g))
    if found.portion is not None:
        draw(_panel(f"Per portion: {sentence(found.portion)}", found.per_portion))
    draw(paragraphs(sentences(found.statements)))
    with st.expander("What it may be called", key="names", on_change="rerun") as part:
        if part.open:
            draw(_names(found))
    with st.expander("Still to do", key="to_do", on_change="rerun") as part:
        if part.open:
            items = "".join(
                f"<li>{text(each)}</li>" for each in (*sentences(found.to_do), *LABEL_CAUTIONS[1:])
            )
            draw(f"<ul>{items}</ul>")


def _allergens(found: Label) -> str:
    words = ", ".join(ALLERGENS[found.rules][word] for word in found.allergens)
    lines = [f"Allergens by the table: {words or 'none'}."]
    if found.unknown_allergens:
        lines.append(f"Not known, read the pack: {', '.join(found.unknown_allergens)}.")
    if found.contains:
        lines.append(sentence(found.contains))
    return block("note", paragraphs(lines))


def _ingredients(found: Label) -> str:
    items = []
    for item in found.items:
        items.append(
            "".join(
                f"<b>{text(piece.text.upper() if found.rules == 'eu' else piece.text)}</b>"
                if piece.emphasised
                else text(piece.text)
                for piece in listed(item)
            )
        )
    return f'<p class="said"><b>Ingredients:</b> {"; ".join(items)}.</p>'


def _panel(title: str, lines: tuple[Line, ...]) -> str:
    rows = []
    for line in lines:
        note = f"<small>{text(sentence(line.note))}</small>" if line.note else ""
        rows.append([f"{text(line.name)}{note}", text(amount_words(line))])
    return table(title, [title, "~Amount"], rows, numbers=(1,))


def _names(found: Label) -> str:
    parts = []
    for key in RULES[found.rules]:
        parts.append(f'<h3 class="head">{text(jurisdiction_words(key))}</h3>')
        items = "".join(
            f'<li><span aria-hidden="true">{_MARKS[verdict.status]}</span> '
            f"{text(name_sentence(verdict))}</li>"
            for verdict in found.names
            if verdict.jurisdiction == key
        )
        parts.append(f"<ul>{items}</ul>")
    return "".join(parts)
