"""What is declared is what is tested: lowest versions, and the versions of the run in `.ci`."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
ABOUT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def pins(name):
    lines = (ROOT / ".ci" / name).read_text(encoding="utf-8").splitlines()
    pairs = [line.split("==") for line in lines if line and not line.startswith("#")]
    return {normal(name): version for name, version in pairs}


def normal(name):
    """PEP 503: how the name of a distribution is compared."""
    return re.sub(r"[-_.]+", "-", name).lower()


def parts(version):
    return [int(part) for part in version.split(".") if part.isdigit()]


def declared(lines):
    found = {}
    for line in lines:
        name, low, high = re.fullmatch(r"([\w-]+)>=([\d.]+)(?:,<([\d.]+))?", line).groups()
        found[normal(name)] = (low, high)
    return found


def test_the_lowest_versions_are_the_declared_ones():
    lowest = pins("lowest.txt")
    asked = declared(ABOUT["dependencies"])
    assert lowest.keys() == asked.keys()
    for name, (low, _) in asked.items():
        given, wanted = parts(lowest[name]), parts(low)
        assert given[: len(wanted)] == wanted, name
        assert not any(given[len(wanted) :]), f"{name}: {lowest[name]} is not {low}"


def test_the_locked_versions_are_within_what_is_declared():
    locked = pins("lock.txt")
    for name, (low, high) in declared(ABOUT["dependencies"]).items():
        assert parts(locked[name]) >= parts(low), name
        assert high is None or parts(locked[name]) < parts(high), name


def test_what_runs_has_no_known_hole_in_pyarrow():
    """CVE-2023-47248: versions up to 14.0.0 run code of a file that they read."""
    assert parts(declared(ABOUT["dependencies"])["pyarrow"][0]) >= [14, 0, 1]
