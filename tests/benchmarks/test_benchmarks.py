"""Every benchmark runs at its smallest size, and what it compares agrees; nothing here judges time."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import ratios  # noqa: F401  (enters the benchmarks)
import scale
from registry import REGISTRY, Pair


@pytest.mark.parametrize("entry", REGISTRY, ids=lambda entry: entry.make.__name__)
def test_benchmark_runs_and_what_it_compares_agrees(entry):
    made = entry.make(entry.sizes[0])
    if isinstance(made, Pair):
        made.agree()
        made.first()
        made.second()
    else:
        assert isinstance(made(), float)


def test_the_figures_of_scale_are_measured():
    figures = scale.main(rows=100)
    assert len(figures) == 13
    assert all(figure > 0.0 for figure in figures.values())
