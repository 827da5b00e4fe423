"""Random menus of a shared base: fixed weights, limits, groups, ratios, stock and steps are kept.

    PYTHONPATH=. python tests/hard_use/shared_bases.py --count 2000 --seed 1

Every mix is put together again from the base that was weighed and what is added, and judged by
``tests/plain.py``.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from pathlib import Path

from by_hand import by_hand

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain

from formulate.answers import menu_from_mapping, shared_base

DAIRY = (("whole_milk", 600.0), ("cream_35", 200.0), ("skim_milk_powder", 40.0), ("sucrose", 150.0))
FRUIT = ("pear", "strawberry", "mango", "peach")


def random_menu(random_: random.Random) -> dict:
    """The tables of a menu."""
    base = [{"key": key, "grams": grams * random_.uniform(0.8, 1.2)} for key, grams in DAIRY]
    if random_.random() < 0.5:
        random_.choice(base)["fixed"] = True
    if random_.random() < 0.4:
        entry = random_.choice(base)
        if "fixed" not in entry:
            entry["max_g"] = entry["grams"] * random_.uniform(0.7, 1.3)
    if random_.random() < 0.3:
        entry = random_.choice(base)
        entry["stock_g"] = entry["grams"] * random_.uniform(1.0, 3.5)
    mixes = [_mix(random_, number) for number in range(random_.randint(1, 3))]
    return {"name": "Random", "base": base, "mix": mixes}


def _mix(random_: random.Random, number: int) -> dict:
    fruit = {"key": FRUIT[number], "grams": round(random_.uniform(180.0, 260.0))}
    if random_.random() < 0.4:
        fruit["fixed"] = True
    if random_.random() < 0.3:
        fruit["steps"] = [
            {"do": random_.choice(("blend", "peel and stone")), "waste_percent": 10.0}
        ]
    rows = [fruit, {"key": "sucrose", "grams": 40.0}, {"key": "water"}]
    if random_.random() < 0.3:
        rows.append({"key": "dextrose_monohydrate", "grams": 20.0, "min_g": 10.0})
    mix: dict = {
        "name": f"Mix {number}",
        "batch_g": 1000.0,
        "base_g": random_.choice((600.0, 650.0, 700.0)),
        "ingredient": rows,
        "target": {"total_solids": {"min": 25.0, "max": random_.choice((33.0, 38.0))}},
    }
    if random_.random() < 0.4:
        mix["group"] = [{"name": "fruit", "keys": [FRUIT[number]], "percent": {"min": 18.0}}]
    if random_.random() < 0.4:
        bounds = {"max": random_.choice((0.25, 0.35, 0.5))}
        mix["ratio"] = [{"of": "sucrose", "to": "whole_milk", "value": bounds}]
    return mix


def faults_of(menu, found) -> list[str]:
    """What a base and its mixes do not keep, in words."""
    base = dict(zip(found.keys, found.base, strict=True))
    written = sum(entry.grams for entry in menu.base)
    grown = menu.total_g / written
    made = sum(base.values())
    faults, bought = [], dict.fromkeys(base, 0.0)
    for entry in menu.base:
        grams = base[entry.key]
        if entry.fixed and abs(grams - entry.grams * grown) > 2e-3:
            faults.append(f"base {entry.key} {grams}, fixed at {entry.grams * grown}")
        if entry.max_g is not None and grams > entry.max_g * grown + 2e-3:
            faults.append(f"base {entry.key} {grams} above {entry.max_g * grown}")
        bought[entry.key] += grams
    for flavour, mix in zip(menu.flavours, found.mixes, strict=True):
        grams = {entry.key: 0.0 for entry in flavour.recipe.ingredients}
        for key, weight in base.items():
            grams[key] += weight * flavour.base_g / made
        for entry, line in zip(flavour.additions, mix.weights[1:], strict=True):
            assert entry.key == line.key
            grams[entry.key] += line.grams
            bought[entry.key] = bought.get(entry.key, 0.0) + line.grams * plain.buys(entry)
            low, high = entry.min_g or 0.0, entry.max_g if entry.max_g is not None else 1e9
            if entry.fixed:
                low = high = entry.grams
            if not low - 1e-6 <= line.grams <= high + 1e-6:
                faults.append(f"{entry.key} {line.grams} outside {low} to {high}")
        faults += plain.limit_faults(flavour.recipe, grams)
        faults += plain.target_faults(flavour.recipe, grams)
    for entry in menu.base:
        if entry.stock_g is not None and bought[entry.key] > entry.stock_g + 1e-6 * menu.total_g:
            faults.append(f"{entry.key} {bought[entry.key]} of a stock of {entry.stock_g}")
    return faults


def run(count: int, seed: int) -> Counter[str]:
    """Ask ``count`` random menus; return how often each answer came."""
    random_ = random.Random(seed)
    found: Counter[str] = Counter()
    for _ in range(count):
        tables = random_menu(random_)
        try:
            menu = menu_from_mapping(tables, "menu")
            answer = shared_base(menu)
            if answer.status == "balanced":
                faults = faults_of(menu, answer)
                assert not faults, faults
            else:
                assert answer.conflict
        except Exception as fault:
            raise AssertionError(f"{tables!r}") from fault
        found[answer.status] += 1
    return found


if __name__ == "__main__":
    by_hand(__doc__, "menus", run, 2_000)
