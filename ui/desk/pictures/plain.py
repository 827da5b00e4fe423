"""Safe words: what a recipe says is text, never markup; a name can neither fetch nor run anything."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

import streamlit as st

from desk.hand.units import signed_minus

__all__ = ["block", "draw", "heading", "markdown_safe", "paragraphs", "slip", "table", "text"]

_MARKS = re.compile(r"([\\`*_{}\[\]()#+!|<>~$:])")


def text(words: object) -> str:
    """Words as HTML that shows just them."""
    return escape(signed_minus(str(words)))


def markdown_safe(words: str) -> str:
    """Words for a label that Streamlit reads as Markdown."""
    return _MARKS.sub(r"\\\1", signed_minus(words))


def draw(*parts: str) -> None:
    """Put HTML on the page; every word of a recipe in it went through :func:`text`."""
    if any(parts):
        st.html("".join(parts))


def block(name: str, *parts: str, label: str = "") -> str:
    """A division of a class, with a name for screen readers where it is a region of its own."""
    about = f' role="group" aria-label="{text(label)}"' if label else ""
    return f'<div class="{name}"{about}>{"".join(parts)}</div>'


def heading(words: str, under: str = "") -> str:
    """A heading with an explanation in small print under it."""
    more = f'<p class="under">{text(under)}</p>' if under else ""
    return f'<h2 class="head">{text(words)}</h2>{more}'


def paragraphs(sentences: Iterable[str], kind: str = "said") -> str:
    """Sentences, a paragraph each."""
    return "".join(f'<p class="{kind}">{text(sentence)}</p>' for sentence in sentences)


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    kind: str = "plain",
    numbers: Sequence[int] = (),
) -> str:
    """A table; the cells are HTML already, those of ``numbers`` stand to the right.

    The first cell of a row is its heading.
    """
    right = dict.fromkeys(numbers, ' class="num"')
    top = "".join(
        f'<th scope="col"{right.get(index, "")}>{_head(head)}</th>'
        for index, head in enumerate(heads)
    )
    body = []
    for row in rows:
        first, *rest = row
        cells = "".join(
            f"<td{right.get(index, '')}>{cell}</td>" for index, cell in enumerate(rest, start=1)
        )
        body.append(f'<tr><th scope="row">{first}</th>{cells}</tr>')
    return (
        f'<div class="wide"><table class="{kind}"><caption class="unseen">{text(caption)}</caption>'
        f"<thead><tr>{top}</tr></thead><tbody>{''.join(body)}</tbody></table></div>"
    )


def _head(words: str) -> str:
    """The head of a column; one that starts with ~ is for screen readers alone."""
    if words.startswith("~"):
        return f'<span class="unseen">{text(words[1:])}</span>'
    return text(words)


def slip(words: str) -> None:
    """Say beside an entry what is wrong with it."""
    if words:
        draw(f'<p class="slip" role="alert"><b aria-hidden="true">✗</b> {text(words)}</p>')
