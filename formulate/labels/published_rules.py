"""The published rules of names, as ``names.csv`` has them.

Each has its jurisdiction, what is compared with what, and the source of the figure.  ``basis`` is
``seen`` where the figure was read somewhere and ``from memory`` where not.  They are a help for a first
look, not the law: codes of the trade and guidelines are voluntary, standards change, and only the text
in force counts.

Left out: names for reduced, light or low fat, confectionery as a bulky flavour, ripples and coatings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows
from formulate.errors import TableError

__all__ = ["COMPARISONS", "JURISDICTIONS", "QUANTITIES", "Rule", "name_rules"]

#: Jurisdictions of ``names.csv`` in words.
JURISDICTIONS: Mapping[str, str] = MappingProxyType(
    {
        "us": "United States, federal standard",
        "eu": "European trade code (voluntary)",
        "uk": "United Kingdom, trade guidance",
        "de": "Germany, guideline",
        "anz": "Australia and New Zealand, food standard",
        "ca": "Canada, federal regulation",
    }
)

#: Quantities that a rule may compare, as they stand in a sentence.
QUANTITIES: Mapping[str, str] = MappingProxyType(
    {
        "total_solids": "total solids are",
        "fat": "fat is",
        "fat_of_rest": "fat of what is not bulky flavour is",
        "milk_fat": "milk fat is",
        "milk_fat_of_rest": "milk fat of what is not bulky flavour is",
        "non_milk_fat": "fat other than milk fat is",
        "foreign_fat": "fat from oils, fats and plant drinks is",
        "added_fat": "milk fat and fat from oils, fats and plant drinks is",
        "protein": "protein is",
        "protein_of_rest": "protein of what is not bulky flavour is",
        "milk_protein": "milk protein is",
        "foreign_protein": "protein from plant drinks and isolates is",
        "msnf": "milk solids-not-fat are",
        "nonfat_milk_solids": "nonfat milk solids are",
        "milk_solids": "milk solids with their fat are",
        "milk_solids_of_rest": "milk solids of what is not bulky flavour are",
        "whey_share": "whey makes up",
        "caseinate": "caseinate is",
        "egg_yolk_solids": "egg-yolk solids are",
        "egg_yolk_solids_of_rest": "egg-yolk solids of what is not bulky flavour are",
        "milk_ingredients": "ingredients of milk weigh",
        "other_milk": "dairy that is not goat's weighs",
        "egg_but_white": "egg other than white weighs",
        "whole_milk": "milk, counted as whole milk, is",
        "egg_of_milk": "the egg makes up",
        "added_water": "added water is",
        "fruit": "fruit, counted as fresh, is",
        "nuts": "nuts are",
        "acidity_as_lactic": "acidity is about",
        "weight_per_gallon": "a gallon weighs",
        "solids_per_gallon": "a gallon holds solids of",
        "solids_per_litre": "a litre holds solids of",
        "milk_fat_per_litre": "a litre holds milk fat of",
    }
)

#: How a rule compares, as it stands in a sentence.
COMPARISONS: Mapping[str, str] = {
    "min": "at least",
    "max": "at most",
    "above": "above",
    "below": "below",
}

_SLIDING = "sliding"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of one name, as ``names.csv`` has it.

    ``limit`` is ``None`` for the sliding floor of nonfat milk solids and for what composition cannot
    judge (``comparison`` is ``unjudged`` then, and ``text`` says what it asks).
    """

    jurisdiction: str
    name: str
    rule: str
    quantity: str
    comparison: str
    limit: float | None
    unit: str
    applies: str
    basis: str
    source: str
    text: str


@lru_cache(maxsize=1)
def name_rules() -> tuple[Rule, ...]:
    """Return the rules of ``names.csv`` in its order.

    Raises
    ------
    TableError
        If a row compares something unknown, or a limit is missing.
    """
    found = []
    for row in read_rows(data_folder() / "names.csv"):
        where = f"names.csv, {row['jurisdiction']}, {row['name']}, {row['rule']}"
        judged = row["comparison"] != "unjudged"
        if row["jurisdiction"] not in JURISDICTIONS:
            raise TableError(f"{where}: the jurisdiction is not known.")
        if judged and (row["comparison"] not in COMPARISONS or row["quantity"] not in QUANTITIES):
            raise TableError(f"{where}: quantity or comparison is not known.")
        if row["basis"] not in ("seen", "from memory") or not row["source"]:
            raise TableError(f"{where}: the source or its basis is missing.")
        limit = number(row, "value", where) if judged and row["value"] != _SLIDING else None
        known = {key: row[key] for key in Rule.__dataclass_fields__ if key != "limit"}
        found.append(Rule(limit=limit, **known))
    return tuple(found)
