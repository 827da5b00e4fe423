"""Heat treatment, cooling and other cautions of a mix: rules to look up, and advice beside them.

Nothing here says that a mix is safe.  Rules are quoted from ``heat_treatment.csv`` and from the
constants below, each with its jurisdiction and source; what binds a kitchen are its local rules and its
own hazard plan.  A rule is met only as it is written: at least its temperature for at least its time,
held by the coldest part of the mix.  Nothing is read between its rows.

Advice on lethality takes microbes to die at a steady rate: a time at a temperature is so many tenfold
reductions, ``seconds / D x 10 ** ((temperature - reference) / z)``, with D and z of ``kinetics.csv``.
They were measured in one liquid with a few strains; sugar, fat and salt protect microbes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import isfinite, log10
from types import MappingProxyType
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from formulate.components import position
from formulate.composition import ingredient_table
from formulate.errors import InputError, nearest
from formulate.tables import data_folder, number, read_rows

__all__ = [
    "COOLING_RULES",
    "DEFER",
    "LETHALITY_CAUTION",
    "REFREEZING_C",
    "Caution",
    "CoolingLeg",
    "CoolingRule",
    "CoolingStep",
    "CoolingVerdict",
    "HeatRow",
    "HeatVerdict",
    "Kinetics",
    "Lethality",
    "cautions_for",
    "cooling_data",
    "cooling_sentences",
    "cooling_verdicts",
    "heat_data",
    "heat_rows",
    "heat_sentences",
    "heat_verdicts",
    "implied_z",
    "kinetics",
    "lethality",
    "lethality_sentences",
    "log_reductions",
]

#: Stands with every answer.
DEFER = (
    "Quoted to help, not as legal advice: follow your local rules and your own hazard plan, and ask your "
    "food authority where in doubt."
)

#: Stands with every lethality.
LETHALITY_CAUTION = (
    "This is advice, not a rule: D and z come from laboratory strains in one liquid. Sugar, fat and salt "
    "protect microbes: in egg yolk at 64.4 °C Listeria fell tenfold in 0.44 min, with 10 % salt and 5 % "
    "sugar only after 30.7 min (Palumbo and others, 1995); in ice cream mixes at 60 °C Listeria "
    "innocua took about 2.4 times as long as in milk (McKellar, 1996). Never shorten a rule by it."
)

_NO_HOLD_S = 1e-9
_Z_OF_NEAREST = 7.0  # °C; a shortfall of so much counts as a tenfold time, z of Listeria in mix
_MANY_REDUCTIONS = 12.0  # beyond this a figure tells nothing more; this project's choice
_COLDEST_C, _HOTTEST_C = 40.0, 160.0
_SHORTEST_S, _LONGEST_S = 1e-3, 24.0 * 3600.0
_SAME_C = 0.5


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One row of a rule: at least ``temperature_c`` for at least ``seconds``.

    Attributes
    ----------
    key, jurisdiction, rule:
        Rows with the same jurisdiction and rule are alternatives.
    product:
        What it applies to: "mix", "sterilised mix", "milk", "rich milk" (10 % fat or more, or
        sweetened), "egg base".
    temperature_c, seconds:
        A row printed in °F only is rounded down to 0.01 °C, so that its own figure converted meets it.
    printed, status, source, seen:
        As printed; whether it is law; where; whether the source was seen or recalled from memory.
    """

    key: str
    jurisdiction: str
    rule: str
    product: str
    temperature_c: float
    seconds: float
    printed: str
    status: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True)
class HeatVerdict:
    """What a time and temperature come to against one rule.

    Attributes
    ----------
    jurisdiction, rule:
        The rule.
    met:
        The row that is met, or ``None``.
    nearest:
        The row that is met or comes nearest, counting 7 °C as a tenfold time.
    more_c, more_seconds:
        What is missing to that row; 0 where it is met.
    """

    jurisdiction: str
    rule: str
    met: HeatRow | None
    nearest: HeatRow
    more_c: float
    more_seconds: float


@lru_cache(maxsize=1)
def heat_rows() -> tuple[HeatRow, ...]:
    """Return all rows of ``heat_treatment.csv``, in its order."""
    found = []
    for row in read_rows(data_folder() / "heat_treatment.csv"):
        where = f"heat_treatment.csv, {row['key']}"
        figures = {name: number(row, name, where) for name in ("temperature_c", "seconds")}
        words = {name: text for name, text in row.items() if name not in figures}
        found.append(HeatRow(**words, **figures))  # type: ignore[arg-type]
    return tuple(found)


