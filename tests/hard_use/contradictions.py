"""Random limits that may contradict each other: balanced and verified, impossible and proved, or refused.

    PYTHONPATH=. python tests/hard_use/contradictions.py --count 20000 --seed 1

What is verified and proved is so by ``tests/plain.py`` and a general library, which share nothing with
the package.  A fault prints the recipe that caused it and ends with 1.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from pathlib import Path

from by_hand import by_hand

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain

from formulate.answers import balance, check, correct, ladder
from formulate.errors import InputError
from formulate.recipes import (
    Counts,
    Group,
    Range,
    Ratio,
    Recipe,
    RecipeIngredient,
    Scale,
    Step,
)

KEYS = (
    "strawberry pear sucrose dextrose_monohydrate water whole_milk cream_35 skim_milk_powder "
    "lemon_juice peach inulin glucose_syrup_de40"
).split()
FRUIT = ("strawberry", "pear", "peach")
TARGETS = ("total_solids", "sugars", "sweetness", "fat", "msnf")


def ingredient(random_: random.Random, key: str, batch: float) -> dict:
    """Fields of an ingredient, each limit there or not, near what a batch takes."""

    def grams(low: float, high: float) -> float:
        return round(random_.uniform(low, high) * batch, random_.choice((0, 0, 1, 6)))

    found: dict = {"key": key}
    if random_.random() < 0.75:
        found["grams"] = grams(0.0, 0.6)
    if random_.random() < 0.3:
        found["min_g"] = grams(0.0, 0.5)
    if random_.random() < 0.3:
        found["max_g"] = found.get("min_g", 0.0) + grams(-0.02, 0.5)
        found["max_g"] = max(found["max_g"], 0.0)
    if random_.random() < 0.25:
        found["stock_g"] = grams(0.0, 0.7)
    if random_.random() < 0.15 and "grams" in found:
        found["fixed"] = True
        if random_.random() < 0.7:
            found.pop("min_g", None)
            found.pop("max_g", None)
    if random_.random() < 0.1:
        found["least_use_g"] = grams(0.0, 0.3)
    if random_.random() < 0.2 and key in FRUIT:
        waste = (("waste_percent", float(random_.choice((5, 10, 25)))),)
        found["steps"] = (Step(random_.choice(("blend", "peel and stone")), waste),)
    return found


def random_parts(random_: random.Random) -> dict:
    """What a recipe is made of, which may be one that is refused."""
    batch = random_.choice((100.0, 1000.0, 2000.0, 12345.6))
    keys = random_.sample(KEYS, random_.randint(2, 5))
    if "water" not in keys:
        keys.append("water")
    parts: dict = {
        "name": "random",
        "batch_g": batch,
        "ingredients": [ingredient(random_, key, batch) for key in keys],
    }
    if random_.random() < 0.1:
        parts["scale"] = Scale(5.0, 1.0, 50.0)
    if random_.random() < 0.4:
        members = random_.sample(keys, random_.randint(1, len(keys)))
        if random_.random() < 0.1:
            members.append(members[0])
        low = random_.uniform(0.0, 80.0)
        parts["group"] = ("some", members, low, low + random_.uniform(-2.0, 40.0))
    if random_.random() < 0.3:
        of, to = random_.sample(keys, 2)
        low = random_.choice((0.0, random_.uniform(0.0, 3.0)))
        parts["ratio"] = (of, to, low, random_.choice((low, low + random_.uniform(0.0, 2.0))))
    if random_.random() < 0.25:
        names = ("most_changes", "most_ingredients")
        parts["counts"] = {random_.choice(names): random_.randint(0, len(keys))}
    parts["targets"] = {}
    for key in random_.sample(TARGETS, random_.choice((0, 0, 1, 2))):
        low = random_.uniform(0.0, 40.0)
        parts["targets"][key] = (low, random_.choice((low, low + random_.uniform(0.0, 20.0))))
    return parts


def made(parts: dict) -> Recipe:
    """The recipe of these parts; raises as it does."""
    more: dict = {}
    if "group" in parts:
        name, members, low, high = parts["group"]
        more["groups"] = (Group(name, tuple(members), Range(low, high)),)
    if "ratio" in parts:
        of, to, low, high = parts["ratio"]
        more["ratios"] = (Ratio(of, to, Range(low, high)),)
    return Recipe(
        parts["name"],
        parts["batch_g"],
        tuple(RecipeIngredient(**fields) for fields in parts["ingredients"]),
        {key: Range(low, high) for key, (low, high) in parts["targets"].items()},
        scale=parts.get("scale", Scale()),
        counts=Counts(**parts.get("counts", {})),
        **more,
    )


def is_wrong(parts: dict) -> bool:
    """Whether the parts break a rule of the recipe file: then, and only then, they are refused."""
    for fields in parts["ingredients"]:
        low, high = fields.get("min_g", 0.0), fields.get("max_g", float("inf"))
        if low > high or (fields.get("fixed") and not low <= fields["grams"] <= high):
            return True
    if "group" in parts:
        _, members, low, high = parts["group"]
        if low > high or len(set(members)) < len(members):
            return True
    return False


def judge(recipe: Recipe, result) -> None:
    """Confirm a result by plain arithmetic and a general library."""
    if result.status == "balanced":
        grams = {weight.key: weight.grams for weight in result.mix.weights}
        faults = plain.limit_faults(recipe, grams) + plain.target_faults(recipe, grams)
        assert not faults, faults
        return
    assert result.status == "impossible"
    assert result.conflict
    assert not plain.is_feasible(recipe), "there is a mix"
    kept = plain.as_kept(result.conflict)
    assert not plain.is_feasible(recipe, kept), f"no conflict: {kept}"
    for demand in kept:
        rest = kept - {demand}
        assert plain.is_feasible(recipe, rest), f"{demand} is not needed in {kept}"
    if not any(demand.kind == "count" for demand in result.conflict):
        assert result.contradiction > 0.0


def ask_more(random_: random.Random, recipe: Recipe, found: Counter[str]) -> None:
    """Ask one further question, of which the limits are kept where it gives a mix."""
    keys = [entry.key for entry in recipe.ingredients]
    fruit = [key for key in keys if key in FRUIT]
    dice = random_.random()
    if dice < 0.3 and fruit:
        for rung in ladder(recipe, fruit[0], (9.0, 10.5, 12.0)).rungs:
            found["rungs" if rung.grams else "no rung"] += 1
            if rung.grams is not None:
                faults = plain.limit_faults(recipe, dict(zip(keys, rung.grams, strict=True)))
                assert not faults, faults
    elif dice < 0.6:
        pot = {keys[0]: 0.1 * recipe.batch_g}
        for each in correct(recipe, pot):
            found[each.aim] += 1
            if each.aim == "finish":
                grams = {weight.key: weight.grams for weight in each.mix.weights}
                faults = plain.limit_faults(recipe, grams)
                counted = ("changes", "ingredients", "least use", "of a stock")
                assert not [f for f in faults if not any(word in f for word in counted)], faults
    else:
        judged = check(recipe)
        began = plain.start(recipe)
        for weight, entry in zip(judged.mix.weights, recipe.ingredients, strict=True):
            assert weight.before == entry.grams
            assert abs(weight.grams - began[entry.key]) < 1e-9 * recipe.batch_g
        found["checked"] += 1


def run(count: int, seed: int) -> Counter[str]:
    """Ask ``count`` random recipes; return how often each answer came."""
    random_ = random.Random(seed)
    found: Counter[str] = Counter()
    for _ in range(count):
        parts = random_parts(random_)
        try:
            recipe = made(parts)
        except InputError as error:
            assert is_wrong(parts), f"{error}: {parts!r}"
            assert error.field, repr(error)
            found["refused"] += 1
            continue
        assert not is_wrong(parts), f"not refused: {parts!r}"
        try:
            result = balance(recipe)
            judge(recipe, result)
            found[result.status] += 1
            if any(demand.kind == "count" for demand in result.conflict):
                found["by counts"] += 1
            ask_more(random_, recipe, found)
        except InputError as error:
            assert "gives no weight" in str(error) or "straining" in str(error), str(error)
            found["cannot be asked"] += 1
        except Exception as fault:
            raise AssertionError(f"{recipe!r}") from fault
    return found


if __name__ == "__main__":
    by_hand(__doc__, "recipes", run, 20_000)
