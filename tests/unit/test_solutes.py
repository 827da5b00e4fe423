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


# how far a curve can be trusted, by the words of its own module in plain arithmetic


def _row(**more):
    return {
        **_ROW,
        "norrish_k": "6.5",
        "norrish_kelvin": "298.15",
        "norrish_sd_percent": "10",
        **more,
    }


def _made_up(monkeypatch, **more):
    monkeypatch.setattr(module, "read_rows", lambda path: [_row(**more)])
    solutes.cache_clear()
    try:
        return solutes()["honey"]
    finally:
        solutes.cache_clear()


def _norrish_held(constant, celsius, molar_mass=180.155):
    log_activity = -MOLAR_MASS_WATER * float(osmolality_on_ice_line(celsius))
    args = (constant / (celsius + 273.15), log_activity)
    fraction = brentq(_norrish_excess, 1e-12, 0.95, args=args, xtol=1e-16)
    return 1000.0 * MOLAR_MASS_WATER / molar_mass * (1.0 - fraction) / fraction


def test_a_norrish_constant_of_the_table(monkeypatch):
    """Where nothing was fitted: constant x temperature, and what ten percent more of it would do."""
    solute = _made_up(monkeypatch, particles="")
    assert solute.norrish == pytest.approx(6.5 * 298.15)
    assert (solute.norrish_deviation, solute.fit_rms_c, solute.osmolality_end) == (0.1, 0.0, 0.0)
    for celsius in (-1.0, -10.0, -25.0):
        held = _norrish_held(6.5 * 298.15, celsius)
        more = _norrish_held(1.1 * 6.5 * 298.15, celsius)
        assert float(solute.water_held(celsius)) == pytest.approx(held, rel=1e-9)
        deviation = float(solute.water_held_deviation(celsius))
        assert deviation == pytest.approx(abs(more - held), rel=1e-6) and deviation > 0.0


def test_within_its_measurements_a_curve_is_as_good_as_its_fit(monkeypatch):
    """The curve goes as 1 / temperature: an error of 0.01 °C at -2 °C is half a percent."""
    solute = _made_up(monkeypatch)
    assert (solute.norrish_deviation, solute.fit_rms_c, solute.osmolality_end) == (0.0, 0.01, 2.5)
    held = float(solute.water_held(-2.0))
    assert float(solute.water_held_deviation(-2.0)) == pytest.approx(held * 0.005, rel=1e-12)


@pytest.mark.parametrize("celsius", [-6.0, -12.0, -25.0])
def test_past_its_measurements_a_curve_may_go_on_otherwise(monkeypatch, celsius):
    """Half the distance to constant hydration (Robinson and Stokes, chapter 9), uniform: 1 / √12."""
    solute = _made_up(monkeypatch)
    end, osmolality = 2.5, float(osmolality_on_ice_line(celsius))
    per_mol = 1000.0 * MOLAR_MASS_WATER / 180.155

    def free(osm):  # mol of unbound water per mol of solute, ideal: a_w = n / (n + 1)
        activity = np.exp(-MOLAR_MASS_WATER * osm)
        return activity / (1.0 - activity)

    bound = 1000.0 * (1.0 + 0.01 * end) / (180.155 * end) / per_mol - free(end)
    otherwise = per_mol * (bound + free(osmolality))
    held = float(solute.water_held(celsius))
    drift = abs(otherwise - held) / np.sqrt(12.0)
    expected = np.hypot(held * 0.01 / abs(celsius), drift)
    assert drift > 1e-4
    assert float(solute.water_held_deviation(celsius)) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("celsius", [-6.0, -25.0])
def test_a_level_may_drift(monkeypatch, celsius):
    solute = _made_up(monkeypatch, beyond="level")
    assert solute.norrish is None
    held, osmolality = float(solute.water_held(celsius)), float(osmolality_on_ice_line(celsius))
    assert held == pytest.approx(1000.0 * 1.025 / (180.155 * osmolality), rel=1e-12)
    drift = held * 0.1 * (1.0 - 2.5 / osmolality)
    expected = np.hypot(held * 0.01 / abs(celsius), drift)
    assert float(solute.water_held_deviation(celsius)) == pytest.approx(expected, rel=1e-12)


def test_at_the_end_of_its_measurements_nothing_is_in_doubt_but_the_fit():
    for solute in solutes().values():
        if solute.key in _ENDING:
            end = float(temperature_on_ice_line(solute.osmolality_end))
            warm, cold = solute.water_held_deviation(np.array([end + 1e-6, end - 1e-6]))
            assert cold == pytest.approx(warm, rel=1e-3)
