"""Nutrition declarations: the lines of the EU and of the United States, with energy and as printed.

Sources: Regulation (EU) 1169/2011, Annexes I, XIV and XV; 21 CFR 101.9; others stand beside their
numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from formulate.errors import InputError
from formulate.labels.mix_nutrition import Amount, Nutrition
from formulate.labels.rounding import eu_rounded, us_rounded
from formulate.messages import Message, message

__all__ = ["EU_FACTORS", "US_SUGAR_ALCOHOLS", "Line", "eu_lines", "us_lines"]

#: Regulation (EU) 1169/2011, Annex XIV: kJ and kcal per g.
EU_FACTORS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "carbohydrate": (17.0, 4.0),
        "polyols": (10.0, 2.4),
        "protein": (17.0, 4.0),
        "fat": (37.0, 9.0),
        "alcohol": (29.0, 7.0),
        "acids": (13.0, 3.0),
        "fibre": (8.0, 2.0),
        "erythritol": (0.0, 0.0),
    }
)

#: 21 CFR 101.9(c)(1)(i)(F), kcal per g, from memory.  Erythritol: 0 since the rule of 2016 (81 FR
#: 33742), from memory; many pages still say 0.2, a difference of 2 kcal for 10 g.
US_SUGAR_ALCOHOLS: Mapping[str, float] = MappingProxyType(
    {
        "sorbitol": 2.6,
        "mannitol": 1.6,
        "xylitol": 2.4,
        "erythritol": 0.0,
        "maltitol": 2.1,
        "isomalt": 2.0,
        "glycerol": 4.32,  # not in (F); the value in use for glycerin, from memory
    }
)
_US_ALCOHOL = 7.0  # kcal/g; not in 101.9, common practice, from memory
_US_FIBRE = 2.0  # kcal/g, soluble non-digestible carbohydrate; 101.9(c)(1)(i)(C), from memory

#: Milk protein of food tables is nitrogen x 6.38 (SR28); Regulation 1169/2011, Annex I, wants x 6.25.
_EU_MILK_PROTEIN = 6.25 / 6.38
_SALT_OF_SODIUM = 2.5  # Regulation 1169/2011, Annex I


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a declaration: amount in its unit, and as it is printed, ``None`` if not known."""

    key: str
    name: str
    amount: Amount
    unit: str
    printed: str | None
    note: Message | None = None


def eu_lines(facts: Nutrition, grams: float = 100.0) -> tuple[Line, ...]:
    """Return the nutrition declaration of Regulation (EU) 1169/2011 for so many grams.

    Order of Annex XV.  Energy by Annex XIV from figures before rounding.  Carbohydrate holds what no
    component names, as a carbohydrate by difference does; milk protein is nitrogen x 6.25, other
    proteins as their food tables print them.  Fibre is a voluntary line.
    """
    factor = _portion(grams) / 100.0
    protein = facts.milk_protein * _EU_MILK_PROTEIN + facts.other_protein
    polyols = sum(facts.polyols.values())
    available = facts.digestible + facts.other_solids
    salt = facts.sodium_mg.scaled(_SALT_OF_SODIUM / 1000.0)
    counted = {
        "carbohydrate": available,
        "polyols": polyols - facts.polyols["erythritol"],
        "protein": protein,
        "fat": facts.fat,
        "alcohol": facts.alcohol,
        "acids": facts.acids,
        "fibre": facts.fibre,
    }
    kilojoule = sum(EU_FACTORS[key][0] * amount for key, amount in counted.items())
    kilocalorie = sum(EU_FACTORS[key][1] * amount for key, amount in counted.items())
    rows = [
        ("energy_kj", "Energy", _exact(kilojoule), "kJ", "energy"),
        ("energy_kcal", "Energy", _exact(kilocalorie), "kcal", "energy"),
        ("fat", "Fat", _exact(facts.fat), "g", "nutrient"),
        ("saturates", "of which saturates", facts.saturates, "g", "saturates"),
        ("carbohydrate", "Carbohydrate", _exact(available + polyols), "g", "nutrient"),
        ("sugars", "of which sugars", facts.sugars, "g", "nutrient"),
        ("polyols", "of which polyols", _exact(polyols), "g", "nutrient"),
        ("fibre", "Fibre", _exact(facts.fibre), "g", "nutrient"),
        ("protein", "Protein", _exact(protein), "g", "nutrient"),
        ("salt", "Salt", salt, "g", "salt"),
    ]
    return tuple(
        _line(key, name, amount.scaled(factor), unit, partial(eu_rounded, rule=rule))
        for key, name, amount, unit, rule in rows
        if key != "polyols" or polyols > 0.0
    )


