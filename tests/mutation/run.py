"""How many small errors in the verifier, the programme, the rounding and the freezing the tests notice.

By hand, from the root of the project; a whole run takes about half an hour on two cores:

    python tests/mutation/run.py                      every module
    python tests/mutation/run.py freezing/ice         one
    python tests/mutation/run.py --sample 40 --seed 7 so many mutants of each, drawn at random

Each mutant runs in a process of its own that is forked from one that has the libraries but nothing of
``formulate``; no file is changed.  A mutant is killed if a test fails or does not end in time.
"""

from __future__ import annotations

import argparse
import importlib.abc
import importlib.machinery
import importlib.util
import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from mutants import Mutant, mutants

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests"

AS_ASKED = (
    "-x",
    "-p",
    "no:cacheprovider",
    "-W",
    "ignore::pytest.PytestAssertRewriteWarning",  # libraries are there before the tests begin
)

_FREEZING = ("unit/test_ice.py", "unit/test_solutes.py", "unit/test_freezing.py")
#: Modules by name, and the tests that are to notice, quickest first.
WATCHED: dict[str, tuple[str, ...]] = {
    "mix/assessment": ("unit/test_judged.py",),
    "mix/verification": ("unit/test_verification.py", "unit/test_judged.py"),
    "mix/programmes": ("unit/test_rows.py",),
    "mix/targets": ("unit/test_rows.py",),
    "solver/to_scale": ("unit/test_to_scale.py", "unit/test_fast_and_plain.py"),
    "freezing/ice": (*_FREEZING, "published/test_published_freezing.py"),
    "freezing/solute_curves": (*_FREEZING, "published/test_published_freezing.py"),
    "freezing/curve": (*_FREEZING, "published/test_published_freezing.py"),
}


@dataclass(frozen=True)
class Outcome:
    """What became of a mutant: ``killed``, ``killed by time`` or ``survived``."""

    mutant: Mutant
    end: str


class _Changed(importlib.machinery.SourceFileLoader):
    """Loads a module from the tree of a mutant."""

    def __init__(self, name, path, mutant):
        super().__init__(name, path)
        self.mutant = mutant

    def get_code(self, fullname):
        return compile(self.mutant.tree, self.path, "exec")


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, module, mutant):
        self.name = "formulate." + module.replace("/", ".")
        self.path = str(ROOT / "formulate" / f"{module}.py")
        self.mutant = mutant

    def find_spec(self, fullname, path=None, target=None):
        if fullname != self.name:
            return None
        loader = _Changed(self.name, self.path, self.mutant)
        return importlib.util.spec_from_file_location(self.name, self.path, loader=loader)


def drawn(module: str, sample: int | None, seed: int) -> list[Mutant]:
    """Return the mutants of a module, or some of them drawn at random."""
    found = mutants((ROOT / "formulate" / f"{module}.py").read_text(encoding="utf-8"))
    if sample is None or sample >= len(found):
        return found
    chosen = random.Random(f"{seed} {module}").sample(range(len(found)), sample)
    return [found[at] for at in sorted(chosen)]


def begin(module: str, mutant: Mutant | None, tests: tuple[str, ...]) -> int:
    """Start the tests of one mutant, or of the module as it is, and return the process."""
    child = os.fork()
    if child:
        return child
    os.setsid()
    nowhere = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1, 2):
        os.dup2(nowhere, number)
    code = 3
    try:
        import pytest

        if mutant is not None:
            sys.meta_path.insert(0, _Finder(module, mutant))
        code = int(pytest.main([*AS_ASKED, *(str(TESTS / name) for name in tests)]))
    finally:
        os._exit(min(code, 120))


def ended(child: int, until: float) -> int | None:
    """The exit code of a process that has ended, -1 if it was stopped for its time, else ``None``."""
    done, status = os.waitpid(child, os.WNOHANG)
    if done:
        return os.waitstatus_to_exitcode(status)
    if time.monotonic() > until:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return -1
    return None


def judge(
    module: str, chosen: list[Mutant], tests: tuple[str, ...], at_once: int
) -> Iterator[Outcome]:
    """Run the tests on each mutant, some at once; the tests must pass on the module as it is."""
    began = time.monotonic()
    plain = begin(module, None, tests)
    while (code := ended(plain, began + 600.0)) is None:
        time.sleep(0.02)
    if code != 0:
        raise SystemExit(f"{module}: its tests fail as it is (exit code {code}).")
    patience = 10.0 + 3.0 * at_once * (time.monotonic() - began)
    waiting, running = list(chosen), {}
    while waiting or running:
        while waiting and len(running) < at_once:
            mutant = waiting.pop(0)
            running[begin(module, mutant, tests)] = (mutant, time.monotonic() + patience)
        for child, (mutant, until) in list(running.items()):
            code = ended(child, until)
            if code is not None:
                del running[child]
                end = {0: "survived", -1: "killed by time"}.get(code, "killed")
                yield Outcome(mutant, end)
        time.sleep(0.01)


def prepare() -> None:
    """Load what every mutant needs and no mutant changes; examples are drawn the same each time."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    sys.path.insert(0, str(ROOT))
    os.chdir(ROOT)
    import highspy  # noqa: F401
    import hypothesis.strategies
    import iapws._iapws  # noqa: F401
    import pandas  # noqa: F401
    import pytest  # noqa: F401
    import scipy.optimize  # noqa: F401

    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
    hypothesis.settings.register_profile("mutants", derandomize=True, database=None, phases=phases)
    hypothesis.settings.load_profile("mutants")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="*", default=list(WATCHED))
    asked.add_argument("--sample", type=int)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--at-once", type=int, default=2)
    given = asked.parse_args()
    prepare()
    for module in given.modules:
        began = time.monotonic()
        chosen = drawn(module, given.sample, given.seed)
        lines = (ROOT / "formulate" / f"{module}.py").read_text(encoding="utf-8").split("\n")
        ends: Counter[str] = Counter()
        print(f"{module}: {len(chosen)} mutants", flush=True)
        for outcome in judge(module, chosen, WATCHED[module], given.at_once):
            ends[outcome.end] += 1
            if outcome.end == "survived":
                told = f"    {outcome.mutant}\n        {lines[outcome.mutant.line - 1].strip()}"
                print(told, flush=True)
        killed = len(chosen) - ends["survived"]
        print(
            f"{module}: {killed} of {len(chosen)} killed, {ends['killed by time']} of them by time "
            f"({100.0 * killed / len(chosen):.1f} %); {time.monotonic() - began:.0f} s",
            flush=True,
        )


if __name__ == "__main__":
    main()
