"""Words on a pot that is not as it should be: what may have happened, and what would tell."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template

__all__ = ["POTS"]


def _tastes(taste: str, fields: Mapping[str, Any]) -> str:
    percent = (
        100.0 * (fields["value"] / fields["planned"] - 1.0) if fields["planned"] > 0.0 else 0.0
    )
    how = f"{abs(percent):.0f} % {'more' if percent > 0.0 else 'less'} {taste} than it should be"
    return f"{f'as {taste} as it should be' if abs(percent) < 2.0 else how} if {fields['what']}"


def _tastes_sweet(fields: Mapping[str, Any]) -> str:
    return _tastes("sweet", fields)


def _tastes_sour(fields: Mapping[str, Any]) -> str:
    return _tastes("sour", fields)


POTS: Mapping[str, Template] = MappingProxyType(
    {
        "pot_reads": "It reads {reads} °Bx; planned are {planned_brix:.1f} °Bx.",
        "pot_weighs": "It weighs {weighs:,.0f} g; planned are {planned_g:,.0f} g.",
        "pot_as_usual": "That is within what lots and weighing usually do: it proves nothing.",
        "pot_unusual": "That is {unusual:.1f} times what lots and weighing usually do.",
        "pot_unexplained": "No single mishap explains this: there may have been two, or a wrong weight "
        "or reading. Measure again before anything is added. Nearest is that {what}.",
        "pot_cloudy": "With fat, protein or alcohol in it a reading is less sure than its instrument.",
        "pot_chances": "How often each mishap happens is assumed: common practice, no source.",
        "story": "{percent:.0f} in 100: {what}. Then the pot weighs {weighs_g:,.0f} g and reads "
        "{reads_brix:.1f} °Bx.",
        "told_apart": "Likeliest: {what}.",
        "not_told_apart": "The first {count:.0f} cannot be told apart.",
        "none_decides": "Neither weighing, reading nor tasting would tell: look at what is left over "
        "of what was weighed.",
        "mishap_as_planned": "everything went as planned",
        "mishap_other_lot": "the lot of {name:lowered} reads {amount:.1f} °Bx and not {planned_brix:.1f}",
        "mishap_boiled_off": "{amount:,.0f} g of water boiled off",
        "mishap_forgotten": "{name:lowered} never went in",
        "mishap_weighed_twice": "{name:lowered} went in twice",
        "mishap_tare_left": "a bowl of {amount:,.0f} g was weighed as {name:lowered}",
        "mishap_swapped": "{name:lowered} and {other:lowered} were swapped",
        "mishap_misread": "the first reading is {amount:+.1f} °Bx off",
        "measure_weigh": "Weigh the pot",
        "measure_read": "Stir, let a sample cool and read it",
        "measure_read_again": "Stir, let a sample cool and read it again",
        "measure_taste_sweetness": "Taste how sweet it is",
        "measure_taste_acid": "Taste how sour it is",
        "shows_weigh": "{value:,.0f} ± {plus_minus:.0f} g means that {what}",
        "shows_read": "{value:.1f} ± {plus_minus:.1f} °Bx means that {what}",
        "shows_read_again": "{value:.1f} ± {plus_minus:.1f} °Bx means that {what}",
        "shows_taste_sweetness": _tastes_sweet,
        "shows_taste_acid": _tastes_sour,
        "if_so": "If {what}:",
        "on_plan": "Nothing needs to be put right for that.",
        "water_back": "Give {grams:,.0f} g of water back.",
    }
)
