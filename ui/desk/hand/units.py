"""°C or °F, g or oz: how numbers are shown.  Files and the package's sentences keep °C and g."""

from __future__ import annotations

import streamlit as st

from formulate.report import grams_words

__all__ = [
    "TEMPERATURES",
    "WEIGHTS",
    "celsius",
    "degrees",
    "mass",
    "mass_change",
    "shown_temperature",
    "signed_minus",
    "temperature",
    "temperature_unit",
    "weight_unit",
]

TEMPERATURES = ("°C", "°F")
WEIGHTS = ("g", "oz")

_GRAMS_PER_OUNCE = 28.349523125  # avoirdupois, by definition


def temperature_unit() -> str:
    """°C or °F."""
    return str(st.session_state.get("temperature_unit") or "°C")


def weight_unit() -> str:
    """g or oz."""
    return str(st.session_state.get("weight_unit") or "g")


def shown_temperature(celsius: float) -> float:
    """A temperature in the unit that is shown."""
    return celsius if temperature_unit() == "°C" else 32.0 + 1.8 * celsius


def celsius(shown: float) -> float:
    """A temperature that was entered in the unit that is shown, in °C."""
    return shown if temperature_unit() == "°C" else (shown - 32.0) / 1.8


def temperature(celsius: float | None, spread: float | None = None, digits: int = 1) -> str:
    """A temperature, with its ± where it has one, and its unit."""
    if celsius is None:
        return "none above " + temperature(-30.0, digits=0)
    words = f"{round(shown_temperature(celsius), digits) + 0.0:.{digits}f}"  # never minus nought
    if spread is not None:
        words += f" ± {max(degrees(spread), 10.0**-digits):.{digits}f}"
    return signed_minus(f"{words} {temperature_unit()}")


def degrees(kelvin: float) -> float:
    """A difference of temperatures in the unit that is shown."""
    return kelvin if temperature_unit() == "°C" else 1.8 * kelvin


def mass(grams: float) -> str:
    """A weight without its unit, as fine as a kitchen scale shows it."""
    if weight_unit() == "oz":
        ounces = grams / _GRAMS_PER_OUNCE
        return f"{ounces:,.2f}" if ounces >= 1.0 or ounces == 0.0 else f"{ounces:.3f}"
    return grams_words(grams)


def mass_change(grams: float) -> str:
    """A change of weight with its sign, without its unit."""
    if mass(abs(grams)) in ("0", "0.0", "0.00", "0.000"):
        return "0"
    return f"{'+' if grams > 0 else '−'}{mass(abs(grams))}"


def signed_minus(text: str) -> str:
    """Text with real minus signs before its numbers, which screen readers say."""
    found = []
    for place, letter in enumerate(text):
        before = text[place - 1] if place else " "
        after = text[place + 1 : place + 2]
        minus = letter == "-" and after.isdigit() and not before.isalnum()
        found.append("−" if minus else letter)
    return "".join(found)
