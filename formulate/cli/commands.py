"""The command ``formulate``.  Holds no logic that the package lacks.

Exit codes: 0 done, 1 a fault, 2 bad input or usage, 3 no mix can do it.  Results go to stdout,
messages to stderr.  What a command does not need is not imported: starting is most of its time.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from formulate.cli import kitchen as cli_kitchen
from formulate.cli import notebook as cli_notebook
from formulate.cli import questions as cli_argue
from formulate.cli import sweeps as cli_explore
from formulate.cli import week as cli_week
from formulate.cli.inputs import print_out, recipe_from, write_whole
from formulate.cli.late_parser import LateParser
from formulate.cli.temperatures import celsius
from formulate.errors import FormulateError, InputError

if TYPE_CHECKING:
    from formulate.answers import Result
    from formulate.recipes import Recipe
    from formulate.timing import Timing

__all__ = ["build_parser", "entry", "main"]

_DRAW_C, _FRIDGE_C = -6.0, 4.0  # as it leaves the churn and enters it; common practice, no source

_LOOPBACK = "127.0.0.1"
_ALONE = (
    "These pages are for this machine alone. To share them with tablets in the kitchen, give "
    "--address with this machine's own address on the kitchen's network."
)
_SHARED = (
    "These pages ask for no password: whoever reaches the address can read and write the notebook. "
    "Share them only on a network of your own, behind its router, never on the open internet."
)
_GARBAGE = 100_000  # objects to make before looking for garbage: most commands end before

_DONE, _FAULT, _BAD_INPUT, _IMPOSSIBLE = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = build_parser().parse_args(arguments)
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
    """Run the command of the shell, with nothing on stdout but results.

    The solver's library prints a line of its own now and then; what does not come from Python goes to
    stderr.  When all is written the process ends at once: taking down Python and numpy piece by piece is
    a tenth of a command's time.
    """
    gc.set_threshold(_GARBAGE)
    results = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = os.fdopen(results, "w", encoding=sys.stdout.encoding, errors="backslashreplace")
    code = main()
    for stream in (sys.stdout, sys.stderr):
        with suppress(BrokenPipeError):
            stream.flush()
    os._exit(code)


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of every command."""
    parser = argparse.ArgumentParser(
        prog="formulate",
        description="Balance frozen dessert mixes: weights, freezing curve, serving temperature.",
        epilog="Example: formulate balance damson_sorbet",
    )
    commands: Any = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=LateParser)
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
        if name != "curve":
            cli_notebook.add_learned(command)
        if name == "balance":
            command.add_argument(
                "--confidence",
                type=float,
                help="probability with which each target must hold though lots vary, like 0.9",
            )
            command.add_argument(
                "--export", metavar="FILE", help="write the programme: .lp or .json"
            )
        _finish(command, run)
    command = commands.add_parser("ingredients", help="search the ingredient table")
    command.add_argument("word", nargs="?", default="", help="part of a key, name or kind")
    _finish(command, _ingredients)
    cli_argue.add_commands(commands, _finish)
    cli_kitchen.add_commands(commands, _finish)
    cli_week.add_commands(commands, _finish)
    cli_notebook.add_commands(commands, _finish)
    cli_explore.add_commands(commands, _finish)
    _time_commands(commands)
    command = commands.add_parser(
        "evidence", help="published figures beside what this model predicts, misses included"
    )
    _finish(command, _evidence)
    command = commands.add_parser(
        "verify",
        help="are tables, model and arithmetic here as they were tested?",
    )
    _finish(command, _verify)
    command = commands.add_parser("serve", help="open the page in a browser")
    command.add_argument("--port", type=int, default=8501, help="port, 1024 to 65535")
    command.add_argument(
        "--address", default=_LOOPBACK, help="address to listen on (default: this machine only)"
    )
    cli_notebook.add_notebook(command)
    _finish(command, _serve)
    return parser


