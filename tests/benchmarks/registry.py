"""What is measured: one registry of benchmarks, each a ratio of two actions or a single figure.

The two actions of a pair are run in turn, A, B, A, B, so that a busy machine slows both; the ratio is
that of the median times.
"""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite, log

__all__ = ["REGISTRY", "Benchmark", "Measured", "Pair", "benchmark", "measure"]

Clock = Callable[[], float]

_LEAST_TURNS, _MOST_TURNS = 5, 400
_LINEAR = 1.1  # an exponent of growth up to this is linear, as well as a busy machine can tell


def _nothing() -> None:
    """For actions that have nothing to agree about."""


@dataclass(frozen=True)
class Pair:
    """Two actions, and a check that they find the same.

    ``times`` is how often the second is needed for what one run of the first does.
    """

    first: Callable[[], object]
    second: Callable[[], object]
    agree: Callable[[], None] = _nothing
    times: float = 1.0


@dataclass(frozen=True)
class Benchmark:
    """One row of the table.

    Attributes
    ----------
    name, of:
        What is measured, and what its sizes count.
    make:
        From a size to a pair, or to an action that returns a figure.
    at_most, at_least:
        The aim, if there is one.
    at:
        The sizes that the aim is for; all where empty.
    linear:
        Whether the time of the first action should grow no faster than the size.
    clock:
        ``process_time`` counts this process alone and all of its threads; ``perf_counter`` is the clock
        on the wall, for what runs in a process of its own.
    """

    name: str
    of: str
    sizes: tuple[int, ...]
    make: Callable[[int], Pair | Callable[[], float]]
    at_most: float | None = None
    at_least: float | None = None
    at: tuple[int, ...] = ()
    linear: bool = False
    clock: Clock = time.process_time

    def is_met(self, value: float) -> bool:
        """Say whether a measured value reaches the aim."""
        low = self.at_least is None or value >= self.at_least
        return low and (self.at_most is None or value <= self.at_most)


@dataclass(frozen=True)
class Measured:
    """Ratios or figures by size, and the exponent with which the first action's time grows."""

    benchmark: Benchmark
    values: tuple[float, ...]
    exponent: float | None

    @property
    def missed(self) -> tuple[int, ...]:
        """Sizes at which the aim is missed."""
        pairs = zip(self.benchmark.sizes, self.values, strict=True)
        asked = self.benchmark.at or self.benchmark.sizes
        return tuple(s for s, value in pairs if s in asked and not self.benchmark.is_met(value))

    @property
    def grows_too_fast(self) -> bool:
        """Whether it should grow linearly and does not."""
        return self.benchmark.linear and self.exponent is not None and self.exponent > _LINEAR


REGISTRY: list[Benchmark] = []


def benchmark(
    name: str, of: str, sizes: tuple[int, ...], **aim: float | tuple[int, ...] | Clock
) -> Callable[[Callable[[int], Pair | Callable[[], float]]], Callable[[int], object]]:
    """Enter a function from a size to a pair or figure into the registry."""

    def enter(make: Callable[[int], Pair | Callable[[], float]]) -> Callable[[int], object]:
        REGISTRY.append(Benchmark(name, of, sizes, make, **aim))  # type: ignore[arg-type]
        return make

    return enter


def measure(entry: Benchmark, seconds: float) -> Measured:
    """Run a benchmark at all sizes, each for about so many seconds."""
    values, costs = [], []
    for size in entry.sizes:
        made = entry.make(size)
        if isinstance(made, Pair):
            made.agree()
            first, second = _in_turn(made, entry.clock, seconds)
            values.append(first / (made.times * second))
            costs.append(first)
        else:
            values.append(made())
    exponent = _exponent(entry.sizes, costs) if len(costs) > 1 else None
    return Measured(entry, tuple(values), exponent)


def _in_turn(pair: Pair, clock: Clock, seconds: float) -> tuple[float, float]:
    """Median times [s] of two actions run in turn, after one run of each that warms up."""
    taken: tuple[list[float], list[float]] = ([], [])
    pair.first(), pair.second()
    gc.collect()
    gc.freeze()  # what the others' libraries left behind is not looked through again and again
    end = time.perf_counter() + seconds
    while len(taken[0]) < _LEAST_TURNS or (
        len(taken[0]) < _MOST_TURNS and time.perf_counter() < end
    ):
        for action, times in zip((pair.first, pair.second), taken, strict=True):
            start = clock()
            action()
            times.append(clock() - start)
    gc.unfreeze()
    return statistics.median(taken[0]), statistics.median(taken[1])


def _exponent(sizes: tuple[int, ...], costs: list[float]) -> float:
    """The p of cost ~ size ** p, by least squares on the logarithms."""
    slope = statistics.linear_regression(
        [log(each) for each in sizes], [log(c) for c in costs]
    ).slope
    assert isfinite(slope)
    return slope
