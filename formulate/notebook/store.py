"""The kitchen's notebook: one SQLite file, what is read of it and what is changed in it.

What is written is written whole or not at all, and stays when the power goes: every change is one
transaction that takes the write lock at its start, in a write-ahead log that is flushed to the disk.
Several people may read and write at once on one machine; a network folder is no place for it, as the
log needs memory that its users share.

Nothing is overwritten: recipes grow versions, batches and verdicts are added, and a batch that was
noted by mistake is struck, not deleted.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import platformdirs

from formulate.errors import InputError
from formulate.notebook.schema import SCHEMA_VERSION

__all__ = [
    "APPLICATION_ID",
    "PATH_VARIABLE",
    "Notebook",
    "Unwritable",
    "connect",
    "damaged",
    "default_path",
    "in_words",
    "is_notebook",
    "number_in_head",
    "place_of",
    "read_only",
    "readable",
    "require_ours",
    "table_statements",
    "transaction",
]

#: Marks the file as a notebook of this program: the letters "Form" (PRAGMA application_id).
APPLICATION_ID = 0x466F726D

#: Environment variable that names another file than the usual one.
PATH_VARIABLE = "FORMULATE_NOTEBOOK"

_PATIENCE_S = 15.0  # how long one waits for another's change
_PAGE = 8192  # bytes of a page: all statements of the tables fit on the first
_SMALLEST = 100  # bytes of the head of every SQLite file
_MARK = slice(68, 72)  # where the application id stands in that head
_MAGIC = b"SQLite format 3\0"


class Unwritable(InputError):
    """The notebook can be read and not written: its disk is full or read-only, or it is another's."""


class Notebook:
    """An open notebook; a context manager that closes it.  One thread, one notebook.

    Attributes
    ----------
    path:
        Its file.
    remarks:
        Sentences that whoever uses it should see: that it can only be read, or that no copy was made.
    unwritable:
        Why it can be read and not written, which a change then raises; ``None`` where it can.
    """

    __slots__ = ("_before_change", "_connection", "path", "remarks", "unwritable")

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        *,
        unwritable: Unwritable | None = None,
        before_change: Callable[[sqlite3.Connection], list[str]] | None = None,
    ) -> None:
        self.path = path
        self.remarks: list[str] = []
        self.unwritable = unwritable
        self._connection = connection
        self._before_change = before_change

    def __enter__(self) -> Notebook:
        return self

    def __exit__(self, *about: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        with in_words(self.path):
            self._connection.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One unchanging view of the notebook, whatever others write meanwhile."""
        with in_words(self.path), transaction(self._connection, "BEGIN"):
            yield self._connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One change: whole at the end of the block, or nothing if the block raises.

        Raises
        ------
        InputError
            If another's change does not end, the disk is full, or the file cannot be written.
        """
        if self.unwritable is not None:
            raise self.unwritable
        if self._before_change is not None:
            said = self._before_change(self._connection)
            self.remarks += [remark for remark in said if remark not in self.remarks]
        with in_words(self.path), transaction(self._connection, "BEGIN IMMEDIATE"):
            yield self._connection


def default_path() -> Path:
    """Return where the notebook is kept: where the environment says, or the system's folder for data.

    Returns
    -------
    Path

    Examples
    --------
    >>> default_path().suffix != ""
    True
    """
    chosen = os.environ.get(PATH_VARIABLE)
    if chosen:
        return Path(chosen)
    return platformdirs.user_data_path("formulate", appauthor=False) / "notebook.sqlite3"


def is_notebook(path: Path) -> bool:
    """Say whether a file is a notebook of this program, so that nothing else is written over it.

    Parameters
    ----------
    path:
        A file; one that is not there or cannot be read is none.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_notebook(Path("no_such_file"))
    False
    """
    try:
        with path.open("rb") as file:
            head = file.read(_SMALLEST)
    except (OSError, ValueError):
        return False
    return head.startswith(_MAGIC) and head[_MARK] == APPLICATION_ID.to_bytes(4, "big")


def place_of(path: Path | None, create: bool) -> Path:
    """Return the file of a notebook, its folder made where it is the usual one.

    It is not opened here: closing a file takes away every lock that this process has on it.

    Raises
    ------
    InputError
        If there can be no notebook, or is none and none is to be begun.
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
            remedy = (
                "Begin one by keeping a recipe: `formulate keep damson_sorbet`. If there was one, "
                "bring back its last copy: `formulate notebook restore`."
            )
            raise InputError(str(found), "there is no notebook yet", remedy)
        if 0 < size < _SMALLEST:  # SQLite takes a single byte for nothing
            raise _no_notebook(found)
        return found.absolute()
    except OSError as error:
        problem = f"cannot be opened ({error.strerror})"
        raise InputError(str(found), problem, "Name another with --notebook.") from None


def connect(path: Path, mode: str, patience_s: float = _PATIENCE_S) -> sqlite3.Connection:
    """Return a connection that trusts nothing of the file and flushes what it writes to the disk."""
    address = f"{path.as_uri()}?mode={mode}"
    connection = sqlite3.connect(address, uri=True, isolation_level=None, timeout=patience_s)
    try:
        if mode.startswith("ro"):  # else SQLite reads nothing at all of a file that was cut off
            connection.execute("PRAGMA writable_schema = ON")
        # A file from elsewhere may not run what it brings: its schema is not trusted.
        for setting in ("foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON"):
            connection.execute(f"PRAGMA {setting}")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA page_size = {_PAGE}")  # of a new file alone
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def readable(path: Path) -> sqlite3.Connection:
    """Return a connection for reading alone that asks nothing of the disk, whole or not.

    Where not even the memory that users of the log share can be made, the file is read as it lies; and
    where a log was left that a crash kept from being taken in, from a copy in memory.
    """
    try:
        connection = connect(path, "ro")
        try:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except BaseException:
            connection.close()
            raise
        return connection
    except sqlite3.OperationalError:
        log = path.with_name(f"{path.name}-wal")
        if not log.exists() or log.stat().st_size == 0:
            # The disk takes nothing any more, so that nobody can be writing.
            return connect(path, "ro&immutable=1")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, path.name)
        for file in (path, log):
            shutil.copyfile(file, copy.with_name(file.name))
        memory = sqlite3.connect(":memory:", isolation_level=None)
        with closing(connect(copy, "rw")) as found:
            found.backup(memory)
        return memory


@contextmanager
def read_only(path: Path) -> Iterator[sqlite3.Connection]:
    """A view of a file that need not be whole, for examining and saving what can be read."""
    place = place_of(path, False)
    with in_words(place), closing(readable(place)) as connection:
        yield connection


def require_ours(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse the file of another program, or of a later version of this one."""
    mark, version = (
        number_in_head(connection, name) for name in ("application_id", "user_version")
    )
    if mark == 0 and version == 0 and not table_statements(connection):
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


def number_in_head(connection: sqlite3.Connection, name: str) -> int:
    """Return one of the numbers that stand in the head of the file."""
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])


