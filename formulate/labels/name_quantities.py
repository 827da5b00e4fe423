"""What the rules of names compare, of one mix: each quantity with its range, and what sort of mix it is.

* From the weights as weighed.  A thing of one's own has no kind: what it might be gives a range.
* Titratable acidity is estimated from the acids of the table: titrate it.
* Where there are bulky flavours (fruit, juice, nuts, cocoa) their own weight is taken off.  The factors
  of 7 CFR 58.2825 (chocolate 2.5, fruit and nuts 1.4) belong to a grade, not to the standard: left out.
* Milk fat of a chocolate counts; whether it does is not settled here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from formulate.ingredients import ingredient_table, properties, titratable_acidity
from formulate.labels.fruit import (
    fresh_fruit,
    fruit_classes,
    is_acid,
    main_fruit,
    may_be_flavour,
    nuts,
)
from formulate.messages import Message, message
from formulate.mix import Part, mean_composition
from formulate.timing import density_with_overrun, mix_density, pounds_per_gallon

__all__ = ["Value", "quantities", "traits"]

_WHEY = ("acid_whey_powder", "whey_powder", "whey_protein_concentrate_80")
_GOAT = ("goat_milk", "goat_cheese")
_WHOLE_MILK = ("whole_milk", "goat_milk", "sheep_milk", "lactose_free_milk")
_FLAVOUR_KINDS = ("fruit", "juice", "puree", "nut", "cocoa")
_FOREIGN_KINDS = ("fat", "plant_drink", "protein")
_CASEINATE = "sodium_caseinate"
_ALL_BUT_NOTHING = 99.9  # so that a mix of flavours alone has a rest
# Whole milk of the German guideline: 3.5 % fat and 8.5 % milk solids-not-fat, 1.03 kg/L; from memory.
_MILK_FAT, _MILK_REST, _MILK_DENSITY = 3.5, 8.5, 1.03


@dataclass(frozen=True, slots=True)
class Value:
    """A quantity of the mix: range, whether it is only an estimate, and what to know of it."""

    low: float
    high: float
    estimated: bool = False
    notes: tuple[Message, ...] = ()


def quantities(parts: Sequence[Part], overrun_percent: float) -> dict[str, Value]:
    """Return every quantity that a rule may compare, and ``gallon_without_air``, by key.

    Parameters
    ----------
    parts:
        See :func:`formulate.mix.parts.parts_of`.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300.
    """
    mean = mean_composition(parts)
    known = properties()
    plain = {
        key: float(mean @ known[key].weights)
        for key in ("total_solids", "fat", "milk_fat", "protein", "milk_protein", "egg_yolk_solids")
    }
    milk = _milk(parts, plain["milk_fat"])
    found = {key: _exactly(value) for key, value in {**plain, **milk}.items()}
    found["non_milk_fat"] = _exactly(plain["fat"] - plain["milk_fat"])
    found |= _foreign(parts, plain["milk_fat"])
    found |= _beside_flavours(parts, {**plain, **milk})
    found |= _ingredients(parts, titratable_acidity(mean, "lactic_acid"))
    return found | _with_air(mix_density(mean), plain, overrun_percent)


def traits(parts: Sequence[Part], values: Mapping[str, Value]) -> frozenset[str]:
    """Return the words of this mix among those that a rule may be limited to (column ``applies``)."""
    found = {"bulky" if any(part.kind in _FLAVOUR_KINDS for part in parts) else "plain"}
    if values["caseinate"].high > 0.0:
        found.add("caseinate")
    main = main_fruit(parts)
    if main is None:
        found.add("no_fruit")
        found.add("nuts_only" if values["nuts"].low > 0.0 else "neither")
        return frozenset(found)
    kind = fruit_classes().get(main.key, "")
    acid = is_acid(main)
    found.add("fruit")
    found.add({"citrus": "us_citrus", "berry": "us_berry"}.get(kind, "us_other_fruit"))
    found.add("acid_fruit" if acid or kind == "strong" else "ordinary_fruit")
    found.add("de_acid" if acid else "de_ordinary")
    if kind != "citrus":
        found.add("not_citrus")
    return frozenset(found)


def _sum(
    parts: Sequence[Part], figure: Callable[[Part], float], some: Callable[[Part], bool]
) -> float:
    """The sum of a figure [g per 100 g] over some ingredients, of the whole mix."""
    return sum(part.share * figure(part) for part in parts if some(part))


def _weight(parts: Sequence[Part], some: Callable[[Part], bool]) -> float:
    """What some ingredients weigh [% of the mix]."""
    return _sum(parts, lambda _: 100.0, some)


def _any(_: Part) -> bool:
    return True


def _own(part: Part) -> bool:
    return part.kind == "own"


def _milk(parts: Sequence[Part], milk_fat: float) -> dict[str, float]:
    nonfat = _sum(parts, _nonfat_milk, lambda part: part.table_key != _CASEINATE)
    whey = _sum(parts, _nonfat_milk, lambda part: part.table_key in _WHEY)
    own = _weight(parts, lambda part: _own(part) and _holds_milk(part))
    return {
        "msnf": _sum(parts, _nonfat_milk, _any),
        "nonfat_milk_solids": nonfat,
        "milk_solids": milk_fat + nonfat,
        "whey_share": 100.0 * whey / nonfat if nonfat > 0.0 else 0.0,
        "caseinate": _weight(parts, lambda part: part.table_key == _CASEINATE),
        "milk_ingredients": _weight(parts, lambda part: part.animal == "milk") + own,
        "whole_milk": _whole_milk(parts),
    }


def _foreign(parts: Sequence[Part], milk_fat: float) -> dict[str, Value]:
    """Fat and protein from oils, plant drinks and isolates, and perhaps from things of one's own."""

    def foreign(part: Part) -> bool:
        return part.kind in _FOREIGN_KINDS

    def between(column: str, beside: float = 0.0) -> Value:
        low = beside + _sum(parts, lambda part: part.of(column), foreign)
        return Value(low, low + _sum(parts, lambda part: part.of(column), _own), notes=notes)

    coconut = any("coconut" in part.table_key and foreign(part) for part in parts)
    notes = (message("coconut_as_flavour"),) if coconut else ()
    return {
        "foreign_fat": between("other_fat"),
        "added_fat": between("other_fat", milk_fat),
        "foreign_protein": between("other_protein"),
    }


