"""Learning from simulated kitchens whose truth is known: intervals hold what they promise."""

from __future__ import annotations

from dataclasses import astuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.errors import InputError
from formulate.notebook.learning import (
    FirmnessPoint,
    learn_lots,
    learn_served,
    learn_setting,
    learn_window,
)
from formulate.recipes.serving import Range
from formulate.recipes.steps import Usual

USUAL = Range(70.0, 76.0)
MIDDLE, WIDTH = 73.0, 6.0
KITCHENS = 420


def kitchen(chance, verdicts, mixes, middle=None):
    """One kitchen: its window, and verdicts on mixes about which the prediction errs by one percent."""
    if middle is None:
        middle = MIDDLE + 3.0 * chance.standard_normal()
    width = WIDTH * np.exp(0.35 * chance.standard_normal())
    scatter = 1.5 * np.exp(0.4 * chance.standard_normal())
    step = 0.5 * WIDTH * np.exp(0.4 * chance.standard_normal())
    error = chance.standard_normal(mixes)
    edges = (-width / 2.0 - step, -width / 2.0, width / 2.0, width / 2.0 + step)
    points = []
    for _ in range(verdicts):
        mix = int(chance.integers(mixes))
        frozen = float(MIDDLE + 4.0 * chance.standard_normal())
        feels = frozen + error[mix] + scatter * chance.standard_normal() - middle
        said = int(np.searchsorted(edges, feels)) - 2
        if chance.random() < 0.02:
            said = int(chance.integers(-2, 3))
        points.append(FirmnessPoint(f"mix {mix}", frozen, 1.0, said))
    return float(middle), float(width), points


def holds(interval, truth):
    return interval.low <= truth <= interval.high


# The window -----------------------------------------------------------------------------------------


def test_ninety_in_a_hundred_intervals_hold_the_truth():
    chance = np.random.default_rng(20261125)
    middles = widths = 0
    for count in range(KITCHENS):
        verdicts, mixes = ((5, 3), (12, 4), (25, 5))[count % 3]
        middle, width, points = kitchen(chance, verdicts, mixes)
        found = learn_window(points, USUAL)
        middles += holds(found.middle, middle)
        widths += holds(found.width, width)
    assert 0.85 <= middles / KITCHENS <= 0.95
    assert 0.85 <= widths / KITCHENS <= 0.95


def test_five_verdicts_are_better_than_the_usual_window():
    chance = np.random.default_rng(5)
    learned, usual = [], []
    for _ in range(200):
        middle, _, points = kitchen(chance, 5, 3)
        learned.append(abs(learn_window(points, USUAL).middle.value - middle))
        usual.append(abs(MIDDLE - middle))
    assert np.mean(learned) < 0.6 * np.mean(usual)


def test_a_kitchen_far_from_the_usual_is_found_with_many_verdicts():
    chance = np.random.default_rng(6)
    found = [learn_window(kitchen(chance, 25, 5, middle=MIDDLE + 6.0)[2], USUAL) for _ in range(40)]
    assert np.mean([window.middle.value for window in found]) == pytest.approx(79.0, abs=1.0)
    assert np.mean([holds(window.middle, 79.0) for window in found]) >= 0.75


def test_without_verdicts_it_is_the_usual_window():
    found = learn_window([], USUAL)
    assert found.middle.value == pytest.approx(MIDDLE, abs=1e-9)
    assert found.middle.high - MIDDLE == pytest.approx(1.645 * 3.0, abs=0.05)
    assert found.width.value == pytest.approx(WIDTH, rel=1e-9)
    assert found.width.high / WIDTH == pytest.approx(np.exp(1.645 * 0.35), rel=0.02)
    assert (found.window.min, found.window.max) == pytest.approx((70.0, 76.0))
    assert (found.verdicts, found.mixes) == (0, 0)