def _time_commands(commands: Any) -> None:
    """Add harden and temper, which share how a container is described."""
    for name, run, words in (
        ("harden", _harden, "how long a container takes to harden in the freezer"),
        (
            "temper",
            _temper,
            "how long it takes from the freezer to serving temperature, and a scoop holds",
        ),
    ):
        command = commands.add_parser(name, help=words, description=words.capitalize() + ".")
        command.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
        command.add_argument(
            "--shape", default="round", help="round, block or ball (default round)"
        )
        command.add_argument(
            "--size", default="120x80", help="inner size in mm: diameter x height (default 120x80)"
        )
        command.add_argument(
            "--wall", default="plastic", help="none, steel, plastic, silicone or card"
        )
        command.add_argument("--from", dest="start", help="temperature at the start: -5C or 23F")
        command.add_argument(
            "--to", help="temperature to reach, with its unit (default: the recipe's serving one)"
        )
        command.add_argument("--minutes", type=float, help="a time to judge: is it enough?")
        if name == "harden":
            command.add_argument(
                "--freezer",
                help="temperature of the freezer, with its unit (default: the recipe's)",
            )
            command.add_argument("--air", default="still", help="still, fan or blast")
        else:
            command.add_argument("--in", default="fridge", dest="place", help="fridge or bench")
            command.add_argument("--scoop", type=float, default=60.0, help="weight of a scoop, g")
        _finish(command, run)


def _finish(command: LateParser, run: Any) -> None:
    command.add_argument("--json", action="store_true", help="plain data instead of text")
    command.set_defaults(run=run)


def _balance(options: argparse.Namespace) -> int:
    from formulate.answers import balance, balance_safely
    from formulate.report import mix_data, mix_text

    recipe, said = cli_notebook.learned_recipe(options)
    if options.export is not None:
        _export(recipe, options.export)
    confidence = options.confidence
    result = balance(recipe) if confidence is None else balance_safely(recipe, confidence)
    result = replace(result, messages=(*said, *result.messages))
    print_out(mix_data(result) if options.json else mix_text(result))
    return _IMPOSSIBLE if result.status == "impossible" else _DONE


def _export(recipe: Recipe, where: str) -> None:
    """Write the programme of a recipe to a file."""
    from formulate.answers import as_lp, programme_data

    if where.endswith(".lp"):
        text = as_lp(recipe)
    elif where.endswith(".json"):
        import json

        text = json.dumps(programme_data(recipe), indent=1, allow_nan=False)
    else:
        raise InputError("--export", f'"{where}" is neither .lp nor .json', "Name it mix.lp.")
    write_whole(where, text.encode("utf-8"), "--export")


def _check(options: argparse.Namespace) -> int:
    from formulate.answers import check
    from formulate.report import mix_data, mix_text

    recipe, said = cli_notebook.learned_recipe(options)
    result = check(recipe)
    result = replace(result, messages=(*said, *result.messages))
    print_out(mix_data(result) if options.json else mix_text(result))
    return _DONE


def _curve(options: argparse.Namespace) -> int:
    from formulate.report import curve_text, mix_data

    result = _shown(options)
    if not options.json:
        print_out(curve_text(result))
        return _DONE
    data = mix_data(result)
    wanted = (
        "name",
        "initial_freezing_point_c",
        "frozen_water",
        "serving_temperature_c",
        "cold",
        "messages",
        "versions",
    )
    print_out({key: data[key] for key in wanted})
    return _DONE


def _harden(options: argparse.Namespace) -> int:
    from formulate.timing import churn_energy, harden, vessel

    shown = _shown(options)
    mix = shown.mix
    serving = mix.serving
    start = _given(options.start, "--from", _DRAW_C)
    timing = harden(
        mix.composition,
        vessel(options.shape, options.size, options.wall),
        serving.overrun_percent,
        start,
        _given(options.to, "--to", serving.temperature_c),
        _given(options.freezer, "--freezer", serving.freezer_c),
        options.air,
        minutes=options.minutes,
    )
    churn = churn_energy(mix.composition, _FRIDGE_C, start) if start < _FRIDGE_C else None
    return _print_times(shown, {"harden": (timing, "Hardening")}, options, churn)


