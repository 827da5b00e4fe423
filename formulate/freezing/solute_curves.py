"""How much water each dissolved substance keeps liquid beside ice.

Every solute has a curve ``h(t)``: grams of water that one gram of it keeps liquid at temperature
``t``.  Along its own measured freezing points the curve is an osmotic coefficient, fitted; past their
end it goes on, without a step, as a Norrish equation through the end of the fit.  ``reference-data/
freezing/solutes.csv`` holds the coefficients, their ranges, errors and sources.

How far a curve can be trusted goes with it: within the measured range by the error of its fit, beyond
by the distance to another credible continuation, a constant number of water molecules bound per
molecule of solute.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import ArrayLike, NDArray

from formulate.data import data_folder, number, read_rows
from formulate.errors import TableError
from formulate.freezing.ice import MOLAR_MASS_WATER, osmolality_on_ice_line, temperature_on_ice_line

__all__ = ["Solute", "solutes"]

_GRAMS_WATER_PER_MOL = 1000.0 * MOLAR_MASS_WATER
_CONVERGED = 1e-14  # of a mole fraction
_KELVIN = 273.15

# Beyond its range, the standard deviation of a curve is half its distance to the other continuation,
# taken as the half width of a uniform distribution.  For sucrose this is 6 % at -20 °C, where
# published continuations differ by 8 %, and 3 % at its eutectic, which the curve misses by 2.5 %.
_HALF_OF_UNIFORM = 0.5 / np.sqrt(3.0)

# Salts keep their last osmotic coefficient; how far it may drift is a judgement of this project:
# 10 % by the time the osmolality is many times that of the last measurement.
_DRIFT_OF_LEVEL = 0.1


@dataclass(frozen=True, slots=True)
class Solute:
    """One dissolved substance and its curve.

    Attributes
    ----------
    key:
        Name of the curve.
    molar_mass:
        Molar mass [g/mol].
    particles:
        Coefficients of (particles per molecule x osmotic coefficient) in powers of the osmolality, or
        of its square root for salts (``of_root``).  Empty where there is only the Norrish equation.
    osmolality_end:
        Where the measured range of the fit ends [mol/kg water]; 0 where nothing was fitted.
    norrish:
        Norrish constant times absolute temperature [K], taken as constant.  ``None`` means that past
        the measured range the osmotic coefficient keeps its last value.
    fit_rms_c:
        Root mean square error of the fit [°C]; 0 where nothing was fitted.
    norrish_deviation:
        Relative standard deviation of the Norrish constant where nothing was fitted, else 0.
    source:
        Where the numbers come from.
    """

    key: str
    molar_mass: float
    particles: tuple[float, ...]
    of_root: bool
    osmolality_end: float
    norrish: float | None
    fit_rms_c: float
    norrish_deviation: float
    source: str

    def water_held(self, temperature_c: ArrayLike) -> NDArray[np.float64]:
        """Return the water kept liquid beside ice [g water per g solute].

        Parameters
        ----------
        temperature_c:
            Temperatures [°C], any shape, below 0 and not below the end of the ice line.

        References
        ----------
        Zdanovskii-Stokes-Robinson additivity: R. H. Stokes, R. A. Robinson, J. Phys. Chem. 70 (1966)
        2126.  Norrish equation: R. S. Norrish, J. Food Technol. 1 (1966) 25.
        """
        temperature = np.asarray(temperature_c, dtype=float)
        return self.held(temperature, osmolality_on_ice_line(temperature))

    def held(
        self, temperature: NDArray[np.float64], osmolality: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Return :meth:`water_held` where the osmolality on the ice line is known [mol/kg]."""
        if self.norrish is None:
            return self._osmotic(osmolality)
        beyond = self._norrish(osmolality, temperature, self.norrish)
        if not self.particles:
            return beyond
        return np.where(osmolality <= self.osmolality_end, self._osmotic(osmolality), beyond)

    def water_held_deviation(self, temperature_c: ArrayLike) -> NDArray[np.float64]:
        """Return the standard deviation of :meth:`water_held` [g water per g solute].

        Takes the same temperatures.  See the head of this module for what it counts.
        """
        temperature = np.asarray(temperature_c, dtype=float)
        osmolality = osmolality_on_ice_line(temperature)
        held = self.held(temperature, osmolality)
        if not self.particles:
            assert self.norrish is not None
            more = self.norrish * (1.0 + self.norrish_deviation)
            changed = self._norrish(osmolality, temperature, more)
            return np.asarray(np.abs(changed - held))
        fit = held * self.fit_rms_c / np.abs(temperature)
        if self.norrish is None:
            drift = held * _DRIFT_OF_LEVEL * (1.0 - self.osmolality_end / osmolality)
        else:
            drift = _HALF_OF_UNIFORM * np.abs(self._hydrated(osmolality) - held)
        return np.asarray(np.hypot(fit, np.where(osmolality <= self.osmolality_end, 0.0, drift)))

    def _hydrated(self, osmolality: NDArray[np.float64]) -> NDArray[np.float64]:
        """Water held if each molecule binds a constant number of water molecules past the fit's end.

        R. A. Robinson, R. H. Stokes, Electrolyte Solutions (1959), chapter 9, for non-electrolytes: the
        water that is not bound and the hydrated solute mix ideally.
        """
        free, free_end = (
            1.0 / np.expm1(MOLAR_MASS_WATER * value) for value in (osmolality, self.osmolality_end)
        )
        held_end = float(self._osmotic(np.asarray(self.osmolality_end)))
        bound = held_end * self.molar_mass / _GRAMS_WATER_PER_MOL - free_end
        return np.asarray(_GRAMS_WATER_PER_MOL / self.molar_mass * (bound + free))

    def _osmotic(self, osmolality: NDArray[np.float64]) -> NDArray[np.float64]:
        """Water held by the fitted osmotic coefficient, which keeps its last value past the end."""
        argument = np.minimum(osmolality, self.osmolality_end)
        variable = np.sqrt(argument) if self.of_root else argument
        particles = polyval(variable, self.particles)
        return 1000.0 * particles / (self.molar_mass * osmolality)

    def _norrish(
        self, osmolality: NDArray[np.float64], temperature: NDArray[np.float64], norrish: float
    ) -> NDArray[np.float64]:
        """Water held by ln a_w = ln(1 - x) - K x**2, solved for the solute's mole fraction x."""
        constant = norrish / (temperature + _KELVIN)
        log_activity = -MOLAR_MASS_WATER * osmolality
        fraction = -np.expm1(log_activity)
        for _ in range(12):  # Newton; starts near the root and converges quadratically
            error = np.log1p(-fraction) - constant * fraction**2 - log_activity
            slope = -1.0 / (1.0 - fraction) - 2.0 * constant * fraction
            before, fraction = fraction, np.clip(fraction - error / slope, 1e-12, 0.999)
            if np.all(np.abs(fraction - before) <= _CONVERGED):
                break
        return _GRAMS_WATER_PER_MOL / self.molar_mass * (1.0 - fraction) / fraction


