"""What an answer rests on: the version of the program, and one hash over every table."""

from __future__ import annotations

import tomllib
from functools import lru_cache

from formulate.data.tables import data_folder
from formulate.errors import TableError

__all__ = ["VERSION", "altered_tables", "made_with", "table_hashes", "table_names", "versions"]

#: Version of the program; ``CHANGELOG.md`` in this package says what came with it.
VERSION = "0.2.0"

#: Folders beside the tables that no answer reads: recipes to try, and what the tables were made from.
_NO_TABLES = frozenset({"build", "examples", "extract", "screenshots"})
_MANIFEST = "manifest.toml"


def table_names() -> tuple[str, ...]:
    """Return every table that an answer may read, as paths in the folder of reference data, in order.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> {"composition.csv", "freezing/solutes.csv"} <= set(table_names())
    True
    >>> any(name.startswith("examples/") for name in table_names())
    False
    """
    folder = data_folder()
    found = (path.relative_to(folder) for path in folder.rglob("*.*"))
    return tuple(
        sorted(
            path.as_posix()
            for path in found
            if path.suffix in (".csv", ".toml")
            and path.parts[0] not in _NO_TABLES
            and path.name != _MANIFEST
        )
    )


def table_hashes() -> dict[str, str]:
    """Return the SHA-256 of every table of :func:`table_names`, in hexadecimal.

    Returns
    -------
    dict
        Hashes by path.

    Raises
    ------
    TableError
        If a table cannot be read.

    Examples
    --------
    >>> len(table_hashes()["composition.csv"])
    64
    """
    import hashlib  # takes long to import

    try:
        return {
            name: hashlib.sha256((data_folder() / name).read_bytes()).hexdigest()
            for name in table_names()
        }
    except OSError as error:
        raise TableError(f"{error.filename}: cannot be read ({error.strerror}).") from error


def altered_tables() -> tuple[str, ...]:
    """Return the tables that are missing, added or not as the manifest has them; none if all are.

    Returns
    -------
    tuple of str
        Paths in the folder of reference data.

    Raises
    ------
    TableError
        If a table or the manifest cannot be read.

    Examples
    --------
    >>> "composition.csv" in altered_tables()
    False
    """
    try:
        text = (data_folder() / _MANIFEST).read_text(encoding="utf-8")
        recorded = dict(tomllib.loads(text)["sha256"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise TableError(f"{_MANIFEST}: cannot be read ({error}).") from error
    here = table_hashes()
    return tuple(
        name for name in sorted({*recorded, *here}) if recorded.get(name) != here.get(name)
    )


@lru_cache(maxsize=1)
def versions() -> dict[str, str]:
    """Return the version of the program, and a short hash over every table that an answer may read.

    Returns
    -------
    dict
        ``formulate``, and ``data`` of twelve hexadecimal digits.

    Raises
    ------
    TableError
        If a table cannot be read.

    Examples
    --------
    >>> list(versions())
    ['formulate', 'data']
    """
    import hashlib  # takes long to import

    lines = "".join(f"{name} {found}\n" for name, found in table_hashes().items())
    return {"formulate": VERSION, "data": hashlib.sha256(lines.encode("utf-8")).hexdigest()[:12]}


def made_with() -> str:
    """Return the versions in one line, for the foot of whatever is kept or printed.

    Returns
    -------
    str

    Examples
    --------
    >>> made_with().startswith("formulate ")
    True
    """
    return " ".join(f"{what} {version}" for what, version in versions().items())
