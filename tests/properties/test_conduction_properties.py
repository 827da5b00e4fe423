"""What must hold for the cooling and warming of any body."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.ingredients.components import COLUMNS, position
from formulate.ingredients.table import read_only
from formulate.timing.conduction import Shape, cool
from formulate.timing.cooling import Container, harden, scoop_holds
from formulate.timing.thermal import ice_fraction, material

_VANILLA = read_only(
    {
        **{"water": 61.0, "milk_protein": 3.5, "milk_fat": 11.0, "sucrose": 17.6},
        **{"lactose": 6.0, "milk_minerals": 0.9},
    }
)
_TWO_DAYS = 48.0 * 3600.0
_few = settings(max_examples=20, deadline=None)

overruns = st.sampled_from([0.0, 30.0, 100.0])
coefficients = st.floats(5.0, 60.0)
sizes = st.floats(0.02, 0.1)


@lru_cache
def _material(overrun):
    return material(_VANILLA, overrun)


@st.composite
def shapes(draw):
    size, ratio = draw(sizes), draw(st.floats(0.5, 2.0))
    return draw(
        st.sampled_from(
            [Shape.slab(size), Shape.sphere(size), Shape.cylinder(size, ratio * size)]
            + [Shape.block(size, ratio * size, 2.0 * size)]
        )
    )


@st.composite
def mixes(draw):
    """Water, sugars, fat, protein, salts, fibre and perhaps a little ethanol."""
    composition = np.zeros(len(COLUMNS))
    for key, least, most in (
        *(("water", 30.0, 90.0), ("sucrose", 0.0, 30.0), ("glucose", 0.0, 20.0)),
        *(("milk_fat", 0.0, 20.0), ("milk_protein", 0.0, 8.0), ("milk_minerals", 0.0, 2.0)),
        *(("fibre", 0.0, 5.0), ("ethanol", 0.0, 5.0), ("starch", 0.0, 5.0)),
    ):
        composition[position(key)] = round(draw(st.floats(least, most)), 3)
    return composition


def _minutes_to_harden(diameter, freezer_c, h, overrun, cells=8):
    """Minutes until the core of a sphere is at -14 °C, from -5 °C."""
    course = cool(
        _material(overrun),
        Shape.sphere(diameter),
        -5.0,
        freezer_c,
        h,
        _TWO_DAYS,
        until="core",
        target_c=-14.0,
        cells=cells,
    )
    return course.reached_s


@_few
@given(sizes, st.floats(-30.0, -17.0), st.floats(0.5, 2.0), coefficients, overruns)
def test_a_colder_freezer_is_faster(diameter, freezer_c, colder, h, overrun):
    there = max(freezer_c - colder, -30.0)
    if freezer_c - there < 0.1:  # no colder than arithmetic tells
        there, freezer_c = freezer_c, freezer_c + colder
    assert _minutes_to_harden(diameter, there, h, overrun) < _minutes_to_harden(
        diameter, freezer_c, h, overrun
    )


@_few
@given(sizes, st.floats(1.05, 2.0), st.floats(-30.0, -17.0), coefficients, overruns)
def test_a_larger_body_is_slower(diameter, factor, freezer_c, h, overrun):
    small = _minutes_to_harden(diameter, freezer_c, h, overrun)
    large = _minutes_to_harden(factor * diameter, freezer_c, h, overrun)
    assert small < large
    # By the size if the surface resists, by its square if the inside does, and nowhere beyond.
    assert factor * 0.99 < large / small < factor**2 * 1.01


@_few
@given(sizes, st.floats(1.05, 2.0), st.floats(-30.0, -17.0), coefficients, overruns)
def test_more_wind_is_faster(diameter, factor, freezer_c, h, overrun):
    still = _minutes_to_harden(diameter, freezer_c, h, overrun)
    windy = _minutes_to_harden(diameter, freezer_c, factor * h, overrun)
    assert still / factor * 0.99 < windy < still


@_few
@given(shapes(), st.floats(-30.0, 40.0), st.floats(-30.0, 40.0), coefficients, overruns)
def test_bodies_go_from_start_to_surroundings(shape, start_c, around_c, h, overrun):
    """Never beyond either, the surface first and the core last, and the heat adds up."""
    course = cool(_material(overrun), shape, start_c, around_c, h, 3600.0, cells=6)
    low, high = sorted((start_c, around_c))
    slack = 0.02 + 0.01 * (high - low)
    for temperatures in (course.core_c, course.mean_c, course.surface_c):
        assert np.all((temperatures >= low - slack) & (temperatures <= high + slack))
    way = np.sign(around_c - start_c)
    assert np.all(way * (course.surface_c - course.mean_c) >= -slack)
    assert np.all(way * (course.mean_c - course.core_c) >= -slack)
    assert np.all(way * np.diff(course.mean_enthalpy) >= -1.0)
    assert course.energy_error <= 1e-3 or abs(course.heat_out_j_per_kg[-1]) < 1.0


@_few
@given(shapes(), coefficients, st.floats(60.0, 7200.0))
def test_stopping_does_not_change_the_way(shape, h, seconds):
    """Reached is when the course passes the target; going on afterwards leads where it would have."""
    vanilla = _material(30.0)
    whole = cool(vanilla, shape, -5.0, -25.0, h, seconds, cells=6)
    target = float(whole.mean_c[len(whole.mean_c) // 2])
    stopped = cool(
        vanilla,
        shape,
        -5.0,
        -25.0,
        h,
        seconds,
        until="mean",
        target_c=target,
        at_least_s=seconds,
        cells=6,
    )
    assert stopped.reached_s is not None
    assert abs(stopped.at(stopped.reached_s)[1] - target) < 0.01
    for there, here in zip(whole.at(seconds), stopped.at(seconds), strict=True):
        assert abs(there - here) < 0.05


@_few
@given(mixes(), overruns)
def test_materials_rise(mix, overrun):
    found = material(mix, overrun)
    grid = found.temperature_c
    assert np.all(np.diff(found.enthalpy) > 0.0)
    np.testing.assert_allclose(found.temperature_at(found.enthalpy), grid, atol=1e-9)
    airless = material(mix)
    assert abs(found.density * (1.0 + overrun / 100.0) / airless.density - 1.0) < 1e-9
    np.testing.assert_allclose(found.enthalpy, airless.enthalpy)
    assert np.all(found.conductivity <= airless.conductivity * (1.0 + 1e-9))
    assert np.all(np.diff(ice_fraction(mix, np.linspace(-30.0, 5.0, 100))) <= 1e-9)


@_few
@given(mixes())
def test_only_ratios_matter(mix):
    one, many = material(mix), material(17.0 * mix)
    np.testing.assert_allclose(one.enthalpy, many.enthalpy, rtol=1e-6, atol=1e-3)
    assert abs(one.density / many.density - 1.0) < 1e-9


@_few
@given(st.floats(0.04, 0.12), st.floats(-30.0, -16.5), st.sampled_from(["still", "fan", "blast"]))
def test_hardening_ranges_hold_their_middle(diameter, freezer_c, air):
    found = harden(
        _VANILLA, Container(Shape.sphere(diameter), "card"), 30.0, -5.0, -15.0, freezer_c, air
    )
    assert found.low_minutes < found.minutes < found.high_minutes
    assert found.heat_out_kj > 0.0


@_few
@given(st.floats(20.0, 150.0), st.floats(-18.0, -8.0), st.floats(15.0, 35.0))
def test_scoops_hold_longer_when_colder(grams, from_c, room_c):
    """And melt sooner in a warmer room."""
    found = scoop_holds(_VANILLA, grams, 30.0, from_c, room_c)
    assert found.low_minutes < found.minutes < found.high_minutes
    assert scoop_holds(_VANILLA, grams, 30.0, from_c - 1.0, room_c).minutes > found.minutes
    assert scoop_holds(_VANILLA, grams, 30.0, from_c, room_c + 2.0).minutes < found.minutes
