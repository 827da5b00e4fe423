"""Every published freezing figure beside what this package predicts for it.

The figures stand in ``reference-data/evidence`` and ``reference-data/freezing/measured.csv``, each with
its source and a tolerance that comes from the source: its rounding, its own stated range, or the
distance between two published tables of the same thing.  The tests assert the same rows that a user
sees.  A figure that the model is known to miss carries the signed size of the miss in ``miss``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from formulate.arrays import Array
from formulate.data import altered_tables, data_folder, number, read_rows, versions
from formulate.freezing import FreezingModel, freezing_model, water_activity_of_ice
from formulate.ingredients import COLUMNS, ingredient_table, position

__all__ = [
    "Check",
    "Verification",
    "every_check",
    "evidence_data",
    "evidence_text",
    "fruits",
    "ice_line",
    "mean_error_of_fruit",
    "mix_compositions",
    "mixes",
    "pure_solutes",
    "seawater",
    "solution",
    "unexpected",
    "verification",
    "verification_data",
    "verification_text",
]


#: What milk solids-not-fat and whey solids consist of.  University of Guelph, Ice Cream Technology
#: e-book (38, 54 and 8 % of the dry matter); lactose of whey solids: H. D. Goff's method, its minerals
#: taken as those of milk solids, as that method does.
_PARTS = {
    "msnf": {"milk_protein": 0.38, "lactose": 0.54, "milk_minerals": 0.08},
    "whey_solids": {"milk_protein": 0.155, "lactose": 0.765, "milk_minerals": 0.08},
}


#: Ions of sea salt, mol per mol of all ions: Reference Composition, F. J. Millero, R. Feistel,
#: D. G. Wright, T. J. McDougall, Deep-Sea Research I 55 (2008) 50.  Mean molar mass 31.4038 g/mol.
_SEA = {
    "sodium": 0.4188071,
    "magnesium": 0.0471678,
    "calcium": 0.0091823,
    "potassium": 0.0091159,
    "sulphate": 0.0252152,
}
_SEA_MOLAR_MASS = 31.4038

#: Two handbooks of fruit differ by up to this for the same fruit [°C]: raspberry -0.6 (ASHRAE Handbook,
#: Thermal Properties of Foods) against -1.1 (USDA Agriculture Handbook 66).
_HANDBOOKS_DIFFER = 0.5


@dataclass(frozen=True, slots=True)
class Check:
    """One published figure and its prediction, in the same unit.

    ``miss`` is the recorded size of a known miss, ``note`` what is known about it.
    """

    check: str
    subject: str
    unit: str
    published: float
    predicted: float
    tolerance: float
    miss: float | None
    source: str
    note: str = ""

    @property
    def difference(self) -> float:
        """Predicted minus published."""
        return self.predicted - self.published

    @property
    def within(self) -> bool:
        """Whether the prediction is within the tolerance."""
        return abs(self.difference) <= self.tolerance

    def __str__(self) -> str:
        return (
            f"{self.check}: {self.subject}: published {self.published:g} {self.unit}, "
            f"predicted {self.predicted:.6g} ({self.difference:+.2g}, allowed {self.tolerance:g}); "
            f"{self.source}"
        )


def every_check() -> tuple[Check, ...]:
    """Return all rows: ice, solutes, seawater, fruit, whole mixes.

    Returns
    -------
    tuple of Check

    Examples
    --------
    >>> every_check()[0].check
    'water activity of ice'
    """
    return (*ice_line(), *pure_solutes(), *seawater(), *fruits(), *mixes())


def pure_solutes() -> tuple[Check, ...]:
    """Return the freezing points [°C] of one solute in water."""
    return tuple(_pure(row) for row in _rows("freezing_points"))


def ice_line() -> tuple[Check, ...]:
    """Return the activities [-] of water in balance with ice."""
    return tuple(_on_ice_line(row) for row in _rows("ice_line"))


def mixes() -> tuple[Check, ...]:
    """Return the freezing points [°C], frozen water [% of water] and ice [% of mass] of whole mixes."""
    compositions = mix_compositions()
    return tuple(_mix(row, compositions[row["mix"]]) for row in _rows("mix_checks"))


def seawater() -> tuple[Check, ...]:
    """Return the freezing points [°C] of seawater, from the curves of its salts.

    Magnesium counts as calcium chloride, sulphate as the dipotassium phosphate of equal moles, the
    potassium as chloride and what is left of the sodium as chloride: salts of the same charges.
    """
    curves = freezing_model().curves
    mole = {curve.key: curve.molar_mass / _SEA_MOLAR_MASS for curve in curves}
    shares = np.zeros((len(COLUMNS), len(curves)))
    moles = {
        "calcium_chloride": _SEA["magnesium"] + _SEA["calcium"],
        "dipotassium_phosphate": _SEA["sulphate"],
        "potassium_chloride": _SEA["potassium"],
        "sodium_chloride": _SEA["sodium"] - 2.0 * _SEA["sulphate"],
    }
    for index, curve in enumerate(curves):
        shares[position("salt"), index] = moles.get(curve.key, 0.0) * mole[curve.key]
    sea = FreezingModel(curves, shares)
    found = []
    for row in _rows("seawater"):
        salinity = number(row, "salinity_g_per_kg", "seawater.csv")
        predicted = float(sea.initial_freezing_point(solution("salt", salinity / 10.0))[0])
        about = {"check": "seawater by its salts", "tolerance": "0.02", **row}
        found.append(_check(about, f"seawater, {salinity:g} g/kg", "°C", predicted))
    return tuple(found)


def fruits() -> tuple[Check, ...]:
    """Return the freezing points [°C] of fruit, from the composition of the table.

    The handbook states the water of its fruit; the solids of the table are scaled to it.
    """
    found = []
    for row in _rows("fruits"):
        water = number(row, "water_percent", row["fruit"])
        entry = ingredient_table()[row["fruit"]]
        solids = 100.0 - float(entry.composition[position("water")])
        composition = entry.composition * ((100.0 - water) / solids)
        composition[position("water")] = water
        predicted = float(freezing_model().initial_freezing_point(composition)[0])
        name = "fruit, hard case" if row["hard_case"] else "fruit"
        about = {"check": name, "tolerance": str(_HANDBOOKS_DIFFER), **row}
        found.append(_check(about, f"{entry.name}, {water:g} % water", "°C", predicted))
    return tuple(found)


def mean_error_of_fruit() -> float:
    """Return the mean absolute error of the fruits [°C], without the hard cases.

    Returns
    -------
    float

    Examples
    --------
    >>> mean_error_of_fruit() < 0.5
    True
    """
    return float(np.mean([abs(check.difference) for check in fruits() if check.check == "fruit"]))


def unexpected() -> tuple[Check, ...]:
    """Return the checks that do not come out as recorded: outside their tolerance without a recorded
    miss, or with a miss of another size.

    On any machine this is empty; if it is not, tables, model or arithmetic differ from what was tested.

    Returns
    -------
    tuple of Check

    Examples
    --------
    >>> unexpected()
    ()
    """
    return tuple(check for check in every_check() if not _as_recorded(check))


@dataclass(frozen=True, slots=True)
class Verification:
    """Whether this installation is as it was tested.

    Attributes
    ----------
    checks:
        Every published figure beside its prediction.
    unexpected:
        Those that do not come out as recorded.
    altered:
        Tables that are missing, added, or not as the manifest has them.
    """

    checks: tuple[Check, ...]
    unexpected: tuple[Check, ...]
    altered: tuple[str, ...]

    @property
    def as_recorded(self) -> bool:
        """Whether every table and every figure is as recorded."""
        return not self.unexpected and not self.altered


def verification() -> Verification:
    """Return whether tables, model and arithmetic here are as they were tested.

    Returns
    -------
    Verification

    Raises
    ------
    TableError
        If a table or the manifest cannot be read.

    Examples
    --------
    >>> type(verification()).__name__
    'Verification'
    """
    return Verification(every_check(), unexpected(), altered_tables())


def verification_data(found: Verification) -> dict[str, Any]:
    """Return a verification as plain data.

    Parameters
    ----------
    found:
        From :func:`verification`.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> "unexpected" in verification_data(verification())
    True
    """
    return {
        "as_recorded": found.as_recorded,
        "unexpected": [str(check) for check in found.unexpected],
        "altered_tables": list(found.altered),
        "checks": evidence_data(),
        "versions": versions(),
    }


def verification_text(found: Verification) -> str:
    """Return a verification in words, what is wrong last.

    Parameters
    ----------
    found:
        From :func:`verification`.

    Returns
    -------
    str

    Examples
    --------
    >>> "checks" in verification_text(verification())
    True
    """
    wrong = len(found.unexpected)
    verdict = f"{wrong} NOT as recorded" if wrong else "all as recorded"
    tables = "tables are NOT as recorded" if found.altered else "tables as recorded"
    about = ", ".join(f"{key} {value}" for key, value in versions().items())
    lines = [evidence_text(), f"{len(found.checks)} checks, {verdict}; {tables}. {about}."]
    lines += [
        f"{name} is missing, was added, or is not as it was tested." for name in found.altered
    ]
    return "\n".join([*lines, *map(str, found.unexpected)])


def _as_recorded(check: Check) -> bool:
    if check.miss is None:
        return check.within
    digit = 0.1 if abs(check.miss) >= 0.5 else 0.01
    return not check.within and abs(check.difference - check.miss) <= digit


def evidence_data() -> list[dict[str, Any]]:
    """Return every check as plain data.

    Returns
    -------
    list of dict
        Ready for JSON.

    Examples
    --------
    >>> evidence_data()[0]["check"]
    'water activity of ice'
    """
    return [
        {
            "check": check.check,
            "subject": check.subject,
            "unit": check.unit,
            "published": check.published,
            "predicted": round(check.predicted, 6),
            "difference": round(check.difference, 6),
            "tolerance": check.tolerance,
            "within": check.within,
            "source": check.source,
            "note": check.note,
        }
        for check in every_check()
    ]


def evidence_text() -> str:
    """Return every check as a table, misses marked, with sources once for each group.

    Returns
    -------
    str

    Examples
    --------
    >>> "fruit" in evidence_text()
    True
    """
    lines = ["Published figures and what this model predicts, misses included", ""]
    checks = every_check()
    for name in dict.fromkeys(check.check for check in checks):
        group = [check for check in checks if check.check == name]
        missed = sum(not check.within for check in group)
        lines.append(f"{name.capitalize()}: {len(group)} figures, {missed} missed")
        lines.append(f"  {'':44} {'published':>10} {'predicted':>10} {'difference':>10}")
        for check in group:
            mark = "" if check.within else "  MISSED"
            lines.append(
                f"  {check.subject[:44]:44} {check.published:10.5g} {check.predicted:10.5g} "
                f"{check.difference:+10.2g} {check.unit}{mark}"
            )
            if check.note:
                lines.append(f"    {check.note}.")
        lines += [f"  Source: {source}" for source in dict.fromkeys(c.source for c in group)]
        lines.append("")
    inside = sum(check.within for check in checks)
    lines.append(
        f"{inside} of {len(checks)} figures are within the tolerance of their source. Fruit, hard cases "
        f"aside, is off by {mean_error_of_fruit():.2f} °C on average."
    )
    return "\n".join(lines)


def _rows(name: str) -> list[dict[str, str]]:
    return read_rows(data_folder() / "evidence" / f"{name}.csv")


def solution(component: str, mass_percent: float) -> Array:
    """Return the composition of one component in water [%]."""
    composition = np.zeros(len(COLUMNS))
    composition[position(component)] = mass_percent
    composition[position("water")] = 100.0 - mass_percent
    return composition


def mix_compositions() -> dict[str, Array]:
    """Return the compositions [%] of ``mixes.csv`` by name."""
    found: dict[str, Array] = {}
    for row in _rows("mixes"):
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


def _mix(row: dict[str, str], composition: Array) -> Check:
    if row["quantity"] == "initial_freezing_point":
        point = float(freezing_model().initial_freezing_point(composition)[0])
        return _check(row, row["mix"], "°C", point)
    temperature = number(row, "temperature_c", row["mix"])
    predicted = float(freezing_model().frozen_water(composition, [temperature])[0, 0])
    unit = "% of water frozen"
    if row["quantity"] == "ice":
        predicted *= float(composition[position("water")]) / 100.0
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
        note=row.get("note", "") or row.get("hard_case", ""),
    )
