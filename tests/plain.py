"""A mix recomputed from the recipe's own words and the CSV tables, by plain arithmetic.

Imports nothing of ``formulate``: what is wrong here and there in the same way would be wrong twice by
accident.  Known are ingredients of the table and of one's own by components, readings at 20 °C, and the
steps ``blend``, ``sieve`` and ``infuse``, and ``peel and stone`` with a waste of its own.
"""

from __future__ import annotations

import csv
import itertools
import sys
from functools import cache
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

sys.path.insert(0, str(Path(__file__).parent))

import plain_freezing

TABLES = Path(__file__).parents[1] / "reference-data"

FATS = ("milk_fat", "egg_fat", "cocoa_fat", "other_fat")
SUGARS = ("sucrose", "glucose", "fructose", "galactose", "lactose", "maltose", "trehalose")
PROTEINS = ("milk_protein", "egg_protein", "other_protein")
#: What is a sum of components, by key.
SUMS = {
    "fat": FATS,
    "sugars": SUGARS,
    "added_sugars": tuple(key for key in SUGARS if key != "lactose"),
    "msnf": ("milk_protein", "lactose", "milk_minerals"),
    "protein": PROTEINS,
}

#: What neither dissolves nor runs with juice, and what a refractometer sees beside the sugars.
PULP = ("other_fat", "cocoa_fat", "other_protein", "fibre", "starch")
POLYOLS = ("sorbitol", "mannitol", "xylitol", "erythritol", "maltitol", "isomalt", "glycerol")

SHOWN = 0.05  # half of the last digit of a percentage: within it an exact target is met
SHOWN_COST = 0.005
SHOWN_C = 0.02
CURVE = 2e-3  # % and °C: the ice line is fitted to 0.1 mK, roots are found to 1 mK
ROUNDED_RATIO_G = 1.0
ARITHMETIC = 1e-6


@cache
def table() -> dict[str, dict[str, float]]:
    """Rows of ``composition.csv`` [g per 100 g], by key."""
    with (TABLES / "composition.csv").open(encoding="utf-8") as file:
        rows = [(row.pop("key"), row) for row in csv.DictReader(file)]
    return {key: {name: float(cell) for name, cell in row.items()} for key, row in rows}


@cache
def edible() -> dict[str, float]:
    """The used share of what is bought [%], by key."""
    with (TABLES / "ingredients.csv").open(encoding="utf-8") as file:
        return {row["key"]: float(row["edible_percent"]) for row in csv.DictReader(file)}


@cache
def sweetness() -> dict[str, float]:
    """Sweetness relative to sucrose, by component."""
    with (TABLES / "sweetness.csv").open(encoding="utf-8") as file:
        return {row["component"]: float(row["sweetness"]) for row in csv.DictReader(file)}


@cache
def families() -> dict[str, str]:
    """Family of each component, by key: the names of what is a sugar, an acid and so on."""
    found = dict.fromkeys(SUGARS, "sugar") | dict.fromkeys(POLYOLS, "polyol")
    for row in table().values():
        for part in row:
            if part.endswith("_acid"):
                found[part] = "acid"
    minerals = ("milk_minerals", "other_minerals", "salt", "plant_potassium")
    found |= dict.fromkeys((*minerals, "potassium_chloride", "calcium_chloride"), "mineral")
    return found | {"glucose_syrup_solids": "syrup"}


def composition(entry) -> dict[str, float]:
    """g per 100 g of an ingredient before its steps, as it was read at 20 °C if it was."""
    row = table()[entry.key] if entry.composition is None else dict(entry.composition)
    lot = getattr(entry, "lot", None)
    brix = entry.brix if lot is None else lot.reading
    return row if brix is None else _read(row, brix)


def _read(row: dict[str, float], brix: float) -> dict[str, float]:
    """So much is dissolved in 100 g of juice; what is more or less of it is sugar, in place of water."""
    sugar = sum(row.get(part, 0.0) for part in SUGARS)
    seen = sum(row.get(part, 0.0) for part in families())
    wanted = brix / 100.0 * (seen + row["water"]) - (seen - sugar)
    more = {part: row.get(part, 0.0) * wanted / sugar for part in SUGARS}
    return {**row, **more, "water": row["water"] + sugar - wanted}


