"""What a cook prefers of the mixes that would do: what is moved first, and what is usual.

A change of a known weight counts relative to it, divided by how readily its role is moved
(``willingness.csv``).  A weight that nobody has given starts at what kitchens usually take
(``typical.csv``), and its distance from that counts in widths of the usual span.  Gums of a blend keep
their ratio, and nothing rises beyond what is usual of it (``usual_use.csv``).  What is tasted first
stays nearly as it is; where that or the usual cannot be, it is left as little as can be.
"""

from __future__ import annotations

from itertools import pairwise
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import position
from formulate.mix import Mixture, Programme, Row
from formulate.recipes import (
    RecipeIngredient,
    UsualShare,
    role_of,
    usual_shares,
    usual_use,
    willingness,
)
from formulate.solver.objectives import SMALLEST_BASE, Objective, best, is_possible

__all__ = [
    "as_near_as_can_be",
    "as_usual",
    "blended",
    "gums",
    "objective_of",
    "of_its_name",
    "role",
    "usual_most",
    "within_usual",
]

_BLEND = "blend of "
_FILL = "fill"
_GUM, _MOSTLY = position("stabiliser"), 0.2  # of a gum, or a blend of gums with sugar
_ARITHMETIC = 1e-9  # of the batch
_SMALLEST_WIDTH = 5e-4  # of the batch
_BULK = 20.0  # % of a mix: what may take the rest of it; common practice, no source
_LEAST_SIZE = 1e-3  # of the batch: what going beyond a limit is at least relative to
_WORSE = 10.0  # beyond the usual, to a change of what gives the dessert its name
_SMALL_REACH = 0.3  # g/g: of what is strained out next to nothing reaches the mix


#: What a margin may move of what is tasted first, by role [of its weight]; common practice, no source.
_STAYS = MappingProxyType({"character": 0.05, "acid": 0.25, "seasoning": 0.25})


def objective_of(mix: Mixture, programme: Programme) -> Objective:
    """Return what is made least of all mixes that keep the same margin.

    The change from the known weights; where none is known, or the recipe says so, the distance from
    what is usual; or the cost.

    Parameters
    ----------
    mix, programme:
        The recipe met with the tables, and its programme.

    Returns
    -------
    Objective

    Raises
    ------
    InputError
        If it is the cost, and a price is missing.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> round(objective_of(mix, programme(mix)).of(mix.start), 6)
    0.0
    """
    nothing, asked = np.zeros(len(mix.keys)), mix.recipe.balance.objective
    if asked == "cost":
        if mix.prices is None:
            raise _no_price(mix)
        return Objective(nothing, nothing, mix.prices / max(float(mix.prices.max()), 1e-9))
    known = mix.known if asked != "typical" else np.zeros(len(mix.keys), dtype=bool)
    start = nothing if mix.start is None else mix.start
    base = np.maximum(start, SMALLEST_BASE * programme.batch_g)
    change = _reluctance(mix) / base
    if not known.all():
        usual, widths = _usual(mix, known, start)
        start = np.where(known, start, usual)
        change = np.where(known, change, 1.0 / widths)
    return Objective(start, change, nothing)


def _no_price(mix: Mixture) -> InputError:
    missing = next(e.key for e in mix.recipe.ingredients if e.price_per_kg is None)
    problem, remedy = f"cost needs every price, and {missing} has none", "Give price_per_kg."
    return InputError("balance, objective", problem, remedy, field="objective", value="cost")


