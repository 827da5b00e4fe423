"""The freezing model: its grid against the exact curves, its roots, and its edge cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from formulate.freezing.curve import COLDEST_CURVE_C, freezing_model
from formulate.freezing.ice import osmolality_on_ice_line
from formulate.ingredients.components import COLUMNS, position

_MODEL = freezing_model()
_WATER = position("water")
_SYRUP, _POWER = position("glucose_syrup_solids"), position("syrup_reducing_power")
_DISSOLVED = [
    key
    for key, row in zip(COLUMNS, _MODEL.shares, strict=True)
    if row.any() and key != COLUMNS[_SYRUP]
]
_DEXTROSE_EQUIVALENTS = [2, 5, 11, 20, 28, 36, 42, 52, 62, 80, 100]

#: Every hundredth of a degree, and a thousand times closer near 0 °C.
_EVERYWHERE = -np.concatenate([np.linspace(1e-5, 0.1, 10001), np.arange(0.11, 30.001, 0.01)])
_EXACT = _MODEL.water_held_exact(_EVERYWHERE)
_FAST = _MODEL.water_held(_EVERYWHERE)


def _mix(**grams):
    composition = np.zeros(len(COLUMNS))
    for key, value in grams.items():
        composition[position(key)] = value
    return composition


def _syrup(dextrose_equivalent, grams=1.0):
    return _mix(
        glucose_syrup_solids=grams, syrup_reducing_power=grams * dextrose_equivalent / 100.0
    )


def _exact_root(composition, percent=0.0):
    """Bracketed on the exact curves, without the grid."""
    wanted = composition[_WATER] * (1.0 - percent / 100.0)

    def excess(temperature):
        held = composition @ _MODEL.water_held_exact(temperature)[0]
        return (held - wanted) * float(osmolality_on_ice_line(temperature))

    return brentq(excess, COLDEST_CURVE_C, -1e-9, xtol=1e-11)


def _random_mixes(count, seed):
    """Water with up to six components dissolved, from a trace to as much as the water."""
    random = np.random.default_rng(seed)
    mixes = np.zeros((count, len(COLUMNS)))
    mixes[:, _WATER] = 100.0
    keys = [key for key in _DISSOLVED if key != "syrup_reducing_power"]
    for mix in mixes:
        for key in random.choice(keys, size=random.integers(1, 7), replace=False):
            mix[position(key)] = 10.0 ** random.uniform(-2.5, 1.2)
        if random.random() < 0.5:
            mix += _syrup(random.uniform(5.0, 100.0), 10.0 ** random.uniform(-2.0, 1.2))
    return mixes


@pytest.mark.parametrize("key", _DISSOLVED)
def test_grid_is_within_its_stated_bound(key):
    column = position(key)
    np.testing.assert_allclose(_FAST[:, column], _EXACT[:, column], rtol=1e-5, atol=0.0)


@pytest.mark.parametrize("dextrose_equivalent", [5, 11, 20, 42, 62, 100])
def test_grid_is_within_its_stated_bound_for_syrups(dextrose_equivalent):
    syrup = _syrup(dextrose_equivalent)
    np.testing.assert_allclose(_FAST @ syrup, _EXACT @ syrup, rtol=1e-5, atol=0.0)


def test_grid_takes_in_the_ends_of_measured_ranges():
    """Curves have kinks there; between grid points next to one the bound still holds."""
    ends = [c.osmolality_end for c in _MODEL.curves if 0.0 < c.osmolality_end < 15.0]
    line = osmolality_on_ice_line(_EVERYWHERE)
    near = np.abs(line[:, None] - np.array(ends)).min(axis=1) < 0.02
    assert near.sum() >= 5 * len(ends)
    columns = [position(key) for key in _DISSOLVED]
    np.testing.assert_allclose(_FAST[near][:, columns], _EXACT[near][:, columns], rtol=1e-5)


@pytest.mark.parametrize("key", _DISSOLVED)
def test_less_water_is_held_the_colder_it_is(key):
    for curve in (_EXACT[:, position(key)], _FAST[:, position(key)]):
        assert np.all(curve > 0.0)
        assert np.all(np.diff(curve) < 0.0)


@pytest.mark.parametrize("dextrose_equivalent", _DEXTROSE_EQUIVALENTS)
def test_less_water_is_held_by_every_syrup_the_colder_it_is(dextrose_equivalent):
    """Syrups are a difference of two curves: it must fall, too, from a dextrose equivalent of 2 on."""
    for curves in (_EXACT, _FAST):
        curve = curves @ _syrup(dextrose_equivalent)
        assert np.all(curve > 0.0)
        assert np.all(np.diff(curve) < 0.0)


@pytest.mark.parametrize("dextrose_equivalent", _DEXTROSE_EQUIVALENTS)
def test_dilute_syrup_has_its_number_average_molar_mass(dextrose_equivalent):
    """Dextrose equivalent = 100 x 180.16 / number-average molar mass (its definition)."""
    molar_mass = 18016.0 / dextrose_equivalent
    held = _MODEL.water_held_exact(-1e-3)[0] @ _syrup(dextrose_equivalent)
    held_by_sucrose = _MODEL.water_held_exact(-1e-3)[0, position("sucrose")]
    assert held / held_by_sucrose == pytest.approx(342.30 / molar_mass, rel=0.02)


@pytest.mark.parametrize(("dextrose_equivalent", "like"), [(52.63, "maltose"), (100.0, "glucose")])
def test_syrups_pass_through_the_pure_sugars(dextrose_equivalent, like):
    curve = _EXACT @ _syrup(dextrose_equivalent)
    np.testing.assert_allclose(curve, _EXACT[:, position(like)], rtol=5e-4)


def test_initial_freezing_points_match_the_exact_curves():
    mixes = _random_mixes(200, seed=20)
    found = _MODEL.initial_freezing_point(mixes)
    expected = np.array([_exact_root(mix) for mix in mixes])
    np.testing.assert_allclose(found, expected, rtol=0.0, atol=1e-3)
    assert np.ptp(expected) > 5.0, "the mixes are too much alike to test anything"


@pytest.mark.parametrize("percent", [10.0, 50.0, 75.0])
def test_temperatures_at_frozen_water_match_the_exact_curves(percent):
    mixes = _random_mixes(100, seed=int(percent))
    found = _MODEL.temperature_at_frozen_water(mixes, percent)
    got_there = ~np.isnan(found)
    assert got_there.sum() > 40
    expected = np.array([_exact_root(mix, percent) for mix in mixes[got_there]])
    np.testing.assert_allclose(found[got_there], expected, rtol=0.0, atol=1e-3)
    for mix in mixes[~got_there]:  # the exact curve does not get there either
        held = mix @ _MODEL.water_held_exact(COLDEST_CURVE_C)[0]
        assert held >= mix[_WATER] * (1.0 - percent / 100.0)


@pytest.mark.parametrize("key", ["sucrose", "glucose", "salt", "ethanol", "citric_acid", "inulin"])
@pytest.mark.parametrize("grams", [1e-6, 1e-4, 1e-3, 1e-2, 5e-2])
def test_very_dilute_mixes(key, grams):
    """Freezing points from just below 0 to -0.05 °C, where the grid begins."""
    mix = _mix(water=100.0, **{key: grams})
    found = float(_MODEL.initial_freezing_point(mix)[0])
    expected = _exact_root(mix)
    assert -0.06 < expected < 0.0
    assert found == pytest.approx(expected, rel=1e-4, abs=1e-9)


def test_pure_water_freezes_at_zero_and_all_of_it():
    water = _mix(water=100.0)
    for composition in (water, water + _mix(milk_fat=10.0, milk_protein=5.0, starch=2.0)):
        assert _MODEL.initial_freezing_point(composition) == [0.0]
        assert _MODEL.temperature_at_frozen_water(composition, 99.0) == [0.0]
        np.testing.assert_array_equal(_MODEL.frozen_water(composition, [-1e-6, -30.0]), 100.0)


@pytest.mark.parametrize(("percent", "freezes"), [(40.0, True), (45.0, False), (60.0, False)])
def test_spirits_do_not_freeze(percent, freezes):
    """Ethanol of 40 % freezes at -29.26 °C, of 42 % below -30 °C (CRC Handbook, 102nd ed.)."""
    spirit = _mix(water=100.0 - percent, ethanol=percent)
    found = _MODEL.initial_freezing_point(spirit)
    assert np.isnan(found[0]) is np.bool_(not freezes)
    expected_ice = _MODEL.frozen_water(spirit, [COLDEST_CURVE_C])[0, 0] > 0.0
    assert expected_ice == freezes


def test_mixes_that_freeze_and_do_not_may_stand_side_by_side():
    mixes = np.array(
        [_mix(water=1.0), _mix(water=40.0, ethanol=60.0), _mix(water=80.0, sucrose=20.0)]
    )
    found = _MODEL.initial_freezing_point(mixes)
    assert found[0] == 0.0
    assert np.isnan(found[1])
    assert found[2] == pytest.approx(-1.47, abs=0.05)  # CRC Handbook, 102nd ed.


@pytest.mark.parametrize("temperature", [0.0, 1.0, -30.01, float("nan")])
def test_temperatures_off_the_curve_are_refused(temperature):
    with pytest.raises(ValueError, match=r"from -30 to below 0 °C, got \S+"):
        _MODEL.water_held([temperature])


@pytest.mark.parametrize("percent", [-0.1, 100.0, float("nan")])
def test_impossible_shares_are_refused(percent):
    with pytest.raises(ValueError, match=f"percent must be from 0 to below 100, got {percent}"):
        _MODEL.temperature_at_frozen_water(_mix(water=80.0, sucrose=20.0), percent)


def test_shapes():
    assert _MODEL.water_held(-5.0).shape == (1, len(COLUMNS))
    assert _MODEL.water_held([-5.0, -6.0]).shape == (2, len(COLUMNS))
    assert _MODEL.liquid_water(_random_mixes(3, seed=1), [-5.0, -6.0]).shape == (3, 2)
    assert _MODEL.initial_freezing_point(_random_mixes(3, seed=1)).shape == (3,)
