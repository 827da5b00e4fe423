"""Words on what came in and how it is prepared: readings, steps, herbs, lots and days."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.figures import grams_words, time_words
from formulate.report.phrases import Template

__all__ = ["KITCHEN"]

#: How a cook calls what leaves, by where it goes.
_LEFT = {
    "peel and stones": "of peel and stones",
    "jug": "left in the jug",
    "sieve": "left in the sieve",
    "drained": "drained off",
    "press cake": "of press cake",
    "clarified": "clarified off",
    "steam": "gone as steam",
}


def _weighed(fields: Mapping[str, Any]) -> str:
    bought, weighed = grams_words(fields["bought_g"]), grams_words(fields["weighed_g"])
    how = f"weigh {weighed} g, as bought"
    return f"{fields['name']}: {how if bought == weighed else f'buy {bought} g, weigh {weighed} g'}"


def _reaches(fields: Mapping[str, Any]) -> str:
    return f"{_weighed(fields)}, {grams_words(fields['reaches_g'])} g reaches the churn."


def _herb_weighed(fields: Mapping[str, Any]) -> str:
    return f"{_weighed(fields)}."


def _spent_herb(fields: Mapping[str, Any]) -> str:
    kept, liquid = fields["grams"], fields["liquid"].replace("_", " ")
    shown = grams_words(abs(kept))
    does = f"takes {shown} g of the {liquid} with it"
    if kept < 0.0:
        does = f"leaves {shown} g more of the {liquid}"
    return f"Spent, it {does}; the weights allow for that."


def _lost(fields: Mapping[str, Any]) -> str:
    lost = fields["grams"]
    if lost < 0.0:
        return f"{grams_words(-lost)} g of water taken up"
    return f"{grams_words(lost)} g {_LEFT.get(fields['where'], fields['where'])}"


def _draw(fields: Mapping[str, Any]) -> str:
    herb, liquid = fields["herb"].lower(), fields["liquid"].lower()
    herbs, poured = (
        f"{grams_words(fields['herb_g'])} g {herb}",
        f"{grams_words(fields['liquid_g'])} g {liquid}",
    )
    long = "" if fields["minutes"] is None else f" {time_words(fields['minutes'])}"
    heat = "" if fields["at_c"] is None else f" to {fields['at_c']:g} °C"
    how = f"Stir {herbs} into {poured}, cover and leave{long} cold"
    if fields["hot"]:
        how = f"Heat {poured}{heat}, add {herbs}, cover and steep{long}"
    return f"{how}; strain and press."


def _comes_through(fields: Mapping[str, Any]) -> str:
    found = f"About {grams_words(fields['grams'])} g comes through."
    if fields["top_up_g"] > 0.0:
        found += (
            f" Top up with {grams_words(fields['top_up_g'])} g {fields['liquid'].lower()}, or pour on "
            f"{grams_words(fields['instead_g'])} g to get {grams_words(fields['liquid_g'])} g."
        )
    return found


def _dose(fields: Mapping[str, Any]) -> str:
    kind = "weak" if fields["value"] < fields["limit"] else "strong"
    return (
        f"{fields['value']:.3g} g per kg of {fields['liquid'].lower()} is {kind}; about "
        f"{fields['limit']:g} is usual."
    )


def _without_weights(fields: Mapping[str, Any]) -> str:
    balanced = fields["status"] == "balanced"
    which = "the balanced mix" if balanced else "the mix that misses least"
    return f"Version {fields['number']} gives no weights: {which} stands for it."


def _reading_converted(fields: Mapping[str, Any]) -> str:
    shown = f"{fields['value']:g} {fields['unit']}".strip()
    return (
        f"{fields['scale']}: {shown} at {fields['temperature_c']:g} °C is {fields['brix']:.1f} °Bx at "
        "20 °C."
    )


KITCHEN: Mapping[str, Template] = MappingProxyType(
    {
        "weighed_and_reaches": _reaches,
        "herb_weighed": _herb_weighed,
        "spent_herb_keeps": _spent_herb,
        "lost": _lost,
        "lost_on_the_way": "On the way: {parts:commas}.",
        "preparation_unsure": "It may be {grams:grams} g more or less: weigh it once, and give what you "
        "find.",
        "draw_herb": _draw,
        "too_little_liquid": "That is too little {liquid:within}: the {herb:within} would keep all of "
        "it.",
        "comes_through": _comes_through,
        "unusual_dose": _dose,
        "taken_as_after": "What passes over is taken as after {minutes:time}.",
        "reading_converted": _reading_converted,
        "reading_short_by_acid": "A refractometer shows about {value:.1f} °Bx too little in juice as "
        "sour as this; the reading is taken as it stands, so that the lot may be sweeter by that much.",
        "ph_changes_nothing": "pH {value:g} is noted and changes nothing: it does not give the amount of "
        "acid. The acids stay as in the table.",
        "shares_unsettled": "The lots and the weights do not settle on a share; take one lot for this "
        "batch.",
        "begin_step": "{name}: {step}, {minutes:time}",
        "lot_past_use_by": "{name}, {lot}: past its use-by of {use_by}, {grams:whole} g are not used.",
        "lot_left_aside": "{name}, {lot}: left aside, as no mix meets every target with it.",
        "batches_differ_in_size": "The batches differ in size, so that weights are per 1,000 g of mix.",
        "version_without_weights": _without_weights,
        "learned_window": "As learned here: the serving window is {low:g} to {high:g} % frozen water, "
        "where {usual_low:g} to {usual_high:g} is usual (verdicts: {verdicts}).",
        "learned_serving_temperature": "As learned here: it comes out of your freezer at {value:g} ± "
        "{plus_minus:.1f} °C, where {usual:g} is usual (batches: {batches}).",
        "learned_setting": "As learned here: {name}, {step}: {setting} is {value:.3g}, where {usual:g} "
        "is usual (weighings: {weighings}).",
        "learned_reading": "As learned here: {name} is taken to read {value:g} ± {plus_minus:g} °Bx, "
        "where the table has {usual:.1f} (lots: {lots}). A reading of the lot is better.",
        "learned_nothing": "The notebook has taught nothing yet that this recipe leaves open.",
    }
)
