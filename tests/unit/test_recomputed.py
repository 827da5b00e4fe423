"""Every mix that any command proposes, recomputed from the tables by an implementation of its own."""

from __future__ import annotations

import csv
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain
import plain_freezing

import formulate as fm
from formulate.answers import different_mixes, menu_from_mapping
from formulate.data import example_names
from formulate.freezing import freezing_model
from formulate.freezing.solute_curves import solutes
from formulate.ingredients import COLUMNS, COMPONENTS, Lot, StockLot
from formulate.mix import mixture
from formulate.planning import Serve, WeekMenu, week
from formulate.recipes import Group, Ratio, Step, with_style
from formulate.sweeps import axis_of, explore, sweep_of

# recipes of the tests' own: prices, counts, steps, exact values


def entry(key, grams, **more):
    return fm.RecipeIngredient(key, grams=grams, **more)


def steps(do, **settings):
    return (Step(do, tuple(settings.items())),)


PEAR = fm.Recipe(
    "Pear",
    1500.0,
    (
        entry("pear", 800, price_per_kg=3.0, brix=12.5, steps=steps("sieve"), min_g=700),
        entry("sucrose", 200, price_per_kg=1.2, max_g=400),
        entry("dextrose_monohydrate", 80, price_per_kg=2.0),
        entry("glucose_powder_de30", 90, price_per_kg=2.5),
        entry("locust_bean_gum", 4, price_per_kg=30.0, least_use_g=2.0),
        entry("water", 420, price_per_kg=0.0),
    ),
    targets={
        "total_solids": fm.Range(28.0, 31.0),
        "sweetness": fm.Range(20.0, 24.0),
        "stabiliser": fm.Range(0.2, 0.3),
        "cost_per_kg": fm.Range(max=3.0),
    },
    serving=fm.Serving(-12.0, fm.Range(66.0, 74.0)),
    ratios=(Ratio("sucrose", "glucose_powder_de30", fm.Range(1.0, 4.0)),),
)
COFFEE = fm.Recipe(
    "Bay",
    1000.0,
    (
        entry(
            "bay_leaf",
            6,
            fixed=True,
            steps=steps("infuse", **{"in": "whole_milk", "hot": True}),
        ),
        entry("whole_milk", 570),
        entry("cream_35", 190),
        entry("skim_milk_powder", 40),
        entry("sucrose", 130, steps=()),
        entry("dextrose_monohydrate", 40),
        entry("pear", 60, steps=steps("blend", waste_percent=5.0)),
    ),
    targets={
        "fat": fm.Range(8.0, 8.0),
        "msnf": fm.Range(8.0, 10.0),
        "total_solids": fm.Range(33.0, 37.0),
        "initial_freezing_point_c": fm.Range(-3.6, -2.4),
    },
    groups=(Group("dairy", ("whole_milk", "cream_35"), fm.Range(65.0, 85.0)),),
)
OWN = {"pear": PEAR, "bay": COFFEE}
RECIPES = {name: with_style(fm.load(name)) for name in example_names()} | OWN
NAMES = sorted(RECIPES)


def grams_of(mix):
    return {weight.key: weight.grams for weight in mix.weights}


def keys(recipe):
    return [entry.key for entry in recipe.ingredients]


def faults(recipe, grams, total=True):
    """What a mix does not keep, in words."""
    found = plain.limit_faults(recipe, grams) + plain.target_faults(recipe, grams)
    half = recipe.scale.step_g / 2.0
    off = sum(plain.reach(e) * grams[e.key] for e in recipe.ingredients) - recipe.batch_g
    if abs(off) <= half + 1e-6:  # with a jug or a sieve the batch is as good as made
        found = [fault for fault in found if not fault.startswith("total ")]
    return found if total else [fault for fault in found if not fault.startswith("total ")]


# the second implementation itself, part by part, against the first


@pytest.mark.parametrize("name", NAMES)
def test_what_each_ingredient_brings(name):
    recipe = RECIPES[name]
    mix = mixture(recipe)
    for at, each in enumerate(recipe.ingredients):
        brought = plain.brings(each, recipe.ingredients)
        row = dict(zip(COLUMNS, mix.compositions[at], strict=True))
        assert {key: brought.get(key, 0.0) for key in row} == pytest.approx(row, abs=1e-9)
        assert plain.reach(each) == pytest.approx(mix.reach[at], abs=1e-12)


@pytest.mark.parametrize("celsius", [-0.5, -2.0, -5.0, -12.0, -18.0, -25.0])
def test_what_each_solute_holds(celsius):
    for key, solute in solutes().items():
        held = float(solute.water_held(celsius))
        assert plain_freezing.held(key, celsius) == pytest.approx(held, rel=5e-4), key
    exact = freezing_model().water_held_exact(celsius)[0]
    one = {key: plain_freezing.liquid({key: 1.0}, celsius) for key in COLUMNS}
    assert one == pytest.approx(dict(zip(COLUMNS, exact, strict=True)), rel=1e-3, abs=1e-6)


