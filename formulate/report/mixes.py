"""Results in words, as text for people and as plain data for machines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from formulate.answers import Result, warnings_of
from formulate.data import versions
from formulate.ingredients import properties
from formulate.mix import COST_KEY, Assessment, TargetValue, fine
from formulate.report.certainty import certainty_words, first_lines, minded, scoops_words
from formulate.report.cold import cold_data, cold_sentences
from formulate.report.figures import grams_words
from formulate.report.phrases import enumerated, lowered
from formulate.report.wording import sentence, sentences, warning_data
from formulate.safety import cautions_for

if TYPE_CHECKING:
    from formulate.answers import Demand, Reach

__all__ = [
    "CAUTIONS",
    "asked_words",
    "cautions",
    "changes",
    "conflict_sentences",
    "curve_text",
    "demand_data",
    "demand_words",
    "headline",
    "mix_data",
    "mix_sentences",
    "mix_text",
    "result_sentences",
    "target_lines",
    "value_words",
]

#: General cautions, for where there is no mix yet; local rules and licensed practice come first.
CAUTIONS: tuple[str, ...] = (
    "Milk and egg mixes: pasteurise, cool fast and keep cold as your local rules ask; "
    "this tool does not make a mix safe.",
    "Raw or lightly cooked egg can make people ill: use pasteurised egg or heat the base through.",
    "Check allergens against the packs in your kitchen, not only against a table.",
    "Predictions are for a mix in balance with its ice; air, fat and churning also decide firmness. "
    "Try a small churn first.",
)

_TITLES = {
    "balanced": "balanced",
    "impossible": "no mix can do it; this one misses least",
    "meets": "the present mix meets its targets",
    "misses": "the present mix misses a target",
}

#: Where a limit comes from, if not from ``min_g`` or ``max_g``.
_SET_BY = {
    "fixed": ", which is fixed",
    "stock_g": ", which is in stock",
    "least_use_g": ", if any",
}


def mix_data(result: Result) -> dict[str, Any]:
    """Return the result as plain data, ready for JSON.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> mix_data(fm.balance(fm.load("damson_sorbet")))["mix"][0]["key"]
    'damson'
    """
    shown = result.mix
    data: dict[str, Any] = {
        "name": result.name,
        "batch_g": result.batch_g,
        "status": result.status,
        "which": result.which,
        "mix": _mix(shown),
        "properties": shown.properties,
        "initial_freezing_point_c": shown.initial_freezing_point_c,
        "frozen_water": [
            {"temperature_c": temperature, "percent": percent, "plus_minus": spread}
            for (temperature, percent), spread in zip(
                shown.frozen_water, result.outlook.frozen_water_deviation, strict=True
            )
        ],
        "serving_temperature_c": shown.serving_temperature_c,
        "serving_frozen_water_percent": shown.serving_frozen_water,
        "verdict": shown.verdict,
        "cold": cold_data(result),
        "targets": [_target(target) for target in shown.targets],
        "messages": list(result_sentences(result)),
        "cautions": list(cautions(result)),
    }
    chance = result.chance
    data["chance"] = {
        "all_targets": chance.all_targets,
        "scoopable": chance.scoopable,
        "in_service": chance.in_service,
        "error": chance.error,
        "targets": [{"key": each.key, "chance": each.value} for each in chance.targets],
    }
    data["certainty"] = result.certainty
    data["margin"] = result.margin
    data["warnings"] = [warning_data(each) for each in warnings_of(result)]
    data["present_scoops_at_c"] = result.present_scoops_at_c
    data["versions"] = versions()
    if result.exact_grams:
        data["exact_grams"] = list(result.exact_grams)
    if result.status == "impossible":
        data["conflict"] = [demand_data(demand) for demand in result.conflict]
        data["contradiction_g"] = result.contradiction
        data["proposals"] = [
            {
                "kind": proposal.kind,
                "text": sentence(proposal.what),
                "mix": [
                    {"key": entry.key, "grams": grams}
                    for entry, grams in zip(
                        proposal.recipe.ingredients, proposal.weights, strict=True
                    )
                ],
            }
            for proposal in result.proposals
        ]
        data["nearest"] = _mix(shown)
        data["reach"] = [
            {"key": found.key, "min": found.low, "max": found.high, "given": found.given}
            for found in result.reach
        ]
    return data


def headline(result: Result) -> str:
    """Return the name of a recipe and its status in one line.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> headline(fm.balance(fm.load("damson_sorbet")))
    'Damson sorbet, fruit at 11 °Bx: balanced'
    """
    return f"{result.name}: {_TITLES[result.status]}"


def mix_text(result: Result) -> str:
    """Return the result as a page of text.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> "Damsons" in mix_text(fm.balance(fm.load("damson_sorbet")))
    True
    """
    told = [certainty_words(result), scoops_words(result), *minded(result)]
    parts = [headline(result), *filter(None, told), "", *_weights(result.mix), ""]
    parts += [*target_lines(result.mix), ""] if result.mix.targets else []
    parts += [*_properties(result.mix), ""]
    parts += [*result_sentences(result), "", *cautions(result)]
    return "\n".join(parts)


def cautions(result: Result) -> tuple[str, ...]:
    """Return what to mind with the shown mix: by what it contains, then what holds for all."""
    used = {weight.key for weight in result.mix.weights if weight.grams > 0.0}
    entries = [entry for entry in result.mixture.recipe.ingredients if entry.key in used]
    found = cautions_for(entries, result.mix.composition)
    return (*sentences(found), *CAUTIONS[-2:])


def curve_text(result: Result) -> str:
    """Return the freezing curve as a table of text.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> "°C" in curve_text(fm.check(fm.load("damson_sorbet")))
    True
    """
    lines = [
        f"{result.name}: freezing curve",
        *first_lines(result),
        "",
        "   °C   frozen water, % of all water",
    ]
    spreads = result.outlook.frozen_water_deviation
    for (temperature, percent), spread in zip(result.mix.frozen_water, spreads, strict=True):
        bar = "#" * round(percent / 2.5)
        lines.append(f"{temperature:5.0f}   {percent:5.1f} ± {spread:3.1f}  {bar}")
    return "\n".join([*lines, "", *result_sentences(result)])


def result_sentences(result: Result) -> tuple[str, ...]:
    """Return what a cook needs to know, one sentence each."""
    return (*mix_sentences(result), *cold_sentences(result))


def mix_sentences(result: Result) -> tuple[str, ...]:
    """Return what a cook needs to know of weights and targets, one sentence each.

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> mix_sentences(fm.check(fm.load("damson_sorbet")))[0]
    'Sweetness is 22.9 g sucrose/100 g, 2.9 above what is asked.'
    """
    found = [*sentences(result.messages)]
    if result.status == "impossible":
        found += [*_impossible(result), *_ways_out(result)]
    if result.status == "balanced":
        found += changes(result)
    return (*found, *_misses(result.mix), *sentences(result.preparation))


def conflict_sentences(result: Result) -> tuple[str, ...]:
    """Return why no mix can do it, without the ways out, one sentence each.

    Parameters
    ----------
    result:
        What balancing says.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from dataclasses import replace
    >>> import formulate as fm
    >>> asked = replace(fm.load("damson_sorbet"), targets={"fat": fm.Range(min=20.0)})
    >>> conflict_sentences(fm.balance(asked))[0]
    'With these ingredients this cannot be met: fat at least 20 %.'
    """
    return (*sentences(result.messages), *_impossible(result))


def changes(result: Result) -> tuple[str, ...]:
    """Return what changed from the present mix and why, one sentence each.

    Parameters
    ----------
    result:
        What balancing says.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> changes(fm.balance(fm.load("damson_sorbet")))[0].split(",")[0]
    'Change: Sugar (sucrose) -95 g'
    """
    moved = [
        (weight.grams - weight.start, weight)
        for weight in result.mix.weights
        if weight.start is not None
        and abs(weight.grams - weight.start) >= 0.5 * _step(weight.grams)
    ]
    if all(weight.start is None for weight in result.mix.weights):
        return ()
    if not moved:
        return ("Nothing has to change.",)
    moved.sort(key=lambda pair: -abs(pair[0]))
    words = ", ".join(f"{weight.name} {_signed(change)}" for change, weight in moved)
    missed = [target.name for target in result.present or () if not target.met]
    why = f" The present mix misses {enumerated(missed)}." if missed else ""
    return (f"Change: {words}.{why}",)


def _impossible(result: Result) -> list[str]:
    found = []
    demands = [demand_words(demand) for demand in result.conflict]
    if len(demands) == 1:
        found.append(f"With these ingredients this cannot be met: {demands[0]}.")
    elif demands:
        found.append(f"These cannot hold together: {enumerated(demands)}.")
    for reach in result.reach:
        if reach.given != "none":
            found.append(_reach(reach, result.mix))
    return found


def _ways_out(result: Result) -> list[str]:
    if not result.proposals:
        return []
    ways = [f"- {sentence(proposal.what)}" for proposal in result.proposals]
    return ["Any one of these makes a mix possible:", *ways]


def _reach(reach: Reach, mix: Assessment) -> str:
    target = next(entry for entry in mix.targets if entry.key == reach.key)
    given = (
        "with everything else as asked" if reach.given == "others" else "whatever else is given up"
    )
    assert reach.low is not None and reach.high is not None
    return (
        f"{target.name} can lie between {value_words(target, reach.low)} and "
        f"{value_words(target, reach.high)} {target.unit}, {given}."
    )


def _misses(mix: Assessment) -> list[str]:
    found = []
    for target in mix.targets:
        if target.met:
            continue
        bound = target.min if target.min is not None and target.value < target.min else target.max
        assert bound is not None
        side = "below" if target.value < bound else "above"
        found.append(
            f"{target.name} is {value_words(target, target.value)} {target.unit}, "
            f"{value_words(target, abs(target.value - bound))} {side} what is asked."
        )
    return found


def _weights(mix: Assessment) -> list[str]:
    width = max(len(weight.name) for weight in mix.weights)
    prepared = any(abs(weight.reached - weight.grams) > 1e-9 for weight in mix.weights)
    more = "        buy  reaches" if prepared else ""
    lines = [f"{'':{width}}  {'g':>9}   before{more}"]
    for weight in mix.weights:
        before = f"{'' if weight.before is None else _exact(weight.before):>9}"
        rest = f"  {_exact(weight.bought):>9}{_exact(weight.reached):>9}" if prepared else ""
        lines.append(f"{weight.name:{width}}  {_exact(weight.grams):>9}{before}{rest}".rstrip())
    total = sum(weight.grams for weight in mix.weights)
    if not prepared:
        return [*lines, f"{'Total':{width}}  {_exact(total):>9}"]
    reached = sum(weight.reached for weight in mix.weights)
    return [
        *lines,
        f"{'Total':{width}}  {_exact(total):>9}{'':9}  {'':9}{_exact(reached):>9}",
    ]


def _exact(grams: float) -> str:
    return grams_words(grams, exact=True)


def target_lines(mix: Assessment) -> list[str]:
    """Return the targets of a mix as lines of a table."""
    if not mix.targets:
        return []
    width = max(len(target.name) for target in mix.targets)
    lines = [f"{'Target':{width}}  {'asked':>15}  {'value':>7}"]
    for target in mix.targets:
        mark = "met" if target.met else "MISSED"
        value = value_words(target, target.value)
        lines.append(
            f"{target.name:{width}}  {asked_words(target):>15}  {value:>7} {target.unit}  {mark}"
        )
    return lines


def _properties(mix: Assessment) -> list[str]:
    lines = []
    targets = {target.key for target in mix.targets}
    for key, value in mix.properties.items():
        if key in targets:
            continue
        if key == COST_KEY:
            lines.append(f"Cost {value:.2f} per kg")
        elif key in properties():
            about = properties()[key]
            lines.append(f"{about.name} {value:.1f} {about.unit}")
    return [" · ".join(lines)]


def asked_words(target: TargetValue) -> str:
    """Return what is asked, in words, without its unit.

    Parameters
    ----------
    target:
        What is asked and what the mix gives.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> asked_words(fm.check(fm.load("damson_sorbet")).mix.targets[0])
    '28.0 to 33.0'
    """
    low = None if target.min is None else value_words(target, target.min)
    high = None if target.max is None else value_words(target, target.max)
    if low is None and high is None:
        return "any"
    if low is None:
        return f"at most {high}"
    if high is None:
        return f"at least {low}"
    return low if low == high else f"{low} to {high}"


def demand_data(demand: Demand) -> dict[str, Any]:
    """Return a demand as plain data."""
    return {
        "kind": demand.kind,
        "key": demand.key,
        "side": demand.side,
        "bound": demand.bound,
        "field": demand.field,
        "text": demand_words(demand),
    }


def demand_words(demand: Demand) -> str:
    """Return a demand in words: at least 900 g Strawberries."""
    side = {"min": "at least ", "max": "at most ", "exact": ""}[demand.side]
    if demand.kind in ("limit", "count"):
        unit = f" {demand.unit}" if demand.unit else ""
        return f"{side}{_exact(demand.bound)}{unit} {demand.name}{_SET_BY.get(demand.field, '')}"
    return f"{lowered(demand.name)} {side}{demand.bound:g} {demand.unit}"


def _mix(mix: Assessment) -> list[dict[str, Any]]:
    prepared = any(abs(weight.reached - weight.grams) > 1e-9 for weight in mix.weights)
    return [
        {"key": weight.key, "grams": weight.grams, "before": weight.before}
        | ({"bought_g": weight.bought, "reached_g": weight.reached} if prepared else {})
        for weight in mix.weights
    ]


def _target(target: TargetValue) -> dict[str, Any]:
    return {
        "key": target.key,
        "name": target.name,
        "unit": target.unit,
        "min": target.min,
        "max": target.max,
        "value": target.value,
        "met": target.met,
    }


def value_words(target: TargetValue, value: float) -> str:
    """Return a value as finely as its target asks, without its unit.

    Parameters
    ----------
    target:
        What is asked; says how fine.
    value:
        In its unit.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> value_words(fm.check(fm.load("damson_sorbet")).mix.targets[0], 28.04)
    '28.0'
    """
    return f"{value:.2f}" if fine(target.key, (target.min, target.max)) else f"{value:.1f}"


def _step(grams: float) -> float:
    return 0.1 if grams < 20.0 else 1.0


def _signed(change: float) -> str:
    sign = "+" if change > 0 else "-"
    return f"{sign}{grams_words(round(abs(change), 1), exact=True)} g"
