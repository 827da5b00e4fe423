"""What commands read: a recipe or menu from a file, stdin or an example; the notebook."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from formulate.errors import InputError

if TYPE_CHECKING:
    import argparse

    from formulate.cli.command import Parser
    from formulate.notebook import Notebook
    from formulate.recipes import Recipe

__all__ = ["add_notebook", "file_bytes", "notebook_of", "recipe_from"]


def recipe_from(where: str) -> Recipe:
    """Read a recipe from stdin (``-``), or from where :func:`formulate.load` finds it."""
    from formulate.face import load
    from formulate.recipes import parse

    return parse(*file_bytes(where)) if where == "-" else load(where)


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
        if sys.stdin is None:
            raise InputError("stdin", "is closed", f"Give a {kind} file.")
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


def add_notebook(parser: Parser) -> None:
    """Add the option that names the notebook's file."""
    parser.add_argument(
        "--notebook", type=Path, metavar="PATH", help="the notebook's file (default: your own)"
    )


def notebook_of(options: argparse.Namespace, create: bool = False) -> Notebook:
    """Open the notebook that a command names, or the usual one; raises as opening it does."""
    from formulate.notebook import open_notebook

    return open_notebook(options.notebook, create=create)
