"""Really different mixes, as a cook would name them: other sugars, more fruit, without egg, lighter.

Each way is the recipe told anew, from the balanced weights on, and balanced as every recipe is; it counts
if it meets what was asked, stays within the usual and weighs differently from the balanced mix and from
those before it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from formulate.answers.balancing import balance
from formulate.answers.proposals import may_be_added
from formulate.answers.result import Result
from formulate.answers.warnings import warnings_of
from formulate.errors import InputError
from formulate.ingredients import ingredient_table
from formulate.messages import Message, message
from formulate.mix import Assessment
from formulate.recipes import Range, Recipe, RecipeIngredient, group_of, role_of, without
from formulate.solver import role

__all__ = ["Different", "different_mixes"]

_MOST = 50
_SWEETS = ("invert_syrup", "trehalose", "glucose_powder_de30", "dextrose_monohydrate", "fructose")
_MORE = 1.2  # of what gives the dessert its name; common practice, no source
_NOTICED = 1.1  # of it, at least
_LEANER = 0.4  # of a range: how far up a lighter mix may lie
_LESS = 0.97  # of a value: what is lighter at all
_APART_G = 10.0  # per kg: what is another mix to weigh
_KEPT_SUGAR = "sucrose"
_LEAST_SUGAR = 0.01  # of the mix: less of a new sugar is none
_GUM, _GUM_SHARE = "locust_bean_gum", 0.0015  # of the mix, in place of what yolk binds
_REFUSED = frozenset({"above_usual", "blend_broken", "character_changed", "dropped"})


@dataclass(frozen=True, slots=True)
class Different:
    """A really different mix.

    Attributes
    ----------
    way:
        In which way it differs: ``other_sugar``, ``more_character``, ``without_egg``, ``less_fat``,
        ``less_sweet`` or ``left_out``.
    recipe:
        The recipe that it is a mix of, with its weights.
    mix:
        The mix.
    """

    way: Message
    recipe: Recipe
    mix: Assessment

    @property
    def used(self) -> tuple[str, ...]:
        """Names of what is in it."""
        return tuple(weight.name for weight in self.mix.weights if weight.grams > 0.0)


def different_mixes(recipe: Recipe, count: int) -> tuple[Different, ...]:
    """Return up to ``count`` really different mixes, those first that a cook would think of first.

    Parameters
    ----------
    recipe:
        What is asked.
    count:
        How many at most, 1 to 50.

    Returns
    -------
    tuple of Different
        Empty if no mix meets the targets, or no other does within the usual.

    Raises
    ------
    InputError
        If the count is not from 1 to 50.

    Examples
    --------
    >>> from formulate.data import example_bytes
    >>> from formulate.recipes import parse
    >>> damson = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    >>> [each.way.code for each in different_mixes(damson, 2)]
    ['other_sugar', 'more_character']
    """
    if not 1 <= count <= _MOST:
        raise InputError("count", f"is {count}, and must be from 1 to {_MOST}", "Try 3.")
    plain = balance(recipe)
    if plain.status != "balanced":
        return ()
    found: list[Different] = []
    others = [_grams(plain.mix)]
    for way in _WAYS:
        for each in _surest(way(plain)):
            weights = _grams(each.mix)
            if len(found) < count and all(_apart(weights, other) for other in others):
                found.append(each)
                others.append(weights)
    return tuple(found)


def _surest(tried: Iterator[tuple[Message, Recipe]]) -> tuple[Different, ...]:
    """Of what differs in one way, the mix that holds most surely; of new sugars, the most usual one."""
    table, found = ingredient_table(), list[tuple[float, float, Different]]()
    for way, recipe in tried:
        result = balance(recipe)
        if result.status != "balanced" or _REFUSED & {each.code for each in warnings_of(result)}:
            continue
        grams, rare = _grams(result.mix), 0.0
        if way.code == "other_sugar":
            key = way.fields["key"]
            rare = table[key].usual
            if (grams[key] or 0.0) < _LEAST_SUGAR * recipe.batch_g:
                continue
        different = Different(way, recipe.with_weights(grams), result.mix)
        found.append((rare, -result.chance.all_targets, different))
    return tuple(each for *_, each in sorted(found, key=lambda entry: entry[:2])[:1])


def _other_sugar(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    """One sugar in place of another; sucrose stays."""
    present, table = _present(plain), ingredient_table()
    there = {group_of(*each) for each in zip(plain.mixture.keys, plain.mixture.kinds, strict=True)}
    for entry in _free(plain, "sweetener"):
        if entry.key == _KEPT_SUGAR or not entry.grams:
            continue
        for key in _SWEETS:
            again = group_of(key, table[key].kind) in there
            if again or not may_be_added(plain.mixture, table[key]):
                continue
            rest = without(present, entry.key)
            new = RecipeIngredient(key, grams=entry.grams, price_per_kg=entry.price_per_kg)
            names = {"name": table[key].name, "other": _name(plain, entry.key)}
            way = message("other_sugar", key=key, **names)
            yield way, replace(rest, ingredients=(*rest.ingredients, new))


def _more_character(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    """More of what gives the dessert its name, in place of what fills it up."""
    present = _present(plain)
    named = [entry for entry in _free(plain, "character", limited=True) if entry.grams]
    more = {
        entry.key: min(_MORE * (entry.grams or 0.0), entry.max_g or float("inf")) for entry in named
    }
    if not named or any(more[e.key] < _NOTICED * (e.grams or 0.0) for e in named):
        return
    grown = replace(
        present,
        ingredients=tuple(
            replace(entry, grams=more[entry.key], min_g=more[entry.key])
            if entry.key in more
            else entry
            for entry in present.ingredients
        ),
    )
    names = tuple(_name(plain, entry.key) for entry in named)
    yield message("more_character", names=names), grown


def _without_egg(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    """No egg; a gum binds in its place where there is none."""
    recipe, mix = _present(plain), plain.mixture
    eggs = [key for index, key in enumerate(mix.keys) if role(mix, index) == "egg"]
    if not eggs or len(eggs) == len(mix.keys):
        return
    for key in eggs:
        recipe = without(recipe, key)
    gums = any(role(mix, index) == "texture" for index in range(len(mix.keys)))
    if not gums and may_be_added(mix, ingredient_table()[_GUM]):
        gum = RecipeIngredient(_GUM, grams=_GUM_SHARE * recipe.batch_g)
        recipe = replace(recipe, ingredients=(*recipe.ingredients, gum))
    yield message("without_egg"), recipe


def _less_fat(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    yield from _lower(plain, ("fat", "milk_fat"), "less_fat")


def _less_sweet(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    yield from _lower(plain, ("sweetness",), "less_sweet")


def _lower(plain: Result, keys: tuple[str, ...], code: str) -> Iterator[tuple[Message, Recipe]]:
    """The lower part of what is asked of a property, where the mix lies above it."""
    recipe = _present(plain)
    values = {target.key: target.value for target in plain.mix.targets}
    for key in keys:
        asked = recipe.targets.get(key)
        if asked is None or asked.min is None or asked.max is None or asked.is_exact:
            continue
        most = asked.min + _LEANER * (asked.max - asked.min)
        if most <= _LESS * values[key]:
            targets = {**recipe.targets, key: Range(asked.min, most)}
            yield message(code, value=values[key], limit=most), replace(recipe, targets=targets)


def _left_out(plain: Result) -> Iterator[tuple[Message, Recipe]]:
    """One sugar, gum or the like fewer to weigh."""
    entries = plain.mixture.recipe.ingredients
    drawn_in = {step.get("in") for entry in entries for step in entry.steps}
    for wanted in ("sweetener", "texture", "dairy"):
        for entry in _free(plain, wanted):
            if entry.grams and entry.key not in drawn_in and len(entries) > 1:
                way = message("left_out", key=entry.key, name=_name(plain, entry.key))
                yield way, without(_present(plain), entry.key)


#: In the order in which a cook would think of them.
_WAYS: tuple[Callable[[Result], Iterator[tuple[Message, Recipe]]], ...] = (
    _other_sugar,
    _more_character,
    _without_egg,
    _less_fat,
    _less_sweet,
    _left_out,
)


def _present(plain: Result) -> Recipe:
    """The recipe as it is balanced."""
    return plain.mixture.recipe.with_weights(_grams(plain.mix))


def _free(plain: Result, wanted: str, limited: bool = False) -> tuple[RecipeIngredient, ...]:
    """Ingredients of a role that a cook has not fixed, nor limited unless that is allowed."""
    return tuple(
        entry
        for entry in _present(plain).ingredients
        if not entry.fixed
        and (limited or (entry.min_g, entry.max_g) == (None, None))
        and wanted == role_of(entry.role, entry.key, _kind(plain, entry.key), entry.composition)
    )


def _kind(plain: Result, key: str) -> str:
    return plain.mixture.kinds[plain.mixture.keys.index(key)]


def _name(plain: Result, key: str) -> str:
    return plain.mixture.names[plain.mixture.keys.index(key)]


def _grams(mix: Assessment) -> dict[str, float | None]:
    return {weight.key: weight.grams for weight in mix.weights}


def _apart(one: dict[str, float | None], other: dict[str, float | None]) -> bool:
    """Whether two mixes weigh differently."""
    moved = sum(abs((one.get(k) or 0.0) - (other.get(k) or 0.0)) for k in one.keys() | other.keys())
    return 0.5 * moved >= _APART_G / 1000.0 * sum(grams or 0.0 for grams in other.values())
