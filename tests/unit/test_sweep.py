"""Blocks of a sweep: fast and plain agree with `balance`, and figures with `assess`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from formulate.answers.balancing import balance
from formulate.answers.ladders import between
from formulate.answers.rebalancing import rebalance
from formulate.data.examples import example_bytes
from formulate.errors import InputError, VerificationFault
from formulate.mix.assessment import assess
from formulate.mix.many import made, measures
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.mix.verification import require_verified
from formulate.recipes.file import parse
from formulate.recipes.model import Group, Range, Ratio
from formulate.solver import optimum, reached
from formulate.solver.certificates import contradiction_g, contradictions_g, of_prices
from formulate.solver.objectives import is_possible, least_miss
from formulate.sweeps.axes import axis_of, sweep_of
from formulate.sweeps.block import BALANCED, IMPOSSIBLE, REFUSED, block


def recipe(name):
    return parse(example_bytes(name), name)


def sweep(name, *words, **options):
    return sweep_of(recipe(name), tuple(axis_of(each) for each in words), **options)


def assert_as_balance(found, asked):
    """Every row is what `balance` says of its recipe."""
    for row in range(len(found.points)):
        if found.status[row] == REFUSED:
            with pytest.raises(InputError):
                asked.recipe_at(int(found.left_out[row]), found.varied[row])
            continue
        one = asked.recipe_at(int(found.left_out[row]), found.varied[row])
        result = balance(one)
        assert (result.status == "balanced") == (found.status[row] == BALANCED)
        if result.status == "impossible":
            assert np.isnan(found.weights[row]).all()
            continue
        keys = [entry.key for entry in asked.recipe.ingredients]
        exact = dict.fromkeys(keys, 0.0)
        exact |= dict(zip((w.key for w in result.mix.weights), result.exact_grams, strict=True))
        assert_as_good(one, dict(zip(keys, found.weights[row], strict=True)), exact)
        weights = dict(zip(keys, found.weights[row], strict=True))
        grams = [weights[entry.key] for entry in one.ingredients]
        judged = assess(mixture(one), np.array(grams))
        assert found.values["initial_freezing_point_c"][row] == pytest.approx(
            judged.initial_freezing_point_c, abs=1e-6
        )
        assert found.values["frozen_water"][row] == pytest.approx(judged.serving_frozen_water)
        assert found.values["serving_temperature_c"][row] == pytest.approx(
            judged.serving_temperature_c, abs=1e-6
        )
        for target in judged.targets:
            assert found.values[target.key][row] == pytest.approx(target.value, abs=1e-6)


def assert_as_good(one, grams, exact):
    """The two ways lay their tangents at different mixes: both are as good, to what tangents tell.

    Where a margin is just out of reach, grams may trade for thousandths of a standard deviation.
    """
    mix = mixture(one)
    chosen = optimum(mix, programme(mix))
    values = []
    for weights in (grams, exact):
        here = np.array([weights[entry.key] for entry in one.ingredients])
        margin = min(reached(chosen, here), 1.0)
        change = chosen.objective.change[: len(here)] @ np.abs(
            here - chosen.objective.start[: len(here)]
        )
        values.append(change + 25.0 * (1.0 - margin))
    assert values[0] == pytest.approx(values[1], abs=0.1)


@pytest.mark.parametrize("name", ["damson_sorbet", "damson_sorbet_ripe"])
def test_the_fast_way_is_balance(name):
    asked = sweep(name, "damson.brix=4:24:0.5")
    assert asked.is_fast
    assert_as_balance(block(asked, 0), asked)


def test_the_fast_way_is_balance_where_some_lots_have_no_mix():
    tight = replace(
        recipe("damson_sorbet"),
        targets={**recipe("damson_sorbet").targets, "fructose": Range(2.0, 2.5)},
    )
    asked = sweep_of(tight, (axis_of("damson.brix=6:20:0.5"),))
    found = block(asked, 0)
    assert asked.is_fast and set(found.status) == {BALANCED, IMPOSSIBLE}
    assert_as_balance(found, asked)


def test_the_fast_way_is_balance_within_a_grid_of_bounds_and_sets():
    asked = sweep(
        "damson_sorbet",
        "damson.brix=9:20:1",
        "target.sweetness.max=17:20:1.5",
        left_out=("dextrose_monohydrate",),
    )
    assert asked.is_fast and asked.points == 12 * 3 * 2
    assert_as_balance(block(asked, 0), asked)


def test_the_plain_way_is_balance():
    asked = sweep(
        "bay_leaf_ice_cream",
        "cream_35.price=4:6",
        "target.fat.min=8:12",
        "target.fat.max=11:13",
        "serving.temperature_c=-15:-12",
        samples=20,
        seed=5,
    )
    assert not asked.is_fast
    found = block(asked, 0)
    assert set(found.status) == {BALANCED, REFUSED}
    assert_as_balance(found, asked)


def test_prices_are_known_where_every_ingredient_has_one():
    plain = recipe("damson_sorbet")
    priced = tuple(replace(entry, price_per_kg=2.0) for entry in plain.ingredients)
    asked = sweep_of(replace(plain, ingredients=priced), (axis_of("damson.price=2:8:2"),))
    found = block(asked, 0)
    share = found.weights[:, 0] / 2000.0
    assert found.values["cost_per_kg"] == pytest.approx(2.0 + share * np.array([0, 2, 4, 6]))
    assert np.isnan(
        block(sweep("damson_sorbet", "damson.price=2:8:2"), 0).values["cost_per_kg"]
    ).all()


def test_what_cannot_be_is_refused_row_by_row():
    """The tail of a normal distribution reads below what acids alone would show."""
    asked = sweep("damson_sorbet", "damson.brix=4+-2", samples=200, seed=1)
    found = block(asked, 0)
    readings = found.varied[:, 0]
    refused = found.status == REFUSED
    assert 0 < refused.sum() < 100 and np.isnan(found.weights[refused]).all()
    assert readings[refused].max() < readings[~refused].min()


def test_leaving_out_what_a_herb_is_drawn_in_is_refused():
    asked = sweep_of(recipe("bay_leaf_ice_cream"), (), ("whole_milk",))
    assert block(asked, 0).status.tolist() == [BALANCED, REFUSED]


def test_ratios_and_groups_of_what_is_left_out_are_empty():
    base = recipe("damson_sorbet")
    whole = replace(
        base,
        ratios=(Ratio("sucrose", "dextrose_monohydrate", Range(1.0, 9.0)),),
        groups=(Group("dry", ("sucrose", "dextrose_monohydrate"), Range(5.0, 30.0)),),
    )
    asked = sweep_of(whole, (axis_of("damson.brix=9:16:1"),), ("dextrose_monohydrate",))
    found = block(asked, 0)
    ratio, group = (found.values[each.key] for each in (*whole.ratios, *whole.groups))
    without = found.left_out == 1
    assert np.isnan(ratio[without]).all() and not np.isnan(ratio[~without]).any()
    assert group[without] == pytest.approx(100.0 * found.weights[without, 1] / 2000.0)
    assert_as_balance(found, asked)


def test_a_block_is_made_of_the_same_tables_only():
    asked = sweep("damson_sorbet", "damson.brix=9:20:1")
    other = replace(asked, made_with={**asked.made_with, "model": "another"})
    with pytest.raises(InputError, match="another program, or other tables"):
        block(other, 0)


def test_measures_are_those_of_judge():
    """Ratios, groups, steps and herbs included."""
    base = recipe("bay_leaf_ice_cream")
    whole = replace(
        base,
        ratios=(Ratio("sucrose", "dextrose_monohydrate", Range(1.0, 9.0)),),
        groups=(Group("dairy", ("whole_milk", "cream_35"), Range(50.0, 95.0)),),
    )
    mix = mixture(whole)
    weights = mix.start * np.random.default_rng(2).uniform(0.7, 1.3, (40, len(mix.start)))
    found = measures(made(mix, weights))
    for row, grams in enumerate(weights):
        judged = assess(mix, grams)
        for target in judged.targets:
            assert found[target.key][row] == pytest.approx(target.value, rel=1e-9)
        assert found["serving_temperature_c"][row] == pytest.approx(judged.serving_temperature_c)


def test_a_mix_that_misses_is_refused():
    mix = mixture(recipe("damson_sorbet"))
    with pytest.raises(VerificationFault, match="does not keep the target sweetness"):
        require_verified(mix, made(mix, mix.start[None, :]))


def test_a_proof_for_one_lot_is_tried_on_all_by_the_same_arithmetic():
    tight = replace(recipe("damson_sorbet"), targets={"fructose": Range(2.0, 2.2)})
    lots = between(tight, "damson", (6.0, 20.0))
    (_, first), (_, last) = lots.ends
    hopeless = lots.at(20.0)[1]
    missed = least_miss(hopeless)
    proof = of_prices(hopeless, missed.prices, missed.total_price)
    readings = np.linspace(6.0, 20.0, 29)
    found = contradictions_g(first, last, (readings - 6.0) / 14.0, proof)
    one_by_one = [contradiction_g(lots.at(float(reading))[1], proof) for reading in readings]
    assert found == pytest.approx(one_by_one, abs=1e-9)
    assert found[-1] > 0.0
    for reading, value in zip(readings, found, strict=True):
        if value > 1e-6:
            assert not is_possible(programme(lots.at(float(reading))[0]))


def test_hopeless_lots_are_not_solved_one_by_one():
    tight = replace(
        recipe("damson_sorbet"),
        targets={**recipe("damson_sorbet").targets, "fructose": Range(2.0, 2.5)},
    )
    found = rebalance(tight, "damson", np.linspace(6.0, 20.0, 1000))
    assert 300 < found.possible.sum() < 700
    assert found.solved < 70  # tangents are laid anew
