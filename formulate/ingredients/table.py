"""What one ingredient is made of: rows of the composition table, and compositions of one's own.

A composition is a read-only array over :data:`formulate.ingredients.COLUMNS`, in grams per 100 g of
edible ingredient.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, numbers, read_rows
from formulate.errors import InputError, TableError, nearest
from formulate.ingredients.components import COLUMNS, COMPONENT_KEYS, position

__all__ = [
    "OWN_KEYS",
    "Ingredient",
    "check_parts",
    "ingredient_table",
    "own_composition",
    "read_only",
]


#: Milk solids-not-fat by dry mass: protein, lactose, minerals.  H. D. Goff, Ice Cream Technology
#: e-Book, University of Guelph, chapter "General composition".
_MSNF = {"milk_protein": 0.38, "lactose": 0.54, "milk_minerals": 0.08}

#: Egg-yolk solids by dry mass, from USDA SR28 row 01125 (raw yolk: fat 26.54, protein 15.86, rest 5.29).
_YOLK = {"egg_fat": 0.5565, "egg_protein": 0.3326, "other_solids": 0.1109}

#: Keys that a composition of one's own may use.
OWN_KEYS: tuple[str, ...] = (*COMPONENT_KEYS, "msnf", "egg_yolk_solids", "dextrose_equivalent")

_SUM_TOLERANCE = 0.5
_TABLE_TOLERANCE = 1.0


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One row of the table: its key, name, kind, composition and what a label must say of it.

    Attributes
    ----------
    composition:
        g per 100 g over :data:`formulate.ingredients.COLUMNS`, read-only.
    edible_percent:
        Share of the bought weight that is used [%].
    allergens:
        EU names of the allergens that it contains (Regulation 1169/2011, Annex II).
    animal:
        What of animal origin it is or contains, ``none`` for nothing.
    usual:
        1 (in every pastry kitchen) to 5 (rare).
    """

    key: str
    name: str
    kind: str
    composition: Array
    edible_percent: float
    allergens: tuple[str, ...]
    animal: str
    usual: int


@lru_cache(maxsize=1)
def ingredient_table() -> Mapping[str, Ingredient]:
    """Return the ingredients of ``reference-data`` by key, checked.

    Returns
    -------
    Mapping
        Ingredients by key.

    Raises
    ------
    TableError
        If a cell is missing or negative, a key is given twice, or a row does not add up to 100 ± 1.

    Examples
    --------
    >>> ingredient_table()["sucrose"].name
    'Sugar (sucrose)'
    """
    folder = data_folder()
    about = _about(read_rows(folder / "ingredients.csv"))
    rows = read_rows(folder / "composition.csv")
    where = [f"composition.csv, {row['key']}" for row in rows]
    columns = (*COMPONENT_KEYS, "egg_yolk_solids", "dextrose_equivalent")
    compositions = numbers(rows, columns, where)
    _check(compositions, columns, where)
    # The last column is the reducing power of the syrup solids, of which the table gives the DE.
    compositions[:, -1] *= compositions[:, position("glucose_syrup_solids")] / 100.0
    compositions.flags.writeable = False
    table: dict[str, Ingredient] = {}
    for row, composition, place in zip(rows, compositions, where, strict=True):
        key = row["key"]
        if key in table:
            raise TableError(f"{place}: the key is given twice.")
        if key not in about:
            raise TableError(f"{place}: ingredients.csv has no such key.")
        table[key] = Ingredient(key=key, composition=composition, **about[key])
    return table


def _check(compositions: Array, columns: tuple[str, ...], where: list[str]) -> None:
    """Refuse a table of which a cell is below zero or a row does not add up."""
    for row, column in np.argwhere(compositions < 0.0):
        value = compositions[row, column]
        raise TableError(f"{where[row]}: {columns[column]} is {value:g}, below zero.")
    totals = compositions[:, : len(COMPONENT_KEYS)].sum(axis=1)
    for row in np.flatnonzero(np.abs(totals - 100.0) > _TABLE_TOLERANCE):
        raise TableError(f"{where[row]}: the components add up to {totals[row]:.2f}, not to 100.")


def _about(rows: list[dict[str, str]]) -> dict[str, dict[str, Any]]:
    """What the table says of each ingredient beside its composition, by key."""
    where = [f"ingredients.csv, {row['key']}" for row in rows]
    edible, usual = numbers(rows, ("edible_percent", "usual"), where).T.tolist()
    return {
        row["key"]: {
            "name": row["name"],
            "kind": row["kind"],
            "edible_percent": percent,
            "allergens": tuple(part for part in row["allergens_eu"].split(";") if part),
            "animal": row["animal"],
            "usual": int(rank),
        }
        for row, percent, rank in zip(rows, edible, usual, strict=True)
    }


