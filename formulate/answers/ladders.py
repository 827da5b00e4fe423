"""One balanced mix for each reading of a fruit: a table to pin on the wall.

A composition is linear in its reading, so that every row of the programme is, too.  Each mix is held by
the same corner as the one before for as long as that stays the best
(:mod:`formulate.solver.active_set`); only
where it does not is the programme solved again, and there another ingredient takes over.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError, VerificationFault
from formulate.mix import Mixture, Programme, mixture, programme, target_values
from formulate.recipes import Recipe
from formulate.solver import (
    ActiveSet,
    Objective,
    active_set_of,
    kept_to_counts,
    objective_of,
    optimum,
    optimum_at,
    weighable,
    within_usual,
)

__all__ = ["Band", "Ladder", "Readings", "Rung", "between", "ladder", "readings_of"]


_HALVINGS = 10
_MOST_RUNGS = 500


@dataclass(frozen=True, slots=True)
class Rung:
    """One reading [°Bx] and its mix [g] as the scale shows it; ``None`` where no mix can be."""

    brix: float
    grams: tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Band:
    """Readings over which the same ingredients do the balancing.

    Attributes
    ----------
    low, high:
        The first and last reading [°Bx].
    changing:
        Names of the ingredients whose weight differs from the present recipe.
    off_by_g:
        How far the weight half-way between two rungs may lie from the mean of theirs [g].
    """

    low: float
    high: float
    changing: tuple[str, ...]
    off_by_g: float


@dataclass(frozen=True)
class Ladder:
    """Rungs, bands, and how many programmes had to be solved."""

    key: str
    names: tuple[str, ...]
    rungs: tuple[Rung, ...]
    bands: tuple[Band, ...]
    solved: int


def readings_of(words: str) -> tuple[float, ...]:
    """Return the readings of ``9:15:0.5`` (from, to, step) [°Bx].

    Raises
    ------
    InputError
        If it is not three numbers, or gives none or more than 500 readings.
    """
    try:
        low, high, step = (float(part.replace(",", ".")) for part in words.split(":"))
    except ValueError:
        low, high, step = 0.0, 0.0, 0.0
    if not (0.0 < low <= high <= 85.0 and step > 0.0) or (high - low) / step > _MOST_RUNGS:
        problem = f'"{words}" is not from:to:step in °Bx, 0 to 85, in at most {_MOST_RUNGS} steps'
        raise InputError("brix", problem, "Write 9:15:0.5, for example.")
    count = int((high - low) / step + 1e-9) + 1
    return tuple(round(low + step * index, 6) for index in range(count))


def ladder(recipe: Recipe, key: str, readings: tuple[float, ...]) -> Ladder:
    """Return one balanced mix for each reading of one ingredient.

    Parameters
    ----------
    key:
        The ingredient that is read.
    readings:
        Rising [°Bx].

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or it cannot read so.
    VerificationFault
        If a mix, recomputed from its composition, misses a target.
    """
    mixes = between(recipe, key, readings)
    rungs: list[Rung] = []
    exact: list[Array | None] = []
    corners: list[ActiveSet | None] = []
    corner, solved = None, 0
    for brix in readings:
        mix, rows = mixes.at(brix)
        wish = mixes.wish
        usual = within_usual(mix, rows)
        held = None if corner is None or wish is None else optimum_at(usual, wish, corner)
        if held is not None:
            weights = held.weights
        else:
            found = optimum(mix, rows)
            solved += 1
            if found is None:
                rungs.append(Rung(brix, None))
                exact.append(None)
                corners.append(None)
                corner = None
                continue
            weights = found.weights
            corner = None
            if wish is not None:
                corner = active_set_of(usual, wish, weights, found.prices)
        rungs.append(Rung(brix, _weighed(mix, rows, weights)))
        exact.append(weights)
        corners.append(corner)
    bands = _bands(mixes, readings, exact, corners)
    return Ladder(key, mixes.names, tuple(rungs), bands, solved)


@dataclass(frozen=True)
class Readings:
    """The programme of every reading, by straight lines between those of the first and the last.

    With steps, of which some end at a reading, it is not linear, and made anew for each.
    """

    recipe: Recipe
    key: str
    low: float
    high: float
    ends: tuple[tuple[Mixture, Programme], tuple[Mixture, Programme]]
    wish: Objective | None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the ingredients."""
        return self.ends[0][0].names

    def at(self, brix: float) -> tuple[Mixture, Programme]:
        """Return the recipe and programme at a reading [°Bx]."""
        (first, rows), (last, other) = self.ends
        if self.high == self.low:
            return first, rows
        if any(entry.steps for entry in self.recipe.ingredients):
            mix = _read(self.recipe, self.key, brix)
            return mix, programme(mix)
        part = (brix - self.low) / (self.high - self.low)
        mix = replace(
            first,
            compositions=(1.0 - part) * first.compositions + part * last.compositions,
        )
        matrix = (1.0 - part) * rows.matrix + part * other.matrix
        return mix, replace(rows, matrix=matrix)


