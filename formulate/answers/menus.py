"""The menu of a shared base: the base as it is made now, and the mixes that take from it, from a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from formulate.checks import MOST, keep_all, positive_number, standing_at, word
from formulate.errors import InputError
from formulate.recipes import (
    Counts,
    Recipe,
    RecipeIngredient,
    from_mapping,
    known_fields,
    tables_in,
    text_in,
)

__all__ = ["Flavour", "Menu", "menu_from_mapping"]

_BASE_NAME = "base"
_OF_A_WEIGHT = ("grams", "min_g", "max_g", "fixed", "least_use_g", "stock_g")


@dataclass(frozen=True, slots=True)
class Flavour:
    """One mix of a menu.

    Attributes
    ----------
    recipe:
        The whole mix: what is in the base, then what is not; without weights and limits of its own.
    base_g:
        Grams of finished base that it takes.
    additions:
        What is added, with present weights and limits; what the base has too may be among it.

    Raises
    ------
    InputError
        If it takes no base or more than the batch, counts ingredients, or adds what is not in its recipe.
    """

    recipe: Recipe
    base_g: float
    additions: tuple[RecipeIngredient, ...]

    def __post_init__(self) -> None:
        """Check every field, and all together."""
        base = positive_number(self.base_g, "mix, base_g")
        if base > self.recipe.batch_g:
            problem, allowed = f"{base:g} g is more than the batch", (0.0, self.recipe.batch_g)
            remedy, place = "Take less base.", "mix, base_g"
            raise InputError(place, problem, remedy, field="base_g", value=base, allowed=allowed)
        object.__setattr__(self, "base_g", base)
        keep_all(self, "additions", RecipeIngredient, "mix")
        keys = {entry.key for entry in self.recipe.ingredients}
        for entry in self.additions:
            if entry.key not in keys or entry.least_use_g is not None:
                where = f"mix, ingredient {entry.key}"
                field = "key" if entry.key not in keys else "least_use_g"
                problem = (
                    "is not in the whole mix" if field == "key" else "is not kept beside a base"
                )
                raise InputError(f"{where}, {field}", problem, "Leave it out.", field=field)
        if self.recipe.counts != Counts():
            problem, remedy = "are not kept beside a base", "Take [mix.limits] out."
            raise InputError("mix, limits", problem, remedy, field="limits")


@dataclass(frozen=True, slots=True)
class Menu:
    """A base and the mixes that are made of it.

    ``base`` holds its ingredients as the kitchen makes it now.  Limits and fixed weights are of the base
    so written, and grow with it; what is in stock is for all mixes together.

    Raises
    ------
    InputError
        If there is no mix or no base, or two mixes have one name.
    """

    name: str
    base: tuple[RecipeIngredient, ...]
    flavours: tuple[Flavour, ...]

    def __post_init__(self) -> None:
        """Check every field, and all together."""
        word(self.name, "menu, name")
        keep_all(self, "base", RecipeIngredient, "menu")
        keep_all(self, "flavours", Flavour, "menu")
        if not self.base or not self.flavours:
            problem, remedy = "needs [[base]] and [[mix]] tables", "Add one of each at least."
            raise InputError("menu", problem, remedy)
        if not any(entry.grams for entry in self.base):
            problem, remedy = "gives no weights", "Give the base that you make now, in grams."
            raise InputError("menu, base", problem, remedy, field="grams")
        for entry in self.base:
            if entry.least_use_g is not None:
                place, problem = f"menu, base {entry.key}, least_use_g", "is not kept in a base"
                raise InputError(place, problem, "Leave it out.", field="least_use_g")
        names = [flavour.recipe.name for flavour in self.flavours]
        for count, name in enumerate(names, start=1):
            if name in names[: count - 1]:
                problem, remedy = f'the name "{name}" is given twice', "Give another name."
                raise InputError(f"menu, mix {count}", problem, remedy, field="name", value=name)

    @property
    def total_g(self) -> float:
        """Finished base for all mixes together [g]."""
        return sum(flavour.base_g for flavour in self.flavours)


def menu_from_mapping(tables: Mapping[str, Any], place: str) -> Menu:
    """Return the menu in the tables of a TOML file: ``[[base]]`` and ``[[mix]]``.

    A ``[[mix]]`` is a recipe with ``base_g``; its ``[[mix.ingredient]]`` are the additions, and its
    groups and ratios may name what is in the base.

    Parameters
    ----------
    tables:
        What the file holds.
    place:
        Where the tables stand, for messages.

    Returns
    -------
    Menu

    Raises
    ------
    InputError
        As a recipe file does.

    Examples
    --------
    >>> tables = {
    ...     "base": [{"key": "whole_milk", "grams": 700}, {"key": "sucrose", "grams": 180}],
    ...     "mix": [{"name": "Plain", "batch_g": 1000, "base_g": 1000, "target": {}}],
    ... }
    >>> menu_from_mapping(tables, "milk base").flavours[0].base_g
    1000.0
    """
    known_fields(tables, ("name", "base", "mix"), place)
    rows, mixes = tables_in(tables, "base", place), tables_in(tables, "mix", place)
    base: tuple[RecipeIngredient, ...] = ()
    if rows:
        shell = {"name": _BASE_NAME, "batch_g": 1000.0, "ingredient": rows}
        base = from_mapping(shell, f"{place}, base").ingredients
    flavours = tuple(
        _flavour(table, base, f"{place}, mix {count}") for count, table in enumerate(mixes, start=1)
    )
    name = text_in(tables, "name", place) if "name" in tables else "menu"
    with standing_at("menu", place):
        return Menu(name, base, flavours)


def _flavour(table: Mapping[str, Any], base: tuple[RecipeIngredient, ...], where: str) -> Flavour:
    if "base_g" not in table:
        remedy, allowed = "Say how much base the mix takes.", (0.0, MOST)
        raise InputError(f"{where}, base_g", "is missing", remedy, field="base_g", allowed=allowed)
    rows = tables_in(table, "ingredient", where)
    additions: tuple[RecipeIngredient, ...] = ()
    if rows:
        shell = {"name": _BASE_NAME, "batch_g": 1000.0, "ingredient": rows}
        additions = from_mapping(shell, where).ingredients
    known = {entry.key: _plain(entry) for entry in base}
    for entry in additions:
        if known.setdefault(entry.key, _plain(entry)) != _plain(entry):
            problem = "is in the base too, with another reading, lot, composition, price or steps"
            place = f"{where}, ingredient ({entry.key})"
            raise InputError(place, problem, "Say the same in both places.", field=entry.key)
    own = {key: value for key, value in table.items() if key not in ("base_g", "ingredient")}
    whole = [{"key": key} for key in known]
    recipe = from_mapping({**own, "ingredient": whole}, where)
    with standing_at("mix", where):
        return Flavour(
            replace(recipe, ingredients=tuple(known.values())), table["base_g"], additions
        )


def _plain(entry: RecipeIngredient) -> RecipeIngredient:
    """An ingredient without what is asked of its weight."""
    usual = {about.name: about.default for about in fields(entry) if about.name in _OF_A_WEIGHT}
    return replace(entry, **usual)  # type: ignore[arg-type]
