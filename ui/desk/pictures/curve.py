"""The freezing curve in words, for those who do not see its picture."""

from __future__ import annotations

from desk.hand.units import temperature
from formulate import Result

__all__ = ["curve_words"]


def curve_words(mixes: dict[str, Result]) -> str:
    """The picture in words, for those who do not see it."""
    parts = []
    for name, result in mixes.items():
        serving = result.mix.serving
        parts.append(
            f"{name}: {result.mix.serving_frozen_water:.0f} % of the water is frozen at "
            f"{temperature(serving.temperature_c)}, {result.outlook.freezer_frozen_water:.0f} % in "
            f"the freezer at {temperature(serving.freezer_c)}"
        )
    return "Freezing curve. " + "; ".join(parts) + ". The numbers stand in a table below it."
