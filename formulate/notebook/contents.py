"""Everything that can be read of a notebook, be it damaged, and in sentences what cannot."""

from __future__ import annotations

import sqlite3
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from textwrap import shorten
from typing import Any

from formulate.errors import InputError
from formulate.ingredients import Lot, lot_from_data
from formulate.notebook.batch_records import (
    Batch,
    Figures,
    FurtherLot,
    UsedWeight,
    Verdict,
    Weighing,
    check_batch,
    check_verdict,
    day,
)
from formulate.notebook.deliveries import LOT, uid_of
from formulate.notebook.recipes import KeptVersion, folded, is_letter
from formulate.notebook.seals import CHANGED, TABLES, fault_words, faults_of, sealed
from formulate.notebook.store import read_only, require_ours, table_statements
from formulate.recipes import from_mapping, to_toml

__all__ = [
    "FIGURES",
    "KEPT",
    "PARTS",
    "Contents",
    "Row",
    "by_batch",
    "checked_batch",
    "contents",
    "examine",
]

_MOST_PROBES, _BEYOND = 100_000, 2_000  # rows looked for one by one
_SHOWN_FAULTS, _FAULT_LETTERS = 50, 200

#: What is said of a version beside its recipe, the figures of a batch, and sheets of what belongs to a
#: batch: their tables and records.
KEPT = ("kept", "cook", "note", "made_with")
FIGURES = tuple(field.name for field in fields(Figures))
PARTS: Mapping[str, tuple[str, type[UsedWeight | FurtherLot | Weighing | Verdict]]] = {
    "weights": ("weight", UsedWeight),
    "further": ("further", FurtherLot),
    "weighings": ("weighing", Weighing),
    "verdicts": ("verdict", Verdict),
}

_SENSELESS = (InputError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError)

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Contents:
    """What can be read of a notebook, and in sentences what is wrong, if any is.

    Lots are by number, and ``lot_uids`` are the names that tell two deliveries apart.
    """

    versions: tuple[KeptVersion, ...]
    lots: dict[int, Lot]
    batches: tuple[Batch, ...]
    faults: tuple[str, ...] = ()
    lot_uids: Mapping[int, str] = field(default_factory=dict)

    @property
    def verdicts(self) -> int:
        """Number of verdicts."""
        return sum(len(batch.verdicts) for batch in self.batches)


def examine(path: Path) -> Contents:
    """Return a notebook, be it damaged, and what is wrong with it, read to its last page.

    Raises InputError if it cannot be opened at all, or is no notebook of this program.

    Parameters
    ----------
    path:
        Its file.

    Returns
    -------
    Contents

    Raises
    ------
    InputError
        If it cannot be opened at all, or is no notebook of this program.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     examine(notebook.path).faults
    ()
    """
    faults: list[str] = []
    with read_only(path) as db:
        try:
            require_ours(db, path)
            said = db.execute(f"PRAGMA integrity_check({_SHOWN_FAULTS})").fetchall()
            words = [" ".join(str(row[0]).split()) for row in said if row[0] != "ok"]
            faults += [shorten(fault, _FAULT_LETTERS, placeholder=" …") for fault in words]
            for table, row, parent, _ in db.execute("PRAGMA foreign_key_check"):
                faults.append(f"Row {row} of {table} belongs to a {parent} that is missing.")
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            faults.append(f"{str(error).capitalize()}.")
        found = contents(db)
    return replace(found, faults=tuple(dict.fromkeys([*faults, *found.faults])))


