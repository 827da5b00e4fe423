"""Words on heating, cooling and what else to mind, each with what it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template, commas, enumerated

__all__ = ["SAFETY"]


def _caution_heat(fields: Mapping[str, Any]) -> str:
    return (
        f"It contains {enumerated(fields['contains'])}: the rules for frozen dessert mix heat the "
        "whole "
        "mixture, also where its parts came pasteurised. "
        f"{_rules(fields)}."
    )


def _rules(fields: Mapping[str, Any]) -> str:
    return (
        f"US: {commas(fields['us'])}; UK: {commas(fields['uk'])}; EU (milk; no figure of its own for "
        f"mix): {commas(fields['eu'])}"
    )


def _acidity(fields: Mapping[str, Any]) -> str:
    if fields["value"] > _HARDLY_ACID:
        return f"its pH is estimated above {_HARDLY_ACID:g}"
    return f"its pH is estimated at {fields['value']:.1f} ± {fields['plus_minus']:.1f}"


def _caution_like_milk(fields: Mapping[str, Any]) -> str:
    return (
        f"{commas(fields['names'])}: without much acid microbes grow there as in milk. Heat the "
        "mix as one "
        f"with milk, though no rule quoted here names it ({_rules(fields)}); from its acids "
        f"{_acidity(fields)}."
    )


def _caution_low_acid(fields: Mapping[str, Any]) -> str:
    return (
        f"Little acid holds microbes back here: {_acidity(fields)}, and above 4.5 no water ice was let "
        f"off. Heat the mix as one with milk ({_rules(fields)}), or sour it and measure the pH."
    )


def _caution_acid_unsure(fields: Mapping[str, Any]) -> str:
    return (
        f"Whether it is acid enough cannot be told: {_acidity(fields)}, and 4.5 or less counts. "
        "Measure "
        f"it with a pH meter, or heat the mix as one with milk ({_rules(fields)})."
    )


def _caution_water_ice(fields: Mapping[str, Any]) -> str:
    return (
        "As far as is known it has no milk, and no egg but white, and it is acid "
        f"({_acidity(fields)}; measure it, if in doubt): by the US pattern a water ice, whose mix "
        "need not "
        "be pasteurised, and UK regulations of 1959 let water ices off at pH 4.5 or less. That is what "
        "such a dessert may be called and no proof that it is safe: fruit, herbs and water bring "
        "what is "
        "on them, so wash them."
    )


def _caution_acid_as_known(fields: Mapping[str, Any]) -> str:
    return (
        f"As far as is known {_acidity(fields)}, which is acid. Whether it need not be heated "
        "cannot be "
        "told while an ingredient is not known."
    )


def _caution_raw_egg(fields: Mapping[str, Any]) -> str:
    subject = commas(fields["names"]) or "Egg in it that is not said to be pasteurised"
    return (
        f"{subject}: raw egg may carry Salmonella. The US Food Code wants pasteurised egg in ice "
        "cream unless it is cooked; US advice to households is 71 °C inside, stirring. UK "
        "advice allows raw eggs of the British Lion scheme to most people, not to the severely "
        "immunocompromised."
    )


#: The pH above which an estimate says no more than that there is little acid.
_HARDLY_ACID = 6.0

SAFETY: Mapping[str, Template] = MappingProxyType(
    {
        "caution_local": "Quoted to help, not as legal advice: follow your local rules and your own "
        "hazard plan, and ask your food authority where in doubt.",
        "caution_heat": _caution_heat,
        "caution_heat_basis": "heat_treatment.csv; the UK figures are repealed (from memory) and used "
        "as guidance; Regulation (EC) 853/2004, Annex III",
        "caution_own_unknown": "{names:commas}: what it is made of is not known here beyond your own "
        "figures, so that milk, egg and allergens in it are not known either. Read its pack; with "
        "milk or "
        "egg in it the whole mix is heated.",
        "caution_own_unknown_basis": "what is not known cannot be ruled out",
        "caution_acid_as_known": _caution_acid_as_known,
        "caution_acid_as_known_basis": "charge balance of acids and potassium",
        "caution_low_acid": _caution_low_acid,
        "caution_low_acid_basis": "charge balance of acids and potassium; Ice-Cream (Heat Treatment, "
        "etc.) Regulations 1959, repealed, from memory; 21 CFR 114.3 counts foods above 4.6 as "
        "low in acid",
        "caution_acid_unsure": _caution_acid_unsure,
        "caution_acid_unsure_basis": "charge balance of acids and potassium; Ice-Cream (Heat "
        "Treatment, "
        "etc.) Regulations 1959, repealed, from memory",
        "caution_guests": "Guests at risk (pregnant, very young or old, ill): Listeria lives in "
        "the cold. "
        "Serve them only what was heated as a whole and cooled fast, with pasteurised milk, egg "
        "and juice.",
        "caution_guests_basis": "common practice, no source; advice of food authorities, from memory",
        "caution_must_cook": "{names:commas}: poisonous or upsetting when raw. Boil it through "
        "first, also "
        "for juice and purée, and leave out leaves and stems.",
        "caution_must_cook_basis": "ingredient_cautions.csv: CDC, MMWR 1984, elderberry juice; "
        "others from "
        "memory",
        "caution_kernels": "{names:commas}: stones and kernels give off cyanide when crushed. "
        "Leave them "
        "out of what is blended, infused or simmered, and do not use raw kernels.",
        "caution_kernels_basis": "EFSA Journal 2016;14(4):4424, from memory",
        "caution_stalks_only": "{names:commas}: the stalks alone; the leaves are poisonous.",
        "caution_stalks_only_basis": "advice of food authorities, from memory",
        "caution_lupin": "{names:commas}: sweet lupins alone, or bitter ones debittered by the maker; "
        "lupin is an allergen, and may trouble who does not bear peanuts.",
        "caution_lupin_basis": "EFSA Journal 2019;17(11):5860; Regulation (EU) 1169/2011, Annex "
        "II; from "
        "memory",
        "caution_honey": "{names:commas}: not for children under one year, not even cooked.",
        "caution_honey_basis": "INSPQ, Québec",
        "caution_frozen_berries": "{names:commas}: frozen berries have carried norovirus and "
        "hepatitis A. "
        "Boil them for one minute, above all for guests at risk.",
        "caution_frozen_berries_basis": "Food Safety Authority of Ireland",
        "caution_fresh_juice": "{names:commas}: pressed in the kitchen it may carry what was on "
        "the fruit; "
        "take pasteurised juice, or heat it, for guests at risk.",
        "caution_fresh_juice_basis": "21 CFR 101.17(g), Food Code 3-801.11, from memory",
        "caution_cut_melon": "{names:commas}: wash before cutting, and keep it cold once cut; its "
        "flesh has "
        "little acid.",
        "caution_cut_melon_basis": "Food Code 1-201.10, from memory",
        "caution_listeria": "{names:commas}: may carry Listeria; take one of pasteurised milk, "
        "and heat it "
        "with the mix for guests at risk.",
        "caution_listeria_basis": "advice of FDA and Food Standards Agency, from memory",
        "caution_starfruit": "{names:commas}: dangerous to people with weak kidneys; say on the "
        "menu that "
        "it is there.",
        "caution_starfruit_basis": "from memory",
        "caution_coumarin": "{names:commas}: cassia holds coumarin, of which a dessert may have 5 "
        "mg/kg in "
        "the EU; Ceylon cinnamon has little.",
        "caution_coumarin_basis": "Regulation (EC) 1334/2008, Annex III part B, from memory",
        "caution_tonka": "{names:commas}: holds coumarin; not allowed in food in the US, and 5 "
        "mg/kg of a "
        "dessert in the EU.",
        "caution_tonka_basis": "21 CFR 189.130; Regulation (EC) 1334/2008, Annex III part B; from memory",
        "caution_raw_egg": _caution_raw_egg,
        "caution_raw_egg_basis": "Food Code 3-302.13 (Washington 246-215-03312); foodsafety.gov; Food "
        "Standards Agency, 2017, as reported by ncass.org.uk",
        "caution_custard": "Custard sets between about 79 and 83 °C and curdles some 3 to 6 °C above: "
        "stir, probe the middle, and cool as soon as it has held its time.",
        "caution_custard_basis": "H. McGee, On Food and Cooking, 2004",
        "caution_cooling": "Cool fast after heating: to 7.2 °C or colder within 1.5 h (UK, 1995), "
        "from 57 "
        "to 21 °C within 2 h and to 5 °C within 6 h in all (US Food Code), or from 63 to 10 °C "
        "within 2 h "
        "(France, mass catering); the EU and Scotland say as quickly as possible, and in England "
        "and Wales "
        "it is an offence to keep it above 8 °C. Spread it thin, stand it in ice water and stir.",
        "caution_cooling_basis": "SI 1995/1372 (repealed); Food Code 3-501.14; arrêté of 21 "
        "December 2009; "
        "Regulation (EC) 852/2004, Annex II, chapter IX 6 (from memory); SI 2013/2996, Schedule 4; WSI "
        "2006/31; SSI 2006/3",
        "caution_ageing": "Age it at 5 °C or colder for at least 4 h, usually overnight: fat sets, "
        "proteins and gums take up water. How long a mix may wait before churning is for your local "
        "rules.",
        "caution_ageing_basis": "H. D. Goff, Ice Cream Technology e-Book, University of Guelph, Ageing "
        "of mix",
        "caution_water_ice": _caution_water_ice,
        "caution_water_ice_basis": "21 CFR 135.160, a standard of identity; Hackney health report 1959 "
        "(wellcomelibrary.org), the figure from memory; washing: common practice, no source",
        "caution_refreezing": "What has been warmer than {limit:degrees} °C since it was frozen is not "
        "sold unless it is heat-treated and frozen again (UK, 1995); thawed dessert is not simply "
        "frozen "
        "again.",
        "caution_refreezing_basis": "SI 1995/1372, Schedule 6 Part V (repealed, from memory; used as "
        "guidance)",
        "caution_like_milk": _caution_like_milk,
        "caution_like_milk_basis": "common practice, no source",
        "caution_added_cold": "{names:commas}: what is stirred in after heating has not been heated. "
        "Wash it, or heat it with the mix or by itself.",
        "caution_added_cold_basis": "common practice, no source",
        "caution_alcohol": "{value:percent} % alcohol by weight does not stand in for heat "
        "treatment. Add it once "
        "the mix is cold, and say on the menu that it is there.",
        "caution_alcohol_basis": "common practice, no source",
        "rule_uk_1995": "UK, Dairy Products (Hygiene) Regulations 1995",
        "rule_uk_1995_status": "repealed, from memory; used as guidance",
        "rule_fr_2009": "France, arrêté of 21 December 2009",
        "rule_fr_2009_status": "binds mass catering; then 0 to 3 °C",
        "rule_us_food_code": "US Food Code 3-501.14",
        "rule_us_food_code_status": "model code, as adopted by states",
    }
)
