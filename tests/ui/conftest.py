"""What the tests of the pages share: Streamlit's driver, a server, a browser that tells of mischief."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright
from streamlit.testing.v1 import AppTest

sys.path.insert(0, str(Path(__file__).parent))

from driving import WAIT, Cook

from formulate.notebook.store import PATH_VARIABLE

ROOT = Path(__file__).parents[2]
UI = ROOT / "ui"


@pytest.fixture(scope="session", autouse=True)
def desk():
    """What the pages share can be imported, and what it remembers is remembered between tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(UI))
        yield


@pytest.fixture
def notebook_path(tmp_path, monkeypatch):
    """Where the notebook of a test is, once there is one."""
    found = tmp_path / "notebook.sqlite3"
    monkeypatch.setenv(PATH_VARIABLE, str(found))
    return found


@pytest.fixture
def app(notebook_path):
    """The pages under Streamlit's test driver, at the first screen."""
    return AppTest.from_file(str(UI / "app.py"), default_timeout=60).run()


@contextmanager
def served(code, folder):
    """Run a server that Python code starts on a free port, from another folder; give its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with (folder / "server.txt").open("wb") as log:
        server = subprocess.Popen(
            [sys.executable, "-c", code, str(port)],
            cwd=folder,
            env={"PYTHONPATH": str(ROOT), "HOME": str(folder), "PATH": os.environ.get("PATH", "")},
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
        try:
            yield place
        finally:
            server.terminate()
            try:
                server.wait(timeout=20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()
                raise


@pytest.fixture(scope="session")
def address(tmp_path_factory):
    """Start the pages as the command does."""
    code = (
        "import sys; from formulate.cli import entry; "
        "sys.argv[1:] = ['serve', '--port', sys.argv[1]]; entry()"
    )
    with served(code, tmp_path_factory.mktemp("elsewhere")) as place:
        yield place


@pytest.fixture(scope="session")
def waiting_address(tmp_path_factory):
    """Start the page that waits for a file."""
    page = Path(__file__).with_name("waiting_page.py")
    code = (
        "import sys; from streamlit.web.cli import main; "
        f"sys.argv[1:] = ['run', {str(page)!r}, '--server.address=127.0.0.1', "
        "'--server.headless=true', '--browser.gatherUsageStats=false', "
        "f'--server.port={sys.argv[1]}']; main()"
    )
    with served(code, tmp_path_factory.mktemp("waiting")) as place:
        yield place


@pytest.fixture(scope="session")
def browser():
    path = shutil.which("chromium")
    assert path, "the browser tests need Chromium; .ci/run installs it"
    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def cook(browser, address):
    """A new tab at a tablet's size on the first screen; it must keep silent and stay at home."""
    context = browser.new_context(viewport={"width": 1180, "height": 820})
    tab = context.new_page()
    found = Cook(tab, address)
    found.arrive()
    expect(tab.get_by_text("Before you churn")).to_be_visible(timeout=WAIT)
    yield found
    context.close()
    assert found.watch.errors == []
    assert found.watch.elsewhere == []
