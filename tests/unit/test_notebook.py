"""The notebook: versions, batches, verdicts, migrations, plain files, and what is refused."""

from __future__ import annotations

import csv
import json
import os
import shutil
import sqlite3
import stat
import tempfile
import threading
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from formulate.answers.balancing import check
from formulate.cli.commands import main
from formulate.data.examples import example_bytes
from formulate.errors import InputError
from formulate.ingredients.lots import Lot
from formulate.notebook.backups import backups_of
from formulate.notebook.batch_records import (
    Figures,
    FurtherLot,
    Verdict,
    Weighing,
    batch,
    batches,
    made,
    made_recipe,
    strike,
    verdict,
)
from formulate.notebook.contents import examine
from formulate.notebook.deliveries import add_lot, delivered, lots, stock
from formulate.notebook.doubts import Doubt
from formulate.notebook.files import export_notebook, import_notebook, rescue
from formulate.notebook.learning import learn_kitchen
from formulate.notebook.opening import open_notebook
from formulate.notebook.recipes import compare, history, keep, kept_version, search
from formulate.notebook.schema import SCHEMA_VERSION
from formulate.notebook.store import APPLICATION_ID, default_path
from formulate.printing.notebook_in_html import notebook_html
from formulate.recipes.file import parse
from formulate.report.notebook import printed_recipe
from formulate.report.wording import sentence, sentences


def example(example="damson_sorbet", **changes):
    return replace(parse(example_bytes(example), example), **changes)


def with_grams(recipe, **grams):
    return replace(
        recipe,
        ingredients=tuple(
            replace(entry, grams=grams.get(entry.key, entry.grams)) for entry in recipe.ingredients
        ),
    )


SORBET = with_grams(example(), damson=1000.0)
NAME = SORBET.name


@pytest.fixture
def path(tmp_path):
    return tmp_path / "notebook.sqlite3"


@pytest.fixture
def notebook(path):
    with open_notebook(path) as found:
        yield found


def refused(call, *words):
    """Run a call that must be refused in one line that holds these words."""
    with pytest.raises(InputError) as error:
        call()
    text = str(error.value)
    for word in words:
        assert word in text, text
    assert "\n" not in text
    return text


def filled(notebook):
    """Two versions, a lot, two batches, three verdicts, a weighing; texts that try a spreadsheet."""
    keep(notebook, SORBET, cook="Ada", note="first of the season")
    keep(notebook, with_grams(SORBET, sucrose=270.0), onto=1, note="=1+1")
    bay = example("bay_leaf_ice_cream")
    keep(notebook, bay, cook="'Ida")
    with notebook.writing() as db:
        lot = Lot("damson", "@Hill Orchard", date(2026, 11, 24), 3.2, 12.4)
        lot = add_lot(db, replace(lot, name="=crate", grams=6000.0, use_by=date(2026, 12, 2)))
        bags = [add_lot(db, Lot("glucose_powder_de30", name=name)) for name in ("bag 1", "bag 2")]
    made(
        notebook,
        NAME,
        {"sucrose": 272.0, "lemon_juice": 4.0},
        lots_used={"damson": lot, "glucose_powder_de30": bags[0]},
        further=(FurtherLot("glucose_powder_de30", bags[1], 30.0),),
        figures=Figures(27.1, 14.0, -6.5, -12.0, 22.0),
        on=date(2026, 11, 25),
        cook="Ada",
        note="-5 °C in the room\tand\nwindy",
    )
    made(
        notebook,
        bay.name,
        {},
        weighings=(Weighing("bay_leaf", "infuse", 1700.0, 1652.0, 12.0),),
        on=date(2026, 11, 25),
    )
    verdict(notebook, 1, Verdict(-12.0, 1, 0, sandy=True, note="+ a little gritty", cook="Ida"))
    verdict(notebook, 1, Verdict(-10.5, 0))
    verdict(notebook, 2, Verdict(-13.0, -1, icy=True))


# Versions -------------------------------------------------------------------------------------------


def test_a_recipe_comes_back_as_it_was_kept(notebook):
    for name in ("damson_sorbet", "bay_leaf_ice_cream", "sea_buckthorn_sorbet_too_hard"):
        recipe = example(name)
        assert keep(notebook, recipe).recipe == recipe
        assert kept_version(notebook, recipe.name).recipe == recipe
    assert len(search(notebook)) == 3


def test_saving_onto_a_stale_version_is_refused_and_says_what_to_do(path):
    mine = with_grams(SORBET, sucrose=250.0)
    with open_notebook(path) as one, open_notebook(path) as other:
        assert keep(one, SORBET).number == 1
        assert keep(other, with_grams(SORBET, sucrose=280.0), onto=1, cook="Ida").number == 2
        refused(
            lambda: keep(one, mine, onto=1),
            "version 2 was kept by Ida",
            "after the version 1 that yours was made from",
            f'`formulate compare "{NAME}" 1 2`',
            "--onto 2",
        )
        refused(lambda: keep(one, mine), "in the notebook already", "--onto 2", "recall")
        refused(lambda: keep(one, mine, onto=5), "has no version 5", "The newest is 2")
        refused(lambda: keep(one, example(name="Other"), onto=1), "is not in the notebook")
        assert keep(one, mine, onto=2).number == 3
        assert [version.number for version in history(other, NAME)] == [1, 2, 3]
        assert kept_version(other, NAME, 2).recipe == with_grams(SORBET, sucrose=280.0)


def test_the_same_recipe_again_is_no_new_version(notebook):
    assert keep(notebook, SORBET).number == 1
    assert keep(notebook, with_grams(SORBET, damson=1000)).number == 1  # whole number, same weight
    assert len(history(notebook, NAME)) == 1


