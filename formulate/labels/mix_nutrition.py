"""Nutrition of a mix: what is in 100 g of it as weighed, and how sure that is.

Fat, protein and carbohydrate follow from composition and are numbers.  What depends on a table of
nutrients or on how something was made has a range, and names the ingredients that make it unsure.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from formulate.arrays import Array
from formulate.ingredients import COMPONENTS, position, properties
from formulate.labels.nutrients import Figure, added_sugars, cholesterol, saturates, sodium, sugars
from formulate.mix import Part, mean_composition

__all__ = ["Amount", "Nutrition", "nutrition"]

#: Dietary fibre on a US panel is what stands in a list of FDA; of the gums these do, from memory.
_US_FIBRE_GUMS = ("locust_bean_gum", "guar_gum", "pectin_nh", "pectin_hm", "sodium_alginate")


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure per 100 g: best value, lowest and highest, and which ingredients make it unsure.

    ``estimated`` were taken from a similar food, ``missing`` are not known at all: they stand in the
    range with the least and the most that composition allows, and in ``value`` with the middle.
    """

    value: float
    low: float
    high: float
    estimated: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    def scaled(self, factor: float) -> Amount:
        """Return the same times a factor that is not negative."""
        return Amount(
            self.value * factor,
            self.low * factor,
            self.high * factor,
            self.estimated,
            self.missing,
        )


@dataclass(frozen=True)
class Nutrition:
    """What is in 100 g of a mix [g, milligrams where named].

    ``other_solids`` is what no component names: mostly unnamed carbohydrate of fruit, cocoa and egg.
    ``acids`` are organic acids, ``fibre`` counts gums as well, ``ash`` all minerals.
    """

    composition: Array
    water: float
    fat: float
    milk_protein: float
    other_protein: float
    sugars: Amount
    digestible: float
    polyols: Mapping[str, float]
    fibre: float
    us_fibre: float
    acids: float
    alcohol: float
    ash: float
    other_solids: float
    saturates: Amount
    cholesterol_mg: Amount
    sodium_mg: Amount
    added_sugars: Amount


def nutrition(parts: Sequence[Part]) -> Nutrition:
    """Return what is in 100 g of a mix of ingredients, see :func:`formulate.mix.parts.parts_of`."""
    mean = mean_composition(parts)
    gelatine = sum(
        part.share * part.of("stabiliser") for part in parts if part.table_key == "gelatine"
    )
    columns = {part.key: float(mean[position(part.key)]) for part in COMPONENTS}
    families: dict[str, float] = {}
    for part in COMPONENTS:
        families[part.family] = families.get(part.family, 0.0) + columns[part.key]
    gums = families["stabiliser"] - gelatine
    listed = sum(p.share * p.of("stabiliser") for p in parts if p.table_key in _US_FIBRE_GUMS)
    return Nutrition(
        composition=mean,
        water=columns["water"],
        fat=float(mean @ properties()["fat"].weights) + families["emulsifier"],
        milk_protein=columns["milk_protein"],
        other_protein=columns["egg_protein"] + columns["other_protein"] + gelatine,
        sugars=_total(parts, sugars),
        digestible=families["sugar"] + families["syrup"] + families["starch"],
        polyols=MappingProxyType(
            {part.key: columns[part.key] for part in COMPONENTS if part.family == "polyol"}
        ),
        fibre=families["fibre"] + gums,
        us_fibre=families["fibre"] + listed,
        acids=families["acid"],
        alcohol=columns["ethanol"],
        ash=families["mineral"],
        other_solids=columns["other_solids"],
        saturates=_total(parts, saturates),
        cholesterol_mg=_total(parts, cholesterol),
        sodium_mg=_total(parts, sodium),
        added_sugars=_total(parts, added_sugars),
    )


def _total(parts: Sequence[Part], figure: Callable[[Part], Figure]) -> Amount:
    value = low = high = 0.0
    unsure: dict[str, list[str]] = {"": [], "estimated": [], "missing": []}
    for part in parts:
        found = figure(part)
        value += part.share * found.best
        low += part.share * found.low
        high += part.share * found.high
        unsure[found.status].append(part.name)
    return Amount(value, low, high, tuple(unsure["estimated"]), tuple(unsure["missing"]))
