"""How much of a kind of ingredient a mix usually takes at most."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows

__all__ = ["basis_of", "most_share"]

_FILE = "usual_use.csv"


def most_share(kind: str) -> float:
    """Return the most of a kind of ingredient that is usual, per gram of the mix; 1 if none is known."""
    return _usual().get(kind, (1.0, ""))[0]


def basis_of(kind: str) -> str:
    """Return what :func:`most_share` rests on, "" if nothing is known."""
    return _usual().get(kind, (1.0, ""))[1]


@lru_cache(maxsize=1)
def _usual() -> Mapping[str, tuple[float, str]]:
    rows = read_rows(data_folder() / _FILE)
    return MappingProxyType(
        {row["kind"]: (number(row, "most_percent", _FILE) / 100.0, row["source"]) for row in rows}
    )
