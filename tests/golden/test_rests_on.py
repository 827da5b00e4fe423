"""What an answer rests on: every table that any command reads is in the hash that its JSON names."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import formulate
from formulate.cli import COMMANDS
from formulate.cli.command import every_command
from formulate.data import altered_tables, data_folder, table_names, versions
from formulate.data import hashes as hashes_module

#: Every command once, with what it needs; FOLDER is an empty folder.
LINES = [
    "balance damson_sorbet --export FOLDER/mix.json",
    "balance damson_sorbet --confidence 0.6",
    "check sea_buckthorn_sorbet_too_hard",
    "curve bay_leaf_ice_cream",
    "ingredients damson",
    "styles granita",
    "new granita --with espresso -o FOLDER/granita.toml",
    "ranges damson_sorbet",
    "ladder damson_sorbet --ingredient damson --brix 9:11:1",
    "correct damson_sorbet --in-pot damson=1000 sucrose=300 --reads 30",
    "tradeoff damson_sorbet change sweetness",
    "alternatives damson_sorbet --count 2",
    "without damson_sorbet dextrose_monohydrate",
    "base FOLDER/base.toml",
    "label bay_leaf_ice_cream --rules eu",
    "label damson_sorbet --rules us",
    "sheet bay_leaf_ice_cream -o FOLDER/sheet.html",
    "sheet damson_sorbet -o FOLDER/sheet.pdf",
    "pack FOLDER/pack.toml",
    "heat --at 80C --seconds 25",
    "cool 60:20:90 20:4:180",
    "order damson_sorbet=4000 --churn 1500",
    "week november_week",
    "keep damson_sorbet --notebook FOLDER/notebook.sqlite3",
    "keep sea_buckthorn_sorbet_too_hard --notebook FOLDER/notebook.sqlite3",
    "history --notebook FOLDER/notebook.sqlite3",
    "history buckthorn --notebook FOLDER/notebook.sqlite3",
    "recall buckthorn --notebook FOLDER/notebook.sqlite3",
    "compare buckthorn 1 1 --notebook FOLDER/notebook.sqlite3",
    "made buckthorn --reads 26 --served -14 --notebook FOLDER/notebook.sqlite3",
    "verdict 1 --firmness 1 --notebook FOLDER/notebook.sqlite3",
    "repeat 1 --notebook FOLDER/notebook.sqlite3",
    "learned --notebook FOLDER/notebook.sqlite3",
    "notebook lot damson --reading 12 --scale brix --notebook FOLDER/notebook.sqlite3",
    "notebook lots --notebook FOLDER/notebook.sqlite3",
    "notebook check --notebook FOLDER/notebook.sqlite3",
    "notebook backup FOLDER --notebook FOLDER/notebook.sqlite3",
    "notebook restore --notebook FOLDER/notebook.sqlite3",
    "notebook restore FOLDER --notebook FOLDER/notebook.sqlite3",
    "notebook print FOLDER/notebook.html --notebook FOLDER/notebook.sqlite3",
    "notebook export FOLDER/out --notebook FOLDER/notebook.sqlite3",
    "notebook import FOLDER/out --notebook FOLDER/second.sqlite3",
    "notebook strike 1 --why twice --notebook FOLDER/notebook.sqlite3",
    "explore damson_sorbet --vary damson.brix=12:14:1 -o FOLDER/sweep.csv",
    "explore damson_sorbet --mixes 20 -o FOLDER/mixes.csv",
    "harden damson_sorbet --minutes 60",
    "temper damson_sorbet",
    "evidence",
    "guide",
    "guide recipe",
    "verify",
    "schema recipe",
    "schema result",
    "completion bash",
]
#: Commands without an answer of their own: the pages ask the same questions.
WITHOUT = {"serve"}

_PACK = """fat = 38.5
saturates = 23
carbohydrate = 46
sugars = 44
protein = 7.2
salt = 0.2
ingredients = ["sugar", "cocoa butter", "whole milk powder", "cocoa mass"]
"""

_BASE = """
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

