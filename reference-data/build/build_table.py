"""Build the ingredient table from its sources.

    python reference-data/build/build_table.py [--out FOLDER]

``plan.csv`` says how each ingredient is made: from a row of a food table (``sr28/09316``), from parts
that a definition or a specification gives (``parts: glucose 90.91 + water 9.09``), or as a blend of
ingredients built before it (``blend: strawberry 90 + sucrose 10``).  Needs Python alone, no network.

How a row of a food table becomes components, per 100 g:

* fat and protein go to the origin that the kind of food has;
* sugars by species where the row has them, else the total by the split that the plan gives;
* the ash of dairy is milk minerals; a plant's potassium is ``plant_potassium``, its sodium salt, and
  the rest of its ash other minerals;
* carbohydrate by difference less sugars, fibre and starch is organic acid as far as the plan names
  acids, and else other solids.  Starch that a row leaves blank is part of other solids.

A cell that is needed and blank, with no fill in the plan, is an error that names it; it is never zero.
"""

from __future__ import annotations

import argparse
import csv
import io
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).resolve().parent
DATA = HERE.parent

COMPONENTS = (
    "water milk_fat egg_fat cocoa_fat other_fat milk_protein egg_protein other_protein sucrose glucose "
    "fructose galactose lactose maltose trehalose glucose_syrup_solids sorbitol mannitol xylitol "
    "erythritol maltitol isomalt glycerol inulin fibre starch citric_acid malic_acid tartaric_acid "
    "lactic_acid acetic_acid salt potassium_chloride calcium_chloride plant_potassium milk_minerals "
    "other_minerals ethanol stabiliser emulsifier other_solids"
).split()
SPECIES = ("sucrose", "glucose", "fructose", "lactose", "maltose", "galactose")
ORIGIN = {"dairy": "milk", "egg": "egg", "cocoa": "cocoa"}
MAY_HOLD_ALCOHOL = ("spirit", "wine", "liqueur", "spice")
SALT_PER_SODIUM = 2.542  # molar masses 58.443 / 22.990
#: What the plan may say that an ingredient holds, and what it is called among the allergens of the EU
#: (Regulation 1169/2011, Annex II) and of the US (FDA, Questions and Answers Regarding Food Allergens,
#: Edition 5: wheat is the only cereal, pine nut one of twelve tree nuts); blank: not among them.
ALLERGENS = {
    "milk": ("milk", "milk"),
    "eggs": ("eggs", "eggs"),
    "nuts": ("nuts", "tree_nuts"),
    "pine_nuts": ("", "tree_nuts"),
    "peanuts": ("peanuts", "peanuts"),
    "sesame": ("sesame", "sesame"),
    "soybeans": ("soybeans", "soybeans"),
    "wheat": ("gluten", "wheat"),
    "rye": ("gluten", ""),
    "barley": ("gluten", ""),
    "oats": ("gluten", ""),
    "fish": ("fish", "fish"),
    "crustaceans": ("crustaceans", "crustaceans"),
    "molluscs": ("molluscs", ""),
    "celery": ("celery", ""),
    "mustard": ("mustard", ""),
    "lupin": ("lupin", ""),
    "sulphites": ("sulphites", ""),
}
NUTRIENTS = (
    "sodium_mg",
    "potassium_mg",
    "calcium_mg",
    "saturated_fat_g",
    "cholesterol_mg",
    "energy_kcal",
)


class BuildError(Exception):
    """A source cannot give what the plan asks of it."""


@dataclass
class Cell:
    """One number with where it comes from."""

    grams: float
    basis: str
    source: str
    row: str = ""
    count: str = ""
    error: str = ""
    note: str = ""


