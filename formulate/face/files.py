"""Files read to their end or refused, and written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from formulate.errors import InputError

__all__ = ["file_bytes", "write_whole"]


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


def write_whole(where: str | Path, data: bytes, place: str) -> None:
    """Write a file beside its place and move it there, so that nothing is half-written.

    A link is followed, and a pipe or device is written into, never replaced by a file.

    Parameters
    ----------
    where:
        The file.
    data:
        All that it is to hold.
    place:
        What asked for it, for messages.

    Raises
    ------
    InputError
        If it cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_whole(f"{folder}/note.txt", b"fold in the thyme", "note")
    ...     Path(folder, "note.txt").read_text()
    'fold in the thyme'
    """
    try:
        path = Path(where).resolve()
        if path.exists() and not path.is_file():
            path.write_bytes(data)
            return
        beside = path.with_name(f"{path.name}.part")
        beside.write_bytes(data)
        beside.replace(path)
    except (OSError, ValueError) as error:  # a name with NUL is a ValueError
        reason = error.strerror if isinstance(error, OSError) else error
        problem = f"{str(where)!r} cannot be written ({reason})"
        raise InputError(place, problem, "Name another place.") from None
