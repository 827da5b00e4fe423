"""How we know: published figures beside predictions, the source of each number, and the words."""

from __future__ import annotations

import streamlit as st
from desk.hand import state
from desk.pictures.plain import block, draw, heading, text
from desk.pictures.words import GLOSSARY
from desk.views.evidence_view import evidence_view
from desk.views.sources_view import sources_view

from formulate.data import versions

draw('<h1 class="name">How we know</h1>')
_evidence, _sources, _words = st.tabs(
    ["Published figures", "Sources of an ingredient", "Words"], on_change="rerun", key="known"
)
if _evidence.open:
    with _evidence:
        evidence_view()
if _sources.open:
    with _sources:
        sources_view(state.in_hand())
if _words.open:
    with _words:
        terms = "".join(
            f"<dt>{text(word)}</dt><dd>{text(meaning)}</dd>" for word, meaning in GLOSSARY.items()
        )
        about = versions()
        draw(
            heading("Words"),
            f"<dl>{terms}</dl>",
            block(
                "note",
                f"<p>{text('Version ' + about['formulate'])}, tables {text(about['data'])}.</p>",
            ),
        )
