"""What cannot be asked is refused however it is made; what contradicts itself is a proved result."""

from __future__ import annotations

import copy
import json
import math
import pickle
import sys
import tomllib
from dataclasses import FrozenInstanceError, replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain

from formulate.answers import balance, check, correct, ladder, menu_from_mapping, shared_base
from formulate.answers.counting import count_conflict
from formulate.cli.commands import main
from formulate.data import example_bytes, example_names
from formulate.errors import InputError
from formulate.frozen import FrozenMapping
from formulate.ingredients import Lot, StockLot, ingredient_table, properties
from formulate.mix import mixture, programme
from formulate.planning import Serve, WeekMenu, parse_menu
from formulate.recipes import (
    ROLES,
    Balance,
    Counts,
    Exclude,
    Group,
    Range,
    Ratio,
    Recipe,
    RecipeIngredient,
    Scale,
    Serving,
    Step,
    parse,
    to_toml,
    with_style,
)
from formulate.report.mixes import result_sentences
from formulate.solver.certificates import contradiction_g

PEAR = RecipeIngredient("pear", grams=600)
SUGAR = RecipeIngredient("sucrose", grams=150)
WATER = RecipeIngredient("water", grams=250)
SORBET = Recipe("Pear", 1000, (PEAR, SUGAR, WATER))
NAN, INF = float("nan"), float("inf")


def sorbet(*entries, **more):
    return Recipe("Pear", more.pop("batch_g", 1000), entries, **more)


# every rule, made in Python: what, and the field, the value and a word of the sentence


