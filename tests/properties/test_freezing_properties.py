"""What must hold for the freezing curve of any mix."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from formulate.freezing.curve import COLDEST_CURVE_C, freezing_model
from formulate.freezing.ice import COLDEST_C, osmolality_on_ice_line, temperature_on_ice_line
from formulate.ingredients.components import COLUMNS, position

_MODEL = freezing_model()
_MODEL.water_held(-1.0)  # builds the grid, which would count against the first example's time
_WATER = position("water")
_SYRUP, _POWER = position("glucose_syrup_solids"), position("syrup_reducing_power")
_SOLUTES = [
    index for index, row in enumerate(_MODEL.shares) if row.any() and index not in (_SYRUP, _POWER)
]
_COOLING = np.linspace(-0.01, COLDEST_CURVE_C, 300)

grams = st.floats(0.0, 30.0).map(lambda value: round(value, 6))
temperatures = st.floats(COLDEST_CURVE_C, -1e-6)


@st.composite
def solids(draw):
    """Up to five dissolved components, and perhaps a syrup with a dextrose equivalent of 5 to 100."""
    composition = np.zeros(len(COLUMNS))
    for index in draw(st.lists(st.sampled_from(_SOLUTES), min_size=1, max_size=5, unique=True)):
        composition[index] = draw(grams)
    composition[_SYRUP] = draw(grams)
    composition[_POWER] = composition[_SYRUP] * draw(st.floats(0.05, 1.0))
    return composition


@st.composite
def mixes(draw):
    """Solids in 40 to 100 g of water, with at least 1 mg dissolved."""
    composition = draw(solids())
    assume(composition[_SOLUTES].sum() + composition[_SYRUP] > 1e-3)
    composition[_WATER] = draw(st.floats(40.0, 100.0))
    return composition


@given(mixes(), st.floats(1e-3, 1e3))
def test_scaling_a_mix_leaves_its_curve(mix, factor):
    np.testing.assert_allclose(
        _MODEL.frozen_water(factor * mix, _COOLING),
        _MODEL.frozen_water(mix, _COOLING),
        rtol=1e-9,
        atol=1e-9,
    )
    np.testing.assert_allclose(
        _MODEL.initial_freezing_point(factor * mix),
        _MODEL.initial_freezing_point(mix),
        rtol=1e-9,
    )


@given(mixes(), mixes(), st.floats(0.0, 5.0), temperatures)
def test_liquid_water_is_linear(one, other, share, temperature):
    together = _MODEL.liquid_water(one + share * other, [temperature])
    apart = _MODEL.liquid_water([one, other], [temperature])
    np.testing.assert_allclose(together, apart[:1] + share * apart[1:], rtol=1e-9)


@given(mixes())
def test_frozen_water_never_falls_as_it_gets_colder(mix):
    frozen = _MODEL.frozen_water(mix, _COOLING)[0]
    assert np.all(np.diff(frozen) >= 0.0)
    assert frozen[0] >= 0.0
    assert frozen[-1] < 100.0


@given(mixes(), st.floats(0.0, 95.0))
def test_frozen_water_at_the_temperature_of_frozen_water(mix, percent):
    temperature = _MODEL.temperature_at_frozen_water(mix, percent)
    assume(not np.isnan(temperature[0]))
    back = _MODEL.frozen_water(mix, temperature)[0, 0]
    # 0.001 °C of the temperature, at the steepness that the curve has there.
    colder = max(temperature[0] - 1e-3, COLDEST_CURVE_C)
    warmer = min(temperature[0] + 1e-3, temperature[0] / 2.0)
    low, high = _MODEL.frozen_water(mix, [warmer, colder])[0]
    assert low - 1e-6 <= back <= high + 1e-6
    assert abs(back - percent) <= high - low + 1e-6


@given(mixes(), temperatures)
def test_temperature_of_the_frozen_water_at_a_temperature(mix, temperature):
    temperature = max(temperature, COLDEST_CURVE_C + 1e-3)  # to the last digit, not off the end
    percent = _MODEL.frozen_water(mix, [temperature])[0, 0]
    assume(0.0 < percent < 99.9)
    back = _MODEL.temperature_at_frozen_water(mix, percent)[0]
    assert abs(back - temperature) <= 1e-3


@given(mixes(), st.sampled_from(_SOLUTES), st.floats(0.01, 20.0))
def test_more_solute_lowers_the_freezing_point(mix, index, more):
    before = _MODEL.initial_freezing_point(mix)[0]
    assume(not np.isnan(before))
    mix = mix.copy()
    mix[index] += more
    after = _MODEL.initial_freezing_point(mix)[0]
    assert np.isnan(after) or after < before


@given(mixes(), st.floats(0.1, 100.0))
def test_more_water_raises_the_freezing_point(mix, more):
    before = _MODEL.initial_freezing_point(mix)[0]
    mix = mix.copy()
    mix[_WATER] += more
    after = _MODEL.initial_freezing_point(mix)[0]
    assert np.isnan(before) or after > before


@given(mixes(), st.floats(0.0, 50.0))
def test_fat_protein_and_fibre_leave_the_curve(mix, more):
    richer = mix.copy()
    for key in ("milk_fat", "milk_protein", "fibre", "starch", "stabiliser"):
        richer[position(key)] += more
    np.testing.assert_array_equal(
        _MODEL.frozen_water(richer, _COOLING), _MODEL.frozen_water(mix, _COOLING)
    )


@given(temperatures)
def test_grid_and_exact_curves_agree(temperature):
    columns = [*_SOLUTES, _POWER]
    np.testing.assert_allclose(
        _MODEL.water_held(temperature)[:, columns],
        _MODEL.water_held_exact(temperature)[:, columns],
        rtol=1e-5,
    )


@given(st.floats(COLDEST_C, 0.0))
def test_ice_line_and_its_inverse(temperature):
    back = float(temperature_on_ice_line(osmolality_on_ice_line(temperature)))
    assert abs(back - temperature) <= 1e-9
