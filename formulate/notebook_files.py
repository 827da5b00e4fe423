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
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from textwrap import shorten
from typing import Any
from uuid import uuid4

import tomli_w

from formulate.cells import cell
from formulate.errors import InputError
from formulate.lots import Lot, lot_data, lot_from_data
from formulate.notebook import SCHEMA_VERSION, Notebook, damaged, read_only, require_ours, sealed
from formulate.notebook_batches import (
    Batch,
    Figures,
    UsedWeight,
    Verdict,
    Weighing,
    add_batch,
    add_lot,
    add_verdict,
    check_batch,
    check_verdict,
    day,
)
from formulate.notebook_recipes import KeptVersion, add_version, folded, is_letter, line_of_text
from formulate.recipe_file import LARGEST_FILE, from_mapping, parse, to_toml
from formulate.versions import versions

__all__ = ["Contents", "examine", "export_notebook", "import_notebook", "rescue"]

_TABLES = ("recipe", "version", "lot", "batch", "weight", "weighing", "verdict")
_LARGEST_SHEET = 50_000_000
_MOST_PROBES, _BEYOND = 100_000, 2_000  # rows looked for one by one
_SHOWN_FAULTS, _FAULT_LETTERS = 50, 200
_NUMBER = re.compile(r"[-+]?\d+(\.\d*)?(e[-+]?\d+)?", re.IGNORECASE)

_KEPT = ("kept", "cook", "note", "made_with")
_FIGURES = tuple(field.name for field in fields(Figures))
_SHEETS: Mapping[str, tuple[str, ...]] = {
    "versions": tuple("name version kept cook note made_with file".split()),
    "lots": ("lot", *(field.name for field in fields(Lot))),
    "batches": tuple("batch uid name version made cook note struck".split()) + _FIGURES,
    "weights": ("batch", *(field.name for field in fields(UsedWeight))),
    "weighings": ("batch", *(field.name for field in fields(Weighing))),
    "verdicts": ("batch", *(field.name for field in fields(Verdict))),
}
_WORDS = set("name kept cook note made_with file key supplier date scale acidity_as uid".split())
_WORDS |= {"made", "struck", "step"}
_WHOLE = {"version", "lot", "batch", "firmness", "sweetness", "sandy", "icy"}
_NEEDED = {"version", "batch", "grams", "before_g", "after_g", "temperature_c", "sandy", "icy"}
#: Sheets of what belongs to a batch, and their tables.
_PARTS = {"weights": "weight", "weighings": "weighing", "verdicts": "verdict"}

_SENSELESS = (InputError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError)

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Contents:
    """What can be read of a notebook, lots by number, and in sentences what is wrong, if any is."""

    versions: tuple[KeptVersion, ...]
    lots: dict[int, Lot]
    batches: tuple[Batch, ...]
    faults: tuple[str, ...] = ()

    @property
    def verdicts(self) -> int:
        """Number of verdicts."""
        return sum(len(batch.verdicts) for batch in self.batches)


def examine(path: Path) -> Contents:
    """Return a notebook, be it damaged, and what is wrong with it, read to its last page.

    Raises InputError if it cannot be opened at all, or is no notebook of this program.
    """
    faults: list[str] = []
    with read_only(path) as db:
        try:
            require_ours(db, path)
            found = db.execute(f"PRAGMA integrity_check({_SHOWN_FAULTS})").fetchall()
            words = [" ".join(str(row[0]).split()) for row in found if row[0] != "ok"]
            faults += [shorten(fault, _FAULT_LETTERS, placeholder=" …") for fault in words]
            for table, row, parent, _ in db.execute("PRAGMA foreign_key_check"):
                faults.append(f"Row {row} of {table} belongs to a {parent} that is missing.")
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            faults.append(f"{str(error).capitalize()}.")
        contents = _contents(db)
    return replace(contents, faults=tuple(dict.fromkeys([*faults, *contents.faults])))


def export_notebook(notebook: Notebook, folder: Path) -> Contents:
    """Write everything to a new folder, whole or not at all; return what was written.

    Raises InputError if the folder is there already or cannot be written, or the notebook is damaged.
    """
    with notebook.reading() as db:
        contents = _contents(db)
    if contents.faults:
        raise damaged(notebook.path, contents.faults[0].rstrip("."))
    _write(contents, folder)
    return contents


