"""Memory over thousands of balances: flat.

    PYTHONPATH=. python tests/hard_use/memory.py --count 5000

Prints what Python holds and what the process has after every tenth of the run, and the slope of the
second half in bytes per balance.
"""

from __future__ import annotations

import argparse
import gc
import random
import tracemalloc
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from formulate.answers.balancing import balance
from formulate.data.examples import example_bytes, example_names
from formulate.recipes.file import parse
from formulate.recipes.model import Recipe
from formulate.report.mixes import mix_data, mix_text


@dataclass(frozen=True)
class Grown:
    """After so many balances: what Python held and what the process had [bytes], and their slopes."""

    counts: tuple[int, ...]
    held: tuple[int, ...]
    resident: tuple[int, ...]

    def slope(self, what: tuple[int, ...]) -> float:
        """Bytes per balance over the second half."""
        half = len(self.counts) // 2
        return float(np.polyfit(self.counts[half:], what[half:], 1)[0])


def varied(random_: random.Random) -> Recipe:
    """An example with other weights, readings, targets and serving: no two alike."""
    recipe = parse(example_bytes(name := random_.choice(example_names())), name)
    entries = tuple(
        replace(
            entry,
            grams=(entry.grams or 0.0) * random_.uniform(0.7, 1.3),
            min_g=None,
            max_g=None,
            brix=None if entry.brix is None else random_.uniform(8.0, 16.0),
        )
        for entry in recipe.ingredients
    )
    serving = recipe.serving
    if serving is not None:
        serving = replace(serving, temperature_c=random_.uniform(-16.0, -9.0))
    return replace(recipe, ingredients=entries, serving=serving)


def run(count: int, different: int | None = None) -> Grown:
    """Balance so many recipes, with all that is said of them; measure at every tenth.

    ``different`` is how many are not alike, all if ``None``: what is remembered is full after these.
    """
    counts, held, resident = [], [], []
    tracemalloc.start()
    try:
        for number in range(1, count + 1):
            result = balance(varied(random.Random(number % (different or count))))
            mix_text(result)
            mix_data(result)
            if number % max(count // 10, 1) == 0:
                gc.collect()
                counts.append(number)
                held.append(tracemalloc.get_traced_memory()[0])
                resident.append(_resident())
    finally:
        tracemalloc.stop()
    return Grown(tuple(counts), tuple(held), tuple(resident))


def _resident() -> int:
    """What the process has in memory [bytes] (Linux)."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
    return 1024 * int(line.split()[1])


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=5000)
    options = parser.parse_args()
    grown = run(options.count)
    for count, held, resident in zip(grown.counts, grown.held, grown.resident, strict=True):
        print(f"{count:6,}  held {held / 1e6:7.2f} MB  resident {resident / 1e6:7.1f} MB")
    print(f"held {grown.slope(grown.held):+.0f} bytes per balance in the second half")
    print(f"resident {grown.slope(grown.resident):+.0f} bytes per balance in the second half")


if __name__ == "__main__":
    main()
