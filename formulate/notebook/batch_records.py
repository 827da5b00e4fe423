"""Batches in the notebook: what was weighed, read and measured, and what the cook said of it.

A batch belongs to a version of a recipe and keeps the weights really used and the lots they came from,
so that it can be made again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date as Date
from inspect import signature
from math import isfinite
from typing import Any
from uuid import uuid4

from formulate.data import made_with
from formulate.errors import InputError, nearest
from formulate.ingredients import Lot, ingredient_table
from formulate.mix import mixture
from formulate.notebook.deliveries import (
    chosen_lots,
    lot_as_written,
    lots_of,
    lots_where,
    taken,
    with_lots,
)
from formulate.notebook.doubts import require_likely_batch
from formulate.notebook.recipes import find_recipe, folded, kept_version, line_of_text
from formulate.notebook.seals import add_seal
from formulate.notebook.store import Notebook
from formulate.recipes import (
    VERBS,
    Recipe,
    RecipeIngredient,
    retained_from_weighing,
    scaled,
    yield_from_weighing,
)

__all__ = [
    "FIRMNESS",
    "SWEETNESS",
    "Batch",
    "Figures",
    "FurtherLot",
    "UsedWeight",
    "Verdict",
    "Weighing",
    "add_batch",
    "add_verdict",
    "batch",
    "batches",
    "check_batch",
    "check_verdict",
    "day",
    "made",
    "made_recipe",
    "strike",
    "strike_batch",
    "verdict",
]

#: The five steps of a verdict on firmness, softest first, and of one on sweetness.
FIRMNESS = dict(enumerate("too soft,rather soft,just right,rather hard,too hard".split(","), -2))
SWEETNESS = dict(
    enumerate("not sweet enough,rather little,just right,rather sweet,too sweet".split(","), -2)
)

_RANGES = {
    "brix": (0.0, 85.0, "°Bx"),
    "churn_minutes": (0.0, 600.0, "minutes"),
    "draw_c": (-30.0, 5.0, "°C"),
    "serving_c": (-30.0, 0.0, "°C"),
    "overrun_percent": (0.0, 300.0, "%"),
}
_MOST_G = 1e7


@dataclass(frozen=True, slots=True)
class Figures:
    """What was read (of the mix, at 20 °C) and measured of a batch; ``None`` where it was not."""

    brix: float | None = None
    churn_minutes: float | None = None
    draw_c: float | None = None
    serving_c: float | None = None
    overrun_percent: float | None = None


@dataclass(frozen=True, slots=True)
class UsedWeight:
    """What was weighed of an ingredient [g], and the number of its lot, if it has one.

    ``taken_g`` is what that took from the lot, as bought [g]: more, where it is trimmed before the scale.
    """

    key: str
    grams: float
    lot: int | None = None
    taken_g: float | None = None


@dataclass(frozen=True, slots=True)
class FurtherLot:
    """A lot that was blended into the first one of an ingredient, and what of it, as bought [g]."""

    key: str
    lot: int
    taken_g: float


@dataclass(frozen=True, slots=True)
class Weighing:
    """A step weighed before and after [g]; for an infusion the liquid, and the herb beside."""

    key: str
    step: str
    before_g: float
    after_g: float
    herb_g: float | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a cook said of a batch at a temperature [°C]; ``None`` where nothing was said of it.

    ``firmness`` and ``sweetness`` are keys of the dicts of these names.  ``uid`` is given by the
    notebook, so that what two notebooks share is known as the same.
    """

    at_c: float | None = None
    firmness: int | None = None
    sweetness: int | None = None
    sandy: bool = False
    icy: bool = False
    note: str = ""
    cook: str = ""
    uid: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """One making of a version of a recipe; ``struck`` says why it does not count, "" if it does.

    ``made_with`` names the versions of program, table and model at the time, "" where not known.
    """

    number: int
    uid: str
    name: str
    version: int
    made: Date
    cook: str
    note: str
    struck: str = ""
    made_with: str = ""
    figures: Figures = Figures()
    weights: tuple[UsedWeight, ...] = ()
    further: tuple[FurtherLot, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    verdicts: tuple[Verdict, ...] = ()


def made(
    notebook: Notebook,
    name: str,
    weights: Mapping[str, float],
    *,
    version: int | None = None,
    lots_used: Mapping[str, int] | None = None,
    further: tuple[FurtherLot, ...] = (),
    figures: Figures = Figures(),
    weighings: tuple[Weighing, ...] = (),
    on: Date | None = None,
    cook: str = "",
    note: str = "",
    sure: bool = False,
) -> Batch:
    """Note a batch of a version of a recipe, the newest if ``None``; made today if no day is given.

    Weights are grams really used, by key; what is not named was used as the version says, and what the
    version lacks may be anything of the table.  Lots are numbers by key; without one, what the version
    says of the lot or its reading; ``further`` lots are what was blended into the first.

    Parameters
    ----------
    notebook:
        The notebook, open.
    name:
        Of the recipe, or a word of it that no other has.
    weights:
        Grams really used, by key, 0 or more.
    version:
        Of the recipe; ``None``: the newest.
    lots_used:
        Numbers of lots by key.
    further:
        Lots that were blended into the first.
    figures:
        What was read of the mix.
    weighings:
        What was weighed before and after steps.
    on:
        The day; ``None``: today.
    cook, note:
        Who, and in one's own words.
    sure:
        Whether the day is right, be it unlikely.

    Returns
    -------
    Batch

    Raises
    ------
    InputError
        If something cannot be or is not known at all.
    Doubt
        Unless that is ``sure``: for a day to come, and for lots that came in later or were past their
        use-by.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     made(notebook, "damson", {"sucrose": 305.0}).number
    1
    """
    kept = kept_version(notebook, name, version)
    known = {entry.key: entry for entry in kept.recipe.ingredients}
    used = _all_weights(kept.recipe, weights)
    new = Batch(0, uuid4().hex, kept.name, kept.number, on or Date.today(), cook, note)
    new = replace(new, made_with=made_with(), figures=figures, weighings=weighings)
    check_batch(new, used, "made")
    with notebook.writing() as db:
        chosen = chosen_lots(db, lots_used or {}, used)
        for key in used:
            lot = _lot_of(known[key]) if key in known else None
            if lot is not None and key not in chosen:
                chosen[key] = lot_as_written(db, lot)
        lots = {key: lots_where(db, "id = ?", (at,))[at] for key, at in chosen.items()}
        took = taken(kept.recipe, used, lots)
        for each in further:
            chosen_lots(db, {each.key: each.lot}, took)
            took[each.key] = round(took[each.key] - each.taken_g, 6)
        if not sure:
            more = {f"{each.key} blended in": each.lot for each in further}
            blends = {key: lots_where(db, "id = ?", (at,))[at] for key, at in more.items()}
            require_likely_batch(new.made, lots | blends, Date.today())
        lines = (UsedWeight(key, g, chosen.get(key), took.get(key)) for key, g in used.items())
        new = replace(new, weights=tuple(lines), further=further)
        check_batch(new, used, "made")
        return replace(new, number=add_batch(db, new))


def verdict(notebook: Notebook, number: int, said: Verdict) -> Batch:
    """Note a verdict on a batch; raises InputError if there is no such batch or it says nothing.

    Parameters
    ----------
    notebook:
        The notebook, open.
    number:
        Of the batch.
    said:
        What the cook says.

    Returns
    -------
    Batch

    Raises
    ------
    InputError
        If there is no such batch, or nothing is said.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = made(notebook, "damson", {"sucrose": 305.0})
    ...     len(verdict(notebook, 1, Verdict(-12.0, 1)).verdicts)
    1
    """
    check_verdict(said, f"verdict on batch {number}")
    said = replace(said, uid=uuid4().hex)
    with notebook.writing() as db:
        found = _one(db, number)
        add_verdict(db, number, said)
    return replace(found, verdicts=(*found.verdicts, said))


def strike(notebook: Notebook, number: int, why: str) -> Batch:
    """Strike a batch that was noted by mistake: it stays, and teaches nothing.

    Parameters
    ----------
    notebook:
        The notebook, open.
    number:
        Of the batch.
    why:
        In one's own words.

    Returns
    -------
    Batch

    Raises
    ------
    InputError
        If there is no such batch, or no reason is given.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = made(notebook, "damson", {"sucrose": 305.0})
    ...     strike(notebook, 1, "noted twice").struck
    'noted twice'
    """
    if not line_of_text(why, "why").strip():
        raise InputError(f"batch {number}", "cannot be struck without a reason", "Say why.")
    with notebook.writing() as db:
        _one(db, number)
        strike_batch(db, number, why)
        return _one(db, number)


def batch(notebook: Notebook, number: int) -> Batch:
    """Return one batch; raises InputError if there is none of this number.

    Parameters
    ----------
    notebook:
        The notebook, open.
    number:
        Its number.

    Returns
    -------
    Batch

    Raises
    ------
    InputError
        If there is none of this number.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = made(notebook, "damson", {"sucrose": 305.0})
    ...     {used.key: used.grams for used in batch(notebook, 1).weights}["sucrose"]
    305.0
    """
    with notebook.reading() as db:
        return _one(db, number)


def batches(notebook: Notebook, name: str | None = None) -> tuple[Batch, ...]:
    """Return batches in the order in which they were noted, of one recipe or all; struck ones too.

    Parameters
    ----------
    notebook:
        The notebook, open.
    name:
        Of one recipe; ``None`` for all.

    Returns
    -------
    tuple of Batch

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = made(notebook, "damson", {"sucrose": 305.0})
    ...     len(batches(notebook))
    1
    """
    key = None if name is None else folded(find_recipe(notebook, name))
    with notebook.reading() as db:
        return _batches(db, "? IS NULL OR folded = ?", (key, key))


def made_recipe(notebook: Notebook, number: int, grams: float | None = None) -> Recipe:
    """Return the recipe that makes a batch again, with the weights and lots really used.

    For ``grams`` of mix, or as much as it was; raises InputError if there is no such batch.

    Parameters
    ----------
    notebook:
        The notebook, open.
    number:
        Of the batch.
    grams:
        Mix that is wanted [g], above 0; ``None``: as much as it was.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If there is no such batch.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = made(notebook, "damson", {"sucrose": 305.0})
    ...     made_recipe(notebook, 1, 1000.0).batch_g
    1000.0
    """
    found = batch(notebook, number)
    recipe = kept_version(notebook, found.name, found.version).recipe
    with notebook.reading() as db:
        parts = lots_of(db, number)
    used = with_lots(recipe, {weight.key: weight.grams for weight in found.weights}, parts)
    reach = mixture(replace(recipe, ingredients=used)).reach
    total = float(reach @ [weight.grams for weight in found.weights])
    wanted = total if grams is None else grams
    if not (isfinite(wanted) and 0.0 < wanted <= _MOST_G and total > 0.0):
        raise InputError("grams", f"{wanted:g} g is no batch", "Give grams of mix, above 0.")
    again = replace(recipe, batch_g=total, ingredients=used)
    return replace(scaled(again, wanted / total), batch_g=round(wanted, 3))


def add_batch(db: sqlite3.Connection, new: Batch) -> int:
    """Write a batch within a change, with all its parts; return its number, its own unless taken."""
    version = db.execute(
        "SELECT version.id FROM version JOIN recipe ON recipe.id = version.recipe "
        "WHERE folded = ? AND number = ?",
        (folded(new.name), new.version),
    ).fetchone()
    if version is None:
        problem = f"is of version {new.version} of {new.name}, which is not kept"
        raise InputError(f"batch {new.number}", problem, "Keep that recipe first.")
    taken = db.execute("SELECT 1 FROM batch WHERE id = ?", (new.number,)).fetchone()
    row = {"uid": new.uid, "version": version[0], "made": new.made.isoformat(), "cook": new.cook}
    row |= {"parts": len(new.weights), "note": new.note, "struck": new.struck}
    row["made_with"] = new.made_with
    row["id"] = None if taken or not new.number else new.number
    number = _insert(db, "batch", row | asdict(new.figures))
    parts = [("weight", asdict(part)) for part in new.weights]
    parts += [("further", asdict(part)) for part in new.further]
    parts += [("weighing", asdict(part)) for part in new.weighings]
    for table, values in parts:
        _insert(db, table, {"batch": number, **values})
    add_seal(db, "batch", number)
    for said in new.verdicts:
        add_verdict(db, number, said)
    return number


def strike_batch(db: sqlite3.Connection, number: int, why: str) -> None:
    """Strike a batch within a change, unless it is struck already."""
    words = "UPDATE batch SET struck = ? WHERE id = ? AND struck = ''"
    if why and db.execute(words, (why, number)).rowcount:
        add_seal(db, "batch", number)


def add_verdict(db: sqlite3.Connection, number: int, said: Verdict) -> None:
    """Write a verdict on a batch within a change."""
    add_seal(db, "verdict", _insert(db, "verdict", {"batch": number, **asdict(said)}))


def check_batch(new: Batch, used: Mapping[str, float], place: str) -> None:
    """Raise InputError if a text, figure or weighing of a batch, or these weights, cannot be."""
    line_of_text(new.cook, "cook")
    line_of_text(new.note, "note")
    line_of_text(new.made_with, "made_with")
    values = {name: (getattr(new.figures, name), *bounds) for name, bounds in _RANGES.items()}
    values |= {f"weight of {key}": (grams, 0.0, _MOST_G, "g") for key, grams in used.items()}
    values |= {f"taken of {w.key}": (w.taken_g, 0.0, _MOST_G, "g") for w in new.weights}
    values |= {f"taken of lot {f.lot}": (f.taken_g, 0.0, _MOST_G, "g") for f in new.further}
    for name, (value, low, high, unit) in values.items():
        if value is not None and not low <= value <= high:
            problem = f"is {value:g}, and must be from {low:g} to {high:g} {unit}"
            raise InputError(f"{place}, {name}", problem, "Read or weigh again.")
    for weighing in new.weighings:
        where = f"{place}, weighing of {weighing.key}"
        for word, known in ((weighing.key, used), (weighing.step, VERBS)):
            if word not in known:
                hint = nearest(word, known) or f"Known here: {', '.join(known)}."
                raise InputError(where, f'"{word}" is not known here', hint)
        herb_g, before, after = weighing.herb_g, weighing.before_g, weighing.after_g
        if (weighing.step == "infuse") != (herb_g is not None):
            remedy = "Give herb, liquid and strained liquid of an infusion, else before and after."
            raise InputError(where, "has weights that do not fit the step", remedy)
        if herb_g is None:
            yield_from_weighing(before, after)
        else:
            retained_from_weighing(before, herb_g, after)


def check_verdict(said: Verdict, place: str) -> None:
    """Raise InputError if a verdict says nothing, or says what cannot be."""
    for name, steps in (("firmness", FIRMNESS), ("sweetness", SWEETNESS)):
        value = getattr(said, name)
        if value is not None and value not in steps:
            shown = ", ".join(f"{step} ({word})" for step, word in steps.items())
            raise InputError(f"{place}, {name}", f"is {value}, none of {shown}", "Choose one.")
    if said.at_c is not None and not -30.0 <= said.at_c < 0.0:
        problem = f"is {said.at_c:g}, and must be from -30 to below 0 °C"
        raise InputError(f"{place}, at", problem, "Give the temperature as served, like -14.")
    if said.firmness is not None and said.at_c is None:
        problem = "is told without the temperature at which it was tasted"
        raise InputError(f"{place}, firmness", problem, "Give it: --at -14.")
    heard = said.firmness is not None or said.sweetness is not None or said.sandy or said.icy
    if not line_of_text(said.note, "note").strip() and not heard:
        raise InputError(place, "says nothing", "Give --firmness, --sweetness, --sandy or --icy.")
    line_of_text(said.cook, "cook")


def day(text: str, place: str) -> Date:
    """Return the day in a text like 2026-11-25; raises InputError if it is none.

    Parameters
    ----------
    text:
        Year, month and day.
    place:
        Where it stands, for messages.

    Returns
    -------
    date

    Raises
    ------
    InputError
        If it is none.

    Examples
    --------
    >>> day("2026-11-25", "--on")
    datetime.date(2026, 11, 25)
    """
    try:
        return Date.fromisoformat(text)
    except ValueError:
        raise InputError(place, f"is {text!r}, not a day", "Write it as 2026-11-25.") from None


def _all_weights(recipe: Recipe, weights: Mapping[str, float]) -> dict[str, float]:
    """Weights by key: the version's own, and those that were otherwise."""
    used = {entry.key: weights.get(entry.key, entry.grams) for entry in recipe.ingredients}
    for key in weights.keys() - used.keys() - ingredient_table().keys():
        hint = nearest(key, [*used, *ingredient_table()]) or f"The recipe has {', '.join(used)}."
        raise InputError(f"weight of {key}", "is neither in the recipe nor in the table", hint)
    found = {}
    for key, grams in (used | dict(weights)).items():
        if grams is None:
            problem = "is not known: the version gives none"
            raise InputError(f"weight of {key}", problem, f"Give {key}=GRAMS.")
        found[key] = float(grams)
    if not any(found.values()):
        raise InputError("weights", "are all zero", "Give what was weighed.")
    return found


def _lot_of(entry: RecipeIngredient) -> Lot | None:
    """The lot that a version says an ingredient is of, be it only a reading."""
    if entry.brix is None:
        return entry.lot
    lot = entry.lot or Lot(entry.key)
    return replace(lot, reading=entry.brix, temperature_c=entry.brix_temperature_c)


def _insert(db: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> int:
    marks = ", ".join("?" * len(row))
    words = f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})"
    return int(db.execute(words, tuple(row.values())).lastrowid or 0)


