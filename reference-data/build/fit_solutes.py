"""Measure how well every solute curve fits the freezing points that it was fitted to.

    python reference-data/build/fit_solutes.py [--out FILE]

Reads ``freezing/measured.csv`` and ``freezing/solutes.csv`` and writes the latter with its columns
``points``, ``fit_rms_c`` and ``fit_max_c`` recomputed.  Solutes without measured rows here keep theirs.
"""

from __future__ import annotations

import argparse
import csv
import io
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from formulate.freezing.ice import COLDEST_C
from formulate.freezing.solute_curves import Solute, solutes

FREEZING = Path(__file__).resolve().parent.parent / "freezing"
FITTED_TO = "crc"


def freezing_point(solute: Solute, mass_percent: float) -> float:
    """Return the temperature [°C] at which a solution holds just all of its water."""
    wanted = (100.0 - mass_percent) / mass_percent
    return float(brentq(lambda t: float(solute.water_held(t)) - wanted, COLDEST_C, -1e-4))


def errors(solute: Solute, mass_percent_end: str) -> list[float]:
    """Return predicted minus measured freezing points [°C] within the range of the fit."""
    found = []
    with (FREEZING / "measured.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            percent = float(row["mass_percent"])
            if (row["solute"], row["source"]) != (solute.key, FITTED_TO) or not mass_percent_end:
                continue
            if -float(row["depression_c"]) < COLDEST_C + 0.5 or percent > float(mass_percent_end):
                continue
            found.append(freezing_point(solute, percent) + float(row["depression_c"]))
    return found


def table() -> str:
    """Return ``solutes.csv`` with the measured errors."""
    with (FREEZING / "solutes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        off = np.array(errors(solutes()[row["solute"]], row["mass_percent_end"]))
        if len(off):
            row["points"] = str(len(off))
            row["fit_rms_c"] = f"{np.sqrt(np.mean(off**2)):.4f}"
            row["fit_max_c"] = f"{np.max(np.abs(off)):.4f}"
    text = io.StringIO()
    writer = csv.DictWriter(text, rows[0], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=FREEZING / "solutes.csv")
    parser.parse_args().out.write_text(table(), encoding="utf-8")


if __name__ == "__main__":
    main()
