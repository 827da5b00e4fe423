"""Copies of the notebook: one before the first change of a day and before its tables change.

A copy is the notebook itself, one SQLite file, made by SQLite while others may write, and read to its
last seal before it gets its name.  Copies lie in a folder beside the notebook and, where one is named,
in a second one that may be a stick or a share.  Of the copies of days stay the last 7, the last of each
of the last 4 weeks, and the last of each of the last 12 months; weeks and months without a copy are
not counted, so that a kitchen that was closed loses none.
"""

from __future__ import annotations

import filecmp
import hashlib
import os
import re
import shutil
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import date as Date
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from formulate.errors import InputError
from formulate.notebook.soundness import require_sound
from formulate.notebook.store import (
    Notebook,
    default_path,
    in_words,
)

__all__ = [
    "BACKUPS_VARIABLE",
    "Backup",
    "back_up",
    "backups_of",
    "copy_before_change",
    "copy_before_upgrade",
    "copy_through",
    "everything",
    "export_place",
    "folders_of",
    "kept_days",
    "mark_of",
    "second_folder",
    "set_second_folder",
]

#: Environment variable that names the second folder for copies.
BACKUPS_VARIABLE = "FORMULATE_BACKUPS"

_DAYS, _WEEKS, _MONTHS = 7, 4, 12
_EXPORTS = 7  # folders of plain files that stay
_NAME = re.compile(
    r"(?P<stem>.+)-(?P<mark>[0-9a-f]{6})-(?P<day>\d{4}-\d\d-\d\d)"
    r"(-(?P<why>asked|replaced|version-\d+)-(?P<time>\d{6}))?\.sqlite3"
)


@dataclass(frozen=True, slots=True)
class Backup:
    """A copy of a notebook.

    Attributes
    ----------
    path, day, time:
        The file, the day on which it was made, and the time as six digits, ``""`` for the day's first.
    why:
        ``""`` before the first change of that day, ``"asked"`` at a wish, ``"replaced"`` before another
        copy took the notebook's place, ``"version-4"`` before its tables of that version changed.
    mark:
        What tells notebooks apart that lie in one folder.
    """

    path: Path
    day: Date
    time: str
    why: str
    mark: str


def kept_days(days: Iterable[Date], today: Date) -> frozenset[Date]:
    """Return the days whose copies stay: 7 days, 4 weeks, 12 months; what lies ahead stays too.

    Examples
    --------
    >>> from datetime import date
    >>> days = [date(2026, 11, day) for day in range(1, 21)]
    >>> [day.day for day in sorted(kept_days(days, date(2026, 11, 20)))]
    [1, 8, 14, 15, 16, 17, 18, 19, 20]
    """
    every = set(days)
    past = sorted((day for day in every if day <= today), reverse=True)
    kept = every - set(past) | set(past[:_DAYS])
    for count, period in ((_WEEKS, _week), (_MONTHS, _month)):
        newest: dict[tuple[int, int], Date] = {}
        for day in past:
            newest.setdefault(period(day), day)
        kept |= set(list(newest.values())[:count])
    return frozenset(kept)


def second_folder(path: Path | None = None) -> Path | None:
    """Return the second folder for copies of a notebook, ``None`` where none is named.

    Parameters
    ----------
    path:
        The notebook, by default :func:`default_path`.  :data:`BACKUPS_VARIABLE` in the environment
        comes before what was named with :func:`set_second_folder`.

    Returns
    -------
    Path or None

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     second_folder(notebook.path) is None
    True
    """
    chosen = os.environ.get(BACKUPS_VARIABLE)
    if chosen:
        return Path(chosen)
    try:
        text = _note_of_second(path or default_path()).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return None
    return Path(text) if text else None


def set_second_folder(folder: Path | None, path: Path | None = None) -> None:
    """Name the second folder for copies of a notebook, or none.

    Parameters
    ----------
    folder:
        One that is there, on a stick or a share for example; ``None`` to forget it.
    path:
        The notebook, by default :func:`default_path`.

    Raises
    ------
    InputError
        If the folder is not there, or the note of it cannot be written beside the notebook.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     set_second_folder(Path(folder), notebook.path)
    ...     second_folder(notebook.path) == Path(folder)
    True
    """
    if folder is not None and not folder.is_dir():
        remedy = "Plug it in or make it, and name it again."
        raise InputError(str(folder), "is no folder that is there", remedy)
    note = _note_of_second(path or default_path())
    with _disk_in_words(note):
        if folder is None:
            note.unlink(missing_ok=True)
        else:
            note.write_text(f"{folder.absolute()}\n", encoding="utf-8")


