"""What a recipe is: what is weighed, what the mix must be, how it is served, what must hold together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from formulate.errors import InputError
from formulate.ingredients import Lot
from formulate.recipes.serving import Range, Serving
from formulate.recipes.steps import Step

__all__ = [
    "Counts",
    "Exclude",
    "Group",
    "Range",
    "Ratio",
    "Recipe",
    "RecipeIngredient",
    "Scale",
    "Serving",
    "scaled",
    "without",
]


@dataclass(frozen=True, slots=True)
class RecipeIngredient:
    """One thing that is weighed.  Weights in g, readings in °Bx, prices in the kitchen's money.

    ``brix_plus_minus`` is the standard deviation of a reading; 0.2 °Bx is what hand refractometers
    state.  ``least_use_g`` means: none of it, or at least so much.  ``grams`` are weighed before the
    ``steps``; targets are asked of the mix after them.
    """

    key: str
    grams: float | None = None
    min_g: float | None = None
    max_g: float | None = None
    fixed: bool = False
    least_use_g: float | None = None
    brix: float | None = None
    brix_temperature_c: float = 20.0
    brix_plus_minus: float = 0.2
    lot: Lot | None = None
    composition: Mapping[str, float] | None = None
    steps: tuple[Step, ...] = ()
    price_per_kg: float | None = None
    stock_g: float | None = None


@dataclass(frozen=True, slots=True)
class Scale:
    """The smallest steps that the kitchen's scales show [g]."""

    step_g: float = 1.0
    fine_step_g: float = 0.1
    fine_below_g: float = 20.0


@dataclass(frozen=True, slots=True)
class Ratio:
    """Grams of one ingredient for each gram of another: thyme to cream, sucrose to dextrose."""

    of: str
    to: str
    bounds: Range

    @property
    def key(self) -> str:
        """Key of the demand that it makes."""
        return f"ratio {self.of} : {self.to}"


@dataclass(frozen=True, slots=True)
class Group:
    """Ingredients that together must be so much of the mix [%]: all fruit at least 45."""

    name: str
    keys: tuple[str, ...]
    bounds: Range

    @property
    def key(self) -> str:
        """Key of the demand that it makes."""
        return f"group {self.name}"


@dataclass(frozen=True, slots=True)
class Counts:
    """At most so many weights may change, and so many ingredients be used; ``None`` for any number."""

    most_changes: int | None = None
    most_ingredients: int | None = None


@dataclass(frozen=True, slots=True)
class Exclude:
    """What may not be proposed as a further ingredient.

    Attributes
    ----------
    allergens:
        EU names of allergens.
    animal:
        Nothing of animal origin.
    alcohol:
        Nothing with alcohol.
    keys:
        These ingredients.
    only:
        If not empty: nothing but these, what is in stock.
    """

    allergens: tuple[str, ...] = ()
    animal: bool = False
    alcohol: bool = False
    keys: tuple[str, ...] = ()
    only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe.

    ``serving`` is ``None`` where the file has no serving table: then nothing is asked of the frozen
    water, and the serving temperature is still predicted with the default window.
    """

    name: str
    batch_g: float
    ingredients: tuple[RecipeIngredient, ...]
    targets: Mapping[str, Range] = field(default_factory=dict)
    serving: Serving | None = None
    scale: Scale = Scale()
    ratios: tuple[Ratio, ...] = ()
    groups: tuple[Group, ...] = ()
    counts: Counts = Counts()
    exclude: Exclude = Exclude()

    def with_weights(self, weights: Mapping[str, float | None]) -> Recipe:
        """Return the recipe with other weights.

        Parameters
        ----------
        weights:
            Grams by key, 0 or more; ``None`` for unknown.  Keys that are not named keep theirs.

        Returns
        -------
        Recipe

        Raises
        ------
        InputError
            If the recipe has no such ingredient.

        Examples
        --------
        >>> recipe = Recipe("Syrup", 300.0, (RecipeIngredient("water"), RecipeIngredient("sucrose")))
        >>> [entry.grams for entry in recipe.with_weights({"sucrose": 100.0}).ingredients]
        [None, 100.0]
        """
        found = self
        for key, grams in weights.items():
            found = found._with_entry(key, grams=grams)
        return found

    def with_reading(self, key: str, brix: float, temperature_c: float = 20.0) -> Recipe:
        """Return the recipe with another reading of one ingredient, in place of what its lot says.

        Parameters
        ----------
        key:
            The ingredient that was read.
        brix:
            Reading, above 0 to 85 °Bx.
        temperature_c:
            Temperature of the reading, 5 to 30 °C.

        Returns
        -------
        Recipe

        Raises
        ------
        InputError
            If the recipe has no such ingredient.

        Examples
        --------
        >>> recipe = Recipe("Sorbet", 300.0, (RecipeIngredient("damson"),))
        >>> recipe.with_reading("damson", 12.5).ingredients[0].brix
        12.5
        """
        return self._with_entry(key, brix=brix, brix_temperature_c=temperature_c, lot=None)

    def _with_entry(self, key: str, **fields: Any) -> Recipe:
        if key not in [entry.key for entry in self.ingredients]:
            raise _no_such_ingredient(self, key)
        entries = tuple(
            replace(entry, **fields) if entry.key == key else entry for entry in self.ingredients
        )
        return replace(self, ingredients=entries)


def scaled(recipe: Recipe, by: float) -> Recipe:
    """Return a recipe of a larger or smaller batch: weights and limits grow with it, to 0.001 g."""

    def grown(grams: float | None) -> float | None:
        return None if grams is None else round(grams * by, 3)

    entries = (
        replace(
            entry,
            grams=grown(entry.grams),
            min_g=grown(entry.min_g),
            max_g=grown(entry.max_g),
            least_use_g=grown(entry.least_use_g),
        )
        for entry in recipe.ingredients
    )
    return replace(recipe, batch_g=recipe.batch_g * by, ingredients=tuple(entries))


def without(recipe: Recipe, key: str) -> Recipe:
    """Return the recipe without an ingredient, and without what binds it to others.

    Raises
    ------
    InputError
        If the recipe has no such ingredient.
    """
    rest = tuple(entry for entry in recipe.ingredients if entry.key != key)
    if len(rest) == len(recipe.ingredients):
        raise _no_such_ingredient(recipe, key)
    groups = tuple(
        replace(group, keys=tuple(member for member in group.keys if member != key))
        for group in recipe.groups
        if group.keys != (key,)
    )
    return replace(
        recipe,
        ingredients=rest,
        ratios=tuple(ratio for ratio in recipe.ratios if key not in (ratio.of, ratio.to)),
        groups=groups,
    )


def _no_such_ingredient(recipe: Recipe, key: str) -> InputError:
    known = ", ".join(entry.key for entry in recipe.ingredients)
    return InputError(key, "is not in the recipe", f"It has: {known}.")