def check_parts(parts: Mapping[str, float], place: str) -> None:
    """Raise InputError unless these can be a composition, as :func:`own_composition` says.

    Parameters
    ----------
    parts:
        % by mass, by :data:`OWN_KEYS`.
    place:
        Where the composition stands, for messages.

    Raises
    ------
    InputError
        If a key is unknown, the parts do not add up to 100 ± 0.5 %, or syrup solids come without their
        dextrose equivalent.

    Examples
    --------
    >>> check_parts({"water": 60.0, "sucrose": 40.0}, "house syrup")
    """
    for key in parts:
        if key not in OWN_KEYS:
            hint = nearest(key, OWN_KEYS) or "See `formulate ingredients --json` for the keys."
            raise InputError(
                f"{place}, {key}",
                "is not a composition key",
                hint,
                field=key,
                value=key,
                allowed=OWN_KEYS,
            )
    total = sum(value for key, value in parts.items() if key != "dextrose_equivalent")
    if abs(total - 100.0) > _SUM_TOLERANCE:
        raise InputError(
            place,
            f"the composition adds up to {total:.2f} %, and must add up to 100 ± {_SUM_TOLERANCE} %",
            "Give the missing part a name, water or other_solids if nothing else fits.",
            field="composition",
            value=total,
            allowed=(100.0 - _SUM_TOLERANCE, 100.0 + _SUM_TOLERANCE),
        )
    if parts.get("glucose_syrup_solids", 0.0) > 0.0 and "dextrose_equivalent" not in parts:
        raise InputError(
            place,
            "glucose_syrup_solids need their dextrose_equivalent, from 0 to 100",
            "Read the DE on the pack and add dextrose_equivalent = 40, for example.",
            field="dextrose_equivalent",
            allowed=(0.0, 100.0),
        )


def own_composition(parts: Mapping[str, float], place: str) -> Array:
    """Return the composition that a recipe gives for an ingredient of its own.

    Parameters
    ----------
    parts:
        % by mass, by :data:`OWN_KEYS`; finite and not negative.  ``msnf`` is split into protein,
        lactose and minerals, ``egg_yolk_solids`` into fat, protein and the rest;
        ``dextrose_equivalent`` describes ``glucose_syrup_solids`` and is not part of the sum.
    place:
        Where the composition stands, for messages.

    Returns
    -------
    ndarray
        g per 100 g over :data:`formulate.ingredients.COLUMNS`, read-only.

    Raises
    ------
    InputError
        If a key is unknown, or the parts do not add up to 100 ± 0.5 %, or syrup solids come without
        their dextrose equivalent.

    Notes
    -----
    Source of the parts of milk solids and yolk: H. D. Goff, Ice Cream Technology e-Book, University of
    Guelph; USDA SR28, row 01125.

    Examples
    --------
    >>> cream = own_composition({"water": 63.7, "milk_fat": 30.0, "msnf": 6.3}, "cream_30")
    >>> round(float(cream[position("lactose")]), 3)  # 54 % of the milk solids-not-fat
    3.402
    """
    check_parts(parts, place)
    values = dict.fromkeys(COLUMNS, 0.0)
    for key, value in parts.items():
        shares = {"msnf": _MSNF, "egg_yolk_solids": _YOLK}.get(key, {key: 1.0})
        for name, share in shares.items():
            if name in values:
                values[name] += share * value
    values["egg_yolk_solids"] = parts.get("egg_yolk_solids", 0.0)
    if parts.get("glucose_syrup_solids", 0.0) > 0.0:
        values["syrup_reducing_power"] = (
            parts["glucose_syrup_solids"] * parts["dextrose_equivalent"] / 100.0
        )
    return read_only(values)


def read_only(values: Mapping[str, float]) -> Array:
    """Return a read-only row over the columns; what is not named is zero.

    Parameters
    ----------
    values:
        Amounts by column, any of :data:`formulate.ingredients.COLUMNS`.

    Returns
    -------
    ndarray
        Shape (columns,), read-only.

    Raises
    ------
    KeyError
        If there is no such column.

    Examples
    --------
    >>> float(read_only({"water": 100.0}).sum())
    100.0
    """
    row = np.zeros(len(COLUMNS))
    for key, value in values.items():
        row[position(key)] = value
    row.flags.writeable = False
    return row
