"""What a sweep costs per row and per block: the figures behind "Scale" in DEVELOPERS.md.

    OPENBLAS_NUM_THREADS=1 PYTHONPATH=. python tests/benchmarks/scale.py

Times of working on blocks are of the processor, so that others on the machine count little; those of the
disk are by the clock.
"""

from __future__ import annotations

import pickle
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from formulate.data.examples import example_bytes
from formulate.recipes.file import parse
from formulate.sweeps.axes import Sweep, axis_of, sweep_of
from formulate.sweeps.block_files import Blocks, block_bytes
from formulate.sweeps.run import explore

EXAMPLE = "damson_sorbet"
FAST = ("damson.brix=6:20",)
PLAIN = ("damson.brix=6:20", "target.sweetness.max=18:20")
BLOCKS = 4


def sweep_here(words: tuple[str, ...], rows: int, block_points: int | None = None) -> Sweep:
    """Return a sweep of the example of so many rows."""
    recipe = parse(example_bytes(EXAMPLE), EXAMPLE)
    return sweep_of(recipe, tuple(map(axis_of, words)), samples=rows, block_points=block_points)


def took(action: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    """Return how long an action takes [s]."""
    start = clock()
    action()
    return clock() - start


def block_figures(name: str, sweep: Sweep) -> dict[str, float]:
    """Return rows a second of one core, and bytes to a worker and back."""
    data = block_bytes(sweep, 0)  # warms up
    seconds = statistics.median(
        took(lambda number=number: block_bytes(sweep, number)) for number in range(BLOCKS)
    )
    return {
        f"{name}, rows/s of a core": sweep.block_points / seconds,
        f"{name}, bytes back per row": len(data) / sweep.block_points,
        f"{name}, bytes out per block": len(pickle.dumps((block_bytes, sweep, 0))),
    }


def whole_figures(name: str, words: tuple[str, ...], rows: int, folder: Path) -> dict[str, float]:
    """Return what a row costs in a sweep of so many rows, and of four times as many."""
    found = {}
    for count in (rows, 4 * rows):
        output = folder / f"{name}{count}.parquet"
        sweep = sweep_here(words, count)
        each = took(lambda sweep=sweep, output=output: explore(sweep, output)) / count
        found[f"{name}, µs a row of {count:,}"] = 1e6 * each
    return found


def disk_figures(rows: int, folder: Path) -> dict[str, float]:
    """Return what it takes to write a block, and to put blocks together, by the clock."""
    found = {}
    for form in ("parquet", "csv"):
        sweep = sweep_here(FAST, rows)
        blocks = Blocks(sweep, folder / f"disk.{form}")
        data = [block_bytes(sweep, number) for number in range(sweep.blocks)]
        times = [
            took(lambda at=at, one=one, to=blocks: to.keep(at, one), time.perf_counter)
            for at, one in enumerate(data)
        ]
        found["ms to write a block"] = 1e3 * statistics.median(times)
        found[f"µs a row to put together, {form}"] = (
            1e6 * took(blocks.join, time.perf_counter) / rows
        )
    return found


def main(rows: int = 100_000) -> dict[str, float]:
    """Print and return the figures."""
    found = block_figures("fast", sweep_here(FAST, 8 * rows, min(8192, rows)))
    found |= block_figures("plain", sweep_here(PLAIN, 4 * rows, min(1000, rows)))
    with tempfile.TemporaryDirectory() as folder:
        found |= whole_figures("fast", FAST, rows, Path(folder))
        found |= whole_figures("plain", PLAIN, max(rows // 25, 1), Path(folder))
        found |= disk_figures(rows, Path(folder))
    for name, value in found.items():
        print(f"{name:40} {value:12,.1f}")
    return found


if __name__ == "__main__":
    main()
