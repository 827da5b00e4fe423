"""What a kitchen is told about the cold: doubts, windows, second opinion, risks."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from formulate.answers import warnings_of
from formulate.answers.balancing import balance, check
from formulate.data.examples import example_bytes, example_names
from formulate.freezing.classical import second_opinion
from formulate.freezing.curve import freezing_model
from formulate.ingredients.components import COLUMNS, position
from formulate.mix.assessment import CURVE_TEMPERATURES
from formulate.mix.defects import glass_temperature, risks
from formulate.mix.mixtures import mixture
from formulate.mix.uncertainty import doubts, frozen_water_deviation, temperature_deviation
from formulate.recipes.file import from_mapping, parse
from formulate.recipes.serving import Range, Serving, serving_kinds
from formulate.report.cold import cold_sentences
from formulate.report.wording import basis, remedy, sentence


def recipe(name):
    return parse(example_bytes(name), name)


def mix_of(**percent):
    """A composition [%] with water as the rest."""
    row = np.zeros(len(COLUMNS))
    for key, value in percent.items():
        row[position(key)] = value
    row[position("water")] = 100.0 - sum(percent.values())
    return row


@pytest.mark.parametrize("name", example_names())
def test_linear_propagation_agrees_with_monte_carlo(name):
    """Within 10 %: 20,000 mixes with every doubt drawn at random, and nothing linearised."""
    known = mixture(recipe(name))
    weights = known.start
    composition = weights @ known.compositions / weights.sum()
    found = doubts(known, weights)
    draws = np.random.default_rng(7).standard_normal((20_000, len(found.what)))
    temperatures = (-6.0, -10.0, -14.0, -18.0)
    water = composition[position("water")] + draws @ found.water
    liquid = freezing_model().liquid_water(composition, temperatures)[0]
    liquid = liquid + draws @ found.liquid_water(temperatures)
    sampled = (100.0 * (1.0 - liquid / water[:, None])).std(axis=0)
    linear = np.sqrt((frozen_water_deviation(composition, found, temperatures) ** 2).sum(axis=0))
    np.testing.assert_allclose(linear, sampled, rtol=0.1)

    point = float(freezing_model().initial_freezing_point(composition)[0])
    grid = tuple(np.linspace(1.6 * point, 0.6 * point, 400))
    curves = freezing_model().liquid_water(composition, grid)[0] + draws @ found.liquid_water(grid)
    excess = curves - water[:, None]  # rises with temperature and crosses 0 at the first ice
    after = np.argmax(excess >= 0.0, axis=1)
    row = np.arange(len(draws))
    low, high = excess[row, after - 1], excess[row, after]
    step = grid[1] - grid[0]
    points = np.array(grid)[after - 1] + step * (-low / (high - low))
    effects = temperature_deviation(composition, found, ((point, 0.0),))
    assert float(np.sqrt((effects**2).sum())) == pytest.approx(points.std(), rel=0.1)


def test_a_reading_takes_the_sugar_of_the_fruit_out_of_doubt():
    with_reading = recipe("damson_sorbet")
    entries = tuple(replace(entry, brix=None) for entry in with_reading.ingredients)
    without = replace(with_reading, ingredients=entries)
    surer, less_sure = check(with_reading).outlook, check(without).outlook
    assert surer.serving_frozen_water_deviation < less_sure.serving_frozen_water_deviation
    causes = {sentence(cause.what): remedy(cause.what) for cause in less_sure.causes}
    assert causes["the sugar of Damsons, stoned"] == "take a reading"


def test_a_coarser_refractometer_leaves_more_doubt():
    fine = recipe("damson_sorbet")
    entries = tuple(
        replace(entry, brix_plus_minus=1.0) if entry.brix else entry for entry in fine.ingredients
    )
    coarse = check(replace(fine, ingredients=entries)).outlook
    fine_ = check(fine).outlook
    assert coarse.serving_frozen_water_deviation > 1.1 * fine_.serving_frozen_water_deviation


@pytest.mark.parametrize("name", example_names())
def test_every_prediction_has_its_doubt(name):
    result = balance(recipe(name))
    mix, outlook = result.mix, result.outlook
    assert len(outlook.frozen_water_deviation) == len(CURVE_TEMPERATURES)
    frozen = dict(mix.frozen_water)
    for temperature, spread in zip(CURVE_TEMPERATURES, outlook.frozen_water_deviation, strict=True):
        assert (spread > 0.0) == (frozen[temperature] > 0.0), temperature
    assert 0.0 < outlook.initial_freezing_point_deviation < 0.5
    assert 0.0 < outlook.serving_temperature_deviation < 3.0
    assert 0.0 <= result.chance.in_service <= result.chance.scoopable + 0.05 <= 1.05
    assert sum(cause.share_percent for cause in outlook.causes) <= 100.0 + 1e-9


def test_the_window_is_where_the_mix_scoops():
    result = balance(recipe("damson_sorbet"))
    mix = result.mix
    warm, cold = result.outlook.scoops_between_c
    model = freezing_model()
    frozen = model.frozen_water(mix.composition, [warm, cold])[0]
    window = mix.serving.frozen_water
    np.testing.assert_allclose(frozen, [window.min, window.max], atol=1e-2)


def test_kinds_give_their_own_window():
    tables = {
        "name": "x",
        "batch_g": 1000,
        "ingredient": [{"key": "water", "grams": 700}, {"key": "sucrose", "grams": 300}],
        "serving": {"kind": "soft_serving", "freezer_c": -20, "overrun_percent": 40},
    }
    serving = from_mapping(tables, "x").serving
    assert serving == replace(
        serving_kinds()["soft_serving"], freezer_c=-20.0, overrun_percent=40.0
    )
    assert check(from_mapping(tables, "x")).outlook.ice_volume_percent < 50.0


def test_classical_method_on_its_own_worked_example():
    """H. D. Goff, University of Guelph: 10 % milk solids, 2 % whey solids, 12 % sucrose, 4 % syrup of
    DE 42, 60 % water; -2.59 °C computed with the method's table (from memory)."""
    row = np.zeros(len(COLUMNS))
    lactose = 10 * 0.545 + 2 * 0.765
    for key, value in {
        "water": 60.0,
        "milk_fat": 12.0,
        "lactose": lactose,
        "milk_minerals": 0.96,
        "milk_protein": 12.0 - lactose - 0.96,
        "sucrose": 12.0,
        "glucose_syrup_solids": 4.0,
        "syrup_reducing_power": 4.0 * 0.42,
    }.items():
        row[position(key)] = value
    opinion = second_opinion(row, -2.6, -5.48)
    assert opinion.initial_freezing_point_c == pytest.approx(-2.59, abs=0.005)
    # Its curve: 50 % of the water frozen at -5.48 °C, printed to whole percent and 0.01 °C.
    assert opinion.frozen_water == pytest.approx(50.0, abs=0.5)


