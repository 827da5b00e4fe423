"""Rules of cooling after heating: whether readings of time and temperature keep them.

Rules are quoted, each with its source; between two readings only the order is known, so that an answer
may be uncertain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import Literal

from formulate.errors import InputError
from formulate.safety.heat import HOTTEST_C

__all__ = [
    "COOLING_RULES",
    "CoolingLeg",
    "CoolingRule",
    "CoolingStep",
    "CoolingVerdict",
    "cooling_verdicts",
]

_SAME_C = 0.5  # readings of one moment may differ by so much
_STILL_HOT_C = (
    60.0  # colder than this no reading is one of the end of heating; this project's choice
)


@dataclass(frozen=True, slots=True)
class CoolingStep:
    """From ``from_c`` (``None``: from the end of heating) to ``to_c`` within so many minutes."""

    from_c: float | None
    to_c: float
    minutes: float


@dataclass(frozen=True, slots=True)
class CoolingRule:
    """One rule of cooling, and where it stands; all its steps must be met."""

    key: str
    steps: tuple[CoolingStep, ...]
    source: str


COOLING_RULES: tuple[CoolingRule, ...] = (
    CoolingRule(
        "uk_1995",
        (CoolingStep(None, 7.2, 90.0),),
        "SI 1995/1372, Schedule 6 Part V (legislation.gov.uk)",
    ),
    CoolingRule(
        "fr_2009",
        (CoolingStep(63.0, 10.0, 120.0),),
        "arrêté of 21 December 2009, read in part (legifrance.gouv.fr)",
    ),
    CoolingRule(
        "us_food_code",
        (CoolingStep(57.0, 21.0, 120.0), CoolingStep(57.0, 5.0, 360.0)),
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
    ``begun_below_c`` is the temperature that was passed before the readings begin, so that nobody knows
    when; ``None`` where they begin hot enough.
    """

    rule: CoolingRule
    kept: Literal["yes", "no", "uncertain"]
    minutes_left: float | None = None
    waiting_for_c: float | None = None
    begun_below_c: float | None = None


def cooling_verdicts(legs: Sequence[CoolingLeg]) -> tuple[CoolingVerdict, ...]:
    """Return whether a course of cooling keeps each of :data:`COOLING_RULES`.

    Parameters
    ----------
    legs:
        In order from the end of heating, each starting where the one before ended.

    Returns
    -------
    tuple of CoolingVerdict

    Raises
    ------
    InputError
        If there is no leg, or one does not cool, takes no time or does not join the one before.

    Notes
    -----
    Source of each stands in its rule. A verdict quotes a rule; it does not say that a mix is safe.

    Examples
    --------
    >>> verdicts = cooling_verdicts([CoolingLeg(60.0, 20.0, 90.0), CoolingLeg(20.0, 4.0, 180.0)])
    >>> {verdict.rule.key: verdict.kept for verdict in verdicts}
    {'uk_1995': 'no', 'fr_2009': 'uncertain', 'us_food_code': 'yes'}
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
            begun = _hot_enough(step) if points[0][1] < _hot_enough(step) else None
            return CoolingVerdict(rule, "uncertain", left, waiting, begun)
    return CoolingVerdict(rule, "yes")


def _hot_enough(step: CoolingStep) -> float:
    """At what the readings must begin, so that it is known when the step began."""
    return _STILL_HOT_C if step.from_c is None else step.from_c


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
    if points[0][1] < _hot_enough(step):
        return "uncertain", None  # how long it had been cooling before, nobody knows
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
        if not (-30.0 <= leg.end_c < leg.start_c <= HOTTEST_C):
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