def test_threads_that_keep_onto_one_version_let_one_win(path):
    open_notebook(path).close()
    with open_notebook(path) as notebook:
        keep(notebook, SORBET)
    won, lost = [], []

    def work(grams):
        with open_notebook(path) as own:
            try:
                won.append(keep(own, with_grams(SORBET, sucrose=grams), onto=1).number)
            except InputError:
                lost.append(grams)

    threads = [threading.Thread(target=work, args=(200.0 + step,)) for step in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert won == [2] and len(lost) == 7


def test_names_are_found_by_a_part_without_regard_to_case(notebook):
    keep(notebook, SORBET)
    keep(notebook, example(name="Damson granita"))
    assert kept_version(notebook, "  DAMSON   granita ").name == "Damson granita"
    assert kept_version(notebook, "granita").name == "Damson granita"
    refused(lambda: kept_version(notebook, "damson"), "could be 2 recipes", "Damson granita")
    refused(lambda: kept_version(notebook, "damson granitta"), 'Did you mean "damson granita"?')
    refused(lambda: kept_version(notebook, "granita", 4), "has no version 4", "newest is version 1")


def test_search_looks_into_recipes_notes_and_verdicts(notebook):
    filled(notebook)
    for words, names in (
        ("", 2),
        ("season DAMSON", 1),
        ("bay leaf", 1),
        ("gritty", 1),
        ("windy", 1),
        ("ida", 2),
        ("granita", 0),
    ):
        assert len(search(notebook, words)) == names, words
    assert [found.batches for found in search(notebook)] == [1, 1]


def test_comparison_says_which_weights_and_properties_moved(notebook):
    keep(notebook, SORBET)
    changed = with_grams(SORBET, sucrose=270.0, water=585.0)
    changed = replace(
        changed, targets={**changed.targets, "total_solids": changed.targets["sweetness"]}
    )
    keep(notebook, changed, onto=1)
    found = compare(notebook, NAME, 1, 2)
    moved = {row.key: row.after - row.before for row in found.weights if row.has_moved}
    assert moved == {"sucrose": -30.0, "water": 30.0}
    before, after = check(SORBET).mix, check(changed).mix
    rows = {row.key: row for row in found.properties}
    assert rows["sugars"].before == before.properties["sugars"]
    assert rows["sugars"].after == after.properties["sugars"]
    # 30 of 2,000 g of sucrose less are 1.5 % less solids and sugar
    assert rows["total_solids"].after - rows["total_solids"].before == pytest.approx(-1.5)
    assert rows["sugars"].has_moved and not rows["fat"].has_moved
    assert rows["initial_freezing_point_c"].after > rows["initial_freezing_point_c"].before
    places = [place for place, _, _ in found.settings]
    assert places == ["target, total_solids, min", "target, total_solids, max"]
    assert found.per_g == 2000.0 and found.remarks == ()


def test_comparison_of_different_batches_is_per_kilogram(notebook):
    keep(notebook, SORBET)
    keep(notebook, replace(SORBET, batch_g=4000.0), onto=1)
    found = compare(notebook, NAME, 1, 2)
    assert found.per_g == 1000.0 and "per 1,000 g" in sentence(found.remarks[0])
    assert not any(row.has_moved for row in (*found.weights, *found.properties))


def test_comparison_of_a_version_without_weights_balances_it(notebook):
    keep(notebook, SORBET)
    bare = replace(SORBET, ingredients=tuple(replace(e, grams=None) for e in SORBET.ingredients))
    keep(notebook, bare, onto=1)
    found = compare(notebook, NAME, 1, 2)
    assert sentences(found.remarks) == (
        "Version 2 gives no weights: the balanced mix stands for it.",
    )
    assert all(row.after is not None for row in found.weights)


# Batches --------------------------------------------------------------------------------------------


def test_a_batch_keeps_what_was_used_and_can_be_made_again(notebook):
    filled(notebook)
    found = batch(notebook, 1)
    used = {weight.key: weight.grams for weight in found.weights}
    assert used["sucrose"] == 272.0 and used["damson"] == 1000.0 and used["lemon_juice"] == 4.0
    assert (found.version, found.made, found.figures.draw_c) == (2, date(2026, 11, 25), -6.5)
    assert [said.firmness for said in found.verdicts] == [1, 0]
    again = made_recipe(notebook, 1)
    assert again.batch_g == sum(used.values())
    assert {entry.key: entry.grams for entry in again.ingredients} == used
    damson = again.ingredients[0]
    assert damson.lot.reading == 12.4 and damson.brix is None
    assert parse(example_bytes("damson_sorbet"), "").ingredients[0].brix is not None
    half = made_recipe(notebook, 1, again.batch_g / 2)
    assert half.ingredients[0].grams == 500.0 and half.ingredients[0].max_g == damson.max_g / 2
    assert check(half).mix.properties == pytest.approx(check(again).mix.properties, abs=1e-3)


def test_a_batch_of_a_strained_mix_weighs_what_reached_the_churn(notebook):
    filled(notebook)
    again = made_recipe(notebook, 2)
    # 12 g of dried bay leaf keep 4 g of milk each
    assert again.batch_g < sum(entry.grams for entry in again.ingredients) - 12.0


def test_a_reading_in_the_recipe_becomes_a_lot_once(notebook):
    keep(notebook, SORBET)
    for _ in range(2):
        made(notebook, NAME, {})
    assert [lot.reading for lot in lots(notebook).values()] == [11.0]
    assert [found.weights[0].lot for found in batches(notebook)] == [1, 1]


def test_struck_batches_stay_and_teach_nothing(notebook):
    filled(notebook)
    refused(lambda: strike(notebook, 1, " "), "without a reason")
    assert strike(notebook, 1, "other pot").struck == "other pot"
    assert batch(notebook, 1).struck == "other pot"
    recipes = {number: made_recipe(notebook, number) for number in (1, 2)}
    found = learn_kitchen(batches(notebook), recipes, lots(notebook))
    assert [window.verdicts for window in found.windows.values()] == [1]


def test_what_a_notebook_teaches(notebook):
    filled(notebook)
    recipes = {number: made_recipe(notebook, number) for number in (1, 2)}
    found = learn_kitchen(batches(notebook), recipes, lots(notebook))
    window = found.windows[""]
    assert (window.verdicts, window.mixes) == (3, 2)
    (setting,) = found.settings
    assert (setting.step, setting.key, setting.usual) == ("infuse", "bay_leaf", 4.0)
    assert setting.value.value == pytest.approx(4.0, abs=1e-9)  # (1700 - 1652) / 12
    (fruit,) = found.lots
    assert fruit.key == "damson" and fruit.lots == 1
    assert min(12.4, fruit.usual) <= fruit.mean.value <= max(12.4, fruit.usual)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda n: made(n, NAME, {"suger": 3}), ["weight of suger", "neither"]),
        (lambda n: made(n, NAME, {"sucrose": -3}), ["weight of sucrose", "is -3"]),
        (lambda n: made(n, NAME, {"sucrose": float("nan")}), ["is nan"]),
        (lambda n: made(n, NAME, {}, figures=Figures(brix=99.0)), ["brix", "is 99", "85"]),
        (lambda n: made(n, NAME, {}, figures=Figures(draw_c=float("nan"))), ["draw_c", "nan"]),
        (lambda n: made(n, NAME, {}, lots_used={"damson": 7}), ["lot 7 of damson"]),
        (lambda n: made(n, NAME, {}, version=9), ["has no version 9"]),
        (lambda n: made(n, NAME, {}, note="a\x00b"), ["note", "not a letter"]),
        (lambda n: made(n, NAME, {}, cook="x" * 3000), ["cook", "3,000 letters"]),
        (
            lambda n: made(n, NAME, {}, weighings=(Weighing("plum", "sieve", 9.0, 8.0),)),
            ['"plum" is not known here'],
        ),
        (
            lambda n: made(n, NAME, {}, weighings=(Weighing("damson", "sieve", 9.0, 18.0),)),
            ["18 g came out of 9 g"],
        ),
        (
            lambda n: made(n, NAME, {}, weighings=(Weighing("damson", "infuse", 9.0, 8.0),)),
            ["do not fit the step"],
        ),
        (lambda n: verdict(n, 1, Verdict()), ["says nothing"]),
        (lambda n: verdict(n, 1, Verdict(firmness=1)), ["without the temperature"]),
        (lambda n: verdict(n, 1, Verdict(-14.0, 3)), ["firmness", "is 3", "too hard"]),
        (lambda n: verdict(n, 1, Verdict(14.0, 0)), ["is 14", "-30"]),
        (lambda n: verdict(n, 9, Verdict(-14.0, 0)), ["batch 9", "is not in the notebook"]),
        (lambda n: made_recipe(n, 1, -5.0), ["-5 g is no batch"]),
    ],
)
def test_what_cannot_be_is_refused_and_leaves_nothing(call, words, notebook):
    keep(notebook, SORBET)
    made(notebook, NAME, {})
    before = batches(notebook)
    refused(lambda: call(notebook), *words)
    assert batches(notebook) == before