def test_classical_method_on_the_milk_of_its_constant():
    """Leighton 1927: 4.9 % lactose, 8.99 % milk solids-not-fat, 87.11 % water: -0.55 °C, printed to 0.01.

    The constant 2.37 is itself rounded, from 2.364; and the table starts with 0.18 °C at 3 g, where
    lactose alone was given 0.306 °C.
    """
    row = mix_of(milk_fat=3.9, lactose=4.9, milk_protein=3.2, milk_minerals=0.89)
    opinion = second_opinion(row, -0.53, -5.0)
    assert opinion.initial_freezing_point_c == pytest.approx(-0.55, abs=0.035)


def test_classical_method_says_where_it_differs():
    opinion = balance(recipe("damson_sorbet")).outlook.second_opinion
    first = opinion.reasons[0]
    assert first.group == "acids and potassium"
    assert first.classical == 0.0 and first.here > 0.1


def test_classical_method_has_no_opinion_past_its_table():
    assert second_opinion(mix_of(sucrose=70.0), -20.0, -25.0).initial_freezing_point_c is None


def test_sandiness_follows_the_handbook_ceiling():
    """Rule A on 10 fat, 15 sugar, 0.5 stabiliser and emulsifier: ceiling 11.2 (derived 11.175)."""
    fine = {"milk_fat": 10.0, "sucrose": 15.0, "stabiliser": 0.5}
    serving = Serving()

    def found(msnf):
        parts = {"milk_protein": 0.38, "lactose": 0.54, "milk_minerals": 0.08}
        milk = {key: share * msnf for key, share in parts.items()}
        return {risk.code: sentence(risk) for risk in risks(mix_of(**fine, **milk), serving)}

    assert "is above the handbook ceiling of 11.2 %" in found(11.3)["may_turn_sandy"]
    assert "is close to" in found(11.1)["may_turn_sandy"]
    assert "may_turn_sandy" not in found(9.0)


