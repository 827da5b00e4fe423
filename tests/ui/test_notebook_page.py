"""The notebook on its page: a version kept, a batch noted, a verdict, and what comes of them."""

from datetime import date, timedelta

import pytest
from driving import edit, grams, on, opened, words

from formulate.notebook.batch_records import batch, batches, made, verdict
from formulate.notebook.deliveries import stock
from formulate.notebook.opening import open_notebook
from formulate.notebook.recipes import keep, kept_version


def tab(app, name):
    app.session_state["book"] = name
    app.run()
    assert not app.exception


def entry(app, name):
    return f"{name}_{app.session_state['book_turn']}"


def test_without_a_notebook_every_tab_says_what_to_do(app, notebook_path):
    on(app, "notebook")
    assert "No recipe is open" in words(app)
    assert "No batch is noted yet" in words(app)
    tab(app, "Look up")
    assert "Nothing is kept yet" in words(app)
    tab(app, "What was learned")
    assert "Nothing yet: note batches" in words(app)
    assert not notebook_path.exists()


def test_a_recipe_is_kept_and_its_next_version_too(app, notebook_path):
    opened(app, screen="notebook")
    app.text_input(key="cook").set_value("Ada").run()
    app.text_input(key=entry(app, "keep_note")).set_value("first try").run()
    app.button(key="keep").click().run()
    assert "is kept as version 1" in words(app)
    assert "word for word" in words(app)
    on(app, "mix")
    edit(app, "weights", 1, grams=250)
    on(app, "notebook")
    app.button(key="keep").click().run()
    with open_notebook(notebook_path) as notebook:
        kept = kept_version(notebook, "Damson sorbet")
        assert (kept.number, kept.cook, kept.recipe.ingredients[1].grams) == (2, "Ada", 250.0)
        assert kept_version(notebook, "Damson sorbet", 1).note == "first try"


def test_what_another_cook_kept_meanwhile_is_not_overwritten(app, notebook_path):
    opened(app, screen="notebook")
    app.button(key="keep").click().run()
    on(app, "mix")
    edit(app, "weights", 1, grams=250)
    on(app, "notebook")
    with open_notebook(notebook_path) as notebook:  # on another tablet
        first = kept_version(notebook, "Damson sorbet")
        other = first.recipe.__class__(**{**_fields(first.recipe), "batch_g": 3000.0})
        keep(notebook, other, onto=1, cook="Bo")
    app.button(key="keep").click().run()
    assert not app.exception
    assert "after the version" in words(app)
    with open_notebook(notebook_path) as notebook:
        assert kept_version(notebook, "Damson sorbet").cook == "Bo"


def _fields(recipe):
    return {name: getattr(recipe, name) for name in recipe.__dataclass_fields__}


def test_a_batch_and_a_verdict_are_noted_and_looked_up(app, notebook_path):
    opened(app, screen="notebook")
    app.text_input(key=entry(app, "made_brix")).set_value("27,5")
    app.text_input(key=entry(app, "made_serving_c")).set_value("-13")
    app.text_input(key=entry(app, "made_note")).set_value("churned slowly")
    app.button(key="note_batch").click().run()
    assert not app.exception
    assert "Batch 1 of Damson sorbet" in words(app)
    app.segmented_control(key=entry(app, "verdict_firmness")).set_value(1)
    app.checkbox(key=entry(app, "verdict_Icy")).set_value(True)
    app.button(key="note_verdict").click().run()
    assert "A verdict on batch 1 is noted" in words(app)
    with open_notebook(notebook_path) as notebook:
        noted = batch(notebook, 1)
    assert (noted.figures.brix, noted.figures.serving_c) == (27.5, -13.0)
    assert noted.weights[0].grams == 1000.0
    said = noted.verdicts[0]
    assert (said.at_c, said.firmness, said.icy, said.sandy) == (-13.0, 1, True, False)
    tab(app, "Look up")
    app.text_input(key="book_words").set_value("slowly").run()
    app.selectbox(key="book_name").select_index(0).run()
    assert "rather hard at −13 °C" in words(app)
    assert "churned slowly" in words(app)
    app.text_input(key="book_again_1").set_value("500").run()
    app.button(key="book_again").click().run()
    assert app.session_state.recipe.batch_g == 500.0
    assert grams(app)[0] == pytest.approx(250.0)


