"""Short runs of what is documented to run long: no traceback, no hang, every answer confirmed."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import fuzz_commands
import fuzz_recipes
import memory
import random_programmes


def test_mutated_recipes_are_answered_or_refused():
    found = fuzz_recipes.run(150, seed=11)
    assert found["refused"] > 0 and found["balanced"] > 0


def test_random_recipes_are_balanced_or_proved_impossible():
    found = random_programmes.run(60, seed=11)
    assert found["balanced"] > 0 and found["impossible"] > 0


def test_random_command_lines_end_as_a_command_may():
    found = fuzz_commands.run(250, seed=31)
    assert found[0] > 0 and found[2] > 0


def test_memory_is_flat_over_balances():
    """What Python holds, to the byte: a leak of one remembered mix would be thousands per balance."""
    grown = memory.run(300, different=30)
    assert abs(grown.slope(grown.held)) < 500.0
