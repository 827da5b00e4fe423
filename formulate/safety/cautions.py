"""What to mind in a mix by what it contains: heating, cooling, ageing, eggs, things added cold.

Quoted rules and common practice; none says that a mix is safe.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from formulate.ingredients import ingredient_table, position
from formulate.messages import Message, message
from formulate.safety.heat import heat_rows

__all__ = ["REFREEZING_C", "cautions_for"]

#: Warmest temperature that frozen ice cream may have had and still be sold, UK [°C].
REFREEZING_C = -2.2

_RAW_EGGS = ("whole_egg", "egg_yolk", "egg_white")
_LIKE_MILK = ("plant_drink", "nut", "protein")
_FRESH = ("fruit", "herb", "vegetable")
_MILK_PARTS = tuple(position(key) for key in ("milk_protein", "milk_fat", "lactose"))
_EGG_PARTS = _EGG_PROTEIN, _EGG_FAT = position("egg_protein"), position("egg_fat")
_YOLK_FAT = 0.1  # g of egg fat per g of egg protein, above which it is not white alone
_ETHANOL = position("ethanol")


def cautions_for(keys: Sequence[str], composition: ArrayLike) -> tuple[Message, ...]:
    """Return what to mind in a mix by what it contains, heat treatment first and local rules last.

    What each rests on stands with its words in :mod:`formulate.report.english.safety`.

    Parameters
    ----------
    keys:
        Its ingredients; those that the table does not have are judged by the composition alone.
    composition:
        The mix, g per 100 g, shape (columns,).

    Returns
    -------
    tuple of Message

    Notes
    -----
    That nothing is said of something does not make it safe.

    Examples
    --------
    >>> composition = ingredient_table()["whole_milk"].composition
    >>> [caution.code for caution in cautions_for(["whole_milk"], composition)][0]
    'caution_heat'
    """
    table = ingredient_table()
    known = [table[key] for key in keys if key in table]
    parts = np.asarray(composition, dtype=float)
    eggs = [entry.key for entry in known if "eggs" in entry.allergens]
    milk = any("milk" in entry.allergens for entry in known)
    milk = milk or bool(parts[list(_MILK_PARTS)].any())
    egg = bool(eggs) or bool(parts[list(_EGG_PARTS)].any())
    yolk = bool(parts[_EGG_FAT] > _YOLK_FAT * parts[_EGG_PROTEIN])
    like_milk = tuple(entry.name for entry in known if entry.kind in _LIKE_MILK)
    heated = milk or yolk
    if heated:
        found = [_heat(milk, egg)]
    elif like_milk:
        found = [message("caution_like_milk", names=like_milk)]
    else:
        found = [message("caution_water_ice")]
    if egg:
        raw = tuple(table[key].name for key in eggs if key in _RAW_EGGS)
        if raw or not eggs:
            found.append(message("caution_raw_egg", names=raw))
        if yolk and milk:
            found.append(message("caution_custard"))
    if heated or like_milk:
        found += [message("caution_cooling"), message("caution_ageing")]
    fresh = tuple(entry.name for entry in known if entry.kind in _FRESH)
    if fresh and heated:
        found.append(message("caution_added_cold", names=fresh))
    if parts[_ETHANOL] > 0.0:
        found.append(message("caution_alcohol", value=float(parts[_ETHANOL])))
    return (*found, message("caution_refreezing", limit=REFREEZING_C), message("caution_local"))


def _heat(milk: bool, egg: bool) -> Message:
    """Heat it as the rules for mix print it, by place."""
    rows = [row for row in heat_rows() if row.product == "mix"]
    return message(
        "caution_heat",
        contains=tuple(name for name, there in (("milk", milk), ("egg", egg)) if there),
        us=tuple(row.printed for row in rows if row.key.startswith("us_pmo")),
        uk=tuple(row.printed for row in rows if row.key.startswith("uk_1995")),
    )
