"""Solute curves: dilute limit, hand-over from fit to Norrish, and the table they come from."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

import formulate.freezing.solute_curves as module
from formulate.errors import TableError
from formulate.freezing.ice import (
    COLDEST_C,
    MOLAR_MASS_WATER,
    osmolality_on_ice_line,
    temperature_on_ice_line,
)
from formulate.freezing.solute_curves import solutes

_KEYS = sorted(solutes())
_NORRISH = [key for key in _KEYS if solutes()[key].norrish is not None]
_ENDING = [
    key
    for key in _KEYS
    if 0.0 < solutes()[key].osmolality_end < float(osmolality_on_ice_line(COLDEST_C))
]

#: Molar masses [g/mol] from formula and the CIAAW standard atomic weights (2021, abridged).
_C, _H, _O = 12.011, 1.008, 15.999
_MOLAR_MASS = {
    "acetic_acid": 2 * _C + 4 * _H + 2 * _O,
    "calcium_chloride": 40.078 + 2 * 35.45,
    "dipotassium_phosphate": 2 * 39.098 + _H + 30.974 + 4 * _O,
    "potassium_dihydrogen_phosphate": 39.098 + 2 * _H + 30.974 + 4 * _O,
    "citric_acid": 6 * _C + 8 * _H + 7 * _O,
    "erythritol": 4 * _C + 10 * _H + 4 * _O,
    "ethanol": 2 * _C + 6 * _H + _O,
    "fructose": 6 * (_C + 2 * _H + _O),
    "glucose": 6 * (_C + 2 * _H + _O),
    "glycerol": 3 * _C + 8 * _H + 3 * _O,
    "lactic_acid": 3 * (_C + 2 * _H + _O),
    "lactose": 12 * _C + 22 * _H + 11 * _O,
    "malic_acid": 4 * _C + 6 * _H + 5 * _O,
    "maltose": 12 * _C + 22 * _H + 11 * _O,
    "mannitol": 6 * _C + 14 * _H + 6 * _O,
    "potassium_chloride": 39.098 + 35.45,
    "sodium_chloride": 22.990 + 35.45,
    "sorbitol": 6 * _C + 14 * _H + 6 * _O,
    "sucrose": 12 * _C + 22 * _H + 11 * _O,
    "tartaric_acid": 4 * _C + 6 * _H + 6 * _O,
    "trehalose": 12 * _C + 22 * _H + 11 * _O,
    "xylitol": 5 * _C + 12 * _H + 5 * _O,
}


@pytest.mark.parametrize("key", _KEYS)
def test_molar_mass_follows_from_the_formula(key):
    assert solutes()[key].molar_mass == pytest.approx(_MOLAR_MASS[key], abs=0.006)


@pytest.mark.parametrize("key", _KEYS)
def test_more_water_is_held_the_warmer_it_is(key):
    held = solutes()[key].water_held(-np.linspace(1e-4, -COLDEST_C, 20001))
    assert np.all(held > 0.0)
    assert np.all(np.diff(held) < 0.0)


@pytest.mark.parametrize("key", _KEYS)
def test_dilute_limit_counts_particles(key):
    """Blagden and van 't Hoff: at great dilution osmolality x water held is particles per gram.

    Weak acids dissociate further than their fit, which starts at 0.5 %, can follow; lactic acid's first
    measured points are low.
    """
    ions = {
        "calcium_chloride": 3,
        "dipotassium_phosphate": 3,
        "potassium_dihydrogen_phosphate": 2,
        "potassium_chloride": 2,
        "sodium_chloride": 2,
    }
    particles = ions.get(key, 1)
    solute = solutes()[key]
    limit = float(solute.water_held(-1e-8) * osmolality_on_ice_line(-1e-8))
    loose = {"citric_acid": 0.04, "acetic_acid": 0.005, "lactic_acid": 0.10}
    expected = 1000.0 * particles / solute.molar_mass
    assert limit == pytest.approx(expected, rel=loose.get(key, 1e-3))


@pytest.mark.parametrize("key", _ENDING)
def test_curve_has_no_step_where_the_fit_ends(key):
    solute = solutes()[key]
    end = float(temperature_on_ice_line(solute.osmolality_end))
    warm, cold = solute.water_held(np.array([end + 1e-7, end - 1e-7]))
    assert cold < warm
    assert cold == pytest.approx(warm, rel=1e-6)


def _norrish_excess(fraction, constant, log_activity):
    return np.log1p(-fraction) - constant * fraction**2 - log_activity


@pytest.mark.parametrize("key", _NORRISH)
def test_norrish_equation_is_solved(key):
    """Norrish, J. Food Technol. 1 (1966) 25, solved here by bracketing instead."""
    solute = solutes()[key]
    for temperature in (-15.6, -20.0, -27.5, -34.9):
        log_activity = -MOLAR_MASS_WATER * float(osmolality_on_ice_line(temperature))
        constant = solute.norrish / (temperature + 273.15)
        fraction = brentq(_norrish_excess, 1e-9, 0.9, args=(constant, log_activity), xtol=1e-15)
        expected = 1000.0 * MOLAR_MASS_WATER / solute.molar_mass * (1.0 - fraction) / fraction
        assert float(solute.water_held(temperature)) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(
    ("key", "constant", "kelvin"),
    # Norrish constants of the last measured freezing point: found once from the table's own row, so
    # that they differ from those of the end of the fit by the fit's error there.
    [
        ("sucrose", 7.758, 268.22),
        ("glucose", 2.708, 268.36),
        ("fructose", 1.930, 268.95),
        ("maltose", 7.249, 267.80),
        ("glycerol", 2.116, 257.65),
    ],
)
def test_norrish_constant_meets_the_last_measured_point(key, constant, kelvin):
    assert solutes()[key].norrish / kelvin == pytest.approx(constant, rel=0.02)


_ROW = {
    "solute": "honey",
    "molar_mass": "180.155",
    "particles": "1 0.01",
    "variable": "osmolality",
    "osmolality_end": "2.5",
    "fit_rms_c": "0.01",
    "fit_max_c": "0.02",
    "beyond": "norrish",
    "norrish_k": "",
    "norrish_kelvin": "",
    "norrish_sd_percent": "",
    "source": "made up",
}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"variable": "log"}, r'solutes.csv, honey: variable is "log"; it must be one of'),
        ({"beyond": ""}, r'solutes.csv, honey: beyond is ""; it must be one of'),
        ({"particles": ""}, "solutes.csv, honey: norrish_k is missing"),
        (
            {"particles": "", "beyond": "level"},
            "solutes.csv, honey: has neither an osmotic fit nor a Norrish constant",
        ),
        ({"osmolality_end": "deep"}, 'solutes.csv, honey: osmolality_end is "deep", not a number'),
    ],
)
def test_damaged_row_is_refused_by_name(monkeypatch, change, message):
    monkeypatch.setattr(module, "read_rows", lambda path: [{**_ROW, **change}])
    with pytest.raises(TableError, match=message):
        module.solutes.__wrapped__()


def test_undamaged_row_is_read(monkeypatch):
    monkeypatch.setattr(module, "read_rows", lambda path: [_ROW])
    honey = module.solutes.__wrapped__()["honey"]
    assert honey.particles == (1.0, 0.01)
    assert honey.norrish is not None
