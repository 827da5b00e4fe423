"""Rounding to what a scale shows, against every mix that the scale can weigh nearby."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from formulate.mix import Programme, Row
from formulate.recipes import Scale
from formulate.solver import to_scale as weigh
from formulate.solver.to_scale import MOST_STEPS, weighable

SCALE = Scale(step_g=1.0, fine_step_g=0.1, fine_below_g=20.0)


def row(coefficients, lower=-np.inf, upper=np.inf, **more):
    more = {"width": 10.0, "growth": (0.0, 0.0), **more}
    return Row("wish", "range", np.array(coefficients, dtype=float), lower, upper, **more)


def a_programme(rows, lower, upper, batch=1000.0, reach=None, most=None):
    count = len(lower)
    matrix = np.array([each.coefficients for each in rows]).reshape(-1, count)
    return Programme(
        tuple(f"i{at}" for at in range(count)),
        batch,
        batch,
        batch if most is None else most,
        np.ones(count) if reach is None else np.array(reach),
        np.array(lower, dtype=float),
        np.array(upper, dtype=float),
        tuple(rows),
        matrix,
        np.array([each.lower for each in rows], dtype=float),
        np.array([each.upper for each in rows], dtype=float),
    )


OPEN = ([0.0, 0.0, 0.0], [1000.0, 1000.0, 1000.0])


def grams(found):
    return None if found is None else found.weights.tolist()


# what comes out


def test_what_the_scale_shows_already_stays():
    whole = a_programme([], *OPEN)
    found = weighable(whole, np.array([600.0, 390.0, 10.0]), SCALE)
    assert (grams(found), found.refined) == ([600.0, 390.0, 10.0], 1)


def test_small_weights_are_shown_finer():
    whole = a_programme([], *OPEN)
    found = weighable(whole, np.array([600.32, 380.0, 19.68]), SCALE)
    # 19.7 to the tenth; the others by whole grams cannot make up for it, so that it is 20 or 19
    assert found.refined == 1
    assert found.weights.sum() == pytest.approx(1000.0)
    assert found.weights[:2].tolist() == [round(x) for x in found.weights[:2]]
    at_the_edge = weighable(whole, np.array([600.0, 380.0, 20.0]), SCALE)
    assert grams(at_the_edge) == [600.0, 380.0, 20.0]


def test_the_least_relative_repair_is_taken():
    """599.6 + 300.6 + 99.8 round to 1,001: the gram goes where it counts least, from the most."""
    whole = a_programme([], *OPEN)
    assert grams(weighable(whole, np.array([599.6, 300.6, 99.8]), SCALE)) == [599.0, 301.0, 100.0]
    dear = np.array([1.0, 1e-3, 1.0])  # or where it is said to count least
    found = weighable(whole, np.array([599.6, 300.6, 99.8]), SCALE, dear)
    assert grams(found) == [600.0, 300.0, 100.0]


def test_what_is_not_used_stays_out_and_what_cannot_move_stays():
    whole = a_programme([], [0.0, 300.55, 0.0], [1000.0, 300.55, 1000.0], batch=1000.55)
    found = weighable(whole, np.array([700.0, 300.55, 0.0]), SCALE)
    assert grams(found) == [700.0, 300.55, 0.0]


def test_steps_ten_times_finer_where_the_scale_is_too_coarse():
    tight = a_programme([row([1.0, 0.0, 0.0], 500.32, 500.38)], *OPEN)
    found = weighable(tight, np.array([500.35, 400.0, 99.65]), SCALE)
    assert found.refined == 100
    assert 500.32 <= found.weights[0] <= 500.38
    wider = a_programme([row([1.0, 0.0, 0.0], 500.32, 500.45)], *OPEN)
    found = weighable(wider, np.array([500.35, 400.0, 99.65]), SCALE)
    assert (found.refined, found.weights[0]) == (10, 500.4)
    assert found.weights.sum() == pytest.approx(1000.0, abs=1e-6)


def test_none_where_no_step_is_fine_enough():
    point = a_programme([row([1.0, 0.0, 0.0], 500.3214, 500.3216)], *OPEN)
    assert weighable(point, np.array([500.3215, 400.0, 99.6785]), SCALE) is None


def test_an_exact_target_may_be_missed_by_its_slack():
    near = a_programme([row([1.0, 0.0, 0.0], 500.4, 500.4, slack=0.5)], *OPEN)
    found = weighable(near, np.array([500.4, 399.6, 100.0]), SCALE)
    assert (grams(found), found.refined) == ([500.0, 400.0, 100.0], 1)


def test_a_batch_of_what_a_jug_keeps_some_of_may_be_half_a_step_off():
    """901 x 0.99 + 108 = 999.99: whole grams do not make it, but within half a gram they do."""
    whole = a_programme([], [901.0, 0.0, 0.0], [901.0, 1000.0, 0.0], reach=[0.99, 1.0, 1.0])
    found = weighable(whole, np.array([901.0, 108.01, 0.0]), SCALE)
    assert (grams(found), found.refined) == ([901.0, 108.0, 0.0], 1)
    small = a_programme([], [40.0, 0.0, 0.0], [40.0, 40.0, 0.0], batch=60.4, reach=[0.99, 1.0, 1.0])
    assert weighable(small, np.array([40.0, 20.8, 0.0]), SCALE).weights[1] == 21.0
    half = weighable(small, np.array([40.0, 20.8, 0.0]), Scale(5.0, 5.0, 0.1))
    assert half.refined == 1 and half.weights[1] == 20.0  # 2.5 g either way would do


def test_with_a_jug_the_nearest_steps_are_taken_though_others_would_be_exact():
    """101 x 0.9 + 209 = 299.9 is as good as 300; 100 and 110 would make it, and are further off."""
    whole = a_programme([], *OPEN, batch=300.0, reach=[0.9, 1.0, 1.0])
    found = weighable(whole, np.array([101.4, 108.74, 100.0]), SCALE)
    assert (grams(found), found.refined) == ([101.0, 109.0, 100.0], 1)


def test_no_weight_is_less_than_nothing():
    found = weighable(a_programme([], *OPEN), np.array([600.0, 400.0, -0.0]), SCALE)
    assert not np.signbit(found.weights).any()


def test_a_mix_as_it_reaches_the_scale_is_a_gram_off_only_where_it_must():
    """Without a jug the total is kept to the gram if it can be, and within half a step if not."""
    whole = a_programme([], *OPEN, batch=1000.4)
    found = weighable(whole, np.array([600.2, 300.1, 100.1]), SCALE)
    assert found.refined == 1 and found.weights.sum() == 1000.0


def test_a_pot_may_grow_only_as_far_as_it_may():
    grown = a_programme([], *OPEN, most=1010.0)
    found = weighable(grown, np.array([600.4, 300.4, 100.4]), SCALE)
    assert grams(found) == [600.0, 300.0, 100.0]
    full = a_programme([], *OPEN, most=1001.0)
    found = weighable(full, np.array([600.6, 300.3, 100.1]), SCALE)
    assert 1000.0 <= found.weights.sum() <= 1001.0


def test_a_target_is_asked_of_the_mix_as_it_is():
    """Of a pot that grows from 1,000 to 1,100 g, 30 % are 330 g."""
    share = row([1.0, 0.0, 0.0], 330.0, np.inf, growth=(0.3, 0.0))
    grown = a_programme([share], *OPEN, most=1100.0)
    short = weighable(grown, np.array([315.0, 700.0, 35.0]), SCALE)
    assert grams(short) == [315.0, 700.0, 35.0]  # 30 % of 1,050 g
    most = row([1.0, 0.0, 0.0], -np.inf, 330.0, growth=(0.0, 0.3))
    less = a_programme([most], *OPEN, most=1100.0)
    assert weighable(less, np.array([316.0, 700.0, 34.0]), SCALE).weights[0] <= 315.0


@pytest.mark.parametrize("seed", range(40))
def test_no_nearby_mix_that_the_scale_shows_is_nearer_when_repaired_once(seed):
    """All whole grams within three of the optimum: what is found is among them, or none are."""
    random = np.random.default_rng(seed)
    exact = random.uniform(60.0, 400.0, 4)
    batch = float(np.round(exact.sum()))
    exact *= batch / exact.sum()
    coefficients = random.uniform(0.0, 1.0, (2, 4))
    value, room = coefficients @ exact, random.uniform(0.05, 0.4, 2)
    rows = [row(c, v - r, v + r) for c, v, r in zip(coefficients, value, room, strict=True)]
    whole = a_programme(rows, exact - 2.5, exact + 2.5, batch=batch)
    reachable = []
    for moved in itertools.product(range(-3, 4), repeat=4):
        tried = np.round(exact) + moved
        if whole.holds(tried) and np.all(np.abs(tried - exact) <= MOST_STEPS):
            reachable.append(tried)
    found = weighable(whole, exact, SCALE)
    if not reachable:
        assert found is None or found.refined > 1 or abs(found.weights.sum() - batch) > 1e-6
        return
    assert found is not None and found.refined == 1
    assert any(np.array_equal(found.weights, tried) for tried in reachable)
    # and none needs a much smaller repair: by one or two moves there is none that needs less
    rounded = np.round(exact)
    price = 1.0 / exact

    def away(tried):
        counts = np.abs(tried - rounded) * price
        return counts.max() + 1e-3 * counts.sum()

    def moves(tried):
        up = np.clip(tried - rounded, 0.0, None).sum()
        return max(up, np.clip(rounded - tried, 0.0, None).sum())

    few = [away(tried) for tried in reachable if moves(tried) <= 1]
    if few and min(few) <= 0.01:
        assert away(found.weights) <= min(few) + 1e-9


# the parts, by hand


def test_demands_by_hand():
    rows = [
        row([0.5, 0.2, 0.0], 200.0, 300.0, width=50.0, slack=2.0),
        row([1.0, 0.0, 0.0], 330.0, np.inf, width=4.0, growth=(0.3, 7.0)),
    ]
    whole = a_programme(rows, [1.0, 2.0, 3.0], [700.0, 800.0, 900.0], reach=[0.9, 1.0, 1.0])
    found = weigh._demands(whole, 0.5)
    np.testing.assert_allclose(
        found.matrix,
        [
            [0.9, 1.0, 1.0],
            [0.5, 0.2, 0.0],
            [-0.5, -0.2, 0.0],
            [1.0 - 0.27, -0.3, -0.3],
            *np.eye(3),
        ],
    )
    np.testing.assert_allclose(
        found.lower, [999.5, 198.0, -302.0, 30.0, 1.0, 2.0, 3.0], rtol=0.0, atol=1.1e-7
    )
    np.testing.assert_allclose(
        found.upper, [1000.5, *[np.inf] * 3, 700.0, 800.0, 900.0], rtol=0.0, atol=1.1e-7
    )
    np.testing.assert_allclose(found.price, [1.0, 0.02, 0.02, 0.25, 1.0, 1.0, 1.0])
    assert found.limits == 3
    # wider by arithmetic: 1e-10 of the batch, 1e-9 of a width of 50
    assert found.lower[0] - 999.5 == pytest.approx(-1e-7, rel=1e-3)
    assert found.upper[0] - 1000.5 == pytest.approx(1e-7, rel=1e-3)
    assert found.upper[4] - 700.0 == pytest.approx(1e-7, rel=1e-3)
    assert found.lower[6] - 3.0 == pytest.approx(-1e-7, rel=1e-3)
    assert found.lower[1] - 198.0 == pytest.approx(-5e-8, rel=1e-3)
    assert found.lower[3] - 30.0 == pytest.approx(-4e-9, rel=1e-2)
    matrix, lower, upper = found.rows()
    np.testing.assert_array_equal(matrix, found.matrix[:4])
    np.testing.assert_array_equal(lower, found.lower[:4])
    np.testing.assert_array_equal(upper, found.upper[:4])


def test_a_pot_has_no_room_beyond_its_own():
    grown = a_programme([], *OPEN, most=1010.0)
    found = weigh._demands(grown, 0.5)
    assert found.lower[0] == pytest.approx(1000.0, abs=1e-6)
    assert found.upper[0] == pytest.approx(1010.0, abs=1e-6)


def test_a_narrow_row_has_the_arithmetic_of_its_batch():
    found = weigh._demands(a_programme([row([1.0, 0.0, 0.0], 5.0, width=0.001)], *OPEN))
    assert 5.0 - found.lower[1] == pytest.approx(1e-9, rel=1e-2)  # 1e-12 of 1,000 g


def test_what_holds_and_what_is_missed():
    whole = a_programme([row([1.0, 0.0, 0.0], 100.0, 200.0)], *OPEN)
    demands = weigh._demands(whole)

    def values(*weights):
        return demands.matrix @ np.array(weights)

    assert demands.hold(values(100.0, 500.0, 400.0)) and demands.hold(values(200.0, 500.0, 300.0))
    for missed, by in (
        ((99.0, 501.0, 400.0), 0.1),  # a gram of a width of ten
        ((203.0, 500.0, 297.0), 0.3),
        ((150.0, 500.0, 349.0), 1.0),  # a gram of the batch: a thousandfold
        ((150.0, 500.0, 352.0), 2.0),
        ((150.0, 852.0, -2.0), 2.0),
        ((203.0, 500.0, 298.0), 1.3),
    ):
        assert not demands.hold(values(*missed))
        assert float(demands.miss(values(*missed))) == pytest.approx(by, abs=1e-6)


def test_repairs_count_by_the_dearest():
    tried = np.array([[11.0, 20.0], [10.0, 22.0]])
    counted = weigh._away(tried, np.array([10.0, 20.0]), np.array([0.1, 0.2]))
    assert counted.tolist() == pytest.approx([0.1 + 1e-4, 0.4 + 4e-4])


def test_moves_by_hand():
    pinches = weigh._effects_of_moves(np.eye(2), np.array([0.1, 0.1])).tolist()
    assert [0.1, -0.1] in pinches and [-0.1, 0.1] in pinches and [0.0, 0.1] in pinches
    assert max(max(map(abs, move)) for move in pinches) == 0.1
    found = weigh._effects_of_moves(np.eye(3), np.array([1.0, 1.0, 0.1])).tolist()
    assert [0.0, 0.0, 0.0] in found
    for at, step in enumerate((1.0, 1.0, 0.1)):
        for sign in (1.0, -1.0):
            single = [0.0] * 3
            single[at] = sign * step
            assert single in found
    assert [1.0, -1.0, 0.0] in found and [-1.0, 1.0, 0.0] in found
    assert [1.0, 0.0, -0.1] not in found  # a pinch is not exchanged for a gram


def test_single_moves_repair_the_total_or_nothing():
    whole = a_programme([], [0.0, 0.0, 0.0], [600.0, 300.0, 101.0])
    demands = weigh._demands(whole)
    rounded, price = np.array([600.0, 300.0, 97.0]), 1.0 / np.array([600.0, 300.0, 97.0])
    effects = weigh._effects_of_moves(demands.matrix.T, np.ones(3))
    found = weigh._by_single_moves(demands, rounded, effects, price)
    assert found.tolist() == [600.0, 300.0, 100.0]
    tight = weigh._demands(a_programme([], [0.0, 0.0, 0.0], [600.0, 300.0, 97.0]))
    stuck = weigh._effects_of_moves(tight.matrix.T, np.ones(3))
    assert weigh._by_single_moves(tight, rounded, stuck, price) is None
    assert weigh._by_pairs(tight, rounded, stuck, price) is None


def test_no_weight_ends_far_from_its_optimum():
    """One row can only be kept by moving the third by five grams: then finer steps are tried."""
    limits = ([599.0, 300.0, 95.0], [599.0, 300.0, 105.0])
    only_so = a_programme([row([1.0, 0.0, 0.0], 0.0, 1000.0)], *limits)
    found = weighable(only_so, np.array([599.0, 300.0, 101.0]), SCALE)
    assert grams(found) == [599.0, 300.0, 101.0]
    far = a_programme([], [0.0, 0.0, 0.0], [1000.0] * 3, batch=1004.0)
    found = weighable(far, np.array([600.0, 300.0, 100.0]), SCALE).weights
    assert found.sum() == 1004.0
    assert np.abs(found - [600.0, 300.0, 100.0]).max() <= MOST_STEPS
    for batch, all_by in ((1009.0, 3.0), (991.0, -3.0)):  # then each must go as far as it may
        only = a_programme([], [0.0, 0.0, 0.0], [1000.0] * 3, batch=batch)
        found = weighable(only, np.array([600.0, 300.0, 100.0]), SCALE)
        assert grams(found) == [600.0 + all_by, 300.0 + all_by, 100.0 + all_by]
    less = a_programme([], [0.0, 0.0, 0.0], [1000.0] * 3, batch=996.0)
    found = weighable(less, np.array([600.0, 300.0, 100.0]), SCALE).weights
    assert found.sum() == 996.0
    assert np.abs(found - [600.0, 300.0, 100.0]).max() <= MOST_STEPS
    single = a_programme([], [600.0, 300.0, 0.0], [600.0, 300.0, 1000.0], batch=1004.0)
    assert weighable(single, np.array([600.0, 300.0, 100.0]), SCALE) is None


def test_a_repair_of_some_size_is_weighed_against_pairs_of_moves():
    """What single moves find is taken if it is small; else the least of all pairs, if there is one."""
    random, kinds = np.random.default_rng(7), set()
    for _ in range(400):
        exact = random.uniform(22.0, 90.0, 4)
        batch = float(np.round(exact.sum()))
        exact *= batch / exact.sum()
        coefficients = random.uniform(0.0, 1.0, (2, 4))
        value, room = coefficients @ exact, random.uniform(0.1, 0.5, 2)
        rows = [row(c, v - r, v + r) for c, v, r in zip(coefficients, value, room, strict=True)]
        whole = a_programme(rows, [0.0] * 4, [batch] * 4, batch=batch)
        demands, price, steps = weigh._demands(whole), 1.0 / exact, np.ones(4)
        rounded = np.round(exact)
        effects = weigh._effects_of_moves(demands.matrix.T, steps)
        greedy = weigh._by_single_moves(demands, rounded, effects, price)
        paired = weigh._by_pairs(demands, rounded, effects, price)
        found = weigh._repaired(whole, demands, exact, steps, price)
        if demands.hold(demands.matrix @ rounded):
            expected, kind = rounded, "as rounded"
        elif greedy is not None and float(weigh._away(greedy, rounded, price)) <= 0.01:
            expected, kind = greedy, "small"
        elif paired is None:
            expected, kind = greedy, "none" if greedy is None else "single moves alone"
        else:
            expected = paired
            kind = "pairs" if greedy is None or not np.allclose(greedy, paired) else "the same"
        kinds.add(kind)
        assert (found is None) == (expected is None)
        assert found is None or found == pytest.approx(expected, abs=1e-9), kind
    assert {"as rounded", "pairs", "none", "the same"} <= kinds, kinds
