"""The limits of each weight: every least against every most, and which of them contradict each other.

What is asked at least: ``min_g``, a fixed weight, and ``least_use_g`` where any is used.  What is asked
at most: ``max_g``, a fixed weight, and what is in stock, which is weighed as it is bought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.recipes import Prepared, RecipeIngredient

__all__ = ["Crossing", "Limit", "bought", "crossings", "leasts", "limits_of", "mosts", "start_of"]


_ROUNDING = 1e-12  # of a weight: what dividing a stock by what is trimmed may lose


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of one weight: the field that sets it, and grams at the scale."""

    field: str
    grams: float


@dataclass(frozen=True, slots=True)
class Crossing:
    """A least and a most of one ingredient that no weight keeps: ``least.grams > most.grams``."""

    key: str
    least: Limit
    most: Limit

    @property
    def gap(self) -> float:
        """By how much they contradict each other [g], above 0."""
        return self.least.grams - self.most.grams


def bought(prepared: Sequence[Prepared | None]) -> Array:
    """Return grams to buy per gram at the scale, shape (ingredients,); 1 where nothing is trimmed."""
    return np.array([1.0 if done is None else done.buy_per_weighed for done in prepared])


def leasts(entry: RecipeIngredient) -> tuple[Limit, ...]:
    """Return what is asked of a weight at least, the strictest first; ``least_use_g`` is none of them.

    Parameters
    ----------
    entry:
        The ingredient of a recipe.

    Returns
    -------
    tuple of Limit

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> [limit.grams for limit in leasts(RecipeIngredient("damson", min_g=900.0))]
    [900.0]
    """
    found = [Limit("min_g", entry.min_g)] if entry.min_g else []
    if entry.fixed and entry.grams:
        found.append(Limit("fixed", entry.grams))
    return tuple(sorted(found, key=lambda limit: -limit.grams))


def mosts(entry: RecipeIngredient, buy: float) -> tuple[Limit, ...]:
    """Return what is asked of a weight at most, the strictest first.

    Parameters
    ----------
    entry:
        The ingredient of a recipe.
    buy:
        Grams bought per gram at the scale: what is in stock is not trimmed yet.

    Returns
    -------
    tuple of Limit

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> [limit.grams for limit in mosts(RecipeIngredient("damson", max_g=1150.0, stock_g=900.0), 1.0)]
    [900.0, 1150.0]
    """
    found = [] if entry.max_g is None else [Limit("max_g", entry.max_g)]
    if entry.fixed and entry.grams is not None:
        found.append(Limit("fixed", entry.grams))
    if entry.stock_g is not None:
        found.append(Limit("stock_g", entry.stock_g / buy))
    return tuple(sorted(found, key=lambda limit: limit.grams))


def crossings(entries: Sequence[RecipeIngredient], buys: Array) -> tuple[Crossing, ...]:
    """Return the worst contradiction of each ingredient that has one, in order.

    A least use that can never be reached is one, though none at all would keep it: the cook asks for
    what cannot be.  Where the cook asks for none, by ``max_g`` or a fixed weight, it is not.

    Parameters
    ----------
    entries:
        Ingredients of a recipe.
    buys:
        Grams to buy per gram at the scale, shape (ingredients,).

    Returns
    -------
    tuple of Crossing

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> pear = RecipeIngredient("pear", min_g=900, stock_g=800)
    >>> [float(crossing.gap) for crossing in crossings((pear,), np.ones(1))]
    [100.0]
    """
    found = []
    for entry, buy in zip(entries, buys, strict=True):
        if entry.stock_g is None and not entry.least_use_g:
            continue  # the others were held against each other when the ingredient was made
        low, high = list(leasts(entry)), mosts(entry, buy)
        none = any(each.field != "stock_g" and each.grams == 0.0 for each in high)
        if entry.least_use_g and not none:
            low.append(Limit("least_use_g", entry.least_use_g))
        pairs = [Crossing(entry.key, least, most) for least in low for most in high]
        worst = max(pairs, key=lambda pair: pair.gap, default=None)
        if worst is not None and worst.gap > _ROUNDING * worst.least.grams:
            found.append(worst)
    return tuple(found)


def limits_of(
    entries: Sequence[RecipeIngredient], batch_g: float, reach: Array, buys: Array
) -> tuple[Array, Array]:
    """Return the lower and upper limit of each weight [g], shapes (ingredients,).

    Where they contradict each other the least stands for both, and the programme has a row that cannot
    hold (see :attr:`formulate.mix.Mixture.crossings`).

    Parameters
    ----------
    entries:
        Ingredients of a recipe.
    batch_g:
        What the mix is to weigh [g], above 0.
    reach:
        Grams that reach the mix per gram at the scale, shape (ingredients,).
    buys:
        Grams to buy per gram at the scale, shape (ingredients,).

    Returns
    -------
    tuple of ndarray
        Lower and upper [g], nowhere the lower above the upper.

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> pear = RecipeIngredient("pear", min_g=600)
    >>> lower, upper = limits_of((pear,), 1000.0, np.ones(1), np.ones(1))
    >>> lower.tolist(), upper.tolist()
    ([600.0], [1000.0])
    """
    lower = np.array(
        [max((each.grams for each in leasts(entry)), default=0.0) for entry in entries]
    )
    room = np.where(
        (reach > 0.0) & (reach < 1.0), batch_g / np.where(reach > 0.0, reach, 1.0), batch_g
    )
    # A least weight beyond the batch is what is in the way, not the room.
    most = [
        min((each.grams for each in mosts(entry, buy)), default=max(space, low))
        for entry, buy, space, low in zip(entries, buys, room, lower, strict=True)
    ]
    return lower, np.maximum(np.array(most), lower)


def start_of(
    entries: Sequence[RecipeIngredient], batch_g: float, reach: Array, near_g: float = 0.0
) -> Array | None:
    """Return what change is counted from [g], shape (ingredients,); ``None`` where no weight is known.

    Written weights, all but the fixed scaled to the batch if every one is known; 0, which means nothing,
    where one is not.  What adds up to the batch within ``near_g`` is as it was rounded to a scale, and
    stays.

    Parameters
    ----------
    entries:
        Ingredients of a recipe.
    batch_g:
        What the mix is to weigh [g], above 0.
    reach:
        Grams that reach the mix per gram at the scale, shape (ingredients,).
    near_g:
        How far from the batch written weights may add up to and stay as they are [g], 0 or more.

    Returns
    -------
    ndarray or None

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> entries = (RecipeIngredient("pear", grams=300), RecipeIngredient("sucrose", grams=100))
    >>> start_of(entries, 1000.0, np.ones(2)).tolist()
    [750.0, 250.0]
    """
    if all(entry.grams is None for entry in entries):
        return None
    written = np.array([entry.grams or 0.0 for entry in entries])
    if any(entry.grams is None for entry in entries):
        return written
    if not float(reach @ written) > 0.0:
        return None
    fixed = np.array([entry.fixed for entry in entries])
    held, free = float(reach[fixed] @ written[fixed]), float(reach[~fixed] @ written[~fixed])
    if free <= 0.0 or held >= batch_g or abs(held + free - batch_g) <= near_g:
        return written
    return np.where(fixed, written, written * ((batch_g - held) / free))
