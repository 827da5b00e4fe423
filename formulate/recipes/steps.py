"""Preparation before a mix: steps that change weight and composition, each with its yield and spread.

Twice as much in gives twice as much out, so that the weight at the scale stays the unknown of a linear
programme; where a step ends at a reading or a moisture, its share follows from what goes in.

The scale stands where a ``weigh`` step says; without one, after peeling and stoning if that comes first
(the table describes what is edible), else before all steps.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from formulate.arrays import Array
from formulate.checks import flag, known_word, standing_at, within
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, nearest
from formulate.ingredients import position
from formulate.recipes.splits import (
    Infusion,
    Prepared,
    Split,
    clear_fat,
    drain,
    evaporate,
    mass_of,
    press,
    share,
    sieve,
    soak,
    steep,
    yield_from_weighing,
)

__all__ = [
    "VERBS",
    "Step",
    "Usual",
    "Verb",
    "apply",
    "check_order",
    "infusion",
    "infusion_of",
    "learned",
    "prepare",
    "steps_from_data",
    "steps_to_data",
    "usual_settings",
]

Setting = float | str | bool
Sides = list[dict[str, Array]]

_DRIED = 20.0  # % of water below which a herb counts as dried; no source
_HOT = 40.0  # °C from which an infusion counts as hot; no source

#: Lowest and highest value of each number that a step may have.
_LIMITS: Mapping[str, tuple[float, float]] = MappingProxyType(
    dict.fromkeys("waste_percent steam_percent to_moisture_percent spread_percent".split(), (0, 95))
    | dict.fromkeys("fibre_percent juice_percent pulp_percent solids_percent".split(), (0, 100))
    | dict.fromkeys("water_percent alcohol_kept_percent".split(), (0, 100))
    | {"fat_kept_percent": (5, 100), "to_percent": (5, 100), "to_brix": (1, 90)}
    | {"grams_taken_per_gram": (0, 20), "grams_kept_per_gram": (-0.95, 20)}
    | {"minutes": (0, 10080), "at_c": (-5, 200)}
)


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do, and the settings that the cook gives, in order; the others are usual.

    Raises
    ------
    InputError
        If the word is no step, or a setting is none of it, given twice, of another kind or out of its
        range.

    Examples
    --------
    >>> Step("reduce", (("to_brix", 60),)).get("to_brix")
    60.0
    """

    do: str
    settings: tuple[tuple[str, Setting], ...] = ()

    def __post_init__(self) -> None:
        """Check the word and every setting."""
        if not isinstance(self.do, str) or self.do not in VERBS:
            problem = f'"{self.do}" is not a step that is known here'
            remedy = nearest(str(self.do), VERBS) or f"Known steps: {', '.join(VERBS)}."
            allowed = tuple(VERBS)
            raise InputError(
                "step, do", problem, remedy, field="do", value=self.do, allowed=allowed
            )
        verb, place = VERBS[self.do], f"step ({self.do})"
        known = (*verb.ends, *verb.settings, *verb.words)
        known = (*known, "spread_percent", "minutes", "at_c") if known else ()
        kept: dict[str, Setting] = {}
        for name, value in self.settings:
            where = f"{place}, {name}"
            if name not in known or name in kept:
                problem = "is given twice" if name in kept else "is not a setting of this step"
                takes = f"It takes {', '.join(known) or 'nothing more'}."
                remedy = nearest(name, known) or takes
                raise InputError(where, problem, remedy, field=name, value=value, allowed=known)
            kept[name] = _setting(name, value, where)
        ends = [name for name in verb.ends if name in kept]
        if len(ends) > 1:
            problem, remedy = f"has {' and '.join(ends)}", "Keep one: a step has one end."
            raise InputError(place, problem, remedy, field=ends[1], value=kept[ends[1]])
        object.__setattr__(self, "settings", tuple(kept.items()))

    def get(self, name: str) -> Setting | None:
        """Return a setting that was given, or ``None``."""
        return dict(self.settings).get(name)


class Usual(NamedTuple):
    """A usual setting (``None`` if the cook must give it), one sd in % of it, and where from."""

    value: float | None
    spread_percent: float
    basis: str


