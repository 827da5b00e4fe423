"""Short runs of what is documented to run long: no traceback, no hang, every answer confirmed."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import contradictions
import fuzz_commands
import fuzz_recipes
import memory
import pytest
import random_programmes


def test_mutated_recipes_are_answered_or_refused():
    found = fuzz_recipes.run(150, seed=11)
    assert found["refused"] > 0 and found["balanced"] > 0


def test_random_recipes_are_balanced_or_proved_impossible():
    found = random_programmes.run(60, seed=11)
    assert found["balanced"] > 0 and found["impossible"] > 0


def test_limits_that_contradict_each_other_are_kept_proved_or_refused():
    found = contradictions.run(120, seed=11)
    assert min(found[key] for key in ("balanced", "impossible", "refused", "by counts")) > 0


def test_random_command_lines_end_as_a_command_may():
    found = fuzz_commands.run(250, seed=31)
    assert found[0] > 0 and found[2] > 0


def test_memory_is_flat_over_balances():
    """What Python holds, to the byte: a leak of one remembered mix would be thousands per balance."""
    grown = memory.run(300, different=30)
    assert abs(grown.slope(grown.held)) < 500.0


def test_nothing_can_be_written_outside_the_folder_of_a_run(tmp_path):
    """Tried on a file of the test's own: it must stay as it is, whoever runs the tests."""
    outside = tmp_path / "outside.txt"
    outside.write_text("as it was", encoding="utf-8")
    folder = tmp_path / "kitchen"
    folder.mkdir()
    changes = (
        lambda: outside.write_text("changed", encoding="utf-8"),
        lambda: (folder / ".." / "outside.txt").write_bytes(b"changed"),
        lambda: outside.unlink(),
        lambda: (folder / "inside.txt").replace(outside),
        lambda: (tmp_path / "new").mkdir(),
    )
    (folder / "inside.txt").write_text("inside", encoding="utf-8")
    for change in changes:
        with pytest.raises(fuzz_commands.Outside), fuzz_commands.kept_inside(folder):
            change()
    with fuzz_commands.kept_inside(folder):
        (folder / "inside.txt").write_text("may change", encoding="utf-8")
    assert outside.read_text(encoding="utf-8") == "as it was"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kitchen", "outside.txt"]


@pytest.mark.parametrize("word", ["../x", "/x", "a/../../x", "damson=/x", "damson=../x", "/"])
def test_a_path_out_of_the_folder_is_known_as_one(word, tmp_path):
    assert fuzz_commands.leads_out(word, tmp_path)
    assert not fuzz_commands.leads_out("folder/../out.html", tmp_path)
