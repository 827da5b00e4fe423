"""The committed table is what its script builds, and holds what its sources say."""

import csv
import hashlib
import re
import runpy
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from formulate.ingredients.components import COMPONENT_KEYS
from formulate.ingredients.table import ingredient_table
from formulate.labels.allergens import ALLERGENS

DATA = Path(__file__).parents[2] / "reference-data"
BUILDER = DATA / "build" / "build_table.py"
BUILT = ("ingredients.csv", "composition.csv", "provenance.csv", "nutrients.csv")
CONTRACT_KEYS = (
    "water sucrose dextrose_monohydrate whole_milk cream_35 skim_milk_powder egg_yolk lemon_juice "
    "strawberry peach pear blueberry sour_cherry"
).split()
BASES = {"measured", "compiled", "calculated", "defined", "specification", "estimated"}


def rows(name):
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def composition():
    return {
        row["key"]: {name: float(row[name]) for name in COMPONENT_KEYS}
        for row in rows("composition.csv")
    }


def test_committed_table_is_what_the_script_builds(tmp_path):
    subprocess.run([sys.executable, str(BUILDER), "--out", str(tmp_path)], check=True)
    for name in BUILT:
        assert (tmp_path / name).read_bytes() == (DATA / name).read_bytes(), name


def test_the_manifest_is_what_its_script_writes_and_names_every_table(tmp_path):
    script = DATA / "build" / "build_manifest.py"
    subprocess.run([sys.executable, str(script), "--out", str(tmp_path)], check=True)
    assert (tmp_path / "manifest.toml").read_bytes() == (DATA / "manifest.toml").read_bytes()
    manifest = tomllib.loads((DATA / "manifest.toml").read_text(encoding="utf-8"))["sha256"]
    assert {"composition.csv", "heat_treatment.csv", "steps.csv", "sources.toml"} <= set(manifest)
    for name, digest in manifest.items():
        assert hashlib.sha256((DATA / name).read_bytes()).hexdigest() == digest, name


def test_enough_ingredients_with_readable_unique_keys():
    keys = [row["key"] for row in rows("composition.csv")]
    assert len(keys) >= 170
    assert len(set(keys)) == len(keys)
    assert [row["key"] for row in rows("ingredients.csv")] == keys
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", key) for key in keys)
    assert set(CONTRACT_KEYS) <= set(keys)


def test_components_add_up_and_none_is_negative():
    for key, parts in composition().items():
        assert sum(parts.values()) == pytest.approx(100.0, abs=0.02), key
        assert min(parts.values()) >= 0.0, key


def test_every_number_has_a_source_that_is_known():
    sources = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    table = composition()
    seen = {}
    for row in rows("provenance.csv"):
        assert row["basis"] in BASES, row
        assert row["source"] in sources, row
        if row["component"] != "*":
            seen[row["key"], row["component"]] = float(row["grams_per_100g"])
    expected = {
        (key, name): value
        for key, parts in table.items()
        for name, value in parts.items()
        if value > 0
    }
    assert seen == expected


def test_vocabularies_are_closed():
    for row in rows("ingredients.csv"):
        assert set(filter(None, row["allergens_eu"].split(";"))) <= set(ALLERGENS["eu"]), row["key"]
        assert set(filter(None, row["allergens_us"].split(";"))) <= set(ALLERGENS["us"]), row["key"]
        assert row["animal"] in {"none", "milk", "egg", "honey", "gelatine"}, row["key"]
        assert 0.0 < float(row["edible_percent"]) <= 100.0, row["key"]
        assert row["usual"] in {"1", "2", "3", "4", "5"}, row["key"]


def test_allergens_are_those_of_each_law():
    """Annex II of 1169/2011; FDA, Questions and Answers Regarding Food Allergens, Edition 5."""
    assert (len(ALLERGENS["eu"]), len(ALLERGENS["us"])) == (14, 9)
    found = {
        row["key"]: (row["allergens_eu"], row["allergens_us"]) for row in rows("ingredients.csv")
    }
    assert found["almond"] == ("nuts", "tree_nuts")
    assert found["pine_nut"] == ("", "tree_nuts")
    assert found["beer"] == found["oat_drink"] == ("gluten", "")
    assert found["white_wine"] == ("sulphites", "")
    assert found["coconut"] == ("", "")


