"""A sweep worked on: here, by processes of this machine, or by any executor of blocks.

One process alone writes: workers send back the bytes of a block, and only blocks that are not there yet
are given out.  A worker may die, and so may this process: the blocks that it had not sent are worked on
again, by a new worker or at the next call, and no other.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from pathlib import Path

from formulate.errors import InputError, WorkerFault
from formulate.sweeps.axes import Sweep
from formulate.sweeps.block_files import Blocks, Tally, block_bytes
from formulate.sweeps.long_tables import two_forms

__all__ = ["Progress", "explore"]

#: Told how many rows are there and how many there will be, at the start and after every block.
Progress = Callable[[int, int], None]

_TRIES = 3  # new pools in turn that finish nothing
_MOST_WORKERS = 1024
_THREADS = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")
_AHEAD = 2  # blocks given out per worker: one in hand, one waiting


def explore(
    sweep: Sweep,
    output: Path,
    *,
    executor: Executor | None = None,
    at_once: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> Tally:
    """Work on a sweep until its file is there, going on from what an earlier call has left.

    Parameters
    ----------
    sweep:
        From :func:`sweep_of`.
    output:
        ``.parquet`` or ``.csv``.  Where it is the finished file of this sweep, nothing is done.
    executor:
        Where blocks are worked on; any one, of any number of machines.  It is not shut down.
    at_once:
        Blocks given to the executor at a time: twice its workers is right.  What is held in memory is
        at most so many blocks.
    workers:
        Without an executor: processes of this machine; one works here.
    progress:
        Told at the start and after every block.

    Returns
    -------
    Tally

    Raises
    ------
    InputError
        If the output is neither form, is there and something else, or cannot be written.
    WorkerFault
        If workers die again and again, or the executor is broken; what is finished is kept.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.sweeps import axis_of, sweep_of
    >>> sweep = sweep_of(fm.load("damson_sorbet"), (axis_of("damson.brix=11:12:0.5"),))
    >>> with TemporaryDirectory() as folder:
    ...     explore(sweep, Path(folder, "readings.csv")).balanced
    3
    """
    two_forms(output)
    if not 1 <= workers <= _MOST_WORKERS:
        problem = f"is {workers}, and must be from 1 to {_MOST_WORKERS}"
        raise InputError("workers", problem, "Give one for each core.")
    blocks = Blocks(sweep, output)
    counted = _Counted(blocks, progress)
    if executor is not None:
        try:
            _give_out(counted, executor, at_once or _AHEAD * (os.cpu_count() or 1))
        except BrokenExecutor:
            raise WorkerFault(f"The executor has lost its workers. {counted.kept}") from None
    elif workers == 1:
        for number in blocks.waiting():
            counted.keep(number, block_bytes(sweep, number))
    else:
        _with_new_pools(counted, workers)
    return blocks.join()


class _Counted:
    """Blocks, and the rows that are there of them."""

    def __init__(self, blocks: Blocks, progress: Progress | None) -> None:
        self.blocks, self.progress = blocks, progress
        self.total = blocks.sweep.points
        self.done = self.total - sum(blocks.rows(number) for number in blocks.waiting())
        if progress is not None:
            progress(self.done, self.total)

    @property
    def kept(self) -> str:
        """What is there, and how to go on, in words."""
        there = f"{self.done:,} of {self.total:,} rows are kept"
        return f"{there}: give the same command again, and it goes on from there."

    def keep(self, number: int, data: bytes) -> None:
        self.blocks.keep(number, data)
        self.done += self.blocks.rows(number)
        if self.progress is not None:
            self.progress(self.done, self.total)


def _with_new_pools(counted: _Counted, workers: int) -> None:
    """Work in processes; where one dies, all of its pool are replaced."""
    fresh = multiprocessing.get_context("spawn")  # safe beside threads, and the same everywhere
    without_gain = 0
    while counted.blocks.waiting():
        before = counted.done
        pool = ProcessPoolExecutor(workers, mp_context=fresh, initializer=_end_with_parent)
        try:
            with _one_thread_each():
                _give_out(counted, pool, _AHEAD * workers)
        except BrokenExecutor:
            without_gain = without_gain + 1 if counted.done == before else 0
            if without_gain == _TRIES:
                problem = f"Worker processes died {_TRIES} times and finished nothing"
                hint = "Memory may be short: take fewer --workers."
                raise WorkerFault(f"{problem}. {hint} {counted.kept}") from None
        finally:
            pool.shutdown(cancel_futures=True)


def _end_with_parent() -> None:
    """End this worker as soon as the process that began it is gone, however that one ended."""

    def watch() -> None:
        parent = multiprocessing.parent_process()
        assert parent is not None
        parent.join()
        os._exit(1)  # what it works on is wanted by nobody: nothing is to be put away

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Let processes that begin in here leave the other cores to each other, unless told otherwise."""
    untold = [name for name in _THREADS if name not in os.environ]
    os.environ.update(dict.fromkeys(untold, "1"))
    try:
        yield
    finally:
        for name in untold:
            del os.environ[name]


def _give_out(counted: _Counted, executor: Executor, at_once: int) -> None:
    """Give blocks to an executor, a few at a time, and keep what comes back.

    Raises
    ------
    BrokenExecutor
        If it has lost a worker and takes no more; what came back before is kept.
    """
    waiting = iter(counted.blocks.waiting())
    running: dict[Future[bytes], int] = {}
    try:
        while True:
            for number in waiting:
                future = executor.submit(block_bytes, counted.blocks.sweep, number)
                running[future] = number
                if len(running) >= at_once:
                    break
            if not running:
                return
            finished, _ = wait(running, return_when=FIRST_COMPLETED)
            broken: BrokenExecutor | None = None
            for future in finished:
                try:
                    counted.keep(running.pop(future), future.result())
                except BrokenExecutor as error:
                    broken = error
            if broken is not None:
                raise broken
    finally:
        for future in running:
            future.cancel()
