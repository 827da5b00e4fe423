"""The ice line and three solutes against the standards themselves, computed by other libraries."""

from __future__ import annotations

import gsw
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import _iapws as iapws

from formulate.freezing.curve import freezing_model
from formulate.freezing.ice import (
    MOLAR_MASS_WATER,
    osmolality_on_ice_line,
    temperature_on_ice_line,
    water_activity_of_ice,
)
from formulate.ingredients.components import COLUMNS, position

_GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
_MEGAPASCAL = 0.101325
_REDUCED = 0.461523087 * 228.2  # kJ/kg; the library leaves G12-15's g in units of R x T_LL
_KELVIN = 273.15


def _slope(temperature_c):
    """Change of ln a_w per °C along the ice line."""
    cold, warm = np.log(water_activity_of_ice(np.array([temperature_c - 0.01, temperature_c])))
    return (warm - cold) / 0.01


@pytest.mark.parametrize("temperature_c", [-0.1, -1, -2, -5, -8, -12, -16, -20, -25, -30])
def test_ice_line_is_the_iapws_one(temperature_c):
    """IAPWS R10-06(2009) against IAPWS G12-15; the line states 0.1 mK to -30 °C."""
    kelvin = temperature_c + _KELVIN
    ice = iapws._Ice(kelvin, _MEGAPASCAL)["g"]
    water = iapws._Supercooled(kelvin, _MEGAPASCAL)["g"] * _REDUCED
    published = 1000.0 * (ice - water) * MOLAR_MASS_WATER / (_GAS_CONSTANT * kelvin)
    predicted = float(np.log(water_activity_of_ice(temperature_c)))
    off_by = (predicted - published) / _slope(temperature_c)
    assert abs(off_by) <= 1.0e-4, f"published {published:.8f}, predicted {predicted:.8f}"


@pytest.mark.parametrize("salinity", [5, 10, 20, 35, 50, 70, 100])
def test_seawater_freezes_on_the_ice_line(salinity):
    """TEOS-10: the activity of water in air-saturated seawater at its own freezing point.

    Tolerance 2 mK: TEOS-10 lets air lower the freezing point of pure water by 2.4 mK, of seawater by
    the less the saltier it is; here it is 2.5 mK throughout.
    """
    freezing_c = float(gsw.t_freezing(salinity, 0.0, 1.0))
    sea, pure = (
        float(gsw.chem_potential_water_t_exact(s, freezing_c, 0.0)) for s in (salinity, 0.0)
    )
    osmolality = 1000.0 * (pure - sea) / (_GAS_CONSTANT * (freezing_c + _KELVIN))
    predicted = float(temperature_on_ice_line(osmolality))
    assert predicted == pytest.approx(freezing_c, abs=2.0e-3)


@pytest.mark.parametrize(
    ("component", "fluid", "tolerance"),
    [
        # The largest distance, to 20 %, from the CRC Handbook's measured table to which the model is
        # fitted; for salt the two agree to the 0.01 that each prints.
        ("ethanol", "MEA", 0.20),
        ("glycerol", "MGL", 0.10),
        ("salt", "MNA", 0.02),
    ],
)
def test_freezing_points_of_melinder(component, fluid, tolerance):
    """Melinder, Properties of Secondary Working Fluids (IIR 2010), as coded in CoolProp."""
    for percent in (2, 5, 10, 15, 20):
        composition = np.zeros(len(COLUMNS))
        composition[[position(component), position("water")]] = percent, 100 - percent
        name = f"INCOMP::{fluid}[{percent / 100}]"
        published = PropsSI("T_freeze", "T", 300.0, "P", 101325.0, name) - _KELVIN
        predicted = float(freezing_model().initial_freezing_point(composition)[0])
        message = f"{percent} %: published {published:.3f}, predicted {predicted:.3f}"
        assert predicted == pytest.approx(published, abs=tolerance), message


def test_particles_of_milk_salts():
    """Dissolved particles of cow's milk, ion by ion, against the factor of milk minerals.

    Fox and McSweeney, Dairy Chemistry and Biochemistry, Table 5.6 (mg/L and soluble share); calcium and
    magnesium in complexes count with their anion; 7.2 g ash per litre.
    """
    counted = {  # mg/L, soluble share, g/mol
        "sodium": (500, 0.92, 22.990),
        "potassium": (1450, 0.92, 39.098),
        "chloride": (1200, 1.00, 35.453),
        "sulphate": (100, 1.00, 96.06),
        "phosphorus": (750, 0.43, 30.974),
        "citrate": (1750, 0.94, 189.10),
        "free calcium": (1200, 0.34 * 0.35, 40.078),
        "free magnesium": (130, 0.67 * 0.35, 24.305),
    }
    millimoles = sum(mg * share / molar for mg, share, molar in counted.values())
    model = freezing_model()
    particles = {
        "potassium_chloride": 2,
        "sodium_chloride": 2,
        "potassium_dihydrogen_phosphate": 2,
        "dipotassium_phosphate": 3,
    }
    factors = model.shares[position("milk_minerals")]
    predicted = sum(
        1000.0 * 7.2 * factor * particles.get(curve.key, 0) / curve.molar_mass
        for curve, factor in zip(model.curves, factors, strict=True)
    )
    # The share of soluble magnesium that is free is not in the table: none to all of it is 3.6 mmol/L.
    assert predicted == pytest.approx(millimoles, abs=3.6)


def test_osmolality_of_one_is_the_cryoscopic_constant():
    """1.86 K kg/mol (CRC Handbook, cryoscopic constants), printed to 0.01."""
    assert -1.0 / float(osmolality_on_ice_line(-1.0)) == pytest.approx(-1.86, abs=0.005)