def _beside_flavours(parts: Sequence[Part], amounts: Mapping[str, float]) -> dict[str, Value]:
    """What amounts are of the mix without its bulky flavours [%], and perhaps things of one's own."""
    bulky = _weight(parts, lambda part: part.kind in _FLAVOUR_KINDS)
    least = 100.0 - min(bulky, _ALL_BUT_NOTHING)
    most = 100.0 - min(bulky + _weight(parts, may_be_flavour), _ALL_BUT_NOTHING)
    return {
        f"{key}_of_rest": Value(100.0 * amounts[key] / least, 100.0 * amounts[key] / most)
        for key in ("fat", "milk_fat", "protein", "milk_solids", "egg_yolk_solids")
    }


def _ingredients(parts: Sequence[Part], acidity: float) -> dict[str, Value]:
    fruit, nut = _sum(parts, fresh_fruit, _any), _sum(parts, nuts, _any)
    flavour = _weight(parts, may_be_flavour)
    not_goat = _weight(parts, lambda part: part.animal == "milk" and part.table_key not in _GOAT)
    own_milk = _weight(parts, lambda part: _own(part) and _holds_milk(part))
    return {
        "fruit": Value(fruit, fruit + flavour, notes=_on_main_fruit(parts)),
        "nuts": Value(nut, nut + flavour),
        "other_milk": Value(not_goat, not_goat + own_milk),
        "egg_but_white": _exactly(_weight(parts, _is_egg_but_white)),
        "egg_of_milk": _exactly(_egg_of_milk(parts)),
        "added_water": _exactly(_weight(parts, lambda part: part.kind == "water")),
        "acidity_as_lactic": Value(acidity, acidity, estimated=True, notes=(message("titrate"),)),
    }


