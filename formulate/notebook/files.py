"""The notebook as plain files: a folder of recipes in TOML and sheets in CSV, out and in again.

What is exported is everything, and importing it elsewhere gives the same notebook.  The same readers
serve a damaged file, of which they bring out every row that can still be read.

A cell of text that a spreadsheet might run as a formula begins with an apostrophe, which importing
takes away again; numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
import re
import shutil
import sqlite3
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import fields, replace
from pathlib import Path
from typing import Any
from uuid import uuid4

import tomli_w

from formulate.data import cell, versions
from formulate.errors import InputError
from formulate.ingredients import lot_data, lot_from_data
from formulate.notebook.batch_records import add_batch, add_verdict, strike_batch
from formulate.notebook.contents import (
    FIGURES,
    KEPT,
    PARTS,
    Contents,
    Row,
    by_batch,
    checked_batch,
    contents,
    examine,
)
from formulate.notebook.deliveries import LOT, add_lot, uid_of
from formulate.notebook.recipes import KeptVersion, add_version, folded, line_of_text
from formulate.notebook.schema import SCHEMA_VERSION
from formulate.notebook.store import Notebook, damaged
from formulate.recipes import LARGEST_FILE, parse, to_toml

__all__ = ["export_notebook", "import_notebook", "rescue"]

_LARGEST_SHEET = 50_000_000
_NUMBER = re.compile(r"[-+]?\d+(\.\d*)?(e[-+]?\d+)?", re.IGNORECASE)

_SHEETS: Mapping[str, tuple[str, ...]] = {
    "versions": tuple("name version kept cook note made_with file".split()),
    "lots": ("lot", *LOT, "uid"),
    "batches": (*"batch uid name version made cook note struck made_with".split(), *FIGURES),
    **{
        name: ("batch", *(field.name for field in fields(kind)))
        for name, (_, kind) in PARTS.items()
    },
}
#: Sheets and columns that earlier programs did not write.
_NEW = ("further",)
_LATER: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "lots": (("uid",), (*LOT[-3:], "uid")),
    "batches": (("made_with",),),
    "weights": (("taken_g",),),
}
_WORDS = set("name kept cook note made_with file key supplier date scale acidity_as uid".split())
_WORDS |= {"made", "struck", "step", "use_by"}
_WHOLE = {"version", "lot", "batch", "firmness", "sweetness", "sandy", "icy"}
_NEEDED = {"version", "batch", "grams", "before_g", "after_g", "temperature_c", "sandy", "icy"}


def export_notebook(notebook: Notebook, folder: Path) -> Contents:
    """Write everything to a new folder, whole or not at all; return what was written.

    Raises InputError if the folder is there already or cannot be written, or the notebook is damaged.

    Parameters
    ----------
    notebook:
        The notebook, open.
    folder:
        A folder that is not there yet.

    Returns
    -------
    Contents

    Raises
    ------
    InputError
        If the folder is there already or cannot be written, or the notebook is damaged.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     len(export_notebook(notebook, Path(folder, "all")).versions)
    1
    """
    with notebook.reading() as db:
        found = contents(db)
    if found.faults:
        raise damaged(notebook.path, found.faults[0].rstrip("."))
    _write(found, folder)
    return found


def rescue(path: Path, folder: Path) -> Contents:
    """Write to a new folder what can be read of a damaged notebook, which is not changed.

    Raises InputError if nothing can be read at all, or the folder cannot be written.

    Parameters
    ----------
    path:
        The notebook.
    folder:
        A folder that is not there yet.

    Returns
    -------
    Contents

    Raises
    ------
    InputError
        If nothing can be read at all, or the folder cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     rescue(notebook.path, Path(folder, "saved")).faults
    ()
    """
    found = examine(path)
    if not (found.versions or found.lots):
        remedy = "Only an older export or copy can help."
        raise InputError(str(path), "nothing in this notebook can be read any more", remedy)
    _write(found, folder)
    return found


def import_notebook(notebook: Notebook, folder: Path) -> Contents:
    """Take in an exported folder, all or nothing; return what was new to the notebook.

    What the notebook has already is passed over; a batch whose number is taken gets a new one.  Raises
    InputError if the folder is no export, is not whole, holds what cannot be, or another recipe under
    the name and number of one that is kept.

    Parameters
    ----------
    notebook:
        The notebook, open.
    folder:
        What :func:`export_notebook` wrote.

    Returns
    -------
    Contents

    Raises
    ------
    InputError
        If the folder is no export, is not whole, holds what cannot be, or another recipe under the name
        and number of one that is kept.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = export_notebook(notebook, Path(folder, "all"))
    ...     import_notebook(notebook, Path(folder, "all")).versions
    ()
    """
    found = _read(folder)
    with notebook.writing() as db:
        kept = tuple(version for version in found.versions if _is_new(db, version))
        for version in kept:
            add_version(db, version)
        lots = {
            number: add_lot(db, lot, found.lot_uids[number]) for number, lot in found.lots.items()
        }
        added = []
        for new in found.batches:
            row = db.execute("SELECT id, struck FROM batch WHERE uid = ?", (new.uid,)).fetchone()
            if row is None:
                used = tuple(replace(each, lot=lots.get(each.lot or 0)) for each in new.weights)
                more = tuple(replace(each, lot=lots[each.lot]) for each in new.further)
                new = replace(new, weights=used, further=more)
                added.append(replace(new, number=add_batch(db, new)))
                continue
            strike_batch(db, row[0], new.struck)
            there = {uid for (uid,) in db.execute("SELECT uid FROM verdict")}
            for said in new.verdicts:
                if said.uid not in there:
                    add_verdict(db, row[0], said)
    return replace(found, versions=kept, batches=tuple(added))


def _write(found: Contents, folder: Path) -> None:
    """Write the folder beside its place and move it there, so that nothing is half-written."""
    sheets: dict[str, list[Row]] = {name: [] for name in _SHEETS}
    files = {}
    for count, version in enumerate(found.versions, start=1):
        word = re.sub("[^a-z0-9]+", "-", folded(version.name)).strip("-")[:40]
        file = f"{count:04}-{word or 'recipe'}-v{version.number}.toml"
        files[file] = version.toml
        row = _row(version) | {"version": version.number, "file": file}
        sheets["versions"].append(row)
    sheets["lots"] = [
        {"lot": number, "uid": found.lot_uids[number]} | lot_data(lot)
        for number, lot in found.lots.items()
    ]
    for batch in found.batches:
        row = _row(batch) | _row(batch.figures) | {"batch": batch.number}
        sheets["batches"].append(row | {"made": batch.made.isoformat()})
        for sheet in PARTS:
            sheets[sheet] += [{"batch": batch.number} | _row(part) for part in row[sheet]]
    if folder.name in ("", "..") or "\0" in str(folder):  # a root, here, or above
        raise InputError(repr(str(folder)), "cannot be the name of a new folder", "Name another.")
    part = folder.with_name(f"{folder.name}.part-{uuid4().hex}")
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise InputError(str(folder), "is there already", "Name a new folder.")
        (part / "recipes").mkdir(parents=True)
        for file, text in files.items():
            (part / "recipes" / file).write_text(text, encoding="utf-8", newline="\n")
        for name, rows in sheets.items():
            with (part / f"{name}.csv").open("w", encoding="utf-8-sig", newline="") as sheet_file:
                writer = csv.writer(sheet_file)
                writer.writerow(_SHEETS[name])
                writer.writerows([cell(row.get(key)) for key in _SHEETS[name]] for row in rows)
        counts = {name: len(rows) for name, rows in sheets.items()}
        about = {"notebook": SCHEMA_VERSION, "written_by": versions(), "rows": counts}
        if found.faults:
            (part / "faults.txt").write_text("\n".join(found.faults) + "\n", encoding="utf-8")
        (part / "notebook.toml").write_text(tomli_w.dumps(about), encoding="utf-8")
        with suppress(FileNotFoundError):
            folder.rmdir()
        part.replace(folder)
    except OSError as error:
        problem = f"cannot be written ({error.strerror})"
        raise InputError(str(folder), problem, "Name another place, or make room.") from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _row(record: Any) -> Row:
    """The fields of a record; faster than a deep copy where there are thousands."""
    return {name: getattr(record, name) for name in record.__dataclass_fields__}


# Into the notebook ----------------------------------------------------------------------------------


def _read(folder: Path) -> Contents:
    """The contents of an exported folder, every part of it checked."""
    about = folder / "notebook.toml"
    try:
        counts = tomllib.loads(_text(about, LARGEST_FILE))["rows"]
        wanted = {name: int(counts[name]) for name in _SHEETS if name in counts or name not in _NEW}
    except (tomllib.TOMLDecodeError, KeyError, TypeError, ValueError):
        problem = "is not what an export writes"
        raise InputError(str(about), problem, "Name the exported folder.") from None
    sheets = {name: _sheet(folder, name) if name in wanted else [] for name in _SHEETS}
    for name, count in wanted.items():
        if len(sheets[name]) != count:
            problem = f"has {len(sheets[name])} rows, and was written with {count}"
            remedy = "Copy it again, or, if you mean it, correct the count in notebook.toml."
            raise InputError(str(folder / f"{name}.csv"), problem, remedy)
    lots, uids = {}, {}
    for row in sheets["lots"]:
        place = f"lots.csv, lot {row['lot']}"
        lot = lots[row["lot"]] = lot_from_data({k: row[k] for k in LOT}, place)
        uids[row["lot"]] = line_of_text(row["uid"], place) or uid_of(lot)
    parts = {name: by_batch(sheets[name]) for name in PARTS}
    batches = tuple(checked_batch(row, parts, lots) for row in sheets["batches"])
    for name, found in parts.items():
        for number in found.keys() - {batch.number for batch in batches}:
            problem = f"has a row of batch {number}, which is not in batches.csv"
            raise InputError(f"{name}.csv", problem, "Export again.")
    kept = tuple(_kept(row, folder / "recipes") for row in sheets["versions"])
    return Contents(kept, lots, batches, lot_uids=uids)


def _kept(row: Row, folder: Path) -> KeptVersion:
    place = f"versions.csv, {row['name']}, version {row['version']}"
    path = folder / row["file"]
    if path.parent != folder or path.is_symlink():
        raise InputError(place, f'"{row["file"]}" is not a file of the export', "Export again.")
    recipe = parse(_text(path, LARGEST_FILE).encode("utf-8"), f"recipes/{row['file']}")
    if folded(recipe.name) != folded(row["name"]) or row["version"] < 1:
        problem = f'its file is of "{recipe.name}", or its number is none'
        raise InputError(place, problem, "Give both the same name, and number from 1.")
    words = {name: line_of_text(row[name], place) for name in KEPT}
    return KeptVersion(row["name"], row["version"], toml=to_toml(recipe), **words)


def _is_new(db: sqlite3.Connection, version: KeptVersion) -> bool:
    row = db.execute(
        "SELECT toml FROM version JOIN recipe ON recipe.id = recipe WHERE folded = ? AND number = ?",
        (folded(version.name), version.number),
    ).fetchone()
    if row is not None and to_toml(parse(row[0].encode("utf-8"), version.name)) != version.toml:
        raise InputError(
            f"{version.name}, version {version.number}",
            "is another recipe in this notebook than in the export, and nothing was taken in",
            "Give it another name in versions.csv and in its file, or import into a new notebook.",
        )
    return row is None


def _text(path: Path, most: int) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
        if len(data) > most:
            raise InputError(str(path), "is too large for an export", "Name the exported folder.")
        return data.decode("utf-8-sig")
    except OSError as error:
        problem = f"cannot be read ({error.strerror})"
        raise InputError(str(path), problem, "Name the exported folder.") from None
    except UnicodeDecodeError:
        raise InputError(str(path), "is not text in UTF-8", "Save it as UTF-8.") from None


def _sheet(folder: Path, name: str) -> list[Row]:
    """Rows of a sheet, each cell as what its column holds; what earlier programs left out is empty."""
    file, columns = f"{name}.csv", _SHEETS[name]
    try:
        text = _text(folder / file, _LARGEST_SHEET)
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        raise InputError(file, f"is not CSV ({error})", "Save it as CSV.") from None
    absent = set(columns).difference(rows[0] if rows else ())
    written = tuple(column for column in columns if column not in absent)
    is_known = not absent or absent in map(set, _LATER.get(name, ()))
    if not (rows and is_known and tuple(rows[0]) == written):
        raise InputError(file, f"has not the columns {', '.join(columns)}", "Export again.")
    needed = _NEEDED - {"grams"} if name == "lots" else _NEEDED
    found = []
    for line, row in enumerate(rows[1:], start=2):
        place = f"{file}, row {line}"
        if len(row) != len(rows[0]):
            raise InputError(place, f"has {len(row)} cells, not {len(rows[0])}", "Mend that row.")
        cells = dict.fromkeys(absent, "") | dict(zip(rows[0], row, strict=True))
        found.append({key: _value(key, cells[key], f"{place}, {key}", needed) for key in columns})
    return found


def _value(name: str, text: str, place: str, needed: set[str]) -> Any:
    if name in _WORDS:
        text = text.removeprefix("'")
        return (text or None) if name in ("date", "use_by") else text
    if text == "" and name not in needed:
        return None
    number = _NUMBER.fullmatch(text)
    if number is None or (name in _WHOLE and any(number.groups())):
        raise InputError(place, f"is {text!r}, not a number", "Give a number, with a point.")
    return int(text) if name in _WHOLE else float(text)
