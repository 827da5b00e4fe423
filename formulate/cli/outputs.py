"""What commands print and write: text or plain data; files that are nobody else's."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.errors import FormulateError, InputError

if TYPE_CHECKING:
    from formulate.cli.command import Parser

__all__ = [
    "STDOUT",
    "OutputFault",
    "add_force",
    "add_output",
    "form_of",
    "make_way",
    "print_out",
    "write_out",
]

#: The name that stands for the standard output.
STDOUT = "-"

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


class OutputFault(FormulateError):
    """The standard output takes nothing more."""


def print_out(what: str | Mapping[str, Any] | Sequence[Any]) -> None:
    """Print text as it is, and anything else as JSON; an object says what the answer rests on.

    Raises
    ------
    OutputFault
        If it cannot be written.
    """
    if not isinstance(what, str):
        import json  # text needs none

        from formulate.data import versions

        if isinstance(what, Mapping) and "versions" not in what:
            what = {**what, "versions": versions()}
        what = json.dumps(what, ensure_ascii=False, indent=2, allow_nan=False)
    try:
        print(what, flush=True)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise OutputFault(f"The results cannot be written ({error.strerror}).") from None


def add_output(parser: Parser, words: str, required: bool = False) -> None:
    """Add where a command writes to, and leave to write over what is there."""
    parser.add_argument("-o", "--output", metavar="FILE", required=required, help=words)
    add_force(parser)


def add_force(parser: Parser) -> None:
    """Add leave to write over a file that is there; never over a recipe or notebook."""
    parser.add_argument(
        "--force", action="store_true", help="write over a file that this program has not written"
    )


def form_of(where: str, forms: Sequence[str], option: str, name: str) -> str:
    """Return how a name ends, one of ``forms``; the first of them for the standard output.

    Raises
    ------
    InputError
        If it ends otherwise; ``name`` is one that would do.
    """
    if where == STDOUT:
        return forms[0]
    for form in forms:
        if where.endswith(form):
            return form
    allowed = f"neither {' nor '.join(forms)}" if len(forms) > 1 else f"not {forms[0]}"
    raise InputError(option, f'"{where}" is {allowed}', f"Name it {name}.")


def make_way(where: str, option: str, force: bool) -> Path:
    """Return the path of a file to write, where nothing stands that is not to be written over.

    Raises
    ------
    InputError
        If it is a notebook or a recipe, or something that this program did not write and no ``force``
        is given.
    """
    path = Path(where)
    try:
        if not path.is_file():
            return path
        with path.open("rb") as file:
            found = file.read(_READ_BYTES)
    except (OSError, ValueError) as error:  # a name with NUL is a ValueError
        raise _cannot_be_written(where, option, error) from None
    for what, is_one in (
        ("a notebook", found.startswith(_NOTEBOOK)),
        ("a recipe", path.suffix == ".toml" or _RECIPE.search(found) is not None),
    ):
        if is_one:
            problem = f"{where!r} is there already and is {what}, which is never written over"
            raise InputError(option, problem, "Name another file.")
    if found and not force and not _OWN.search(found):
        problem = f"{where!r} is there already, and this program has not written it"
        raise InputError(option, problem, "Name another file, or give --force to write over it.")
    return path


def write_out(where: str, what: str | bytes, option: str, force: bool = False) -> None:
    """Write a file, whole or not at all, or text to the standard output (``-``).

    Raises
    ------
    InputError
        If it cannot be written, or something is there: see :func:`make_way`.
    """
    from formulate.data import write_whole

    if where == STDOUT and isinstance(what, str):
        print_out(what.removesuffix("\n"))
        return
    path = make_way(where, option, force)
    try:
        write_whole(path, what.encode("utf-8") if isinstance(what, str) else what)
    except (OSError, ValueError) as error:
        raise _cannot_be_written(where, option, error) from None


def _cannot_be_written(where: str, option: str, error: Exception) -> InputError:
    reason = error.strerror if isinstance(error, OSError) else error
    return InputError(option, f"{where!r} cannot be written ({reason})", "Name another place.")
