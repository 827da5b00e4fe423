"""A sweep survives whatever stops it: nothing is lost, nothing is there twice, nothing is mixed up."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
from concurrent.futures import (
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest

from formulate.data.examples import example_bytes
from formulate.data.hashes import versions
from formulate.errors import InputError, WorkerFault
from formulate.recipes.file import parse
from formulate.sweeps import run as exploring
from formulate.sweeps.axes import axis_of, sweep_of
from formulate.sweeps.block_files import Blocks, Tally, about_sweep, block_bytes
from formulate.sweeps.run import explore

ROOT = Path(__file__).parents[2]
SORBET = parse(example_bytes("damson_sorbet"), "damson_sorbet")
WORDS = ("damson.brix=9:15", "target.sweetness.max=16+-1.5")

KILLING = """
import os, signal

def once(marker, fatal, function, sweep, number):
    "Work on a block, but kill this process at the first try of one of them."
    if number == fatal:
        try:
            os.close(os.open(marker, os.O_CREAT | os.O_EXCL))
        except FileExistsError:
            pass
        else:
            os.kill(os.getpid(), signal.SIGKILL)
    return function(sweep, number)

def always(marker, fatal, function, sweep, number):
    "Work on a block, but kill this process whenever it is a certain one."
    if number == fatal:
        os.kill(os.getpid(), signal.SIGKILL)
    return function(sweep, number)
"""

STOPPED = """
import os, signal, sys
from pathlib import Path
from formulate.data import example_bytes
from formulate.recipes import parse
from formulate.sweeps import axis_of, explore, sweep_of

def at_block(done, total):
    if done == 75:
        os.kill(os.getpid(), signal.SIGKILL)

moves = 0
real = os.replace
def in_a_write(source, place):
    global moves
    moves += 1
    if moves == 5:  # the manifest and three blocks are in their place
        os.kill(os.getpid(), signal.SIGKILL)
    real(source, place)

if sys.argv[1] == "in a write":
    os.replace = in_a_write
axes = tuple(axis_of(words) for words in sys.argv[3:])
recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
sweep = sweep_of(recipe, axes, samples=200, seed=7, block_points=25)
explore(sweep, Path(sys.argv[2]), progress=at_block if sys.argv[1] == "at a block" else None)
"""


def sweep_here(**options):
    given = {"samples": 200, "seed": 7, "block_points": 25} | options
    return sweep_of(SORBET, tuple(axis_of(words) for words in WORDS), **given)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The file of the sweep, worked on in one go."""
    output = tmp_path_factory.mktemp("whole") / "sweep.parquet"
    explore(sweep_here(), output)
    return output.read_bytes()


@pytest.fixture
def killing(tmp_path, monkeypatch):
    """Functions that kill the process that they are called in, where other processes can import them."""
    folder = tmp_path / "importable"
    folder.mkdir()
    (folder / "killing.py").write_text(KILLING, encoding="utf-8")
    monkeypatch.syspath_prepend(str(folder))
    import killing as found

    yield found
    sys.modules.pop("killing")


@pytest.fixture
def kept(monkeypatch):
    """Numbers of the blocks that are written, in turn."""
    numbers = []
    real = Blocks.keep

    def noted(self, number, data):
        numbers.append(number)
        real(self, number, data)

    monkeypatch.setattr(Blocks, "keep", noted)
    return numbers


class Wrapped(Executor):
    """Another executor, with something around every call, and a count of what is given to it."""

    def __init__(self, inner, around):
        self.inner, self.around, self.running, self.most = inner, around, set(), 0

    def submit(self, function, /, *arguments):
        future = self.inner.submit(*self.around, function, *arguments)
        self.running = {each for each in self.running if not each.done()} | {future}
        self.most = max(self.most, len(self.running))
        return future


class Here(Executor):
    """Works at once, in this process."""

    def submit(self, function, /, *arguments):
        future = Future()
        future.set_result(function(*arguments))
        return future


