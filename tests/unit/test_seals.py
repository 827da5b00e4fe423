"""What a verdict says at a glance: never surer than chance, targets and warnings together."""

from dataclasses import replace

import pytest

import formulate as fm
from formulate.answers import Certainty, warnings_of
from formulate.data.examples import example_names
from formulate.recipes import Range, Recipe, RecipeIngredient, Serving
from formulate.report import chance_words, lowering_words, seal, sentences


@pytest.mark.parametrize("name", example_names())
@pytest.mark.parametrize("ask", [fm.check, fm.balance])
def test_a_seal_is_never_surer_than_what_is_known(name, ask):
    result = ask(fm.load(name))
    found = seal(result)
    assert (found.kind == "misses") == (not result.mix.all_met or result.mix.verdict != "scoopable")
    assert found.kind != "sure" or result.certainty is Certainty.SURE
    assert found.kind not in ("sure", "likely") or result.chance.scoopable >= 0.7
    assert found.warnings == sentences(warnings_of(result))
    assert found.next_step.endswith(".")


def test_an_unusual_amount_of_a_herb_is_told_first_and_takes_the_seal_away():
    recipe = fm.load("bay_leaf_ice_cream")
    entries = tuple(
        replace(entry, grams=600.0) if entry.key == "bay_leaf" else entry
        for entry in fm.balance(recipe).mixture.recipe.ingredients
    )
    result = fm.check(replace(recipe, ingredients=entries, targets={}))
    found = seal(result)
    assert any("Bay leaf" in words for words in found.warnings)
    assert found.kind not in ("sure", "likely")


def test_a_mix_that_is_too_hard_is_told_where_it_scoops():
    recipe = Recipe(
        "Water ice",
        1000.0,
        (RecipeIngredient("water", grams=800.0), RecipeIngredient("sucrose", grams=200.0)),
        serving=Serving(-18.0, Range(68.0, 74.0)),
    )
    result = fm.check(recipe)
    found = seal(result)
    assert (found.kind, found.words) == ("misses", "Too hard")
    best = f"{result.mix.serving_temperature_c:.0f}".replace("-", "−")
    assert f"serve it at about {best} °C" in found.next_step


def test_weights_that_scoop_less_surely_are_said_to():
    recipe = fm.load("damson_sorbet")
    present, new = fm.check(recipe), fm.balance(recipe)
    assert new.chance.scoopable < present.chance.scoopable
    words = lowering_words(present, new)
    assert chance_words(new.chance.scoopable) in words[0]
    assert lowering_words(new, present) == lowering_words(None, new) == ()


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.0, "1 times"), (0.506, "51 times"), (0.999, "99 times"), (1.0, "99 times")],
)
def test_nobody_is_told_never_or_always(chance, words):
    assert chance_words(chance) == f"{words} in 100"


def test_a_toss_up_has_words_whichever_part_of_it_is_unsure():
    water = (RecipeIngredient("water", grams=760.0), RecipeIngredient("sucrose", grams=240.0))
    seen = set()
    for least in range(30, 90):  # narrow windows along the whole curve: some are barely hit
        serving = Serving(-12.0, Range(float(least), least + 1.0))
        for targets in ({}, {"total_solids": Range(23.99, 24.4)}):
            found = seal(fm.check(Recipe("Ice", 1000.0, water, targets=targets, serving=serving)))
            assert found.words
            seen.add(found.kind)
    assert "toss_up" in seen
