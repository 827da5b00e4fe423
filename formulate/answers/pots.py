"""Putting a half-made pot right: the smallest additions, nothing taken out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.mix import (
    Assessment,
    Mixture,
    Outlook,
    Programme,
    Row,
    assess,
    mixture,
    mosts,
    outlook,
    programme,
    require_met,
)
from formulate.recipes import Recipe
from formulate.solver import greatest, least_miss, optimum, weighable

__all__ = ["Correction", "correct"]


_SAME_G = 1e-9  # of the batch
_LARGEST = 20.0  # times what is in the pot


@dataclass(frozen=True, slots=True)
class Correction:
    """One way to put a pot right.

    Attributes
    ----------
    aim:
        ``finish`` (to the planned batch), ``smallest`` (as little as possible, whatever the batch
        becomes) or ``nearest`` (no addition can do it; this misses least).
    additions:
        Grams to add, in the order of the recipe.
    mix:
        The pot with them, judged.
    outlook:
        What to expect of it in the cold.
    """

    aim: str
    additions: tuple[float, ...]
    mix: Assessment
    outlook: Outlook


def correct(recipe: Recipe, pot: Mapping[str, float]) -> tuple[Correction, ...]:
    """Return what to add to a pot, the smallest addition first; if none can do it, what misses least.

    Parameters
    ----------
    recipe:
        The recipe, with its targets.
    pot:
        What is in the pot already [g], by key.

    Raises
    ------
    InputError
        If the pot holds something that is not in the recipe, or nothing.
    """
    mix = mixture(recipe)
    held = _held(mix, pot)
    rows = programme(mix)
    found = []
    smallest = _solved(mix, _to_any_total(mix, rows, held), held, "smallest")
    if smallest is not None:
        found.append(smallest)
    if float(mix.reach @ held) <= recipe.batch_g and not _holds_too_much(mix, held):
        finish = _solved(mix, _to_the_batch(mix, rows, held), held, "finish")
        if finish is not None:
            found.append(finish)
    if found:
        return tuple(found)
    return (_nearest(mix, rows, held),)


def _held(mix: Mixture, pot: Mapping[str, float]) -> Array:
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


def _to_any_total(mix: Mixture, rows: Programme, held: Array) -> Programme:
    """The programme of what is added, whatever the batch becomes: every bound goes with the total."""
    share, pot = rows.reach / rows.batch_g, float(held.sum())
    wider = []
    for row in (*rows.rows, *_limits_as_rows(mix, rows)):
        for bound, side in ((row.lower, "min"), (row.upper, "max")):
            if not np.isfinite(bound):
                continue
            coefficients = row.coefficients - bound * share
            offset = -float(coefficients @ held)
            low, high = (offset, np.inf) if side == "min" else (-np.inf, offset)
            width = row.width * pot / rows.batch_g
            wider.append(Row(row.key, row.side, coefficients, low, high, width))
    most = _LARGEST * pot
    added = rows.only(tuple(wider)).with_limits(np.zeros(len(held)), _stock_left(mix, held, most))
    return replace(added, batch_g=pot, total_least=0.0, total_most=most)


def _to_the_batch(mix: Mixture, rows: Programme, held: Array) -> Programme:
    """The programme of what is added to reach the planned batch."""
    left = rows.batch_g - float(rows.reach @ held)
    shifted = tuple(
        replace(
            row,
            lower=row.lower - float(row.coefficients @ held),
            upper=row.upper - float(row.coefficients @ held),
        )
        for row in rows.rows
    )
    lower = np.maximum(rows.lower - held, 0.0)
    upper = np.maximum(np.minimum(rows.upper - held, _stock_left(mix, held, left)), 0.0)
    added = rows.only(shifted).with_limits(lower, np.maximum(upper, lower))
    return replace(added, total_least=left, total_most=left)


def _limits_as_rows(mix: Mixture, rows: Programme) -> list[Row]:
    """The cook's limits of each weight, as shares of the batch."""
    unit = np.eye(len(mix.keys))
    found = []
    for index, entry in enumerate(mix.recipe.ingredients):
        low = entry.min_g if not entry.fixed else None
        high = entry.max_g if not entry.fixed else None
        if low is not None or high is not None:
            lower = -np.inf if low is None else low
            upper = np.inf if high is None else high
            found.append(Row(entry.key, "range", unit[index], lower, upper, 0.01 * rows.batch_g))
    return found


def _stock_left(mix: Mixture, held: Array, most: float) -> Array:
    """What is in stock for the whole batch, less what the pot holds of it [g at the scale]."""
    stock = [entry.stock_g for entry in mix.recipe.ingredients]
    return np.array(
        [
            most if grams is None else max(grams / buy - there, 0.0)
            for grams, buy, there in zip(stock, mix.buys, held, strict=True)
        ]
    )


def _solved(mix: Mixture, added: Programme, held: Array, aim: str) -> Correction | None:
    if aim == "finish":
        start = mix.start if mix.start is not None else held
        left = np.maximum(start - held, 0.0)
        rest = replace(mix, start=left)
        found = optimum(rest, added)
    else:
        found = greatest(added, -np.ones(len(held)))
    if found is None:
        return None
    rounded = weighable(added, np.where(found.weights < 1e-6, 0.0, found.weights), mix.recipe.scale)
    grams = found.weights if rounded is None else rounded.weights
    judged = assess(_as_held(mix, held), held + grams)
    if rounded is not None and not all(target.met for target in judged.targets):
        grams = found.weights
        judged = assess(_as_held(mix, held), held + grams)
    require_met(judged)
    return _correction(mix, aim, grams, judged)


def _nearest(mix: Mixture, rows: Programme, held: Array) -> Correction:
    """What misses least, to the planned batch or, if the pot is larger already, with nothing added."""
    grams = np.zeros(len(held))
    if float(rows.reach @ held) < rows.batch_g:
        found = least_miss(_to_the_batch(mix, rows, held))
        if found is not None:
            grams = found.weights
    return _correction(mix, "nearest", grams, assess(_as_held(mix, held), held + grams))


def _correction(mix: Mixture, aim: str, grams: Array, judged: Assessment) -> Correction:
    additions = tuple(float(each) for each in grams)
    return Correction(aim, additions, judged, outlook(mix, judged))