@pytest.mark.parametrize(
    ("make", "field", "value", "words"),
    [
        (lambda: RecipeIngredient("pear", min_g=600, max_g=400), "min_g", 600.0, "above max_g 400"),
        (lambda: RecipeIngredient("pear", grams=NAN), "grams", NAN, "not a usable number"),
        (lambda: RecipeIngredient("pear", stock_g=INF), "stock_g", INF, "not a usable number"),
        (lambda: RecipeIngredient("pear", grams=10**400), "grams", 10**400, "not a usable number"),
        (lambda: RecipeIngredient("pear", min_g=-1), "min_g", -1.0, "cannot be below zero"),
        (lambda: RecipeIngredient("pear", grams="600"), "grams", "600", "without a unit"),
        (lambda: RecipeIngredient("pear", grams=True), "grams", True, "not a number"),
        (lambda: RecipeIngredient(""), "key", "", "1 to 200"),
        (lambda: RecipeIngredient("pear", fixed=True), "grams", None, "fixed but has no grams"),
        (
            lambda: RecipeIngredient("pear", grams=500, fixed=True, max_g=400),
            "grams",
            500.0,
            "fixed at 500 g, above its max_g 400",
        ),
        (
            lambda: RecipeIngredient("pear", grams=100, fixed=True, min_g=400),
            "grams",
            100.0,
            "below its min_g 400",
        ),
        (lambda: RecipeIngredient("pear", fixed="yes", grams=1), "fixed", "yes", "true or false"),
        (lambda: RecipeIngredient("pear", brix=90), "brix", 90.0, "85"),
        (lambda: RecipeIngredient("pear", brix_plus_minus=0), "brix_plus_minus", 0.0, "above zero"),
        (
            lambda: RecipeIngredient("pear", brix=12, lot=Lot("pear", reading=13.0)),
            "brix",
            12.0,
            "the lot's own reading",
        ),
        (lambda: RecipeIngredient("pear", role="fruit"), "role", "fruit", "not a role"),
        (
            lambda: RecipeIngredient("house", composition={"water": 60, "sugar": 40}),
            "sugar",
            "sugar",
            "not a composition key",
        ),
        (
            lambda: RecipeIngredient("house", composition={"water": 60}),
            "composition",
            60.0,
            "adds up to 60.00",
        ),
        (
            lambda: RecipeIngredient("house", composition={"water": NAN}),
            "water",
            NAN,
            "not a usable number",
        ),
        (lambda: RecipeIngredient("house", composition=3), "composition", 3, "table"),
        (lambda: Range(36, 35), "min", 36.0, "min 36 is above max 35"),
        (lambda: Range(max=NAN), "max", NAN, "not a usable number"),
        (lambda: Serving(5), "temperature_c", 5.0, "from -30 to below 0"),
        (lambda: Serving(frozen_water=Range(70, 140)), "frozen_water", 140.0, "below 100"),
        (lambda: Serving(frozen_water=(70, 76)), "frozen_water", (70, 76), "not a range"),
        (lambda: Serving(kind="pudding"), "kind", "pudding", "not a kind"),
        (lambda: Serving(overrun_percent=400), "overrun_percent", 400.0, "0 to 300"),
        (lambda: Serving(swing_c=-1), "swing_c", -1.0, "from 0 to 20"),
        (lambda: Scale(step_g=0), "step_g", 0.0, "above zero"),
        (lambda: Ratio("pear", "pear", Range(1)), "to", "pear", "with itself"),
        (lambda: Ratio("pear", "water", Range(-1)), "value", -1.0, "below zero"),
        (lambda: Ratio("pear", "water", None), "value", None, "not a range"),
        (lambda: Group("fruit", (), Range(1)), "keys", (), "is empty"),
        (lambda: Group("fruit", ("pear", "pear"), Range(1)), "keys", "pear", "given twice"),
        (lambda: Group("fruit", "pear", Range(1)), "keys", "pear", "not several"),
        (lambda: Counts(most_changes=-1), "most_changes", -1, "whole number from 0"),
        (lambda: Counts(most_changes=1.5), "most_changes", 1.5, "whole number"),
        (lambda: Exclude(animal=1), "animal", 1, "true or false"),
        (lambda: Balance(margin=-1), "margin", -1.0, "from 0"),
        (lambda: Balance(objective="taste"), "objective", "taste", "not a choice"),
        (lambda: Step("stew"), "do", "stew", "not a step"),
        (lambda: Step("sieve", (("waste_percent", 120),)), "waste_percent", 120.0, "0 to 95"),
        (lambda: Lot("pear", reading=-1), "reading", -1.0, "above 0"),
        (lambda: Lot("pear", acidity=60.0), "acidity", 60.0, "from 0 to 50"),
        (lambda: Lot("pear", ph=20), "ph", 20.0, "from 0 to 14"),
        (lambda: StockLot(Lot("pear"), -0.1), "plus_minus", -0.1, "below zero"),
        (lambda: sorbet(), "ingredient", (), "has no ingredients"),
        (lambda: sorbet(PEAR, SUGAR, PEAR), "ingredient", "pear", "ingredient 3 (pear)"),
        (lambda: sorbet(PEAR, batch_g=0), "batch_g", 0.0, "above zero"),
        (lambda: sorbet(PEAR, batch_g=0.5), "batch_g", 0.5, "at least 1 g"),
        (lambda: sorbet(PEAR, batch_g=NAN), "batch_g", NAN, "not a usable number"),
        (lambda: replace(SORBET, name=" "), "name", " ", "1 to 200"),
        (lambda: sorbet("pear"), "ingredients", "pear", "RecipeIngredient"),
        (
            lambda: sorbet(PEAR, targets={"sugar": Range(1)}),
            "sugar",
            "sugar",
            "not something a mix is judged by",
        ),
        (lambda: sorbet(PEAR, targets={"sugars": 20}), "sugars", 20, "not a range"),
        (lambda: sorbet(PEAR, targets={"sugars": Range(max=120)}), "sugars", 120.0, "0 to 100"),
        (
            lambda: sorbet(PEAR, targets={"initial_freezing_point_c": Range(max=2)}),
            "initial_freezing_point_c",
            2.0,
            "from -30 to below 0",
        ),
        (
            lambda: sorbet(PEAR, groups=(Group("all", ("peach",), Range(1)),)),
            "keys",
            "peach",
            "group 1, keys",
        ),
        (
            lambda: sorbet(PEAR, ratios=(Ratio("pear", "peach", Range(1)),)),
            "to",
            "peach",
            "ratio 1, to",
        ),
        (lambda: sorbet(PEAR, serving=-14), "serving", -14, "Serving"),
        (
            lambda: Serve(date(2026, 11, 24), "pear", 0.0),
            "grams",
            0.0,
            "above zero",
        ),
        (
            lambda: WeekMenu(
                "week", (Serve(date(2026, 11, 24), "x", 1.0),), 100.0, 200.0, 0, False, ()
            ),
            "left_in_machine_g",
            200.0,
            "below the churn",
        ),
        (lambda: WeekMenu("week", (), 100.0, 0.0, 0, False, ()), "serve", None, "must have 1"),
    ],
)
def test_what_cannot_be_is_refused_when_it_is_made(make, field, value, words):
    with pytest.raises(InputError) as refused:
        make()
    error = refused.value
    assert words in str(error)
    assert error.field == field
    assert error.value == value or (isinstance(value, float) and math.isnan(value))
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.field, again.allowed) == (str(error), error.field, error.allowed)


