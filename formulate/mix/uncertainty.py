"""How far the freezing curve of a mix can be trusted, and what it is that makes it doubtful.

Every doubt is independent of the others and has a size of one standard deviation: a change of the
mix's composition (a lot that is sweeter than the table), or a change of the water that something keeps
liquid (a curve continued beyond its measurements).  Liquid water is linear in both, so that the effect
of all doubts at all temperatures is one matrix product; frozen water and temperatures follow to first
order, and doubts add up as squares.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError
from formulate.freezing import COLDEST_CURVE_C, freezing_model, held_at
from formulate.ingredients import (
    COLUMNS,
    COMPONENT_KEYS,
    COMPONENTS,
    brix_of,
    position,
    read_only,
    with_reading,
)
from formulate.messages import Message, message
from formulate.mix.mixtures import Mixture, prepared_row, reading_of

__all__ = [
    "Doubts",
    "ModelDoubt",
    "curve_deviation",
    "doubts",
    "frozen_water_deviation",
    "lot_doubts",
    "model_doubts",
    "temperature_deviation",
    "unread_deviation",
]


_WATER = position("water")
_SUGARS = [position(part.key) for part in COMPONENTS if part.family == "sugar"]
_DISSOLVING = ("sugar", "syrup", "polyol", "acid", "mineral", "alcohol")
_DISSOLVED = [position(part.key) for part in COMPONENTS if part.family in _DISSOLVING]
_NAMES = {part.key: part.name.lower() for part in COMPONENTS}

#: Standard deviation of a declared composition, in % of each dissolved component: a specification.
_DECLARED_PERCENT = 2.0


@dataclass(frozen=True)
class Doubts:
    """All doubts about one mix, each of one standard deviation.

    Attributes
    ----------
    what:
        What is doubtful, shape (doubts,).
    composition:
        Change of the mix's composition [g per 100 g], shape (doubts, columns).
    constant:
        Change of liquid water that is the same at all temperatures [g per 100 g], shape (doubts,).
    solutes:
        Amount of each solute whose curve is in doubt [g per 100 g], shape (doubts, solutes).
    """

    what: tuple[Message, ...]
    composition: Array
    constant: Array
    solutes: Array

    def liquid_water(self, temperatures_c: tuple[float, ...]) -> Array:
        """Return the change of liquid water by each doubt [g per 100 g], shape (doubts, t)."""
        by_composition = self.composition @ held_at(temperatures_c).T
        by_curve = self.solutes @ curve_deviation(temperatures_c).T
        return np.asarray(by_composition + by_curve + self.constant[:, None])

    @property
    def water(self) -> Array:
        """Change of all water by each doubt [g per 100 g], shape (doubts,)."""
        return self.composition[:, _WATER]


def doubts(mix: Mixture, weights: Array) -> Doubts:
    """Return what is doubtful about a mix of these weights [g], shape (ingredients,).

    Counted are: lots and readings, as ``spread.csv`` and the recipe say; water bound by protein, fibre
    and gums, milk minerals, syrups and the like, as ``freezing/doubt.csv`` says; and the curve of each
    solute (:meth:`formulate.freezing.solute_curves.Solute.water_held_deviation`).
    """
    shares = weights / float(mix.reach @ weights)
    what: list[Message] = []
    changes: list[Array] = []
    for index, share in enumerate(shares):
        if share <= 0.0:
            continue
        for doubt, change in lot_doubts(mix, index):
            what.append(doubt)
            changes.append(share * change)
    mean = shares @ mix.compositions
    constants = [0.0] * len(what)
    for of_all in model_doubts():
        what.append(of_all.what)
        changes.append(mean * of_all.columns)
        constants.append(float(mean @ of_all.bound))
    model = freezing_model()
    amounts = mean @ model.shares
    what += [message("doubt_of_curve", name=curve.key.replace("_", " ")) for curve in model.curves]
    rest = len(what) - len(amounts)
    composition = np.zeros((len(what), len(COLUMNS)))
    composition[:rest] = changes
    # What brings more mass into the mix thins the rest of it.
    more = composition[:, : len(COMPONENT_KEYS)].sum(axis=1)
    more[len(changes) - len(model_doubts()) :] = 0.0  # doubts about the model move no mass
    composition -= np.outer(more / 100.0, mean)
    curves = np.zeros((len(what), len(amounts)))
    curves[rest:] = np.diag(amounts)
    constant = np.array(constants + [0.0] * len(amounts))
    # Water held by what is counted twice or not weighed is a doubt about liquid water, not about mass.
    return Doubts(tuple(what), composition, constant, curves)


def frozen_water_deviation(
    composition: Array, found: Doubts, temperatures_c: tuple[float, ...]
) -> Array:
    """Return the effect of each doubt on frozen water [% of water], shape (doubts, t).

    0 where nothing is frozen.  Their root sum of squares along the first axis is the standard
    deviation.

    Parameters
    ----------
    composition:
        The mix, g per 100 g, shape (columns,).
    temperatures_c:
        Temperatures [°C], from -30 to below 0.
    """
    water = float(composition[_WATER])
    if water <= 0.0:
        return np.zeros((len(found.what), len(temperatures_c)))
    liquid = held_at(temperatures_c) @ composition
    change = found.liquid_water(temperatures_c) / water - np.outer(found.water, liquid / water**2)
    return np.where(liquid < water, -100.0 * change, 0.0)


def temperature_deviation(
    composition: Array, found: Doubts, places: tuple[tuple[float, float], ...]
) -> Array:
    """Return the effect of each doubt on temperatures at which so much of the water is frozen [°C].

    Parameters
    ----------
    composition:
        The mix, g per 100 g, shape (columns,).
    places:
        Pairs of a temperature as predicted [°C], above -30, and the frozen water there [% of water]; 0
        for the initial freezing point.

    Returns
    -------
    Shape (doubts, places).
    """
    at = tuple(temperature for temperature, _ in places)
    warm = tuple(min(0.999 * temperature, -1e-6) for temperature in at)
    cold = tuple(max(1.001 * temperature, COLDEST_CURVE_C) for temperature in at)
    liquid = held_at(warm + cold) @ composition
    slope = (liquid[: len(at)] - liquid[len(at) :]) / (np.array(warm) - np.array(cold))
    wanted = np.array([1.0 - percent / 100.0 for _, percent in places])
    change = found.liquid_water(at) - np.outer(found.water, wanted)
    return np.asarray(-change / slope)


@dataclass(frozen=True, slots=True)
class ModelDoubt:
    """A doubt that no lot has: relative change of columns, or water bound per gram of columns [g/g]."""

    what: Message
    columns: Array
    bound: Array


@lru_cache(maxsize=1)
def model_doubts() -> tuple[ModelDoubt, ...]:
    """Return the doubts that no lot has, from ``freezing/doubt.csv``."""
    found = []
    for row in read_rows(data_folder() / "freezing" / "doubt.csv"):
        where = f"doubt.csv, {row['doubt']}"
        relative = number(row, "sd_percent", where) / 100.0 if row["sd_percent"] else 0.0
        bound = number(row, "grams_per_gram", where) if row["grams_per_gram"] else 0.0
        columns = row["columns"].split()
        found.append(
            ModelDoubt(
                message("doubt_of_model", name=row["name"]),
                read_only(dict.fromkeys(columns, relative)),
                read_only(dict.fromkeys(columns, bound)),
            )
        )
    return tuple(found)


@lru_cache(maxsize=1)
def _spread() -> Mapping[str, Mapping[str, float]]:
    """Rows of ``spread.csv``: standard deviation by ingredient and what it is of."""
    found: dict[str, dict[str, float]] = {}
    for row in read_rows(data_folder() / "spread.csv"):
        where = f"spread.csv, {row['key']} {row['what']}"
        found.setdefault(row["key"], {})[row["what"]] = number(row, "deviation", where)
    return MappingProxyType(found)


def lot_doubts(mix: Mixture, index: int) -> list[tuple[Message, Array]]:
    """Return the doubts about one ingredient: what they are of, and change of what it brings.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    index:
        Of the ingredient.

    Returns
    -------
    Changes in g per 100 g at the scale, after its steps; the yields of these are doubts of their own.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> len(lot_doubts(mixture(fm.load("damson_sorbet")), 0)) > 0
    True
    """
    name, done = mix.names[index], mix.prepared[index]
    found = _raw_doubts(mix, index)
    if done is None:
        return found
    row, raw = mix.compositions[index], mix.raw[index]
    found = [(what, prepared_row(mix, index, raw + change) - row) for what, change in found]
    for step, change in done.doubts.items():
        found.append((message("doubt_of_step", name=name, step=step), 100.0 * change))
    return found


def _raw_doubts(mix: Mixture, index: int) -> list[tuple[Message, Array]]:
    """Doubts about one ingredient as it is bought, before its steps [g per 100 g]."""
    entry, name, row = mix.recipe.ingredients[index], mix.names[index], mix.raw[index]
    brix, plus_minus = reading_of(entry), entry.brix_plus_minus
    in_table = entry.composition is None
    if not in_table:
        return [
            (
                message("doubt_of_declared", component=_NAMES[COLUMNS[at]], name=name),
                _one(row, at, sd),
            )
            for at in _DISSOLVED
            if (sd := row[at] * _DECLARED_PERCENT / 100.0) > 0.0
        ]
    found = []
    spread = _spread().get(entry.key, {})
    sugars = float(row[_SUGARS].sum())
    for what, deviation in spread.items():
        if what == "sugars":
            if brix is None:
                found.append((message("doubt_of_sugar", name=name), _sugar(row, deviation)))
        elif what == "sucrose_share":
            change = np.zeros(len(COLUMNS))
            change[position("sucrose")] = sugars * deviation
            change[[position("glucose"), position("fructose")]] = -sugars * deviation / 2.0
            found.append((message("doubt_of_sugars", name=name), change))
        else:
            change = _one(row, position(what), deviation)
            if brix is not None:  # the reading counted it: more of one is less of the rest
                change = _reread(row, row + change, brix, change)
            found.append((message("doubt_of_content", component=_NAMES[what], name=name), change))
    if brix is not None:
        less = _reread(row, row, brix - plus_minus, np.zeros(len(COLUMNS)))
        more = _reread(row, row, brix + plus_minus, -less)
        found.append((message("doubt_of_reading", name=name), more))
    return found


def _reread(row: Array, lot: Array, brix: float, otherwise: Array) -> Array:
    """How a lot that reads so differs from a row; otherwise, where no lot can."""
    try:
        return np.asarray(with_reading(lot, brix) - row)
    except InputError:
        return otherwise


def unread_deviation(key: str, row: Array) -> float:
    """Return how much lots of an ingredient that were not read differ in what they would read [°Bx].

    One standard deviation, from ``spread.csv``; 0 where it says nothing of the ingredient.

    Parameters
    ----------
    key:
        Of the ingredient.
    row:
        Composition of the ingredient [g per 100 g], shape (columns,).

    Returns
    -------
    float

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> damson, sugar = (ingredient_table()[key] for key in ("damson", "sucrose"))
    >>> unread_deviation("damson", damson.composition) > unread_deviation("sucrose", sugar.composition)
    True
    """
    deviation = _spread().get(key, {}).get("sugars", 0.0)
    return brix_of(row + _sugar(row, deviation)) - brix_of(row) if deviation else 0.0


def _sugar(row: Array, percent: float) -> Array:
    """So many percent more of each sugar, at the cost of water."""
    change = np.zeros(len(COLUMNS))
    change[_SUGARS] = row[_SUGARS] * percent / 100.0
    change[_WATER] = -change.sum()
    return change


def _one(row: Array, at: int, deviation: float) -> Array:
    """More of one component at the cost of water, or of other solids where there is little water."""
    change = np.zeros(len(COLUMNS))
    change[at] = deviation
    change[_WATER if row[_WATER] > deviation else position("other_solids")] = -deviation
    solids = position("glucose_syrup_solids")
    if at == solids and row[solids] > 0.0:
        power = position("syrup_reducing_power")
        change[power] = deviation * row[power] / row[solids]
    return change


@lru_cache(maxsize=1)
def _curve_deviation_grid() -> tuple[Array, Array]:
    temperature = -(np.linspace(0.05, np.sqrt(-COLDEST_CURVE_C), 120) ** 2)
    return temperature, np.stack(
        [curve.water_held_deviation(temperature) for curve in freezing_model().curves], axis=1
    )


@lru_cache(maxsize=512)
def curve_deviation(temperatures_c: tuple[float, ...]) -> Array:
    """Return the standard deviation of water held by each solute [g/g], shape (t, solutes).

    From a grid: within 1 % of :meth:`formulate.freezing.solute_curves.Solute.water_held_deviation`.
    """
    grid, held = _curve_deviation_grid()
    temperature = np.array(temperatures_c)
    at = np.clip(np.searchsorted(-grid, -temperature), 1, len(grid) - 1)
    part = np.clip((temperature - grid[at - 1]) / (grid[at] - grid[at - 1]), 0.0, 1.0)[:, None]
    return np.asarray((1.0 - part) * held[at - 1] + part * held[at])