@dataclass
class Made:
    """One built ingredient: its cells by component, and its dextrose equivalent."""

    cells: dict[str, Cell] = field(default_factory=dict)
    dextrose_equivalent: float = 0.0
    yolk_solids: float = 0.0

    def put(self, component: str, cell: Cell) -> None:
        """Add a cell; a second one for the same component adds to the first as calculated."""
        if cell.grams <= 0.0:
            return
        if component not in COMPONENTS:
            raise BuildError(f"{component} is not a component.")
        known = self.cells.get(component)
        if known is None:
            self.cells[component] = cell
        else:
            known.grams += cell.grams
            known.basis = "calculated"

    def total(self) -> float:
        """Sum of all components."""
        return sum(cell.grams for cell in self.cells.values())


@dataclass(frozen=True)
class Source:
    """One row of a food table, with the plan's fills for what it leaves blank."""

    key: str
    source: str
    row: dict[str, str]
    fills: dict[str, str]

    def has(self, column: str) -> bool:
        """Whether the row or the plan gives this number."""
        return bool(self.fills.get(column) or self.row.get(column))

    def cell(self, column: str) -> Cell:
        """Return a number with its basis: measured where the table counts samples, else compiled."""
        number = self.row["source_row"]
        if self.fills.get(column):
            note = "filled by judgement, see the ingredient's note"
            return Cell(float(self.fills[column]), "estimated", "estimate", note=note)
        text = self.row.get(column, "")
        if not text:
            raise BuildError(
                f"{self.key}: {self.source} row {number}, {column} is blank and not filled."
            )
        count = self.row.get(f"{column}_n", "")
        basis = "measured" if count else "compiled"
        return Cell(
            float(text), basis, self.source, number, count, self.row.get(f"{column}_se", "")
        )

    def grams(self, column: str) -> float:
        """Return the number alone."""
        return self.cell(column).grams

    def derived(self, grams: float, note: str, basis: str = "calculated") -> Cell:
        """Return a number worked out from this row."""
        return Cell(grams, basis, self.source, self.row["source_row"], note=note)


def build(
    plan: list[dict[str, str]], extracts: dict[str, dict[str, dict[str, str]]]
) -> dict[str, Made]:
    """Return every ingredient of the plan, built, by key."""
    table: dict[str, Made] = {}
    for entry in plan:
        if entry["key"] in table:
            raise BuildError(f"{entry['key']} is in the plan twice.")
        way, _, what = entry["made"].partition(":")
        fills = dict(part.split("=", 1) for part in entry["fills"].split(";") if part)
        if way == "parts":
            made = from_parts(what, fills, entry["note"])
        elif way == "blend":
            made = from_blend(what, table)
        else:
            name, _, number = entry["made"].partition("/")
            if number not in extracts.get(name, {}):
                raise BuildError(f"{entry['key']}: {name} has no row {number}.")
            made = from_row(entry, Source(entry["key"], name, extracts[name][number], fills))
        table[entry["key"]] = closed(entry["key"], made)
    return table


def from_parts(what: str, fills: dict[str, str], note: str) -> Made:
    """Return an ingredient that a definition or specification gives."""
    made = Made(dextrose_equivalent=float(fills.get("de", "0")))
    basis = fills["basis"]
    source = {"defined": "definition", "estimated": "estimate"}.get(basis, "specification")
    for name, grams in pairs(what):
        made.put(name, Cell(grams, basis, source, note=note))
    return made


def from_blend(what: str, table: dict[str, Made]) -> Made:
    """Return a blend of ingredients that are already built."""
    made = Made()
    for name, share in pairs(what):
        if table[name].dextrose_equivalent:
            raise BuildError(f"{name}: blends of glucose syrups are not supported.")
        for component, cell in table[name].cells.items():
            grams = cell.grams * share / 100.0
            basis = cell.basis if share == 100.0 else "calculated"
            made.put(
                component, Cell(grams, basis, cell.source, cell.row, note=f"{share:g} % {name}")
            )
    return made


