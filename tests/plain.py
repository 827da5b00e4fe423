"""A mix recomputed from the recipe's own words and the CSV tables, by plain arithmetic.

Imports nothing of ``formulate``: what is wrong here and there in the same way would be wrong twice by
accident.  Known are ingredients of the table and of one's own by components, and the steps ``blend`` and
``peel and stone`` with a waste of their own; readings and lots are not, and of those only limits and
totals are judged.
"""

from __future__ import annotations

import csv
import itertools
from functools import cache
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

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

SHOWN = 0.05  # half of the last digit of a percentage: within it an exact target is met
SHOWN_COST = 0.005
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


def composition(entry) -> dict[str, float]:
    """g per 100 g of an ingredient, without its reading or lot."""
    return table()[entry.key] if entry.composition is None else dict(entry.composition)


def value_of(entry, key: str) -> float:
    """A property of an ingredient alone [its unit]."""
    if key == "cost_per_kg":
        return entry.price_per_kg * buys(entry)
    row = composition(entry)
    if key == "sweetness":
        syrup = row.get("glucose_syrup_solids", 0.0) * row.get("dextrose_equivalent", 0.0) / 100.0
        with_power = {**row, "syrup_reducing_power": syrup}
        return sum(share * with_power.get(part, 0.0) for part, share in sweetness().items())
    if key == "total_solids":
        whole = sum(
            row.get(part, 0.0)
            for part in row
            if part not in ("egg_yolk_solids", "dextrose_equivalent")
        )
        return whole - row.get("water", 0.0) - row.get("ethanol", 0.0)
    return sum(row.get(part, 0.0) for part in SUMS.get(key, (key,)))


def reach(entry) -> float:
    """Grams that come into the mix per gram at the scale: what a jug keeps is lost."""
    share = 1.0
    for step in entry.steps:
        if step.do == "blend":
            share *= 1.0 - dict(step.settings)["waste_percent"] / 100.0
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


def target_faults(recipe, grams: dict[str, float]) -> list[str]:
    """Which targets a mix does not meet, in words; how it freezes is not judged here."""
    total = sum(reach(entry) * grams[entry.key] for entry in recipe.ingredients)
    found = []
    for key, bounds in recipe.targets.items():
        if key == "initial_freezing_point_c":
            continue
        shares = [reach(e) if key != "cost_per_kg" else 1.0 for e in recipe.ingredients]
        value = sum(
            share * value_of(entry, key) * grams[entry.key] / total
            for share, entry in zip(shares, recipe.ingredients, strict=True)
        )
        found += _outside(key, value, bounds, SHOWN_COST if key == "cost_per_kg" else SHOWN)
    return found


def _outside(name: str, value: float, bounds, shown: float) -> list[str]:
    slack = shown if bounds.min == bounds.max else ARITHMETIC * (1.0 + abs(value))
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
