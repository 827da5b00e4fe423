"""Diagnosis by stories, on pots that are cooked wrong by chance and measured as a cook would.

The pots are made whole here, from compositions and not from what the engine foretells: every weight and
lot is drawn, the mishap is done to them, and the reading is that of what is in the pot.  How often what
happens is read from ``mishaps.csv`` by this file alone.
"""

from __future__ import annotations

import csv
import itertools
from dataclasses import replace

import numpy as np
import pytest

from formulate.answers import Evidence, correct, diagnose, put_right
from formulate.answers.diagnosis import diagnosis_of, foretellings, noted_in
from formulate.data import data_folder
from formulate.data.examples import example_bytes, example_names
from formulate.errors import InputError
from formulate.ingredients import COMPONENT_KEYS, Lot, brix_of, position, with_reading
from formulate.mix import lot_doubts, mixture, prepared_row, reading_of, unread_deviation
from formulate.recipes import Recipe, RecipeIngredient, parse

READ, WEIGHED = (
    0.2,
    0.005,
)  # °Bx, and of the pot's weight: what the engine takes where nothing is said
HAND = 0.01  # of a weight; common practice, no source
PLANTED, FEWER = 1_200, 500

OWN = {
    "lemon sorbet": {"lemon_juice": 180, "water": 520, "sucrose": 210, "dextrose_monohydrate": 90},
    "strawberry sorbet": {
        "strawberry": 1200,
        "sucrose": 330,
        "glucose_powder_de30": 100,
        "water": 360,
        "lemon_juice": 40,
        "locust_bean_gum": 6,
    },
    "syrup": {"sucrose": 1300, "water": 1000},
    "plain base": {
        "whole_milk": 1300,
        "cream_35": 300,
        "skim_milk_powder": 80,
        "sucrose": 280,
        "dextrose_monohydrate": 60,
    },
}


def of_weights(name, grams):
    entries = tuple(RecipeIngredient(key, grams=each) for key, each in grams.items())
    return Recipe(name, sum(grams.values()), entries)


def recipes():
    return [parse(example_bytes(name), name) for name in example_names()] + [
        of_weights(name, grams) for name, grams in OWN.items()
    ]


def chances():
    with (data_folder() / "mishaps.csv").open(encoding="utf-8", newline="") as file:
        return {row["mishap"]: row for row in csv.DictReader(file)}


def swapped(grams, pair):
    """The weights with two of them changed for each other."""
    found = grams.copy()
    found[list(pair)] = grams[list(pair[::-1])]
    return found


class Kitchen:
    """A recipe that is cooked many times, wrongly as often as the table assumes."""

    def __init__(self, recipe):
        self.mix = mixture(recipe)
        self.noted = noted_in(self.mix, None)
        self.foretold = foretellings(self.mix, self.noted)
        self.doubts = [lot_doubts(self.mix, index) for index in range(len(self.noted))]
        self.read = [
            index
            for index, entry in enumerate(recipe.ingredients)
            if reading_of(entry) is not None
            or unread_deviation(entry.key, self.mix.raw[index]) > 0.0
        ]
        count = range(len(self.noted))
        one, tare = np.diag(self.noted), float(chances()["tare_left"]["high"])
        self.about = {
            "as_planned": [()],
            "boiled_off": [()],
            "misread": [()],
            "other_lot": [(i,) for i in self.read],
            "forgotten": [(i,) for i in count if self.can_be(self.noted - one[i])],
            "weighed_twice": [(i,) for i in count if self.can_be(self.noted + one[i])],
            "tare_left": [
                (i,)
                for i in count
                if self.noted[i] > 100.0
                and self.can_be(self.noted - one[i] * min(1.0, tare / self.noted[i]))
            ],
            "swapped": [
                (i, j)
                for i, j in itertools.combinations(count, 2)
                if self.noted[i] != self.noted[j] and self.can_be(swapped(self.noted, (i, j)))
            ],
        }

    def can_be(self, grams):
        """Whether there is a pot at all: a herb that is strained takes liquid with it."""
        total = grams @ self.mix.compositions
        return total[position("water")] >= 0.0 and total[: len(COMPONENT_KEYS)].sum() > 0.0

    def cook(self, random, mishap, about, low, high):
        """Return what the pot weighs and reads, and by how much its first reading is off."""
        grams, rows = self.noted.copy(), self.mix.compositions.copy()
        steam = off = 0.0
        if mishap == "forgotten":
            grams[about[0]] = 0.0
        elif mishap == "weighed_twice":
            grams[about[0]] *= 2.0
        elif mishap == "swapped":
            grams = swapped(grams, about)
        elif mishap == "tare_left":
            grams[about[0]] -= random.uniform(low, min(high, grams[about[0]]))
        elif mishap == "misread":
            off = random.uniform(low, high)
        elif mishap == "boiled_off":
            steam = random.uniform(low, high) / 100.0
        elif mishap == "other_lot":
            raw = self.mix.raw[about[0]]
            while True:
                try:
                    lot = with_reading(raw, brix_of(raw) + random.uniform(low, high))
                    break
                except InputError:
                    continue
            rows[about[0]] = prepared_row(self.mix, about[0], lot)
        for index, found in enumerate(self.doubts):
            for _, change in found:
                rows[index] = rows[index] + random.standard_normal() * change
        scale = self.mix.recipe.scale
        step = np.where(self.noted < scale.fine_below_g, scale.fine_step_g, scale.step_g)
        grams = grams * (1.0 + HAND * random.standard_normal(len(grams)))
        grams = np.maximum(grams + random.uniform(-0.5, 0.5, len(grams)) * step * (grams > 0), 0.0)
        total = grams @ rows
        mass = total[: len(COMPONENT_KEYS)].sum() / 100.0
        if steam:
            planned = (self.noted @ self.mix.compositions)[: len(COMPONENT_KEYS)].sum() / 100.0
            total[position("water")] -= 100.0 * steam * planned
            mass -= steam * planned
        return mass, brix_of(total), off


