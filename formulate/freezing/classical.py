"""A second opinion: the classical method of sucrose equivalents.

Every sweetener counts as so many grams of sucrose, a table gives the freezing point of that sucrose in
the water of the mix, and a constant adds the minerals of milk.  H. D. Goff, University of Guelph, after
Leighton 1927 and Bradley.  The sucrose table is the older one that goes with the method (after
Pickering, from memory, unverified); the measured table that the rest of this package is fitted to
differs from it by up to 0.125 °C below 73 g per 100 g of water.

What the method does not know (acids, potassium, the curvature of each sugar) it leaves out; what it
does not name (polyols, alcohol, salt) is counted by molar mass.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.freezing.curve import held_at
from formulate.ingredients import COLUMNS, position, read_only

__all__ = ["Reason", "SecondOpinion", "second_opinion"]


#: Depression by milk minerals [°C] x g water per g milk solids-not-fat (with whey solids).
_SALTS = 2.37
_MSNF = tuple(position(key) for key in ("milk_protein", "lactose", "milk_minerals"))
_WATER = position("water")
_MILK = "minerals of milk"
_ACIDS = "acids and potassium"
_GROUP_OF_REST = {
    "milk_minerals": _MILK,
    "plant_potassium": _ACIDS,
    "glucose_syrup_solids": "glucose syrup",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """What one group of solutes lowers the freezing point by [°C], here and in the classical method."""

    group: str
    here: float
    classical: float


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """What the classical method says of a mix.

    Attributes
    ----------
    initial_freezing_point_c:
        Initial freezing point [°C]; ``None`` beyond the end of its table.
    frozen_water:
        Frozen water at the serving temperature [% of water]; ``None`` beyond the end of its table.
    reasons:
        Where the two methods differ at the initial freezing point, largest difference first.
    """

    initial_freezing_point_c: float | None
    frozen_water: float | None
    reasons: tuple[Reason, ...]


def second_opinion(
    composition: Array, initial_freezing_point_c: float | None, temperature_c: float
) -> SecondOpinion:
    """Return the classical method's opinion of a mix.

    Parameters
    ----------
    composition:
        g per 100 g, shape (columns,).
    initial_freezing_point_c:
        The prediction that it is compared with [°C].
    temperature_c:
        Serving temperature [°C].

    Returns
    -------
    SecondOpinion

    Notes
    -----
    Source: sucrose equivalents as ``textbook.csv`` has them, on the table of ``sucrose_table.csv``.

    Examples
    --------
    >>> import formulate as fm
    >>> mix = fm.check(fm.load("damson_sorbet")).mix
    >>> opinion = second_opinion(mix.composition, mix.initial_freezing_point_c, -12.0)
    >>> round(opinion.initial_freezing_point_c, 2)
    -2.5
    """
    sucrose = float(composition @ _equivalents())
    milk = float(composition[list(_MSNF)].sum()) if composition[position("milk_minerals")] else 0.0
    water = float(composition[_WATER])
    point = _depression(sucrose, milk, water)
    return SecondOpinion(
        initial_freezing_point_c=None if point is None else -point,
        frozen_water=_frozen(sucrose, milk, water, -temperature_c),
        reasons=_reasons(composition, initial_freezing_point_c, point, sucrose, milk),
    )


def _depression(sucrose: float, milk: float, water: float) -> float | None:
    """Freezing point depression [°C] of so much sucrose and milk solids-not-fat in so much water."""
    grams, depression = _table()
    if water <= 0.0 or 100.0 * sucrose / water > grams[-1]:
        return None
    return float(np.interp(100.0 * sucrose / water, grams, depression)) + _SALTS * milk / water


def _frozen(sucrose: float, milk: float, water: float, depression: float) -> float | None:
    """Frozen water [%] where the liquid rest has this freezing point depression [°C].

    Along the rows of the table, where the method is linear between; sugar and milk minerals concentrate
    together.
    """
    grams, table = _table()
    if sucrose <= 0.0 or water <= 0.0:
        return None
    liquid = 100.0 * sucrose / grams[1:]
    reached = table[1:] + _SALTS * milk / liquid
    if not reached[0] <= depression <= reached[-1]:
        return None
    left = float(np.interp(depression, reached, grams[1:]))
    return float(np.clip(100.0 * (1.0 - 100.0 * sucrose / left / water), 0.0, 100.0))


def _reasons(
    composition: Array, point_c: float | None, classical: float | None, sucrose: float, milk: float
) -> tuple[Reason, ...]:
    """Share of each group in both depressions; the table's share is by sucrose equivalents."""
    if point_c is None or classical is None or point_c >= 0.0:
        return ()
    water = float(composition[_WATER])
    held = held_at((point_c,))[0] * composition / water * -point_c
    salts = _SALTS * milk / water
    table = (classical - salts) * _equivalents() * composition / max(sucrose, 1e-12)
    here: dict[str, float] = {}
    there: dict[str, float] = {_MILK: salts}
    for index, group in enumerate(_groups()):
        here[group] = here.get(group, 0.0) + float(held[index])
        there[group] = there.get(group, 0.0) + float(table[index])
    found = [Reason(group, here[group], there[group]) for group in here]
    found.sort(key=lambda reason: -abs(reason.here - reason.classical))
    return tuple(reason for reason in found if abs(reason.here - reason.classical) >= 0.01)


@lru_cache(maxsize=1)
def _equivalents() -> Array:
    rows = read_rows(data_folder() / "freezing" / "textbook.csv")
    where = "textbook.csv"
    return read_only({row["component"]: number(row, "sucrose_equivalent", where) for row in rows})


@lru_cache(maxsize=1)
def _groups() -> tuple[str, ...]:
    rows = read_rows(data_folder() / "freezing" / "textbook.csv")
    known = {row["component"]: row["group"] for row in rows}
    return tuple(known.get(key, _GROUP_OF_REST.get(key, _ACIDS)) for key in COLUMNS)


@lru_cache(maxsize=1)
def _table() -> tuple[Array, Array]:
    rows = read_rows(data_folder() / "freezing" / "sucrose_table.csv")
    where = "sucrose_table.csv"
    return (
        np.array([number(row, "grams_per_100g_water", where) for row in rows]),
        np.array([number(row, "depression_c", where) for row in rows]),
    )
