"""The ice line as a function: its inverse, its limits, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from formulate.freezing.ice import (
    COLDEST_C,
    MELTING_POINT_C,
    MOLAR_MASS_WATER,
    osmolality_on_ice_line,
    temperature_on_ice_line,
    water_activity_of_ice,
)

_ALL_TEMPERATURES = np.linspace(COLDEST_C, 0.0, 3501)


def test_air_saturated_water_freezes_at_zero():
    assert float(osmolality_on_ice_line(0.0)) == 0.0


def test_osmolality_rises_as_it_gets_colder():
    assert np.all(np.diff(osmolality_on_ice_line(_ALL_TEMPERATURES)) < 0.0)


def test_activity_of_pure_ice_is_one_at_its_melting_point():
    """IAPWS R14-08(2011): 0.0025 °C, so that at 0 °C the activity is short of one by dissolved air."""
    slope = (1.0 - float(water_activity_of_ice(0.0))) / MELTING_POINT_C
    # Latent heat 333.4 J/g over R T**2 (IAPWS R10-06), times the molar mass: 0.00968 per °C.
    assert slope == pytest.approx(333.4 * 18.015268 / (8.314462618 * 273.15**2), rel=2e-3)


def test_activity_and_osmolality_differ_by_the_dissolved_air_only():
    ratio = -np.log(water_activity_of_ice(_ALL_TEMPERATURES)) / MOLAR_MASS_WATER
    air = ratio - osmolality_on_ice_line(_ALL_TEMPERATURES)
    np.testing.assert_allclose(air, air[-1], atol=1e-12)
    # Air in water at 0 °C, 29.2 mL/L at standard conditions: 1.3 mmol/kg (CRC Handbook, from memory).
    assert air[-1] == pytest.approx(29.2 / 22414, abs=0.1e-3)


def test_temperature_on_ice_line_is_the_inverse():
    there = osmolality_on_ice_line(_ALL_TEMPERATURES)
    np.testing.assert_allclose(temperature_on_ice_line(there), _ALL_TEMPERATURES, atol=1e-9)


@pytest.mark.parametrize("temperature", [0.001, COLDEST_C - 0.001, float("nan"), [-1.0, 1.0]])
def test_temperatures_off_the_line_are_refused(temperature):
    with pytest.raises(ValueError, match=r"temperature_c must be from -35 to 0 °C, got .*(n|\d)"):
        osmolality_on_ice_line(temperature)
    with pytest.raises(ValueError, match="temperature_c must be from -35 to 0 °C"):
        water_activity_of_ice(temperature)


@pytest.mark.parametrize("osmolality", [-0.001, 18.9, float("nan")])
def test_osmolalities_off_the_line_are_refused(osmolality):
    with pytest.raises(ValueError, match=r"osmolality must be from 0 to 18\.8\d\d mol/kg, got"):
        temperature_on_ice_line(osmolality)


def test_one_of_several_off_the_line_is_refused():
    with pytest.raises(ValueError, match="osmolality must be from 0"):
        temperature_on_ice_line([1.0, 30.0])


def test_nothing_dissolved_freezes_at_zero_and_never_above():
    assert np.all(temperature_on_ice_line(np.linspace(0.0, 1e-9, 1001)) <= 0.0)
