"""Entries under Streamlit's own test driver: every edit counts, faults are sentences, links hold."""

import base64
import zlib

import pytest
from driving import edit, entry, grams, on, opened, words

from formulate.data.examples import example_bytes, example_names
from formulate.errors import InputError
from formulate.recipes.file import parse


def test_one_edit_after_another_counts(app):
    opened(app)
    for row, weight in enumerate((990.0, 310.0, 65.0)):
        edit(app, "weights", row, grams=weight)
        assert grams(app)[row] == weight
    assert grams(app) == [990.0, 310.0, 65.0, 80.0, 5.0, 555.0]
    edit(app, "targets", 1, min=16.0)
    assert grams(app)[:3] == [990.0, 310.0, 65.0]
    assert app.session_state.recipe.targets["sweetness"].min == 16.0


def test_the_verdict_follows_an_edit_without_a_button(app):
    opened(app)
    assert "Misses 1 target" in words(app)
    edit(app, "weights", 1, grams=900.0)
    assert "Too soft" in words(app)


def test_edits_go_from_page_to_page(app):
    opened(app, screen="came_in")
    edit(app, "lots", 0, brix=14.5)
    on(app, "mix")
    edit(app, "weights", 0, grams=950.0)
    on(app, "came_in")
    first = app.session_state.recipe.ingredients[0]
    assert (first.brix, first.grams) == (14.5, 950.0)
    assert "14.5 ± 0.2 °Bx" in words(app)


def test_undo_and_redo(app):
    opened(app)
    edit(app, "weights", 1, grams=320.0)
    edit(app, "weights", 1, grams=340.0)
    app.button(key="undo").click().run()
    assert grams(app)[1] == 320.0
    app.button(key="undo").click().run()
    assert grams(app)[1] == 300.0
    app.button(key="redo").click().run()
    assert grams(app)[1] == 320.0
    edit(app, "weights", 1, grams=330.0)
    assert app.button(key="redo").disabled


def test_a_recipe_that_was_put_away_comes_back(app):
    opened(app)
    app.session_state["recipe_menu"] = True
    app.run()
    app.button(key="close").click().run()
    assert "Before you churn" in words(app)
    app.button(key="undo").click().run()
    assert grams(app)[0] == 1000.0


def test_no_mix_is_a_conflict_with_ways_out_at_a_press(app):
    opened(app)
    edit(app, "targets", 0, min=45.0, max=46.0)
    assert "No mix can do all of this" in words(app)
    assert "cannot hold together" in words(app)
    app.button(key="way_0").click().run()
    assert not app.exception
    assert "The balanced weights" in words(app)


def test_limits_that_cross_are_a_sentence_and_the_last_recipe_stays(app):
    opened(app)
    edit(app, "weights", 0, min_g=1200.0)
    assert "Damsons, stoned: the least weight 1200 is above the greatest weight 1150" in words(app)
    assert app.session_state.recipe.ingredients[0].min_g == 900.0
    assert "an entry waits to be mended" in words(app)


def test_a_reading_that_cannot_be_is_a_sentence(app):
    opened(app, screen="came_in")
    edit(app, "lots", 1, brix=20.0)
    assert "needs an ingredient with sugar and water" in words(app)


def test_ingredients_and_targets_come_and_go(app):
    opened(app)
    app.session_state["ingredient_menu"] = app.session_state["target_menu"] = True
    app.run()
    app.selectbox(key="added").select("trehalose").run()
    app.selectbox(key="target_added").select("fat").run()
    assert app.session_state.recipe.ingredients[-1].key == "trehalose"
    app.selectbox(key="removed").select("trehalose").run()
    app.selectbox(key="target_removed").select("fat").run()
    assert app.session_state.recipe == parse(example_bytes("damson_sorbet"), "again")


def test_a_step_is_added_and_taken_out(app):
    opened(app)
    app.session_state["preparing"] = True
    app.run()
    app.selectbox(key="step_of").select("damson").run()
    app.selectbox(key="step_do").select("sieve").run()
    app.button(key="step_add").click().run()
    assert not app.exception
    assert [step.do for step in app.session_state.recipe.ingredients[0].steps] == ["sieve"]
    assert "reaches the churn" in words(app)
    app.button(key="step_out").click().run()
    assert app.session_state.recipe.ingredients[0].steps == ()


