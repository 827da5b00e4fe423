"""Words on heating, cooling and what else to mind, each with what it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template, commas, enumerated

__all__ = ["SAFETY"]


def _caution_heat(fields: Mapping[str, Any]) -> str:
    return (
        f"It contains {enumerated(fields['contains'])}: the rules for frozen dessert mix heat the whole "
        "mixture, also where its parts came pasteurised. "
        f"US: {commas(fields['us'])}; UK: {commas(fields['uk'])}."
    )


def _caution_raw_egg(fields: Mapping[str, Any]) -> str:
    subject = commas(fields["names"]) or "Egg in it that is not said to be pasteurised"
    return (
        f"{subject}: raw egg may carry Salmonella. The US Food Code wants pasteurised egg in ice "
        "cream unless it is cooked; US advice to households is 71 °C inside, stirring. UK "
        "advice allows raw eggs of the British Lion scheme to most people, not to the severely "
        "immunocompromised."
    )


SAFETY: Mapping[str, Template] = MappingProxyType(
    {
        "caution_local": "Quoted to help, not as legal advice: follow your local rules and your own "
        "hazard plan, and ask your food authority where in doubt.",
        "caution_heat": _caution_heat,
        "caution_heat_basis": "heat_treatment.csv; the UK figures are repealed (from memory) and used "
        "as guidance",
        "caution_raw_egg": _caution_raw_egg,
        "caution_raw_egg_basis": "Food Code 3-302.13 (Washington 246-215-03312); foodsafety.gov; Food "
        "Standards Agency, 2017, as reported by ncass.org.uk",
        "caution_custard": "Custard sets between about 79 and 83 °C and curdles some 3 to 6 °C above: "
        "stir, probe the middle, and cool as soon as it has held its time.",
        "caution_custard_basis": "H. McGee, On Food and Cooking, 2004",
        "caution_cooling": "Cool fast after heating: to 7.2 °C or colder within 1.5 h (UK, 1995), or "
        "from 57 to 21 °C within 2 h and to 5 °C within 6 h in all (US Food Code). Spread it thin, "
        "stand it in ice water and stir.",
        "caution_cooling_basis": "SI 1995/1372; Food Code 3-501.14",
        "caution_ageing": "Age it at 5 °C or colder for at least 4 h, usually overnight: fat sets, "
        "proteins and gums take up water. How long a mix may wait before churning is for your local "
        "rules.",
        "caution_ageing_basis": "H. D. Goff, Ice Cream Technology e-Book, University of Guelph, Ageing "
        "of mix",
        "caution_water_ice": "It has no milk, and no egg but white: by the US pattern a water ice, whose "
        "mix need not be pasteurised; UK regulations of 1959 let water ices off that are acid enough. "
        "Fruit, herbs and water still bring what is on them: wash them, and heat what has little acid, "
        "as melon, banana or an infusion.",
        "caution_water_ice_basis": "21 CFR 135.160; Hackney health report 1959 (wellcomelibrary.org); "
        "washing and heating: common practice, no source",
        "caution_refreezing": "What has been warmer than {limit:degrees} °C since it was frozen is not "
        "sold unless it is heat-treated and frozen again (UK, 1995); thawed dessert is not simply frozen "
        "again.",
        "caution_refreezing_basis": "SI 1995/1372, Schedule 6 Part V (repealed, from memory; used as "
        "guidance)",
        "caution_like_milk": "{names:commas}: with protein and little acid microbes grow as in milk. "
        "Kitchens treat such a mix as one with milk, though no rule quoted here names it.",
        "caution_like_milk_basis": "common practice, no source",
        "caution_added_cold": "{names:commas}: what is stirred in after heating has not been heated. "
        "Wash it, or heat it with the mix or by itself.",
        "caution_added_cold_basis": "common practice, no source",
        "caution_alcohol": "{value:percent} % alcohol does not stand in for heat treatment. Add it once "
        "the mix is cold, and say on the menu that it is there.",
        "caution_alcohol_basis": "common practice, no source",
        "rule_uk_1995": "UK, Dairy Products (Hygiene) Regulations 1995",
        "rule_uk_1995_status": "repealed, from memory; used as guidance",
        "rule_us_food_code": "US Food Code 3-501.14",
        "rule_us_food_code_status": "model code, as adopted by states",
    }
)
