"""Allergens: which the law names, which an ingredient holds, how a list makes them stand out.

Sources: Regulation (EU) 1169/2011, Article 21 and Annex II; FDA, Questions and Answers Regarding Food
Allergens, Edition 5 (January 2025), as told by a university and a state agency.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from formulate.messages import Message, Value, message
from formulate.mix import Part

__all__ = ["ALLERGENS", "Piece", "allergens_of", "contains_statement", "emphasised"]

#: The 14 allergens of Annex II of Regulation (EU) 1169/2011 and the 9 of US law, by the words of
#: ``ingredients.csv``, as they stand in a list.
ALLERGENS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "eu": MappingProxyType(
            {
                "gluten": "gluten",
                "crustaceans": "crustaceans",
                "eggs": "egg",
                "fish": "fish",
                "peanuts": "peanuts",
                "soybeans": "soya",
                "milk": "milk",
                "nuts": "nuts",
                "celery": "celery",
                "mustard": "mustard",
                "sesame": "sesame",
                "sulphites": "sulphites",
                "lupin": "lupin",
                "molluscs": "molluscs",
            }
        ),
        "us": MappingProxyType(
            {
                "milk": "milk",
                "eggs": "egg",
                "fish": "fish",
                "crustaceans": "crustacean shellfish",
                "tree_nuts": "tree nuts",
                "peanuts": "peanuts",
                "wheat": "wheat",
                "soybeans": "soy",
                "sesame": "sesame",
            }
        ),
    }
)

# The cereal or nut has to be named (Annex II, points 1 and 8; FALCPA).
_CEREALS: Mapping[str, str] = MappingProxyType({"beer": "barley", "oat_drink": "oats"})
_NUTS = (
    "almond",
    "hazelnut",
    "pistachio",
    "walnut",
    "pecan",
    "macadamia",
    "cashew",
    "pine_nut",
    "brazil_nut",
)
_IN_NAME: Mapping[str, str] = MappingProxyType(
    {
        "milk": r"milk",
        "eggs": r"\begg",
        "peanuts": r"\bpeanuts?",
        "soybeans": r"\bso[yj]a?\b",
        "sesame": r"\bsesame",
        "gluten": r"\b(wheat|rye|barley|oats?|spelt)\b",
        "wheat": r"\bwheat",
        "sulphites": r"\bsulphites?",
    }
)


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text, and whether it is emphasised as an allergen."""

    text: str
    emphasised: bool = False


def allergens_of(part: Part, rules: str) -> tuple[str, ...]:
    """Return the allergens of an ingredient by the table, as words of :data:`ALLERGENS`.

    For a thing of one's own only what its composition shows: milk or egg.  It may hold any other.

    Parameters
    ----------
    part:
        An ingredient of a mix.
    rules:
        ``eu`` or ``us``.

    Returns
    -------
    tuple of str
        In the order of the law; that none is found does not say that there is none.

    Notes
    -----
    Source: Regulation (EU) 1169/2011, Annex II; FDA, Questions and Answers Regarding Food Allergens,
    Edition 5, as told by a university and a state agency.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import parts_of
    >>> mixture = fm.check(fm.load("bay_leaf_ice_cream").with_weights({})).mixture
    >>> [allergens_of(part, "eu") for part in parts_of(mixture, mixture.start)][:2]
    [('milk',), ('milk',)]
    """
    found = part.allergens_eu if rules == "eu" else part.allergens_us
    if found is None:
        milk = part.of("milk_fat", "milk_protein", "lactose", "milk_minerals") > 0.0
        egg = part.of("egg_fat", "egg_protein", "egg_yolk_solids") > 0.0
        return (*(("milk",) if milk else ()), *(("eggs",) if egg else ()))
    return found


def emphasised(part: Part, rules: str) -> list[Piece]:
    """Return the name of an ingredient, its allergens emphasised, in brackets where not in the name."""
    spans: list[tuple[int, int]] = []
    behind: list[str] = []
    for word in allergens_of(part, rules):
        for pattern, shown in _patterns(part, word, rules):
            match = re.search(rf"{pattern}\w*", part.name, re.IGNORECASE)
            if match is None:
                behind.append(shown)
            else:
                spans.append(match.span())
    pieces: list[Piece] = []
    at = 0
    for start, end_ in sorted(spans):
        pieces += [Piece(part.name[at:start])] if start > at else []
        pieces += [Piece(part.name[max(start, at) : end_], True)] if end_ > at else []
        at = max(at, end_)
    pieces += [Piece(part.name[at:])] if at < len(part.name) else []
    for count, shown in enumerate(behind):
        pieces += [Piece(" (" if count == 0 else ", "), Piece(shown, True)]
    return [*pieces, Piece(")")] if behind else pieces


def contains_statement(parts: Sequence[Part]) -> Message | None:
    """Return the ``Contains:`` statement of a US label, ``None`` where there is nothing to name."""
    named = {word for part in parts for word in allergens_of(part, "us")}
    words: list[Value] = []
    for word, shown in ALLERGENS["us"].items():
        if word not in named:
            continue
        if word == "tree_nuts":
            nuts = {_nut(p) for p in parts if "tree_nuts" in allergens_of(p, "us")} - {""}
            words.append(message("us_tree_nuts", name=shown, nuts=tuple(sorted(nuts))))
        else:
            words.append(shown)
    if not words:
        return None
    unknown = any(part.allergens_us is None for part in parts)
    return message("us_contains", allergens=tuple(words), unknown=unknown)


def _patterns(part: Part, word: str, rules: str) -> list[tuple[str, str]]:
    """What to look for in a name, and what to write behind it otherwise."""
    if word in ("nuts", "tree_nuts"):
        nut = _nut(part)
        return [(nut or "nuts", nut or ALLERGENS[rules][word])]
    shown = ALLERGENS[rules][word]
    if word == "gluten":
        shown = _CEREALS.get(part.table_key, shown)
    return [(_IN_NAME.get(word, rf"\b{word}"), shown)]


def _nut(part: Part) -> str:
    key = next((nut for nut in _NUTS if part.table_key.startswith(nut)), "")
    return key.replace("_", " ")
