"""explore: exit codes, streams, words and files."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from formulate.cli.commands import main
from formulate.data.examples import example_bytes

ROOT = Path(__file__).parents[2]


def run(arguments, capsys):
    code = main([str(word) for word in arguments])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def rows_of(path):
    with path.open(encoding="utf-8-sig", newline="") as sheet:
        return list(csv.DictReader(sheet))


def test_readings_as_balance_answers_them(tmp_path, capsys):
    path = tmp_path / "readings.csv"
    code, out, err = run(
        ["explore", "damson_sorbet", "--vary", "damson.brix=9:15:0.5", "-o", path], capsys
    )
    assert code == 0
    assert "13 points: 13 balanced, 0 that no mix can do." in out and f"{path} is written." in out
    assert err.splitlines()[-1].startswith("13 of 13 rows, ")
    recipe = tmp_path / "recipe.toml"
    text = example_bytes("damson_sorbet").decode()
    for row in rows_of(path):
        read = f"brix = {float(row['damson.brix'])}"
        recipe.write_text(text.replace("brix = 11", read), encoding="utf-8")
        _, out, _ = run(["balance", recipe, "--json"], capsys)
        data = json.loads(out)
        grams = [float(row[f"{weight['key']}.grams"]) for weight in data["mix"]]
        assert grams == pytest.approx(data["exact_grams"], abs=0.3)  # tangents


def test_random_crates_prices_and_sets_as_json(tmp_path, capsys):
    path = tmp_path / "crates.parquet"
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=12+-0.8", "sucrose.price=1:2"]
    words += ["--leave-out", "dextrose_monohydrate", "--samples", "40", "--seed", "3", "--json"]
    code, out, _ = run([*words, "-o", path], capsys)
    data = json.loads(out)
    assert code == 0 and set(data["versions"]) == {"formulate", "data", "numpy"}
    assert (data["rows"], data["written"]) == (80, str(path))
    assert data["balanced"] + data["impossible"] + data["refused"] == 80
    table = pq.read_table(path).to_pydict()
    assert table["left_out"] == [""] * 40 + ["dextrose_monohydrate"] * 40
    assert set(table["dextrose_monohydrate.grams"][40:]) == {0.0}
    assert table["damson.brix"][:40] == table["damson.brix"][40:]


def test_a_second_call_finds_it_finished(tmp_path, capsys):
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=9:15:1", "-o", tmp_path / "a.csv"]
    first, again = run(words, capsys), run(words, capsys)
    assert first[:2] == again[:2]
    assert again[2] == "7 of 7 rows are there already.\n"


def test_workers_of_the_command(tmp_path, capsys):
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=9:15", "target.fat.max=1:2"]
    words += ["--samples", "1500"]
    assert run([*words, "--workers", "2", "-o", tmp_path / "two.parquet"], capsys)[0] == 0
    assert run([*words, "-o", tmp_path / "one.parquet"], capsys)[0] == 0
    two, one = (tmp_path / f"{name}.parquet" for name in ("two", "one"))
    assert two.read_bytes() == one.read_bytes()


def _heeds_interrupts():
    """What a shell runs in the background ignores them, and so would what the tests start."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_stopped_by_hand_it_says_how_to_go_on(tmp_path):
    """The shell's Ctrl-C, sent when the first block is told of."""
    path = tmp_path / "sweep.parquet"
    words = ["--vary", "damson.brix=9:15", "target.fat.max=1:2", "--samples", "1000000"]
    command = [sys.executable, "-m", "formulate", "explore", "damson_sorbet", *words]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [*command, "-o", str(path)],
        env=environment,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=_heeds_interrupts,
    ) as running:
        first = running.stderr.readline()
        running.send_signal(signal.SIGINT)
        rest = running.stderr.read()
    assert " of 1,000,000 rows, " in first
    assert running.returncode == 1
    assert rest.splitlines()[-1] == "Stopped. What is finished is kept; the same command goes on."
    assert list((tmp_path / "sweep.parquet.blocks").glob("*.parquet"))


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_mixes(form, tmp_path, capsys):
    path = tmp_path / f"mixes.{form}"
    code, out, err = run(["explore", "damson_sorbet", "--mixes", "60", "-o", path], capsys)
    assert (code, err) == (0, "")
    assert "60 of all mixes that meet the targets" in out and "The chains agree" in out
    assert "possible, not recommended" in out
    rows = rows_of(path) if form == "csv" else pq.read_table(path).to_pylist()
    assert len(rows) == 60
    for row in rows:
        assert sum(float(row[key]) for key in row if key.endswith(".grams")) == pytest.approx(2000)
        assert 17.0 <= float(row["sweetness"]) <= 20.0 + 1e-9
    if form == "parquet":
        about = json.loads(pq.read_schema(path).metadata[b"formulate"])
    else:
        about = json.loads((tmp_path / "mixes.csv.about.json").read_text(encoding="utf-8"))
    assert about["mixed"] is True and about["versions"]["data"]
    assert {each["key"] for each in about["agreement"]} >= {"sucrose", "water"}


