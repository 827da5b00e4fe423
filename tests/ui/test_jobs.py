"""The three jobs in a real browser, from the first screen to the sheet."""

from pathlib import Path

from playwright.sync_api import expect


def test_a_fruit_sorbet_is_rebalanced_for_a_new_reading(cook):
    cook.try_example("damson_sorbet")
    cook.sees("What came in")
    cook.sees("3 of 4 targets", ".verdict")
    cook.fill_cell("lots", 0, 1, "15")
    cook.sees("15.0 ± 0.2 °Bx")
    cook.sees("2 of 4 targets|3 of 4 targets", ".verdict")
    cook.press("Take the balanced weights")
    cook.sees("4 of 4 targets", ".verdict")
    cook.sees("Nothing has to change")
    cook.go_to("The sheet")
    cook.sees("4 of 4 targets", ".verdict")
    frame = cook.tab.frame_locator("iframe").first
    expect(frame.get_by_text("Damsons, stoned").first).to_be_visible(timeout=30_000)
    with cook.tab.expect_download() as waiting:
        cook.press("Save to print")
    assert waiting.value.suggested_filename == "damson_sorbet_fruit_at_11_bx.html"
    with cook.tab.expect_download() as waiting:
        cook.press("Save as PDF")
    assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF")


def test_a_herb_base_is_designed_from_nothing(cook):
    cook.press("Start from nothing")
    cook.sees("No verdict yet", ".verdict")
    for name in ("Whole milk", "Cream, 35 % fat", "Sugar (sucrose)", "Skimmed milk powder"):
        cook.choose("ingredient_menu", "added", name)
    for name in ("Total solids, %", "Fat, %"):
        cook.choose("target_menu", "target_added", name)
    cook.fill_cell("targets", 0, 1, "34")
    cook.fill_cell("targets", 0, 2, "40")
    cook.fill_cell("targets", 1, 1, "8")
    cook.fill_cell("targets", 1, 2, "11")
    cook.press("Take the balanced weights")
    cook.sees("3 of 3 targets", ".verdict")
    cook.sees(r"Will scoop [89]\d times in 100", ".verdict")
    cook.go_to("The sheet")
    cook.sees("Allergens by the table: milk")


def test_scoopability_is_checked_and_the_fix_applied(cook):
    cook.try_example("sea_buckthorn_sorbet_too_hard")
    cook.sees("Too hard", ".verdict")
    expect(
        cook.tab.locator(".stVegaLiteChart svg, [data-testid=stVegaLiteChart] svg")
    ).to_be_visible(timeout=30_000)
    cook.press("Take the balanced weights")
    cook.sees("[Ss]coopable", ".verdict")
    cook.go_to("The sheet")
    cook.sees("[Ss]coopable", ".verdict")
