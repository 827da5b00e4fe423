"""The commands keep their contract: exit codes, streams, and the fields of their JSON."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from formulate.cli.commands import main
from formulate.data.examples import example_bytes, example_names

ROOT = Path(__file__).parents[2]
IMPOSSIBLE = (
    example_bytes("damson_sorbet")
    .decode()
    .replace("sweetness = { min = 17, max = 20 }", "sweetness = { min = 30 }")
)


def run_json(arguments, capsys):
    code = main([*arguments, "--json"])
    captured = capsys.readouterr()
    assert captured.err == ""
    return code, json.loads(captured.out)


def assert_fields(data, status):
    """The fields that the contract names."""
    assert data["status"] == status
    reached = sum(entry.get("reached_g", entry["grams"]) for entry in data["mix"])
    assert reached == pytest.approx(data["batch_g"], abs=0.5)  # half a step of the scale
    assert {"water", "energy_kcal"} <= set(data["properties"])
    assert data["initial_freezing_point_c"] < 0.0
    assert [row["temperature_c"] for row in data["frozen_water"]] == [
        -float(t) for t in range(2, 25)
    ]
    percents = [row["percent"] for row in data["frozen_water"]]
    assert percents == sorted(percents)
    assert data["serving_temperature_c"] is None or -30.0 <= data["serving_temperature_c"] < 0.0
    for target in data["targets"]:
        assert {"key", "min", "max", "value", "met"} <= set(target)
        if target["key"] != "frozen_water":
            assert target["key"] in data["properties"]
    assert all(isinstance(message, str) for message in data["messages"])


@pytest.mark.parametrize("name", example_names())
def test_every_example_balances(name, capsys):
    code, data = run_json(["balance", name], capsys)
    assert code == 0
    assert_fields(data, "balanced")
    assert all(target["met"] for target in data["targets"])


@pytest.mark.parametrize("name", example_names())
def test_every_example_is_checked_and_misses_something(name, capsys):
    code, data = run_json(["check", name], capsys)
    assert code == 0
    assert_fields(data, "misses")


def test_the_hard_sorbet_is_too_hard_and_its_fix_scoops(capsys):
    _, before = run_json(["check", "sea_buckthorn_sorbet_too_hard"], capsys)
    _, after = run_json(["balance", "sea_buckthorn_sorbet_too_hard"], capsys)
    assert before["verdict"] == "too hard"
    assert after["verdict"] == "scoopable"


def test_riper_fruit_needs_less_sugar(capsys):
    _, today = run_json(["balance", "damson_sorbet"], capsys)
    _, next_week = run_json(["balance", "damson_sorbet_ripe"], capsys)
    sugar = [
        next(entry["grams"] for entry in data["mix"] if entry["key"] == "sucrose")
        for data in (today, next_week)
    ]
    assert sugar[1] < sugar[0]


def test_impossible_is_a_result_with_reasons(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(IMPOSSIBLE, encoding="utf-8")
    code, data = run_json(["balance", str(path)], capsys)
    assert code == 3
    assert_fields(data, "impossible")
    assert "sweetness" in {entry["key"] for entry in data["conflict"]}
    assert len(data["conflict"]) >= 2
    assert data["contradiction_g"] > 0.0
    assert {"relax", "add"} <= {entry["kind"] for entry in data["proposals"]}
    for proposal in data["proposals"]:
        assert sum(entry["grams"] for entry in proposal["mix"]) == pytest.approx(2000.0)
    assert sum(entry["grams"] for entry in data["nearest"]) == pytest.approx(2000.0)
    spans = {entry["key"]: entry for entry in data["reach"]}
    assert spans["sweetness"]["max"] < 30.0


def test_impossible_in_words(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(IMPOSSIBLE, encoding="utf-8")
    assert main(["balance", str(path)]) == 3
    text = capsys.readouterr().out
    assert "no mix can do it" in text
    assert "These cannot hold together: " in text
    assert "sweetness at least 30 g sucrose/100 g" in text
    assert "Any one of these makes a mix possible:" in text


def test_limits_that_cannot_make_the_batch(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(
        'name = "x"\nbatch_g = 1000\n'
        '[[ingredient]]\nkey = "water"\nmax_g = 500\n'
        '[[ingredient]]\nkey = "sucrose"\nmax_g = 300\n',
        encoding="utf-8",
    )
    code, data = run_json(["balance", str(path)], capsys)
    assert code == 3
    assert [entry["kind"] for entry in data["conflict"]] == ["limit", "limit"]


def test_check_says_that_it_scales(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    text = example_bytes("damson_sorbet").decode().replace("batch_g = 2000", "batch_g = 4000")
    path.write_text(text, encoding="utf-8")
    _, data = run_json(["check", str(path)], capsys)
    assert any(
        "2,000 g and were scaled to the batch of 4,000 g" in line for line in data["messages"]
    )
    assert data["mix"][0]["grams"] == pytest.approx(2000.0)


def test_recipe_from_standard_input(monkeypatch, capsys):
    class Standard:
        buffer = io.BytesIO(example_bytes("damson_sorbet"))

    monkeypatch.setattr("sys.stdin", Standard)
    assert main(["curve", "-"]) == 0
    text = capsys.readouterr().out
    assert "freezing curve" in text
    assert "  -24   " in text


def test_curve_as_json(capsys):
    code, data = run_json(["curve", "bay_leaf_ice_cream"], capsys)
    assert code == 0
    assert len(data["frozen_water"]) == 23


def test_ingredients_as_json_and_text(capsys):
    code, data = run_json(["ingredients"], capsys)
    assert code == 0
    assert len(data) >= 170
    milk = next(entry for entry in data if entry["key"] == "whole_milk")
    assert milk["composition"]["water"] == pytest.approx(88.13)  # USDA SR28 row 01077
    assert milk["allergens"] == ["milk"]
    assert any(row["source"] == "sr28" and row["source_row"] == "01077" for row in milk["sources"])
    assert main(["ingredients", "sea buckthorn"]) == 0
    assert "estimated" in capsys.readouterr().out
    assert main(["ingredients", "xyzzy"]) == 2
    assert "nothing in the table" in capsys.readouterr().err


def test_as_a_program_from_another_folder(tmp_path):
    command = [sys.executable, "-m", "formulate", "balance", "damson_sorbet"]
    done = subprocess.run(
        command,
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == ""
    assert "At -12 °C" in done.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "code", "shown", "said"),
    [
        (["check", "damson_sorbet", "--json"], 0, '"misses"', ""),
        (["balance", "-"], 3, "no mix can do it", ""),
        (["check", "nothing"], 2, "", "there is no such file"),
    ],
)
def test_the_program_ends_at_once_with_its_code_and_all_it_had_to_say(words, code, shown, said):
    too_little = """
        name = "Syrup"
        batch_g = 1000
        ingredient = [{ key = "water", grams = 900 }, { key = "sucrose", grams = 100, max_g = 100 }]
        target = { sugars = { min = 20 } }
    """
    done = subprocess.run(
        [sys.executable, "-m", "formulate", *words],
        input=too_little,
        env={"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code
    assert shown in done.stdout and done.stdout.endswith("\n" if shown else "")
    assert said in done.stderr and bool(said) == bool(done.stderr)


def test_commands_that_do_not_solve_do_not_import_the_solver_or_pandas():
    code = (
        "import sys; from formulate.cli import main; main(['check', 'damson_sorbet']); "
        "sys.exit(any(name in sys.modules for name in ('scipy', 'pandas', 'pyarrow', 'distributed')))"
    )
    done = subprocess.run([sys.executable, "-c", code], env={"PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == 0


def test_curve_gives_a_band(capsys):
    code, data = run_json(["curve", "bay_leaf_ice_cream"], capsys)
    assert code == 0
    assert all(row["plus_minus"] > 0.0 for row in data["frozen_water"] if row["percent"] > 0.0)
    assert "standard deviation" in data["cold"]["plus_minus"]


def test_balance_tells_how_sure_it_is(capsys):
    _, data = run_json(["balance", "damson_sorbet"], capsys)
    cold = data["cold"]
    assert 0.0 < cold["serving_frozen_water_plus_minus"] < 5.0
    assert cold["causes"][0]["share_percent"] > 10.0
    assert cold["scoops_to_c"] < cold["scoops_from_c"] < 0.0
    assert cold["classical"]["initial_freezing_point_c"] < 0.0


def test_harden_answers_whether_an_hour_is_enough(capsys):
    asked = ["harden", "damson_sorbet", "--size", "120x80", "--minutes", "60", "--freezer", "-20"]
    code, data = run_json(asked, capsys)
    assert code == 0
    assert data["harden"]["enough"] == "no"
    assert 0.0 < data["churn_kj_per_kg"] < 333.6, "less than freezing pure water takes"
    low, high = data["harden"]["minutes_low"], data["harden"]["minutes_high"]
    assert 60.0 < low < data["harden"]["minutes"] < high
    assert data["harden"]["energy_error"] <= 1e-3
    _, blast = run_json([*asked, "--air", "blast"], capsys)
    assert blast["harden"]["minutes"] < low


def test_temper_tells_how_long_a_scoop_holds(capsys):
    code, data = run_json(["temper", "bay_leaf_ice_cream", "--in", "bench"], capsys)
    assert code == 0
    assert data["temper"]["mean_c"] == pytest.approx(-13.0, abs=0.1)
    assert 2.0 < data["scoop"]["minutes"] < 60.0
    assert data["scoop"]["mass_kg"] == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["harden", "--size", "12"], "must be diameter x height in mm"),
        (["harden", "--shape", "bal"], 'Did you mean "ball"?'),
        (["harden", "--wall", "glass"], "is not a wall that is known here"),
        (["harden", "--air", "wind"], '"wind" is not one of still, fan, blast'),
        (["harden", "--freezer", "-10"], "so the mix never gets there"),
        (["harden", "--minutes", "-5"], "is not from above 0"),
        (["temper", "--in", "oven"], '"oven" is not one of fridge, bench'),
        (["temper", "--scoop", "0"], "Weigh a scoop"),
        (["temper", "--from", "-40"], "is not from -30 to 40 °C"),
    ],
)
def test_wrong_words_and_sizes_are_one_sentence(arguments, sentence, capsys):
    command, *options = arguments
    assert main([command, "damson_sorbet", *options]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert sentence in captured.err
    assert len(captured.err.strip().splitlines()) == 1


def test_evidence_shows_misses_too(capsys):
    code, data = run_json(["evidence"], capsys)
    assert code == 0
    checks = data["checks"]
    assert len(checks) > 150
    assert any(not row["within"] for row in checks)
    assert all(row["source"] for row in checks)
    assert main(["evidence"]) == 0
    assert "MISSED" in capsys.readouterr().out
