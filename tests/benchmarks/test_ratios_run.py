"""The benchmark runs and every pair of solvers in it agrees; nothing here judges speed."""

import importlib.util
from pathlib import Path


def test_benchmark_runs_once_and_the_solvers_agree():
    path = Path(__file__).with_name("ratios.py")
    spec = importlib.util.spec_from_file_location("ratios", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    ratios = module.main(repeats=1)
    assert len(ratios) == 10
    assert all(ratio > 0.0 for ratio in ratios.values())
