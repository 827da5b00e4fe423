"""Whatever is written or printed to be kept names the program and the tables."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from formulate.cli.commands import main
from formulate.data.hashes import VERSION, made_with, versions

ROOT = Path(__file__).parents[2]


@pytest.fixture
def run(capsys, tmp_path):
    def command(*words):
        assert main([*map(str, words)]) == 0
        return capsys.readouterr().out

    return command


def test_the_versions_are_a_program_and_a_hash():
    found = versions()
    assert list(found) == ["formulate", "data"]
    assert len(found["data"]) == 12 and int(found["data"], 16)


@pytest.mark.parametrize(
    "words",
    [
        ("label", "bay_leaf_ice_cream"),
        ("label", "bay_leaf_ice_cream", "--rules", "us"),
        ("order", "damson_sorbet=2000"),
        ("ladder", "damson_sorbet", "--ingredient", "damson", "--brix", "10:12:1"),
        ("week", "november_week"),
        ("verify",),
    ],
)
def test_text_to_keep_names_them(words, run):
    text = run(*words)
    for name, version in versions().items():
        assert f"{name} {version}" in text


@pytest.mark.parametrize(
    "words",
    [
        ("balance", "damson_sorbet"),
        ("check", "damson_sorbet"),
        ("curve", "damson_sorbet"),
        ("ranges", "damson_sorbet"),
        ("label", "bay_leaf_ice_cream"),
        ("order", "damson_sorbet=2000"),
        ("ladder", "damson_sorbet", "--ingredient", "damson", "--brix", "10:12:1"),
        ("week", "november_week"),
    ],
)
def test_plain_data_names_them(words, run):
    assert json.loads(run(*words, "--json"))["versions"] == versions()


@pytest.mark.parametrize("name", ["sheet.html", "week.html"])
def test_pages_name_them(name, run, tmp_path):
    start = ("sheet", "damson_sorbet") if name == "sheet.html" else ("week", "november_week")
    run(*start, "-o", tmp_path / name)
    text = (tmp_path / name).read_text(encoding="utf-8")
    footer = text.split("<footer>")[1].split("</footer>")[0]
    for what, version in versions().items():
        assert f"{what} {version}" in footer


def test_the_pdf_names_them(run, tmp_path):
    from pypdf import PdfReader

    run("sheet", "damson_sorbet", "-o", tmp_path / "sheet.pdf")
    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "sheet.pdf").pages)
    for what, version in versions().items():
        assert f"{what} {version}" in text


def test_the_programme_names_them(run, tmp_path):
    run("balance", "damson_sorbet", "--export", tmp_path / "mix.lp")
    assert f"\\ {made_with()}" in (tmp_path / "mix.lp").read_text(encoding="utf-8").splitlines()
    run("balance", "damson_sorbet", "--export", tmp_path / "mix.json")
    data = json.loads((tmp_path / "mix.json").read_text(encoding="utf-8"))
    assert data["versions"] == versions()


def test_a_ledger_of_a_week_names_them_in_every_row(run, tmp_path):
    run("week", "november_week", "-o", tmp_path / "week.csv")
    head, *rows = (tmp_path / "week.csv").read_text(encoding="utf-8-sig").splitlines()
    assert head.endswith("formulate,data")
    assert rows and all(row.endswith(",".join(versions().values())) for row in rows)


def test_everything_of_a_notebook_names_them(run, tmp_path):
    """The export as a whole, each version of a recipe, each batch; and the page that is printed."""
    notebook = ("--notebook", tmp_path / "notebook.sqlite3")
    run("keep", "damson_sorbet", *notebook)
    assert made_with() in run("made", "damson", *notebook)
    run("notebook", "export", tmp_path / "out", *notebook)
    run("notebook", "print", tmp_path / "page.html", *notebook)
    about = (tmp_path / "out" / "notebook.toml").read_text(encoding="utf-8")
    for what, version in versions().items():
        assert f'{what} = "{version}"' in about
    for name in ("versions", "batches"):
        _, row = (tmp_path / "out" / f"{name}.csv").read_text(encoding="utf-8-sig").splitlines()
        assert made_with() in row
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert page.count(made_with()) == 4  # version, batch, and this printing at head and foot


def test_the_version_is_that_of_the_distribution_and_the_changelog_begins_with_it():
    about = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert about["version"] == VERSION == versions()["formulate"]
    changes = (ROOT / "formulate" / "CHANGELOG.md").read_text(encoding="utf-8")
    assert changes.split("\n## ")[1].split("\n")[0] == VERSION


OLDER = "formulate 0.1.0 table d3a63344a41a model 11c374c3766a"


def test_what_an_older_version_wrote_opens(run, tmp_path):
    """A folder that 0.1.0 exported: its versions are named otherwise, and read all the same."""
    notebook = ("--notebook", tmp_path / "notebook.sqlite3")
    run("keep", "damson_sorbet", *notebook)
    run("made", "damson", *notebook)
    run("notebook", "export", tmp_path / "out", *notebook)
    for path in (tmp_path / "out").glob("*.*"):
        text = path.read_bytes().decode("utf-8").replace(made_with(), OLDER)
        text = text.replace(f'data = "{versions()["data"]}"', 'table = "d3a6"\nmodel = "11c3"')
        path.write_bytes(text.encode("utf-8"))
    other = ("--notebook", tmp_path / "other.sqlite3")
    assert "versions of recipes 1, batches 1" in run("notebook", "import", tmp_path / "out", *other)
    assert OLDER in run("history", "damson", *other, "--json")


def test_a_sheet_of_an_older_version_is_known_as_one_s_own(run, tmp_path):
    page = tmp_path / "sheet.html"
    page.write_text(f"<footer>Sorbet · {OLDER.replace(' t', ' · t')}</footer>", encoding="utf-8")
    assert "is written" in run("sheet", "damson_sorbet", "-o", page)
