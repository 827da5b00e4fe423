"""What a refractometer reading says of a lot.

The reading counts everything dissolved in the juice, not sugar alone: grams of solubles per 100 g of
juice (water and solubles).  A lot that reads higher than the table has proportionally more of each
sugar and less water; acids, minerals and what does not dissolve stay.
"""

from __future__ import annotations

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients.components import COLUMNS, COMPONENTS, position
from formulate.ingredients.instruments import refractometer_correction

__all__ = ["SOLUBLES", "at_20_c", "brix_of", "with_reading"]


_DISSOLVED_FAMILIES = ("sugar", "syrup", "polyol", "acid", "mineral")
_SUGARS = tuple(position(part.key) for part in COMPONENTS if part.family == "sugar")

#: Columns that a reading counts, besides water.
SOLUBLES = tuple(position(part.key) for part in COMPONENTS if part.family in _DISSOLVED_FAMILIES)
_WATER = position("water")


def at_20_c(brix: float, temperature_c: float, place: str = "brix") -> float:
    """Return the reading [°Bx] that the same juice would give at 20 °C.

    For instruments that do not correct the temperature themselves; the table and its sources stand in
    ``brix_temperature.csv``.

    Parameters
    ----------
    brix:
        Reading, 0 to 85 °Bx.
    temperature_c:
        Temperature of the reading, 5 to 30 °C.
    place:
        Where the reading stands, for messages.

    Returns
    -------
    float
        Reading at 20 °C [°Bx].

    Raises
    ------
    InputError
        If the temperature is outside the table.

    Examples
    --------
    >>> at_20_c(20.0, 25.0)
    20.34
    """
    return round(brix + refractometer_correction(brix, temperature_c, place), 4)


def brix_of(composition: Array) -> float:
    """Return the reading [°Bx] that a composition would give: solubles per 100 g of juice.

    Parameters
    ----------
    composition:
        Amounts over the columns, shape (columns,); only ratios matter.

    Returns
    -------
    float
        Solubles per 100 g of juice, water and solubles [°Bx].

    Examples
    --------
    >>> from formulate.ingredients import read_only
    >>> brix_of(read_only({"water": 90.0, "sucrose": 10.0}))
    10.0
    """
    dissolved = float(composition[list(SOLUBLES)].sum())
    return 100.0 * dissolved / (dissolved + float(composition[_WATER]))


def with_reading(composition: Array, brix: float, place: str = "brix") -> Array:
    """Return the composition of a lot that reads ``brix`` at 20 °C.

    Parameters
    ----------
    composition:
        Composition of the table, g per 100 g over the columns; must contain sugar and water.
    brix:
        Reading at 20 °C [°Bx].
    place:
        Where the reading stands, for messages.

    Returns
    -------
    ndarray
        g per 100 g over the columns, read-only.

    Raises
    ------
    InputError
        If the ingredient has no sugar or no water, or the reading is below what its acids and minerals
        alone would show, or leaves no water.

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> ripe = with_reading(ingredient_table()["damson"].composition, 15.0)
    >>> round(brix_of(ripe), 6)
    15.0
    """
    sugars = float(composition[list(_SUGARS)].sum())
    water = float(composition[_WATER])
    if sugars <= 0.0 or water <= 0.0:
        raise InputError(
            place, "a reading needs an ingredient with sugar and water", "Leave brix out."
        )
    others = float(composition[list(SOLUBLES)].sum()) - sugars
    juice = sugars + others + water
    new_sugars = brix / 100.0 * juice - others
    if new_sugars <= 0.0 or new_sugars >= sugars + water:
        lowest = 100.0 * others / juice
        raise InputError(
            place,
            f"{brix:g} °Bx cannot be; this ingredient reads from {lowest:.1f} to 100 °Bx",
            f"The table's own composition reads {brix_of(composition):.1f} °Bx; read again.",
        )
    lot = np.array(composition)
    lot[list(_SUGARS)] *= new_sugars / sugars
    lot[_WATER] = water + sugars - new_sugars
    assert len(lot) == len(COLUMNS)
    lot.flags.writeable = False
    return lot
