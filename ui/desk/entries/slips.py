"""A slip of the pen in the words of the page: which entry, what is wrong, what to do."""

from __future__ import annotations

import re

from desk.entries.frames import names_of

from formulate.errors import InputError
from formulate.mix import target_name
from formulate.recipes import Recipe

__all__ = ["spoken"]

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
_FIELD = re.compile(r"\b(" + "|".join(sorted(_FIELDS, key=len, reverse=True)) + r")\b")
_INGREDIENT = re.compile(r"ingredient (?:\d+ \((?P<first>\w+)\)|(?P<other>\w+))")


def spoken(error: InputError, recipe: Recipe) -> str:
    """Return what is wrong, in the names that stand on the page.

    Parameters
    ----------
    error:
        As the engine raised it, in the words of the recipe file.
    recipe:
        The last good recipe, for the names of its ingredients and targets.
    """
    place = error.place.removeprefix(recipe.name).lstrip(", ")
    names = names_of(recipe)
    found = _INGREDIENT.match(place)
    if found:
        key = found["first"] or found["other"]
        where, rest = names.get(key, key), place[found.end() :]
    elif place.startswith("target, ") and (key := place.removeprefix("target, ")) in recipe.targets:
        where, rest = target_name(key, recipe)[0], ""
    else:
        where, rest = "", place
    parts = [_words(part) for part in rest.split(", ") if part and part != "serving"]
    subject = ", ".join([where, *parts] if where else parts) or recipe.name
    words = f"{subject}: {_words(error.problem)}. {error.remedy}"
    return words[0].upper() + words[1:]


def _words(text: str) -> str:
    return _FIELD.sub(lambda found: _FIELDS[found[0]], text)
