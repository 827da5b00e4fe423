"""Editing, undoing, reloading and files in a real browser."""

from playwright.sync_api import expect

from formulate.data.examples import example_bytes
from formulate.recipes.file import parse

BAD = b'name = "x"\nbatch_g = 100\n[[ingredient]]\nkey = "watr"\ngrams = 100\n'
SLY = b"""
name = "![x](http://example.org/a.png)<img src=http://example.org/b.png onerror=alert(1)>"
batch_g = 1000
[[ingredient]]
key = "water"
grams = 800
[[ingredient]]
key = "sucrose"
grams = 200
[[group]]
name = "<script>alert(1)</script>![y](http://example.org/c.png)"
keys = ["sucrose"]
percent = { min = 30 }
"""


def grams_in(cook):
    """The weights of the recipe that can be saved at this moment."""
    return [entry.grams for entry in parse(cook.save(), "saved.toml").ingredients]


def test_every_edit_counts_not_only_every_second(cook):
    cook.try_example("damson_sorbet")
    cook.go_to("The mix")
    for row, grams in enumerate(("990", "310", "65", "90")):
        cook.fill_cell("weights", row, 1, grams)
    assert grams_in(cook) == [990.0, 310.0, 65.0, 90.0, 5.0, 555.0]


def test_undo_redo_reload_and_second_tab(cook):
    cook.try_example("damson_sorbet")
    cook.go_to("The mix")
    cook.fill_cell("weights", 1, 1, "900")
    cook.sees("Too soft", ".verdict")
    edited = cook.tab.url
    cook.tab.reload()
    cook.sees("Too soft", ".verdict")
    second = cook.tab.context.new_page()
    second.goto(edited)
    expect(second.locator(".verdict")).to_contain_text("Too soft", timeout=30_000)
    second.close()
    cook.fill_cell("weights", 1, 1, "300")
    cook.sees("Misses 1 target", ".verdict")
    cook.tab.keyboard.press("Control+z")
    cook.sees("Too soft", ".verdict")
    cook.press("Redo")
    cook.sees("Misses 1 target", ".verdict")
    cook.tab.go_back()
    cook.sees("Too soft", ".verdict")


def test_a_recipe_file_comes_out_as_it_went_in(cook):
    data = example_bytes("bay_leaf_ice_cream")
    cook.drop("mine.toml", data)
    cook.sees("Bay leaf ice cream base")
    saved = cook.save()
    assert parse(saved, "saved.toml") == parse(data, "mine.toml")


def test_files_that_are_no_recipe_are_answered_with_a_sentence(cook):
    cook.drop("wrong.toml", BAD)
    cook.sees('Did you mean "water"')
    cook.arrive()
    cook.drop("picture.toml", b"\x89PNG\r\n\x1a\n\xff\xfe")
    cook.sees("not a text file")
    cook.arrive()
    cook.drop("large.toml", b"#" * 1_100_000)
    cook.sees("File must be|exceeds|too large")
    cook.sees("Before you churn")


def test_a_name_is_text_and_fetches_nothing(cook):
    cook.drop("sly.toml", SLY)
    cook.sees(r"!\[x\]\(http")
    for title in ("The mix", "Will it scoop?", "The sheet"):
        cook.go_to(title)
    assert cook.tab.locator("img[src*='example.org'], script:text('alert')").count() == 0


def test_a_slip_is_told_beside_the_entries_and_the_verdict_waits(cook):
    cook.try_example("damson_sorbet")
    cook.go_to("The mix")
    cook.fill_cell("weights", 0, 2, "1200")
    cook.sees("Damsons, stoned: the least weight 1200 is above the greatest weight 1150")
    cook.sees("an entry waits to be mended", ".verdict")
    cook.fill_cell("weights", 0, 2, "950")
    cook.sees("served at", ".verdict")