_RECORDER = """
import contextlib, io, json, sys
opened = set()
sys.addaudithook(lambda event, given: opened.add(str(given[0])) if event == "open" else None)
from formulate.cli import main
outs = []
for line in json.load(sys.stdin):
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = main([*line.split(), "--json"])
    outs.append([code, out.getvalue()])
json.dump([sorted(opened), outs], sys.stdout)
"""


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """Files that were opened while every command ran, and what each printed."""
    folder = tmp_path_factory.mktemp("commands")
    (folder / "pack.toml").write_text(_PACK, encoding="utf-8")
    (folder / "base.toml").write_text(_BASE, encoding="utf-8")
    lines = [line.replace("FOLDER", str(folder)) for line in LINES]
    done = subprocess.run(
        [sys.executable, "-c", _RECORDER],
        input=json.dumps(lines),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(Path(formulate.__file__).parents[1])},
    )
    opened, outs = json.loads(done.stdout)
    return opened, dict(zip(LINES, outs, strict=True))


def test_every_command_is_recorded():
    asked = {" ".join(words) for words in every_command(COMMANDS)} - WITHOUT
    tried = {name for name in asked for line in LINES if f"{line} ".startswith(f"{name} ")}
    assert asked and tried == asked
    assert all(any(f"{line} ".startswith(f"{name} ") for name in asked) for line in LINES)


@pytest.mark.parametrize("line", LINES)
def test_plain_data_says_what_it_rests_on(line, ran):
    code, out = ran[1][line]
    assert code == 0
    found = json.loads(out)
    if line.startswith(("ingredients", "styles")):  # a list of objects
        assert isinstance(found, list)
    else:
        assert found["versions"]["data"] == versions()["data"]


def test_every_table_that_was_read_is_in_the_hash(ran):
    folder = data_folder().resolve()
    paths = [Path(name).resolve() for name in ran[0]]
    read = {path.relative_to(folder).as_posix() for path in paths if path.is_relative_to(folder)}
    answers_from = {name for name in read if not name.startswith("examples/")}
    assert answers_from - {"manifest.toml"} <= set(table_names())
    assert {"steps.csv", "serving.csv", "heat_treatment.csv", "kinetics.csv"} <= answers_from


@pytest.fixture
def copied(tmp_path, monkeypatch):
    """The tables in another place, where they can be altered."""
    folder = tmp_path / "tables"
    shutil.copytree(data_folder(), folder)
    monkeypatch.setattr(hashes_module, "data_folder", lambda: folder)
    versions.cache_clear()
    yield folder
    versions.cache_clear()


def now():
    versions.cache_clear()
    return versions()["data"]


@pytest.mark.parametrize("name", table_names())
def test_a_changed_digit_of_any_table_changes_the_hash_and_is_named(name, copied):
    before = now()
    assert altered_tables() == ()
    path = copied / name
    was = path.read_bytes()
    digit = next(at for at, byte in enumerate(was) if chr(byte).isdigit())
    path.write_bytes(was[:digit] + (b"1" if was[digit] != ord("1") else b"2") + was[digit + 1 :])
    assert now() != before and altered_tables() == (name,)
    path.unlink()
    assert now() != before and altered_tables() == (name,)


def test_a_table_that_was_added_is_named_and_an_example_changes_nothing(copied):
    before = now()
    (copied / "examples" / "mine.toml").write_text("batch_g = 1\n", encoding="utf-8")
    assert now() == before and altered_tables() == ()
    (copied / "more.csv").write_text("key\n", encoding="utf-8")
    assert now() != before and altered_tables() == ("more.csv",)


@pytest.mark.parametrize(
    ("name", "was", "becomes"),
    [
        ("ingredients.csv", "milk,milk,milk,1.03", "milk,,,1.03"),  # an allergen is lost
        ("heat_treatment.csv", None, ""),  # emptied
    ],
)
def test_verify_notices_a_table_that_no_published_figure_needs(name, was, becomes, copied, capsys):
    from formulate.cli import main

    text = (copied / name).read_text(encoding="utf-8")
    new = becomes if was is None else text.replace(was, becomes)
    assert new != text
    (copied / name).write_text(new, encoding="utf-8")
    assert main(["verify"]) == 1
    out = capsys.readouterr().out
    assert "tables are NOT as recorded" in out
    assert f"{name} is missing, was added, or is not as it was tested." in out
    assert main(["verify", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["altered_tables"] == [name] and found["as_recorded"] is False
