"""The published rules of names, as ``names.csv`` has them.

Each has its jurisdiction, what is compared with what, and the source of the figure.  ``basis`` is
``seen`` where the figure was read somewhere and ``from memory`` where not.  They are a help for a first
look, not the law: codes of the trade and guidelines are voluntary, standards change, and only the text
in force counts.

Left out: names for reduced, light or low fat, confectionery as a bulky flavour, ripples and coatings.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from formulate.data import data_folder, number, read_rows
from formulate.errors import TableError

__all__ = ["COMPARISONS", "JURISDICTIONS", "QUANTITIES", "Rule", "name_rules"]

#: Jurisdictions of ``names.csv``.
JURISDICTIONS = ("us", "eu", "uk", "de", "anz", "ca")

#: Quantities that a rule may compare.
QUANTITIES = tuple(
    (
        "total_solids fat fat_of_rest milk_fat milk_fat_of_rest non_milk_fat foreign_fat "
        "added_fat protein protein_of_rest milk_protein foreign_protein msnf nonfat_milk_solids "
        "milk_solids milk_solids_of_rest whey_share caseinate egg_yolk_solids "
        "egg_yolk_solids_of_rest milk_ingredients other_milk egg_but_white whole_milk egg_of_milk "
        "added_water fruit nuts acidity_as_lactic weight_per_gallon solids_per_gallon "
        "solids_per_litre milk_fat_per_litre"
    ).split()
)

#: How a rule compares.
COMPARISONS = ("min", "max", "above", "below")

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