HEAD = 'name = "Pear"\nbatch_g = 1000\n'
ROWS = "".join(
    f'[[ingredient]]\nkey = "{entry.key}"\ngrams = {entry.grams}\n'
    for entry in (PEAR, SUGAR, WATER)
)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (
            HEAD + '[[ingredient]]\nkey = "pear"\nmin_g = 600\nmax_g = 400',
            "ingredient 1 (pear): min_g",
        ),
        (
            HEAD + '[[ingredient]]\nkey = "pear"\ngrams = 1\nfixed = true\nmin_g = 4',
            "ingredient 1 (pear): is fixed at 1 g, below its min_g 4",
        ),
        (
            HEAD + '[[ingredient]]\nkey = "pear"\nrole = "fruit"',
            'ingredient 1 (pear), role: "fruit"',
        ),
        (HEAD + ROWS + "[balance]\nmargin = -1", "balance, margin: is -1"),
        (HEAD + ROWS + '[balance]\nobjective = "taste"', 'balance, objective: "taste"'),
        (HEAD + ROWS + "[balance]\nmargins = 1", "balance, margins: is not a field"),
        (HEAD + ROWS + "[serving]\nswing_c = -2", "serving, swing_c: is -2"),
        (HEAD + 'style = ""\n' + ROWS, "style: must be a text"),
        (
            HEAD + ROWS + '[[group]]\nname = "f"\nkeys = ["pear", "pear"]\npercent = 50',
            'group 1, keys: "pear" is given twice',
        ),
        (
            HEAD + ROWS + '[[ratio]]\nof = "pear"\nto = "pear"\nvalue = 1',
            "ratio 1: compares pear with itself",
        ),
        (HEAD + ROWS + "[target]\nsugars = { min = 3, max = 2 }", "target, sugars: min 3 is above"),
        (HEAD + ROWS + "[limits]\nmost_changes = -1", "limits, most_changes: is -1"),
        (HEAD + ROWS + "[scale]\nstep_g = 0", "scale, step_g: is 0"),
    ],
)
def test_a_file_refuses_the_same_and_says_where(text, place):
    with pytest.raises(InputError) as refused:
        parse(text.encode(), "pear.toml")
    assert f"pear.toml, {place}" in str(refused.value)


# read-only, and still equal, hashed and pickled


def test_mappings_of_a_recipe_cannot_be_changed():
    given = {"sugars": Range(max=27)}
    recipe = replace(SORBET, targets=given)
    given["fat"] = Range(max=1)
    assert dict(recipe.targets) == {"sugars": Range(max=27)}
    with pytest.raises(TypeError):
        recipe.targets["fat"] = Range(max=1)
    with pytest.raises(AttributeError):
        recipe.targets._values = {}
    with pytest.raises(FrozenInstanceError):
        recipe.batch_g = 3.0
    own = RecipeIngredient("house", composition={"water": 60, "sucrose": 40})
    with pytest.raises(TypeError):
        own.composition["water"] = 0.0