def _temper(options: argparse.Namespace) -> int:
    from formulate.timing import scoop_holds, temper, vessel

    shown = _shown(options)
    mix = shown.mix
    serving = mix.serving
    served = _given(options.to, "--to", serving.temperature_c)
    timing = temper(
        mix.composition,
        vessel(options.shape, options.size, options.wall),
        serving.overrun_percent,
        _given(options.start, "--from", serving.freezer_c),
        served,
        options.place,
        minutes=options.minutes,
    )
    scoop = scoop_holds(mix.composition, options.scoop, serving.overrun_percent, served)
    return _print_times(
        shown,
        {
            "temper": (timing, f"Tempering ({options.place})"),
            "scoop": (
                scoop,
                f"A scoop of {options.scoop:g} g in the room: melting a tenth of its ice,",
            ),
        },
        options,
    )


def _given(text: str | None, option: str, usual_c: float) -> float:
    """A temperature of the command line [°C], or the usual one."""
    return usual_c if text is None else celsius(text, option)


def _shown(options: argparse.Namespace) -> Result:
    """The present weights as they are, or the balanced mix where the recipe gives none."""
    from formulate.answers import balance, check

    recipe = recipe_from(options.recipe)
    has_weights = any(entry.grams is not None for entry in recipe.ingredients)
    return check(recipe) if has_weights else balance(recipe)


def _print_times(
    shown: Result,
    timings: dict[str, tuple[Timing, str]],
    options: argparse.Namespace,
    churn: float | None = None,
) -> int:
    from formulate.report import TIME_CAUTIONS, timing_data, timing_sentences

    if options.json:
        data: dict[str, Any] = {name: timing_data(timing) for name, (timing, _) in timings.items()}
        energy = {} if churn is None else {"churn_kj_per_kg": churn}
        print_out({"name": shown.name, **energy, **data, "cautions": list(TIME_CAUTIONS)})
        return _DONE
    weights = "balanced weights" if shown.present is None else "present weights"
    print_out(f"{shown.name}: {weights}\n")
    if churn is not None:
        start = _DRAW_C if options.start is None else options.start
        print_out(
            f"Churning from {_FRIDGE_C:g} to {start:g} °C takes {churn:.0f} kJ out of each kg."
        )
    for name, (timing, doing) in timings.items():
        asked = options.minutes if name != "scoop" else None
        print_out("\n".join(timing_sentences(timing, doing, asked)))
    print_out("\n" + "\n".join(TIME_CAUTIONS))
    return _DONE


def _ingredients(options: argparse.Namespace) -> int:
    from formulate.report import ingredients_data, ingredients_text, search

    found = search(options.word)
    if not found:
        raise InputError(
            f"ingredients {options.word}",
            "nothing in the table has this word",
            "Try a shorter word.",
        )
    print_out(ingredients_data(found) if options.json else ingredients_text(found))
    return _DONE


def _evidence(options: argparse.Namespace) -> int:
    from formulate.report import evidence_data, evidence_text

    print_out({"checks": evidence_data()} if options.json else evidence_text())
    return _DONE


def _verify(options: argparse.Namespace) -> int:
    from formulate.report import verification, verification_data, verification_text

    found = verification()
    print_out(verification_data(found) if options.json else verification_text(found))
    return _DONE if found.as_recorded else _FAULT


def _serve(options: argparse.Namespace) -> int:
    from formulate.data import page_folder
    from formulate.notebook import PATH_VARIABLE

    if not 1024 <= options.port <= 65535:
        raise InputError("--port", f"is {options.port}, and must be 1024 to 65535", "Try 8501.")
    page = str(page_folder() / "app.py")
    command = [sys.executable, "-P", "-m", "streamlit", "run", page]
    command += [f"--server.port={options.port}", f"--server.address={options.address}"]
    command += ["--browser.gatherUsageStats=false", f"--browser.serverAddress={options.address}"]
    if options.notebook is not None:
        os.environ[PATH_VARIABLE] = str(options.notebook.resolve())
    if options.json:
        print_out({"address": f"http://{options.address}:{options.port}"})
    print(_SHARED if options.address != _LOOPBACK else _ALONE, file=sys.stderr, flush=True)
    sys.stdout.flush()
    os.execv(sys.executable, command)