def from_row(entry: dict[str, str], source: Source) -> Made:
    """Return an ingredient from its row of a food table."""
    kind = entry["kind"]
    origin = ORIGIN.get(kind, "other")
    made = Made()
    made.put("water", source.cell("water_g"))
    made.put(f"{origin}_fat", source.cell("fat_g"))
    made.put(
        "other_protein" if origin == "cocoa" else f"{origin}_protein", source.cell("protein_g")
    )
    if kind in MAY_HOLD_ALCOHOL and source.has("alcohol_g"):
        made.put("ethanol", source.cell("alcohol_g"))
    put_minerals(made, source, kind)
    put_carbohydrate(made, source, entry)
    if kind == "egg":
        fat, water = source.grams("fat_g"), source.grams("water_g")
        # SR28 row 01125: 26.54 g fat in 47.69 g solids of raw yolk
        made.yolk_solids = min(fat * 47.69 / 26.54, 100.0 - water) if fat > 1.0 else 0.0
    return made


def put_minerals(made: Made, source: Source, kind: str) -> None:
    """Divide the ash."""
    ash = source.grams("ash_g")
    if kind == "dairy":
        salt = 0.0
        if source.fills.get("salted"):
            natural = 14.0 * source.grams(
                "protein_g"
            )  # mg sodium per g milk protein, from whole milk
            salt = max(source.grams("sodium_mg") - natural, 0.0) * SALT_PER_SODIUM / 1000.0
            salt = min(salt, ash)
            made.put("salt", source.derived(salt, "sodium beyond that of milk"))
        made.put("milk_minerals", source.derived(ash - salt, "ash without added salt"))
        return
    potassium = source.grams("potassium_mg") / 1000.0 if source.has("potassium_mg") else 0.0
    sodium = source.grams("sodium_mg") / 1000.0 if source.has("sodium_mg") else 0.0
    potassium = min(potassium, ash)
    salt = min(sodium * SALT_PER_SODIUM, ash - potassium)
    made.put("salt", source.derived(salt, "sodium counted as salt"))
    name = "other_minerals" if kind == "egg" else "plant_potassium"
    made.put(name, source.derived(potassium, "potassium, as the element"))
    made.put("other_minerals", source.derived(ash - potassium - salt, "rest of the ash"))


def put_carbohydrate(made: Made, source: Source, entry: dict[str, str]) -> None:
    """Divide the carbohydrate by difference into sugars, fibre, starch, acids and the rest."""
    carbohydrate = max(source.grams("carb_by_diff_g"), 0.0)
    sugars = species(source) if carbohydrate > 0.0 else {}
    total = sum(cell.grams for cell in sugars.values())
    if total > carbohydrate:
        for cell in sugars.values():
            cell.grams *= carbohydrate / total
            cell.basis, cell.note = "calculated", "scaled down to the carbohydrate by difference"
        total = carbohydrate
    for name, cell in sugars.items():
        made.put(name, cell)
    rest = carbohydrate - total
    if entry["kind"] not in ("dairy", "egg", "fat"):
        rest -= put_bounded(made, source, "fibre", "fibre_g", rest)
    if source.has("starch_g"):
        rest -= put_bounded(made, source, "starch", "starch_g", rest)
    elif source.fills.get("starch_rest"):
        made.put("starch", source.derived(rest, "carbohydrate that is neither sugar nor fibre"))
        rest = 0.0
    for name, grams in acids(entry["acids"]):
        taken = min(grams, rest)
        made.put(name, Cell(taken, "estimated", "estimate", note="usual content, from memory"))
        rest -= taken
    if entry["kind"] == "dairy" and rest > 0.0 and entry["key"] in FERMENTED:
        taken = min(rest, 0.9)
        made.put("lactic_acid", source.derived(taken, "carbohydrate beyond lactose", "estimated"))
        rest -= taken
    made.put("other_solids", source.derived(rest, "rest of the carbohydrate by difference"))