def within_usual(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme in which no ingredient rises beyond what is usual of it.

    Where a recipe gives a ``max_g``, it is the cook who knows; what it has already may stay.  A weight
    that nobody has given is not below what is usual either, if it gives the dessert its name.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Its programme.

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> bool((within_usual(mix, rows).upper <= rows.upper).all())
    True
    """
    most = usual_most(mix)
    start = np.zeros(len(mix.keys)) if mix.start is None else np.where(mix.known, mix.start, 0.0)
    given = np.array([entry.max_g is not None for entry in mix.recipe.ingredients])
    upper = np.where(given, programme.upper, np.minimum(programme.upper, np.maximum(most, start)))
    lower = np.maximum(programme.lower, np.minimum(_usual_least(mix), upper))
    if np.array_equal(upper, programme.upper) and np.array_equal(lower, programme.lower):
        return programme
    return programme.with_limits(lower, np.maximum(upper, lower))


def as_usual(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme within the usual, or as little beyond it as can be.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Its programme.

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> bool((as_usual(mix, rows).upper <= rows.upper).all())
    True
    """
    usual = within_usual(mix, programme)
    if usual is programme or is_possible(usual):
        return usual
    return as_near_as_can_be(mix, programme, usual) or programme


def of_its_name(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme in which what is tasted first stays, but for a little.

    A twentieth of what gives the dessert its name, a quarter of what sours or seasons it.  A cook who
    gives limits has said how far it may move.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Its programme.

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> bool((of_its_name(mix, rows).lower >= rows.lower).all())
    True
    """
    if mix.start is None or mix.recipe.balance.objective not in (None, "change"):
        return programme
    lower, upper = programme.lower.copy(), programme.upper.copy()
    for at, (entry, start) in enumerate(zip(mix.recipe.ingredients, mix.start, strict=True)):
        free = (entry.fixed, entry.min_g, entry.max_g) == (False, None, None)
        part = _STAYS.get(role(mix, at), 0.0) if entry.grams and free else 0.0
        if part:
            lower[at] = np.clip((1.0 - part) * start, lower[at], upper[at])
            upper[at] = np.clip((1.0 + part) * start, lower[at], upper[at])
    if np.array_equal(lower, programme.lower) and np.array_equal(upper, programme.upper):
        return programme
    return programme.with_limits(lower, upper)


def as_near_as_can_be(mix: Mixture, wide: Programme, wished: Programme) -> Programme | None:
    """Return a programme with the limits that are wished, but for what its rows ask beyond them.

    The sum of what is beyond, relative to the limits, is made least; so a limit that cannot hold opens
    no other.  A step of the scale is added to what had to give, for rounding.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    wide, wished:
        The same mix with wider and with narrower limits.

    Returns
    -------
    ``None`` if not even the wide limits can hold.
    """
    count, batch = len(wide.keys), wide.batch_g
    sides = [(at, -1.0) for at in np.flatnonzero(wished.upper < wide.upper)]
    sides += [(at, 1.0) for at in np.flatnonzero(wished.lower > wide.lower)]
    keys = tuple(f"beyond_{number}" for number in range(len(sides)))
    freed = wide.with_columns(keys, np.full(len(sides), np.inf))
    rows, cost = list(freed.rows), np.zeros(count + len(sides))
    most = usual_most(mix)
    for number, (at, sign) in enumerate(sides):
        bound = float(wished.upper[at] if sign < 0.0 else wished.lower[at])
        coefficients = np.zeros(count + len(sides))
        coefficients[at], coefficients[count + number] = sign, 1.0
        rows.append(Row(keys[number], "min", coefficients, sign * bound, np.inf, batch))
        grave = _WORSE if sign < 0.0 and bound >= most[at] else 1.0
        cost[count + number] = grave / max(bound, _LEAST_SIZE * batch)
    nothing = np.zeros(len(cost))
    found = best(freed.only(tuple(rows)), Objective(nothing, nothing, cost))
    if found is None:
        return None
    weights, room = found.weights[:count], mix.recipe.scale.step_g
    over = weights > wished.upper + _ARITHMETIC * batch
    under = weights < wished.lower - _ARITHMETIC * batch
    return wide.with_limits(
        np.where(under, np.maximum(weights - room, wide.lower), wished.lower),
        np.where(over, np.minimum(weights + room, wide.upper), wished.upper),
    )


def blended(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme in which the gums of a recipe keep their ratio.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Its programme.

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> len(blended(mix, rows).rows) >= len(rows.rows)
    True
    """
    if mix.start is None:
        return programme
    entries = mix.recipe.ingredients
    free = [at for at in gums(mix) if (entries[at].min_g, entries[at].max_g) == (None, None)]
    rows = []
    for one, other in pairwise(free):
        coefficients = np.zeros(len(mix.keys))
        coefficients[one], coefficients[other] = mix.start[other], -mix.start[one]
        coefficients /= float(np.abs(coefficients).max())
        key = f"{_BLEND}{mix.keys[one]} and {mix.keys[other]}"
        rows.append(Row(key, "exact", coefficients, 0.0, 0.0, 0.01 * programme.batch_g))
    return programme.only((*programme.rows, *rows)) if rows else programme


def gums(mix: Mixture) -> tuple[int, ...]:
    """Return which ingredients make up the gums of a recipe, as it stands: weighed and not fixed.

    Parameters
    ----------
    mix:
        The recipe met with the tables.

    Returns
    -------
    tuple of int

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> gums(mix)
    (4,)
    """
    return tuple(
        index
        for index, entry in enumerate(mix.recipe.ingredients)
        if entry.grams
        and not entry.fixed
        and role(mix, index) == "texture"
        and mix.compositions[index, _GUM] >= _MOSTLY * 100.0
    )


def role(mix: Mixture, index: int) -> str:
    """Return the role of an ingredient of a mix.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    index:
        Of the ingredient.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> [role(mix, index) for index in range(len(mix.keys))]
    ['character', 'sweetener', 'sweetener', 'sweetener', 'texture', 'liquid']
    """
    entry = mix.recipe.ingredients[index]
    return role_of(entry.role, entry.key, mix.kinds[index], entry.composition)


def usual_most(mix: Mixture) -> Array:
    """Return the most that is usual of each ingredient, at the scale [g], shape (ingredients,).

    Parameters
    ----------
    mix:
        The recipe met with the tables.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> usual_most(mix).shape
    (6,)
    """
    found = []
    for entry, kind, reach in zip(mix.recipe.ingredients, mix.kinds, mix.reach, strict=True):
        use = usual_use(entry.key, kind, mix.recipe.style, _infused(entry))
        share = np.inf if use.most >= 100.0 else use.most / 100.0
        found.append(share * mix.recipe.batch_g / _counted_reach(float(reach)))
    return np.array(found)


def _usual_least(mix: Mixture) -> Array:
    """The least that is usual of what gives the dessert its name and has no weight yet [g]."""
    found = np.zeros(len(mix.keys))
    if mix.recipe.style is None or mix.recipe.balance.objective == "cost":
        return found
    shares = _shares(mix)
    for index, (share, entry) in enumerate(zip(shares, mix.recipe.ingredients, strict=True)):
        if share.part == "main" and entry.grams is None and entry.min_g is None:
            least = share.low / 100.0
            found[index] = least * mix.recipe.batch_g / _counted_reach(float(mix.reach[index]))
    return found


def _usual(mix: Mixture, known: NDArray[np.bool_], start: Array) -> tuple[Array, Array]:
    """What is usual of each weight that is not known, and half of the usual span, at the scale [g].

    What fills a mix up takes the rest of the batch; where nothing does, all of them share it.
    """
    batch = mix.recipe.batch_g
    shares = _shares(mix)
    per_reach = batch / np.array([_counted_reach(float(reach)) for reach in mix.reach])
    middle = np.array([share.typical / 100.0 for share in shares]) * per_reach
    half = np.array([(share.high - share.low) / 200.0 for share in shares]) * per_reach
    widths = np.maximum(half, _SMALLEST_WIDTH * batch)
    fill = _fills(mix, shares) & ~known
    there = float(mix.reach @ np.where(known, start, np.where(fill, 0.0, middle)))
    left = batch - there
    if fill.any() and left > 0.0:
        total = float(middle[fill] @ mix.reach[fill])
        middle[fill] *= left / total if total > 0.0 else 0.0
    else:
        free = ~known
        wanted, total = (
            batch - float(mix.reach[known] @ start[known]),
            float(mix.reach[free] @ middle[free]),
        )
        if wanted > 0.0 and total > 0.0:
            middle[free] *= wanted / total
    return middle, widths


def _fills(mix: Mixture, shares: tuple[UsualShare, ...]) -> NDArray[np.bool_]:
    """What takes the rest of a mix: as the style says, else water, else milk and the like."""
    roles = np.array([role(mix, index) for index in range(len(mix.keys))])
    bulk = np.array([share.typical >= _BULK for share in shares])
    in_turn = (
        np.array([share.part == _FILL for share in shares]),
        roles == "liquid",
        (roles == "dairy") & bulk,
    )
    return next((found for found in in_turn if found.any()), in_turn[0])


def _shares(mix: Mixture) -> tuple[UsualShare, ...]:
    """Usual shares of ingredients that are used together: of two fruits each has half."""
    return usual_shares(mix.recipe.style, tuple(zip(mix.keys, mix.kinds, strict=True)))


def _reluctance(mix: Mixture) -> Array:
    """What moving each ingredient costs, milk and cream being 1, shape (ingredients,)."""
    return np.array([1.0 / willingness(role(mix, index)) for index in range(len(mix.keys))])


def _infused(entry: RecipeIngredient) -> bool:
    return any(step.do == "infuse" for step in entry.steps)


def _counted_reach(reach: float) -> float:
    """What a usual share is taken of: what reaches the mix, or the weight if that is strained out."""
    return reach if reach >= _SMALL_REACH else 1.0
