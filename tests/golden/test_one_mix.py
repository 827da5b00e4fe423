"""One mix through the whole chain: every command means the same weights, and says which."""

from __future__ import annotations

import json
import tomllib

import pytest

import formulate as fm
from formulate.cli.commands import main
from formulate.data.examples import example_bytes

SORBET = example_bytes("damson_sorbet").decode()


def with_sugar(words: str) -> str:
    """The damson sorbet, its line of sugar otherwise."""
    lines = SORBET.splitlines()
    at = lines.index('key = "sucrose"')
    assert lines[at + 1].startswith("grams = ")
    lines[at + 1] = words
    return "\n".join(lines)


RECIPES = {
    "misses": SORBET,
    "unknown": with_sugar(""),
    "not the batch": with_sugar("grams = 411"),
    "fine": with_sugar("grams = 300.25").replace("batch_g = 2000", "batch_g = 2000.25"),
}
CHAIN = {
    "label": ["label"],
    "curve": ["curve"],
    "harden": ["harden"],
    "temper": ["temper"],
}


@pytest.fixture(params=RECIPES)
def recipe(request, tmp_path):
    path = tmp_path / "recipe.toml"
    path.write_text(RECIPES[request.param], encoding="utf-8")
    return request.param, path


def json_of(arguments, capsys):
    code = main([str(word) for word in (*arguments, "--json")])
    captured = capsys.readouterr()
    assert (code, captured.err) == (0, "")
    return json.loads(captured.out)


def grams(rows):
    return {row["key"]: row["grams"] for row in rows}


def toml_grams(text):
    return {row["key"]: row["grams"] for row in tomllib.loads(text)["ingredient"]}


@pytest.mark.parametrize("more", [(), ("--balanced",), ("--balanced", "--margin", "0")])
def test_every_command_means_the_same_weights(recipe, more, tmp_path, capsys):
    """What ``balance`` and ``check`` print is what all others use; the notebook learns from the same."""
    kind, path = recipe
    is_balanced = bool(more) or kind == "unknown"
    asked = ["balance", path, *more[1:]] if is_balanced else ["check", path]
    first = json_of(asked, capsys)
    expected, which = grams(first["mix"]), "balanced" if is_balanced else "as_it_stands"
    assert first["which"] == which
    told = {name: json_of([*words, path, *more], capsys) for name, words in CHAIN.items()}
    told["sheet"] = json_of(["sheet", path, *more, "-o", tmp_path / "s.html"], capsys)
    (told["order"],) = json_of(["order", f"{path}={first['batch_g']}", *more], capsys)["mixes"]
    notebook = ("--notebook", tmp_path / "n.sqlite3")
    told["keep"] = json_of(["keep", path, *more, *notebook], capsys)
    for name, data in told.items():
        assert (grams(data["mix"]), data["which"]) == (expected, which), name
        assert [w["code"] for w in data["warnings"]] == [w["code"] for w in first["warnings"]], name
    own = toml_grams(told["keep"]["toml"])
    assert own == expected or (kind, own["sucrose"]) == ("not the batch", 411.0)  # kept as written
    batch = json_of(["made", first["name"], *notebook], capsys)
    assert grams(batch["weights"]) == pytest.approx(expected, abs=1e-9)
    again = json_of(["repeat", "1", *notebook], capsys)
    assert toml_grams(again["toml"]) == pytest.approx(expected, abs=0.0005)  # written to 0.001 g


def test_the_sheet_prints_the_weights_that_it_means(recipe):
    kind, path = recipe
    result = fm.face.shown(fm.load(path))
    lines = [line for step in fm.sheet(result).steps for line in step.lines]
    printed = {line.name: line.grams for line in lines}
    meant = {weight.name: weight.grams for weight in result.mix.weights}
    step = 0.5 if kind == "not the batch" else 1e-9  # scaled to the batch: rounded to the scale
    assert printed == pytest.approx(meant, abs=step)


@pytest.mark.parametrize("command", [*CHAIN.values(), ["order"], ["keep"]], ids=lambda c: c[0])
def test_every_command_says_which(command, tmp_path, capsys):
    where = "damson_sorbet=2000" if command == ["order"] else "damson_sorbet"
    more = ("--notebook", str(tmp_path / "n")) if command == ["keep"] else ()
    for words, said in (
        ((), "Of the mix as it stands, which misses sweetness."),
        (("--balanced",), "Of the balanced mix."),
    ):
        onto = ("--onto", "1") if more and words else ()
        assert main([*command, where, *words, *more, *onto]) == 0
        assert said in capsys.readouterr().out


