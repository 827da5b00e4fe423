"""The tables of a TOML file and their fields, each slip one sentence that names the field.

Nothing is ignored: an unknown field is an error.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from formulate.checks import not_negative, positive_number, word
from formulate.errors import InputError, nearest

__all__ = [
    "LARGEST_FILE",
    "known_fields",
    "optional",
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
    data:
        The file, UTF-8.
    name, kind, example:
        Of the file, what it should be, as ``recipe``, and a command that shows one.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        If there are too many bytes or none, or they are not UTF-8 or not TOML.

    Examples
    --------
    >>> toml_tables(b'name = "Syrup"', "syrup.toml", "recipe", "formulate check damson_sorbet")
    {'name': 'Syrup'}
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
    """Raise InputError for the first field of a table that is not among those known.

    Parameters
    ----------
    table:
        Fields by name.
    fields:
        Names that are known.
    place:
        Where the table stands, for messages.

    Raises
    ------
    InputError
        If there is one; it proposes the closest that is known.

    Examples
    --------
    >>> known_fields({"grams": 30}, ("key", "grams"), "ingredient 1")
    """
    for key in table:
        if key not in fields:
            hint = nearest(key, fields) or f"Known fields: {', '.join(fields)}."
            problem = "is not a field that is known here"
            raise InputError(f"{place}, {key}", problem, hint, field=key, allowed=fields)


def table_in(tables: Mapping[str, Any], key: str, place: str) -> Mapping[str, Any]:
    """Return a table within a table, empty where it is left out."""
    table = tables.get(key, {})
    if not isinstance(table, dict):
        raise InputError(f"{place}, {key}", "must be a table", f"Write [{key}] on its own line.")
    return table


def tables_in(tables: Mapping[str, Any], key: str, place: str) -> list[dict[str, Any]]:
    """Return a list of tables, empty where it is left out.

    Parameters
    ----------
    tables:
        What a file holds.
    key:
        The field.
    place:
        Where it stands, for messages.

    Returns
    -------
    list of dict

    Raises
    ------
    InputError
        If it is no list of tables.

    Examples
    --------
    >>> tables_in({}, "ratio", "recipe.toml")
    []
    """
    rows = tables.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{place}, {key}", f"must be [[{key}]] tables", "Use [[ ]].")
    return rows


def text_in(table: Mapping[str, Any], key: str, place: str) -> str:
    """Return a text of 1 to 200 letters that must be there.

    Parameters
    ----------
    table:
        Fields by name.
    key:
        The field.
    place:
        Where the table stands, for messages.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If it is missing, no text, empty or too long.

    Examples
    --------
    >>> text_in({"name": "Syrup"}, "name", "recipe.toml")
    'Syrup'
    """
    if key not in table:
        raise InputError(f"{place}, {key}", "is missing", f'Write {key} = "…".', field=key)
    return word(table[key], f"{place}, {key}")


def words_in(table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
    """Return a list of words, empty where it is left out."""
    found = table.get(key, [])
    if not isinstance(found, list) or not all(isinstance(word, str) for word in found):
        raise InputError(f"{where}, {key}", "must be a list of words", f'Write {key} = ["…"].')
    return tuple(found)


def optional(table: Mapping[str, Any], key: str, where: str) -> float | None:
    """Return a number that is not below zero, ``None`` where it is left out.

    Parameters
    ----------
    table:
        Fields by name.
    key:
        The field.
    where:
        Where the table stands, for messages.

    Returns
    -------
    float or None

    Raises
    ------
    InputError
        If it is no number, below zero or not finite.

    Examples
    --------
    >>> optional({"grams": 30}, "grams", "ingredient 1"), optional({}, "grams", "ingredient 1")
    (30.0, None)
    """
    return None if key not in table else not_negative(table[key], f"{where}, {key}")


def positive(table: Mapping[str, Any], key: str, place: str) -> float:
    """Return a number above zero that must be there.

    Parameters
    ----------
    table:
        Fields by name.
    key:
        The field.
    place:
        Where the table stands, for messages.

    Returns
    -------
    float

    Raises
    ------
    InputError
        If it is missing, no number, not above zero or not finite.

    Examples
    --------
    >>> positive({"batch_g": 2000}, "batch_g", "recipe.toml")
    2000.0
    """
    if key not in table:
        problem, remedy = "is missing", f"Write {key} = 1000, for example."
        raise InputError(f"{place}, {key}", problem, remedy, field=key)
    return positive_number(table[key], f"{place}, {key}")
