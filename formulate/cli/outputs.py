"""What commands print and write: text or plain data; files that are nobody else's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
    "print_out",
    "write_out",
]

#: The name that stands for the standard output.
STDOUT = "-"


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


def write_out(where: str, what: str | bytes, option: str, force: bool = False) -> None:
    """Write a file, whole or not at all, or text to the standard output (``-``).

    Raises
    ------
    InputError
        As :func:`formulate.face.write_file` does.
    """
    from formulate.face import write_file

    if where == STDOUT and isinstance(what, str):
        print_out(what.removesuffix("\n"))
    else:
        write_file(where, what.encode("utf-8") if isinstance(what, str) else what, option, force)