@lru_cache(maxsize=1)
def solutes() -> dict[str, Solute]:
    """Return the solute curves of ``reference-data/freezing/solutes.csv`` by key.

    Raises
    ------
    TableError
        If the table is damaged.
    """
    found = (_solute(row) for row in read_rows(data_folder() / "freezing" / "solutes.csv"))
    return {solute.key: solute for solute in found}


def _solute(row: dict[str, str]) -> Solute:
    where = f"solutes.csv, {row['solute']}"
    for column, choices in (("variable", ("osmolality", "root")), ("beyond", ("norrish", "level"))):
        if row[column] not in choices:
            raise TableError(f'{where}: {column} is "{row[column]}"; it must be one of {choices}.')
    fitted = Solute(
        key=row["solute"],
        molar_mass=number(row, "molar_mass", where),
        particles=tuple(float(part) for part in row["particles"].split()),
        of_root=row["variable"] == "root",
        osmolality_end=number(row, "osmolality_end", where) if row["particles"] else 0.0,
        norrish=None,
        fit_rms_c=number(row, "fit_rms_c", where) if row["particles"] else 0.0,
        norrish_deviation=0.0,
        source=row["source"],
    )
    if row["beyond"] == "norrish":
        if fitted.particles:
            return replace(fitted, norrish=_norrish_through_end(fitted))
        constant = number(row, "norrish_k", where) * number(row, "norrish_kelvin", where)
        deviation = number(row, "norrish_sd_percent", where) / 100.0
        return replace(fitted, norrish=constant, norrish_deviation=deviation)
    if not fitted.particles:
        raise TableError(f"{where}: has neither an osmotic fit nor a Norrish constant.")
    return fitted


def _norrish_through_end(fitted: Solute) -> float:
    """Return the Norrish constant times temperature [K] that meets a fit where it ends."""
    temperature = temperature_on_ice_line(fitted.osmolality_end)
    moles_water = fitted.water_held(temperature) * fitted.molar_mass / _GRAMS_WATER_PER_MOL
    fraction = 1.0 / (1.0 + moles_water)
    log_activity = -MOLAR_MASS_WATER * fitted.osmolality_end
    constant = (np.log1p(-fraction) - log_activity) / fraction**2
    return float(constant * (temperature + _KELVIN))