def contents(db: sqlite3.Connection) -> Contents:
    """Return everything that can be read through a connection, and in sentences what cannot."""
    lost: list[str] = []
    db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    raw = {table: _rows(db, table, lost) for table in TABLES}
    changed = _changed(db, raw, lost)
    db.text_factory = str
    kept: dict[int, KeptVersion] = {}
    numbered: set[tuple[str, int]] = set()
    names = {row["id"]: row["name"] for row in raw["recipe"]}
    for row in raw["version"]:
        number, toml = row["number"], row["toml"]
        with _losing(lost, f"Version {number} of recipe {row['recipe']}"):
            if sealed(toml) != row["seal"] or number < 1:
                raise ValueError("changed since it was kept")
            name, own = str(names.get(row["recipe"])), tomllib.loads(toml)["name"]
            name = name if folded(name) == folded(own) else own
            if (folded(name), number) in numbered:
                raise ValueError("another has this number")
            words = {name: _legible(row[name]) for name in KEPT}
            kept[row["id"]] = KeptVersion(name, number, toml=toml, **words)
            numbered.add((folded(name), number))
    lots, uids = {}, {}
    for row in raw["lot"]:
        if ("lot", row["id"]) not in changed:
            with _losing(lost, f"Lot {row['id']}"):
                lots[row["id"]] = lot_from_data({name: row.get(name) for name in LOT})
                uids[row["id"]] = row.get("uid") or uid_of(lots[row["id"]])
    raw["verdict"] = [row for row in raw["verdict"] if ("verdict", row["id"]) not in changed]
    parts = {name: by_batch(raw[table]) for name, (table, _) in PARTS.items()}
    batches = []
    for row in raw["batch"]:
        with _losing(lost, f"Batch {row['id']}"):
            version = kept.get(row["version"])
            if version is None:
                version = kept[-row["id"]] = _stand_in(row["id"], parts["weights"])
            row |= {"batch": row["id"], "name": version.name, "version": version.number}
            for name in ("struck", "made_with"):  # an older notebook has not all of it
                row.setdefault(name, "")
            verdicts = parts["verdicts"].get(row["batch"], [])
            whole = [said for said in verdicts if {said["sandy"], said["icy"]} <= {0, 1}]
            if len(whole) < len(verdicts):
                lost.append(f"Batch {row['id']} has a verdict of which a part is lost.")
                parts["verdicts"][row["batch"]] = whole
            for said in (row, *whole):
                said |= {
                    name: _legible(said[name])
                    for name in ("cook", "note", "made_with")
                    if name in said
                }
            there = len(parts["weights"].get(int(row["id"]), []))
            if there != row["parts"]:
                lost.append(f"Batch {row['id']} has {there} of its {row['parts']} weights.")
                row["struck"] = row["struck"] or "weights were lost when the notebook was damaged"
            if ("batch", row["id"]) in changed:
                row["struck"] = row["struck"] or "changed when the notebook was damaged"
            batches.append(checked_batch(row, parts, lots))
    return Contents(tuple(kept.values()), lots, tuple(batches), tuple(lost), uids)


def _changed(
    db: sqlite3.Connection, raw: Mapping[str, list[Row]], lost: list[str]
) -> set[tuple[str, int]]:
    """Records that are not as they were written; an earlier notebook has no seals to tell."""
    if not any(name == "seal" for name, _ in table_statements(db)):
        return set()
    tables = {name: [tuple(row.values()) for row in rows] for name, rows in raw.items()}
    tables["seal"] = [tuple(row.values()) for row in _rows(db, "seal", lost)]
    tables["sqlite_sequence"] = []
    with suppress(sqlite3.DatabaseError):
        tables["sqlite_sequence"] = db.execute(
            "SELECT seq FROM sqlite_sequence WHERE name = 'seal'"
        ).fetchall()
    found = faults_of(tables)
    lost += [f"{fault_words(*fault)}." for fault in list(found.items())[:_SHOWN_FAULTS]]
    return {record for record, how in found.items() if how == CHANGED}


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


def by_batch(rows: Iterable[Row]) -> dict[int, list[Row]]:
    """Return rows by the number of their batch."""
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row["batch"], []).append(row)
    return found


def checked_batch(
    row: Row, parts: Mapping[str, dict[int, list[Row]]], lots: Mapping[int, Lot]
) -> Batch:
    """Return a checked batch from a row and the rows that belong to it."""
    number = row["batch"]
    place = f"batch {number}"

    def own(sheet: str) -> tuple[Any, ...]:
        kind = PARTS[sheet][1]
        names = [field.name for field in fields(kind)]
        rows = parts[sheet].get(number, [])
        return tuple(kind(**{name: each[name] for name in names if name in each}) for each in rows)

    weights: tuple[UsedWeight, ...] = own("weights")
    weights = tuple(w if w.lot in lots else replace(w, lot=None) for w in weights)
    further = tuple(each for each in own("further") if each.lot in lots)
    verdicts: tuple[Verdict, ...] = own("verdicts")
    for said in verdicts:
        check_verdict(said, f"{place}, verdict")
    figures = Figures(**{name: row[name] for name in FIGURES})
    found = Batch(
        number,
        row["uid"],
        row["name"],
        row["version"],
        day(row["made"], f"{place}, made"),
        row["cook"],
        row["note"],
        row["struck"],
        row["made_with"],
        figures,
        weights,
        further,
        own("weighings"),
        verdicts,
    )
    used = {weight.key: weight.grams for weight in weights}
    if len(used) < len(weights):
        raise InputError(place, "has a weight twice", "Keep one of them.")
    check_batch(found, used, place)
    return found
