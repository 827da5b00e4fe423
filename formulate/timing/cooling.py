"""A cook's questions about cold: how long to harden, to temper, how long a scoop holds.

Answers are ranges.  How well air takes heat from a surface is known to a factor of two at best, so every
time is calculated for the middle and for both ends of a common engineering range; the conductivity of
the mix is rough as well (see :mod:`formulate.timing.thermal`) and is not in the range.

Assumptions: the freezer keeps its temperature whatever is put into it; air reaches every side alike; the
body starts at one temperature; walls resist heat but hold none.  Temperatures are in °C.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from formulate.errors import InputError, nearest
from formulate.timing.conduction import Course, Shape, cool
from formulate.timing.thermal import (
    COLDEST_MATERIAL_C,
    WARMEST_MATERIAL_C,
    Material,
    ice_fraction,
    material,
)

__all__ = [
    "AIR",
    "LONGEST_MINUTES",
    "PLACES",
    "WALLS",
    "Container",
    "Place",
    "Timing",
    "churn_energy",
    "harden",
    "scoop_holds",
    "temper",
]


#: Longest time that is calculated: two days [min].
LONGEST_MINUTES = 48.0 * 60.0

#: Surface coefficients, lowest and highest [W/(m2 K)], of air in a freezer: common engineering ranges,
#: from memory, without a source.
AIR: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"still": (5.0, 10.0), "fan": (15.0, 30.0), "blast": (35.0, 60.0)}
)

#: Thermal resistance of the wall of a container [m2 K/W], thickness over conductivity: common values,
#: from memory, without a source.
WALLS: Mapping[str, float] = MappingProxyType(
    {
        "none": 0.0,
        "steel": 0.001 / 16.0,
        "plastic": 0.0015 / 0.2,
        "silicone": 0.002 / 0.25,
        "card": 0.0005 / 0.06,
    }
)

_SCOOP_AIR = (7.0, 13.0)  # still room air and radiation; as for AIR
_MELTED_SHARE = 0.1
_MOST_OVERRUN = 300.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is tempered: its temperature [°C], lowest and highest h [W/(m2 K)]."""

    temperature_c: float
    h: tuple[float, float]


#: Places to temper in; values as for :data:`AIR`.
PLACES: Mapping[str, Place] = MappingProxyType(
    {"fridge": Place(4.0, (5.0, 10.0)), "bench": Place(22.0, (7.0, 13.0))}
)


@dataclass(frozen=True, slots=True)
class Container:
    """What a mix stands in: its inner shape, quite full, and its wall, one of :data:`WALLS`.

    All sides count as cooled, the top too.  Stack or stand it on a board, and it takes longer.
    """

    shape: Shape
    wall: str = "none"


@dataclass(frozen=True)
class Timing:
    """How long something takes, from middle and ends of the range of surface coefficients.

    Attributes
    ----------
    minutes, low_minutes, high_minutes:
        For the middle of the range, the highest coefficient and the lowest [min]; ``None`` where it
        takes more than :data:`LONGEST_MINUTES`.
    target_c:
        Temperature that had to be reached [°C].
    core_c, mean_c, surface_c:
        Temperatures then [°C], or at :data:`LONGEST_MINUTES`; middle of the range.
    heat_out_kj_per_kg, heat_out_kj:
        Heat given off till then, per kg and in all; negative where it is taken up.
    mass_kg:
        Mass of what is cooled or warmed.
    asked_c, asked_range_c:
        Temperature that counts (core in hardening, else mean) after the minutes asked for [°C], and its
        range, coldest first; ``None`` if no minutes were asked for.
    enough:
        Whether those minutes are enough: at either end of the range, at none, or at one of them.
    energy_error:
        Largest relative error of the energy balance of the calculations.
    course:
        The whole course, middle of the range; goes on to the minutes asked for.
    """

    minutes: float | None
    low_minutes: float | None
    high_minutes: float | None
    target_c: float
    core_c: float
    mean_c: float
    surface_c: float
    heat_out_kj_per_kg: float
    heat_out_kj: float
    mass_kg: float
    asked_c: float | None
    asked_range_c: tuple[float, float] | None
    enough: Literal["yes", "no", "uncertain"] | None
    energy_error: float
    course: Course


