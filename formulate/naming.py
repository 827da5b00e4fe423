"""What a frozen dessert may be called: published standards of identity against a mix.

The rules are data, ``names.csv``: jurisdiction, name, what is compared with what, and the source of the
figure.  ``basis`` is ``seen`` where the figure was read somewhere and ``from memory`` where not.  They
are a help for a first look, not the law: codes of the trade and guidelines are voluntary, standards
change, and only the text in force counts.

How it is judged
----------------
* From the weights as weighed.  A thing of one's own has no kind: what it might be gives a range, and a
  rule that the range straddles is called unknown.
* The class of fruit (citrus, berry, acid, strong) is that of the fruit that weighs most, the fruit of a
  purée is its weight less the sugar in its name, dried fruit counts as fresh fruit of equal solids.
* Titratable acidity is estimated from the acids of the table and never judged: titrate it.
* Where there are bulky flavours (fruit, juice, nuts, cocoa) their own weight is taken off.  The factors
  of 7 CFR 58.2825 (chocolate 2.5, fruit and nuts 1.4) belong to a grade, not to the standard: left out.
* Between whole per cents of milk fat the floor of nonfat milk solids is read strictly: 10.9 % fat still
  needs 10 %.
* Left out: names for reduced, light or low fat, confectionery as a bulky flavour, ripples and coatings,
  and whether milk fat of a chocolate counts (it is counted).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import floor
from types import MappingProxyType

from formulate.composition import ingredient_table
from formulate.density import density_with_overrun, mix_density, pounds_per_gallon
from formulate.errors import InputError, TableError, nearest
from formulate.mixture import Mixture
from formulate.nutrition import Array, Part, mean_composition, parts_of
from formulate.properties import properties
from formulate.tables import data_folder, number, read_rows

__all__ = [
    "JURISDICTIONS",
    "NameVerdict",
    "Rule",
    "RuleCheck",
    "judge_names",
    "judge_parts",
    "name_rules",
]

#: Jurisdictions of ``names.csv`` in words.
JURISDICTIONS: Mapping[str, str] = MappingProxyType(
    {
        "us": "United States, federal standard",
        "eu": "European trade code (voluntary)",
        "uk": "United Kingdom, trade guidance",
        "de": "Germany, guideline",
        "anz": "Australia and New Zealand, food standard",
        "ca": "Canada, federal regulation",
    }
)

_CITRUS = frozenset(
    "lemon_juice lime_juice orange_juice mandarin_juice grapefruit_juice yuzu_juice orange clementine "
    "mandarin grapefruit kumquat lemon_peel orange_peel".split()
)
_BERRIES = frozenset(
    "strawberry strawberry_frozen raspberry blackberry blueberry blackcurrant redcurrant gooseberry "
    "cranberry elderberry sea_buckthorn mulberry cranberry_juice strawberry_puree_10 raspberry_puree_10 "
    "blackcurrant_puree_10".split()
)
# Exotic and strongly flavoured fruit of the European trade code, from memory.
_STRONG = frozenset(
    "pineapple pineapple_juice banana guava kiwi lychee mango mango_puree_10 passion_fruit "
    "passion_fruit_juice passion_fruit_puree_10 papaya".split()
)
# Fruit is acid from 2.5 % titratable acid as citric acid in its juice (German guideline).
_ACID_FRUIT = 2.5
_DRIED = {"raisin": "grape", "dried_fig": "fig", "dried_apricot": "apricot", "prune": "plum"}
_WHEY = ("acid_whey_powder", "whey_powder", "whey_protein_concentrate_80")
_GOAT = ("goat_milk", "goat_cheese")
_WHOLE_MILK = ("whole_milk", "goat_milk", "sheep_milk", "lactose_free_milk")
_FLAVOUR_KINDS = ("fruit", "juice", "puree", "nut", "cocoa")
_FOREIGN_KINDS = ("fat", "plant_drink", "protein")
_PUREE_FRUIT = 0.9
# Whole milk of the German guideline: 3.5 % fat and 8.5 % milk solids-not-fat, 1.03 kg/L; from memory.
_MILK_FAT, _MILK_REST, _MILK_DENSITY = 3.5, 8.5, 1.03

# Grams per mole of acid groups.
_ACIDS = {
    "citric_acid": 192.124 / 3.0,
    "malic_acid": 134.087 / 2.0,
    "tartaric_acid": 150.087 / 2.0,
    "lactic_acid": 90.078,
    "acetic_acid": 60.052,
}

# What a thing of one's own may hold and still be neither fruit nor flavour.
_PLAIN = (
    "water milk_fat egg_fat milk_protein egg_protein sucrose glucose fructose galactose lactose maltose "
    "trehalose glucose_syrup_solids sorbitol mannitol xylitol erythritol maltitol isomalt glycerol salt "
    "milk_minerals stabiliser emulsifier"
).split()

_SLIDING = "sliding"
_CLOSE = 1e-6


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


@dataclass(frozen=True, slots=True)
class RuleCheck:
    """One rule and what the mix makes of it.

    Attributes
    ----------
    low, high:
        Range of the value in the unit of the rule; equal where nothing is uncertain, ``None`` where
        composition says nothing.
    limit:
        What it is compared with.
    status:
        ``met``, ``fails``, ``unknown`` (the range straddles the limit) or ``not judged``.
    miss:
        By how much it fails, above zero, in the unit of the rule; else 0.
    note:
        What to know of it, or "".
    """

    rule: Rule
    low: float | None
    high: float | None
    limit: float | None
    status: str
    miss: float
    note: str = ""

    @property
    def sentence(self) -> str:
        """What the rule asks and what the mix has, in words."""
        if self.limit is None or self.low is None or self.high is None:
            return f"{self.rule.text}."
        value = f"{_WORDS[self.rule.quantity]} {_span(self.low, self.high)} {self.rule.unit}"
        asks = f"must be {_COMPARISONS[self.rule.comparison]} {self.limit:g}"
        if self.limit == 0.0:
            asks = "there must be some" if self.rule.comparison == "above" else "there must be none"
        found = f"{value[0].upper()}{value[1:]}, and {asks}"
        if self.status == "fails" and self.limit > 0.0:
            way = "too little" if self.rule.comparison in ("min", "above") else "too much"
            found += f": {self.miss:.3g} {way}"
        memory = " (limit from memory, check it)" if self.rule.basis != "seen" else ""
        return f"{found}{memory}.{' ' if self.note else ''}{self.note}"


@dataclass(frozen=True, slots=True)
class NameVerdict:
    """Whether composition allows a name: ``allows``, ``refuses`` or ``undecided``, and every rule."""

    jurisdiction: str
    name: str
    status: str
    checks: tuple[RuleCheck, ...]

    def with_status(self, status: str) -> tuple[RuleCheck, ...]:
        """Return the checks of one status, in the order of the table."""
        return tuple(check for check in self.checks if check.status == status)

    @property
    def sentence(self) -> str:
        """The verdict in a line or two."""
        words = {
            "allows": "meets every figure that could be judged here",
            "refuses": "the composition does not meet the published figures",
            "undecided": "cannot be decided from composition",
        }[self.status]
        shown = self.with_status("fails") or self.with_status("unknown")
        reasons = " ".join(check.sentence for check in shown)
        open_ = "; ".join(check.sentence.rstrip(".") for check in self.with_status("not judged"))
        memory = any(check.rule.basis != "seen" for check in self.checks)
        found = f"{self.name}: {words}{' (some limits from memory)' if memory else ''}."
        if reasons:
            found += f" {reasons}"
        if open_ and self.status != "refuses":
            found += f" Not judged: {open_}."
        return found


@dataclass(frozen=True, slots=True)
class _Value:
    """A quantity of the mix: range, whether it is only an estimate, and a word on it."""

    low: float
    high: float
    estimated: bool = False
    note: str = ""


def judge_names(
    mix: Mixture,
    weights: Array,
    overrun_percent: float | None = None,
    jurisdictions: Sequence[str] = tuple(JURISDICTIONS),
) -> tuple[NameVerdict, ...]:
    """Return for every name of some jurisdictions whether the composition of a mix allows it.

    Parameters
    ----------
    mix, weights:
        The recipe met with the tables, and grams per ingredient.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300; ``None``: what the recipe's serving says, else 0.
    jurisdictions:
        Keys of :data:`JURISDICTIONS`.

    Raises
    ------
    InputError
        If a jurisdiction is unknown, or weights or overrun cannot be.
    """
    if overrun_percent is None:
        serving = mix.recipe.serving
        overrun_percent = 0.0 if serving is None else serving.overrun_percent
    return judge_parts(parts_of(mix, weights), overrun_percent, jurisdictions)


def judge_parts(
    parts: Sequence[Part],
    overrun_percent: float,
    jurisdictions: Sequence[str] = tuple(JURISDICTIONS),
) -> tuple[NameVerdict, ...]:
    """Return the verdicts for ingredients with their shares; see :func:`judge_names`."""
    for key in jurisdictions:
        if key not in JURISDICTIONS:
            hint = nearest(key, JURISDICTIONS) or f"Known: {', '.join(JURISDICTIONS)}."
            raise InputError("jurisdiction", f'"{key}" is not known here', hint)
    values = _quantities(parts, overrun_percent)
    tokens = _tokens(parts, values)
    found: dict[tuple[str, str], list[RuleCheck]] = {}
    for rule in name_rules():
        if rule.jurisdiction in jurisdictions and (not rule.applies or rule.applies in tokens):
            checks = found.setdefault((rule.jurisdiction, rule.name), [])
            checks.append(_check(rule, values))
    ordered = sorted(found, key=lambda key: tuple(jurisdictions).index(key[0]))
    return tuple(
        NameVerdict(place, name, _status(found[place, name]), tuple(found[place, name]))
        for place, name in ordered
    )


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
        if judged and (row["comparison"] not in _COMPARISONS or row["quantity"] not in _WORDS):
            raise TableError(f"{where}: quantity or comparison is not known.")
        if row["basis"] not in ("seen", "from memory") or not row["source"]:
            raise TableError(f"{where}: the source or its basis is missing.")
        limit = number(row, "value", where) if judged and row["value"] != _SLIDING else None
        known = {key: row[key] for key in Rule.__dataclass_fields__ if key != "limit"}
        found.append(Rule(limit=limit, **known))
    return tuple(found)


def _check(rule: Rule, values: Mapping[str, _Value]) -> RuleCheck:
    if rule.comparison == "unjudged":
        return RuleCheck(rule, None, None, None, "not judged", 0.0)
    value = values[rule.quantity]
    limit, note = rule.limit, value.note
    if rule.quantity == "weight_per_gallon" and limit is not None:
        most = 100.0 * (values["gallon_without_air"].low / limit - 1.0)
        note += f" It weighs {limit:g} lb at {most:.0f} %." if most >= 0.0 else ""
    if limit is None:
        fat = values["milk_fat"].low
        limit = max(6.0, 20.0 - max(10.0, floor(fat + _CLOSE)))
        note = f"The floor is that of {fat:.1f} % milk fat. {note}".strip()
    meets = _TESTS[rule.comparison]
    low_meets, high_meets = meets(value.low, limit), meets(value.high, limit)
    if value.estimated:
        return RuleCheck(rule, value.low, value.high, limit, "not judged", 0.0, note)
    if low_meets and high_meets:
        return RuleCheck(rule, value.low, value.high, limit, "met", 0.0, note)
    if low_meets or high_meets:
        return RuleCheck(rule, value.low, value.high, limit, "unknown", 0.0, note)
    nearest_value = value.high if rule.comparison in ("min", "above") else value.low
    miss = abs(nearest_value - limit)
    return RuleCheck(rule, value.low, value.high, limit, "fails", miss, note)


def _status(checks: Sequence[RuleCheck]) -> str:
    states = {check.status for check in checks}
    if "fails" in states:
        return "refuses"
    return "undecided" if "unknown" in states or "met" not in states else "allows"


_COMPARISONS = {"min": "at least", "max": "at most", "above": "above", "below": "below"}
_TESTS: Mapping[str, Callable[[float, float], bool]] = {
    "min": lambda value, limit: value >= limit - _CLOSE,
    "max": lambda value, limit: value <= limit + _CLOSE,
    "above": lambda value, limit: value > limit + _CLOSE,
    "below": lambda value, limit: value < limit - _CLOSE,
}

#: Quantities that a rule may compare, as they stand in a sentence.
_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "total_solids": "total solids are",
        "fat": "fat is",
        "fat_of_rest": "fat of what is not bulky flavour is",
        "milk_fat": "milk fat is",
        "milk_fat_of_rest": "milk fat of what is not bulky flavour is",
        "non_milk_fat": "fat other than milk fat is",
        "foreign_fat": "fat from oils, fats and plant drinks is",
        "added_fat": "milk fat and fat from oils, fats and plant drinks is",
        "protein": "protein is",
        "protein_of_rest": "protein of what is not bulky flavour is",
        "milk_protein": "milk protein is",
        "foreign_protein": "protein from plant drinks and isolates is",
        "msnf": "milk solids-not-fat are",
        "nonfat_milk_solids": "nonfat milk solids are",
        "milk_solids": "milk solids with their fat are",
        "milk_solids_of_rest": "milk solids of what is not bulky flavour are",
        "whey_share": "whey makes up",
        "caseinate": "caseinate is",
        "egg_yolk_solids": "egg-yolk solids are",
        "egg_yolk_solids_of_rest": "egg-yolk solids of what is not bulky flavour are",
        "milk_ingredients": "ingredients of milk weigh",
        "other_milk": "dairy that is not goat's weighs",
        "egg_but_white": "egg other than white weighs",
        "whole_milk": "milk, counted as whole milk, is",
        "egg_of_milk": "the egg makes up",
        "added_water": "added water is",
        "fruit": "fruit, counted as fresh, is",
        "nuts": "nuts are",
        "acidity_as_lactic": "acidity is about",
        "weight_per_gallon": "a gallon weighs",
        "solids_per_gallon": "a gallon holds solids of",
        "solids_per_litre": "a litre holds solids of",
        "milk_fat_per_litre": "a litre holds milk fat of",
    }
)


def _quantities(parts: Sequence[Part], overrun_percent: float) -> dict[str, _Value]:
    mean = mean_composition(parts)
    known = properties()

    def sum_of(key: str) -> float:
        return float(mean @ known[key].weights)

    def over(
        figure: Callable[[Part], float], some: Callable[[Part], bool] = lambda _: True
    ) -> float:
        return sum(part.share * figure(part) for part in parts if some(part))

    def possible(figure: Callable[[Part], float]) -> float:
        return over(figure, lambda part: part.kind == "own")

    milk_fat, fat, solids = sum_of("milk_fat"), sum_of("fat"), sum_of("total_solids")
    yolk, protein = sum_of("egg_yolk_solids"), sum_of("protein")
    nonfat = over(_nonfat_milk, lambda part: part.key != "sodium_caseinate")
    whey = over(_nonfat_milk, lambda part: part.key in _WHEY)
    caseinate = over(lambda _: 100.0, lambda part: part.key == "sodium_caseinate")
    foreign_fat = over(lambda part: part.of("other_fat"), lambda part: part.kind in _FOREIGN_KINDS)
    own_fat = possible(lambda part: part.of("other_fat"))
    foreign_protein = over(
        lambda part: part.of("other_protein"), lambda part: part.kind in _FOREIGN_KINDS
    )
    own_protein = possible(lambda part: part.of("other_protein"))
    own_flavour = over(lambda _: 100.0, _may_be_flavour)
    bulky = over(lambda _: 100.0, lambda part: part.kind in _FLAVOUR_KINDS)
    fruit, nuts = over(_fresh_fruit), over(_nuts)
    other_milk = over(lambda _: 100.0, lambda part: part.animal == "milk" and part.key not in _GOAT)
    own_milk = over(lambda _: 100.0, lambda part: part.kind == "own" and _holds_milk(part))
    per_gallon = pounds_per_gallon(mix_density(mean), overrun_percent)
    per_litre = 1000.0 * density_with_overrun(mix_density(mean), overrun_percent)
    coconut = any("coconut" in part.key and part.kind in _FOREIGN_KINDS for part in parts)
    flavour = "Coconut that is the flavour may be another matter." if coconut else ""

    def rest(amount: float) -> _Value:
        """What an amount is of the mix without its bulky flavours [%]."""
        most = min(bulky + own_flavour, 99.9)
        return _Value(100.0 * amount / (100.0 - min(bulky, 99.9)), 100.0 * amount / (100.0 - most))

    air = f"At {overrun_percent:g} % overrun"
    acid = 90.078 * over(_acid_groups)
    return {
        "total_solids": _exactly(solids),
        "fat": _exactly(fat),
        "fat_of_rest": rest(fat),
        "milk_fat": _exactly(milk_fat),
        "milk_fat_of_rest": rest(milk_fat),
        "non_milk_fat": _exactly(fat - milk_fat),
        "foreign_fat": _Value(foreign_fat, foreign_fat + own_fat, note=flavour),
        "added_fat": _Value(milk_fat + foreign_fat, milk_fat + foreign_fat + own_fat, note=flavour),
        "protein": _exactly(protein),
        "protein_of_rest": rest(protein),
        "milk_protein": _exactly(sum_of("milk_protein")),
        "foreign_protein": _Value(foreign_protein, foreign_protein + own_protein, note=flavour),
        "msnf": _exactly(over(_nonfat_milk)),
        "nonfat_milk_solids": _exactly(nonfat),
        "milk_solids": _exactly(milk_fat + nonfat),
        "milk_solids_of_rest": rest(milk_fat + nonfat),
        "whey_share": _exactly(100.0 * whey / nonfat if nonfat > 0.0 else 0.0),
        "caseinate": _exactly(caseinate),
        "egg_yolk_solids": _exactly(yolk),
        "egg_yolk_solids_of_rest": rest(yolk),
        "milk_ingredients": _exactly(
            over(lambda _: 100.0, lambda part: part.animal == "milk") + own_milk
        ),
        "other_milk": _Value(other_milk, other_milk + own_milk),
        "egg_but_white": _exactly(over(lambda _: 100.0, _is_egg_but_white)),
        "whole_milk": _exactly(_whole_milk(parts)),
        "egg_of_milk": _exactly(_egg_of_milk(parts)),
        "added_water": _exactly(over(lambda _: 100.0, lambda part: part.kind == "water")),
        "fruit": _Value(fruit, fruit + own_flavour, note=_main_fruit_note(parts)),
        "nuts": _Value(nuts, nuts + own_flavour),
        "acidity_as_lactic": _Value(
            acid, acid, estimated=True, note="Estimated from the acids of the table: titrate it."
        ),
        "weight_per_gallon": _Value(per_gallon, per_gallon, note=f"{air}."),
        "gallon_without_air": _exactly(pounds_per_gallon(mix_density(mean))),
        "solids_per_gallon": _Value(
            per_gallon * solids / 100.0, per_gallon * solids / 100.0, note=f"{air}."
        ),
        "solids_per_litre": _Value(
            per_litre * solids / 100.0, per_litre * solids / 100.0, note=f"{air}."
        ),
        "milk_fat_per_litre": _Value(
            per_litre * milk_fat / 100.0, per_litre * milk_fat / 100.0, note=f"{air}."
        ),
    }


def _tokens(parts: Sequence[Part], values: Mapping[str, _Value]) -> frozenset[str]:
    """What a rule may be limited to, of this mix."""
    found = {"bulky" if any(part.kind in _FLAVOUR_KINDS for part in parts) else "plain"}
    if values["caseinate"].high > 0.0:
        found.add("caseinate")
    main = _main_fruit(parts)
    if main is None:
        found.add("no_fruit")
        found.add("nuts_only" if values["nuts"].low > 0.0 else "neither")
        return frozenset(found)
    citrus = main.key in _CITRUS
    acid = citrus or _acid_groups(main) * _ACIDS["citric_acid"] >= _ACID_FRUIT
    berry = main.key in _BERRIES
    found.add("fruit")
    found.add("us_citrus" if citrus else "us_berry" if berry else "us_other_fruit")
    found.add("acid_fruit" if acid or main.key in _STRONG else "ordinary_fruit")
    found.add("de_acid" if acid else "de_ordinary")
    if not citrus:
        found.add("not_citrus")
    return frozenset(found)


def _main_fruit(parts: Sequence[Part]) -> Part | None:
    """The fruit that weighs most as fresh fruit; a thing of one's own only if there is no other."""
    fruits = [part for part in parts if _fresh_fruit(part) > 0.0]
    fruits = fruits or [part for part in parts if _may_be_flavour(part)]
    return max(fruits, key=lambda part: part.share * max(_fresh_fruit(part), 1.0), default=None)


