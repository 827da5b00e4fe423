"""How a composition freezes, from the CSV tables of solutes and the ice line of another library.

Imports nothing of ``formulate``: every solute keeps so much water liquid, in a mix as alone (Zdanovskii,
Stokes and Robinson), and roots are found by bracketing.  The ice line is IAPWS R10-06(2009) and G12-15 as
the ``iapws`` library has them; water that stands in air freezes at 0 °C.
"""

from __future__ import annotations

import csv
from functools import cache
from math import log, log1p, sqrt
from pathlib import Path

from iapws import _iapws as iapws
from scipy.optimize import brentq

FREEZING = Path(__file__).parents[1] / "reference-data" / "freezing"

GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
MOLAR_WATER = 18.015268  # g/mol, IAPWS R6-95(2018)
KELVIN = 273.15
PRESSURE_MPA = 0.101325
REDUCED = 0.461523087 * 228.2  # kJ/kg: the library leaves the g of G12-15 in units of R x T_LL
COLDEST_C = -30.0


@cache
def _potential(temperature_c: float) -> float:
    """How much lower ice stands than pure water, as an osmolality [mol/kg]."""
    kelvin = temperature_c + KELVIN
    water = iapws._Supercooled(kelvin, PRESSURE_MPA)["g"] * REDUCED
    return 1000.0 * (water - iapws._Ice(kelvin, PRESSURE_MPA)["g"]) / (GAS_CONSTANT * kelvin)


def osmolality(temperature_c: float) -> float:
    """Osmolality of what stands beside ice [mol/kg]."""
    return _potential(temperature_c) - _potential(0.0)


@cache
def solutes() -> dict[str, dict[str, str]]:
    """Rows of ``solutes.csv`` by key."""
    with (FREEZING / "solutes.csv").open(encoding="utf-8") as file:
        return {row["solute"]: row for row in csv.DictReader(file)}


@cache
def counted_as() -> tuple[tuple[str, str, float], ...]:
    """Component, solute and factor of ``dissolved.csv``."""
    with (FREEZING / "dissolved.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return tuple((row["component"], row["solute"], float(row["factor"])) for row in rows)


def _fitted(row: dict[str, str], osm: float) -> float:
    """g of water per g by the measured osmotic coefficient."""
    variable = sqrt(osm) if row["variable"] == "root" else osm
    particles = sum(
        float(part) * variable**power for power, part in enumerate(row["particles"].split())
    )
    return 1000.0 * particles / (float(row["molar_mass"]) * osm)


@cache
def _constant(key: str) -> float:
    """Norrish constant times temperature [K]: of the table, or through the end of the fit."""
    row = solutes()[key]
    if not row["particles"]:
        return float(row["norrish_k"]) * float(row["norrish_kelvin"])
    end = float(row["osmolality_end"])
    at_c = brentq(lambda t: osmolality(t) - end, -35.0, -1e-6, xtol=1e-12)
    moles = _fitted(row, end) * float(row["molar_mass"]) / MOLAR_WATER
    x = 1.0 / (1.0 + moles)
    return (log1p(-x) + end * MOLAR_WATER / 1000.0) / x**2 * (at_c + KELVIN)


@cache
def held(key: str, temperature_c: float) -> float:
    """g of water that a gram of a solute keeps liquid."""
    row, osm = solutes()[key], osmolality(temperature_c)
    end = float(row["osmolality_end"]) if row["particles"] else 0.0
    if osm <= end:
        return _fitted(row, osm)
    if row["beyond"] == "level":
        return _fitted(row, end) * end / osm
    norrish = _constant(key) / (temperature_c + KELVIN)
    log_a = -osm * MOLAR_WATER / 1000.0
    x = brentq(lambda x: log(1.0 - x) - norrish * x * x - log_a, 1e-12, 0.9, xtol=1e-15)
    return MOLAR_WATER / float(row["molar_mass"]) * (1.0 - x) / x


def liquid(row: dict[str, float], temperature_c: float) -> float:
    """g of water that stays liquid at most, in the unit of a composition of ``composition.csv``."""
    power = row.get("glucose_syrup_solids", 0.0) * row.get("dextrose_equivalent", 0.0) / 100.0
    whole = {"syrup_reducing_power": power, **row}  # of a mix the power is there already
    return sum(
        factor * whole[part] * held(key, temperature_c)
        for part, key, factor in counted_as()
        if whole.get(part)
    )


def frozen_water(row: dict[str, float], temperature_c: float) -> float:
    """Share of the water that is ice [%]."""
    water = row.get("water", 0.0)
    return 100.0 * min(max(1.0 - liquid(row, temperature_c) / water, 0.0), 1.0) if water else 0.0


def freezing_point(row: dict[str, float], frozen: float = 0.0) -> float | None:
    """Where so much of the water is ice [°C], ``None`` if that is below -30 °C."""
    water = row["water"] * (1.0 - frozen / 100.0)
    if liquid(row, COLDEST_C) > water:
        return None
    return brentq(lambda t: liquid(row, t) - water, COLDEST_C, -1e-6, xtol=1e-9)
