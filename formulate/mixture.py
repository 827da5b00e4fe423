"""A recipe met with the tables: the composition of each thing that is weighed, and its limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.components import position
from formulate.composition import ingredient_table, own_composition
from formulate.errors import InputError, nearest
from formulate.properties import properties
from formulate.readings import at_20_c, with_reading
from formulate.recipe import Recipe, RecipeIngredient

__all__ = ["COST_KEY", "FREEZING_KEY", "Mixture", "mixture"]

Array = NDArray[np.float64]

FREEZING_KEY = "initial_freezing_point_c"
COST_KEY = "cost_per_kg"


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
        g per 100 g, shape (ingredients, columns), readings applied.
    lower, upper:
        Limits of each weight [g]; stock and fixed weights included.
    start:
        Present weights scaled to the batch [g], or ``None`` where the recipe gives none.  What has no
        weight while others have starts at 0.
    prices:
        Price per kg of each ingredient, or ``None`` unless every one has a price.
    """

    recipe: Recipe
    names: tuple[str, ...]
    usual: tuple[int, ...]
    compositions: Array
    lower: Array
    upper: Array
    start: Array | None
    prices: Array | None

    @property
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
    compositions = np.stack([row for _, _, row in known])
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
        names=tuple(name for name, _, _ in known),
        usual=tuple(usual for _, usual, _ in known),
        compositions=compositions,
        lower=np.array([_lower(entry) for entry in entries]),
        upper=np.array([_upper(entry, recipe.batch_g) for entry in entries]),
        start=_start(recipe),
        prices=None if None in prices else np.array(prices, dtype=float),
    )


def _known(entry: RecipeIngredient) -> tuple[str, int, Array]:
    place = f"ingredient {entry.key}"
    if entry.composition is not None:
        name, usual = entry.key.replace("_", " ").capitalize(), 3
        row = own_composition(entry.composition, f"{place}, composition")
    else:
        table = ingredient_table()
        if entry.key not in table:
            hint = nearest(entry.key, table) or "`formulate ingredients WORD` searches the table."
            problem = "is not in the ingredient table and has no composition"
            raise InputError(place, problem, f"{hint} Or give it a composition.")
        about = table[entry.key]
        name, usual, row = about.name, about.usual, about.composition
    if entry.brix is not None:
        where = f"{place}, brix"
        row = with_reading(row, at_20_c(entry.brix, entry.brix_temperature_c, where), where)
    return name, usual, row


def _check_targets(recipe: Recipe) -> None:
    known = (*properties(), FREEZING_KEY, COST_KEY)
    for key, bounds in recipe.targets.items():
        place = f"target, {key}"
        if key not in known:
            hint = nearest(key, known) or "The README lists what can be a target."
            raise InputError(place, "is not something a mix is judged by", hint)
        if key == FREEZING_KEY:
            for bound in (bounds.min, bounds.max):
                if bound is not None and not -30.0 <= bound < 0.0:
                    problem = f"{bound:g} is not from -30 to below 0 °C"
                    raise InputError(place, problem, "Freezing points are below zero: -2.8.")


def _lower(entry: RecipeIngredient) -> float:
    if entry.fixed:
        return entry.grams or 0.0
    return entry.min_g or 0.0


def _upper(entry: RecipeIngredient, batch_g: float) -> float:
    limits = [entry.grams if entry.fixed else entry.max_g, entry.stock_g]
    return min([limit for limit in limits if limit is not None], default=batch_g)


def _start(recipe: Recipe) -> Array | None:
    if all(entry.grams is None for entry in recipe.ingredients):
        return None
    weights = np.array([entry.grams or 0.0 for entry in recipe.ingredients])
    total = weights.sum()
    if total <= 0.0:
        return None
    return np.asarray(weights * (recipe.batch_g / total))
