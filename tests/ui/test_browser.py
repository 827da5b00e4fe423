"""The page in a real browser: from the first screen to a balanced mix, with nothing fetched elsewhere."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

ROOT = Path(__file__).parents[2]
BAD = b'name = "x"\nbatch_g = 100\n[[ingredient]]\nkey = "watr"\ngrams = 100\n'


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """Start the page as the command does, from another folder, on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-c", "from formulate.cli import entry; entry()"]
    log = (tmp_path_factory.mktemp("log") / "server.txt").open("wb")
    server = subprocess.Popen(
        [*command, "serve", "--port", str(port)],
        cwd=tmp_path_factory.mktemp("elsewhere"),
        env={"PYTHONPATH": str(ROOT), "HOME": str(tmp_path_factory.mktemp("home"))},
        stdout=log,
        stderr=subprocess.STDOUT,
    )
    place = f"http://127.0.0.1:{port}"
    for _ in range(150):
        try:
            urllib.request.urlopen(f"{place}/_stcore/health", timeout=1).close()
            break
        except OSError:
            time.sleep(0.2)
    yield place
    server.terminate()
    server.wait(timeout=20)
    log.close()


@pytest.fixture(scope="module")
def browser():
    path = shutil.which("chromium")
    assert path, "the browser tests need Chromium; .ci/run installs it"
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def page(browser, address):
    """A page at a tablet's width that notes console errors and requests to elsewhere."""
    view = browser.new_page(viewport={"width": 1024, "height": 768})
    errors, elsewhere = [], []
    view.on("console", lambda line: errors.append(line.text) if line.type == "error" else None)
    view.on(
        "request",
        lambda request: (
            None
            if request.url.startswith((address, "data:", "blob:"))
            else elsewhere.append(request.url)
        ),
    )
    view.goto(address)
    expect(view.get_by_text("Before you churn")).to_be_visible(timeout=30_000)
    yield view
    view.close()
    assert errors == []
    assert elsewhere == []


def open_example(page, name):
    page.get_by_role("combobox").first.click()
    page.get_by_text(name, exact=True).click()
    expect(page.get_by_role("button", name="Balance")).to_be_visible(timeout=30_000)


def test_from_the_first_screen_to_a_balanced_mix(page, tmp_path):
    open_example(page, "Sea buckthorn sorbet too hard")
    expect(page.get_by_text("too hard").last).to_be_visible(timeout=30_000)
    page.get_by_role("button", name="Balance").click()
    expect(page.get_by_text("72.0 ± 1.2 % of the water is frozen: scoopable")).to_be_visible(
        timeout=30_000
    )
    expect(page.get_by_role("button", name="Use these weights")).to_be_visible()
    expect(page.get_by_text("Scoops best at, balanced")).to_be_visible()
    page.screenshot(path=tmp_path / "balanced.png", full_page=True)
    assert (tmp_path / "balanced.png").stat().st_size > 10_000


def test_a_wrong_file_is_answered_with_a_sentence(page):
    page.locator("input[type=file]").set_input_files(
        {"name": "wrong.toml", "mimeType": "application/toml", "buffer": BAD}
    )
    expect(page.get_by_text('Did you mean "water"')).to_be_visible(timeout=30_000)


def test_the_recipe_can_be_taken_away(page):
    open_example(page, "Bay leaf ice cream")
    with page.expect_download(timeout=30_000) as waiting:
        page.get_by_role("button", name="Download this recipe").click()
    text = Path(waiting.value.path()).read_text(encoding="utf-8")
    assert text.startswith('name = "Bay leaf ice cream base"')