def test_a_version_without_weights_needs_them_from_the_batch(notebook):
    bare = tuple(replace(entry, grams=None) for entry in SORBET.ingredients)
    keep(notebook, replace(SORBET, ingredients=bare))
    refused(lambda: made(notebook, NAME, {"damson": 900.0}), "weight of sucrose", "is not known")


def test_what_is_left_of_a_lot_is_what_came_less_what_batches_took(notebook):
    """6,000 g came; 2,000 of a struck batch count nothing, 1,000 of the other leave 5,000."""
    keep(notebook, SORBET)
    crate = Lot("damson", date=date(2026, 11, 24), reading=12.4, name="crate 7", grams=6000.0)
    later = replace(crate, name="crate 8", use_by=date(2026, 12, 1))
    with notebook.writing() as db:
        number, second = add_lot(db, crate), add_lot(db, later)
        empty = add_lot(db, Lot("damson", name="punnet", grams=500.0, use_by=date(2026, 11, 26)))
    for grams in (1000.0, 2000.0):
        made(notebook, NAME, {"damson": grams}, lots_used={"damson": number})
    by_then = date(2026, 11, 25)
    made(notebook, NAME, {"damson": 500.0}, lots_used={"damson": empty}, on=by_then)
    strike(notebook, 2, "another pot")
    found = stock(notebook, "damson")
    assert [(left.number, left.grams) for left in found] == [
        (second, 6000.0),  # has a day, so it goes first
        (number, 5000.0),
        (empty, 0.0),  # used up: last
    ]
    assert batch(notebook, 1).made_with.startswith("formulate ")
    assert stock(notebook, "plum") == ()


def test_a_batch_of_two_lots_takes_from_both_and_is_their_blend(notebook):
    """1,000 g of which 334 are of the second crate: (666 x 11 + 334 x 15) / 1,000 = 12.336 °Bx."""
    keep(notebook, SORBET)
    with notebook.writing() as db:
        one = add_lot(db, Lot("damson", reading=11.0, grams=700.0))
        other = add_lot(db, Lot("damson", reading=15.0, grams=2600.0))
    more = (FurtherLot("damson", other, 334.0),)
    found = made(notebook, NAME, {}, lots_used={"damson": one}, further=more)
    assert (found.weights[0].lot, found.weights[0].taken_g, found.further) == (one, 666.0, more)
    assert batch(notebook, 1) == found
    assert {left.number: left.grams for left in stock(notebook)} == {one: 34.0, other: 2266.0}
    assert made_recipe(notebook, 1).ingredients[0].lot.reading == pytest.approx(12.336)
    refused(
        lambda: made(
            notebook,
            NAME,
            {},
            lots_used={"damson": one},
            further=(FurtherLot("damson", other, 1001.0),),
        ),
        "taken of damson: is -1",
    )
    refused(
        lambda: made(notebook, NAME, {}, further=(FurtherLot("sucrose", other, 1.0),)),
        f"lot {other} of sucrose",
    )
    assert len(batches(notebook)) == 1


def test_what_is_trimmed_before_the_scale_is_taken_from_the_lot_too(notebook):
    """Peeled and stoned plums, 20 % waste before the scale: 800 g weighed are 1,000 g of the crate."""
    text = """name = "Plum sorbet"\nbatch_g = 1000
[[ingredient]]
key = "plum"\ngrams = 800
steps = [{ do = "peel and stone", waste_percent = 20 }, { do = "weigh" }]
[[ingredient]]
key = "sucrose"\ngrams = 200\n"""
    keep(notebook, parse(text.encode(), "plum"))
    with notebook.writing() as db:
        number = add_lot(db, Lot("plum", grams=3000.0))
    made(notebook, "plum", {}, lots_used={"plum": number})
    assert batch(notebook, 1).weights[0].taken_g == pytest.approx(1000.0)
    assert stock(notebook)[0].grams == pytest.approx(2000.0)


# Earlier versions of the tables ---------------------------------------------------------------------

