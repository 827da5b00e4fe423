"""Hardening, tempering and holding times in words and as plain data."""

from __future__ import annotations

from typing import Any

import numpy as np

from formulate.timing import LONGEST_MINUTES, Timing

__all__ = ["TIME_CAUTIONS", "duration", "timing_data", "timing_sentences"]

#: Shown with every time.
TIME_CAUTIONS: tuple[str, ...] = (
    "Times are calculated for a freezer that keeps its temperature and for air on all sides; a full "
    "freezer, a lid with air under it or a stack takes longer. Probe the core.",
    "What has thawed is not refrozen and served again: follow your local rules.",
)

_STEPS = 24


def duration(minutes: float | None) -> str:
    """Return a time as a cook says it.

    Parameters
    ----------
    minutes:
        [min]; ``None`` for longer than is calculated.

    Returns
    -------
    str

    Examples
    --------
    >>> duration(95.0)
    '95 min'
    """
    if minutes is None:
        return f"more than {LONGEST_MINUTES / 60.0:.0f} h"
    if minutes < 100.0:
        return f"{minutes:.0f} min"
    return f"{minutes / 60.0:.1f} h"


def timing_sentences(timing: Timing, doing: str, minutes: float | None) -> list[str]:
    """Return what a cook needs to know of one time.

    Parameters
    ----------
    timing:
        The answer.
    doing:
        What is done, as the subject of a sentence: "Hardening", "Tempering in the fridge".
    minutes:
        The time that was asked for [min].

    Returns
    -------
    list of str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import scoop_holds
    >>> mix = fm.check(fm.load("damson_sorbet")).mix
    >>> timing = scoop_holds(mix.composition, 60.0, 30.0, -12.0)
    >>> timing_sentences(timing, "A scoop of 60 g", None)[0].startswith("A scoop of 60 g")
    True
    """
    spread = f"{duration(timing.low_minutes)} to {duration(timing.high_minutes)}"
    found = [
        f"{doing} to {timing.target_c:.1f} °C takes about {duration(timing.minutes)} ({spread}, by how "
        "the air moves)."
    ]
    if timing.minutes is not None:
        found.append(
            f"Then the core is at {timing.core_c:.1f} °C and the surface at {timing.surface_c:.1f} °C."
        )
    heat = timing.heat_out_kj_per_kg
    way = "gives off" if heat >= 0.0 else "takes up"
    found.append(
        f"It holds {timing.mass_kg:.2f} kg and {way} {abs(heat):.0f} kJ per kg, "
        f"{abs(timing.heat_out_kj):.0f} kJ in all."
    )
    if minutes is not None and timing.asked_range_c is not None:
        cold, warm = timing.asked_range_c
        verdict = {
            "yes": "Yes",
            "no": "No",
            "uncertain": "Perhaps, depending on how the air moves",
        }[timing.enough or "uncertain"]
        found.append(
            f"Are {minutes:g} minutes enough? {verdict}: it is then at {cold:.1f} to {warm:.1f} °C."
        )
    return found


def timing_data(timing: Timing) -> dict[str, Any]:
    """Return one time as plain data, with its course in about 25 steps.

    Parameters
    ----------
    timing:
        How long something takes.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import scoop_holds
    >>> mix = fm.check(fm.load("damson_sorbet")).mix
    >>> timing_data(scoop_holds(mix.composition, 60.0, 30.0, -12.0))["target_c"] < 0.0
    True
    """
    course = timing.course
    seconds = np.linspace(0.0, float(course.times_s[-1]), _STEPS + 1)
    return {
        "minutes": timing.minutes,
        "minutes_low": timing.low_minutes,
        "minutes_high": timing.high_minutes,
        "target_c": timing.target_c,
        "core_c": timing.core_c,
        "mean_c": timing.mean_c,
        "surface_c": timing.surface_c,
        "mass_kg": timing.mass_kg,
        "heat_out_kj_per_kg": timing.heat_out_kj_per_kg,
        "heat_out_kj": timing.heat_out_kj,
        "enough": timing.enough,
        "asked_range_c": None if timing.asked_range_c is None else list(timing.asked_range_c),
        "energy_error": timing.energy_error,
        "course": [
            {
                "minutes": float(second) / 60.0,
                "core_c": core,
                "mean_c": mean,
                "surface_c": surface,
            }
            for second in seconds
            for core, mean, surface in [course.at(float(second))]
        ],
    }
