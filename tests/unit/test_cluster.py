"""A sweep on a Dask cluster of two worker processes, one of which is killed in the middle of it."""

from __future__ import annotations

import sys

import pytest
from distributed import LocalCluster

from formulate.cli.commands import main
from formulate.data.examples import example_bytes
from formulate.errors import InputError
from formulate.recipes.file import parse
from formulate.sweeps.axes import axis_of, sweep_of
from formulate.sweeps.block_files import Blocks
from formulate.sweeps.cluster import cluster_of
from formulate.sweeps.run import explore

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
"""


def sweep_here():
    recipe = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    axes = (axis_of("damson.brix=9:15"), axis_of("target.sweetness.max=16+-1.5"))
    return sweep_of(recipe, axes, samples=300, seed=7, block_points=25)


@pytest.fixture
def killing(tmp_path, monkeypatch):
    folder = tmp_path / "importable"
    folder.mkdir()
    (folder / "killing.py").write_text(KILLING, encoding="utf-8")
    monkeypatch.syspath_prepend(str(folder))
    import killing as found

    yield found
    sys.modules.pop("killing")


@pytest.fixture
def address(killing):
    """A scheduler and two workers, begun after what they must be able to import is there."""
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


def test_a_worker_that_is_killed_loses_and_doubles_nothing(address, killing, tmp_path, monkeypatch):
    kept = []
    real = Blocks.keep

    def noted(self, number, data):
        kept.append(number)
        real(self, number, data)

    monkeypatch.setattr(Blocks, "keep", noted)
    explore(sweep_here(), tmp_path / "here.parquet")
    assert kept == list(range(12))
    kept.clear()
    marker = tmp_path / "died"
    with cluster_of(address) as (executor, tasks):
        assert tasks == 2
        submit = executor.submit

        def deadly(function, *arguments):
            return submit(killing.once, str(marker), 5, function, *arguments)

        executor.submit = deadly
        explore(sweep_here(), tmp_path / "there.parquet", executor=executor, at_once=4)
    assert marker.exists()
    assert sorted(kept) == list(range(12))
    there, here = (tmp_path / f"{name}.parquet" for name in ("there", "here"))
    assert there.read_bytes() == here.read_bytes()


def test_the_command_on_a_cluster(address, tmp_path, capsys):
    words = ["explore", "damson_sorbet", "--vary", "damson.brix=9:20:0.1"]
    assert main([*words, "-o", str(tmp_path / "here.csv")]) == 0
    capsys.readouterr()
    assert main([*words, "-o", str(tmp_path / "there.csv"), "--scheduler", address]) == 0
    told = capsys.readouterr()
    assert "111 points: 111 balanced" in told.out
    assert told.err.splitlines()[0] == "The cluster takes 2 blocks at once."
    there, here = (tmp_path / f"{name}.csv" for name in ("there", "here"))
    assert there.read_bytes() == here.read_bytes()


def test_where_no_scheduler_answers(monkeypatch):
    monkeypatch.setattr("formulate.sweeps.cluster._ANSWERS_WITHIN_S", 0.5)
    for address in ("tcp://127.0.0.1:9", "nowhere at all"):
        with (
            pytest.raises(InputError, match="nothing answers as a scheduler"),
            cluster_of(address),
        ):
            pass


def test_without_dask_the_extra_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"\[cluster\]"), cluster_of("tcp://127.0.0.1:9"):
        pass