def heat_verdicts(
    temperature_c: float, seconds: float, product: str = "mix"
) -> tuple[HeatVerdict, ...]:
    """Return what a time and temperature come to against each rule for a product.

    Parameters
    ----------
    temperature_c:
        Lowest temperature of the coldest part while it is held [°C], 40 to 160.
    seconds:
        How long it was held, warming and cooling not counted, 0 to a day.
    product:
        As in :class:`HeatRow`.

    Raises
    ------
    InputError
        If a value is out of range or the product unknown.
    """
    _heat_given(temperature_c, seconds)
    rules: dict[tuple[str, str], list[HeatRow]] = {}
    for row in heat_rows():
        if row.product == product:
            rules.setdefault((row.jurisdiction, row.rule), []).append(row)
    if not rules:
        products = dict.fromkeys(row.product for row in heat_rows())
        problem = f'"{product}" is not one of {", ".join(products)}'
        raise InputError("product", problem, nearest(product, products) or "Choose one.")
    return tuple(_verdict(rows, temperature_c, seconds) for rows in rules.values())


def _verdict(rows: Sequence[HeatRow], temperature_c: float, seconds: float) -> HeatVerdict:
    def missing(row: HeatRow) -> tuple[float, float]:
        return max(row.temperature_c - temperature_c, 0.0), max(row.seconds - seconds, 0.0)

    def decades(row: HeatRow) -> float:
        more_c, more_seconds = missing(row)
        times = log10(row.seconds / max(seconds, _SHORTEST_S)) if more_seconds > 0.0 else 0.0
        return more_c / _Z_OF_NEAREST + times

    closest = min(rows, key=decades)
    more_c, more_seconds = missing(closest)
    met = closest if more_c == 0.0 and more_seconds == 0.0 else None
    return HeatVerdict(
        closest.jurisdiction, closest.rule, met, closest, more_c=more_c, more_seconds=more_seconds
    )


