"""What a refractometer or hydrometer shows, as degrees Brix at 20 °C and back.

Degrees Brix [°Bx] are grams of sucrose in 100 g of a pure solution at 20 °C.  Of anything else an
instrument says which sucrose solution bends light, or floats a hydrometer, as it does.

A refractometer that corrects the temperature by itself is given 20 °C.  Density is in g/mL; specific
gravity is the density over that of water, both at 20 °C.  Hydrometers are taken as made for 20 °C: the
stem of each says for which temperature it was made, and many older ones were made for 15 or 15.6 °C.
Pulp, fat and air lift a hydrometer or weigh on it, so it is for clear juice and syrup.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from types import MappingProxyType

import numpy as np
from numpy.polynomial.polynomial import polyval

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, nearest

__all__ = [
    "HIGHEST_BRIX",
    "SCALES",
    "Scale",
    "acid_shortfall",
    "baume_of_brix",
    "brix_at_20_c",
    "brix_of_baume",
    "brix_of_density",
    "brix_of_refractive_index",
    "brix_of_specific_gravity",
    "density_at_20_c",
    "density_of_brix",
    "hydrometer_at_20_c",
    "refractive_index_of_brix",
    "refractometer_correction",
    "specific_gravity_of_brix",
]


#: Highest reading of any scale [°Bx].
HIGHEST_BRIX = 85.0

#: Brix by the refractive index at 589 nm and 20 °C, lowest power first: the usual fit to the table of
#: ICUMSA, as printed at liquisearch.com/brix/tables.
_BRIX_BY_INDEX = np.array([-99127.4536, 318417.95, -413145.80, 270177.93, -88885.21, 11758.74])
_INDEX_OF_WATER, _HIGHEST_INDEX = 1.3330, 1.5041

#: Density at 20 °C [kg/m3] by the mass fraction of sucrose, lowest power first: the form of ICUMSA
#: SPS-4, from memory.
_DENSITY_BY_FRACTION = np.array([998.2023, 385.1785, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890])
_WATER_AT_20_C = float(_DENSITY_BY_FRACTION[0]) / 1000.0  # g/mL

#: Modulus of the Baumé scale for liquids heavier than water (dictionarycentral.com).  Hydrometers made
#: for 15 °C may follow 144.3: at 30 °Bé that is 0.14 °Bé less.
_BAUME_MODULUS = 145.0

#: Sucrose solutions widen more than water does [kg/m3 per °C and per °Bx]: from densities at 15 and
#: 20 °C to 37 °Bx (Nicolaus Copernicus University, Toruń, second physics laboratory, tables).
_WIDENING = 0.005

#: Cubic expansion of the glass of a hydrometer [1/°C]; from memory, soda glass.
_GLASS = 2.5e-5
_HYDROMETER_C = (10.0, 30.0)

_STEPS_OF_INVERSE = 60


def brix_of_refractive_index(index: float, place: str = "refractive_index") -> float:
    """Return the Brix [°Bx] of a refractive index at 589 nm and 20 °C, 1.3330 to 1.5041.

    Within 0.07 °Bx of the CRC Handbook's table from 1 to 80 °Bx; water comes out at -0.01.

    Raises
    ------
    InputError
        If the index is out of its range.
    """
    _within(place, index, _INDEX_OF_WATER, _HIGHEST_INDEX, "", "Water shows 1.3330: read again.")
    return float(polyval(index, _BRIX_BY_INDEX))


def refractive_index_of_brix(brix: float, place: str = "brix") -> float:
    """Return the refractive index at 589 nm and 20 °C of 0 to 85 °Bx.

    Raises
    ------
    InputError
        If the Brix is out of its range.
    """
    _brix(place, brix)
    return _inverse(brix_of_refractive_index, brix, _INDEX_OF_WATER, _HIGHEST_INDEX)


def density_of_brix(brix: float, place: str = "brix") -> float:
    """Return the density [g/mL] at 20 °C of 0 to 85 °Bx.

    Within 0.0001 g/mL of the CRC Handbook's table to 42 °Bx, 0.0005 too high at 80 °Bx.

    Raises
    ------
    InputError
        If the Brix is out of its range.
    """
    _brix(place, brix)
    return float(polyval(brix / 100.0, _DENSITY_BY_FRACTION)) / 1000.0


def brix_of_density(density: float, place: str = "density") -> float:
    """Return the Brix [°Bx] of a density at 20 °C [g/mL], that of water to that of 85 °Bx.

    Raises
    ------
    InputError
        If the density is out of its range.
    """
    low, high = _WATER_AT_20_C, density_of_brix(HIGHEST_BRIX)
    remedy = "Give it in g/mL, 1.045 for example, and not 1045."
    _within(place, density, low, high, " g/mL", remedy)
    return _inverse(density_of_brix, density, 0.0, HIGHEST_BRIX)


def specific_gravity_of_brix(brix: float, place: str = "brix") -> float:
    """Return the specific gravity 20/20 °C of 0 to 85 °Bx; errors as :func:`density_of_brix`."""
    return density_of_brix(brix, place) / _WATER_AT_20_C


def brix_of_specific_gravity(gravity: float, place: str = "specific_gravity") -> float:
    """Return the Brix [°Bx] of a specific gravity 20/20 °C, 1 to that of 85 °Bx.

    Raises
    ------
    InputError
        If the specific gravity is out of its range.
    """
    high = specific_gravity_of_brix(HIGHEST_BRIX)
    _within(place, gravity, 1.0, high, "", "Water shows 1.000: give 1.045, and not 45 or 1045.")
    return _inverse(specific_gravity_of_brix, gravity, 0.0, HIGHEST_BRIX)


def baume_of_brix(brix: float, place: str = "brix") -> float:
    """Return degrees Baumé, ``145 - 145 / specific gravity``, of 0 to 85 °Bx.

    Raises
    ------
    InputError
        If the Brix is out of its range.
    """
    return _BAUME_MODULUS - _BAUME_MODULUS / specific_gravity_of_brix(brix, place)


def brix_of_baume(baume: float, place: str = "baume") -> float:
    """Return the Brix [°Bx] of degrees Baumé at 20 °C, 0 to that of 85 °Bx.

    For sucrose syrup and juice.  Glucose syrup has its own table of Baumé and solids.

    Raises
    ------
    InputError
        If the reading is out of its range.
    """
    high = baume_of_brix(HIGHEST_BRIX)
    _within(place, baume, 0.0, high, " °Bé", "Water shows 0, a syrup of half sugar 27: read again.")
    return _inverse(baume_of_brix, baume, 0.0, HIGHEST_BRIX)


def density_at_20_c(density: float, temperature_c: float, place: str = "density") -> float:
    """Return the density at 20 °C [g/mL] of a solution with this density at another temperature.

    Water widens by the formula of the CIPM (Tanaka and others, 2001, from memory), the dissolved sugar
    by 0.005 kg/m3 per °C and °Bx; this project's own estimate, about 0.1 °Bx at 10 and 30 °C.

    Parameters
    ----------
    density:
        True density [g/mL], that of water to that of 85 °Bx once it is at 20 °C.
    temperature_c:
        10 to 30 °C.

    Raises
    ------
    InputError
        If a value is out of its range.
    """
    low, high = _HYDROMETER_C
    if not low <= temperature_c <= high:
        raise InputError(
            place,
            f"was read at {temperature_c:g} °C, and a hydrometer is corrected from {low:g} to "
            f"{high:g} °C only",
            "Let the sample come to room temperature and read again.",
        )
    at_20 = density + _water_kg_m3(20.0) / 1000.0 - _water_kg_m3(temperature_c) / 1000.0
    brix = brix_of_density(max(at_20, _WATER_AT_20_C), place)
    # The widening depends on the answer itself, but so little that two rounds settle it.
    for _ in range(2):
        corrected = at_20 + _WIDENING * brix * (temperature_c - 20.0) / 1000.0
        brix = brix_of_density(max(corrected, _WATER_AT_20_C), place)
    return corrected


def hydrometer_at_20_c(reading: float, temperature_c: float, place: str = "density") -> float:
    """Return the density at 20 °C [g/mL] from a hydrometer made for 20 °C and read at another.

    As :func:`density_at_20_c`, with the widening of the glass.

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    >>> round(brix_of_density(hydrometer_at_20_c(1.0838, 25.0)) - brix_of_density(1.0838), 1)
    0.3
    """
    true_density = reading * (1.0 - _GLASS * (temperature_c - 20.0))
    return density_at_20_c(true_density, temperature_c, place)


def refractometer_correction(brix: float, temperature_c: float, place: str = "brix") -> float:
    """Return what to add to a refractometer reading [°Bx] taken at another temperature than 20 °C.

    Between the rows of ``brix_temperature.csv``: the table of the OIV up to 15 °C, the International
    Table of 1936 from 25 °C.  Below 10 and above 70 °Bx the nearest column holds.  Published tables
    differ among each other by up to 0.05 °Bx at 15 °C.

    Parameters
    ----------
    brix:
        Reading [°Bx].
    temperature_c:
        5 to 30 °C.

    Raises
    ------
    InputError
        If the temperature is outside the table.
    """
    temperatures, readings, table = _correction_table()
    if not temperatures[0] <= temperature_c <= temperatures[-1]:
        raise InputError(
            place,
            f"was read at {temperature_c:g} °C, and the correction table goes from "
            f"{temperatures[0]:g} to {temperatures[-1]:g} °C",
            "Let the sample come to room temperature and read again.",
        )
    by_temperature = [float(np.interp(brix, readings, row)) for row in table]
    return float(np.interp(temperature_c, temperatures, by_temperature))


def acid_shortfall(acid_percent: float) -> float:
    """Return how much too little a refractometer shows [°Bx] in juice with so much citric acid.

    ``0.012 + 0.193 a - 0.0004 a2``, a in g per 100 g, 0 to 20: from memory, within 0.02 °Bx of a printed
    table of the trade (scribd.com/document/378753169) from 0.2 to 20 %.  For advice; no reading is
    changed by it.

    Raises
    ------
    InputError
        If the acid is out of its range.
    """
    _within("acid", acid_percent, 0.0, 20.0, " %", "Give it in g per 100 g of juice.")
    if acid_percent <= 0.0:
        return 0.0
    return 0.012 + 0.193 * acid_percent - 0.0004 * acid_percent**2


@dataclass(frozen=True, slots=True)
class Scale:
    """One scale that a lot can be read on.

    ``at_20_c`` takes the reading, its temperature [°C] and where it stands, and returns °Bx at 20 °C;
    ``refractometer`` says whether light or a float reads it.
    """

    name: str
    unit: str
    refractometer: bool
    at_20_c: Callable[[float, float, str], float]


def _by_light(value: float, temperature_c: float, place: str) -> float:
    _brix(place, value)
    return value + refractometer_correction(value, temperature_c, place)


def _by_index(value: float, temperature_c: float, place: str) -> float:
    return _by_light(max(brix_of_refractive_index(value, place), 0.0), temperature_c, place)


def _by_density(value: float, temperature_c: float, place: str) -> float:
    return brix_of_density(hydrometer_at_20_c(value, temperature_c, place), place)


def _by_gravity(value: float, temperature_c: float, place: str) -> float:
    density = density_of_brix(brix_of_specific_gravity(value, place))
    return _by_density(density, temperature_c, place)


def _by_baume(value: float, temperature_c: float, place: str) -> float:
    return _by_density(density_of_brix(brix_of_baume(value, place)), temperature_c, place)


def _by_float(value: float, temperature_c: float, place: str) -> float:
    return _by_density(density_of_brix(value, place), temperature_c, place)


#: Scales of a reading, by key.
SCALES: Mapping[str, Scale] = MappingProxyType(
    {
        "brix": Scale("Brix, refractometer", "°Bx", True, _by_light),
        "refractive_index": Scale("Refractive index", "", True, _by_index),
        "brix_hydrometer": Scale("Brix, hydrometer", "°Bx", False, _by_float),
        "baume": Scale("Baumé, hydrometer", "°Bé", False, _by_baume),
        "density": Scale("Density, hydrometer", "g/mL", False, _by_density),
        "specific_gravity": Scale("Specific gravity, hydrometer", "", False, _by_gravity),
    }
)


def brix_at_20_c(
    value: float, scale: str = "brix", temperature_c: float = 20.0, place: str = "reading"
) -> float:
    """Return a reading on any of :data:`SCALES` as °Bx at 20 °C.

    Raises
    ------
    InputError
        If the scale is unknown, or the reading or its temperature out of range.

    Examples
    --------
    >>> round(brix_at_20_c(30.0, "baume"), 1)
    55.2
    """
    if scale not in SCALES:
        problem = f'"{scale}" is not one of {", ".join(SCALES)}'
        raise InputError(f"{place}, scale", problem, nearest(scale, SCALES) or "Choose one.")
    return SCALES[scale].at_20_c(value, temperature_c, place)


def _brix(place: str, brix: float) -> None:
    _within(place, brix, 0.0, HIGHEST_BRIX, " °Bx", "Read again.")


def _within(place: str, value: float, low: float, high: float, unit: str, remedy: str) -> None:
    if not (isfinite(value) and low <= value <= high):
        problem = f"is {value:g}{unit}, and must be from {low:.5g} to {high:.5g}{unit}"
        raise InputError(place, problem, remedy)


def _inverse(function: Callable[[float], float], value: float, low: float, high: float) -> float:
    """Return where a rising function takes a value, by halving."""
    for _ in range(_STEPS_OF_INVERSE):
        middle = (low + high) / 2.0
        if function(middle) < value:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _water_kg_m3(temperature_c: float) -> float:
    """Density of water [kg/m3]: CIPM, M. Tanaka and others, Metrologia 38 (2001) 301; from memory."""
    from_densest = (temperature_c - 3.983035) ** 2 * (temperature_c + 301.797)
    return 999.974950 * (1.0 - from_densest / (522528.9 * (temperature_c + 69.34881)))


@lru_cache(maxsize=1)
def _correction_table() -> tuple[Array, Array, Array]:
    """Temperatures, readings, and corrections with rows by temperature and columns by reading."""
    where = "brix_temperature.csv"
    rows = read_rows(data_folder() / where)
    cells = {
        (number(row, "temperature_c", where), number(row, "brix", where)): number(
            row, "correction", f"{where}, {row['temperature_c']} °C, {row['brix']} °Bx"
        )
        for row in rows
    }
    temperatures = sorted({temperature for temperature, _ in cells})
    readings = sorted({reading for _, reading in cells})
    table = [[cells[temperature, reading] for reading in readings] for temperature in temperatures]
    return np.array(temperatures), np.array(readings), np.array(table)
