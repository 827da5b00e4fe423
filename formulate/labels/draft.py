"""The label of a mix: nutrition declaration, list of ingredients with allergens, names it may bear.

A draft for somebody who knows the rules in force and has every pack at hand, not a finished label.  It
knows the recipe and the tables and nothing else: no traces from the kitchen, no change of recipe by a
supplier, nothing that evaporates.

Sources: Regulation (EU) 1169/2011, Article 22 and Annex III; 21 CFR 101.9 and 101.12.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.labels.allergens import ALLERGENS, allergens_of, contains_statement
from formulate.labels.declaration import Line, eu_lines, us_lines
from formulate.labels.ingredient_lists import (
    FUNCTIONS,
    Item,
    ingredient_list,
    is_compound,
    shares_to_name,
)
from formulate.labels.mix_nutrition import nutrition
from formulate.labels.naming import NameVerdict, judge_parts
from formulate.mix import Mixture, Part, parts_of, strained_parts
from formulate.timing import density_with_overrun, mix_density

__all__ = ["RULES", "SERVING_ML", "Label", "label"]

#: Sets of rules, and the jurisdictions whose names are judged with them.
RULES: Mapping[str, tuple[str, ...]] = MappingProxyType({"eu": ("eu", "uk", "de"), "us": ("us",)})

#: Two thirds of a cup (21 CFR 101.12, ice cream and other frozen desserts, since 2016), a cup being
#: 240 mL on labels (101.9(b)(5)); both from memory.
SERVING_ML = 160.0

_LAXATIVE_ABOVE = 10.0  # % of added polyols; Annex III


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

    Returns
    -------
    Label

    Raises
    ------
    InputError
        If the rules are unknown, or weights, portion or overrun cannot be.

    Examples
    --------
    >>> import formulate as fm
    >>> mixture = fm.check(fm.load("damson_sorbet")).mixture
    >>> label(mixture, mixture.start, portion_g=60.0).portion_words
    '60 g'
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
    items = ingredient_list(parts, rules)
    strained = strained_parts(mix, weights)
    everything = [*ordered, *strained]
    named = {word for item in items for word in item.allergens}
    named |= {word for part in strained for word in allergens_of(part, rules)}
    unknown = tuple(part.name for part in everything if part.kind == "own")
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
        contains=contains_statement(everything) if rules == "us" else "",
        unknown_allergens=unknown,
        quantities=shares_to_name(ordered),
        statements=(*_statements(ordered, rules), *_strained(strained, rules)),
        names=judge_parts(parts, overrun_percent, RULES[rules]),
        to_do=_to_do(ordered, rules, unknown),
    )


def _strained(parts: Sequence[Part], rules: str) -> tuple[str, ...]:
    """What was infused and strained out is no longer there, but its allergens may be."""
    return tuple(
        f"Infused and strained out: {part.name}, with {', '.join(words)}: allergens pass over."
        for part in parts
        if (words := [ALLERGENS[rules][word] for word in allergens_of(part, rules)])
    )


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
    compound = [part.name for part in parts if is_compound(part)]
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
                "Beer and oat drink count as barley and oats. Wheat beer holds wheat, and oats may carry "
                "some: read their packs."
            )
        if any("sulphites" in (part.allergens_eu or ()) for part in parts):
            found.append("Sulphites from 10 ppm are declared too, though not among the nine.")
        return tuple(found)
    if any("sulphites" in (part.allergens_eu or ()) for part in parts):
        found.append("Sulphites count above 10 mg/kg in what is sold: ask for the figure.")
    if any("gluten" in (part.allergens_eu or ()) for part in parts):
        found.append("Name the cereal of the gluten as the pack does.")
    if any(part.kind in FUNCTIONS for part in parts):
        found.append("Check what each additive does here, and whether it may be used in ices.")
    if any(part.kind == "polyol" for part in parts):
        found.append(
            "Polyols as sweeteners are for ices with reduced energy or no added sugar (Regulation "
            "1333/2008, from memory): check."
        )
    found.append("Still to come: net quantity, date, storage, business and, where asked, origin.")
    return tuple(found)
