"""Lethality: how many tenfold reductions of a microbe a time at a temperature comes to, as advice.

Microbes are taken to die at a steady rate: ``seconds / D x 10 ** ((temperature - reference) / z)``, with
D and z of ``kinetics.csv``.  They were measured in one liquid with a few strains; sugar, fat and salt
protect microbes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import log10
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, TableError, nearest
from formulate.safety.heat import check_held

__all__ = ["Kinetics", "Lethality", "implied_z", "kinetics", "lethality", "log_reductions"]


@dataclass(frozen=True, slots=True)
class Kinetics:
    """How fast one organism died in one liquid: D [s] at ``reference_c``, z [°C], measured range [°C]."""

    key: str
    organism: str
    matrix: str
    reference_c: float
    d_seconds: float
    z_c: float
    lowest_c: float
    highest_c: float
    source: str


@dataclass(frozen=True, slots=True)
class Lethality:
    """Tenfold reductions by one kinetics.

    ``counted_c`` is the temperature that was counted [°C]: above the hottest that was measured, that
    one, so that ``reductions`` is then a lower bound.
    """

    kinetics: Kinetics
    temperature_c: float
    counted_c: float
    seconds: float
    reductions: float


@lru_cache(maxsize=1)
def kinetics() -> Mapping[str, Kinetics]:
    """Return the rows of ``kinetics.csv`` by key."""
    columns = ("reference_c", "d_seconds", "z_c", "lowest_c", "highest_c")
    found = {}
    for row in read_rows(data_folder() / "kinetics.csv"):
        where = f"kinetics.csv, {row['key']}"
        figures = {name: number(row, name, where) for name in columns}
        found[row["key"]] = Kinetics(
            key=row["key"],
            organism=row["organism"],
            matrix=row["matrix"],
            source=row["source"],
            **figures,
        )
    if not found:
        raise TableError("kinetics.csv: has no rows.")
    return MappingProxyType(found)


def log_reductions(
    temperature_c: float, seconds: float, reference_c: float, d_seconds: float, z_c: float
) -> float:
    """Return tenfold reductions, ``seconds / D x 10 ** ((temperature - reference) / z)``.

    The bare formula: it does not know how far its D and z were measured; see :func:`lethality`.
    """
    return float(seconds / d_seconds * 10.0 ** ((temperature_c - reference_c) / z_c))


def lethality(
    temperature_c: float, seconds: float, key: str = "listeria_ice_cream_mix"
) -> Lethality:
    """Return what a time and temperature come to by one kinetics, as advice.

    Parameters
    ----------
    temperature_c, seconds:
        As for :func:`formulate.safety.heat.heat_verdicts`.  Hotter than was measured counts as the
        hottest
        measured.
    key:
        One of :func:`kinetics`.  Those of plain egg are no guide to a sugared mix.

    Returns
    -------
    Lethality
        Advice from published measurements, each with its source; it does not say that a mix is safe.

    Raises
    ------
    InputError
        If a value is out of range, colder than was measured, or the key unknown.

    Examples
    --------
    >>> round(lethality(72.4, 5.0).reductions, 6)  # 7 °C, one z, below the 79.4 °C of D = 0.5 s
    1.0
    """
    check_held(temperature_c, seconds)
    known = kinetics()
    if key not in known:
        problem = f'"{key}" is not one of {", ".join(known)}'
        raise InputError("kinetics", problem, nearest(key, known) or "Choose one.")
    used = known[key]
    if temperature_c < used.lowest_c:
        problem = (
            f"{temperature_c:g} °C is colder than {used.organism} in {used.matrix} was measured, "
            f"{used.lowest_c:g} to {used.highest_c:g} °C"
        )
        raise InputError("temperature_c", problem, "Heat to a temperature of one of the rules.")
    counted = min(temperature_c, used.highest_c)
    reductions = log_reductions(counted, seconds, used.reference_c, used.d_seconds, used.z_c)
    return Lethality(used, temperature_c, counted, seconds, reductions)


def implied_z(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Return the z [°C] that two rows, each (°C, seconds), imply if they are taken as equal.

    Raises
    ------
    InputError
        If the times do not fall as the temperature rises, or one is zero.
    """
    (cooler, longer), (hotter, shorter) = sorted((first, second))
    if not (hotter > cooler and longer > shorter > 0.0):
        problem = "a hotter row must have a shorter time, above zero"
        raise InputError("rows", problem, "Choose two rows of one rule.")
    return (hotter - cooler) / log10(longer / shorter)
