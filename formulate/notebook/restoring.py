"""Bringing a copy back into the place of the notebook, of which nothing is lost by it."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from formulate.errors import InputError
from formulate.notebook.backups import (
    Backup,
    backups_of,
    copy_through,
    folders_of,
    mark_of,
    second_folder,
    set_second_folder,
)
from formulate.notebook.soundness import require_sound
from formulate.notebook.store import connect, in_words, place_of, readable, require_ours

__all__ = ["restore"]


def restore(source: Path | str, path: Path | None = None) -> Backup | None:
    """Put a copy in the place of a notebook; return the copy of what was there, if it was sound.

    A notebook that is damaged is moved aside, with ``damaged`` and the time in its name.

    Parameters
    ----------
    source:
        A file; a folder, of which the last copy is taken, and which is the second folder from now on if
        none is named; or a day, as ``"2026-11-25"``, of the copies in the notebook's folders.
    path:
        The notebook, by default :func:`default_path`.

    Returns
    -------
    Backup or None

    Raises
    ------
    InputError
        If there is no such copy, it is not sound, or the place cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import back_up, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     copies = back_up(notebook, Path(folder))
    ...     restore(copies[0], Path(folder, "other.sqlite3")) is None
    True
    """
    place = place_of(path, True)
    chosen = _chosen(source, place)
    with in_words(chosen), closing(readable(chosen)) as copy:
        require_ours(copy, chosen)
        require_sound(copy, chosen)
        if mark_of(copy) is None:
            raise InputError(str(chosen), "has nothing in it", "Choose another copy.")
        if place.exists() and place.samefile(chosen):
            raise InputError(str(chosen), "is the notebook itself", "Name a copy of it.")
        with in_words(place):
            before, aside = _put_aside(place)
            if aside:
                copy_through(copy, place, chosen)
            else:
                with closing(connect(place, "rw")) as target:
                    copy.backup(target)
    where = Path(source)
    if where.is_dir() and where.absolute() != folders_of(place)[0] and second_folder(place) is None:
        set_second_folder(where, place)
    return before


def _chosen(source: Path | str, place: Path) -> Path:
    """The file of a copy that was named by a file, a folder or a day."""
    where = Path(source)
    if "\0" in str(source):
        raise InputError(repr(str(source)), "is not a file name", "Name another.")
    if where.is_file():
        return where.absolute()
    if where.is_dir():
        known = _not_replaced(backups_of(folder=where))
        remedy = "Name another folder, or the file itself."
    else:
        known = _not_replaced(backups_of(place))
        known = tuple(each for each in known if each.day.isoformat() == str(source))
        remedy = "`formulate notebook restore` without a name lists what is there."
    if not known:
        raise InputError(str(source), "there is no copy of the notebook", remedy)
    if len({backup.mark for backup in known}) > 1:
        names = ", ".join(backup.path.name for backup in known[:6])
        remedy = f"Name the file itself: {names}."
        raise InputError(str(source), "has copies of more than one notebook", remedy)
    return known[0].path.absolute()


def _not_replaced(found: tuple[Backup, ...]) -> tuple[Backup, ...]:
    return tuple(each for each in found if each.why != "replaced")


def _put_aside(place: Path) -> tuple[Backup | None, bool]:
    """Copy what a restored notebook takes the place of, or move it aside; whether its place is free."""
    now = datetime.now()
    connection = None
    try:
        connection = connect(place, "rw")
        require_ours(connection, place)
        require_sound(connection, place)
        mark = mark_of(connection)
        if mark is None:
            return None, False
        name = f"{place.stem}-{mark}-{now:%Y-%m-%d}-replaced-{now:%H%M%S}.sqlite3"
        file = folders_of(place)[0] / name
        copy_through(connection, file, place)
        return Backup(file, now.date(), f"{now:%H%M%S}", "replaced", mark), False
    except InputError as error:
        if "another program" in error.problem or "newer" in error.remedy:
            raise
    except (sqlite3.Error, UnicodeDecodeError):
        pass
    finally:
        if connection is not None:
            connection.close()
    for ending in ("", "-wal", "-shm"):  # a log that was left would be taken into the copy
        part = place.with_name(f"{place.name}{ending}")
        with suppress(FileNotFoundError):
            part.rename(place.with_name(f"{place.name}-damaged-{now:%Y%m%d%H%M%S}{ending}"))
    return None, True
