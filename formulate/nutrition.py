"""Nutrition of a mix: what is in 100 g, and how sure that is.

Three kinds of figures.  What follows from composition (fat, protein, carbohydrate) is a number.  What
the table of nutrients gives for each ingredient (saturates, cholesterol, sodium) may be missing for
some: then it is bounded from the composition, never taken as zero without a word.  What depends on how
something was made (sugars of a glucose syrup, added sugars of a thing of one's own) has a range too.

The figures are for the mix as weighed, in g per 100 g unless said.  Declarations with factors and
rounding are made of them in :func:`eu_lines` and :func:`us_lines`.

Sources: Regulation (EU) 1169/2011, Annexes I and XIV; 21 CFR 101.9; USDA SR28 through
``nutrients.csv``; others stand beside their numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from math import floor
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.components import COMPONENTS, position
from formulate.composition import ingredient_table
from formulate.errors import InputError
from formulate.mixture import Mixture
from formulate.properties import properties
from formulate.tables import data_folder, number, read_rows

__all__ = [
    "EU_FACTORS",
    "US_SUGAR_ALCOHOLS",
    "Amount",
    "Line",
    "Nutrition",
    "Part",
    "eu_lines",
    "eu_rounded",
    "mean_composition",
    "nutrition",
    "parts_of",
    "us_lines",
    "us_rounded",
]

Array = NDArray[np.float64]

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

_SODIUM_OF_SALT = 22.990 / 58.443  # by molar mass
_SALT_OF_SODIUM = 2.5  # Regulation 1169/2011, Annex I

# Glucose and maltose in the solids of a glucose syrup, %: 29 to 40 % at DE 38 to 47 (a bakers'
# dictionary), so about DE - 8; up to 7 less or 18 more by how it was made (judgement, from memory).
_SYRUP_SUGARS, _SYRUP_LESS, _SYRUP_MORE = -8.0, 7.0, 18.0

# Saturates, g per g of fat, best, lowest, highest: SR28 cream 01053, egg yolk 01125, cocoa butter 04501;
# lowest from whole milk 01077 and sugared yolk 01127, highest by judgement.  Cholesterol, mg per g: the
# same rows, butter oil 01003 lowest.
_SATURATES = {
    "milk_fat": (23.032 / 36.08, 1.865 / 3.25, 0.66),
    "egg_fat": (9.551 / 26.54, 0.31, 0.37),
    "cocoa_fat": (0.597, 0.57, 0.65),
}
_CHOLESTEROL = {
    "milk_fat": (113.0 / 36.08, 256.0 / 99.48, 3.4),
    "egg_fat": (1085.0 / 26.54, 38.0, 44.0),
}
# Sodium, mg per g of milk minerals: whole milk 43 / 0.67, from cream 51 to skimmed milk powder 67;
# sweet whey powder 129 (SR28 rows 01077, 01053, 01091, 01115).
_MILK_MINERAL_SODIUM = (43.0 / 0.67, 50.0, 70.0)
_WHEY_MINERAL_SODIUM = (129.0, 50.0, 130.0)

# Sodium in g per 100 g by formula: the sodium salt of one alginate unit 22.990 / 198.11, trisodium
# citrate dihydrate 3 x 22.990 / 294.10; sodium caseinate from memory.
_SODIUM = {"sodium_alginate": 11.6 * 0.88, "trisodium_citrate": 23.45, "sodium_caseinate": 1.3}
# Gums without charge: all of an ash of 1.5 % (purity criteria, from memory) would be 0.6 % sodium.
_NEUTRAL_GUMS = ("locust_bean_gum", "guar_gum", "tara_gum", "methylcellulose")
_NEUTRAL_MOST, _GUM_MOST, _EMULSIFIER_MOST = 0.006, 0.12, 0.05
_EMULSIFIER_SATURATES = {"soya_lecithin": 0.15, "sunflower_lecithin": 0.15}  # from memory

#: Ingredients without a row of nutrients that are made of, or close to, one that has a row: that row
#: and the share of it.  What is derived so is called an estimate.
_LIKE: Mapping[str, tuple[str, float]] = MappingProxyType(
    {
        "lactose_free_milk": ("whole_milk", 1.0),
        "strawberry_puree_10": ("strawberry", 0.9),
        "raspberry_puree_10": ("raspberry", 0.9),
        "blackcurrant_puree_10": ("blackcurrant", 0.9),
        "mango_puree_10": ("mango", 0.9),
        "apricot_puree_10": ("apricot", 0.9),
        "damson_puree_10": ("plum", 0.9),
        "sour_cherry_puree_10": ("sour_cherry", 0.9),
        "passion_fruit_puree_10": ("passion_fruit_juice", 0.9),
        "pear_puree_10": ("pear", 0.9),
        "coconut_puree_10": ("coconut_milk", 0.9),
        "damson": ("plum", 1.0),
        "mirabelle": ("plum", 1.0),
        "yuzu_juice": ("lime_juice", 1.0),
        "hazelnut_paste": ("hazelnut_roasted", 1.0),
        "pistachio_paste": ("pistachio", 1.0),
        "hazelnut_praline_50": ("hazelnut_roasted", 0.5),
        "almond_praline_50": ("almond", 0.5),
        "lemon_verbena": ("spearmint", 1.0),
    }
)

# Where sugars count as added (21 CFR 101.9(c)(6)(iii), as FDA's questions and answers explain it):
# sugars, syrups, honey, concentrated juices above single strength.  Sugars of milk, of fruit and
# vegetables, whole or puréed, and of single-strength juice do not count.
_ADDED_KINDS = ("sugar", "syrup", "liqueur", "polyol", "fibre")
_NOT_ADDED_KINDS = ("fruit", "juice", "vegetable", "herb", "nut", "coffee_tea", "acid", "mineral")
_PUREE_SUGAR = 10.0
_HALF_SUGAR = ("hazelnut_praline_50", "almond_praline_50")

#: Dietary fibre on a US panel is what stands in a list of FDA; of the gums these do, from memory.
_US_FIBRE_GUMS = ("locust_bean_gum", "guar_gum", "pectin_nh", "pectin_hm", "sodium_alginate")


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure per 100 g: best value, lowest and highest, and which ingredients make it unsure.

    ``estimated`` were taken from a similar food, ``missing`` are not known at all: they stand in the
    range with the least and the most that composition allows, and in ``value`` with the middle.
    """

    value: float
    low: float
    high: float
    estimated: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    def scaled(self, factor: float) -> Amount:
        """Return the same times a factor that is not negative."""
        return Amount(
            self.value * factor,
            self.low * factor,
            self.high * factor,
            self.estimated,
            self.missing,
        )


