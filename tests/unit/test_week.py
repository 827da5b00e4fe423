"""A week's menu: the file, the shelf, blends of lots, churns, and a plan against sums by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from formulate.data.examples import example_bytes, menu_bytes, menu_names
from formulate.errors import InputError
from formulate.ingredients.components import position
from formulate.ingredients.lots import EQUIVALENTS, Lot, titratable_acidity, with_lot
from formulate.ingredients.readings import brix_of
from formulate.ingredients.stock import StockLot, opened
from formulate.ingredients.table import ingredient_table
from formulate.mix.blend import blended
from formulate.mix.mixtures import mixture
from formulate.notebook.deliveries import Left
from formulate.planning.drawing import from_lots
from formulate.planning.menu import Serve, WeekMenu, parse_menu
from formulate.planning.orders import mix_to_order, order
from formulate.planning.shared_churns import churned, churnings
from formulate.planning.shelves import shelf
from formulate.planning.weeks import week
from formulate.recipes.file import parse
from formulate.recipes.model import Range, Recipe, RecipeIngredient
from formulate.report.wording import sentence

MONDAY = date(2026, 11, 23)
DAMSON = ingredient_table()["damson"].composition
MENU = """name = "Week"
begins = 2026-11-23
churn_g = 1500
[[serve]]
day = "monday"
recipe = "damson_sorbet"
grams = 1000
"""


def menu(*serves, churn_g=1500.0, stays=0.0, keeps=0, together=False, lots=()):
    return WeekMenu("Week", tuple(serves), churn_g, stays, keeps, together, tuple(lots))


def on(day, grams=1000.0, recipe="sorbet"):
    return Serve(date(2026, 11, day), recipe, grams)


def stock(name, grams, *, key="damson", reading=None, use_by=None, price=None, **others):
    lot = Lot(key, name=name, grams=grams, reading=reading, use_by=use_by, price_per_kg=price)
    return StockLot(replace(lot, **others))


def sorbet(**limits):
    """Half fruit, a quarter each of sugar and water, wide targets: what it needs is easily told."""
    entries = (
        RecipeIngredient("damson", grams=500.0, **limits),
        RecipeIngredient("sucrose", grams=250.0),
        RecipeIngredient("water", grams=250.0),
    )
    return Recipe("Sorbet", 1000.0, entries, {"total_solids": Range(10.0, 60.0)})


def drawn(making, key="damson"):
    (draw,) = [draw for draw in making.draws if draw.key == key]
    return [("buy" if use.lot is None else use.lot.lot.name, use.grams) for use in draw.lots]


# The file -------------------------------------------------------------------------------------------


def test_the_example_menu_is_read():
    assert menu_names() == ("november_week",)
    found = parse_menu(menu_bytes("november_week"), "november_week")
    first = found.serves[0]
    assert (first.day, first.grams, first.portions) == (date(2026, 11, 24), 24 * 60.0, 24)
    crate = found.lots[0]
    assert (crate.lot.reading, crate.lot.temperature_c, crate.lot.use_by) == (
        11.4,
        18.0,
        date(2026, 11, 25),
    )
    assert found.lots[1].plus_minus == 0.3


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("churn_g", "chrun_g", ["menu, chrun_g", 'Did you mean "churn_g"']),
        ("churn_g = 1500", "", ["menu, churn_g: is missing"]),
        ("churn_g = 1500", "churn_g = 0", ["churn_g: is 0", "above zero"]),
        ("churn_g = 1500", "churn_g = 50\nleft_in_machine_g = 50", ["must be below the churn"]),
        ("churn_g = 1500", "churn_g = 1500\ntogether = true", ["keeps_days: is missing"]),
        ("churn_g = 1500", 'churn_g = 1500\ntogether = "yes"', ["must be true or false"]),
        ("churn_g = 1500", "churn_g = 1500\nkeeps_days = 1.5", ["is 1.5", "whole number"]),
        ("grams = 1000", "", ["serve 1: needs either grams, or portions and portion_g"]),
        ("grams = 1000", "grams = 1000\nportions = 4", ["needs either grams"]),
        ("grams = 1000", "portions = 4", ["needs either grams"]),
        ("grams = 1000", "portions = 0\nportion_g = 60", ["portions: is 0"]),
        ("grams = 1000", "grams = -3", ["is -3"]),
        ("grams = 1000", "grams = 1e8", ["above 1,000,000"]),
        ("grams = 1000", "grams = 1000\nwine = 1", ["serve 1, wine", "not a field"]),
        ('"monday"', '"mondag"', ["'mondag', not a day", 'Did you mean "monday"']),
        ("begins = 2026-11-23\n", "", ['"monday" is of no week', "begins"]),
        ('day = "monday"', "", ["day: is missing"]),
        (
            '[[serve]]\nday = "monday"',
            '[[serve]]\nday = 2027-11-23\nrecipe = "a"\ngrams = 1\n[[serve]]\nday = 2026-11-23',
            ["more than 60 days"],
        ),
    ],
)
def test_a_menu_that_cannot_be_is_one_sentence(old, new, words):
    assert MENU.count(old) == 1
    with pytest.raises(InputError) as error:
        parse_menu(MENU.replace(old, new).encode(), "menu")
    text = str(error.value)
    assert "\n" not in text
    for word in words:
        assert word in text, text


@pytest.mark.parametrize(
    ("lot", "words"),
    [
        ('key = "damson"\ngrams = 5', ["name: is missing"]),
        ('name = "a"\ngrams = 5', ["key: is missing"]),
        ('key = "damson"\nname = "a"\ngrams = 0', ["grams: is 0"]),
        ('key = "damson"\nname = "a"\ngram = 5', ['Did you mean "grams"']),
        ('key = "damson"\nname = "a"\nbrix = 11\nreading = 12', ["beside a reading"]),
        ('key = "damson"\nname = "a"\nplus_minus = 0.2', ["is of no reading"]),
        ('key = "damson"\nname = "a"\nbrix = 110', ["110"]),
        ('key = "damson"\nname = "a"\nuse_by = "soon"', ["'soon', not a date"]),
        (
            'key = "damson"\nname = "a"\ndate = 2026-11-24\nuse_by = 2026-11-23',
            ["before it came in"],
        ),
        (
            'key = "damson"\nname = "a"\ngrams = 1\n[[lot]]\nkey = "damson"\nname = "a"\ngrams = 2',
            ['the name "a" is given twice for damson'],
        ),
    ],
)
def test_a_lot_that_cannot_be_is_one_sentence(lot, words):
    with pytest.raises(InputError) as error:
        parse_menu(f"{MENU}[[lot]]\n{lot}\n".encode(), "menu")
    text = str(error.value)
    assert "\n" not in text
    for word in words:
        assert word in text, text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"\xff\xfe", "not a text file in UTF-8"),
        (b"name = ", "is not a TOML file"),
        (b'name = "Week"\nchurn_g = 10\n', "has 0 [[serve]] tables"),
        (b"x" * 1_000_001, "a menu at most 1,000,000"),
    ],
)
def test_what_is_no_menu_is_refused(data, words):
    with pytest.raises(InputError, match=words.replace("[", r"\[")):
        parse_menu(data, "menu")


# The shelf ------------------------------------------------------------------------------------------


def test_a_lot_that_the_notebook_knows_is_on_the_shelf_once():
    noted = Lot("damson", reading=12.4, name="crate 7", grams=6000.0, use_by=date(2026, 12, 1))
    known = (Left(1, noted, 4500.0), Left(2, Lot("damson", reading=9.0), None))
    known += (Left(3, Lot("plum", grams=800.0), 800.0), Left(4, Lot("plum", grams=9.0), 0.0))
    found = shelf((stock("crate 7", None, price=3.0),), known, ())
    assert [(each.lot.name, each.lot.grams) for each in found] == [
        ("crate 7", 4500.0),  # what the notebook has left, with the price of the menu
        ("lot 3", 800.0),  # the one without grams and the one used up are not there
    ]
    assert (found[0].lot.reading, found[0].lot.price_per_kg) == (12.4, 3.0)
    counted = shelf((stock("crate 7", 4000.0, reading=11.0),), known, ())
    assert (counted[0].lot.grams, counted[0].lot.reading) == (4000.0, 11.0)  # the menu is newer


def test_stock_of_a_recipe_counts_once_and_only_where_no_lot_is():
    one, other = (
        replace(
            sorbet(),
            ingredients=(
                RecipeIngredient("damson", grams=500.0, stock_g=900.0),
                RecipeIngredient("sucrose", grams=250.0, stock_g=grams, price_per_kg=1.0),
            ),
        )
        for grams in (300.0, 700.0)
    )
    found = shelf((stock("crate", 100.0),), (), (one, other))
    assert [(each.lot.key, each.lot.grams) for each in found] == [
        ("damson", 100.0),
        ("sucrose", 700.0),
    ]


def test_a_lot_without_grams_or_of_an_unknown_ingredient_is_refused():
    with pytest.raises(InputError, match="lot crate of damson: has no grams"):
        shelf((stock("crate", None),), (), ())
    with pytest.raises(InputError, match='Did you mean "damson"'):
        shelf((stock("crate", 1.0, key="damsen"),), (), ())


# Blends ---------------------------------------------------------------------------------------------


def composed(parts, entry=None):
    """The composition that the recipe gets, and the mean of the lots by mass, summed by hand."""
    entry = entry or RecipeIngredient("damson", grams=900.0)
    row = mixture(Recipe("r", 900.0, (entry,))).raw[0]
    blend = blended(entry, row, parts)
    got = mixture(Recipe("r", 900.0, (blend,))).raw[0]
    total = sum(grams for _, grams in parts)
    rows = [row if each is None else with_lot(row, each.lot) for each, _ in parts]
    mean = sum(grams * np.asarray(each) for (_, grams), each in zip(parts, rows, strict=True))
    return got, mean / total, blend


@pytest.mark.parametrize(
    "parts",
    [
        ((stock("a", 1.0, reading=11.0), 700.0), (stock("b", 1.0, reading=15.0), 200.0)),
        ((stock("a", 1.0, reading=11.0), 700.0), (None, 200.0)),
        ((stock("a", 1.0, reading=6.2, scale="baume"), 1.0), (stock("b", 1.0, reading=9.0), 3.0)),
        (
            (stock("a", 1.0, reading=11.0, acidity=2.5), 5.0),
            (stock("b", 1.0, reading=15.0), 2.0),
            (stock("c", 1.0, acidity=1.1, acidity_as="malic_acid"), 4.0),
        ),
        ((stock("a", 1.0, acidity=2.0), 5.0), (None, 5.0)),
    ],
)
def test_a_blend_is_the_mean_composition_of_its_lots_exactly(parts):
    got, mean, _ = composed(parts)
    assert got == pytest.approx(mean, abs=1e-11)


def test_the_mean_reading_is_by_mass():
    """(700 x 11 + 200 x 15) / 900."""
    parts = ((stock("a", 1.0, reading=11.0), 700.0), (stock("b", 1.0, reading=15.0), 200.0))
    got, _, blend = composed(parts)
    assert blend.lot.reading == pytest.approx(10700.0 / 900.0)
    assert brix_of(got) == pytest.approx(10700.0 / 900.0)
    assert blend.brix_plus_minus == pytest.approx(0.2)


def test_what_lots_do_not_say_the_recipe_says():
    entry = RecipeIngredient("damson", grams=900.0, brix=13.0)
    assert blended(entry, DAMSON, ((stock("a", 5.0), 1.0), (None, 1.0))) is entry
    got, mean, blend = composed(((stock("a", 1.0, reading=11.0), 1.0), (None, 1.0)), entry)
    assert got == pytest.approx(mean, abs=1e-11)
    assert blend.lot.reading == pytest.approx(12.0) and blend.brix is None
    assert blend.brix_plus_minus > 0.2  # half of it was not read
    own = replace(entry, brix=None, lot=Lot("damson", acidity=2.0))
    got, mean, _ = composed(((stock("a", 1.0, reading=11.0), 1.0),), own)
    assert titratable_acidity(got) == pytest.approx(2.0)


def test_acids_without_a_common_measure_are_refused():
    row = np.array(DAMSON)
    acids = [position(key) for key in EQUIVALENTS]
    row[position("water")] += row[acids].sum()
    row[acids] = 0.0

    def lots(*kinds):
        return tuple((stock("a", 1.0, acidity=1.0, acidity_as=kind), 1.0) for kind in kinds)

    with pytest.raises(InputError, match="Express all as one acid"):
        blended(RecipeIngredient("damson"), row, lots("citric_acid", "malic_acid"))
    blend = blended(RecipeIngredient("damson"), row, lots("malic_acid", "malic_acid"))
    assert (blend.lot.acidity, blend.lot.acidity_as) == (pytest.approx(1.0), "malic_acid")


# Churns ---------------------------------------------------------------------------------------------


def test_churns_are_equal_and_what_stays_in_the_machine_is_made_too():
    """4,000 g, churns of 1,500 of which 50 stay: three of 4,000 / 3 + 50 = 1,383.3, so 1,384 g."""
    assert churned(4000.0, menu(on(23), stays=50.0), 1.0) == (3, 1384.0)
    assert churned(4350.0, menu(on(23), stays=50.0), 1.0) == (3, 1500.0)
    assert churned(4351.0, menu(on(23), stays=50.0), 1.0)[0] == 4
    assert churned(1000.0, menu(on(23), churn_g=1502.0), 5.0) == (1, 1000.0)
    with pytest.raises(InputError, match="stay behind"):
        churned(10.0, menu(on(23), churn_g=4.0, stays=1.0), 5.0)


def plan(found):
    return [(each.day.day, [serve.day.day for serve in each.serves], each.churns) for each in found]


def test_days_are_churned_together_only_if_the_cook_allows_and_it_saves_a_churn():
    serves = (on(23, 700.0), on(24, 700.0), on(26, 700.0))
    apart = [(23, [23], 1), (24, [24], 1), (26, [26], 1)]
    assert plan(churnings(menu(*serves, keeps=3), "sorbet", 1.0)) == apart
    allowed = menu(*serves, keeps=1, together=True)
    assert plan(churnings(allowed, "sorbet", 1.0)) == [(23, [23, 24], 1), (26, [26], 1)]
    small = replace(allowed, churn_g=700.0)
    assert plan(churnings(small, "sorbet", 1.0)) == apart  # no churn is saved
    assert plan(churnings(replace(allowed, keeps_days=0), "sorbet", 1.0)) == apart


def test_of_plans_with_as_few_churns_the_freshest_is_taken():
    """700 g each; either Monday and Tuesday or Tuesday and Wednesday share a churn, 1 day of waiting;
    Monday and Wednesday would wait 2."""
    serves = (on(23, 300.0), on(24, 900.0), on(25, 300.0))
    found = churnings(menu(*serves, churn_g=1200.0, keeps=2, together=True), "sorbet", 1.0)
    assert plan(found) == [(23, [23], 1), (24, [24, 25], 1)]  # 300 g wait, not 900


def test_services_of_one_day_are_one_making():
    serves = (on(23, 700.0), on(23, 800.0))
    assert plan(churnings(menu(*serves), "sorbet", 1.0)) == [(23, [23, 23], 1)]


# The plan -------------------------------------------------------------------------------------------


def test_a_week_by_hand():
    """Half of each churn is fruit: 1,000 g on each of two days take 500 and 500 g.

    Monday: 200 g that expire first and 300 of the other crate.  Tuesday: its 100 left, 400 to buy at 4.00
    per kg.  The 60 g past their day are waste at 2.00 per kg: 0.12.
    """
    lots = (
        stock("big", 400.0, use_by=date(2026, 11, 30)),
        stock("first", 200.0, use_by=MONDAY),
        stock("old", 60.0, use_by=date(2026, 11, 20), price=2.0),
    )
    found = week(menu(on(23), on(24)), {"sorbet": sorbet(price_per_kg=4.0)}, lots)
    assert found.is_possible
    assert drawn(found.makings[0]) == [("first", 200.0), ("big", 300.0)]
    assert drawn(found.makings[1]) == [("big", 100.0), ("buy", 400.0)]
    assert "old: past its use-by of 2026-11-20, 60 g are not used." in sentence(
        found.makings[0].notes[0]
    )
    line = next(line for line in found.lines if line.order.key == "damson")
    of = line.order
    assert (of.needed_g, of.stock_g, of.buy_g, of.cost) == (1000.0, 600.0, 400.0, 1.6)
    assert line.purchases == ((date(2026, 11, 24), 400.0),)
    assert (line.stock_g, line.used_g, line.left_g, line.expired_g) == (660.0, 1000.0, 0.0, 60.0)
    assert line.waste_cost == pytest.approx(0.12)
    assert [use.lot.lot.name for use in found.use_first] == ["first", "big"]


def test_the_mix_is_balanced_to_the_reading_of_what_it_is_drawn_from():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    lots = (
        stock("end of a crate", 300.0, reading=15.0, use_by=MONDAY),
        stock("next crate", 5000.0, reading=11.0),
    )
    serve = Serve(MONDAY, "sorbet", 2000.0)
    (making,) = week(menu(serve, churn_g=2000.0), {"sorbet": recipe}, lots).makings
    (_, end), (_, rest) = drawn(making)
    draw = next(draw for draw in making.draws if draw.key == "damson")
    assert draw.brix == pytest.approx((15.0 * end + 11.0 * rest) / (end + rest))
    fruit = next(w for w in making.result.mix.weights if w.key == "damson")
    assert end == 300.0 and end + rest == pytest.approx(fruit.bought)
    assert making.result.mix.all_met


def test_what_is_drawn_of_very_different_lots_is_what_was_balanced_to():
    """Three lots of very different readings, and a fruit that moves readily."""
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    entries = tuple(
        replace(entry, role="liquid") if entry.key == "damson" else entry
        for entry in recipe.ingredients
    )
    recipe = replace(recipe, ingredients=entries)
    lots = tuple(
        stock(str(count), grams, reading=brix)
        for count, (grams, brix) in enumerate(((816.0, 5.7), (72.0, 17.5), (848.0, 13.8)))
    )
    found = from_lots(recipe, 1, MONDAY, opened(lots))
    taken = [(lots[part.lot].lot.reading, part.milligrams) for part in found.parts["damson"]]
    total = sum(milligrams for _, milligrams in taken)
    fruit = next(w for w in found.result.mix.weights if w.key == "damson")
    entry = next(e for e in found.recipe.ingredients if e.key == "damson")
    assert total == pytest.approx(1000.0 * fruit.bought)
    assert entry.lot.reading == pytest.approx(sum(b * g for b, g in taken) / total)
    assert found.result.mix.all_met


def test_what_no_lot_can_balance_is_told_and_the_rest_is_planned():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    lots = (stock("jam, really", 9000.0, reading=60.0),)
    recipes = {
        "sorbet": recipe,
        "plain": replace(
            sorbet(),
            name="Plain",
            ingredients=(RecipeIngredient("pear", grams=500.0), *sorbet().ingredients[1:]),
        ),
    }
    found = week(menu(on(23), on(24, recipe="plain")), recipes, lots)
    impossible, plain = found.makings
    assert not found.is_possible
    assert (impossible.result.status, impossible.draws) == ("impossible", ())
    assert impossible.result.conflict
    assert plain.is_possible
    damson = next(line for line in found.lines if line.order.key == "damson")
    assert (damson.used_g, damson.left_g, damson.order.needed_g) == (0.0, 9000.0, 0.0)


def test_a_lot_with_which_nothing_can_be_is_left_aside_for_the_next():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    lots = (
        stock("jam, really", 9000.0, reading=60.0, use_by=MONDAY),
        stock("crate", 9000.0, reading=11.0),
    )
    (making,) = week(menu(on(23)), {"sorbet": recipe}, lots).makings
    assert making.is_possible and [name for name, _ in drawn(making)] == ["crate"]
    assert "jam, really: left aside" in sentence(making.notes[0])


def test_what_takes_long_is_begun_the_day_before():
    """12 hours in the cold, of which 4 fit into the day itself; 30 minutes need no day of their own."""
    text = example_bytes("bay_leaf_ice_cream").decode()
    for old, minutes, begin in (
        ("hot = true, minutes = 30", 30, date(2026, 11, 23)),
        ("hot = false, minutes = 720", 720, date(2026, 11, 22)),
    ):
        changed = text.replace("hot = true, minutes = 30", old)
        recipe = parse(changed.encode(), "bay")
        found = week(menu(on(23, 2000.0), churn_g=3000.0), {"sorbet": recipe}, ())
        (ahead,) = found.ahead
        assert ahead.begin == begin, minutes
        assert sentence(ahead.what).startswith("Bay leaf, dried: infuse")


def test_a_week_without_lots_orders_what_order_orders():
    """One churn of the recipe's own batch: the same mix, so the same needs."""
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    lines = order(((mix_to_order(recipe, balanced=True), 2000.0),))
    found = week(menu(on(23, 2000.0), churn_g=2000.0), {"sorbet": recipe}, ())
    assert [line.order.key for line in found.lines] == [line.key for line in lines]
    assert [line.order.needed_g for line in found.lines] == [line.needed_g for line in lines]


