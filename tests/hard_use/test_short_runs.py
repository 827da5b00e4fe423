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


def test_random_command_lines_end_as_a_command_may():
    found = runpy.run_path(str(HERE / "fuzz_commands.py"))["run"](250, seed=31)
    assert found[0] > 0 and found[2] > 0


def test_memory_is_flat_over_balances():
    """What Python holds, to the byte: a leak of one remembered mix would be thousands per balance."""
    grown = runpy.run_path(str(HERE / "memory.py"))["run"](300, different=30)
    assert abs(grown.slope(grown.held)) < 500.0