class Verb(NamedTuple):
    """How a step parts, where the rest goes, its settings, its ends of which one holds, its words."""

    split: Callable[[Array, Mapping[str, float], str], Split] | None
    where: str = ""
    settings: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


_WASTE, _SPIRIT = ("waste_percent",), ("alcohol_kept_percent",)
_SIEVED = ("waste_percent", "fibre_percent")
_TO_BRIX, _TO_DRY = ("to_brix", "to_percent"), ("to_moisture_percent", "steam_percent")
_DRAWN = ("grams_kept_per_gram", "solids_percent", "water_percent")

#: Every word that ``do`` may be.
VERBS: Mapping[str, Verb] = MappingProxyType(
    {
        "peel and stone": Verb(share, "peel and stones", _WASTE),
        "weigh": Verb(None),
        "blend": Verb(share, "jug", _WASTE),
        "sieve": Verb(sieve, "sieve", _SIEVED),
        "drain": Verb(drain, "drained", ("juice_percent",)),
        "press": Verb(press, "press cake", ("juice_percent", "pulp_percent")),
        "clarify": Verb(sieve, "clarified", _SIEVED),
        "clarify butter": Verb(clear_fat, "clarified", ("fat_kept_percent",)),
        "simmer": Verb(evaporate, "steam", _SPIRIT, ("steam_percent",)),
        "reduce": Verb(evaporate, "steam", _SPIRIT, _TO_BRIX),
        "concentrate": Verb(evaporate, "water taken out", _SPIRIT, _TO_BRIX),
        "roast": Verb(evaporate, "steam", _SPIRIT, _TO_DRY),
        "dry": Verb(evaporate, "steam", _SPIRIT, _TO_DRY),
        "bloom": Verb(soak, "soaking water", ("grams_taken_per_gram",), (), ("in",)),
        "hydrate": Verb(share, "clumps", _WASTE, (), ("in",)),
        "infuse": Verb(None, "spent herb", _DRAWN, (), ("in", "like", "hot")),
    }
)


@lru_cache(maxsize=1)
def usual_settings() -> Mapping[tuple[str, str, str, str], Usual]:
    """Return the usual settings of ``steps.csv`` by verb, kind of ingredient, hot or cold, setting.

    Returns
    -------
    Mapping
        Settings with their spread and basis, read-only.

    Examples
    --------
    >>> all(usual.spread_percent >= 0.0 for usual in usual_settings().values())
    True
    """
    found = {}
    for row in read_rows(data_folder() / "steps.csv"):
        where = f"steps.csv, {row['do']}, {row['setting']}"
        value = None if row["value"] == "none" else number(row, "value", where)
        key = (row["do"], row["kind"], row["when"], row["setting"])
        found[key] = Usual(value, number(row, "spread_percent", where), row["basis"])
    return MappingProxyType(found)


def apply(
    step: Step,
    grams: Array,
    kind: str = "",
    *,
    edible_percent: float | None = None,
    liquids: Mapping[str, Array] | None = None,
    numbers: Mapping[str, float] | None = None,
    place: str = "steps",
) -> tuple[Array, dict[str, Array]]:
    """Return what a step keeps of grams by column, and what leaves, by where.

    Parameters
    ----------
    step, grams:
        The step, and grams by column; ``weigh`` changes nothing.
    kind, edible_percent:
        As the table has them: what chooses the usual settings, and the used share of the bought
        weight, for ``peel and stone`` without a waste of its own.
    liquids:
        Compositions of what a herb may be drawn in, by key.
    numbers:
        In place of the step's own and the usual numbers, if given.
    place:
        Where the steps stand, for messages.

    Raises
    ------
    InputError
        If the step cannot be done with this: no such end, not so much juice, no such liquid.
    """
    verb, place = VERBS[step.do], f"{place}, {step.do}"
    if numbers is None:
        numbers = _numbers(step, kind, grams, edible_percent, place)[0]
    if verb.split is not None:
        kept, lost = verb.split(grams, numbers, place)
    elif step.do == "infuse":
        liquid, known = str(step.get("in")), liquids or {}
        if liquid not in known:
            remedy = nearest(liquid, known) or "Name the liquid that the herb is drawn in."
            raise InputError(f"{place}, in", f'"{liquid}" is not an ingredient here', remedy)
        figures = Infusion(*[numbers[name] for name in _DRAWN])  # type: ignore[arg-type]
        kept, lost = steep(grams, known[liquid], figures, place)
    else:
        return grams, {}
    return kept, {verb.where: lost}


