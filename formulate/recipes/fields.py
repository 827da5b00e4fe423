"""The tables of a TOML file and their fields, each slip one sentence that names the field.

Nothing is ignored: an unknown field is an error.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from formulate.errors import InputError, nearest

__all__ = [
    "LARGEST_FILE",
    "known_fields",
    "not_negative",
    "number",
    "optional",
    "optional_number",
    "positive",
    "table_in",
    "tables_in",
    "text_in",
    "toml_tables",
    "words_in",
]

#: Bytes of the largest file that is read.
LARGEST_FILE = 1_000_000

#: More parts of a dotted key, or brackets in a row, than any file of ours has: reading them takes time
#: that grows with their square.
_PART = rb"[\w'\"-]++[ \t]*+\.[ \t]*+"
_DEEP = re.compile(rb"(?<![\w'\"-])(?:" + _PART + rb"){30}|(?:[\[{][ \t\r\n]*+){30}")


def toml_tables(data: bytes, name: str, kind: str, example: str) -> dict[str, Any]:
    """Return the tables in the bytes of a TOML file.

    Parameters
    ----------
    name, kind, example:
        Of the file, what it should be, as ``recipe``, and a command that shows one.

    Raises
    ------
    InputError
        If there are too many bytes or none, or they are not UTF-8 or not TOML.
    """
    if len(data) > LARGEST_FILE:
        raise InputError(
            name,
            f"has {len(data):,} bytes, and a {kind} at most {LARGEST_FILE:,}",
            f"Give a {kind} file, not a picture or a sheet.",
        )
    deep = _DEEP.search(data)
    if deep:
        line = data.count(b"\n", 0, deep.start()) + 1
        problem = f"is too deeply nested in line {line}"
        raise InputError(name, problem, f"A {kind} needs a few levels: mend that line.")
    try:
        tables = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError(name, "is not a text file in UTF-8", "Save it as UTF-8 text.") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        reason = str(error).rstrip(".") or "too deeply nested"
        raise InputError(name, f"is not a TOML file ({reason})", "Mend that line.") from None
    if not tables:
        raise InputError(name, "is empty", f"Start from an example: `{example}`.")
    return tables


def known_fields(table: Mapping[str, Any], fields: tuple[str, ...], place: str) -> None:
    """Raise InputError for the first field of a table that is not among those known."""
    for key in table:
        if key not in fields:
            hint = nearest(key, fields) or f"Known fields: {', '.join(fields)}."
            raise InputError(f"{place}, {key}", "is not a field that is known here", hint)


def table_in(tables: Mapping[str, Any], key: str, place: str) -> Mapping[str, Any]:
    """Return a table within a table, empty where it is left out."""
    table = tables.get(key, {})
    if not isinstance(table, dict):
        raise InputError(f"{place}, {key}", "must be a table", f"Write [{key}] on its own line.")
    return table


def tables_in(tables: Mapping[str, Any], key: str, place: str) -> list[dict[str, Any]]:
    """Return a list of tables, empty where it is left out."""
    rows = tables.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{place}, {key}", f"must be [[{key}]] tables", "Use [[ ]].")
    return rows


def text_in(table: Mapping[str, Any], key: str, place: str) -> str:
    """Return a text of 1 to 200 letters that must be there."""
    value = table.get(key)
    if not isinstance(value, str) or not value.strip() or len(value) > 200:
        problem = "is missing" if value is None else "must be a text of 1 to 200 letters"
        raise InputError(f"{place}, {key}", problem, f'Write {key} = "…".')
    return value


def words_in(table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
    """Return a list of words, empty where it is left out."""
    found = table.get(key, [])
    if not isinstance(found, list) or not all(isinstance(word, str) for word in found):
        raise InputError(f"{where}, {key}", "must be a list of words", f'Write {key} = ["…"].')
    return tuple(found)


def number(value: Any, where: str) -> float:
    """Return a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = "Write the number alone, without a unit or quotation marks."
        raise InputError(where, f"is {value!r}, not a number", hint)
    if not math.isfinite(value) or abs(value) > 1e9:
        raise InputError(where, f"is {value}, not a usable number", "Give a finite number.")
    return float(value)


def optional_number(table: Mapping[str, Any], key: str, where: str) -> float | None:
    """Return a number, ``None`` where it is left out."""
    return None if key not in table else number(table[key], f"{where}, {key}")


def not_negative(value: Any, where: str) -> float:
    """Return a number that is not below zero."""
    found = number(value, where)
    if found < 0.0:
        raise InputError(where, f"is {found:g}, and cannot be below zero", "Give 0 or more.")
    return found


def optional(table: Mapping[str, Any], key: str, where: str) -> float | None:
    """Return a number that is not below zero, ``None`` where it is left out."""
    return None if key not in table else not_negative(table[key], f"{where}, {key}")


def positive(table: Mapping[str, Any], key: str, place: str, default: float | None = None) -> float:
    """Return a number above zero, the default where it is left out; without one it must be there."""
    where = f"{place}, {key}"
    if key not in table and default is not None:
        return default
    if key not in table:
        raise InputError(where, "is missing", f"Write {key} = 1000, for example.")
    value = number(table[key], where)
    if value <= 0.0:
        raise InputError(where, f"is {value:g}, and must be above zero", "Give grams, above 0.")
    return value