def test_a_recipe_is_equal_hashed_copied_and_pickled():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    same = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    assert recipe == same and hash(recipe) == hash(same)
    assert {recipe: 1}[same] == 1
    for again in (pickle.loads(pickle.dumps(recipe)), copy.deepcopy(recipe)):
        assert again == recipe and hash(again) == hash(recipe)
        assert isinstance(again.targets, FrozenMapping)


def test_numbers_of_numpy_and_lists_are_kept_as_plain_ones():
    entry = RecipeIngredient("pear", grams=np.int64(600), min_g=np.float32(500.0))
    assert (type(entry.grams), entry.grams, entry.min_g) == (float, 600.0, 500.0)
    assert Recipe("x", np.float64(5), [entry]).ingredients == (entry,)


@pytest.mark.parametrize("name", example_names())
def test_examples_go_into_a_file_and_back(name):
    recipe = parse(example_bytes(name), name)
    assert parse(to_toml(recipe).encode(), name) == recipe


def test_what_is_new_goes_into_a_file_and_back():
    recipe = Recipe(
        "Pear",
        1000,
        (replace(PEAR, role="character"), replace(SUGAR, role="sweetener"), WATER),
        serving=Serving(-12, swing_c=2.5, overrun_percent=20),
        balance=Balance(0.5, "cost"),
        style="fruit_sorbet",
    )
    text = to_toml(recipe)
    assert tomllib.loads(text)["balance"] == {"margin": 0.5, "objective": "cost"}
    assert parse(text.encode(), "pear") == with_style(recipe)
    plain_one = parse((HEAD + ROWS).encode(), "pear")
    assert (plain_one.balance, plain_one.style) == (Balance(1.0, None), "")
    assert "balance" not in to_toml(plain_one)


def test_every_role_may_be_said():
    for role in ROLES:
        assert replace(PEAR, role=role).role == role


# every least against every most


@pytest.mark.parametrize(
    ("fields", "pair"),
    [
        ({"min_g": 900, "stock_g": 800}, {("min", "min_g", 900.0), ("max", "stock_g", 800.0)}),
        (
            {"grams": 900, "fixed": True, "stock_g": 800},
            {("min", "fixed", 900.0), ("max", "stock_g", 800.0)},
        ),
        (
            {"least_use_g": 900, "stock_g": 800},
            {("min", "least_use_g", 900.0), ("max", "stock_g", 800.0)},
        ),
        (
            {"least_use_g": 900, "max_g": 800},
            {("min", "least_use_g", 900.0), ("max", "max_g", 800.0)},
        ),
        (  # 20 % are trimmed before the scale: 1,000 g bought are 800 g weighed
            {
                "min_g": 900,
                "stock_g": 1000,
                "steps": (Step("peel and stone", (("waste_percent", 20),)),),
            },
            {("min", "min_g", 900.0), ("max", "stock_g", 800.0)},
        ),
    ],
)
def test_two_limits_that_contradict_each_other_are_named_and_proved(fields, pair):
    recipe = sorbet(RecipeIngredient("pear", **fields), SUGAR, WATER)
    result = balance(recipe)
    assert result.status == "impossible"
    assert {(each.side, each.field, each.bound) for each in result.conflict} == pair
    assert {each.key for each in result.conflict} == {"pear"}
    # The proof: the least less the most is above 0, whatever the weights.
    assert result.contradiction == pytest.approx(100.0)
    for proposal in result.proposals:
        assert balance(proposal.recipe).status == "balanced"
    assert result.proposals


