"""Files written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path
from uuid import uuid4

__all__ = ["write_whole"]


def write_whole(path: Path, data: bytes) -> None:
    """Write beside the place, see it onto the disk, and move it there.

    A link is followed, and a pipe or device is written into, never replaced by a file.  Two that write
    one file do not disturb each other: the last one's stays, whole.

    Parameters
    ----------
    path:
        Where to; the folder must be there.
    data:
        All of it.

    Raises
    ------
    OSError
        If it cannot be written; nothing is left of it then.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_whole(Path(folder, "note.txt"), b"fold in the thyme")
    ...     Path(folder, "note.txt").read_text()
    'fold in the thyme'
    """
    place = path.resolve()
    if place.exists() and not place.is_file():
        place.write_bytes(data)
        return
    part = place.with_name(f"{uuid4().hex}.part")
    try:
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, place)
    finally:
        part.unlink(missing_ok=True)
