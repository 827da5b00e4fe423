"""What 100 g of one ingredient hold of what no component counts, and how sure that is.

Saturates, cholesterol, sodium, sugars, added sugars.  The table of nutrients comes first; where it has no
figure, a similar row or the composition gives one with its range; what is not known at all is bounded by
the composition, never taken as zero without a word.

Sources: USDA SR28 through ``nutrients.csv``; others stand beside their numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows
from formulate.ingredients import properties
from formulate.mix import Part

__all__ = ["Figure", "added_sugars", "cholesterol", "saturates", "sodium", "sugars"]

_SODIUM_OF_SALT = 22.990 / 58.443  # by molar mass

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


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure per 100 g of an ingredient: best, lowest and highest value.

    ``status`` is "" (known), "estimated" (from something similar) or "missing" (bounded, not known).
    """

    best: float
    low: float
    high: float
    status: str = ""


def saturates(part: Part) -> Figure:
    """Return the saturated fat [g per 100 g]."""
    emulsifier = part.of("emulsifier")
    fat = float(part.composition @ properties()["fat"].weights) + emulsifier
    if fat <= 0.0:
        return _known(0.0)
    found = _from_table(part, "saturated_fat_g")
    if found is not None:
        return Figure(min(found.best, fat), min(found.low, fat), min(found.high, fat), found.status)
    figure = _by_column(part, _SATURATES)
    share = _EMULSIFIER_SATURATES.get(part.table_key)
    if share is not None and emulsifier > 0.0:
        return Figure(share * emulsifier, 0.0, 2.0 * share * emulsifier, "estimated")
    return _and_up_to(figure, part.of("other_fat") + emulsifier)


def cholesterol(part: Part) -> Figure:
    """Return the cholesterol [mg per 100 g]."""
    found = _from_table(part, "cholesterol_mg")
    if found is not None:
        return found
    figure = _by_column(part, _CHOLESTEROL)
    if part.kind != "own":
        return figure  # plants hold next to none
    return _and_up_to(figure, _CHOLESTEROL["milk_fat"][2] * part.of("other_fat"))


def sodium(part: Part) -> Figure:
    """Return the sodium [mg per 100 g]."""
    found = _from_table(part, "sodium_mg")
    if found is not None:
        return found
    if part.table_key in _SODIUM and part.kind != "own":
        return _about(1000.0 * _SODIUM[part.table_key])
    salt = 1000.0 * _SODIUM_OF_SALT * part.of("salt")
    per_gram = _WHEY_MINERAL_SODIUM if "whey" in part.table_key else _MILK_MINERAL_SODIUM
    milk = _by_column(part, {"milk_minerals": per_gram})
    if part.table_key in _NEUTRAL_GUMS:
        gum = 1000.0 * _NEUTRAL_MOST * part.of("stabiliser")
        return Figure(milk.best + gum / 2.0, milk.low, milk.high + gum, "estimated")
    return _and_up_to(
        Figure(milk.best + salt, milk.low + salt, milk.high + salt, milk.status),
        1000.0
        * (
            _SODIUM_OF_SALT * part.of("other_minerals")
            + _GUM_MOST * part.of("stabiliser")
            + _EMULSIFIER_MOST * part.of("emulsifier")
        ),
    )


def sugars(part: Part) -> Figure:
    """Return the sugars, those of glucose syrup by its dextrose equivalent [g per 100 g]."""
    plain = float(part.composition @ properties()["sugars"].weights)
    syrup = part.of("glucose_syrup_solids")
    if syrup <= 0.0:
        return _known(plain)
    equivalent = 100.0 * part.of("syrup_reducing_power") / syrup
    usual = equivalent + _SYRUP_SUGARS
    shares = (usual, usual - _SYRUP_LESS, usual + _SYRUP_MORE)
    best, low, high = (plain + syrup * min(max(share, 0.0), 100.0) / 100.0 for share in shares)
    return Figure(best, low, high, "estimated")


def added_sugars(part: Part) -> Figure:
    """Return the sugars that a US panel counts as added [g per 100 g]."""
    total = sugars(part)
    milk = part.of("lactose", "galactose")
    if part.kind in _ADDED_KINDS:
        return total
    if part.table_key in _HALF_SUGAR:
        return _known(50.0)
    if part.kind == "puree":
        return _known(min(_PUREE_SUGAR, part.of("sucrose")))
    if part.kind in ("dairy", "egg"):
        return _known(part.of("sucrose"))
    if part.kind in _NOT_ADDED_KINDS and part.table_key != "almond_paste":
        return _known(0.0)
    if part.kind == "cocoa":
        sweetened = "chocolate" in part.table_key or "couv" in part.table_key
        return _known(part.of("sucrose") if sweetened else 0.0)
    # Plant drinks (sugars freed from starch), wine, spices, things of one's own: it depends.
    return _and_up_to(_known(0.0), total.high - milk)


def _known(value: float) -> Figure:
    return Figure(value, value, value)


def _about(value: float) -> Figure:
    """An estimate give or take a fifth, by judgement."""
    return Figure(value, 0.8 * value, 1.2 * value, "estimated")


def _from_table(part: Part, column: str) -> Figure | None:
    """The figure of the table of nutrients, or about that of a similar row."""
    if part.kind == "own":
        return None
    found = _nutrients().get(part.table_key, {}).get(column)
    if found is not None:
        return _known(found)
    like, share = _LIKE.get(part.table_key, ("", 0.0))
    similar = _nutrients().get(like, {}).get(column)
    if similar is None:
        return None
    value = share * similar
    return _about(value) if value > 0.0 else _known(0.0)


def _by_column(part: Part, per_gram: Mapping[str, tuple[float, float, float]]) -> Figure:
    """Sum over columns of grams times best, lowest and highest figure per gram."""
    best, low, high = (
        sum(part.of(column) * figures[index] for column, figures in per_gram.items())
        for index in range(3)
    )
    return Figure(best, low, high, "estimated" if high > 0.0 else "")


def _and_up_to(figure: Figure, most: float) -> Figure:
    """A figure and something of which nothing is known but its highest value."""
    if most <= 0.0:
        return figure
    return Figure(figure.best + most / 2.0, figure.low, figure.high + most, "missing")


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
