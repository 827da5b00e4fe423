"""The command week: exit codes, streams, words, and what it writes."""

from __future__ import annotations

import csv
import io
import json
from datetime import date

import pytest

from formulate.cli.commands import main
from formulate.data.examples import example_bytes, menu_bytes
from formulate.ingredients.lots import Lot
from formulate.notebook.batch_records import made
from formulate.notebook.deliveries import add_lot
from formulate.notebook.opening import open_notebook
from formulate.notebook.recipes import keep
from formulate.recipes.file import parse

MENU = """name = "Two days"
churn_g = 2500
[[serve]]
day = 2026-11-25
recipe = "{recipe}"
grams = 2000
[[lot]]
key = "damson"
name = "crate 7"
{lot}
"""


@pytest.fixture
def run(capsys):
    def command(*words):
        code = main([*map(str, words)])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return command


@pytest.fixture
def menu(tmp_path):
    def write(recipe="damson_sorbet", lot="grams = 3000\nbrix = 11"):
        path = tmp_path / "menu.toml"
        path.write_text(MENU.format(recipe=recipe, lot=lot), encoding="utf-8")
        return path

    return write


def test_the_example_menu_is_planned(run):
    code, out, err = run("week", "november_week")
    assert (code, err) == (0, "")
    for words in (
        "Week of 23 November: Tuesday 24 November to Saturday 28 November",
        "2 churns of 1,660 g; 3,240 g served",
        "crate 7 1,400 g, crate 8",
        "punnet from the back of the fridge: past its use-by of 2026-11-21, 450 g are not used.",
        "Expires unused",
        "worth 1.35",
        "local rules",
    ):
        assert words in out, words


def test_plain_data_adds_up_and_names_lots_and_versions(run):
    code, out, err = run("week", "november_week", "--json")
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert data["status"] == "planned" and set(data["versions"]) == {"formulate", "data"}
    for line in data["order"]:
        total = line["used_g"] + line["left_g"] + line["expired_g"]
        assert total == pytest.approx(line["stock_g"] + line["buy_g"], abs=1e-9)
    damson = next(line for line in data["order"] if line["key"] == "damson")
    taken = sum(
        lot["grams"]
        for making in data["makings"]
        for draw in making["draws"]
        if draw["key"] == "damson"
        for lot in draw["lots"]
    )
    assert damson["used_g"] == pytest.approx(taken, abs=1e-9)
    # 450 g at 3.00 per kg
    assert damson["waste_cost"] == pytest.approx(1.35)


def test_a_page_is_written_and_holds_no_script(run, menu, tmp_path):
    evil = 'grams = 3000\nbrix = 11\n[[lot]]\nkey = "pear"\ngrams = 5\nuse_by = 2026-11-26\n'
    path = menu(lot=evil + 'name = "<script>alert(1)</script>"')
    code, out, err = run("week", path, "-o", tmp_path / "week.html")
    assert (code, err) == (0, "") and "is written" in out
    page = (tmp_path / "week.html").read_text(encoding="utf-8")
    assert "<script" not in page and "&lt;script&gt;" in page
    assert "Use first" in page and "crate 7" in page and "@page { size: A4" in page


def test_a_ledger_is_written_that_no_spreadsheet_runs(run, menu, tmp_path):
    path = menu(lot='grams = 300\nbrix = 11\n[[lot]]\nkey = "damson"\nname = "=1+1"\ngrams = 9')
    code, _, err = run("week", path, "-o", tmp_path / "week.csv")
    assert (code, err) == (0, "")
    text = (tmp_path / "week.csv").read_bytes().decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert "'=1+1" in {row["lot"] for row in rows}
    assert not any(cell.startswith(tuple("=+-@")) for row in rows for cell in row.values())
    for key in {row["key"] for row in rows}:
        sums = dict.fromkeys(("stock", "bought", "used", "left", "expired"), 0.0)
        for row in rows:
            if row["key"] == key:
                sums[row["movement"]] += float(row["grams"])
        out = sums["used"] + sums["left"] + sums["expired"]
        assert out == pytest.approx(sums["stock"] + sums["bought"], abs=1e-9), key
    assert all(row["data"] and row["formulate"] for row in rows)


def test_a_mix_that_cannot_be_ends_in_3_with_its_reasons(run, menu, tmp_path):
    path = menu(lot="grams = 9000\nbrix = 60")
    code, out, err = run("week", path)
    assert (code, err) == (3, "")
    assert "NO MIX CAN DO IT" in out and "Nearest, for one churn:" in out
    code, out, _ = run("week", path, "--json")
    assert code == 3 and json.loads(out)["makings"][0]["status"] == "impossible"
    code, out, _ = run("week", path, "-o", tmp_path / "week.html")
    assert code == 3 and "the page says why" in out
    assert "No mix can do it" in (tmp_path / "week.html").read_text(encoding="utf-8")


def test_a_recipe_is_found_beside_the_menu(run, menu, tmp_path):
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "mine.toml").write_bytes(example_bytes("damson_sorbet"))
    code, out, _ = run("week", menu("own/mine.toml"), "--json")
    assert code == 0 and json.loads(out)["makings"][0]["name"].startswith("Damson sorbet")


def test_the_shelf_and_a_recipe_of_the_notebook(run, menu, tmp_path):
    """4,000 g came in, a batch took 1,000; the menu names the crate and says no more of it."""
    path = tmp_path / "notebook.sqlite3"
    recipe = parse(example_bytes("damson_sorbet"), "damson")
    with open_notebook(path) as notebook:
        keep(notebook, recipe)
        with notebook.writing() as db:
            crate = Lot("damson", reading=12.0, name="crate 7", grams=4000.0)
            number = add_lot(db, crate)
            add_lot(db, Lot("sucrose", name="sack", grams=500.0, use_by=date(2026, 11, 24)))
        made(notebook, recipe.name, {"damson": 1000.0}, lots_used={"damson": number})
    code, out, _ = run("week", menu(recipe.name, ""), "--json", "--notebook", path)
    assert code == 0
    data = json.loads(out)
    lines = {line["key"]: line for line in data["order"]}
    assert lines["damson"]["stock_g"] == 3000.0
    assert lines["sucrose"]["expired_g"] == 500.0  # past its use-by on the day
    (draw,) = [d for d in data["makings"][0]["draws"] if d["key"] == "damson"]
    assert draw["lots"][0]["lot"] == "crate 7" and draw["brix"] == pytest.approx(12.0)
    code, _, err = run("week", menu("damson_sorbet", ""))
    assert code == 2 and "lot crate 7 of damson: has no grams" in err and "--notebook" in err


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["nowhere"], "nowhere: there is no such file or example. The examples are: november_week"),
        (["november_week", "-o", "week.docx"], "is neither .html nor .csv"),
        (["november_week", "-o", "no/such/folder/week.html"], "cannot be written"),
        (["november_week", "--notebook", "no/such/folder/n"], "folder does not exist"),
        (["damson.toml"], "no_such: there is no such file, example or recipe of the notebook"),
    ],
)
def test_wrong_use_is_one_sentence(words, sentence, run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "damson.toml").write_text(MENU.format(recipe="no_such", lot="grams = 1"))
    code, out, err = run("week", *words)
    assert (code, out) == (2, "")
    assert sentence in err
    assert len(err.strip().splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["damson.toml"]


def test_a_menu_from_stdin(run, monkeypatch):
    class Stdin:
        buffer = io.BytesIO(menu_bytes("november_week"))

    monkeypatch.setattr("sys.stdin", Stdin)
    assert run("week", "-")[0] == 0