def test_the_posterior_is_that_of_drawn_kitchens():
    """The same question, answered otherwise: draw windows from the prior and weigh them."""
    points = [
        FirmnessPoint("a", 77.0, 1.0, 0),
        FirmnessPoint("a", 80.0, 1.0, 1),
        FirmnessPoint("b", 70.0, 1.5, -1),
        FirmnessPoint("b", 75.5, 1.5, 0),
        FirmnessPoint("c", 83.0, 0.5, 2),
    ]
    chance = np.random.default_rng(8)
    draws = 400_000
    middle = MIDDLE + 3.0 * chance.standard_normal(draws)
    width = WIDTH * np.exp(0.35 * chance.standard_normal(draws))
    scatter = 1.5 * np.exp(0.4 * chance.standard_normal(draws))
    step = 3.0 * np.exp(0.4 * chance.standard_normal(draws))
    from scipy.special import ndtr

    weight = np.ones(draws)
    for mix in "abc":
        error = chance.standard_normal(draws)
        for point in points:
            if point.mix != mix:
                continue
            feels = point.frozen_water + error * point.deviation - middle
            half, far = width / 2.0, width / 2.0 + step
            edges = {-2: -far, -1: -half, 0: half, 1: far}
            above = ndtr((edges.get(point.firmness, np.inf) - feels) / scatter)
            below = ndtr((edges.get(point.firmness - 1, -np.inf) - feels) / scatter)
            weight *= 0.98 * (above - below) + 0.02 / 5.0
    weight /= weight.sum()
    found = learn_window(points, USUAL)
    order = np.argsort(middle)
    low, high = np.interp([0.05, 0.95], np.cumsum(weight[order]), middle[order])
    assert found.middle.value == pytest.approx(float(weight @ middle), abs=0.05)
    assert found.middle.low == pytest.approx(low, abs=0.1)
    assert found.middle.high == pytest.approx(high, abs=0.1)
    assert np.log(found.width.value) == pytest.approx(float(weight @ np.log(width)), abs=0.02)


