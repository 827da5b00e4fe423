"""What commands read and print: a recipe from a file, stdin or an example; text or plain data."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.errors import InputError

if TYPE_CHECKING:
    import argparse

    from formulate.notebook import Notebook
    from formulate.recipes import Recipe

__all__ = ["file_bytes", "notebook_of", "print_out", "recipe_from", "write_whole"]


def recipe_from(where: str) -> Recipe:
    """Read a recipe from stdin (``-``), a file, or the examples, in that order of preference."""
    from formulate.recipes import parse

    return parse(*file_bytes(where))


def file_bytes(where: str, kind: str = "recipe") -> tuple[bytes, str]:
    """Return the bytes of stdin (``-``), a file or an example, and a name for messages.

    ``kind`` is ``recipe`` or ``menu``: which examples stand beside files.

    Raises
    ------
    InputError
        If there is no such file or it cannot be read.
    """
    from formulate.data import example_bytes, example_names, menu_bytes, menu_names
    from formulate.recipes import LARGEST_FILE

    known = menu_names() if kind == "menu" else example_names()
    read = menu_bytes if kind == "menu" else example_bytes
    if where == "-":
        return sys.stdin.buffer.read(LARGEST_FILE + 1), "stdin"
    path = Path(where)
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1), path.name
    except FileNotFoundError:
        if where in known:
            return read(where), where
        raise InputError(
            where, "there is no such file or example", f"The examples are: {', '.join(known)}."
        ) from None
    except OSError as error:
        raise InputError(
            where, f"cannot be read ({error.strerror})", f"Give a {kind} file."
        ) from None
    except ValueError:
        raise InputError(repr(where), "is not a file name", f"Give a {kind} file.") from None


@contextmanager
def notebook_of(options: argparse.Namespace, create: bool = False) -> Iterator[Notebook]:
    """Open the notebook that a command names, or the usual one; raises as opening it does.

    What is to be said of it, as that it can only be read, goes to stderr.
    """
    from formulate.notebook import open_notebook

    with open_notebook(options.notebook, create=create) as notebook:
        try:
            yield notebook
        finally:
            for remark in notebook.remarks:
                print(f"formulate: {remark}", file=sys.stderr)


def write_whole(where: str, data: bytes, option: str) -> None:
    """Write a file beside its place and move it there, so that nothing is half-written.

    A link is followed, and a pipe or device is written into, never replaced by a file.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    try:
        place = Path(where).resolve()
        if place.exists() and not place.is_file():
            place.write_bytes(data)
            return
        beside = place.with_name(f"{place.name}.part")
        beside.write_bytes(data)
        beside.replace(place)
    except (OSError, ValueError) as error:  # a name with NUL is a ValueError
        reason = error.strerror if isinstance(error, OSError) else error
        problem = f"{where!r} cannot be written ({reason})"
        raise InputError(option, problem, "Name another place.") from None


def print_out(what: str | Mapping[str, Any] | Sequence[Any]) -> None:
    """Print text as it is, and anything else as JSON; an object says what the answer rests on."""
    if not isinstance(what, str):
        import json  # text needs none

        from formulate.data import versions

        if isinstance(what, Mapping) and "versions" not in what:
            what = {**what, "versions": versions()}
        what = json.dumps(what, ensure_ascii=False, indent=2, allow_nan=False)
    print(what)
