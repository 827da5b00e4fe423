"""Words on a mix in the cold: what is frozen where, when it scoops, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template

__all__ = ["COLD"]

_LIKELY = 80.0  # % of chance from which a verdict needs no word on it


def _frozen_when_served(fields: Mapping[str, Any]) -> str:
    verdict = fields["verdict"]
    if verdict == "scoopable" and fields["chance_percent"] < _LIKELY:
        verdict += f", though only about {_in_ten(fields['chance_percent'])} in 10"
    return (
        f"At {fields['temperature_c']:g} °C {fields['value']:.1f} ± {fields['plus_minus']:.1f} % of the "
        f"water is frozen: {verdict}."
    )


def _in_ten(chance_percent: float) -> str:
    times = min(9, max(1, round(chance_percent / 10.0)))
    return "once" if times == 1 else f"{times} times"


def _first_ice(fields: Mapping[str, Any]) -> str:
    spread = fields["plus_minus"]
    more = "" if spread is None else f" ± {max(spread, 0.01):.2f}"
    return f"The first ice forms at {fields['value']:.2f}{more} °C."


def _frozen_in_freezer(fields: Mapping[str, Any]) -> str:
    words = (
        f"In a freezer at {fields['freezer_c']:g} °C {fields['value']:.0f} % of the water is frozen"
    )
    if fields["warm_to_c"] is not None:
        words += (
            ": too hard to serve straight from it; let it warm to "
            f"{fields['warm_to_c']:.0f} °C first"
        )
    return f"{words}."


def _most_of_doubt(fields: Mapping[str, Any]) -> str:
    helps = f": {fields['remedy']}" if fields["remedy"] else ""
    return f"Most of the ± is {fields['what']} ({fields['share_percent']:.0f} %){helps}."


def _second_opinion(fields: Mapping[str, Any]) -> str:
    words = (
        "The classical method (sucrose equivalents, older sucrose table) says "
        f"{fields['value']:.2f} °C for the first ice"
    )
    if fields["frozen_water"] is not None:
        words += f" and {fields['frozen_water']:.0f} % frozen"
    return f"{words}; {fields['reason']}." if fields["reason"] else f"{words}."


def _counts_other(fields: Mapping[str, Any]) -> str:
    more = "more" if fields["value"] > 0.0 else "less"
    return f"it counts {abs(fields['value']):.2f} °C {more} for {fields['group']}"


COLD: Mapping[str, Template] = MappingProxyType(
    {
        "plus_minus": "± is one standard deviation: two times in three the truth lies within.",
        "watch": "Watch: {what}",
        "frozen_when_served": _frozen_when_served,
        "first_ice": _first_ice,
        "no_first_ice": "The first ice forms below {limit:g} °C, if at all.",
        "window_not_reached": "It does not reach the middle of the serving window above {limit:g} °C.",
        "scoops_best_at": "It would scoop best at about {value:.0f} ± {plus_minus:.1f} °C.",
        "scoops_between": "It is in its serving window between {warm_c:.1f} and {cold_c:.1f} °C.",
        "frozen_in_freezer": _frozen_in_freezer,
        "ice_by_volume": "With {overrun_percent:g} % overrun ice takes {value:.0f} % of the volume at "
        "{temperature_c:g} °C.",
        "most_of_doubt": _most_of_doubt,
        "classical_method": "sucrose equivalents, older sucrose table",
        "second_opinion": _second_opinion,
        "classical_leaves_out": "it leaves out {group}, {value:.2f} °C here",
        "classical_counts_other": _counts_other,
    }
)
