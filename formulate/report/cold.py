"""The cold side of a mix in words and as plain data: curve, freezer, doubts, second opinion, risks."""

from __future__ import annotations

from typing import Any

from formulate.answers import Result
from formulate.freezing import Reason
from formulate.messages import Message, message
from formulate.mix import Outlook
from formulate.report.wording import basis, remedy, sentence, sentences

__all__ = ["PLUS_MINUS", "cold_data", "cold_sentences", "second_opinion_sentences"]

#: What every ± means.
PLUS_MINUS = sentence(message("plus_minus"))

_COLDEST_C = -30.0
_METHODS_AGREE_C = 0.05
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
    """Return what a cook needs to know of a mix in the cold, one sentence each.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    list of str

    Examples
    --------
    >>> import formulate as fm
    >>> cold_sentences(fm.check(fm.load("damson_sorbet")))[0]
    'At -12 °C 71.0 ± 0.8 % of the water is frozen: scoopable.'
    """
    found = [
        _serving(result),
        _first_ice(result),
        *_where_it_scoops(result),
        *_freezer(result),
    ]
    others = [risk for risk in result.outlook.risks if risk.code != "may_crystallise"]
    watch = [message("watch", what=risk) for risk in others]
    return [
        *sentences(found),
        *_causes(result.outlook),
        *second_opinion_sentences(result),
        *sentences(watch),
    ]


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
            "method": sentence(message("classical_method")),
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


def _serving(result: Result) -> Message:
    mix, outlook = result.mix, result.outlook
    return message(
        "frozen_when_served",
        temperature_c=mix.serving.temperature_c,
        value=mix.serving_frozen_water,
        plus_minus=outlook.serving_frozen_water_deviation,
        verdict=mix.verdict,
        chance_percent=100.0 * result.chance.scoopable,
    )


def _first_ice(result: Result) -> Message:
    point, spread = (
        result.mix.initial_freezing_point_c,
        result.outlook.initial_freezing_point_deviation,
    )
    if point is None:
        return message("no_first_ice", limit=_COLDEST_C)
    return message("first_ice", value=point, plus_minus=spread)


def _where_it_scoops(result: Result) -> list[Message]:
    mix, outlook = result.mix, result.outlook
    best, found = mix.serving_temperature_c, []
    if best is None:
        return [message("window_not_reached", limit=_COLDEST_C)]
    if mix.verdict != "scoopable":
        spread = outlook.serving_temperature_deviation or 0.0
        found.append(message("scoops_best_at", value=best, plus_minus=spread))
    warm, cold = outlook.scoops_between_c
    if warm is not None and cold is not None:
        found.append(message("scoops_between", warm_c=warm, cold_c=cold))
    return found


def _freezer(result: Result) -> list[Message]:
    serving, outlook = result.mix.serving, result.outlook
    freezer, (_, cold) = serving.freezer_c, outlook.scoops_between_c
    if freezer == serving.temperature_c:
        return []
    found = [
        message(
            "frozen_in_freezer",
            freezer_c=freezer,
            value=outlook.freezer_frozen_water,
            warm_to_c=cold if cold is not None and freezer < cold else None,
        )
    ]
    if serving.overrun_percent > 0.0:
        found.append(
            message(
                "ice_by_volume",
                overrun_percent=serving.overrun_percent,
                value=outlook.ice_volume_percent,
                temperature_c=serving.temperature_c,
            )
        )
    return found


def _causes(outlook: Outlook) -> list[str]:
    if not outlook.causes:
        return []
    first = outlook.causes[0]
    share, helps = first.share_percent, remedy(first.what)
    said = message("most_of_doubt", what=first.what, share_percent=share, remedy=helps)
    return [f"{sentence(said)} {PLUS_MINUS}"]


def second_opinion_sentences(result: Result) -> list[str]:
    """Return what the classical method says, and why it differs; nothing where it says nothing.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    list of str

    Examples
    --------
    >>> import formulate as fm
    >>> second_opinion_sentences(fm.check(fm.load("damson_sorbet")))[0][:20]
    'The classical method'
    """
    opinion, point = result.outlook.second_opinion, result.mix.initial_freezing_point_c
    theirs = opinion.initial_freezing_point_c
    if point is None or theirs is None:
        return []
    differs = abs(theirs - point) >= _METHODS_AGREE_C and opinion.reasons
    reason = _reason(opinion.reasons[0]) if differs else None
    frozen = opinion.frozen_water
    return [sentence(message("second_opinion", value=theirs, frozen_water=frozen, reason=reason))]


def _reason(reason: Reason) -> Message:
    if reason.classical == 0.0:
        return message("classical_leaves_out", group=reason.group, value=reason.here)
    difference = reason.classical - reason.here
    return message("classical_counts_other", group=reason.group, value=difference)