@pytest.mark.parametrize(
    ("key", "percent", "risky"),
    [
        ("erythritol", 12.0, True),
        ("erythritol", 1.0, False),
        ("mannitol", 3.0, True),
        ("sucrose", 28.0, True),
    ],
)
def test_crystals_are_foretold(key, percent, risky):
    other = {"glucose": 15.0} if not risky else {}
    found = risks(mix_of(**{key: percent}, **other), Serving())
    grows = {risk.fields["key"] for risk in found if risk.code == "may_crystallise"}
    assert (key in grows) == risky


def test_too_much_alcohol_is_foretold():
    strong = mix_of(ethanol=14.0, sucrose=18.0)
    weak = mix_of(ethanol=2.0, sucrose=18.0)
    assert "churn_may_not_freeze" in {risk.code for risk in risks(strong, Serving())}
    assert "churn_may_not_freeze" not in {risk.code for risk in risks(weak, Serving())}


def test_glass_of_sucrose_is_the_published_one():
    """Belitz, Grosch, Schieberle, Food Chemistry, Table 0.7: sucrose -32 °C."""
    assert glass_temperature(mix_of(sucrose=20.0)) == pytest.approx(-32.0, abs=0.5)
    assert glass_temperature(mix_of(milk_fat=20.0)) is None


def test_far_below_the_measurements_a_warning_is_given():
    serving = Serving(temperature_c=-25.0, frozen_water=Range(80.0, 95.0), freezer_c=-25.0)
    assert "colder_than_measured" in {risk.code for risk in risks(mix_of(sucrose=20.0), serving)}


def test_more_than_is_usual_of_an_ingredient_is_said():
    known = recipe("damson_sorbet")
    assert not [told for told in warnings_of(check(known)) if told.code == "above_usual"]
    much = tuple(
        replace(entry, grams=44.0) if entry.key == "locust_bean_gum" else entry
        for entry in known.ingredients
    )
    found = {told.code: told for told in warnings_of(check(replace(known, ingredients=much)))}
    unusual = found["above_usual"]
    assert unusual.fields["key"] == "locust_bean_gum"
    assert unusual.fields["value"] > unusual.fields["limit"]
    assert "2.16 % of the mix" in sentence(unusual)
    assert "0.25 %" in basis(unusual)


@pytest.mark.parametrize("name", example_names())
def test_sentences_give_units_and_doubts(name):
    sentences = cold_sentences(balance(recipe(name)))
    assert re.search(r"At -\d+(\.\d)? °C \d+\.\d ± \d+\.\d % of the water is frozen", sentences[0])
    assert any("classical method" in sentence for sentence in sentences)
    assert any("standard deviation" in sentence for sentence in sentences)


def test_pure_water_and_dry_mixes_do_not_stumble():
    for row in (mix_of(), mix_of(sucrose=100.0)):
        assert risks(row, Serving()) == ()
        assert second_opinion(row, None, -14.0).reasons == ()