def test_a_missing_weight_is_said(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(RECIPES["unknown"], encoding="utf-8")
    assert main(["label", str(path)]) == 0
    assert "Of the balanced mix, as not every weight is given." in capsys.readouterr().out


def test_what_cannot_be_balanced_is_no_label(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(SORBET.replace("min = 17, max = 20", "min = 30"), encoding="utf-8")
    notebook = ["--notebook", str(tmp_path / "n.sqlite3")]
    for command in (["label"], ["curve"], ["harden"], ["temper"], ["keep", *notebook]):
        assert main([command[0], str(path), "--balanced", *command[1:]]) == 3
        assert "These cannot hold together" in capsys.readouterr().out
    assert not (tmp_path / "n.sqlite3").exists()


def test_balance_writes_its_answer(tmp_path, capsys):
    """All but the weights is as it was; the new recipe meets its targets and nothing has to change."""
    path = tmp_path / "new.toml"
    code = main(["balance", "damson_sorbet", "-o", str(path)])
    text = capsys.readouterr().out
    assert code == 0 and text.endswith(f"{path} is written.\n") and "Likely: scoops" in text
    old, new = fm.load("damson_sorbet"), fm.load(path)
    blank = {entry.key: None for entry in old.ingredients}
    assert new.with_weights(blank) == old.with_weights(blank)
    answer = json_of(["balance", "damson_sorbet"], capsys)
    assert {e.key: e.grams for e in new.ingredients} == grams(answer["mix"])
    assert json_of(["check", path], capsys)["status"] == "meets"
    again = json_of(["balance", path], capsys)
    assert grams(again["mix"]) == grams(answer["mix"])
    assert "Nothing has to change." in again["messages"]


def test_balance_prints_the_recipe_alone(capsys):
    assert main(["balance", "damson_sorbet", "-o", "-"]) == 0
    text = capsys.readouterr().out
    answer = json_of(["balance", "damson_sorbet", "-o", "-"], capsys)
    assert toml_grams(text) == grams(answer["mix"]) == toml_grams(answer["recipe"])


def test_balance_writes_over_no_recipe_and_nothing_that_is_impossible(tmp_path, capsys):
    old = tmp_path / "old.toml"
    old.write_text(SORBET, encoding="utf-8")
    assert main(["balance", "damson_sorbet", "-o", str(old), "--force"]) == 2
    assert "is a recipe, which is never written over" in capsys.readouterr().err
    assert old.read_text(encoding="utf-8") == SORBET
    old.write_text(SORBET.replace("min = 17, max = 20", "min = 30"), encoding="utf-8")
    assert main(["balance", str(old), "-o", str(tmp_path / "new.toml")]) == 3
    assert not (tmp_path / "new.toml").exists()
    assert main(["balance", "damson_sorbet", "-o", str(tmp_path / "new.txt")]) == 2


def test_margin_and_objective_are_those_of_the_recipe(tmp_path, capsys):
    """An option is worth as much as the same words in the file."""
    for option, line in (
        (["--margin", "0"], "margin = 0"),
        (["--objective", "typical"], 'objective = "typical"'),
    ):
        path = tmp_path / "said.toml"
        path.write_text(f"{SORBET}\n[balance]\n{line}\n", encoding="utf-8")
        asked = json_of(["balance", "damson_sorbet", *option], capsys)
        said = json_of(["balance", path], capsys)
        assert asked["mix"] == said["mix"] and asked["margin"] == said["margin"]
        assert grams(asked["mix"]) != grams(json_of(["balance", "damson_sorbet"], capsys)["mix"])
        ladder = ["--ingredient", "damson", "--brix", "10:12:1"]
        assert (
            json_of(["ladder", "damson_sorbet", *ladder, *option], capsys)["rungs"]
            == json_of(["ladder", path, *ladder], capsys)["rungs"]
        )


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (["--margin", "-1"], "balance, margin: is -1"),
        (["--margin", "11"], "balance, margin: is 11"),
        (["--objective", "taste"], "balance, objective"),
        (["--objective", "cost"], "cost needs every price, and damson has none"),
    ],
)
def test_a_choice_that_cannot_be(option, words, capsys):
    assert main(["balance", "damson_sorbet", *option]) == 2
    assert words in capsys.readouterr().err
