"""The list of ingredients of a label: by weight, with functions of additives and what a pack still adds.

Sources: Regulation (EU) 1169/2011, Article 18, Annexes VII and VIII; Commission Notice on the quantity
of ingredients (2017/C 393/05); 21 CFR 101.4.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from formulate.labels.allergens import Piece, allergens_of, emphasised
from formulate.messages import Message, message
from formulate.mix import Part

__all__ = ["FUNCTIONS", "Item", "ingredient_list", "is_compound", "shares_to_name"]

# Kinds and keys whose pack has a list of its own.
_COMPOUND_KINDS = ("puree", "liqueur", "plant_drink")
_COMPOUND = re.compile(
    r"chocolate|couverture|praline|almond_paste|_sugared|condensed|salted|vanilla_ex"
)

#: What additives of a kind do, which is named with them (Annex VII, part C).  Gelatine and cornflour
#: are food.
FUNCTIONS: Mapping[str, str] = MappingProxyType(
    {"stabiliser": "Stabiliser", "emulsifier": "Emulsifier", "acid": "Acid", "polyol": "Sweetener"}
)
_FUNCTION_OF = {
    "gelatine": "",
    "cornstarch": "",
    "ascorbic_acid": "Antioxidant",
    "glycerol": "Humectant",
}

_NAMED_KINDS = (
    "fruit",
    "juice",
    "puree",
    "vegetable",
    "nut",
    "cocoa",
    "herb",
    "spice",
    "coffee_tea",
)


@dataclass(frozen=True, slots=True)
class Item:
    """One ingredient in the list.

    Attributes
    ----------
    pieces:
        Its name, allergens emphasised.
    percent:
        Share of the weights as weighed [%].
    allergens:
        Words of :data:`formulate.labels.allergens.ALLERGENS`, as far as they are known here.
    complete:
        Whether the table knows them; not so for a thing of one's own, whatever its composition shows.
    notes:
        What is still to do.
    """

    key: str
    pieces: tuple[Piece, ...]
    percent: float
    allergens: tuple[str, ...]
    complete: bool
    notes: tuple[Message, ...] = ()


def ingredient_list(parts: Sequence[Part], rules: str) -> tuple[Item, ...]:
    """Return the list of ingredients by weight, heaviest first; ``rules`` is ``eu`` or ``us``."""
    return tuple(_item(part, rules) for part in sorted(parts, key=lambda part: -part.share))


def _item(part: Part, rules: str) -> Item:
    own = part.kind == "own"
    function = (
        _FUNCTION_OF.get(part.table_key, FUNCTIONS.get(part.kind, "")) if rules == "eu" else ""
    )
    pieces = [Piece(f"{function}: ")] if function else []
    pieces += emphasised(part, rules)
    notes = []
    if own:
        notes.append(message("allergens_not_known"))
    if own or is_compound(part):
        notes.append(message("list_of_pack"))
    words = allergens_of(part, rules)
    return Item(part.key, tuple(pieces), 100.0 * part.share, words, not own, tuple(notes))


def is_compound(part: Part) -> bool:
    """Say whether an ingredient has a list of ingredients of its own on its pack."""
    return part.kind in _COMPOUND_KINDS or _COMPOUND.search(part.table_key) is not None


def shares_to_name(parts: Sequence[Part]) -> tuple[tuple[str, float], ...]:
    """Return name and share [%] of the ingredients that a name of the food may point to."""
    return tuple((p.name, 100.0 * p.share) for p in parts if p.kind in (*_NAMED_KINDS, "own"))