#: Notebooks as earlier programs wrote them.  Never edit one; add one with each new version.
EARLIER = {
    1: """
CREATE TABLE recipe (id INTEGER PRIMARY KEY, name TEXT NOT NULL, folded TEXT NOT NULL UNIQUE);
CREATE TABLE version (id INTEGER PRIMARY KEY,
            recipe INTEGER NOT NULL REFERENCES recipe (id),
            number INTEGER NOT NULL CHECK (number >= 1),
            kept TEXT NOT NULL, cook TEXT NOT NULL, note TEXT NOT NULL,
            toml TEXT NOT NULL, seal TEXT NOT NULL, made_with TEXT NOT NULL,
            UNIQUE (recipe, number));
CREATE TABLE lot (id INTEGER PRIMARY KEY, key TEXT NOT NULL, supplier TEXT NOT NULL, date TEXT,
            price_per_kg REAL CHECK (typeof(price_per_kg) IN ('real', 'null')),
            reading REAL CHECK (typeof(reading) IN ('real', 'null')),
            scale TEXT NOT NULL,
            temperature_c REAL NOT NULL CHECK (typeof(temperature_c) = 'real'),
            ph REAL CHECK (typeof(ph) IN ('real', 'null')),
            acidity REAL CHECK (typeof(acidity) IN ('real', 'null')),
            acidity_as TEXT NOT NULL);
CREATE TABLE batch (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE,
            version INTEGER NOT NULL REFERENCES version (id),
            made TEXT NOT NULL, cook TEXT NOT NULL, parts INTEGER NOT NULL,
            brix REAL CHECK (typeof(brix) IN ('real', 'null')),
            churn_minutes REAL CHECK (typeof(churn_minutes) IN ('real', 'null')),
            draw_c REAL CHECK (typeof(draw_c) IN ('real', 'null')),
            serving_c REAL CHECK (typeof(serving_c) IN ('real', 'null')),
            overrun_percent REAL CHECK (typeof(overrun_percent) IN ('real', 'null')),
            note TEXT NOT NULL);
CREATE TABLE weight (id INTEGER PRIMARY KEY,
            batch INTEGER NOT NULL REFERENCES batch (id), key TEXT NOT NULL,
            grams REAL NOT NULL CHECK (typeof(grams) = 'real' AND grams >= 0.0),
            lot INTEGER REFERENCES lot (id), UNIQUE (batch, key));
CREATE TABLE verdict (id INTEGER PRIMARY KEY, uid TEXT NOT NULL UNIQUE,
            batch INTEGER NOT NULL REFERENCES batch (id),
            at_c REAL CHECK (typeof(at_c) IN ('real', 'null')),
            firmness INTEGER CHECK (firmness IN (-2, -1, 0, 1, 2)),
            sweetness INTEGER CHECK (sweetness IN (-2, -1, 0, 1, 2)),
            sandy INTEGER NOT NULL CHECK (sandy IN (0, 1)),
            icy INTEGER NOT NULL CHECK (icy IN (0, 1)), note TEXT NOT NULL);
CREATE INDEX batch_by_version ON batch (version);
CREATE INDEX verdict_by_batch ON verdict (batch);
INSERT INTO recipe VALUES (1, 'Pear sorbet', 'pear sorbet');
INSERT INTO version VALUES (1, 1, 1, '2026-01-05T10:00:00+00:00', 'Ada', 'old', 'name = "Pear sorbet"
batch_g = 1000.0
ingredient = [
    { key = "pear", grams = 700.0 },
    { key = "sucrose", grams = 120.0 },
    { key = "water", grams = 180.0 },
]
', 'SEAL', 'formulate 0.1.0');
INSERT INTO lot VALUES
    (1, 'pear', 'Hill', '2026-01-04', 2.5, 13.0, 'brix', 20.0, NULL, NULL, 'citric_acid');
INSERT INTO batch VALUES (1, 'b1', 1, '2026-01-05', 'Ada', 3, 24.0, 12.0, -6.0, -13.0, 20.0, 'good');
INSERT INTO weight VALUES (1, 1, 'pear', 702.0, 1), (2, 1, 'sucrose', 120.0, NULL);
INSERT INTO weight VALUES (3, 1, 'water', 180.0, NULL);
INSERT INTO verdict VALUES (1, 'v1', 1, -13.0, 1, 0, 0, 1, 'firm');
""",
}
EARLIER[2] = (
    EARLIER[1]
    .replace(
        "CREATE INDEX batch_by_version",
        """ALTER TABLE batch ADD COLUMN struck TEXT NOT NULL DEFAULT '';
ALTER TABLE verdict ADD COLUMN cook TEXT NOT NULL DEFAULT '';
CREATE TABLE weighing (id INTEGER PRIMARY KEY,
            batch INTEGER NOT NULL REFERENCES batch (id), key TEXT NOT NULL, step TEXT NOT NULL,
            before_g REAL NOT NULL CHECK (typeof(before_g) = 'real' AND before_g > 0.0),
            after_g REAL NOT NULL CHECK (typeof(after_g) = 'real' AND after_g > 0.0),
            herb_g REAL CHECK (typeof(herb_g) IN ('real', 'null')));
CREATE INDEX weighing_by_batch ON weighing (batch);
CREATE INDEX batch_by_version""",
    )
    .replace("20.0, 'good')", "20.0, 'good', '')")
    .replace("1, 'firm')", "1, 'firm', '')")
)
EARLIER[3] = (
    EARLIER[2]
    .replace(
        "CREATE INDEX weighing_by_batch",
        """ALTER TABLE lot ADD COLUMN name TEXT NOT NULL DEFAULT '';
ALTER TABLE lot ADD COLUMN grams REAL CHECK (typeof(grams) IN ('real', 'null'));
ALTER TABLE lot ADD COLUMN use_by TEXT;
ALTER TABLE weight ADD COLUMN taken_g REAL CHECK (typeof(taken_g) IN ('real', 'null'));
ALTER TABLE batch ADD COLUMN made_with TEXT NOT NULL DEFAULT '';
CREATE INDEX weighing_by_batch""",
    )
    .replace("'citric_acid')", "'citric_acid', '', NULL, NULL)")
    .replace("702.0, 1)", "702.0, 1, NULL)")
    .replace("120.0, NULL)", "120.0, NULL, NULL)")
    .replace("180.0, NULL)", "180.0, NULL, NULL)")
    .replace("'good', '')", "'good', '', '')")
)
EARLIER[4] = EARLIER[3].replace(
    "CREATE INDEX weighing_by_batch",
    """CREATE TABLE further (id INTEGER PRIMARY KEY, batch INTEGER NOT NULL REFERENCES batch (id), \
key TEXT NOT NULL, lot INTEGER NOT NULL REFERENCES lot (id), \
taken_g REAL NOT NULL CHECK (typeof(taken_g) = 'real'));
INSERT INTO lot VALUES (2, 'pear', 'Hill', '2026-01-04', 2.5, 11.0, 'brix', 20.0, NULL, NULL,
    'citric_acid', 'crate', 900.0, NULL);
INSERT INTO further VALUES (1, 1, 'pear', 2, 200.0);
CREATE INDEX weighing_by_batch""",
)


def write_earlier(path, version):
    """Write the notebook of an earlier version; the seal is that of the text, by hand."""
    import hashlib

    script = EARLIER[version]
    toml = script.split("'old', '")[1].split("', 'SEAL'")[0]
    script = script.replace("SEAL", hashlib.sha256(toml.encode()).hexdigest())
    with closing(sqlite3.connect(path)) as db:
        db.executescript(script)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute(f"PRAGMA user_version = {version}")


def test_there_is_an_example_of_every_earlier_version():
    assert sorted(EARLIER) == list(range(1, SCHEMA_VERSION))


