"""Commands of the notebook's copies: make one, name a second folder for them, bring one back."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from formulate.cli.inputs import notebook_of, print_out
from formulate.errors import InputError

__all__ = ["add_commands"]

_DONE = 0


def add_commands(group: Any, add: Any) -> None:
    """Add the commands to those of the notebook; ``add`` gives each what all of them have."""
    command = add(group, "backup", "copy the whole notebook now, beside it or to a folder", _backup)
    command.add_argument("folder", nargs="?", type=Path, help="a stick or a share, for example")
    command.add_argument(
        "--always", action="store_true", help="put the copies of every day in that folder too"
    )
    command.add_argument(
        "--never", action="store_true", help="forget the folder that was named with --always"
    )
    command = add(group, "restore", "bring back a copy, or list those that there are", _restore)
    command.add_argument(
        "source", nargs="?", metavar="FROM", help="a copy, a folder with copies, or a day"
    )


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
    return _DONE


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
        return _DONE
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
    return _DONE
