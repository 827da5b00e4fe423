"""The page under Streamlit's own test driver: every example opens, edits count, faults are sentences."""

import sys
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from formulate.examples import example_names

UI = Path(__file__).parents[2] / "ui"


@pytest.fixture
def page(monkeypatch):
    monkeypatch.syspath_prepend(str(UI))
    for name in ("bench", "chart"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    driver = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    return driver.run()


def opened(page, name):
    page.selectbox(key="example").select(name).run()
    assert not page.exception
    return page


def words(page):
    """All that the page says in its boxes."""
    boxes = [*page.success, *page.warning, *page.error, *page.info]
    return " ".join(box.value for box in boxes)


def test_the_first_page_says_what_to_do(page):
    assert not page.exception
    assert "Choose an example or open a recipe file" in words(page)
    assert any("pasteurise" in text.value for text in page.markdown)


@pytest.mark.parametrize("name", example_names())
def test_every_example_opens_and_balances(page, name):
    opened(page, name)
    before = words(page)
    assert "% of the water is frozen" in before
    page.button(key="balance").click().run()
    assert not page.exception
    assert len(page.success) == 1
    assert "scoopable" in page.success[0].value
    assert "Change:" in page.success[0].value


def test_an_edited_weight_changes_the_verdict(page):
    opened(page, "damson_sorbet")
    assert "scoopable" in words(page)
    version = page.session_state.version
    edits = {"edited_rows": {1: {"grams": 900.0}}, "added_rows": [], "deleted_rows": []}
    page.session_state[f"weights_{version}"] = edits
    page.run()
    assert not page.exception
    assert "too soft" in words(page)


def test_balanced_weights_can_be_kept(page):
    opened(page, "damson_sorbet")
    page.button(key="balance").click().run()
    page.button(key="keep").click().run()
    assert not page.exception
    assert len(page.success) == 1  # the kept mix meets its targets as it stands
    assert not page.warning


def test_an_impossible_wish_is_answered_with_reasons(page):
    opened(page, "damson_sorbet")
    version = page.session_state.version
    edits = {"edited_rows": {1: {"min": 35.0, "max": 36.0}}, "added_rows": [], "deleted_rows": []}
    page.session_state[f"targets_{version}"] = edits
    page.button(key="balance").click().run()
    assert not page.exception
    assert "cannot hold together" in words(page)


def test_an_ingredient_of_the_table_can_be_added(page):
    opened(page, "damson_sorbet")
    page.selectbox(key="added").select("trehalose").run()
    assert not page.exception
    assert [entry.key for entry in page.session_state.base.ingredients][-1] == "trehalose"


def test_bounds_that_cross_are_a_sentence(page):
    opened(page, "damson_sorbet")
    version = page.session_state.version
    page.number_input(key=f"low_{version}").set_value(90.0).run()
    assert not page.exception
    assert "at least 90 % is above at most 74 %" in words(page)


def test_times_are_told_for_a_container(page):
    opened(page, "bay_leaf_ice_cream")
    page.selectbox(key="shape").select("ball").run()
    page.button(key="times").click().run()
    assert not page.exception
    told = " ".join(text.value for text in page.markdown)
    assert "Hardening from -6 °C to -13.0 °C takes about" in told
    assert "A scoop in the room" in told


def test_a_wrong_size_is_a_sentence(page):
    opened(page, "bay_leaf_ice_cream")
    page.text_input(key="size_round").set_value("wide").run()
    page.button(key="times").click().run()
    assert not page.exception
    assert "must be diameter x height in mm" in words(page)


def test_the_kind_sets_the_usual_serving(page):
    opened(page, "bay_leaf_ice_cream")
    page.selectbox(key="kind").select("soft_serving").run()
    assert not page.exception
    served = page.session_state.current.serving
    assert (served.temperature_c, served.frozen_water.max) == (-6.0, 55.0)


def test_the_evidence_shows_its_misses(page):
    frame = page.dataframe[-1].value
    assert (frame["within"] == "✗ missed").any()
    assert len(frame) > 150
