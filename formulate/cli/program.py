"""Commands about the program itself: evidence, verify, the pages, completion in a shell."""

from __future__ import annotations

import argparse
import os
import socket
import sys

from formulate.cli.command import DONE, FAULT, Command, Parser
from formulate.cli.inputs import add_notebook
from formulate.cli.outputs import print_out
from formulate.errors import InputError, nearest

__all__ = ["COMMANDS"]

_LOOPBACK = "127.0.0.1"
_ALONE = (
    "These pages are for this machine alone. To share them with tablets in the kitchen, give "
    "--address with this machine's own address on the kitchen's network."
)
_SHARED = (
    "These pages ask for no password: whoever reaches the address can read and write the notebook. "
    "Share them only on a network of your own, behind its router, never on the open internet."
)
_SHELLS = ("bash", "zsh", "fish")
_COMPLETION = """examples:
  formulate completion bash >> ~/.bashrc
  formulate completion zsh >> ~/.zshrc
  formulate completion fish > ~/.config/fish/completions/formulate.fish"""


def _serve_takes(parser: Parser) -> None:
    parser.add_argument("--port", type=int, default=8501, help="port, 1024 to 65535")
    parser.add_argument(
        "--address", default=_LOOPBACK, help="address to listen on (default: this machine only)"
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="leave opening the page to whoever wants it"
    )
    add_notebook(parser)


def _completion_takes(parser: Parser) -> None:
    parser.add_argument("shell", metavar="SHELL", help="bash, zsh or fish")


def _guide_takes(parser: Parser) -> None:
    parser.add_argument("topic", nargs="?", metavar="TOPIC", help="a page; without one, their list")


def _guide(options: argparse.Namespace) -> int:
    from formulate.data import guide_text, guide_topics

    topics = guide_topics()
    if options.topic is None:
        found = [{"topic": topic, "title": title} for topic, title in topics]
        words = "\n".join(f"formulate guide {topic:10} {title}" for topic, title in topics)
        print_out({"topics": found} if options.json else words)
        return DONE
    try:
        text = guide_text(options.topic)
    except KeyError:
        known = [topic for topic, _ in topics]
        hint = nearest(options.topic, known) or f"The pages are: {', '.join(known)}."
        raise InputError("guide", f'has no page "{options.topic}"', hint) from None
    print_out({"topic": options.topic, "text": text} if options.json else text.rstrip())
    return DONE


def _evidence(options: argparse.Namespace) -> int:
    from formulate.report import evidence_data, evidence_text

    print_out({"checks": evidence_data()} if options.json else evidence_text())
    return DONE


def _verify(options: argparse.Namespace) -> int:
    from formulate.report import verification, verification_data, verification_text

    found = verification()
    print_out(verification_data(found) if options.json else verification_text(found))
    return DONE if found.as_recorded else FAULT


def _schema_takes(parser: Parser) -> None:
    parser.add_argument("what", help="recipe, menu, pack, base or result")


def _schema(options: argparse.Namespace) -> int:
    from formulate.report import schema

    print_out(schema(options.what))  # which leaves room for the versions
    return DONE


def _serve(options: argparse.Namespace) -> int:
    from formulate.data import page_folder
    from formulate.notebook import PATH_VARIABLE

    _require_free(options.address, options.port)
    if options.notebook is not None:
        os.environ[PATH_VARIABLE] = str(options.notebook.resolve())
    if options.json:
        print_out({"address": f"http://{options.address}:{options.port}"})
    print(_SHARED if options.address != _LOOPBACK else _ALONE, file=sys.stderr, flush=True)
    by_hand = sys.stdin is not None and sys.stdin.isatty() and not options.json
    from streamlit.web.cli import main as streamlit

    streamlit(
        [
            "run",
            str(page_folder() / "app.py"),
            f"--server.port={options.port}",
            f"--server.address={options.address}",
            f"--server.headless={str(options.no_browser or not by_hand).lower()}",
            "--browser.gatherUsageStats=false",
            f"--browser.serverAddress={options.address}",
        ],
        standalone_mode=False,
    )
    return DONE


def _require_free(address: str, port: int) -> None:
    """Refuse a place at which nothing can listen, before a server says so in its own words."""
    if not 1024 <= port <= 65535:
        raise InputError("--port", f"is {port}, and must be 1024 to 65535", "Try 8501.")
    try:
        found = socket.getaddrinfo(address, port, type=socket.SOCK_STREAM)
    except (OSError, ValueError):  # a name that cannot be encoded is a ValueError
        problem = f'"{address}" is no address of this machine'
        raise InputError(
            "--address", problem, "Leave it out, or give this machine's own."
        ) from None
    family, kind, protocol, _, place = found[0]
    try:
        with socket.socket(family, kind, protocol) as trial:
            if os.name == "posix":  # elsewhere this would share a port that is taken
                trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind(place)
    except OSError as error:
        problem = f"nothing can listen at {address}, port {port} ({error.strerror})"
        raise InputError("serve", problem, "Give another --port, or another --address.") from None


def _completion(options: argparse.Namespace) -> int:
    from argcomplete.shell_integration import shellcode

    if options.shell not in _SHELLS:
        problem = f'"{options.shell}" is not one of {", ".join(_SHELLS)}'
        raise InputError("completion", problem, "Write formulate completion bash, for example.")
    script = shellcode(["formulate"], shell=options.shell)
    print_out({"shell": options.shell, "script": script} if options.json else script)
    return DONE


COMMANDS = (
    Command(
        "guide", "pages to read: a first dessert, the recipe file, Python", _guide, _guide_takes
    ),
    Command(
        "evidence", "published figures beside what this model predicts, misses included", _evidence
    ),
    Command("verify", "are tables, model and arithmetic here as they were tested?", _verify),
    Command(
        "schema",
        "JSON Schema of each file and of the answers of balance and check",
        _schema,
        _schema_takes,
    ),
    Command("serve", "open the page in a browser", _serve, _serve_takes),
    Command(
        "completion",
        "print what lets a shell complete commands, options and examples",
        _completion,
        _completion_takes,
        _COMPLETION,
    ),
)
