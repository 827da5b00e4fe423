"""The fast and the plain way to a linear programme give the same answer."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from formulate.answers.balancing import balance
from formulate.data.examples import example_bytes, example_names
from formulate.errors import SolverFault
from formulate.recipes import Scale
from formulate.recipes.file import parse
from formulate.recipes.model import Range
from formulate.solver.highs import _solver, linear, linear_plain


def random_programme(seed):
    random = np.random.default_rng(seed)
    columns, rows = int(random.integers(2, 12)), int(random.integers(1, 9))
    matrix = random.normal(size=(rows, columns))
    inside = random.uniform(0.0, 5.0, columns)
    value = matrix @ inside
    lower = np.where(random.random(rows) < 0.6, value - random.exponential(1.0, rows), -np.inf)
    upper = np.where(random.random(rows) < 0.6, value + random.exponential(1.0, rows), np.inf)
    exact = random.random(rows) < 0.2
    lower, upper = np.where(exact, value, lower), np.where(exact, value, upper)
    if seed % 5 == 0:  # and some that cannot be
        lower[0], upper[0] = value[0] + 1e3, np.inf
    return (
        random.normal(size=columns),
        matrix,
        lower,
        upper,
        np.zeros(columns),
        np.full(columns, 9.0),
    )


@pytest.mark.parametrize("seed", range(60))
def test_both_ways_agree(seed):
    arrays = random_programme(seed)
    fast, plain = linear(*arrays), linear_plain(*arrays)
    assert (fast is None) == (plain is None)
    if fast is None:
        return
    assert fast.objective == pytest.approx(plain.objective, rel=1e-7, abs=1e-7)
    cost, matrix, lower, upper, least, most = arrays
    for answer in (fast, plain):
        value = matrix @ answer.x
        assert np.all(value >= lower - 1e-6) and np.all(value <= upper + 1e-6)
        # Strong duality: the prices, and limits at the sign of what they leave, give the optimum.
        rest = cost - answer.prices @ matrix
        bound = np.where(answer.prices > 0.0, lower, upper)
        held = np.where(np.abs(answer.prices) > 1e-9, answer.prices * np.nan_to_num(bound), 0.0)
        dual = held.sum() + np.minimum(rest * least, rest * most).sum()
        assert dual == pytest.approx(answer.objective, rel=1e-6, abs=1e-6)


def test_what_was_solved_before_makes_no_difference():
    alone = {}
    for seed in range(60):
        _solver.cache_clear()
        alone[seed] = linear(*random_programme(seed))
    for seed in np.random.default_rng(1).integers(0, 60, 300):
        again, first = linear(*random_programme(seed)), alone[seed]
        assert (again is None) == (first is None)
        if again is not None:
            assert np.array_equal(again.x, first.x)
            assert np.array_equal(again.prices, first.prices)


def test_threads_solve_side_by_side():
    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(lambda seed: linear(*random_programme(seed)), range(200)))
    for seed, answer in enumerate(found):
        alone = linear(*random_programme(seed))
        assert (answer is None) == (alone is None)
        assert answer is None or np.array_equal(answer.x, alone.x)


@pytest.mark.parametrize("way", [linear, linear_plain])
def test_what_is_not_a_number_is_refused(way):
    one = np.ones(1)
    with pytest.raises(SolverFault):
        way(one * np.nan, np.ones((1, 1)), one, one, 0 * one, one)
    with pytest.raises(SolverFault):
        way(one, np.ones((1, 1)), one * np.nan, one, 0 * one, one)


@pytest.mark.parametrize("way", [linear, linear_plain])
def test_limits_without_room_are_no_solution(way):
    one = np.ones(1)
    assert way(one, np.ones((1, 1)), one, one, 2 * one, one) is None


@pytest.mark.parametrize("name", example_names())
@pytest.mark.parametrize("times", [1e3, 3e5])
def test_a_ton_is_balanced_as_a_kilogram_is(name, times):
    """Solvers judge by absolute tolerances; shares must not depend on the size of the batch."""
    small = parse(example_bytes(name), name)

    def scaled(value):
        return None if value is None else value * times

    large = replace(
        small,
        batch_g=small.batch_g * times,
        ingredients=tuple(
            replace(e, grams=scaled(e.grams), min_g=scaled(e.min_g), max_g=scaled(e.max_g))
            for e in small.ingredients
        ),
        scale=Scale(*(times * getattr(small.scale, n) for n in Scale.__dataclass_fields__)),
    )
    one, other = (np.array(balance(known).exact_grams) for known in (small, large))
    np.testing.assert_allclose(other / times, one, rtol=1e-9, atol=1e-6)
    hard = replace(large, targets={**large.targets, "total_solids": Range(90.0, None)})
    assert balance(hard).status == "impossible"