def test_every_way_gives_the_same_file(tmp_path, whole):
    with ThreadPoolExecutor(2) as threads:
        explore(sweep_here(), tmp_path / "threads.parquet", executor=threads)
    explore(sweep_here(), tmp_path / "processes.parquet", workers=2)
    explore(sweep_here(), tmp_path / "here.parquet", executor=Here(), at_once=1)
    for name in ("threads", "processes", "here"):
        assert (tmp_path / f"{name}.parquet").read_bytes() == whole


@pytest.mark.parametrize("moment", ["at a block", "in a write"])
def test_killed_and_called_again_it_goes_on(moment, tmp_path, whole, kept):
    """SIGKILL after the third block, or while the fourth is being moved to its place."""
    output = tmp_path / "sweep.parquet"
    command = [sys.executable, "-c", STOPPED, moment, str(output), *WORDS]
    done = subprocess.run(command, env=os.environ | {"PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == -signal.SIGKILL
    assert not output.exists()
    blocks = sorted(path.name for path in (tmp_path / "sweep.parquet.blocks").glob("*.parquet"))
    assert blocks == [f"{number:08d}.parquet" for number in range(3)]
    told = []
    tally = explore(sweep_here(), output, progress=lambda done, total: told.append((done, total)))
    assert kept == [3, 4, 5, 6, 7]
    assert told == [(done, 200) for done in range(75, 201, 25)]
    assert output.read_bytes() == whole
    assert tally.rows == 200 and pq.read_table(output)["point"].to_pylist() == list(range(200))
    assert [path.name for path in tmp_path.iterdir()] == ["sweep.parquet"]


def test_killed_while_blocks_are_put_together(tmp_path, whole, monkeypatch):
    output = tmp_path / "sweep.parquet"

    class Stopped(Exception):
        pass

    def stop(*_):
        raise Stopped

    monkeypatch.setattr("formulate.sweeps.long_tables.os.replace", stop_at_output(stop, output))
    with pytest.raises(Stopped):
        explore(sweep_here(), output)
    monkeypatch.undo()
    assert not output.exists()
    monkeypatch.setattr(Blocks, "keep", stop)  # no block is worked on again
    explore(sweep_here(), output)
    assert output.read_bytes() == whole


def stop_at_output(stop, output):
    real = os.replace

    def moved(source, place):
        if Path(place) == output:
            stop()
        real(source, place)

    return moved


def test_killed_while_the_blocks_are_taken_away(tmp_path, whole):
    output = tmp_path / "sweep.parquet"
    blocks = Blocks(sweep_here(), output)
    blocks.keep(0, block_bytes(sweep_here(), 0))
    output.write_bytes(whole)
    explore(sweep_here(), output)
    assert [path.name for path in tmp_path.iterdir()] == ["sweep.parquet"]


def test_a_worker_that_dies_is_replaced(tmp_path, whole, kept, killing, monkeypatch):
    """The pool of processes is broken by it; a new one works on what had not come back."""
    marker = tmp_path / "died"

    class Pool(ProcessPoolExecutor):
        def submit(self, function, /, *arguments):
            return super().submit(killing.once, str(marker), 4, function, *arguments)

    monkeypatch.setattr(exploring, "ProcessPoolExecutor", Pool)
    output = tmp_path / "sweep.parquet"
    explore(sweep_here(), output, workers=2)
    assert marker.exists() and output.read_bytes() == whole
    assert sorted(kept) == list(range(8))


def test_workers_that_always_die_are_given_up_and_nothing_is_lost(
    tmp_path, whole, kept, killing, monkeypatch
):
    class Pool(ProcessPoolExecutor):
        def submit(self, function, /, *arguments):
            return super().submit(killing.always, "", 4, function, *arguments)

    monkeypatch.setattr(exploring, "ProcessPoolExecutor", Pool)
    output = tmp_path / "sweep.parquet"
    with pytest.raises(WorkerFault, match="of 200 rows are kept: give the same command again"):
        explore(sweep_here(), output, workers=2)
    assert 4 not in kept
    monkeypatch.undo()
    explore(sweep_here(), output)
    assert output.read_bytes() == whole


def test_an_executor_of_ones_own_that_breaks(tmp_path, whole, killing):
    output = tmp_path / "sweep.parquet"
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        fatal = Wrapped(pool, (killing.once, str(tmp_path / "died"), 3))
        with pytest.raises(WorkerFault, match="75 of 200 rows are kept"):
            explore(sweep_here(), output, executor=fatal, at_once=1)
        with pytest.raises(BrokenExecutor):
            pool.submit(os.getpid)
    explore(sweep_here(), output)
    assert output.read_bytes() == whole


def test_only_so_many_blocks_are_given_out_at_a_time(tmp_path):
    with ThreadPoolExecutor(2) as threads:
        counted = Wrapped(threads, (lambda function, *rest: function(*rest),))
        explore(sweep_here(), tmp_path / "sweep.parquet", executor=counted, at_once=3)
    assert counted.most <= 3


def test_a_fault_in_a_worker_is_told_and_what_is_done_is_kept(tmp_path, whole):
    class Failing(Here):
        def submit(self, function, /, sweep, number):
            if number == 5:
                sweep = replace(sweep, made_with={"data": "another"})
            return super().submit(function, sweep, number)

    output = tmp_path / "sweep.parquet"
    with pytest.raises(InputError, match="another program, or other tables"):
        explore(sweep_here(), output, executor=Failing(), at_once=1)
    assert len(Blocks(sweep_here(), output).waiting()) == 3
    explore(sweep_here(), output)
    assert output.read_bytes() == whole


def test_a_fault_comes_back_from_another_process_as_it_is(tmp_path):
    """And is no broken pool, which would be tried again."""
    other = replace(sweep_here(), made_with={**sweep_here().made_with, "data": "another"})
    with pytest.raises(InputError, match="another program, or other tables") as told:
        explore(other, tmp_path / "sweep.parquet", workers=2)
    assert told.value.place == "this machine" and "data another" in told.value.remedy


def test_two_sweeps_are_not_mixed(tmp_path):
    output = tmp_path / "sweep.parquet"
    Blocks(sweep_here(), output)
    other_recipe = replace(SORBET, batch_g=2001.0)
    axes = tuple(axis_of(words) for words in WORDS)
    others = [
        sweep_here(seed=8),
        sweep_here(samples=201),
        sweep_here(block_points=26),
        sweep_of(other_recipe, axes, samples=200, seed=7, block_points=25),
        replace(sweep_here(), made_with={**versions(), "data": "another"}),
    ]
    for other in others:
        with pytest.raises(InputError, match="belongs to another sweep"):
            explore(other, output)
    assert about_sweep(sweep_here())["sweep"] not in {about_sweep(one)["sweep"] for one in others}


def test_a_file_that_is_there_is_never_written_over(tmp_path, whole):
    output = tmp_path / "sweep.parquet"
    output.write_bytes(b"something of the cook's")
    with pytest.raises(InputError, match="is not the file of this sweep"):
        explore(sweep_here(), output)
    assert output.read_bytes() == b"something of the cook's"
    output.write_bytes(whole)
    with pytest.raises(InputError, match="is not the file of this sweep"):
        explore(sweep_here(seed=8), output)
    assert explore(sweep_here(), output).rows == 200


def test_a_folder_of_blocks_without_a_manifest_is_left_alone(tmp_path):
    folder = tmp_path / "sweep.parquet.blocks"
    folder.mkdir()
    (folder / "00000000.parquet").write_bytes(b"?")
    with pytest.raises(InputError, match="belongs to another sweep"):
        explore(sweep_here(), tmp_path / "sweep.parquet")


@pytest.mark.parametrize("damage", ["cut", "another's"])
def test_a_damaged_block_is_noticed(damage, tmp_path, whole):
    output = tmp_path / "sweep.parquet"
    blocks = Blocks(sweep_here(), output)
    for number in range(8):
        data = block_bytes(sweep_here(), number)
        if number == 2:
            data = data[:-100] if damage == "cut" else block_bytes(sweep_here(), 3)
        blocks.keep(number, data)
    with pytest.raises(InputError, match=r"00000002\.parquet: is damaged"):
        explore(sweep_here(), output)
    (blocks.folder / "00000002.parquet").unlink()
    explore(sweep_here(), output)
    assert output.read_bytes() == whole


def test_what_a_parquet_file_says_of_itself(tmp_path, whole):
    path = tmp_path / "sweep.parquet"
    path.write_bytes(whole)
    about = json.loads(pq.read_schema(path).metadata[b"formulate"])
    assert about["versions"] == {**versions(), "numpy": np.__version__}
    assert parse(about["recipe"].encode(), "told") == SORBET
    assert (about["seed"], about["samples"], about["rows"]) == (7, 200, 200)
    table = pq.read_table(path)
    status = table["status"].to_pylist()
    assert about["tally"] == {
        "rows": 200,
        **{word: status.count(word) for word in ("balanced", "impossible", "refused")},
    }
    grams = table["damson.grams"].to_pylist()
    assert [value is None for value in grams] == [word != "balanced" for word in status]
    assert 0 < status.count("balanced") < 200


def test_a_csv_holds_the_same_numbers_and_no_formula(tmp_path, whole):
    """A key of one's own that a spreadsheet would run begins with an apostrophe."""
    output, other = tmp_path / "sweep.csv", tmp_path / "sweep.parquet"
    explore(sweep_here(), output)
    other.write_bytes(whole)
    with output.open(encoding="utf-8-sig", newline="") as sheet:
        rows = list(csv.DictReader(sheet))
    for name, column in pq.read_table(other).to_pydict().items():
        read = [row[name] for row in rows]
        if name == "status":
            assert read == column
        else:
            assert [None if text == "" else float(text) for text in read] == column
    evil = '=HYPERLINK("x")'
    entries = (
        *SORBET.ingredients,
        replace(SORBET.ingredients[1], key=evil, composition={"sucrose": 100}),
    )
    asked = sweep_of(replace(SORBET, ingredients=entries), (), (evil,))
    explore(asked, tmp_path / "evil.csv")
    with (tmp_path / "evil.csv").open(encoding="utf-8-sig", newline="") as sheet:
        cells = [cell for row in csv.reader(sheet) for cell in row]
    assert f"'{evil}.grams" in cells and f"'{evil}" in cells
    assert not [cell for cell in cells if cell.startswith("=")]


def test_a_csv_is_finished_only_while_nobody_has_changed_it(tmp_path):
    output = tmp_path / "sweep.csv"
    tally = explore(sweep_here(), output)
    assert explore(sweep_here(), output) == tally
    about = json.loads((tmp_path / "sweep.csv.about.json").read_text(encoding="utf-8"))
    assert about["versions"]["data"] == versions()["data"]
    output.write_text(output.read_text(encoding="utf-8").replace("balanced", "baked"), "utf-8")
    with pytest.raises(InputError, match="is not the file of this sweep"):
        explore(sweep_here(), output)


def test_what_cannot_be_written_is_one_sentence(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        explore(sweep_here(), tmp_path / "missing" / "sweep.parquet")
    with pytest.raises(InputError, match=r"neither \.parquet nor \.csv"):
        explore(sweep_here(), tmp_path / "sweep.xlsx")
    with pytest.raises(InputError, match="from 1 to 1024"):
        explore(sweep_here(), tmp_path / "sweep.csv", workers=0)


def test_a_tally_of_a_fast_sweep(tmp_path):
    asked = sweep_of(SORBET, (axis_of("damson.brix=9:20:0.1"),))
    assert asked.is_fast
    assert explore(asked, tmp_path / "sweep.csv") == Tally(111, 111, 0, 0)
