"""How the long runs are started by hand: amounts and seed in, counts and time out."""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable


def by_hand(about: str, what: str, run: Callable[[int, int], Counter], count: int) -> None:
    """Read ``--count`` and ``--seed``, run, and print how often each answer came."""
    parser = argparse.ArgumentParser(description=about.splitlines()[0])
    parser.add_argument("--count", type=int, default=count)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    start = time.monotonic()
    found = run(options.count, options.seed)
    print(f"{options.count:,} {what} in {time.monotonic() - start:.0f} s: {dict(found)}")
