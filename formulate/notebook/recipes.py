"""Recipes in the notebook: keeping versions, finding them again, and what moved between two of them.

A version is never changed.  Who keeps a recipe says which version it was made from; if another version
was kept since, it is refused, so that nobody's change is lost unseen.
"""

from __future__ import annotations

import sqlite3
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from formulate.answers import balance, check
from formulate.data import made_with
from formulate.errors import InputError, nearest
from formulate.ingredients import properties
from formulate.messages import Message, message
from formulate.mix import COST_KEY, FREEZING_KEY, Assessment, fine, target_name
from formulate.notebook.seals import add_seal, sealed
from formulate.notebook.store import Notebook
from formulate.recipes import Recipe, parse, to_toml

__all__ = [
    "Comparison",
    "Found",
    "KeptVersion",
    "Moved",
    "add_version",
    "compare",
    "find_recipe",
    "folded",
    "history",
    "is_letter",
    "keep",
    "kept_version",
    "line_of_text",
    "search",
]

_LONGEST = 2000
_COLUMNS = "name, number, kept, cook, note, made_with, toml, seal"
_SELECT = f"SELECT {_COLUMNS} FROM version JOIN recipe ON recipe.id = version.recipe "


@dataclass(frozen=True, slots=True)
class KeptVersion:
    """One version of a recipe.

    ``number`` counts from 1; ``kept`` is when, in UTC; ``cook`` and ``note`` are who and why, "" where
    not said; ``made_with`` names the versions of program, table and model; ``toml`` is the recipe file.
    """

    name: str
    number: int
    kept: str
    cook: str
    note: str
    made_with: str
    toml: str

    @property
    def recipe(self) -> Recipe:
        """The recipe itself."""
        return parse(self.toml.encode("utf-8"), f"{self.name}, version {self.number}")


@dataclass(frozen=True, slots=True)
class Found:
    """One recipe of the notebook: its newest version, and how many batches were made of it."""

    newest: KeptVersion
    batches: int