def rescue(path: Path, folder: Path) -> Contents:
    """Write to a new folder what can be read of a damaged notebook, which is not changed.

    Raises InputError if nothing can be read at all, or the folder cannot be written.
    """
    contents = examine(path)
    if not (contents.versions or contents.lots):
        remedy = "Only an older export or copy can help."
        raise InputError(str(path), "nothing in this notebook can be read any more", remedy)
    _write(contents, folder)
    return contents


def import_notebook(notebook: Notebook, folder: Path) -> Contents:
    """Take in an exported folder, all or nothing; return what was new to the notebook.

    What the notebook has already is passed over; a batch whose number is taken gets a new one.  Raises
    InputError if the folder is no export, is not whole, holds what cannot be, or another recipe under
    the name and number of one that is kept.
    """
    contents = _read(folder)
    with notebook.writing() as db:
        kept = tuple(version for version in contents.versions if _is_new(db, version))
        for version in kept:
            add_version(db, version)
        lots = {number: add_lot(db, lot) for number, lot in contents.lots.items()}
        added = []
        for new in contents.batches:
            row = db.execute("SELECT id, struck FROM batch WHERE uid = ?", (new.uid,)).fetchone()
            if row is None:
                used = tuple(replace(each, lot=lots.get(each.lot or 0)) for each in new.weights)
                new = replace(new, weights=used)
                added.append(replace(new, number=add_batch(db, new)))
                continue
            db.execute(
                "UPDATE batch SET struck = ? WHERE id = ? AND struck = ''", (new.struck, row[0])
            )
            there = {uid for (uid,) in db.execute("SELECT uid FROM verdict")}
            for said in new.verdicts:
                if said.uid not in there:
                    add_verdict(db, row[0], said)
    return replace(contents, versions=kept, batches=tuple(added))


# Out of the notebook --------------------------------------------------------------------------------


def _contents(db: sqlite3.Connection) -> Contents:
    """Everything that can be read, and in sentences what cannot."""
    lost: list[str] = []
    db.text_factory = lambda raw: raw.decode("utf-8", "replace")
    raw = {table: _rows(db, table, lost) for table in _TABLES}
    db.text_factory = str
    kept: dict[int, KeptVersion] = {}
    names = {row["id"]: row["name"] for row in raw["recipe"]}
    for row in raw["version"]:
        number, toml = row["number"], row["toml"]
        with _losing(lost, f"Version {number} of recipe {row['recipe']}"):
            if sealed(toml) != row["seal"] or number < 1:
                raise ValueError("changed since it was kept")
            name, own = str(names.get(row["recipe"])), tomllib.loads(toml)["name"]
            name = name if folded(name) == folded(own) else own
            if any((folded(v.name), v.number) == (folded(name), number) for v in kept.values()):
                raise ValueError("another has this number")
            words = {name: _legible(row[name]) for name in _KEPT}
            kept[row["id"]] = KeptVersion(name, number, toml=toml, **words)
    lots = {}
    for row in raw["lot"]:
        with _losing(lost, f"Lot {row['id']}"):
            lots[row["id"]] = lot_from_data({name: row[name] for name in _SHEETS["lots"][1:]})
    parts = {name: _by_batch(raw[table]) for name, table in _PARTS.items()}
    batches = []
    for row in raw["batch"]:
        with _losing(lost, f"Batch {row['id']}"):
            version = kept.get(row["version"])
            if version is None:
                version = kept[-row["id"]] = _stand_in(row["id"], parts["weights"])
            row |= {"batch": row["id"], "name": version.name, "version": version.number}
            row.setdefault("struck", "")  # an older notebook could not strike
            for said in (row, *parts["verdicts"].get(row["batch"], [])):
                said |= {name: _legible(said[name]) for name in ("cook", "note") if name in said}
            there = len(parts["weights"].get(int(row["id"]), []))
            if there != row["parts"]:
                lost.append(f"Batch {row['id']} has {there} of its {row['parts']} weights.")
                row["struck"] = row["struck"] or "weights were lost when the notebook was damaged"
            batches.append(_batch(row, parts, lots))
    return Contents(tuple(kept.values()), lots, tuple(batches), tuple(lost))


