"""Short runs of what is documented to run long: no traceback, no hang, every answer confirmed."""

from __future__ import annotations

import runpy
from pathlib import Path

HERE = Path(__file__).parent


def test_mutated_recipes_are_answered_or_refused():
    found = runpy.run_path(str(HERE / "fuzz_recipes.py"))["run"](150, seed=11)
    assert found["refused"] > 0 and found["balanced"] > 0


def test_random_recipes_are_balanced_or_proved_impossible():
    found = runpy.run_path(str(HERE / "random_programmes.py"))["run"](60, seed=11)
    assert found["balanced"] > 0 and found["impossible"] > 0
