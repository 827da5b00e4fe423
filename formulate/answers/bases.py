"""One base, several flavours: the base and the additions that let every mix meet its own targets.

The weights of the base are shares of it, the same in all mixes; how many grams of base each mix takes is
given.  So everything is linear, and one programme finds base and additions together.  Each mix is then
balanced once more on the base as it was weighed, and judged from composition.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, VerificationFault
from formulate.mix import Assessment, Mixture, Programme, assess, mixture, programme, require_met
from formulate.recipes import Recipe, RecipeIngredient, Scale, from_mapping
from formulate.solver import optimum, sparse_linear, weighable

__all__ = ["BaseAnswer", "Flavour", "Menu", "menu_from_mapping", "shared_base"]


_BASE = "the_base"


@dataclass(frozen=True, slots=True)
class Flavour:
    """One mix: its recipe with the base's ingredients first, and the grams of base that it takes."""

    recipe: Recipe
    base_g: float


@dataclass(frozen=True, slots=True)
class Menu:
    """A base and the mixes that are made of it; ``base`` holds its ingredients with present grams."""

    name: str
    base: tuple[RecipeIngredient, ...]
    flavours: tuple[Flavour, ...]


@dataclass(frozen=True)
class BaseAnswer:
    """The base for all mixes [g], and each mix judged.

    Attributes
    ----------
    base:
        Grams of each of the base's ingredients, for all mixes together; empty if there is no base.
    mixes:
        Each mix: base as one line, then its additions.
    change:
        Sum of relative changes of the base and all additions.
    """

    names: tuple[str, ...]
    base: tuple[float, ...]
    mixes: tuple[Assessment, ...]
    change: float


def menu_from_mapping(tables: Mapping[str, Any], place: str) -> Menu:
    """Return the menu in the tables of a TOML file: ``[[base]]`` and ``[[mix]]``.

    A ``[[mix]]`` is a recipe with ``base_g``; its ``[[mix.ingredient]]`` are the additions.

    Raises
    ------
    InputError
        As a recipe file does.
    """
    known = ("name", "base", "mix")
    for key in tables:
        if key not in known:
            raise InputError(f"{place}, {key}", "is not a field of a menu", f"Known: {known}.")
    rows, mixes = tables.get("base", []), tables.get("mix", [])
    if not rows or not mixes:
        raise InputError(place, "needs [[base]] and [[mix]] tables", "Add one of each at least.")
    shell = {"name": "base", "batch_g": 1000.0, "ingredient": rows}
    base = from_mapping(shell, f"{place}, base").ingredients
    flavours = []
    for count, table in enumerate(mixes, start=1):
        where = f"{place}, mix {count}"
        grams = table.get("base_g")
        if isinstance(grams, bool) or not isinstance(grams, int | float) or not grams > 0.0:
            problem = f"is {grams!r}, and must be grams above 0"
            raise InputError(f"{where}, base_g", problem, "Say how much base the mix takes.")
        own = {key: value for key, value in table.items() if key != "base_g"}
        added = bool(own.get("ingredient"))
        recipe = from_mapping(own if added else {**own, "ingredient": rows}, where)
        additions = recipe.ingredients if added else ()
        recipe = replace(recipe, ingredients=(*base, *additions))
        if grams > recipe.batch_g:
            problem = f"{grams:g} g is more than the batch"
            raise InputError(f"{where}, base_g", problem, "Take less base.")
        flavours.append(Flavour(recipe, float(grams)))
    return Menu(str(tables.get("name", "menu")), base, tuple(flavours))


def shared_base(menu: Menu) -> BaseAnswer | None:
    """Return the base and additions of least change, ``None`` if no base serves all mixes.

    The change of the base counts once for every mix, by the grams that it takes.

    Raises
    ------
    VerificationFault
        If a mix, recomputed, misses a target.
    """
    mixes = [mixture(flavour.recipe) for flavour in menu.flavours]
    weights = _solve(menu, mixes)
    if weights is None:
        return None
    shares, additions, change = weights
    total = sum(flavour.base_g for flavour in menu.flavours)
    for finer in (1.0, 10.0, 100.0, 0.0):
        base = _on_scale(shares * total, menu.flavours[0].recipe.scale, finer)
        composition = (
            base @ mixes[0].compositions[: len(base)] / float(mixes[0].reach[: len(base)] @ base)
        )
        judged = [
            _finished(flavour, composition, added, exact=finer == 0.0)
            for flavour, added in zip(menu.flavours, additions, strict=True)
        ]
        mixes_met = tuple(each for each in judged if each is not None)
        if len(mixes_met) == len(judged):
            names = tuple(mixes[0].names[: len(base)])
            return BaseAnswer(names, tuple(float(each) for each in base), mixes_met, change)
    raise VerificationFault("The base that was found does not serve every mix; it is not shown.")


