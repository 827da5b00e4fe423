"""Arguing with the solver: counts, ratios, groups, ladders, pots, trade-offs, shared bases."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pulp
import pytest

from formulate.answers.balancing import balance, balance_safely, check
from formulate.answers.bases import shared_base
from formulate.answers.conflicts import explain
from formulate.answers.export import as_lp, programme_data
from formulate.answers.frontiers import frontier
from formulate.answers.ladders import ladder, readings_of
from formulate.answers.menus import menu_from_mapping
from formulate.answers.others import different_mixes
from formulate.answers.pots import correct
from formulate.answers.proposals import _least_amount, priced
from formulate.answers.rebalancing import rebalance
from formulate.answers.spans import ranges
from formulate.answers.warnings import warnings_of
from formulate.data.examples import example_bytes, example_names
from formulate.data.hashes import made_with
from formulate.errors import InputError
from formulate.freezing import freezing_model
from formulate.ingredients import position, properties
from formulate.mix.assessment import assess
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.mix.uncertainty import curve_deviation, doubts
from formulate.recipes import FREEZING_KEY
from formulate.recipes.file import parse, to_toml
from formulate.recipes.model import Counts, Exclude, Group, Range, Ratio, Recipe, RecipeIngredient
from formulate.recipes.serving import Serving
from formulate.report.wording import sentence, sentences
from formulate.solver.active_set import active_set_of, optimum_at
from formulate.solver.certificates import Certificate, contradiction_g, of_prices
from formulate.solver.objectives import best, relative_change
from formulate.solver.optima import optimum
from formulate.solver.preferences import objective_of, within_usual


def recipe(name="damson_sorbet"):
    return parse(example_bytes(name), name)


def with_entry(known, key, **changes):
    entries = tuple(
        replace(entry, **changes) if entry.key == key else entry for entry in known.ingredients
    )
    return replace(known, ingredients=entries)


def grams(result):
    return {weight.key: weight.grams for weight in result.mix.weights}


# Counts, ratios, groups


def test_at_most_so_many_changes():
    plain = balance(recipe())
    changed = [w for w in plain.mix.weights if abs(w.grams - w.before) > 0.5]
    fewer = balance(replace(recipe(), counts=Counts(most_changes=2)))
    if fewer.status == "balanced":
        moved = [w for w in fewer.mix.weights if abs(w.grams - w.before) > 1e-6]
        assert len(moved) <= 2 < len(changed)
    three = balance(replace(recipe(), counts=Counts(most_changes=3)))
    assert three.status == "balanced"
    assert sum(abs(w.grams - w.before) > 1e-6 for w in three.mix.weights) <= 3
    assert three.mix.all_met


def test_none_or_at_least_so_much():
    known = with_entry(recipe(), "dextrose_monohydrate", grams=0.0, least_use_g=40.0)
    found = grams(balance(known))["dextrose_monohydrate"]
    assert found == 0.0 or found >= 40.0
    forced = replace(known, targets={**known.targets, "glucose": Range(3.5, None)})
    assert grams(balance(forced))["dextrose_monohydrate"] >= 40.0


def test_at_most_so_many_ingredients():
    known = replace(recipe(), counts=Counts(most_ingredients=5))
    used = [weight for weight in balance(known).mix.weights if weight.grams > 0.0]
    assert len(used) <= 5


def test_ratio_is_kept_and_judged():
    ratio = Ratio("sucrose", "dextrose_monohydrate", Range(3.0, 4.0))
    result = balance(replace(recipe(), ratios=(ratio,)))
    found = grams(result)
    assert 3.0 - 1e-6 <= found["sucrose"] / found["dextrose_monohydrate"] <= 4.0 + 1e-6
    target = next(each for each in result.mix.targets if each.key == ratio.key)
    assert target.met and target.unit == "g/g"


def test_exact_ratio_is_kept_within_a_gram():
    ratio = Ratio("sucrose", "dextrose_monohydrate", Range(4.0, 4.0))
    found = grams(balance(replace(recipe(), ratios=(ratio,))))
    assert abs(found["sucrose"] - 4.0 * found["dextrose_monohydrate"]) <= 1.0 + 1e-9


def test_group_is_kept_and_judged():
    group = Group("fruit", ("damson",), Range(54.0, None))
    result = balance(replace(recipe(), groups=(group,)))
    assert grams(result)["damson"] >= 0.54 * 2000.0 - 1e-6
    assert result.mix.properties["group fruit"] >= 54.0 - 1e-9


def test_what_holds_together_comes_back_from_its_file():
    known = replace(
        recipe(),
        ratios=(Ratio("sucrose", "water", Range(0.3, None)),),
        groups=(Group("sugars", ("sucrose", "dextrose_monohydrate"), Range(None, 20.0)),),
        counts=Counts(most_changes=3),
        exclude=Exclude(allergens=("milk",), animal=True),
    )
    assert parse(to_toml(known).encode(), "again") == known


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ('[[ratio]]\nof = "sucros"\nto = "water"\nvalue = 1', 'Did you mean "sucrose"'),
        ('[[ratio]]\nof = "water"\nto = "water"\nvalue = 1', "compares water with itself"),
        ('[[ratio]]\nof = "sucrose"\nto = "water"\nvalue = -1', "is below zero"),
        ('[[group]]\nname = "x"\nkeys = []\npercent = 5', "is empty"),
        ('[[group]]\nname = "x"\nkeys = ["sucrose"]\npercent = "5"', "not a number"),
        ("[limits]\nmost_changes = 2.5", "must be a whole number"),
        ('[exclude]\nanimal = "yes"', "must be true or false"),
        ("[exclude]\nallergen = []", 'Did you mean "allergens"'),
        ('[exclude]\nkeys = "sucrose"', "must be a list of words"),
    ],
)
def test_bad_additions_are_one_sentence(text, sentence):
    with pytest.raises(InputError) as caught:
        parse(f"{example_bytes('damson_sorbet').decode()}\n{text}\n".encode(), "x")
    assert sentence in str(caught.value)


# Proposals


def test_pricing_finds_every_ingredient_that_could_help():
    """One by one, by brute force: whatever makes a mix possible has a price above 0, and needs at least
    as much as the price says."""
    known = with_entry(recipe(), "dextrose_monohydrate", max_g=60.0)
    known = replace(known, targets={**known.targets, "sweetness": Range(30.0, None)})
    mix = mixture(known)
    rows = programme(mix)
    explanation = explain(mix, rows)
    _, everything, prices = priced(mix, rows, explanation)
    count = len(mix.keys)
    helpful = 0
    for index in range(len(prices)):
        amount = _least_amount(everything, [*range(count), count + index])
        if amount is None:
            continue
        helpful += 1
        assert prices[index] > 0.0
        assert amount >= explanation.contradiction / prices[index] - 1e-6
    assert helpful >= 2, "fructose and agave syrup"


def test_proposals_respect_what_is_excluded():
    known = replace(recipe(), targets={**recipe().targets, "sweetness": Range(30.0, None)})
    free = {p.recipe.ingredients[-1].key for p in balance(known).proposals if p.kind == "add"}
    assert "fructose" in free
    bound = replace(known, exclude=Exclude(keys=("fructose",)))
    kept = {p.recipe.ingredients[-1].key for p in balance(bound).proposals if p.kind == "add"}
    assert "fructose" not in kept
    only = replace(known, exclude=Exclude(only=("honey", "agave_syrup")))
    stocked = {p.recipe.ingredients[-1].key for p in balance(only).proposals if p.kind == "add"}
    assert stocked <= {"honey", "agave_syrup"}


@pytest.mark.parametrize("rounding", [-1e-16, -5e-8])
def test_a_price_that_is_rounding_does_not_undo_the_proof(rounding):
    """A row without an upper bound: of any price below 0 on it the contradiction would be -inf."""
    known = with_entry(recipe(), "dextrose_monohydrate", max_g=60.0)
    known = replace(known, targets={**known.targets, "sweetness": Range(30.0, None)})
    mix = mixture(known)
    rows, proof = programme(mix), explain(mix, programme(mix)).certificate
    row = [entry.key for entry in rows.rows].index("sweetness")
    assert rows.row_upper[row] == np.inf
    others = np.arange(len(rows.rows)) != row
    spoilt = np.where(others, proof.rows, rounding)
    assert contradiction_g(rows, Certificate(spoilt, proof.total)) == -np.inf
    cleaned = of_prices(rows, spoilt, proof.total)
    assert np.isfinite(contradiction_g(rows, cleaned))
    assert np.array_equal(cleaned.rows[others], proof.rows[others])


# Corners, ranges, ladder


@pytest.mark.parametrize("name", example_names())
def test_a_corner_proves_the_optimum_without_a_solver(name):
    mix = mixture(recipe(name))
    rows = programme(mix)
    wish = objective_of(mix, rows)
    found = best(rows, wish)
    held = optimum_at(rows, wish, active_set_of(rows, wish, found.weights, found.prices))
    np.testing.assert_allclose(held.weights, found.weights, atol=1e-6)
    np.testing.assert_allclose(held.prices[:-1], found.prices, atol=1e-9)
    assert held.objective == pytest.approx(found.objective, rel=1e-9)


@pytest.mark.parametrize("name", example_names())
def test_every_end_of_a_range_is_reached_and_nothing_lies_beyond(name):
    known = recipe(name)
    mix = mixture(known)
    rows = programme(mix)
    chosen = optimum(mix, rows)
    kept, wish = chosen.kept, chosen.objective
    ceiling = wish.of(chosen.columns) + 0.2
    found = ranges(known, 0.2)

    def change(index, low, high):
        lower, upper = kept.lower.copy(), kept.upper.copy()
        lower[index], upper[index] = max(low, 0.0), high
        solution = best(kept.with_limits(lower, upper), wish)
        return np.inf if solution is None else wish.of(solution.weights)

    for index, span in enumerate(found.ingredients):
        assert span.low - 1e-6 <= span.value <= span.high + 1e-6, span
        assert change(index, span.low - 1e-3, span.low + 1e-3) <= ceiling + 1e-6, span
        assert change(index, span.high - 1e-3, span.high + 1e-3) <= ceiling + 1e-6, span
        if span.low > rows.lower[index] + 1.0:
            assert change(index, rows.lower[index], span.low - 0.5) > ceiling - 1e-9, span
        if span.high < rows.upper[index] - 1.0:
            assert change(index, span.high + 0.5, rows.upper[index]) > ceiling - 1e-9, span
    for target in found.targets:
        assert target.low - 1e-6 <= target.value <= target.high + 1e-6, target


def test_a_price_is_what_a_unit_of_the_bound_moves():
    known = recipe()
    found = {price.demand.key: price for price in ranges(known).prices}
    price = found["sweetness"]
    looser = replace(known, targets={**known.targets, "sweetness": Range(17.0, 20.5)})
    moved = [
        0.5
        * sum(
            abs(exact - weight.before)
            for exact, weight in zip(r.exact_grams, r.mix.weights, strict=True)
        )
        for r in (balance(known), balance(looser))
    ]
    assert moved[0] - moved[1] == pytest.approx(0.5 * price.grams_per_unit, rel=0.05)


def test_ladder_is_what_balance_says_at_each_reading():
    known = recipe()
    found = ladder(known, "damson", readings_of("9:20:1"))
    for rung in found.rungs:
        alone = balance(with_entry(known, "damson", brix=rung.brix))
        together = np.array(rung.grams)
        np.testing.assert_allclose(together, alone.exact_grams, atol=3.0)
        assert assess(mixture(with_entry(known, "damson", brix=rung.brix)), together).all_met
    steps = np.abs(np.diff([rung.grams for rung in found.rungs], axis=0))
    assert steps.max() < 25.0, "neighbouring rows change smoothly"


def test_ladder_says_where_another_ingredient_takes_over():
    found = ladder(recipe(), "damson", readings_of("9:20:1"))
    assert len(found.bands) >= 2
    assert found.bands[0].low == 9.0 and found.bands[-1].high == 20.0
    for one, other in zip(found.bands[:-1], found.bands[1:], strict=True):
        assert one.high == other.low
    assert all(band.off_by_g < 1.0 for band in found.bands)


@pytest.mark.parametrize("words", ["9:15", "a:b:c", "15:9:1", "9:15:0", "0:5:1", "1:80:0.01"])
def test_bad_readings_are_one_sentence(words):
    with pytest.raises(InputError, match="is not from:to:step"):
        readings_of(words)


# Safety


@pytest.mark.parametrize("name", ["damson_sorbet", "damson_sorbet_ripe", "bay_leaf_ice_cream"])
def test_chances_are_those_of_mixes_drawn_at_random(name):
    """20,000 mixes with every doubt drawn, each recomputed whole from its composition."""
    result = balance(recipe(name))
    mix = result.mixture
    weights = np.array([weight.grams for weight in result.mix.weights])
    found = doubts(mix, weights)
    random = np.random.default_rng(3)
    drawn = random.standard_normal((20_000, len(found.what)))
    step = np.where(weights < 20.0, 0.1, 1.0)
    share = weights + random.uniform(-0.5, 0.5, (20_000, len(weights))) * step
    base = share @ mix.compositions / (share @ mix.reach)[:, None]
    compositions = base + drawn @ found.composition
    serving = mix.recipe.serving
    held = freezing_model().water_held_exact([serving.temperature_c])[0]
    curves = curve_deviation((serving.temperature_c,))[0]
    liquid = compositions @ held + drawn @ (found.constant + found.solutes @ curves)
    frozen = 100.0 * (1.0 - liquid / compositions[:, position("water")])
    window = serving.frozen_water
    scoops = (frozen >= window.min) & (frozen <= window.max)
    assert scoops.mean() == pytest.approx(result.chance.scoopable, abs=0.02)
    every = scoops.copy()
    points = freezing_model().initial_freezing_point(compositions[:2_000])
    if FREEZING_KEY in mix.recipe.targets:
        asked = mix.recipe.targets[FREEZING_KEY]
        every = every[:2_000] & (points >= asked.min) & (points <= asked.max)
        compositions = compositions[:2_000]
    for key, bounds in mix.recipe.targets.items():
        if key in properties() and bounds.min != bounds.max:
            values = compositions @ properties()[key].weights
            every &= (values >= (bounds.min or 0.0)) & (values <= (bounds.max or np.inf))
    assert every.mean() == pytest.approx(result.chance.all_targets, abs=0.03)


def test_safety_costs_and_says_so():
    plain, safe = balance(recipe(), margin=0.0), balance_safely(recipe(), 0.8)
    assert safe.status == "balanced" and safe.mix.all_met
    assert all(each.value >= 0.8 - safe.chance.error for each in safe.chance.targets)
    assert any("Every target holds" in message for message in sentences(safe.messages))
    assert safe.chance.scoopable > plain.chance.scoopable


def test_a_confidence_that_cannot_be_had_is_a_result():
    result = balance_safely(recipe("bay_leaf_ice_cream"), 0.99)
    assert result.status == "impossible"
    assert "comes to" in sentence(result.messages[-1])
    found = min(each.value for each in result.chance.targets)
    assert found < 0.99, "and the figure that is told is that of the mix that is shown"
    assert f"{100.0 * found:.0f}." in sentence(result.messages[-1])
    with pytest.raises(InputError, match=r"from 0\.5 to below 1"):
        balance_safely(recipe(), 1.0)


# A pot, a reading


def test_a_pot_is_put_right_and_nothing_is_taken_out():
    pot = {"damson": 1000.0, "sucrose": 300.0}
    smallest = correct(recipe(), pot)[0]
    assert smallest.mix.all_met
    assert min(smallest.additions) >= 0.0
    held = {weight.key: weight.grams for weight in smallest.mix.weights}
    for key, there in pot.items():
        assert held[key] >= there


def test_the_smallest_addition_is_smallest():
    """Against a second solver: CBC through PuLP, on rows built here from composition."""
    known = recipe()
    pot = {"damson": 1000.0, "sucrose": 300.0, "water": 400.0}
    found = correct(known, pot)[0]
    mix = mixture(known)
    rows = programme(mix)
    model = pulp.LpProblem("pot", pulp.LpMinimize)
    added = [pulp.LpVariable(f"a{index}", 0.0) for index in range(len(mix.keys))]
    total = [pot.get(key, 0.0) + a for key, a in zip(mix.keys, added, strict=True)]
    model += pulp.lpSum(added)
    for row in rows.rows:
        value = pulp.lpSum(float(c) * t for c, t in zip(row.coefficients, total, strict=True))
        size = pulp.lpSum(total) * (1.0 / rows.batch_g)
        if np.isfinite(row.lower):
            model += value >= row.lower * size
        if np.isfinite(row.upper):
            model += value <= row.upper * size
    for index, entry in enumerate(known.ingredients):
        if entry.min_g is not None:
            model += total[index] >= entry.min_g * pulp.lpSum(total) * (1.0 / rows.batch_g)
        if entry.max_g is not None:
            model += total[index] <= entry.max_g * pulp.lpSum(total) * (1.0 / rows.batch_g)
    model.solve(pulp.PULP_CBC_CMD(msg=False))
    least = float(pulp.value(model.objective))
    # Rounding to the scale may add up to a step for each ingredient.
    # Rounding to the scale may add up to a step for each ingredient; the very least would leave no
    # room for it, so that the batch is half a percent larger, and a full ten grams.
    size = sum(pot.values()) + least
    assert found.aim == "smallest" and size > known.batch_g
    assert least - 1e-4 <= sum(found.additions) <= least + 0.005 * size + 10.0 + len(mix.keys)


def test_a_pot_that_is_right_needs_nothing():
    right = {weight.key: weight.grams for weight in balance(recipe()).mix.weights}
    found = correct(recipe(), right)[0]
    assert found.aim == "finish"
    assert sum(found.additions) == pytest.approx(0.0, abs=1e-6)


def test_a_pot_on_plan_goes_on_as_written():
    """Half of the planned weights are in: the other half is what is still to come, and no more."""
    plan = {weight.key: weight.grams for weight in balance(recipe()).mix.weights}
    known = replace(
        recipe(),
        ingredients=tuple(replace(entry, grams=plan[entry.key]) for entry in recipe().ingredients),
    )
    pot = {key: plan[key] for key in ("damson", "sucrose", "water")}
    (found,) = correct(known, pot)
    assert found.aim == "finish" and found.as_written
    for key, added in zip(plan, found.additions, strict=True):
        assert added == pytest.approx(0.0 if key in pot else plan[key], abs=0.05), key


def test_a_correction_is_nothing_that_no_cook_would_add():
    """What is usual of gum, acid and salt holds for the pot as it will be."""
    known = recipe()
    pots = (
        {"damson": 1000.0, "sucrose": 300.0},
        {"damson": 1000.0, "sucrose": 380.0, "water": 555.0},
        {"damson": 600.0, "water": 900.0},
        {"damson": 1150.0, "glucose_powder_de30": 300.0},
    )
    for pot in pots:
        for found in correct(known, pot):
            gum = next(w.grams for w in found.mix.weights if w.key == "locust_bean_gum")
            assert gum <= 0.006 * sum(weight.grams for weight in found.mix.weights)


def test_a_pot_that_cannot_be_put_right_says_what_is_nearest():
    known = recipe()
    entries = tuple(
        replace(entry, stock_g=entry.grams if entry.key != "sucrose" else None)
        for entry in known.ingredients
    )
    pot = {entry.key: entry.grams for entry in known.ingredients}
    pot["sucrose"] = 900.0
    found = correct(replace(known, ingredients=entries), pot)
    assert found[0].aim == "nearest"
    assert not found[0].mix.all_met


@pytest.mark.parametrize(
    ("pot", "sentence"),
    [
        ({"sugar": 1.0}, "is in the pot but not in the recipe"),
        ({"sucrose": -1.0}, "Give grams, 0 or more"),
        ({"sucrose": 0.0}, "the pot is empty"),
    ],
)
def test_bad_pots_are_one_sentence(pot, sentence):
    with pytest.raises(InputError, match=sentence):
        correct(recipe(), pot)


# Trade-offs, alternatives, shared bases, export


def test_a_frontier_is_convex_and_nothing_lies_below_it():
    known = recipe()
    found = frontier(known, "change", "sweetness")
    points = np.array([(corner.first, corner.second) for corner in found.corners])
    assert np.all(np.diff(points[:, 0]) > 0.0) and np.all(np.diff(points[:, 1]) <= 1e-9)
    slopes = np.diff(points[:, 1]) / np.diff(points[:, 0])
    assert np.all(np.diff(slopes) >= -1e-9)
    for wanted in np.linspace(points[:, 1].min() + 0.05, points[:, 1].max() - 0.05, 9):
        bound = replace(known, targets={**known.targets, "sweetness": Range(17.0, float(wanted))})
        mix = mixture(bound)
        rows = programme(mix)
        wish = relative_change(rows, mix.start)
        least = best(within_usual(mix, rows), wish).objective
        on_it = np.interp(wanted, points[::-1, 1], points[::-1, 0])
        assert least == pytest.approx(on_it, abs=1e-4), wanted


def test_different_mixes_differ_in_different_ways():
    found = different_mixes(recipe(), 4)
    assert len(found) >= 2
    assert len({each.way.code for each in found}) == len(found)
    assert all(each.mix.all_met for each in found)


MENU = """
name = "Friday"
[[base]]
key = "whole_milk"
grams = 600
[[base]]
key = "cream_35"
grams = 200
[[base]]
key = "skim_milk_powder"
grams = 40
[[base]]
key = "sucrose"
grams = 120
[[base]]
key = "dextrose_monohydrate"
grams = 35
"""
MIX = """
[[mix]]
name = "Mix {number}"
batch_g = 1000
base_g = {base}
[[mix.ingredient]]
key = "{fruit}"
grams = 200
[[mix.ingredient]]
key = "sucrose"
grams = 60
[mix.target]
sweetness = {{ min = 14, max = 18 }}
fat = {{ min = 4 }}
[mix.serving]
temperature_c = -13
frozen_water = {{ min = 69, max = 76 }}
"""


def menu(*fruits):
    mixes = [
        MIX.format(number=number, base=700 + 10 * (number % 4), fruit=fruit)
        for number, fruit in enumerate(fruits)
    ]
    return menu_from_mapping(tomllib.loads(MENU + "".join(mixes)), "menu")


def test_one_base_serves_several_mixes():
    found = shared_base(menu("pear", "strawberry", "mango"))
    assert len(found.mixes) == 3
    assert all(mix.all_met for mix in found.mixes)
    assert [sum(w.grams for w in mix.weights) for mix in found.mixes] == pytest.approx([1000.0] * 3)


def test_shared_stock_is_kept():
    short = MENU.replace(
        'key = "cream_35"\ngrams = 200', 'key = "cream_35"\ngrams = 200\nstock_g = 300'
    )
    mixes = "".join(MIX.format(number=n, base=700, fruit="pear") for n in range(2))
    found = shared_base(menu_from_mapping(tomllib.loads(short + mixes), "menu"))
    assert found is not None
    assert found.base[1] <= 300.0 + 1.0


def test_a_base_that_cannot_serve_all_is_none():
    impossible = MIX.replace("{{ min = 14, max = 18 }}", "{{ min = 40 }}")
    text = MENU + impossible.format(number=1, base=900, fruit="pear")
    found = shared_base(menu_from_mapping(tomllib.loads(text), "menu"))
    assert found.status == "impossible" and found.mixes == ()
    assert "sweetness" in {clash.demand.key for clash in found.conflict}


@pytest.mark.parametrize("name", example_names())
def test_a_second_library_finds_the_same_optimum_of_the_exported_programme(name):
    """CBC through PuLP, from the exported data alone."""
    known = recipe(name)
    data = programme_data(known)
    model = pulp.LpProblem("exported", pulp.LpMinimize)
    columns = [
        pulp.LpVariable(f"c{index}", low, high)
        for index, (low, high) in enumerate(zip(data["lower"], data["upper"], strict=True))
    ]
    model += pulp.lpSum(c * x for c, x in zip(data["objective"], columns, strict=True))
    for row in data["rows"]:
        value = pulp.lpSum(c * x for c, x in zip(row["coefficients"], columns, strict=True))
        if row["lower"] is not None:
            model += value >= row["lower"]
        if row["upper"] is not None:
            model += value <= row["upper"]
    model.solve(pulp.PULP_CBC_CMD(msg=False))
    chosen = optimum(mixture(known), programme(mixture(known)))
    ours = chosen.objective.of(chosen.columns)
    assert float(pulp.value(model.objective)) + data["constant"] == pytest.approx(ours, rel=1e-5)


def test_the_lp_text_names_every_row():
    text = as_lp(recipe("bay_leaf_ice_cream"))
    assert text.startswith(f"\\ Bay leaf ice cream base\n\\ {made_with()}\nMinimize\n")
    assert text.endswith("End\n")
    for name in ("total_solids_least", "fat_most", "frozen_water_max", "total:"):
        assert name in text


# Many lots at once


@pytest.mark.parametrize("name", ["damson_sorbet", "damson_sorbet_ripe"])
def test_many_lots_are_what_each_alone_is(name):
    """The batch and one at a time: the same weights, whichever corner holds them."""
    readings = np.round(np.random.default_rng(5).uniform(8.5, 20.0, 300), 3)
    found = rebalance(recipe(name), "damson", readings)
    assert found.solved < 150  # of 300
    for place in range(0, 300, 10):
        alone = with_entry(recipe(name), "damson", brix=float(readings[place]))
        mix = mixture(alone)
        chosen = optimum(mix, programme(mix))
        if chosen is None:
            assert not found.possible[place]
        else:  # tangents agree to a hundredth of a standard deviation
            np.testing.assert_allclose(found.weights[place], chosen.weights, atol=0.2)


def test_lots_that_no_mix_can_save_are_said_to_be_so():
    tight = replace(recipe(), targets={**recipe().targets, "sweetness": Range(19.9, 20.0)})
    tight = replace(tight, targets={**tight.targets, "total_solids": Range(None, 24.0)})
    found = rebalance(tight, "damson", [9.0, 15.0, 20.0])
    assert np.isnan(found.weights[~found.possible]).all()
    assert not found.possible.all()


def test_a_wish_for_ice_asks_for_water():
    """Without water every wish about ice reads 0 <= 0: oil and emulsifier alone are no answer."""
    entries = (
        RecipeIngredient("olive_oil", grams=200.0),
        RecipeIngredient("mono_and_diglycerides", grams=800.0),
        RecipeIngredient("mango", grams=10.0),
    )
    recipe = Recipe(
        "no ice", 1000.0, entries, {"fat": Range(18.0, 19.0)}, Serving(-12.0, Range(55.0, 85.0))
    )
    result = balance(recipe)
    assert result.status == "impossible"
    assert "some water" in {demand.key for demand in result.conflict}
    assert result.mix.properties["water"] > 0.9
    assert balance(replace(recipe, serving=None)).status == "balanced"


def rich_in_solids():
    """A sorbet whose least relative change of all would be 71 g of gum in 2 kg."""
    targets = {"total_solids": Range(35.0, 36.0), "sweetness": Range(14.0, 21.0)}
    return replace(recipe(), targets=targets)


def test_what_is_usual_comes_before_the_least_change():
    mix = balance(rich_in_solids()).mix
    gum = next(weight for weight in mix.weights if weight.key == "locust_bean_gum")
    assert gum.grams <= 0.006 * 2000.0
    asked = replace(
        rich_in_solids(), targets={**rich_in_solids().targets, "stabiliser": Range(3, None)}
    )
    assert balance(asked).status == "balanced"  # the cook's own wish goes before what is usual


def test_ladder_and_lots_keep_to_what_is_usual_too():
    known = rich_in_solids()
    readings = (9.0, 11.0, 12.5, 14.0)
    rungs = ladder(known, "damson", readings).rungs
    lots = rebalance(known, "damson", readings)
    for brix, rung, exact in zip(readings, rungs, lots.weights, strict=True):
        entries = tuple(
            replace(entry, brix=brix) if entry.key == "damson" else entry
            for entry in known.ingredients
        )
        result = balance(replace(known, ingredients=entries))
        assert rung.grams == tuple(weight.grams for weight in result.mix.weights)
        np.testing.assert_allclose(exact, result.exact_grams, atol=0.2)


def test_where_only_the_unusual_does_it_says_so_and_what_would_spare_it():
    known = rich_in_solids()
    entries = tuple(
        entry if entry.key == "locust_bean_gum" else replace(entry, max_g=entry.grams)
        for entry in known.ingredients
        if entry.key != "water"
    )
    entries += (RecipeIngredient("water", grams=555.0),)
    result = balance(replace(known, ingredients=entries))
    assert result.status == "balanced"
    message = next(words for words in sentences(result.messages) if "than is usual" in words)
    assert "more Locust bean gum than is usual" in message
    assert "Add Maltodextrin, DE 10: at least" in message
    safely = balance_safely(replace(known, ingredients=entries), 0.7)
    assert any("than is usual" in words for words in sentences(safely.messages))


@pytest.mark.parametrize("name", example_names())
def test_an_exact_window_is_met_as_finely_as_it_is_shown_after_rounding(name):
    """The less water a mix has, the more a gram of ice counts: rounding must not miss by that."""
    known = recipe(name)
    assert known.serving is not None
    seen = set()
    for percent in np.arange(60.0, 80.0, 0.25):
        exact = replace(known.serving, frozen_water=Range(percent, percent))
        result = balance(replace(known, serving=exact))
        seen.add(result.status)
        if result.status == "balanced":
            assert abs(result.mix.serving_frozen_water - percent) <= 0.05 + 1e-9
    assert "balanced" in seen


def test_a_least_weight_beyond_the_batch_is_the_conflict():
    known = with_entry(recipe(), "damson", min_g=900.0, max_g=None)
    result = balance(replace(known, batch_g=3.0))
    assert result.status == "impossible"
    assert [(demand.key, demand.side) for demand in result.conflict] == [("damson", "min")]
    assert result.contradiction > 0.0


def test_a_little_in_a_huge_pot_is_put_right_too():
    known = recipe("bay_leaf_ice_cream")
    found = correct(replace(known, batch_g=9e8), {"bay_leaf": 12.0})
    assert found[0].aim == "finish"
    assert all(target.met for target in found[0].mix.targets)


def gin_sorbet():
    """A gin sorbet too strong to be served at -12 °C."""
    gin = RecipeIngredient("gin", grams=200.0, composition={"water": 66.5, "ethanol": 33.5})
    rest = {"water": 476.0, "sucrose": 200.0, "lime_juice": 120.0, "gelatine": 4.0}
    return Recipe(
        "Gin and lime",
        1000.0,
        (*(RecipeIngredient(key, grams=grams) for key, grams in rest.items()), gin),
        {"sweetness": Range(18.0, 22.0), "ethanol": Range(6.0)},
        Serving(-12.0, Range(68.0, 76.0)),
    )


def test_the_nearest_mix_is_one_that_a_kitchen_would_weigh():
    """Not 68 g of gelatine: nothing beyond what is usual of it, or what the recipe has."""
    result = balance(gin_sorbet())
    assert result.status == "impossible"
    grams = {weight.key: weight.grams for weight in result.mix.weights}
    assert grams["gelatine"] <= 10.0  # 1 % is more than any gelatine-set ice has; common practice
    assert grams["gin"] == pytest.approx(200.0, rel=1.0 / 3.0)  # beyond it is another dessert
    start = {weight.key: weight.start for weight in result.mix.weights}
    for warning in warnings_of(result):
        if warning.code == "above_usual":
            assert grams[warning.fields["key"]] <= start[warning.fields["key"]] + 0.1


def test_serving_it_colder_is_a_way_out_and_is_solved():
    way = next(way for way in balance(gin_sorbet()).proposals if way.kind == "serve")
    at_c = way.recipe.serving.temperature_c
    assert at_c < -12.0 and at_c * 2.0 == round(at_c * 2.0)
    assert way.what.code == "serve_at" and way.what.fields["colder"]
    assert sentence(way.what) == f"Serve it colder, at {at_c:g} °C."
    assert balance(way.recipe).status == "balanced"
    grams = dict(zip((e.key for e in way.recipe.ingredients), way.weights, strict=True))
    assert check(way.recipe.with_weights(grams)).status == "meets"


def test_serving_it_warmer_is_a_way_out():
    """Little sugar freezes hard: right a few degrees below zero, not at -18 °C."""
    hard = Recipe(
        "Thin",
        1000.0,
        (RecipeIngredient("water", grams=850.0), RecipeIngredient("sucrose", grams=150.0)),
        {"sucrose": Range(max=16.0)},
        Serving(-18.0, Range(70.0, 76.0)),
    )
    (way,) = [way for way in balance(hard).proposals if way.kind == "serve"]
    assert not way.what.fields["colder"] and -8.0 < way.recipe.serving.temperature_c < -2.0


def test_no_other_temperature_is_proposed_where_none_helps():
    recipe = replace(gin_sorbet(), targets={"sweetness": Range(90.0), "ethanol": Range(6.0)})
    assert not [way for way in balance(recipe).proposals if way.kind == "serve"]