@dataclass(frozen=True, slots=True)
class Moved:
    """One weight or property in two versions; ``None`` where one has no such thing.

    ``has_moved`` says whether it differs in the decimals that a cook sees, of which there are ``digits``.
    """

    key: str
    name: str
    unit: str
    before: float | None
    after: float | None
    digits: int
    has_moved: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two versions side by side.

    Weights are for ``per_g`` grams of mix: the batch where both have the same, else 1000.  ``settings``
    is what else the files say differently: where, before, after, "" where one says nothing.
    """

    name: str
    first: int
    second: int
    per_g: float
    weights: tuple[Moved, ...]
    properties: tuple[Moved, ...]
    settings: tuple[tuple[str, str, str], ...]
    remarks: tuple[Message, ...]


def keep(
    notebook: Notebook, recipe: Recipe, *, onto: int | None = None, cook: str = "", note: str = ""
) -> KeptVersion:
    """Keep a recipe as a new version; what is kept already in the same words is only returned.

    ``onto`` is the version that this one was made from, ``None`` for a recipe that is not in the
    notebook.  Raises InputError if the newest version is another, and says what to do then.

    Parameters
    ----------
    notebook:
        The notebook, open.
    recipe:
        The recipe.
    onto:
        The version that this one was made from, ``None`` for a recipe that is not in the notebook.
    cook, note:
        Who and why, in one's own words.

    Returns
    -------
    KeptVersion

    Raises
    ------
    InputError
        If the newest version is another; it says what to do then.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     keep(notebook, fm.load("damson_sorbet"), note="riper fruit").number
    1
    """
    line_of_text(cook, "cook")
    line_of_text(note, "note")
    text = to_toml(parse(to_toml(recipe).encode("utf-8"), recipe.name))
    with notebook.writing() as db:
        which = "WHERE folded = ? ORDER BY number DESC LIMIT 1"
        found = db.execute(_SELECT + which, (folded(recipe.name),)).fetchone()
        newest = None if found is None else _version(found)
        if newest is not None and newest.toml == text:
            return newest
        _require_newest(recipe.name, newest, onto)
        number = 1 if newest is None else newest.number + 1
        kept = datetime.now(UTC).isoformat(timespec="seconds")
        add_version(db, KeptVersion(recipe.name, number, kept, cook, note, made_with(), text))
        return _one(db, recipe.name, number)


def add_version(db: sqlite3.Connection, version: KeptVersion) -> int:
    """Write a version as it is, within a change; return its row.  For keeping and for import."""
    line_of_text(version.name, "name")
    key = folded(version.name)
    known = db.execute("SELECT id FROM recipe WHERE folded = ?", (key,)).fetchone()
    if known is None:
        words = "INSERT INTO recipe (name, folded) VALUES (?, ?)"
        add_seal(db, "recipe", int(db.execute(words, (version.name, key)).lastrowid or 0))
    row = db.execute(
        "INSERT INTO version (recipe, number, kept, cook, note, toml, seal, made_with) VALUES "
        "((SELECT id FROM recipe WHERE folded = ?), ?, ?, ?, ?, ?, ?, ?)",
        (key, version.number, version.kept, version.cook, version.note)
        + (version.toml, sealed(version.toml), version.made_with),
    ).lastrowid
    add_seal(db, "version", int(row or 0))
    return int(row or 0)


def find_recipe(notebook: Notebook, word: str) -> str:
    """Return the full name of the one recipe that is called so, or whose name holds the word.

    Raises InputError if there is none, or more than one.
    """
    with notebook.reading() as db:
        names = [str(row[0]) for row in db.execute("SELECT name FROM recipe ORDER BY folded")]
    wanted = folded(word)
    same = [name for name in names if folded(name) == wanted]
    found = same or [name for name in names if wanted and wanted in folded(name)]
    if len(found) == 1:
        return found[0]
    if found:
        shown = ", ".join(f'"{name}"' for name in found[:6])
        raise InputError(word, f"could be {len(found)} recipes", f"Write the whole name: {shown}.")
    hint = nearest(wanted, [folded(name) for name in names])
    remedy = hint or "`formulate history` lists what is there."
    raise InputError(word or "name", "no recipe of the notebook is called so", remedy)


def kept_version(notebook: Notebook, name: str, number: int | None = None) -> KeptVersion:
    """Return one version, the newest if no number is given; raises InputError if there is none.

    Parameters
    ----------
    notebook:
        The notebook, open.
    name:
        Of the recipe, or a word of it that no other has.
    number:
        Of the version, from 1; ``None``: the newest.

    Returns
    -------
    KeptVersion

    Raises
    ------
    InputError
        If there is none.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     kept_version(notebook, "damson").recipe == fm.load("damson_sorbet")
    True
    """
    name = find_recipe(notebook, name)
    with notebook.reading() as db:
        return _one(db, name, number)


def history(notebook: Notebook, name: str) -> tuple[KeptVersion, ...]:
    """Return every version of a recipe, oldest first; raises InputError if there is no such recipe.

    Parameters
    ----------
    notebook:
        The notebook, open.
    name:
        Of the recipe, or a word of it that no other has.

    Returns
    -------
    tuple of KeptVersion

    Raises
    ------
    InputError
        If there is no such recipe.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     [kept.number for kept in history(notebook, "damson")]
    [1]
    """
    key = folded(find_recipe(notebook, name))
    with notebook.reading() as db:
        rows = db.execute(_SELECT + "WHERE folded = ? ORDER BY number", (key,))
        return tuple(_version(row) for row in rows)


def search(notebook: Notebook, words: str = "") -> tuple[Found, ...]:
    """Return recipes in which every word stands, by name: in the recipe, in a note, or said by a cook.

    Parameters
    ----------
    notebook:
        The notebook, open.
    words:
        In any order, in any case.

    Returns
    -------
    tuple of Found

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     [found.newest.number for found in search(notebook, "DAMSON sucrose")]
    [1]
    """
    wanted = folded(words).split()
    found = []
    with notebook.reading() as db:
        names = [str(row[0]) for row in db.execute("SELECT name FROM recipe ORDER BY folded")]
        for name in names:
            newest = _one(db, name, None)
            key = (folded(name),)
            text = " ".join([newest.toml.replace("_", " "), newest.toml, *_notes(db, key)])
            if all(word in folded(text) for word in wanted):
                count = db.execute(
                    "SELECT count(*) FROM batch JOIN version ON version.id = batch.version JOIN "
                    "recipe ON recipe.id = version.recipe WHERE folded = ? AND struck = ''",
                    key,
                ).fetchone()[0]
                found.append(Found(newest, int(count)))
    return tuple(found)


def compare(notebook: Notebook, name: str, first: int, second: int) -> Comparison:
    """Return two versions side by side: weights and properties, and what else the files say.

    A version without weights stands with the mix that balancing gives it.  Raises InputError if there
    is no such recipe or version.

    Parameters
    ----------
    notebook:
        The notebook, open.
    name:
        Of the recipe, or a word of it that no other has.
    first, second:
        Numbers of the versions.

    Returns
    -------
    Comparison

    Raises
    ------
    InputError
        If there is no such recipe or version.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = keep(notebook, fm.load("damson_sorbet").with_weights({"sucrose": 290.0}), onto=1)
    ...     [moved.key for moved in compare(notebook, "damson", 1, 2).weights if moved.has_moved]
    ['sucrose']
    """
    before, after = (kept_version(notebook, name, number) for number in (first, second))
    recipes = (before.recipe, after.recipe)
    remarks: list[Message] = []
    one, other = _judged(recipes[0], first, remarks), _judged(recipes[1], second, remarks)
    per_g = recipes[0].batch_g
    if per_g != recipes[1].batch_g:
        per_g = 1000.0
        remarks.append(message("batches_differ_in_size"))
    return Comparison(
        name=before.name,
        first=first,
        second=second,
        per_g=per_g,
        weights=_weights((one, other), recipes, per_g),
        properties=_properties(one, other, recipes),
        settings=_settings(before.toml, after.toml),
        remarks=tuple(remarks),
    )


def folded(text: str) -> str:
    """Return a text as it is compared: without regard to case, form of letters and outer spaces.

    Parameters
    ----------
    text:
        Any text.

    Returns
    -------
    str

    Examples
    --------
    >>> folded("  Damson   SORBET ")
    'damson sorbet'
    """
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def line_of_text(text: str, place: str) -> str:
    """Return a text that may be kept; raises InputError if it is too long or holds what is no text."""
    if len(text) > _LONGEST:
        problem = f"has {len(text):,} letters, and may have {_LONGEST:,}"
        raise InputError(place, problem, "Shorten it.")
    if not all(map(is_letter, text)):
        raise InputError(place, "holds what is not a letter", "Type it anew.")
    return text


def is_letter(letter: str) -> bool:
    """Say whether a letter may stand in a text of the notebook: no control but tab and new line."""
    return letter in "\n\t" or unicodedata.category(letter) not in ("Cc", "Cs")


def _require_newest(name: str, newest: KeptVersion | None, onto: int | None) -> None:
    """Refuse to keep a recipe that was made without sight of the newest version."""
    if newest is None:
        if onto is not None:
            problem = f"is not in the notebook, so there is no version {onto} to keep it onto"
            raise InputError(name, problem, "Keep it without --onto.")
        return
    if onto == newest.number:
        return
    who = f" by {newest.cook}" if newest.cook else ""
    kept = f"version {newest.number} was kept{who} on {newest.kept[:10]}"
    if onto is None:
        raise InputError(
            name,
            f"is in the notebook already: {kept}",
            f"If yours was made from it, keep it with --onto {newest.number}; if not, see it with "
            f'`formulate recall "{name}"` first, or give yours another name.',
        )
    if onto > newest.number:
        raise InputError(name, f"has no version {onto}", f"The newest is {newest.number}.")
    raise InputError(
        name,
        f"{kept}, after the version {onto} that yours was made from",
        f'See what changed with `formulate compare "{name}" {onto} {newest.number}`, put your change '
        f"into it, and keep it with --onto {newest.number}.",
    )


def _one(db: sqlite3.Connection, name: str, number: int | None) -> KeptVersion:
    which = "WHERE folded = ? AND ? IN (number, -1) ORDER BY number DESC LIMIT 1"
    row = db.execute(_SELECT + which, (folded(name), -1 if number is None else number)).fetchone()
    if row is not None:
        return _version(row)
    if number is None:
        raise InputError(name, "is not in the notebook", "Keep it first.")
    newest = _one(db, name, None).number
    raise InputError(name, f"has no version {number}", f"The newest is version {newest}.")


def _version(row: tuple[Any, ...]) -> KeptVersion:
    name, number, kept, cook, note, made_with, toml, seal = row
    if sealed(toml) != seal:
        raise InputError(
            f"{name}, version {number}",
            "the file is damaged: the recipe is not as it was kept",
            "Save what is whole with `formulate notebook export FOLDER --damaged`.",
        )
    return KeptVersion(name, number, kept, cook, note, made_with, toml)


def _notes(db: sqlite3.Connection, key: tuple[str]) -> Iterable[str]:
    of = "FROM version JOIN recipe ON recipe.id = version.recipe "
    batch = "JOIN batch ON batch.version = version.id "
    for columns, tables in (
        ("version.note, version.cook", ""),
        ("batch.note, batch.cook", batch),
        ("verdict.note, verdict.cook", batch + "JOIN verdict ON verdict.batch = batch.id "),
    ):
        rows = db.execute(f"SELECT {columns} {of}{tables}WHERE folded = ?", key)
        yield from (str(part) for row in rows for part in row)


def _judged(recipe: Recipe, number: int, remarks: list[Message]) -> Assessment:
    if recipe.is_weighed:
        return check(recipe).mix
    result = balance(recipe)
    remarks.append(message("version_without_weights", number=number, status=result.status))
    return result.mix


def _weights(
    mixes: tuple[Assessment, Assessment], recipes: tuple[Recipe, Recipe], per_g: float
) -> tuple[Moved, ...]:
    """Weights as they are written where that compares, so that only what a cook changed has moved."""
    found = []
    for mix, recipe in zip(mixes, recipes, strict=True):
        written = {entry.key: entry.grams for entry in recipe.ingredients}
        if recipe.batch_g != per_g or None in written.values():
            scale = per_g / recipe.batch_g
            written = {weight.key: weight.grams * scale for weight in mix.weights}
        found.append(written)
    names = {weight.key: weight.name for mix in mixes for weight in mix.weights}
    return tuple(
        _moved(key, name, "g", found[0].get(key), found[1].get(key)) for key, name in names.items()
    )


def _properties(
    one: Assessment, other: Assessment, recipes: tuple[Recipe, ...]
) -> tuple[Moved, ...]:
    found = []
    keys = dict.fromkeys([*one.properties, *other.properties])
    for key in keys:
        if key == FREEZING_KEY:
            continue
        recipe = recipes[0] if key in one.properties else recipes[1]
        name, unit = target_name(key, recipe)
        values = (_value(one, key), _value(other, key))
        found.append(_moved(key, name, unit, *values, 2 if fine(key, values) else 1))
    cold = ("initial_freezing_point_c", "serving_temperature_c")
    for key, name in zip(cold, ("First ice", "Middle of the serving window"), strict=True):
        found.append(_moved(key, name, "°C", getattr(one, key), getattr(other, key), 2))
    frozen = [dict(mix.frozen_water) for mix in (one, other)]
    at = float(round(other.serving.temperature_c))
    if all(at in curve for curve in frozen):
        key, name = f"frozen_water_at_{at:g}", f"Water frozen at {at:g} °C"
        found.append(_moved(key, name, "% of water", frozen[0][at], frozen[1][at]))
    return tuple(found)


def _value(mix: Assessment, key: str) -> float | None:
    """A property, also where only the other version asks for it."""
    if key in mix.properties:
        return mix.properties[key]
    if key in properties() and key != COST_KEY:
        return float(mix.composition @ properties()[key].weights)
    return None


def _moved(
    key: str, name: str, unit: str, before: float | None, after: float | None, digits: int = 1
) -> Moved:
    shown = [None if value is None else round(value, digits) for value in (before, after)]
    return Moved(key, name, unit, before, after, digits, shown[0] != shown[1])


def _settings(before: str, after: str) -> tuple[tuple[str, str, str], ...]:
    one, other = (dict(_flat(tomllib.loads(text), "")) for text in (before, after))
    keys = [key for key in dict.fromkeys([*one, *other]) if not key.endswith(", grams")]
    return tuple(
        (key, one.get(key, ""), other.get(key, ""))
        for key in keys
        if one.get(key) != other.get(key)
    )


def _flat(value: Any, place: str) -> Iterable[tuple[str, str]]:
    """Every single value of a recipe file with its place: ``damson, lot, reading``."""
    if isinstance(value, dict):
        for key, part in value.items():
            if key == "key" and place:
                continue
            yield from _flat(part, f"{place}, {key}" if place else key)
    elif isinstance(value, list) and any(isinstance(part, dict) for part in value):
        for count, part in enumerate(value, start=1):
            yield from _flat(part, str(part.get("key") or f"{place} {count}"))
    else:
        yield place, ", ".join(map(str, value)) if isinstance(value, list) else str(value)
