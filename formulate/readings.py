"""What a refractometer reading says of a lot.

The reading counts everything dissolved in the juice, not sugar alone: grams of solubles per 100 g of
juice (water and solubles).  A lot that reads higher than the table has proportionally more of each
sugar and less water; acids, minerals and what does not dissolve stay.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formulate.components import COLUMNS, COMPONENTS, position
from formulate.errors import InputError

__all__ = ["at_20_c", "brix_of", "with_reading"]

Array = NDArray[np.float64]

_DISSOLVED_FAMILIES = ("sugar", "syrup", "polyol", "acid", "mineral")
_SUGARS = tuple(position(part.key) for part in COMPONENTS if part.family == "sugar")
_DISSOLVED = tuple(position(part.key) for part in COMPONENTS if part.family in _DISSOLVED_FAMILIES)
_WATER = position("water")

# What to add to a reading [°Bx], rows by temperature, columns by reading.  Up to 15 °C: OIV,
# Compendium of International Methods of Analysis, refractive index of musts; 25 and 30 °C:
# International Table of 1936 (columns 0 °Bx continued from the nearest).
_TABLE_TEMPERATURE = np.array([5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
_TABLE_BRIX = np.array([10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0])
_TABLE = np.array(
    [
        [-0.82, -0.92, -0.99, -0.99, -0.99, -0.99, -0.99],
        [-0.59, -0.65, -0.69, -0.72, -0.74, -0.75, -0.75],
        [-0.32, -0.34, -0.36, -0.37, -0.38, -0.38, -0.38],
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [0.32, 0.34, 0.36, 0.36, 0.38, 0.36, 0.36],
        [0.67, 0.71, 0.74, 0.75, 0.80, 0.76, 0.73],
    ]
)


def at_20_c(brix: float, temperature_c: float, place: str = "brix") -> float:
    """Return the reading [°Bx] that the same juice would give at 20 °C.

    For instruments that do not correct the temperature themselves.

    Parameters
    ----------
    brix:
        Reading, 0 to 85 °Bx.
    temperature_c:
        Temperature of the reading, 5 to 30 °C.
    place:
        Where the reading stands, for messages.

    Raises
    ------
    InputError
        If the temperature is outside the table.

    Examples
    --------
    >>> at_20_c(20.0, 25.0)
    20.34
    """
    if not 5.0 <= temperature_c <= 30.0:
        raise InputError(
            place,
            f"was read at {temperature_c:g} °C, and the correction table goes from 5 to 30 °C",
            "Let the sample come to room temperature and read again.",
        )
    by_temperature = [float(np.interp(brix, _TABLE_BRIX, row)) for row in _TABLE]
    correction = float(np.interp(temperature_c, _TABLE_TEMPERATURE, by_temperature))
    return round(brix + correction, 4)


def brix_of(composition: Array) -> float:
    """Return the reading [°Bx] that a composition would give: solubles per 100 g of juice."""
    dissolved = float(composition[list(_DISSOLVED)].sum())
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

    Raises
    ------
    InputError
        If the ingredient has no sugar or no water, or the reading is below what its acids and minerals
        alone would show, or leaves no water.
    """
    sugars = float(composition[list(_SUGARS)].sum())
    water = float(composition[_WATER])
    if sugars <= 0.0 or water <= 0.0:
        raise InputError(
            place, "a reading needs an ingredient with sugar and water", "Leave brix out."
        )
    others = float(composition[list(_DISSOLVED)].sum()) - sugars
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
