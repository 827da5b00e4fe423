"""Commands of lots in the notebook: note a delivery, and list what is left and what to use first."""

from __future__ import annotations

import argparse
from datetime import date

from formulate.cli.command import DONE, Command, Parser
from formulate.cli.inputs import add_notebook, notebook_of
from formulate.cli.outputs import print_out

__all__ = ["COMMANDS"]


def _lots_takes(parser: Parser) -> None:
    parser.add_argument("key", nargs="?", help="of one ingredient")
    parser.add_argument("--on", help="day, like 2026-11-25 (default: today)")
    add_notebook(parser)


def _lot_takes(parser: Parser) -> None:
    parser.add_argument("key")
    parser.add_argument("--name", default="", help="what the kitchen calls it, like crate 7")
    parser.add_argument("--supplier", default="")
    parser.add_argument("--date", help="day on which it came in, like 2026-11-25")
    parser.add_argument("--use-by", help="last day on which it may be used")
    parser.add_argument("--grams", type=float, help="what came in, as bought")
    parser.add_argument("--scale", default="brix")
    parser.add_argument("--acidity-as", default="citric_acid")
    for name in ("reading", "temperature-c", "ph", "acidity", "price-per-kg"):
        parser.add_argument(f"--{name}", type=float)
    parser.add_argument("--yes", action="store_true", help="the days are right, be they unlikely")
    add_notebook(parser)


def _lots(options: argparse.Namespace) -> int:
    from formulate.notebook import day, stock
    from formulate.report import lots_data, lots_text

    on = date.today() if options.on is None else day(options.on, "--on")
    with notebook_of(options) as notebook:
        found = stock(notebook, options.key)
    print_out({"lots": lots_data(found)} if options.json else lots_text(found, on))
    return DONE


def _lot(options: argparse.Namespace) -> int:
    from formulate.ingredients import Lot, lot_from_data
    from formulate.notebook import delivered
    from formulate.report import lots_data, lots_text

    given = {name: getattr(options, name) for name in Lot.__dataclass_fields__}
    lot = lot_from_data(given)
    with notebook_of(options, create=True) as notebook:
        found = [delivered(notebook, lot, sure=options.yes)]
    print_out(lots_data(found)[0] if options.json else lots_text(found, date.today()))
    return DONE


COMMANDS = (
    Command("lots", "list lots and what is left, what to use first at the top", _lots, _lots_takes),
    Command("lot", "note a delivery and what it reads", _lot, _lot_takes),
)
