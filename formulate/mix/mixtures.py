"""A recipe met with the tables: the composition of each thing that is weighed, and its limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.ingredients import (
    at_20_c,
    ingredient_table,
    own_composition,
    position,
    properties,
    reading_at_20_c,
    with_lot,
    with_reading,
)
from formulate.recipes import Prepared, Recipe, RecipeIngredient, mass_of, prepare

__all__ = [
    "COST_KEY",
    "FREEZING_KEY",
    "FROZEN_WATER_KEY",
    "LEAST_WATER_PERCENT",
    "LEFT",
    "RATIO_SLACK_G",
    "SHOWN_COST",
    "SHOWN_DEGREES",
    "SHOWN_PERCENT",
    "SOME_WATER",
    "Mixture",
    "mixture",
    "prepared_row",
    "reading_of",
]


FREEZING_KEY = "initial_freezing_point_c"
COST_KEY = "cost_per_kg"
FROZEN_WATER_KEY = "frozen_water"

#: What the key of a row begins with that says what straining leaves of a liquid.
LEFT = "left of "

#: Key of the row that asks for water where ice is asked for: without any, nothing is frozen and every
#: wish about freezing reads 0 <= 0.
SOME_WATER = "some water"
LEAST_WATER_PERCENT = 1.0

#: Half of the last digit that a page shows; a target of one exact value is met within it after
#: weights are rounded to what a scale shows.  In the unit of each target.
SHOWN_PERCENT = 0.05
SHOWN_DEGREES = 0.02
SHOWN_COST = 0.005

#: After rounding, an exact ratio may be off by the larger step of a usual scale [g].
RATIO_SLACK_G = 1.0

_LARGEST_BOUND = 1e5  # of what is no share of the mix


@dataclass(frozen=True)
class Mixture:
    """A recipe with everything that the tables know of it.

    Attributes
    ----------
    recipe:
        The recipe.
    names, usual:
        Name on a page and rank of use (1 usual, 5 rare) of each ingredient.
    compositions:
        What 100 g at the scale bring into the mix [g], shape (ingredients, columns): readings, lots and
        steps applied.  With steps it does not add up to 100, and a strained herb takes liquid away.
    reach:
        Grams that reach the mix per gram at the scale, shape (ingredients,); 1 without steps.
    raw:
        g per 100 g before the steps, shape (ingredients, columns).
    kinds:
        Kind of each ingredient in the table, ``own`` for one of one's own.
    prepared:
        What the steps of each ingredient do; ``None`` without steps.
    lower, upper:
        Limits of each weight [g]; stock and fixed weights included.
    start:
        Present weights, scaled so that they make the batch [g], or ``None`` where the recipe gives
        none.  What has no weight while others have starts at 0.
    prices:
        Price per kg at the scale of each ingredient, or ``None`` unless every one has a price.
    """

    recipe: Recipe
    names: tuple[str, ...]
    usual: tuple[int, ...]
    compositions: Array
    reach: Array
    raw: Array
    kinds: tuple[str, ...]
    prepared: tuple[Prepared | None, ...]
    lower: Array
    upper: Array
    start: Array | None
    prices: Array | None

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Keys of the ingredients, in the order of the recipe."""
        return tuple(entry.key for entry in self.recipe.ingredients)


def mixture(recipe: Recipe) -> Mixture:
    """Return the recipe met with the tables.

    Raises
    ------
    InputError
        If an ingredient or target is unknown, or a composition or reading cannot be.
    """
    _check_targets(recipe)
    entries = recipe.ingredients
    known = [_known(entry) for entry in entries]
    raw = np.stack([about.composition for about in known])
    prepared = _prepared(entries, known)
    compositions = np.stack(
        [
            row if done is None else 100.0 * done.contribution
            for row, done in zip(raw, prepared, strict=True)
        ]
    )
    reach = np.array([1.0 if done is None else mass_of(done.contribution) for done in prepared])
    if not compositions[:, position("water")].any():
        problem = "no ingredient has any water, so there is nothing to freeze"
        raise InputError("ingredient", problem, "Add water, milk, fruit or juice.")
    prices = [entry.price_per_kg for entry in entries]
    if COST_KEY in recipe.targets and None in prices:
        missing = next(entry.key for entry in entries if entry.price_per_kg is None)
        raise InputError(
            f"target, {COST_KEY}",
            f"needs every price, and {missing} has none",
            "Give price_per_kg.",
        )
    return Mixture(
        recipe=recipe,
        names=tuple(about.name for about in known),
        usual=tuple(about.usual for about in known),
        compositions=compositions,
        reach=reach,
        raw=raw,
        kinds=tuple(about.kind for about in known),
        prepared=prepared,
        lower=np.array([_lower(entry) for entry in entries]),
        upper=np.array(
            [_upper(entry, recipe.batch_g, at) for entry, at in zip(entries, reach, strict=True)]
        ),
        start=_start(recipe, reach),
        prices=None if None in prices else _at_the_scale(prices, prepared),
    )


@dataclass(frozen=True)
class _Known:
    """What the tables know of an ingredient: name, rank of use, kind, edible share, composition."""

    name: str
    usual: int
    kind: str
    edible_percent: float | None
    composition: Array


