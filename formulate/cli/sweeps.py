"""The command ``formulate explore``: sweeps, and mixes drawn from all that can be."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.cli.command import DONE, FAULT, IMPOSSIBLE, Command, Parser
from formulate.cli.meant import add_asked_recipe, recipe_asked
from formulate.cli.outputs import STDOUT, add_output, print_out
from formulate.cli.questions import say_why_none
from formulate.errors import InputError

if TYPE_CHECKING:
    from formulate.recipes import Recipe
    from formulate.sweeps import Progress, Sweep, Tally

__all__ = ["COMMANDS"]

_TOLD_EVERY_S = 1.0
_EXAMPLES = """examples:
  formulate explore damson_sorbet --vary damson.brix=9:20:0.1 -o readings.csv
  formulate explore damson_sorbet --vary damson.brix=12+-0.8 --samples 10000 -o crates.parquet
  formulate explore damson_sorbet --vary target.sweetness.max=18:22:0.5 --leave-out water -o sets.csv
  formulate explore damson_sorbet --mixes 1000 --seed 1 -o mixes.csv"""


def _takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument(
        "--vary",
        nargs="+",
        action="extend",
        default=[],
        metavar="WHAT=VALUES",
        help="from:to:step, from:to (even odds) or mean+-deviation, of damson.brix, cream_35.price, "
        "target.sugars.max, serving.temperature_c, …",
    )
    parser.add_argument(
        "--leave-out",
        nargs="+",
        action="extend",
        default=[],
        metavar="KEY",
        help="ingredients to be there and not be there: every set of them",
    )
    parser.add_argument("--samples", type=int, help="how often what is random is drawn")
    parser.add_argument("--seed", type=int, default=0, help="where random numbers begin (0)")
    parser.add_argument(
        "--mixes",
        type=int,
        help="instead: so many mixes drawn evenly from all that meet the targets",
    )
    add_output(parser, "file to write: .parquet or .csv; - prints the rows", required=True)
    parser.add_argument("--workers", type=int, default=1, help="processes of this machine (1)")
    parser.add_argument(
        "--scheduler", metavar="ADDRESS", help="a Dask scheduler instead, like tcp://192.0.2.7:8786"
    )


def _explore(options: argparse.Namespace) -> int:
    recipe = recipe_asked(options)
    many = options.mixes is not None
    if many and (options.vary or options.leave_out or options.samples is not None):
        problem = "draws from one recipe, and goes with neither --vary, --leave-out nor --samples"
        raise InputError("--mixes", problem, "Give one or the other.")
    with _output(options) as output:
        return _mixes(recipe, output, options) if many else _sweep(recipe, output, options)


@contextmanager
def _output(options: argparse.Namespace) -> Iterator[Path]:
    """The file to write; for the standard output one in a folder that goes when its rows are printed."""
    import tempfile

    from formulate.face import make_way
    from formulate.sweeps import two_forms

    if options.output != STDOUT:
        output = Path(options.output)
        two_forms(output)
        if options.force:
            make_way(options.output, "-o", force=True)
        yield output
        return
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder) / "sweep.csv"


def _told(output: Path, options: argparse.Namespace, data: Any, text: str) -> None:
    """Print what has been written, or, where that is asked for, what would have been."""
    if options.output == STDOUT:
        print_out(output.read_text(encoding="utf-8-sig").removesuffix("\n"))
    else:
        print_out(data if options.json else text)


def _sweep(recipe: Recipe, output: Path, options: argparse.Namespace) -> int:
    from formulate.report import sweep_data, sweep_text
    from formulate.sweeps import axis_of, sweep_of

    axes = tuple(axis_of(words) for words in options.vary)
    sweep = sweep_of(recipe, axes, tuple(options.leave_out), options.samples, options.seed)
    if options.force:
        output.unlink(missing_ok=True)
    try:
        tally = _worked_on(sweep, output, options)
    except KeyboardInterrupt:
        print("Stopped. What is finished is kept; the same command goes on.", file=sys.stderr)
        return FAULT
    told = (sweep, tally, options.output)
    _told(output, options, sweep_data(*told), sweep_text(*told))
    return DONE if tally.balanced else IMPOSSIBLE


def _worked_on(sweep: Sweep, output: Path, options: argparse.Namespace) -> Tally:
    from formulate.sweeps import explore

    progress = _progress()
    if options.scheduler is None:
        return explore(sweep, output, workers=options.workers, progress=progress)
    if options.workers != 1:
        raise InputError("--workers", "cannot go with --scheduler", "Give one of the two.")
    from formulate.sweeps import cluster_of

    with cluster_of(options.scheduler) as (executor, tasks):
        print(f"The cluster takes {tasks} blocks at once.", file=sys.stderr)
        at_once = 2 * max(tasks, 1)
        return explore(sweep, output, executor=executor, at_once=at_once, progress=progress)


def _progress() -> Progress:
    """Tell stderr how far it is: once a second at most, and at the end."""
    from formulate.report import progress_text

    begun, first, told = 0.0, -1, 0.0

    def tell(done: int, total: int) -> None:
        nonlocal begun, first, told
        now = time.monotonic()
        if first < 0:
            begun, first, told = now, done, now
            if done:
                print(f"{done:,} of {total:,} rows are there already.", file=sys.stderr)
        elif now - told >= _TOLD_EVERY_S or done == total:
            told = now
            rate = (done - first) / max(now - begun, 1e-9)
            print(progress_text(done, total, rate), file=sys.stderr)

    return tell


def _mixes(recipe: Recipe, output: Path, options: argparse.Namespace) -> int:
    from uuid import uuid4

    from formulate.recipes import to_toml
    from formulate.report import drawn_about, drawn_columns, drawn_data, drawn_text
    from formulate.sweeps import draw_mixes, whole_table, write_table

    if output.exists() and not options.force:
        problem = f"{options.output} is there already"
        raise InputError("-o", problem, "Name another file, or give --force to write over it.")
    found = draw_mixes(recipe, options.mixes, options.seed)
    if found is None:
        return say_why_none(recipe, options)
    about = drawn_about(recipe.name, to_toml(recipe), found, options.seed)
    part = output.with_name(f"{uuid4().hex}.part")
    try:
        write_table(output, [whole_table(drawn_columns(found))], about, part)
    except OSError as error:
        problem = f"{output} cannot be written ({error.strerror})"
        raise InputError("-o", problem, "Name another place, or make room.") from None
    told = (recipe.name, found, options.output)
    _told(output, options, drawn_data(*told), drawn_text(*told))
    return DONE


COMMANDS = (
    Command(
        "explore",
        "one mix for each of many readings, prices, bounds or sets of ingredients, into a file",
        _explore,
        _takes,
        _EXAMPLES,
    ),
)