def cooked(count, seed, as_often=True, weighed=True, read_again=False):
    """Cook pots and diagnose each: the true mishap and what it is about, and the diagnosis.

    Each mishap as often as the table assumes, or, to see enough of every one, all equally often and
    never a pot on plan.
    """
    random = np.random.default_rng(seed)
    kitchens = [Kitchen(recipe) for recipe in recipes()]
    table = chances()
    for _ in range(count):
        kitchen = kitchens[random.integers(len(kitchens))]
        kinds = [key for key in table if kitchen.about[key] and (as_often or key != "as_planned")]
        weights = np.array(
            [float(table[key]["chance_percent"]) if as_often else 1.0 for key in kinds]
        )
        mishap = kinds[random.choice(len(kinds), p=weights / weights.sum())]
        about = kitchen.about[mishap][random.integers(len(kitchen.about[mishap]))]
        low, high = (float(table[mishap][end] or 0.0) for end in ("low", "high"))
        mass, reading, off = kitchen.cook(random, mishap, about, low, high)
        reads = [reading + off + READ * random.standard_normal()]
        if read_again:
            reads.append(reading + READ * random.standard_normal())
        weighs = mass + max(5.0, WEIGHED * mass) * random.standard_normal() if weighed else None
        if not 0.0 < min(reads) <= max(reads) <= 85.0:
            continue  # beyond what a refractometer shows
        found = diagnosis_of(kitchen.mix, Evidence(tuple(reads), weighs), kitchen.foretold)
        yield mishap, tuple(kitchen.mix.keys[i] for i in about), found


def rank_of(found, mishap, keys):
    """The place of a story, 0 the likeliest."""
    return [(each.mishap, each.keys) for each in found.stories].index((mishap, keys))


def test_the_true_story_of_a_pot_that_was_read_and_weighed_is_among_the_first_two():
    """Where it can be told at all: what is measured lies more than 2 sd from the plan."""
    told, first_two, first = 0, 0, 0
    for mishap, keys, found in cooked(PLANTED, seed=1, as_often=False):
        if found.unusual > 2.0:
            place = rank_of(found, mishap, keys)
            told, first_two, first = told + 1, first_two + (place < 2), first + (place < 1)
    assert told > 0.8 * PLANTED
    assert first_two >= 0.8 * told
    assert first >= 0.7 * told


def test_a_reading_alone_has_the_true_story_in_front_or_says_that_it_cannot_tell():
    told, fair, blurred = 0, 0, 0
    for mishap, keys, found in cooked(FEWER, seed=2, as_often=False, weighed=False):
        if found.unusual > 2.0:
            place = rank_of(found, mishap, keys)
            told += 1
            fair += place < 2 or not found.told_apart
            blurred += not found.told_apart
            assert found.measure is None or not found.told_apart
    assert fair >= 0.8 * told
    assert 0.2 * told < blurred < 0.8 * told


@pytest.mark.parametrize("weighed", [True, False])
def test_a_story_that_is_said_to_be_so_likely_is_true_so_often(weighed):
    """Chances in bins against how often these stories were true, within 3 sampling errors."""
    said, was = [], []
    for mishap, keys, found in cooked(FEWER, seed=3, weighed=weighed):
        chance = np.array([each.probability for each in found.stories])
        assert chance.sum() == pytest.approx(1.0) and np.all(np.diff(chance) <= 0.0)
        said.append(chance)
        was.append(np.arange(len(chance)) == rank_of(found, mishap, keys))
    said, was = np.concatenate(said), np.concatenate(was)
    edges = [0.0, 0.01, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 1.0 + 1e-9]
    for low, high in itertools.pairwise(edges):
        within = (said >= low) & (said < high)
        expected, error = said[within].sum(), np.sqrt(np.sum((said * (1.0 - said))[within]))
        assert within.sum() > 10
        assert abs(was[within].sum() - expected) < 3.0 * error, (low, high)


