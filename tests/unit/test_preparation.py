"""Steps and lots in recipes: what is weighed is not what is churned."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from formulate.answers.balancing import balance, check
from formulate.answers.ladders import ladder, readings_of
from formulate.answers.spans import ranges
from formulate.data.examples import example_bytes
from formulate.errors import InputError
from formulate.ingredients.components import COMPONENT_KEYS
from formulate.ingredients.lots import Lot
from formulate.ingredients.readings import brix_of
from formulate.labels.draft import label
from formulate.mix.mixtures import mixture
from formulate.planning.orders import mix_to_order, order
from formulate.recipes.file import from_mapping, parse, to_toml
from formulate.recipes.model import Range, Recipe, RecipeIngredient
from formulate.recipes.steps import steps_from_data
from formulate.report.wording import sentence, sentences

SIEVED = [{"do": "peel and stone"}, {"do": "sieve", "waste_percent": 12}]


def sorbet(steps=SIEVED, **fruit):
    entries = (
        RecipeIngredient("plum", grams=1100.0, steps=steps_from_data(list(steps)), **fruit),
        RecipeIngredient("sucrose", grams=250.0),
        RecipeIngredient("dextrose_monohydrate", grams=80.0),
        RecipeIngredient("water", grams=500.0),
    )
    return Recipe("plum", 2000.0, entries, {"sweetness": Range(17.0, 19.0)})


def test_targets_are_met_after_the_steps():
    result = balance(sorbet())
    assert result.status == "balanced"
    plum = result.mix.weights[0]
    assert plum.reached < plum.grams < plum.bought
    assert sum(weight.reached for weight in result.mix.weights) == pytest.approx(2000.0, abs=0.5)
    assert 17.0 - 1e-6 <= result.mix.properties["sweetness"] <= 19.0 + 1e-6


def test_every_component_is_accounted_for():
    """What is weighed is what reaches the mix and what the steps leave behind, to 1e-9."""
    known = sorbet()
    mix = mixture(known)
    done = mix.prepared[0]
    left = sum(done.losses.values())
    np.testing.assert_allclose(done.contribution + left, done.weighed, atol=1e-9)
    grams = np.array([entry.grams for entry in known.ingredients])
    brought = grams @ mix.compositions / 100.0
    assert brought[: len(COMPONENT_KEYS)].sum() == pytest.approx(float(mix.reach @ grams), abs=1e-6)


def test_a_strained_herb_takes_liquid_away():
    recipe = parse(example_bytes("bay_leaf_ice_cream"), "bay")
    result = balance(recipe)
    herb = next(weight for weight in result.mix.weights if weight.key == "bay_leaf")
    assert herb.reached < 0.0
    assert any("strain and press" in said for said in sentences(result.preparation))
    without = replace(recipe, ingredients=recipe.ingredients[1:])
    more = {weight.key: weight.grams for weight in result.mix.weights}["whole_milk"]
    less = {weight.key: weight.grams for weight in balance(without).mix.weights}["whole_milk"]
    assert more > less, "the pot asks for the milk that the leaves keep"


def test_reducing_to_a_reading_takes_exactly_so_much_water():
    """Closed form: after reducing, the fruit reads what was asked."""
    known = sorbet([{"do": "reduce", "to_brix": 30}])
    mix = mixture(known)
    after = mix.compositions[0]
    assert brix_of(after) == pytest.approx(30.0, abs=1e-9)


def test_yields_are_a_doubt_of_their_own():
    sieve = {"do": "sieve", "waste_percent": 12, "fibre_percent": 60}
    plain, unsure = (
        check(sorbet([{**sieve, "spread_percent": spread}])).outlook for spread in (0, 50)
    )
    assert unsure.serving_frozen_water_deviation > plain.serving_frozen_water_deviation
    names = [name for name in mixture_doubt_names(sorbet()) if "preparing" in name]
    assert names


def mixture_doubt_names(recipe):
    from formulate.mix.uncertainty import doubts

    mix = mixture(recipe)
    return sentences(doubts(mix, mix.start).what)


def test_prices_count_what_is_trimmed():
    entries = tuple(replace(entry, price_per_kg=2.0) for entry in sorbet().ingredients)
    priced = replace(sorbet(), ingredients=entries, targets={"cost_per_kg": Range(0.0, 9.0)})
    mix = mixture(priced)
    assert mix.prices[0] == pytest.approx(2.0 * mix.prepared[0].buy_per_weighed)
    assert mix.prices[1] == 2.0
    judged = check(priced).mix
    paid = sum(weight.bought for weight in judged.weights) * 2.0 / 2000.0
    assert judged.properties["cost_per_kg"] == pytest.approx(paid)


def test_ladder_and_ranges_work_with_steps():
    known = sorbet([{"do": "sieve"}, {"do": "simmer", "steam_percent": 10}])
    found = ladder(known, "plum", readings_of("10:14:2"))
    assert all(rung.grams is not None for rung in found.rungs)
    spans = ranges(known)
    span = spans.ingredients[0]
    assert span.low - 1e-6 <= span.value <= span.high + 1e-6


def test_steps_and_lots_come_back_from_their_file():
    lot = Lot("plum", supplier="Orchard & Sons", reading=12.5, temperature_c=18.0, acidity=1.2)
    known = sorbet(lot=lot)
    again = parse(to_toml(known).encode(), "again")
    assert again == known


def test_a_lot_changes_the_composition():
    sweet = sorbet([], lot=Lot("plum", reading=18.0))
    sour = sorbet([], lot=Lot("plum", reading=18.0, acidity=2.5, acidity_as="malic_acid"))
    assert brix_of(mixture(sweet).raw[0]) == pytest.approx(18.0)
    assert brix_of(mixture(sour).raw[0]) == pytest.approx(18.0)
    frozen = [check(known).mix.initial_freezing_point_c for known in (sweet, sour)]
    assert frozen[1] < frozen[0], "acid lowers the freezing point more than the sugar it replaces"


def test_a_lot_in_another_scale_reads_the_same():
    from formulate.ingredients.instruments import baume_of_brix

    brix = sorbet([], brix=14.0)
    baume = sorbet([], lot=Lot("plum", reading=float(baume_of_brix(14.0)), scale="baume"))
    np.testing.assert_allclose(mixture(brix).raw[0], mixture(baume).raw[0], atol=1e-3)


@pytest.mark.parametrize(
    ("entry", "sentence"),
    [
        ({"steps": [{"do": "seive"}]}, 'Did you mean "sieve"'),
        ({"steps": [{"do": "infuse", "in": "whisky"}]}, "is not an ingredient here"),
        ({"steps": "sieve"}, "steps"),
        ({"lot": "yesterday"}, "must be a table"),
        ({"lot": {"reading": 12}, "brix": 12}, "beside the lot's own reading"),
        ({"lot": {"readin": 12}}, "readin"),
        ({"lot": {"reading": -3}}, "reading"),
    ],
)
def test_bad_steps_and_lots_are_one_sentence(entry, sentence):
    tables = {
        "name": "x",
        "batch_g": 1000,
        "ingredient": [
            {"key": "plum", "grams": 500, **entry},
            {"key": "water", "grams": 500},
        ],
    }
    with pytest.raises(InputError) as caught:
        check(from_mapping(tables, "x"))
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("rules", "word"), [("eu", "nuts"), ("us", "tree_nuts")])
def test_allergens_of_what_is_strained_out_stay_on_the_label(rules, word):
    entries = (
        RecipeIngredient(
            "hazelnut", grams=100.0, steps=steps_from_data([{"do": "infuse", "in": "whole_milk"}])
        ),
        RecipeIngredient("whole_milk", grams=900.0),
        RecipeIngredient("sucrose", grams=150.0),
    )
    mix = mixture(Recipe("hazelnut milk", 1000.0, entries))
    assert mix.reach[0] < 0.0
    found = label(mix, mix.start, rules)
    assert word in found.allergens and "milk" in found.allergens
    assert any("Hazelnuts" in statement for statement in sentences(found.statements))
    if rules == "us":
        assert "hazelnut" in sentence(found.contains)


def test_an_order_adds_up_what_is_bought():
    one, other = sorbet(stock_g=500.0), parse(example_bytes("damson_sorbet"), "damson")
    lines = {
        line.key: line
        for line in order(((mix_to_order(one, True), 4000.0), (mix_to_order(other, True), 1000.0)))
    }
    bought = {weight.key: weight.bought for weight in balance(sorbet()).mix.weights}
    assert lines["plum"].needed_g == pytest.approx(2.0 * bought["plum"], abs=2.0)
    assert lines["plum"].buy_g == pytest.approx(lines["plum"].needed_g - 500.0)
    sugar = 2.0 * bought["sucrose"]
    sugar += 0.5 * {w.key: w.bought for w in balance(other).mix.weights}["sucrose"]
    assert lines["sucrose"].needed_g == pytest.approx(sugar)
