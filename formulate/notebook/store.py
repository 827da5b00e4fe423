"""The kitchen's notebook: one SQLite file.  Opening it, and bringing an older one up to date.

What is written is written whole or not at all, and stays when the power goes: every change is one
transaction that takes the write lock at its start, in a write-ahead log that is flushed to the disk.
Several people may read and write at once on one machine; a network folder is no place for it, as the
log needs memory that its users share.

Nothing is overwritten: recipes grow versions, batches and verdicts are added, and a batch that was
noted by mistake is struck, not deleted.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from uuid import uuid4

import platformdirs

from formulate.errors import InputError
from formulate.notebook.schema import SCHEMA_VERSION, VERSIONS

__all__ = [
    "APPLICATION_ID",
    "PATH_VARIABLE",
    "SCHEMA_VERSION",
    "Notebook",
    "damaged",
    "default_path",
    "open_notebook",
    "read_only",
    "require_ours",
    "sealed",
]

#: Marks the file as a notebook of this program: the letters "Form" (PRAGMA application_id).
APPLICATION_ID = 0x466F726D

#: Environment variable that names another file than the usual one.
PATH_VARIABLE = "FORMULATE_NOTEBOOK"

_PATIENCE_S = 15.0  # how long one waits for another's change
_SMALLEST = 100  # bytes of the head of every SQLite file


class Notebook:
    """An open notebook; a context manager that closes it.  One thread, one notebook."""

    __slots__ = ("_connection", "path")

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    def __enter__(self) -> Notebook:
        return self

    def __exit__(self, *about: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        with _in_words(self.path):
            self._connection.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One unchanging view of the notebook, whatever others write meanwhile."""
        with _in_words(self.path), _transaction(self._connection, "BEGIN"):
            yield self._connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One change: whole at the end of the block, or nothing if the block raises.

        Raises
        ------
        InputError
            If another's change does not end, the disk is full, or the file cannot be written.
        """
        with _in_words(self.path), _transaction(self._connection, "BEGIN IMMEDIATE"):
            yield self._connection


def default_path() -> Path:
    """Return where the notebook is kept: where the environment says, or the system's folder for data."""
    chosen = os.environ.get(PATH_VARIABLE)
    if chosen:
        return Path(chosen)
    return platformdirs.user_data_path("formulate", appauthor=False) / "notebook.sqlite3"


def open_notebook(
    path: Path | None = None, *, create: bool = True, patience_s: float = _PATIENCE_S
) -> Notebook:
    """Open a notebook, new or older, and bring its tables up to date.

    Without a path :func:`default_path`.  ``create`` begins a new one where there is none, and
    ``patience_s`` is how long to wait for another's change [s].

    Raises
    ------
    InputError
        If the file is not a notebook, is damaged or newer than this program, or cannot be opened or
        written; nothing of it is changed then.
    """
    path = _place(path, create)
    with _in_words(path), _disk_in_words(path):
        connection = _connect(path, "rwc" if create else "rw", patience_s)
        try:
            require_ours(connection, path)
            _require_whole(connection, path)
            _write_ahead(connection, patience_s)
            _bring_up_to_date(connection, path)
            if _tables(connection) != _expected_tables():
                raise damaged(path, "its tables are not as this program makes them")
        except BaseException:
            connection.close()
            raise
    return Notebook(path, connection)


@contextmanager
def read_only(path: Path) -> Iterator[sqlite3.Connection]:
    """A view of a file that need not be whole, for examining and saving what can be read."""
    place = _place(path, False)
    with _in_words(path):
        try:
            connection = _connect(place, "ro", _PATIENCE_S)
        except sqlite3.OperationalError:
            if place.with_name(f"{place.name}-wal").exists():
                raise
            # The disk takes nothing any more, so that nobody can be writing.
            connection = _connect(place, "ro&immutable=1", _PATIENCE_S)
        with closing(connection):
            yield connection


def sealed(text: str) -> str:
    """Return the seal of a recipe's text: a hash that shows whether a letter has changed since."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def damaged(path: Path, how: str) -> InputError:
    """Return the error of a damaged notebook."""
    return InputError(
        str(path),
        f"this notebook is damaged ({how})",
        "Save what can be read with `formulate notebook export FOLDER --damaged`, move the file "
        "away, and begin a new one with `formulate notebook import FOLDER`.",
    )


def _place(path: Path | None, create: bool) -> Path:
    """The file, its folder made where it is the usual one.

    It is not opened here: closing a file takes away every lock that this process has on it.
    """
    found = default_path() if path is None else path
    if "\0" in str(found):
        raise InputError(repr(str(found)), "is not a file name", "Name another.")
    try:
        if path is None and create:
            found.parent.mkdir(parents=True, exist_ok=True)
        if path is not None and not found.parent.is_dir():
            raise InputError(str(found), "its folder does not exist", "Make the folder first.")
        if found.is_dir():
            raise InputError(str(found), "is a folder, not a notebook", "Name a file in it.")
        size = found.stat().st_size if found.exists() else 0
        if size == 0 and not create:
            remedy = "Begin one by keeping a recipe: `formulate keep damson_sorbet`."
            raise InputError(str(found), "there is no notebook yet", remedy)
        if 0 < size < _SMALLEST:  # SQLite takes a single byte for nothing
            raise _no_notebook(found)
        return found.absolute()
    except OSError as error:
        problem = f"cannot be opened ({error.strerror})"
        raise InputError(str(found), problem, "Name another with --notebook.") from None


def _connect(path: Path, mode: str, patience_s: float) -> sqlite3.Connection:
    address = f"{path.as_uri()}?mode={mode}"
    connection = sqlite3.connect(address, uri=True, isolation_level=None, timeout=patience_s)
    try:
        if mode.startswith("ro"):  # else SQLite reads nothing at all of a file that was cut off
            connection.execute("PRAGMA writable_schema = ON")
        # A file from elsewhere may not run what it brings: its schema is not trusted.
        for setting in ("foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON"):
            connection.execute(f"PRAGMA {setting}")
        connection.execute("PRAGMA synchronous = FULL")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def require_ours(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse the file of another program, or of a later version of this one."""
    mark, version = (_pragma(connection, name) for name in ("application_id", "user_version"))
    if mark == 0 and version == 0 and not _tables(connection):
        return  # new, or begun by someone else just now
    if mark != APPLICATION_ID:
        problem = "is the file of another program, not a notebook"
        raise InputError(str(path), problem, "Name another with --notebook.")
    if version > SCHEMA_VERSION:
        problem = (
            f"is a notebook of version {version}, and this program knows versions to "
            f"{SCHEMA_VERSION}"
        )
        raise InputError(str(path), problem, "Use the newer formulate that wrote it.")


