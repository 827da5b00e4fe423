"""Label, heat, cool and order: exit codes, streams and words."""

from __future__ import annotations

import json

import pytest

from formulate.cli.commands import main


def run(arguments, capsys):
    code = main(arguments)
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_label_in_both_rules(capsys):
    code, out, err = run(["label", "bay_leaf_ice_cream", "--balanced", "--portion", "80"], capsys)
    assert (code, err) == (0, "")
    assert "Nutrition per 100 g" in out and "Whole MILK" in out and "dairy ice cream" in out
    code, out, _ = run(["label", "bay_leaf_ice_cream", "--rules", "us", "--json"], capsys)
    data = json.loads(out)
    assert code == 0 and set(data["versions"]) == {"formulate", "data"}


def test_heat_against_the_quoted_rules(capsys):
    """21 CFR / PMO pattern: 80 °C for 25 s is a row; 79 °C for 25 s is not."""
    _, met, _ = run(["heat", "--at", "80C", "--seconds", "25", "--json"], capsys)
    _, missed, _ = run(["heat", "--at", "79C", "--seconds", "20", "--json"], capsys)
    pattern = [row for row in json.loads(met)["rules"] if "Pasteurized" in row["rule"]]
    assert pattern and "not met" not in json.dumps(pattern)
    code, out, err = run(["heat", "--at", "79C", "--seconds", "20"], capsys)
    assert (code, err) == (0, "") and "not met" in out and "local rules" in out
    assert json.loads(missed)["rules"]


def test_cooling_against_the_quoted_rules(capsys):
    code, out, err = run(["cool", "60:20:90", "20:4:180"], capsys)
    assert (code, err) == (0, "")
    assert "US Food Code" in out and "kept" in out


def test_order(capsys):
    code, out, err = run(
        ["order", "damson_sorbet=4000", "bay_leaf_ice_cream=6000", "--json"], capsys
    )
    assert (code, err) == (0, "")
    lines = {line["key"]: line for line in json.loads(out)["order"]}
    assert lines["whole_milk"]["buy_g"] > 3000.0


def test_order_tells_how_many_churns(capsys):
    code, out, err = run(["order", "damson_sorbet=4000", "--churn", "1500", "--json"], capsys)
    assert (code, err) == (0, "")
    assert json.loads(out)["churns"][0]["churns"] == 3


def test_verify_finds_everything_as_recorded(capsys):
    code, out, err = run(["verify"], capsys)
    assert (code, err) == (0, "") and "all as recorded" in out


def test_verify_tells_what_is_not(capsys, monkeypatch):
    """A model that has changed is noticed: as if sucrose were a little stronger."""
    import formulate.report.evidence as evidence

    checks = evidence.every_check()
    from dataclasses import replace

    shaken = tuple(replace(check, predicted=check.predicted * 1.2) for check in checks)
    monkeypatch.setattr(evidence, "every_check", lambda: shaken)
    code, out, _ = run(["verify"], capsys)
    assert code == 1 and "NOT as recorded" in out


def test_pack(tmp_path, capsys):
    path = tmp_path / "pack.toml"
    path.write_text(
        "fat = 38.5\nsaturates = 23\ncarbohydrate = 46\nsugars = 44\nprotein = 7.2\nsalt = 0.2\n"
        'ingredients = ["sugar", "cocoa butter", "whole milk powder", "cocoa mass"]\n',
        encoding="utf-8",
    )
    code, out, err = run(["pack", str(path), "--json"], capsys)
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert data["basis"] == "estimated"
    assert (
        abs(sum(v for k, v in data["composition"].items() if k != "dextrose_equivalent") - 100)
        < 0.5
    )
    for row in data["bounds"]:
        assert row["low"] - 1e-6 <= row["value"] <= row["high"] + 1e-6


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["label", "damson_sorbet", "--rules", "moon"], "moon"),
        (["label", "damson_sorbet", "--portion", "-5"], "portion"),
        (["cool", "60-20"], "is not FROM:TO:MINUTES"),
        (["order", "damson_sorbet"], "is not RECIPE=GRAMS"),
        (["order", "=5"], "names no recipe"),
        (["order", "damson_sorbet=-5"], "is no batch"),
        (["heat", "--at", "900C", "--seconds", "5"], "900"),
    ],
)
def test_wrong_use_is_one_sentence(arguments, sentence, capsys):
    code, out, err = run(arguments, capsys)
    assert (code, out) == (2, "")
    assert sentence in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(("name", "start"), [("s.html", b"<!DOCTYPE html>"), ("s.pdf", b"%PDF-")])
def test_sheet_is_written_whole(name, start, tmp_path, capsys):
    path = tmp_path / name
    code, out, err = run(["sheet", "bay_leaf_ice_cream", "-o", str(path), "--large"], capsys)
    assert (code, err) == (0, "") and "is written" in out
    assert path.read_bytes()[: len(start)].upper() == start.upper()
    assert list(tmp_path.iterdir()) == [path]


def test_sheet_of_what_cannot_be_says_why(tmp_path, capsys):
    from formulate.data.examples import example_bytes

    recipe = tmp_path / "recipe.toml"
    text = example_bytes("damson_sorbet").decode()
    recipe.write_text(text.replace("min = 17, max = 20", "min = 30"), encoding="utf-8")
    code, out, _ = run(["sheet", str(recipe), "--balanced", "-o", str(tmp_path / "s.html")], capsys)
    assert code == 3 and "These cannot hold together" in out
    assert not (tmp_path / "s.html").exists()


def test_sheet_has_two_forms(capsys):
    code, out, err = run(["sheet", "damson_sorbet", "-o", "sheet.docx"], capsys)
    assert (code, out) == (2, "") and "is neither .html nor .pdf" in err
