"""What may have happened to a pot: every story of it, and how often such things are assumed to happen.

A story is one mishap to one pot (sugar forgotten, fruit and water swapped).  Where it has an amount (the
weight of a bowl, water boiled off), every amount within the span of ``mishaps.csv`` is as likely as any
other; it stands as cells of equal chance.  How often and how far are assumptions, and the table says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError
from formulate.ingredients import (
    COLUMNS,
    COMPONENT_KEYS,
    SOLUBLES,
    brix_of,
    position,
    properties,
    with_reading,
)
from formulate.mix import Mixture, lot_doubts, prepared_row, reading_of, unread_deviation

__all__ = [
    "ACID",
    "BOILED",
    "DISSOLVED",
    "DOUBLED",
    "FORGOTTEN",
    "LOT",
    "MASS",
    "MISREAD",
    "PLANNED",
    "SWAPPED",
    "SWEET",
    "TARE",
    "WATER",
    "Mishap",
    "Possible",
    "brought",
    "doubted",
    "mishaps",
    "possibles",
]


PLANNED, LOT, BOILED, FORGOTTEN = "as_planned", "other_lot", "boiled_off", "forgotten"
DOUBLED, TARE, SWAPPED, MISREAD = "weighed_twice", "tare_left", "swapped", "misread"

#: What is counted of a pot [g]; the last is sweetness, in grams of sucrose.
MASS, DISSOLVED, WATER, SWEET, ACID = range(5)

_FILE = "mishaps.csv"
_CELLS = 121
_WEIGHED_PERCENT = 1.0  # one standard deviation of a hand and a scale; common practice, no source
_SAME_G = 1e-6


@dataclass(frozen=True, slots=True)
class Mishap:
    """A row of ``mishaps.csv``.

    Attributes
    ----------
    chance:
        Of all pots that are asked about, from 0 to 1; an assumption.
    low, high:
        Span of its amount, 0 where it has none.
    source:
        What it rests on.
    """

    chance: float
    low: float
    high: float
    source: str


@dataclass(frozen=True)
class Possible:
    """A story before anything was measured.

    Attributes
    ----------
    mishap:
        Key of ``mishaps.csv``.
    about:
        Places of the ingredients that it is about.
    prior:
        Its chance; all stories of a pot add up to 1.
    amounts:
        Middles of its cells, shape (cells,): grams of a tare or of steam, °Bx of a lot, °Bx by which
        a reading is off; 0 where the mishap has no amount.
    grams:
        What is really in the pot [g], shape (cells, ingredients).
    totals:
        What that brings [g], shape (cells, 5).
    misread:
        How far the first reading is off [°Bx], shape (cells,).
    """

    mishap: str
    about: tuple[int, ...]
    prior: float
    amounts: Array
    grams: Array
    totals: Array
    misread: Array


@lru_cache(maxsize=1)
def mishaps() -> Mapping[str, Mishap]:
    """Return the rows of ``mishaps.csv`` by key."""
    found = {}
    for row in read_rows(data_folder() / _FILE):
        where = f"{_FILE}, {row['mishap']}"
        low, high = (number(row, end, where) if row[end] else 0.0 for end in ("low", "high"))
        chance = number(row, "chance_percent", where) / 100.0
        found[row["mishap"]] = Mishap(chance, low, high, row["source"])
    return MappingProxyType(found)


def brought(compositions: Array) -> Array:
    """Return what one gram of each ingredient brings, shape (ingredients, 5) [g]."""
    return compositions @ _counted()


def doubted(mix: Mixture, noted: Array) -> tuple[Array, Array]:
    """Return what is in doubt of every pot: covariance per gram squared, of lots and of weighing.

    Returns
    -------
    Two arrays of shape (ingredients, 5, 5): of lots, per squared gram in the pot; and of weighing, per
    squared gram, with the scale's step for the little that is ``noted``.
    """
    changes = [[brought(change) for _, change in lot_doubts(mix, i)] for i in range(len(noted))]
    lots = np.array([sum((np.outer(c, c) for c in own), np.zeros((5, 5))) for own in changes])
    scale = mix.recipe.scale
    step = np.where(noted < scale.fine_below_g, scale.fine_step_g, scale.step_g) / np.sqrt(12.0)
    relative = _WEIGHED_PERCENT / 100.0 + step / np.maximum(noted, step)
    per_gram = brought(mix.compositions) * relative[:, None]
    return lots, np.einsum("ia,ib->iab", per_gram, per_gram)


def possibles(mix: Mixture, noted: Array) -> tuple[Possible, ...]:
    """Return every story of a pot of which these weights were noted [g], shape (ingredients,)."""
    per_gram = brought(mix.compositions)
    found: list[Possible] = []
    for key, told in _told(mix, noted, per_gram).items():
        found += [_possible(key, mishaps()[key].chance / len(told), each) for each in told]
    every = sum(
        each.prior for each in found
    )  # a mishap that cannot be leaves its chance to the rest
    return tuple(
        Possible(e.mishap, e.about, e.prior / every, e.amounts, e.grams, e.totals, e.misread)
        for e in found
    )


@dataclass(frozen=True)
class _Told:
    about: tuple[int, ...]
    amounts: Array
    grams: Array
    totals: Array
    misread: Array


def _possible(mishap: str, prior: float, told: _Told) -> Possible:
    return Possible(mishap, told.about, prior, told.amounts, told.grams, told.totals, told.misread)


def _told(mix: Mixture, noted: Array, per_gram: Array) -> dict[str, list[_Told]]:
    """The stories of every mishap, those that can be."""

    def pot(about: tuple[int, ...], grams: Array, amounts: Array | None = None) -> _Told:
        """A story of which the weights say everything, shape (cells, ingredients)."""
        none = np.zeros(len(grams))
        return _Told(about, none if amounts is None else amounts, grams, grams @ per_gram, none)

    as_noted = noted[None, :]
    planned = pot((), as_noted)
    held = [int(index) for index in np.flatnonzero(noted > 0.0)]
    one = np.eye(len(noted))
    found = {PLANNED: [planned], LOT: list(_lots(mix, noted, planned, per_gram))}
    found[BOILED] = [_boiled(planned)]
    found[FORGOTTEN] = [
        pot((i,), as_noted - noted[i] * one[i]) for i in held if noted.sum() > noted[i]
    ]
    found[DOUBLED] = [pot((i,), as_noted + noted[i] * one[i]) for i in held]
    found[TARE] = [
        pot((i,), as_noted - np.outer(cells, one[i]), cells)
        for i in held
        if (cells := _tares(noted[i])) is not None
    ]
    found[SWAPPED] = [
        pot((i, j), as_noted + (noted[j] - noted[i]) * (one[i] - one[j]))
        for i in held
        for j in held
        if i < j and abs(noted[i] - noted[j]) > _SAME_G
    ]
    off = _cells(mishaps()[MISREAD].low, mishaps()[MISREAD].high)
    found[MISREAD] = [_Told((), off, _each(as_noted, off), _each(planned.totals, off), off)]
    can_be = {key: [each for each in told if _can_be(each.totals)] for key, told in found.items()}
    return {key: told for key, told in can_be.items() if told}


def _can_be(totals: Array) -> bool:
    """Whether every one of these pots can be read at all: what is strained may take more than is left."""
    water, juice = totals[:, WATER], totals[:, WATER] + totals[:, DISSOLVED]
    return bool(np.all(totals[:, MASS] > 0.0) and np.all(water >= 0.0) and np.all(juice > 0.0))


def _tares(grams: float) -> Array | None:
    """Weights of bowls that may be missing from a weight; no more is missing than was weighed."""
    known = mishaps()[TARE]
    high = min(known.high, float(grams))
    return _cells(known.low, high) if high > known.low else None


def _boiled(planned: _Told) -> _Told:
    known = mishaps()[BOILED]
    water, mass = planned.totals[0, WATER], planned.totals[0, MASS]
    gone = _cells(known.low / 100.0 * mass, min(known.high / 100.0 * mass, 0.99 * water))
    totals = _each(planned.totals, gone)
    totals[:, [MASS, WATER]] -= gone[:, None]
    return _Told((), gone, _each(planned.grams, gone), totals, np.zeros(len(gone)))


def _lots(mix: Mixture, noted: Array, planned: _Told, per_gram: Array) -> Iterator[_Told]:
    """A lot that reads otherwise, of everything that is read or varies from lot to lot."""
    known = mishaps()[LOT]
    for index, entry in enumerate(mix.recipe.ingredients):
        raw = mix.raw[index]
        varies = reading_of(entry) is not None or unread_deviation(entry.key, raw) > 0.0
        if noted[index] <= 0.0 or not varies:
            continue
        readings, rows = [], []
        for reading in brix_of(raw) + _cells(known.low, known.high):
            try:
                lot = prepared_row(mix, index, with_reading(raw, float(reading)))
            except InputError:
                continue  # no lot reads so
            readings.append(reading)
            rows.append(brought(lot))
        if len(rows) < 2:
            continue
        amounts = np.array(readings)
        totals = _each(planned.totals, amounts) + noted[index] * (np.array(rows) - per_gram[index])
        yield _Told((index,), amounts, _each(planned.grams, amounts), totals, 0.0 * amounts)


def _cells(low: float, high: float) -> Array:
    """Middles of cells of equal width."""
    return low + (high - low) * (np.arange(_CELLS) + 0.5) / _CELLS


def _each(row: Array, cells: Array) -> Array:
    """The same row for every cell."""
    return np.repeat(row, len(cells), axis=0)


@lru_cache(maxsize=1)
def _counted() -> Array:
    """What a gram of each column counts for, shape (columns, 5)."""
    counted = np.zeros((len(COLUMNS), 5))
    counted[: len(COMPONENT_KEYS), MASS] = 0.01
    counted[list(SOLUBLES), DISSOLVED] = 0.01
    counted[position("water"), WATER] = 0.01
    counted[:, SWEET] = properties()["sweetness"].weights / 100.0
    counted[:, ACID] = properties()["acids"].weights / 100.0
    return counted
