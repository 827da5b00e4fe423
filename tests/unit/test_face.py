"""The front door: what an import loads, where a recipe is looked for, results as tables."""

import json
import math
import subprocess
import sys
import tomllib
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

import formulate as fm
from formulate import face
from formulate.answers import balance as plain_balance
from formulate.cli import main
from formulate.data import example_bytes
from formulate.notebook import keep, open_notebook
from formulate.recipes import parse

DAMSON = "damson_sorbet"
PROJECT = Path(__file__).parents[2] / "pyproject.toml"


@pytest.fixture
def damson():
    return fm.load(DAMSON)


@pytest.fixture
def result(damson):
    return fm.balance(damson)


@pytest.fixture(autouse=True)
def own_notebook(tmp_path, monkeypatch):
    """No test looks into the notebook of whoever runs it."""
    monkeypatch.setenv("FORMULATE_NOTEBOOK", str(tmp_path / "notebook.sqlite3"))


def test_an_import_loads_neither_numpy_nor_a_solver():
    code = (
        "import formulate, sys; print(*sorted(sys.modules)); dir(formulate); formulate.InputError"
    )
    code += "; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    for line in run.stdout.splitlines():
        loaded = {name.split(".")[0] for name in line.split()}
        heavy = "numpy scipy highspy pandas altair streamlit reportlab pyarrow sqlite3 tomllib"
        assert loaded.isdisjoint(heavy.split())
    packages = {
        name for name in run.stdout.splitlines()[0].split() if name.startswith("formulate.")
    }
    assert packages == set()


def test_loading_reads_a_file_before_an_example_before_the_notebook(tmp_path, monkeypatch, damson):
    monkeypatch.chdir(tmp_path)
    own = replace(damson, name="Sloe sorbet")
    with open_notebook(tmp_path / "notebook.sqlite3") as notebook:
        keep(notebook, own)
        keep(notebook, replace(damson, name=DAMSON, batch_g=700.0))
    assert fm.load("sloe  SORBET") == own
    assert fm.load(DAMSON) == damson
    fm.save(replace(damson, name="A file"), "mine.toml")
    (tmp_path / "mine.toml").rename(tmp_path / DAMSON)
    assert fm.load(DAMSON).name == "A file"
    assert fm.load(tmp_path / DAMSON).name == "A file"
    assert fm.load(DAMSON, folder=tmp_path.parent) == damson
    with pytest.raises(fm.InputError, match="no such file, example or recipe of the notebook"):
        fm.load("medlar jelly")
    with pytest.raises(fm.InputError, match='Did you mean "Sloe sorbet"'):
        fm.load("Sloe sorbit")


def test_a_name_from_elsewhere_opens_no_file(tmp_path, damson):
    place = fm.save(damson, tmp_path / "secret.toml")
    assert fm.load(place) == damson
    with pytest.raises(fm.InputError, match="there is no such file, example or recipe"):
        face.recipe_named(str(place))


@pytest.mark.parametrize("where", ["", "a\0b", "."])
def test_what_is_no_file_is_a_sentence(where):
    with pytest.raises(fm.InputError):
        fm.load(where)