def test_mixes_that_have_not_mixed_say_so(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("formulate.sweeps.draws.ESS_PER_CHAIN", 10**9)
    monkeypatch.setattr("formulate.sweeps.draws._DOUBLINGS", 0)
    words = ["explore", "damson_sorbet", "--mixes", "20", "-o"]
    code, out, _ = run([*words, tmp_path / "a.csv"], capsys)
    assert code == 0 and "THE CHAINS HAVE NOT MIXED" in out
    _, out, _ = run([*words, tmp_path / "b.csv", "--json"], capsys)
    assert json.loads(out)["mixed"] is False


def impossible(tmp_path):
    path = tmp_path / "recipe.toml"
    text = example_bytes("damson_sorbet").decode()
    path.write_text(text.replace("min = 17, max = 20", "min = 30"), encoding="utf-8")
    return path


def test_no_mix_can_do_it(tmp_path, capsys):
    recipe = impossible(tmp_path)
    words = ["explore", recipe, "--vary", "damson.brix=9:15:1", "-o", tmp_path / "sweep.csv"]
    code, out, _ = run(words, capsys)
    assert code == 3 and "7 points: 0 balanced, 7 that no mix can do." in out
    assert {row["status"] for row in rows_of(tmp_path / "sweep.csv")} == {"impossible"}
    code, out, _ = run(["explore", recipe, "--mixes", "5", "-o", tmp_path / "mixes.csv"], capsys)
    assert code == 3 and "These cannot hold together" in out
    assert not (tmp_path / "mixes.csv").exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["-o", "sweep.csv"], "varies nothing"),
        (["--vary", "damson.brix=9:20:1", "-o", "sweep.xlsx"], "neither .parquet nor .csv"),
        (["--vary", "damson.brix", "-o", "sweep.csv"], "is neither WHAT=FROM:TO:STEP"),
        (["--vary", "damson.brix=9:20", "-o", "sweep.csv"], "says how often"),
        (["--mixes", "5", "--samples", "5", "-o", "sweep.csv"], "goes with neither"),
        (["--mixes", "0", "-o", "sweep.csv"], "from 1 to 1,000,000"),
        (["--vary", "damson.brix=9:20:1", "--workers", "0", "-o", "sweep.csv"], "from 1 to 1024"),
        (
            ["--vary", "damson.brix=9:20:1", "--workers", "2", "--scheduler", "tcp://127.0.0.1:9"]
            + ["-o", "sweep.csv"],
            "cannot go with --scheduler",
        ),
    ],
)
def test_wrong_use_is_one_sentence(words, sentence, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(["explore", "damson_sorbet", *words], capsys)
    assert (code, out) == (2, "")
    assert sentence in err and len(err.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_mixes_never_write_over_a_file(tmp_path, capsys):
    path = tmp_path / "mixes.csv"
    path.write_text("of the cook", encoding="utf-8")
    code, _, err = run(["explore", "damson_sorbet", "--mixes", "5", "-o", path], capsys)
    assert code == 2 and "is there already" in err
    assert path.read_text(encoding="utf-8") == "of the cook"
