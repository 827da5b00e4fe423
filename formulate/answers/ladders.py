"""One balanced mix for each reading of a fruit: a table to pin on the wall.

Neighbouring readings have neighbouring mixes; where another ingredient begins to move, a new band of the
table begins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.answers.weighing import weighed
from formulate.errors import InputError
from formulate.mix import Mixture, Programme, mixture, programme
from formulate.recipes import Recipe
from formulate.solver import Chosen, optimum

__all__ = ["Band", "Ladder", "Readings", "Rung", "between", "ladder", "readings_of"]


_HALVINGS = 10
_SAME = 1e-9  # of the batch
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
    """Rungs and bands."""

    key: str
    names: tuple[str, ...]
    rungs: tuple[Rung, ...]
    bands: tuple[Band, ...]


def readings_of(words: str) -> tuple[float, ...]:
    """Return the readings of ``9:15:0.5`` (from, to, step) [°Bx].

    Parameters
    ----------
    words:
        From, to and step, with colons between.

    Returns
    -------
    tuple of float

    Raises
    ------
    InputError
        If it is not three numbers, or gives none or more than 500 readings.

    Examples
    --------
    >>> readings_of("9:10:0.5")
    (9.0, 9.5, 10.0)
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
    recipe:
        What is weighed and what it must be.
    key:
        The ingredient that is read.
    readings:
        Rising [°Bx].

    Returns
    -------
    Ladder

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or it cannot read so.
    VerificationFault
        If a mix, recomputed from its composition, misses a target.

    Examples
    --------
    >>> import formulate as fm
    >>> found = ladder(fm.load("damson_sorbet"), "damson", (9.0, 15.0))
    >>> [rung.brix for rung in found.rungs]
    [9.0, 15.0]
    """
    mixes = between(recipe, key, readings)
    rungs: list[Rung] = []
    chosen: list[Chosen | None] = []
    for brix in readings:
        mix, rows = mixes.at(brix)
        found = optimum(mix, rows)
        chosen.append(found)
        rungs.append(Rung(brix, None if found is None else _grams(mix, found)))
    return Ladder(key, mixes.names, tuple(rungs), _bands(mixes, readings, chosen))


@dataclass(frozen=True)
class Readings:
    """The recipe at every reading of one ingredient, and at the first and last met with the tables."""

    recipe: Recipe
    key: str
    low: float
    high: float
    ends: tuple[tuple[Mixture, Programme], tuple[Mixture, Programme]]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the ingredients."""
        return self.ends[0][0].names

    def at(self, brix: float) -> tuple[Mixture, Programme]:
        """Return the recipe and programme at a reading [°Bx]."""
        (first, rows), _ = self.ends
        if self.high == self.low:
            return first, rows
        mix = _read(self.recipe, self.key, brix)
        return mix, programme(mix)


def between(recipe: Recipe, key: str, readings: tuple[float, ...]) -> Readings:
    """Return the recipe met with the tables at its first and last reading.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    key:
        The ingredient that is read.
    readings:
        Rising [°Bx].

    Returns
    -------
    Readings

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or it cannot read so.

    Examples
    --------
    >>> import formulate as fm
    >>> mixes = between(fm.load("damson_sorbet"), "damson", (9.0, 15.0))
    >>> mixes.low, mixes.high
    (9.0, 15.0)
    """
    if key not in [entry.key for entry in recipe.ingredients]:
        known = ", ".join(entry.key for entry in recipe.ingredients)
        raise InputError("ingredient", f'"{key}" is not in the recipe', f"It has: {known}.")
    low, high = readings[0], readings[-1]
    first, last = (_read(recipe, key, brix) for brix in (low, high))
    ends = ((first, programme(first)), (last, programme(last)))
    return Readings(recipe, key, low, high, ends)


def _read(recipe: Recipe, key: str, brix: float) -> Mixture:
    entries = tuple(
        replace(entry, brix=brix, brix_temperature_c=20.0, lot=None) if entry.key == key else entry
        for entry in recipe.ingredients
    )
    return mixture(replace(recipe, ingredients=entries))


def _grams(mix: Mixture, chosen: Chosen) -> tuple[float, ...]:
    return tuple(float(each) for each in weighed(mix, chosen).weights)


def _bands(
    mixes: Readings, readings: tuple[float, ...], chosen: list[Chosen | None]
) -> tuple[Band, ...]:
    """Runs of readings over which the same ingredients move the same way."""
    moves = [None if each is None else _moves(each) for each in chosen]
    found, start, low = [], 0, readings[0]
    for index in range(1, len(readings) + 1):
        if index < len(readings) and moves[index] == moves[start]:
            continue
        high, way = readings[index - 1], moves[start]
        if way is not None:
            if index < len(readings):
                high = _gives_way(mixes, way, readings[index - 1], readings[index])
            off = [
                _off_by(mixes, readings[at : at + 2], chosen[at : at + 2])
                for at in range(start, index - 1)
            ]
            changing = (name for name, side in zip(mixes.names, way, strict=True) if side)
            found.append(Band(low, high, tuple(changing), max(off, default=0.0)))
        start, low = index, high
    return tuple(found)


def _moves(chosen: Chosen) -> tuple[int, ...]:
    """Whether each ingredient is more (1) or less (-1) than it was, or as it was (0)."""
    start = chosen.objective.start[: len(chosen.weights)]
    away = chosen.weights - start
    return tuple(
        int(np.sign(each)) if abs(each) > _SAME * chosen.programme.batch_g else 0 for each in away
    )


def _gives_way(mixes: Readings, way: tuple[int, ...], good: float, bad: float) -> float:
    """The reading at which other ingredients move [°Bx]."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (good + bad)
        found = optimum(*mixes.at(middle))
        if found is None or _moves(found) != way:
            bad = middle
        else:
            good = middle
    return round(good, 2)


def _off_by(mixes: Readings, readings: tuple[float, ...], ends: list[Chosen | None]) -> float:
    """How far half-way weights lie from the mean of their neighbours [g]."""
    middle = optimum(*mixes.at(0.5 * (readings[0] + readings[1])))
    first, last = ends
    if middle is None or first is None or last is None:
        return float("inf")
    return float(np.abs(middle.weights - 0.5 * (first.weights + last.weights)).max())
