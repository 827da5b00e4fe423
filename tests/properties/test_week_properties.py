"""What must hold of every planned week: the account adds up, and nothing is used that may not be."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.ingredients.lots import Lot
from formulate.ingredients.stock import StockLot, closed, milligrams, offer, opened, take
from formulate.planning.menu import Serve, WeekMenu
from formulate.planning.weeks import week
from formulate.recipes.model import Range, Recipe, RecipeIngredient

MONDAY = date(2026, 11, 23)
KEYS = ("damson", "pear", "sucrose")
DAYS = st.integers(-3, 6).map(lambda days: MONDAY + timedelta(days))
GRAMS = st.integers(1, 2_500_000).map(lambda milligrams: milligrams / 1000.0)


def recipe(key):
    """Half fruit of a reading that may vary: solids and sweetness are held."""
    entries = (
        RecipeIngredient(key, grams=500.0, min_g=300.0, max_g=700.0),
        RecipeIngredient("sucrose", grams=180.0),
        RecipeIngredient("water", grams=320.0),
    )
    return Recipe(f"{key} sorbet", 1000.0, entries, {"total_solids": Range(24.0, 27.0)})


RECIPES = {key: recipe(key) for key in ("damson", "pear")}


@st.composite
def shelves(draw):
    found = []
    for count in range(draw(st.integers(0, 6))):
        key = draw(st.sampled_from(KEYS))
        came, use_by = draw(st.none() | DAYS), draw(st.none() | DAYS)
        if came is not None and use_by is not None and use_by < came:
            came, use_by = use_by, came
        reading = draw(st.none() | st.floats(7.0, 18.0)) if key != "sucrose" else None
        found.append(
            StockLot(
                Lot(
                    key,
                    name=f"lot {count}",
                    grams=draw(GRAMS),
                    date=came,
                    use_by=use_by,
                    reading=reading,
                    price_per_kg=draw(st.none() | st.just(2.0)),
                )
            )
        )
    return tuple(found)


@st.composite
def menus(draw):
    serves = tuple(
        Serve(
            MONDAY + timedelta(draw(st.integers(0, 4))),
            draw(st.sampled_from(list(RECIPES))),
            draw(st.integers(50, 6000)) * 1.0,
        )
        for _ in range(draw(st.integers(1, 4)))
    )
    return WeekMenu(
        "Week",
        serves,
        churn_g=draw(st.sampled_from((700.0, 1500.5, 3000.0))),
        left_in_machine_g=draw(st.sampled_from((0.0, 33.3))),
        keeps_days=draw(st.integers(0, 3)),
        together=draw(st.booleans()),
        lots=(),
    )


@settings(max_examples=60, deadline=None)
@given(menus(), shelves())
def test_every_week_adds_up(menu, shelf):
    found = week(menu, RECIPES, shelf)
    used = defaultdict(int)
    by_lot = defaultdict(int)
    for making in found.makings:
        churning = making.churning
        # Equal churns that fit the machine and give what is wanted, with less than a step to spare.
        assert churning.churn_g <= menu.churn_g
        assert abs(churning.churns * churning.churn_g - churning.grams) < 1e-6
        spare = churning.grams - churning.wanted_g - churning.churns * menu.left_in_machine_g
        assert -1e-6 <= spare < churning.churns * 1.0 + 1e-6
        assert churning.wanted_g == sum(serve.grams for serve in churning.serves)
        keeps = menu.keeps_days if menu.together else 0
        for serve in churning.serves:
            assert 0 <= (serve.day - churning.day).days <= keeps
        weighed = {weight.key: weight for weight in making.result.mix.weights}
        if making.is_possible:
            total = sum(weight.reached for weight in weighed.values())
            assert abs(total - churning.churn_g) < 1e-6
            assert making.result.mix.all_met
        for draw in making.draws:
            taken = sum(milligrams(use.grams) for use in draw.lots)
            assert taken == milligrams(churning.churns * weighed[draw.key].bought)
            used[draw.key] += taken
            for use in draw.lots:
                if use.lot is not None:
                    lot = use.lot.lot
                    assert (lot.date or date.min) <= churning.day <= (lot.use_by or date.max)
                    assert lot.key == draw.key
                    by_lot[lot.name] += milligrams(use.grams)
    for each in shelf:
        assert by_lot[each.lot.name] <= milligrams(each.lot.grams)
    served = sorted((s.day, s.recipe, s.grams) for m in found.makings for s in m.churning.serves)
    assert served == sorted((s.day, s.recipe, s.grams) for s in menu.serves)
    assert {line.order.key for line in found.lines} == used.keys() | {e.lot.key for e in shelf}
    for line in found.lines:
        # As decimals, which is how they are printed, they add up exactly.
        figures = (line.used_g, line.left_g, line.expired_g, line.stock_g, line.order.buy_g)
        out, left, expired, stock, bought = (Fraction(str(figure)) for figure in figures)
        assert out + left + expired == stock + bought
        assert milligrams(line.used_g) == used[line.order.key]
        assert stock == sum(
            Fraction(str(e.lot.grams)) for e in shelf if e.lot.key == line.order.key
        )
        assert bought == sum(Fraction(str(grams)) for _, grams in line.purchases)


@settings(max_examples=200, deadline=None)
@given(
    shelves(),
    st.lists(st.tuples(st.sampled_from(KEYS), st.integers(1, 3_000_000), DAYS), max_size=12),
)
def test_no_draw_makes_or_loses_a_milligram(shelf, draws):
    account = opened(shelf)
    for key, wanted, day in sorted(draws, key=lambda each: each[2]):
        parts = offer(account, key, wanted, day)
        assert sum(part.milligrams for part in parts) == wanted
        assert all(part.milligrams > 0 for part in parts)
        # The order is that of expiry: whatever is left of an earlier lot would have gone first.
        days = [shelf[p.lot].lot.use_by or date.max for p in parts if p.lot is not None]
        assert days == sorted(days)
        account = take(account, {key: parts}, day, "mix")
    assert min(account.left, default=0) >= 0
    for line in closed(account, MONDAY + timedelta(6)):
        assert line.used + line.left + line.expired == line.stock + line.bought
