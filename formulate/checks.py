"""Values that may be: each check gives the value back as it is kept, or is one sentence about it.

The words ``where`` end with the name of the field: ``ingredient pear, min_g``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from numbers import Real
from typing import Any

from formulate.errors import InputError, nearest

__all__ = [
    "MOST",
    "flag",
    "keep_all",
    "known_word",
    "not_negative",
    "number",
    "positive_number",
    "standing_at",
    "whole",
    "within",
    "word",
]

#: The largest number that is taken for one, of grams, money or degrees.
MOST = 1e10

_MOST_LETTERS = 200


def number(value: Any, where: str) -> float:
    """Return a finite number."""
    if type(value) is float and -MOST <= value <= MOST:
        return value
    if isinstance(value, bool) or not isinstance(value, Real):
        problem = f"is {value!r}, not a number"
        remedy = "Write the number alone, without a unit or quotation marks."
        raise _wrong(where, problem, remedy, value, (-MOST, MOST))
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not abs(found) <= MOST:  # not a number is not either
        problem = f"is {found}, not a usable number"
        raise _wrong(where, problem, "Give a finite number.", value, (-MOST, MOST))
    return found


def not_negative(value: Any, where: str) -> float:
    """Return a number that is not below zero."""
    found = number(value, where)
    if found < 0.0:
        problem = f"is {found:g}, and cannot be below zero"
        raise _wrong(where, problem, "Give 0 or more.", found, (0.0, MOST))
    return found


def positive_number(value: Any, where: str) -> float:
    """Return a number above zero."""
    found = number(value, where)
    if found <= 0.0:
        problem = f"is {found:g}, and must be above zero"
        raise _wrong(where, problem, "Give grams, above 0.", found, (0.0, MOST))
    return found


def within(value: Any, low: float, high: float, where: str, remedy: str, unit: str = "") -> float:
    """Return a number from ``low`` to ``high``, both of which may be."""
    found = number(value, where)
    if not low <= found <= high:
        problem = f"is {found:g}, and must be from {low:g} to {high:g}{unit}"
        raise _wrong(where, problem, remedy, found, (low, high))
    return found


def whole(value: Any, low: int, high: int, where: str) -> int:
    """Return a whole number from ``low`` to ``high``."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        problem = f"is {value!r}, and must be a whole number from {low} to {high:,}"
        raise _wrong(where, problem, "Give a count, like 3.", value, (low, high))
    return value


def flag(value: Any, where: str) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        field = _field(where)
        raise _wrong(where, "must be true or false", f"Write {field} = true.", value, (False, True))
    return value


def word(value: Any, where: str) -> str:
    """Return a text of 1 to 200 letters."""
    if not isinstance(value, str) or not value.strip() or len(value) > _MOST_LETTERS:
        problem = f"must be a text of 1 to {_MOST_LETTERS} letters"
        remedy = f'Write {_field(where)} = "…".'
        raise _wrong(where, problem, remedy, value, (1, _MOST_LETTERS))
    return value


def known_word(value: Any, known: Iterable[str], where: str, what: str) -> str:
    """Return one of the words that are known; ``what`` says what kind of word it is."""
    words = tuple(known)
    if value not in words:
        remedy = nearest(str(value), words) or f"Known: {', '.join(words)}."
        problem = f'"{value}" is not a {what} that is known here'
        raise _wrong(where, problem, remedy, value, words)
    return str(value)


def keep_all(whole_of: object, name: str, kind: type, place: str) -> None:
    """Keep a tuple of parts of one kind, in place of whatever sequence was given."""
    parts = getattr(whole_of, name)
    if type(parts) is not tuple:
        if isinstance(parts, str) or not isinstance(parts, Sequence):
            remedy = f"Give a tuple of {kind.__name__}."
            problem = f"is {parts!r}, not several of them"
            raise InputError(f"{place}, {name}", problem, remedy, field=name, value=parts)
        parts = tuple(parts)
        object.__setattr__(whole_of, name, parts)
    for part in parts:
        if not isinstance(part, kind):
            problem, remedy = f"holds {part!r}", f"Each must be a {kind.__name__}."
            raise InputError(f"{place}, {name}", problem, remedy, field=name, value=part)


@contextmanager
def standing_at(head: str, where: str) -> Iterator[None]:
    """Let an error that begins with ``head`` begin with ``where`` in its stead."""
    try:
        yield
    except InputError as error:
        if not error.place.startswith(head):
            raise
        raise error.moved(f"{where}{error.place[len(head) :]}") from None


def _wrong(where: str, problem: str, remedy: str, value: object, allowed: object) -> InputError:
    return InputError(where, problem, remedy, field=_field(where), value=value, allowed=allowed)


def _field(where: str) -> str:
    return where.rpartition(", ")[2]