@pytest.mark.parametrize(
    ("name", "typed", "words_"),
    [
        ("made_brix", "27 %", "The mix reads at 20 °C, °Bx: &quot;27 %&quot; is not a number"),
        ("made_draw_c", "40", "draw"),
    ],
)
def test_a_figure_that_cannot_be_is_a_sentence_and_nothing_is_noted(
    app, notebook_path, name, typed, words_
):
    opened(app, screen="notebook")
    app.text_input(key=entry(app, name)).set_value(typed)
    app.button(key="note_batch").click().run()
    assert not app.exception
    assert words_ in words(app)
    assert app.text_input(key=entry(app, name)).value == typed
    with open_notebook(notebook_path) as notebook:
        assert batches(notebook) == ()


def test_versions_stand_side_by_side(app, notebook_path):
    opened(app, screen="notebook")
    app.button(key="keep").click().run()
    on(app, "mix")
    edit(app, "weights", 1, grams=250)
    on(app, "notebook")
    app.button(key="keep").click().run()
    tab(app, "Look up")
    app.selectbox(key="book_name").select_index(0).run()
    assert "has moved" in words(app)
    assert "version 2" in words(app)
    app.selectbox(key="book_version").set_value(1).run()
    app.button(key="book_open").click().run()
    assert grams(app)[1] == 300.0


def test_what_was_learned_is_told_and_put_into_the_recipe(app, notebook_path):
    opened(app, screen="cold")
    app.selectbox(key=f"kind_{app.session_state.word}_{app.session_state.version}").select(
        "sorbet"
    ).run()
    on(app, "notebook")
    app.button(key="note_batch").click().run()
    from formulate.notebook.batch_records import Verdict

    with open_notebook(notebook_path) as notebook:
        for at_c, step in ((-16.0, 2), (-14.0, 1), (-13.0, 1), (-11.0, 0), (-9.0, -1), (-8.0, -2)):
            verdict(notebook, 1, Verdict(at_c, step))
    tab(app, "What was learned")
    assert "just right" in words(app)
    assert "As learned here: the serving window is" in words(app)
    before = app.session_state.recipe.serving.frozen_water
    app.button(key="as_learned").click().run()
    assert app.session_state.recipe.serving.frozen_water != before


def test_a_file_that_is_no_notebook_is_a_sentence(app, notebook_path):
    notebook_path.write_bytes(b"no notebook" * 100)
    on(app, "notebook")
    assert "not a notebook" in words(app)
    assert notebook_path.read_bytes() == b"no notebook" * 100


def test_an_example_week_is_planned_and_follows_its_entries(app, notebook_path):
    on(app, "notebook")
    tab(app, "Plan a week")
    app.button(key="week_example").click().run()
    assert not app.exception
    assert "Tuesday 24 November" in words(app)
    assert "2 churns" in words(app)
    assert "crate 7" in words(app)
    assert "Expires unused" in words(app)
    app.toggle(key="week_together_0").set_value(False).run()
    assert "1 churn" in words(app)
    app.text_input(key="week_churn_0").set_value("900").run()
    assert "3 churns" in words(app)
    app.text_input(key="week_stays_0").set_value("2000").run()
    assert not app.exception
    assert "of a churn of 900 g" in words(app)