@pytest.mark.parametrize("version", EARLIER)
def test_an_earlier_notebook_is_brought_up_to_date(version, path):
    write_earlier(path, version)
    with open_notebook(path) as notebook:
        (kept,) = history(notebook, "pear")
        assert (kept.cook, kept.note, kept.recipe.batch_g) == ("Ada", "old", 1000.0)
        (found,) = batches(notebook)
        assert [weight.grams for weight in found.weights] == [702.0, 120.0, 180.0]
        assert (found.struck, found.weighings, found.figures.churn_minutes) == ("", (), 12.0)
        assert (found.made_with, found.weights[0].taken_g) == ("", None)
        left, *more = sorted(stock(notebook), key=lambda each: each.number)
        assert [each.grams for each in more] == [700.0] * (version == 4)  # 200 of 900 g are used
        assert (left.lot.name, left.lot.use_by, left.grams, left.is_there) == ("", None, None, True)
        (said,) = found.verdicts
        assert (said.at_c, said.firmness, said.icy, said.cook) == (-13.0, 1, True, "")
        made(notebook, "pear", {}, weighings=(Weighing("pear", "sieve", 700.0, 620.0),))
        strike(notebook, 1, "tried")
    assert examine(path).faults == ()
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
    (copy,) = [each for each in backups_of(path) if each.why == f"version-{version}"]
    with closing(sqlite3.connect(copy.path)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (version,)
        assert db.execute("SELECT count(*) FROM weight").fetchone() == (3,)


@pytest.mark.parametrize("version", EARLIER)
def test_an_earlier_notebook_is_examined_and_saved_without_being_changed(version, path, tmp_path):
    write_earlier(path, version)
    before = path.read_bytes()
    assert examine(path).faults == ()
    found = rescue(path, tmp_path / "saved")
    assert len(found.versions) == len(found.batches) == found.verdicts == 1
    assert path.read_bytes() == before


def test_the_tables_are_told_on_the_first_page(path):
    """So that a file which was cut off after it can still be read."""
    open_notebook(path).close()
    with closing(sqlite3.connect(path)) as db:
        statements = [sql for (sql,) in db.execute("SELECT sql FROM sqlite_master") if sql]
        size = db.execute("PRAGMA page_size").fetchone()[0]
    page = path.read_bytes()[:size]
    assert all(sql.encode() in page for sql in statements)


def test_a_newer_notebook_is_left_alone(path):
    open_notebook(path).close()
    with closing(sqlite3.connect(path)) as db:
        db.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    before = path.read_bytes()
    for call in (lambda: open_notebook(path), lambda: examine(path)):
        refused(call, f"version {SCHEMA_VERSION + 1}", "newer formulate")
    assert path.read_bytes() == before


def test_several_may_open_an_earlier_notebook_at_once(path):
    write_earlier(path, 1)
    faults = []

    def work():
        try:
            with open_notebook(path) as notebook:
                assert len(batches(notebook)) == 1
        except Exception as error:
            faults.append(error)

    threads = [threading.Thread(target=work) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []


# What is no notebook --------------------------------------------------------------------------------


def test_the_notebook_lies_where_the_system_keeps_such_data(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert default_path() == tmp_path / "data" / "formulate" / "notebook.sqlite3"
    refused(lambda: open_notebook(create=False), "there is no notebook yet", "formulate keep")
    assert not (tmp_path / "data").exists()
    open_notebook().close()
    assert default_path().is_file()


def test_files_that_are_no_notebook_are_left_alone(tmp_path):
    text = tmp_path / "recipe.toml"
    text.write_bytes(example_bytes("damson_sorbet"))
    other = tmp_path / "other.sqlite3"
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE songs (title TEXT)")
    foreign = tmp_path / "foreign.sqlite3"
    open_notebook(foreign).close()
    with closing(sqlite3.connect(foreign)) as db:
        db.execute("CREATE TRIGGER bad AFTER INSERT ON verdict BEGIN DELETE FROM weight; END")
    for file, words in (
        (text, "is not a notebook"),
        (other, "file of another program"),
        (foreign, "its tables are not as this program makes them"),
    ):
        before = file.read_bytes()
        refused(lambda file=file: open_notebook(file), file.name, words)
        assert file.read_bytes() == before
    refused(lambda: open_notebook(tmp_path), "is a folder")
    refused(lambda: open_notebook(tmp_path / "no" / "n"), "its folder does not exist")
    refused(lambda: open_notebook(tmp_path / "n", create=False), "there is no notebook yet")
    refused(lambda: open_notebook(Path("a\0b")), "is not a file name")


def test_a_full_disk_is_one_sentence_and_nothing_is_changed(notebook):
    keep(notebook, SORBET)
    with notebook.reading() as db:
        pages = db.execute("PRAGMA page_count").fetchone()[0]
    notebook._connection.execute(f"PRAGMA max_page_count = {pages}")
    large = with_grams(SORBET)
    large = replace(
        large,
        ingredients=(
            *large.ingredients,
            *(
                replace(
                    large.ingredients[0],
                    key=f"own_{index}",
                    brix=None,
                    composition={"water": 100.0},
                )
                for index in range(200)
            ),
        ),
    )
    refused(lambda: keep(notebook, large, onto=1), "no room left on its disk", "Make room")
    assert [version.number for version in history(notebook, NAME)] == [1]
    made(notebook, NAME, {})
    assert len(batches(notebook)) == 1


def test_another_who_does_not_end_is_one_sentence(path):
    with open_notebook(path) as one, open_notebook(path, patience_s=0.1) as other:
        keep(one, SORBET)
        with one.writing():
            refused(lambda: made(other, NAME, {}), "someone else is writing", "Try again")
            assert len(history(other, NAME)) == 1  # reading goes on
        made(other, NAME, {})


@pytest.fixture
def locked():
    """A notebook in a folder that cannot be written; root, whom no folder stops, steps down."""
    folder = Path(tempfile.mkdtemp())
    path = folder / "notebook.sqlite3"
    with open_notebook(path) as notebook:
        keep(notebook, SORBET)
    path.chmod(0o444)
    folder.chmod(0o555)
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    yield folder, path
    if root:
        os.seteuid(0)
    folder.chmod(stat.S_IRWXU)
    shutil.rmtree(folder)


def test_a_notebook_that_cannot_be_written_is_read(locked):
    folder, path = locked
    refused(lambda: open_notebook(folder / "new.sqlite3"), "cannot be written", "--notebook")
    with open_notebook(path) as notebook:
        (remark,) = notebook.remarks
        assert "opened for reading" in remark
        assert kept_version(notebook, NAME).recipe == SORBET
        refused(lambda: made(notebook, NAME, {}), "cannot be written", "nothing was changed")
    assert examine(path).faults == ()
    assert [found.name for found in folder.iterdir()] == ["notebook.sqlite3"]


# Plain files ----------------------------------------------------------------------------------------


def contents(notebook):
    names = [found.newest.name for found in search(notebook)]
    return [history(notebook, name) for name in names], batches(notebook), lots(notebook)


def test_everything_goes_out_and_comes_in_again(notebook, tmp_path):
    filled(notebook)
    strike(notebook, 2, "=tried")
    export_notebook(notebook, tmp_path / "out")
    with open_notebook(tmp_path / "copy.sqlite3") as copy:
        new = import_notebook(copy, tmp_path / "out")
        assert (len(new.versions), len(new.batches)) == (3, 2)
        assert contents(copy) == contents(notebook)
        again = import_notebook(copy, tmp_path / "out")
        assert (len(again.versions), len(again.batches)) == (0, 0)
        assert contents(copy) == contents(notebook)
        export_notebook(copy, tmp_path / "again")
    for file in (tmp_path / "out").rglob("*.*"):
        assert (
            tmp_path / "again" / file.relative_to(tmp_path / "out")
        ).read_bytes() == file.read_bytes()
    for file in (tmp_path / "out" / "recipes").iterdir():
        assert parse(file.read_bytes(), file.name).ingredients


def test_an_export_of_an_earlier_program_is_taken_in(notebook, tmp_path):
    """Without the columns that came with version 3 of the tables."""
    filled(notebook)
    export_notebook(notebook, tmp_path / "out")
    gone = {
        "lots": {"name", "grams", "use_by", "uid"},
        "batches": {"made_with"},
        "weights": {"taken_g"},
    }
    for name, columns in gone.items():
        file = tmp_path / "out" / f"{name}.csv"
        with file.open(encoding="utf-8-sig", newline="") as sheet:
            rows = list(csv.DictReader(sheet))
        kept = [column for column in rows[0] if column not in columns]
        with file.open("w", encoding="utf-8-sig", newline="") as sheet:
            writer = csv.DictWriter(sheet, kept, extrasaction="ignore")
            writer.writeheader()
            writer.writerows(rows)
    (tmp_path / "out" / "further.csv").unlink()
    about = tmp_path / "out" / "notebook.toml"
    about.write_text(about.read_text().replace("further = 1\n", ""))
    with open_notebook(tmp_path / "other.sqlite3") as other:
        import_notebook(other, tmp_path / "out")
        lot = lots(other)[1]
        assert lot == Lot("damson", "@Hill Orchard", date(2026, 11, 24), 3.2, 12.4)
        assert [b.made_with for b in batches(other)] == ["", ""]
        assert [b.further for b in batches(other)] == [(), ()]
        assert [b.verdicts for b in batches(other)] == [b.verdicts for b in batches(notebook)]


def test_no_cell_is_a_formula_and_numbers_stay_numbers(notebook, tmp_path):
    filled(notebook)
    export_notebook(notebook, tmp_path / "out")
    cells = []
    for file in (tmp_path / "out").glob("*.csv"):
        with file.open(encoding="utf-8-sig", newline="") as sheet:
            rows = list(csv.DictReader(sheet))
        for row in rows:
            for name, cell in row.items():
                cells.append((name, cell))
                if cell.startswith(tuple("=+-@\t\r")):
                    assert float(cell) < 0.0, (file.name, name, cell)
    assert ("note", "'=1+1") in cells and ("supplier", "'@Hill Orchard") in cells
    assert ("note", "'-5 °C in the room\tand\nwindy") in cells and ("cook", "''Ida") in cells
    assert ("draw_c", "-6.5") in cells and ("firmness", "1") in cells


def test_two_kitchens_merge(notebook, tmp_path):
    filled(notebook)
    export_notebook(notebook, tmp_path / "out")
    with open_notebook(tmp_path / "other.sqlite3") as other:
        keep(other, example(name="Plum sorbet"))
        made(other, "plum", {})
        new = import_notebook(other, tmp_path / "out")
        assert [found.number for found in new.batches] == [2, 3]  # number 1 was taken
        assert batch(other, 1).name == "Plum sorbet"
        assert batch(other, 2).weights[0].grams == 1000.0
        verdict(notebook, 1, Verdict(-11.0, 0))
        export_notebook(notebook, tmp_path / "later")
        import_notebook(other, tmp_path / "later")
        assert [len(batch(other, number).verdicts) for number in (1, 2, 3)] == [0, 3, 1]


def test_another_recipe_of_the_same_name_and_number_is_refused(notebook, tmp_path):
    filled(notebook)
    export_notebook(notebook, tmp_path / "out")
    with open_notebook(tmp_path / "other.sqlite3") as other:
        keep(other, with_grams(SORBET, sucrose=1.0))
        refused(
            lambda: import_notebook(other, tmp_path / "out"),
            "version 1",
            "another recipe",
            "nothing",
        )
        assert len(search(other)) == 1 and batches(other) == ()


def test_exports_do_not_overwrite(notebook, tmp_path):
    filled(notebook)
    (tmp_path / "out").mkdir()
    export_notebook(notebook, tmp_path / "out")
    before = sorted(file.name for file in tmp_path.rglob("*"))
    refused(lambda: export_notebook(notebook, tmp_path / "out"), "is there already")
    refused(lambda: export_notebook(notebook, tmp_path / "notebook.sqlite3"), "is there already")
    refused(lambda: export_notebook(notebook, Path("/proc/out")), "cannot be written")
    assert sorted(file.name for file in tmp_path.rglob("*")) == before


@pytest.mark.parametrize(
    ("file", "old", "new", "words"),
    [
        ("versions.csv", ",0001-", ",../../0001-", ["is not a file of the export"]),
        ("versions.csv", ",0001-", ",/etc/", ["is not a file of the export"]),
        ("versions.csv", "0001-", "0009-", ["cannot be read"]),
        ("versions.csv", "°Bx", "Bx", ["its file is of"]),
        ("weights.csv", "272.0", "=272", ["weights.csv, row", "grams", "not a number"]),
        ("weights.csv", "272.0", "nan", ["not a number"]),
        ("weights.csv", "272.0", "-1.0", ["-1"]),
        ("weights.csv", "272.0", "", ["not a number"]),
        ("weights.csv", "batch,key", "batch,kei", ["has not the columns batch, key"]),
        ("weights.csv", "1,sucrose,272.0,,\r\n", "", ["rows, and was written with"]),
        ("weights.csv", "1,sucrose", "77,sucrose", ["batch 77", "not in batches.csv"]),
        ("batches.csv", "2026-11-25", "25/11/2026", ["made", "'25/11/2026'", "2026-11-25"]),
        ("batches.csv", ",2,2026", ",8,2026", ["version 8", "not kept"]),
        ("verdicts.csv", "-12.0,1,", "-12.0,9,", ["firmness", "is 9"]),
        ("verdicts.csv", "-12.0,1,", "-12.0,1.5,", ["firmness", "'1.5'"]),
        ("lots.csv", "12.4", "124.0", ["reading", "124"]),
        ("notebook.toml", "rows", "raws", ["is not what an export writes"]),
        ("recipes/0001", 'key = "damson"', 'kei = "damson"', ["recipes/0001", "key: is missing"]),
    ],
)
def test_a_folder_that_is_no_whole_export_is_refused(file, old, new, words, notebook, tmp_path):
    filled(notebook)
    export_notebook(notebook, tmp_path / "out")
    (target,) = (tmp_path / "out").glob(f"{file}*")
    text = target.read_bytes().decode("utf-8")
    assert old in text
    target.write_bytes(text.replace(old, new, 1).encode("utf-8"))
    with open_notebook(tmp_path / "other.sqlite3") as other:
        refused(lambda: import_notebook(other, tmp_path / "out"), *words)
        assert contents(other) == ([], (), {})


def test_a_printed_page_runs_nothing(notebook):
    recipe = example(name="<script>alert(1)</script> & sorbet")
    keep(notebook, recipe, cook="<b>Ada</b>")
    made(notebook, recipe.name, {}, note="<img src=x>")
    page = notebook_html([printed_recipe(history(notebook, recipe.name), batches(notebook))])
    assert "<script" not in page and "<img" not in page and "<b>" not in page
    assert "&lt;script&gt;alert(1)" in page and "Damsons, stoned" in page


# Damage ---------------------------------------------------------------------------------------------


def test_a_letter_that_changed_is_found(notebook, path, tmp_path):
    filled(notebook)
    notebook.close()
    data = path.read_bytes()
    # the weight of sugar in the text of version 2, in a page and not in its structure
    assert data.count(b"grams = 270.0") == 1
    path.write_bytes(data.replace(b"grams = 270.0", b"grams = 370.0"))
    refused(lambda: open_notebook(path), "Version 2 is not as it was written", "--damaged")
    assert any("changed since it was kept" in fault for fault in examine(path).faults)
    found = rescue(path, tmp_path / "saved")
    # the batch of the lost version comes with a recipe of its own weights
    assert [version.name for version in found.versions] == [
        NAME,
        "Bay leaf ice cream base",
        "Batch 1, its recipe lost",
    ]
    with open_notebook(tmp_path / "new.sqlite3") as new:
        import_notebook(new, tmp_path / "saved")
        assert [weight.grams for weight in batch(new, 1).weights][:2] == [1000.0, 272.0]
        assert made_recipe(new, 1).batch_g == pytest.approx(1976.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("UPDATE lot SET reading = 13.4 WHERE id = 1", "Lot 1 is not as it was written"),
        ("UPDATE weight SET grams = 872.0 WHERE id = 1", "Batch 1 is not as it was written"),
        ("UPDATE batch SET made = '2066-11-25' WHERE id = 1", "Batch 1 is not as"),
        ("UPDATE verdict SET firmness = 0 WHERE id = 1", "Verdict 1 is not as it was written"),
        ("UPDATE version SET cook = 'Bea' WHERE id = 1", "Version 1 is not as it was written"),
        ("UPDATE recipe SET name = 'Plum' WHERE id = 1", "Recipe 1 is not as it was written"),
        ("DELETE FROM verdict WHERE id = 3", "Verdict 3 was removed"),
        ("DELETE FROM seal WHERE id = 4", "Entry 4 is missing from the chain"),
        ("DELETE FROM seal WHERE id = 11; DELETE FROM verdict WHERE id = 3", "is missing from the chain"),
        ("UPDATE verdict SET id = 9 WHERE id = 1; UPDATE verdict SET id = 1 WHERE id = 2; "
         "UPDATE verdict SET id = 2 WHERE id = 9", "Verdict 1 is not as it was written"),
        ("UPDATE seal SET id = 99 WHERE id = 2; UPDATE seal SET id = 2 WHERE id = 3; "
         "UPDATE seal SET id = 3 WHERE id = 99", "Entry 2 breaks the chain"),
        ("INSERT INTO verdict VALUES (9, 'x', 1, NULL, NULL, NULL, 1, 0, '', '')", "under no seal"),
    ],
)  # fmt: skip
def test_what_was_changed_removed_or_moved_is_told(change, words, notebook, path, tmp_path):
    filled(notebook)
    notebook.close()
    with closing(sqlite3.connect(path)) as db, db:
        db.executescript(f"PRAGMA foreign_keys = OFF; {change}")
    refused(lambda: open_notebook(path), "is damaged", words)
    assert any(words in fault for fault in examine(path).faults)
    found = rescue(path, tmp_path / "saved")
    assert (tmp_path / "saved" / "faults.txt").read_text().splitlines() == list(found.faults)


def test_two_equal_deliveries_of_a_day_are_two_lots(notebook, tmp_path):
    """1,000 g came twice; a batch of 1,000 g uses up the one that it names, and not the other."""
    keep(notebook, SORBET)
    crate = Lot("damson", "Hill", date(2026, 11, 24), grams=1000.0)
    numbers = [delivered(notebook, crate).number for _ in range(2)]
    assert numbers == [1, 2]
    made(notebook, NAME, {"damson": 1000.0}, lots_used={"damson": 1})
    assert {left.number: left.grams for left in stock(notebook)} == {1: 0.0, 2: 1000.0}
    export_notebook(notebook, tmp_path / "out")
    with open_notebook(tmp_path / "other.sqlite3") as other:
        for _ in range(2):  # the second time nothing is new
            import_notebook(other, tmp_path / "out")
            assert stock(other) == stock(notebook)


def test_a_recipe_that_names_its_lot_takes_the_delivery_of_which_something_is_left(notebook):
    crate = Lot("damson", "Hill", date(2026, 11, 24), grams=1000.0)
    first, *rest = SORBET.ingredients
    entry = replace(first, lot=crate, brix=None, grams=600.0)
    keep(notebook, replace(SORBET, ingredients=(entry, *rest)))
    for _ in range(2):
        delivered(notebook, crate)
    for _ in range(4):
        made(notebook, NAME, {})
    lots_used = [found.weights[0].lot for found in batches(notebook)]
    assert lots_used == [1, 1, 2, 2]


@pytest.mark.parametrize(
    ("note", "words"),
    [
        (lambda n, s: made(n, NAME, {}, on=date(2126, 1, 1), sure=s), "still to come"),
        (lambda n, s: made(n, NAME, {}, lots_used={"damson": 1}, on=date(2026, 11, 23), sure=s),
         "came in on 2026-11-24, after the batch of 2026-11-23"),
        (lambda n, s: made(n, NAME, {}, lots_used={"damson": 1}, on=date(2026, 11, 27), sure=s),
         "to be used by 2026-11-26, before the batch"),
        (lambda n, s: delivered(n, Lot("plum", date=date(2126, 1, 1)), sure=s), "still to come"),
        (lambda n, s: delivered(n, Lot("plum", use_by=date(2020, 1, 1)), sure=s), "past its use-by"),
    ],
)  # fmt: skip
def test_unlikely_days_are_asked_about(note, words, notebook):
    keep(notebook, SORBET)
    delivered(notebook, Lot("damson", date=date(2026, 11, 24), use_by=date(2026, 11, 26)))
    with pytest.raises(Doubt, match=words) as error:
        note(notebook, False)
    assert "--yes" in str(error.value)
    assert len(batches(notebook)) == 0 and len(stock(notebook)) == 1
    note(notebook, True)
    assert len(batches(notebook)) + len(stock(notebook)) > 1


def test_a_batch_that_lost_weights_is_found_and_struck(notebook, path, tmp_path):
    filled(notebook)
    notebook.close()
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM weight WHERE batch = 1 AND key = 'sucrose'")
    assert examine(path).faults == (
        "Batch 1 is not as it was written.",
        "Batch 1 has 6 of its 7 weights.",
    )
    found = rescue(path, tmp_path / "saved")
    assert "lost" in found.batches[0].struck and found.batches[1].struck == ""


@pytest.mark.parametrize("lost", ["x''", "7"])
def test_a_verdict_of_which_a_part_is_lost_leaves_its_batch(notebook, path, tmp_path, lost):
    filled(notebook)
    notebook.close()
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute(f"UPDATE verdict SET icy = {lost} WHERE id = 1")
        (number,) = db.execute("SELECT batch FROM verdict WHERE id = 1").fetchone()
    with closing(sqlite3.connect(path)) as db:
        (noted,) = db.execute("SELECT count(*) FROM verdict").fetchone()
    assert "Verdict 1 is not as it was written." in examine(path).faults
    found = rescue(path, tmp_path / "saved")
    assert found.verdicts == noted - 1
    with open_notebook(tmp_path / "new.sqlite3") as new:
        import_notebook(new, tmp_path / "saved")
        assert len(batches(new)) == len(found.batches) >= number


# Commands -------------------------------------------------------------------------------------------


@pytest.fixture
def run(path, capsys):
    def command(*words):
        code = main([*map(str, words), "--notebook", str(path)])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return command


def test_a_day_with_the_notebook(run, path, tmp_path):
    assert run("history") == (
        2,
        "",
        f"formulate: {path}: there is no notebook yet. Begin one by "
        "keeping a recipe: `formulate keep damson_sorbet`. If there was one, bring back its last copy: "
        "`formulate notebook restore`.\n",
    )
    kept = run("keep", "damson_sorbet", "--cook", "Ada")[1]
    which = "Of the mix as it stands, which misses sweetness."
    assert kept == f"{NAME}: kept as version 1.\n{which}\n"
    code, out, _ = run("recall", "damson")
    changed = tmp_path / "changed.toml"
    changed.write_text(out.replace("grams = 300.0", "grams = 270.0"), encoding="utf-8")
    code, _, err = run("keep", changed)
    assert code == 2 and "--onto 1" in err
    assert run("keep", changed, "--onto", 1, "--note", "less sugar")[0] == 0
    code, out, _ = run("compare", "damson", 1, 2)
    assert "Sugar (sucrose)" in out and "-30.0" in out
    code, out, _ = run("notebook", "lot", "damson", "--reading", "12.4", "--supplier", "Hill")
    assert out.startswith("Lot 1: Damsons, stoned, supplier Hill, reading 12.4")
    delivery = [
        "--name",
        "crate 7",
        "--grams",
        6000,
        "--date",
        "2026-11-24",
        "--use-by",
        "2026-12-01",
    ]
    run("notebook", "lot", "damson", *delivery)
    code, out, _ = run("notebook", "lots", "damson", "--on", "2026-11-25")
    assert out.splitlines()[0] == (
        "Lot 2: Damsons, stoned, date 2026-11-24, name crate 7, grams 6000.0, use by 2026-12-01; "
        "6,000 g left"
    )
    assert "PAST ITS USE-BY" in run("notebook", "lots", "--on", "2026-12-02")[1]
    made_words = [
        "--weights",
        "sucrose=272",
        "--lots",
        "damson=1",
        "--reads",
        27.1,
        "--served",
        -12,
    ]
    code, out, _ = run("made", "damson", *made_words, "--weighed", "damson:sieve=1180:1000")
    assert code == 0 and "272.0 g" in out and "lot 1" in out and "served at -12 °C" in out
    code, out, _ = run("made", "damson", "--lots", "damson=2+1:250")
    assert code == 0 and "lot 2 + 250 g of lot 1" in out
    run("notebook", "strike", 2, "--why", "tried")
    code, out, _ = run("verdict", 1, "--firmness", "-1", "--icy", "--cook", "Ida")
    assert "Verdict: rather soft at -12 °C, icy (Ida)." in out
    code, out, _ = run("history", "damson")
    assert "Version 2" in out and "less sugar" in out and "rather soft" in out
    code, out, _ = run("repeat", 1, "--grams", 1000)
    assert parse(out.encode(), "repeat").batch_g == 1000.0
    code, out, _ = run("learned")
    assert "just right, from 1 verdict on 1 mix" in out and "Damsons, stoned, sieve" in out
    assert "from 1 lot." in out
    assert (
        "is whole: 2 versions of recipes, 2 lots, 2 batches and 1 verdict"
        in run("notebook", "check")[1]
    )
    assert run("notebook", "print", tmp_path / "page.html")[0] == 0
    assert run("notebook", "export", tmp_path / "out")[0] == 0
    again = run("notebook", "import", tmp_path / "out")
    assert again[1] == "Taken in as new: versions of recipes 0, batches 0.\n"
    assert "STRUCK: mistake" in run("notebook", "strike", 1, "--why", "mistake")[1]


def test_plain_data_of_every_command(run, tmp_path):
    run("keep", "damson_sorbet")
    run("made", "damson")
    run("verdict", 1, "--firmness", 0, "--at", "-12")
    for words in (
        ["keep", "damson_sorbet"],
        ["history"],
        ["history", "plum"],
        ["recall", "damson"],
        ["compare", "damson", 1, 1],
        ["made", "damson"],
        ["verdict", 1, "--sandy"],
        ["repeat", 1],
        ["learned"],
        ["notebook", "lots"],
        ["notebook", "lot", "plum", "--reading", 14],
        ["notebook", "check"],
        ["notebook", "print", tmp_path / "page.html"],
        ["notebook", "export", tmp_path / "out"],
        ["notebook", "import", tmp_path / "out"],
        ["notebook", "export", tmp_path / "saved", "--damaged"],
        ["notebook", "strike", 1, "--why", "mistake"],
    ):
        code, out, err = run(*words, "--json")
        assert (code, err) == (0, ""), words
        assert json.loads(out) is not None


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["made", "damson", "--weights", "sucrose"], '"sucrose" is not KEY=VALUE'),
        (["made", "damson", "--weights", "sucrose=x"], '"x" is not a number'),
        (["made", "damson", "--weights", "water=1", "water=2"], "water is given twice"),
        (["made", "damson", "--weighed", "damson:sieve=3"], "neither BEFORE:AFTER"),
        (["made", "damson", "--lots", "damson=1+2"], "does not say how much"),
        (["made", "damson", "--lots", "damson=1+2:x"], '"x" is not a number'),
        (["made", "damson", "--on", "yesterday"], "'yesterday', not a day"),
        (["made", "fig"], "no recipe of the notebook is called so"),
        (["verdict", "1", "--firmness", "0"], "batch 1"),
        (["compare", "damson", "1", "2"], "has no version 2"),
        (["notebook", "lot", "damson", "--reading", "-3"], "reading"),
        (["notebook", "lot", "damson", "--grams", "0"], "grams: is 0"),
        (["notebook", "lot", "damson", "--use-by", "friday"], "'friday', not a date"),
        (
            ["notebook", "lot", "damson", "--date", "2026-11-24", "--use-by", "2026-11-23"],
            "before it came in",
        ),
        (["notebook", "import", "nowhere"], "nowhere/notebook.toml: cannot be read"),
        (["notebook", "strike", "4", "--why", "x"], "batch 4"),
    ],
)
def test_wrong_use_is_one_sentence(words, sentence, run):
    run("keep", "damson_sorbet")
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert sentence in err
    assert len(err.strip().splitlines()) == 1


def test_a_damaged_notebook_is_told_by_check(run, path, tmp_path):
    run("keep", "damson_sorbet")
    data = path.read_bytes()
    path.write_bytes(data.replace(b"grams = 300.0", b"grams = 301.0"))
    code, out, _ = run("notebook", "check")
    assert code == 1 and "is damaged" in out and "--damaged" in out
    assert run("notebook", "export", tmp_path / "out")[0] == 2
    code, _, err = run("notebook", "export", tmp_path / "out", "--damaged")
    assert code == 2 and "nothing in this notebook can be read any more" in err