def test_the_other_recipe_is_no_longer_short_of_the_batch():
    """400 g fixed and a stock of 500 g are 900 g of 1,000."""
    recipe = sorbet(
        RecipeIngredient("pear", grams=400, fixed=True),
        RecipeIngredient("sucrose", stock_g=500),
        RecipeIngredient("water", max_g=0),
    )
    result = balance(recipe)
    assert result.status == "impossible"
    assert {(each.key, each.field) for each in result.conflict} == {
        ("pear", "fixed"),
        ("sucrose", "stock_g"),
        ("water", "max_g"),
    }
    assert result.contradiction > 0.0


def test_limits_above_the_batch_and_a_group_that_its_members_cannot_reach():
    above = balance(sorbet(replace(PEAR, min_g=700), replace(SUGAR, min_g=400), WATER))
    assert above.status == "impossible"
    assert {each.field for each in above.conflict} == {"min_g"}
    group = Group("fruit", ("pear",), Range(min=50))
    short = balance(sorbet(replace(PEAR, max_g=400), SUGAR, WATER, groups=(group,)))
    assert {(each.key, each.field) for each in short.conflict} == {
        ("pear", "max_g"),
        ("group fruit", ""),
    }


def test_a_stock_of_just_what_is_asked_is_enough():
    waste = (Step("peel and stone", (("waste_percent", 30),)),)
    recipe = sorbet(RecipeIngredient("pear", min_g=700, stock_g=1000, steps=waste), SUGAR, WATER)
    assert balance(recipe).status == "balanced"


def test_none_asked_for_is_no_contradiction_of_a_least_use():
    for none in ({"max_g": 0}, {"grams": 0, "fixed": True}):
        result = balance(sorbet(PEAR, RecipeIngredient("sucrose", least_use_g=20, **none), WATER))
        assert result.status == "balanced"
        assert result.mix.weights[1].grams == 0.0


CROSSED = (
    HEAD
    + '[[ingredient]]\nkey = "pear"\ngrams = 600\nmin_g = 900\nstock_g = 800\n'
    + "".join(
        f'[[ingredient]]\nkey = "{entry.key}"\ngrams = {entry.grams}\n' for entry in (SUGAR, WATER)
    )
)


@pytest.mark.parametrize(
    "command",
    [
        ["balance", "FILE"],
        ["ladder", "FILE", "--ingredient", "pear", "--brix", "10:12:1"],
        ["correct", "FILE", "--in-pot", "sucrose=100"],
        ["tradeoff", "FILE", "change", "sweetness"],
        ["ranges", "FILE"],
        ["alternatives", "FILE"],
        ["without", "FILE", "water"],
    ],
    ids=lambda command: command[0],
)
def test_every_command_that_balances_ends_with_3(command, tmp_path, capsys):
    path = tmp_path / "crossed.toml"
    path.write_text(CROSSED, encoding="utf-8")
    code = main([str(path) if word == "FILE" else word for word in command])
    text = capsys.readouterr().out
    assert code == 3
    if command[0] not in ("ladder", "correct"):
        assert "at least 900 g Pears and at most 800 g Pears, which is in stock" in text


def test_the_conflict_is_in_the_data_with_its_fields(tmp_path, capsys):
    path = tmp_path / "crossed.toml"
    path.write_text(CROSSED, encoding="utf-8")
    assert main(["balance", str(path), "--json"]) == 3
    data = json.loads(capsys.readouterr().out)
    assert [(each["key"], each["field"], each["bound"]) for each in data["conflict"]] == [
        ("pear", "min_g", 900.0),
        ("pear", "stock_g", 800.0),
    ]
    assert data["mix"][0]["before"] == 600.0


def test_a_pot_with_more_than_the_recipe_takes_is_not_finished():
    recipe = sorbet(replace(PEAR, max_g=500), SUGAR, WATER, targets={"fat": Range(max=5)})
    aims = [each.aim for each in correct(recipe, {"pear": 600.0})]
    assert "finish" not in aims