def test_a_week_begins_with_the_recipe_on_the_desk_and_a_row_without_an_amount_is_told(
    app, notebook_path
):
    opened(app, screen="notebook")
    tab(app, "Plan a week")
    app.button(key="week_new").click().run()
    assert "1 churn" in words(app)
    rows = {"edited_rows": {0: {"portions": "40", "grams": "62,5"}}, "added_rows": []}
    app.session_state["week_serves_0"] = {**rows, "deleted_rows": []}
    app.run()
    assert "2,500 g served" in words(app)
    rows["edited_rows"][0]["grams"] = "a scoop"
    app.session_state["week_serves_0"] = {**rows, "deleted_rows": []}
    app.run()
    assert not app.exception
    assert "row 1" in words(app) and "is not a number" in words(app)


def test_a_delivery_is_noted_used_and_less_of_it_is_left(app, notebook_path):
    opened(app, screen="notebook")
    app.button(key="note_lot").click().run()
    assert "Say what was delivered" in words(app)
    app.selectbox(key=entry(app, "came_key")).select("damson")
    app.text_input(key=entry(app, "came_name")).set_value("crate 9")
    app.text_input(key=entry(app, "came_grams")).set_value("3.500,5")
    app.button(key="note_lot").click().run()
    assert "is not a number" in words(app)
    app.text_input(key=entry(app, "came_grams")).set_value("3500,5")
    app.text_input(key=entry(app, "came_reading")).set_value("12,5")
    app.button(key="note_lot").click().run()
    assert not app.exception
    assert "crate 9" in words(app) and "3,500" in words(app)
    with open_notebook(notebook_path) as notebook:
        (left,) = stock(notebook)
    assert (left.lot.name, left.grams, left.lot.reading) == ("crate 9", 3500.5, 12.5)
    app.selectbox(key=entry(app, "made_lot_damson")).select_index(0)
    app.button(key="note_batch").click().run()
    assert not app.exception
    with open_notebook(notebook_path) as notebook:
        (left,) = stock(notebook)
        assert left.grams == 2500.5
        assert batch(notebook, 1).weights[0].lot == left.number


def test_a_day_to_come_is_asked_about_before_it_is_noted(app, notebook_path):
    opened(app, screen="notebook")
    app.date_input(key="made_on").set_value(date.today() + timedelta(days=3))
    app.button(key="note_batch").click().run()
    assert "still to come" in words(app) and "--yes" not in words(app)
    with open_notebook(notebook_path) as notebook:
        assert batches(notebook) == ()
    app.button(key="book_sure").click().run()
    assert "Batch 1 of Damson sorbet" in words(app)
    with open_notebook(notebook_path) as notebook:
        assert batches(notebook)[0].made == date.today() + timedelta(days=3)


def test_a_copy_is_made_and_brought_back(app, notebook_path, tmp_path):
    opened(app, screen="notebook")
    app.button(key="keep").click().run()
    tab(app, "Keep safe")
    app.text_input(key="book_second").set_value(str(tmp_path)).run()
    app.button(key="book_second_set").click().run()
    assert "to that folder too" in words(app)
    app.button(key="book_copy_now").click().run()
    assert not app.exception and "Copied to" in words(app)
    with open_notebook(notebook_path) as notebook:
        made(notebook, "Damson sorbet", {})
    notebook_path.write_bytes(b"spoilt " * 100)
    app.run()
    assert not app.exception and "is not a notebook" in words(app)
    chosen = app.selectbox(key="book_copy")
    chosen.set_value(chosen.options[0]).run()
    assert app.button(key="book_restore").disabled
    app.checkbox(key="book_copy_sure").check().run()
    app.button(key="book_restore").click().run()
    assert not app.exception
    assert "Brought back: 1 version" in words(app)
    with open_notebook(notebook_path) as notebook:
        assert kept_version(notebook, "Damson sorbet").number == 1


def test_what_is_kept_is_offered_on_the_first_screen(app, notebook_path):
    opened(app, screen="notebook")
    app.button(key="keep").click().run()
    kept = app.session_state.recipe
    again = type(app).from_file(str(app._script_path), default_timeout=60).run()
    again.selectbox(key="kept").select(kept.name).run()
    assert not again.exception
    assert again.session_state.recipe == kept
