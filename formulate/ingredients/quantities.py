"""What a mix is judged by, each a linear function of its composition.

Every property is a weight per column of a composition: the value of a mix is the sum of weight x
column.  Because compositions are mass means, a property of a mix is the mass mean of its ingredients'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.data import data_folder, number, read_rows
from formulate.ingredients.components import COLUMNS, COMPONENTS
from formulate.ingredients.table import read_only

__all__ = ["Property", "properties"]


@dataclass(frozen=True, slots=True)
class Property:
    """One linear property: key, name, unit, and weight per column, read-only."""

    key: str
    name: str
    unit: str
    weights: NDArray[np.float64]


@lru_cache(maxsize=1)
def properties() -> Mapping[str, Property]:
    """Return all properties by key: the named ones, then every single component.

    Returns
    -------
    Mapping
        Properties by key, read-only.

    Raises
    ------
    TableError
        If a table is damaged.

    Notes
    -----
    Source: relative sweetness, ``sweetness.csv``; energy, Regulation (EU) 1169/2011, Annex XIV.

    Examples
    --------
    >>> properties()["sweetness"].unit
    'g sucrose/100 g'
    """
    family: dict[str, list[str]] = {}
    for part in COMPONENTS:
        family.setdefault(part.family, []).append(part.key)
    solids = [part.key for part in COMPONENTS if part.key not in ("water", "ethanol")]
    added = [key for key in family["sugar"] if key != "lactose"]
    named = [
        _sum("total_solids", "Total solids", solids),
        _sum("fat", "Fat", family["fat"]),
        _sum("msnf", "Milk solids-not-fat", ["milk_protein", "lactose", "milk_minerals"]),
        _sum("sugars", "Sugars", family["sugar"]),
        _sum("added_sugars", "Sugars without lactose", added),
        Property("sweetness", "Sweetness", "g sucrose/100 g", _sweetness()),
        _sum("protein", "Protein", family["protein"]),
        _sum("polyols", "Polyols", family["polyol"]),
        _sum("acids", "Organic acids", family["acid"]),
        _sum("egg_yolk_solids", "Egg-yolk solids", ["egg_yolk_solids"]),
        Property("energy_kcal", "Energy", "kcal/100 g", _energy()),
    ]
    single = [_sum(part.key, part.name, [part.key]) for part in COMPONENTS]
    return MappingProxyType({entry.key: entry for entry in (*named, *single)})


def _sum(key: str, name: str, parts: list[str]) -> Property:
    return Property(key, name, "%", read_only(dict.fromkeys(parts, 1.0)))


def _sweetness() -> NDArray[np.float64]:
    """Sweetness relative to sucrose; the spans and sources stand in ``sweetness.csv``."""
    rows = read_rows(data_folder() / "sweetness.csv")
    return read_only(
        {
            row["component"]: number(row, "sweetness", f"sweetness.csv, {row['component']}")
            for row in rows
        }
    )


# Regulation (EU) 1169/2011, Annex XIV [kcal/g].  Stabilisers are counted as fibre and emulsifiers as
# fat; what is not named there (minerals, other solids) is counted as nothing.
_ENERGY_BY_FAMILY = {
    "fat": 9.0,
    "protein": 4.0,
    "sugar": 4.0,
    "syrup": 4.0,
    "starch": 4.0,
    "polyol": 2.4,
    "fibre": 2.0,
    "stabiliser": 2.0,
    "acid": 3.0,
    "alcohol": 7.0,
    "emulsifier": 9.0,
}


def _energy() -> NDArray[np.float64]:
    factors = {part.key: _ENERGY_BY_FAMILY.get(part.family, 0.0) for part in COMPONENTS}
    factors["erythritol"] = 0.0
    assert set(factors) <= set(COLUMNS)
    return read_only(factors)