def _require_whole(connection: sqlite3.Connection, path: Path) -> None:
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise damaged(path, str(found).splitlines()[-1])


def _write_ahead(connection: sqlite3.Connection, patience_s: float) -> None:
    """Let readers and a writer work at once; the change of mode does not wait by itself."""
    until = time.monotonic() + patience_s
    while str(connection.execute("PRAGMA journal_mode").fetchone()[0]) != "wal":
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return  # where the disk does not support it, the old mode stays, and is safe
        except sqlite3.OperationalError as error:
            if not _named(error).startswith("SQLITE_BUSY") or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Run the changes that the file lacks, all or none; a copy of an older one stays beside it."""
    before = _pragma(connection, "user_version")
    if before == SCHEMA_VERSION:
        return
    if before > 0:
        _copy(connection, path.with_name(f"{path.name}.version-{before}"))
    with _transaction(connection, "BEGIN IMMEDIATE"):
        # Someone else may have done it while this one waited for the lock.
        for version in range(_pragma(connection, "user_version"), SCHEMA_VERSION):
            for statement in VERSIONS[version]:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


def _copy(connection: sqlite3.Connection, to: Path) -> None:
    part = to.with_name(f"{to.name}.part-{uuid4().hex}")
    try:
        with closing(sqlite3.connect(part)) as copy:
            connection.backup(copy)
        part.replace(to)
    finally:
        part.unlink(missing_ok=True)


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])


def _tables(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    rows = connection.execute("SELECT name, sql FROM sqlite_master ORDER BY name")
    return [(name, " ".join(str(sql).split())) for name, sql in rows]


def _expected_tables() -> list[tuple[str, str]]:
    with closing(sqlite3.connect(":memory:")) as connection:
        for statements in VERSIONS:
            for statement in statements:
                connection.execute(statement)
        return _tables(connection)


@contextmanager
def _transaction(connection: sqlite3.Connection, begin: str) -> Iterator[None]:
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise


def _named(error: sqlite3.Error) -> str:
    return str(getattr(error, "sqlite_errorname", "") or "")


@contextmanager
def _in_words(path: Path) -> Iterator[None]:
    """What SQLite and the disk say, as a sentence for a cook."""
    try:
        yield
    except sqlite3.Error as error:
        raise _sentence(path, error) from error
    except UnicodeDecodeError as error:  # in what SQLite says of a damaged file
        raise damaged(path, "its letters are spoilt") from error


@contextmanager
def _disk_in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        problem = f"cannot be written ({error.strerror})"
        raise InputError(str(path), problem, "Name another place with --notebook.") from error


def _no_notebook(path: Path) -> InputError:
    problem = "is not a notebook, or its beginning is destroyed"
    remedy = "Name another with --notebook; if it was one, only an export or a copy can help."
    return InputError(str(path), problem, remedy)


def _sentence(path: Path, error: sqlite3.Error) -> InputError:
    name = _named(error)
    place = str(path)
    if name.startswith("SQLITE_FULL"):
        problem = "there is no room left on its disk, and nothing was changed"
        return InputError(place, problem, "Make room and do it again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        problem = "the notebook or its folder cannot be written, and nothing was changed"
        remedy = "Ask for leave to write there, or name another place with --notebook."
        return InputError(place, problem, remedy)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        problem = "someone else is writing and does not end, and nothing was changed"
        return InputError(place, problem, "Try again in a moment.")
    if name.startswith("SQLITE_IOERR"):
        problem = f"its disk fails ({error}), and the change was not kept"
        return InputError(place, problem, "Check the disk and its room, and copy the notebook.")
    if name.startswith("SQLITE_NOTADB"):
        return _no_notebook(path)
    if name.startswith("SQLITE_CORRUPT") or "UTF-8" in str(error):
        return damaged(path, str(error))
    problem = f"cannot be used ({error})"
    return InputError(place, problem, "See what is wrong with `formulate notebook check`.")