def _main_fruit_note(parts: Sequence[Part]) -> str:
    main = _main_fruit(parts)
    if main is None:
        return ""
    if main.kind == "own":
        return f"Whether {main.name} is fruit is not known here."
    return f"Judged by {main.name}, the fruit that weighs most."


def _exactly(value: float) -> _Value:
    return _Value(value, value)


def _span(low: float, high: float) -> str:
    return f"{low:.3g}" if high - low < 5e-4 * max(abs(high), 1.0) else f"{low:.3g} to {high:.3g}"


def _nonfat_milk(part: Part) -> float:
    """Milk solids that are not fat [g per 100 g]; of soured and split milk what its lactose became."""
    if part.kind == "sugar":
        return 0.0  # lactose on its own is not among the dairy ingredients of the standards
    found = part.of("milk_protein", "lactose", "milk_minerals")
    if part.kind == "dairy":
        found += part.of("galactose", "glucose", "lactic_acid")
    return found


def _fresh_fruit(part: Part) -> float:
    """Fresh fruit that 100 g stand for [g]."""
    if part.kind == "puree":
        return 0.0 if "coconut" in part.key else 100.0 * _PUREE_FRUIT
    if part.key in _DRIED:
        fresh = ingredient_table()[_DRIED[part.key]].composition
        return 100.0 * (100.0 - part.of("water")) / (100.0 - float(fresh[0]))
    return 100.0 if part.kind in ("fruit", "juice") else 0.0


