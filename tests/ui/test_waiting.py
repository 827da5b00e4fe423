"""Long work shows that it goes on, leaves the page free, and can be stopped."""

import pytest
from playwright.sync_api import expect


@pytest.fixture
def tab(browser):
    context = browser.new_context()
    yield context.new_page()
    context.close()


def test_long_work_is_told_can_be_stopped_and_is_there_when_done(tab, waiting_address, tmp_path):
    awaited = tmp_path / "awaited.txt"
    tab.goto(f"{waiting_address}/?file={awaited}")
    said, main = (
        (lambda words: expect(main).to_contain_text(words, timeout=30_000)),
        tab.locator(".stMain"),
    )
    said("Looking: 1 s so far")
    tab.get_by_label("Something else").fill("still free")
    tab.get_by_label("Something else").press("Enter")
    said("said: still free")
    tab.get_by_role("button", name="Stop waiting").click()
    said("Looking: stopped.")
    expect(tab.get_by_role("button", name="Stop waiting")).to_have_count(0)
    tab.get_by_role("button", name="Look again").click()
    said("s so far")
    awaited.write_text("here it is", encoding="utf-8")
    said("answer: here it is")
    expect(tab.get_by_role("button", name="Stop waiting")).to_have_count(0)