# unknown weights, fixed weights, and what was written


PARTIAL = sorbet(
    RecipeIngredient("pear", grams=400),
    RecipeIngredient("sucrose"),
    RecipeIngredient("water"),
    targets={"sugars": Range(25, 25)},
)


def test_a_weight_that_is_left_out_is_unknown():
    mix = mixture(PARTIAL)
    assert mix.known.tolist() == [True, False, False]
    assert mix.start.tolist() == [400.0, 0.0, 0.0]
    assert mix.present is None and mix.scaled_from is None
    result = balance(PARTIAL)
    assert [weight.before for weight in result.mix.weights] == [400.0, None, None]
    assert result.present is None
    assert "scaled_to_batch" not in {message.code for message in result.messages}
    # What has a weight keeps it where it can: the others are found around it.
    assert result.mix.weights[0].grams == pytest.approx(400.0)
    assert not plain.target_faults(PARTIAL, {w.key: w.grams for w in result.mix.weights})


def test_what_is_found_for_an_unknown_weight_is_no_change():
    counted = replace(PARTIAL, counts=Counts(most_changes=0))
    assert balance(counted).status == "balanced"


def test_check_of_a_partial_recipe_names_what_is_missing():
    with pytest.raises(InputError, match="no weight of sucrose, water") as refused:
        check(PARTIAL)
    assert refused.value.value == ("sucrose", "water")


def test_all_but_what_is_fixed_is_scaled_and_said_once():
    recipe = sorbet(replace(PEAR, fixed=True), SUGAR, WATER, batch_g=2000)
    result = check(recipe)
    # 600 g stay; 150 and 250 g make the other 1,400 g.
    assert [weight.grams for weight in result.mix.weights] == pytest.approx([600.0, 525.0, 875.0])
    assert [weight.before for weight in result.mix.weights] == [600.0, 150.0, 250.0]
    said = [each for each in balance(recipe).messages if each.code == "scaled_to_batch"]
    assert said == list(result.messages) and len(said) == 1
    words = "The weights add up to 1,000 g and were scaled to the batch of 2,000 g, all but"
    assert sum(line.startswith(words) for line in result_sentences(result)) == 1
    assert balance(recipe).mix.weights[0].grams == 600.0


def test_weights_that_make_the_batch_are_not_said_to_be_scaled():
    assert check(SORBET).messages == ()


# counts


def test_a_conflict_of_counts_names_the_target_and_nothing_that_is_not_needed():
    recipe = sorbet(
        PEAR,
        SUGAR,
        WATER,
        RecipeIngredient("lemon_juice", grams=0.0, least_use_g=10),
        targets={"sugars": Range(min=25), "fat": Range(max=30)},
        counts=Counts(most_changes=1),
    )
    result = balance(recipe)
    assert result.status == "impossible"
    kept = plain.as_kept(result.conflict)
    assert kept == {
        ("target", "sugars", "min", ""),
        ("count", "most_changes", "max", "most_changes"),
    }
    assert not plain.is_feasible(recipe, kept)
    assert all(plain.is_feasible(recipe, kept - {demand}) for demand in kept)
    mix = mixture(recipe)
    assert count_conflict(mix, programme(mix)) == result.conflict


# the proof of limits is arithmetic of its own


def test_the_proof_of_crossed_limits_is_one_row_that_cannot_hold():
    recipe = sorbet(RecipeIngredient("pear", min_g=900, stock_g=800), SUGAR, WATER)
    mix = mixture(recipe)
    rows = programme(mix)
    row = next(row for row in rows.rows if not row.coefficients.any())
    assert (row.lower, row.upper) == (100.0, np.inf)
    assert np.all(rows.lower <= rows.upper)
    from formulate.solver.certificates import Certificate

    multipliers = np.array([float(each is row) for each in rows.rows])
    assert contradiction_g(rows, Certificate(multipliers, 0.0)) == 100.0


# one base for several mixes