def test_commands_and_python_look_in_the_same_places(tmp_path, monkeypatch, capsys, damson):
    with open_notebook(tmp_path / "notebook.sqlite3") as notebook:
        keep(notebook, replace(damson, name="Sloe sorbet"))
    assert main(["check", "Sloe sorbet", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["name"] == "Sloe sorbet"


def test_saving_never_overwrites_a_recipe_and_is_whole(tmp_path, damson, result):
    place = fm.save(damson, tmp_path / "damson.toml")
    assert parse(place.read_bytes(), "damson.toml") == damson
    for force in (False, True):
        with pytest.raises(fm.InputError, match="is there already"):
            fm.save(damson, place, force=force)
    page = fm.sheet(result)
    sheet = fm.save(page, tmp_path / "sheet.html")
    assert fm.save(page, sheet) == sheet  # it wrote that one itself
    sheet.write_text("<p>My notes.</p>", encoding="utf-8")
    with pytest.raises(fm.InputError, match="this program has not written it"):
        fm.save(page, sheet)
    assert fm.save(page, sheet, force=True) == sheet
    assert fm.save(page, tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    for what, name in ((damson, "damson.txt"), (page, "sheet.toml")):
        with pytest.raises(fm.InputError, match="does not end in"):
            fm.save(what, tmp_path / name)
    assert sorted(each.name for each in tmp_path.glob("*.*")) == [
        "damson.toml",
        "sheet.html",
        "sheet.pdf",
    ]


def test_a_recipe_is_changed_by_making_another(damson):
    other = damson.with_reading("damson", 12.5, 24.0).with_weights({"sucrose": 250, "water": None})
    by_key = {entry.key: entry for entry in other.ingredients}
    assert (by_key["damson"].brix, by_key["damson"].brix_temperature_c) == (12.5, 24.0)
    assert (by_key["sucrose"].grams, by_key["water"].grams) == (250, None)
    assert damson == fm.load(DAMSON)
    for change in (
        lambda: damson.with_reading("plum", 12),
        lambda: damson.with_weights({"plum": 1}),
    ):
        with pytest.raises(fm.InputError, match="is not in the recipe"):
            change()


def test_a_result_is_the_engines_own_with_tables(damson, result):
    plain = plain_balance(damson)
    assert (result.mix, result.messages) == (plain.mix, plain.messages)
    assert result.status is fm.Status.BALANCED and result.status == "balanced"
    assert result.weights.index.tolist() == [entry.key for entry in damson.ingredients]
    assert result.weights["grams"].tolist() == [weight.grams for weight in plain.mix.weights]
    assert result.weights["before"].tolist() == [entry.grams for entry in damson.ingredients]
    assert result.targets["value"].tolist() == [target.value for target in plain.mix.targets]
    assert result.properties["value"].to_dict() == dict(plain.mix.properties)
    assert list(zip(result.curve.index, result.curve["percent"], strict=True)) == list(
        plain.mix.frozen_water
    )
    assert result.composition["water"] == pytest.approx(
        100.0 - plain.mix.properties["total_solids"], abs=1e-6
    )
    for table in (result.weights, result.targets, result.properties, result.curve):
        assert isinstance(table, pd.DataFrame) and table.attrs["units"]


def test_a_target_without_a_bound_has_no_number_there(damson):
    asked = replace(damson, targets={"sugars": fm.Range(max=30.0)}, serving=None)
    row = fm.check(asked).targets.loc["sugars"]
    assert math.isnan(row["min"]) and row["max"] == 30.0


def test_the_balanced_recipe_meets_its_targets_as_it_stands(result):
    again = fm.check(result.recipe)
    assert str(again.status) == "meets"
    assert again.weights["grams"].tolist() == pytest.approx(result.weights["grams"].tolist())


def test_plain_data_is_that_of_the_command(result, capsys):
    assert main(["balance", DAMSON, "--json"]) == 0
    assert json.loads(json.dumps(result.to_dict())) == json.loads(capsys.readouterr().out)


def test_tables_are_copies(result):
    weights = result.weights
    weights.loc["sucrose", "grams"] = -1.0
    assert result.weights.loc["sucrose", "grams"] > 0.0


def test_results_show_themselves_shortly_and_escaped(damson):
    found = fm.balance(replace(damson, name="<script>plum</script>"))
    assert len(repr(found).splitlines()) <= 12
    page = found._repr_html_()
    assert "<script>" not in page and "&lt;script&gt;plum" in page and page.count("<table") == 2


def test_no_mix_is_a_result(damson):
    asked = replace(damson, targets={"fat": fm.Range(min=20.0)})
    found = fm.balance(asked)
    assert found.status is fm.Status.IMPOSSIBLE and found.conflict
    assert fm.ranges(asked) is None and fm.tradeoff(asked, "change", "sweetness") is None
    assert len(fm.alternatives(asked)) == 0 and fm.alternatives(asked).to_frame().empty
    rungs = fm.ladder(asked, "damson", [10, 11]).to_frame()
    assert rungs.isna().all().all() and rungs.index.tolist() == [10.0, 11.0]


def test_answers_to_questions_as_tables(damson):
    rungs = fm.ladder(damson, "damson", range(9, 12))
    assert rungs.to_frame().loc[11.0].tolist() == list(rungs.rungs[2].grams)
    assert rungs.to_dict() == fm.ladder(damson, "damson", "9:11:1").to_dict()
    spans = fm.ranges(damson).to_frame()
    grams = spans.loc["ingredient"]
    assert (
        (grams["low"] <= grams["value"] + 1e-6) & (grams["value"] <= grams["high"] + 1e-6)
    ).all()
    assert spans.loc[("target", "stabiliser"), "unit"] == "%"
    trade = fm.tradeoff(damson, "change", "sweetness").to_frame()
    assert trade["wish"]["change"].is_monotonic_increasing
    assert trade["grams"].sum(axis=1).tolist() == pytest.approx([2000.0] * len(trade))
    assert fm.alternatives(damson, 2).to_frame().columns.tolist()[0] == "damson"


@pytest.mark.parametrize("readings", [[], [12, 11], [0.0, 5.0], [80, 90], [float("nan")], [5, 5]])
def test_readings_that_cannot_be_are_refused(damson, readings):
    with pytest.raises(fm.InputError, match="must rise"):
        fm.ladder(damson, "damson", readings)


def test_what_is_left_out_is_not_proposed_again(damson):
    found = fm.without(damson, "glucose_powder_de30")
    assert "glucose_powder_de30" not in found.weights.index
    assert "glucose_powder_de30" in found.mixture.recipe.exclude.keys
    assert found.name.endswith("without glucose powder de30")


def test_ingredients_and_compositions_have_labels():
    table = fm.ingredients()
    assert table.index.is_unique and table.loc["water", "water"] == 100.0
    parts = table[list(fm.check(fm.load(DAMSON)).composition.index)]
    # The two attributes describe part of the mass a second time.
    whole = parts.drop(columns=["egg_yolk_solids", "syrup_reducing_power"]).sum(axis=1)
    assert (whole - 100.0).abs().max() <= 1.0


@pytest.mark.parametrize("kind", ["curve", "targets"])
def test_pictures_of_a_result_are_valid_charts(result, kind):
    chart = getattr(fm.plot, kind)(result)
    assert chart.to_dict()["$schema"].startswith("https://vega.github.io/schema/vega-lite/")


def test_pictures_of_two_mixes_have_two_names(damson, result):
    chart = fm.plot.curve(result, now=fm.check(damson)).to_dict()
    names = {row["mix"] for data in chart["datasets"].values() for row in data if "mix" in row}
    assert names == {"balanced", "now"}


def test_the_version_is_that_of_the_project():
    written = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["version"]
    assert fm.__version__ == written


def test_types_are_told_to_checkers():
    from importlib.resources import files

    assert files("formulate").joinpath("py.typed").is_file()
    assert files("formulate").joinpath("__init__.pyi").is_file()


def test_examples_are_found_by_their_bytes():
    assert fm.load(DAMSON) == parse(example_bytes(DAMSON), DAMSON)