def harden(
    composition: ArrayLike,
    container: Container,
    overrun_percent: float,
    from_c: float,
    to_c: float,
    freezer_c: float,
    air: str = "still",
    *,
    minutes: float | None = None,
) -> Timing:
    """Return how long a container takes in a freezer until its core is cold enough.

    Parameters
    ----------
    composition:
        The mix, shape (columns,).
    container:
        Shape and wall.
    overrun_percent:
        Air, % by volume of the mix, 0 to 300.
    from_c, to_c, freezer_c:
        Temperature of the mix at the start, wanted in its core, and of the freezer [°C], each colder
        than the one before; -30 to 40.
    air:
        One of :data:`AIR`.
    minutes:
        A time to judge: is an hour enough?

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range or a word unknown.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import vessel
    >>> mix = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> still = harden(mix, vessel("ball", "60"), 30.0, -6.0, -15.0, -22.0)
    >>> blast = harden(mix, vessel("ball", "60"), 30.0, -6.0, -15.0, -22.0, "blast")
    >>> blast.minutes < still.low_minutes < still.minutes < still.high_minutes
    True
    """
    _choice("air", air, AIR)
    _temperatures({"from_c": from_c, "to_c": to_c, "freezer_c": freezer_c})
    if not to_c < from_c:
        problem = f"{to_c:g} °C is not below from_c, {from_c:g} °C"
        raise InputError(
            "to_c", problem, "Give the core temperature to be reached, -15 for example."
        )
    if not freezer_c < to_c:
        problem = f"{freezer_c:g} °C is not below to_c, {to_c:g} °C, so the mix never gets there"
        raise InputError("freezer_c", problem, "Set the freezer colder or ask for a warmer core.")
    mix = _mix(composition, overrun_percent)
    mass = _mass(container, mix)
    return _timing(
        mix,
        container.shape,
        _behind(container, AIR[air]),
        from_c,
        freezer_c,
        "core",
        to_c,
        mass,
        minutes,
    )


def temper(
    composition: ArrayLike,
    container: Container,
    overrun_percent: float,
    storage_c: float,
    serving_c: float,
    place: str = "fridge",
    *,
    minutes: float | None = None,
) -> Timing:
    """Return how long a container takes until the mean of its temperature is that for serving.

    The mean is that of its enthalpy: the temperature it would have once evened out.  The surface is
    softer by then; ``surface_c`` says how warm.

    Parameters
    ----------
    composition, container, overrun_percent, minutes:
        As for :func:`harden`.
    storage_c, serving_c:
        Temperature at the start and wanted as the mean [°C], -30 to 40.
    place:
        One of :data:`PLACES`.

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range or a word unknown.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import vessel
    >>> mix = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> temper(mix, vessel("ball", "60"), 30.0, -18.0, -12.0, minutes=600.0).enough
    'yes'
    """
    _choice("place", place, PLACES)
    _temperatures({"storage_c": storage_c, "serving_c": serving_c})
    where = PLACES[place]
    if not storage_c < serving_c < where.temperature_c:
        problem = (
            f"{serving_c:g} °C does not lie between storage_c, {storage_c:g} °C, "
            f"and the {place}, {where.temperature_c:g} °C"
        )
        raise InputError("serving_c", problem, "Give the temperature to be served at.")
    mix = _mix(composition, overrun_percent)
    mass = _mass(container, mix)
    h = _behind(container, where.h)
    return _timing(
        mix, container.shape, h, storage_c, where.temperature_c, "mean", serving_c, mass, minutes
    )


def scoop_holds(
    composition: ArrayLike,
    grams: float,
    overrun_percent: float,
    from_c: float,
    room_c: float = 22.0,
    *,
    minutes: float | None = None,
) -> Timing:
    """Return how long a scoop, a ball in the open, keeps nine tenths of its ice.

    That a scoop holds until a tenth of its ice has melted is this tool's own criterion, without a
    source; it counts the ice at the mean enthalpy.  Damp air, lamps and a warm plate shorten the time,
    a cold bowl lengthens it; what melts is taken to stay on.

    Parameters
    ----------
    composition, overrun_percent, minutes:
        As for :func:`harden`.
    grams:
        Mass of the scoop [g], 1 to 1000.
    from_c, room_c:
        Temperature of the scoop and of the room [°C], -30 to 40.

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range, the scoop has no ice, or the room does not melt it.

    Examples
    --------
    >>> import formulate as fm
    >>> mix = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> scoop_holds(mix, 60.0, 30.0, -12.0).minutes < scoop_holds(mix, 60.0, 30.0, -18.0).minutes
    True
    """
    if not 1.0 <= grams <= 1000.0:
        problem = f"{grams:g} g is not from 1 to 1000 g"
        raise InputError("grams", problem, "Weigh a scoop: 40 to 80 g is usual.")
    _temperatures({"from_c": from_c, "room_c": room_c})
    mix = _mix(composition, overrun_percent)
    ice = ice_fraction(composition, mix.temperature_c)
    at_start = float(np.interp(from_c, mix.temperature_c, ice))
    if at_start <= 0.0:
        problem = f"at {from_c:g} °C the mix has no ice that could melt"
        raise InputError("from_c", problem, "Give the serving temperature, -12 for example.")
    melted = float(np.interp((_MELTED_SHARE - 1.0) * at_start, -ice, mix.enthalpy))
    target = float(mix.temperature_at(melted))
    if not room_c > target:
        problem = f"at {room_c:g} °C less than a tenth of the ice melts, however long it stands"
        raise InputError("room_c", problem, "Give the temperature of the room, 22 for example.")
    mass = grams / 1000.0
    shape = Shape.sphere(float(np.cbrt(6.0 * mass / mix.density / np.pi)))
    return _timing(mix, shape, _SCOOP_AIR, from_c, room_c, "mean", target, mass, minutes)


