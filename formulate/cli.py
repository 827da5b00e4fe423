"""The command ``formulate``.  Holds no logic that the package lacks.

Exit codes: 0 done, 1 a fault, 2 bad input or usage, 3 no mix can do it.  Results go to stdout,
messages to stderr.  What a command does not need is not imported: starting is most of its time.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.errors import FormulateError, InputError

if TYPE_CHECKING:
    from formulate.recipe import Recipe

__all__ = ["entry", "main"]

_DONE, _FAULT, _BAD_INPUT, _IMPOSSIBLE = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
        sys.stdout.flush()
    except InputError as error:
        print(f"formulate: {error}", file=sys.stderr)
        return _BAD_INPUT
    except FormulateError as error:
        print(f"formulate: {error}", file=sys.stderr)
        return _FAULT
    except BrokenPipeError:  # the reader of a pipe has left; nothing more can be said to it
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _FAULT
    return code


def entry() -> None:
    """Run the command of the shell."""
    sys.exit(main())


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="formulate",
        description="Balance frozen dessert mixes: weights, freezing curve, serving temperature.",
        epilog="Example: formulate balance damson_sorbet",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name, run, words in (
        ("balance", _balance, "find the weights that meet every target"),
        ("check", _check, "judge the present weights, without solving"),
        (
            "curve",
            _curve,
            "show the freezing curve of the present weights, or of the balanced mix if there are none",
        ),
    ):
        command = commands.add_parser(name, help=words, description=words.capitalize() + ".")
        command.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
        _finish(command, run)
    command = commands.add_parser("ingredients", help="search the ingredient table")
    command.add_argument("word", nargs="?", default="", help="part of a key, name or kind")
    _finish(command, _ingredients)
    command = commands.add_parser("serve", help="open the page in a browser")
    command.add_argument("--port", type=int, default=8501, help="port, 1024 to 65535")
    command.add_argument(
        "--address", default="127.0.0.1", help="address to listen on (default: this machine only)"
    )
    _finish(command, _serve)
    return parser


def _finish(command: argparse.ArgumentParser, run: Any) -> None:
    command.add_argument("--json", action="store_true", help="plain data instead of text")
    command.set_defaults(run=run)


def _balance(options: argparse.Namespace) -> int:
    from formulate.balance import balance
    from formulate.report import as_data, as_text

    result = balance(_recipe(options.recipe))
    _print(as_data(result) if options.json else as_text(result))
    return _IMPOSSIBLE if result.status == "impossible" else _DONE


def _check(options: argparse.Namespace) -> int:
    from formulate.balance import check
    from formulate.report import as_data, as_text

    result = check(_recipe(options.recipe))
    _print(as_data(result) if options.json else as_text(result))
    return _DONE


def _curve(options: argparse.Namespace) -> int:
    from formulate.balance import balance, check
    from formulate.report import as_data, curve_text

    recipe = _recipe(options.recipe)
    has_weights = any(entry.grams is not None for entry in recipe.ingredients)
    result = check(recipe) if has_weights else balance(recipe)
    if not options.json:
        _print(curve_text(result))
        return _DONE
    data = as_data(result)
    wanted = (
        "name",
        "initial_freezing_point_c",
        "frozen_water",
        "serving_temperature_c",
        "messages",
    )
    _print({key: data[key] for key in wanted})
    return _DONE


def _ingredients(options: argparse.Namespace) -> int:
    from formulate.catalogue import as_data, as_text, search

    found = search(options.word)
    if not found:
        raise InputError(
            f"ingredients {options.word}",
            "nothing in the table has this word",
            "Try a shorter word.",
        )
    _print(as_data(found) if options.json else as_text(found))
    return _DONE


def _serve(options: argparse.Namespace) -> int:
    from formulate.tables import page_folder

    if not 1024 <= options.port <= 65535:
        raise InputError("--port", f"is {options.port}, and must be 1024 to 65535", "Try 8501.")
    page = str(page_folder() / "app.py")
    command = [sys.executable, "-P", "-m", "streamlit", "run", page]
    command += [f"--server.port={options.port}", f"--server.address={options.address}"]
    command += ["--browser.gatherUsageStats=false", f"--browser.serverAddress={options.address}"]
    if options.json:
        _print({"address": f"http://{options.address}:{options.port}"})
    sys.stdout.flush()
    os.execv(sys.executable, command)


def _recipe(where: str) -> Recipe:
    """Read a recipe from stdin, a file, or the examples, in that order of preference."""
    from formulate.examples import example_bytes, example_names
    from formulate.recipe import LARGEST_FILE, parse

    if where == "-":
        return parse(sys.stdin.buffer.read(LARGEST_FILE + 1), "stdin")
    path = Path(where)
    try:
        with path.open("rb") as file:
            return parse(file.read(LARGEST_FILE + 1), path.name)
    except FileNotFoundError:
        if where in example_names():
            return parse(example_bytes(where), where)
        names = ", ".join(example_names())
        raise InputError(
            where, "there is no such file or example", f"The examples are: {names}."
        ) from None
    except OSError as error:
        raise InputError(
            where, f"cannot be read ({error.strerror})", "Give a recipe file."
        ) from None
    except ValueError:
        raise InputError(repr(where), "is not a file name", "Give a recipe file.") from None


def _print(what: Any) -> None:
    if not isinstance(what, str):
        what = json.dumps(what, ensure_ascii=False, indent=2, allow_nan=False)
    print(what)
