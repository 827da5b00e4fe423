"""Mutated recipe files through every question that a recipe can be asked: no traceback, no hang.

    PYTHONPATH=. python tests/hard_use/fuzz_recipes.py --count 100000 --seed 1

Prints how often each answer came; a fault prints the recipe that caused it and ends with 1.
"""

from __future__ import annotations

import json
import random
import time
from collections import Counter
from collections.abc import Callable

from by_hand import by_hand

from formulate.answers.balancing import balance, balance_safely, check
from formulate.answers.frontiers import frontier
from formulate.answers.ladders import ladder, readings_of
from formulate.answers.others import different_mixes
from formulate.answers.pots import correct
from formulate.answers.spans import ranges
from formulate.data.examples import example_bytes, example_names
from formulate.errors import InputError
from formulate.recipes.file import parse, to_toml
from formulate.recipes.model import Recipe
from formulate.report.mixes import mix_data, mix_text

VALUES = (
    '0 -1 1e-9 1e9 0.5 3 70 nan inf "" [] {} {min=1} {max=0} {min=0,max=0} true 100 2000 50000 -14 '
    "-0.01 -29.9 1e-300 2026-01-01"
).split()
LINES = (
    '[[ratio]]\nof = "sucrose"\nto = "water"\nvalue = 2',
    '[[group]]\nname = "g"\nkeys = ["sucrose"]\npercent = {max = 10}',
    "[limits]\nmost_changes = 1",
    "[limits]\nmost_ingredients = 3",
    "[exclude]\nanimal = true",
    'steps = [{do = "sieve"}]',
    'steps = [{do = "reduce", to_brix = 60}]',
    'steps = [{do = "infuse", in = "whole_milk"}]',
    "lot = {reading = 12, acidity = 2}",
    "least_use_g = 5",
    'kind = "sorbet"',
)
SLOW_S = 20.0


def mutated(random_: random.Random) -> bytes:
    """Return an example with a few lines changed, lost, doubled, scrambled or added."""
    lines = example_bytes(random_.choice(example_names())).decode().split("\n")
    for _ in range(random_.choice((1, 1, 1, 2, 3))):
        place = random_.randrange(len(lines))
        dice = random_.random()
        if dice < 0.45 and "=" in lines[place]:
            lines[place] = f"{lines[place].split('=')[0]}= {random_.choice(VALUES)}"
        elif dice < 0.55:
            del lines[place]
        elif dice < 0.65:
            lines.insert(place, random_.choice(lines))
        elif dice < 0.85:
            lines.insert(place, random_.choice(LINES))
        else:
            letters = f'{lines[place]}={{}}"[]'
            lines[place] = "".join(random_.choice(letters) for _ in lines[place])
        lines = lines or [""]
    return "\n".join(lines).encode()


def questions(random_: random.Random) -> list[Callable[[Recipe], object]]:
    """Return what a recipe is asked: always balance and check, and one of the rest."""
    rest: list[Callable[[Recipe], object]] = [
        lambda recipe: balance_safely(recipe, 0.7),
        lambda recipe: ranges(recipe),
        lambda recipe: ladder(recipe, recipe.ingredients[0].key, readings_of("9:13:2")),
        lambda recipe: correct(recipe, {recipe.ingredients[0].key: 500.0}),
        lambda recipe: frontier(recipe, "change", "sweetness"),
        lambda recipe: different_mixes(recipe, 2),
        lambda recipe: parse(to_toml(recipe).encode(), "again") == recipe or _fault("round trip"),
    ]
    return [balance, check, random_.choice(rest)]


def _fault(words: str) -> None:
    raise AssertionError(words)


def run(count: int, seed: int) -> Counter[str]:
    """Ask ``count`` mutated recipes; return how often each answer came.

    Raises
    ------
    AssertionError
        If an answer takes too long; any other exception passes as it is.
    """
    random_ = random.Random(seed)
    found: Counter[str] = Counter()
    for _ in range(count):
        data = mutated(random_)
        try:
            recipe = parse(data, "recipe")
        except InputError:
            found["refused"] += 1
            continue
        for question in questions(random_):
            start = time.monotonic()
            try:
                answer = question(recipe)
                if hasattr(answer, "status"):
                    mix_text(answer)
                    json.dumps(mix_data(answer), allow_nan=False)
                found[str(getattr(answer, "status", "answered"))] += 1
            except InputError as error:
                assert "\n" not in str(error), str(error)
                found["refused"] += 1
            except Exception:
                print(data.decode())
                raise
            assert time.monotonic() - start < SLOW_S, f"too slow:\n{data.decode()}"
    return found


if __name__ == "__main__":
    by_hand(__doc__, "recipes", run, 100_000)