def churn_energy(composition: ArrayLike, from_c: float, draw_c: float) -> float:
    """Return the heat to take out of a mix from the fridge to the draw [kJ/kg].

    Without the work of the dasher, which comes on top.

    Parameters
    ----------
    composition:
        The mix, shape (columns,).
    from_c, draw_c:
        Temperature at the start and on drawing [°C], -30 to 40.

    Returns
    -------
    float
        kJ per kg of mix.

    Raises
    ------
    InputError
        If a temperature is out of its range, or the draw not colder.

    Examples
    --------
    >>> import formulate as fm
    >>> mix = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> churn_energy(mix, 4.0, -5.0) < churn_energy(mix, 4.0, -7.0)
    True
    """
    _temperatures({"from_c": from_c, "draw_c": draw_c})
    if not draw_c < from_c:
        problem = f"{draw_c:g} °C is not below from_c, {from_c:g} °C"
        raise InputError("draw_c", problem, "Give the temperature on drawing, -6 for example.")
    start, end = _mix(composition, 0.0).enthalpy_at([from_c, draw_c])
    return float(start - end) / 1000.0


def _choice(place: str, word: str, known: Mapping[str, object]) -> None:
    if word not in known:
        words = ", ".join(known)
        raise InputError(
            place, f'"{word}" is not one of {words}', nearest(word, known) or "Choose one."
        )


def _temperatures(given: Mapping[str, float]) -> None:
    for place, value in given.items():
        if not COLDEST_MATERIAL_C <= value <= WARMEST_MATERIAL_C:
            limits = f"{COLDEST_MATERIAL_C:g} to {WARMEST_MATERIAL_C:g} °C"
            remedy = "Chill the mix first."
            if value < COLDEST_MATERIAL_C:
                remedy = (
                    f"Use {COLDEST_MATERIAL_C:g}; a colder freezer is a little faster than that."
                )
            raise InputError(place, f"{value:g} °C is not from {limits}", remedy)


def _mix(composition: ArrayLike, overrun_percent: float) -> Material:
    if not 0.0 <= overrun_percent <= _MOST_OVERRUN:
        problem = f"{overrun_percent:g} % is not from 0 to {_MOST_OVERRUN:g} %"
        raise InputError("overrun_percent", problem, "30 means 1 L of mix became 1.3 L.")
    return material(composition, overrun_percent)


def _mass(container: Container, mix: Material) -> float:
    _choice("wall", container.wall, WALLS)
    if not isfinite(container.shape.volume):
        problem = "has an endless side, so it has no mass"
        raise InputError("container", problem, "Give all its dimensions.")
    return container.shape.volume * mix.density


def _behind(container: Container, h: tuple[float, float]) -> tuple[float, float]:
    """Lowest and highest coefficient from the mix through the wall to the air."""
    low, high = (1.0 / (1.0 / each + WALLS[container.wall]) for each in h)
    return low, high


def _timing(
    mix: Material,
    shape: Shape,
    h: tuple[float, float],
    start_c: float,
    surroundings_c: float,
    until: Literal["core", "mean"],
    target_c: float,
    mass_kg: float,
    asked: float | None,
) -> Timing:
    if asked is not None and not 0.0 < asked <= LONGEST_MINUTES:
        problem = f"{asked:g} is not from above 0 to {LONGEST_MINUTES:g}"
        raise InputError("minutes", problem, "Two days are as far as is calculated.")
    slow, course, fast = (
        cool(
            mix,
            shape,
            start_c,
            surroundings_c,
            each,
            60.0 * LONGEST_MINUTES,
            until=until,
            target_c=target_c,
            at_least_s=60.0 * (asked or 0.0),
        )
        for each in (h[0], (h[0] + h[1]) / 2.0, h[1])
    )
    end = course.reached_s if course.reached_s is not None else float(course.times_s[-1])
    core, mean, surface = course.at(end)
    heat = float(np.interp(end, course.times_s, course.heat_out_j_per_kg)) / 1000.0
    asked_c, asked_range = None, None
    if asked is not None:
        judged = 0 if until == "core" else 1
        after = [each.at(60.0 * asked)[judged] for each in (slow, course, fast)]
        asked_c, asked_range = after[1], (min(after), max(after))
    low, high = _minutes(fast), _minutes(slow)
    return Timing(
        minutes=_minutes(course),
        low_minutes=low,
        high_minutes=high,
        target_c=target_c,
        core_c=core,
        mean_c=mean,
        surface_c=surface,
        heat_out_kj_per_kg=heat,
        heat_out_kj=heat * mass_kg,
        mass_kg=mass_kg,
        asked_c=asked_c,
        asked_range_c=asked_range,
        enough=None if asked is None else _enough(asked, low, high),
        energy_error=max(each.energy_error for each in (slow, course, fast)),
        course=course,
    )


def _minutes(course: Course) -> float | None:
    return None if course.reached_s is None else course.reached_s / 60.0


def _enough(
    asked: float, low: float | None, high: float | None
) -> Literal["yes", "no", "uncertain"]:
    if high is not None and asked >= high:
        return "yes"
    if low is None or asked < low:
        return "no"
    return "uncertain"
