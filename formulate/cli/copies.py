"""Commands of the notebook's copies: make one, name a second folder for them, bring one back."""

from __future__ import annotations

import argparse
from pathlib import Path

from formulate.cli.command import DONE, Command, Parser
from formulate.cli.inputs import add_notebook, notebook_of
from formulate.cli.outputs import print_out
from formulate.errors import InputError

__all__ = ["COMMANDS"]


def _backup_takes(parser: Parser) -> None:
    parser.add_argument("folder", nargs="?", type=Path, help="a stick or a share, for example")
    parser.add_argument(
        "--always", action="store_true", help="put the copies of every day in that folder too"
    )
    parser.add_argument(
        "--never", action="store_true", help="forget the folder that was named with --always"
    )
    add_notebook(parser)


def _restore_takes(parser: Parser) -> None:
    parser.add_argument(
        "source", nargs="?", metavar="FROM", help="a copy, a folder with copies, or a day"
    )
    add_notebook(parser)


def _backup(options: argparse.Namespace) -> int:
    from formulate.notebook import back_up, set_second_folder

    if options.always and (options.never or options.folder is None):
        remedy = "Write `formulate notebook backup FOLDER --always`, or --never without a folder."
        raise InputError("backup", "does not say in which folder", remedy)
    with notebook_of(options) as notebook:
        files = back_up(notebook, options.folder)
        if options.always or options.never:
            set_second_folder(options.folder if options.always else None, notebook.path)
    text = "\n".join(f"Copied to {file}." for file in files)
    print_out({"files": [str(file) for file in files]} if options.json else text)
    return DONE


def _restore(options: argparse.Namespace) -> int:
    from formulate.notebook import backups_of, default_path, examine, restore
    from formulate.report import copies_text, plain_data, restored_text

    place = options.notebook or default_path()
    if options.source is None:
        found = backups_of(place)
        data = [
            {"file": str(each.path), "day": each.day.isoformat(), "why": each.why} for each in found
        ]
        print_out({"copies": plain_data(data)} if options.json else copies_text(found))
        return DONE
    before = restore(options.source, options.notebook)
    with notebook_of(options):  # an older one is brought up to date
        pass
    there = examine(place)
    if options.json:
        print_out(
            plain_data(
                {
                    "recipes": len(there.versions),
                    "batches": len(there.batches),
                    "before": None if before is None else str(before.path),
                }
            )
        )
    else:
        print_out(restored_text(there, before))
    return DONE


COMMANDS = (
    Command(
        "backup",
        "copy the whole notebook now, beside it or to a folder",
        _backup,
        _backup_takes,
    ),
    Command("restore", "bring back a copy, or list those that there are", _restore, _restore_takes),
)