MENU = """
name = "Creams"
[[base]]
key = "whole_milk"
grams = 620
[[base]]
key = "cream_35"
grams = 200
fixed = true
[[base]]
key = "sucrose"
grams = 150
max_g = 180
[[base]]
key = "peppermint"
grams = 30
fixed = true
steps = [{ do = "infuse", in = "whole_milk" }]
[[mix]]
name = "Pear"
batch_g = 1000
base_g = 700
[[mix.ingredient]]
key = "pear"
grams = 250
steps = [{ do = "sieve" }]
[[mix.ingredient]]
key = "sucrose"
grams = 40
[[mix.ingredient]]
key = "water"
grams = 10
[[mix.group]]
name = "fruit"
keys = ["pear"]
percent = { min = 22 }
[[mix.ratio]]
of = "sucrose"
to = "whole_milk"
value = { max = 0.33 }
[mix.target]
total_solids = { min = 28, max = 38 }
[[mix]]
name = "Mango"
batch_g = 1000
base_g = 750
[[mix.ingredient]]
key = "mango"
grams = 220
fixed = true
[[mix.ingredient]]
key = "dextrose_monohydrate"
[[mix.ingredient]]
key = "water"
[mix.target]
sweetness = { min = 15, max = 20 }
"""


def base_of(text):
    return shared_base(menu_from_mapping(tomllib.loads(text), "menu"))


def test_a_base_keeps_fixed_weights_groups_ratios_and_steps():
    found = base_of(MENU)
    assert found.status == "balanced" and found.flavours == ("Pear", "Mango")
    base = dict(zip(found.keys, found.base, strict=True))
    menu = menu_from_mapping(tomllib.loads(MENU), "menu")
    whole = mixture(menu.flavours[0].recipe)
    reach = dict(zip(whole.keys, whole.reach, strict=True))
    written = sum(entry.grams * reach[entry.key] for entry in menu.base)
    grown = 1450.0 / written  # the base as written makes so much, and 700 + 750 g are wanted
    assert base["cream_35"] == pytest.approx(200.0 * grown, abs=1e-3)
    assert base["peppermint"] == pytest.approx(30.0 * grown, abs=1e-3)
    assert base["sucrose"] <= 180.0 * grown + 1e-3
    assert sum(grams * reach[key] for key, grams in base.items()) == pytest.approx(1450.0, abs=3.0)
    pear, mango = ({w.key: w.grams for w in mix.weights} for mix in found.mixes)
    assert mango["mango"] == 220.0
    assert all(grams >= 0.0 and math.copysign(1.0, grams) > 0.0 for grams in pear.values())
    made = sum(grams * reach[key] for key, grams in base.items())
    sugar = base["sucrose"] * 700.0 / made + pear["sucrose"]
    assert sugar / (base["whole_milk"] * 700.0 / made) <= 0.33 + 1e-6
    targets = {target.key: target for target in found.mixes[0].targets}
    assert targets["group fruit"].value >= 22.0 - 1e-6
    assert all(mix.all_met for mix in found.mixes)


def test_the_output_of_a_base_names_its_mixes_and_shows_their_targets(tmp_path, capsys):
    path = tmp_path / "menu.toml"
    path.write_text(MENU, encoding="utf-8")
    assert main(["base", str(path)]) == 0
    text = capsys.readouterr().out
    assert "\nPear: " in text and "\nMango: " in text
    assert "Total solids" in text and "All fruit" in text and "met" in text


def test_why_no_base_serves_all_is_said_with_the_least_that_is_needed(tmp_path, capsys):
    sweet = MENU.replace("sweetness = { min = 15, max = 20 }", "sweetness = { max = 3 }")
    found = base_of(sweet)
    assert found.status == "impossible"
    assert ("Mango", "sweetness") in {(each.mix, each.demand.key) for each in found.conflict}
    assert "Pear" not in {each.mix for each in found.conflict}
    path = tmp_path / "menu.toml"
    path.write_text(sweet, encoding="utf-8")
    assert main(["base", str(path)]) == 3
    assert "- Mango: sweetness at most 3" in capsys.readouterr().out