def between(recipe: Recipe, key: str, readings: tuple[float, ...]) -> Readings:
    """Return the recipe met with the tables at its first and last reading.

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or it cannot read so.
    """
    if key not in [entry.key for entry in recipe.ingredients]:
        known = ", ".join(entry.key for entry in recipe.ingredients)
        raise InputError("ingredient", f'"{key}" is not in the recipe', f"It has: {known}.")
    low, high = readings[0], readings[-1]
    first, last = (_read(recipe, key, brix) for brix in (low, high))
    ends = ((first, programme(first)), (last, programme(last)))
    return Readings(recipe, key, low, high, ends, objective_of(*ends[0]))


def _read(recipe: Recipe, key: str, brix: float) -> Mixture:
    entries = tuple(
        replace(entry, brix=brix, brix_temperature_c=20.0, lot=None) if entry.key == key else entry
        for entry in recipe.ingredients
    )
    return mixture(replace(recipe, ingredients=entries))


def _weighed(mix: Mixture, rows: Programme, weights: Array) -> tuple[float, ...]:
    """Weights as the scale shows them, checked against the targets from composition."""
    found = weighable(kept_to_counts(mix, rows, weights), weights, mix.recipe.scale)
    grams = weights if found is None else found.weights
    missed = [target.name for target in target_values(mix, grams) if not target.met]
    if missed:
        raise VerificationFault(
            f"A rung of the ladder misses {', '.join(missed)}; it is not shown."
        )
    return tuple(float(each) for each in grams)


def _bands(
    mixes: Readings,
    readings: tuple[float, ...],
    exact: list[Array | None],
    corners: list[ActiveSet | None],
) -> tuple[Band, ...]:
    """Runs of readings with one corner, ended where it gives way to the next."""
    found = []
    start = 0
    low = readings[0]
    for index in range(1, len(readings) + 1):
        if index < len(readings) and corners[index] == corners[start]:
            continue
        high = readings[index - 1]
        corner, first = corners[start], exact[start]
        if corner is not None and mixes.wish is not None:
            if index < len(readings):
                high = _gives_way(mixes, corner, readings[index - 1], readings[index])
            assert first is not None
            off = [
                _off_by(mixes, corner, readings[at], readings[at + 1], exact[at], exact[at + 1])
                for at in range(start, index - 1)
            ]
            changing = tuple(
                name for name, side in zip(mixes.names, corner.side, strict=True) if side != 0
            )
            found.append(Band(low, high, changing, max(off, default=0.0)))
        if index < len(readings):
            start, low = index, high
    return tuple(found)


def _gives_way(mixes: Readings, corner: ActiveSet, good: float, bad: float) -> float:
    """The reading at which a corner stops being the best [°Bx]."""
    assert mixes.wish is not None
    for _ in range(_HALVINGS):
        middle = 0.5 * (good + bad)
        if optimum_at(within_usual(*mixes.at(middle)), mixes.wish, corner) is None:
            bad = middle
        else:
            good = middle
    return round(good, 2)


def _off_by(
    mixes: Readings,
    corner: ActiveSet,
    low: float,
    high: float,
    first: Array | None,
    last: Array | None,
) -> float:
    """How far half-way weights lie from the mean of their neighbours [g]."""
    assert mixes.wish is not None and first is not None and last is not None
    middle = optimum_at(within_usual(*mixes.at(0.5 * (low + high))), mixes.wish, corner)
    if middle is None:
        return float("inf")
    return float(np.abs(middle.weights - 0.5 * (first + last)).max())
