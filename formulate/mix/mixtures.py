"""A recipe met with the tables: the composition of each thing that is weighed, and its limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.ingredients import (
    at_20_c,
    ingredient_table,
    own_composition,
    position,
    reading_at_20_c,
    with_lot,
    with_reading,
)
from formulate.mix.limits import Crossing, bought, crossings, limits_of, start_of
from formulate.recipes import (
    COST_KEY,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    Prepared,
    Recipe,
    RecipeIngredient,
    mass_of,
    prepare,
    with_style,
)

__all__ = [
    "COST_KEY",
    "CROSSED",
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


#: What the key of a row begins with that says what straining leaves of a liquid.
LEFT = "left of "

#: What the key of a row begins with that cannot hold: limits of an ingredient contradict each other.
CROSSED = "limits of "

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

_NEAR = 0.001  # of the batch
_SAME_G = 1e-9  # of the batch: weights that add up to it


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
        Limits of each weight at the scale [g]; stock and fixed weights included.  Nowhere is the lower
        above the upper: where the recipe asks for that, see ``crossings``.
    before:
        Present weights as they are written [g], ``None`` where the recipe does not say: such a weight is
        unknown, which is not 0.
    start:
        What change is counted from [g], shape (ingredients,), or ``None`` where no weight is known: the
        weights as written, and if all are known, scaled but for those that are fixed so that they make
        the batch.  Where a weight is not ``known``, its start is 0 and means nothing: what is found for
        it is no change, and must cost none.
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
    before: tuple[float | None, ...]
    start: Array | None
    prices: Array | None

    @cached_property
    def known(self) -> NDArray[np.bool_]:
        """Which present weights are known, shape (ingredients,)."""
        return np.array([grams is not None for grams in self.before], dtype=bool)

    @cached_property
    def present(self) -> Array | None:
        """Present weights that make the batch [g], ``None`` unless every one is known."""
        return self.start if self.known.all() else None

    @cached_property
    def scaled_from(self) -> float | None:
        """What the written weights add up to in the mix [g], ``None`` unless they had to be scaled."""
        if self.present is None:
            return None
        written = np.array(self.before, dtype=float)
        moved = float(np.abs(self.present - written).max(initial=0.0))
        return None if moved <= _SAME_G * self.recipe.batch_g else float(self.reach @ written)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """Limits of one ingredient that contradict each other."""
        return crossings(self.recipe.ingredients, self.buys)

    @cached_property
    def buys(self) -> Array:
        """Grams to buy per gram at the scale, shape (ingredients,); 1 where nothing is trimmed."""
        return bought(self.prepared)

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Keys of the ingredients, in the order of the recipe."""
        return tuple(entry.key for entry in self.recipe.ingredients)


def mixture(recipe: Recipe) -> Mixture:
    """Return the recipe, its style filled in, met with the tables.

    Parameters
    ----------
    recipe:
        The recipe.

    Returns
    -------
    Mixture

    Raises
    ------
    InputError
        If an ingredient or target is unknown, or a composition or reading cannot be.

    Examples
    --------
    >>> import formulate as fm
    >>> mixture(fm.load("damson_sorbet")).compositions.shape
    (6, 43)
    """
    recipe = with_style(recipe)
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
    lower, upper = limits_of(entries, recipe.batch_g, reach, bought(prepared))
    prices = [entry.price_per_kg for entry in entries]
    if COST_KEY in recipe.targets and None in prices:
        missing = next(entry.key for entry in entries if entry.price_per_kg is None)
        raise InputError(
            f"target, {COST_KEY}",
            f"needs every price, and {missing} has none",
            "Give price_per_kg.",
            field=COST_KEY,
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
        lower=lower,
        upper=upper,
        before=tuple(entry.grams for entry in entries),
        start=start_of(entries, recipe.batch_g, reach, _near_g(recipe)),
        prices=None if None in prices else np.array(prices, dtype=float) * bought(prepared),
    )


def _near_g(recipe: Recipe) -> float:
    """By how much weights on a scale may miss the batch [g]: half a step, if that is little."""
    return min(0.5 * recipe.scale.step_g, _NEAR * recipe.batch_g)


@dataclass(frozen=True)
class _Known:
    """What the tables know of an ingredient: name, rank of use, kind, edible share, composition."""

    name: str
    usual: int
    kind: str
    edible_percent: float | None
    composition: Array


def _known(entry: RecipeIngredient) -> _Known:
    try:
        return _looked_up(entry, f"ingredient {entry.key}")
    except InputError as error:
        raise error.about(entry.key) from None


def _looked_up(entry: RecipeIngredient, place: str) -> _Known:
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
        try:
            row = with_reading(found.composition, brix, f"{place}, brix")
        except InputError as error:
            raise error.about(entry.key, "brix") from None
        found = replace(found, composition=row)
    return found


def reading_of(entry: RecipeIngredient) -> float | None:
    """Return the reading of an ingredient or its lot at 20 °C [°Bx], ``None`` without one.

    Parameters
    ----------
    entry:
        The ingredient of a recipe.

    Returns
    -------
    float or None

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> reading_of(RecipeIngredient("damson", brix=12.5)), reading_of(RecipeIngredient("damson"))
    (12.5, None)
    """
    if entry.brix is not None:
        place = f"ingredient {entry.key}, brix"
        return at_20_c(entry.brix, entry.brix_temperature_c, place)
    return None if entry.lot is None else reading_at_20_c(entry.lot)


def prepared_row(mix: Mixture, index: int, composition: Array) -> Array:
    """Return what 100 g of an ingredient bring into the mix if its composition before steps is this.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    index:
        Of the ingredient.
    composition:
        g per 100 g, shape (columns,), as :attr:`Mixture.raw`.

    Returns
    -------
    ndarray
        g per 100 g at the scale, shape (columns,).

    Examples
    --------
    >>> import formulate as fm
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> bool((prepared_row(mix, 0, mix.raw[0]) == mix.compositions[0]).all())
    True
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
