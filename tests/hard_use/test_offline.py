"""Nothing leaves the machine: commands and pages open no connection, the server listens at home."""

import contextlib
import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from formulate.cli.commands import main

ROOT = Path(__file__).parents[2]
COMMANDS = (
    "balance damson_sorbet",
    "check sea_buckthorn_sorbet_too_hard",
    "curve bay_leaf_ice_cream",
    "ranges damson_sorbet",
    "ladder damson_sorbet --ingredient damson --brix 9:12:1",
    "sheet damson_sorbet -o sheet.html",
    "sheet damson_sorbet -o sheet.pdf",
    "label damson_sorbet --rules eu",
    "ingredients sugar",
    "keep damson_sorbet --notebook book.sqlite3",
    "harden damson_sorbet",
    "order damson_sorbet=4000",
)


@pytest.fixture
def no_way_out(monkeypatch):
    """Sockets that connect nowhere, and names that are not looked up."""
    tried = []

    def refuse(*about, **more):
        tried.append(about)
        raise OSError("a connection was tried")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket.socket, "connect_ex", refuse)
    monkeypatch.setattr(socket.socket, "sendto", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    monkeypatch.setattr(socket, "gethostbyname", refuse)
    yield tried
    assert tried == []


def test_the_guard_sees_a_connection(no_way_out):
    with contextlib.suppress(OSError):
        socket.create_connection(("127.0.0.1", 9), timeout=1)
    assert no_way_out
    no_way_out.clear()


@pytest.mark.parametrize("line", COMMANDS)
def test_no_command_opens_a_connection(line, no_way_out, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(line.split()) == 0


def test_no_page_opens_a_connection(no_way_out, tmp_path, monkeypatch):
    monkeypatch.setenv("FORMULATE_NOTEBOOK", str(tmp_path / "book.sqlite3"))
    monkeypatch.syspath_prepend(str(ROOT / "ui"))
    app = AppTest.from_file(str(ROOT / "ui" / "app.py"), default_timeout=60).run()
    app.button(key="try_damson_sorbet").click().run()
    for screen in ("mix", "cold", "sheet", "notebook", "known"):
        app.switch_page(f"screens/{screen}.py").run()
        assert not app.exception


def listening(port):
    """Addresses of this machine on which something listens at a port (Linux)."""
    found = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        for line in Path(table).read_text(encoding="ascii").splitlines()[1:]:
            address, place = line.split()[1].split(":")
            if line.split()[3] == "0A" and int(place, 16) == port:
                found.add(address)
    return found


def test_the_pages_listen_to_this_machine_alone(tmp_path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "formulate", "serve", "--port", str(port)],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "HOME": str(tmp_path), "PATH": os.environ.get("PATH", "")},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        for _ in range(150):
            if found := listening(port):
                break
            time.sleep(0.2)
        assert found == {"0100007F"}  # 127.0.0.1
    finally:
        server.terminate()
        _, said = server.communicate(timeout=20)
    assert "for this machine alone" in said
