"""The benchmarks run and every pair of solvers agrees; nothing here judges speed."""

import importlib.util
from pathlib import Path


def module(name):
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(name, path)
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


def test_benchmark_runs_once_and_the_solvers_agree():
    ratios = module("ratios").main(repeats=1)
    assert len(ratios) == 10
    assert all(ratio > 0.0 for ratio in ratios.values())


def test_the_figures_of_scale_are_measured():
    figures = module("scale").main(rows=100)
    assert len(figures) == 13
    assert all(figure > 0.0 for figure in figures.values())