def _solve(menu: Menu, mixes: list[Mixture]) -> tuple[Array, list[Array], float] | None:
    """Shares of the base, additions of each mix [g], and the sum of relative changes."""
    number = len(menu.base)
    start = np.array([entry.grams or 0.0 for entry in menu.base])
    if start.sum() <= 0.0:
        raise InputError("base", "gives no weights", "Give the base that you make now, in grams.")
    shares = start / start.sum()
    blocks: list[tuple[Array, Array]] = []
    lower: list[Array] = []
    upper: list[Array] = []
    starts = [shares]
    least = [np.array([entry.min_g or 0.0 for entry in menu.base]) / start.sum()]
    most = [_most_shares(menu, float(start.sum()))]
    weight = [_per_change(shares, 1.0) * len(mixes)]
    for flavour, mix in zip(menu.flavours, mixes, strict=True):
        rows = programme(mix)
        added = np.array([entry.grams or 0.0 for entry in flavour.recipe.ingredients[number:]])
        room = flavour.recipe.batch_g - flavour.base_g
        if added.sum() > 0.0:
            added = added * room / added.sum()
        matrix = np.vstack([rows.matrix, rows.reach])
        blocks.append((flavour.base_g * matrix[:, :number], matrix[:, number:]))
        lower += [rows.row_lower, np.array([flavour.recipe.batch_g])]
        upper += [rows.row_upper, np.array([flavour.recipe.batch_g])]
        starts.append(added)
        least.append(rows.lower[number:])
        most.append(rows.upper[number:])
        weight.append(_per_change(added, flavour.recipe.batch_g))
    found = sparse_linear(
        blocks,
        np.concatenate(lower),
        np.concatenate(upper),
        np.concatenate(starts),
        np.concatenate(weight),
        np.concatenate(least),
        np.concatenate(most),
        _stock(menu),
    )
    if found is None:
        return None
    x, change = found
    ends = np.cumsum(
        [number, *(len(flavour.recipe.ingredients) - number for flavour in menu.flavours)]
    )
    return x[:number], np.split(x[number:], ends[1:-1] - number), change


def _most_shares(menu: Menu, total: float) -> Array:
    return np.array([1.0 if entry.max_g is None else entry.max_g / total for entry in menu.base])


def _per_change(start: Array, batch: float) -> Array:
    return np.asarray(1.0 / np.maximum(start, 0.02 * batch))


def _stock(menu: Menu) -> tuple[Array, Array] | None:
    """Rows of what all mixes use together, and what there is of it [g]."""
    number = len(menu.base)
    total = sum(flavour.base_g for flavour in menu.flavours)
    columns = number + sum(len(flavour.recipe.ingredients) - number for flavour in menu.flavours)
    limits: dict[str, float] = {}
    uses: dict[str, Array] = {}
    for index, entry in enumerate(menu.base):
        if entry.stock_g is not None:
            limits[entry.key] = entry.stock_g
        uses.setdefault(entry.key, np.zeros(columns))[index] += total
    place = number
    for flavour in menu.flavours:
        for entry in flavour.recipe.ingredients[number:]:
            if entry.stock_g is not None:
                limits[entry.key] = min(entry.stock_g, limits.get(entry.key, np.inf))
            uses.setdefault(entry.key, np.zeros(columns))[place] += 1.0
            place += 1
    if not limits:
        return None
    return np.array([uses[key] for key in limits]), np.array(list(limits.values()))


def _on_scale(grams: Array, scale: Scale, finer: float) -> Array:
    """Rounded to the scale, or so many times finer; as they are for 0."""
    if finer == 0.0:
        return grams
    steps = np.where(grams < scale.fine_below_g, scale.fine_step_g, scale.step_g) / finer
    return np.asarray(np.round(grams / steps) * steps)


def _finished(
    flavour: Flavour, composition: Array, added: Array, *, exact: bool
) -> Assessment | None:
    """One mix on the base as it was weighed, its additions balanced once more and rounded.

    ``None`` if rounding the base has made it impossible.
    """
    recipe = flavour.recipe
    number = len(recipe.ingredients) - len(added)
    entries = [
        RecipeIngredient(_BASE, grams=flavour.base_g, fixed=True, composition={"water": 100.0})
    ]
    entries += [
        replace(entry, grams=float(grams))
        for entry, grams in zip(recipe.ingredients[number:], added, strict=True)
    ]
    whole = mixture(replace(recipe, ingredients=tuple(entries), ratios=(), groups=()))
    compositions = whole.compositions.copy()
    compositions[0] = composition
    mix = replace(whole, compositions=compositions, names=("Base", *whole.names[1:]))
    rows: Programme = programme(mix)
    found = optimum(mix, rows)
    if found is None and not exact:
        return None
    weights = np.append(flavour.base_g, added) if found is None else found.weights
    rounded = weighable(rows, weights, recipe.scale)
    judged = assess(mix, weights if rounded is None else rounded.weights)
    require_met(judged)
    return judged
