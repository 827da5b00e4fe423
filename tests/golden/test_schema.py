"""The schemas describe what is read and answered; the check is ``jsonschema``, a general library."""

from __future__ import annotations

import json
import tomllib
from dataclasses import fields
from datetime import date

import pytest
from jsonschema import Draft202012Validator

import formulate as fm
from formulate.cli.commands import main
from formulate.data.examples import example_bytes, example_names, menu_bytes, menu_names
from formulate.errors import InputError
from formulate.recipes import RecipeIngredient, to_toml
from formulate.recipes.usual_styles import styles
from formulate.report import SCHEMAS, schema

SORBET = example_bytes("damson_sorbet").decode()
BASE = """
[[base]]
key = "whole_milk"
grams = 600
[[mix]]
name = "Pear"
batch_g = 1000
base_g = 800
[[mix.ingredient]]
key = "pear"
grams = 200
[mix.target]
sweetness = { min = 12, max = 18 }
"""
WHOLE = """
name = "All fields"
batch_g = 1000
style = "fruit_sorbet"
[[ingredient]]
key = "damson"
grams = 500
min_g = 400
max_g = 600
role = "character"
lot = { supplier = "The orchard", date = 2026-09-01, reading = 12.0 }
steps = [ { do = "peel and stone", waste_percent = 12 }, { do = "sieve" } ]
[[ingredient]]
key = "syrup"
composition = { water = 40, sucrose = 60 }
price_per_kg = 1.2
[target]
sweetness = { min = 17 }
fat = 0
milk_fat = {}
[serving]
temperature_c = -12
frozen_water = { max = 76 }
kind = "sorbet"
swing_c = 1.5
[scale]
step_g = 5
[[ratio]]
of = "syrup"
to = "damson"
value = { max = 2 }
[[group]]
name = "sweet"
keys = ["syrup"]
percent = { max = 50 }
[limits]
most_changes = 3
[exclude]
allergens = ["milk"]
animal = true
[balance]
margin = 0.5
objective = "change"
"""


def plain(text):
    """A TOML file as JSON has it: days are text."""
    return json.loads(json.dumps(tomllib.loads(text), default=date.isoformat))


def faults(what, data):
    return [fault.message for fault in Draft202012Validator(schema(what)).iter_errors(data)]


@pytest.mark.parametrize("what", SCHEMAS)
def test_the_command_prints_a_schema(what, capsys):
    assert main(["schema", what]) == 0
    printed = json.loads(capsys.readouterr().out)
    Draft202012Validator.check_schema(printed)
    assert {key: printed[key] for key in schema(what)} == schema(what)


def test_there_is_no_other(capsys):
    assert main(["schema", "recipes"]) == 2
    with pytest.raises(InputError, match="schema"):
        schema("cake")


@pytest.mark.parametrize("text", [WHOLE, *(example_bytes(n).decode() for n in example_names())])
def test_recipes_are_as_described(text):
    fm.recipes.parse(text.encode(), "recipe")
    assert faults("recipe", plain(text)) == []


@pytest.mark.parametrize("style", sorted(styles()))
def test_what_is_written_is_as_described(style):
    recipe = fm.load("damson_sorbet")
    text = to_toml(fm.recipes.from_mapping({**tomllib.loads(to_toml(recipe)), "style": style}, "s"))
    assert faults("recipe", plain(text)) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("batch_g = 2000", "batch_g = 0"),
        ("batch_g = 2000", "batchg = 2000"),
        ("batch_g = 2000", 'batch_g = "2000"'),
        ('key = "sucrose"', 'keys = "sucrose"'),
        ('key = "sucrose"', 'key = "sucrose"\nrole = "sweet"'),
        ("sweetness = {", "sweet = {"),
        ("[serving]", '[balance]\nobjective = "taste"\n[serving]'),
        ("[serving]", "[serving]\nswing = 1"),
    ],
)
def test_what_is_refused_is_not_as_described(old, new):
    """What the reader refuses by name or kind, the schema refuses too."""
    text = SORBET.replace(old, new, 1)
    assert text != SORBET
    with pytest.raises(InputError):
        fm.recipes.parse(text.encode(), "recipe")
    assert faults("recipe", plain(text))


def test_every_field_of_an_ingredient_is_described():
    row = schema("recipe")["properties"]["ingredient"]["items"]
    assert set(row["properties"]) == {field.name for field in fields(RecipeIngredient)}
    assert row["required"] == ["key"]


@pytest.mark.parametrize("name", menu_names())
def test_menus_are_as_described(name):
    data = plain(menu_bytes(name).decode())
    assert faults("menu", data) == []
    assert faults("menu", {**data, "churn": 1})
    data["serve"][0]["gram"] = 5
    assert faults("menu", data)


def test_bases_are_as_described(tmp_path, capsys):
    path = tmp_path / "base.toml"
    path.write_text(BASE, encoding="utf-8")
    assert main(["base", str(path)]) in (0, 3)
    assert faults("base", plain(BASE)) == []
    assert faults("base", plain(BASE.replace("base_g", "base_grams")))


def test_packs_are_as_described():
    label = {"fat": 0.2, "sugars": "9.0", "rules": "us", "ingredients": ["raspberries", "sugar"]}
    fm.labels.pack_composition(label)
    assert faults("pack", label) == []
    assert faults("pack", {**label, "rules": "moon"}) and faults("pack", {**label, "fats": 1})


IMPOSSIBLE = SORBET.replace("min = 17, max = 20", "min = 30")
CROSSED = SORBET.replace("batch_g = 2000", "batch_g = 9000")


@pytest.mark.parametrize("command", ["balance", "check"])
@pytest.mark.parametrize(
    "text", [SORBET, IMPOSSIBLE, CROSSED, example_bytes("bay_leaf_ice_cream").decode()]
)
def test_answers_are_as_described(command, text, tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(text, encoding="utf-8")
    main([command, str(path), "--json"])
    data = json.loads(capsys.readouterr().out)
    assert faults("result", data) == []
    for key in ("chance", "margin", "warnings", "present_scoops_at_c", "certainty", "which"):
        assert key in data
    assert faults("result", {**data, "status": "fine"}) and faults("result", {**data, "more": 1})
    del data["chance"]
    assert faults("result", data)
