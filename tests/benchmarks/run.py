"""Measure every benchmark and print the table.

    PYTHONPATH=. python tests/benchmarks/run.py [SECONDS] [WORD]

SECONDS are spent on each size of each benchmark (2 unless told); with a WORD, only on those that have it
in their name.  Linear algebra has one thread: on a shared machine the wait for a second one says more of
the neighbours than of the code.
"""

from __future__ import annotations

import os
import platform
import sys

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # read when numpy is imported

import ratios  # noqa: F401  (enters the benchmarks)
from registry import REGISTRY, Benchmark, Measured, measure


def main() -> None:
    """Print a table in Markdown, a row as soon as it is measured; what libraries say goes to stderr."""
    sys.stdout = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 2.0
    word = sys.argv[2] if len(sys.argv) > 2 else ""
    print(
        f"Python {platform.python_version()}, {os.cpu_count()} cores, {_load()} before the start.\n"
    )
    print("| ratio | sizes | measured | aim | growth | |\n|---|---|---|---|---|---|")
    for entry in REGISTRY:
        if word in entry.name:
            print(_row(measure(entry, seconds)), flush=True)
    print(f"\n{_load()} at the end, of which this run is 1.".capitalize())


def _load() -> str:
    """How busy the machine is, with other things too."""
    return f"load of the last minute {os.getloadavg()[0]:.1f}"


def _row(measured: Measured) -> str:
    entry = measured.benchmark
    sizes = ", ".join(f"{size:,}" for size in entry.sizes)
    values = ", ".join(_digits(value) for value in measured.values)
    growth = "" if measured.exponent is None else f"{measured.exponent:.2f}"
    cells = (entry.name, f"{sizes} {entry.of}", values, _aim(entry), growth, _verdict(measured))
    return f"| {' | '.join(cells)} |"


def _aim(entry: Benchmark) -> str:
    parts = [] if entry.at_most is None else [f"≤ {entry.at_most:g}"]
    parts += [] if entry.at_least is None else [f"≥ {entry.at_least:g}"]
    if entry.at:
        parts[-1] += f" at {', '.join(f'{size:,}' for size in entry.at)}"
    return ", ".join([*parts, *(["linear"] if entry.linear else [])])


def _verdict(measured: Measured) -> str:
    if not _aim(measured.benchmark):
        return ""
    missed = [f"{size:,}" for size in measured.missed]
    missed += ["growth"] if measured.grows_too_fast else []
    return f"missed: {', '.join(missed)}" if missed else "met"


def _digits(value: float) -> str:
    return f"{value:.4f}" if value < 0.1 else f"{value:.2f}" if value < 10.0 else f"{value:.0f}"


if __name__ == "__main__":
    main()
