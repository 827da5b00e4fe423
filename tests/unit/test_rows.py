"""Every row of the programme against the recipe's own words, and what is done with a programme."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain
import plain_freezing

from formulate.mix import mixture, programme
from formulate.mix.programmes import value_per_ingredient
from formulate.mix.targets import condition_between, targets_of, window_target
from formulate.recipes import Group, Range, Ratio, Recipe, RecipeIngredient, Serving, Step

BATCH = 2000.0
ENTRIES = (
    RecipeIngredient("pear", grams=900, price_per_kg=3.0),
    RecipeIngredient("sucrose", grams=250, price_per_kg=1.2),
    RecipeIngredient("glucose_powder_de30", grams=150, price_per_kg=2.5),
    RecipeIngredient("whole_milk", grams=300, price_per_kg=0.9),
    RecipeIngredient("water", grams=400, price_per_kg=0.0),
)
PEAR, SUGAR, SYRUP, MILK, WATER = range(5)
NARROW = 1e-7  # g/g: the ice line is fitted to 0.1 mK of the standard


def recipe(**more):
    return Recipe("Pear", BATCH, more.pop("entries", ENTRIES), **more)


def rows_of(asked):
    return {(row.key, row.side): row for row in programme(mixture(asked)).rows}


def only_row(asked):
    (row,) = programme(mixture(asked)).rows
    return row


def by_table(key, entries=ENTRIES):
    """A property of each ingredient alone, by the table."""
    return np.array([plain.value_of(entry, key) for entry in entries])


# a property, one side and both, exact or not


@pytest.mark.parametrize("key", ["total_solids", "sweetness", "fat", "added_sugars", "msnf"])
def test_a_range_is_a_row_in_grams_of_the_batch(key):
    row = only_row(recipe(targets={key: Range(20.0, 24.0)}))
    assert (row.key, row.side) == (key, "range")
    np.testing.assert_allclose(row.coefficients, by_table(key) / 100.0, atol=1e-12)
    assert (row.lower, row.upper) == (400.0, 480.0)  # 20 and 24 % of 2,000 g
    assert (row.width, row.slack) == (80.0, 0.0)
    assert row.growth == (0.2, 0.24)
    assert row.condition is not None and row.condition.temperature_c is None


def test_an_exact_value_has_the_slack_of_what_is_shown():
    row = only_row(recipe(targets={"fat": Range(5.0, 5.0)}))
    assert row.side == "exact"
    assert (row.lower, row.upper) == (100.0, 100.0)
    assert row.slack == pytest.approx(1.0)  # 0.05 % of 2,000 g
    assert row.width == pytest.approx(10.0)  # a tenth of the value


@pytest.mark.parametrize(
    ("bounds", "side", "lower", "upper", "width", "slack"),
    [
        (Range(20.0, None), "range", 20.0, np.inf, 2.0, 0.0),
        (Range(None, 30.0), "range", -np.inf, 30.0, 3.0, 0.0),
        (Range(20.0, 26.0), "range", 20.0, 26.0, 6.0, 0.0),
        (Range(20.0, 20.01), "range", 20.0, 20.01, 0.05, 0.0),
        (Range(20.0, 20.0), "exact", 20.0, 20.0, 2.0, 0.05),
        (Range(0.0, 0.0), "exact", 0.0, 0.0, 0.05, 0.05),
        (Range(None, 0.0), "range", -np.inf, 0.0, 0.05, 0.0),
        (Range(-3.0, -2.0), "range", -3.0, -2.0, 1.0, 0.0),
        (Range(None, -2.0), "range", -np.inf, -2.0, 0.2, 0.0),
    ],
)
def test_a_condition_between_bounds(bounds, side, lower, upper, width, slack):
    (asked,) = condition_between(np.ones(3), bounds, 0.05)
    assert (asked.side, asked.lower, asked.upper, asked.slack) == (side, lower, upper, slack)
    assert asked.width == pytest.approx(width)
    assert asked.of(np.array([[1.0, 2.0, 3.0]])) == pytest.approx([0.06])


def test_nothing_asked_is_no_condition():
    assert condition_between(np.ones(3), Range(), 0.05) == ()
    assert programme(mixture(recipe(targets={"fat": Range()}))).rows == ()


# freezing, against the curves computed by other means


def liquid_at(celsius, entries=ENTRIES):
    return np.array([plain_freezing.liquid(plain.composition(e), celsius) for e in entries])


def water_of(entries=ENTRIES):
    return np.array([plain.composition(e)["water"] for e in entries])


@pytest.mark.parametrize("celsius", [-2.0, -3.5])
def test_a_freezing_point_has_a_row_at_each_bound(celsius):
    rows = rows_of(recipe(targets={"initial_freezing_point_c": Range(celsius - 1.0, celsius)}))
    for side, at, low, high in (
        ("min", celsius - 1.0, -np.inf, 0.0),
        ("max", celsius, 0.0, np.inf),
    ):
        row = rows["initial_freezing_point_c", side]
        expected = (liquid_at(at) - water_of()) / 100.0
        np.testing.assert_allclose(row.coefficients, expected, rtol=2e-4, atol=NARROW)
        assert (row.lower, row.upper, row.slack) == (low, high, 0.0)
        # a fifth of a degree: 65 % water, liquid falling as 1 / temperature
        assert row.width == pytest.approx(20.0 * 0.2 * 65.0 / abs(at))
        assert row.condition.temperature_c == at
    assert len(rows) == 3  # and some water


def test_an_exact_freezing_point_may_be_missed_by_what_is_shown():
    rows = rows_of(recipe(targets={"initial_freezing_point_c": Range(-2.5, -2.5)}))
    for side in ("min", "max"):
        # 0.02 °C of at least 40 % water at -2.5 °C
        assert rows["initial_freezing_point_c", side].slack == pytest.approx(20.0 * 0.32)


@pytest.mark.parametrize("asked", [{"min": -3.0}, {"max": -2.0}], ids=["at least", "at most"])
def test_one_bound_of_a_freezing_point_is_one_row(asked):
    rows = rows_of(recipe(targets={"initial_freezing_point_c": Range(**asked)}))
    assert set(rows) == {
        ("initial_freezing_point_c", next(iter(asked))),
        ("some water", "min"),
    }


def test_a_window_has_a_row_for_its_least_and_one_for_its_most():
    rows = rows_of(recipe(serving=Serving(-12.0, Range(70.0, 76.0))))
    for side, percent, low, high in (("min", 70.0, -np.inf, 0.0), ("max", 76.0, 0.0, np.inf)):
        row = rows["frozen_water", side]
        expected = (liquid_at(-12.0) - (1.0 - percent / 100.0) * water_of()) / 100.0
        np.testing.assert_allclose(row.coefficients, expected, rtol=2e-4, atol=NARROW)
        assert (row.lower, row.upper, row.slack) == (low, high, 0.0)
        assert row.width == pytest.approx(20.0 * 6.0 * 0.65)  # six percent of 65 % water
        assert row.condition.temperature_c == -12.0
    least = rows["some water", "min"]
    np.testing.assert_allclose(least.coefficients, water_of() / 100.0, atol=1e-12)
    assert (least.lower, least.upper) == (20.0, np.inf)  # 1 % of 2,000 g
    assert len(rows) == 3


def test_an_exact_share_of_ice_may_be_missed_by_what_is_shown():
    asked = window_target(-12.0, Range(72.0, 72.0))
    assert asked.tolerance == 0.05
    assert [c.slack for c in asked.conditions] == pytest.approx([0.02, 0.02])
    assert window_target(-12.0, Range(72.0, None)).conditions[0].side == "min"
    assert [c.side for c in window_target(-12.0, Range(None, 72.0)).conditions] == ["max"]
    assert window_target(-12.0, Range()).conditions == ()


def test_water_is_asked_for_only_where_ice_is():
    assert [t.key for t in targets_of(recipe(targets={"fat": Range(3.0)}))] == ["fat"]
    found = targets_of(recipe(targets={"initial_freezing_point_c": Range()}))
    assert [t.key for t in found] == ["initial_freezing_point_c"]
    some = targets_of(recipe(targets={"initial_freezing_point_c": Range(-3.0)}))[-1]
    assert (some.key, some.bounds, some.tolerance) == ("some water", Range(1.0), 0.05)


def test_each_target_keeps_its_own_tolerance():
    wish = {"fat": Range(5.0), "cost_per_kg": Range(None, 3.0)}
    wish["initial_freezing_point_c"] = Range(-3.0)
    found = {t.key: t for t in targets_of(recipe(targets=wish))}
    assert found["fat"].tolerance == 0.05 and found["fat"].bounds == Range(5.0)
    assert found["initial_freezing_point_c"].tolerance == 0.02
    assert "cost_per_kg" not in found  # is asked of the weights


# cost, ratios, groups, liquids and limits


def test_cost_is_the_mean_of_prices():
    row = only_row(recipe(targets={"cost_per_kg": Range(1.0, 1.5)}))
    np.testing.assert_allclose(row.coefficients, [0.03, 0.012, 0.025, 0.009, 0.0], atol=1e-15)
    assert (row.lower, row.upper) == pytest.approx((20.0, 30.0))
    assert row.condition is None
    exact = only_row(recipe(targets={"cost_per_kg": Range(1.5, 1.5)}))
    assert exact.slack == pytest.approx(0.1)  # half a cent per kg


@pytest.mark.parametrize(
    ("bounds", "sides"),
    [
        (Range(2.0, 3.0), {"min": (-2.0, 0.0, np.inf), "max": (-3.0, -np.inf, 0.0)}),
        (Range(2.0, None), {"min": (-2.0, 0.0, np.inf)}),
        (Range(None, 3.0), {"max": (-3.0, -np.inf, 0.0)}),
    ],
)
def test_a_ratio_is_grams_of_one_against_grams_of_the_other(bounds, sides):
    rows = rows_of(recipe(ratios=(Ratio("sucrose", "glucose_powder_de30", bounds),)))
    found = {side: row for (_, side), row in rows.items()}
    assert set(found) == set(sides)
    for side, (to, low, high) in sides.items():
        np.testing.assert_array_equal(found[side].coefficients, [0.0, 1.0, to, 0.0, 0.0])
        assert (found[side].lower, found[side].upper) == (low, high)
        assert (found[side].width, found[side].slack) == (20.0, 0.0)  # 1 % of the batch
        assert found[side].growth == (0.0, 0.0)
        assert found[side].key == "ratio sucrose : glucose_powder_de30"


def test_an_exact_ratio_may_be_off_by_a_step_of_the_scale():
    rows = rows_of(recipe(ratios=(Ratio("sucrose", "water", Range(0.5, 0.5)),)))
    assert [row.slack for row in rows.values()] == [1.0, 1.0]


def test_a_group_is_counted_as_it_reaches_the_mix():
    blended = replace(ENTRIES[PEAR], steps=(Step("blend", (("waste_percent", 10.0),)),))
    group = Group("fruit and sugar", ("pear", "sucrose"), Range(40.0, 50.0))
    asked = recipe(entries=(blended, *ENTRIES[1:]), groups=(group,))
    row = only_row(asked)
    np.testing.assert_allclose(row.coefficients, [0.9, 1.0, 0.0, 0.0, 0.0], atol=1e-12)
    assert (row.lower, row.upper, row.width) == (800.0, 1000.0, 200.0)
    assert row.key == "group fruit and sugar"
    exact = only_row(replace(asked, groups=(replace(group, bounds=Range(45.0, 45.0)),)))
    assert exact.slack == pytest.approx(1.0)


def test_a_herb_cannot_keep_more_of_a_liquid_than_there_is():
    steps = (Step("infuse", (("in", "whole_milk"), ("grams_kept_per_gram", 1.5))),)
    herbs = (
        RecipeIngredient("bay_leaf", grams=10, steps=steps),
        replace(ENTRIES[MILK], steps=(Step("blend", (("waste_percent", 10.0),)),)),
        ENTRIES[SUGAR],
    )
    row = rows_of(recipe(entries=herbs))["left of whole_milk", "min"]
    np.testing.assert_allclose(row.coefficients, [-1.5, 0.9, 0.0], atol=1e-12)
    assert (row.lower, row.upper, row.width, row.slack) == (0.0, np.inf, 20.0, 0.0)


def test_two_herbs_take_of_the_same_liquid():
    def drawn(kept):
        return (Step("infuse", (("in", "whole_milk"), ("grams_kept_per_gram", kept))),)

    herbs = (
        RecipeIngredient("bay_leaf", grams=10, steps=drawn(1.5)),
        RecipeIngredient("basil", grams=10, steps=drawn(1.25)),
        ENTRIES[MILK],
    )
    row = only_row(recipe(entries=herbs))
    np.testing.assert_allclose(row.coefficients, [-1.5, -1.25, 1.0], atol=1e-12)


def test_limits_that_cross_are_a_row_that_cannot_hold():
    crossed = replace(ENTRIES[PEAR], min_g=900, stock_g=800)
    row = only_row(recipe(entries=(crossed, *ENTRIES[1:])))
    assert (row.key, row.side, row.width) == ("limits of pear", "min", 20.0)
    assert not row.coefficients.any()
    assert (row.lower, row.upper) == (100.0, np.inf)


def test_a_value_of_each_ingredient_alone():
    mix = mixture(recipe())
    assert value_per_ingredient(mix, "cost_per_kg") == pytest.approx([3.0, 1.2, 2.5, 0.9, 0.0])
    assert value_per_ingredient(mix, "fat") == pytest.approx(by_table("fat"))


# what is done with a programme


WISH = {"total_solids": Range(24.0, 28.0), "fat": Range(0.5, 0.5)}
WEIGHTS = np.array([900.0, 250.0, 150.0, 300.0, 400.0])


def whole():
    return programme(mixture(recipe(targets=WISH)))


def test_the_arrays_are_the_rows():
    found = whole()
    assert found.keys == tuple(entry.key for entry in ENTRIES)
    assert (found.batch_g, found.total_least, found.total_most) == (BATCH, BATCH, BATCH)
    np.testing.assert_array_equal(found.matrix, [row.coefficients for row in found.rows])
    np.testing.assert_array_equal(found.row_lower, [480.0, 10.0])
    np.testing.assert_array_equal(found.row_upper, [560.0, 10.0])
    assert found.without("fat").matrix.shape == (1, 5)
    assert [row.key for row in found.without("fat").rows] == ["total_solids"]
    assert [row.key for row in found.only(found.rows[1:]).rows] == ["fat"]
    assert programme(mixture(recipe())).matrix.shape == (0, 5)


def test_other_limits_leave_the_rows():
    found = whole().with_limits(np.full(5, 1.0), np.full(5, 2.0))
    assert (found.lower.tolist(), found.upper.tolist()) == ([1.0] * 5, [2.0] * 5)
    np.testing.assert_array_equal(found.matrix, whole().matrix)


def test_weights_hold_or_not():
    """At each edge of rows, limits and total, by a thousandth of a gram inside and outside."""
    wish = {"total_solids": Range(0.0, 100.0)}
    limits = (replace(ENTRIES[PEAR], min_g=900.0, max_g=1000.0), *ENTRIES[1:])
    found = programme(mixture(recipe(entries=limits, targets=wish)))
    assert found.holds(WEIGHTS) is True
    solids = float(found.matrix[0] @ WEIGHTS)

    def between(low, high):
        row = replace(found.rows[0], lower=low, upper=high)
        return found.only((row,)).holds(WEIGHTS)

    assert between(solids, solids)
    assert not between(solids + 1e-3, solids + 1.0)
    assert not between(solids - 1.0, solids - 1e-3)
    assert between(solids + 1e-7, np.inf)  # arithmetic
    step = np.array([1.0, 0.0, 0.0, 0.0, -1.0])
    assert found.holds(WEIGHTS + 100.0 * step)
    assert not found.holds(WEIGHTS + 100.001 * step)
    assert not found.holds(WEIGHTS - 0.001 * step)
    assert not found.holds(WEIGHTS + [0.0, 0.0, 0.0, 0.0, 1e-3])
    assert not found.holds(WEIGHTS - [0.0, 0.0, 0.0, 0.0, 1e-3])
    grown = replace(found, total_most=BATCH + 10.0)
    assert grown.holds(WEIGHTS + [0.0, 0.0, 0.0, 0.0, 9.0])
    assert not grown.holds(WEIGHTS + [0.0, 0.0, 0.0, 0.0, 11.0])


def test_what_is_to_come_when_so_much_is_there():
    limits = (replace(ENTRIES[PEAR], min_g=800.0, max_g=1000.0), *ENTRIES[1:])
    found = programme(mixture(recipe(entries=limits, targets=WISH)))
    held = np.array([850.0, 100.0, 0.0, 0.0, 50.0])
    rest = found.after(held)
    assert (rest.total_least, rest.total_most, rest.batch_g) == (1000.0, 1000.0, BATCH)
    assert (rest.lower[PEAR], rest.upper[PEAR]) == (0.0, 150.0)
    assert rest.upper[SUGAR] == found.upper[SUGAR] - 100.0
    there = found.matrix @ held
    np.testing.assert_allclose(rest.row_lower, found.row_lower - there)
    np.testing.assert_allclose(rest.row_upper, found.row_upper - there)
    np.testing.assert_array_equal(rest.matrix, found.matrix)
    over = found.after(np.array([1100.0, 0.0, 0.0, 0.0, 0.0]))
    assert (over.lower[PEAR], over.upper[PEAR]) == (0.0, 0.0)


def test_further_columns_are_in_no_row():
    found = whole().with_columns(("short", "over"), np.array([5.0, np.inf]))
    assert found.keys[-2:] == ("short", "over")
    assert not found.matrix[:, -2:].any() and not found.reach[-2:].any()
    np.testing.assert_array_equal(found.lower[-2:], [0.0, 0.0])
    np.testing.assert_array_equal(found.upper[-2:], [5.0, np.inf])
    np.testing.assert_array_equal(found.matrix[:, :-2], whole().matrix)


def test_only_exact_targets_are_loosened_and_by_their_slack():
    found = whole().loosened()
    np.testing.assert_allclose(found.row_lower, [480.0, 9.0])
    np.testing.assert_allclose(found.row_upper, [560.0, 11.0])
    plain_one = programme(mixture(recipe(targets={"fat": Range(0.5, 0.6)})))
    assert plain_one.loosened() is plain_one


def test_further_ingredients_bring_what_they_are():
    cream = RecipeIngredient("cream_35", grams=100, price_per_kg=6.0)
    asked = {**WISH, "cost_per_kg": Range(None, 3.0)}
    asked["initial_freezing_point_c"] = Range(-3.0, None)
    ratios = (Ratio("sucrose", "water", Range(0.5)),)
    with_it = programme(mixture(recipe(entries=(*ENTRIES, cream), targets=asked, ratios=ratios)))
    without = programme(mixture(recipe(targets=asked, ratios=ratios)))
    row = mixture(recipe(entries=(*ENTRIES, cream))).compositions[-1:]
    found = without.widened(("cream_35",), row, np.array([300.0]), 6.0)
    assert found.keys == with_it.keys
    np.testing.assert_allclose(found.matrix, with_it.matrix, atol=1e-12)
    assert (found.reach[-1], found.lower[-1], found.upper[-1]) == (1.0, 0.0, 300.0)
    free = without.widened(("cream_35",), row, np.array([300.0]))
    at = [each.key for each in free.rows].index("cost_per_kg")
    assert free.matrix[at, -1] == 0.0