def prepare(
    composition: Array,
    steps: Sequence[Step],
    kind: str = "",
    *,
    edible_percent: float | None = None,
    liquids: Mapping[str, Array] | None = None,
    place: str = "steps",
) -> Prepared:
    """Return what a gram of an ingredient at the scale becomes, what leaves, and how sure that is.

    ``composition`` is in g per 100 g, before all steps; the others are those of :func:`apply`, which
    also says what is refused.

    Parameters
    ----------
    composition:
        g per 100 g over the columns.
    steps:
        In order.
    kind:
        Kind of the ingredient, as the table has it; chooses the usual settings.
    edible_percent:
        Used share of the bought weight [%], for ``peel and stone`` without a waste of its own.
    liquids:
        Compositions of what a herb may be drawn in, by key.
    place:
        Where the steps stand, for messages.

    Returns
    -------
    Prepared
        Per gram at the scale.

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> damson = ingredient_table()["damson"].composition
    >>> found = prepare(damson, steps_from_data([{"do": "reduce", "to_percent": 50}]), "fruit")
    >>> round(mass_of(found.contribution), 3)
    0.5
    """
    words, start = [step.do for step in steps], composition / 100.0
    scale = words.index("weigh") if "weigh" in words else int(words[:1] == ["peel and stone"])
    sizes: dict[tuple[int, str], float] = {}

    def chain(at: int = -1, what: str = "", by: float = 0.0) -> tuple[Array, Array, Sides]:
        grams, weighed = start, start
        sides: Sides = [{}, {}]
        for index, step in enumerate(steps):
            where = f"{place}, {step.do}"
            numbers, ones = _numbers(step, kind, grams, edible_percent, where)
            if at < 0:
                sizes.update({(index, name): size for name, size in ones.items() if size > 0.0})
            elif at == index:
                numbers[what] = min(max(numbers[what] + by, _LIMITS[what][0]), _LIMITS[what][1])
            grams, lost = apply(step, grams, liquids=liquids, numbers=numbers, place=place)
            for name, part in lost.items():
                sides[index >= scale][name] = part + sides[index >= scale].get(name, 0.0)
            weighed = grams if index < scale else weighed
        scaled = mass_of(weighed) / mass_of(start)
        sides = [{name: part / scaled for name, part in side.items()} for side in sides]
        return weighed / scaled, grams / scaled, sides

    weighed, contribution, (trimmings, losses) = chain()
    doubts = {}
    for (index, name), size in sizes.items():
        ends = []
        for by in (size, -size):
            try:
                ends.append(chain(index, name, by)[1])
            except InputError:  # past what can be done: no change on this side
                ends.append(contribution)
        if np.abs(ends[0] - ends[1]).max() > 1e-12:
            doubts[f"{index + 1} {words[index]}, {name}"] = (ends[0] - ends[1]) / 2.0
    bought = 1.0 + sum(mass_of(lost) for lost in trimmings.values()) / mass_of(weighed)
    if edible_percent is not None and "peel and stone" not in words:
        bought *= 100.0 / edible_percent
    kept = -mass_of(contribution) / mass_of(weighed)
    drawn = {str(step.get("in")): kept for step in steps if step.do == "infuse"}
    return Prepared(weighed, contribution, losses, trimmings, bought, doubts, drawn)


def infusion(
    herb: Array, liquid: Array, figures: Infusion | None = None, kind: str = "herb"
) -> Prepared:
    """Return what a gram of herb does to a liquid, by compositions; figures usual unless given."""
    settings: list[tuple[str, Setting]] = [("in", "liquid")]
    if figures is not None:
        settings += [(name, getattr(figures, name)) for name in (*_DRAWN, "hot")]
    return prepare(herb, (Step("infuse", tuple(settings)),), kind, liquids={"liquid": liquid})


