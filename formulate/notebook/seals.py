"""Seals: whether what is read of a notebook is what was written.

Every record has an entry in the table ``seal`` with a digest of all that it says; a batch is one record
with its weights, further lots and weighings.  Each entry holds a link, the digest of itself and of the
link before it, so that an entry that was changed, removed or moved breaks the chain, and the count that
SQLite keeps of the entries shows whether the last ones are missing.  A record that may change, as a
batch that is struck, gets a further entry, and the last one counts.

A seal shows damage and clumsy hands.  Who can write the file can also seal it anew: no secret is kept.

What is empty at the end of a row is left out of its digest, so that a column that a later program adds
changes no seal.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

__all__ = [
    "CHANGED",
    "TABLES",
    "add_seal",
    "fault_words",
    "faults_of",
    "seal_all",
    "sealed",
    "tables_of",
]

#: Tables whose rows are records by themselves, and those whose rows belong to a batch.
_RECORDS = ("recipe", "version", "lot", "batch", "verdict")
_OF_BATCH = ("weight", "further", "weighing")

#: Every table with something to read in it.
TABLES = (*_RECORDS, *_OF_BATCH)

#: What is said of a record that says something else than when it was sealed.
CHANGED = "is not as it was written"

_ENTRY = "SELECT id, what, row, digest, link FROM seal "
_NOTHING: tuple[Any, ...] = (None, "")

Rows = Sequence[Sequence[Any]]
Record = tuple[str, int]

_encode = json.JSONEncoder(separators=(",", ":"), default=repr).encode  # what is no text: as bytes


def sealed(text: str) -> str:
    """Return the seal of a text: a hash that shows whether a letter has changed since."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def add_seal(db: sqlite3.Connection, what: str, row: int) -> None:
    """Seal a record as it stands, within the change that wrote it."""
    tables = {what: db.execute(f"SELECT * FROM {what} WHERE id = ?", (row,)).fetchall()}
    if what == "batch":
        for part in _OF_BATCH:
            words = f"SELECT * FROM {part} WHERE batch = ? ORDER BY id"
            tables[part] = db.execute(words, (row,)).fetchall()
    ((record, digest),) = _digests(tables)
    last = db.execute(_ENTRY + "ORDER BY id DESC LIMIT 1").fetchone()
    number, link = (0, "") if last is None else (last[0], last[4])
    _append(db, number + 1, link, record, digest)


def seal_all(db: sqlite3.Connection) -> None:
    """Seal every record of a notebook that has no seals yet, within the change that brings them."""
    link = ""
    for number, (record, digest) in enumerate(_digests(tables_of(db)), start=1):
        link = _append(db, number, link, record, digest)


def tables_of(db: sqlite3.Connection) -> dict[str, Rows]:
    """Return all rows of every table in order, the seals too, to be read by :func:`faults_of`."""
    found: dict[str, Rows] = {
        name: db.execute(f"SELECT * FROM {name} NOT INDEXED ORDER BY id").fetchall()
        for name in (*TABLES, "seal")
    }
    found["sqlite_sequence"] = db.execute(
        "SELECT seq FROM sqlite_sequence WHERE name = 'seal'"
    ).fetchall()
    return found


def faults_of(tables: Mapping[str, Rows]) -> dict[Record, str]:
    """Return what is not as it was written, by record, and in what way, as a clause.

    Parameters
    ----------
    tables:
        As :func:`tables_of` returns them; of a damaged notebook, what can be read of them.

    Returns
    -------
    dict
        Empty where all is well.  Entries of the chain itself stand under ``"seal"``.
    """
    found: dict[Record, str] = {}
    wanted: dict[Record, str] = {}
    link, count = "", 0
    for number, what, row, digest, linked in tables["seal"]:
        count += 1
        if number != count:
            found.setdefault(("seal", count), "is missing from the chain of seals")
            count = number
        elif linked != _link(link, number, what, row, digest):
            found["seal", number] = "breaks the chain of seals"
        link = linked
        if what in _RECORDS:  # else its link has told
            wanted[what, row] = digest
    ever = [seq for (seq,) in tables["sqlite_sequence"]]
    if ever != [count] and (ever or count):
        found["seal", count + 1] = "is missing from the chain of seals"
    for record, digest in _digests(tables):
        expected = wanted.pop(record, None)
        if expected is None:
            found[record] = "is under no seal: another program wrote it"
        elif expected != digest:
            found[record] = CHANGED
    return found | dict.fromkeys(wanted, "was removed")


def fault_words(record: Record, how: str) -> str:
    """Return a fault as a sentence without a full stop."""
    what, row = record
    return f"{'Entry' if what == 'seal' else what.capitalize()} {row} {how}"


def _digests(tables: Mapping[str, Rows]) -> Iterator[tuple[Record, str]]:
    """The digest of every record in some tables."""
    parts: dict[Any, list[tuple[str, Sequence[Any]]]] = {}
    for name in _OF_BATCH:
        for row in tables.get(name, ()):
            parts.setdefault(row[1], []).append((name, _without_end(row)))
    for what in _RECORDS:
        for row in tables.get(what, ()):
            said: list[Any] = [what, _without_end(row)]
            if what == "batch":
                said += parts.pop(row[0], ())
            yield (what, row[0]), sealed(_encode(said))
    for batch in parts:
        yield ("batch", batch), ""  # parts whose batch is gone


def _without_end(row: Sequence[Any]) -> Sequence[Any]:
    end = len(row)
    while row[end - 1] in _NOTHING:
        end -= 1
    return row[:end]


def _link(before: str, *entry: Any) -> str:
    return sealed(_encode([before, *entry]))


def _append(db: sqlite3.Connection, number: int, before: str, record: Record, digest: str) -> str:
    link = _link(before, number, *record, digest)
    db.execute("INSERT INTO seal VALUES (?, ?, ?, ?, ?)", (number, *record, digest, link))
    return link
