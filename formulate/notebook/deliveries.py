"""Lots in the notebook: what came in, how much of it is left, and which to use first.

Every delivery is a lot of its own, be it in all that is known of it like another.  A lot is never
changed.  What is left of it is what came in less what batches took, as bought; batches that were struck
took nothing.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date as Date
from typing import Any
from uuid import uuid4

from formulate.errors import InputError
from formulate.ingredients import Lot, StockLot, first_to_use, lot_data, lot_from_data
from formulate.mix import blended, mixture
from formulate.notebook.doubts import require_likely_lot
from formulate.notebook.seals import add_seal, sealed
from formulate.notebook.store import Notebook
from formulate.recipes import Recipe, RecipeIngredient

__all__ = [
    "LOT",
    "Left",
    "add_lot",
    "chosen_lots",
    "delivered",
    "lot_as_written",
    "lots",
    "lots_of",
    "lots_where",
    "name_lots",
    "stock",
    "taken",
    "uid_of",
    "with_lots",
]

#: Columns of a lot.
LOT = tuple(Lot.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class Left:
    """A lot by its number, and what is left of it [g as bought]; ``None`` where no grams were noted.

    Below zero, more was noted as used than came in.
    """

    number: int
    lot: Lot
    grams: float | None

    @property
    def is_there(self) -> bool:
        """Whether anything may be left: false only where it is known to be used up."""
        return self.grams is None or self.grams > 0.0

    @property
    def name(self) -> str:
        """What the kitchen calls it, or its number."""
        return self.lot.name or f"lot {self.number}"


def delivered(notebook: Notebook, lot: Lot, *, sure: bool = False) -> Left:
    """Note a delivery, as a lot of its own; return it.

    Parameters
    ----------
    notebook, lot:
        Where, and what is known of it.
    sure:
        Whether unlikely days are right.

    Returns
    -------
    Left
        The lot with its number; all of it is left.

    Raises
    ------
    Doubt
        If it came in on a day to come or past its use-by, unless that is ``sure``.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     delivered(notebook, Lot("damson", grams=5000.0)).number
    1
    """
    if not sure:
        require_likely_lot(lot, Date.today())
    with notebook.writing() as db:
        return Left(add_lot(db, lot), lot, lot.grams)


def add_lot(db: sqlite3.Connection, lot: Lot, uid: str | None = None) -> int:
    """Write a delivery within a change; return its number.

    It is a lot of its own, unless one with this ``uid`` is there already, as when an export is taken in.

    Parameters
    ----------
    db:
        Within a change: ``notebook.writing()``.
    lot:
        The delivery.
    uid:
        What it is known by in every copy of the notebook; ``None`` for a new one.

    Returns
    -------
    int

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     with notebook.writing() as db:
    ...         add_lot(db, fm.Lot("damson", reading=12.5))
    1
    """
    uid = uuid4().hex if uid is None else uid
    known = db.execute("SELECT id FROM lot WHERE uid = ?", (uid,)).fetchone()
    if known is not None:
        return int(known[0])
    row = lot_data(lot) | {"uid": uid}
    marks = ", ".join("?" * len(row))
    words = f"INSERT INTO lot ({', '.join(row)}) VALUES ({marks})"
    number = int(db.execute(words, tuple(row.values())).lastrowid or 0)
    add_seal(db, "lot", number)
    return number


def lot_as_written(db: sqlite3.Connection, lot: Lot) -> int:
    """Return the lot that a recipe speaks of, within a change.

    The first delivery in these words of which something is left, else the last in these words, else a
    lot that is written now.
    """
    words = " AND ".join(f"{name} IS ?" for name in LOT)
    given = tuple(lot_data(lot).values())
    known = [row[0] for row in db.execute(f"SELECT id FROM lot WHERE {words} ORDER BY id", given)]
    used = _taken_of_lots(db)
    there = [n for n in known if lot.grams is None or used.get(n, 0.0) < lot.grams]
    if there or known:
        return int(there[0] if there else known[-1])
    return add_lot(db, lot, uid_of(lot))


def uid_of(lot: Lot) -> str:
    """Return the name of a lot that was written when two of the same words were one."""
    values = [float(v) if isinstance(v, int | float) else v for v in lot_data(lot).values()]
    return sealed(json.dumps(values))[:32]


def name_lots(db: sqlite3.Connection) -> None:
    """Give the lots of an earlier notebook the names that its exports give them, within a change."""
    for number, lot in lots_where(db, "uid = ?", ("",)).items():
        db.execute("UPDATE lot SET uid = ? WHERE id = ?", (uid_of(lot), number))


def lots(notebook: Notebook, key: str | None = None) -> dict[int, Lot]:
    """Return lots by number, of one ingredient or all.

    Parameters
    ----------
    notebook:
        The notebook, open.
    key:
        Of one ingredient; ``None`` for all.

    Returns
    -------
    dict
        Lots by number.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     lots(notebook)
    {}
    """
    with notebook.reading() as db:
        return lots_where(db, "? IS NULL OR key = ?", (key, key))


def stock(notebook: Notebook, key: str | None = None) -> tuple[Left, ...]:
    """Return lots with what is left of them, of one ingredient or all, what to use first at the front.

    Parameters
    ----------
    notebook:
        The notebook, open.
    key:
        Of one ingredient; ``None`` for all.

    Returns
    -------
    tuple of Left

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     with notebook.writing() as db:
    ...         number = add_lot(db, fm.Lot("damson", grams=5000.0))
    ...     stock(notebook)[0].lot.key
    'damson'
    """
    with notebook.reading() as db:
        found = lots_where(db, "? IS NULL OR key = ?", (key, key))
        taken = _taken_of_lots(db)
    left = (
        Left(
            number, lot, None if lot.grams is None else round(lot.grams - taken.get(number, 0.0), 6)
        )
        for number, lot in found.items()
    )
    return tuple(sorted(left, key=lambda each: (not each.is_there, *first_to_use(each.lot))))


def _taken_of_lots(db: sqlite3.Connection) -> dict[int, float]:
    """What batches that count took of each lot, as bought [g]."""
    rows = db.execute(
        "SELECT part.lot, sum(part.grams) FROM (SELECT batch, lot, coalesce(taken_g, grams) AS "
        "grams FROM weight UNION ALL SELECT batch, lot, taken_g FROM further) AS part "
        "JOIN batch ON batch.id = part.batch "
        "WHERE batch.struck = '' AND part.lot IS NOT NULL GROUP BY part.lot"
    )
    return dict(rows.fetchall())


def lots_where(db: sqlite3.Connection, where: str, given: tuple[Any, ...]) -> dict[int, Lot]:
    """Return the lots of a condition, by number."""
    rows = db.execute(f"SELECT id, {', '.join(LOT)} FROM lot WHERE {where} ORDER BY id", given)
    return {number: lot_from_data(dict(zip(LOT, row, strict=True))) for number, *row in rows}


def lots_of(db: sqlite3.Connection, batch: int) -> dict[str, list[tuple[Lot, float]]]:
    """Return the lots of a batch by ingredient, each with what was taken of it, as bought [g]."""
    rows = db.execute(
        "SELECT key, lot, coalesce(taken_g, grams) FROM weight WHERE batch = ? AND lot IS NOT NULL "
        "UNION ALL SELECT key, lot, taken_g FROM further WHERE batch = ?",
        (batch, batch),
    )
    found: dict[str, list[tuple[Lot, float]]] = {}
    for key, number, grams in rows.fetchall():
        found.setdefault(key, []).append((lots_where(db, "id = ?", (number,))[number], grams))
    return found


def chosen_lots(
    db: sqlite3.Connection, chosen: Mapping[str, int], used: Mapping[str, float]
) -> dict[str, int]:
    """Return lots chosen by ingredient; raises InputError if one is unknown or not of what was used."""
    for key, number in chosen.items():
        row = db.execute("SELECT 1 FROM lot WHERE id = ? AND key = ?", (number, key)).fetchone()
        if row is None or key not in used:
            problem = "is of something else, was not used, or is not in the notebook"
            raise InputError(f"lot {number} of {key}", problem, "See `formulate notebook lots`.")
    return dict(chosen)


def with_lots(
    recipe: Recipe, used: Mapping[str, float], lots: Mapping[str, Sequence[tuple[Lot, float]]]
) -> tuple[RecipeIngredient, ...]:
    """Return the ingredients of a batch: weights really used [g], and the lots that they came from.

    Of several lots, each with what was taken of it, an ingredient is their blend.
    """
    entries = {entry.key: entry for entry in recipe.ingredients}
    found = [
        replace(entries.get(key, RecipeIngredient(key)), grams=grams) for key, grams in used.items()
    ]
    for at, entry in enumerate(found):
        parts = lots.get(entry.key, ())
        if len(parts) == 1:
            found[at] = replace(entry, lot=parts[0][0], brix=None, brix_temperature_c=20.0)
        elif parts:
            row = mixture(replace(recipe, ingredients=(entry,), targets={})).raw[0]
            blend = tuple((StockLot(lot), grams) for lot, grams in parts)
            found[at] = blended(entry, row, blend)
    return tuple(found)


def taken(recipe: Recipe, used: Mapping[str, float], lots: Mapping[str, Lot]) -> dict[str, float]:
    """Return what the weights of a batch take from their lots, as bought [g]: trimmings included."""
    entries = with_lots(recipe, used, {key: [(lot, 1.0)] for key, lot in lots.items()})
    each = dict.fromkeys(lots, 1.0)
    if any(entry.steps and entry.key in lots for entry in entries):
        mix = mixture(replace(recipe, ingredients=entries))
        prepared = zip(mix.keys, mix.prepared, strict=True)
        each |= {key: done.buy_per_weighed for key, done in prepared if done is not None}
    return {key: used[key] * each[key] for key in lots}
