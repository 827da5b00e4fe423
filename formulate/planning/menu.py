"""The menu file of a week: TOML in, a frozen menu out.

Nothing is ignored: an unknown field is an error that names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date as Date
from datetime import timedelta
from typing import Any

from formulate.checks import (
    flag,
    keep_all,
    not_negative,
    number,
    positive_number,
    standing_at,
    whole,
    word,
)
from formulate.errors import InputError, nearest
from formulate.ingredients import Lot, StockLot, lot_from_data
from formulate.recipes import (
    known_fields,
    optional,
    positive,
    tables_in,
    text_in,
    toml_tables,
)

__all__ = ["MENU_FIELDS", "SERVE_FIELDS", "SHELF_FIELDS", "Serve", "WeekMenu", "parse_menu"]

#: Fields of a menu file, of one serving and of one lot of the shelf.
MENU_FIELDS: tuple[str, ...] = tuple(
    "name begins churn_g left_in_machine_g keeps_days together serve lot".split()
)
SERVE_FIELDS: tuple[str, ...] = tuple("day service recipe grams portions portion_g".split())
SHELF_FIELDS: tuple[str, ...] = (*Lot.__dataclass_fields__, "brix", "plus_minus")
_WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()
_MOST_SERVED = 500
_MOST_DAYS = 60
_MOST_G = 1e6
_MOST_PORTIONS = 100_000


@dataclass(frozen=True, slots=True)
class Serve:
    """What is wanted of a recipe on a day [g of mix: overrun is volume, and no mass].

    ``recipe`` is as the menu writes it; ``service`` and ``portions`` are words and count for the wall,
    "" and ``None`` where not given.

    Raises
    ------
    InputError
        If a field is not of its kind or out of its range.
    """

    day: Date
    recipe: str
    grams: float
    service: str = ""
    portions: int | None = None

    def __post_init__(self) -> None:
        """Check every field."""
        if not isinstance(self.day, Date):
            problem, remedy = f"is {self.day!r}, not a day", "Give a date."
            raise InputError("serve, day", problem, remedy, field="day", value=self.day)
        word(self.recipe, "serve, recipe")
        grams = positive_number(self.grams, "serve, grams")
        if grams > _MOST_G:
            problem, allowed = f"wants {grams:,.0f} g, above {_MOST_G:,.0f}", (0.0, _MOST_G)
            raise InputError(
                "serve", problem, "Give grams.", field="grams", value=grams, allowed=allowed
            )
        object.__setattr__(self, "grams", grams)
        if self.service:
            word(self.service, "serve, service")
        if self.portions is not None:
            whole(self.portions, 1, _MOST_PORTIONS, "serve, portions")


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

    Raises
    ------
    InputError
        If a field is not of its kind or out of its range, nothing is served, the days lie too far apart,
        or two lots of an ingredient have one name.
    """

    name: str
    serves: tuple[Serve, ...]
    churn_g: float
    left_in_machine_g: float
    keeps_days: int
    together: bool
    lots: tuple[StockLot, ...]

    def __post_init__(self) -> None:
        """Check every field, and all together."""
        word(self.name, "menu, name")
        keep_all(self, "serves", Serve, "menu")
        keep_all(self, "lots", StockLot, "menu")
        if not 0 < len(self.serves) <= _MOST_SERVED:
            problem = f"has {len(self.serves)} [[serve]] tables, and must have 1 to {_MOST_SERVED}"
            remedy = "Write one for each mix and day."
            raise InputError("menu", problem, remedy, field="serve", allowed=(1, _MOST_SERVED))
        days = [serve.day for serve in self.serves]
        if (max(days) - min(days)).days > _MOST_DAYS:
            problem = f"runs from {min(days)} to {max(days)}, more than {_MOST_DAYS} days"
            remedy = "Correct the days, or write two menus."
            raise InputError("menu", problem, remedy, field="day", allowed=(0, _MOST_DAYS))
        churn = positive_number(self.churn_g, "menu, churn_g")
        stays = not_negative(self.left_in_machine_g, "menu, left_in_machine_g")
        if stays >= churn:
            problem = f"is {stays:g}, and must be below the churn of {churn:g} g"
            place, field = "menu, left_in_machine_g", "left_in_machine_g"
            remedy = "Weigh what stays behind."
            raise InputError(place, problem, remedy, field=field, value=stays, allowed=(0.0, churn))
        object.__setattr__(self, "churn_g", churn)
        object.__setattr__(self, "left_in_machine_g", stays)
        whole(self.keeps_days, 0, 30, "menu, keeps_days")
        flag(self.together, "menu, together")
        seen: set[tuple[str, str]] = set()
        for count, each in enumerate(self.lots, start=1):
            if (each.lot.key, each.lot.name) in seen:
                problem = f'the name "{each.lot.name}" is given twice for {each.lot.key}'
                place, remedy = f"menu, lot {count}", "Give another name."
                raise InputError(place, problem, remedy, field="name", value=each.lot.name)
            seen.add((each.lot.key, each.lot.name))


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
    known_fields(tables, MENU_FIELDS, name)
    begins = None if "begins" not in tables else _day(tables["begins"], None, f"{name}, begins")
    serves = tuple(
        _serve(row, begins, f"{name}, serve {count}")
        for count, row in enumerate(tables_in(tables, "serve", name), start=1)
    )
    if tables.get("together") is True and "keeps_days" not in tables:
        problem = "is missing, and says how long what is churned together may wait"
        remedy = "Write keeps_days = 2, as it keeps here."
        raise InputError(f"{name}, keeps_days", problem, remedy, field="keeps_days")
    with standing_at("menu", name):
        return WeekMenu(
            name=text_in(tables, "name", name),
            serves=serves,
            churn_g=positive(tables, "churn_g", name),
            left_in_machine_g=tables.get("left_in_machine_g", 0.0),
            keeps_days=tables.get("keeps_days", 0),
            together=tables.get("together", False),
            lots=tuple(
                _lot(row, f"{name}, lot {count}")
                for count, row in enumerate(tables_in(tables, "lot", name), start=1)
            ),
        )


def _serve(row: Mapping[str, Any], begins: Date | None, place: str) -> Serve:
    known_fields(row, SERVE_FIELDS, place)
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
        portions = whole(portions, 1, _MOST_PORTIONS, f"{place}, portions")
        wanted = portions * positive(row, "portion_g", place)
    service = "" if "service" not in row else text_in(row, "service", place)
    day = _day(row["day"], begins, f"{place}, day")
    with standing_at("serve", place):
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


def _lot(row: Mapping[str, Any], place: str) -> StockLot:
    known_fields(row, SHELF_FIELDS, place)
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
