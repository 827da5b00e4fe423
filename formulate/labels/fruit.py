"""Fruit and nuts of a mix: how much as fresh, which weighs most, and of what class it is.

A mix is judged by the class of the fruit that weighs most.  Classes stand in ``fruit_classes.csv``; what
is in none is ordinary fruit.  The fruit of a purée is its weight less the sugar in its name, dried fruit
counts as fresh fruit of equal solids.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, read_rows
from formulate.errors import TableError
from formulate.ingredients import ingredient_table, titratable_acidity
from formulate.mix import Part

__all__ = [
    "CLASSES",
    "fresh_fruit",
    "fruit_classes",
    "is_acid",
    "main_fruit",
    "may_be_flavour",
    "nuts",
]

#: Classes of ``fruit_classes.csv``.
CLASSES = ("citrus", "berry", "strong")

# Fruit is acid from 2.5 % titratable acid as citric acid in its juice (German guideline).
_ACID_FRUIT = 2.5
_DRIED = {"raisin": "grape", "dried_fig": "fig", "dried_apricot": "apricot", "prune": "plum"}
_PUREE_FRUIT = 0.9

# What a thing of one's own may hold and still be neither fruit nor flavour.
_PLAIN = (
    "water milk_fat egg_fat milk_protein egg_protein sucrose glucose fructose galactose lactose maltose "
    "trehalose glucose_syrup_solids sorbitol mannitol xylitol erythritol maltitol isomalt glycerol salt "
    "milk_minerals stabiliser emulsifier"
).split()


@lru_cache(maxsize=1)
def fruit_classes() -> Mapping[str, str]:
    """Return the class of each fruit that has one, by key.

    Raises
    ------
    TableError
        If a class is unknown, a key is given twice, or a row has no source.
    """
    found: dict[str, str] = {}
    for row in read_rows(data_folder() / "fruit_classes.csv"):
        where = f"fruit_classes.csv, {row['key']}"
        if row["key"] in found:
            raise TableError(f"{where}: the key is given twice.")
        if row["class"] not in CLASSES:
            raise TableError(f"{where}: {row['class']} is not one of {', '.join(CLASSES)}.")
        if not row["source"]:
            raise TableError(f"{where}: the source is missing.")
        found[row["key"]] = row["class"]
    return MappingProxyType(found)


def is_acid(part: Part) -> bool:
    """Say whether a fruit is acid: citrus, or with 2.5 % or more titratable acid as citric acid."""
    citrus = fruit_classes().get(part.table_key) == "citrus"
    return citrus or titratable_acidity(part.composition) >= _ACID_FRUIT


def main_fruit(parts: Sequence[Part]) -> Part | None:
    """Return the fruit that weighs most as fresh; a thing of one's own only if there is no other."""
    fruits = [part for part in parts if fresh_fruit(part) > 0.0]
    fruits = fruits or [part for part in parts if may_be_flavour(part)]
    return max(fruits, key=lambda part: part.share * max(fresh_fruit(part), 1.0), default=None)


def fresh_fruit(part: Part) -> float:
    """Return how much fresh fruit 100 g of an ingredient stand for [g]."""
    if part.kind == "puree":
        return 0.0 if "coconut" in part.table_key else 100.0 * _PUREE_FRUIT
    if part.table_key in _DRIED:
        fresh = ingredient_table()[_DRIED[part.table_key]].composition
        return 100.0 * (100.0 - part.of("water")) / (100.0 - float(fresh[0]))
    return 100.0 if part.kind in ("fruit", "juice") else 0.0


def nuts(part: Part) -> float:
    """Return how much of 100 g of an ingredient is nuts, coconut among them [g]."""
    if part.table_key == "coconut_puree_10":
        return 100.0 * _PUREE_FRUIT
    if part.kind != "nut":
        return 0.0
    return 50.0 if part.table_key.endswith("_praline_50") else 100.0


def may_be_flavour(part: Part) -> bool:
    """Say whether a thing of one's own holds anything that milk, sugar, egg and stabiliser do not."""
    return part.kind == "own" and 100.0 - part.of(*_PLAIN) > 1.0
