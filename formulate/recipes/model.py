"""What a recipe is: what is weighed, what the mix must be, how it is served, what must hold together.

Each part checks itself when it is made, however it is made; what is wrong is one
:class:`formulate.errors.InputError` with the field, its value and what is allowed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from formulate.checks import MOST, keep_all, positive_number, word
from formulate.errors import InputError, nearest
from formulate.frozen import FrozenMapping
from formulate.recipes.ingredient import RecipeIngredient
from formulate.recipes.rules import Balance, Counts, Exclude, Group, Ratio, Scale
from formulate.recipes.serving import Range, Serving
from formulate.recipes.targets import check_target

__all__ = ["Recipe", "scaled", "without"]

_SMALLEST_BATCH_G = 1.0


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe.

    Attributes
    ----------
    name, batch_g:
        Of 1 to 200 letters; the finished mix that is wanted [g], from 1.
    ingredients:
        At least one, each key once.
    targets:
        By the keys of :func:`formulate.recipes.target_keys`; read-only.
    serving:
        ``None`` where none is given: then nothing is asked of the frozen water, and the serving
        temperature is still predicted with the default window.
    scale, ratios, groups, counts, exclude, balance:
        Steps of the scale, what must hold together, what may not be proposed, how the mix is chosen.
    style:
        Name of a style that fills in what the recipe does not say, "" for none.

    Raises
    ------
    InputError
        If a part is not of its kind, there is no ingredient or one twice, or a target, ratio or group
        names what is not known.

    Examples
    --------
    >>> pear = RecipeIngredient("pear", grams=600)
    >>> Recipe("Pear", 600, (pear,), {"sugars": Range(max=27)}).targets["sugars"].max
    27.0
    """

    name: str
    batch_g: float
    ingredients: tuple[RecipeIngredient, ...]
    targets: Mapping[str, Range] = field(default_factory=FrozenMapping)
    serving: Serving | None = None
    scale: Scale = field(default_factory=Scale)
    ratios: tuple[Ratio, ...] = ()
    groups: tuple[Group, ...] = ()
    counts: Counts = field(default_factory=Counts)
    exclude: Exclude = field(default_factory=Exclude)
    balance: Balance = field(default_factory=Balance)
    style: str = ""

    def __post_init__(self) -> None:
        """Check every part, and all together."""
        word(self.name, "recipe, name")
        batch = positive_number(self.batch_g, "recipe, batch_g")
        if batch < _SMALLEST_BATCH_G:
            problem = f"is {batch:g}, and must be at least {_SMALLEST_BATCH_G:g} g"
            remedy, allowed = (
                "Give the finished mix in grams, like 2000.",
                (_SMALLEST_BATCH_G, MOST),
            )
            place, name = "recipe, batch_g", "batch_g"
            raise InputError(place, problem, remedy, field=name, value=batch, allowed=allowed)
        object.__setattr__(self, "batch_g", batch)
        keep_all(self, "ingredients", RecipeIngredient, "recipe")
        keep_all(self, "ratios", Ratio, "recipe")
        keep_all(self, "groups", Group, "recipe")
        for name, kind in _KINDS:
            if not isinstance(getattr(self, name), kind) and (name, self.serving) != _UNSAID:
                problem, value = f"is not a {kind.__name__}", getattr(self, name)
                remedy = f"Give {kind.__name__}(…)."
                raise InputError(f"recipe, {name}", problem, remedy, field=name, value=value)
        self._check_keys()
        if not isinstance(self.targets, Mapping):
            problem, remedy = "must be a table", 'Give { "sugars": Range(max=27) }.'
            place, value = "recipe, target", self.targets
            raise InputError(place, problem, remedy, field="target", value=value)
        for key, bounds in self.targets.items():
            check_target(key, bounds, "recipe, target")
        if type(self.targets) is not FrozenMapping:
            object.__setattr__(self, "targets", FrozenMapping(self.targets))
        if self.style:
            word(self.style, "recipe, style")

    @property
    def is_weighed(self) -> bool:
        """Whether every present weight is known, and something is weighed."""
        weights = [entry.grams for entry in self.ingredients]
        return None not in weights and any(weights)

    def _check_keys(self) -> None:
        """Each ingredient once, and no other in ratios and groups."""
        if not self.ingredients:
            problem, remedy = "has no ingredients", "Add an [[ingredient]] table for each."
            raise InputError("recipe", problem, remedy, field="ingredient", value=())
        keys = [entry.key for entry in self.ingredients]
        _once(keys, "ingredient", "Make it one entry.")
        for count, ratio in enumerate(self.ratios, start=1):
            for name, key in (("of", ratio.of), ("to", ratio.to)):
                _member(key, keys, f"recipe, ratio {count}, {name}")
        _once([ratio.key for ratio in self.ratios], "ratio", "Make it one.")
        for count, group in enumerate(self.groups, start=1):
            for key in group.keys:
                _member(key, keys, f"recipe, group {count}, keys")
        _once([group.name for group in self.groups], "group", "Give another name.")

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

    def with_balance(self, margin: float | None = None, objective: str | None = None) -> Recipe:
        """Return the recipe whose mix is chosen otherwise.

        Parameters
        ----------
        margin:
            Standard deviations to keep inside every uncertain range, 0 to 10.
        objective:
            One of :data:`formulate.recipes.OBJECTIVES`.

        ``None`` keeps what the recipe says.

        Returns
        -------
        Recipe

        Raises
        ------
        InputError
            If the margin is out of its range, or the objective unknown.

        Examples
        --------
        >>> recipe = Recipe("Sorbet", 300.0, (RecipeIngredient("damson"),))
        >>> recipe.with_balance(margin=0.5).balance
        Balance(margin=0.5, objective=None)
        """
        said = self.balance
        if margin is not None:
            said = replace(said, margin=margin)
        if objective is not None:
            said = replace(said, objective=objective)
        return replace(self, balance=said)

    def _with_entry(self, key: str, **fields: Any) -> Recipe:
        if key not in [entry.key for entry in self.ingredients]:
            raise _no_such_ingredient(self, key)
        entries = tuple(
            replace(entry, **fields) if entry.key == key else entry for entry in self.ingredients
        )
        return replace(self, ingredients=entries)