def us_lines(facts: Nutrition, grams: float) -> tuple[Line, ...]:
    """Return the lines of a US panel that composition gives, for one serving of so many grams.

    21 CFR 101.9(c).  Calories by general factors 4, 4 and 9; fibre at 2 kcal/g although its insoluble
    part counts nothing; sugar alcohols by their own factors; alcohol 7.  Total carbohydrate is by
    difference from water, protein, fat and minerals (and alcohol), so that it holds fibre, organic
    acids and sugar alcohols.  Trans fat, vitamin D, calcium, iron and potassium are not here.

    General factors differ from those that food tables use for one food: for dairy, fruit and eggs by a
    few per cent, for cocoa powder by more than half (SR28: 228 kcal, general factors: 359).
    """
    factor = _portion(grams) / 100.0
    protein = facts.milk_protein + facts.other_protein
    polyols = sum(facts.polyols.values())
    carbohydrate = facts.digestible + facts.other_solids + facts.fibre + facts.acids + polyols
    calories = (
        4.0 * (protein + carbohydrate - facts.fibre - polyols)
        + 9.0 * facts.fat
        + _US_FIBRE * facts.fibre
        + sum(US_SUGAR_ALCOHOLS[key] * amount for key, amount in facts.polyols.items())
        + _US_ALCOHOL * facts.alcohol
    )
    rows = [
        ("calories", "Calories", _exact(calories), "kcal", "calories"),
        ("total_fat", "Total fat", _exact(facts.fat), "g", "fat"),
        ("saturated_fat", "Saturated fat", facts.saturates, "g", "fat"),
        ("cholesterol", "Cholesterol", facts.cholesterol_mg, "mg", "cholesterol"),
        ("sodium", "Sodium", facts.sodium_mg, "mg", "sodium"),
        ("total_carbohydrate", "Total carbohydrate", _exact(carbohydrate), "g", "carbohydrate"),
        ("dietary_fiber", "Dietary fiber", _exact(facts.us_fibre), "g", "carbohydrate"),
        ("total_sugars", "Total sugars", facts.sugars, "g", "carbohydrate"),
        ("added_sugars", "Includes added sugars", facts.added_sugars, "g", "carbohydrate"),
        ("sugar_alcohol", "Sugar alcohol", _exact(polyols), "g", "carbohydrate"),
        ("protein", "Protein", _exact(protein), "g", "carbohydrate"),
    ]
    return tuple(
        _line(key, name, amount.scaled(factor), unit, partial(us_rounded, rule=rule))
        for key, name, amount, unit, rule in rows
        if key != "sugar_alcohol" or polyols > 0.0
    )


def _line(key: str, name: str, amount: Amount, unit: str, rounded: Callable[[float], str]) -> Line:
    low, high = rounded(amount.low), rounded(amount.high)
    if low == high:
        doubtful = (*amount.missing, *amount.estimated)
        note = message("figure_not_sure", names=doubtful) if doubtful else None
        return Line(key, name, amount, unit, low, note)
    code = "figure_missing" if amount.missing else "figure_estimated"
    names = amount.missing or amount.estimated
    note = message(code, low=low, high=high, unit=unit, names=names)
    printed = None if amount.missing else rounded(amount.value)
    return Line(key, name, amount, unit, printed, note)


def _exact(value: float) -> Amount:
    return Amount(value, value, value)


def _portion(grams: float) -> float:
    if not 0.0 < grams <= 10_000.0:
        problem = f"is {grams:g}, and must be above 0 to 10000 g"
        raise InputError("portion_g", problem, "Weigh one portion.")
    return grams
