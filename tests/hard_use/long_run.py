"""The notebook in hard use: killed while it writes, two cooks at once, damage by the byte.

The tests beside run it short.  The long run, 200 kills and five minutes of two writers, takes about
ten minutes and prints what it found:

    PYTHONPATH=. python tests/hard_use/long_run.py

`--kills`, `--seconds`, `--damages` and `--flips` change the amounts.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from formulate.errors import InputError
from formulate.ingredients.lots import Lot
from formulate.notebook.batch_records import (
    Figures,
    FurtherLot,
    Verdict,
    Weighing,
    batches,
    made,
    strike,
    verdict,
)
from formulate.notebook.contents import examine
from formulate.notebook.deliveries import add_lot, stock
from formulate.notebook.files import import_notebook, rescue
from formulate.notebook.opening import open_notebook
from formulate.notebook.recipes import history, keep, kept_version, search
from formulate.notebook.schema import SCHEMA_VERSION
from formulate.recipes.model import Recipe, RecipeIngredient

NAME = "Damson sorbet"
_KILLS_OF_ONE = 25
KEYS = ("damson", "sucrose", "dextrose_monohydrate", "locust_bean_gum", "water")


@dataclass(frozen=True)
class Killed:
    """How often it was killed, how often in the middle of a change, and what was acknowledged."""

    kills: int
    while_writing: int
    acknowledged: int


@dataclass(frozen=True)
class Written:
    """What two writers kept, how often one was refused, and how often a reader looked."""

    kept: int
    refused: int
    looks: int


@dataclass(frozen=True)
class Damaged:
    """Of so many damaged copies: noticed at opening or by the check, and rows saved on average [%]."""

    copies: int
    noticed: int
    unreadable: int
    saved_percent: float


def recipe(count: float, water: float = 500.0) -> Recipe:
    """A recipe that counts: its sugar is the number of times that it was changed.

    Writers differ in water: the same recipe from two would be one version, and rightly so.
    """
    grams = (1000.0, count, 60.0, 5.0, water)
    return Recipe(NAME, 2000.0, tuple(map(RecipeIngredient, KEYS, grams)))


def counted(found: Recipe) -> float:
    """The count in a recipe."""
    grams = found.ingredients[1].grams
    assert grams is not None
    return grams


# Killed while it writes -----------------------------------------------------------------------------


def write_until_killed(path: Path) -> None:
    """Keep versions, batches and verdicts, and say each one once it is kept."""
    with open_notebook(path) as notebook:
        print("open", flush=True)
        try:
            newest = kept_version(notebook, NAME)
        except InputError:
            newest = keep(notebook, recipe(1.0))
        while True:
            print("start", flush=True)
            newest = keep(notebook, recipe(counted(newest.recipe) + 1.0), onto=newest.number)
            print(f"version {newest.number}", flush=True)
            weights = {key: float(newest.number) for key in KEYS}
            batch = made(notebook, NAME, weights, figures=Figures(brix=27.0), note="x" * 500)
            print(f"batch {batch.number} {batch.uid}", flush=True)
            found = verdict(notebook, batch.number, Verdict(-13.0, 0, note="y" * 500))
            print(f"verdict {batch.number} {found.verdicts[-1].uid}", flush=True)


def kill_while_writing(folder: Path, kills: int, seed: int = 1) -> Killed:
    """Kill a writer again and again on the same file; raise if anything is lost or half-written.

    A new file is begun after every 25 kills, as every look at all of it takes longer than the last.
    """
    chance = random.Random(seed)
    in_the_middle = acknowledged = 0
    versions: set[int] = set()
    noted: dict[str, str] = {}
    for count in range(kills):
        path = folder / f"killed{count // _KILLS_OF_ONE}.sqlite3"
        if count % _KILLS_OF_ONE == 0:
            acknowledged += len(versions) + len(noted)
            versions, noted = set(), {}
        writer = start("write", path)
        assert writer.stdout is not None
        if count % 5:  # else while it starts, opens and recovers
            assert writer.stdout.readline() == "open\n", _last_words(writer)
        time.sleep(chance.uniform(0.0, 0.6))
        writer.send_signal(signal.SIGKILL)
        said, problem = writer.communicate()
        assert not problem, problem
        lines = said.splitlines(keepends=True)
        in_the_middle += bool(lines) and not lines[-1].startswith("open")
        for line in lines:
            if not line.endswith("\n"):
                continue  # killed while it spoke
            what, _, rest = line.strip().partition(" ")
            if what == "version":
                versions.add(int(rest))
            elif what in ("batch", "verdict"):
                noted[rest.split()[1]] = rest.split()[0]
        _require_everything(path, versions, noted)
    return Killed(kills, in_the_middle, acknowledged + len(versions) + len(noted))


def _require_everything(path: Path, versions: set[int], noted: dict[str, str]) -> None:
    """What was acknowledged is there, all of it is whole, and nothing was counted twice or left out."""
    if not path.exists() or not (versions or noted):
        return
    with open_notebook(path) as notebook:
        kept = history(notebook, NAME)
        found = batches(notebook)
    assert [version.number for version in kept] == list(range(1, len(kept) + 1))
    assert [counted(version.recipe) for version in kept] == [float(v.number) for v in kept]
    assert versions <= {version.number for version in kept}
    for batch in found:
        assert len(batch.weights) == len(KEYS)
        assert len({weight.grams for weight in batch.weights}) == 1
    there = {batch.uid for batch in found} | {s.uid for batch in found for s in batch.verdicts}
    assert noted.keys() <= there
    assert examine(path).faults == ()


def kill_while_migrating(folder: Path, count: int, prepare: Callable[[Path, int], None]) -> int:
    """Kill a program that brings an old notebook up to date; return how often it came to nothing.

    ``prepare`` writes the notebook of an earlier version.
    """
    chance = random.Random(2)
    undone = 0
    for each in range(count):
        path = folder / f"old{each}.sqlite3"
        prepare(path, 1)
        opener = start("open", path)
        assert opener.stdout is not None
        assert opener.stdout.readline() == "ready\n", _last_words(opener)
        time.sleep(chance.uniform(0.0, 0.05))
        opener.send_signal(signal.SIGKILL)
        opener.communicate()
        with closing(sqlite3.connect(path)) as db:
            version = db.execute("PRAGMA user_version").fetchone()[0]
            assert version in (1, SCHEMA_VERSION)
            undone += version == 1
        with open_notebook(path) as notebook:
            assert len(batches(notebook)) == 1
        assert examine(path).faults == ()
    return undone


# Several at once ------------------------------------------------------------------------------------


def add_for(path: Path, seconds: float) -> None:
    """Read the newest version, add one, keep it onto what was read, and again where refused."""
    kept = refused = 0
    water = float(os.getpid())
    until = time.monotonic() + seconds
    with open_notebook(path) as notebook:
        while time.monotonic() < until:
            newest = kept_version(notebook, NAME)
            try:
                more = recipe(counted(newest.recipe) + 1.0, water)
                keep(notebook, more, onto=newest.number)
                kept += 1
                made(notebook, NAME, dict.fromkeys(KEYS, float(kept)))
            except InputError as error:
                assert "after the version" in str(error), error
                refused += 1
    print(kept, refused, flush=True)


def look_for(path: Path, seconds: float) -> None:
    """Look on while others write: every view is whole."""
    looks = 0
    until = time.monotonic() + seconds
    with open_notebook(path) as notebook:
        while time.monotonic() < until:
            for batch in batches(notebook):
                assert len(batch.weights) == len(KEYS)
            looks += 1
            time.sleep(0.05)
    print(looks, 0, flush=True)


def two_writers(folder: Path, seconds: float) -> Written:
    """Let two programs count in one recipe while a third looks on; raise if a count is lost."""
    path = folder / "shared.sqlite3"
    with open_notebook(path) as notebook:
        keep(notebook, recipe(1.0))
    works = [start(work, path, str(seconds)) for work in ("add", "add", "look")]
    numbers = []
    for work in works:
        said, problem = work.communicate()
        assert work.returncode == 0 and not problem, problem
        numbers.append([int(part) for part in said.split()])
    kept = numbers[0][0] + numbers[1][0]
    with open_notebook(path) as notebook:
        newest = kept_version(notebook, NAME)
        assert newest.number == 1 + kept
        assert counted(newest.recipe) == 1.0 + kept
        assert len(batches(notebook)) == kept
    assert examine(path).faults == ()
    return Written(kept, numbers[0][1] + numbers[1][1], numbers[2][0])


# Damage ---------------------------------------------------------------------------------------------


def damage(folder: Path, copies: int, seed: int = 3) -> Damaged:
    """Damage copies in many ways; raise unless each ends in words and what is left can be saved."""
    chance = random.Random(seed)
    path = folder / "whole.sqlite3"
    with open_notebook(path) as notebook:
        for count in range(1, 41):
            keep(notebook, recipe(float(count)), onto=count - 1 or None, note=f"note {count}")
            made(notebook, NAME, dict.fromkeys(KEYS, float(count)), note="z" * 300)
            verdict(notebook, count, Verdict(-13.0, 0))
    whole = path.read_bytes()
    with open_notebook(path) as notebook:
        texts = {version.toml for version in history(notebook, NAME)}
    noticed = unreadable = 0
    saved = 0.0
    for count in range(copies):
        data = bytearray(whole)
        how = count % 4
        at = chance.randrange(100, len(data) - 1024)
        if how == 0:
            data[at : at + 1024] = chance.randbytes(1024)
        elif how == 1:
            data[at : at + 4096] = bytes(4096)
        elif how == 2:
            del data[at:]
        else:
            data[at] ^= 1 << chance.randrange(8)
        target = folder / "damaged.sqlite3"
        target.write_bytes(data)
        words = ""
        try:
            open_notebook(target).close()
            found = examine(target)
            words = " ".join(found.faults)
        except InputError as error:
            words = str(error)
        noticed += bool(words)
        out = folder / "saved"
        try:
            contents = rescue(target, out)
        except InputError:
            unreadable += 1
        else:
            assert {v.toml for v in contents.versions if v.name == NAME} <= texts
            with open_notebook(folder / "new.sqlite3") as new:
                import_notebook(new, out)
                assert len(batches(new)) == len(contents.batches)
            rows = len(contents.versions) + len(contents.batches) + contents.verdicts
            saved += min(rows / 120.0, 1.0)
        for rest in (*folder.glob("damaged*"), *folder.glob("new*"), out):
            shutil.rmtree(rest) if rest.is_dir() else rest.unlink(missing_ok=True)
    return Damaged(copies, noticed, unreadable, 100.0 * saved / copies)


@dataclass(frozen=True)
class Flipped:
    """Of so many flips of a single bit: told in words, read as before, read otherwise without a word."""

    flips: int
    told: int
    same: int
    silent: tuple[int, ...]


def flip(folder: Path, flips: int, seed: int = 5) -> Flipped:
    """Flip one bit in a copy, again and again, and read everything that ordinary use reads."""
    chance = random.Random(seed)
    path = folder / "to_flip.sqlite3"
    with open_notebook(path) as notebook:
        for count in range(1, 21):
            came, used = date(2026, 8, count), dict.fromkeys(KEYS, float(count))
            keep(notebook, recipe(float(count)), onto=count - 1 or None, note=f"note {count}")
            with notebook.writing() as db:
                lot = Lot("damson", "Hill", came, 3.2, 12.0 + count / 10, name=f"crate {count}")
                one = add_lot(db, replace(lot, grams=6000.0, use_by=date(2026, 9, count)))
                two = add_lot(db, replace(lot, name=f"box {count}", grams=900.0))
            made(
                notebook, NAME, used, lots_used={"damson": one}, on=came, note="windy",
                figures=Figures(27.0, 12.0, -6.0, -12.0, 25.0),
                further=(FurtherLot("damson", two, 0.25),),
                weighings=(Weighing("damson", "sieve", 1180.0, 1030.0),),
            )  # fmt: skip
            verdict(notebook, count, Verdict(-13.0, 0, 1, note="fine", cook="Ida"))
        strike(notebook, 7, "another pot")
    whole, before = path.read_bytes(), _everything_of(path)
    told = same = 0
    silent = []
    for count in range(flips):
        at = chance.randrange(len(whole))
        data = bytearray(whole)
        data[at] ^= 1 << chance.randrange(8)
        place = folder / f"flipped{count}" / "notebook.sqlite3"
        place.parent.mkdir()
        place.write_bytes(data)
        try:
            after = _everything_of(place)
        except InputError as error:
            assert "\n" not in str(error)
            told += 1
        else:
            same += after == before
            silent += [] if after == before else [at]
        shutil.rmtree(place.parent)
    return Flipped(flips, told, same, tuple(silent))


def _everything_of(path: Path) -> object:
    with open_notebook(path, create=False) as notebook:
        names = [found.newest.name for found in search(notebook)]
        return [history(notebook, name) for name in names], batches(notebook), stock(notebook)


def start(work: str, path: Path, *more: str) -> subprocess.Popen[str]:
    """Start this file as a program of its own."""
    return subprocess.Popen(
        [sys.executable, __file__, "--work", work, str(path), *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )


def _last_words(process: subprocess.Popen[str]) -> str:
    process.kill()
    return process.communicate()[1]


def main(arguments: list[str]) -> None:
    """Work as one of the programs, or run everything long."""
    if arguments[:1] == ["--work"]:
        work, path = arguments[1], Path(arguments[2])
        if work == "write":
            write_until_killed(path)
        elif work == "open":
            print("ready", flush=True)
            open_notebook(path).close()
        else:
            {"add": add_for, "look": look_for}[work](path, float(arguments[3]))
        return
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=300.0)
    parser.add_argument("--damages", type=int, default=400)
    parser.add_argument("--flips", type=int, default=4000)
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print(kill_while_writing(folder, options.kills), flush=True)
        print(two_writers(folder, options.seconds), flush=True)
        print(damage(folder, options.damages), flush=True)
        print(flip(folder, options.flips), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
