"""Whether a notebook is sound: its pages, its tables, and everything that stands under a seal."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path

from formulate.notebook.schema import SCHEMA_VERSION, SEALS_SINCE, VERSIONS
from formulate.notebook.seals import fault_words, faults_of, sealed, tables_of
from formulate.notebook.store import damaged, number_in_head, table_statements, transaction

__all__ = ["require_sound"]


def require_sound(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse a notebook, of this version or an earlier one, in which anything has changed by itself.

    Raises
    ------
    InputError
        If a page, an index or a table is damaged, or a record is not as it was written.
    """
    with transaction(connection, "BEGIN"):
        found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            raise damaged(path, str(found).splitlines()[-1])
        version = number_in_head(connection, "user_version")
        if tuple(table_statements(connection)) != _expected(min(version, SCHEMA_VERSION)):
            raise damaged(path, "its tables are not as this program makes them")
        if version >= SEALS_SINCE:
            for fault in faults_of(tables_of(connection)).items():
                raise damaged(path, fault_words(*fault))
        elif version > 0:
            for row, toml, seal in connection.execute("SELECT id, toml, seal FROM version"):
                if sealed(toml) != seal:
                    raise damaged(path, f"version {row} is not as it was kept")


@cache
def _expected(version: int) -> tuple[tuple[str, str], ...]:
    """The tables as a version of this program makes them."""
    with closing(sqlite3.connect(":memory:")) as connection:
        for statements in VERSIONS[:version]:
            for statement in statements:
                connection.execute(statement)
        return tuple(table_statements(connection))
