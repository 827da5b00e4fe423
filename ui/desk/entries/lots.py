"""What a reading says of a delivery, beside what the table expects of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desk.entries.frames import names_of
from desk.pictures.plain import heading, paragraphs, table, text
from formulate.ingredients import (
    Lot,
    brix_of,
    ingredient_table,
    lot_remarks,
    own_composition,
    reading_at_20_c,
)
from formulate.mix import mixture
from formulate.recipes import Recipe, RecipeIngredient
from formulate.report import sentences

__all__ = ["readings_html"]


def readings_html(recipe: Recipe) -> str:
    """Every reading, corrected to 20 °C, beside what the table expects, and what to know of it."""
    names = names_of(recipe)
    met = mixture(recipe)
    rows, remarks = [], []
    for entry, lot_composition in zip(recipe.ingredients, met.raw, strict=True):
        lot = _lot(entry)
        if lot is None:
            continue
        remarks += [
            f"{names[entry.key]}: {words}" for words in sentences(lot_remarks(lot_composition, lot))
        ]
        shown = reading_at_20_c(lot)
        if shown is None:
            continue
        rows.append(
            [
                text(names[entry.key]),
                f"{brix_of(_expected(entry)):.1f} °Bx",
                f"<b>{shown:.1f} ± {entry.brix_plus_minus:g} °Bx</b>",
            ]
        )
    if not rows:
        return heading(
            "No reading yet",
            "A refractometer reading of the fruit moves the weights more than anything else: strain a "
            "spoonful, put a drop on the prism, and enter it above.",
        ) + paragraphs(remarks, "under")
    heads = ["Delivery", "The table expects", "This one reads, at 20 °C"]
    return (
        heading("What the readings say")
        + table("Readings beside what the table expects", heads, rows, numbers=(1, 2))
        + paragraphs(remarks, "under")
    )


def _lot(entry: RecipeIngredient) -> Lot | None:
    """A delivery, be it noted in full or as a reading alone."""
    if entry.brix is None:
        return entry.lot
    return Lot(entry.key, reading=entry.brix, temperature_c=entry.brix_temperature_c)


def _expected(entry: RecipeIngredient) -> NDArray[np.float64]:
    if entry.composition is not None:
        return own_composition(entry.composition, entry.key)
    return ingredient_table()[entry.key].composition
