"""Where there is a fast way beside a plain one, both do the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from formulate.answers.checking import check
from formulate.data.examples import example_bytes, example_names
from formulate.data.tables import TableError, numbers, numbers_plain
from formulate.freezing.curve import freezing_model, frozen_at
from formulate.mix.mixtures import mixture
from formulate.mix.outlooks import outlook
from formulate.mix.programmes import programme
from formulate.recipes.file import parse
from formulate.solver import to_scale as weigh
from formulate.solver.objectives import best, relative_change

MARGIN_G = 1e-9


def a_recipe(name):
    return parse(example_bytes(name), name)


@pytest.mark.parametrize("batch_g", [1500.0, 2000.0, 2345.0, 3000.0])
@pytest.mark.parametrize("name", example_names())
def test_repairs_by_pairs_of_moves(name, batch_g):
    known = a_recipe(name)
    mix = mixture(replace(known, batch_g=batch_g))
    rows = programme(mix)
    found = best(rows, relative_change(rows, mix.start))
    assert found is not None
    exact, scale = found.weights, known.scale
    steps = np.where(exact < scale.fine_below_g, scale.fine_step_g, scale.step_g)
    free = np.flatnonzero((rows.upper > rows.lower) & (exact > 0.0))
    rounded = exact.copy()
    rounded[free] = np.round(exact[free] / steps[free]) * steps[free]
    demands = weigh._demands(rows)
    price = 1.0 / np.maximum(exact, steps)
    effects = weigh._effects_of_moves(demands.matrix.T[free], steps[free])
    moves = weigh._effects_of_moves(np.eye(len(exact))[free], steps[free])
    assert np.array_equal(effects[:, -len(exact) :], moves)
    assert effects == pytest.approx(moves @ demands.matrix.T, abs=MARGIN_G)
    fast = weigh._by_pairs(demands, rounded, effects, price)
    plain = weigh._by_pairs_plain(demands, rounded, effects, price)
    assert (fast is None) == (plain is None)
    if fast is not None:
        assert fast == pytest.approx(plain, abs=MARGIN_G)
        assert demands.hold(demands.matrix @ fast)


def test_what_is_missed_is_missed_by_so_much():
    mix = mixture(a_recipe("damson_sorbet"))
    rows = programme(mix)
    demands = weigh._demands(rows)
    weights = mix.start
    by_hand = 0.0
    for row in rows.rows:
        value = float(row.coefficients @ weights)
        by_hand += (
            max(row.lower - row.slack - value, value - row.upper - row.slack, 0.0) / row.width
        )
    assert by_hand > 0.0
    assert float(demands.miss(demands.matrix @ weights)) == pytest.approx(by_hand, rel=1e-6)
    assert not demands.hold(demands.matrix @ weights)
    short = demands.matrix @ (0.9 * weights)
    assert float(demands.miss(short)) > 1e3 * 0.09  # a tenth of the batch is missing


def test_numbers_of_a_table():
    rows = [{"a": "1", "b": " 2.5"}, {"a": "-3e2", "b": "0"}]
    fast = numbers(rows, ("b", "a"), ("one", "two"))
    assert np.array_equal(fast, [[2.5, 1.0], [0.0, -300.0]])
    assert np.array_equal(fast, numbers_plain(rows, ("b", "a"), ("one", "two")))


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("", "two: b is missing"),
        ("much", 'two: b is "much", not a number'),
        ("nan", "not a finite"),
    ],
)
@pytest.mark.parametrize("way", [numbers, numbers_plain])
def test_cells_that_are_no_numbers_are_named(way, cell, words):
    rows = [{"a": "1", "b": "2"}, {"a": "1", "b": cell}]
    with pytest.raises(TableError, match=words):
        way(rows, ("a", "b"), ("one", "two"))


def test_one_curve_is_one_of_many():
    mix = mixture(a_recipe("bay_leaf_ice_cream"))
    composition = mix.start @ mix.compositions / float(mix.reach @ mix.start)
    celsius = (-0.5, -3.0, -13.0, -24.0)
    many = freezing_model().frozen_water(composition, celsius)[0]
    assert frozen_at(celsius, composition) == pytest.approx(many, abs=1e-9)
    assert np.array_equal(frozen_at(celsius, np.zeros_like(composition)), np.zeros(4))


def test_the_outlook_is_worked_out_when_asked_for_and_once():
    result = check(a_recipe("bay_leaf_ice_cream"))
    assert "outlook" not in vars(result)
    assert result.outlook == outlook(result.mixture, result.mix)
    assert result.outlook is result.outlook