def test_a_pot_as_planned_is_not_accused():
    """Of pots that were cooked as written, with what lots and weighing usually do."""
    planned = [found for mishap, _, found in cooked(FEWER, seed=4) if mishap == "as_planned"]
    accused = [f for f in planned if f.stories[0].mishap != "as_planned" and f.told_apart]
    assert len(planned) > 0.4 * FEWER
    assert len(accused) < 0.1 * len(planned)


def syrup():
    return of_weights("syrup", {"sucrose": 300.0, "water": 700.0})


def test_a_syrup_says_what_happened_as_it_does_by_hand():
    """By hand: 300 g of sugar in 860 g read 34.88 °Bx, 600 g in 1,300 g 46.2, 700 g in 1,000 g 70."""
    found = diagnose(syrup(), Evidence((34.88,), 860.0))
    assert (found.planned_g, found.planned_brix) == pytest.approx((1000.0, 30.0))
    first = found.stories[0]
    assert first.mishap == "boiled_off"
    assert first.amount == pytest.approx(140.0, abs=3.0 * first.plus_minus)
    assert first.plus_minus < 15.0
    twice = diagnose(syrup(), Evidence((100.0 * 600 / 1300,), 1300.0)).stories[0]
    assert (twice.mishap, twice.keys) == ("weighed_twice", ("sucrose",))
    assert twice.grams == (600.0, 700.0)
    swapped = diagnose(syrup(), Evidence((70.0,), 1000.0)).stories[0]
    assert (swapped.mishap, swapped.grams) == ("swapped", (700.0, 300.0))


def test_the_weight_that_decides_is_foretold_for_both_stories():
    """30 °Bx where 27.6 are planned: riper fruit keeps the weight, steam takes 1 - 27.6 / 30 of it."""
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    found = diagnose(recipe, Evidence((30.0,)))
    assert [each.mishap for each in found.stories[: found.leaders]] == ["other_lot", "boiled_off"]
    assert found.measure.how == "weigh"
    ripe, steam = found.measure.foretold
    assert ripe.value == pytest.approx(2000.0, abs=5.0)
    assert steam.value < 2000.0 - 140.0
    for weighs, mishap in ((ripe.value, "other_lot"), (steam.value, "boiled_off")):
        then = diagnose(recipe, Evidence((30.0,), weighs))
        assert then.told_apart and then.stories[0].mishap == mishap


def test_a_pot_that_was_only_weighed_is_to_be_read():
    """1,700 of 2,000 g: 300 g of sugar are missing, which thins it, or 300 g of steam, which does not."""
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    found = diagnose(recipe, Evidence(weighs_g=1700.0))
    assert [each.mishap for each in found.stories[: found.leaders]] == ["forgotten", "boiled_off"]
    assert found.measure.how == "read"
    sugar, steam = (each.value for each in found.measure.foretold)
    assert sugar < 15.0 and steam > 31.5


def test_what_was_measured_already_is_not_asked_for_again():
    for _, _, found in cooked(100, seed=6, as_often=False):
        assert found.measure is None or found.measure.how != "weigh"


def test_another_reading_narrows_or_exposes_the_first():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    first = diagnose(recipe, Evidence((24.5,)))
    again = diagnose(recipe, Evidence((24.5, 27.6)))
    assert again.stories[0].mishap == "misread"
    assert again.stories[0].amount == pytest.approx(24.5 - 27.6, abs=0.5)
    assert first.stories[0].mishap != "misread"


def test_chances_are_those_of_the_table_and_split_evenly():
    found = diagnose(syrup(), Evidence((30.0,)))
    prior = {}
    for story in found.stories:
        prior.setdefault(story.mishap, []).append(story.prior)
    table = chances()
    possible = sum(float(table[key]["chance_percent"]) for key in prior)
    assert "other_lot" not in prior, "neither sugar nor water differs from lot to lot"
    for key, each in prior.items():
        assert sum(each) == pytest.approx(float(table[key]["chance_percent"]) / possible)
        assert each == pytest.approx([each[0]] * len(each))
    assert sum(float(row["chance_percent"]) for row in table.values()) == pytest.approx(100.0)
    assert {row["source"] for row in table.values()} == {"practice"}


