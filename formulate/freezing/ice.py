"""Ice and the water beside it: how concentrated a solution is when it stands in balance with ice.

At a temperature below 0 °C ice fixes the activity of the water that is still liquid, whatever is
dissolved in it.  It is written here as the osmolality of the solution on the ice line,
``osm = -ln(a_w) / M_w``, in mol of particles per kg of water, less the little that dissolved air
accounts for: ordinary water, saturated with air, freezes at 0 °C, pure water at 0.0025 °C.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.polynomial import polyder, polyval
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "COLDEST_C",
    "MELTING_POINT_C",
    "MOLAR_MASS_WATER",
    "osmolality_on_ice_line",
    "temperature_on_ice_line",
    "water_activity_of_ice",
]

#: Molar mass of water [kg/mol].  IAPWS R6-95(2018).
MOLAR_MASS_WATER = 0.018015268

#: Melting point of pure ice at 101.325 kPa [°C].  IAPWS R14-08(2011).
MELTING_POINT_C = 0.0025

#: Coldest temperature for which the ice line is given [°C].
COLDEST_C = -35.0

# Powers 1 to 6 of (MELTING_POINT_C - t), fitted by least squares to the chemical potentials of ice
# (IAPWS R10-06(2009)) and of supercooled water (IAPWS G12-15) at 101.325 kPa, 720 points from -0.05
# to -36 °C.  Largest error of the temperature at a given activity: 0.1 mK to -30 °C, 0.4 mK to -36 °C.
_ICE_LINE = (
    5.37507119e-01,
    2.39911258e-04,
    -9.53233629e-07,
    -2.81315007e-07,
    7.91486880e-09,
    -1.29050423e-10,
)

_DISSOLVED_AIR = float(polyval(MELTING_POINT_C, (0.0, *_ICE_LINE)))


def osmolality_on_ice_line(temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Return the osmolality of solutes in air-saturated water in balance with ice [mol/kg water].

    Parameters
    ----------
    temperature_c:
        Temperatures [°C], any shape, from :data:`COLDEST_C` to 0.

    Raises
    ------
    ValueError
        If a temperature is outside that range or not a number.

    References
    ----------
    IAPWS R10-06(2009), ice Ih; IAPWS G12-15, supercooled water.

    Examples
    --------
    >>> round(float(osmolality_on_ice_line(-1.86)), 3)
    1.001
    """
    return _total_osmolality(temperature_c) - _DISSOLVED_AIR


def temperature_on_ice_line(osmolality: ArrayLike) -> NDArray[np.float64]:
    """Return the temperature at which ice balances solutes of an osmolality [°C].

    The inverse of :func:`osmolality_on_ice_line`, to 1e-9 °C.

    Parameters
    ----------
    osmolality:
        Osmolalities [mol/kg water], any shape, from 0 to that at :data:`COLDEST_C`.

    Raises
    ------
    ValueError
        If an osmolality is outside that range or not a number.

    Examples
    --------
    >>> round(float(temperature_on_ice_line(1.0)), 3)
    -1.859
    """
    osmolality = np.asarray(osmolality, dtype=float)
    largest = float(osmolality_on_ice_line(COLDEST_C))
    if not np.all((osmolality >= 0.0) & (osmolality <= largest)):
        raise ValueError(f"osmolality must be from 0 to {largest:.3f} mol/kg, got {osmolality!r}")
    line = (-_DISSOLVED_AIR, *_ICE_LINE)
    slope = polyder(line)
    depression = osmolality / _ICE_LINE[0]
    for _ in range(6):  # Newton on a line that is almost straight
        excess = polyval(depression, line) - osmolality
        depression = depression - excess / polyval(depression, slope)
    return np.minimum(MELTING_POINT_C - depression, 0.0)


def water_activity_of_ice(temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Return the activity of liquid water in balance with ice [-], 1 at the melting point.

    Takes and refuses what :func:`osmolality_on_ice_line` does.

    Parameters
    ----------
    temperature_c:
        Temperatures [°C], any shape, from :data:`COLDEST_C` to 0.

    Returns
    -------
    ndarray
        Shape of the temperatures.

    Raises
    ------
    ValueError
        If a temperature is outside that range or not a number.

    Notes
    -----
    Source: IAPWS R10-06(2009), ice Ih; IAPWS G12-15, supercooled water.

    Examples
    --------
    >>> round(float(water_activity_of_ice(-10.0)), 5)
    0.90734
    """
    return np.exp(-MOLAR_MASS_WATER * _total_osmolality(temperature_c))


def _total_osmolality(temperature_c: ArrayLike) -> NDArray[np.float64]:
    temperature = np.asarray(temperature_c, dtype=float)
    if not np.all((temperature >= COLDEST_C) & (temperature <= 0.0)):
        raise ValueError(f"temperature_c must be from {COLDEST_C:g} to 0 °C, got {temperature_c!r}")
    depression = MELTING_POINT_C - temperature
    return np.asarray(polyval(depression, (0.0, *_ICE_LINE)), dtype=np.float64)