def implied_z(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Return the z [°C] that two rows, each (°C, seconds), imply if they are taken as equal.

    Raises
    ------
    InputError
        If the times do not fall as the temperature rises, or one is zero.
    """
    (cooler, longer), (hotter, shorter) = sorted((first, second))
    if not (hotter > cooler and longer > shorter > 0.0):
        problem = "a hotter row must have a shorter time, above zero"
        raise InputError("rows", problem, "Choose two rows of one rule.")
    return (hotter - cooler) / log10(longer / shorter)


@dataclass(frozen=True, slots=True)
class Kinetics:
    """How fast one organism died in one liquid: D [s] at ``reference_c``, z [°C], measured range [°C]."""

    key: str
    organism: str
    matrix: str
    reference_c: float
    d_seconds: float
    z_c: float
    lowest_c: float
    highest_c: float
    source: str


@dataclass(frozen=True, slots=True)
class Lethality:
    """Tenfold reductions by one kinetics.

    ``counted_c`` is the temperature that was counted [°C]: above the hottest that was measured, that
    one, so that ``reductions`` is then a lower bound.
    """

    kinetics: Kinetics
    temperature_c: float
    counted_c: float
    seconds: float
    reductions: float


@lru_cache(maxsize=1)
def kinetics() -> Mapping[str, Kinetics]:
    """Return the rows of ``kinetics.csv`` by key."""
    columns = ("reference_c", "d_seconds", "z_c", "lowest_c", "highest_c")
    found = {}
    for row in read_rows(data_folder() / "kinetics.csv"):
        where = f"kinetics.csv, {row['key']}"
        figures = {name: number(row, name, where) for name in columns}
        found[row["key"]] = Kinetics(
            key=row["key"],
            organism=row["organism"],
            matrix=row["matrix"],
            source=row["source"],
            **figures,
        )
    return MappingProxyType(found)


def log_reductions(
    temperature_c: float, seconds: float, reference_c: float, d_seconds: float, z_c: float
) -> float:
    """Return tenfold reductions, ``seconds / D x 10 ** ((temperature - reference) / z)``.

    The bare formula: it does not know how far its D and z were measured; see :func:`lethality`.
    """
    return float(seconds / d_seconds * 10.0 ** ((temperature_c - reference_c) / z_c))


def lethality(
    temperature_c: float, seconds: float, key: str = "listeria_ice_cream_mix"
) -> Lethality:
    """Return what a time and temperature come to by one kinetics, as advice.

    Parameters
    ----------
    temperature_c, seconds:
        As for :func:`heat_verdicts`.  Hotter than was measured counts as the hottest measured.
    key:
        One of :func:`kinetics`.  Those of plain egg are no guide to a sugared mix.

    Raises
    ------
    InputError
        If a value is out of range, colder than was measured, or the key unknown.
    """
    _heat_given(temperature_c, seconds)
    known = kinetics()
    if key not in known:
        problem = f'"{key}" is not one of {", ".join(known)}'
        raise InputError("kinetics", problem, nearest(key, known) or "Choose one.")
    used = known[key]
    if temperature_c < used.lowest_c:
        problem = (
            f"{temperature_c:g} °C is colder than {used.organism} in {used.matrix} was measured, "
            f"{used.lowest_c:g} to {used.highest_c:g} °C"
        )
        raise InputError("temperature_c", problem, "Heat to a temperature of one of the rules.")
    counted = min(temperature_c, used.highest_c)
    reductions = log_reductions(counted, seconds, used.reference_c, used.d_seconds, used.z_c)
    return Lethality(used, temperature_c, counted, seconds, reductions)


@dataclass(frozen=True, slots=True)
class CoolingStep:
    """From ``from_c`` (``None``: from the end of heating) to ``to_c`` within so many minutes."""

    from_c: float | None
    to_c: float
    minutes: float


@dataclass(frozen=True, slots=True)
class CoolingRule:
    """One rule of cooling; all its steps must be met."""

    key: str
    name: str
    steps: tuple[CoolingStep, ...]
    status: str
    source: str


COOLING_RULES: tuple[CoolingRule, ...] = (
    CoolingRule(
        "uk_1995",
        "UK, Dairy Products (Hygiene) Regulations 1995",
        (CoolingStep(None, 7.2, 90.0),),
        "repealed, from memory; used as guidance",
        "SI 1995/1372, Schedule 6 Part V (legislation.gov.uk)",
    ),
    CoolingRule(
        "us_food_code",
        "US Food Code 3-501.14",
        (CoolingStep(57.0, 21.0, 120.0), CoolingStep(57.0, 5.0, 360.0)),
        "model code, as adopted by states",
        "Delaware and Wisconsin food codes, 3-501.14 (casetext.com)",
    ),
)


@dataclass(frozen=True, slots=True)
class CoolingLeg:
    """One stretch of cooling: from a temperature to a temperature [°C] in so many minutes."""

    start_c: float
    end_c: float
    minutes: float


@dataclass(frozen=True, slots=True)
class CoolingVerdict:
    """Whether a course of cooling keeps one rule.

    ``uncertain`` where the readings leave it open when a temperature was passed, or where cooling is not
    finished; ``minutes_left`` is then what is surely left to reach ``waiting_for_c``, else ``None``.
    """

    rule: CoolingRule
    kept: Literal["yes", "no", "uncertain"]
    minutes_left: float | None = None
    waiting_for_c: float | None = None


def cooling_verdicts(legs: Sequence[CoolingLeg]) -> tuple[CoolingVerdict, ...]:
    """Return whether a course of cooling keeps each of :data:`COOLING_RULES`.

    Parameters
    ----------
    legs:
        In order from the end of heating, each starting where the one before ended.

    Raises
    ------
    InputError
        If there is no leg, or one does not cool, takes no time or does not join the one before.
    """
    _check_legs(legs)
    times, temperatures = [0.0], [legs[0].start_c]
    for leg in legs:
        times.append(times[-1] + leg.minutes)
        temperatures.append(leg.end_c)
    points = tuple(zip(times, temperatures, strict=True))
    return tuple(_cooling(rule, points) for rule in COOLING_RULES)


def _cooling(rule: CoolingRule, points: Sequence[tuple[float, float]]) -> CoolingVerdict:
    steps = [_step(step, points) for step in rule.steps]
    if any(kept == "no" for kept, _ in steps):
        return CoolingVerdict(rule, "no")
    for step, (kept, left) in zip(rule.steps, steps, strict=True):
        if kept == "uncertain":
            waiting = None if left is None else step.to_c
            return CoolingVerdict(rule, "uncertain", left, waiting)
    return CoolingVerdict(rule, "yes")


def _step(
    step: CoolingStep, points: Sequence[tuple[float, float]]
) -> tuple[Literal["yes", "no", "uncertain"], float | None]:
    """Judge one step from readings at (minutes, °C), and say what is left where it is not finished.

    Between readings only the order is known, so that each passing has an earliest and a latest time.
    """
    last = points[-1][0]
    earliest, latest = 0.0, 0.0
    if step.from_c is not None:
        earliest = max((time for time, c in points if c >= step.from_c), default=0.0)
        latest = min((time for time, c in points if c <= step.from_c), default=last)
    still_above = max((time for time, c in points if c > step.to_c), default=0.0)
    just_there = max((time for time, c in points if c == step.to_c), default=0.0)
    reached = min((time for time, c in points if c <= step.to_c), default=None)
    if still_above - latest >= step.minutes or just_there - latest > step.minutes:
        return "no", None
    if reached is None:
        return "uncertain", max(earliest + step.minutes - last, 0.0)
    if reached - earliest <= step.minutes:
        return "yes", None
    return "uncertain", None


def _check_legs(legs: Sequence[CoolingLeg]) -> None:
    if not legs:
        raise InputError("cooling", "has no readings", "Give start, end and minutes.")
    for index, leg in enumerate(legs, start=1):
        place = f"cooling, stretch {index}"
        if not all(isfinite(value) for value in (leg.start_c, leg.end_c, leg.minutes)):
            raise InputError(place, "is not all numbers", "Give start, end and minutes.")
        if not (-30.0 <= leg.end_c < leg.start_c <= _HOTTEST_C):
            problem = f"from {leg.start_c:g} to {leg.end_c:g} °C is no cooling"
            raise InputError(place, problem, "The end must be colder than the start, -30 or above.")
        if leg.minutes <= 0.0:
            problem = f"takes {leg.minutes:g} minutes"
            raise InputError(place, problem, "Give the minutes that it took.")
    for index, (before, after) in enumerate(pairwise(legs), start=2):
        if abs(before.end_c - after.start_c) > _SAME_C:
            problem = (
                f"starts at {after.start_c:g} °C, where the one before ended at {before.end_c:g}"
            )
            raise InputError(f"cooling, stretch {index}", problem, "Give every stretch in order.")


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind in a mix: a key, sentences, and what they rest on."""

    key: str
    text: str
    basis: str


#: Warmest temperature that frozen ice cream may have had and still be sold, UK [°C].
REFREEZING_C = -2.2

_RAW_EGGS = ("whole_egg", "egg_yolk", "egg_white")
_LIKE_MILK = ("plant_drink", "nut", "protein")
_FRESH = ("fruit", "herb", "vegetable")
_MILK_PARTS = tuple(position(key) for key in ("milk_protein", "milk_fat", "lactose"))
_EGG_PARTS = tuple(position(key) for key in ("egg_protein", "egg_fat"))
_EGG_PROTEIN, _EGG_FAT = _EGG_PARTS
_YOLK_FAT = 0.1  # g of egg fat per g of egg protein, above which it is not white alone
_ETHANOL = position("ethanol")


def cautions_for(keys: Sequence[str], composition: ArrayLike) -> tuple[Caution, ...]:
    """Return what to mind in a mix by what it contains, heat treatment first and local rules last.

    Parameters
    ----------
    keys:
        Its ingredients; those that the table does not have are judged by the composition alone.
    composition:
        The mix, g per 100 g, shape (columns,).
    """
    table = ingredient_table()
    known = [table[key] for key in keys if key in table]
    parts = np.asarray(composition, dtype=float)
    eggs = [entry.key for entry in known if "eggs" in entry.allergens]
    milk = any("milk" in entry.allergens for entry in known)
    milk = milk or bool(parts[list(_MILK_PARTS)].any())
    egg = bool(eggs) or bool(parts[list(_EGG_PARTS)].any())
    yolk = bool(parts[_EGG_FAT] > _YOLK_FAT * parts[_EGG_PROTEIN])
    like_milk = [entry.name for entry in known if entry.kind in _LIKE_MILK]
    heated = milk or yolk
    unheated = _like_milk(like_milk) if like_milk else _WATER_ICE
    found = [_heat_caution(milk, egg) if heated else unheated]
    if egg:
        raw = [table[key].name for key in eggs if key in _RAW_EGGS]
        found += _egg_cautions(raw, told=bool(eggs), custard=yolk and milk)
    if heated or like_milk:
        found += [_COOLING, _AGEING]
    fresh = [entry.name for entry in known if entry.kind in _FRESH]
    if fresh and heated:
        found.append(_fresh(fresh))
    if parts[_ETHANOL] > 0.0:
        found.append(_alcohol(float(parts[_ETHANOL])))
    return (*found, _REFREEZING, Caution("local", DEFER, ""))


_COOLING = Caution(
    "cooling",
    "Cool fast after heating: to 7.2 °C or colder within 1.5 h (UK, 1995), or from 57 to 21 °C within "
    "2 h and to 5 °C within 6 h in all (US Food Code). Spread it thin, stand it in ice water and stir.",
    "SI 1995/1372; Food Code 3-501.14",
)
_AGEING = Caution(
    "ageing",
    "Age it at 5 °C or colder for at least 4 h, usually overnight: fat sets, proteins and gums take up "
    "water. How long a mix may wait before churning is for your local rules.",
    "H. D. Goff, Ice Cream Technology e-Book, University of Guelph, Ageing of mix",
)
_WATER_ICE = Caution(
    "water_ice",
    "It has no milk, and no egg but white: by the US pattern a water ice, whose mix need not be "
    "pasteurised; UK regulations of 1959 let water ices off that are acid enough. Fruit, herbs and water "
    "still bring what is on them: wash them, and heat what has little acid, as melon, banana or an "
    "infusion.",
    "21 CFR 135.160; Hackney health report 1959 (wellcomelibrary.org); washing and heating: common "
    "practice, no source",
)
_REFREEZING = Caution(
    "refreezing",
    f"What has been warmer than {REFREEZING_C:g} °C since it was frozen is not sold unless it is "
    "heat-treated and frozen again (UK, 1995); thawed dessert is not simply frozen again.",
    "SI 1995/1372, Schedule 6 Part V (repealed, from memory; used as guidance)",
)


def _heat_caution(milk: bool, egg: bool) -> Caution:
    what = " and ".join(name for name, there in (("milk", milk), ("egg", egg)) if there)
    shown = {"US": "us_pmo", "UK": "uk_1995"}
    rows = "; ".join(
        f"{place}: "
        + ", ".join(
            row.printed for row in heat_rows() if row.key.startswith(key) and row.product == "mix"
        )
        for place, key in shown.items()
    )
    return Caution(
        "heat",
        f"It contains {what}: the rules for frozen dessert mix heat the whole mixture, also where its "
        f"parts came pasteurised. {rows}.",
        "heat_treatment.csv; the UK figures are repealed (from memory) and used as guidance",
    )


def _egg_cautions(raw: Sequence[str], *, told: bool, custard: bool) -> list[Caution]:
    found = []
    if raw or not told:
        subject = ", ".join(raw) if raw else "Egg in it that is not said to be pasteurised"
        found.append(
            Caution(
                "raw_egg",
                f"{subject}: raw egg may carry Salmonella. The US Food Code wants pasteurised egg in ice "
                "cream unless it is cooked; US advice to households is 71 °C inside, stirring. UK "
                "advice allows raw eggs of the British Lion scheme to most people, not to the severely "
                "immunocompromised.",
                "Food Code 3-302.13 (Washington 246-215-03312); foodsafety.gov; Food Standards Agency, "
                "2017, as reported by ncass.org.uk",
            )
        )
    if custard:
        found.append(
            Caution(
                "custard",
                "Custard sets between about 79 and 83 °C and curdles some 3 to 6 °C above: stir, probe "
                "the middle, and cool as soon as it has held its time.",
                "H. McGee, On Food and Cooking, 2004",
            )
        )
    return found


def _like_milk(names: Sequence[str]) -> Caution:
    return Caution(
        "like_milk",
        f"{', '.join(names)}: with protein and little acid microbes grow as in milk. Kitchens treat such "
        "a mix as one with milk, though no rule quoted here names it.",
        "common practice, no source",
    )


def _fresh(names: Sequence[str]) -> Caution:
    return Caution(
        "added_cold",
        f"{', '.join(names)}: what is stirred in after heating has not been heated. Wash it, or heat it "
        "with the mix or by itself.",
        "common practice, no source",
    )


def _alcohol(percent: float) -> Caution:
    return Caution(
        "alcohol",
        f"{percent:.1f} % alcohol does not stand in for heat treatment. Add it once the mix is cold, and "
        "say on the menu that it is there.",
        "common practice, no source",
    )


def heat_sentences(verdicts: Sequence[HeatVerdict]) -> list[str]:
    """Return one sentence a rule, and :data:`DEFER` last."""
    found = []
    for verdict in verdicts:
        row = verdict.nearest
        about = f"{verdict.jurisdiction}, {verdict.rule} ({row.status})"
        if verdict.met is not None:
            found.append(f"{about}: meets {row.printed}.")
            continue
        missing = [f"{verdict.more_c:.3g} °C hotter"] if verdict.more_c > 0.0 else []
        if verdict.more_seconds > 0.0:
            missing.append(f"{_span(verdict.more_seconds)} longer")
        found.append(f"{about}: not met. Nearest: {row.printed}; {' and '.join(missing)}.")
    return [*found, DEFER]


def heat_data(verdicts: Sequence[HeatVerdict]) -> list[dict[str, Any]]:
    """Return the same as plain data."""
    return [
        {
            "jurisdiction": verdict.jurisdiction,
            "rule": verdict.rule,
            "met": verdict.met is not None,
            "row": verdict.nearest.printed,
            "temperature_c": verdict.nearest.temperature_c,
            "seconds": verdict.nearest.seconds,
            "more_c": verdict.more_c,
            "more_seconds": verdict.more_seconds,
            "status": verdict.nearest.status,
            "source": verdict.nearest.source,
            "seen": verdict.nearest.seen,
        }
        for verdict in verdicts
    ]


def lethality_sentences(found: Lethality) -> list[str]:
    """Return what a lethality comes to, and :data:`LETHALITY_CAUTION` last."""
    used = found.kinetics
    many = found.reductions > _MANY_REDUCTIONS
    amount = f"more than {_MANY_REDUCTIONS:g}" if many else f"about {found.reductions:.1f}"
    sentences = [
        f"{found.temperature_c:g} °C for {_span(found.seconds)} comes to {amount} tenfold reductions of "
        f"{used.organism} as measured in {used.matrix}."
    ]
    if found.counted_c < found.temperature_c:
        sentences.append(
            f"Nothing hotter than {found.counted_c:g} °C was measured: it is counted as that, at least."
        )
    return [*sentences, LETHALITY_CAUTION]


def cooling_sentences(verdicts: Sequence[CoolingVerdict]) -> list[str]:
    """Return one sentence a rule, and :data:`DEFER` last."""
    found = []
    for verdict in verdicts:
        if verdict.kept == "yes":
            answer = "kept"
        elif verdict.kept == "no":
            answer = "not kept: it took too long. Ask whether it may still be used"
        elif verdict.waiting_for_c is not None:
            answer = (
                f"not finished: {verdict.minutes_left:.0f} min are surely left to reach "
                f"{verdict.waiting_for_c:g} °C"
            )
        else:
            marks = ", ".join(f"{step.to_c:g}" for step in verdict.rule.steps)
            answer = f"cannot be told from these readings: read the time at {marks} °C as well"
        found.append(f"{verdict.rule.name} ({verdict.rule.status}): {answer}.")
    return [*found, DEFER]


def cooling_data(verdicts: Sequence[CoolingVerdict]) -> list[dict[str, Any]]:
    """Return the same as plain data."""
    return [
        {
            "rule": verdict.rule.key,
            "name": verdict.rule.name,
            "kept": verdict.kept,
            "minutes_left": verdict.minutes_left,
            "waiting_for_c": verdict.waiting_for_c,
            "steps": [
                {"from_c": step.from_c, "to_c": step.to_c, "minutes": step.minutes}
                for step in verdict.rule.steps
            ],
            "status": verdict.rule.status,
            "source": verdict.rule.source,
        }
        for verdict in verdicts
    ]


def _heat_given(temperature_c: float, seconds: float) -> None:
    if not _COLDEST_C <= temperature_c <= _HOTTEST_C:
        problem = f"{temperature_c:g} °C is not from {_COLDEST_C:g} to {_HOTTEST_C:g} °C"
        raise InputError("temperature_c", problem, "Give the temperature that was held, in °C.")
    if not 0.0 <= seconds <= _LONGEST_S:
        problem = f"{seconds:g} s is not from 0 s to a day"
        raise InputError("seconds", problem, "Give how long it was held, without warming up.")


def _span(seconds: float) -> str:
    if seconds <= _NO_HOLD_S:
        return "no time"
    return f"{seconds:.3g} s" if seconds < 100.0 else f"{seconds / 60.0:.3g} min"
