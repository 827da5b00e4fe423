"""The menu file of a week: TOML in, a frozen menu out.

Nothing is ignored: an unknown field is an error that names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta
from typing import Any

from formulate.errors import InputError, nearest
from formulate.ingredients import Lot, StockLot, lot_from_data
from formulate.recipes import (
    known_fields,
    not_negative,
    number,
    optional,
    positive,
    tables_in,
    text_in,
    toml_tables,
)

__all__ = ["Serve", "WeekMenu", "parse_menu"]

_TOP = tuple("name begins churn_g left_in_machine_g keeps_days together serve lot".split())
_SERVE = tuple("day service recipe grams portions portion_g".split())
_SHELF = (*Lot.__dataclass_fields__, "brix", "plus_minus")
_WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()
_MOST_SERVED = 500
_MOST_DAYS = 60
_MOST_G = 1e6


@dataclass(frozen=True, slots=True)
class Serve:
    """What is wanted of a recipe on a day [g of mix: overrun is volume, and no mass].

    ``recipe`` is as the menu writes it; ``service`` and ``portions`` are words and count for the wall,
    "" and ``None`` where not given.
    """

    day: Date
    recipe: str
    grams: float
    service: str = ""
    portions: int | None = None


@dataclass(frozen=True, slots=True)
class WeekMenu:
    """What is served, and what the kitchen has.

    Attributes
    ----------
    churn_g, left_in_machine_g:
        What one churn takes, and what of it stays in the machine [g].
    keeps_days:
        For how many days after its churn this kitchen serves a mix; the cook says.
    together:
        Whether mixes of several days may be churned at once, where that saves a churn.
    lots:
        The shelf, as the file gives it: without grams where the notebook knows them.
    """

    name: str
    serves: tuple[Serve, ...]
    churn_g: float
    left_in_machine_g: float
    keeps_days: int
    together: bool
    lots: tuple[StockLot, ...]


def parse_menu(data: bytes, name: str) -> WeekMenu:
    """Return the menu in the bytes of a TOML file.

    Parameters
    ----------
    data:
        The file, UTF-8.
    name:
        What it is called in messages.

    Returns
    -------
    WeekMenu

    Raises
    ------
    InputError
        If the bytes are not a menu: not TOML, or with a field that is unknown, missing, of the wrong
        kind or out of range.

    Examples
    --------
    >>> from formulate.data import menu_bytes
    >>> parse_menu(menu_bytes("november_week"), "november_week").serves[0].recipe
    'damson_sorbet'
    """
    tables = toml_tables(data, name, "menu", "formulate week november_week")
    known_fields(tables, _TOP, name)
    rows = tables_in(tables, "serve", name)
    if not 0 < len(rows) <= _MOST_SERVED:
        problem = f"has {len(rows)} [[serve]] tables, and must have 1 to {_MOST_SERVED}"
        raise InputError(name, problem, "Write one for each mix and day.")
    begins = None if "begins" not in tables else _day(tables["begins"], None, f"{name}, begins")
    serves = tuple(
        _serve(row, begins, f"{name}, serve {count}") for count, row in enumerate(rows, start=1)
    )
    days = [serve.day for serve in serves]
    if (max(days) - min(days)).days > _MOST_DAYS:
        problem = f"runs from {min(days)} to {max(days)}, more than {_MOST_DAYS} days"
        raise InputError(name, problem, "Correct the days, or write two menus.")
    churn = positive(tables, "churn_g", name)
    stays = not_negative(tables.get("left_in_machine_g", 0.0), f"{name}, left_in_machine_g")
    if stays >= churn:
        problem = f"is {stays:g}, and must be below the churn of {churn:g} g"
        raise InputError(f"{name}, left_in_machine_g", problem, "Weigh what stays behind.")
    together = tables.get("together", False)
    if not isinstance(together, bool):
        raise InputError(f"{name}, together", "must be true or false", "Write together = true.")
    if together and "keeps_days" not in tables:
        problem = "is missing, and says how long what is churned together may wait"
        raise InputError(f"{name}, keeps_days", problem, "Write keeps_days = 2, as it keeps here.")
    return WeekMenu(
        name=text_in(tables, "name", name),
        serves=serves,
        churn_g=churn,
        left_in_machine_g=stays,
        keeps_days=_whole(tables.get("keeps_days", 0), 0, 30, f"{name}, keeps_days"),
        together=together,
        lots=_lots(tables_in(tables, "lot", name), name),
    )


def _serve(row: Mapping[str, Any], begins: Date | None, place: str) -> Serve:
    known_fields(row, _SERVE, place)
    if "day" not in row:
        remedy = "Write day = 2026-11-24, or a weekday with begins at the top."
        raise InputError(f"{place}, day", "is missing", remedy)
    grams, portions = row.get("grams"), row.get("portions")
    if (grams is None) == (portions is None) or (portions is None) != ("portion_g" not in row):
        problem = "needs either grams, or portions and portion_g"
        raise InputError(place, problem, "Write grams = 3000, or portions = 50 and portion_g = 60.")
    if portions is None:
        wanted = positive(row, "grams", place)
    else:
        portions = _whole(portions, 1, 100_000, f"{place}, portions")
        wanted = portions * positive(row, "portion_g", place)
    if wanted > _MOST_G:
        raise InputError(place, f"wants {wanted:,.0f} g, above {_MOST_G:,.0f}", "Give grams.")
    service = "" if "service" not in row else text_in(row, "service", place)
    day = _day(row["day"], begins, f"{place}, day")
    return Serve(day, text_in(row, "recipe", place), wanted, service, portions)


def _day(value: object, begins: Date | None, place: str) -> Date:
    """A date, its ISO form, or the first such weekday from the day on which the menu begins."""
    if isinstance(value, Date):
        return Date(value.year, value.month, value.day)
    word = str(value).strip().casefold()
    if word in _WEEKDAYS:
        if begins is None:
            remedy = "Write begins = 2026-11-23 at the top, for example."
            raise InputError(place, f'"{value}" is of no week', remedy)
        return begins + timedelta((_WEEKDAYS.index(word) - begins.weekday()) % 7)
    try:
        return Date.fromisoformat(word)
    except ValueError:
        hint = nearest(word, _WEEKDAYS) or "Write 2026-11-24, or tuesday."
        raise InputError(place, f"is {value!r}, not a day", hint) from None


def _lots(rows: list[dict[str, Any]], name: str) -> tuple[StockLot, ...]:
    found: list[StockLot] = []
    for count, row in enumerate(rows, start=1):
        new = _lot(row, f"{name}, lot {count}")
        same = [each for each in found if each.lot.key == new.lot.key]
        if new.lot.name in [each.lot.name for each in same]:
            problem = f'the name "{new.lot.name}" is given twice for {new.lot.key}'
            raise InputError(f"{name}, lot {count}", problem, "Give another name.")
        found.append(new)
    return tuple(found)


def _lot(row: Mapping[str, Any], place: str) -> StockLot:
    known_fields(row, _SHELF, place)
    text_in(row, "key", place)
    text_in(row, "name", place)
    plus_minus = optional(row, "plus_minus", place)
    given = {key: value for key, value in row.items() if key not in ("brix", "plus_minus")}
    if "brix" in row:
        if "reading" in row or row.get("scale", "brix") != "brix":
            problem = "is given beside a reading or another scale"
            raise InputError(f"{place}, brix", problem, "Keep one of the two.")
        given["reading"] = number(row["brix"], f"{place}, brix")
    if plus_minus is not None and "reading" not in given:
        raise InputError(f"{place}, plus_minus", "is of no reading", "Give brix, or leave it out.")
    return StockLot(lot_from_data(given, place), plus_minus)


def _whole(value: object, low: int, high: int, place: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        problem = f"is {value!r}, and must be a whole number from {low} to {high:,}"
        raise InputError(place, problem, "Give a count, like 2.")
    return value
