"""The commands that argue: exit codes, streams and the fields of their JSON."""

from __future__ import annotations

import json

import pytest

from formulate.cli.commands import main
from formulate.data.examples import example_bytes

MENU = """
name = "Friday"
[[base]]
key = "whole_milk"
grams = 600
[[base]]
key = "cream_35"
grams = 240
[[base]]
key = "sucrose"
grams = 160
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


@pytest.fixture
def impossible(tmp_path):
    path = tmp_path / "impossible.toml"
    text = example_bytes("damson_sorbet").decode()
    asked = text.replace("sweetness = { min = 17, max = 20 }", "sweetness = { min = 30 }")
    path.write_text(asked, encoding="utf-8")
    return str(path)


def run_json(arguments, capsys):
    code = main([*arguments, "--json"])
    captured = capsys.readouterr()
    assert captured.err == ""
    return code, json.loads(captured.out)


def text_of(arguments, capsys):
    code = main(arguments)
    captured = capsys.readouterr()
    assert captured.err == ""
    return code, captured.out


def test_ranges(capsys):
    code, data = run_json(["ranges", "damson_sorbet"], capsys)
    assert code == 0
    for span in (*data["ingredients"], *data["targets"]):
        assert span["low"] <= span["value"] + 1e-6 and span["value"] <= span["high"] + 1e-6
    assert {price["demand"]["key"] for price in data["prices"]} >= {"total_solids", "sweetness"}
    assert set(data["versions"]) == {"formulate", "data"}
    code, text = text_of(["ranges", "damson_sorbet"], capsys)
    assert code == 0 and "each unit of it moves" in text


def test_ranges_of_what_cannot_be_say_why(impossible, capsys):
    code, data = run_json(["ranges", impossible], capsys)
    assert code == 3 and data["status"] == "impossible"


def test_ladder(capsys):
    asked = ["ladder", "damson_sorbet", "--ingredient", "damson", "--brix", "9:15:0.5"]
    code, data = run_json(asked, capsys)
    assert code == 0
    assert [rung["brix"] for rung in data["rungs"]] == [9.0 + 0.5 * step for step in range(13)]
    assert all(
        sum(entry["grams"] for entry in rung["mix"]) == pytest.approx(2000.0)
        for rung in data["rungs"]
    )
    code, text = text_of(asked, capsys)
    assert code == 0 and "°Bx" in text and "the mean of two is within" in text


def test_correct(capsys):
    asked = ["correct", "damson_sorbet", "--in-pot", "damson=1000", "sucrose=300"]
    code, data = run_json(asked, capsys)
    assert code == 0
    first = data["corrections"][0]
    assert first["aim"] == "smallest"
    assert all(entry["grams"] >= 0.0 for entry in first["additions"])
    assert all(target["met"] for target in first["targets"])
    code, text = text_of(asked, capsys)
    assert code == 0 and "Smallest addition: add" in text


def test_correct_by_a_reading(capsys):
    code, data = run_json(["correct", "damson_sorbet", "--reads", "30"], capsys)
    assert code == 0
    found = data["diagnosis"]
    assert found["unusual"] > 2.0
    assert sum(story["probability"] for story in found["stories"]) == pytest.approx(1.0)
    assert not found["told_apart"] and found["measure"]["how"] == "weigh"
    assert data["repair"]["story"] == found["stories"][0]
    code, text = text_of(["correct", "damson_sorbet", "--reads", "30"], capsys)
    assert code == 0 and "The first 2 cannot be told apart." in text
    assert "Weigh the pot: 2,000 ±" in text and "means that the lot of damsons" in text


def test_correct_by_a_weight_and_the_story_of_ones_own(capsys):
    asked = ["correct", "damson_sorbet", "--reads", "30", "--weighs", "1850"]
    code, data = run_json(asked, capsys)
    assert code == 0
    assert data["diagnosis"]["stories"][0]["mishap"] == "boiled_off"
    assert data["repair"]["water_g"] == pytest.approx(150.0, abs=20.0)
    code, other = run_json([*asked, "--reads-again", "30.1", "--story", "2"], capsys)
    assert other["repair"]["story"] == other["diagnosis"]["stories"][1]
    assert other["diagnosis"]["reads"] == [30.0, 30.1]


def test_correct_says_nothing_to_add_where_no_story_explains_the_pot(capsys):
    asked = ["correct", "damson_sorbet", "--reads", "27.5", "--weighs", "5003"]
    code, data = run_json(asked, capsys)
    assert code == 0 and data["repair"] is None and not data["diagnosis"]["explained"]
    code, text = text_of(asked, capsys)
    assert "No single mishap explains this" in text and ": add " not in text


def test_tradeoff(capsys):
    asked = ["tradeoff", "damson_sorbet", "change", "sweetness"]
    code, data = run_json(asked, capsys)
    assert code == 0 and len(data["corners"]) >= 2
    code, text = text_of(asked, capsys)
    assert code == 0 and "blending them gives every trade-off" in text


def test_alternatives(capsys):
    code, data = run_json(["alternatives", "damson_sorbet", "--count", "2"], capsys)
    assert code == 0 and len(data["mixes"]) == 2
    code, text = text_of(["alternatives", "damson_sorbet"], capsys)
    assert code == 0 and "1. " in text


def test_without(capsys):
    code, data = run_json(["without", "damson_sorbet", "dextrose_monohydrate"], capsys)
    assert code == 0 and data["status"] == "balanced"
    assert "dextrose_monohydrate" not in {entry["key"] for entry in data["mix"]}
    code, data = run_json(["without", "damson_sorbet", "glucose_powder_de30"], capsys)
    assert code == 3 and data["proposals"]


def test_base(tmp_path, capsys):
    path = tmp_path / "menu.toml"
    path.write_text(MENU, encoding="utf-8")
    code, data = run_json(["base", str(path)], capsys)
    assert code == 0 and data["mixes"][0]["targets"][0]["met"]
    path.write_text(MENU.replace("min = 12, max = 18", "min = 120"), encoding="utf-8")
    code, data = run_json(["base", str(path)], capsys)
    assert code == 3 and data["status"] == "impossible"


def test_balance_with_confidence(capsys):
    code, data = run_json(["balance", "damson_sorbet", "--confidence", "0.8"], capsys)
    assert code == 0
    assert min(each["chance"] for each in data["chance"]["targets"]) >= 0.795
    code, data = run_json(["balance", "bay_leaf_ice_cream", "--confidence", "0.99"], capsys)
    assert code == 3


@pytest.mark.parametrize("name", ["mix.lp", "mix.json"])
def test_export(name, tmp_path, capsys):
    path = tmp_path / name
    code, _ = run_json(["balance", "damson_sorbet", "--export", str(path)], capsys)
    assert code == 0
    assert "total_solids" in path.read_text(encoding="utf-8")
    assert list(tmp_path.iterdir()) == [path], "nothing half-written is left"


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (
            ["ladder", "damson_sorbet", "--ingredient", "plum", "--brix", "9:10:1"],
            "is not in the recipe",
        ),
        (["ladder", "damson_sorbet", "--ingredient", "damson", "--brix", "9"], "from:to:step"),
        (["correct", "damson_sorbet"], "needs what is in the pot"),
        (["correct", "damson_sorbet", "--in-pot", "sucrose"], "is not KEY=GRAMS"),
        (["correct", "damson_sorbet", "--in-pot", "salt=2"], "not in the recipe"),
        (["correct", "damson_sorbet", "--reads", "99"], "must be from 0 to 85 °Bx"),
        (["correct", "damson_sorbet", "--weighs", "-3"], "must be above zero"),
        (["correct", "damson_sorbet", "--reads", "30", "--story", "99"], "and there are"),
        (["correct", "damson_sorbet", "--in-pot", "sucrose=1", "--reads-again", "9"], "--reads."),
        (["tradeoff", "damson_sorbet", "cost_per_kg", "change"], "needs every price"),
        (["tradeoff", "damson_sorbet", "sweetnes", "change"], 'Did you mean "sweetness"'),
        (["alternatives", "damson_sorbet", "--count", "0"], "must be from 1 to 50"),
        (["without", "damson_sorbet", "salt"], "is not in the recipe"),
        (["ranges", "damson_sorbet", "--slack", "-1"], "cannot be below zero"),
        (["balance", "damson_sorbet", "--confidence", "2"], "must be from 0.5 to below 1"),
        (["balance", "damson_sorbet", "--export", "mix.pdf"], "is neither .lp nor .json"),
        (["balance", "damson_sorbet", "--export", "no/such/folder/mix.lp"], "cannot be written"),
        (["base", "damson_sorbet"], "is not a field that is known here"),
    ],
)
def test_wrong_use_is_one_sentence(arguments, sentence, capsys):
    assert main(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert sentence in captured.err
    assert len(captured.err.strip().splitlines()) == 1