def test_an_allergen_without_a_name_in_law_is_an_error():
    builder = runpy.run_path(str(BUILDER))
    for law, known in zip(
        ("eu", "us"), zip(*builder["ALLERGENS"].values(), strict=True), strict=True
    ):
        assert set(filter(None, known)) == set(ALLERGENS[law])
    with pytest.raises(Exception, match="cake: gluten is not one of milk"):
        builder["allergens"]({"key": "cake", "allergens": "gluten"})


def test_sugars_do_not_exceed_the_total_of_their_row():
    extract = {row["source_row"]: row for row in rows("extract/sr28.csv")}
    plan = {row["key"]: row for row in rows("build/plan.csv")}
    sugars = ("sucrose", "glucose", "fructose", "galactose", "lactose", "maltose")
    checked = 0
    for key, parts in composition().items():
        made = plan[key]["made"]
        if not made.startswith("sr28/") or "sugars_total_g" in plan[key]["fills"]:
            continue
        total = extract[made.split("/")[1]]["sugars_total_g"]
        if total:
            checked += 1
            # species and total are each rounded, and some rows were analysed apart
            assert sum(parts[name] for name in sugars) <= float(total) + 0.35, key
    assert checked > 100


@pytest.mark.parametrize(
    ("key", "component", "value"),
    [  # USDA SR28 as printed: rows 01077, 01053, 01151, 01091, 01125, 09302, 09316, 09176, 09236, 19296
        ("whole_milk", "water", 88.13),
        ("whole_milk", "milk_fat", 3.25),
        ("whole_milk", "milk_protein", 3.15),
        ("whole_milk", "milk_minerals", 0.67),
        ("cream_36", "milk_fat", 36.08),
        ("skim_milk", "milk_protein", 3.37),
        ("skim_milk_powder", "lactose", 51.98),
        ("skim_milk_powder", "milk_minerals", 7.93),
        ("egg_yolk", "egg_fat", 26.54),
        ("egg_yolk", "egg_protein", 15.86),
        ("raspberry", "fibre", 6.5),
        ("raspberry", "fructose", 2.35),
        ("strawberry", "glucose", 1.99),
        ("mango", "sucrose", 6.97),
        ("peach", "sucrose", 4.76),
        ("honey", "fructose", 40.94),
        ("dextrose_monohydrate", "glucose", 100 * 180.156 / 198.171),  # molar masses
        ("trehalose", "trehalose", 100 * 342.296 / 378.327),  # molar masses
        ("rum", "ethanol", 33.3),  # 40 % vol by mass, OIML R 22 (from memory)
    ],
)
def test_values_of_the_sources(key, component, value):
    assert composition()[key][component] == pytest.approx(value, abs=0.006)


def test_a_blank_cell_that_is_needed_is_an_error_that_names_it():
    builder = runpy.run_path(str(BUILDER))
    plan = [row for row in rows("build/plan.csv") if row["key"] == "strawberry"]
    extract = {row["source_row"]: dict(row) for row in rows("extract/sr28.csv")}
    extract["09316"]["fibre_g"] = ""
    with pytest.raises(Exception, match="strawberry: sr28 row 09316, fibre_g is blank"):
        builder["build"](plan, {"sr28": extract})


@pytest.mark.parametrize(
    ("script", "table"),
    [("build_spread.py", "spread.csv"), ("fit_solutes.py", "freezing/solutes.csv")],
)
def test_derived_tables_are_what_their_scripts_build(script, table):
    built = runpy.run_path(str(DATA / "build" / script))["table"]()
    assert built == (DATA / table).read_text(encoding="utf-8")


def test_fruit_spread_is_consistent():
    """Means lie between the extremes, and every fruit is in the table."""
    with (DATA / "fruit_spread.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) >= 20
    for row in rows:
        low, mean, high = (float(row[f"sugars_{part}"]) for part in ("min", "mean", "max"))
        assert low <= mean <= high, row["key"]
        assert row["key"] in ingredient_table()
