"""Build ``spread.csv``: how far a lot may lie from the composition in the table.

    python reference-data/build/build_spread.py [--out FILE]

Needs the tables that ``build_table.py`` writes, and ``fruit_spread.csv``.  One row per ingredient and
kind of doubt, with its standard deviation:

``sugars``
    all sugars together, in % of their amount: fruit, juice, purée and vegetables, whose lots differ;
``sucrose_share``
    the share of sucrose in these sugars, in g per g;
a component
    its own content, in g per 100 g.

Fruit of ``fruit_spread.csv`` has the variation between food tables; other fruit the median of it.
Components have the standard deviation of their samples where the source gives one (standard error x
root of n), else that of their basis in :data:`BY_BASIS`.
"""

from __future__ import annotations

import argparse
import csv
import io
import statistics
from pathlib import Path

DATA = Path(__file__).resolve().parent.parent

#: Standard deviation in % of the value where the source states none.  Judgement of this project: a
#: typical specification is kept to about 2 %; compiled rows differ between food tables by about 5 %.
BY_BASIS = {
    "defined": 0.0,
    "specification": 2.0,
    "measured": 5.0,
    "calculated": 5.0,
    "compiled": 5.0,
    "estimated": 25.0,
}
VARYING = ("fruit", "juice", "puree", "vegetable")
SUGARS = "sucrose glucose fructose galactose lactose maltose trehalose".split()
DISSOLVED = [
    *SUGARS,
    *"glucose_syrup_solids sorbitol mannitol xylitol erythritol maltitol isomalt glycerol".split(),
    *"citric_acid malic_acid tartaric_acid lactic_acid acetic_acid salt potassium_chloride".split(),
    *"calcium_chloride plant_potassium milk_minerals ethanol".split(),
]
SMALLEST_G = 0.01


def read(name: str) -> list[dict[str, str]]:
    """Return the rows of a table of the data folder."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def deviation(row: dict[str, str]) -> tuple[float, str]:
    """Return the standard deviation [g/100 g] of one component, and where it comes from."""
    value = float(row["grams_per_100g"])
    if row["n"] and row["standard_error"] and float(row["n"]) >= 3:
        return float(row["standard_error"]) * float(row["n"]) ** 0.5, "samples"
    return value * BY_BASIS[row["basis"]] / 100.0, row["basis"]


def rows() -> list[dict[str, str]]:
    """Return the rows of the spread table."""
    kinds = {row["key"]: row["kind"] for row in read("ingredients.csv")}
    fruit = {row["key"]: row for row in read("fruit_spread.csv")}
    usual_cv = statistics.median(float(row["sugars_cv_percent"]) for row in fruit.values())
    usual_share = statistics.median(share_deviation(row) for row in fruit.values())
    found: list[dict[str, str]] = []
    for key, kind in kinds.items():
        if kind not in VARYING:
            continue
        name = key.removesuffix("_puree_10").removesuffix("_frozen")
        row = fruit.get(name)
        basis = f"{row['n_sources']} food tables" if row else "estimated"
        spread = float(row["sugars_cv_percent"]) if row else usual_cv
        share = share_deviation(row) if row else usual_share
        found.append(entry(key, "sugars", spread, basis))
        found.append(entry(key, "sucrose_share", share, basis))
    for row in read("provenance.csv"):
        key, component = row["key"], row["component"]
        if component not in DISSOLVED or (kinds[key] in VARYING and component in SUGARS):
            continue
        grams, basis = deviation(row)
        if grams >= SMALLEST_G:
            found.append(entry(key, component, grams, basis))
    return found


def share_deviation(row: dict[str, str]) -> float:
    """Standard deviation of a share of which the smallest and the largest are known."""
    return (float(row["sucrose_share_max"]) - float(row["sucrose_share_min"])) / 12.0**0.5


def entry(key: str, what: str, deviation_: float, basis: str) -> dict[str, str]:
    """Return one row."""
    return {"key": key, "what": what, "deviation": f"{deviation_:.4g}", "basis": basis}


def table() -> str:
    """Return the table as text."""
    found = rows()
    text = io.StringIO()
    writer = csv.DictWriter(text, found[0], lineterminator="\n")
    writer.writeheader()
    writer.writerows(found)
    return text.getvalue()


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=DATA / "spread.csv")
    parser.parse_args().out.write_text(table(), encoding="utf-8")


if __name__ == "__main__":
    main()
