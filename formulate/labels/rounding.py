"""Rounding of declared figures: the European guidance and the rules of the United States."""

from __future__ import annotations

from math import floor

from formulate.errors import InputError

__all__ = ["eu_rounded", "us_rounded"]


def eu_rounded(value: float, rule: str) -> str:
    """Return a figure as the Commission's guidance on tolerances (December 2012) rounds it.

    ``energy``: to 1.  ``nutrient`` (fat, carbohydrate, sugars, protein, fibre, polyols): to 1 g from
    10 g, to 0.1 g below, ``<0.5`` up to 0.5 g.  ``saturates``: the same with ``<0.1`` up to 0.1 g.
    ``salt``: to 0.1 g from 1 g, to 0.01 g below, ``<0.01`` up to 0.0125 g.  Halves go up.  The guidance
    is no law; nothing at all is ``0``.
    """
    _finite(value)
    if value <= 0.0:
        return "0"
    if rule == "energy":
        return _nearest(value, 0)
    least, above = {
        "nutrient": (0.5, "<0.5"),
        "saturates": (0.1, "<0.1"),
        "salt": (0.0125, "<0.01"),
    }[rule]
    if value <= least:
        return above
    if rule == "salt":
        return _nearest(value, 1 if value >= 1.0 else 2)
    return _nearest(value, 0 if value >= 10.0 else 1)


def us_rounded(value: float, rule: str) -> str:
    """Return a figure per serving as 21 CFR 101.9(c) rounds it.

    ``calories``: under 5 is 0, to 5 up to 50, to 10 above.  ``fat``: under 0.5 g is 0, to 0.5 g under
    5 g, to 1 g above.  ``cholesterol``: under 2 mg is 0, ``less than 5`` to 5 mg, then to 5 mg.
    ``sodium``: under 5 mg is 0, to 5 mg up to 140 mg, to 10 mg above.  ``carbohydrate`` (also fiber,
    sugars, sugar alcohol, protein): under 0.5 g is 0, ``less than 1`` under 1 g, to 1 g above.  FDA,
    A Food Labeling Guide, Appendix H.
    """
    _finite(value)
    if rule == "calories":
        return "0" if value < 5.0 else _step(value, 5.0 if value <= 50.0 else 10.0)
    if rule == "fat":
        return "0" if value < 0.5 else _step(value, 0.5 if value < 5.0 else 1.0)
    if rule == "cholesterol":
        if 2.0 <= value <= 5.0:
            return "less than 5"
        return "0" if value < 2.0 else _step(value, 5.0)
    if rule == "sodium":
        return "0" if value < 5.0 else _step(value, 5.0 if value <= 140.0 else 10.0)
    if 0.5 <= value < 1.0:
        return "less than 1"
    return "0" if value < 0.5 else _step(value, 1.0)


def _nearest(value: float, decimals: int) -> str:
    return _step(value, 10.0**-decimals)


def _step(value: float, step: float) -> str:
    """A value to the nearest step, halves up; a hair below a half counts as the half."""
    steps = floor(value / step + 0.5 + 1e-9)
    return f"{steps * step:.2f}".rstrip("0").rstrip(".")


def _finite(value: float) -> None:
    if not abs(value) < float("inf"):
        raise InputError("value", f"is {value}, not a finite number", "Check the weights.")
