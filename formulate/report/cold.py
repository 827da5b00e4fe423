"""The cold side of a mix in words and as plain data: curve, freezer, doubts, second opinion, risks."""

from __future__ import annotations

from typing import Any

from formulate.answers import Result
from formulate.freezing import Reason
from formulate.messages import Message
from formulate.mix import Outlook
from formulate.report.wording import basis, remedy, sentence, sentences

__all__ = ["PLUS_MINUS", "cold_data", "cold_sentences", "second_opinion_sentences"]

#: What every ± means.
PLUS_MINUS = "± is one standard deviation: two times in three the truth lies within."

_NO_POINT = "below -30 °C, if at all"
_LIKELY = 0.8
_RISKS = {
    "churn_may_not_freeze": "alcohol",
    "may_turn_sandy": "sandiness",
    "may_crystallise": "crystals",
    "ice_grows_in_storage": "storage",
    "colder_than_measured": "range",
    "much_unmeasured": "range",
}
_EACH = ("crystals",)  # one of each substance
_METHODS_AGREE_C = 0.05


def cold_sentences(result: Result) -> list[str]:
    """Return what a cook needs to know of a mix in the cold, one sentence each."""
    found = [_serving(result), _first_ice(result)]
    found += _where_it_scoops(result)
    found += _freezer(result)
    found += _causes(result.outlook)
    found += second_opinion_sentences(result)
    others = [risk for risk in result.outlook.risks if risk.code != "may_crystallise"]
    found += [f"Watch: {words}" for words in sentences(others)]
    return found


def cold_data(result: Result) -> dict[str, Any]:
    """Return the outlook of a mix as plain data."""
    mix, outlook = result.mix, result.outlook
    warm, cold = outlook.scoops_between_c
    opinion = outlook.second_opinion
    return {
        "plus_minus": PLUS_MINUS,
        "initial_freezing_point_plus_minus": outlook.initial_freezing_point_deviation,
        "serving_temperature_plus_minus": outlook.serving_temperature_deviation,
        "serving_frozen_water_plus_minus": outlook.serving_frozen_water_deviation,
        "chance_in_window_percent": 100.0 * result.chance.scoopable,
        "causes": [
            {
                "cause": sentence(cause.what),
                "remedy": remedy(cause.what),
                "share_percent": cause.share_percent,
            }
            for cause in outlook.causes
        ],
        "kind": mix.serving.kind or None,
        "scoops_from_c": warm,
        "scoops_to_c": cold,
        "freezer_c": mix.serving.freezer_c,
        "freezer_frozen_water_percent": outlook.freezer_frozen_water,
        "overrun_percent": mix.serving.overrun_percent,
        "ice_volume_percent": outlook.ice_volume_percent,
        "glass_temperature_c": outlook.glass_temperature_c,
        "classical": {
            "method": "sucrose equivalents, older sucrose table",
            "initial_freezing_point_c": opinion.initial_freezing_point_c,
            "serving_frozen_water_percent": opinion.frozen_water,
            "reasons": [
                {"group": reason.group, "here_c": reason.here, "classical_c": reason.classical}
                for reason in opinion.reasons
            ],
        },
        "risks": [
            {"key": _risk_key(risk), "text": sentence(risk), "basis": basis(risk)}
            for risk in outlook.risks
        ],
    }


def _risk_key(risk: Message) -> str:
    """What a risk is called in plain data."""
    name = _RISKS[risk.code]
    return f"{name}_{risk.fields['key']}" if name in _EACH else name


def _serving(result: Result) -> str:
    mix, outlook = result.mix, result.outlook
    spread = outlook.serving_frozen_water_deviation
    verdict = mix.verdict
    if verdict == "scoopable" and result.chance.scoopable < _LIKELY:
        verdict += f", though only about {_in_ten(result.chance.scoopable)} in 10"
    return (
        f"At {mix.serving.temperature_c:g} °C {mix.serving_frozen_water:.1f} ± {spread:.1f} % of the "
        f"water is frozen: {verdict}."
    )


def _in_ten(chance: float) -> str:
    times = min(9, max(1, round(10.0 * chance)))
    return "once" if times == 1 else f"{times} times"


def _first_ice(result: Result) -> str:
    mix, outlook = result.mix, result.outlook
    if mix.initial_freezing_point_c is None:
        return f"The first ice forms {_NO_POINT}."
    spread = outlook.initial_freezing_point_deviation
    more = "" if spread is None else f" ± {max(spread, 0.01):.2f}"
    return f"The first ice forms at {mix.initial_freezing_point_c:.2f}{more} °C."


def _where_it_scoops(result: Result) -> list[str]:
    mix, outlook = result.mix, result.outlook
    found = []
    if mix.serving_temperature_c is None:
        return ["It does not reach the middle of the serving window above -30 °C."]
    if mix.verdict != "scoopable":
        spread = outlook.serving_temperature_deviation or 0.0
        found.append(
            f"It would scoop best at about {mix.serving_temperature_c:.0f} ± {spread:.1f} °C."
        )
    warm, cold = outlook.scoops_between_c
    if warm is not None and cold is not None:
        found.append(f"It is in its serving window between {warm:.1f} and {cold:.1f} °C.")
    return found


def _freezer(result: Result) -> list[str]:
    mix, outlook = result.mix, result.outlook
    freezer, frozen = mix.serving.freezer_c, outlook.freezer_frozen_water
    if freezer == mix.serving.temperature_c:
        return []
    words = f"In a freezer at {freezer:g} °C {frozen:.0f} % of the water is frozen"
    _, cold = outlook.scoops_between_c
    if cold is not None and freezer < cold:
        words += f": too hard to serve straight from it; let it warm to {cold:.0f} °C first"
    found = [f"{words}."]
    if mix.serving.overrun_percent > 0.0:
        found.append(
            f"With {mix.serving.overrun_percent:g} % overrun ice takes "
            f"{outlook.ice_volume_percent:.0f} % of the volume at {mix.serving.temperature_c:g} °C."
        )
    return found


def _causes(outlook: Outlook) -> list[str]:
    if not outlook.causes:
        return []
    first = outlook.causes[0]
    helps = f": {remedy(first.what)}" if remedy(first.what) else ""
    cause = f"{sentence(first.what)} ({first.share_percent:.0f} %)"
    return [f"Most of the ± is {cause}{helps}. {PLUS_MINUS}"]


def second_opinion_sentences(result: Result) -> list[str]:
    """Return what the classical method says, and why it differs; nothing where it says nothing."""
    mix, outlook = result.mix, result.outlook
    opinion, point = outlook.second_opinion, mix.initial_freezing_point_c
    if point is None or opinion.initial_freezing_point_c is None:
        return []
    difference = opinion.initial_freezing_point_c - point
    words = (
        "The classical method (sucrose equivalents, older sucrose table) says "
        f"{opinion.initial_freezing_point_c:.2f} °C for the first ice"
    )
    if opinion.frozen_water is not None:
        words += f" and {opinion.frozen_water:.0f} % frozen"
    if abs(difference) < _METHODS_AGREE_C or not opinion.reasons:
        return [f"{words}."]
    return [f"{words}; {_reason(opinion.reasons[0])}."]


def _reason(reason: Reason) -> str:
    difference = reason.classical - reason.here
    more = "more" if difference > 0.0 else "less"
    if reason.classical == 0.0:
        return f"it leaves out {reason.group}, {reason.here:.2f} °C here"
    return f"it counts {abs(difference):.2f} °C {more} for {reason.group}"
