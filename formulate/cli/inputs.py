"""What commands read: a recipe or menu from a file, stdin or an example; the notebook."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
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
    from formulate.face import file_bytes as bytes_of
    from formulate.recipes import LARGEST_FILE

    if where == "-":
        if sys.stdin is None:
            raise InputError("stdin", "is closed", f"Give a {kind} file.")
        return sys.stdin.buffer.read(LARGEST_FILE + 1), "stdin"
    found = bytes_of(where)
    if found is not None:
        return found
    known = menu_names() if kind == "menu" else example_names()
    if where in known:
        return (menu_bytes if kind == "menu" else example_bytes)(where), where
    remedy = f"The examples are: {', '.join(known)}."
    raise InputError(where, "there is no such file or example", remedy)


def add_notebook(parser: Parser) -> None:
    """Add the option that names the notebook's file."""
    parser.add_argument(
        "--notebook", type=Path, metavar="PATH", help="the notebook's file (default: your own)"
    )


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