def _one(db: sqlite3.Connection, number: int) -> Batch:
    found = _batches(db, "batch.id = ?", (number,))
    if not found:
        remedy = "`formulate history NAME` lists the batches of a recipe."
        raise InputError(f"batch {number}", "is not in the notebook", remedy)
    return found[0]


def _batches(db: sqlite3.Connection, where: str, given: tuple[Any, ...]) -> tuple[Batch, ...]:
    of = "FROM batch JOIN version ON version.id = batch.version JOIN recipe ON recipe.id = recipe "
    which = f"{of}WHERE {where}"

    def parts(table: str, kind: Callable[..., Any]) -> dict[int, list[Any]]:
        columns = ", ".join(signature(kind).parameters)
        words = f"SELECT batch, {columns} FROM {table} WHERE batch IN (SELECT batch.id {which})"
        found: dict[int, list[Any]] = {}
        for number, *values in db.execute(f"{words} ORDER BY id", given):
            found.setdefault(number, []).append(kind(*values))
        return found

    columns = "batch.id, uid, name, number, made, batch.cook, batch.note, struck, batch.made_with"
    rows = db.execute(f"SELECT {columns}, {', '.join(_RANGES)} {which} ORDER BY batch.id", given)
    weights, weighings = parts("weight", UsedWeight), parts("weighing", Weighing)
    further = parts("further", FurtherLot)
    verdicts = parts("verdict", Verdict)
    found = []
    for number, uid, name, version, on, cook, note, struck, made_by, *figures in rows.fetchall():
        own = [tuple(part.get(number, ())) for part in (weights, weighings, verdicts, further)]
        made = day(on, f"batch {number}")
        new = Batch(number, uid, name, version, made, cook, note, struck, made_by)
        new = replace(new, figures=Figures(*figures), weights=own[0])
        found.append(replace(new, weighings=own[1], verdicts=own[2], further=own[3]))
    return tuple(found)
