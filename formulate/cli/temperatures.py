"""Temperatures on the command line: with a unit, as a kitchen reads them off its probe."""

from __future__ import annotations

import re
from math import isfinite

from formulate.errors import InputError

__all__ = ["NEGATIVE", "celsius", "celsius_with_unit"]

_WRITTEN = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*°?([CF]?)", re.IGNORECASE)

#: What begins with a minus and is a temperature or a number, and no option.
NEGATIVE = re.compile(r"-\d+([.,]\d*)?\s*°?[CcFf]?$|-[.,]\d+$")


def celsius(text: str, place: str) -> float:
    """Return a temperature in °C: ``-18C``, ``0F``, or a number alone, which is °C.

    Raises
    ------
    InputError
        If it is none.

    Examples
    --------
    >>> celsius("145F", "--at"), celsius("-18", "--to"), celsius("4,5 C", "--to")
    (62.77777777777778, -18.0, 4.5)
    """
    value, unit = _parts(text, place)
    return (value - 32.0) / 1.8 if unit == "F" else value


def celsius_with_unit(text: str, place: str) -> float:
    """Return a temperature in °C that must say in which unit it is, as it may be either.

    Raises
    ------
    InputError
        If it is no temperature, or a number alone.
    """
    value, unit = _parts(text, place)
    if not unit:
        problem = f"{value:g} may be °C or °F, and {value:g} °F is {(value - 32.0) / 1.8:.1f} °C"
        raise InputError(place, problem, f"Write {value:g}C or {value:g}F.")
    return celsius(text, place)


def _parts(text: str, place: str) -> tuple[float, str]:
    found = _WRITTEN.fullmatch(text.strip())
    value = float(found[1].replace(",", ".")) if found is not None else float("nan")
    if found is None or not isfinite(value):
        problem = f'"{text}" is not a temperature'
        raise InputError(place, problem, "Write 62.8C or 145F, for example.")
    return value, found[2].upper()
