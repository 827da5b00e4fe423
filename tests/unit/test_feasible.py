"""Hit-and-run against bodies whose uniform moments are known exactly, and on recipes."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from formulate.data.examples import example_bytes, example_names
from formulate.errors import InputError
from formulate.mix.assessment import target_values
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import Programme, programme
from formulate.recipes.file import parse
from formulate.recipes.model import Counts, Range
from formulate.solver.objectives import span
from formulate.sweeps import draws as feasible_mixes
from formulate.sweeps.body import begin, body_of, walk
from formulate.sweeps.convergence import bulk_ess, rank_r_hat
from formulate.sweeps.draws import draw_mixes

CHAINS, DRAWS = 8, 4000


def recipe(name):
    return parse(example_bytes(name), name)


def body(rows, row_lower, row_upper, total, lower, upper):
    """Weights with rows and limits that add up to a total."""
    count = len(lower)
    matrix = np.array(rows, dtype=float).reshape(-1, count)
    keys = tuple(f"i{number}" for number in range(count))
    limits = (np.array(lower, dtype=float), np.array(upper, dtype=float))
    bounds = (np.array(row_lower, dtype=float), np.array(row_upper, dtype=float))
    whole = Programme(keys, total, total, total, np.ones(count), *limits, (), matrix, *bounds)
    return body_of(whole)


def draws_of(found, seed=1, steps=20):
    random = np.random.default_rng(seed)
    begun, _ = walk(found, begin(found, CHAINS, random), 1, 200, random)
    _, draws = walk(found, begun, DRAWS, steps, random)
    return found.weights(draws)


def assert_moments(draws, mean, covariance):
    """Within four standard errors by the effective number of draws."""
    flat = draws.reshape(-1, draws.shape[2])
    for at in range(draws.shape[2]):
        one = draws[:, :, at]
        deviation = sqrt(covariance[at][at])
        assert rank_r_hat(one) < 1.01
        assert abs(flat[:, at].mean() - mean[at]) < 4.0 * deviation / sqrt(bulk_ess(one))
    # The variance of a squared deviation from its mean is at most that of a two-point law, (m - v) v
    # with m the greatest square: a bound that needs no fourth moments.
    centred = flat - np.array(mean)
    most = (centred**2).max(axis=0)
    for at in range(draws.shape[2]):
        variance = covariance[at][at]
        effective = bulk_ess((draws[:, :, at] - mean[at]) ** 2)
        error = sqrt(variance * (most[at] - variance) / effective)
        assert abs((centred[:, at] ** 2).mean() - variance) < 4.0 * error


@pytest.mark.parametrize("count", [3, 5, 8])
def test_a_simplex(count):
    """Dirichlet(1, …, 1): mean 1/n, variance (n - 1) / (n² (n + 1)), covariance -1 / (n² (n + 1))."""
    found = body([], [], [], 1.0, [0.0] * count, [1.0] * count)
    assert found.dimensions == count - 1
    draws = draws_of(found)
    scale = 1.0 / (count**2 * (count + 1))
    covariance = scale * (count * np.eye(count) - np.ones((count, count)))
    assert_moments(draws, [1.0 / count] * count, covariance)
    # The smallest part of such a division has mean 1/n² (David and Nagaraja, Order Statistics, 2003,
    # ch. 6.4): a figure of corners, where a walk that avoids them would fail.
    smallest = draws.min(axis=2)
    error = smallest.std() / sqrt(bulk_ess(smallest))
    assert abs(smallest.mean() - 1.0 / count**2) < 4.0 * error


def test_a_box_of_very_unequal_sides():
    """Uniform on [a, b]: mean (a + b) / 2, variance (b - a)² / 12; water makes up the total."""
    low, high = np.array([0.0, 100.0, 2.0]), np.array([1000.0, 130.0, 2.05])
    found = body([], [], [], 2000.0, [*low, 0.0], [*high, 2000.0])
    draws = draws_of(found)[:, :, :3]
    assert_moments(draws, (low + high) / 2.0, np.diag((high - low) ** 2 / 12.0))


def test_a_hexagon():
    """x in [0, 1]³ with sum 1.5 is a regular hexagon of side sqrt(1/2), second moment 5/24 side² along
    any line in its plane, of which each axis sees 2/3: variance 5/72."""
    draws = draws_of(body([], [], [], 1.5, [0.0] * 3, [1.0] * 3))
    covariance = 5.0 / 48.0 * (np.eye(3) - 1.0 / 3.0)
    assert_moments(draws, [0.5] * 3, covariance)


def test_a_simplex_cut_by_rows():
    """The part x0 >= 0.4 of a simplex is one of 0.6 its size, and so are its moments."""
    found = body([[1, 0, 0, 0]], [0.4], [np.inf], 1.0, [0.0] * 4, [1.0] * 4)
    scale = 0.6**2 / (16 * 5)
    covariance = scale * (4.0 * np.eye(4) - np.ones((4, 4)))
    assert_moments(draws_of(found), [0.55, 0.15, 0.15, 0.15], covariance)
    flat = body([[1, 0, 0, 0]], [0.4], [0.4], 1.0, [0.0] * 4, [1.0] * 4)
    assert flat.dimensions == 2
    draws = draws_of(flat)
    assert np.abs(draws[:, :, 0] - 0.4).max() < 1e-9
    scale = 0.6**2 / (9 * 4)
    assert_moments(draws[:, :, 1:], [0.2] * 3, scale * (3.0 * np.eye(3) - np.ones((3, 3))))


def test_bounds_that_together_leave_no_room_are_exact():
    """x0 + x1 <= 0.5 and x2 + x3 <= 0.5 where all add up to 1: both hold exactly, nothing says so."""
    rows = [[1, 1, 0, 0], [0, 0, 1, 1]]
    found = body(rows, [-np.inf] * 2, [0.5] * 2, 1.0, [0.0] * 4, [1.0] * 4)
    assert found.dimensions == 2
    draws = draws_of(found)
    assert np.abs(draws[:, :, :2].sum(axis=2) - 0.5).max() < 1e-9
    assert_moments(draws, [0.25] * 4, np.eye(4) * 0.25 / 12.0)


def test_no_body():
    assert body([[1, 0]], [2.0], [np.inf], 1.0, [0.0] * 2, [1.0] * 2) is None


@pytest.mark.parametrize("name", example_names())
def test_every_mix_that_is_drawn_meets_its_targets(name):
    asked = recipe(name)
    found = draw_mixes(asked, 300, seed=2)
    mix = mixture(asked)
    assert found.mixed and len(found.weights) == 300
    assert found.weights @ mix.reach == pytest.approx(asked.batch_g)
    for weights in found.weights:
        assert all(target.met for target in target_values(mix, weights))
    rows = programme(mix)
    for at in range(len(mix.keys)):
        low, high = span(rows, np.eye(len(mix.keys))[at])
        assert low - 1e-6 <= found.weights[:, at].min() <= found.weights[:, at].max() <= high + 1e-6


def test_the_same_seed_gives_the_same_mixes():
    first, again, other = (draw_mixes(recipe("damson_sorbet"), 50, seed) for seed in (1, 1, 2))
    assert np.array_equal(first.weights, again.weights)
    assert not np.array_equal(first.weights, other.weights)


def test_where_one_mix_is_left_it_is_that_one():
    asked = recipe("damson_sorbet")
    fixed = tuple(
        replace(entry, grams=grams, fixed=True)
        for entry, grams in zip(asked.ingredients, (1037, 227, 60, 115, 5, 556), strict=True)
    )
    found = draw_mixes(replace(asked, ingredients=fixed, targets={}, serving=None), 100)
    assert found.dimensions == 0 and found.weights.tolist() == [[1037, 227, 60, 115, 5, 556]]
    assert found.mixed and found.agreement == ()


def test_where_there_is_no_mix_there_is_none():
    asked = recipe("damson_sorbet")
    assert draw_mixes(replace(asked, targets={"sweetness": Range(60.0, 70.0)}), 10) is None


def test_chains_that_have_not_mixed_are_told_of(monkeypatch):
    """A walk too short to be sure is not called even."""
    monkeypatch.setattr(feasible_mixes, "_STEPS_PER_DIMENSION", 1)
    monkeypatch.setattr(feasible_mixes, "_LEAST_DRAWS", 20)
    found = draw_mixes(recipe("bay_leaf_ice_cream"), 50, seed=1, patience=0)
    assert not found.mixed


@pytest.mark.parametrize(
    ("count", "seed", "said"),
    [(0, 0, "from 1 to 1,000,000"), (10**7, 0, "from 1 to 1,000,000"), (5, -1, "from 0")],
)
def test_numbers_out_of_range(count, seed, said):
    with pytest.raises(InputError, match=said):
        draw_mixes(recipe("damson_sorbet"), count, seed)


def test_mixes_that_are_counted_lie_in_many_pieces():
    asked = replace(recipe("damson_sorbet"), counts=Counts(most_ingredients=4))
    with pytest.raises(InputError, match="do not lie in one piece"):
        draw_mixes(asked, 10)
