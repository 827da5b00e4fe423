"""Putting a half-made pot right: the smallest additions, nothing taken out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, VerificationFault, nearest
from formulate.mix import (
    Assessment,
    Mixture,
    Outlook,
    Programme,
    assess,
    mixture,
    mosts,
    outlook,
    programme,
    verified,
)
from formulate.recipes import Recipe, scaled
from formulate.solver import (
    is_possible,
    least_miss,
    objective_of,
    optimum,
    weighable,
    within_usual,
)

__all__ = ["Correction", "correct", "held_in"]


_LARGEST = 8.0  # times the batch
_DOUBLINGS, _HALVINGS = 6, 12
_GROWN = 0.005  # of the batch: what is no larger batch yet
_ROUND_G = 10.0
_NOTHING_G = 1e-6
_SAME_G = 1e-9  # of the batch


@dataclass(frozen=True, slots=True)
class Correction:
    """One way to put a pot right.

    Attributes
    ----------
    aim:
        ``finish`` (to the planned batch), ``smallest`` (the smallest batch that can still be put right,
        larger than planned) or ``nearest`` (no addition can do it; this misses least).
    additions:
        Grams to add, in the order of the recipe.
    as_written:
        Whether that is just what the recipe says is still to come.
    mix:
        The pot with them, judged.
    outlook:
        What to expect of it in the cold.
    """

    aim: str
    additions: tuple[float, ...]
    as_written: bool
    mix: Assessment
    outlook: Outlook


def correct(recipe: Recipe, pot: Mapping[str, float]) -> tuple[Correction, ...]:
    """Return what to add to a pot, to the planned batch first; if none can do it, what misses least.

    Nothing is taken out, and the order of wishes is that of :func:`formulate.answers.balance`: what is
    usual of each kind holds for the pot as it will be.

    Parameters
    ----------
    recipe:
        The recipe, with its targets.
    pot:
        What is in the pot already [g], by key.

    Returns
    -------
    tuple of Correction

    Raises
    ------
    InputError
        If the pot holds something that is not in the recipe, or nothing.

    Examples
    --------
    >>> import formulate as fm
    >>> correct(fm.load("damson_sorbet"), {"damson": 1000, "sucrose": 250})[0].aim
    'smallest'
    """
    planned = mixture(recipe)
    held = held_in(planned, pot)
    size = float(planned.reach @ held) / recipe.batch_g
    if size <= 1.0 + _NOTHING_G and not _holds_too_much(planned, held):
        found = _solved(recipe, held, 1.0, "finish")
        if found is not None:
            return (found,)
    grown = _smallest_size(recipe, held, max(size, 1.0 + _GROWN))
    if grown is not None:
        found = _solved(recipe, held, grown, "smallest")
        if found is not None:
            return (found,)
    return (_nearest(recipe, held, max(size, 1.0)),)


def held_in(mix: Mixture, pot: Mapping[str, float]) -> Array:
    """Return what a pot holds [g], shape (ingredients,)."""
    for key, grams in pot.items():
        if key not in mix.keys:
            hint = nearest(key, mix.keys) or f"The recipe has {', '.join(mix.keys)}."
            problem = f'"{key}" is in the pot but not in the recipe'
            raise InputError("in_pot", problem, hint)
        if not 0.0 <= grams < 1e9:
            raise InputError("in_pot", f"{key} weighs {grams:g} g", "Give grams, 0 or more.")
    held = np.array([pot.get(key, 0.0) for key in mix.keys])
    if held.sum() <= 0.0:
        raise InputError("in_pot", "the pot is empty", "Give what it holds, or balance instead.")
    return held


def _with_pot(recipe: Recipe, held: Array, size: float) -> tuple[Mixture, Programme]:
    """The recipe for so many times its batch, in which nothing is below what the pot holds."""
    mix = mixture(recipe if size == 1.0 else scaled(recipe, size))
    lower = np.maximum(mix.lower, held)
    mix = replace(mix, lower=lower, upper=np.maximum(mix.upper, lower))
    return mix, programme(mix)


def _holds_too_much(mix: Mixture, held: Array) -> bool:
    """Whether the pot has more of something than the recipe takes, which nothing added puts right."""
    most = [
        min((each.grams for each in mosts(entry, 1.0) if each.field != "stock_g"), default=np.inf)
        for entry in mix.recipe.ingredients
    ]
    return bool(np.any(held > np.array(most) + _SAME_G * mix.recipe.batch_g))


def _as_held(mix: Mixture, held: Array) -> Mixture:
    """The mixture of which the pot is what there was before."""
    return replace(mix, before=tuple(float(grams) for grams in held), start=held)


def _smallest_size(recipe: Recipe, held: Array, size: float) -> float | None:
    """The smallest batch in which the pot can be put right [planned batches]; ``None`` if none can."""

    def can(tried: float) -> bool:
        mix, rows = _with_pot(recipe, held, tried)
        return not _holds_too_much(mix, held) and is_possible(within_usual(mix, rows))

    low, high = size, size
    for _ in range(_DOUBLINGS):
        if can(high):
            break
        low, high = high, min(2.0 * high, _LARGEST * size)
    else:
        return None
    for _ in range(_HALVINGS if high > low else 0):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if can(middle) else (middle, high)
    grams = high * recipe.batch_g * (1.0 + _GROWN)  # the very least leaves no room for the scale
    return float(np.ceil(grams / _ROUND_G) * _ROUND_G / recipe.batch_g)


def _solved(recipe: Recipe, held: Array, size: float, aim: str) -> Correction | None:
    mix, rows = _with_pot(recipe, held, size)
    chosen = optimum(mix, rows)
    if chosen is None:
        return None
    if mix.present is not None and chosen.programme.holds(mix.present):
        chosen = chosen.as_they_are(mix)  # a pot on plan goes on as written
    added = np.where(chosen.weights - held < _NOTHING_G, 0.0, chosen.weights - held)
    rounded = weighable(chosen.programme.after(held), added, recipe.scale, chosen.moves)
    grams = added if rounded is None else rounded.weights
    there = _as_held(mix, held)
    try:
        judged = verified(there, held + grams, counted=False)
    except VerificationFault:
        grams = added
        judged = verified(there, held + grams, counted=False)
    return _correction(mix, aim, grams, held, judged)


def _nearest(recipe: Recipe, held: Array, size: float) -> Correction:
    """What misses least, in the planned batch or, if the pot is larger already, in that."""
    mix, rows = _with_pot(recipe, held, size)
    found = least_miss(within_usual(mix, rows), objective_of(mix, rows)) or least_miss(rows)
    grams = np.zeros(len(held)) if found is None else np.maximum(found.weights - held, 0.0)
    judged = assess(_as_held(mix, held), held + grams)
    return _correction(mix, "nearest", grams, held, judged)


def _correction(
    mix: Mixture, aim: str, grams: Array, held: Array, judged: Assessment
) -> Correction:
    step = mix.recipe.scale.step_g
    planned = None if mix.start is None else mix.start - held
    written = planned is not None and bool(np.all(np.abs(planned - grams) < step))
    additions = tuple(float(each) for each in grams)
    return Correction(aim, additions, written, judged, outlook(mix, judged))
