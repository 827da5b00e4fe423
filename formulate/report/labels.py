"""A draft label in words and as plain data: emphasis is upper case in text and a flag in data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from formulate.data import made_with, versions
from formulate.labels import RULES, Item, Label, Line, Piece
from formulate.recipes import RecipeIngredient
from formulate.report.sale_names import jurisdiction_words, name_data, name_sentence
from formulate.report.wording import sentence, sentences
from formulate.safety import notes_on

__all__ = [
    "LABEL_CAUTIONS",
    "amount_words",
    "label_cautions",
    "label_data",
    "label_text",
    "listed",
]

_NOT_KNOWN = "not known"

#: Shown with every label.
LABEL_CAUTIONS: tuple[str, ...] = (
    "A draft: the rules where it is sold, and each pack, come first. Have it checked before it is used.",
    "Allergens are those of the recipe by the table. Ask the supplier, and think of traces from shared "
    "tools, churns and scoops; what this list does not name may still be in it.",
    "Figures are calculated for the mix as weighed, from food tables and typical makes.",
)


def label_text(found: Label, first: Sequence[str] = ()) -> str:
    """Return a label as plain text, lines of any length.

    Parameters
    ----------
    found:
        A draft label.
    first:
        What stands below its name: of which mix it is, and what to mind.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> label_text(fm.label(fm.check(fm.load("damson_sorbet")))).splitlines()[0]
    'Damson sorbet, fruit at 11 °Bx (draft label, rules: eu)'
    """
    blocks = ["\n".join([f"{found.name} (draft label, rules: {found.rules})", *first])]
    if found.per_100_g:
        blocks.append(_table("Nutrition per 100 g", found.per_100_g))
    if found.per_portion:
        blocks.append(_table(f"Nutrition per portion: {_portion(found)}", found.per_portion))
    listed = "; ".join(_plain(item) for item in found.items)
    blocks.append(f"Ingredients: {listed}.")
    blocks += [sentence(found.contains)] if found.contains else []
    if found.unknown_allergens:
        blocks.append(f"Allergens not known, read the pack: {', '.join(found.unknown_allergens)}.")
    blocks += sentences(found.statements)
    if found.quantities:
        shares = ", ".join(f"{name} {share:.3g} %" for name, share in found.quantities)
        blocks.append(
            f"If name or picture points to one of these, its share goes beside it: {shares}."
        )
    for key in RULES[found.rules]:
        verdicts = [name_sentence(v) for v in found.names if v.jurisdiction == key]
        blocks.append(
            "\n".join([f"Names, {jurisdiction_words(key)}:", *(f"  {v}" for v in verdicts)])
        )
    blocks.append("\n".join(["Still to do:", *(f"  {line}" for line in sentences(found.to_do))]))
    return "\n\n".join([*blocks, "\n".join([*label_cautions(found), f"Made with {made_with()}."])])


def label_data(found: Label) -> dict[str, Any]:
    """Return a label as plain data for JSON.

    Parameters
    ----------
    found:
        A draft label.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> label_data(fm.label(fm.check(fm.load("damson_sorbet"))))["rules"]
    'eu'
    """
    return {
        "name": found.name,
        "rules": found.rules,
        "overrun_percent": found.overrun_percent,
        "portion_g": found.portion_g,
        "portion": _portion(found) or None,
        "per_100_g": [_line_data(line) for line in found.per_100_g],
        "per_portion": [_line_data(line) for line in found.per_portion],
        "ingredients": [
            {
                "key": item.key,
                "text": _plain(item),
                "pieces": [{"text": p.text, "emphasised": p.emphasised} for p in listed(item)],
                "percent": item.percent,
                "allergens": list(item.allergens),
                "allergens_complete": item.complete,
                "note": " ".join(sentences(item.notes)) or None,
            }
            for item in found.items
        ],
        "allergens": list(found.allergens),
        "contains": sentence(found.contains) if found.contains else None,
        "unknown_allergens": list(found.unknown_allergens),
        "quantities": [{"name": name, "percent": share} for name, share in found.quantities],
        "statements": list(sentences(found.statements)),
        "names": [name_data(verdict) for verdict in found.names],
        "to_do": list(sentences(found.to_do)),
        "cautions": list(label_cautions(found)),
        "versions": versions(),
    }


def label_cautions(found: Label) -> tuple[str, ...]:
    """Return what is to be minded with a label: of its ingredients, then what holds for all.

    Parameters
    ----------
    found:
        A label.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import numpy as np
    >>> from formulate.labels import label
    >>> from formulate.mix import mixture
    >>> from formulate.recipes import Recipe, RecipeIngredient
    >>> mix = mixture(Recipe("Honey", 100.0, (RecipeIngredient("honey", 100.0),)))
    >>> label_cautions(label(mix, np.array([100.0])))[0]
    'Honey: not for children under one year, not even cooked.'
    """
    entries = [RecipeIngredient(item.key) for item in found.items]
    return (*sentences(notes_on(entries)), *LABEL_CAUTIONS)


def amount_words(line: Line) -> str:
    """Return an amount of a declaration with its unit, as it is printed.

    Parameters
    ----------
    line:
        A line of a declaration.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> label = fm.label(fm.check(fm.load("damson_sorbet")))
    >>> amount_words(label.per_100_g[0])
    '482 kJ'
    """
    return _NOT_KNOWN if line.printed is None else f"{line.printed} {line.unit}"


def listed(item: Item) -> tuple[Piece, ...]:
    """Return one ingredient as it stands in the list, with what is still to read on its pack.

    Parameters
    ----------
    item:
        An ingredient of the list.

    Returns
    -------
    tuple of Piece

    Examples
    --------
    >>> import formulate as fm
    >>> label = fm.label(fm.check(fm.load("damson_sorbet")))
    >>> [piece.text for piece in listed(label.items[0])]
    ['Damsons, stoned']
    """
    return item.pieces if item.complete else (*item.pieces, Piece(" [allergens: read the pack]"))


def _plain(item: Item) -> str:
    """One ingredient, its allergens in upper case."""
    return "".join(p.text.upper() if p.emphasised else p.text for p in listed(item))


def _portion(found: Label) -> str:
    return sentence(found.portion) if found.portion else ""


def _table(title: str, lines: Sequence[Line]) -> str:
    rows = []
    for line in lines:
        value = amount_words(line)
        note = f"   ({sentence(line.note)})" if line.note else ""
        rows.append(f"  {line.name:24}{value}{note}")
    return "\n".join([title, *rows])


def _line_data(line: Line) -> dict[str, Any]:
    return {
        "key": line.key,
        "name": line.name,
        "unit": line.unit,
        "printed": line.printed or _NOT_KNOWN,
        "value": line.amount.value,
        "low": line.amount.low,
        "high": line.amount.high,
        "note": sentence(line.note) if line.note else None,
    }