verdicts = st.lists(
    st.tuples(
        st.sampled_from("abc"), st.floats(55.0, 90.0), st.floats(0.0, 2.0), st.integers(-2, 2)
    ).map(lambda parts: FirmnessPoint(*parts)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=25, deadline=None)
@given(verdicts, st.randoms(), st.floats(-8.0, 8.0))
def test_order_does_not_matter_and_everything_shifts_together(points, chance, by):
    found = learn_window(points, USUAL)
    mixed = list(points)
    chance.shuffle(mixed)
    assert astuple(learn_window(mixed, USUAL).middle) == pytest.approx(astuple(found.middle))
    moved = [FirmnessPoint(p.mix, p.frozen_water + by, p.deviation, p.firmness) for p in points]
    window = learn_window(moved, Range(70.0 + by, 76.0 + by))
    assert window.middle.value == pytest.approx(found.middle.value + by, abs=1e-6)
    assert found.middle.low < found.middle.value < found.middle.high
    assert found.width.low < found.width.value < found.width.high


def test_who_finds_it_harder_wants_less_ice():
    """In the middle of the usual window; far out, a verdict that cannot fit is taken for a slip."""
    middles = [
        learn_window([FirmnessPoint("a", MIDDLE, 1.0, said)], USUAL).middle.value
        for said in range(-2, 3)
    ]
    assert middles == sorted(middles, reverse=True)
    assert middles[2] == pytest.approx(MIDDLE)
    assert middles[1] - MIDDLE == pytest.approx(MIDDLE - middles[3])
    slip = learn_window([FirmnessPoint("a", 40.0, 1.0, 2)], USUAL).middle
    assert slip.value == pytest.approx(MIDDLE, abs=0.1)


@pytest.mark.parametrize("point", [(101.0, 0), (-1.0, 0), (float("nan"), 0), (70.0, 3)])
def test_a_verdict_that_cannot_be_is_refused(point):
    with pytest.raises(InputError, match="verdict on a"):
        learn_window([FirmnessPoint("a", point[0], 1.0, point[1])], USUAL)


# Settings and lots ----------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 3, 8, 20])
def test_intervals_of_settings_hold_the_truth(count):
    chance = np.random.default_rng(count)
    held, better = 0, []
    for _ in range(600):
        mean = 12.0 + 3.0 * chance.standard_normal()
        scatter = 1.5 * np.exp(0.5 * chance.standard_normal())
        weighed = list(mean + scatter * chance.standard_normal(count))
        found = learn_setting(weighed, Usual(12.0, 25.0, ""))
        held += holds(found.value, mean)
        better.append(abs(12.0 - mean) - abs(found.value.value - mean))
    assert 0.86 <= held / 600 <= 0.94
    assert np.mean(better) > 0.0


@pytest.mark.parametrize("count", [1, 3, 8, 20])
def test_intervals_of_lots_hold_the_truth(count):
    chance = np.random.default_rng(100 + count)
    means = deviations = 0
    better = []
    for _ in range(600):
        mean = 12.0 + 2.0 * chance.standard_normal()
        deviation = 2.0 * np.exp(0.4 * chance.standard_normal())
        read = list(mean + np.hypot(deviation, 0.2) * chance.standard_normal(count))
        found = learn_lots(read, 12.0, 2.0)
        means += holds(found.mean, mean)
        deviations += holds(found.deviation, deviation)
        better.append(abs(2.0 - deviation) - abs(found.deviation.value - deviation))
    assert 0.86 <= means / 600 <= 0.94
    assert 0.86 <= deviations / 600 <= 0.94
    assert np.mean(better) > 0.0


@pytest.mark.parametrize("count", [1, 5, 20])
def test_intervals_of_serving_temperatures_hold_the_truth(count):
    chance = np.random.default_rng(200 + count)
    held, better = 0, []
    for _ in range(600):
        mean = -12.0 + 2.0 * chance.standard_normal()
        scatter = np.exp(0.5 * chance.standard_normal())
        found = learn_served(list(mean + scatter * chance.standard_normal(count)), -12.0)
        held += holds(found.mean, mean)
        better.append(abs(-12.0 - mean) - abs(found.mean.value - mean))
    assert 0.86 <= held / 600 <= 0.94
    assert np.mean(better) > 0.0


def test_little_data_stays_near_the_usual_and_much_leaves_it():
    one = learn_setting([20.0], Usual(12.0, 25.0, ""))
    many = learn_setting([20.0, 20.5, 19.5] * 10, Usual(12.0, 25.0, ""))
    assert 12.0 < one.value.value < many.value.value
    assert many.value.value == pytest.approx(20.0, abs=0.1)
    assert many.value.high - many.value.low < one.value.high - one.value.low
    nothing = learn_setting([], Usual(12.0, 25.0, ""))
    assert nothing.value.value == pytest.approx(12.0)
    assert nothing.value.high == pytest.approx(12.0 + 1.645 * 3.0, abs=0.02)
    lots = learn_lots([], 12.0, 2.0)
    assert (lots.mean.value, lots.deviation.value) == pytest.approx((12.0, 2.0))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(8.0, 18.0), min_size=1, max_size=12), st.floats(0.1, 10.0))
def test_units_do_not_matter(readings, by):
    found = learn_lots(readings, 12.0, 2.0)
    scaled = learn_lots([by * r for r in readings], by * 12.0, by * 2.0, plus_minus=by * 0.2)
    assert astuple(scaled.mean) == pytest.approx(
        [by * part for part in astuple(found.mean)], rel=1e-6
    )
    assert scaled.deviation.value == pytest.approx(by * found.deviation.value, rel=1e-6)


def test_what_cannot_be_learned_is_refused():
    with pytest.raises(InputError, match="sieve of plum"):
        learn_setting([1.0], Usual(None, 0.0, ""), "sieve", "plum")
    with pytest.raises(InputError, match="lots of plum"):
        learn_lots([float("nan")], 12.0, 2.0, "plum")
