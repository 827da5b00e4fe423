"""A lot: one delivery of an ingredient: what came, what was paid and what was read.

A reading and a titration change the composition of the table, each in its own way:

* titratable acidity scales the organic acids, converted by equivalents, with water by difference;
* a Brix reading then scales the sugars, with water by difference; what else is dissolved stays, and the
  reading counts all of it (see :mod:`formulate.ingredients.readings`).

In that order the lot shows both figures at once, as the acid is part of what the reading counts.  The
pH is only kept: it says how sour a juice is, not how much acid is in it.

Limits: titration does not count the part of an acid that potassium has taken up, and the acid of the
table may do; where the table has no acid, it may hide among its other solids.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date as Date
from math import isfinite
from types import MappingProxyType
from typing import Any

import numpy as np

from formulate.arrays import Array
from formulate.checks import MOST, number, standing_at, within, word
from formulate.errors import InputError, nearest
from formulate.ingredients.components import position
from formulate.ingredients.instruments import SCALES, acid_shortfall, brix_at_20_c
from formulate.ingredients.readings import with_reading
from formulate.messages import Message, message

__all__ = [
    "EQUIVALENTS",
    "Lot",
    "first_to_use",
    "lot_data",
    "lot_from_data",
    "lot_remarks",
    "reading_at_20_c",
    "titratable_acidity",
    "with_acidity",
    "with_lot",
]


#: Grams of each acid that neutralise one mole of alkali: molar mass over the number of acid hydrogens
#: (IUPAC atomic weights), all of which titrate to pH 8.1.
EQUIVALENTS: Mapping[str, float] = MappingProxyType(
    {
        "citric_acid": 192.124 / 3.0,
        "malic_acid": 134.087 / 2.0,
        "tartaric_acid": 150.086 / 2.0,
        "lactic_acid": 90.078,
        "acetic_acid": 60.052,
    }
)

_ACIDS = tuple(position(key) for key in EQUIVALENTS)
_GRAMS = np.array(list(EQUIVALENTS.values()))
_WATER = position("water")
_ETHANOL = position("ethanol")
_ANIMAL_PROTEIN = tuple(position(key) for key in ("milk_protein", "egg_protein"))

_MOST_ACID = 50.0
_LITTLE = 0.5  # of alcohol, or of milk and egg protein, that a reading still bears [%]; no source
_TEXTS, _DAYS = ("key", "supplier", "scale", "acidity_as", "name"), ("date", "use_by")
_NUMBERS = ("price_per_kg", "reading", "temperature_c", "ph", "acidity", "grams")
_WORTH_A_WORD = 0.1  # °Bx, half of what hand refractometers state


@dataclass(frozen=True, slots=True)
class Lot:
    """One delivery of one ingredient.

    Attributes
    ----------
    key:
        The ingredient.
    supplier, date, price_per_kg:
        Who brought it, when, and at what price in the kitchen's money; "" or ``None`` where not noted.
    reading, scale, temperature_c:
        Reading, one of :data:`formulate.ingredients.instruments.SCALES`, and the temperature of
        the sample [°C]; an
        instrument that corrects the temperature itself is noted with 20.
    ph:
        As read, 0 to 14; kept, not used.
    acidity, acidity_as:
        Titratable acidity [g per 100 g] and the acid in which it is expressed, one of
        :data:`EQUIVALENTS`.
    name, grams, use_by:
        What the kitchen calls it, how much came in, as bought [g], and the last day on which it may be
        used; "" or ``None`` where not noted.  None of them changes a composition.

    Raises
    ------
    InputError
        If a figure is not of its kind or out of its range, or a scale or an acid unknown.
    """

    key: str
    supplier: str = ""
    date: Date | None = None
    price_per_kg: float | None = None
    reading: float | None = None
    scale: str = "brix"
    temperature_c: float = 20.0
    ph: float | None = None
    acidity: float | None = None
    acidity_as: str = "citric_acid"
    name: str = ""
    grams: float | None = None
    use_by: Date | None = None

    def __post_init__(self) -> None:
        """Check every field, and all together."""
        place = f"lot of {self.key}"
        for name in _TEXTS:
            value = getattr(self, name)
            if not isinstance(value, str):
                problem, remedy = f"is {value!r}, not text", "Put it in quotes."
                raise InputError(f"{place}, {name}", problem, remedy, field=name, value=value)
        word(self.key, f"{place}, key")
        for name in _NUMBERS:
            value = getattr(self, name)
            if value is not None and type(value) is not float:
                object.__setattr__(self, name, number(value, f"{place}, {name}"))
        for name in _DAYS:
            value = getattr(self, name)
            if value is not None and not isinstance(value, Date):
                problem, remedy = f"is {value!r}, not a date", "Give a date: 2026-05-14."
                raise InputError(f"{place}, {name}", problem, remedy, field=name, value=value)
        _check(self, place)


def with_lot(composition: Array, lot: Lot) -> Array:
    """Return the composition of a lot.

    Parameters
    ----------
    composition:
        Composition of the table, g per 100 g over the columns; its sum stays as it is.
    lot:
        The lot, of the same ingredient.

    Returns
    -------
    ndarray
        g per 100 g over the columns, read-only where the lot changes it.

    Raises
    ------
    InputError
        If the composition cannot take a figure of the lot, or a pH is all there is to go by.

    Examples
    --------
    >>> from formulate.ingredients import brix_of, ingredient_table
    >>> crate = Lot("damson", reading=14.0)
    >>> round(brix_of(with_lot(ingredient_table()["damson"].composition, crate)), 6)
    14.0
    """
    place = _place(lot)
    if lot.ph is not None and lot.acidity is None and lot.reading is None:
        raise InputError(
            f"{place}, ph",
            f"pH {lot.ph:g} alone does not give the amount of acid: juices of the same pH may hold "
            "several times as much, by how much potassium and protein buffers them",
            "Have it titrated and give acidity in g per 100 g with the acid it is expressed in, or "
            "leave the acids as in the table.",
        )
    found = composition
    if lot.acidity is not None:
        found = with_acidity(found, lot.acidity, lot.acidity_as, f"{place}, acidity")
    brix = reading_at_20_c(lot)
    if brix is not None:
        _fit_to_read(composition, f"{place}, reading")
        found = with_reading(found, brix, f"{place}, reading")
    return found


def reading_at_20_c(lot: Lot) -> float | None:
    """Return what a lot reads at 20 °C [°Bx], ``None`` without a reading.

    Parameters
    ----------
    lot:
        The lot.

    Returns
    -------
    float or None

    Raises
    ------
    InputError
        If the scale is unknown, or the reading or its temperature out of range.

    Examples
    --------
    >>> reading_at_20_c(Lot("damson", reading=20.0, temperature_c=25.0))
    20.34
    """
    if lot.reading is None:
        return None
    return brix_at_20_c(lot.reading, lot.scale, lot.temperature_c, f"{_place(lot)}, reading")


def titratable_acidity(composition: Array, acidity_as: str = "citric_acid") -> float:
    """Return what a titration would find [g per 100 g], expressed in one of :data:`EQUIVALENTS`.

    Every acid hydrogen of the composition counts as free.

    Parameters
    ----------
    composition:
        g per 100 g over the columns.
    acidity_as:
        The acid in which it is expressed, one of :data:`EQUIVALENTS`.

    Returns
    -------
    float
        g per 100 g.

    Raises
    ------
    InputError
        If the acid is unknown.

    Examples
    --------
    >>> from formulate.ingredients import read_only
    >>> round(titratable_acidity(read_only({"malic_acid": 1.0})), 3)  # as citric acid
    0.955
    """
    _known_acid(acidity_as, "acidity_as")
    return EQUIVALENTS[acidity_as] * float((composition[list(_ACIDS)] / _GRAMS).sum())


def with_acidity(
    composition: Array, acidity: float, acidity_as: str = "citric_acid", place: str = "acidity"
) -> Array:
    """Return a composition with this titratable acidity, water by difference.

    The acids keep their proportions; where there is none, all of it counts as the acid in which it is
    expressed.

    Parameters
    ----------
    composition:
        g per 100 g over the columns.
    acidity:
        Titratable acidity [g per 100 g], 0 to 50.
    acidity_as:
        The acid in which it is expressed, one of :data:`EQUIVALENTS`.
    place:
        Where the figure stands, for messages.

    Raises
    ------
    InputError
        If the acidity is out of range or the acid unknown, if it leaves no water, or if milk or egg
        protein, which titrates too, is in it.
    """
    _known_acid(acidity_as, f"{place}_as")
    _possible_acidity(acidity, place)
    if composition[list(_ANIMAL_PROTEIN)].sum() > _LITTLE:
        problem = "the protein and salts of milk and egg take up alkali too, so no acid can be told"
        raise InputError(place, problem, "Leave the acidity of this ingredient out.")
    lot = np.array(composition)
    before = lot[list(_ACIDS)]
    held = float((before / _GRAMS).sum())
    wanted = acidity / EQUIVALENTS[acidity_as]
    if held > 0.0:
        lot[list(_ACIDS)] = before * (wanted / held)
    else:
        lot[position(acidity_as)] = acidity
    lot[_WATER] += before.sum() - lot[list(_ACIDS)].sum()
    if lot[_WATER] <= 0.0:
        had = float(composition[_WATER])
        problem = f"{acidity:g} g per 100 g leaves no water in an ingredient that has {had:.1f} %"
        raise InputError(place, problem, "Check the figure and its unit, g per 100 g.")
    lot.flags.writeable = False
    return lot


def _check(lot: Lot, place: str) -> None:
    """Check the figures of a lot by themselves."""
    _above_zero(lot.price_per_kg, f"{place}, price_per_kg", "Leave it out where it is not known.")
    _above_zero(lot.reading, f"{place}, reading", "Leave it out where nothing was read.")
    _above_zero(lot.grams, f"{place}, grams", "Give what came in, as bought, in grams.")
    if lot.date is not None and lot.use_by is not None and lot.use_by < lot.date:
        problem = f"is {lot.use_by}, before it came in on {lot.date}"
        where, remedy = f"{place}, use_by", "Exchange or correct the days."
        raise InputError(where, problem, remedy, field="use_by", value=lot.use_by)
    reading_at_20_c(lot)
    if lot.ph is not None:
        remedy = "Fruit reads about 2 to 5: calibrate the meter."
        within(lot.ph, 0.0, 14.0, f"{place}, ph", remedy)
    if lot.acidity is not None:
        _possible_acidity(lot.acidity, f"{place}, acidity")
    _known_acid(lot.acidity_as, f"{place}, acidity_as")


def lot_remarks(composition: Array, lot: Lot) -> tuple[Message, ...]:
    """Return what a cook should know of the figures of a lot.

    Parameters
    ----------
    composition:
        Composition of the lot, as :func:`with_lot` returns it.
    lot:
        The lot.

    Returns
    -------
    tuple of Message

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> [said.code for said in lot_remarks(ingredient_table()["pear"].composition, Lot("pear", ph=4.0))]
    ['ph_changes_nothing']
    """
    found = []
    brix = reading_at_20_c(lot)
    if brix is not None:
        scale = SCALES[lot.scale]
        if lot.scale != "brix" or lot.temperature_c != 20.0:
            read = {"value": lot.reading, "temperature_c": lot.temperature_c, "brix": brix}
            found.append(message("reading_converted", scale=scale.name, unit=scale.unit, **read))
        short = acid_shortfall(min(titratable_acidity(composition), 20.0))
        if scale.refractometer and short > _WORTH_A_WORD:
            found.append(message("reading_short_by_acid", key=lot.key, value=short))
    if lot.ph is not None and lot.acidity is None:
        found.append(message("ph_changes_nothing", key=lot.key, value=lot.ph))
    return tuple(found)


def first_to_use(lot: Lot) -> tuple[Date, Date]:
    """Return what lots are sorted by: first to expire, then first in; what has no day comes last.

    Parameters
    ----------
    lot:
        The lot.

    Returns
    -------
    tuple of two dates

    Examples
    --------
    >>> early, late = Lot("damson", use_by=Date(2026, 9, 3)), Lot("damson")
    >>> first_to_use(early) < first_to_use(late)
    True
    """
    return lot.use_by or Date.max, lot.date or Date.max


def lot_data(lot: Lot) -> dict[str, Any]:
    """Return a lot as plain data; :func:`lot_from_data` reads it back.

    Parameters
    ----------
    lot:
        The lot.

    Returns
    -------
    dict
        Every field by name; days as ISO text, ``None`` where nothing was noted.

    Examples
    --------
    >>> lot_data(Lot("damson", date=Date(2026, 9, 1)))["date"]
    '2026-09-01'
    """
    data = asdict(lot)
    for name in _DAYS:
        data[name] = None if data[name] is None else data[name].isoformat()
    return data


def lot_from_data(data: Mapping[str, object], place: str = "lot") -> Lot:
    """Return a checked lot from plain data: a TOML table, or what :func:`lot_data` gave.

    ``date`` and ``use_by`` are dates or their ISO form, 2026-05-14; ``None`` counts as left out.

    Parameters
    ----------
    data:
        Fields by name.
    place:
        Where the lot stands, for messages.

    Returns
    -------
    Lot

    Raises
    ------
    InputError
        If a field is unknown, missing, of the wrong kind or out of its range.

    Examples
    --------
    >>> lot_from_data({"key": "damson", "use_by": "2026-09-03"}).use_by
    datetime.date(2026, 9, 3)
    """
    names = [field.name for field in fields(Lot)]
    given: dict[str, Any] = {}
    for name, value in data.items():
        if name not in names:
            hint = nearest(name, names) or f"A lot has {', '.join(names)}."
            problem, allowed = "is not a field of a lot", tuple(names)
            raise InputError(f"{place}, {name}", problem, hint, field=name, allowed=allowed)
        if value is not None:
            given[name] = _date(value, f"{place}, {name}") if name in _DAYS else value
    if not given.get("key"):
        remedy = "Name the ingredient that was delivered."
        raise InputError(f"{place}, key", "is missing", remedy, field="key")
    with standing_at(f"lot of {given['key']}", place):
        return Lot(**given)


def _date(value: object, place: str) -> Date:
    if isinstance(value, Date):
        return Date(value.year, value.month, value.day)
    try:
        return Date.fromisoformat(str(value))
    except ValueError:
        problem = f"is {value!r}, not a date"
        raise InputError(place, problem, "Write year, month, day: 2026-05-14.") from None


def _place(lot: Lot) -> str:
    return f"lot of {lot.key}"


def _above_zero(value: float | None, place: str, remedy: str) -> None:
    if value is not None and not (isfinite(value) and value > 0.0):
        problem, field = f"is {value:g}, and must be above 0", place.rpartition(", ")[2]
        raise InputError(place, problem, remedy, field=field, value=value, allowed=(0.0, MOST))


def _possible_acidity(acidity: float, place: str) -> None:
    remedy = "Divide g/L of a juice by about 10."
    within(acidity, 0.0, _MOST_ACID, place, remedy, " g per 100 g")


def _known_acid(acid: str, place: str) -> None:
    if acid not in EQUIVALENTS:
        problem = f'"{acid}" is not one of {", ".join(EQUIVALENTS)}'
        remedy, allowed = nearest(acid, EQUIVALENTS) or "Choose one.", tuple(EQUIVALENTS)
        field = place.rpartition(", ")[2]
        raise InputError(place, problem, remedy, field=field, value=acid, allowed=allowed)


def _fit_to_read(composition: Array, place: str) -> None:
    """Refuse a reading where it would not tell the sugar."""
    if composition[_ETHANOL] > _LITTLE:
        problem = f"{composition[_ETHANOL]:.1f} % alcohol moves the reading as well as sugar does"
        raise InputError(place, problem, "Leave the reading out, and take the sugar off the label.")
    protein = float(composition[list(_ANIMAL_PROTEIN)].sum())
    if protein > _LITTLE:
        problem = f"{protein:.1f} % milk or egg protein moves the reading as well as sugar does"
        raise InputError(place, problem, "Leave the reading out, and take the sugar off the label.")
