"""What a kitchen's own verdicts, weighings and readings teach, and how sure that is.

Everything is Bayesian with a prior at the usual value, so that little data moves it little, and every
answer comes with a 90 % interval.  The priors' widths are assumptions of how kitchens differ; no source.

*Serving window.*  A verdict is one of five steps, softest first.  A mix with frozen water F at the
temperature where it was tasted feels like F + b + e: b is what the prediction is wrong by for this mix,
the same in all its verdicts, and e is a cook's scatter.  It is just right within half the width of the
window around its middle, and too soft or too hard further out; one verdict in fifty is a slip.  Middle,
width, the step from "rather" to "too" and the scatter are unknown: the posterior is summed on a grid.

*Settings and lots.*  Weighings and readings are normal around a mean of the kitchen's own, with a
scatter that is unknown too; for a given scatter the mean is normal, and the scatter is summed on a grid.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import erf, isfinite, sqrt

import numpy as np

from formulate.answers import check
from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError
from formulate.ingredients import (
    COMPONENTS,
    Lot,
    brix_of,
    ingredient_table,
    position,
    reading_at_20_c,
)
from formulate.notebook.batch_records import Batch
from formulate.recipes import (
    Range,
    Recipe,
    Serving,
    Step,
    Usual,
    learned,
    middle_of,
    retained_from_weighing,
    serving_kinds,
    usual_settings,
)

__all__ = [
    "FirmnessPoint",
    "Interval",
    "Kitchen",
    "LearnedLots",
    "LearnedServed",
    "LearnedSetting",
    "LearnedWindow",
    "firmness_points",
    "learn_kitchen",
    "learn_lots",
    "learn_served",
    "learn_setting",
    "learn_window",
]


# How kitchens differ: assumptions, no source.
_MIDDLE_SD = 3.0  # of the window's middle [% of water]
_WIDTH_LOG_SD = 0.35  # of its width
_STEP_LOG_SD, _STEP_OF_WIDTH = 0.4, 0.5  # of what lies between "rather" and "too"
_SCATTER, _SCATTER_LOG_SD = 1.5, 0.4  # of one verdict [% of water]
_SLIP = 0.02
_SERVED_SD, _SERVED_SCATTER = 2.0, 1.0  # of the temperature at which a kind is really served [K]

_CELL = 0.3  # of the middle [% of water]
_MIDDLES: Array = np.arange(-40.0, 41.0) * _CELL
_FEELS: Array = np.arange(-130.0, 131.0) * _CELL  # beyond, every verdict is as at the end
_WIDTH_NODES: Array = np.linspace(-2.8, 2.8, 17)
_SCATTER_NODES: Array = np.linspace(-2.25, 2.25, 6)
_STEP_NODES: Array = np.linspace(-2.0, 2.0, 5)
_ERROR_NODES: Array = np.linspace(-2.2, 2.2, 5)

_SETTING_NODES: Array = np.linspace(-3.2, 3.2, 65)
_SETTING_LOG_SD, _LOTS_LOG_SD = 0.5, 0.4
_TAIL = 0.05  # outside a 90 % interval, on each side
_DRIED = 20.0  # % of water below which a herb counts as dried, as in the steps


@dataclass(frozen=True, slots=True)
class FirmnessPoint:
    """One verdict: the mix, its frozen water there with one sd [% of water], and the step, -2 to 2."""

    mix: str
    frozen_water: float
    deviation: float
    firmness: int


@dataclass(frozen=True, slots=True)
class Interval:
    """A value and its 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LearnedWindow:
    """A kitchen's serving window [% of water], from so many verdicts on so many mixes."""

    middle: Interval
    width: Interval
    usual: Range
    verdicts: int
    mixes: int

    @property
    def window(self) -> Range:
        """The window itself."""
        half = self.width.value / 2.0
        return Range(self.middle.value - half, self.middle.value + half)


@dataclass(frozen=True, slots=True)
class LearnedSetting:
    """A setting of a step as this kitchen does it, what one time differs from it [% of it], the usual."""

    step: str
    key: str
    setting: str
    value: Interval
    spread_percent: float
    usual: float
    weighings: int


@dataclass(frozen=True, slots=True)
class LearnedLots:
    """What lots of an ingredient read on average and by how much they differ, one sd [°Bx]."""

    key: str
    mean: Interval
    deviation: Interval
    usual: float
    usual_deviation: float
    lots: int


