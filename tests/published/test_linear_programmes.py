"""Published linear programmes through the same explain and ranges code as recipes."""

from __future__ import annotations

import pytest

from formulate.answers.balancing import balance
from formulate.answers.spans import ranges
from formulate.recipes import Balance
from formulate.recipes.model import Range, Recipe, RecipeIngredient


def wyndor(**more):
    """Doors and windows in three plants: maximise 3 x1 + 5 x2; x1 <= 4, 2 x2 <= 12, 3 x1 + 2 x2 <= 18.

    F. S. Hillier, G. J. Lieberman, Introduction to Operations Research, the Wyndor Glass example; from
    memory.  A plant is a component of which a door or window holds ten times the hours; profit is what
    the price falls short of the dearest.  ``rest`` fills the batch of 30 g.
    """
    door = {"sucrose": 10, "fructose": 30, "lactose": 15, "other_solids": 45}
    window = {"glucose": 20, "fructose": 20, "lactose": 25, "other_solids": 35}
    entries = (
        RecipeIngredient("door", composition=door, price_per_kg=2.0),
        RecipeIngredient("window", composition=window, price_per_kg=0.0),
        RecipeIngredient("rest", composition={"water": 100}, price_per_kg=5.0),
    )
    hours = {"sucrose": 4, "glucose": 12, "fructose": 18}
    targets = {key: Range(None, hour * 10.0 / 30.0) for key, hour in hours.items()}
    as_it_is = Balance(margin=0.0, objective="cost")
    return Recipe("Wyndor", 30.0, entries, {**targets, **more}, balance=as_it_is)


def test_wyndor_optimum():
    """Published: 2 doors, 6 windows, profit 36."""
    doors, windows, rest = balance(wyndor()).exact_grams
    assert (doors, windows) == (pytest.approx(2.0), pytest.approx(6.0))
    assert 5.0 * 30.0 - (2.0 * doors + 5.0 * rest) == pytest.approx(36.0)


def test_wyndor_shadow_prices_and_their_ranges():
    """Published: shadow prices 0, 3/2 and 1, which hold for plant 2 from 6 to 18, plant 3 from 12 to 24.

    One percent of a batch of 30 g is 3 of the textbook's hours, and 30 g of price per kg.
    """
    found = {price.demand.key: price for price in ranges(wyndor(), 0.0).prices}
    assert set(found) == {"glucose", "fructose"}
    for key, published, low, high in (("glucose", 1.5, 6.0, 18.0), ("fructose", 1.0, 12.0, 24.0)):
        price = found[key]
        assert price.cost_per_unit * 30.0 / 3.0 == pytest.approx(published, rel=1e-6)
        assert price.holds_from * 3.0 == pytest.approx(low, abs=0.01)
        assert price.holds_to * 3.0 == pytest.approx(high, abs=0.01)


def test_wyndor_with_too_much_profit_asked_for():
    """Published: with 3 x1 + 5 x2 >= 50 there is no feasible solution.

    Plant 3 alone stands against it: 18 hours make 9 windows at most, and 45.
    """
    result = balance(wyndor(lactose=Range(50.0 * 5.0 / 30.0, None)))
    assert result.status == "impossible"
    assert {(demand.key, demand.side) for demand in result.conflict} == {
        ("lactose", "min"),
        ("fructose", "max"),
    }
    reached = {found.key: found for found in result.reach}
    assert reached["lactose"].high * 30.0 / 5.0 == pytest.approx(36.0), "the optimum of the example"