def backups_of(path: Path | None = None, folder: Path | None = None) -> tuple[Backup, ...]:
    """Return the copies of a notebook, the newest first.

    Parameters
    ----------
    path:
        The notebook, by default :func:`default_path`, whose own and second folder are looked into.
    folder:
        Look into this folder alone.

    Returns
    -------
    tuple of Backup
        Empty where there is none, or a folder cannot be read.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = back_up(notebook, Path(folder))
    ...     len(backups_of(folder=Path(folder)))
    1
    """
    folders = folders_of(path or default_path()) if folder is None else (folder,)
    found: dict[str, Backup] = {}
    for where in folders:
        for file in _listed(where):
            backup = _backup_of(file)
            if backup is not None:
                found.setdefault(file.name, backup)
    return tuple(sorted(found.values(), key=lambda each: (each.day, each.time), reverse=True))


def back_up(notebook: Notebook, folder: Path | None = None) -> tuple[Path, ...]:
    """Copy a notebook now, to its folders or another one; return the files.

    Parameters
    ----------
    notebook:
        An open one.
    folder:
        Copy to this folder alone.

    Returns
    -------
    tuple of Path
        What was written and read again to its last seal.

    Raises
    ------
    InputError
        If a folder is not there or takes no copy, or nothing is in the notebook yet.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     len(back_up(notebook, Path(folder)))
    1
    """
    with notebook.reading() as db:
        mark = mark_of(db)
    if mark is None:
        remedy = "Keep a recipe or note a delivery first."
        raise InputError(str(notebook.path), "has nothing in it to be copied", remedy)
    stem = f"{notebook.path.stem}-{mark}-{Date.today().isoformat()}"
    name = f"{stem}-asked-{datetime.now():%H%M%S}.sqlite3"
    folders = folders_of(notebook.path) if folder is None else (folder,)
    files: list[Path] = []
    for count, where in enumerate(folders):
        if (count or folder is not None) and not where.is_dir():
            remedy = "Plug it in or make it, or name another."
            raise InputError(str(where), "is no folder that is there", remedy)
        if files:
            _copy_file(files[0], where / name)
        else:
            copy_through(notebook._connection, where / name, notebook.path)
        files.append(where / name)
    return tuple(files)


def everything(notebook: Notebook) -> bytes:
    """Return the whole notebook as the bytes of one file, which :func:`restore` takes.

    Parameters
    ----------
    notebook:
        An open one; what others write meanwhile is in it whole or not at all.

    Returns
    -------
    bytes

    Examples
    --------
    >>> import tempfile
    >>> from formulate.notebook import open_notebook
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_notebook(Path(folder, "notebook.sqlite3")) as notebook:
    ...         everything(notebook)[:15]
    b'SQLite format 3'
    """
    with in_words(notebook.path), closing(sqlite3.connect(":memory:")) as memory:
        notebook._connection.backup(memory)
        return memory.serialize()


def copy_before_change(connection: sqlite3.Connection, path: Path) -> list[str]:
    """Copy a notebook unless it was copied today; return sentences about what could not be done."""
    mark = mark_of(connection)
    if mark is None:
        return []
    today = Date.today()
    name = f"{path.stem}-{mark}-{today.isoformat()}.sqlite3"
    first, *others = folders_of(path)
    remarks = []
    try:
        if not (first / name).exists():
            copy_through(connection, first / name, path)
            _thin_out(first, path.stem, mark, today)
        for where in others:
            if not where.is_dir():
                remarks.append(f"No copy was made in {where}: it is not there. Plug it in.")
            elif not (where / name).exists():
                _copy_file(first / name, where / name)
                _thin_out(where, path.stem, mark, today)
    except InputError as error:
        remarks.append(f"No copy of the notebook was made today: {error}")
    return remarks