@dataclass(frozen=True, slots=True)
class LearnedServed:
    """At what a kind of dessert really comes out of this kitchen's freezer, and its scatter [°C, K]."""

    mean: Interval
    deviation: Interval
    usual: float
    batches: int


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Everything learned: by kind of dessert ("" for none) windows and serving temperatures; the rest."""

    windows: Mapping[str, LearnedWindow]
    settings: tuple[LearnedSetting, ...]
    lots: tuple[LearnedLots, ...]
    served: Mapping[str, LearnedServed] = field(default_factory=dict)


def learn_window(points: Sequence[FirmnessPoint], usual: Range) -> LearnedWindow:
    """Return the serving window that verdicts show, from a prior at the usual window.

    Raises InputError if a verdict is none of the five steps, or a frozen water is no percentage.
    """
    for point in points:
        if point.firmness not in range(-2, 3) or not 0.0 <= point.frozen_water <= 100.0:
            problem = f"step {point.firmness} at {point.frozen_water:g} % of water cannot be"
            raise InputError(f"verdict on {point.mix}", problem, "Correct or strike it.")
    centre = middle_of(usual)
    width = 6.0 if usual.min is None or usual.max is None else max(usual.max - usual.min, 1.0)
    table = _log_chances(width)
    score = _log_normal(_MIDDLES / _MIDDLE_SD)[None, :] + _nuisance()[:, None]
    by_mix: dict[str, list[FirmnessPoint]] = {}
    for point in points:
        by_mix.setdefault(point.mix, []).append(point)
    for own in by_mix.values():
        score = score + _of_one_mix(table, own, centre)
    chance = np.exp(score - score.max())
    middles = chance.sum(axis=0)
    widths = chance.reshape(len(_WIDTH_NODES), -1).sum(axis=1)
    of_log = _interval(_WIDTH_NODES * _WIDTH_LOG_SD, widths)
    wide = Interval(*(width * float(np.exp(x)) for x in (of_log.value, of_log.low, of_log.high)))
    middle = _interval(centre + _MIDDLES, middles)
    return LearnedWindow(middle, wide, usual, len(points), len(by_mix))


def learn_setting(
    values: Sequence[float], usual: Usual, step: str = "", key: str = "", setting: str = ""
) -> LearnedSetting:
    """Return the setting of a step that weighings show, shrunk to the usual one and its spread.

    Raises InputError if there is no usual value, or a value is not finite.
    """
    if usual.value is None or not all(isfinite(value) for value in values):
        raise InputError(f"{step} of {key}", "cannot be learned", "Give the setting itself.")
    sd = max(abs(usual.value) * usual.spread_percent / 100.0, 1e-9)
    mean, scatter = _normal(values, usual.value, sd, sd / 2.0, _SETTING_LOG_SD)
    unsure = (mean.high - mean.low) / 2.0 / 1.645
    spread = sqrt(scatter.value**2 + unsure**2) / max(abs(mean.value), 1e-9)
    return LearnedSetting(step, key, setting, mean, 100.0 * spread, usual.value, len(values))


def learn_lots(
    readings: Sequence[float],
    usual: float,
    usual_deviation: float,
    key: str = "",
    plus_minus: float = 0.2,
) -> LearnedLots:
    """Return what lots read and by how much they differ, from one reading of each [°Bx at 20 °C].

    The usual ones are the table's; what one reading may be off, ``plus_minus``, is not counted as a
    difference of lots.  Raises InputError if a reading is not finite or a deviation not above zero.
    """
    if not usual_deviation > 0.0 or not all(isfinite(reading) for reading in readings):
        raise InputError(f"lots of {key}", "cannot be learned from", "Read again.")
    sd = usual_deviation
    mean, scatter = _normal(readings, usual, sd, sd, _LOTS_LOG_SD, plus_minus)
    return LearnedLots(key, mean, scatter, usual, usual_deviation, len(readings))


def learn_served(temperatures_c: Sequence[float], usual: float) -> LearnedServed:
    """Return at what a kind is served here [°C], from readings at the pass and the usual temperature.

    Raises InputError if a temperature is not finite.
    """
    if not all(isfinite(temperature) for temperature in temperatures_c):
        raise InputError("serving temperatures", "cannot be learned from", "Correct or strike one.")
    mean, scatter = _normal(temperatures_c, usual, _SERVED_SD, _SERVED_SCATTER, _SETTING_LOG_SD)
    return LearnedServed(mean, scatter, usual, len(temperatures_c))


def learn_kitchen(
    batches: Sequence[Batch], recipes: Mapping[int, Recipe], lots: Mapping[int, Lot]
) -> Kitchen:
    """Return everything that batches, the recipes as they were made (by batch) and lots teach.

    Batches that were struck teach nothing, nor does what has no usual value to start from.
    """
    batches = [batch for batch in batches if not batch.struck]
    windows = {
        kind: learn_window(points, serving_kinds().get(kind, Serving()).frozen_water)
        for kind, points in firmness_points(batches, recipes).items()
    }
    weighed: dict[tuple[str, str, str, Usual], list[float]] = {}
    for batch in batches:
        for weighing in batch.weighings:
            name, value = "grams_kept_per_gram", 0.0
            if weighing.herb_g is not None:
                grams = (weighing.before_g, weighing.herb_g, weighing.after_g)
                value = retained_from_weighing(*grams)
            else:
                step = learned(Step(weighing.step), weighing.before_g, weighing.after_g)
                name, value = step.settings[-1][0], float(step.settings[-1][1])
            usual = _usual(recipes[batch.number], weighing.key, weighing.step, name)
            if usual.value is not None:
                weighed.setdefault((weighing.step, weighing.key, name, usual), []).append(value)
    settings = tuple(
        learn_setting(values, usual, step, key, name)
        for (step, key, name, usual), values in weighed.items()
    )
    return Kitchen(windows, settings, _fruit(lots), _served(batches, recipes))


def _served(batches: Sequence[Batch], recipes: Mapping[int, Recipe]) -> dict[str, LearnedServed]:
    noted: dict[str, list[float]] = {}
    for batch in batches:
        if batch.figures.serving_c is not None:
            kind = (recipes[batch.number].serving or Serving()).kind
            noted.setdefault(kind, []).append(batch.figures.serving_c)
    return {
        kind: learn_served(values, serving_kinds().get(kind, Serving()).temperature_c)
        for kind, values in noted.items()
    }


def firmness_points(
    batches: Sequence[Batch], recipes: Mapping[int, Recipe]
) -> dict[str, list[FirmnessPoint]]:
    """Return verdicts on firmness with the frozen water that is predicted there, by kind of dessert."""
    found: dict[str, list[FirmnessPoint]] = {}
    for batch in batches:
        recipe = recipes[batch.number]
        serving = recipe.serving or Serving()
        for said in batch.verdicts:
            if said.firmness is None or said.at_c is None:
                continue
            there = check(replace(recipe, serving=replace(serving, temperature_c=said.at_c)))
            point = FirmnessPoint(
                batch.name,
                there.mix.serving_frozen_water,
                there.outlook.serving_frozen_water_deviation,
                said.firmness,
            )
            found.setdefault(serving.kind, []).append(point)
    return found


def _usual(recipe: Recipe, key: str, do: str, name: str) -> Usual:
    """The usual setting of a step for an ingredient, as the table has it."""
    entry = next((entry for entry in recipe.ingredients if entry.key == key), None)
    about = ingredient_table().get(key)
    kind = "own" if about is None else about.kind
    if kind == "herb" and about is not None:
        kind = "dried herb" if about.composition[position("water")] < _DRIED else "fresh herb"
    for step in () if entry is None else entry.steps:
        kind = str(step.get("like") or kind) if step.do == do else kind
    table = usual_settings()
    known = (table.get((do, each, "", name)) for each in (kind, ""))
    return next((usual for usual in known if usual is not None), Usual(None, 0.0, ""))


def _fruit(lots: Mapping[int, Lot]) -> tuple[LearnedLots, ...]:
    """What is learned of every ingredient that has readings and a known spread of its sugars."""
    sugars = [position(part.key) for part in COMPONENTS if part.family == "sugar"]
    readings: dict[str, list[float]] = {}
    for lot in lots.values():
        brix = reading_at_20_c(lot)
        if brix is not None:
            readings.setdefault(lot.key, []).append(brix)
    found = []
    for row in read_rows(data_folder() / "spread.csv"):
        key = row["key"]
        if row["what"] != "sugars" or key not in readings:
            continue
        table = ingredient_table()[key].composition
        more = np.array(table)
        more[sugars] *= 1.0 + number(row, "deviation", f"spread.csv, {key}") / 100.0
        more[position("water")] -= (more - table)[sugars].sum()
        usual = brix_of(table)
        found.append(learn_lots(readings[key], usual, brix_of(more) - usual, key))
    return tuple(found)


@lru_cache(maxsize=8)
def _log_chances(width: float) -> Array:
    """Log chance of each verdict, shape (5, width x scatter x step, how it feels from the middle)."""
    log_width, log_scatter, log_step = np.meshgrid(
        _WIDTH_NODES * _WIDTH_LOG_SD,
        _SCATTER_NODES * _SCATTER_LOG_SD,
        _STEP_NODES * _STEP_LOG_SD,
        indexing="ij",
    )
    half = (width / 2.0 * np.exp(log_width)).ravel()
    scatter = (_SCATTER * np.exp(log_scatter)).ravel()
    far = half + (_STEP_OF_WIDTH * width * np.exp(log_step)).ravel()
    edges = np.stack([-far, -half, half, far])
    below = _cumulative((edges[:, :, None] - _FEELS) / scatter[:, None])
    shape = (1, *below.shape[1:])
    chances = np.diff(np.concatenate([np.zeros(shape), below, np.ones(shape)]), axis=0)
    return np.asarray(np.log((1.0 - _SLIP) * np.maximum(chances, 0.0) + _SLIP / 5.0))


def _nuisance() -> Array:
    """Log prior of every node of width, scatter and step, shape (nodes,)."""
    nodes = np.meshgrid(_WIDTH_NODES, _SCATTER_NODES, _STEP_NODES, indexing="ij")
    return np.asarray(sum(_log_normal(node) for node in nodes)).ravel()


def _of_one_mix(table: Array, points: list[FirmnessPoint], centre: float) -> Array:
    """Log likelihood of the verdicts on one mix, shape (nodes, middles), summed over its error."""
    by_error = np.zeros((len(_ERROR_NODES), table.shape[1], len(_MIDDLES)))
    far = (len(_FEELS) - len(_MIDDLES)) / 2.0 - 1.0
    for index, node in enumerate(_ERROR_NODES):
        for point in points:
            feels = (point.frozen_water + node * point.deviation - centre) / _CELL
            # From the coldest middle to the warmest, cell by cell, on the table's own grid.
            place = min(max(feels, -far), far) + len(_FEELS) // 2 - len(_MIDDLES) // 2
            start = int(np.floor(place))
            row = table[point.firmness + 2][:, start : start + len(_MIDDLES) + 1]
            part = place - start
            by_error[index] += ((1.0 - part) * row[:, :-1] + part * row[:, 1:])[:, ::-1]
        by_error[index] += _log_normal(node)
    most = by_error.max(axis=0)
    return np.asarray(most + np.log(np.exp(by_error - most).sum(axis=0)))


def _normal(
    values: Sequence[float],
    usual: float,
    usual_sd: float,
    scatter: float,
    scatter_log_sd: float,
    error: float = 0.0,
) -> tuple[Interval, Interval]:
    """Mean and scatter of normal values; ``error`` is a known scatter of its own."""
    count, given = len(values), np.array(values, dtype=float)
    scatters = scatter * np.exp(_SETTING_NODES * scatter_log_sd)
    variance = scatters**2 + error**2
    score = _log_normal(_SETTING_NODES)
    mean = np.full_like(scatters, usual)
    sd = np.full_like(scatters, usual_sd)
    if count:
        average = float(given.mean())
        spread = usual_sd**2 + variance / count
        score = score - (count - 1) / 2.0 * np.log(variance)
        score = score - ((given - average) ** 2).sum() / (2.0 * variance)
        score = score - 0.5 * np.log(spread) - (average - usual) ** 2 / (2.0 * spread)
        weight = usual_sd**2 / spread
        mean = usual + weight * (average - usual)
        sd = usual_sd * np.sqrt(1.0 - weight)
    chance = np.exp(score - score.max())
    chance /= chance.sum()
    grid = np.linspace((mean - 5.0 * sd).min(), (mean + 5.0 * sd).max(), 801)
    below = chance @ _cumulative((grid - mean[:, None]) / sd[:, None])
    low, high = (float(np.interp(part, below, grid)) for part in (_TAIL, 1.0 - _TAIL))
    of_log = _interval(_SETTING_NODES * scatter_log_sd, chance)
    wide = [scatter * float(np.exp(x)) for x in (of_log.value, of_log.low, of_log.high)]
    return Interval(float(chance @ mean), low, high), Interval(*wide)


def _interval(nodes: Array, chance: Array) -> Interval:
    """Mean and 90 % interval of chances on evenly spaced nodes, each spread over its cell."""
    share = chance / chance.sum()
    half = (nodes[1] - nodes[0]) / 2.0
    edges = np.concatenate([nodes - half, nodes[-1:] + half])
    below = np.concatenate([[0.0], np.cumsum(share)])
    low, high = (float(np.interp(part, below, edges)) for part in (_TAIL, 1.0 - _TAIL))
    return Interval(float(share @ nodes), low, high)


def _log_normal(z: Array | float) -> Array:
    return np.asarray(-0.5 * np.square(z))


@lru_cache(maxsize=1)
def _cumulative_table() -> tuple[Array, Array]:
    z = np.linspace(-8.0, 8.0, 8001)
    return z, np.array([0.5 * (1.0 + erf(float(x) / sqrt(2.0))) for x in z])


def _cumulative(z: Array) -> Array:
    """Chance of a standard normal below z, to 1e-7, from a table of :func:`math.erf`."""
    return np.interp(z, *_cumulative_table())