def infusion_of(step: Step, composition: Array, kind: str = "") -> Infusion:
    """Return the figures of an ``infuse`` step for a herb of this composition and kind.

    Parameters
    ----------
    step:
        With the word ``infuse``.
    composition:
        Of the herb, g per 100 g over the columns.
    kind:
        Of the herb, as the table has it; chooses the usual figures.

    Returns
    -------
    Infusion

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> bay = ingredient_table()["bay_leaf"]
    >>> step = Step("infuse", (("in", "whole_milk"), ("grams_kept_per_gram", 1.5)))
    >>> infusion_of(step, bay.composition, bay.kind).grams_kept_per_gram
    1.5
    """
    numbers, _ = _numbers(step, kind, composition, None, step.do)
    kind, when = _looked_up(step, kind, composition)
    figures: dict[str, Any] = {name: step.get(name) for name in ("minutes", "at_c")}
    for name in ("usual_minutes", "usual_grams_per_kg"):
        figures[name] = _usual("infuse", kind, when, name).value
    return Infusion(hot=when == "hot", **numbers, **figures)


def learned(step: Step, before_g: float, after_g: float) -> Step:
    """Return a step with the share that the weights before and after it show.

    Parameters
    ----------
    step:
        The step as it was.
    before_g, after_g:
        Weights before and after it [g], above 0.

    Returns
    -------
    Step

    Raises
    ------
    InputError
        If a weight cannot be, or two weights do not tell what this step does.

    Examples
    --------
    >>> learned(Step("sieve", ()), 1000.0, 870.0).get("fibre_percent") is None
    True
    """
    percent, verb = 100.0 * yield_from_weighing(before_g, after_g), VERBS[step.do]
    name = (*verb.ends[-1:], *verb.settings, "")[0]
    if name not in ("waste_percent", "juice_percent", "steam_percent", "to_percent"):
        remedy = "Give its settings; for an infusion, weigh liquid, herb and strained liquid."
        raise InputError(f"weighing, {step.do}", "two weights do not tell what it does", remedy)
    value = percent if name == "to_percent" or step.do == "press" else 100.0 - percent
    kept = tuple(pair for pair in step.settings if pair[0] not in (*verb.ends, name))
    return Step(step.do, (*kept, (name, _setting(name, value, f"weighing, {name}"))))


def steps_to_data(steps: Sequence[Step]) -> list[dict[str, Setting]]:
    """Return steps as plain data; :func:`steps_from_data` reads them back.

    Parameters
    ----------
    steps:
        The steps, in order.

    Returns
    -------
    list of dict

    Examples
    --------
    >>> steps_to_data(steps_from_data([{"do": "sieve", "waste_percent": 10}]))
    [{'do': 'sieve', 'waste_percent': 10.0}]
    """
    return [{"do": step.do, **dict(step.settings)} for step in steps]


def steps_from_data(rows: object, place: str = "steps") -> tuple[Step, ...]:
    """Return steps from the list that a recipe file holds.

    Parameters
    ----------
    rows:
        A list of tables, each with the word ``do`` and its settings.
    place:
        Where the list stands, for messages.

    Returns
    -------
    tuple of Step

    Raises
    ------
    InputError
        As :class:`Step` does, with the place in the list, and :func:`check_order`.

    Examples
    --------
    >>> steps_from_data([{"do": "sieve", "waste_percent": 10}])[0].do
    'sieve'
    """
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(place, "must be a list of steps", 'Write steps = [ { do = "sieve" } ].')
    found = []
    for count, row in enumerate(rows, start=1):
        where = f"{place}, step {count}"
        if "do" not in row:
            remedy, allowed = f"Known steps: {', '.join(VERBS)}.", tuple(VERBS)
            raise InputError(f"{where}, do", "is missing", remedy, field="do", allowed=allowed)
        settings = tuple((name, value) for name, value in row.items() if name != "do")
        with standing_at("step", where):
            found.append(Step(row["do"], settings))
    check_order(found, place)
    return tuple(found)


