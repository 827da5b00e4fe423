"""How a mix is served: temperatures, and the share of frozen water that scoops well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows

__all__ = ["Range", "Serving", "how_made", "middle_of", "serving_kinds"]

_FILE = "serving.csv"


@dataclass(frozen=True, slots=True)
class Range:
    """What a value must lie between; ``None`` where there is no bound."""

    min: float | None = None
    max: float | None = None


@dataclass(frozen=True, slots=True)
class Serving:
    """At what temperature a mix is served, how much of its water is then frozen, where it is kept.

    Attributes
    ----------
    temperature_c:
        Serving temperature [°C].
    frozen_water:
        The serving window: frozen water at that temperature [% of all water].
    kind:
        One of :func:`serving_kinds`, or "" for none.
    freezer_c:
        Temperature of the freezer where it is kept [°C].
    overrun_percent:
        Air beaten in, in % of the volume of the mix.

    The defaults are common practice, without a source.
    """

    temperature_c: float = -14.0
    frozen_water: Range = Range(70.0, 76.0)
    kind: str = ""
    freezer_c: float = -18.0
    overrun_percent: float = 0.0


@lru_cache(maxsize=1)
def serving_kinds() -> Mapping[str, Serving]:
    """Return the usual serving of each kind of frozen dessert; ``serving.csv`` says from where."""
    found = {}
    for row in read_rows(data_folder() / _FILE):
        where = f"{_FILE}, {row['kind']}"
        window = Range(number(row, "frozen_min", where), number(row, "frozen_max", where))
        found[row["kind"]] = Serving(number(row, "temperature_c", where), window, row["kind"])
    return MappingProxyType(found)


def how_made(kind: str) -> str:
    """Return how a kind of frozen dessert is made: ``churned``, ``scraped``, ``whipped`` or ``moulded``.

    ``whipped`` is beaten and folded before it is frozen at rest in a mould, ``moulded`` only poured.

    Parameters
    ----------
    kind:
        One of :func:`serving_kinds`, or "" for none: that is churned.

    Examples
    --------
    >>> how_made("granita"), how_made("")
    ('scraped', 'churned')
    """
    return _made()[kind] if kind else "churned"


def middle_of(window: Range) -> float:
    """Return the middle of a serving window [% of water], or its one bound; of the usual one if none."""
    if window.min is None and window.max is None:
        return middle_of(Serving().frozen_water)
    if window.min is None or window.max is None:
        bound = window.min if window.max is None else window.max
        assert bound is not None
        return bound
    return (window.min + window.max) / 2.0


@lru_cache(maxsize=1)
def _made() -> Mapping[str, str]:
    return MappingProxyType({row["kind"]: row["made"] for row in read_rows(data_folder() / _FILE)})