@dataclass(frozen=True)
class Part:
    """One ingredient of a mix with what the tables know of it.

    Attributes
    ----------
    kind, animal:
        Columns of ``ingredients.csv``; ``own`` and ``unknown`` for an ingredient of one's own.
    allergens_eu, allergens_us:
        Their allergens; ``None`` for an ingredient of one's own: nobody knows but its pack.
    share:
        g per g of mix.
    composition:
        g per 100 g, shape (columns,).
    """

    key: str
    name: str
    kind: str
    animal: str
    allergens_eu: tuple[str, ...] | None
    allergens_us: tuple[str, ...] | None
    share: float
    composition: Array

    def of(self, *columns: str) -> float:
        """Return the sum of some columns [g per 100 g of the ingredient]."""
        return float(sum(self.composition[position(column)] for column in columns))


@dataclass(frozen=True)
class Nutrition:
    """What is in 100 g of a mix [g, milligrams where named].

    ``other_solids`` is what no component names: mostly unnamed carbohydrate of fruit, cocoa and egg.
    ``acids`` are organic acids, ``fibre`` counts gums as well, ``ash`` all minerals.
    """

    composition: Array
    water: float
    fat: float
    milk_protein: float
    other_protein: float
    sugars: Amount
    digestible: float
    polyols: Mapping[str, float]
    fibre: float
    us_fibre: float
    acids: float
    alcohol: float
    ash: float
    other_solids: float
    saturates: Amount
    cholesterol_mg: Amount
    sodium_mg: Amount
    added_sugars: Amount


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a declaration: amount in its unit, and as it is printed."""

    key: str
    name: str
    amount: Amount
    unit: str
    printed: str
    note: str = ""


def parts_of(mix: Mixture, weights: Array) -> tuple[Part, ...]:
    """Return the ingredients of a mix that have a weight above zero, in the order of the recipe.

    Raises
    ------
    InputError
        If the weights are not one per ingredient, or not all finite and not negative with a sum above
        zero.
    """
    grams = np.asarray(weights, dtype=float)
    if grams.shape != (len(mix.keys),) or not np.isfinite(grams).all() or (grams < 0.0).any():
        problem = "must be one finite number per ingredient, none below zero"
        raise InputError("weights", problem, "Give grams in the order of the recipe.")
    total = float(grams.sum())
    if not total > 0.0:
        raise InputError("weights", "add up to nothing", "Give each ingredient its grams.")
    rows = _about()
    found = []
    for entry, name, row, weight in zip(
        mix.recipe.ingredients, mix.names, mix.compositions, grams, strict=True
    ):
        if weight <= 0.0:
            continue
        own = entry.composition is not None
        about = {} if own else rows[entry.key]
        found.append(
            Part(
                key=entry.key,
                name=name,
                kind="own" if own else about["kind"],
                animal="unknown" if own else about["animal"],
                allergens_eu=None if own else _split(about["allergens_eu"]),
                allergens_us=None if own else _split(about["allergens_us"]),
                share=float(weight) / total,
                composition=row,
            )
        )
    return tuple(found)


def mean_composition(parts: Sequence[Part]) -> Array:
    """Return the composition of a mix of parts [g per 100 g], shape (columns,)."""
    return np.asarray(sum(part.share * part.composition for part in parts), dtype=float)


def nutrition(parts: Sequence[Part]) -> Nutrition:
    """Return what is in 100 g of a mix of ingredients, see :func:`parts_of`."""
    mean = mean_composition(parts)
    known = properties()

    def sum_of(key: str) -> float:
        return float(mean @ known[key].weights)

    gelatine = sum(part.share * part.of("stabiliser") for part in parts if part.key == "gelatine")
    columns = {part.key: float(mean[position(part.key)]) for part in COMPONENTS}
    families: dict[str, float] = {}
    for part in COMPONENTS:
        families[part.family] = families.get(part.family, 0.0) + columns[part.key]
    gums = families["stabiliser"] - gelatine
    listed = sum(p.share * p.of("stabiliser") for p in parts if p.key in _US_FIBRE_GUMS)
    return Nutrition(
        composition=mean,
        water=columns["water"],
        fat=sum_of("fat") + families["emulsifier"],
        milk_protein=columns["milk_protein"],
        other_protein=columns["egg_protein"] + columns["other_protein"] + gelatine,
        sugars=_total(parts, _sugars),
        digestible=families["sugar"] + families["syrup"] + families["starch"],
        polyols=MappingProxyType({key: columns[key] for key in US_SUGAR_ALCOHOLS}),
        fibre=families["fibre"] + gums,
        us_fibre=families["fibre"] + listed,
        acids=families["acid"],
        alcohol=columns["ethanol"],
        ash=families["mineral"],
        other_solids=columns["other_solids"],
        saturates=_total(parts, _saturates),
        cholesterol_mg=_total(parts, _cholesterol),
        sodium_mg=_total(parts, _sodium),
        added_sugars=_total(parts, _added_sugars),
    )


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


def eu_rounded(value: float, rule: str) -> str:
    """Return a figure as the Commission's guidance on tolerances (December 2012) rounds it.

    ``energy``: to 1.  ``nutrient`` (fat, carbohydrate, sugars, protein, fibre, polyols): to 1 g from
    10 g, to 0.1 g below, ``<0.5`` up to 0.5 g.  ``saturates``: the same with ``<0.1`` up to 0.1 g.
    ``salt``: to 0.1 g from 1 g, to 0.01 g below, ``<0.01`` up to 0.0125 g.  Halves go up.  The guidance
    is no law; nothing at all is ``0``.
    """
    _finite(value)
    if value <= 0.0:
        return "0"
    if rule == "energy":
        return _nearest(value, 0)
    least, above = {
        "nutrient": (0.5, "<0.5"),
        "saturates": (0.1, "<0.1"),
        "salt": (0.0125, "<0.01"),
    }[rule]
    if value <= least:
        return above
    if rule == "salt":
        return _nearest(value, 1 if value >= 1.0 else 2)
    return _nearest(value, 0 if value >= 10.0 else 1)


def us_rounded(value: float, rule: str) -> str:
    """Return a figure per serving as 21 CFR 101.9(c) rounds it.

    ``calories``: under 5 is 0, to 5 up to 50, to 10 above.  ``fat``: under 0.5 g is 0, to 0.5 g under
    5 g, to 1 g above.  ``cholesterol``: under 2 mg is 0, ``less than 5`` to 5 mg, then to 5 mg.
    ``sodium``: under 5 mg is 0, to 5 mg up to 140 mg, to 10 mg above.  ``carbohydrate`` (also fiber,
    sugars, sugar alcohol, protein): under 0.5 g is 0, ``less than 1`` under 1 g, to 1 g above.  FDA,
    A Food Labeling Guide, Appendix H.
    """
    _finite(value)
    if rule == "calories":
        return "0" if value < 5.0 else _step(value, 5.0 if value <= 50.0 else 10.0)
    if rule == "fat":
        return "0" if value < 0.5 else _step(value, 0.5 if value < 5.0 else 1.0)
    if rule == "cholesterol":
        if 2.0 <= value <= 5.0:
            return "less than 5"
        return "0" if value < 2.0 else _step(value, 5.0)
    if rule == "sodium":
        return "0" if value < 5.0 else _step(value, 5.0 if value <= 140.0 else 10.0)
    if 0.5 <= value < 1.0:
        return "less than 1"
    return "0" if value < 0.5 else _step(value, 1.0)


def _nearest(value: float, decimals: int) -> str:
    return _step(value, 10.0**-decimals)


def _step(value: float, step: float) -> str:
    """A value to the nearest step, halves up; a hair below a half counts as the half."""
    steps = floor(value / step + 0.5 + 1e-9)
    return f"{steps * step:.2f}".rstrip("0").rstrip(".")


def _line(key: str, name: str, amount: Amount, unit: str, rounded: Callable[[float], str]) -> Line:
    low, high = rounded(amount.low), rounded(amount.high)
    if low == high:
        doubtful = (*amount.missing, *amount.estimated)
        note = f"No sure figure for {_names(doubtful)}; too little to matter." if doubtful else ""
        return Line(key, name, amount, unit, low, note)
    if amount.missing:
        why = f"no figure for {_names(amount.missing)}; read the pack."
        return Line(key, name, amount, unit, "not known", f"Between {low} and {high} {unit}: {why}")
    note = (
        f"Estimate, between {low} and {high} {unit}, for {_names(amount.estimated)}: read the pack."
    )
    return Line(key, name, amount, unit, rounded(amount.value), note)


def _names(names: Sequence[str]) -> str:
    return ", ".join(names)


def _exact(value: float) -> Amount:
    return Amount(value, value, value)


def _portion(grams: float) -> float:
    if not 0.0 < grams <= 10_000.0:
        problem = f"is {grams:g}, and must be above 0 to 10000 g"
        raise InputError("portion_g", problem, "Weigh one portion.")
    return grams


def _finite(value: float) -> None:
    if not abs(value) < float("inf"):
        raise InputError("value", f"is {value}, not a finite number", "Check the weights.")


# One figure of one ingredient, per 100 g of it: best, lowest, highest, and "" (known), "estimated" or
# "missing".
_Figure = tuple[float, float, float, str]


def _total(parts: Sequence[Part], figure: Callable[[Part], _Figure]) -> Amount:
    value = low = high = 0.0
    unsure: dict[str, list[str]] = {"": [], "estimated": [], "missing": []}
    for part in parts:
        best, least, most, status = figure(part)
        value += part.share * best
        low += part.share * least
        high += part.share * most
        unsure[status].append(part.name)
    return Amount(value, low, high, tuple(unsure["estimated"]), tuple(unsure["missing"]))


def _known(value: float) -> _Figure:
    return value, value, value, ""


def _from_table(part: Part, column: str) -> _Figure | None:
    """The figure of the table of nutrients, or of a similar row (give or take a fifth, judgement)."""
    if part.kind == "own":
        return None
    found = _nutrients().get(part.key, {}).get(column)
    if found is not None:
        return _known(found)
    like, share = _LIKE.get(part.key, ("", 0.0))
    similar = _nutrients().get(like, {}).get(column)
    if similar is None:
        return None
    value = share * similar
    return (value, 0.8 * value, 1.2 * value, "estimated") if value > 0.0 else _known(0.0)


def _by_column(part: Part, per_gram: Mapping[str, tuple[float, float, float]]) -> _Figure:
    """Sum over columns of grams times best, lowest and highest figure per gram."""
    sums = [
        sum(part.of(column) * figures[index] for column, figures in per_gram.items())
        for index in range(3)
    ]
    return sums[0], sums[1], sums[2], "estimated" if sums[2] > 0.0 else ""


def _and_up_to(figure: _Figure, most: float) -> _Figure:
    """A figure and something of which nothing is known but its highest value."""
    if most <= 0.0:
        return figure
    best, least, highest, _ = figure
    return best + most / 2.0, least, highest + most, "missing"


def _saturates(part: Part) -> _Figure:
    emulsifier = part.of("emulsifier")
    fat = float(part.composition @ properties()["fat"].weights) + emulsifier
    if fat <= 0.0:
        return _known(0.0)
    found = _from_table(part, "saturated_fat_g")
    if found is not None:
        return min(found[0], fat), min(found[1], fat), min(found[2], fat), found[3]
    figure = _by_column(part, _SATURATES)
    share = _EMULSIFIER_SATURATES.get(part.key)
    if share is not None and emulsifier > 0.0:
        return share * emulsifier, 0.0, 2.0 * share * emulsifier, "estimated"
    return _and_up_to(figure, part.of("other_fat") + emulsifier)


def _cholesterol(part: Part) -> _Figure:
    found = _from_table(part, "cholesterol_mg")
    if found is not None:
        return found
    figure = _by_column(part, _CHOLESTEROL)
    if part.kind != "own":
        return figure  # plants hold next to none
    return _and_up_to(figure, _CHOLESTEROL["milk_fat"][2] * part.of("other_fat"))


def _sodium(part: Part) -> _Figure:
    found = _from_table(part, "sodium_mg")
    if found is not None:
        return found
    if part.key in _SODIUM and part.kind != "own":
        value = 1000.0 * _SODIUM[part.key]
        return value, 0.8 * value, 1.2 * value, "estimated"
    salt = 1000.0 * _SODIUM_OF_SALT * part.of("salt")
    per_gram = _WHEY_MINERAL_SODIUM if "whey" in part.key else _MILK_MINERAL_SODIUM
    best, least, most, status = _by_column(part, {"milk_minerals": per_gram})
    figure = (best + salt, least + salt, most + salt, status)
    if part.key in _NEUTRAL_GUMS:
        gum = 1000.0 * _NEUTRAL_MOST * part.of("stabiliser")
        return best + gum / 2.0, least, most + gum, "estimated"
    return _and_up_to(
        figure,
        1000.0
        * (
            _SODIUM_OF_SALT * part.of("other_minerals")
            + _GUM_MOST * part.of("stabiliser")
            + _EMULSIFIER_MOST * part.of("emulsifier")
        ),
    )


def _sugars(part: Part) -> _Figure:
    plain = float(part.composition @ properties()["sugars"].weights)
    syrup = part.of("glucose_syrup_solids")
    if syrup <= 0.0:
        return _known(plain)
    equivalent = 100.0 * part.of("syrup_reducing_power") / syrup
    best = equivalent + _SYRUP_SUGARS
    shares = (best, best - _SYRUP_LESS, best + _SYRUP_MORE)
    value, low, high = (plain + syrup * min(max(share, 0.0), 100.0) / 100.0 for share in shares)
    return value, low, high, "estimated"


def _added_sugars(part: Part) -> _Figure:
    total = _sugars(part)
    milk = part.of("lactose", "galactose")
    if part.kind in _ADDED_KINDS:
        return total
    if part.key in _HALF_SUGAR:
        return _known(50.0)
    if part.kind == "puree":
        return _known(min(_PUREE_SUGAR, part.of("sucrose")))
    if part.kind in ("dairy", "egg"):
        return _known(part.of("sucrose"))
    if part.kind in _NOT_ADDED_KINDS and part.key != "almond_paste":
        return _known(0.0)
    if part.kind == "cocoa":
        return _known(part.of("sucrose") if "chocolate" in part.key or "couv" in part.key else 0.0)
    # Plant drinks (sugars freed from starch), wine, spices, things of one's own: it depends.
    return _and_up_to(_known(0.0), total[2] - milk)


@lru_cache(maxsize=1)
def _nutrients() -> Mapping[str, Mapping[str, float]]:
    """Figures by key and column; an empty cell is left out, it is not known."""
    found = {}
    for row in read_rows(data_folder() / "nutrients.csv"):
        where = f"nutrients.csv, {row['key']}"
        columns = ("sodium_mg", "saturated_fat_g", "cholesterol_mg")
        found[row["key"]] = {
            column: number(row, column, where) for column in columns if row[column].strip()
        }
    return found


@lru_cache(maxsize=1)
def _about() -> Mapping[str, Mapping[str, str]]:
    rows = {row["key"]: row for row in read_rows(data_folder() / "ingredients.csv")}
    return {key: rows[key] for key in ingredient_table()}


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part for part in cell.split(";") if part)