def _known(entry: RecipeIngredient) -> _Known:
    place = f"ingredient {entry.key}"
    if entry.composition is not None:
        row = own_composition(entry.composition, f"{place}, composition")
        found = _Known(entry.key.replace("_", " ").capitalize(), 3, "own", None, row)
    else:
        table = ingredient_table()
        if entry.key not in table:
            hint = nearest(entry.key, table) or "`formulate ingredients WORD` searches the table."
            problem = "is not in the ingredient table and has no composition"
            raise InputError(place, problem, f"{hint} Or give it a composition.")
        about = table[entry.key]
        found = _Known(about.name, about.usual, about.kind, about.edible_percent, about.composition)
    if entry.lot is not None:
        found = replace(found, composition=with_lot(found.composition, entry.lot))
    brix = reading_of(entry)
    if entry.brix is not None and brix is not None:
        row = with_reading(found.composition, brix, f"{place}, brix")
        found = replace(found, composition=row)
    return found


def reading_of(entry: RecipeIngredient) -> float | None:
    """Return the reading of an ingredient or its lot at 20 °C [°Bx], ``None`` without one."""
    if entry.brix is not None:
        place = f"ingredient {entry.key}, brix"
        return at_20_c(entry.brix, entry.brix_temperature_c, place)
    return None if entry.lot is None else reading_at_20_c(entry.lot)


def prepared_row(mix: Mixture, index: int, composition: Array) -> Array:
    """Return what 100 g of an ingredient bring into the mix if its composition before steps is this.

    Parameters
    ----------
    composition:
        g per 100 g, shape (columns,), as :attr:`Mixture.raw`.
    """
    entry = mix.recipe.ingredients[index]
    if not entry.steps:
        return composition
    kind, edible = _kind_of(entry)
    liquids = _liquids(mix.recipe.ingredients, mix.raw, mix.prepared)
    place = f"ingredient {entry.key}, steps"
    done = prepare(
        composition, entry.steps, kind, edible_percent=edible, liquids=liquids, place=place
    )
    return np.asarray(100.0 * done.contribution)


def _kind_of(entry: RecipeIngredient) -> tuple[str, float | None]:
    if entry.composition is not None:
        return "own", None
    about = ingredient_table()[entry.key]
    return about.kind, about.edible_percent


def _prepared(
    entries: tuple[RecipeIngredient, ...], known: list[_Known]
) -> tuple[Prepared | None, ...]:
    """What the steps of each ingredient do; herbs after the liquids that they are drawn in."""
    found: list[Prepared | None] = [None] * len(entries)
    raw = np.stack([about.composition for about in known])
    drawn = [any(step.do == "infuse" for step in entry.steps) for entry in entries]
    for later in (False, True):
        liquids = _liquids(entries, raw, tuple(found)) if later else {}
        for index, (entry, about) in enumerate(zip(entries, known, strict=True)):
            if entry.steps and drawn[index] == later:
                found[index] = prepare(
                    about.composition,
                    entry.steps,
                    about.kind,
                    edible_percent=about.edible_percent,
                    liquids=liquids,
                    place=f"ingredient {entry.key}, steps",
                )
    return tuple(found)


def _liquids(
    entries: tuple[RecipeIngredient, ...], raw: Array, prepared: tuple[Prepared | None, ...]
) -> dict[str, Array]:
    """Compositions that a herb may be drawn in: of ingredients with water, after their own steps."""
    found = {}
    for entry, row, done in zip(entries, raw, prepared, strict=True):
        after = row
        if done is not None and mass_of(done.contribution) > 0.0:
            after = 100.0 * done.contribution / mass_of(done.contribution)
        if after[position("water")] > 0.0:
            found[entry.key] = after
    return found


def _at_the_scale(prices: list[float | None], prepared: tuple[Prepared | None, ...]) -> Array:
    """Prices per kg at the scale: what is trimmed before it was paid for, too."""
    return np.array(
        [
            (price or 0.0) * (1.0 if done is None else done.buy_per_weighed)
            for price, done in zip(prices, prepared, strict=True)
        ]
    )


def _check_targets(recipe: Recipe) -> None:
    known = (*properties(), FREEZING_KEY, COST_KEY)
    for key, bounds in recipe.targets.items():
        place = f"target, {key}"
        if key not in known:
            hint = nearest(key, known) or "The README lists what can be a target."
            raise InputError(place, "is not something a mix is judged by", hint)
        most = 100.0 if key in properties() and properties()[key].unit == "%" else _LARGEST_BOUND
        for bound in (bounds.min, bounds.max):
            if bound is not None and key != FREEZING_KEY and not 0.0 <= bound <= most:
                problem = f"{bound:g} is not from 0 to {most:g}"
                raise InputError(place, problem, "Give % of the mix, or the unit of the target.")
        if key == FREEZING_KEY:
            for bound in (bounds.min, bounds.max):
                if bound is not None and not -30.0 <= bound < 0.0:
                    problem = f"{bound:g} is not from -30 to below 0 °C"
                    raise InputError(place, problem, "Freezing points are below zero: -2.8.")


def _lower(entry: RecipeIngredient) -> float:
    if entry.fixed:
        return entry.grams or 0.0
    return entry.min_g or 0.0


def _upper(entry: RecipeIngredient, batch_g: float, reach: float) -> float:
    limits = [entry.grams if entry.fixed else entry.max_g, entry.stock_g]
    most = batch_g / reach if 0.0 < reach < 1.0 else batch_g
    room = max(
        most, _lower(entry)
    )  # a least weight beyond the batch is what is in the way, not the room
    return min([limit for limit in limits if limit is not None], default=room)


def _start(recipe: Recipe, reach: Array) -> Array | None:
    if all(entry.grams is None for entry in recipe.ingredients):
        return None
    weights = np.array([entry.grams or 0.0 for entry in recipe.ingredients])
    total = float(reach @ weights)
    if total <= 0.0:
        return None
    return np.asarray(weights * (recipe.batch_g / total))
