"""Every page under Streamlit's own test driver: each stands, says what it should, and nothing raises."""

import pytest
from driving import entry, on, opened, words

from formulate.data.examples import example_names
from formulate.recipes.file import to_toml

SCREENS = ("came_in", "mix", "cold", "sheet", "notebook", "known")
FIRST = ("damson_sorbet", "bay_leaf_ice_cream", "sea_buckthorn_sorbet_too_hard")
QUESTIONS = (
    "How far can it move?",
    "One mix per reading",
    "One wish against another",
    "Other ingredients",
    "A pot on the stove",
    "House rules",
)


def test_the_first_screen_says_what_to_do(app):
    assert not app.exception
    assert "Before you churn" in words(app)
    assert "pasteurise" in words(app)
    assert [button.key for button in app.button if button.key.startswith("try_")] == [
        f"try_{name}" for name in FIRST
    ]


@pytest.mark.parametrize("screen", SCREENS)
def test_every_page_stands_without_a_recipe(app, screen):
    on(app, screen)
    known = {"known": "How we know", "notebook": "The notebook"}
    assert known.get(screen, "Before you churn") in words(app)


@pytest.mark.parametrize("name", FIRST)
@pytest.mark.parametrize("screen", SCREENS)
def test_every_page_shows_every_first_example(app, name, screen):
    opened(app, name, screen)
    if screen not in ("notebook", "known"):
        assert 'class="verdict' in words(app)


@pytest.mark.parametrize("name", example_names())
def test_every_example_opens_from_the_menu_and_balances(app, name):
    opened(app)
    app.session_state["recipe_menu"] = True
    app.run()
    app.selectbox(key="example").select(name).run()
    assert not app.exception
    assert "The balanced weights" in words(app)
    app.button(key="take").click().run()
    assert "every one is met" in words(app)
    assert "Nothing has to change" in words(app)


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("name", FIRST[:2])
def test_every_question_is_answered(app, name, question):
    opened(app, name)
    app.session_state["question"] = question
    app.run()
    assert not app.exception


def test_the_ladder_takes_a_decimal_comma(app):
    opened(app)
    app.session_state["question"] = "One mix per reading"
    app.run()
    app.text_input(key="ladder_from_damson").set_value("9,5").run()
    assert "<b>" in words(app) or "9.5" in words(app)
    assert "is not from:to:step" not in words(app)
    app.text_input(key="ladder_from_damson").set_value("warm").run()
    assert "is not from:to:step" in words(app)


def test_the_serving_is_taken_from_the_kind_and_can_be_changed(app):
    opened(app, "bay_leaf_ice_cream", "cold")
    app.selectbox(key=entry(app, "kind")).select("soft_serving").run()
    served = app.session_state.recipe.serving
    assert (served.temperature_c, served.frozen_water.max) == (-6.0, 55.0)
    app.text_input(key=entry(app, "low")).set_value("60,0").run()
    assert "Serving window: the least 60 is above the most 55" in words(app)


def test_times_are_told_and_a_wrong_size_is_a_sentence(app):
    opened(app, "bay_leaf_ice_cream", "cold")
    assert "Hardening from" in words(app)
    app.text_input(key="size_round").set_value("100,5x80").run()
    assert "must be diameter" not in words(app)
    app.text_input(key="size_round").set_value("wide").run()
    assert "must be diameter x height in mm" in words(app)


def test_units_change_what_is_shown_and_nothing_else(app):
    opened(app)
    before = to_toml(app.session_state.recipe)
    assert "−12 °C" in words(app)
    app.session_state["temperature_unit"], app.session_state["weight_unit"] = "°F", "oz"
    app.run()
    assert "10.4 °F" in words(app)
    assert "Balanced, oz" in words(app)
    assert to_toml(app.session_state.recipe) == before


def test_the_evidence_shows_its_misses_and_can_be_filtered(app):
    on(app, "known")
    assert "✗ missed" in words(app)
    app.selectbox(key="evidence_group").select("fruit").run()
    assert "20 figures" in words(app)
    app.text_input(key="evidence_word").set_value("nothing like it").run()
    assert "Nothing is left" in words(app)


def test_every_number_of_an_ingredient_has_its_source(app):
    opened(app, screen="known")
    app.session_state["known"] = "Sources of an ingredient"
    app.run()
    assert "Composition of Damsons, stoned" in words(app)
    assert "estimate: take a reading" in words(app)