def test_a_delivery_read_with_a_hydrometer_is_noted(app):
    opened(app, screen="came_in")
    app.session_state["delivery"] = True
    app.run()
    app.selectbox(key="lot_scale_damson").select("baume").run()
    app.text_input(key="lot_reading_damson_baume").set_value("7,0").run()
    assert "at 20 °C" in words(app)
    app.button(key="lot_note").click().run()
    assert not app.exception
    lot = app.session_state.recipe.ingredients[0].lot
    assert (lot.scale, lot.reading, app.session_state.recipe.ingredients[0].brix) == (
        "baume",
        7.0,
        None,
    )


def test_a_link_gives_the_same_recipe_and_a_broken_one_a_sentence(app):
    from desk.hand.link import recipe_of, word_of

    for name in example_names():
        recipe = parse(example_bytes(name), name)
        word = word_of(recipe)
        assert recipe_of(word) == recipe
        assert len(word) < 1000
        with pytest.raises(InputError, match="does not hold a whole recipe"):
            recipe_of(word[: len(word) // 2])
    app.query_params["recipe"] = "x.y"
    app.run()
    assert "Before you churn" in words(app)
    assert "does not hold a whole recipe" in words(app)


def test_a_link_that_unpacks_without_end_is_refused(app):

    from desk.hand.link import recipe_of

    bomb = base64.urlsafe_b64encode(zlib.compress(b"#" * 50_000_000, 9)).decode()
    with pytest.raises(InputError, match="at most 1,000,000"):
        recipe_of(bomb)


def test_a_reload_reads_the_recipe_from_the_address(app):
    opened(app)
    edit(app, "weights", 1, grams=333.0)
    link = app.query_params["recipe"]
    again = type(app).from_file(str(app._script_path), default_timeout=60)
    again.query_params["recipe"] = link[0] if isinstance(link, list) else link
    again.run()
    assert grams(again)[1] == 333.0


def test_a_pack_is_read_from_its_label_and_added(app):
    opened(app, screen="came_in")
    app.session_state["pack"] = True
    app.run()
    figures = {"carbohydrate": "14,5", "sugars": "14", "protein": "1.2", "fat": "0.3", "fibre": "4"}
    for name, value in figures.items():
        app.text_input(key=f"pack_{name}").set_value(value)
    app.text_input(key="pack_name").set_value("Frozen raspberry puree")
    app.text_area(key="pack_list").set_value("raspberries 90 %, sugar").run()
    assert not app.exception
    assert "Estimated from the label" in words(app)
    app.button(key="pack_add").click().run()
    added = app.session_state.recipe.ingredients[-1]
    assert added.key == "frozen_raspberry_puree"
    assert sum(added.composition.values()) == pytest.approx(100.0, abs=0.5)


def test_an_ingredient_of_ones_own_is_added(app):
    opened(app)
    app.session_state["ingredient_menu"] = app.session_state["own"] = True
    app.run()
    app.text_input(key="own_name").set_value("House syrup").run()
    parts = [{"part": "water", "percent": 40.0}, {"part": "sucrose", "percent": 60.0}]
    table = {"edited_rows": {}, "added_rows": parts, "deleted_rows": []}
    app.session_state["own_parts_6"] = table
    app.run()
    assert not app.exception
    app.button(key="own_add").click().run()
    assert app.session_state.recipe.ingredients[-1].key == "house_syrup"


def test_heating_and_cooling_are_judged_by_quoted_rules(app):
    opened(app, "bay_leaf_ice_cream", "sheet")
    app.session_state["heating"] = True
    app.run()
    app.text_input(key="held_at_°C").set_value("85")
    app.text_input(key="held_for").set_value("120")
    app.text_input(key="leg_minutes_0").set_value("90").run()
    assert not app.exception
    assert "meets" in words(app)
    assert "not as legal advice" in words(app)


@pytest.mark.parametrize(
    ("typed", "value"), [("10,5", 10.5), ("10.5", 10.5), (" 12 ", 12.0), (",5", 0.5), ("", None)]
)
def test_a_decimal_comma_is_a_decimal_point(app, typed, value):
    opened(app, screen="came_in")
    edit(app, "lots", 0, price_per_kg=typed)
    assert app.session_state.recipe.ingredients[0].price_per_kg == value
    assert app.session_state.slip == ""


@pytest.mark.parametrize(
    ("typed", "words_"),
    [
        ("1,200", "can be read in two ways. Write 1200, or 1.200 with a point"),
        ("eleven", "is not a number"),
        ("11 g", "without a unit"),
        ("99", "must be above 0 to 85 °Bx"),
    ],
)
def test_what_is_no_clear_number_is_a_sentence_beside_the_table(app, typed, words_):
    opened(app, screen="came_in")
    edit(app, "lots", 0, brix=typed)
    assert "Damsons, stoned, reading" in app.session_state.slip
    assert words_ in app.session_state.slip
    assert app.session_state.recipe.ingredients[0].brix == 11.0


@pytest.mark.parametrize(
    ("typed", "served", "words_"),
    [
        ("-12,5", -12.5, ""),
        ("−13", -13.0, ""),
        ("-45", None, "-45 cannot be. Give -30 to -1."),
        ("cold", None, '"cold" is not a number'),
        ("", None, ""),
    ],
)
def test_an_entry_reads_a_comma_and_says_what_it_allows(app, typed, served, words_):
    opened(app, screen="cold")
    before = app.session_state.recipe.serving.temperature_c
    app.text_input(key=entry(app, "serve")).set_value(typed).run()
    assert not app.exception
    assert app.session_state.recipe.serving.temperature_c == (before if served is None else served)
    assert words_.replace("-", "−").replace('"', "&quot;") in words(app)


def test_a_recipe_is_named_in_its_menu(app):
    opened(app)
    app.session_state["recipe_menu"] = True
    app.run()
    app.text_input(key=entry(app, "recipe_name")).set_value("Damson, for Sunday").run()
    assert app.session_state.recipe.name == "Damson, for Sunday"
    assert '<h1 class="name">Damson, for Sunday</h1>' in words(app)
    app.button(key="undo").click().run()
    assert app.session_state.recipe == parse(example_bytes("damson_sorbet"), "again")


def test_a_style_and_a_fruit_give_a_first_recipe(app):
    app.selectbox(key="blank_style").select("fruit_sorbet").run()
    app.button(key="blank").click().run()
    assert "Needs what gives it its name" in words(app)
    app.multiselect(key="blank_mains").set_value(["raspberry"]).run()
    app.text_input(key="blank_name").set_value("Of the garden").run()
    app.button(key="blank").click().run()
    assert not app.exception
    recipe = app.session_state.recipe
    assert (recipe.name, recipe.style) == ("Of the garden", "fruit_sorbet")
    assert recipe.is_weighed
    assert {"total_solids", "sweetness"} <= set(recipe.targets)


def test_the_seal_follows_chance_and_targets_and_a_lower_chance_is_said_before_the_press(app):
    opened(app)
    assert 'class="verdict misses"' in words(app)
    assert "scoop less surely than the present ones" in words(app)
    app.button(key="take").click().run()
    assert 'class="verdict likely"' in words(app)
    assert "scoop less surely" not in words(app)


def test_a_warning_leads_the_verdict_and_takes_its_seal(app):
    opened(app, "bay_leaf_ice_cream")
    app.button(key="take").click().run()
    assert 'class="verdict likely"' in words(app)
    edit(app, "weights", 0, grams=600.0)
    verdict = next(part.value for part in app.get("html") if 'class="verdict' in part.value)
    assert verdict.index("Bay leaf") < verdict.index('class="word"')
    assert 'class="verdict likely"' not in verdict
    assert 'class="verdict sure"' not in verdict


def test_an_entry_that_was_not_taken_is_still_told_on_the_next_page(app):
    opened(app)
    edit(app, "weights", 0, grams="eleven")
    on(app, "cold")
    assert "An entry was not taken. Damsons, stoned, weight" in words(app)