def test_trimmings_are_drawn_and_ordered_too():
    """20 % of the plums leave before the scale: 400 g weighed are 500 g of the crate."""
    text = """name = "Plum"\nbatch_g = 1000
[[ingredient]]
key = "plum"\ngrams = 400\nfixed = true
steps = [{ do = "peel and stone", waste_percent = 20 }, { do = "weigh" }]
[[ingredient]]
key = "sucrose"\ngrams = 200
[[ingredient]]
key = "water"\ngrams = 400
[target]
total_solids = { min = 15, max = 50 }\n"""
    lots = (stock("crate", 450.0, key="plum"),)
    (making,) = week(menu(on(23)), {"sorbet": parse(text.encode(), "plum")}, lots).makings
    assert drawn(making, "plum") == [("crate", 450.0), ("buy", pytest.approx(50.0))]


def test_two_equal_deliveries_stand_on_the_shelf_as_two():
    """1,000 g came twice on one day: 2,000 g are there, and the second keeps its number as a name."""
    crate = Lot("damson", date=date(2026, 11, 24), grams=1000.0)
    found = shelf((), [Left(1, crate, 1000.0), Left(2, crate, 1000.0)], ())
    assert [(each.lot.name, each.lot.grams) for each in found] == [
        ("lot 1", 1000.0),
        ("lot 2", 1000.0),
    ]
    named = replace(crate, name="crate")
    found = shelf((), [Left(1, named, 1000.0), Left(2, named, 250.0)], ())
    assert [(each.lot.name, each.lot.grams) for each in found] == [
        ("crate", 1000.0), ("crate (lot 2)", 250.0),
    ]  # fmt: skip