def _with_air(
    density: float, percent: Mapping[str, float], overrun_percent: float
) -> dict[str, Value]:
    per_gallon = pounds_per_gallon(density, overrun_percent)
    per_litre = 1000.0 * density_with_overrun(density, overrun_percent)
    notes = (message("at_overrun", overrun_percent=overrun_percent),)
    amounts = {
        "weight_per_gallon": per_gallon,
        "solids_per_gallon": per_gallon * percent["total_solids"] / 100.0,
        "solids_per_litre": per_litre * percent["total_solids"] / 100.0,
        "milk_fat_per_litre": per_litre * percent["milk_fat"] / 100.0,
    }
    found = {key: Value(amount, amount, notes=notes) for key, amount in amounts.items()}
    return found | {"gallon_without_air": _exactly(pounds_per_gallon(density))}


def _on_main_fruit(parts: Sequence[Part]) -> tuple[Message, ...]:
    main = main_fruit(parts)
    if main is None:
        return ()
    code = "fruit_not_known" if _own(main) else "judged_by_fruit"
    return (message(code, name=main.name),)


def _exactly(value: float) -> Value:
    return Value(value, value)


def _nonfat_milk(part: Part) -> float:
    """Milk solids that are not fat [g per 100 g]; of soured and split milk what its lactose became."""
    if part.kind == "sugar":
        return 0.0  # lactose on its own is not among the dairy ingredients of the standards
    found = part.of("milk_protein", "lactose", "milk_minerals")
    if part.kind == "dairy":
        found += part.of("galactose", "glucose", "lactic_acid")
    return found


def _holds_milk(part: Part) -> bool:
    return part.of("milk_fat", "milk_protein", "lactose", "milk_minerals") > 0.0


def _is_egg_but_white(part: Part) -> bool:
    if part.kind == "own":
        return part.of("egg_fat") > 0.0
    return part.animal == "egg" and not part.table_key.startswith("egg_white")


def _whole_milk(parts: Sequence[Part]) -> float:
    """Milk of the mix [%]: whole milk as weighed, other dairy as the whole milk that it would make."""
    whole = sum(part.share for part in parts if part.table_key in _WHOLE_MILK)
    others = [
        part
        for part in parts
        if part.kind in ("dairy", "own") and part.table_key not in _WHOLE_MILK
    ]
    fat = sum(part.share * part.of("milk_fat") for part in others)
    rest = sum(part.share * _nonfat_milk(part) for part in others)
    return 100.0 * (whole + min(fat / _MILK_FAT, rest / _MILK_REST))


def _egg_of_milk(parts: Sequence[Part]) -> float:
    """Egg in % of what 1 L of the mix's milk asks for: 270 g whole egg, 90 g yolk, or parts of both."""
    litres = _whole_milk(parts) / 1000.0 / _MILK_DENSITY
    if litres <= 0.0:
        return 0.0
    table = ingredient_table()
    asked = 0.0
    for part in parts:
        whole = part.table_key in ("whole_egg", "egg_powder")
        yolk = part.table_key.startswith("egg_yolk") or (
            part.kind == "own" and part.of("egg_yolk_solids") > 0.0
        )
        if not whole and not yolk:
            continue
        fresh = table["whole_egg" if whole else "egg_yolk"].composition
        own = part.kind == "own"
        solids = part.of("egg_yolk_solids") if own else 100.0 - part.of("water", "sucrose")
        grams = 100.0 * part.share * solids / (100.0 - float(fresh[0]))
        asked += grams / (270.0 if whole else 90.0)
    return 100.0 * asked / litres
