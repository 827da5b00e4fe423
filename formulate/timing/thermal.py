"""Thermal properties of a mix, from its composition and its own freezing curve.

Each component counts as one of the groups of Choi & Okos; what is ice and what is still water at a
temperature is what :mod:`formulate.freezing.curve` says.  Then

* enthalpy  ``H(t)`` = sum of mass x integral of heat capacity from 0 °C, less the latent heat of the ice,
* density   ``1 / sum of (mass fraction / density)``, divided by ``1 + overrun / 100`` for the air,
* conductivity: the groups but ice side by side, weighted by volume (parallel model); ice dispersed in
  that by Levy's rule, then air dispersed in the whole (Maxwell-Eucken).

The last is a choice, and a rough one.  Levy's rule lies half-way between ice as islands and ice as the
continuous phase; Fricke & Becker (2001) found it best for frozen foods and Carson et al. (J. Food Eng.
175, 2016) recommend it.  For an ice cream mix at -18 °C it gives 1.04 W/(m K) without air; islands would
give a fifth less, continuous ice a fifth more.

Also left out: heat of dilution and of solution, fat that crystallises or melts (in churning and
hardening mostly done, as a mix is aged before), the mass and heat of air, and any lag of ice or lactose
behind balance.  Compositions are rows over :data:`formulate.ingredients.COLUMNS`; only ratios matter.

References
----------
Choi & Okos (1986), as printed in ASHRAE Handbook Refrigeration (2006), ch. 9, tables 1 and 2, -40 to
150 °C; latent heat of ice 333.6 kJ/kg, there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.polynomial import polyint, polyval
from numpy.typing import ArrayLike

from formulate.arrays import Array
from formulate.freezing import COLDEST_CURVE_C, freezing_model
from formulate.ingredients import COLUMNS, COMPONENTS, position

__all__ = [
    "CHOI_OKOS",
    "COLDEST_MATERIAL_C",
    "LATENT_HEAT",
    "WARMEST_MATERIAL_C",
    "Group",
    "Material",
    "density",
    "ice_fraction",
    "ice_volume_percent",
    "material",
]


#: Coldest and warmest temperature of a material [°C].
COLDEST_MATERIAL_C = COLDEST_CURVE_C
WARMEST_MATERIAL_C = 40.0

#: Latent heat of ice at 0 °C [kJ/kg].
LATENT_HEAT = 333.6

_K_AIR = 0.024  # W/(m K), near 0 °C; from memory, handbook value

_POINTS_FROZEN = 500
_POINTS_LIQUID = 100
_NEAREST_ZERO_C = 1e-4


@dataclass(frozen=True, slots=True)
class Group:
    """Properties of one group of components as polynomials of the temperature [°C], lowest power first.

    Attributes
    ----------
    density:
        [kg/m3].
    heat_capacity:
        [kJ/(kg K)].
    conductivity:
        [W/(m K)].
    """

    density: tuple[float, ...]
    heat_capacity: tuple[float, ...]
    conductivity: tuple[float, ...]


#: The groups by name.  Liquid water below 0 °C follows the same polynomials as above.  Its heat capacity
#: has Choi & Okos' own constant, 4.1762 (from memory; within 1 % of IAPWS-95 from 1 °C on); ASHRAE prints
#: 4.1289, which is 1.2 % low.  Ethanol: constants, handbook values near 20 °C, from memory.
CHOI_OKOS: dict[str, Group] = {
    "water": Group(
        (997.18, 3.1439e-3, -3.7574e-3),
        (4.1762, -9.0864e-5, 5.4731e-6),
        (0.57109, 1.7625e-3, -6.7036e-6),
    ),
    "protein": Group(
        (1329.9, -0.5184),
        (2.0082, 1.2089e-3, -1.3129e-6),
        (0.17881, 1.1958e-3, -2.7178e-6),
    ),
    "fat": Group(
        (925.59, -0.41757),
        (1.9842, 1.4733e-3, -4.8008e-6),
        (0.18071, -2.7604e-4, -1.7749e-7),
    ),
    "carbohydrate": Group(
        (1599.1, -0.31046),
        (1.5488, 1.9625e-3, -5.9399e-6),
        (0.20141, 1.3874e-3, -4.3312e-6),
    ),
    "fibre": Group(
        (1311.5, -0.36589),
        (1.8459, 1.8306e-3, -4.6509e-6),
        (0.18331, 1.2497e-3, -3.1683e-6),
    ),
    "ash": Group(
        (2423.8, -0.28063),
        (1.0926, 1.8896e-3, -3.6817e-6),
        (0.32962, 1.4011e-3, -2.9069e-6),
    ),
    "ethanol": Group((789.0,), (2.44,), (0.17,)),
    "ice": Group(
        (916.89, -0.13071),
        (2.0623, 6.0769e-3),
        (2.2196, -6.2489e-3, 1.0154e-4),
    ),
}

_GROUP_OF_FAMILY = {
    "water": "water",
    "fat": "fat",
    "emulsifier": "fat",
    "protein": "protein",
    "sugar": "carbohydrate",
    "syrup": "carbohydrate",
    "polyol": "carbohydrate",
    "starch": "carbohydrate",
    "acid": "carbohydrate",
    "other": "carbohydrate",
    "fibre": "fibre",
    "stabiliser": "fibre",
    "mineral": "ash",
    "alcohol": "ethanol",
}

_GROUPS = tuple(CHOI_OKOS)
_WATER, _ICE = _GROUPS.index("water"), _GROUPS.index("ice")


def _shares() -> Array:
    """Return which group each column counts as, shape (columns, groups); attributes as none."""
    shares = np.zeros((len(COLUMNS), len(_GROUPS)))
    for part in COMPONENTS:
        group = "carbohydrate" if part.key == "inulin" else _GROUP_OF_FAMILY[part.family]
        shares[position(part.key), _GROUPS.index(group)] = 1.0
    return shares


_SHARES = _shares()


@dataclass(frozen=True)
class Material:
    """Enthalpy and conductivity over temperature, and one density.

    Attributes
    ----------
    temperature_c:
        Grid of temperatures [°C], shape (n,), strictly rising.
    enthalpy:
        [J/kg], 0 for all liquid at 0 °C, shape (n,), strictly rising.
    conductivity:
        [W/(m K)], with air, shape (n,), positive.
    density:
        [kg/m3], with air.

    Raises
    ------
    ValueError
        If the arrays do not fit each other or do not rise.

    Notes
    -----
    Straight lines between the points of the grid.  Every function takes any shape, and refuses what is
    beyond the grid by more than rounding.
    """

    temperature_c: Array
    enthalpy: Array
    conductivity: Array
    density: float

    def __post_init__(self) -> None:
        if not self.temperature_c.shape == self.enthalpy.shape == self.conductivity.shape:
            raise ValueError("temperature_c, enthalpy and conductivity must have one shape")
        if not (np.all(np.diff(self.temperature_c) > 0.0) and np.all(np.diff(self.enthalpy) > 0.0)):
            raise ValueError("temperature_c and enthalpy must be strictly rising")
        if not (np.all(self.conductivity > 0.0) and self.density > 0.0):
            raise ValueError("conductivity and density must be positive")

    def enthalpy_at(self, temperature_c: ArrayLike) -> Array:
        """Return the enthalpy at temperatures on the grid [J/kg]."""
        return _interpolate(temperature_c, self.temperature_c, self.enthalpy, "temperature_c", "°C")

    def temperature_at(self, enthalpy: ArrayLike) -> Array:
        """Return the temperature at enthalpies on the grid [°C]."""
        return _interpolate(enthalpy, self.enthalpy, self.temperature_c, "enthalpy", "J/kg")

    def conductivity_at(self, temperature_c: ArrayLike) -> Array:
        """Return the conductivity at temperatures on the grid [W/(m K)]."""
        return _interpolate(
            temperature_c, self.temperature_c, self.conductivity, "temperature_c", "°C"
        )


def _interpolate(value: ArrayLike, grid: Array, result: Array, name: str, unit: str) -> Array:
    wanted = np.asarray(value, dtype=float)
    slack = 1e-6 * (grid[-1] - grid[0])
    if not np.all((wanted >= grid[0] - slack) & (wanted <= grid[-1] + slack)):
        limits = f"{grid[0]:g} to {grid[-1]:g} {unit}"
        raise ValueError(f"{name} must be from {limits}, got {value!r}")
    return np.asarray(np.interp(wanted, grid, result), dtype=float)


def material(composition: ArrayLike, overrun_percent: float = 0.0) -> Material:
    """Return the thermal properties of a mix, from -30 to 40 °C.

    Parameters
    ----------
    composition:
        One mix, shape (columns,), in any unit of mass.
    overrun_percent:
        Air by volume of the mix without air [%], from 0.

    Returns
    -------
    A material of about 600 points, closest together below the initial freezing point.  Its density is
    that of the unfrozen mix at its initial freezing point (at 0 °C where there is none above -30 °C),
    with the air: overrun is measured against unfrozen mix.

    Raises
    ------
    ValueError
        If the composition is not one row of amounts that are not negative, or the overrun is negative.

    Notes
    -----
    Pure water, and all that freezes at 0 °C, melts over the last 0.0001 °C.
    """
    row = _checked(composition)
    _check_overrun(overrun_percent)
    freezing_c = np.nan
    if row[position("water")] > 0.0:
        freezing_c = float(freezing_model().initial_freezing_point(row)[0])
    grid = _grid(freezing_c)
    parts = _parts(row, grid)
    result = Material(
        temperature_c=grid,
        enthalpy=1000.0 * _enthalpy(parts, grid),
        conductivity=_conductivity(parts, grid, overrun_percent),
        density=float(
            density(row, 0.0 if np.isnan(freezing_c) else freezing_c, overrun_percent, frozen=False)
        ),
    )
    for array in (result.temperature_c, result.enthalpy, result.conductivity):
        array.flags.writeable = False
    return result


def density(
    composition: ArrayLike,
    temperature_c: ArrayLike,
    overrun_percent: float = 0.0,
    *,
    frozen: bool = True,
) -> Array:
    """Return the density of a mix [kg/m3], shape of the temperatures.

    Parameters
    ----------
    composition, overrun_percent:
        As for :func:`material`.
    temperature_c:
        Temperatures [°C], any shape, -30 to 40.
    frozen:
        Whether ice is in balance with the mix, or none has formed.

    Raises
    ------
    ValueError
        As :func:`material`, and if a temperature is outside that range.
    """
    row = _checked(composition)
    _check_overrun(overrun_percent)
    temperature = _checked_temperature(temperature_c)
    parts = _parts(row, temperature.ravel(), frozen=frozen)
    volume = _volumes(parts, temperature.ravel()).sum(axis=1) * (1.0 + overrun_percent / 100.0)
    return np.reshape(1.0 / volume, temperature.shape)


def ice_fraction(composition: ArrayLike, temperature_c: ArrayLike) -> Array:
    """Return the mass of ice per mass of mix [-], shape of the temperatures.

    Takes and refuses what :func:`density` does; 0 at and above the initial freezing point.
    """
    row = _checked(composition)
    temperature = _checked_temperature(temperature_c)
    return np.reshape(_parts(row, temperature.ravel())[:, _ICE], temperature.shape)


def ice_volume_percent(
    composition: ArrayLike, temperature_c: ArrayLike, overrun_percent: float = 0.0
) -> Array:
    """Return the volume of ice in the finished product, air included [%], shape of the temperatures.

    Takes and refuses what :func:`density` does.  Air is ``overrun_percent`` of the volume of the rest
    at that temperature; the mix swells a few percent as it freezes, which overrun does not count.

    Parameters
    ----------
    composition:
        Amounts over the columns, shape (columns,); only ratios matter.
    temperature_c:
        Temperatures [°C], any shape, as :func:`density` takes them.
    overrun_percent:
        Air [% of the volume of the rest], 0 or more.

    Returns
    -------
    ndarray
        Shape of the temperatures.

    Raises
    ------
    ValueError
        If a value is out of its range.

    Examples
    --------
    >>> import formulate as fm
    >>> mix = fm.check(fm.load("damson_sorbet")).mix.composition
    >>> warm, cold = ice_volume_percent(mix, [-6.0, -18.0])
    >>> bool(0.0 < warm < cold < 100.0)
    True
    """
    row = _checked(composition)
    _check_overrun(overrun_percent)
    temperature = _checked_temperature(temperature_c)
    volumes = _volumes(_parts(row, temperature.ravel()), temperature.ravel())
    share = 100.0 * volumes[:, _ICE] / volumes.sum(axis=1) / (1.0 + overrun_percent / 100.0)
    return np.reshape(share, temperature.shape)


def _checked(composition: ArrayLike) -> Array:
    row = np.asarray(composition, dtype=float)
    if row.shape != (len(COLUMNS),):
        raise ValueError(f"composition must have shape ({len(COLUMNS)},), got {row.shape}")
    if not (np.all(np.isfinite(row)) and np.all(row >= 0.0) and (row @ _SHARES).sum() > 0.0):
        raise ValueError("composition must be amounts from 0, not all of them 0")
    return row


def _check_overrun(overrun_percent: float) -> None:
    if not 0.0 <= overrun_percent < np.inf:
        raise ValueError(f"overrun_percent must be from 0, got {overrun_percent!r}")


def _checked_temperature(temperature_c: ArrayLike) -> Array:
    temperature = np.asarray(temperature_c, dtype=float)
    if not np.all((temperature >= COLDEST_MATERIAL_C) & (temperature <= WARMEST_MATERIAL_C)):
        limits = f"{COLDEST_MATERIAL_C:g} to {WARMEST_MATERIAL_C:g} °C"
        raise ValueError(f"temperature_c must be from {limits}, got {temperature_c!r}")
    return temperature


def _grid(freezing_c: float) -> Array:
    """Temperatures [°C] with the initial freezing point among them, evenly by ratio below it."""
    if np.isnan(freezing_c):
        return np.linspace(COLDEST_MATERIAL_C, WARMEST_MATERIAL_C, _POINTS_FROZEN + _POINTS_LIQUID)
    nearest = max(-freezing_c, _NEAREST_ZERO_C)
    frozen = -np.geomspace(-COLDEST_MATERIAL_C, nearest, _POINTS_FROZEN)
    frozen[0] = COLDEST_MATERIAL_C
    liquid = np.linspace(freezing_c, WARMEST_MATERIAL_C, _POINTS_LIQUID)
    return np.concatenate([frozen[frozen < freezing_c - 1e-9], liquid])


def _parts(row: Array, temperature: Array, *, frozen: bool = True) -> Array:
    """Mass fractions of the groups, shape (t, groups)."""
    fractions = (row @ _SHARES) / (row @ _SHARES).sum()
    parts = np.tile(fractions, (len(temperature), 1))
    cold = np.flatnonzero(temperature < 0.0)
    if frozen and cold.size:
        liquid = freezing_model().liquid_water(row, temperature[cold])[0] / (row @ _SHARES).sum()
        parts[cold, _ICE] = np.maximum(fractions[_WATER] - liquid, 0.0)
        parts[cold, _WATER] -= parts[cold, _ICE]
    return parts


def _each(temperature: Array, polynomials: Iterable[ArrayLike]) -> Array:
    """Values of one property of the groups, shape (t, groups)."""
    values = [polyval(temperature, np.asarray(powers, dtype=float)) for powers in polynomials]
    return np.asarray(np.stack(values, axis=1), dtype=float)


def _volumes(parts: Array, temperature: Array) -> Array:
    """Volumes of the groups [m3/kg mix], shape (t, groups)."""
    volumes: Array = parts / _each(temperature, (group.density for group in CHOI_OKOS.values()))
    return volumes


def _enthalpy(parts: Array, temperature: Array) -> Array:
    """Enthalpy [kJ/kg mix], shape (t,)."""
    integrals = [polyint(g.heat_capacity) for g in CHOI_OKOS.values()]
    enthalpy: Array = (parts * _each(temperature, integrals)).sum(axis=1)
    return enthalpy - LATENT_HEAT * parts[:, _ICE]


def _conductivity(parts: Array, temperature: Array, overrun_percent: float) -> Array:
    """Conductivity [W/(m K)], shape (t,)."""
    each = _each(temperature, (group.conductivity for group in CHOI_OKOS.values()))
    volumes = _volumes(parts, temperature)
    ice_share = volumes[:, _ICE] / volumes.sum(axis=1)
    volumes[:, _ICE] = 0.0
    volumes[:, _WATER] += np.finfo(float).tiny  # where all is ice there is still a matrix to name
    matrix = (volumes * each).sum(axis=1) / volumes.sum(axis=1)
    solid = _levy(matrix, each[:, _ICE], ice_share)
    return _dispersed(solid, _K_AIR, 1.0 - 1.0 / (1.0 + overrun_percent / 100.0))


def _levy(continuous: Array, particles: Array, share: Array) -> Array:
    """Levy's rule: Maxwell-Eucken with the share of volume that makes it the same either way round.

    F. L. Levy, Int. J. Refrigeration 4 (1981) 223, as in ASHRAE Handbook Refrigeration (2006), ch. 9;
    equations from memory.
    """
    ratio = particles / continuous
    sharpness = (ratio - 1.0) ** 2 / ((ratio + 1.0) ** 2 + ratio / 2.0)
    term = 2.0 / sharpness - 1.0 + 2.0 * share
    virtual = 0.5 * (term - np.sqrt(term**2 - 8.0 * share / sharpness))
    result: Array = _dispersed(continuous, particles, virtual)
    return result


def _dispersed(continuous: Array, particles: Array | float, share: Array | float) -> Array:
    """Maxwell-Eucken: conductivity of particles, ``share`` of the volume, in a continuous phase."""
    total, difference = 2.0 * continuous + particles, continuous - particles
    result: Array = continuous * (total - 2.0 * share * difference) / (total + share * difference)
    return result
