"""The shelf of a week: lots of the menu file, of the notebook, and what recipes have in stock.

Nothing counts twice.  A lot of the menu that the notebook knows by the same name is that lot, with what
the menu says of it standing above; what a recipe gives as ``stock_g`` counts only for ingredients of
which no lot is on the shelf, and of several figures the largest, once for all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from formulate.errors import InputError, nearest
from formulate.ingredients import Lot, StockLot, ingredient_table
from formulate.notebook import Left
from formulate.recipes import Recipe

__all__ = ["shelf"]

#: What the stock that a recipe gives is called among lots.
_STOCK = "stock of the recipe"


def shelf(
    lots: tuple[StockLot, ...], noted: Iterable[Left], recipes: Iterable[Recipe]
) -> tuple[StockLot, ...]:
    """Return all lots that there are, each with grams: of the menu, of the notebook, of recipes.

    Parameters
    ----------
    lots, noted, recipes:
        Lots of the menu; lots of the notebook with what is left of them; recipes of the menu.

    Returns
    -------
    tuple of StockLot

    Raises
    ------
    InputError
        If a lot of the menu has no grams and the notebook knows none, or is of an unknown ingredient.

    Examples
    --------
    >>> from datetime import date
    >>> from formulate.ingredients import Lot
    >>> crate = StockLot(Lot("damson", grams=5000.0))
    >>> shelf((crate,), (), ())[0].lot.grams
    5000.0
    """
    recipes = tuple(recipes)
    known = _by_name(noted)
    found = []
    for each in lots:
        left = known.pop((each.lot.key, each.lot.name), None)
        found.append(each if left is None else replace(each, lot=_noted_first(each.lot, left)))
        if found[-1].lot.grams is None:
            remedy = "Give grams as bought, or --notebook, if the notebook has them."
            raise InputError(f"lot {each.lot.name} of {each.lot.key}", "has no grams", remedy)
    found += [StockLot(lot) for lot in known.values() if lot.grams]
    _require_known([each.lot for each in found], recipes)
    return (*found, *_stock_of(recipes, {each.lot.key for each in found}))


def _by_name(noted: Iterable[Left]) -> dict[tuple[str, str], Lot]:
    """Lots of the notebook by ingredient and name; their grams are what is left, if that is known."""
    found: dict[tuple[str, str], Lot] = {}
    for left in noted:
        name = left.name
        if (left.lot.key, name) in found:
            name = f"{name} (lot {left.number})"
        grams = left.grams if left.is_there else None
        found[left.lot.key, name] = replace(left.lot, name=name, grams=grams)
    return found


def _noted_first(lot: Lot, noted: Lot) -> Lot:
    """What the notebook knows of a lot, under what the menu says of it."""
    fields = Lot.__dataclass_fields__
    given = {key: getattr(lot, key) for key in fields if getattr(lot, key) != fields[key].default}
    if lot.reading is not None:  # with its own scale and temperature
        given |= {"scale": lot.scale, "temperature_c": lot.temperature_c}
    return replace(noted, **given)


def _require_known(lots: Iterable[Lot], recipes: tuple[Recipe, ...]) -> None:
    table = ingredient_table()
    own = {entry.key for recipe in recipes for entry in recipe.ingredients}
    for lot in lots:
        if lot.key not in table and lot.key not in own:
            hint = nearest(lot.key, [*table, *own]) or "`formulate ingredients WORD` searches."
            problem = "is neither in the ingredient table nor in a recipe of the menu"
            raise InputError(f"lot {lot.name}, key {lot.key}", problem, hint)


def _stock_of(recipes: tuple[Recipe, ...], there: set[str]) -> list[StockLot]:
    """What the recipes have in stock of ingredients that no lot is there of."""
    most: dict[str, Lot] = {}
    for entry in (entry for recipe in recipes for entry in recipe.ingredients):
        grams = entry.stock_g or 0.0
        if entry.key not in there and grams > 0.0:
            before = most.get(entry.key)
            if before is None or grams > (before.grams or 0.0):
                price = entry.price_per_kg
                most[entry.key] = Lot(entry.key, name=_STOCK, grams=grams, price_per_kg=price)
    return [StockLot(lot) for lot in most.values()]
