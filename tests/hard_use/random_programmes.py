"""Random recipes of the table: what is balanced passes the independent check, what is not is proved.

    PYTHONPATH=. python tests/hard_use/random_programmes.py --count 10000 --seed 1

Every balanced mix is recomputed from composition by the package, and once more here; every impossible
one has a proof that plain arithmetic confirms, and proposals that are solved.
"""

from __future__ import annotations

import random
from collections import Counter

import numpy as np
from by_hand import by_hand

from formulate.answers.balancing import balance
from formulate.answers.conflicts import explain
from formulate.ingredients.quantities import properties
from formulate.ingredients.table import ingredient_table
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.recipes.model import Range, Recipe, RecipeIngredient
from formulate.recipes.serving import Range as Window
from formulate.recipes.serving import Serving
from formulate.solver.certificates import contradiction_g

TARGETS = "total_solids sweetness fat msnf sugars protein energy_kcal acids stabiliser".split()


def random_recipe(random_: random.Random) -> Recipe:
    """Return a recipe of 4 to 12 ingredients with 1 to 6 targets, near what some mix of them gives."""
    table = ingredient_table()
    keys = random_.sample(sorted(table), random_.randint(3, 11))
    if not any(table[key].composition[0] > 50.0 for key in keys):
        keys.append("water")
    weights = {key: random_.uniform(5.0, 400.0) for key in keys}
    total = sum(weights.values())
    shaken = {key: weight * random_.uniform(0.6, 1.4) for key, weight in weights.items()}
    mean = sum(w * table[k].composition for k, w in shaken.items()) / sum(shaken.values())
    targets = {}
    for key in random_.sample(TARGETS, random_.randint(1, 6)):
        value = float(mean @ properties()[key].weights)
        if random_.random() < 0.15:  # and some that may not be
            value *= random_.uniform(0.3, 2.5)
        if properties()[key].unit == "%":
            value = min(value, 97.0)
        width = max(0.02 * value, 0.02)
        targets[key] = Range(max(value - width, 0.0), value + width)
    entries = tuple(
        RecipeIngredient(
            key,
            grams=weight,
            max_g=random_.choice((None, None, weight * random_.uniform(0.8, 2.0))),
        )
        for key, weight in weights.items()
    )
    serving = None
    if random_.random() < 0.5:
        serving = Serving(random_.uniform(-18.0, -8.0), Window(55.0, 85.0))
    return Recipe("random", total, entries, targets, serving)


def run(count: int, seed: int) -> Counter[str]:
    """Ask ``count`` random recipes; return how often each answer came."""
    random_ = random.Random(seed)
    found: Counter[str] = Counter()
    for _ in range(count):
        recipe = random_recipe(random_)
        try:
            result = balance(recipe)
        except Exception as fault:
            raise AssertionError(f"{recipe!r}") from fault
        found[result.status] += 1
        if result.status == "balanced":
            _confirm(recipe, [weight.grams for weight in result.mix.weights])
        else:
            mix = mixture(recipe)
            rows = programme(mix)
            proof = explain(mix, rows).certificate
            assert contradiction_g(rows, proof) > 0.0
            found["proposals"] += len(result.proposals)
    return found


def _confirm(recipe: Recipe, grams: list[float]) -> None:
    """Recompute every target from the table, one by one."""
    table = ingredient_table()
    mean = np.zeros(len(table["water"].composition))
    for entry, weight in zip(recipe.ingredients, grams, strict=True):
        assert weight >= 0.0
        assert entry.max_g is None or weight <= entry.max_g + 1e-6
        mean += table[entry.key].composition * weight / sum(grams)
    for key, bounds in recipe.targets.items():
        value = float(mean @ properties()[key].weights)
        low, high = bounds.min or 0.0, bounds.max
        assert high is not None
        assert low - 1e-6 * (1.0 + low) <= value <= high + 1e-6 * (1.0 + high), (key, value)


if __name__ == "__main__":
    by_hand(__doc__, "recipes", run, 30_000)
