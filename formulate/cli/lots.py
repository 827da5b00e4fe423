"""Commands of lots in the notebook: note a delivery, and list what is left and what to use first."""

from __future__ import annotations

import argparse
from datetime import date
from typing import Any

from formulate.cli.inputs import notebook_of, print_out

__all__ = ["add_commands"]

_DONE = 0


def add_commands(group: Any, add: Any) -> None:
    """Add the commands to those of the notebook; ``add`` gives each what all of them have."""
    command = add(group, "lots", "list lots and what is left, what to use first at the top", _lots)
    command.add_argument("key", nargs="?", help="of one ingredient")
    command.add_argument("--on", help="day, like 2026-11-25 (default: today)")
    command = add(group, "lot", "note a delivery and what it reads", _lot, "key")
    command.add_argument("--name", default="", help="what the kitchen calls it, like crate 7")
    command.add_argument("--supplier", default="")
    command.add_argument("--date", help="day on which it came in, like 2026-11-25")
    command.add_argument("--use-by", help="last day on which it may be used")
    command.add_argument("--grams", type=float, help="what came in, as bought")
    command.add_argument("--scale", default="brix")
    command.add_argument("--acidity-as", default="citric_acid")
    for name in ("reading", "temperature-c", "ph", "acidity", "price-per-kg"):
        command.add_argument(f"--{name}", type=float)
    command.add_argument("--yes", action="store_true", help="the days are right, be they unlikely")


def _lots(options: argparse.Namespace) -> int:
    from formulate.notebook import day, stock
    from formulate.report import lots_data, lots_text

    on = date.today() if options.on is None else day(options.on, "--on")
    with notebook_of(options) as notebook:
        found = stock(notebook, options.key)
    print_out({"lots": lots_data(found)} if options.json else lots_text(found, on))
    return _DONE


def _lot(options: argparse.Namespace) -> int:
    from formulate.ingredients import Lot, lot_from_data
    from formulate.notebook import delivered
    from formulate.report import lots_data, lots_text

    given = {name: getattr(options, name) for name in Lot.__dataclass_fields__}
    lot = lot_from_data(given)
    with notebook_of(options, create=True) as notebook:
        found = [delivered(notebook, lot, sure=options.yes)]
    print_out(lots_data(found)[0] if options.json else lots_text(found, date.today()))
    return _DONE
