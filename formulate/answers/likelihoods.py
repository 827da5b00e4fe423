"""What was measured of a pot against what a story foretells of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulate.answers import mishaps as told
from formulate.arrays import Array
from formulate.checks import positive_number, within
from formulate.errors import InputError
from formulate.ingredients import HIGHEST_BRIX

__all__ = [
    "ACID",
    "READING",
    "SWEETNESS",
    "WEIGHT",
    "Against",
    "Evidence",
    "Foretelling",
    "Seen",
    "against",
    "foretell",
    "pot_deviation_g",
    "seen_of",
]


#: What is foretold of a pot: grams, °Bx, g of sucrose and of acid per 100 g, and the first reading [°Bx].
WEIGHT, READING, SWEETNESS, ACID, _FIRST = range(5)
_OF = (told.MASS, told.DISSOLVED, told.WATER, told.SWEET, told.ACID)

#: How well a pot is weighed, one standard deviation [g, and of its weight]; common practice, no source.
_WEIGHED_G, _WEIGHED = 5.0, 0.005


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of the whole pot.

    Parameters
    ----------
    reads:
        Readings at 20 °C [°Bx], the first before any other, each 0 to 85; none is needed where the
        pot was weighed.
    weighs_g:
        The pot without its vessel [g], above 0.
    reads_plus_minus:
        One standard deviation of a reading [°Bx], above 0.
    weighs_plus_minus_g:
        Of the weight [g], above 0; ``None``: the more of 5 g and half a percent (common practice, no
        source).

    Raises
    ------
    InputError
        If nothing was measured, or a value is out of its range.

    Examples
    --------
    >>> Evidence((26.5,), weighs_g=1702.0).weighs_deviation_g
    8.51
    """

    reads: tuple[float, ...] = ()
    weighs_g: float | None = None
    reads_plus_minus: float = 0.2
    weighs_plus_minus_g: float | None = None

    def __post_init__(self) -> None:
        """Check every value."""
        if isinstance(self.reads, str) or not isinstance(self.reads, Sequence):
            problem = f"is {self.reads!r}, not several readings"
            raise InputError("evidence, reads", problem, "Give a tuple of readings.")
        if not self.reads and self.weighs_g is None:
            problem = "nothing was measured of the pot"
            raise InputError("evidence", problem, "Give a reading, its weight, or both.")
        reads = tuple(
            within(each, 0.0, HIGHEST_BRIX, "reading", "Read again.", " °Bx") for each in self.reads
        )
        object.__setattr__(self, "reads", reads)
        for name in ("weighs_g", "reads_plus_minus", "weighs_plus_minus_g"):
            value = getattr(self, name)
            if value is not None or name == "reads_plus_minus":
                object.__setattr__(self, name, positive_number(value, f"evidence, {name}"))

    @property
    def weighs_deviation_g(self) -> float | None:
        """One standard deviation of the weight [g], ``None`` where the pot was not weighed."""
        return (
            None
            if self.weighs_g is None
            else self.weighs_plus_minus_g or pot_deviation_g(self.weighs_g)
        )


@dataclass(frozen=True)
class Seen:
    """Evidence as rows: which foretold value each is of, its value and its variance."""

    of: Array
    values: Array
    variances: Array


@dataclass(frozen=True)
class Foretelling:
    """What a story foretells, shape (cells, 5), and its covariance, shape (cells, 5, 5)."""

    possible: told.Possible
    values: Array
    spread: Array


@dataclass(frozen=True)
class Against:
    """A story against the evidence.

    Attributes
    ----------
    log_chance, off:
        Of prior and evidence together; least distance from the evidence [standard deviations].
    cells:
        Chance of each of its amounts, shape (cells,).
    foretold:
        Before the evidence, shape (cells, 5).
    then, spread:
        After the evidence, and covariance, shapes (cells, 5) and (cells, 5, 5).
    """

    log_chance: float
    off: float
    cells: Array
    foretold: Array
    then: Array
    spread: Array


def seen_of(evidence: Evidence) -> Seen:
    """Return the evidence as rows."""
    count = len(evidence.reads)
    of = [_FIRST, *[READING] * (count - 1)][:count]
    values, sizes = list(evidence.reads), [evidence.reads_plus_minus] * count
    if evidence.weighs_g is not None and evidence.weighs_deviation_g is not None:
        of.append(WEIGHT)
        values.append(evidence.weighs_g)
        sizes.append(evidence.weighs_deviation_g)
    return Seen(np.array(of), np.array(values), np.array(sizes) ** 2)


def foretell(possible: told.Possible, doubted: tuple[Array, Array]) -> Foretelling:
    """Return what a story foretells; ``doubted`` as :func:`mishaps.doubted` gives it."""
    mass, dissolved, water, sweet, acid = (possible.totals[:, column] for column in _OF)
    juice = dissolved + water
    reading = 100.0 * dissolved / juice
    foretold = np.stack(
        [mass, reading, 100.0 * sweet / mass, 100.0 * acid / mass, reading + possible.misread],
        axis=1,
    )
    slopes = np.zeros((len(mass), 5, 5))
    slopes[:, WEIGHT, told.MASS] = 1.0
    for row in (READING, _FIRST):
        slopes[:, row, told.DISSOLVED] = 100.0 * water / juice**2
        slopes[:, row, told.WATER] = -100.0 * dissolved / juice**2
    for row, column in ((SWEETNESS, told.SWEET), (ACID, told.ACID)):
        slopes[:, row, column] = 100.0 / mass
        slopes[:, row, told.MASS] = -foretold[:, row] / mass
    totals = np.einsum("ci,iab->cab", possible.grams**2, doubted[0] + doubted[1])
    spread = slopes @ totals @ slopes.transpose(0, 2, 1)
    if len(mass) > 1:  # an amount is anywhere in its cell
        within = np.gradient(foretold, axis=0) / np.sqrt(12.0)
        spread = spread + np.einsum("ca,cb->cab", within, within)
    return Foretelling(possible, foretold, spread)


def against(story: Foretelling, seen: Seen) -> Against:
    """Return a story against what was measured."""
    foretold, spread = story.values, story.spread
    of = seen.of
    covariance = spread[:, of][:, :, of] + np.diag(seen.variances)
    missed = seen.values - foretold[:, of]
    gain = np.linalg.solve(covariance, spread[:, of]).transpose(0, 2, 1)
    distance = np.einsum(
        "ca,ca->c", missed, np.linalg.solve(covariance, missed[:, :, None])[..., 0]
    )
    logs = -0.5 * (distance + np.linalg.slogdet(2.0 * np.pi * covariance)[1])
    highest = float(logs.max())
    cells = np.exp(logs - highest)
    return Against(
        log_chance=float(np.log(story.possible.prior) + highest + np.log(cells.mean())),
        off=float(np.sqrt(distance.min())),
        cells=cells / cells.sum(),
        foretold=foretold,
        then=foretold + np.einsum("cab,cb->ca", gain, missed),
        spread=spread - gain @ spread[:, of],
    )


def pot_deviation_g(grams: float) -> float:
    """Return one standard deviation of the weight of a pot [g]."""
    return max(_WEIGHED_G, _WEIGHED * grams)
