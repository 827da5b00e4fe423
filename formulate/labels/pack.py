"""Label in, composition out: what a pack's nutrition label and list of ingredients say of what is in it.

Unknown are the share of each word, of each plausible making of a word (see
:mod:`formulate.labels.pack_models`),
and where each component of a making lies in its play.  What a label says stands in linear rows over them:
shares add up to 100 and fall in the order of the list, figures lie within their rounding.  The least and
the most of each component that any making allows are its bounds; of the mixtures of these makings, which
keep every row as well, the one nearest to the middle of all bounds is the estimate.  Where nothing keeps
every row, those are widened that do it with the least widening, and a message names each.

The bounds hold as far as words, rounding and plays of ``pack_models.csv`` do.  A label states an average.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import SolverFault
from formulate.ingredients import COLUMNS, COMPONENT_KEYS, position, properties
from formulate.labels.pack_models import (
    Label,
    Making,
    makings_of,
    most_of,
    read_label,
    strength_tolerance,
    volume_weights,
)
from formulate.messages import Message, message
from formulate.solver import linear

__all__ = ["ETHANOL_DENSITY", "PackComposition", "PackMaking", "pack_composition"]


#: Density of ethanol at 20 °C [g/mL]; International Organisation of Legal Metrology, R 22.
ETHANOL_DENSITY = 0.78924

_TOTALS = ("total_solids", "sugars", "fat", "protein")
_DENSITY, _STRENGTH = "density_g_per_ml", "alcohol_percent_vol"
_MACROS = ("fat", "carbohydrate", "protein")
_TAIL = 2.0  # % below which words may stand in any order; Regulation 1169/2011, Annex VII
_PLACE = 5.0  # % out of order that weigh as much as a figure out by its rounding (judgement)
_MOISTURE = 1.0  # g of water in 100 g that no word brings (judgement)
_TINY = 1e-7
_NARROW = 1e-3  # half-widths that do not count [g]
_UNPRINTED_FIBRE = 10.0  # g that a label may leave out
_WORTH_SAYING = 0.5  # deviation of a component [g per 100 g]
_WATER, _YOLK = position("water"), position("egg_yolk_solids")
_SYRUP, _POWER = position("glucose_syrup_solids"), position("syrup_reducing_power")


@dataclass(frozen=True, slots=True)
class PackMaking:
    """One word of the list: the ingredients it was taken for, and its share of the pack [%]."""

    word: str
    keys: tuple[str, ...]
    share: float
    low: float
    high: float


@dataclass(frozen=True)
class PackComposition:
    """An estimated composition.

    Attributes
    ----------
    composition, low, high, deviation:
        g per 100 g over :data:`formulate.ingredients.COLUMNS`: the estimate, its components adding up to
        100; the least and the most of each column; and its standard deviation, as if all between these
        were equally likely.
    makings:
        The words of the list, in its order.
    totals:
        Value, least and most of total solids, sugars, fat and protein [g per 100 g], surer than their
        parts; and of ``density_g_per_ml`` where volumes matter.
    misfits, notes:
        Keys of what does not fit the rest; and what was assumed and what is least sure.
    """

    composition: Array
    low: Array
    high: Array
    deviation: Array
    makings: tuple[PackMaking, ...]
    totals: Mapping[str, tuple[float, ...]]
    misfits: tuple[str, ...]
    notes: tuple[Message, ...]
    basis: str = "estimated"

    def own(self) -> dict[str, float]:
        """Return it as a recipe's own ``composition``: two decimals, adding up to 100.

        Egg-yolk solids are given as what they consist of: ``egg_yolk_solids`` would count them twice.
        """
        hundredths = 100.0 * self.composition[: len(COMPONENT_KEYS)]
        whole = np.floor(hundredths + 1e-9)
        missing = round(10_000.0 - whole.sum())
        whole[np.argsort(whole - hundredths, kind="stable")[:missing]] += 1.0
        pairs = zip(COMPONENT_KEYS, whole, strict=True)
        found = {key: float(count) / 100.0 for key, count in pairs if count > 0.0}
        if COLUMNS[_SYRUP] in found:
            ratio = self.composition[_POWER] / self.composition[_SYRUP]
            found["dextrose_equivalent"] = round(100.0 * float(ratio), 1)
        return found


def pack_composition(label: Mapping[str, Any], place: str = "pack") -> PackComposition:
    """Return what a pack holds, as far as its label tells.

    Parameters
    ----------
    label:
        As printed, a number or text ("<0.5", "38.0"; text keeps its decimals): ``energy_kcal``, ``fat``,
        ``saturates``, ``carbohydrate``, ``sugars``, ``added_sugars``, ``polyols``, ``fibre``, ``protein``
        [g], ``salt`` [g] or ``sodium_mg``; the names of a US panel mean the same.  ``ingredients``: the
        words in their order, with a share where one is printed ("raspberries 90 %").  ``rules``: "eu", or
        "us" (carbohydrate with fibre, rounding of 21 CFR 101.9).  ``per``: "100 g", "100 ml", or
        "serving" with ``serving_g``.  ``alcohol_percent_vol``; ``density_g_per_ml`` if measured, else it
        is estimated; ``cocoa_percent`` and ``milk_solids_percent`` (dry, at least).
    place:
        Where the label stands, for messages.

    Returns
    -------
    PackComposition
        The likeliest composition with its bounds and standard deviation, g per 100 g.

    Raises
    ------
    InputError
        If a field or word is unknown, a number is none, or figures contradict each other.

    Examples
    --------
    >>> label = {"fat": 0.2, "sugars": 9.0, "ingredients": ["raspberries 90 %", "sugar"]}
    >>> found = pack_composition(label)
    >>> round(sum(found.own().values()))
    100
    """
    read = read_label(label, place)
    # One word more than the list has: the moisture that the finished thing took up.
    listed = [*read.words, "water"]
    unknowns = _unknowns([makings_of(word, f"{place}, ingredients") for word in listed])
    volume = _volume(read, unknowns)
    rows = [*_word_rows(read, unknowns), *_figure_rows(read, unknowns, volume)]
    rows, misfits = _widened(unknowns, rows)
    found = replace(_estimate(read, unknowns, rows, volume), misfits=tuple(misfits))
    return replace(found, notes=tuple(_notes(read, found, misfits)))


@dataclass(frozen=True)
class _Row:
    """lower <= coefficients . unknowns <= upper; what it stands for, and one unit of missing it."""

    key: str
    coefficients: Array
    lower: float
    upper: float
    width: float = 1.0


@dataclass(frozen=True)
class _Unknowns:
    """g of each making in 100 g, each followed by where its moving components lie in their play."""

    words: Sequence[tuple[Making, ...]]
    effect: Array  # g of each column per unit of each unknown, shape (unknowns, columns)
    making: NDArray[np.int64]  # to which making an unknown belongs
    shares: Array  # which unknowns are shares of which word, shape (words, unknowns)
    fixed: tuple[_Row, ...]  # rows that are never widened

    def figure(self, key: str) -> tuple[Array, Array]:
        """Return the row of a figure with its least and with its most weights."""
        pairs = [made.figures[key] for word in self.words for made in word]
        low, high = (np.array([pair[side] for pair in pairs])[self.making] for side in (0, 1))
        return (self.effect * low).sum(axis=1), (self.effect * high).sum(axis=1)


def _unknowns(words: Sequence[tuple[Making, ...]]) -> _Unknowns:
    """A component is row + play (2 q - share), with q from 0 to the share of its making."""
    blocks: list[Array] = []
    owners: list[int] = []
    for made in (made for word in words for made in word):
        moving = np.flatnonzero(made.play)
        moving = moving if len(moving) > 1 else moving[:0]
        moves = np.zeros((len(moving), len(COLUMNS)))
        for move, at in zip(moves, moving, strict=True):
            move[at] = made.play[at] / 100.0
            if at == _SYRUP:
                move[_POWER] = move[at] * made.composition[_POWER] / made.composition[at]
            if at != _WATER and made.composition[_YOLK]:
                solids = 100.0 - made.composition[_WATER]
                move[_YOLK] = move[at] * made.composition[_YOLK] / solids
        owners += [len(blocks)] * (1 + len(moves))
        blocks.append(np.vstack([made.composition / 100.0 - moves.sum(axis=0), 2.0 * moves]))
    effect, making = np.vstack(blocks), np.array(owners)
    shares = np.flatnonzero(np.diff(making, prepend=-1))
    unit, mass = np.eye(len(effect)), effect[:, : len(COMPONENT_KEYS)].sum(axis=1)
    fixed = [_Row("sum", unit[shares].sum(axis=0), 100.0, 100.0)]
    for index in range(len(blocks)):
        share, *moved = np.flatnonzero(making == index)
        fixed += [_Row("play", unit[at] - unit[share], -np.inf, 0.0) for at in moved]
        if moved:
            own = np.where(making == index, mass, 0.0) - unit[share]
            fixed.append(_Row("mass", own, 0.0, 0.0))
    bands = np.repeat(np.arange(len(words)), [len(word) for word in words])
    by_word = [unit[shares[bands == at]].sum(axis=0) for at in range(len(words))]
    return _Unknowns(words, effect, making, np.array(by_word), tuple(fixed))


def _volume(read: Label, unknowns: _Unknowns, measured: bool = True) -> tuple[Array, Array]:
    """Least and most mL of 100 g, as rows: by measured density if there is one, or by components."""
    if measured and _DENSITY in read.numbers:
        density, half = read.numbers[_DENSITY]
        whole = unknowns.shares.sum(axis=0)
        return whole / (density + half), whole / (density - half)
    low, high = volume_weights(read.numbers.get(_STRENGTH, (0.0, 0.0))[0])
    return unknowns.effect @ low, unknowns.effect @ high


def _word_rows(read: Label, unknowns: _Unknowns) -> list[_Row]:
    """The order of the list, printed shares, and how much there usually is at most.

    From the first word on that is usually below 2 % the others are too, in any order; unless the pack is
    made of such words for the most part.
    """
    shares = unknowns.shares
    rows = [_Row("moisture", shares[-1], 0.0, _MOISTURE, _MOISTURE)]
    most = [most_of(word) for word in unknowns.words[:-1]]
    small = [at for at, limit in enumerate(most) if limit < 100.0]
    tail = small[0] if small and small[0] > 0 and 2 * len(small) <= len(most) else len(most)
    for at, word in enumerate(read.words):
        if at in read.quantities:
            low, high = read.quantities[at]
            rows.append(_Row(f"share of {word}", shares[at], low, high, high - low))
        elif at >= tail:
            rows.append(_Row(f"smallness of {word}", shares[at], 0.0, min(most[at], _TAIL), _TAIL))
        if 0 < at < tail:
            rows.append(_Row(f"place of {word}", shares[at] - shares[at - 1], -np.inf, 0.0, _PLACE))
    return rows


def _figure_rows(read: Label, unknowns: _Unknowns, volume: tuple[Array, Array]) -> list[_Row]:
    """Printed figures: what counts least is not above, what counts most not below the interval.

    Energy is a row only where it is needed, because fat, carbohydrate or protein is not printed.
    """
    rows = []

    def between(key: str, least: Array, most: Array, low: float, high: float, width: float) -> None:
        rows.append(_Row(key, least, -np.inf, high, width))
        rows.append(_Row(key, most, low, np.inf, width))

    for key, (low, high) in read.intervals.items():
        if key == "energy_kcal" and read.intervals.keys() >= set(_MACROS):
            continue
        whole = "total_carbohydrate" if read.us and key == "carbohydrate" else key
        least, most = unknowns.figure(whole)
        if read.by_volume:
            least, most = least - high / 100.0 * volume[1], most - low / 100.0 * volume[0]
            between(key, least, most, 0.0, 0.0, high - low)
        else:
            between(key, least, most, low, high, high - low)
    for key in ("cocoa", "milk_solids"):
        if f"{key}_percent" in read.numbers:
            value, half = read.numbers[f"{key}_percent"]
            rows.append(_Row(f"{key}_percent", unknowns.figure(key)[1], value - half, np.inf))
    if _DENSITY in read.numbers:
        density, half = read.numbers[_DENSITY]
        ends = 100.0 / (density + half), 100.0 / (density - half)
        between(_DENSITY, *_volume(read, unknowns, False), *ends, ends[1] - ends[0])
    if _STRENGTH in read.numbers:
        strength = read.numbers[_STRENGTH][0]
        off = strength_tolerance(made for word in unknowns.words for made in word)
        alcohol = unknowns.effect[:, position("ethanol")] / ETHANOL_DENSITY
        least = alcohol - (strength + off) / 100.0 * volume[1]
        most = alcohol - max(strength - off, 0.0) / 100.0 * volume[0]
        between(_STRENGTH, least, most, 0.0, 0.0, off)
    return rows


def _widened(unknowns: _Unknowns, rows: list[_Row]) -> tuple[list[_Row], dict[str, float]]:
    """The rows; where nothing keeps all, those that miss in the least way are widened by twice that."""
    matrix, lower, upper = _arrays([*unknowns.fixed, *rows])
    count, misses = matrix.shape[1], np.eye(len(matrix))[:, len(unknowns.fixed) :]
    cost = np.concatenate([np.zeros(count), np.tile([1.0 / row.width for row in rows], 2)])
    found = _least(cost, np.hstack([matrix, misses, -misses]), lower, upper)
    wide, misfits = [], {}
    for row, less, more in zip(rows, *np.split(found[count:], 2), strict=True):
        if less + more > 10.0 * _TINY:
            misfits[row.key] = float(less + more)
        lower_end, upper_end = row.lower - 2.0 * less - _TINY, row.upper + 2.0 * more + _TINY
        wide.append(replace(row, lower=lower_end, upper=upper_end))
    return wide, misfits


def _estimate(
    read: Label, unknowns: _Unknowns, rows: list[_Row], volume: tuple[Array, Array]
) -> PackComposition:
    """Corners in all directions that matter: their ends are the bounds, a mixture the estimate."""
    matrix, lower, upper = _arrays([*unknowns.fixed, *rows])
    corners: list[Array] = []

    def ends(low_row: Array, high_row: Array) -> tuple[float, float]:
        least = _least(low_row, matrix, lower, upper)
        most = _least(-high_row, matrix, lower, upper)
        corners.extend([least, most])
        return max(float(low_row @ least), 0.0), max(float(high_row @ most), 0.0)

    sums = np.array([properties()[key].weights for key in _TOTALS])
    wanted = np.vstack([unknowns.effect.T, sums @ unknowns.effect.T, unknowns.shares])
    bounds = np.array([ends(row, row) if row.any() else (0.0, 0.0) for row in wanted])
    room = ends(*volume) if read.by_volume or _STRENGTH in read.numbers else None
    centre = _middle(np.array(corners), wanted, bounds)
    composition = np.maximum(centre @ unknowns.effect, 0.0)
    composition *= 100.0 / composition[: len(COMPONENT_KEYS)].sum()
    low = np.minimum(bounds[: len(COLUMNS), 0], composition)
    high = np.maximum(bounds[: len(COLUMNS), 1], composition)
    for array in (composition, low, high, deviation := (high - low) / sqrt(12.0)):
        array.flags.writeable = False
    values = np.clip(wanted @ centre, *bounds.T)
    spans = [tuple(map(float, span)) for span in np.column_stack([values, bounds])]
    totals = dict(zip(_TOTALS, spans[len(COLUMNS) :], strict=False))
    if room is not None:
        density = 200.0 / float(centre @ (volume[0] + volume[1]))
        totals[_DENSITY] = (density, 100.0 / room[1], 100.0 / room[0])
    keys = [tuple(making.key for making in word) for word in unknowns.words]
    shares = zip(read.words, keys, spans[-len(keys) :], strict=False)
    makings = tuple(PackMaking(word, found, *span) for word, found, span in shares)
    shown = MappingProxyType(totals)
    return PackComposition(composition, low, high, deviation, makings, shown, (), ())


def _middle(corners: Array, wanted: Array, bounds: Array) -> Array:
    """The mixture of corners nearest to the middle of all bounds: least squares in half-widths.

    A mixture of corners keeps every row that they keep.  That its weights add up to 1 is one more row
    of squares: of s times a mixture, s² |distance|² + (1 - s)² is least for s = 1 / (1 + |distance|²),
    and smaller the nearer the mixture is, so that the nearest one is found and only s is left to divide.
    """
    from scipy.optimize import nnls  # takes long to import

    half = (bounds[:, 1] - bounds[:, 0]) / 2.0
    wide = half > _NARROW
    away = (corners @ wanted[wide].T - bounds[wide].mean(axis=1)) / half[wide]
    weights, _ = nnls(
        np.vstack([away.T, np.ones(len(corners))]), np.append(np.zeros(wide.sum()), 1.0)
    )
    return np.asarray(weights @ corners / weights.sum())


def _arrays(rows: Sequence[_Row]) -> tuple[Array, Array, Array]:
    matrix = np.array([row.coefficients for row in rows])
    return matrix, np.array([row.lower for row in rows]), np.array([row.upper for row in rows])


def _least(cost: Array, matrix: Array, lower: Array, upper: Array) -> Array:
    """Minimise cost . x with lower <= matrix x <= upper and x not below zero."""
    count = len(cost)
    found = linear(cost, matrix, lower, upper, np.zeros(count), np.full(count, np.inf))
    if found is None:
        raise SolverFault("A pack that had a making before has none any more. Please report it.")
    return found.x


def _notes(read: Label, found: PackComposition, misfits: Mapping[str, float]) -> list[Message]:
    said = [message("pack_is_estimated")]
    for key, miss in misfits.items():
        said.append(message("pack_misfit", key=key, value=miss, printed=read.printed.get(key)))
    if _DENSITY in found.totals and _DENSITY not in read.numbers:
        value, low, high = found.totals[_DENSITY]
        said.append(message("pack_density_estimated", value=value, low=low, high=high))
    worst = int(np.argmax(found.deviation[: len(COMPONENT_KEYS)]))
    if found.deviation[worst] > _WORTH_SAYING:
        low, high = float(found.low[worst]), float(found.high[worst])
        said.append(message("pack_least_sure", key=COLUMNS[worst], low=low, high=high))
    return said + _on_energy(read)


def _on_energy(read: Label) -> list[Message]:
    """A warning if the energy is not what the other figures give within their rounding."""
    known = read.intervals
    if not known.keys() >= {"energy_kcal", *_MACROS} or _STRENGTH in read.numbers:
        return []
    fat, carbohydrate, protein = (np.array(known[key]) for key in _MACROS)
    low, high = 9.0 * fat + 4.0 * (carbohydrate + protein)
    fibre = known.get("fibre", (0.0, _UNPRINTED_FIBRE))[1]
    low -= 4.0 * (known.get("polyols", (0.0, 0.0))[1] + (fibre if read.us else 0.0))
    high += 0.0 if read.us else 2.0 * fibre
    if known["energy_kcal"][1] >= low and known["energy_kcal"][0] <= high:
        return []
    printed = read.printed["energy_kcal"]
    return [message("pack_energy_misfit", printed=printed, low=float(low), high=float(high))]