def test_families_are_the_same():
    named = {c.key: c.family for c in COMPONENTS}
    found = plain.families()
    seen = {key: family for key, family in named.items() if key in found}
    assert seen == found
    assert {key for key, family in named.items() if family in set(found.values())} == set(found)


def test_a_fault_is_seen():
    """One gram more of sugar in place of water, and the plain judge says so."""
    recipe = replace(COFFEE, targets={"sugars": fm.Range(15.0, 15.0)}, groups=())
    grams = grams_of(fm.balance(recipe).mix)
    assert faults(recipe, grams) == []
    moved = {**grams, "sucrose": grams["sucrose"] + 5.0, "whole_milk": grams["whole_milk"] - 5.0}
    assert [fault.split()[0] for fault in faults(recipe, moved)] == ["sugars"]
    assert any("total" in fault for fault in faults(recipe, {**grams, "sucrose": 0.0}))


# every command


@pytest.mark.parametrize("name", NAMES)
def test_balance(name):
    found = fm.balance(RECIPES[name])
    if found.status == "balanced":
        assert faults(RECIPES[name], grams_of(found.mix)) == []
    else:
        assert found.conflict
    for proposal in found.proposals:
        weights = dict(zip(grams_of(found.mix), proposal.weights, strict=True))
        assert faults(with_style(proposal.recipe), weights) == []


def test_the_examples_of_these_tests_are_answered_with_a_mix():
    """So that what follows is not about nothing."""
    balanced = [name for name in NAMES if fm.balance(RECIPES[name]).status == "balanced"]
    assert len(balanced) >= 5, balanced


@pytest.mark.parametrize("name", NAMES)
def test_balance_with_a_wish_that_cannot_be_proposes_what_can(name):
    recipe = RECIPES[name]
    asked = replace(recipe, targets={**recipe.targets, "total_solids": fm.Range(min=55.0)})
    found = fm.balance(asked)
    assert found.status == "impossible"
    for proposal in found.proposals:
        weights = dict(zip(keys(proposal.recipe), proposal.weights, strict=True))
        assert faults(with_style(proposal.recipe), weights) == []


@pytest.mark.parametrize(
    ("name", "key"),
    [("damson_sorbet", "damson"), ("damson_sorbet_ripe", "damson"), ("pear", "pear")],
)
def test_ladder(name, key):
    recipe, readings = RECIPES[name], (10.0, 11.5, 13.0, 14.5)
    found = fm.ladder(recipe, key, readings)
    assert any(rung.grams for rung in found.rungs)
    for rung in found.rungs:
        if rung.grams is not None:
            read = tuple(
                replace(e, brix=rung.brix) if e.key == key else e for e in recipe.ingredients
            )
            grams = dict(zip(keys(recipe), rung.grams, strict=True))
            assert faults(replace(recipe, ingredients=read), grams) == []


@pytest.mark.parametrize(
    ("name", "more"),
    [("damson_sorbet", "sucrose"), ("pear", "sucrose"), ("bay", "sucrose"), ("bay", "cream_35")],
)
def test_correct(name, more):
    """A pot in which one thing is over by a tenth: nothing is taken out, and every target met."""
    recipe = RECIPES[name]
    began = grams_of(fm.balance(recipe).mix)
    pot = {**began, more: 1.1 * began[more]}
    found = fm.correct(recipe, pot)
    assert found
    for way in found:
        whole = {key: pot[key] + add for key, add in zip(keys(recipe), way.additions, strict=True)}
        assert min(way.additions) >= 0.0
        assert grams_of(way.mix) == pytest.approx(whole, abs=1e-6)
        if way.aim != "nearest":
            free = tuple(replace(e, max_g=None, fixed=False) for e in recipe.ingredients)
            pot_as_it_is = replace(recipe, ingredients=free)
            assert faults(pot_as_it_is, whole, total=False) == []


