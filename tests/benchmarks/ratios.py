"""Ratios of running times, measured side by side in one run.

    PYTHONPATH=. python tests/benchmarks/ratios.py

Every pair solves the same programme.  Times are medians; only ratios are worth comparing between
machines.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.optimize import linprog

from formulate.balance import balance
from formulate.examples import example_bytes
from formulate.explain import explain
from formulate.freezing import freezing_model
from formulate.ladder import ladder
from formulate.mixture import mixture
from formulate.programme import Programme, programme
from formulate.proposals import priced
from formulate.rebalance import rebalance
from formulate.recipe import Range, Recipe, RecipeIngredient
from formulate.recipe_file import parse

EXAMPLE = "bay_leaf_ice_cream"


def median_time(action: Callable[[], object], repeats: int) -> float:
    """Return the median running time [s] of an action, after one run that warms up."""
    action()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def arrays(rows: Programme, start: np.ndarray) -> dict[str, np.ndarray]:
    """Return the least-change programme as arrays for a bare solver: weights, then changes."""
    count = len(rows.keys)
    above, below = np.isfinite(rows.row_lower), np.isfinite(rows.row_upper)
    zeros = np.zeros((len(rows.rows), count))
    eye = np.eye(count)
    matrix = np.hstack([rows.matrix, zeros])
    upper = [matrix[below], -matrix[above], np.hstack([eye, -eye]), np.hstack([-eye, -eye])]
    bound = [rows.row_upper[below], -rows.row_lower[above], start, -start]
    base = np.maximum(start, 0.02 * rows.batch_g)
    return {
        "c": np.concatenate([np.zeros(count), 1.0 / base]),
        "A_ub": np.vstack(upper),
        "b_ub": np.concatenate(bound),
        "A_eq": np.concatenate([np.ones(count), np.zeros(count)])[None, :],
        "b_eq": np.array([rows.batch_g]),
        "bounds": np.vstack(
            [
                np.column_stack([rows.lower, rows.upper]),
                np.column_stack([np.zeros(count), np.full(count, np.inf)]),
            ]
        ),
    }


def with_pulp(problem: dict[str, np.ndarray]) -> float:
    """Build and solve the arrays with PuLP and HiGHS; return the optimum."""
    import pulp

    model = pulp.LpProblem("mix", pulp.LpMinimize)
    names = [
        pulp.LpVariable(f"x{index}", low, None if np.isinf(high) else high)
        for index, (low, high) in enumerate(problem["bounds"])
    ]
    model += pulp.lpSum(cost * name for cost, name in zip(problem["c"], names, strict=True))
    for row, bound in zip(problem["A_ub"], problem["b_ub"], strict=True):
        model += pulp.lpSum(value * name for value, name in zip(row, names, strict=True)) <= bound
    row, bound = problem["A_eq"][0], problem["b_eq"][0]
    model += pulp.lpSum(value * name for value, name in zip(row, names, strict=True)) == bound
    model.solve(pulp.HiGHS(msg=False))
    return float(pulp.value(model.objective))


def with_cvxpy(problem: dict[str, np.ndarray]) -> float:
    """Build and solve the arrays with CVXPY and HiGHS; return the optimum."""
    import cvxpy

    x = cvxpy.Variable(len(problem["c"]))
    low, high = problem["bounds"].T
    finite = np.isfinite(high)
    demands = [
        problem["A_ub"] @ x <= problem["b_ub"],
        problem["A_eq"] @ x == problem["b_eq"],
        x >= low,
        x[finite] <= high[finite],
    ]
    model = cvxpy.Problem(cvxpy.Minimize(problem["c"] @ x), demands)
    return float(model.solve(solver=cvxpy.HIGHS))


def cold_start(code: str, repeats: int = 5) -> float:
    """Return the median time [s] of a fresh Python that runs some code."""
    command = [sys.executable, "-c", code]
    run = lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL)  # noqa: E731
    return median_time(run, repeats)


def curves(repeats: int, mixes: int = 100_000) -> float:
    """Return the time of many freezing curves at 60 temperatures over that of the bare product."""
    model = freezing_model()
    compositions = np.random.default_rng(1).random((mixes, model.shares.shape[0]))
    temperatures = np.linspace(-25.0, -1.0, 60)
    held = np.ascontiguousarray(model.water_held(temperatures).T)
    product = median_time(lambda: compositions @ held, repeats)
    return median_time(lambda: model.frozen_water(compositions, temperatures), repeats) / product


def bench_recipe() -> Recipe:
    """Return an impossible recipe of 15 ingredients and 12 targets."""
    known = parse(example_bytes(EXAMPLE), EXAMPLE)
    more = "trehalose glucose_powder_de30 inulin skim_milk egg_white honey xylitol".split()
    entries = (*known.ingredients, *(RecipeIngredient(key, grams=1.0, max_g=40.0) for key in more))
    targets = {
        **known.targets,
        "sweetness": Range(30.0, None),
        "protein": Range(None, 8.0),
        "lactose": Range(None, 9.0),
        "milk_fat": Range(4.0, None),
        "energy_kcal": Range(None, 260.0),
    }
    return replace(known, ingredients=entries, targets=targets)


def arguing(bare: float, repeats: int) -> dict[str, float]:
    """Return times of explaining, pricing and ladders over that of a bare solve."""
    hard = bench_recipe()
    mix = mixture(hard)
    rows = programme(mix)
    assert len(mix.keys) == 15 and len({row.key for row in rows.rows}) >= 12
    assert balance(hard).status == "impossible"
    found = explain(mix, rows)
    sorbet = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    readings = tuple(9.0 + 0.1 * step for step in range(50))
    lots = np.random.default_rng(2).uniform(8.5, 20.0, 10_000)
    return {
        "explaining an impossible recipe / bare linprog": median_time(
            lambda: balance(hard), repeats
        )
        / bare,
        "pricing all ingredients / bare linprog": median_time(lambda: priced(mix, found), repeats)
        / bare,
        "10,000 lots rebalanced / 10,000 bare linprogs": median_time(
            lambda: rebalance(sorbet, "damson", lots), max(repeats // 5, 1)
        )
        / (10_000 * bare),
        "ladder of 50 readings / bare linprog": median_time(
            lambda: ladder(sorbet, "damson", readings), repeats
        )
        / bare,
    }


def main(repeats: int = 60) -> dict[str, float]:
    """Measure, print and return the ratios."""
    recipe = parse(example_bytes(EXAMPLE), EXAMPLE)
    mix = mixture(recipe)
    assert mix.start is not None
    problem = arrays(programme(mix), mix.start)
    bare = median_time(lambda: linprog(**problem, method="highs"), repeats)
    whole = median_time(lambda: balance(recipe), repeats)
    pulp_time = median_time(lambda: with_pulp(problem), max(repeats // 4, 1))
    cvxpy_time = median_time(lambda: with_cvxpy(problem), max(repeats // 4, 1))
    optimum = linprog(**problem, method="highs").fun
    for other in (with_pulp(problem), with_cvxpy(problem)):
        assert abs(other - optimum) <= 1e-6 * (1.0 + abs(optimum))
    imports = cold_start("import numpy, scipy.optimize")
    line = "from formulate.cli import main; main(['{}', 'bay_leaf_ice_cream'])"
    ratios = {
        "balance / bare linprog": whole / bare,
        "PuLP / balance": pulp_time / whole,
        "CVXPY / balance": cvxpy_time / whole,
        "cold balance / importing numpy and scipy": cold_start(line.format("balance")) / imports,
        "cold check / importing numpy": cold_start(line.format("check"))
        / cold_start("import numpy"),
        "curves of many mixes / bare matrix product": curves(max(repeats // 10, 1)),
        **arguing(bare, max(repeats // 6, 1)),
    }
    for name, ratio in ratios.items():
        print(f"{name:45} {ratio:6.2f}")
    return ratios


if __name__ == "__main__":
    main()
