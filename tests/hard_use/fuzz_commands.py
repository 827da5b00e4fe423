"""Random command lines through every command: no traceback, no hang, nothing written elsewhere.

    PYTHONPATH=. python tests/hard_use/fuzz_commands.py --count 100000 --seed 1

Commands and options come from the parser itself, so that a new one takes part without a change here;
``serve`` alone is left out.  Values are good, nearly good and hostile.  A fault prints the command line
that caused it and ends with 1.

Commands write where they are told, and whoever runs this may be allowed to write anywhere.  So no word
leads out of the folder of a run, and what would write outside it all the same is stopped before it does.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from by_hand import by_hand

from formulate.cli.commands import build_parser, main
from formulate.data.examples import example_bytes, example_names

SLOW_S = 30.0
LEFT_OUT = ("serve", "verify", "evidence")  # opens a port; the same long answer each time

KEYS = "damson sucrose water whole_milk bay_leaf cream_35 watr inulin locust_bean_gum".split()
WORDS = (
    *KEYS,
    *"0 1 -1 3 0.1 0,5 1e9 1e-9 nan inf -inf 1e400 0x10 ٣ 12.5 -13 80 -- - 9:13:2 13:9:1 9:13:0".split(),
    *"2026-11-25 2026-02-30 eu us 9:13 a:b:c 60:20:90 20:5:120 120x80 0x0 x 5000x5000x5000".split(),
    *"change sweetness -total_solids hardness cost_per_kg brix baume density round ball none".split(),
    *"steel still fridge bench damson=1000 sucrose=300 damson= =5 damson=nan watr=3".split(),
    *"damson=1e400 damson_sorbet=4000".split(),
    "damson_sorbet=-1",
    "",
    " ",
    "\0",
    "\0.html",
    "\n",
    "é" * 50,
    "😀",
    "=1+1",
    "@SUM(1)",
    "a" * 5000,
    "folder/../out.html",
    "folder/..",
    "no/such/folder/out.html",
    ".",
    "CON",
    "%s%n",
    "{}",
    "[[",
)


def leaves(parser: argparse.ArgumentParser, before: tuple[str, ...] = ()) -> Iterator[Any]:
    """Every command that can be run, as its words and its parser."""
    inner = [each for each in parser._actions if isinstance(each, argparse._SubParsersAction)]
    if not inner:
        yield before, parser
    for action in inner:
        for name, command in action.choices.items():
            if name not in LEFT_OUT:
                yield from leaves(command, (*before, name))


def files(folder: Path) -> list[str]:
    """Good, broken and hostile files, and names of files that are not there."""
    for name in example_names():
        (folder / f"{name}.toml").write_bytes(example_bytes(name))
    sorbet = example_bytes("damson_sorbet")
    broken = {
        "half.toml": sorbet[: len(sorbet) // 2],
        "empty.toml": b"",
        "binary.toml": bytes(range(256)),
        "utf16.toml": sorbet.decode().encode("utf-16"),
        "bom.toml": b"\xef\xbb\xbf" + sorbet,
        "deep.toml": b"a = " + b"[" * 20_000,
        "dotted.toml": b".".join([b"a"] * 20_000) + b" = 1",
        "long.toml": b'name = "' + b"x" * 500_000 + b'"',
        "huge.toml": b"#" * 3_000_000,
        "numbers.toml": sorbet.replace(b"1000", b"1e400").replace(b"300", b"-0.0"),
        "sly.toml": sorbet.replace(b'name = "', b'name = "=cmd|../../x\\u0007'),
        "notebook.sqlite3": b"SQLite format 3\0" + bytes(4000),
    }
    for name, data in broken.items():
        (folder / name).write_bytes(data)
    (folder / "closed.toml").write_bytes(sorbet)
    (folder / "closed.toml").chmod(0)
    (folder / "folder").mkdir()
    there = sorted(path.name for path in folder.iterdir())
    return [
        *there,
        "missing.toml",
        "missing/there.html",
        "out.html",
        "out.pdf",
        "out.csv",
        "out.lp",
    ]


def values(action: argparse.Action, names: list[str], random_: random.Random) -> list[str]:
    """Values for one option or place, most of them of the kind that it takes."""
    count = {"*": random_.randint(0, 3), "+": random_.randint(1, 4), "?": random_.randint(0, 1)}
    number = count.get(str(action.nargs), action.nargs if isinstance(action.nargs, int) else 1)
    found = []
    for _ in range(number):
        dice = random_.random()
        if action.choices and dice < 0.8:
            found.append(str(random_.choice(list(action.choices))))
        elif dice < 0.25:
            found.append(random_.choice(example_names()))
        elif dice < 0.55:
            found.append(random_.choice(names))
        else:
            found.append(random_.choice(WORDS))
    return found


def command_line(commands: list[Any], names: list[str], random_: random.Random) -> list[str]:
    """One random command line."""
    words, parser = random_.choice(commands)
    line = list(words)
    for action in parser._actions:
        if isinstance(action, argparse._HelpAction):
            continue
        if action.option_strings:
            if random_.random() < (0.9 if action.required else 0.3):
                line.append(random_.choice(action.option_strings))
                if action.nargs != 0:
                    line += values(action, names, random_)
        elif random_.random() < 0.97:
            line += values(action, names, random_)
    if random_.random() < 0.03:
        line.insert(random_.randrange(len(line) + 1), random_.choice(WORDS))
    return line


class Outside(Exception):
    """Something was about to be written outside the folder of a run."""


_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_CHANGES = {
    "os.rename": 2,
    "os.remove": 1,
    "os.mkdir": 1,
    "os.rmdir": 1,
    "os.link": 2,
    "os.symlink": 2,
}
_CHANGES |= {"os.chmod": 1, "os.truncate": 1, "shutil.rmtree": 1, "sqlite3.connect": 1}
_within: list[Path] = []  # the folder of the run that is going on, if any


def leads_out(word: str, folder: Path) -> bool:
    """Whether a word of a command line, or what stands behind its last =, is a path out of a folder."""
    return any(
        not (folder / part.replace("\0", "")).resolve().is_relative_to(folder)
        for part in (word, word.rpartition("=")[2])
    )


def _guard(event: str, about: tuple[Any, ...]) -> None:
    """Stop what would change anything outside the folder of a run (an audit hook of Python)."""
    if not _within:
        return
    if event == "open":
        paths = about[:1] if isinstance(about[2], int) and about[2] & _WRITES else ()
    else:
        paths = about[: _CHANGES.get(event, 0)]
    for path in paths:
        if isinstance(path, str | bytes | os.PathLike):
            place = os.fsdecode(path).removeprefix("file://").partition("?")[0]
            if place != os.devnull and leads_out(place, _within[-1]):
                raise Outside(f"{event} {place}")


@cache
def _watch() -> None:
    """Set the guard, once: an audit hook stays as long as the process."""
    sys.addaudithook(_guard)


@contextlib.contextmanager
def kept_inside(folder: Path) -> Iterator[None]:
    """While this lasts nothing is changed outside a folder; raises :class:`Outside` in place of it."""
    _watch()
    bytecode, sys.dont_write_bytecode = sys.dont_write_bytecode, True
    _within.append(folder.resolve())
    try:
        yield
    finally:
        _within.pop()
        sys.dont_write_bytecode = bytecode


def run_one(line: list[str], stdin: bytes) -> int | str:
    """Run a command line; return its exit code.

    Raises
    ------
    AssertionError
        If it ends as no command may.
    """
    out, err = io.StringIO(), io.StringIO()
    start = time.monotonic()
    old = sys.stdin
    sys.stdin = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                code: int = main(line)
            except SystemExit as stop:  # argparse: help
                assert stop.code == 0, stop.code
                return "help"
    finally:
        sys.stdin = old
    said = err.getvalue()
    assert time.monotonic() - start < SLOW_S, "too slow"
    assert code in (0, 2, 3), f"exit code {code}: {said}"
    assert code != 2 or 0 < len(said) < 6000, f"{len(said)} letters of error"
    assert "Traceback" not in said
    if "--json" in line and "--" not in line and code in (0, 3):
        json.loads(out.getvalue(), parse_constant=_no_number)
    return code


def _no_number(word: str) -> None:
    raise AssertionError(f"{word} in JSON")


def run(count: int, seed: int) -> Counter[Any]:
    """Run so many random command lines in a folder of their own; return how often each code came."""
    random_ = random.Random(seed)
    commands = list(leaves(build_parser()))
    found: Counter[Any] = Counter()
    home = os.getcwd()
    kept = {name: os.environ.get(name) for name in ("HOME", "XDG_DATA_HOME", "FORMULATE_NOTEBOOK")}
    with tempfile.TemporaryDirectory() as outer:
        folder = Path(outer) / "kitchen"
        folder.mkdir()
        names = files(folder)
        sorbet = (folder / "damson_sorbet.toml").read_bytes()
        os.environ |= {"HOME": str(folder), "XDG_DATA_HOME": str(folder)}
        os.environ.pop("FORMULATE_NOTEBOOK", None)
        os.chdir(folder)
        try:
            for _ in range(count):
                line = command_line(commands, names, random_)
                assert not any(leads_out(word, folder.resolve()) for word in line), line
                stdin = random_.choice((sorbet, sorbet, b"", b"\xff"))
                try:
                    with kept_inside(folder):
                        found[run_one(line, stdin)] += 1
                except BaseException:
                    print("formulate", *map(repr, line))
                    raise
                assert [path.name for path in Path(outer).iterdir()] == ["kitchen"], line
        finally:
            os.chdir(home)
            for name, value in kept.items():
                if value is None:
                    os.environ.pop(name, None)
                else:
                    os.environ[name] = value
            (folder / "closed.toml").chmod(0o600)
    return found


if __name__ == "__main__":
    by_hand(__doc__, "commands", run, 100_000)
