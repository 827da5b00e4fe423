"""A slip of the pen in the words of the page: which entry, what is wrong, what to do."""

from __future__ import annotations

from desk.entries.frames import names_of
from formulate.errors import InputError
from formulate.mix import target_name
from formulate.recipes import Recipe
from formulate.report import raised

__all__ = ["is_of_an_ingredient", "spoken"]

_FIELDS = {
    "grams": "weight",
    "min_g": "the least weight",
    "max_g": "the greatest weight",
    "stock_g": "stock",
    "brix": "reading",
    "brix_temperature_c": "temperature of the reading",
    "brix_plus_minus": "± of the reading",
    "price_per_kg": "price",
    "min": "the least",
    "max": "the most",
    "temperature_c": "serving temperature",
    "freezer_c": "freezer",
    "overrun_percent": "overrun",
    "frozen_water": "serving window",
}
_PAIRS = {"min_g": "max_g", "min": "max"}


def spoken(error: InputError, recipe: Recipe) -> str:
    """Return what is wrong, in the names that stand on the page.

    Parameters
    ----------
    error:
        As the engine raised it: its data say which entry it is of.
    recipe:
        The last good recipe, for the names of its ingredients and targets.
    """
    names, key = names_of(recipe), error.key
    if key is None:
        where = ""
    elif key in recipe.targets:
        where, _ = target_name(key, recipe)
    else:
        where = names.get(key, key)
    field, problem = _FIELDS.get(error.field or "", ""), error.problem
    if crossed := _crossed(error):
        field, problem = "", crossed
    subject = ", ".join(part for part in (where, field) if part) or error.place or recipe.name
    return f"{raised(subject)}: {problem}. {error.remedy}"


def is_of_an_ingredient(error: InputError, recipe: Recipe) -> bool:
    """Whether the entry that is wrong stands in a table of ingredients."""
    return any(entry.key == error.key for entry in recipe.ingredients)


def _crossed(error: InputError) -> str:
    """That a least is above its most, if that is what is wrong."""
    if error.field not in _PAIRS or not isinstance(error.value, float):
        return ""
    match error.allowed:
        case (_, float() as most) if error.value > most:
            least, greatest = _FIELDS[error.field], _FIELDS[_PAIRS[error.field]]
            return f"{least} {error.value:g} is above {greatest} {most:g}"
    return ""
