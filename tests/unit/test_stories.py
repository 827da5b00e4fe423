"""Diagnosis by stories, on pots that are cooked wrong by chance and measured as a cook would.

The pots are made whole here, from compositions and not from what the engine foretells: every weight and
lot is drawn, the mishap is done to them, and the reading is that of what is in the pot.  How often what
happens is read from ``mishaps.csv`` by this file alone.
"""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest

from formulate.answers import Evidence, diagnose, put_right
from formulate.answers.diagnosis import diagnosis_of, noted_in
from formulate.answers.mishaps import doubted, possibles
from formulate.data import data_folder
from formulate.data.examples import example_bytes, example_names
from formulate.errors import InputError
from formulate.ingredients import COMPONENT_KEYS, brix_of, position, with_reading
from formulate.mix import lot_doubts, mixture, prepared_row, reading_of, unread_deviation
from formulate.recipes import Recipe, RecipeIngredient, parse

READ, WEIGHED = 0.2, 0.005  # °Bx, and of the pot's weight: what the engine takes where nothing is said
HAND = 0.01  # of a weight; common practice, no source
PLANTED = 1_200

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


class Kitchen:
    """A recipe that is cooked many times, wrongly as often as the table assumes."""

    def __init__(self, recipe):
        self.mix = mixture(recipe)
        self.noted = noted_in(self.mix, None)
        self.possible = possibles(self.mix, self.noted)
        self.doubted = doubted(self.mix, self.noted)
        self.doubts = [lot_doubts(self.mix, index) for index in range(len(self.noted))]
        self.read = [
            index
            for index, entry in enumerate(recipe.ingredients)
            if reading_of(entry) is not None
            or unread_deviation(entry.key, self.mix.raw[index]) > 0.0
        ]
        count = range(len(self.noted))
        self.about = {
            "as_planned": [()],
            "boiled_off": [()],
            "misread": [()],
            "other_lot": [(i,) for i in self.read],
            "forgotten": [(i,) for i in count],
            "weighed_twice": [(i,) for i in count],
            "tare_left": [(i,) for i in count if self.noted[i] > 100.0],
            "swapped": [
                (i, j) for i in count for j in count if i < j and self.noted[i] != self.noted[j]
            ],
        }

    def cook(self, random, mishap, about, low, high):
        """Return what the pot weighs and reads, and by how much its first reading is off."""
        grams, rows = self.noted.copy(), self.mix.compositions.copy()
        steam = off = 0.0
        if mishap == "forgotten":
            grams[about[0]] = 0.0
        elif mishap == "weighed_twice":
            grams[about[0]] *= 2.0
        elif mishap == "swapped":
            grams[list(about)] = grams[list(about[::-1])]
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


def planted(count, seed, as_often=True, weighed=True, read_again=False):
    """Cook pots and diagnose each: the true mishap and what it is about, and the diagnosis."""
    random = np.random.default_rng(seed)
    kitchens = [Kitchen(recipe) for recipe in recipes()]
    table = chances()
    for _ in range(count):
        kitchen = kitchens[random.integers(len(kitchens))]
        kinds = [key for key in table if kitchen.about[key] and (as_often or key != "as_planned")]
        weights = np.array([float(table[key]["chance_percent"]) for key in kinds])
        if not as_often:
            weights[:] = 1.0
        mishap = kinds[random.choice(len(kinds), p=weights / weights.sum())]
        about = kitchen.about[mishap][random.integers(len(kitchen.about[mishap]))]
        low, high = (float(table[mishap][end] or 0.0) for end in ("low", "high"))
        mass, reading, off = kitchen.cook(random, mishap, about, low, high)
        reads = [reading + off + READ * random.standard_normal()]
        if read_again:
            reads.append(reading + READ * random.standard_normal())
        weighs = mass + max(5.0, WEIGHED * mass) * random.standard_normal() if weighed else None
        try:
            evidence = Evidence(tuple(reads), weighs)
        except InputError:
            continue  # no refractometer shows less than nothing
        found = diagnosis_of(kitchen.mix, evidence, kitchen.possible, kitchen.doubted)
        yield kitchen, mishap, tuple(kitchen.mix.keys[i] for i in about), found
