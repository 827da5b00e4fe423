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
from formulate.messages import Message, message
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
    portion_g, portion:
        One portion [g], ``None`` for none, and what it is.
    per_100_g, per_portion:
        Lines of the declaration; US panels are per portion only, and ``per_100_g`` is empty.
    items:
        Ingredients, heaviest first.
    allergens:
        Words of :data:`ALLERGENS`, in the order of the law.
    contains:
        The ``Contains:`` statement (US), else ``None``.
    unknown_allergens:
        Ingredients whose packs have to be read for allergens.
    quantities:
        Name and share [%] of ingredients that a name of the food may point to.
    statements:
        What may have to stand on the label.
    names:
        What it may be called.
    to_do:
        What is still missing.
    """

    name: str
    rules: str
    overrun_percent: float
    portion_g: float | None
    portion: Message | None
    per_100_g: tuple[Line, ...]
    per_portion: tuple[Line, ...]
    items: tuple[Item, ...]
    allergens: tuple[str, ...]
    contains: Message | None
    unknown_allergens: tuple[str, ...]
    quantities: tuple[tuple[str, float], ...]
    statements: tuple[Message, ...]
    names: tuple[NameVerdict, ...]
    to_do: tuple[Message, ...]


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
    >>> label(mixture, mixture.start, portion_g=60.0).portion.code
    'portion_by_weight'
    >>> label(mixture, mixture.start, portion_g=60.0).portion_g
    60.0
    """
    if rules not in RULES:
        hint = nearest(rules, RULES) or f"Known: {', '.join(RULES)}."
        raise InputError("rules", f'"{rules}" is not known here', hint)
    if overrun_percent is None:
        serving = mix.recipe.serving
        overrun_percent = 0.0 if serving is None else serving.overrun_percent
    parts = parts_of(mix, weights)
    facts = nutrition(parts)
    portion = None if portion_g is None else message("portion_by_weight", grams=portion_g)
    if rules == "us" and portion_g is None:
        density = density_with_overrun(mix_density(facts.composition), overrun_percent)
        portion_g = float(round(SERVING_ML * density))
        portion = message("portion_of_cup", grams=portion_g, overrun_percent=overrun_percent)
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
        portion=portion,
        per_100_g=eu_lines(facts) if rules == "eu" else (),
        per_portion=() if portion_g is None else lines(facts, portion_g),
        items=items,
        allergens=tuple(word for word in ALLERGENS[rules] if word in named),
        contains=contains_statement(everything) if rules == "us" else None,
        unknown_allergens=unknown,
        quantities=shares_to_name(ordered),
        statements=(*_statements(ordered, rules), *_strained(strained, rules)),
        names=judge_parts(parts, overrun_percent, RULES[rules]),
        to_do=_to_do(ordered, rules, unknown),
    )


def _strained(parts: Sequence[Part], rules: str) -> tuple[Message, ...]:
    """What was infused and strained out is no longer there, but its allergens may be."""
    return tuple(
        message("allergens_pass_over", key=part.key, name=part.name, allergens=tuple(words))
        for part in parts
        if (words := [ALLERGENS[rules][word] for word in allergens_of(part, rules)])
    )


def _statements(parts: Sequence[Part], rules: str) -> tuple[Message, ...]:
    added = 100.0 * sum(part.share for part in parts if part.kind == "polyol")
    if rules != "eu" or added <= 0.0:
        return ()
    found = [message("with_sweeteners")]
    if added > _LAXATIVE_ABOVE:
        found.append(message("may_be_laxative", value=added, limit=_LAXATIVE_ABOVE))
    return tuple(found)


def _to_do(parts: Sequence[Part], rules: str, unknown: tuple[str, ...]) -> tuple[Message, ...]:
    keys = {part.key for part in parts}
    named = {word for part in parts for word in part.allergens_eu or ()}
    compound = tuple(part.name for part in parts if is_compound(part))
    found = [message("to_do_read_packs", names=unknown)] if unknown else []
    if compound:
        found.append(message("to_do_lists_of_packs", names=compound))
    us, eu = rules == "us", rules != "us"
    codes = {
        "to_do_tap_water": "water" in keys,
        "to_do_us_not_here": us,
        "to_do_us_cereals": us and bool(keys & {"beer", "oat_drink"}),
        "to_do_us_sulphites": us and "sulphites" in named,
        "to_do_sulphites": eu and "sulphites" in named,
        "to_do_cereal": eu and "gluten" in named,
        "to_do_additives": eu and any(part.kind in FUNCTIONS for part in parts),
        "to_do_polyols": eu and any(part.kind == "polyol" for part in parts),
        "to_do_rest": eu,
    }
    return (*found, *(message(code) for code, due in codes.items() if due))