def _stand_in(number: int, weights: Mapping[int, list[Row]]) -> KeptVersion:
    """A recipe of the weights of a batch whose own recipe is lost."""
    name = f"Batch {number}, its recipe lost"
    rows = [{"key": row["key"], "grams": row["grams"]} for row in weights[number]]
    total = sum(row["grams"] for row in rows)
    toml = to_toml(from_mapping({"name": name, "batch_g": total, "ingredient": rows}, name))
    return KeptVersion(name, 1, "", "", "saved from a damaged notebook", "", toml)


def _rows(db: sqlite3.Connection, table: str, lost: list[str]) -> list[Row]:
    """Rows of a table: from its start, then from its end, then one by one in between."""
    found: dict[int, Row] = {}

    def take(words: str, *given: int) -> bool:
        try:
            cursor = db.execute(f"SELECT * FROM {table} NOT INDEXED {words}", given)
            names = [column[0] for column in cursor.description]
            for values in cursor:
                found[values[0]] = dict(zip(names, values, strict=True))
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            return "no such table" in str(error)  # an older notebook
        return True

    if not take("ORDER BY id"):
        last = max(found, default=0)
        take("ORDER BY id DESC")
        end = min((number for number in found if number > last), default=last + _BEYOND)
        for number in range(last + 1, min(end, last + _MOST_PROBES)):
            take("WHERE id = ?", number)
        lost.append(f"The table {table} is damaged: {len(found)} of its rows can be read.")
    return [found[number] for number in sorted(found)]


@contextmanager
def _losing(lost: list[str], what: str) -> Iterator[None]:
    """Go on without a row that makes no sense."""
    try:
        yield
    except _SENSELESS as error:
        lost.append(f"{what} cannot be read ({str(error).rstrip('.')}).")


def _legible(text: str) -> str:
    """A text without what damage has put into it: what may not be kept could not be taken in again."""
    return "".join(each if is_letter(each) else "\N{REPLACEMENT CHARACTER}" for each in text)


def _by_batch(rows: Iterable[Row]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row["batch"], []).append(row)
    return found


def _batch(row: Row, parts: Mapping[str, dict[int, list[Row]]], lots: Mapping[int, Lot]) -> Batch:
    """A checked batch from a row and the rows that belong to it."""
    number = row["batch"]
    place = f"batch {number}"

    def own(sheet: str, kind: Callable[..., Any]) -> tuple[Any, ...]:
        names = _SHEETS[sheet][1:]
        rows = parts[sheet].get(number, [])
        return tuple(kind(**{name: each[name] for name in names if name in each}) for each in rows)

    weights: tuple[UsedWeight, ...] = own("weights", UsedWeight)
    weights = tuple(w if w.lot in lots else replace(w, lot=None) for w in weights)
    verdicts: tuple[Verdict, ...] = own("verdicts", Verdict)
    for said in verdicts:
        check_verdict(said, f"{place}, verdict")
    figures = Figures(**{name: row[name] for name in _FIGURES})
    found = Batch(
        number, row["uid"], row["name"], row["version"], day(row["made"], f"{place}, made"),
        row["cook"], row["note"], row["struck"], figures, weights,
        own("weighings", Weighing), verdicts,
    )  # fmt: skip
    used = {weight.key: weight.grams for weight in weights}
    if len(used) < len(weights):
        raise InputError(place, "has a weight twice", "Keep one of them.")
    check_batch(found, used, place)
    return found


def _write(contents: Contents, folder: Path) -> None:
    """Write the folder beside its place and move it there, so that nothing is half-written."""
    sheets: dict[str, list[Row]] = {name: [] for name in _SHEETS}
    files = {}
    for count, version in enumerate(contents.versions, start=1):
        word = re.sub("[^a-z0-9]+", "-", folded(version.name)).strip("-")[:40]
        file = f"{count:04}-{word or 'recipe'}-v{version.number}.toml"
        files[file] = version.toml
        row = asdict(version) | {"version": version.number, "file": file}
        sheets["versions"].append(row)
    sheets["lots"] = [{"lot": number} | lot_data(lot) for number, lot in contents.lots.items()]
    for batch in contents.batches:
        row = asdict(batch) | asdict(batch.figures) | {"batch": batch.number}
        sheets["batches"].append(row | {"made": batch.made.isoformat()})
        for sheet in _PARTS:
            sheets[sheet] += [{"batch": batch.number} | part for part in row[sheet]]
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
        (part / "notebook.toml").write_text(tomli_w.dumps(about), encoding="utf-8")
        with suppress(FileNotFoundError):
            folder.rmdir()
        part.replace(folder)
    except OSError as error:
        problem = f"cannot be written ({error.strerror})"
        raise InputError(str(folder), problem, "Name another place, or make room.") from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


