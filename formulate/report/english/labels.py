"""Words on draft labels, names of sale and estimates from a pack."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from formulate.report.phrases import Template

__all__ = ["LABELS"]


def _us_contains(fields: Mapping[str, Any]) -> str:
    more = " and what the packs marked above say" if fields["unknown"] else ""
    return f"Contains: {', '.join(fields['allergens'])}{more}."


def _tree_nuts(fields: Mapping[str, Any]) -> str:
    return f"{fields['name']} ({', '.join(fields['nuts'])})"


def _pack_misfit(fields: Mapping[str, Any]) -> str:
    printed = f", printed {fields['printed']}," if fields["printed"] is not None else ""
    return (
        f"The {fields['key'].replace('_', ' ')}{printed} does not fit the other figures and the words, "
        f"by {fields['value']:.3g}: the label may round more, a word be missing or mean something else."
    )


def _pack_least_sure(fields: Mapping[str, Any]) -> str:
    name = fields["key"].replace("_", " ")
    return f"Least sure is {name}: {fields['low']:.1f} to {fields['high']:.1f} g in 100 g."


#: Quantities that rules of names compare, as they stand in a sentence.
_QUANTITIES = {
    "total_solids": "total solids are",
    "fat": "fat is",
    "fat_of_rest": "fat of what is not bulky flavour is",
    "milk_fat": "milk fat is",
    "milk_fat_of_rest": "milk fat of what is not bulky flavour is",
    "non_milk_fat": "fat other than milk fat is",
    "foreign_fat": "fat from oils, fats and plant drinks is",
    "added_fat": "milk fat and fat from oils, fats and plant drinks is",
    "protein": "protein is",
    "protein_of_rest": "protein of what is not bulky flavour is",
    "milk_protein": "milk protein is",
    "foreign_protein": "protein from plant drinks and isolates is",
    "msnf": "milk solids-not-fat are",
    "nonfat_milk_solids": "nonfat milk solids are",
    "milk_solids": "milk solids with their fat are",
    "milk_solids_of_rest": "milk solids of what is not bulky flavour are",
    "whey_share": "whey makes up",
    "caseinate": "caseinate is",
    "egg_yolk_solids": "egg-yolk solids are",
    "egg_yolk_solids_of_rest": "egg-yolk solids of what is not bulky flavour are",
    "milk_ingredients": "ingredients of milk weigh",
    "other_milk": "dairy that is not goat's weighs",
    "egg_but_white": "egg other than white weighs",
    "whole_milk": "milk, counted as whole milk, is",
    "egg_of_milk": "the egg makes up",
    "added_water": "added water is",
    "fruit": "fruit, counted as fresh, is",
    "nuts": "nuts are",
    "acidity_as_lactic": "acidity is about",
    "weight_per_gallon": "a gallon weighs",
    "solids_per_gallon": "a gallon holds solids of",
    "solids_per_litre": "a litre holds solids of",
    "milk_fat_per_litre": "a litre holds milk fat of",
}

LABELS: Mapping[str, Template] = MappingProxyType(
    {
        "portion_by_weight": "{grams:g} g",
        "portion_of_cup": "2/3 cup ({grams:g} g at {overrun_percent:g} % overrun)",
        "us_contains": _us_contains,
        "us_tree_nuts": _tree_nuts,
        "allergens_pass_over": "Infused and strained out: {name}, with {allergens:commas}: allergens "
        "pass over.",
        "with_sweeteners": "With sweetener(s): beside the name, since a polyol sweetens it (Annex III).",
        "may_be_laxative": "Excessive consumption may produce laxative effects. (More than "
        "{limit:g} % added polyols, here {value:.3g} %; Annex III.)",
        "to_do_read_packs": "Read the packs for allergens and figures: {names:commas}.",
        "to_do_lists_of_packs": "Put in the packs' own lists of ingredients: {names:commas}.",
        "to_do_tap_water": "Sodium of the tap water is not counted; softened water can hold much.",
        "to_do_us_not_here": "Not here: trans fat, vitamin D, calcium, iron, potassium and the % Daily "
        "Values.",
        "to_do_us_cereals": "Beer and oat drink count as barley and oats. Wheat beer holds wheat, and "
        "oats may carry some: read their packs.",
        "to_do_us_sulphites": "Sulphites from 10 ppm are declared too, though not among the nine.",
        "to_do_sulphites": "Sulphites count above 10 mg/kg in what is sold: ask for the figure.",
        "to_do_cereal": "Name the cereal of the gluten as the pack does.",
        "to_do_additives": "Check what each additive does here, and whether it may be used in ices.",
        "to_do_polyols": "Polyols as sweeteners are for ices with reduced energy or no added sugar "
        "(Regulation 1333/2008, from memory): check.",
        "to_do_rest": "Still to come: net quantity, date, storage, business and, where asked, origin.",
        "allergens_not_known": "Its allergens are not known here: read the pack.",
        "list_of_pack": "The pack's own list goes here, in brackets.",
        "figure_not_sure": "No sure figure for {names:commas}; too little to matter.",
        "figure_missing": "Between {low} and {high} {unit}: no figure for {names:commas}; read the pack.",
        "figure_estimated": "Estimate, between {low} and {high} {unit}, for {names:commas}: read the "
        "pack.",
        "coconut_as_flavour": "Coconut that is the flavour may be another matter.",
        "titrate": "Estimated from the acids of the table: titrate it.",
        "at_overrun": "At {overrun_percent:g} % overrun.",
        "fruit_not_known": "Whether {name} is fruit is not known here.",
        "judged_by_fruit": "Judged by {name}, the fruit that weighs most.",
        "weighs_at_overrun": "It weighs {limit:g} lb at {overrun_percent:.0f} %.",
        "floor_of_milk_fat": "The floor is that of {value:.1f} % milk fat.",
        **{f"quantity_{key}": words for key, words in _QUANTITIES.items()},
        "comparison_min": "at least",
        "comparison_max": "at most",
        "comparison_above": "above",
        "comparison_below": "below",
        "jurisdiction_us": "United States, federal standard",
        "jurisdiction_eu": "European trade code (voluntary)",
        "jurisdiction_uk": "United Kingdom, trade guidance",
        "jurisdiction_de": "Germany, guideline",
        "jurisdiction_anz": "Australia and New Zealand, food standard",
        "jurisdiction_ca": "Canada, federal regulation",
        "pack_is_estimated": "The composition is estimated from the label; the maker's specification "
        "comes first.",
        "pack_misfit": _pack_misfit,
        "pack_density_estimated": "Volumes were turned into weights with a density estimated from the "
        "composition, {value:.3f} ({low:.3f} to {high:.3f}) g/mL; weigh 100 mL to be surer.",
        "pack_least_sure": _pack_least_sure,
        "pack_energy_misfit": "The energy, printed {printed} kcal, does not fit fat, carbohydrate and "
        "protein, which give {low:.0f} to {high:.0f}: one of these may be misread.",
    }
)