def check_order(steps: Sequence[Step], place: str) -> None:
    """Raise InputError unless these steps can follow each other, and each has its end."""
    words = [step.do for step in steps]
    for word in ("weigh", "peel and stone", "infuse"):
        if words.count(word) > 1:
            problem, remedy = f'has "{word}" more than once', "Keep one of them."
            raise InputError(place, problem, remedy, field="steps", value=word)
    if "infuse" in words[:-1]:
        after = words[words.index("infuse") + 1]
        problem, remedy = (
            f'has "{after}" after "infuse"',
            "The spent herb is thrown away: let infuse come last.",
        )
        raise InputError(place, problem, remedy, field="steps", value=after)
    for count, step in enumerate(steps, start=1):
        where, verb = f"{place}, step {count} ({step.do})", VERBS[step.do]
        if verb.ends == _TO_BRIX and not any(step.get(name) for name in verb.ends):
            problem = "has neither to_brix nor to_percent"
            raise InputError(where, problem, "Write to_brix = 60.", field="to_brix")
        if step.do == "infuse" and not step.get("in"):
            remedy = 'Name the liquid: in = "whole_milk".'
            raise InputError(f"{where}, in", "is missing", remedy, field="in")


def _setting(name: str, value: object, place: str) -> Setting:
    if name in ("in", "like"):
        if not isinstance(value, str) or not value.strip():
            problem, remedy = f"is {value!r}, not a word", f'Write {name} = "…".'
            raise InputError(place, problem, remedy, field=name, value=value)
        kinds = sorted({key[1] for key in usual_settings() if key[0] == "infuse" and key[1]})
        return known_word(value, kinds, place, "kind") if name == "like" else value
    return (
        flag(value, place) if name == "hot" else within(value, *_LIMITS[name], place, "Check it.")
    )


def _numbers(
    step: Step, kind: str, grams: Array, edible_percent: float | None, place: str
) -> tuple[dict[str, float], dict[str, float]]:
    """The numbers of a step, given or usual, and one standard deviation of each."""
    verb, (kind, when) = VERBS[step.do], _looked_up(step, kind, grams)
    given = {name: float(value) for name, value in step.settings if name in _LIMITS}
    if step.do == "peel and stone" and edible_percent is not None:
        given.setdefault("waste_percent", 100.0 - edible_percent)
    if step.do == "bloom" and step.get("in"):
        given.setdefault("grams_taken_per_gram", 0.0)
    usual = {name: _usual(step.do, kind, when, name) for name in (*verb.ends, *verb.settings)}
    ends = [name for name in verb.ends if name in given]
    ends = ends or [name for name in verb.ends if usual[name].value is not None]
    if verb.ends and not ends:
        raise InputError(place, f"needs {' or '.join(verb.ends)}", "Give one.")
    names = (*ends[:1], *verb.settings)
    values = {name: given.get(name, usual[name].value or 0.0) for name in names}
    percents = {name: usual[name].spread_percent for name in names}
    if "spread_percent" in given:
        percents[names[0]] = given["spread_percent"]
    return values, {name: abs(values[name]) * percents[name] / 100.0 for name in names}


def _looked_up(step: Step, kind: str, grams: Array) -> tuple[str, str]:
    """Under which kind and heat the usual settings of a step stand."""
    if step.do != "infuse":
        return kind, ""
    hot, at_c = step.get("hot"), step.get("at_c")
    if hot is None:
        hot = at_c is None or float(at_c) >= _HOT
    if kind == "herb":
        dried = 100.0 * grams[position("water")] < _DRIED * mass_of(grams)
        kind = "dried herb" if dried else "fresh herb"
    return str(step.get("like") or kind), "hot" if hot else "cold"


@cache
def _usual(do: str, kind: str, when: str, name: str) -> Usual:
    table = usual_settings()
    keys = [(do, k, w, name) for k in (kind, "") for w in (when, "")]
    return next((table[key] for key in keys if key in table), Usual(None, 0.0, ""))