_KINDS = (
    ("serving", Serving),
    ("scale", Scale),
    ("counts", Counts),
    ("exclude", Exclude),
    ("balance", Balance),
)
_UNSAID = ("serving", None)


def _once(words: list[str], what: str, remedy: str) -> None:
    """Refuse a word that is there twice, by its place."""
    if len(set(words)) == len(words):
        return
    at = next(at for at, each in enumerate(words) if each in words[:at])
    place, problem = f"recipe, {what} {at + 1} ({words[at]})", "is given twice"
    raise InputError(place, problem, remedy, field=what, value=words[at])


def _member(key: str, keys: list[str], place: str) -> None:
    if key not in keys:
        hint = nearest(key, keys) or f"Ingredients here: {', '.join(keys)}."
        problem, field = f'"{key}" is not an ingredient of this recipe', place.rpartition(", ")[2]
        raise InputError(place, problem, hint, field=field, value=key, allowed=tuple(keys))


def scaled(recipe: Recipe, by: float) -> Recipe:
    """Return a recipe of a larger or smaller batch: weights and limits grow with it, to 0.001 g.

    Parameters
    ----------
    recipe:
        The recipe.
    by:
        How many times as much, above 0.

    Returns
    -------
    Recipe

    Examples
    --------
    >>> import formulate as fm
    >>> twice = scaled(fm.load("damson_sorbet"), 2.0)
    >>> twice.batch_g, twice.ingredients[0].grams
    (4000.0, 2000.0)
    """

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

    Parameters
    ----------
    recipe:
        The recipe.
    key:
        Key of the ingredient.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If the recipe has no such ingredient.

    Examples
    --------
    >>> import formulate as fm
    >>> len(without(fm.load("damson_sorbet"), "water").ingredients)
    5
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
    keys = tuple(entry.key for entry in recipe.ingredients)
    problem, remedy = "is not in the recipe", f"It has: {', '.join(keys)}."
    return InputError(key, problem, remedy, field="key", value=key, allowed=keys)
