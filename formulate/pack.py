"""Label in, composition out: what a pack's nutrition label and list of ingredients say of what is in it.

Unknown are the share of each word, of each plausible making of a word (see :mod:`formulate.pack_models`),
and where each component of a making lies in its play.  What a label says stands in linear rows over them:
shares add up to 100 and fall in the order of the list, printed figures lie within their rounding, alcohol
by volume within its tolerance.  The least and the most of each component that any making allows are its
bounds; the mean of all makings found on the way, which keeps every row, is the estimate.  Where nothing
keeps every row, those are widened that do it with the least widening, and a sentence names each.

The bounds hold as far as the words, the rounding and the plays of ``pack_models.csv`` do.  A label states
an average: this lot may differ, and a reading or the maker's specification comes first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.components import COLUMNS, COMPONENT_KEYS, position
from formulate.errors import InputError, SolverFault
from formulate.pack_models import (
    Label,
    Making,
    makings_of,
    most_of,
    read_label,
    strength_tolerance,
    volume_weights,
)
from formulate.properties import properties

__all__ = ["ETHANOL_DENSITY", "PackComposition", "PackMaking", "Span", "pack_composition"]

Array = NDArray[np.float64]

#: Density of ethanol at 20 °C [g/mL]; International Organisation of Legal Metrology, R 22.
ETHANOL_DENSITY = 0.78924

_TOTALS = ("total_solids", "sugars", "fat", "protein")
_DENSITY = "density_g_per_ml"
_TAIL = 2.0  # % below which words may stand in any order; Regulation 1169/2011, Annex VII
_TINY = 1e-7
_WORTH_SAYING = 0.5  # deviation of a component [g per 100 g]
_WATER, _ETHANOL = position("water"), position("ethanol")
_POWER, _SYRUP = position("syrup_reducing_power"), position("glucose_syrup_solids")
_YOLK = position("egg_yolk_solids")
_EU_ENERGY = {"fat": 9.0, "carbohydrate": 4.0, "protein": 4.0, "fibre": 2.0}
_UNPRINTED_FIBRE = 10.0  # g that a label may leave out
_UNITS = {"energy_kcal": "kcal"}


@dataclass(frozen=True, slots=True)
class Span:
    """An estimate with the least and the most that the label allows."""

    value: float
    low: float
    high: float


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
    composition:
        g per 100 g over :data:`formulate.components.COLUMNS`, the components adding up to 100.
    low, high:
        Least and most of each column [g per 100 g].  Where one is low another is high.
    deviation:
        Standard deviation of each column [g per 100 g], as if all from low to high were equally likely.
    makings:
        The words of the list, in its order.
    totals:
        Total solids, sugars, fat and protein [g per 100 g], often much surer than their parts; and
        ``density_g_per_ml`` of a drink.
    misfits:
        Keys of what does not fit the rest and was widened.
    sentences:
        What was assumed, what does not fit, what is least sure.
    basis:
        ``estimated``, always.
    """

    composition: Array
    low: Array
    high: Array
    deviation: Array
    makings: tuple[PackMaking, ...]
    totals: Mapping[str, Span]
    misfits: tuple[str, ...]
    sentences: tuple[str, ...]
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
        "us" (carbohydrate with fibre, rounding of 21 CFR 101.9).  ``per``: "100 g", "100 ml" or
        "serving", with ``serving_g``.  ``alcohol_percent_vol``; ``density_g_per_ml`` if measured, else it
        is estimated; ``cocoa_percent`` and ``milk_solids_percent`` (dry, at least).
    place:
        Where the label stands, for messages.

    Raises
    ------
    InputError
        If a field or word is unknown, a number is none, or figures contradict each other.
    """
    read = read_label(label, place)
    words = [makings_of(word, f"{place}, ingredients") for word in read.words]
    strength = read.numbers.get("alcohol_percent_vol", (0.0, 0.0))[0]
    kinds = {
        "alcohol_percent_vol": any(made.composition[_ETHANOL] for word in words for made in word),
        "cocoa_percent": any(made.kind == "cocoa" for word in words for made in word),
        "milk_solids_percent": any(made.kind == "dairy" for word in words for made in word),
    }
    for key, there in kinds.items():
        if read.numbers.get(key, (0.0, 0.0))[0] > 0.0 and not there:
            what = key.split("_")[0]
            problem = f"name nothing with {what}, and the pack states {what}"
            remedy = f'Add what brings the {what} to the words, "alcohol" for example.'
            raise InputError(f"{place}, ingredients", problem, remedy.replace("alcohol", what))
    unknowns = _unknowns(words)
    volume = _volume(read, unknowns, strength)
    rows = [*_word_rows(read, words, unknowns), *_figure_rows(read, unknowns, volume, strength)]
    rows, misfits = _fitted(unknowns, rows)
    found = _estimate(read, unknowns, rows, volume)
    return replace(found, misfits=tuple(misfits), sentences=_sentences(read, found, misfits))


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
    """g of each making in 100 g, each followed by where its moving components lie in their play.

    Attributes
    ----------
    effect:
        g of each column per unit of each unknown, shape (unknowns, columns).
    making:
        To which making an unknown belongs.
    shares:
        Which unknowns are shares of which word, shape (words, unknowns).
    fixed:
        Rows that are never widened.
    """

    words: Sequence[tuple[Making, ...]]
    effect: Array
    making: NDArray[np.int64]
    shares: Array
    fixed: tuple[_Row, ...]

    def figure(self, key: str) -> tuple[Array, Array]:
        """Return the row of a figure with its least and with its most weights."""
        pairs = [made.figures[key] for word in self.words for made in word]
        low, high = (np.array([pair[side] for pair in pairs])[self.making] for side in (0, 1))
        return (self.effect * low).sum(axis=1), (self.effect * high).sum(axis=1)


def _unknowns(words: Sequence[tuple[Making, ...]]) -> _Unknowns:
    """A component is row + play (2 q - share), with q from 0 to the share of its making."""
    blocks, owners, bands = [], [], []
    for number, made in [(number, made) for number, word in enumerate(words) for made in word]:
        moving = np.flatnonzero(made.play)
        moves = np.zeros((len(moving) if len(moving) > 1 else 0, len(COLUMNS)))
        for move, at in zip(moves, moving, strict=False):
            move[at] = made.play[at] / 100.0
            if at == _SYRUP:
                move[_POWER] = move[at] * made.composition[_POWER] / made.composition[at]
            if at != _WATER and made.composition[_YOLK]:
                solids = 100.0 - made.composition[_WATER]
                move[_YOLK] = move[at] * made.composition[_YOLK] / solids
        owners += [len(blocks)] * (1 + len(moves))
        bands += [number, *[-1] * len(moves)]
        blocks.append(np.vstack([made.composition / 100.0 - moves.sum(axis=0), 2.0 * moves]))
    effect, making, of_word = np.vstack(blocks), np.array(owners), np.array(bands)
    unit = np.eye(len(effect))
    fixed = [_Row("sum", (of_word >= 0).astype(float), 100.0, 100.0)]
    mass = effect[:, : len(COMPONENT_KEYS)].sum(axis=1)
    for index in range(len(blocks)):
        share, *moved = np.flatnonzero(making == index)
        fixed += [_Row("play", unit[at] - unit[share], -np.inf, 0.0) for at in moved]
        if moved:
            fixed.append(_Row("mass", np.where(making == index, mass, 0.0) - unit[share], 0.0, 0.0))
    shares = np.array([of_word == number for number in range(len(words))], dtype=float)
    return _Unknowns(words, effect, making, shares, tuple(fixed))


def _volume(read: Label, unknowns: _Unknowns, strength: float) -> tuple[Array, Array]:
    """Least and most mL of 100 g, as rows."""
    low, high = (unknowns.effect @ weights for weights in volume_weights(strength))
    if _DENSITY not in read.numbers:
        return low, high
    density, half = read.numbers[_DENSITY]
    whole = unknowns.shares.sum(axis=0)
    return whole / (density + half), whole / (density - half)


def _word_rows(
    read: Label, words: Sequence[tuple[Making, ...]], unknowns: _Unknowns
) -> list[_Row]:
    """The order of the list, printed shares, and how much there usually is at most.

    From the first word on that is usually below 2 % the others are too, in any order; unless the pack is
    made of such words for the most part.
    """
    shares = unknowns.shares
    most = [most_of(word) for word in words]
    few = sum(limit < 100.0 for limit in most)
    tail = next((at for at, limit in enumerate(most) if limit < 100.0), len(words))
    if 2 * few > len(words) or tail == 0:
        tail = len(words)
    rows = []
    for at, word in enumerate(read.words):
        if at in read.quantities:
            low, high = read.quantities[at]
            rows.append(_Row(f"share of {word}", shares[at], low, high, high - low))
        elif at >= tail:
            limit = min(most[at], _TAIL)
            rows.append(_Row(f"smallness of {word}", shares[at], 0.0, limit, limit))
        if 0 < at < tail:
            row = shares[at] - shares[at - 1]
            rows.append(_Row(f"place of {word}", row, -np.inf, 0.0, _TAIL))
    return rows


def _figure_rows(
    read: Label, unknowns: _Unknowns, volume: tuple[Array, Array], strength: float
) -> list[_Row]:
    """Printed figures: what counts least is not above, what counts most not below the interval.

    Energy is a row only where it is needed, because fat, carbohydrate or protein is not printed.
    """
    rows = []
    for key, (low, high) in read.intervals.items():
        if key == "energy_kcal" and {"fat", "carbohydrate", "protein"} <= set(read.intervals):
            continue
        whole = "total_carbohydrate" if read.us and key == "carbohydrate" else key
        least, most = unknowns.figure(whole)
        width = max(high - low, _TINY)
        if read.by_volume:
            least, most = least - high / 100.0 * volume[1], most - low / 100.0 * volume[0]
            low = high = 0.0
        rows.append(_Row(key, least, -np.inf, high, width))
        rows.append(_Row(key, most, low, np.inf, width))
    for key in ("cocoa", "milk_solids"):
        if f"{key}_percent" in read.numbers:
            value, half = read.numbers[f"{key}_percent"]
            row = unknowns.figure(key)[1]
            rows.append(_Row(f"{key}_percent", row, value - half, np.inf, 2.0 * half))
    if _DENSITY in read.numbers:
        density, half = read.numbers[_DENSITY]
        low_row, high_row = (unknowns.effect @ weights for weights in volume_weights(strength))
        width = 100.0 * half / density
        rows.append(_Row(_DENSITY, low_row, -np.inf, 100.0 / (density - half), width))
        rows.append(_Row(_DENSITY, high_row, 100.0 / (density + half), np.inf, width))
    if "alcohol_percent_vol" in read.numbers:
        kinds = frozenset(made.kind for word in unknowns.words for made in word)
        off = strength_tolerance(strength, kinds)
        row, key = unknowns.effect[:, _ETHANOL] / ETHANOL_DENSITY, "alcohol_percent_vol"
        more = row - (strength + off) / 100.0 * volume[1]
        less = row - max(strength - off, 0.0) / 100.0 * volume[0]
        rows += [_Row(key, more, -np.inf, 0.0, off), _Row(key, less, 0.0, np.inf, off)]
    return rows


def _fitted(unknowns: _Unknowns, rows: list[_Row]) -> tuple[list[_Row], dict[str, float]]:
    """The rows, widened where nothing keeps them all: the least sum of misses over widths."""
    count, missing = unknowns.effect.shape[0], np.eye(len(rows))
    blank = np.zeros((len(unknowns.fixed), 2 * len(rows)))
    matrix = np.vstack(
        [
            np.hstack([_matrix(unknowns.fixed), blank]),
            np.hstack([_matrix(rows), missing, -missing]),
        ]
    )
    cost = np.concatenate([np.zeros(count), np.tile([1.0 / row.width for row in rows], 2)])
    lower, upper = _bounds([*unknowns.fixed, *rows])
    found = _least(cost, matrix, lower, upper)
    if found is None:
        raise SolverFault("No making adds up to 100 g; the table of makings is damaged.")
    below, above = found[count : count + len(rows)], found[count + len(rows) :]
    wide, misfits = [], {}
    for row, less, more in zip(rows, below, above, strict=True):
        if less + more > _TINY * max(row.width, 1.0):
            misfits[row.key] = float(less + more)
        wide.append(
            replace(row, lower=row.lower - less - _TINY, upper=row.upper + more + _TINY)
        )
    return wide, misfits


def _estimate(
    read: Label, unknowns: _Unknowns, rows: list[_Row], volume: tuple[Array, Array]
) -> PackComposition:
    """Corners in all directions that matter: their ends are the bounds, their mean the estimate."""
    every = [*unknowns.fixed, *rows]
    matrix, (lower, upper) = _matrix(every), _bounds(every)
    columns = np.flatnonzero(np.abs(unknowns.effect).max(axis=0))
    totals = [properties()[key].weights for key in _TOTALS]
    corners = []

    def ends(low_row: Array, high_row: Array) -> tuple[float, float]:
        found = [_least(row, matrix, lower, upper) for row in (low_row, -high_row)]
        if found[0] is None or found[1] is None:
            raise SolverFault("The making that was found before cannot be found again.")
        corners.extend(found)
        return max(float(low_row @ found[0]), 0.0), max(float(high_row @ found[1]), 0.0)

    low, high = np.zeros(len(COLUMNS)), np.zeros(len(COLUMNS))
    for at in columns:
        low[at], high[at] = ends(unknowns.effect[:, at], unknowns.effect[:, at])
    sums = [ends(unknowns.effect @ weights, unknowns.effect @ weights) for weights in totals]
    parts = [ends(row, row) for row in unknowns.shares]
    room = ends(*volume) if read.by_volume or "alcohol_percent_vol" in read.numbers else None
    centre = _nearest_rows(np.array(corners), unknowns)
    composition = np.maximum(centre @ unknowns.effect, 0.0)
    composition *= 100.0 / composition[: len(COMPONENT_KEYS)].sum()
    low, high = np.minimum(low, composition), np.maximum(high, composition)
    for array in (composition, low, high, deviation := (high - low) / sqrt(12.0)):
        array.flags.writeable = False
    spans = {
        key: Span(float(composition @ weights), *pair)
        for key, weights, pair in zip(_TOTALS, totals, sums, strict=True)
    }
    if room is not None:
        value = 200.0 / float(centre @ (volume[0] + volume[1]))
        spans[_DENSITY] = Span(value, 100.0 / room[1], 100.0 / room[0])
    makings = tuple(
        PackMaking(word, tuple(made.key for made in taken), float(row @ centre), *pair)
        for word, taken, row, pair in zip(
            read.words, unknowns.words, unknowns.shares, parts, strict=True
        )
    )
    totals_read = MappingProxyType(spans)
    return PackComposition(composition, low, high, deviation, makings, totals_read, (), ())


def _nearest_rows(corners: Array, unknowns: _Unknowns) -> Array:
    """The mixture of corners whose makings differ least from their rows, in squares of their plays.

    From equal weights, by multiplicative steps: a mixture of corners keeps every row that they keep.
    """
    shares = unknowns.shares.sum(axis=0) > 0
    owner = np.flatnonzero(shares)[unknowns.making]
    typical = np.maximum(corners.mean(axis=0)[owner], 1e-3)
    away = ((2.0 * corners - corners[:, owner]) / typical)[:, ~shares]
    if not away.size:
        return np.asarray(corners.mean(axis=0))
    gram = away @ away.T / max(away.shape[1], 1)
    weights = np.full(len(corners), 1.0 / len(corners))
    for _ in range(STEPS):
        weights *= np.exp(-RATE * gram @ weights)
        weights /= weights.sum()
    return np.asarray(weights @ corners)

import os
STEPS=int(os.environ.get("STEPS","0")); RATE=0.5

def _matrix(rows: Sequence[_Row]) -> Array:
    return np.array([row.coefficients for row in rows])


def _bounds(rows: Sequence[_Row]) -> tuple[Array, Array]:
    return np.array([row.lower for row in rows]), np.array([row.upper for row in rows])


def _least(cost: Array, matrix: Array, lower: Array, upper: Array) -> Array | None:
    """Minimise cost . x with lower <= matrix x <= upper and x not below zero; ``None`` if impossible."""
    from scipy import optimize  # imported late: it takes longer than solving

    equal = lower == upper
    above, below = np.isfinite(lower) & ~equal, np.isfinite(upper) & ~equal
    answer = optimize.linprog(
        cost,
        A_ub=np.vstack([matrix[below], -matrix[above]]),
        b_ub=np.concatenate([upper[below], -lower[above]]),
        A_eq=matrix[equal],
        b_eq=lower[equal],
        method="highs",
    )
    if answer.status == 2:
        return None
    if answer.status != 0 or answer.x is None or not np.isfinite(answer.x).all():
        raise SolverFault(f"The solver stopped without an answer: {answer.message}")
    return np.asarray(answer.x)


def _sentences(
    read: Label, found: PackComposition, misfits: Mapping[str, float]
) -> tuple[str, ...]:
    """What was assumed, what does not fit, what is least sure."""
    said = ["The composition is estimated from the label; the maker's specification comes first."]
    for key, miss in misfits.items():
        printed = f", printed {read.printed[key]}," if key in read.printed else ""
        said.append(
            f"The {key.replace('_', ' ')}{printed} does not fit the other figures and the words, by "
            f"{miss:.2g}: the label may round more, a word be missing or mean something else."
        )
    energy = _energy_miss(read)
    if energy:
        said.append(energy)
    if _DENSITY in found.totals and _DENSITY not in read.numbers:
        span = found.totals[_DENSITY]
        said.append(
            f"Volumes were turned into weights with a density estimated from the composition, "
            f"{span.value:.3f} ({span.low:.3f} to {span.high:.3f}) g/mL; weigh 100 mL to be surer."
        )
    worst = int(np.argmax(found.deviation[: len(COMPONENT_KEYS)]))
    if found.deviation[worst] > _WORTH_SAYING:
        name = COLUMNS[worst].replace("_", " ")
        said.append(
            f"Least sure is {name}: {found.low[worst]:.1f} to {found.high[worst]:.1f} g in 100 g."
        )
    return tuple(said)


def _energy_miss(read: Label) -> str:
    """A sentence if the energy is not what the other figures give within their rounding."""
    known = read.intervals
    if not {"energy_kcal", "fat", "carbohydrate", "protein"} <= set(known) or read.numbers.get(
        "alcohol_percent_vol", (0.0, 0.0)
    )[0]:
        return ""
    fibre = known.get("fibre", (0.0, _UNPRINTED_FIBRE))
    sums = [9.0 * known["fat"][side] + 4.0 * known["protein"][side] for side in (0, 1)]
    low = sums[0] + 4.0 * known["carbohydrate"][0] - 4.0 * known.get("polyols", (0.0, 0.0))[1]
    high = sums[1] + 4.0 * known["carbohydrate"][1]
    low, high = (low - 4.0 * fibre[1], high) if read.us else (low, high + 2.0 * fibre[1])
    if known["energy_kcal"][1] >= low and known["energy_kcal"][0] <= high:
        return ""
    return (
        f"The energy, printed {read.printed['energy_kcal']} kcal, does not fit fat, carbohydrate and "
        f"protein, which give {low:.0f} to {high:.0f}: one of these may be misread."
    )
