"""Files read to their end or refused, and written whole or not at all."""

from __future__ import annotations

import re
from pathlib import Path

from formulate.data import write_whole
from formulate.errors import InputError

__all__ = ["file_bytes", "make_way", "write_file"]

#: How whatever this program writes to be kept names it: in a line, in JSON, at the head of a ledger.
_OWN = re.compile(
    rb'formulate [^\s<>"()]{1,40}(?: | \xc2\xb7 )(?:data|table) [0-9a-f]{12}'
    rb'|"formulate": "[^"]{1,40}",\s+"(?:data|table)": "[0-9a-f]{12}"'
    rb"|,formulate,(?:data|table,model)\s"
)
_NOTEBOOK = b"SQLite format 3\0"
_RECIPE = re.compile(
    rb"^\s*\[\[\s*(?:mix\.)?ingredient\s*\]\]|^\s*ingredient\s*=\s*\[", re.MULTILINE
)
_READ_BYTES = 16_000_000


def file_bytes(where: str | Path, folder: str | Path = ".") -> tuple[bytes, str] | None:
    """Return the bytes of a file and its name, ``None`` if there is no such file.

    Parameters
    ----------
    where:
        Its path.
    folder:
        Where a relative path begins.

    Returns
    -------
    tuple of bytes and str, or None
        At most one byte more than a file may have, which its reader refuses.

    Raises
    ------
    InputError
        If the file is there and cannot be read, or the path can be none.

    Examples
    --------
    >>> file_bytes("no_such_file.toml") is None
    True
    """
    from formulate.recipes import LARGEST_FILE

    path = Path(folder) / where
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1), path.name
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        problem = f"cannot be read ({error.strerror})"
        raise InputError(str(where), problem, "Give a file that can be read.") from None
    except ValueError:
        raise InputError(repr(str(where)), "is not a file name", "Give a file.") from None


def make_way(where: str | Path, place: str, force: bool) -> Path:
    """Return the path of a file to write, where nothing stands that is not to be written over.

    Parameters
    ----------
    where:
        The file.
    place:
        What asked for it, for messages.
    force:
        Whether what this program did not write may be written over.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If it is a notebook or a recipe, or something that this program did not write and no ``force``
        is given.

    Examples
    --------
    >>> make_way("sheet.html", "-o", force=False).name
    'sheet.html'
    """
    path = Path(where)
    try:
        if not path.is_file():
            return path
        with path.open("rb") as file:
            found = file.read(_READ_BYTES)
    except (OSError, ValueError) as error:  # a name with NUL is a ValueError
        raise _cannot_be_written(where, place, error) from None
    for what, is_one in (
        ("a notebook", found.startswith(_NOTEBOOK)),
        ("a recipe", path.suffix == ".toml" or _RECIPE.search(found) is not None),
    ):
        if is_one:
            problem = f"{str(where)!r} is there already and is {what}, which is never written over"
            raise InputError(place, problem, "Name another file.")
    if found and not force and not _OWN.search(found):
        problem = f"{str(where)!r} is there already, and this program has not written it"
        raise InputError(place, problem, "Name another file, or have it written over by force.")
    return path


def write_file(where: str | Path, data: bytes, place: str, force: bool = False) -> Path:
    """Write a file, whole or not at all, where nothing stands that is not to be written over.

    Parameters
    ----------
    where:
        The file.
    data:
        All that it is to hold.
    place:
        What asked for it, for messages.
    force:
        Whether what this program did not write may be written over; a notebook or recipe never.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If it cannot be written, or something is there: see :func:`make_way`.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_file(f"{folder}/note.txt", b"fold in the thyme", "note").read_text()
    'fold in the thyme'
    """
    path = make_way(where, place, force)
    try:
        write_whole(path, data)
    except (OSError, ValueError) as error:
        raise _cannot_be_written(where, place, error) from None
    return path


def _cannot_be_written(where: str | Path, place: str, error: Exception) -> InputError:
    reason = error.strerror if isinstance(error, OSError) else error
    return InputError(place, f"{str(where)!r} cannot be written ({reason})", "Name another place.")