def test_the_pot_is_put_right_from_the_story():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    pot = {entry.key: entry.grams for entry in recipe.ingredients}
    found = diagnose(recipe, Evidence((14.34,), 1700.0))
    assert (found.stories[0].mishap, found.stories[0].keys) == ("forgotten", ("sucrose",))
    asked = put_right(recipe, found.stories[0])
    assert asked.corrections == correct(recipe, pot | {"sucrose": 0.0})
    ripe = diagnose(recipe, Evidence((30.0,), 2000.0)).stories[0]
    entries = tuple(
        replace(entry, brix=ripe.amount) if entry.key == "damson" else entry
        for entry in recipe.ingredients
    )
    expected = correct(replace(recipe, ingredients=entries), pot)
    assert put_right(recipe, ripe).corrections[0].additions == expected[0].additions
    steam = diagnose(recipe, Evidence((30.0,), 1845.0)).stories[0]
    mended = put_right(recipe, steam)
    assert (mended.water_g, mended.corrections) == (steam.amount, ())
    assert mended.water_g == pytest.approx(155.0, abs=15.0)
    on_its_way = {key: pot[key] for key in ("damson", "sucrose", "water")}
    steam = diagnose(recipe, Evidence((25.0,), 1655.0), on_its_way).stories[0]
    mended = put_right(recipe, steam, on_its_way)
    assert (steam.mishap, mended.water_g) == ("boiled_off", steam.amount)
    assert mended.corrections == correct(recipe, on_its_way)
    planned = diagnose(recipe, Evidence((27.6,), 2000.0)).stories[0]
    assert (planned.mishap, put_right(recipe, planned).corrections) == ("as_planned", ())


def test_a_pot_on_its_way_is_told_of_what_it_holds():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    pot = {"damson": 1000.0, "water": 555.0}
    found = diagnose(recipe, Evidence((6.5,), 1555.0), pot)
    assert found.planned_g == pytest.approx(1555.0)
    assert found.stories[0].mishap == "as_planned"
    named = {key for story in found.stories for key in story.keys}
    assert named == {"damson", "water"}
    assert put_right(recipe, found.stories[0], pot).corrections == correct(recipe, pot)


def test_a_lot_is_another_though_it_was_delivered_with_a_reading():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    entries = tuple(
        replace(entry, brix=None, lot=Lot("damson", reading=11.0))
        if entry.key == "damson"
        else entry
        for entry in recipe.ingredients
    )
    recipe = replace(recipe, ingredients=entries)
    ripe = diagnose(recipe, Evidence((30.0,), 2000.0)).stories[0]
    assert (ripe.mishap, ripe.keys) == ("other_lot", ("damson",))
    assert put_right(recipe, ripe).corrections


def test_what_no_single_mishap_explains_is_said_so():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    assert not diagnose(recipe, Evidence((27.5,), 5000.0)).explained
    assert diagnose(recipe, Evidence((27.5,), 2000.0)).explained


def test_a_mix_with_fat_is_said_to_read_less_surely():
    base = of_weights("plain base", OWN["plain base"])
    assert diagnose(base, Evidence((30.0,))).cloudy
    assert not diagnose(base, Evidence(weighs_g=2000.0)).cloudy, "a weight does not mind"
    assert not diagnose(syrup(), Evidence((30.0,))).cloudy


@pytest.mark.parametrize(
    ("evidence", "sentence"),
    [
        ({}, "nothing was measured"),
        ({"reads": (-1.0,)}, "must be from 0 to 85"),
        ({"reads": (float("nan"),)}, "not a usable number"),
        ({"reads": (25.0, 86.0)}, "must be from 0 to 85"),
        ({"reads": ("25",)}, "not a number"),
        ({"reads": 25.0}, "not several readings"),
        ({"weighs_g": -3.0}, "must be above zero"),
        ({"weighs_g": float("inf")}, "not a usable number"),
        ({"reads": (25.0,), "reads_plus_minus": 0.0}, "must be above zero"),
        ({"weighs_g": 900.0, "weighs_plus_minus_g": -1.0}, "must be above zero"),
    ],
)
def test_bad_evidence_is_one_sentence(evidence, sentence):
    with pytest.raises(InputError, match=sentence):
        Evidence(**evidence)


def test_weights_and_story_numbers_must_be_there():
    unknown = of_weights("syrup", {"sucrose": 300.0, "water": 700.0})
    entries = tuple(replace(entry, grams=None) for entry in unknown.ingredients)
    with pytest.raises(InputError, match="does not give every weight"):
        diagnose(replace(unknown, ingredients=entries), Evidence((30.0,)))
    found = diagnose(syrup(), Evidence((30.0,)))
    assert found.story(1) is found.stories[0]
    for number in (0, len(found.stories) + 1):
        with pytest.raises(InputError, match="and there are"):
            found.story(number)
