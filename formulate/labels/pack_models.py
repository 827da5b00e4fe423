"""What stands on a pack, as numbers: words as plausible makings, printed figures as intervals.

A word is one or several makings (rows of the ingredient table, or generic ones of ``pack_models.csv``),
and whatever lies between them.  Each making may differ from its row: by twice what ``spread.csv`` says of
the key, or by what ``pack_models.csv`` says of its kind, whichever is more.

A printed figure is an interval, because figures are rounded, and counts components with two weights, the
least and the most that its definition allows: carbohydrate with organic acids or not, fat with lecithin
or not, sugars of a glucose syrup by how it was made.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, TableError, nearest
from formulate.ingredients import (
    COLUMNS,
    COMPONENT_KEYS,
    COMPONENTS,
    ingredient_table,
    own_composition,
    position,
    read_only,
)
from formulate.labels.nutrients import added_sugars, saturates, sodium, sugars
from formulate.mix import Part

__all__ = [
    "Label",
    "Making",
    "label_fields",
    "makings_of",
    "most_of",
    "read_label",
    "strength_tolerance",
    "volume_weights",
]

Interval = tuple[float, float]

_FIGURES = (
    "energy_kcal fat saturates carbohydrate sugars added_sugars polyols fibre protein salt"
).split()
_NUMBERS = (
    "serving_g density_g_per_ml alcohol_percent_vol cocoa_percent milk_solids_percent"
).split()
_CHOICES = {"rules": ("eu", "us"), "per": ("100 g", "100 ml", "serving")}
_PARTS = (
    ("saturates", "fat"),
    ("sugars", "carbohydrate"),
    ("polyols", "carbohydrate"),
    ("added_sugars", "sugars"),
)
_LIMITS = {"density_g_per_ml": (0.7, 1.6), "serving_g": (1.0, 2000.0)}
_QUANTITY = re.compile(r"^(.*?)[\s(]+(\d+(?:[.,]\d+)?)\s*%\)?$")
_SALT_OF_SODIUM = 2.5 / 1000.0  # g of salt per mg of sodium; Regulation 1169/2011, Annex I

#: Minerals and acids differ more between lots than the rest (judgement).
_MINOR_FAMILIES, _MINOR_FACTOR = ("acid", "mineral"), 1.5
_SPREAD_FACTOR = 2.0  # standard deviations
_LEAST_PLAY = 0.1  # g per 100 g, but not more than there is
_SATURATES_SPARE = 1.1  # share of saturates in one kind of fat, by season and origin (judgement)
_STRONG_ABOVE = 55.0  # % vol
_FLAVOUR = "flavour solids"
_FAMILY = {part.key: part.family for part in COMPONENTS}
_SUGARS = [position(part.key) for part in COMPONENTS if part.family == "sugar"]


@dataclass(frozen=True)
class Making:
    """One plausible making of a word.

    Attributes
    ----------
    composition:
        g per 100 g, the components adding up to 100, shape (columns,).
    play:
        By how much each component may differ from it [g per 100 g], shape (columns,).
    figures:
        Per figure of a label the least and the most that it counts of each component [unit of the figure
        per g].  ``total_carbohydrate`` is with fibre, ``cocoa`` and ``milk_solids`` are dry.
    """

    key: str
    kind: str
    composition: Array
    play: Array
    figures: Mapping[str, tuple[Array, Array]]


@dataclass(frozen=True)
class Label:
    """A label as read.

    Attributes
    ----------
    words, quantities:
        The list of ingredients, and where a share is printed its interval [%], by index.
    printed, intervals:
        Figures as they were given, and between what they lie, per 100 g or per 100 mL.
    numbers:
        Density [g/mL], strength [% vol], dry cocoa and milk [%]; each with half its last digit.
    """

    words: tuple[str, ...]
    quantities: Mapping[int, Interval]
    printed: Mapping[str, str]
    intervals: Mapping[str, Interval]
    numbers: Mapping[str, Interval]
    us: bool
    by_volume: bool


def label_fields() -> tuple[tuple[str, ...], Mapping[str, tuple[str, ...]]]:
    """Return the fields of a label: those of figures, and those of a few words with these words.

    Returns
    -------
    tuple of str, and Mapping

    Examples
    --------
    >>> "sodium_mg" in label_fields()[0], "rules" in label_fields()[1]
    (True, True)
    """
    figures = (*_FIGURES, *_NUMBERS, *_table("same"))
    return tuple(dict.fromkeys(figures)), {key: tuple(_CHOICES[key]) for key in _CHOICES}


def read_label(label: Mapping[str, Any], place: str) -> Label:
    """Return a label as intervals, see :func:`formulate.labels.pack.pack_composition` for its fields.

    Raises
    ------
    InputError
        If a field is unknown, a number is none or out of reach, or figures contradict each other.
    """
    same = _table("same")
    figures_known, choices_known = label_fields()
    known = [*figures_known, *choices_known, "ingredients"]
    for key in label:
        if key not in known:
            hint = nearest(key, known) or "Leave it out if it is not one of the figures of a label."
            raise InputError(f"{place}, {key}", "is not a field of a label", hint)
    usual = {"rules": "eu", "per": "serving" if "serving_g" in label else "100 g"}
    choice = {key: str(label.get(key, value)).lower() for key, value in usual.items()}
    for key, chosen in choice.items():
        if chosen not in _CHOICES[key]:
            problem = f'is "{chosen}", and must be one of {", ".join(_CHOICES[key])}'
            raise InputError(f"{place}, {key}", problem, "Write it as it is printed.")
    us, by_volume = choice["rules"] == "us", choice["per"] == "100 ml"
    read = {key: _number(label[key], f"{place}, {key}") for key in label if key in _NUMBERS}
    for key, (value, _, _) in read.items():
        low, high = _LIMITS.get(key, (0.0, 100.0))
        if not low <= value <= high:
            problem = f"is {value:g}, and must be from {low:g} to {high:g}"
            raise InputError(f"{place}, {key}", problem, "Read the pack again.")
    numbers = {key: (value, 0.5 * 10.0**-digits) for key, (value, digits, _) in read.items()}
    figures = {}
    for key in label:
        if same.get(key, key) in _FIGURES:
            value, decimals, below = _number(label[key], f"{place}, {key}")
            if key == "sodium_mg":
                value, decimals = value * _SALT_OF_SODIUM, 0
            figures[same.get(key, key)] = (value, decimals, below)
    grams = [figures[key] for key in figures if key not in ("energy_kcal", "salt")]
    small = [decimals for value, decimals, _ in grams if 1.0 <= value < 10.0]
    whole = len(small) > 1 and not any(small)
    if choice["per"] == "serving" and "serving_g" not in numbers:
        raise InputError(f"{place}, serving_g", "is missing", "Give the weight of one serving.")
    factor = 100.0 / numbers["serving_g"][0] if choice["per"] == "serving" else 1.0
    intervals = {}
    for key, (value, decimals, below) in figures.items():
        low, high = _printed(value, decimals, key, us, whole)
        intervals[key] = (0.0 if below else factor * low, factor * (value if below else high))
    _agree(intervals, 100.0 * (_LIMITS["density_g_per_ml"][1] if by_volume else 1.0), place)
    words, quantities = _list(label.get("ingredients", ()), f"{place}, ingredients")
    printed = {same.get(key, key): str(label[key]) for key in label}
    return Label(words, quantities, printed, intervals, numbers, us, by_volume)


def _number(value: object, place: str) -> tuple[float, int, bool]:
    """A printed number, its decimals (the closing nought of a float is none), and whether it is "<"."""
    text = f"{value:g}" if isinstance(value, float) else str(value).strip().lower()
    text = text.replace("less than", "<").replace(",", ".")
    found = re.fullmatch(r"(<?)\s*(\d+(?:\.(\d+))?)\s*(?:g|mg|kcal|%|% vol)?", text)
    if found is None or isinstance(value, bool):
        problem = f'is "{value}", and must be a number that is not below zero'
        raise InputError(place, problem, 'Write 0.5, or "<0.5" as it is printed.')
    return float(found[2]), len(found[3] or ""), bool(found[1])


def _printed(value: float, decimals: int, figure: str, us: bool, whole: bool) -> Interval:
    """Between what a rounded figure lies; in Europe more decimals than the rule asks for are believed."""
    rules = _table("us_rounding" if us else "rounding")
    least, *steps = (float(cell) for cell in rules.get(figure, rules["nutrient"]).split())
    step = next(by for below, by in zip(steps[::2], steps[1::2], strict=True) if value < below)
    if whole and figure not in ("energy_kcal", "salt"):
        step = max(step, 1.0)
    if decimals and not us:  # one decimal of salt may stand for two, of which the last is a nought
        step = 10.0**-decimals if figure == "salt" else min(step, 10.0**-decimals)
    high = value + step / 2.0
    return (0.0, max(least, high)) if value <= least else (max(value - step / 2.0, 0.0), high)


def _agree(intervals: Mapping[str, Interval], most: float, place: str) -> None:
    """A part is not more than its whole, and all together not more than there is."""
    for part, whole in _PARTS:
        if part in intervals and whole in intervals and intervals[part][0] > intervals[whole][1]:
            words = part.replace("_", " ")
            problem = f"says more than {whole} does, and {words} are a part of it"
            raise InputError(f"{place}, {part}", problem, "Read both figures again.")
    grams = {key: low for key, (low, _) in intervals.items() if key != "energy_kcal"}
    together = sum(grams.get(key, 0.0) for key in ("fat", "carbohydrate", "protein", "salt"))
    least = max(together, *grams.values(), 0.0)
    if least > most:
        problem = f"the figures add up to at least {least:.1f} g, and must not exceed {most:g} g"
        raise InputError(place, problem, "Read the figures again, and what they are per.")


def _list(given: object, place: str) -> tuple[tuple[str, ...], Mapping[int, Interval]]:
    if isinstance(given, str):
        given = given.split(",")
    if not isinstance(given, (list, tuple)) or not given:
        problem = "must be a list of words in the order of the pack, at least one"
        raise InputError(place, problem, 'Write ["sugar", "cocoa butter", "milk powder"].')
    words, quantities = [], {}
    for index, word in enumerate(given):
        if not isinstance(word, str) or not word.strip():
            raise InputError(place, f"word {index + 1} is empty or no text", "Leave it out.")
        found = _QUANTITY.match(word.strip())
        if found is not None:
            share, digits, _ = _number(found[2], place)
            half = 0.5 * 10.0**-digits
            quantities[index] = (max(share - half, 0.0), share + half)
        words.append(found[1].strip() if found else word.strip())
        if words.count(words[-1]) > 1:
            raise InputError(place, f'"{word}" is named twice', "Name it once, where it is first.")
    return tuple(words), quantities


def makings_of(word: str, place: str) -> tuple[Making, ...]:
    """Return the plausible makings of a word of an ingredient list.

    Tried in turn: the word in ``pack_models.csv``, as key or name of the table, its singular, fruit
    without "purée"; then what stands in brackets or after a colon, and what is before.

    Raises
    ------
    InputError
        If nothing is known of the word.
    """
    known = _words()
    inside = re.search(r"[(\[:]\s*([^)\]]+)", word)
    for text in (word, inside.group(1) if inside else "", re.split(r"[(\[:]", word)[0]):
        for form in _forms(text):
            if form in known:
                return tuple(_making(key) for key in known[form])
    hint = nearest(_plain(word), known) or "Name what it is most like, or leave out a trace."
    raise InputError(place, f'"{word}" is a word that the tables do not know', hint)


def most_of(makings: tuple[Making, ...]) -> float:
    """Return how much of a word a food usually holds at most [%]: 2 for additives, else no limit."""
    most = {key: float(value) for key, value in _table("most").items()}
    if any(making.key == _FLAVOUR for making in makings):
        return most["flavour"]
    return max(most.get(made.key, most.get(made.kind, 100.0)) for made in makings)


def volume_weights(percent_vol: float = 0.0) -> tuple[Array, Array]:
    """Return the least and the most volume of each component in a liquid [mL/g], shapes (columns,).

    Above 55 % vol ethanol takes more room.
    """
    rows = dict(_table("volume"))
    strong = rows.pop("strong ethanol")
    if percent_vol > _STRONG_ABOVE:
        rows["ethanol"] = strong
    return _weights(" + ".join(rows.values()))


def strength_tolerance(makings: Iterable[Making]) -> float:
    """Return how far the alcoholic strength may be from what is printed [% vol], by what is in it."""
    known = _table("strength")
    return max(float(known.get(made.kind, known["other"])) for made in makings)


@lru_cache(maxsize=512)
def _making(key: str) -> Making:
    entry = ingredient_table().get(key)
    if entry is not None:
        kind, row = entry.kind, np.array(entry.composition)
    else:
        parts = (part.split() for part in _table("makings")[key].split(" + "))
        own = {name: float(grams) for name, grams in parts}
        kind, row = "own", np.array(own_composition(own, f"pack_models.csv, {key}"))
    row *= 100.0 / row[: len(COMPONENT_KEYS)].sum()
    row.flags.writeable = False
    relative = float(_table("play").get(kind, "0")) / 100.0
    part = Part(key, key, kind, "unknown", None, None, 1.0, row)
    return Making(key, kind, row, _play(key, row, relative), _figures(part, relative))


def _play(key: str, row: Array, relative: float) -> Array:
    """Half-ranges: relative to what there is and to what it can grow into, c (100 - c) / 100."""
    spread = _spread().get(key, {})
    shift = _SPREAD_FACTOR * spread.get("sucrose_share", 0.0) * float(row[_SUGARS].sum())
    shifts = {"sucrose": shift, "glucose": shift / 2.0, "fructose": shift / 2.0}
    found = {}
    for name, amount in zip(COMPONENT_KEYS, row, strict=False):
        factor = _MINOR_FACTOR if _FAMILY[name] in _MINOR_FAMILIES else 1.0
        most = max(
            factor * relative * amount * (1.0 - amount / 100.0),
            _SPREAD_FACTOR * spread.get(name, 0.0),
            _LEAST_PLAY if relative > 0.01 else 0.0,
        )
        if _FAMILY[name] == "sugar":
            lot = _SPREAD_FACTOR * spread.get("sugars", 0.0) / 100.0 * amount
            most = max(most, lot) + shifts.get(name, 0.0)
        found[name] = min(most, amount, 100.0 - amount)
    return read_only(found)


def _figures(part: Part, relative: float) -> Mapping[str, tuple[Array, Array]]:
    """Least and most of each component that a figure counts."""
    counts = _table("counts")
    found = {key: _weights(counts[key]) for key in counts if " " not in key}
    found["protein"] = _weights(counts.get(f"protein {part.kind}", counts["protein"]))
    if part.key == "gelatine":
        found["protein"] = _weights("protein 1 1 + stabiliser 1 1")
    for key, kind in (("cocoa", "cocoa"), ("milk_solids", "dairy")):
        if part.kind != kind:
            found[key] = _weights("")
    if re.search("chocolate|couverture", part.key):
        found["cocoa"][0][_SUGARS] = found["cocoa"][1][_SUGARS] = 0.0
    sweet, solids = sugars(part), part.of("glucose_syrup_solids")
    plain = float(part.composition[_SUGARS].sum())
    syrup = [(figure - plain) / solids if solids else 0.0 for figure in (sweet.low, sweet.high)]
    found["sugars"] = _weights(f"sugar 1 1 + syrup {syrup[0]} {syrup[1]}")
    fat, sweeteners = _weights("fat 1 1 + emulsifier 1 1")[0], _weights("sugar 1 1 + syrup 1 1")[0]
    everything, spare = _weights("")[0], 1.0 + _MINOR_FACTOR * relative
    everything[: len(COMPONENT_KEYS)] = 1.0
    salt = sodium(part)
    grams = [_SALT_OF_SODIUM * amount for amount in (salt.low / spare, salt.high * spare)]
    found["salt"] = grams[0] * everything / 100.0, grams[1] * everything / 100.0
    for key, figure, base in (
        ("saturates", saturates(part), fat),
        ("added_sugars", added_sugars(part), sweeteners),
    ):
        spare = _SATURATES_SPARE if key == "saturates" else 1.0
        whole = max(float(part.composition @ base), 1e-9)
        found[key] = figure.low / spare / whole * base, spare * figure.high / whole * base
    return MappingProxyType(found)


def _weights(text: str) -> tuple[Array, Array]:
    """Rows of "family least most + component least most"; components come after their families."""
    low, high = np.zeros(len(COLUMNS)), np.zeros(len(COLUMNS))
    for name, least, most in (part.split() for part in text.split(" + ") if part):
        for at, key in enumerate(COMPONENT_KEYS):
            if name in (key, _FAMILY[key]):
                low[at], high[at] = float(least), float(most)
    return low, high


def _plain(text: str) -> str:
    """Lower case without accents, stars, full stops and doubled spaces."""
    bare = unicodedata.normalize("NFKD", text.replace("’", "'")).encode("ascii", "ignore").decode()
    return " ".join(re.sub(r"[*.,;()\[\]_]", " ", bare.lower()).split())


def _forms(text: str) -> list[str]:
    """The word, without "purée", "organic" and the like, and its singular."""
    plain = _plain(text)
    shorter = re.sub(r" (puree|pulp|flesh)$|^organic | from concentrate$", "", plain)
    found = [plain, shorter]
    for form in (plain, shorter):
        found += [re.sub(end, by, form) for end, by in (("ies$", "y"), ("es$", ""), ("s$", ""))]
    return [form for form in found if form]


@lru_cache(maxsize=1)
def _words() -> Mapping[str, tuple[str, ...]]:
    """Makings by word, from the table's names and keys and from ``pack_models.csv``, which wins."""
    table = ingredient_table()
    found: dict[str, tuple[str, ...]] = {}
    for key, entry in table.items():
        found[_plain(entry.name)] = found[_plain(key)] = (key,)
    for word, value in _table("word").items():
        keys = tuple(value.split(";"))
        for key in keys:
            if key not in table and key not in _table("makings"):
                raise TableError(f"pack_models.csv, {word}: there is no making {key}.")
        found[_plain(word)] = keys
    return MappingProxyType(found)


@lru_cache(maxsize=16)
def _table(what: str) -> Mapping[str, str]:
    """Names and values of the lines of ``pack_models.csv`` about one thing."""
    rows = read_rows(data_folder() / "pack_models.csv")
    return MappingProxyType({row["name"]: row["value"] for row in rows if row["what"] == what})


@lru_cache(maxsize=1)
def _spread() -> Mapping[str, Mapping[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for row in read_rows(data_folder() / "spread.csv"):
        where = f"spread.csv, {row['key']} {row['what']}"
        found.setdefault(row["key"], {})[row["what"]] = number(row, "deviation", where)
    return MappingProxyType(found)
