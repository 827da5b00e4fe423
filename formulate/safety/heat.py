"""Heat treatment: what a time at a temperature comes to against the rules of each place.

Nothing here says that a mix is safe.  Rules are quoted from ``heat_treatment.csv``, each with its
jurisdiction and source; what binds a kitchen are its local rules and its own hazard plan.  A rule is met
only as it is written: at least its temperature for at least its time, held by the coldest part of the
mix.  Nothing is read between its rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log10

from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, TableError, nearest

__all__ = [
    "HOTTEST_C",
    "OPEN_PAN_C",
    "HeatRow",
    "HeatVerdict",
    "check_held",
    "heat_rows",
    "heat_verdicts",
]

#: Hottest that is looked at [°C].
HOTTEST_C = 160.0

#: Where a sugared mix boils in an open pan, about [°C]; common practice, no source.
OPEN_PAN_C = 105.0

_COLDEST_C = 40.0
_SHORTEST_S, _LONGEST_S = 1e-3, 24.0 * 3600.0
_Z_OF_NEAREST = 7.0  # °C; a shortfall of so much counts as a tenfold time, z of Listeria in mix


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One row of a rule: at least ``temperature_c`` for at least ``seconds``.

    Attributes
    ----------
    key, jurisdiction, rule:
        Rows with the same jurisdiction and rule are alternatives.
    product:
        What it applies to: "mix", "sterilised mix", "milk", "rich milk" (10 % fat or more, or
        sweetened), "egg base".
    temperature_c, seconds:
        A row printed in °F only is rounded down to 0.01 °C, so that its own figure converted meets it.
    printed, status, source, seen:
        As printed; whether it is law; where; whether the source was seen or recalled from memory.
    """

    key: str
    jurisdiction: str
    rule: str
    product: str
    temperature_c: float
    seconds: float
    printed: str
    status: str
    source: str
    seen: str


@dataclass(frozen=True, slots=True)
class HeatVerdict:
    """What a time and temperature come to against one rule.

    Attributes
    ----------
    jurisdiction, rule:
        The rule.
    met:
        The row that is met, or ``None``.
    nearest:
        The row that is met or comes nearest, counting 7 °C as a tenfold time.
    more_c, more_seconds:
        What is missing to that row; 0 where it is met.
    """

    jurisdiction: str
    rule: str
    met: HeatRow | None
    nearest: HeatRow
    more_c: float
    more_seconds: float


@lru_cache(maxsize=1)
def heat_rows() -> tuple[HeatRow, ...]:
    """Return all rows of ``heat_treatment.csv``, in its order."""
    found = []
    for row in read_rows(data_folder() / "heat_treatment.csv"):
        where = f"heat_treatment.csv, {row['key']}"
        figures = {name: number(row, name, where) for name in ("temperature_c", "seconds")}
        words = {name: text for name, text in row.items() if name not in figures}
        found.append(HeatRow(**words, **figures))  # type: ignore[arg-type]
    if not found or any(not all(row) for row in map(_words_of, found)):
        raise TableError("heat_treatment.csv: has no rows, or a row without its words.")
    return tuple(found)


def _words_of(row: HeatRow) -> tuple[str, ...]:
    return row.key, row.jurisdiction, row.rule, row.product, row.printed, row.status, row.source


def heat_verdicts(
    temperature_c: float, seconds: float, product: str = "mix"
) -> tuple[HeatVerdict, ...]:
    """Return what a time and temperature come to against each rule for a product.

    Parameters
    ----------
    temperature_c:
        Lowest temperature of the coldest part while it is held [°C], 40 to 160.
    seconds:
        How long it was held, warming and cooling not counted, 0 to a day.
    product:
        As in :class:`HeatRow`.

    Returns
    -------
    tuple of HeatVerdict

    Raises
    ------
    InputError
        If a value is out of range or the product unknown.

    Examples
    --------
    >>> verdicts = heat_verdicts(80.0, 25.0)
    >>> verdicts[0].met.printed
    '175 °F (80 °C) for 25 s'
    """
    check_held(temperature_c, seconds)
    rules: dict[tuple[str, str], list[HeatRow]] = {}
    for row in heat_rows():
        if row.product == product:
            rules.setdefault((row.jurisdiction, row.rule), []).append(row)
    if not rules:
        products = dict.fromkeys(row.product for row in heat_rows())
        problem = f'"{product}" is not one of {", ".join(products)}'
        raise InputError("product", problem, nearest(product, products) or "Choose one.")
    return tuple(_verdict(rows, temperature_c, seconds) for rows in rules.values())


def _verdict(rows: Sequence[HeatRow], temperature_c: float, seconds: float) -> HeatVerdict:
    def missing(row: HeatRow) -> tuple[float, float]:
        return max(row.temperature_c - temperature_c, 0.0), max(row.seconds - seconds, 0.0)

    def decades(row: HeatRow) -> float:
        more_c, more_seconds = missing(row)
        times = log10(row.seconds / max(seconds, _SHORTEST_S)) if more_seconds > 0.0 else 0.0
        return more_c / _Z_OF_NEAREST + times

    closest = min(rows, key=decades)
    more_c, more_seconds = missing(closest)
    met = closest if more_c == 0.0 and more_seconds == 0.0 else None
    return HeatVerdict(
        closest.jurisdiction, closest.rule, met, closest, more_c=more_c, more_seconds=more_seconds
    )


def check_held(temperature_c: float, seconds: float) -> None:
    """Refuse a temperature or a time that no kitchen holds.

    Raises
    ------
    InputError
        If the temperature is not 40 to 160 °C, or the time not 0 s to a day.
    """
    if not _COLDEST_C <= temperature_c <= HOTTEST_C:
        problem = f"{temperature_c:g} °C is not from {_COLDEST_C:g} to {HOTTEST_C:g} °C"
        raise InputError("temperature_c", problem, "Give the temperature that was held, in °C.")
    if not 0.0 <= seconds <= _LONGEST_S:
        problem = f"{seconds:g} s is not from 0 s to a day"
        raise InputError("seconds", problem, "Give how long it was held, without warming up.")
