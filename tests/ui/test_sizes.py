"""Every page on a tablet and on a phone, in light and dark, by keyboard, and how quick it is."""

import json
import statistics
import time

from playwright.sync_api import expect

TITLES = ("What came in", "The mix", "Will it scoop?", "The sheet", "The notebook", "How we know")


def test_no_page_has_to_be_dragged_sideways_on_a_tablet(cook):
    assert cook.width_of_page() <= 1180
    cook.try_example("bay_leaf_ice_cream")
    for title in TITLES:
        cook.go_to(title)
        assert cook.width_of_page() <= 1180, title


def test_no_page_has_to_be_dragged_sideways_on_a_phone(cook):
    cook.tab.set_viewport_size({"width": 390, "height": 844})
    assert cook.width_of_page() <= 390
    cook.try_example("bay_leaf_ice_cream")
    for title in TITLES:
        cook.go_to(title)
        assert cook.width_of_page() <= 390, title


def test_the_first_steps_by_keyboard_alone(cook):
    for _ in range(40):
        cook.tab.keyboard.press("Tab")
        ring = cook.tab.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        focused = cook.tab.evaluate(
            "document.activeElement.tagName + document.activeElement.innerText"
        )
        assert ring == "solid" or not focused.startswith(("A", "BUTTON")), (
            f"{focused} hides its focus"
        )
        if focused == "BUTTONTry damson sorbet":
            break
    cook.tab.keyboard.press("Enter")
    expect(cook.tab.locator(".verdict")).to_be_visible(timeout=30_000)


def test_what_is_drawn_has_a_name_for_those_who_do_not_see_it(cook):
    cook.try_example("sea_buckthorn_sorbet_too_hard")
    assert cook.tab.locator(".verdict[role=status]").count() == 1
    expect(cook.tab.get_by_label("Freezing curve", exact=False).first).to_be_attached(
        timeout=30_000
    )
    for table in cook.tab.locator(".stHtml table").all():
        assert table.locator("caption").inner_text().strip() or table.locator("caption").count()


def test_from_a_key_to_the_verdict(cook, tmp_path, capsys):
    """Measures; judges nothing."""
    cook.try_example("damson_sorbet")
    cook.go_to("The mix")
    cook.fill_cell("weights", 1, 1, "301")
    cook.tab.evaluate(
        """() => {
            window.painted = null;
            const enter = e => { if (e.key === 'Enter') window.pressed = performance.now(); };
            addEventListener('keydown', enter, true);
            new MutationObserver(() => {
                const now = document.querySelector('.verdict')?.innerText;
                if (now !== window.before && window.painted === null)
                    requestAnimationFrame(() => { window.painted = performance.now(); });
            }).observe(document.body, {subtree: true, childList: true, characterData: true});
        }"""
    )
    taken = []
    entry = cook.tab.locator("#portal .gdg-input")
    for count in range(20):
        cook.tab.keyboard.press("ArrowUp")
        cook.tab.keyboard.press("ArrowDown")
        cook.tab.evaluate("window.before = document.querySelector('.verdict').innerText")
        if count:
            cook.tab.keyboard.press("ArrowUp")
        cook.tab.keyboard.press("Enter")
        entry.fill(str(320 + 15 * count))
        cook.tab.evaluate("window.painted = null")
        cook.tab.keyboard.press("Enter")
        cook.tab.wait_for_function("window.painted !== null", timeout=30_000)
        taken.append(cook.tab.evaluate("window.painted - window.pressed"))
        cook.quiet()
        time.sleep(0.05)
    found = {
        "edits": len(taken),
        "median_ms": round(statistics.median(taken)),
        "95th_percentile_ms": round(statistics.quantiles(taken, n=20)[-1]),
    }
    (tmp_path / "latency.json").write_text(json.dumps({**found, "all_ms": taken}), encoding="utf-8")
    with capsys.disabled():
        print(f"\nfrom key press to the verdict: {found}")