@pytest.mark.parametrize("name", NAMES)
def test_alternatives(name):
    """What is left out has no least any more; what comes in its place is taken at its price."""
    found = different_mixes(RECIPES[name], 3)
    for each in found:
        recipe, made = RECIPES[name], grams_of(each.mix)
        out = [e for e in recipe.ingredients if e.key not in made]
        price = out[0].price_per_kg if out else None
        new = tuple(entry(key, None, price_per_kg=price) for key in made if key not in keys(recipe))
        kept = tuple(e if e.key in made else replace(e, min_g=None) for e in recipe.ingredients)
        asked = replace(recipe, ingredients=(*kept, *new))
        grams = dict.fromkeys(keys(recipe), 0.0) | made
        assert faults(asked, grams) == []
        assert {line.name for line in each.mix.weights if line.grams > 0.0} == set(each.used)


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("damson_sorbet", "dextrose_monohydrate"),
        ("bay_leaf_ice_cream", "locust_bean_gum"),
        ("pear", "glucose_powder_de30"),
        ("bay", "skim_milk_powder"),
    ],
)
def test_without(name, key):
    recipe = RECIPES[name]
    if name == "pear":
        recipe = replace(recipe, ratios=())
    found = fm.without(recipe, key)
    grams = {key: 0.0, **grams_of(found.mix)}
    assert grams[key] == 0.0
    if found.status == "balanced":
        assert faults(recipe, grams) == []
    else:
        assert found.conflict


@pytest.mark.parametrize(
    ("name", "first", "second"),
    [
        ("damson_sorbet", "change", "sweetness"),
        ("pear", "change", "cost_per_kg"),
        ("bay_leaf_ice_cream", "hardness", "fat"),
        ("bay", "change", "sugars"),
    ],
)
def test_tradeoff(name, first, second):
    found = fm.tradeoff(RECIPES[name], first, second)
    assert found is not None and found.corners
    for corner in found.corners:
        assert faults(RECIPES[name], grams_of(corner.mix)) == []


def test_base():
    tables = {
        "base": [
            {"key": "whole_milk", "grams": 600},
            {"key": "cream_35", "grams": 200},
            {"key": "skim_milk_powder", "grams": 40},
            {"key": "sucrose", "grams": 150},
        ],
        "mix": [
            {
                "name": name,
                "batch_g": 1000,
                "base_g": 700,
                "ingredient": [
                    {"key": fruit, "grams": 220, "steps": [{"do": "sieve"}], "brix": brix},
                    {"key": "sucrose", "grams": 40},
                    {"key": "water"},
                ],
                "target": {"total_solids": {"min": 25, "max": 34}, "fat": {"min": 5, "max": 8}},
                "serving": {"temperature_c": -12, "frozen_water": {"min": 62, "max": 80}},
            }
            for name, fruit, brix in (("Pear", "pear", 12.0), ("Damson", "damson", 13.0))
        ],
    }
    menu = menu_from_mapping(tables, "menu")
    found = fm.base(menu)
    assert found.status == "balanced"
    made = sum(found.base)
    for flavour, mix in zip(menu.flavours, found.mixes, strict=True):
        grams = dict.fromkeys(keys(flavour.recipe), 0.0)
        for key, weight in zip(found.keys, found.base, strict=True):
            grams[key] += weight * flavour.base_g / made
        for line in mix.weights[1:]:
            grams[line.key] += line.grams
        assert faults(flavour.recipe, grams) == []


def test_explore(tmp_path):
    """Rows as they are written, each judged with its own reading and bound."""
    recipe = RECIPES["damson_sorbet"]
    asked = ("damson.brix=10:14:1", "target.sweetness.max=18:20:1")
    sweep = sweep_of(recipe, tuple(axis_of(words) for words in asked))
    explore(sweep, tmp_path / "mixes.csv")
    with (tmp_path / "mixes.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    balanced = [row for row in rows if row["status"] == "balanced"]
    assert len(rows) == 15 and len(balanced) >= 5
    for row in balanced:
        brix, most = float(row["damson.brix"]), float(row["target.sweetness.max"])
        read = tuple(replace(e, brix=brix) if e.key == "damson" else e for e in recipe.ingredients)
        wish = {**recipe.targets, "sweetness": fm.Range(recipe.targets["sweetness"].min, most)}
        grams = {key: float(row[f"{key}.grams"]) for key in keys(recipe)}
        asked_for = replace(recipe, ingredients=read, targets=wish)
        assert faults(asked_for, grams) == []


def test_week():
    """Each making by its own lots: their readings, blended if there are two."""
    monday = date(2026, 11, 23)
    serves = tuple(
        Serve(monday + timedelta(days), name, grams)
        for days, name, grams in (
            (1, "damson_sorbet", 1500.0),
            (3, "pear", 1200.0),
            (5, "bay", 900.0),
        )
    )
    lots = (
        StockLot(Lot("damson", name="crate", grams=4000.0, reading=12.0)),
        StockLot(Lot("pear", name="box", grams=4000.0, reading=13.0)),
    )
    menu = WeekMenu("Week", serves, 1500.0, 0.0, 2, False, lots)
    found = week(menu, {s.recipe: RECIPES[s.recipe] for s in serves}, lots)
    makings = [making for making in found.makings if making.is_possible]
    assert len(makings) >= 3
    for making in makings:
        recipe = making.result.mixture.recipe
        assert faults(recipe, grams_of(making.result.mix)) == []