FERMENTED = (
    "yogurt",
    "skim_yogurt",
    "greek_yogurt",
    "greek_yogurt_nonfat",
    "buttermilk",
    "sour_cream",
)


def put_bounded(made: Made, source: Source, component: str, column: str, most: float) -> float:
    """Put a cell, but not more than what is left of the carbohydrate; return the grams put."""
    cell = source.cell(column)
    if cell.grams > most:
        cell = source.derived(most, f"{column} cut to what the carbohydrate by difference leaves")
    made.put(component, cell)
    return max(cell.grams, 0.0)


def species(source: Source) -> dict[str, Cell]:
    """Return the sugars by species: as the row has them, or the total split as the plan says."""
    split = source.fills.get("split", "")
    known = {name: source.cell(f"{name}_g") for name in SPECIES if source.has(f"{name}_g")}
    if known and sum(cell.grams for cell in known.values()) > 0.0 and not split:
        return known
    total = source.grams("sugars_total_g")
    if total == 0.0:
        return {}
    if not split:
        raise BuildError(f"{source.key}: the sugars have no species and the plan no split.")
    if split == "lactose":
        return {"lactose": source.derived(total, "all sugar of milk is lactose")}
    if split == "condensed":
        lactose = source.grams("protein_g") * 4.8 / 3.2
        return {
            "lactose": source.derived(lactose, "with milk's protein, 4.8 to 3.2", "estimated"),
            "sucrose": source.derived(total - lactose, "sugars less lactose", "estimated"),
        }
    shares = [float(part) for part in split.split(":")]
    names = ("sucrose", "glucose", "fructose", "maltose")
    return {
        name: source.derived(
            total * share / sum(shares), f"total sugars split {split}", "estimated"
        )
        for name, share in zip(names, shares, strict=False)
    }


def closed(key: str, made: Made) -> Made:
    """Bring the sum to 100 exactly: a rest is other solids, an excess of rounding is taken from water."""
    for cell in made.cells.values():
        cell.grams = round(cell.grams, 4)
    made.cells = {name: cell for name, cell in made.cells.items() if cell.grams > 0.0}
    gap = round(100.0 - made.total(), 4)
    if abs(gap) > 3.0:
        raise BuildError(f"{key}: the components add up to {made.total():.2f}.")
    if gap > 0.0:
        name = (
            "other_solids"
            if gap > 0.02
            else max(made.cells, key=lambda part: made.cells[part].grams)
        )
        made.put(name, Cell(gap, "calculated", "closure", note="what is missing to 100"))
    elif gap < 0.0:
        largest = max(made.cells, key=lambda part: made.cells[part].grams)
        made.cells[largest].grams = round(made.cells[largest].grams + gap, 4)
    for cell in made.cells.values():
        cell.grams = round(cell.grams, 4)
    return made


def acids(text: str) -> list[tuple[str, float]]:
    """Return the acids of a plan entry: ``citric 0.8 malic 0.2``."""
    words = text.split()
    return [
        (f"{name}_acid", float(grams)) for name, grams in zip(words[::2], words[1::2], strict=True)
    ]


def pairs(text: str) -> list[tuple[str, float]]:
    """Return name and number of each part of ``strawberry 90 + sucrose 10``."""
    parts = (part.split() for part in text.split("+"))
    return [(name, float(number)) for name, number in parts]


