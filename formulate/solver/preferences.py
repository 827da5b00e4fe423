"""What a cook prefers of the mixes that would do: what is moved first, and what is usual.

A change of a known weight counts relative to it, divided by how readily its role is moved
(``willingness.csv``).  A weight that nobody has given starts at what kitchens usually take
(``typical.csv``), and its distance from that counts in widths of the usual span.  Gums of a blend keep
their ratio, and nothing rises beyond what is usual of it (``usual_use.csv``).
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.mix import Mixture, Programme, Row
from formulate.recipes import (
    RecipeIngredient,
    UsualShare,
    role_of,
    usual_share,
    usual_use,
    willingness,
)
from formulate.solver.objectives import SMALLEST_BASE, Objective

__all__ = ["blended", "objective_of", "role", "usual_most", "within_usual"]

_BLEND = "blend of "
_FILL = "fill"
_SMALLEST_WIDTH = 5e-4  # of the batch
_SMALL_REACH = 0.3  # g/g: of what is strained out next to nothing reaches the mix


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
    Objective or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> round(objective_of(mix, programme(mix)).of(mix.start), 6)
    0.0
    """
    nothing, asked = np.zeros(len(mix.keys)), mix.recipe.balance.objective
    if asked == "cost" and mix.prices is not None:
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


def blended(mix: Mixture, programme: Programme) -> Programme:
    """Return the programme in which the gums and the like of a recipe keep their ratio."""
    if mix.start is None:
        return programme
    free = [
        index
        for index, entry in enumerate(mix.recipe.ingredients)
        if entry.grams
        and (entry.fixed, entry.min_g, entry.max_g) == (False, None, None)
        and role(mix, index) == "texture"
    ]
    rows = []
    for one, other in pairwise(free):
        coefficients = np.zeros(len(mix.keys))
        coefficients[one], coefficients[other] = mix.start[other], -mix.start[one]
        coefficients /= float(np.abs(coefficients).max())
        key = f"{_BLEND}{mix.keys[one]} and {mix.keys[other]}"
        rows.append(Row(key, "exact", coefficients, 0.0, 0.0, 0.01 * programme.batch_g))
    return programme.only((*programme.rows, *rows)) if rows else programme


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
    alike = Counter(share.of for share in shares)
    for index, (share, entry) in enumerate(zip(shares, mix.recipe.ingredients, strict=True)):
        if share.part == "main" and entry.grams is None and entry.min_g is None:
            least = share.low / alike[share.of] / 100.0
            found[index] = least * mix.recipe.batch_g / _counted_reach(float(mix.reach[index]))
    return found


def _usual(mix: Mixture, known: NDArray[np.bool_], start: Array) -> tuple[Array, Array]:
    """What is usual of each weight that is not known, and half of the usual span, at the scale [g].

    What fills a mix up takes the rest of the batch; where nothing does, all of them share it.
    """
    batch = mix.recipe.batch_g
    shares = _shares(mix)
    alike = Counter(share.of for share, told in zip(shares, known, strict=True) if not told)
    per_reach = batch / np.array([_counted_reach(float(reach)) for reach in mix.reach])
    middle = np.array([s.typical / max(alike[s.of], 1) / 100.0 for s in shares]) * per_reach
    half = np.array([(s.high - s.low) / max(alike[s.of], 1) / 200.0 for s in shares]) * per_reach
    widths = np.maximum(half, _SMALLEST_WIDTH * batch)
    fill = np.array([share.part == _FILL for share in shares]) & ~known
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


def _shares(mix: Mixture) -> tuple[UsualShare, ...]:
    return tuple(
        usual_share(mix.recipe.style, key, kind)
        for key, kind in zip(mix.keys, mix.kinds, strict=True)
    )


def _reluctance(mix: Mixture) -> Array:
    """What moving each ingredient costs, milk and cream being 1, shape (ingredients,)."""
    return np.array([1.0 / willingness(role(mix, index)) for index in range(len(mix.keys))])


def _infused(entry: RecipeIngredient) -> bool:
    return any(step.do == "infuse" for step in entry.steps)


def _counted_reach(reach: float) -> float:
    """What a usual share is taken of: what reaches the mix, or the weight if that is strained out."""
    return reach if reach >= _SMALL_REACH else 1.0
