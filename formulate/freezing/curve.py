"""The freezing curve of a mix, from the water that each of its solutes keeps liquid.

At a temperature below 0 °C every gram of a solute keeps ``h(t)`` grams of water liquid, in a mixture
as much as alone (Zdanovskii-Stokes-Robinson additivity at the water activity that ice fixes).  A mix
with water ``W`` and solutes ``s`` therefore has

* liquid water           ``U(t) = sum of s * h(t)``,
* initial freezing point the temperature at which ``U(t) = W``,
* frozen water           ``100 * (1 - U(t) / W)`` percent of all water.

``U`` is linear in composition: the curves of many mixes at many temperatures are one matrix product,
and every wish about freezing is a linear row in the weights.

Assumptions: nothing crystallises but water; proteins, fibre, starch and gums bind no water; the mix
is in balance with its ice.  Compositions here are rows over :data:`formulate.ingredients.COLUMNS`, in
any unit of mass: only ratios matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.freezing.ice import osmolality_on_ice_line, temperature_on_ice_line
from formulate.freezing.solute_curves import Solute, solutes
from formulate.ingredients import COLUMNS, position

__all__ = [
    "COLDEST_CURVE_C",
    "FreezingModel",
    "exactly_held_at",
    "freezing_model",
    "frozen_at",
    "held_at",
]

#: Coldest temperature of any curve [°C]; below about -30 °C the liquid that is left turns glassy.
COLDEST_CURVE_C = -30.0

_BLOCK = (
    16_384  # mixes at a time: some megabytes, and few products, as each wakes a library's threads
)
_GRID_CELLS = 1000
_FINER_CELLS = 10  # the first cells are divided by ten: salts of many ions bend most near 0 °C
_WATER = position("water")


@dataclass(frozen=True)
class FreezingModel:
    """Water held liquid by every component, and the curves that follow from it.

    Attributes
    ----------
    curves:
        The solutes, in the order of the columns of ``shares``.
    shares:
        Which solutes each component counts as, shape (columns of a composition, solutes).
    """

    curves: tuple[Solute, ...]
    shares: Array

    def water_held_exact(self, temperature_c: ArrayLike) -> Array:
        """Return the water kept liquid by one gram of each component [g/g].

        Parameters
        ----------
        temperature_c:
            Temperatures [°C], shape (t,), below 0 °C and not below -35 °C.

        Returns
        -------
        Shape (t, columns).
        """
        temperature = np.atleast_1d(np.asarray(temperature_c, dtype=float))
        osmolality = osmolality_on_ice_line(temperature)
        held = np.stack([solute.held(temperature, osmolality) for solute in self.curves], axis=1)
        return held @ self.shares.T

    def water_held(self, temperature_c: ArrayLike) -> Array:
        """Return what :meth:`water_held_exact` does, from a grid and many times faster.

        Parameters
        ----------
        temperature_c:
            Temperatures [°C], shape (t,), below 0 °C and not below :data:`COLDEST_CURVE_C`.

        Raises
        ------
        ValueError
            If a temperature is outside that range.

        Notes
        -----
        Interpolates osmolality x water held over the square root of the degrees below 0 °C, in which
        salts start as straight lines and sugars flat, on about 1000 points among which are the ends
        of all measured ranges: exact on the grid, within 1e-5 of the value between.  The bound is
        for what is dissolved in a mix; of ``glucose_syrup_solids`` and the reducing power that goes
        with them only the sum has that accuracy, from a dextrose equivalent of 5 on.
        """
        temperature = np.atleast_1d(np.asarray(temperature_c, dtype=float))
        if not np.all((temperature >= COLDEST_CURVE_C) & (temperature < 0.0)):
            raise ValueError(
                f"temperature_c must be from {COLDEST_CURVE_C:g} to below 0 °C, got {temperature_c!r}"
            )
        grid, root = self._grid_root, np.sqrt(-temperature)
        cell = np.minimum(np.searchsorted(grid, root, side="right"), len(grid) - 1) - 1
        part = ((root - grid[cell]) / (grid[cell + 1] - grid[cell]))[:, None]
        held: Array = (1.0 - part) * self._grid_held[cell] + part * self._grid_held[cell + 1]
        return held / osmolality_on_ice_line(temperature)[:, None]

    def liquid_water(self, composition: ArrayLike, temperature_c: ArrayLike) -> Array:
        """Return the water that is liquid at most [unit of the composition].

        Where it exceeds the water of the mix, nothing is frozen yet.

        Parameters
        ----------
        composition:
            Mixes, shape (mixes, columns).
        temperature_c:
            Temperatures [°C], shape (t,).

        Returns
        -------
        Shape (mixes, t).
        """
        mixes = np.atleast_2d(np.asarray(composition, dtype=float))
        return mixes @ self.water_held(temperature_c).T

    def frozen_water(self, composition: ArrayLike, temperature_c: ArrayLike) -> Array:
        """Return the share of all water that is ice [%], shape (mixes, t); 0 where there is no ice."""
        mixes = np.atleast_2d(np.asarray(composition, dtype=float))
        held = np.ascontiguousarray(100.0 * self.water_held(temperature_c).T)
        frozen = np.empty((len(mixes), held.shape[1]))
        for start in range(0, len(mixes), _BLOCK):
            rows, part = mixes[start : start + _BLOCK], frozen[start : start + _BLOCK]
            water = rows[:, [_WATER]]
            dry = water <= 0.0
            np.matmul(rows / np.where(dry, 1.0, water), held, out=part)
            np.subtract(100.0, part, out=part)
            np.clip(part, 0.0, 100.0, out=part)
            part[dry[:, 0]] = 0.0
        return frozen

    def initial_freezing_point(self, composition: ArrayLike) -> Array:
        """Return the temperature at which the first ice can form [°C], shape (mixes,)."""
        return self.temperature_at_frozen_water(composition, 0.0)

    def temperature_at_frozen_water(self, composition: ArrayLike, percent: float) -> Array:
        """Return the temperature at which ``percent`` of all water is frozen [°C].

        Parameters
        ----------
        composition:
            Mixes, shape (mixes, columns), each with water.
        percent:
            Share of all water, from 0 to below 100.

        Returns
        -------
        Shape (mixes,).  0 where nothing is dissolved; NaN where the mix does not get there above
        :data:`COLDEST_CURVE_C`.

        Raises
        ------
        ValueError
            If ``percent`` is outside that range.
        """
        return self.temperatures_at_frozen_water(composition, (percent,))[:, 0]

    def temperatures_at_frozen_water(
        self, composition: ArrayLike, percents: tuple[float, ...]
    ) -> Array:
        """Return what :meth:`temperature_at_frozen_water` does for several shares, shape (mixes, p).

        Notes
        -----
        Interpolates osmolality x liquid water on the grid of :meth:`water_held`: within 0.001 °C of
        the exact root.
        """
        shares = np.asarray(percents, dtype=float)
        if not np.all((shares >= 0.0) & (shares < 100.0)):
            bad = next(share for share in shares if not 0.0 <= share < 100.0)
            raise ValueError(f"percent must be from 0 to below 100, got {float(bad)!r}")
        mixes = np.atleast_2d(np.asarray(composition, dtype=float))
        held = mixes @ self._grid_held.T
        row = np.arange(len(mixes))
        found = np.empty((len(mixes), len(shares)))
        for place, share in enumerate(shares):
            wanted = mixes[:, [_WATER]] * (1.0 - share / 100.0)
            excess = held - wanted * self._grid_osmolality
            first = np.argmax(excess <= 0.0, axis=1)
            before, after = excess[row, first - 1], excess[row, first]
            step = before / (before - after)
            warm, cold = self._grid_temperature[first - 1], self._grid_temperature[first]
            reached = np.where(first == 0, np.nan, warm + step * (cold - warm))
            found[:, place] = np.where(excess[:, 0] <= 0.0, 0.0, reached)
        return found

    @cached_property
    def _grid_root(self) -> Array:
        """Square roots of the degrees below 0 °C: evenly spread, and where measured ranges end."""
        coldest = osmolality_on_ice_line(COLDEST_CURVE_C)
        ends = [curve.osmolality_end for curve in self.curves if curve.osmolality_end < coldest]
        kinks = np.sqrt(-temperature_on_ice_line(ends))
        even = np.linspace(0.0, np.sqrt(-COLDEST_CURVE_C), _GRID_CELLS + 1)
        finer = np.linspace(0.0, even[_FINER_CELLS], 10 * _FINER_CELLS + 1)
        points = np.sort(np.concatenate([even, finer[:-1], kinks]))
        return np.asarray(points[np.append(True, np.diff(points) > 0.0)])

    @cached_property
    def _grid_temperature(self) -> Array:
        return -(self._grid_root**2)

    @cached_property
    def _grid_osmolality(self) -> Array:
        return osmolality_on_ice_line(self._grid_temperature)

    @cached_property
    def _grid_held(self) -> Array:
        """Osmolality x water held [mol/kg], shape (grid, columns), continued to 0 °C."""
        held = self.water_held_exact(self._grid_temperature[1:]) * self._grid_osmolality[1:, None]
        return np.vstack([2.0 * held[0] - held[1], held])


@lru_cache(maxsize=1)
def freezing_model() -> FreezingModel:
    """Return the model of ``reference-data/freezing``.

    Returns
    -------
    FreezingModel

    Raises
    ------
    TableError
        If a table of ``reference-data/freezing`` is damaged.

    Examples
    --------
    >>> [solute.key for solute in freezing_model().curves][:2]
    ['acetic_acid', 'calcium_chloride']
    """
    known = solutes()
    curves = tuple(known.values())
    column = {solute.key: index for index, solute in enumerate(curves)}
    shares = np.zeros((len(COLUMNS), len(curves)))
    for row in read_rows(data_folder() / "freezing" / "dissolved.csv"):
        factor = number(row, "factor", f"dissolved.csv, {row['component']}")
        shares[position(row["component"]), column[row["solute"]]] = factor
    shares.flags.writeable = False
    return FreezingModel(curves, shares)


@lru_cache(maxsize=512)
def held_at(temperatures_c: tuple[float, ...]) -> Array:
    """Return :meth:`FreezingModel.water_held` at these temperatures [g/g], read-only and remembered.

    Parameters
    ----------
    temperatures_c:
        Temperatures [°C], from -30 to below 0.

    Returns
    -------
    Shape (t, columns).

    Examples
    --------
    >>> water = held_at((-10.0,))[0]
    >>> bool(water[position("glucose")] > water[position("sucrose")])  # by the gram
    True
    """
    held = freezing_model().water_held(temperatures_c)
    held.flags.writeable = False
    return held


def frozen_at(temperatures_c: tuple[float, ...], composition: Array) -> Array:
    """Return :meth:`FreezingModel.frozen_water` of one mix [% of water], by :func:`held_at`.

    Parameters
    ----------
    temperatures_c:
        Temperatures [°C], from -30 to below 0.
    composition:
        One mix, shape (columns,).

    Returns
    -------
    Shape (t,); 0 where there is no ice, or no water.

    Examples
    --------
    >>> import formulate as fm
    >>> composition = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> warm, cold = frozen_at((-10.0, -20.0), composition)
    >>> bool(warm < cold < 100.0)
    True
    """
    water = float(composition[_WATER])
    if water <= 0.0:
        return np.zeros(len(temperatures_c))
    liquid = held_at(temperatures_c) @ composition
    return np.asarray(100.0 * np.clip(1.0 - liquid / water, 0.0, 1.0))


@lru_cache(maxsize=64)
def exactly_held_at(temperature_c: float) -> Array:
    """Return :meth:`FreezingModel.water_held_exact` at a temperature, remembered, shape (columns,).

    Parameters
    ----------
    temperature_c:
        Temperature [°C], below 0 and not below -35.

    Returns
    -------
    ndarray
        Water kept liquid by one gram of each component [g/g], shape (columns,), read-only.

    Examples
    --------
    >>> bool(exactly_held_at(-10.0)[position("sucrose")] > 0.0)
    True
    """
    held = freezing_model().water_held_exact([temperature_c])[0]
    held.flags.writeable = False
    return np.asarray(held)
