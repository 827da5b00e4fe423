"""Every screen, light and dark, under an accessibility engine (axe-core): WCAG 2.2, levels A and AA."""

import pytest
from axe_playwright_python.sync_playwright import Axe

RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
SCREENS = ("What came in", "The mix", "Will it scoop?", "The sheet", "The notebook", "How we know")


def faults(tab):
    found = Axe().run(tab, options=RULES).response["violations"]
    return {(each["id"], node["html"][:160]) for each in found for node in each["nodes"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_screen_shuts_anybody_out(cook, scheme):
    cook.tab.emulate_media(color_scheme=scheme)
    cook.arrive()
    seen = {"first": faults(cook.tab)}
    cook.try_example("bay_leaf_ice_cream")
    for screen in SCREENS:
        cook.go_to(screen)
        cook.tab.wait_for_timeout(500)
        seen[screen] = faults(cook.tab)
    assert {screen: found for screen, found in seen.items() if found} == {}


def test_the_engine_sees_what_shuts_people_out(cook):
    broken = '<button></button><p style="color:#aaa;background:#fff">pale</p>'
    cook.tab.locator(".stMainBlockContainer").evaluate(
        "(place, words) => place.insertAdjacentHTML('afterbegin', words)", broken
    )
    assert {"button-name", "color-contrast"} <= {rule for rule, _ in faults(cook.tab)}