def table_statements(connection: sqlite3.Connection) -> list[tuple[str, str]]:
    """Return the names of tables and indexes with the statements that made them."""
    rows = connection.execute("SELECT name, sql FROM sqlite_master ORDER BY name")
    return [(name, " ".join(str(sql).split())) for name, sql in rows]


@contextmanager
def transaction(connection: sqlite3.Connection, begin: str) -> Iterator[None]:
    """Commit what the block does, or take it back if it raises."""
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise


# What goes wrong, in words --------------------------------------------------------------------------


def damaged(path: Path, how: str) -> InputError:
    """Return the error of a damaged notebook."""
    return InputError(
        str(path),
        f"this notebook is damaged ({how})",
        "Bring back its last copy with `formulate notebook restore`; or save what can be read with "
        "`formulate notebook export FOLDER --damaged`, move the file away, and begin a new one with "
        "`formulate notebook import FOLDER`.",
    )


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """What SQLite and the disk say, as a sentence for a cook."""
    try:
        yield
    except sqlite3.Error as error:
        raise _sentence(path, error) from error
    except UnicodeDecodeError as error:  # in what SQLite says of a damaged file
        raise damaged(path, "its letters are spoilt") from error
    except OSError as error:
        problem = f"cannot be written ({error.strerror})"
        raise Unwritable(str(path), problem, "Name another place with --notebook.") from error


def _no_notebook(path: Path) -> InputError:
    problem = "is not a notebook, or its beginning is destroyed"
    remedy = (
        "Name another with --notebook; if it was one, bring back its last copy with `formulate "
        "notebook restore`."
    )
    return InputError(str(path), problem, remedy)


def _sentence(path: Path, error: sqlite3.Error) -> InputError:
    name = str(getattr(error, "sqlite_errorname", "") or "")
    place, words = str(path), " ".join(str(error).split())  # it may quote a damaged statement
    if name.startswith(("SQLITE_FULL", "SQLITE_IOERR_SHM")):
        problem = "there is no room left on its disk, and nothing was changed"
        return Unwritable(place, problem, "Make room and do it again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        problem = "the notebook or its folder cannot be written, and nothing was changed"
        remedy = "Ask for leave to write there, or name another place with --notebook."
        return Unwritable(place, problem, remedy)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        problem = "someone else is writing and does not end, and nothing was changed"
        return InputError(place, problem, "Try again in a moment.")
    if name.startswith("SQLITE_IOERR"):
        problem = f"its disk fails ({words}), and the change was not kept"
        remedy = "Check the disk and its room, and copy the notebook."
        return Unwritable(place, problem, remedy)
    if name.startswith("SQLITE_NOTADB"):
        return _no_notebook(path)
    if name.startswith("SQLITE_CORRUPT") or "UTF-8" in str(error):
        return damaged(path, words)
    problem = f"cannot be used ({words})"
    return InputError(place, problem, "See what is wrong with `formulate notebook check`.")
