"""Words on a mix: what may go wrong, how sure it is, why there is none, and the ways out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template, lowered

__all__ = ["MIXES"]


def _scaled(fields: Mapping[str, Any]) -> str:
    words = (
        f"The weights add up to {fields['value']:,.0f} g and were scaled to the batch of "
        f"{fields['limit']:,.0f} g"
    )
    return f"{words}, all but what is fixed." if fields["fixed"] else f"{words}."


def _character_changed(fields: Mapping[str, Any]) -> str:
    way = "more" if fields["value"] > 0.0 else "less"
    return (
        f"{100.0 * abs(fields['value']):.0f} % {way} {fields['name']}: beyond "
        f"{100.0 * fields['limit']:.0f} % it may be another dessert."
    )


def _may_turn_sandy(fields: Mapping[str, Any]) -> str:
    verb = "is above" if fields["value"] > fields["limit"] else "is close to"
    return (
        f"Milk solids-not-fat of {fields['value']:.1f} % {verb} the handbook ceiling of "
        f"{fields['limit']:.1f} %: lactose may crystallise and feel sandy in storage. At "
        f"{fields['freezer_c']:g} °C there are {fields['lactose_g']:.0f} g lactose for each 100 g of "
        f"unfrozen water, where {fields['dissolves_g']:g} g dissolve at 0 °C. Fastest at -10 to -12 °C "
        "and where the temperature swings."
    )


def _let(fields: Mapping[str, Any]) -> str:
    way = "rise" if fields["rises"] else "fall"
    return f"Let {lowered(fields['name'])} {way} to {fields['limit']:g} {fields['unit']}."


def _serve_at(fields: Mapping[str, Any]) -> str:
    return f"Serve it {'colder' if fields['colder'] else 'warmer'}, at {fields['at_c']:g} °C."


def _allow_grams(fields: Mapping[str, Any]) -> str:
    less = "as little as " if fields["least"] else ""
    return f"Allow {less}{fields['limit']:,.10g} g {fields['name']}."


def _together(fields: Mapping[str, Any]) -> str:
    first, *rest = (way.removesuffix(".") for way in fields["ways"])
    return f"{' and '.join([first, *map(lowered, rest)])}."


def _above_usual(fields: Mapping[str, Any]) -> str:
    words = f"The targets are met only with more {' and '.join(fields['names'])} than is usual."
    return words + _in_its_place(fields["ways"])


def _other_character(fields: Mapping[str, Any]) -> str:
    words = f"The targets are met only with far more or less {' and '.join(fields['names'])}."
    return words + _in_its_place(fields["ways"])


def _left_out(fields: Mapping[str, Any]) -> str:
    return f"Without {lowered(fields['name'])}"


def _other_sugar(fields: Mapping[str, Any]) -> str:
    return f"{fields['name']} in place of {lowered(fields['other'])}"


def _more_character(fields: Mapping[str, Any]) -> str:
    return f"More {' and '.join(lowered(name) for name in fields['names'])}"


def _in_its_place(ways: Sequence[str]) -> str:
    return f" One of these would do in its place: {' '.join(ways)}" if ways else ""


MIXES: Mapping[str, Template] = MappingProxyType(
    {
        "scaled_to_batch": _scaled,
        "above_usual": "{name} makes {value:.3g} % of the mix, and more than {limit:g} % is unusual: set "
        "a max_g where that is not meant.",
        "above_usual_basis": "{source}",
        "dropped": "{name} is left out: the present mix has {limit:exact_grams} g of it.",
        "character_changed": _character_changed,
        "blend_broken": "{name} to {other} was {limit:.3g} to 1 and is {value:.3g} to 1.",
        "unread_lot": "Lots of {name} differ by about {value:.1f} °Bx, and this one was not read.",
        "only_above_usual": _above_usual,
        "other_sugar": _other_sugar,
        "more_character": _more_character,
        "without_egg": "Without egg",
        "less_fat": "Lighter: at most {limit:.1f} % fat, not {value:.1f}",
        "less_sweet": "Less sweet: at most {limit:.1f}, not {value:.1f}",
        "left_out": _left_out,
        "only_with_other_character": _other_character,
        "churn_may_not_freeze": "With {value:.1f} % alcohol only {frozen_percent:.0f} % of the water is "
        "frozen at {at_c:g} °C: a churn may not thicken it. Simmer off part of the alcohol, or use "
        "less.",
        "churn_may_not_freeze_basis": "common practice, no source",
        "may_turn_sandy": _may_turn_sandy,
        "may_turn_sandy_basis": "dairy handbook rule: 0.15 x (100 - fat - sugar - stabiliser); "
        "temperatures: Livney 1995",
        "may_crystallise": "{name} may crystallise out: {value:.0f} g for each 100 g of unfrozen water "
        "at {freezer_c:g} °C, where {limit:.0f} g dissolve at {limit_c:g} °C. Take {hindered_by}.",
        "may_crystallise_basis": "{source}",
        "ice_grows_in_storage": "Its unfrozen syrup turns to glass at very roughly {glass_c:.0f} °C, and "
        "a freezer at {value:g} °C is {warmer_c:.0f} °C warmer: ice crystals keep growing, faster the "
        "more the temperature swings. Below that glass it is brittle.",
        "ice_grows_in_storage_basis": "mean of published glass temperatures of its sugars (Levine and "
        "Slade), rough to ± {rough_c:g} °C",
        "colder_than_measured": "{value:g} °C is far below the measured freezing points of sugars, most "
        "of which end near -5 °C: take the figures there as a guide.",
        "colder_than_measured_basis": "ranges in freezing/solutes.csv",
        "much_unmeasured": "{value:.0f} % of the unfrozen water at {at_c:g} °C is held by substances "
        "whose freezing points were not at hand, only a constant from the literature: churn a small "
        "sample first.",
        "much_unmeasured_basis": "ranges in freezing/solutes.csv",
        "doubt_of_model": "{name}",
        "doubt_of_curve": "what {name} does far below freezing",
        "doubt_of_step": "preparing {name} ({step})",
        "doubt_of_step_remedy": "weigh it before and after",
        "doubt_of_declared": "the declared {component} of {name}",
        "doubt_of_sugar": "the sugar of {name}",
        "doubt_of_sugar_remedy": "take a reading",
        "doubt_of_sugars": "which sugars {name} hold",
        "doubt_of_content": "the {component} of {name}",
        "doubt_of_reading": "the reading of {name}",
        "doubt_of_reading_remedy": "read twice, with a finer instrument",
        "holds_at_confidence": "Every target holds {value:.0f} times in 100 or more. That moves "
        "{moved_g:.0f} g against the mix of least change.",
        "no_such_confidence": "No mix was found of which every target holds {value:.0f} times in 100; "
        "the one that is shown comes to {limit:.0f}. Widen a target, or take readings.",
        "counts_not_kept": "No mix keeps the counts; the one that is shown meets the targets without "
        "them.",
        "counting_cut_short": "Counting took long: a change up to {value:.1f} % smaller may exist.",
        "not_rounded": "The targets are too tight for any scale: the weights are not rounded.",
        "finer_than_scale": "The targets are tight: some weights are {value} times finer than the scale "
        "shows. Widen a target, or make a larger batch.",
        "allow_grams": _allow_grams,
        "let_target": _let,
        "serve_at": _serve_at,
        "together": _together,
        "add_ingredient": "Add {name}: at least {limit:,.10g} g.",
        "allow_changes": "Allow {limit} changes.",
        "allow_ingredients": "Allow {limit} ingredients.",
        "allow_below_least_use": "Let ingredients come in below their least use.",
        "near_least_change": "a sum of relative changes up to {slack:g} above the least, {least:.2f}",
        "near_least_cost": "a cost up to {slack:g} per kg above the least, {least:.2f}",
    }
)
