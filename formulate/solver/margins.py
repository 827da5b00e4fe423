"""Keeping a distance from the bounds of what is uncertain: the margin, in standard deviations.

Each side of an uncertain target asks for room: so many of its own standard deviations.  A standard
deviation is a norm of the weights, so it is replaced by its tangent
at a mix near by, which makes the room linear; the optimum moves a little, the tangent is laid anew there,
and after one or two turns both agree.

How far a side falls short of its room is a column of its own beside the ingredients, priced so high that
no change of the weights is worth it: first the largest shortfall is made small, then their sum, then
what the kitchen cares for (:mod:`formulate.solver.optima`).  So the margin is as large as it can be, a
range narrower than its doubt is met in its middle, and still everything is one linear programme.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.mix import (
    Mixture,
    Programme,
    Row,
    Side,
    deviations,
    per_weight,
    scale_deviation,
    sides_of,
)
from formulate.solver.objectives import Objective

__all__ = ["AGREES", "Rooms", "Uncertain", "uncertain"]

_CERTAIN = 1e-9  # of the batch: a side that is no more uncertain than that

#: How well a standard deviation and its tangent agree, of the former.
AGREES = 1e-3
_MOST_SHORT = 100.0  # rooms: more than any mix that meets the bounds falls short by
_SHORT = "short_of_room_"

#: What falling short by all of the room costs, where changes are of the order of 1: of the side that
#: falls short most, and of every side.  A two-hundredth of a standard deviation counts as much as moving
#: all of the sugars: no cook would move more for less.
_MOST_PRICE, _EACH_PRICE = 200.0, 50.0


@dataclass(frozen=True, eq=False)
class Uncertain:
    """The sides of a programme's targets that can keep a distance, and what doubts do to them.

    An exact value has no distance from itself and is left out.

    Attributes
    ----------
    sides:
        Bounds of conditions; ``row`` counts in the programme's rows.
    per_gram:
        Effect of each doubt, shape (sides, doubts, ingredients) [g/g].
    by_weight:
        What a gram of each ingredient does to each side, shape (sides, ingredients) [g/g].
    """

    mix: Mixture
    sides: tuple[Side, ...]
    per_gram: Array
    by_weight: Array

    def rooms(self, weights: Array, asked: float) -> Rooms:
        """Return the room that every side asks for near a mix.

        Parameters
        ----------
        weights:
            Where tangents are laid [g], shape (ingredients,).
        asked:
            Standard deviations to keep, 0 or more.
        """
        moved = self.per_gram @ weights
        fixed = (self.by_weight**2) @ scale_deviation(self.mix, weights) ** 2
        spreads = np.sqrt((moved**2).sum(axis=1) + fixed)
        at_least = np.maximum(spreads, _CERTAIN * self.mix.recipe.batch_g)
        slopes = asked * np.einsum("sd,sdi->si", moved, self.per_gram) / at_least[:, None]
        constants = asked * fixed / at_least
        sizes = asked * spreads
        told = spreads > _CERTAIN * self.mix.recipe.batch_g
        sides = tuple(side for side, counts in zip(self.sides, told, strict=True) if counts)
        return Rooms(sides, slopes[told], constants[told], sizes[told], spreads[told])


@dataclass(frozen=True, eq=False)
class Rooms:
    """The room that each uncertain side asks for: ``slope . weights + constant`` [g].

    Attributes
    ----------
    sizes, spreads:
        Room and standard deviation at the mix that the tangents are laid at [g], shape (sides,).
    """

    sides: tuple[Side, ...]
    slopes: Array
    constants: Array
    sizes: Array
    spreads: Array

    def kept(self, programme: Programme) -> Programme:
        """Return a programme with this room, and how far each side falls short of it as further columns.

        A shortfall is a share of the room, counted in thousandths of the batch so that solvers, which
        judge by absolute tolerances, see numbers of one size; it is more than all of the room where the
        tangent asks for more than there is at the bound.  The last column is the largest of them.
        """
        number, count = len(self.sides), len(programme.keys)
        if not number:
            return programme
        share, width = _share_g(programme.batch_g), count + number + 1
        unit = np.zeros((2 * number, width))
        places = np.arange(number)
        rows = [programme.rows[side.row] for side in self.sides]
        signs = np.array([side.sign for side in self.sides])
        unit[:number, :count] = signs[:, None] * programme.matrix[[side.row for side in self.sides]]
        unit[:number, :count] -= self.slopes
        unit[places, count + places] = self.sizes / share
        unit[number + places, count + places], unit[number:, -1] = -1.0, 1.0
        bounds = np.array(
            [row.lower if sign > 0.0 else row.upper for row, sign in zip(rows, signs, strict=True)]
        )
        least = signs * bounds + self.constants
        ways = [
            row.side if row.side in ("min", "max") else "min" if sign > 0.0 else "max"
            for row, sign in zip(rows, signs, strict=True)
        ]
        asked = [
            Row(row.key, f"margin_{way}", each, low, np.inf, row.width)
            for row, way, each, low in zip(rows, ways, unit[:number], least, strict=True)
        ]
        below = [
            Row(row.key, f"margin_{way}_share", each, 0.0, np.inf, 1.0)
            for row, way, each in zip(rows, ways, unit[number:], strict=True)
        ]
        return programme.with_columns(
            (*(f"{_SHORT}{at}" for at in range(number)), f"{_SHORT}at_most"),
            np.full(number + 1, _MOST_SHORT * share),
            (*asked, *below),
        )

    def priced(self, objective: Objective, batch_g: float) -> Objective:
        """Return an objective that prices the shortfalls of :meth:`kept` above all else."""
        number = len(self.sides)
        if not number:
            return objective
        nothing = np.zeros(number + 1)
        prices = np.append(np.full(number, _EACH_PRICE), _MOST_PRICE) / _share_g(batch_g)
        return Objective(
            np.append(objective.start, nothing),
            np.append(objective.change, nothing),
            np.append(objective.cost, prices),
        )

    def agree(self, there: Rooms, weights: Array) -> bool:
        """Whether these tangents ask at other weights for the room that was laid anew there."""
        if len(self.sides) != len(there.sides):
            return False
        laid = self.slopes @ weights + self.constants
        return bool(np.all(np.abs(laid - there.sizes) <= AGREES * there.sizes))

    def reached(self, programme: Programme, weights: Array) -> float | None:
        """Return the least distance of any uncertain side from its bound [its standard deviations].

        ``None`` where nothing is uncertain.
        """
        found = []
        for side, spread in zip(self.sides, self.spreads, strict=True):
            row = programme.rows[side.row]
            bound = row.lower if side.sign > 0.0 else row.upper
            found.append(side.sign * (float(row.coefficients @ weights) - bound) / float(spread))
        return min(found, default=None)


def _share_g(batch_g: float) -> float:
    """What the whole room of a side counts as, beside weights [g]."""
    return 1e-3 * batch_g


def uncertain(mix: Mixture, programme: Programme) -> Uncertain:
    """Return the sides of a programme that can keep a distance, with their doubts.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Of that mix.

    Returns
    -------
    Uncertain

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> len(uncertain(mix, programme(mix)).sides) > 0
    True
    """
    can = (row.condition if row.slack == 0.0 else None for row in programme.rows)
    sides = tuple(side for side in sides_of(tuple(can)) if side.condition.side != "exact")
    return Uncertain(mix, sides, deviations(mix, sides), per_weight(mix, sides))
