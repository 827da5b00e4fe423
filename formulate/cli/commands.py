"""The command ``formulate``.  Holds no logic that the package lacks.

Exit codes: 0 done, 1 a fault, 2 bad input or usage, 3 no mix can do it.  Results go to stdout,
messages to stderr.  What a command does not need is not imported: starting is most of its time.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

from formulate.cli import kitchen, mixes, notebook, program, questions, styles, sweeps, times, week
from formulate.cli.command import BAD_INPUT, DONE, FAULT, Parser, parser_of, require_known
from formulate.cli.outputs import print_out
from formulate.errors import FormulateError, InputError

__all__ = ["COMMANDS", "build_parser", "entry", "main"]

#: Every command, as help shows them.
COMMANDS = (
    *mixes.COMMANDS,
    *styles.COMMANDS,
    *questions.COMMANDS,
    *kitchen.COMMANDS,
    *times.COMMANDS,
    *week.COMMANDS,
    *notebook.COMMANDS,
    *sweeps.COMMANDS,
    *program.COMMANDS,
)

#: Where this is set a fault shows where it was.
_TRACEBACK = "FORMULATE_TRACEBACK"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    arguments:
        Its words; ``None``: those of the shell.

    Returns
    -------
    int
        0 done, 1 a fault, 2 bad input or usage, 3 no mix can do it.

    Examples
    --------
    >>> main(["heat", "--at", "80C", "--seconds", "25"])  # doctest: +ELLIPSIS
    US...
    0
    """
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        require_known(words, COMMANDS)
        options = build_parser(words).parse_args(words)
        code: int = options.run(options)
        return code
    except FormulateError as error:
        code = BAD_INPUT if isinstance(error, InputError) else FAULT
        _say(_error_data(error, code) if "--json" in words else f"formulate: {_plain(str(error))}")
        return code
    except BrokenPipeError:  # the reader of a pipe has left; nothing more can be said to it
        return FAULT
    except KeyboardInterrupt:
        _say("formulate: stopped.")
        return FAULT


def entry() -> None:
    """Run the command of the shell, with nothing on stdout but results.

    The solver's library prints a line of its own now and then; what does not come from Python goes to
    stderr.  Text is UTF-8 whatever the console says.  To be ended is to be stopped by hand: what was
    begun is put away.

    Raises
    ------
    SystemExit
        With the exit code of :func:`main`.

    Examples
    --------
    >>> entry()  # doctest: +SKIP
    """
    _open_streams()
    if "_ARGCOMPLETE" in os.environ:  # a shell asks what could come next
        import argcomplete

        argcomplete.autocomplete(build_parser())
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    results = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = os.fdopen(results, "w", encoding="utf-8", errors="backslashreplace")
    try:
        code = main()
    except Exception as error:
        if _TRACEBACK in os.environ:
            raise
        _say(
            f"formulate: a fault of this program ({type(error).__name__}: {_plain(str(error))}). "
            f"Please report it, with the command; with {_TRACEBACK}=1 it shows where."
        )
        code = FAULT
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:  # said already; Python must not try again when it ends
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
            code = code or FAULT
    sys.exit(code)


def build_parser(words: Sequence[str] = ()) -> Parser:
    """Return the parser of every command, or of the one that ``words`` begin with.

    Parameters
    ----------
    words:
        Those of a call, which may begin with a command.

    Returns
    -------
    Parser
        Whose ``parse_args`` gives what was said, and in ``run`` what does it.

    Examples
    --------
    >>> build_parser().parse_args(["check", "damson_sorbet"]).recipe
    'damson_sorbet'
    """
    parser = Parser(
        prog="formulate",
        description="Balance frozen dessert mixes: weights, freezing curve, serving temperature.",
        epilog="Example: formulate balance damson_sorbet",
    )
    parser.add_argument(
        "--version",
        action="store_true",
        dest="shows_version",
        help="version, and hash of all tables",
    )
    parser_of(parser, COMMANDS, words)
    parser.set_defaults(run=lambda options: _alone(options, parser))
    return parser


def _alone(options: argparse.Namespace, parser: Parser) -> int:
    """Answer a call without a command: the version, or help."""
    from formulate.data import made_with

    print_out(made_with() if options.shows_version else parser.format_help().rstrip("\n"))
    return DONE


def _open_streams() -> None:
    """Open what the shell has closed (``>&-``), so that no file is taken for it, and write UTF-8.

    Into a closed stdout nothing can be written, which then says so; a closed stderr swallows.
    """
    for number, mode in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            opened = os.open(os.devnull, mode)
            if opened != number:
                os.dup2(opened, number)
                os.close(opened)
    if sys.stderr is None:
        sys.stderr = os.fdopen(2, "w", closefd=False)
    sys.stderr.reconfigure(encoding="utf-8", errors="backslashreplace")  # type: ignore[union-attr]


def _say(what: str | dict[str, Any]) -> None:
    """Write a message to stderr, if it still takes one."""
    if not isinstance(what, str):
        import json

        what = json.dumps(what, ensure_ascii=False, indent=2, default=str)
    with suppress(OSError):
        print(what, file=sys.stderr, flush=True)


def _error_data(error: FormulateError, code: int) -> dict[str, Any]:
    """What went wrong as plain data: its text, what it carries, and how the command ends."""
    from formulate.data import versions

    said = {"kind": type(error).__name__, "text": str(error), **vars(error)}
    data: dict[str, Any] = {"status": "error", "error": said, "exit_code": code}
    with suppress(FormulateError):  # tables that cannot be read have no hash
        data["versions"] = versions()
    return data


def _plain(text: str) -> str:
    """Text on one line, whatever a name in it holds."""
    return "".join(
        letter if letter.isprintable() else repr(letter)[1:-1] for letter in text.rstrip("\n")
    )
