"""Published figures beside what the model predicts, misses included, to be filtered."""

from __future__ import annotations

from functools import lru_cache

import streamlit as st

from desk.pictures.plain import block, draw, heading, table, text
from formulate.report import Check, every_check, mean_error_of_fruit

__all__ = ["evidence_view"]


@lru_cache(maxsize=1)
def checks() -> tuple[Check, ...]:
    """Every check; the same for everybody."""
    return every_check()


def evidence_view() -> None:
    """Draw the filters and the table."""
    every = checks()
    inside = sum(check.within for check in every)
    draw(
        heading("Published figures and what this model predicts"),
        block(
            "note",
            f"<p><b>{inside} of {len(every)}</b> figures are within the tolerance of their source. "
            f"Fruit, hard cases aside, is off by {mean_error_of_fruit():.2f} °C on average. Every miss "
            "is shown.</p>",
        ),
    )
    groups = list(dict.fromkeys(check.check for check in every))
    one, two, three = st.columns([1.4, 1.4, 1.0], vertical_alignment="bottom")
    group = one.selectbox(
        "About",
        groups,
        index=None,
        placeholder="everything",
        key="evidence_group",
        format_func=str.capitalize,
        persist_state="session",
    )
    word = two.text_input(
        "With the word", key="evidence_word", placeholder="sucrose, milk…", persist_state="session"
    )
    missed = three.toggle("Misses only", key="evidence_missed", persist_state="session")
    found = [
        check
        for check in every
        if (group is None or check.check == group)
        and (not missed or not check.within)
        and word.strip().lower() in f"{check.subject} {check.source} {check.note}".lower()
    ]
    if group is None and not missed and not word.strip():
        draw(_summary(groups, every))
        found = [check for check in every if not check.within]
        draw(heading("The misses", "Choose a subject above to see every figure."))
    if not found:
        draw(heading("", "Nothing is left: take a filter away."))
        return
    heads = ["Of", "Published", "Predicted", "Difference", "Allowed", "Within"]
    draw(
        f'<p class="under">{len(found)} figures</p>',
        table("Published figures", heads, (_row(check) for check in found), numbers=(1, 2, 3, 4)),
    )
    sources = "".join(f"<li>{text(each)}</li>" for each in dict.fromkeys(c.source for c in found))
    draw(f'<h3 class="head">Where these were published</h3><ul>{sources}</ul>')


def _summary(groups: list[str], every: tuple[Check, ...]) -> str:
    rows = []
    for group in groups:
        of_group = [check for check in every if check.check == group]
        missed = sum(not check.within for check in of_group)
        mark = (
            f'<span class="missed">✗ {missed}</span>' if missed else '<span class="met">✓ 0</span>'
        )
        rows.append([text(group.capitalize()), str(len(of_group)), mark])
    heads = ["About", "Figures", "Missed"]
    return table("Figures by subject", heads, rows, numbers=(1, 2))


def _row(check: Check) -> list[str]:
    mark = (
        '<span class="met">✓<span class="unseen"> yes</span></span>'
        if check.within
        else '<span class="missed">✗ missed</span>'
    )
    note = f" · {check.note}" if check.note else ""
    return [
        f"{text(check.subject.replace('_', ' '))}<small>{text(check.check + note)}</small>",
        text(f"{check.published:.4g} {check.unit}"),
        text(f"{check.predicted:.4g}"),
        text(f"{check.difference:+.2g}"),
        text(f"± {check.tolerance:.2g}"),
        mark,
    ]
