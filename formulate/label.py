"""The label of a mix: nutrition declaration, list of ingredients with allergens, names it may bear.

A draft for somebody who knows the rules in force and has every pack at hand, not a finished label.  It
knows the recipe and the tables and nothing else: no traces from the kitchen, no change of recipe by a
supplier, nothing that evaporates.  Text is UTF-8; emphasis is upper case in text and a flag in data.

Sources: Regulation (EU) 1169/2011, Articles 18, 21 and 22, Annexes II, VII and VIII; Commission Notice
on the quantity of ingredients (2017/C 393/05); 21 CFR 101.4, 101.9 and 101.12; FDA, Questions and Answers
Regarding Food Allergens, Edition 5 (January 2025), as told by a university and a state agency.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from formulate.density import density_with_overrun, mix_density
from formulate.errors import InputError, nearest
from formulate.mixture import Mixture
from formulate.naming import JURISDICTIONS, NameVerdict, judge_parts
from formulate.nutrition import (
    Array,
    Line,
    Part,
    eu_lines,
    nutrition,
    parts_of,
    us_lines,
)

__all__ = [
    "ALLERGENS",
    "CAUTIONS",
    "RULES",
    "SERVING_ML",
    "Item",
    "Label",
    "Piece",
    "allergens_of",
    "as_data",
    "as_text",
    "label",
]

#: Sets of rules, and the jurisdictions whose names are judged with them.
RULES: Mapping[str, tuple[str, ...]] = MappingProxyType({"eu": ("eu", "uk", "de"), "us": ("us",)})

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

#: Two thirds of a cup (21 CFR 101.12, ice cream and other frozen desserts, since 2016), a cup being
#: 240 mL on labels (101.9(b)(5)); both from memory.
SERVING_ML = 160.0

#: Shown with every label.
CAUTIONS: tuple[str, ...] = (
    "A draft: the rules where it is sold, and each pack, come first. Have it checked before it is used.",
    "Allergens are those of the recipe by the table. Ask the supplier, and think of traces from shared "
    "tools, churns and scoops; what this list does not name may still be in it.",
    "Figures are calculated for the mix as weighed, from food tables and typical makes.",
)

# What the table of ingredients does not say (yet): pine nuts are among FDA's twelve tree nuts (Questions
# and Answers, Edition 5, Table 1).
_ALSO_US: Mapping[str, str] = MappingProxyType({"pine_nut": "tree_nuts"})

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

# Kinds and keys whose pack has a list of its own.
_COMPOUND_KINDS = ("puree", "liqueur", "plant_drink")
_COMPOUND = re.compile(
    r"chocolate|couverture|praline|almond_paste|_sugared|condensed|salted|vanilla_ex"
)

# Additives are named with what they do (Annex VII, part C).  Gelatine and cornflour are food.
_FUNCTIONS: Mapping[str, str] = MappingProxyType(
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
_LAXATIVE_ABOVE = 10.0


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text, and whether it is emphasised as an allergen."""

    text: str
    emphasised: bool = False


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
        Words of :data:`ALLERGENS`, as far as they are known here.
    complete:
        Whether the table knows them; not so for a thing of one's own, whatever its composition shows.
    note:
        What is still to do, or "".
    """

    key: str
    pieces: tuple[Piece, ...]
    percent: float
    allergens: tuple[str, ...]
    complete: bool
    note: str = ""

    @property
    def text(self) -> str:
        """The name with its allergens in upper case."""
        return "".join(p.text.upper() if p.emphasised else p.text for p in self.pieces)


@dataclass(frozen=True, slots=True)
class Label:
    """Everything on a draft label.

    Attributes
    ----------
    rules:
        ``eu`` or ``us``.
    portion_g, portion_words:
        One portion [g], ``None`` for none, and what it is.
    per_100_g, per_portion:
        Lines of the declaration; US panels are per portion only, and ``per_100_g`` is empty.
    items:
        Ingredients, heaviest first.
    allergens:
        Words of :data:`ALLERGENS`, in the order of the law.
    contains:
        The ``Contains:`` statement (US), else "".
    unknown_allergens:
        Ingredients whose packs have to be read for allergens.
    quantities:
        Name and share [%] of ingredients that a name of the food may point to.
    statements:
        Sentences that may have to stand on the label.
    names:
        What it may be called.
    to_do:
        What is still missing.
    """

    name: str
    rules: str
    overrun_percent: float
    portion_g: float | None
    portion_words: str
    per_100_g: tuple[Line, ...]
    per_portion: tuple[Line, ...]
    items: tuple[Item, ...]
    allergens: tuple[str, ...]
    contains: str
    unknown_allergens: tuple[str, ...]
    quantities: tuple[tuple[str, float], ...]
    statements: tuple[str, ...]
    names: tuple[NameVerdict, ...]
    to_do: tuple[str, ...]


def label(
    mix: Mixture,
    weights: Array,
    rules: str = "eu",
    portion_g: float | None = None,
    overrun_percent: float | None = None,
) -> Label:
    """Return the draft label of a mix.

    Parameters
    ----------
    mix, weights:
        The recipe met with the tables, and grams per ingredient, shape (ingredients,).
    rules:
        One of :data:`RULES`.
    portion_g:
        One portion [g], above 0 to 10000.  ``None``: none with ``eu``; with ``us`` what two thirds of a
        cup weigh at the overrun.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300; ``None``: that of the recipe's serving, else 0.

    Raises
    ------
    InputError
        If the rules are unknown, or weights, portion or overrun cannot be.
    """
    if rules not in RULES:
        hint = nearest(rules, RULES) or f"Known: {', '.join(RULES)}."
        raise InputError("rules", f'"{rules}" is not known here', hint)
    if overrun_percent is None:
        serving = mix.recipe.serving
        overrun_percent = 0.0 if serving is None else serving.overrun_percent
    parts = parts_of(mix, weights)
    facts = nutrition(parts)
    words = f"{portion_g:g} g" if portion_g is not None else ""
    if rules == "us" and portion_g is None:
        density = density_with_overrun(mix_density(facts.composition), overrun_percent)
        portion_g = float(round(SERVING_ML * density))
        words = f"2/3 cup ({portion_g:g} g at {overrun_percent:g} % overrun)"
    lines = eu_lines if rules == "eu" else us_lines
    ordered = sorted(parts, key=lambda part: -part.share)
    items = tuple(_item(part, rules) for part in ordered)
    named = {word for item in items for word in item.allergens}
    unknown = tuple(part.name for part in ordered if part.kind == "own")
    return Label(
        name=mix.recipe.name,
        rules=rules,
        overrun_percent=overrun_percent,
        portion_g=portion_g,
        portion_words=words,
        per_100_g=eu_lines(facts) if rules == "eu" else (),
        per_portion=() if portion_g is None else lines(facts, portion_g),
        items=items,
        allergens=tuple(word for word in ALLERGENS[rules] if word in named),
        contains=_contains(ordered, named, unknown) if rules == "us" else "",
        unknown_allergens=unknown,
        quantities=_quantities(ordered),
        statements=_statements(ordered, rules),
        names=judge_parts(parts, overrun_percent, RULES[rules]),
        to_do=_to_do(ordered, rules, unknown),
    )


def allergens_of(part: Part, rules: str) -> tuple[str, ...]:
    """Return the allergens of an ingredient by the table.

    For a thing of one's own only what its composition shows: milk or egg.  It may hold any other.
    """
    found = part.allergens_eu if rules == "eu" else part.allergens_us
    if found is None:
        milk = part.of("milk_fat", "milk_protein", "lactose", "milk_minerals") > 0.0
        egg = part.of("egg_fat", "egg_protein", "egg_yolk_solids") > 0.0
        return (*(("milk",) if milk else ()), *(("eggs",) if egg else ()))
    also = _ALSO_US.get(part.key) if rules == "us" else None
    return (*found, also) if also is not None and also not in found else found


def as_text(found: Label) -> str:
    """Return a label as plain text, lines of any length."""
    blocks = [f"{found.name} (draft label, rules: {found.rules})"]
    if found.per_100_g:
        blocks.append(_table("Nutrition per 100 g", found.per_100_g))
    if found.per_portion:
        blocks.append(_table(f"Nutrition per portion: {found.portion_words}", found.per_portion))
    listed = "; ".join(item.text for item in found.items)
    blocks.append(f"Ingredients: {listed}.")
    blocks += [found.contains] if found.contains else []
    if found.unknown_allergens:
        blocks.append(f"Allergens not known, read the pack: {', '.join(found.unknown_allergens)}.")
    blocks += found.statements
    if found.quantities:
        shares = ", ".join(f"{name} {share:.3g} %" for name, share in found.quantities)
        blocks.append(
            f"If name or picture points to one of these, its share goes beside it: {shares}."
        )
    for key in RULES[found.rules]:
        verdicts = [v.sentence for v in found.names if v.jurisdiction == key]
        blocks.append("\n".join([f"Names, {JURISDICTIONS[key]}:", *(f"  {v}" for v in verdicts)]))
    blocks.append("\n".join(["Still to do:", *(f"  {line}" for line in found.to_do)]))
    return "\n\n".join([*blocks, "\n".join(CAUTIONS)])


def as_data(found: Label) -> dict[str, Any]:
    """Return a label as plain data for JSON."""
    return {
        "name": found.name,
        "rules": found.rules,
        "overrun_percent": found.overrun_percent,
        "portion_g": found.portion_g,
        "portion": found.portion_words or None,
        "per_100_g": [_line_data(line) for line in found.per_100_g],
        "per_portion": [_line_data(line) for line in found.per_portion],
        "ingredients": [
            {
                "key": item.key,
                "text": item.text,
                "pieces": [{"text": p.text, "emphasised": p.emphasised} for p in item.pieces],
                "percent": item.percent,
                "allergens": list(item.allergens),
                "allergens_complete": item.complete,
                "note": item.note or None,
            }
            for item in found.items
        ],
        "allergens": list(found.allergens),
        "contains": found.contains or None,
        "unknown_allergens": list(found.unknown_allergens),
        "quantities": [{"name": name, "percent": share} for name, share in found.quantities],
        "statements": list(found.statements),
        "names": [_verdict_data(verdict) for verdict in found.names],
        "to_do": list(found.to_do),
        "cautions": list(CAUTIONS),
    }


def _table(title: str, lines: Sequence[Line]) -> str:
    rows = []
    for line in lines:
        value = line.printed if line.printed == "not known" else f"{line.printed} {line.unit}"
        rows.append(f"  {line.name:24}{value}{f'   ({line.note})' if line.note else ''}")
    return "\n".join([title, *rows])


def _line_data(line: Line) -> dict[str, Any]:
    return {
        "key": line.key,
        "name": line.name,
        "unit": line.unit,
        "printed": line.printed,
        "value": line.amount.value,
        "low": line.amount.low,
        "high": line.amount.high,
        "note": line.note or None,
    }


def _verdict_data(verdict: NameVerdict) -> dict[str, Any]:
    return {
        "jurisdiction": verdict.jurisdiction,
        "name": verdict.name,
        "status": verdict.status,
        "sentence": verdict.sentence,
        "rules": [
            {
                "rule": check.rule.rule,
                "status": check.status,
                "low": check.low,
                "high": check.high,
                "comparison": check.rule.comparison,
                "limit": check.limit,
                "unit": check.rule.unit,
                "miss": check.miss,
                "sentence": check.sentence,
                "basis": check.rule.basis,
                "source": check.rule.source,
            }
            for check in verdict.checks
        ],
    }


def _item(part: Part, rules: str) -> Item:
    words = allergens_of(part, rules)
    own = part.kind == "own"
    function = _FUNCTION_OF.get(part.key, _FUNCTIONS.get(part.kind, "")) if rules == "eu" else ""
    pieces = [Piece(f"{function}: ")] if function else []
    pieces += _emphasised(part, words, rules)
    notes = []
    if own:
        pieces.append(Piece(" [allergens: read the pack]"))
        notes.append("Its allergens are not known here: read the pack.")
    if own or _is_compound(part):
        notes.append("The pack's own list goes here, in brackets.")
    return Item(part.key, tuple(pieces), 100.0 * part.share, words, not own, " ".join(notes))


def _is_compound(part: Part) -> bool:
    return part.kind in _COMPOUND_KINDS or _COMPOUND.search(part.key) is not None


def _emphasised(part: Part, words: Sequence[str], rules: str) -> list[Piece]:
    """The name of an ingredient with its allergens emphasised, in brackets where the name has none."""
    spans: list[tuple[int, int]] = []
    behind: list[str] = []
    for word in words:
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


def _patterns(part: Part, word: str, rules: str) -> list[tuple[str, str]]:
    """What to look for in a name, and what to write behind it otherwise."""
    if word in ("nuts", "tree_nuts"):
        nut = _nut(part)
        return [(nut or "nuts", nut or ALLERGENS[rules][word])]
    shown = ALLERGENS[rules][word]
    if word == "gluten":
        shown = _CEREALS.get(part.key, shown)
    return [(_IN_NAME.get(word, rf"\b{word}"), shown)]


def _nut(part: Part) -> str:
    key = next((nut for nut in _NUTS if part.key.startswith(nut)), "")
    return key.replace("_", " ")


def _contains(parts: Sequence[Part], named: set[str], unknown: Sequence[str]) -> str:
    words = []
    for word, shown in ALLERGENS["us"].items():
        if word not in named:
            continue
        if word == "tree_nuts":
            nuts = {_nut(p) for p in parts if "tree_nuts" in allergens_of(p, "us")}
            shown = f"{shown} ({', '.join(sorted(nut for nut in nuts if nut))})"
        words.append(shown)
    if not words:
        return ""
    more = " and what the packs marked above say" if unknown else ""
    return f"Contains: {', '.join(words)}{more}."


def _quantities(parts: Sequence[Part]) -> tuple[tuple[str, float], ...]:
    return tuple((p.name, 100.0 * p.share) for p in parts if p.kind in (*_NAMED_KINDS, "own"))


def _statements(parts: Sequence[Part], rules: str) -> tuple[str, ...]:
    added = 100.0 * sum(part.share for part in parts if part.kind == "polyol")
    if rules != "eu" or added <= 0.0:
        return ()
    found = ["With sweetener(s): beside the name, since a polyol sweetens it (Annex III)."]
    if added > _LAXATIVE_ABOVE:
        found.append(
            "Excessive consumption may produce laxative effects. (More than 10 % added polyols, "
            f"here {added:.3g} %; Annex III.)"
        )
    return tuple(found)


def _to_do(parts: Sequence[Part], rules: str, unknown: Sequence[str]) -> tuple[str, ...]:
    found = []
    if unknown:
        found.append(f"Read the packs for allergens and figures: {', '.join(unknown)}.")
    compound = [part.name for part in parts if _is_compound(part)]
    if compound:
        found.append(f"Put in the packs' own lists of ingredients: {', '.join(compound)}.")
    keys = {part.key for part in parts}
    if "water" in keys:
        found.append("Sodium of the tap water is not counted; softened water can hold much.")
    if rules == "us":
        found.append(
            "Not here: trans fat, vitamin D, calcium, iron, potassium and the % Daily Values."
        )
        if keys & {"beer", "oat_drink"}:
            found.append(
                "The table calls beer and oat drink wheat, perhaps too much: read their packs."
            )
        if any("sulphites" in (part.allergens_eu or ()) for part in parts):
            found.append("Sulphites from 10 ppm are declared too, though not among the nine.")
        return tuple(found)
    if any("sulphites" in (part.allergens_eu or ()) for part in parts):
        found.append("Sulphites count above 10 mg/kg in what is sold: ask for the figure.")
    if any("gluten" in (part.allergens_eu or ()) for part in parts):
        found.append("Name the cereal of the gluten as the pack does.")
    if any(part.kind in _FUNCTIONS for part in parts):
        found.append("Check what each additive does here, and whether it may be used in ices.")
    if any(part.kind == "polyol" for part in parts):
        found.append(
            "Polyols as sweeteners are for ices with reduced energy or no added sugar (Regulation "
            "1333/2008, from memory): check."
        )
    found.append("Still to come: net quantity, date, storage, business and, where asked, origin.")
    return tuple(found)
