"""Heat treatment, lethality and cooling in words and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from formulate.messages import message
from formulate.report.wording import sentence
from formulate.safety import OPEN_PAN_C, CoolingRule, CoolingVerdict, HeatVerdict, Lethality

__all__ = [
    "DEFER",
    "LETHALITY_CAUTION",
    "cooling_data",
    "cooling_sentences",
    "heat_data",
    "heat_sentences",
    "lethality_sentences",
]

#: Stands last with every answer about safety.
DEFER = message("caution_local")

#: Stands with every lethality.
LETHALITY_CAUTION = (
    "This is advice, not a rule: D and z come from laboratory strains in one liquid. Sugar, fat and salt "
    "protect microbes: in egg yolk at 64.4 °C Listeria fell tenfold in 0.44 min, with 10 % salt and 5 % "
    "sugar only after 30.7 min (Palumbo and others, 1995); in ice cream mixes at 60 °C Listeria "
    "innocua took about 2.4 times as long as in milk (McKellar, 1996). Never shorten a rule by it."
)

_NO_HOLD_S = 1e-9
_MANY_REDUCTIONS = 12.0  # beyond this a figure tells nothing more; this project's choice


def heat_sentences(verdicts: Sequence[HeatVerdict], at_c: float | None = None) -> list[str]:
    """Return one sentence a rule, and :data:`DEFER` last; a temperature that no open pan has first.

    Parameters
    ----------
    verdicts:
        From :func:`formulate.safety.heat_verdicts`.
    at_c:
        The temperature that was held [°C]; ``None`` where it was not said.

    Returns
    -------
    list of str

    Examples
    --------
    >>> from formulate.safety import heat_verdicts
    >>> heat_sentences(heat_verdicts(80.0, 25.0))[0][-30:]
    'meets 175 °F (80 °C) for 25 s.'
    """
    found = []
    if at_c is not None and at_c > OPEN_PAN_C:
        found.append(
            f"An open pan boils near {OPEN_PAN_C:g} °C: {at_c:g} °C ({at_c * 1.8 + 32.0:.0f} °F) is the "
            "heat of a closed plant. Look at the unit of your probe."
        )
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
    return [*found, sentence(DEFER)]


def heat_data(verdicts: Sequence[HeatVerdict]) -> list[dict[str, Any]]:
    """Return the same as plain data.

    Parameters
    ----------
    verdicts:
        From :func:`formulate.safety.heat_verdicts`.

    Returns
    -------
    list of dict
        Ready for JSON.

    Examples
    --------
    >>> from formulate.safety import heat_verdicts
    >>> heat_data(heat_verdicts(80.0, 25.0))[0]["jurisdiction"]
    'US'
    """
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
    """Return what a lethality comes to, and :data:`LETHALITY_CAUTION` last.

    Parameters
    ----------
    found:
        From :func:`formulate.safety.lethality`.

    Returns
    -------
    list of str

    Examples
    --------
    >>> from formulate.safety import lethality
    >>> len(lethality_sentences(lethality(72.0, 15.0))) > 1
    True
    """
    used = found.kinetics
    many = found.reductions > _MANY_REDUCTIONS
    amount = f"more than {_MANY_REDUCTIONS:g}" if many else f"about {found.reductions:.1f}"
    sentences = [
        f"{found.temperature_c:.4g} °C for {_span(found.seconds)} comes to {amount} tenfold "
        f"reductions of {used.organism} as measured in {used.matrix}."
    ]
    if found.counted_c < found.temperature_c:
        sentences.append(
            f"Nothing hotter than {found.counted_c:g} °C was measured: it is counted as that, at least."
        )
    return [*sentences, LETHALITY_CAUTION]


def cooling_sentences(verdicts: Sequence[CoolingVerdict]) -> list[str]:
    """Return one sentence a rule, and :data:`DEFER` last.

    Parameters
    ----------
    verdicts:
        From :func:`formulate.safety.cooling_verdicts`.

    Returns
    -------
    list of str

    Examples
    --------
    >>> from formulate.safety import CoolingLeg, cooling_verdicts
    >>> cooling_sentences(cooling_verdicts([CoolingLeg(60.0, 4.0, 80.0)]))[0]
    'UK, Dairy Products (Hygiene) Regulations 1995 (repealed, from memory; used as guidance): kept.'
    """
    found = []
    for verdict in verdicts:
        if verdict.kept == "yes":
            answer = "kept"
        elif verdict.kept == "no":
            answer = "not kept: it took too long. Ask whether it may still be used"
        elif verdict.begun_below_c is not None:
            answer = (
                f"cannot be told: the readings begin after it had passed {verdict.begun_below_c:g} °C, "
                "and when that was is not known"
            )
        elif verdict.waiting_for_c is not None:
            answer = (
                f"not finished: {verdict.minutes_left:.0f} min are surely left to reach "
                f"{verdict.waiting_for_c:g} °C"
            )
        else:
            marks = ", ".join(f"{step.to_c:g}" for step in verdict.rule.steps)
            answer = f"cannot be told from these readings: read the time at {marks} °C as well"
        found.append(f"{_name(verdict.rule)} ({_status(verdict.rule)}): {answer}.")
    return [*found, sentence(DEFER)]


def cooling_data(verdicts: Sequence[CoolingVerdict]) -> list[dict[str, Any]]:
    """Return the same as plain data.

    Parameters
    ----------
    verdicts:
        From :func:`formulate.safety.cooling_verdicts`.

    Returns
    -------
    list of dict
        Ready for JSON.

    Examples
    --------
    >>> from formulate.safety import CoolingLeg, cooling_verdicts
    >>> cooling_data(cooling_verdicts([CoolingLeg(60.0, 4.0, 80.0)]))[0]["kept"]
    'yes'
    """
    return [
        {
            "rule": verdict.rule.key,
            "name": _name(verdict.rule),
            "kept": verdict.kept,
            "minutes_left": verdict.minutes_left,
            "waiting_for_c": verdict.waiting_for_c,
            "begun_below_c": verdict.begun_below_c,
            "steps": [
                {"from_c": step.from_c, "to_c": step.to_c, "minutes": step.minutes}
                for step in verdict.rule.steps
            ],
            "status": _status(verdict.rule),
            "source": verdict.rule.source,
        }
        for verdict in verdicts
    ]


def _name(rule: CoolingRule) -> str:
    return sentence(message(f"rule_{rule.key}"))


def _status(rule: CoolingRule) -> str:
    return sentence(message(f"rule_{rule.key}_status"))


def _span(seconds: float) -> str:
    if seconds <= _NO_HOLD_S:
        return "no time"
    return f"{seconds:.3g} s" if seconds < 100.0 else f"{seconds / 60.0:.3g} min"