def _nuts(part: Part) -> float:
    if part.key == "coconut_puree_10":
        return 100.0 * _PUREE_FRUIT
    if part.kind != "nut":
        return 0.0
    return 50.0 if part.key.endswith("_praline_50") else 100.0


def _may_be_flavour(part: Part) -> bool:
    """Whether a thing of one's own holds anything that milk, sugar, egg and stabiliser do not."""
    return part.kind == "own" and 100.0 - part.of(*_PLAIN) > 1.0


def _holds_milk(part: Part) -> bool:
    return part.of("milk_fat", "milk_protein", "lactose", "milk_minerals") > 0.0


def _is_egg_but_white(part: Part) -> bool:
    if part.kind == "own":
        return part.of("egg_fat") > 0.0
    return part.animal == "egg" and not part.key.startswith("egg_white")


def _acid_groups(part: Part) -> float:
    """Moles of acid groups in 100 g."""
    return sum(part.of(key) / grams for key, grams in _ACIDS.items())


def _whole_milk(parts: Sequence[Part]) -> float:
    """Milk of the mix [%]: whole milk as weighed, other dairy as the whole milk that it would make."""
    whole = sum(part.share for part in parts if part.key in _WHOLE_MILK)
    others = [
        part for part in parts if part.kind in ("dairy", "own") and part.key not in _WHOLE_MILK
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
        whole = part.key in ("whole_egg", "egg_powder")
        yolk = part.key.startswith("egg_yolk") or (
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
