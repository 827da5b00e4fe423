"""Every published freezing figure beside what the package predicts for it.

``python tests/published/predict.py`` prints the table; the tests beside it assert it.  The figures are
in the CSV files of this folder, each with its source and a tolerance that comes from the source: its
rounding, its own stated range, or the distance between two published tables of the same thing.

A figure that the model is known to miss carries the signed size of the miss in the column ``miss``.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

from formulate.components import COLUMNS, position
from formulate.freezing import freezing_model
from formulate.ice import water_activity_of_ice
from formulate.tables import number, read_rows

_FOLDER = Path(__file__).resolve().parent

#: What milk solids-not-fat and whey solids consist of.  University of Guelph, Ice Cream Technology
#: e-book (38, 54 and 8 % of the dry matter); lactose of whey solids: H. D. Goff's method, its minerals
#: taken as those of milk solids, as that method does.
_PARTS = {
    "msnf": {"milk_protein": 0.38, "lactose": 0.54, "milk_minerals": 0.08},
    "whey_solids": {"milk_protein": 0.155, "lactose": 0.765, "milk_minerals": 0.08},
}


class Check(NamedTuple):
    """One published figure and its prediction, in the same unit."""

    check: str
    subject: str
    unit: str
    published: float
    predicted: float
    tolerance: float
    miss: float | None
    source: str

    @property
    def difference(self) -> float:
        """Predicted minus published."""
        return self.predicted - self.published

    def __str__(self) -> str:
        return (
            f"{self.check}: {self.subject}: published {self.published:g} {self.unit}, "
            f"predicted {self.predicted:.6g} ({self.difference:+.2g}, allowed {self.tolerance:g}); "
            f"{self.source}"
        )


def pure_solutes() -> list[Check]:
    """Return the freezing points [°C] of one solute in water."""
    return [_pure(row) for row in read_rows(_FOLDER / "freezing_points.csv")]


def ice_line() -> list[Check]:
    """Return the activities [-] of water in balance with ice."""
    return [_on_ice_line(row) for row in read_rows(_FOLDER / "ice_line.csv")]


def mixes() -> list[Check]:
    """Return the freezing points [°C], frozen water [% of water] and ice [% of mass] of whole mixes."""
    compositions = mix_compositions()
    return [_mix(row, compositions[row["mix"]]) for row in read_rows(_FOLDER / "mix_checks.csv")]


def every_check() -> list[Check]:
    """Return all rows."""
    return pure_solutes() + ice_line() + mixes()


def solution(component: str, mass_percent: float) -> np.ndarray:
    """Return the composition of one component in water [%]."""
    composition = np.zeros(len(COLUMNS))
    composition[position(component)] = mass_percent
    composition[position("water")] = 100.0 - mass_percent
    return composition


def mix_compositions() -> dict[str, np.ndarray]:
    """Return the compositions [%] of ``mixes.csv`` by name."""
    found: dict[str, np.ndarray] = {}
    for row in read_rows(_FOLDER / "mixes.csv"):
        composition = found.setdefault(row["mix"], np.zeros(len(COLUMNS)))
        percent = number(row, "percent", row["mix"])
        for key, share in _PARTS.get(row["component"], {row["component"]: 1.0}).items():
            composition[position(key)] += percent * share
    return found


def _pure(row: dict[str, str]) -> Check:
    percent = number(row, "mass_percent", row["solute"])
    predicted = freezing_model().initial_freezing_point(solution(row["solute"], percent))
    return _check(row, f"{row['solute']} {percent:.4g} %", "°C", float(predicted[0]))


def _on_ice_line(row: dict[str, str]) -> Check:
    temperature = number(row, "temperature_c", row["check"])
    predicted = float(water_activity_of_ice(temperature))
    return _check(row, f"at {temperature:g} °C", "(activity)", predicted)


def _mix(row: dict[str, str], composition: np.ndarray) -> Check:
    if row["quantity"] == "initial_freezing_point":
        predicted = freezing_model().initial_freezing_point(composition)
        return _check(row, row["mix"], "°C", float(predicted[0]))
    temperature = number(row, "temperature_c", row["mix"])
    predicted = float(freezing_model().frozen_water(composition, [temperature])[0, 0])
    unit = "% of water frozen"
    if row["quantity"] == "ice":
        predicted *= composition[position("water")] / 100.0
        unit = "% of mass is ice"
    return _check(row, f"{row['mix']} at {temperature:g} °C", unit, predicted)


def _check(row: dict[str, str], subject: str, unit: str, predicted: float) -> Check:
    return Check(
        check=row["check"],
        subject=subject,
        unit=unit,
        published=number(row, "published", subject),
        predicted=predicted,
        tolerance=number(row, "tolerance", subject),
        miss=number(row, "miss", subject) if row.get("miss") else None,
        source=row["source"],
    )


if __name__ == "__main__":
    for one in every_check():
        print(one)