# Into the notebook ----------------------------------------------------------------------------------


def _read(folder: Path) -> Contents:
    """The contents of an exported folder, every part of it checked."""
    about = folder / "notebook.toml"
    try:
        counts = tomllib.loads(_text(about, LARGEST_FILE))["rows"]
        wanted = {name: int(counts[name]) for name in _SHEETS}
    except (tomllib.TOMLDecodeError, KeyError, TypeError, ValueError):
        problem = "is not what an export writes"
        raise InputError(str(about), problem, "Name the exported folder.") from None
    sheets = {name: _sheet(folder / f"{name}.csv", columns) for name, columns in _SHEETS.items()}
    for name, count in wanted.items():
        if len(sheets[name]) != count:
            problem = f"has {len(sheets[name])} rows, and was written with {count}"
            remedy = "Copy it again, or, if you mean it, correct the count in notebook.toml."
            raise InputError(str(folder / f"{name}.csv"), problem, remedy)
    lots = {}
    for row in sheets["lots"]:
        place = f"lots.csv, lot {row['lot']}"
        lots[row["lot"]] = lot_from_data({k: row[k] for k in _SHEETS["lots"][1:]}, place)
    parts = {name: _by_batch(sheets[name]) for name in _PARTS}
    batches = tuple(_batch(row, parts, lots) for row in sheets["batches"])
    for name, found in parts.items():
        for number in found.keys() - {batch.number for batch in batches}:
            problem = f"has a row of batch {number}, which is not in batches.csv"
            raise InputError(f"{name}.csv", problem, "Export again.")
    kept = tuple(_kept(row, folder / "recipes") for row in sheets["versions"])
    return Contents(kept, lots, batches)


def _kept(row: Row, folder: Path) -> KeptVersion:
    place = f"versions.csv, {row['name']}, version {row['version']}"
    path = folder / row["file"]
    if path.parent != folder or path.is_symlink():
        raise InputError(place, f'"{row["file"]}" is not a file of the export', "Export again.")
    recipe = parse(_text(path, LARGEST_FILE).encode("utf-8"), f"recipes/{row['file']}")
    if folded(recipe.name) != folded(row["name"]) or row["version"] < 1:
        problem = f'its file is of "{recipe.name}", or its number is none'
        raise InputError(place, problem, "Give both the same name, and number from 1.")
    words = {name: line_of_text(row[name], place) for name in _KEPT}
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


def _sheet(path: Path, columns: tuple[str, ...]) -> list[Row]:
    """Rows of a sheet, each cell as what its column holds."""
    try:
        rows = list(csv.reader(io.StringIO(_text(path, _LARGEST_SHEET), newline=""), strict=True))
    except csv.Error as error:
        raise InputError(path.name, f"is not CSV ({error})", "Save it as CSV.") from None
    if not rows or tuple(rows[0]) != columns:
        raise InputError(path.name, f"has not the columns {', '.join(columns)}", "Export again.")
    found = []
    for line, row in enumerate(rows[1:], start=2):
        place = f"{path.name}, row {line}"
        if len(row) != len(columns):
            raise InputError(place, f"has {len(row)} cells, not {len(columns)}", "Mend that row.")
        cells = zip(columns, row, strict=True)
        found.append({name: _value(name, cell, f"{place}, {name}") for name, cell in cells})
    return found


def _value(name: str, cell: str, place: str) -> Any:
    if name in _WORDS:
        text = cell[1:] if cell.startswith("'") else cell
        return (text or None) if name == "date" else text
    if cell == "" and name not in _NEEDED:
        return None
    number = _NUMBER.fullmatch(cell)
    if number is None or (name in _WHOLE and any(number.groups())):
        raise InputError(place, f"is {cell!r}, not a number", "Give a number, with a point.")
    return int(cell) if name in _WHOLE else float(cell)
