"""Opening the notebook: bringing an older one up to date, and reading one that cannot be written.

Every opening reads all seals.  At the first opening of a day everything is also written as plain files
beside the copies; before the first change of a day, and before tables are changed, a copy is made.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from functools import partial
from pathlib import Path

from formulate.errors import InputError
from formulate.notebook.backups import copy_before_change, copy_before_upgrade, export_place
from formulate.notebook.deliveries import name_lots
from formulate.notebook.files import export_notebook
from formulate.notebook.schema import SCHEMA_VERSION, SEALS_SINCE, VERSIONS
from formulate.notebook.seals import seal_all
from formulate.notebook.soundness import require_sound
from formulate.notebook.store import (
    APPLICATION_ID,
    Notebook,
    Unwritable,
    connect,
    in_words,
    number_in_head,
    place_of,
    readable,
    require_ours,
    transaction,
)

__all__ = ["open_notebook"]

_PATIENCE_S = 15.0  # how long one waits for another's change
_LITTLE_ROOM = 256 * 1024  # bytes on the disk below which it is said to be full


def open_notebook(
    path: Path | None = None, *, create: bool = True, patience_s: float = _PATIENCE_S
) -> Notebook:
    """Open a notebook, new or older, look whether it is sound, and bring its tables up to date.

    One that cannot be written is opened for reading, which its remarks say; nothing is left beside it.

    Parameters
    ----------
    path:
        Its file, by default :func:`default_path`.
    create:
        Whether to begin a new one where there is none.
    patience_s:
        How long to wait for another's change [s].

    Returns
    -------
    Notebook
        To be closed, or used in a ``with`` statement.

    Raises
    ------
    InputError
        If the file is not a notebook, is damaged or newer than this program, or cannot be opened;
        nothing of it is changed then.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     notebook.path.name
    'n.sqlite3'
    """
    place = place_of(path, create)
    try:
        _require_leave(place)
        notebook = _to_write(place, create, patience_s)
    except Unwritable as fault:
        if not place.exists() or place.stat().st_size == 0:
            raise
        return _to_read(place, fault)
    try:
        _export_of_the_day(notebook)
    except BaseException:
        notebook.close()
        raise
    return notebook


def _to_write(place: Path, create: bool, patience_s: float) -> Notebook:
    with in_words(place):
        connection = connect(place, "rwc" if create else "rw", patience_s)
        try:
            require_ours(connection, place)
            _write_ahead(connection, patience_s)
            _bring_up_to_date(connection, place)
            require_sound(connection, place)
        except BaseException:
            connection.close()
            raise
        notebook = Notebook(
            place, connection, before_change=partial(copy_before_change, path=place)
        )
        if shutil.disk_usage(place.parent).free < _LITTLE_ROOM:
            notebook.remarks.append(
                f"There is hardly any room left on the disk of {place}: it can be read, and what is "
                "noted may be refused."
            )
        return notebook


def _to_read(place: Path, fault: Unwritable) -> Notebook:
    """A notebook that cannot be written; an older one is brought up to date in memory."""
    with in_words(place):
        connection = readable(place)
        try:
            require_ours(connection, place)
            require_sound(connection, place)
            if number_in_head(connection, "user_version") < SCHEMA_VERSION:
                memory = sqlite3.connect(":memory:", isolation_level=None)
                connection.backup(memory)
                connection.close()
                connection = memory
                _change_tables(connection)
        except BaseException:
            connection.close()
            raise
    notebook = Notebook(place, connection, unwritable=fault)
    notebook.remarks.append(
        f"{place} cannot be written now, as its disk is full or may only be read: it is opened for "
        "reading, and nothing can be noted."
    )
    return notebook


def _require_leave(place: Path) -> None:
    """Find out before SQLite does, which opens for reading without a word."""
    own = os.access in os.supports_effective_ids
    if place.exists():
        for what in (place, place.parent):
            if not os.access(what, os.W_OK, effective_ids=own):
                problem = "the notebook or its folder cannot be written, and nothing was changed"
                remedy = "Ask for leave to write there, or name another place with --notebook."
                raise Unwritable(str(place), problem, remedy)


def _export_of_the_day(notebook: Notebook) -> None:
    """Write everything as plain files, once a day; what cannot be written is only said."""
    place = None
    try:
        place = export_place(notebook)
        if place is not None:
            export_notebook(notebook, place)
    except InputError as error:
        if place is None or not place.exists():  # else someone else was as early
            notebook.remarks.append(f"The plain files of today could not be written: {error}")


def _write_ahead(connection: sqlite3.Connection, patience_s: float) -> None:
    """Let readers and a writer work at once; the change of mode does not wait by itself."""
    until = time.monotonic() + patience_s
    while str(connection.execute("PRAGMA journal_mode").fetchone()[0]) != "wal":
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return  # where the disk does not support it, the old mode stays, and is safe
        except sqlite3.OperationalError as error:
            busy = str(getattr(error, "sqlite_errorname", "")).startswith("SQLITE_BUSY")
            if not busy or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _bring_up_to_date(connection: sqlite3.Connection, place: Path) -> None:
    """Run the changes that the file lacks, all or none; a sound older one is copied before."""
    before = number_in_head(connection, "user_version")
    if before == SCHEMA_VERSION:
        return
    if before > 0:
        require_sound(connection, place)
        copy_before_upgrade(connection, place, before)
    _change_tables(connection)


def _change_tables(connection: sqlite3.Connection) -> None:
    with transaction(connection, "BEGIN IMMEDIATE"):
        # Someone else may have done it while this one waited for the lock.
        for version in range(number_in_head(connection, "user_version"), SCHEMA_VERSION):
            for statement in VERSIONS[version]:
                connection.execute(statement)
            if version + 1 == SEALS_SINCE:
                name_lots(connection)
                seal_all(connection)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
