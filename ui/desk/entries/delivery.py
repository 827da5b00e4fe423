"""One delivery in full: supplier, date, a reading on any scale, acidity; noted at a press."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from desk.entries.frames import names_of
from desk.entries.numbers import number_entry
from desk.hand import state
from desk.pictures.plain import draw, paragraphs, slip, text
from formulate.errors import InputError
from formulate.ingredients import EQUIVALENTS, SCALES, Lot, lot_remarks, reading_at_20_c
from formulate.mix import mixture
from formulate.recipes import Recipe
from formulate.report import sentences

__all__ = ["delivery"]


def delivery(recipe: Recipe) -> None:
    """Ask for what is known of one delivery, say what the reading comes to, and offer to note it."""
    part = st.expander(
        "More about a delivery: instrument, acidity, supplier",
        key="delivery",
        on_change="rerun",
    )
    if not part.open:
        return
    names = names_of(recipe)
    with part:
        of = st.selectbox("Delivery of", list(names), format_func=names.__getitem__, key="lot_of")
        entry = next(entry for entry in recipe.ingredients if entry.key == of)
        try:
            lot = _entries(
                of, entry.lot or Lot(of, reading=entry.brix, temperature_c=entry.brix_temperature_c)
            )
            brix = reading_at_20_c(lot)
            noted = _with_lot(recipe, lot)
            met = mixture(noted)
        except InputError as error:
            slip(str(error))
            return
        if brix is not None:
            draw(f'<p class="said">That is <b>{text(f"{brix:.1f}")} °Bx</b> at 20 °C.</p>')
        draw(paragraphs(sentences(lot_remarks(met.raw[met.keys.index(of)], lot)), "under"))
        st.button(
            "Keep this delivery",
            key="lot_note",
            type="primary",
            on_click=state.put,
            args=(noted,),
            disabled=lot == Lot(of),
        )


def _entries(of: str, known: Lot) -> Lot:
    """The entries for one delivery, filled with what is known."""
    one, two = st.columns(2)
    scale = one.selectbox(
        "Instrument",
        list(SCALES),
        index=list(SCALES).index(known.scale),
        format_func=lambda key: SCALES[key].name,
        key=f"lot_scale_{of}",
    )
    unit = f", {SCALES[scale].unit}" if SCALES[scale].unit else ""
    known_reading = known.reading if scale == known.scale else None
    reading = number_entry(two, f"It reads{unit}", known_reading, key=f"lot_reading_{of}_{scale}")
    at = number_entry(
        one,
        "read at, °C",
        known.temperature_c,
        key=f"lot_at_{of}",
        help="20 where the instrument corrects the temperature itself.",
    )
    acid = number_entry(
        two,
        "Titratable acid, g per 100 g",
        known.acidity,
        key=f"lot_acid_{of}",
        help="Scales the acids of the table. Divide g/L of a juice by about 10.",
    )
    acid_as = one.selectbox(
        "counted as",
        list(EQUIVALENTS),
        index=list(EQUIVALENTS).index(known.acidity_as),
        format_func=lambda key: key.replace("_", " "),
        key=f"lot_as_{of}",
    )
    ph = number_entry(
        two,
        "pH",
        known.ph,
        key=f"lot_ph_{of}",
        help="Noted and changes nothing: a pH does not give the amount of acid.",
    )
    supplier = one.text_input("Supplier", known.supplier, max_chars=80, key=f"lot_supplier_{of}")
    date = two.date_input("Delivered on", known.date, format="YYYY-MM-DD", key=f"lot_date_{of}")
    return replace(
        known,
        supplier=supplier,
        date=date,
        reading=reading,
        scale=scale if reading is not None else "brix",
        temperature_c=20.0 if reading is None or at is None else at,
        ph=ph,
        acidity=acid,
        acidity_as=acid_as if acid is not None else "citric_acid",
    )


def _with_lot(recipe: Recipe, lot: Lot) -> Recipe:
    """The recipe with a delivery; its reading takes the place of a plain one."""
    entries = tuple(
        replace(entry, lot=lot, brix=None, brix_temperature_c=20.0)
        if entry.key == lot.key
        else entry
        for entry in recipe.ingredients
    )
    return replace(recipe, ingredients=entries)