def test_limits_of_a_base_that_contradict_each_other_are_named():
    short = MENU.replace(
        'key = "sucrose"\ngrams = 150\n',
        'key = "sucrose"\ngrams = 150\nmin_g = 140\nstock_g = 90\n',
        1,
    )
    found = base_of(short)
    assert found.status == "impossible"
    assert {(each.demand.key, each.demand.field) for each in found.conflict} == {
        ("sucrose", "min_g"),
        ("sucrose", "stock_g"),
    }


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("base_g = 750", "base_g = 1750", "mix 2, base_g: 1750 g is more than the batch"),
        ("base_g = 750", "base_g = 0", "mix 2, base_g: is 0"),
        ("base_g = 750", "", "mix 2, base_g: is missing"),
        ('name = "Mango"', 'name = "Pear"', 'mix 2: the name "Pear" is given twice'),
        ('keys = ["pear"]', 'keys = ["plum"]', '"plum" is not an ingredient'),
        (
            'key = "water"\ngrams = 10\n',
            'key = "whole_milk"\nbrix = 3\n',
            "mix 1, ingredient (whole_milk): is in the base too",
        ),
        (
            "[mix.target]\nsweet",
            "[mix.limits]\nmost_changes = 1\n[mix.target]\nsweet",
            "limits: are not kept",
        ),
    ],
)
def test_a_menu_of_a_base_that_cannot_be(old, new, words):
    assert old in MENU
    with pytest.raises(InputError) as refused:
        menu_from_mapping(tomllib.loads(MENU.replace(old, new, 1)), "menu")
    assert words in str(refused.value)


def test_a_week_menu_made_in_python_is_the_one_of_the_file():
    text = (
        'name = "Week"\nchurn_g = 4000\n'
        '[[serve]]\nday = 2026-11-24\nrecipe = "damson_sorbet"\ngrams = 3000\n'
    )
    serve = Serve(date(2026, 11, 24), "damson_sorbet", 3000)
    assert parse_menu(text.encode(), "week") == WeekMenu("Week", [serve], 4000, 0, 0, False, [])


def test_ladder_rungs_keep_limits_and_stock():
    recipe = sorbet(
        replace(PEAR, stock_g=620),
        replace(SUGAR, max_g=200),
        WATER,
        targets={"sugars": Range(18, 20)},
    )
    rungs = ladder(recipe, "pear", (9.0, 11.0, 13.0)).rungs
    for rung in rungs:
        assert rung.grams is not None
        grams = dict(zip(("pear", "sucrose", "water"), rung.grams, strict=True))
        assert plain.limit_faults(recipe, grams) == []


def test_plain_values_are_those_of_the_package():
    """The tests' own sums over the CSV table against the package's properties, of every ingredient."""
    for key, about in ingredient_table().items():
        entry = RecipeIngredient(key)
        for name in ("total_solids", "sugars", "sweetness", "fat", "msnf", "sucrose"):
            value = float(about.composition @ properties()[name].weights)
            assert plain.value_of(entry, name) == pytest.approx(value, abs=1e-9), (key, name)


def test_a_counted_mix_may_weigh_more_than_the_batch_of_what_a_jug_keeps_some_of():
    """A quarter stays in the jug: 1,000 g of mix are 1,333.3 g of strawberries, alone."""
    entry = RecipeIngredient("strawberry", steps=(Step("blend", (("waste_percent", 25),)),))
    recipe = sorbet(
        entry, WATER, counts=Counts(most_ingredients=1), targets={"sugars": Range(min=3)}
    )
    weights = {weight.key: weight.grams for weight in balance(recipe).mix.weights}
    assert weights["strawberry"] == pytest.approx(1000.0 / 0.75, abs=0.5)
    assert plain.limit_faults(recipe, weights) == []
