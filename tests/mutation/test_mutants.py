"""The mutants are what they say, and a short run of them kills; the whole run is by hand."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from mutants import mutants

SOURCE = '''"""A module."""


def larger(a, b: float = 1.0):
    """Say so."""
    if a > b and not a == 2:
        return -a + b
    a += min(a, 3)
    raise ValueError(f"{a - b}")
'''


def test_every_mutant_differs_in_one_place():
    plain = ast.unparse(ast.parse(SOURCE)).split("\n")
    found = [ast.unparse(mutant.tree).split("\n") for mutant in mutants(SOURCE)]
    assert len({"\n".join(lines) for lines in found}) == len(found)
    for lines in found:
        assert len(lines) == len(plain)
        assert sum(one != other for one, other in zip(lines, plain, strict=True)) == 1


def test_what_is_changed_and_what_is_not():
    told = {str(mutant) for mutant in mutants(SOURCE)}
    assert told == {
        "4: 1.0 becomes 1.5",
        "6: Gt becomes GtE",
        "6: Gt becomes LtE",
        "6: And becomes Or",
        "6: Eq becomes NotEq",
        "6: 2 becomes 3",
        "6: not is gone",
        "6: the condition is always False",
        "6: the condition is always True",
        "7: Add becomes Sub",
        "7: minus is gone",
        "8: Add becomes Sub",
        "8: min becomes max",
        "8: 3 becomes 4",
        "8: the line is left out",
        "9: the line is left out",
    }


def test_a_short_run_kills_and_tells():
    script = Path(__file__).parent / "run.py"
    asked = [sys.executable, str(script), "freezing/ice", "--sample", "3", "--seed", "5"]
    ran = subprocess.run(asked, capture_output=True, text=True, timeout=300, check=True)
    assert re.search(r"^freezing/ice: 3 of 3 killed, \d of them by time \(100", ran.stdout, re.M), (
        ran.stdout
    )
