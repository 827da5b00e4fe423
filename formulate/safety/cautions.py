"""What to mind in a mix by what it contains: heating, cooling, ageing, eggs, things added cold.

Quoted rules and common practice; none says that a mix is safe.  What nobody knows, as what an
ingredient of one's own is made of, is said to be unknown, and never taken for absent.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from formulate.arrays import Array
from formulate.errors import TableError
from formulate.ingredients import (
    Ingredient,
    ingredient_table,
    own_composition,
    position,
)
from formulate.messages import Message, message
from formulate.recipes import RecipeIngredient
from formulate.safety.acidity import estimated_acidity
from formulate.safety.heat import heat_rows
from formulate.safety.ingredient_notes import is_heated, must_be_cooked, notes_on

__all__ = ["REFREEZING_C", "cautions_for"]

#: Warmest temperature that frozen ice cream may have had and still be sold, UK [°C].
REFREEZING_C = -2.2

_RAW_EGGS = ("whole_egg", "egg_yolk", "egg_white")
_LIKE_MILK = ("plant_drink", "nut", "protein", "cocoa", "vegetable")
_LIKE_MILK_KEYS = ("avocado",)
_FRESH = ("fruit", "herb", "vegetable")
_HERBS = ("herb",)  # what is stirred in even where fruit is heated with the mix
_MILK_PARTS = tuple(position(key) for key in ("milk_protein", "milk_fat", "lactose"))
_EGG_PARTS = _EGG_PROTEIN, _EGG_FAT = position("egg_protein"), position("egg_fat")
_FEEDING = tuple(position(key) for key in ("other_protein", "starch", "cocoa_fat"))
_YOLK_FAT = 0.1  # g of egg fat per g of egg protein, above which it is not white alone
_ETHANOL = position("ethanol")
_TRACE = 1e-9


def cautions_for(
    entries: Sequence[RecipeIngredient], composition: ArrayLike
) -> tuple[Message, ...]:
    """Return what to mind in a mix by what it contains, heat treatment first and local rules last.

    What each rests on stands with its words in :mod:`formulate.report.english.safety`.

    Parameters
    ----------
    entries:
        Its ingredients, as far as they are used; what is infused and strained out is one of them.
    composition:
        The mix, g per 100 g, shape (columns,).

    Returns
    -------
    tuple of Message

    Raises
    ------
    TableError
        If the rules that would be quoted are missing from the tables.

    Notes
    -----
    That nothing is said of something does not make it safe.

    Examples
    --------
    >>> milk = RecipeIngredient("whole_milk")
    >>> composition = ingredient_table()["whole_milk"].composition
    >>> [caution.code for caution in cautions_for([milk], composition)][:3]
    ['caution_heat', 'caution_cooling', 'caution_ageing']
    """
    parts = np.asarray(composition, dtype=float)
    table = ingredient_table()
    own = [entry for entry in entries if _is_own(entry)]
    known = [(entry, table[entry.key]) for entry in entries if not _is_own(entry)]
    eggs = [about for _, about in known if "eggs" in about.allergens]
    egg = bool(eggs) or bool((parts[list(_EGG_PARTS)] > _TRACE).any())
    yolk = bool(parts[_EGG_FAT] > _YOLK_FAT * parts[_EGG_PROTEIN])
    milk = any("milk" in about.allergens for _, about in known)
    milk = milk or bool((parts[list(_MILK_PARTS)] > _TRACE).any())
    if milk or yolk:
        found, warm = [_heat(milk, egg)], True
    else:
        found, warm = _without_milk(known, own, parts)
    if own and not milk:
        found.append(message("caution_own_unknown", names=tuple(map(_own_name, own))))
    if egg:
        raw = tuple(about.name for about in eggs if about.key in _RAW_EGGS)
        if raw or not eggs:
            found.append(message("caution_raw_egg", names=raw))
        if yolk and milk:
            found.append(message("caution_custard"))
    found += notes_on(entries)
    if warm:
        found += [message("caution_cooling"), message("caution_ageing")]
        fresh = _stirred_in(known, found[0].code)
        found += [message("caution_added_cold", names=fresh)] * bool(fresh)
    if parts[_ETHANOL] > 0.0:
        found.append(message("caution_alcohol", value=float(parts[_ETHANOL])))
    found.append(message("caution_guests"))
    return (*found, message("caution_refreezing", limit=REFREEZING_C), message("caution_local"))


def _without_milk(
    known: Sequence[tuple[RecipeIngredient, Ingredient]],
    own: Sequence[RecipeIngredient],
    parts: Array,
) -> tuple[list[Message], bool]:
    """What to say of a mix in which no milk and no yolk is known, and whether it is to be heated."""
    feeding = [about.name for _, about in known if _feeds(about)]
    feeding += [_own_name(entry) for entry in own if _own_feeds(entry)]
    sour = estimated_acidity(parts)
    doubt = {"value": sour.ph, "plus_minus": sour.plus_minus}
    if feeding:
        return [message("caution_like_milk", names=tuple(feeding), **doubt, **_rules())], True
    if sour.is_acid is False:
        return [message("caution_low_acid", **doubt, **_rules())], True
    if sour.is_acid is None:
        return [message("caution_acid_unsure", **doubt, **_rules())], True
    if own:
        return [message("caution_acid_as_known", **doubt)], False
    return [message("caution_water_ice", **doubt)], False


def _stirred_in(
    known: Sequence[tuple[RecipeIngredient, Ingredient]], heating: str
) -> tuple[str, ...]:
    """Names of what is fresh and usually stirred in cold, by why the mix is heated."""
    kinds = _FRESH if heating in ("caution_heat", "caution_like_milk") else _HERBS
    return tuple(
        about.name
        for entry, about in known
        if about.kind in kinds
        and (heating == "caution_heat" or not _feeds(about))  # else it is heated with the mix
        and not (is_heated(entry) or must_be_cooked(entry))
    )


def _feeds(about: Ingredient) -> bool:
    """Whether microbes find in it what they find in milk."""
    return about.kind in _LIKE_MILK or about.key in _LIKE_MILK_KEYS


def _is_own(entry: RecipeIngredient) -> bool:
    return entry.composition is not None or entry.key not in ingredient_table()


def _own_name(entry: RecipeIngredient) -> str:
    return entry.key.replace("_", " ").capitalize()


def _own_feeds(entry: RecipeIngredient) -> bool:
    """Whether an ingredient of one's own has protein or starch; unknown counts as having it."""
    if entry.composition is None:
        return True
    made = own_composition(entry.composition, entry.key)
    return bool((made[list(_FEEDING)] > 0.1).any())


def _rules() -> dict[str, tuple[str, ...]]:
    """How the quoted rules print the heat treatment of mix, by place."""
    rows = [row for row in heat_rows() if row.product == "mix"]
    found = {
        place: tuple(row.printed for row in rows if row.key.startswith(start))
        for place, start in (("us", "us_pmo"), ("uk", "uk_1995"), ("eu", "eu_853"))
    }
    for place, printed in found.items():
        if not printed or not all(printed):
            raise TableError(
                f"heat_treatment.csv: the rows of mix in the {place.upper()} are missing."
            )
    return found


def _heat(milk: bool, egg: bool) -> Message:
    contains = tuple(name for name, there in (("milk", milk), ("egg", egg)) if there)
    return message("caution_heat", contains=contains, **_rules())