def read(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def files(
    plan: list[dict[str, str]],
    table: dict[str, Made],
    extracts: dict[str, dict[str, dict[str, str]]],
) -> dict[str, str]:
    """Return the text of every built file by name."""
    return {
        "ingredients.csv": ingredients_file(plan, extracts),
        "composition.csv": composition_file(table),
        "provenance.csv": provenance_file(table),
        "nutrients.csv": nutrients_file(plan, extracts),
    }


def composition_file(table: dict[str, Made]) -> str:
    """One row per ingredient, every component, explicit zeros."""
    rows = [
        [
            key,
            *(f"{made.cells[name].grams:g}" if name in made.cells else "0" for name in COMPONENTS),
            f"{round(made.yolk_solids, 2):g}",
            f"{made.dextrose_equivalent:g}",
        ]
        for key, made in table.items()
    ]
    return text_of(["key", *COMPONENTS, "egg_yolk_solids", "dextrose_equivalent"], rows)


def provenance_file(table: dict[str, Made]) -> str:
    """One row per number that is not zero, and one that says why all others are."""
    rows = []
    for key, made in table.items():
        for name in COMPONENTS:
            if name in made.cells:
                cell = made.cells[name]
                head = [key, name, f"{cell.grams:g}", cell.basis, cell.source]
                rows.append([*head, cell.row, cell.count, cell.error, cell.note])
        why = "none by nature or by specification; traces are counted with other solids"
        rows.append([key, "*", "0", "defined", "definition", "", "", "", why])
    columns = "key component grams_per_100g basis source source_row n standard_error note".split()
    return text_of(columns, rows)


def ingredients_file(
    plan: list[dict[str, str]], extracts: dict[str, dict[str, dict[str, str]]]
) -> str:
    """Names, kinds, edible share, allergens, density and how usual an ingredient is."""
    rows = []
    for entry in plan:
        name, _, number = entry["made"].partition("/")
        row = extracts.get(name, {}).get(number)
        edible, source = "100", "specification"
        fills = dict(part.split("=", 1) for part in entry["fills"].split(";") if part)
        if row is not None and row.get("refuse_percent"):
            edible, source = f"{100.0 - float(row['refuse_percent']):g}", name
        elif "edible" in fills:
            edible, source = fills["edible"], "estimate"
        european, american = allergens(entry)
        density_source = "specification" if entry["density_g_per_ml"] else ""
        rows.append(
            [entry["key"], entry["name"], entry["kind"], edible, source, european, american]
            + [entry["animal"], entry["density_g_per_ml"], density_source]
            + [entry["usual"], entry["note"]]
        )
    columns = (
        "key name kind edible_percent edible_source allergens_eu allergens_us animal "
        "density_g_per_ml density_source usual note"
    ).split()
    return text_of(columns, rows)


def allergens(entry: dict[str, str]) -> tuple[str, str]:
    """Return the allergens of a plan entry as the EU and as the US call them, ``;`` between."""
    words = [word for word in entry["allergens"].split(";") if word]
    for word in words:
        if word not in ALLERGENS:
            raise BuildError(f"{entry['key']}: {word} is not one of {', '.join(ALLERGENS)}.")
    european, american = (
        ";".join(dict.fromkeys(ALLERGENS[word][law] for word in words if ALLERGENS[word][law]))
        for law in (0, 1)
    )
    return european, american


def nutrients_file(
    plan: list[dict[str, str]], extracts: dict[str, dict[str, dict[str, str]]]
) -> str:
    """What a label needs beside the components; blank is unknown, not zero."""
    rows = []
    for entry in plan:
        name, _, number = entry["made"].partition("/")
        row = extracts.get(name, {}).get(number)
        if row is not None:
            rows.append(
                [entry["key"], *(row.get(column, "") for column in NUTRIENTS), name, number]
            )
    return text_of(["key", *NUTRIENTS, "source", "source_row"], rows)


def text_of(header: list[str], rows: list[list[str]]) -> str:
    """Return rows as CSV text."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return file.getvalue()


def main() -> None:
    """Build and write everything."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=DATA, help="folder to write to")
    folder = parser.parse_args().out
    plan = read(HERE / "plan.csv")
    extracts = {
        path.stem: {row["source_row"]: row for row in read(path)}
        for path in sorted((DATA / "extract").glob("*.csv"))
    }
    for name, text in files(plan, build(plan, extracts), extracts).items():
        (folder / name).write_text(text, encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