@cache
def usual_step() -> dict[tuple[str, str, str, str], str]:
    """Usual settings of ``steps.csv`` by step, kind, hot or cold, and setting."""
    with (TABLES / "steps.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {(row["do"], row["kind"], row["when"], row["setting"]): row["value"] for row in rows}


def setting(entry, step, name: str) -> float:
    """A setting of a step: given, or usual for this kind of ingredient."""
    given = dict(step.settings)
    if name in given:
        return float(given[name])
    kind, when = _kind(entry), ""
    if step.do == "infuse":
        when = "hot" if given.get("hot", given.get("at_c", 40.0) >= 40.0) else "cold"
        if kind == "herb":
            kind = "dried herb" if composition(entry)["water"] < 20.0 else "fresh herb"
        kind = given.get("like", kind)
    keys = ((step.do, k, w, name) for k in (kind, "") for w in (when, ""))
    return float(next(usual_step()[key] for key in keys if key in usual_step()))


@cache
def kinds() -> dict[str, str]:
    """Kind of each ingredient of the table."""
    with (TABLES / "ingredients.csv").open(encoding="utf-8") as file:
        return {row["key"]: row["kind"] for row in csv.DictReader(file)}


def _kind(entry) -> str:
    return "own" if entry.composition is not None else kinds()[entry.key]


def weighed_out(row: dict[str, float]) -> dict[str, float]:
    """Components that weigh something, without what only describes them."""
    return {k: v for k, v in row.items() if k not in ("egg_yolk_solids", "dextrose_equivalent")}


def mass(row: dict[str, float]) -> float:
    return sum(weighed_out(row).values())


def brings(entry, entries=()) -> dict[str, float]:
    """What 100 g at the scale bring into the mix, by component [g]: below zero for a strained liquid."""
    row = dict(composition(entry))
    equivalent = row.pop("dextrose_equivalent", 0.0)
    row["syrup_reducing_power"] = row.get("glucose_syrup_solids", 0.0) * equivalent / 100.0
    for step in entry.steps:
        if step.do == "blend":
            kept = 1.0 - setting(entry, step, "waste_percent") / 100.0
            row = {part: kept * value for part, value in row.items()}
        elif step.do == "sieve":
            row = _sieved(
                row, setting(entry, step, "waste_percent"), setting(entry, step, "fibre_percent")
            )
        elif step.do == "infuse":
            liquid = next(e for e in entries if e.key == dict(step.settings)["in"])
            row = _drawn(entry, step, row, brings(liquid, entries))
        else:
            assert step.do == "peel and stone", f"{step.do} is not known here"
    return row


def _mass(row: dict[str, float]) -> float:
    """Of what is followed through steps, in which the power of a syrup describes, too."""
    return mass({part: value for part, value in row.items() if part != "syrup_reducing_power"})


def _sieved(row: dict[str, float], waste: float, fibre: float) -> dict[str, float]:
    whole, pulp = _mass(row), sum(row.get(part, 0.0) for part in PULP)
    lost = whole * waste / 100.0
    held = min(pulp * fibre / 100.0, lost / 2.0)
    if whole - pulp < max(pulp, lost - held):
        return {part: value * (1.0 - waste / 100.0) for part, value in row.items()}
    of_pulp = 1.0 - (held / pulp if pulp else 0.0)
    of_juice = 1.0 - (lost - held) / (whole - pulp)
    return {part: value * (of_pulp if part in PULP else of_juice) for part, value in row.items()}


def _drawn(entry, step, row: dict[str, float], liquid: dict[str, float]) -> dict[str, float]:
    """A herb gives solubles and water, and keeps liquid in their place and more."""
    gives = setting(entry, step, "solids_percent") / 100.0
    share = {part: 0.0 if part in PULP else gives for part in row}
    share["water"] = setting(entry, step, "water_percent") / 100.0
    given = {part: value * share[part] for part, value in row.items()}
    keeps = setting(entry, step, "grams_kept_per_gram") * _mass(row) + _mass(given)
    return {
        part: given.get(part, 0.0) - keeps * liquid.get(part, 0.0) / _mass(liquid)
        for part in {**given, **liquid}
    }


def property_of(row: dict[str, float], key: str) -> float:
    """A property of what :func:`brings` tells."""
    if key == "sweetness":
        return sum(share * row.get(part, 0.0) for part, share in sweetness().items())
    if key == "total_solids":
        return _mass(row) - row.get("water", 0.0) - row.get("ethanol", 0.0)
    return sum(row.get(part, 0.0) for part in SUMS.get(key, (key,)))


def value_of(entry, key: str) -> float:
    """A property of an ingredient alone [its unit]."""
    if key == "cost_per_kg":
        return entry.price_per_kg * buys(entry)
    row = dict(composition(entry))
    power = row.get("glucose_syrup_solids", 0.0) * row.get("dextrose_equivalent", 0.0) / 100.0
    row.pop("dextrose_equivalent", None)
    return property_of({**row, "syrup_reducing_power": power}, key)


def reach(entry) -> float:
    """Grams that come into the mix per gram at the scale: what a jug keeps is lost."""
    share = 1.0
    for step in entry.steps:
        if step.do in ("blend", "sieve"):
            share *= 1.0 - setting(entry, step, "waste_percent") / 100.0
        elif step.do == "infuse":
            share *= -setting(entry, step, "grams_kept_per_gram")
        else:
            assert step.do == "peel and stone", f"{step.do} is not known here"
    return share


def buys(entry) -> float:
    """Grams to buy per gram at the scale: peel and stones go before it, bones and rind with any step."""
    if not entry.steps:
        return 1.0
    wastes = [dict(s.settings)["waste_percent"] for s in entry.steps if s.do == "peel and stone"]
    if wastes:
        return 1.0 / (1.0 - wastes[0] / 100.0)
    return 100.0 / edible().get(entry.key, 100.0)


def start(recipe) -> dict[str, float | None]:
    """What change is counted from: written weights, scaled but for the fixed if all are known."""
    entries = recipe.ingredients
    if any(entry.grams is None for entry in entries):
        return {entry.key: entry.grams for entry in entries}
    held = sum(reach(entry) * entry.grams for entry in entries if entry.fixed)
    free = sum(reach(entry) * entry.grams for entry in entries if not entry.fixed)
    by = (recipe.batch_g - held) / free if free > 0.0 and held < recipe.batch_g else 1.0
    return {entry.key: entry.grams * (1.0 if entry.fixed else by) for entry in entries}


def limit_faults(recipe, grams: dict[str, float]) -> list[str]:
    """What of totals, limits, stock, ratios, groups and counts a mix does not keep, in words."""
    near = ARITHMETIC * recipe.batch_g
    found = []
    total = sum(reach(entry) * grams[entry.key] for entry in recipe.ingredients)
    if abs(total - recipe.batch_g) > 0.5 * recipe.scale.step_g + near:  # good to half a step
        found.append(f"total {total} for {recipe.batch_g}")
    for entry in recipe.ingredients:
        weight = grams[entry.key]
        low, high = entry.min_g or 0.0, np.inf if entry.max_g is None else entry.max_g
        if entry.fixed:
            low, high = max(low, entry.grams), min(high, entry.grams)
        if not low - near <= weight <= high + near:
            found.append(f"{entry.key} {weight} outside {low} to {high}")
        if entry.stock_g is not None and weight * buys(entry) > entry.stock_g + near:
            found.append(f"{entry.key} {weight} of a stock of {entry.stock_g}")
        if entry.least_use_g and near < weight < entry.least_use_g - near:
            found.append(f"{entry.key} {weight} below its least use {entry.least_use_g}")
    for ratio in recipe.ratios:
        of, to, low, high = grams[ratio.of], grams[ratio.to], ratio.bounds.min, ratio.bounds.max
        slack = ROUNDED_RATIO_G * (1.0 + of / to if to else 1.0) if low == high else near
        if low is not None and of < low * to - slack:
            found.append(f"{of} : {to} below {low}")
        if high is not None and of > high * to + slack:
            found.append(f"{of} : {to} above {high}")
    for group in recipe.groups:
        part = sum(reach(e) * grams[e.key] for e in recipe.ingredients if e.key in group.keys)
        found += _outside(group.name, 100.0 * part / total, group.bounds, SHOWN)
    return found + _count_faults(recipe, grams)


def _count_faults(recipe, grams: dict[str, float]) -> list[str]:
    found, began = [], start(recipe)
    used = sum(weight > 1e-6 for weight in grams.values())
    moved = sum(
        began[key] is not None and abs(weight - began[key]) > 1e-6 for key, weight in grams.items()
    )
    if recipe.counts.most_ingredients is not None and used > recipe.counts.most_ingredients:
        found.append(f"{used} ingredients")
    known = any(value is not None for value in began.values())
    if known and recipe.counts.most_changes is not None and moved > recipe.counts.most_changes:
        found.append(f"{moved} changes")
    return found


def mixed(recipe, grams: dict[str, float]) -> dict[str, float]:
    """g per 100 g of a mix."""
    entries = recipe.ingredients
    total = sum(reach(entry) * grams[entry.key] for entry in entries)
    found: dict[str, float] = {}
    for entry in entries:
        for part, value in brings(entry, entries).items():
            found[part] = found.get(part, 0.0) + value * grams[entry.key] / total
    return found


def target_faults(recipe, grams: dict[str, float]) -> list[str]:
    """Which targets and which serving window a mix does not meet, in words."""
    total = sum(reach(entry) * grams[entry.key] for entry in recipe.ingredients)
    row, found = mixed(recipe, grams), []
    for key, bounds in recipe.targets.items():
        if key == "initial_freezing_point_c":
            point = plain_freezing.freezing_point(row)
            value, shown, near = -30.0 if point is None else point, SHOWN_C, CURVE
        elif key == "cost_per_kg":
            costs = (value_of(entry, key) * grams[entry.key] for entry in recipe.ingredients)
            value, shown, near = sum(costs) / total, SHOWN_COST, None
        else:
            value, shown, near = property_of(row, key), SHOWN, None
        found += _outside(key, value, bounds, shown, near)
    if recipe.serving is not None:
        frozen = plain_freezing.frozen_water(row, recipe.serving.temperature_c)
        window = recipe.serving.frozen_water
        found += _outside("frozen water", frozen, window, SHOWN, CURVE)
    return found


def _outside(name: str, value: float, bounds, shown: float, near=None) -> list[str]:
    near = ARITHMETIC * (1.0 + abs(value)) if near is None else near
    slack = max(shown, near) if bounds.min == bounds.max else near
    low = -np.inf if bounds.min is None else bounds.min
    high = np.inf if bounds.max is None else bounds.max
    inside = low - slack <= value <= high + slack
    return [] if inside else [f"{name} {value} outside {low} to {high}"]


# whether there is a mix at all, by a general library


def is_feasible(recipe, kept=None) -> bool:
    """Whether some weights keep the demands: all of a recipe, or those that are ``kept``.

    Parameters
    ----------
    kept:
        Pairs of kind and key, and side and field: ``("limit", "sucrose", "max", "stock_g")``.

    Every choice of what is used and what is changed is tried as a linear programme of its own.
    """
    entries = recipe.ingredients
    if kept is None and any(_asks_what_cannot_be(entry) for entry in entries):
        return False
    began = start(recipe)
    uses = (
        itertools.product((False, True), repeat=len(entries)) if _chosen(recipe, kept) else [None]
    )
    for used in uses:
        if used is None or _count(recipe, kept, "most_changes") is None:
            changes = [None]
        else:
            changes = itertools.product((False, True), repeat=len(entries))
        for changed in changes:
            if _counts_hold(recipe, kept, used, changed, began) and _solves(
                recipe, kept, used, changed, began
            ):
                return True
    return False


def _asks_what_cannot_be(entry) -> bool:
    """A least use above the stock, or above a most that is not nothing: it could never be used."""
    if not entry.least_use_g:
        return False
    most = [
        limit for limit in (entry.max_g, entry.grams if entry.fixed else None) if limit is not None
    ]
    if 0.0 in most:
        return False
    if entry.stock_g is not None:
        most.append(entry.stock_g / buys(entry))
    return any(entry.least_use_g > limit for limit in most)


def _count(recipe, kept, name: str):
    held = kept is None or any(each[:2] == ("count", name) for each in kept)
    return getattr(recipe.counts, name) if held else None


def _chosen(recipe, kept) -> bool:
    names = ("most_changes", "most_ingredients")
    return any(_count(recipe, kept, name) is not None for name in names) or any(
        entry.least_use_g and _holds(kept, "count", entry.key, "min", "least_use_g")
        for entry in recipe.ingredients
    )


def _counts_hold(recipe, kept, used, changed, began) -> bool:
    if used is None:
        return True
    most = _count(recipe, kept, "most_ingredients")
    if most is not None and sum(used) > most:
        return False
    if changed is None:
        return True
    known = [began[entry.key] is not None for entry in recipe.ingredients]
    if not any(known):
        return True
    return sum(a and b for a, b in zip(changed, known, strict=True)) <= recipe.counts.most_changes


def _holds(kept, kind: str, key: str, side: str, field: str = "") -> bool:
    return kept is None or (kind, key, side, field) in kept


def _solves(recipe, kept, used, changed, began) -> bool:
    entries, batch = recipe.ingredients, recipe.batch_g
    bounds, rows, most = [], [], []
    for at, entry in enumerate(entries):
        low, high = _bounds(entry, kept)
        if used is not None:
            if not used[at]:
                high = min(high, 0.0)
            elif entry.least_use_g and _holds(kept, "count", entry.key, "min", "least_use_g"):
                low = max(low, entry.least_use_g)
        if changed is not None and not changed[at] and began[entry.key] is not None:
            low, high = max(low, began[entry.key]), min(high, began[entry.key])
        if low > high + ARITHMETIC * 1e-3 * max(1.0, low):
            return False
        bounds.append((low, max(low, high) if np.isfinite(high) else None))

    def row(coefficients, low, high, kind, key):
        coefficients = np.array(coefficients, dtype=float)
        exact = low is not None and low == high
        if high is not None and (
            _holds(kept, kind, key, "max") or (exact and _holds(kept, kind, key, "exact"))
        ):
            rows.append(coefficients)
            most.append(high)
        if low is not None and (
            _holds(kept, kind, key, "min") or (exact and _holds(kept, kind, key, "exact"))
        ):
            rows.append(-coefficients)
            most.append(-low)

    share = batch / 100.0
    for key, wish in recipe.targets.items():
        unit = batch if key == "cost_per_kg" else share
        values = [
            value_of(e, key) * (unit / batch if key == "cost_per_kg" else reach(e) / 100.0)
            for e in entries
        ]
        low, high = (None if b is None else b * unit for b in (wish.min, wish.max))
        row(values, low, high, "target", key)
    for group in recipe.groups:
        member = [reach(e) if e.key in group.keys else 0.0 for e in entries]
        low, high = (None if b is None else b * share for b in (group.bounds.min, group.bounds.max))
        row(member, low, high, "target", f"group {group.name}")
    for ratio in recipe.ratios:
        for side, bound in (("min", ratio.bounds.min), ("max", ratio.bounds.max)):
            if bound is None:
                continue
            line = [(e.key == ratio.of) - bound * (e.key == ratio.to) for e in entries]
            low, high = (0.0, None) if side == "min" else (None, 0.0)
            row(line, low, high, "target", f"ratio {ratio.of} : {ratio.to}")
    answer = linprog(
        np.zeros(len(entries)),
        A_ub=np.array(rows) if rows else None,
        b_ub=np.array(most) if rows else None,
        A_eq=[[reach(entry) for entry in entries]],
        b_eq=[batch],
        bounds=bounds,
    )
    assert answer.status in (0, 2), answer.message
    return answer.status == 0


def _bounds(entry, kept) -> tuple[float, float]:
    low, high = 0.0, np.inf
    if entry.min_g and _holds(kept, "limit", entry.key, "min", "min_g"):
        low = max(low, entry.min_g)
    if entry.max_g is not None and _holds(kept, "limit", entry.key, "max", "max_g"):
        high = min(high, entry.max_g)
    if entry.stock_g is not None and _holds(kept, "limit", entry.key, "max", "stock_g"):
        high = min(high, entry.stock_g / buys(entry))
    if entry.fixed:
        if _holds(kept, "limit", entry.key, "min", "fixed"):
            low = max(low, entry.grams)
        if _holds(kept, "limit", entry.key, "max", "fixed"):
            high = min(high, entry.grams)
    if (
        entry.least_use_g
        and kept is not None
        and ("limit", entry.key, "min", "least_use_g") in kept
    ):
        low = max(low, entry.least_use_g)
    return low, high


def as_kept(conflict) -> set[tuple[str, str, str, str]]:
    """The demands of a conflict as :func:`is_feasible` takes them."""
    found = set()
    for demand in conflict:
        field = "" if demand.kind == "target" else demand.field
        found.add((demand.kind, demand.key, demand.side, field))
    return found