def copy_before_upgrade(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Copy a notebook of an earlier version; raises InputError if it cannot be."""
    mark = mark_of(connection)
    if mark is None:
        return
    now = datetime.now()
    name = f"{path.stem}-{mark}-{now:%Y-%m-%d}-version-{version}-{now:%H%M%S}.sqlite3"
    first, *others = folders_of(path)
    copy_through(connection, first / name, path)
    for where in others:
        with suppress(InputError):  # the one beside it is there
            if where.is_dir():
                _copy_file(first / name, where / name)


def export_place(notebook: Notebook) -> Path | None:
    """Return the folder for plain files of today, ``None`` where they are written or nothing is there.

    Those of the last days stay, and older ones are removed.
    """
    with notebook.reading() as db:
        mark = mark_of(db)
    if mark is None:
        return None
    where = folders_of(notebook.path)[0]
    stem = f"{notebook.path.stem}-{mark}-export-"
    place = where / f"{stem}{Date.today().isoformat()}"
    if place.exists():
        return None
    old = sorted(folder for folder in _listed(where) if folder.name.startswith(stem))
    for folder in old[: max(len(old) - _EXPORTS + 1, 0)]:
        shutil.rmtree(folder, ignore_errors=True)
    with _disk_in_words(where):
        where.mkdir(parents=True, exist_ok=True)
    return place


# Folders and names ----------------------------------------------------------------------------------


def folders_of(path: Path) -> tuple[Path, ...]:
    """Return the folder beside a notebook, and the second one if it is named."""
    second = second_folder(path)
    own = path.with_name(f"{path.name}-copies")
    return (own,) if second is None else (own, second)


def _note_of_second(path: Path) -> Path:
    return path.with_name(f"{path.name}-second-folder.txt")


def _listed(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


def _backup_of(file: Path) -> Backup | None:
    found = _NAME.fullmatch(file.name)
    if found is None:
        return None
    try:
        day = Date.fromisoformat(found["day"])
    except ValueError:
        return None
    return Backup(file, day, found["time"] or "", found["why"] or "", found["mark"])


def mark_of(connection: sqlite3.Connection) -> str | None:
    """Return a hash of the first record, which tells notebooks apart; ``None`` where there is none."""
    for words in (
        "SELECT kept, seal FROM version ORDER BY id LIMIT 1",
        "SELECT key, supplier, date FROM lot ORDER BY id LIMIT 1",
    ):
        with suppress(sqlite3.OperationalError):  # a new file without tables
            row = connection.execute(words).fetchone()
            if row is not None:
                return hashlib.sha256(repr(row).encode("utf-8")).hexdigest()[:6]
    return None


def _week(day: Date) -> tuple[int, int]:
    year, week, _ = day.isocalendar()
    return year, week


def _month(day: Date) -> tuple[int, int]:
    return day.year, day.month


def _thin_out(folder: Path, stem: str, mark: str, today: Date) -> None:
    """Remove the copies of days that need not stay."""
    own = [
        backup
        for backup in map(_backup_of, _listed(folder))
        if backup is not None
        and not backup.why
        and backup.path.name == f"{stem}-{mark}-{backup.day.isoformat()}.sqlite3"
    ]
    kept = kept_days((backup.day for backup in own), today)
    for backup in own:
        if backup.day not in kept:
            with suppress(OSError):
                backup.path.unlink()


# Making and choosing copies -------------------------------------------------------------------------


def copy_through(connection: sqlite3.Connection, to: Path, path: Path) -> None:
    """Copy through SQLite, look whether the copy is sound, and only then give it its name."""
    part = to.with_name(f"{to.name}.part-{uuid4().hex}")
    is_new = not to.parent.exists()
    with in_words(to):
        try:
            to.parent.mkdir(parents=True, exist_ok=True)
            with closing(sqlite3.connect(part, isolation_level=None)) as copy:
                connection.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")  # one file, with no log beside it
                require_sound(copy, path)
            part.replace(to)
        finally:
            for file in _listed(to.parent):
                if file.name.startswith(part.name):
                    file.unlink(missing_ok=True)
            if is_new:  # and nothing came into it
                with suppress(OSError):
                    to.parent.rmdir()


def _copy_file(file: Path, to: Path) -> None:
    """Copy a file that nobody changes, compare it, and give it its name."""
    part = to.with_name(f"{to.name}.part-{uuid4().hex}")
    with _disk_in_words(to):
        try:
            shutil.copyfile(file, part)
            if not filecmp.cmp(file, part, shallow=False):
                problem = "was not written as it is: the disk or the stick fails"
                raise InputError(str(to), problem, "Use another one.")
            part.replace(to)
        finally:
            part.unlink(missing_ok=True)


@contextmanager
def _disk_in_words(where: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        problem = f"cannot be written ({error.strerror})"
        raise InputError(str(where), problem, "Make room, or name another folder.") from None
