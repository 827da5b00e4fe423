"""The benchmarks: `balance` against bare solvers and modelling libraries, and everything that grows."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from unittest import mock

import numpy as np
from others import with_cvxpy, with_linprog, with_pulp, with_pyomo
from problems import (
    Arrays,
    arrays,
    example,
    impossible,
    joint_arrays,
    menu_of,
    recipe_of,
)
from registry import Pair, benchmark

from formulate.answers import base_plans
from formulate.answers import bases as base
from formulate.answers.balancing import balance
from formulate.answers.conflicts import explain
from formulate.answers.ladders import ladder
from formulate.answers.proposals import priced
from formulate.answers.rebalancing import rebalance
from formulate.freezing.curve import freezing_model
from formulate.ingredients.table import ingredient_table
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.recipes.model import Recipe, RecipeIngredient
from formulate.solver.highs import sparse_linear
from formulate.solver.objectives import best, relative_change

ROOT = Path(__file__).parents[2]
INGREDIENTS = (8, 15, 30, 60)


def _same(one: float, other: float, tolerance: float = 1e-5) -> None:
    """Within 1e-5: the written tie-break of the least change is up to 1e-6 of the optimum."""
    assert abs(one - other) <= tolerance * (1.0 + abs(other)), (one, other)


def _least_change(recipe: Recipe) -> float:
    mix = mixture(recipe)
    assert mix.start is not None
    found = best(programme(mix), relative_change(programme(mix), mix.start))
    assert found is not None
    return found.objective


# balance whole: build, solve, round, verify, explain


@benchmark("`balance` whole / bare `linprog`", "ingredients", INGREDIENTS, at_most=1.5)
def balance_against_linprog(size: int) -> Pair:
    """The others are given arrays and only solve them."""
    recipe, problem = recipe_of(size), arrays(recipe_of(size))

    def agree() -> None:
        assert balance(recipe).status == "balanced"
        _same(_least_change(recipe), with_linprog(problem))

    return Pair(lambda: balance(recipe), lambda: with_linprog(problem), agree)


def _balance_against(other: Callable[[Arrays], float], size: int) -> Pair:
    recipe, problem = recipe_of(size), arrays(recipe_of(size))
    return Pair(
        lambda: other(problem),
        lambda: balance(recipe),
        lambda: _same(other(problem), with_linprog(problem)),
    )


@benchmark("PuLP, built and solved / `balance`", "ingredients", INGREDIENTS, at_least=4.0)
def pulp_against_balance(size: int) -> Pair:
    return _balance_against(with_pulp, size)


@benchmark("CVXPY, built and solved / `balance`", "ingredients", INGREDIENTS, at_least=10.0)
def cvxpy_against_balance(size: int) -> Pair:
    return _balance_against(with_cvxpy, size)


@benchmark("Pyomo, built and solved / `balance`", "ingredients", INGREDIENTS, at_least=10.0)
def pyomo_against_balance(size: int) -> Pair:
    return _balance_against(with_pyomo, size)


# the same work on both sides: build the programme and solve it, without rounding, judging or explaining


def _built_and_solved_against(other: Callable[[Arrays], float], size: int) -> Pair:
    mix, problem = mixture(recipe_of(size)), arrays(recipe_of(size))
    start = mix.start
    assert start is not None
    return Pair(
        lambda: other(problem),
        lambda: best(programme(mix), relative_change(programme(mix), start)),
        lambda: _same(_least_change(recipe_of(size)), other(problem)),
    )


@benchmark(
    "PuLP, built and solved / the same here, without rounding and judging",
    "ingredients",
    INGREDIENTS,
    at_least=4.0,
)
def pulp_against_the_same(size: int) -> Pair:
    return _built_and_solved_against(with_pulp, size)


@benchmark("CVXPY / the same here", "ingredients", INGREDIENTS, at_least=10.0)
def cvxpy_against_the_same(size: int) -> Pair:
    return _built_and_solved_against(with_cvxpy, size)


@benchmark("Pyomo / the same here", "ingredients", INGREDIENTS, at_least=10.0)
def pyomo_against_the_same(size: int) -> Pair:
    return _built_and_solved_against(with_pyomo, size)


# curves


def _curves(mixes: int, temperatures: int) -> Pair:
    model = freezing_model()
    compositions = np.random.default_rng(1).random((mixes, model.shares.shape[0]))
    celsius = np.linspace(-25.0, -1.0, temperatures)
    held = np.ascontiguousarray(model.water_held(celsius).T)

    def agree() -> None:
        some = compositions[:100]
        frozen = 100.0 * (1.0 - some @ held / some[:, [0]])
        assert np.allclose(model.frozen_water(some, celsius), np.clip(frozen, 0.0, 100.0))

    return Pair(
        lambda: model.frozen_water(compositions, celsius), lambda: compositions @ held, agree
    )


@benchmark(
    "curves at 60 temperatures / bare matrix product",
    "mixes",
    (1_000, 10_000, 100_000),
    at_most=1.5,
    at=(100_000,),
    linear=True,
)
def curves_of_mixes(size: int) -> Pair:
    return _curves(size, 60)


@benchmark(
    "curves of 10,000 mixes / bare matrix product", "temperatures", (15, 60, 240), linear=True
)
def curves_at_temperatures(size: int) -> Pair:
    return _curves(10_000, size)


# many readings of one fruit


@benchmark(
    "lots rebalanced / as many bare `linprog`",
    "lots",
    (100, 1_000, 10_000),
    at_most=0.02,
    at=(10_000,),
    linear=True,
)
def lots(size: int) -> Pair:
    sorbet = example("damson_sorbet")
    brix = np.random.default_rng(2).uniform(8.5, 20.0, size)
    problem = arrays(sorbet)

    def agree() -> None:
        found = rebalance(sorbet, "damson", brix)
        for place in range(0, size, size // 5):
            entries = [
                replace(each, brix=float(brix[place])) if each.key == "damson" else each
                for each in sorbet.ingredients
            ]
            alone = balance(replace(sorbet, ingredients=tuple(entries)))
            assert found.possible[place] and alone.status == "balanced"
            np.testing.assert_allclose(found.weights[place], alone.exact_grams, atol=0.5)

    return Pair(
        lambda: rebalance(sorbet, "damson", brix), lambda: with_linprog(problem), agree, size
    )


@benchmark("ladder of 50 readings / bare `linprog`", "readings", (50,), at_most=15.0)
def ladder_of_50(size: int) -> Pair:
    return _ladder(size)


@benchmark("ladder / bare `linprog`", "readings", (25, 100, 400), linear=True)
def ladder_of_many(size: int) -> Pair:
    return _ladder(size)


def _ladder(size: int) -> Pair:
    sorbet = example("damson_sorbet")
    readings = tuple(9.0 + 5.0 * step / size for step in range(size))
    problem = arrays(sorbet)

    def agree() -> None:
        rungs = ladder(sorbet, "damson", readings).rungs
        for rung in (rungs[0], rungs[size // 2], rungs[-1]):
            entries = [
                replace(each, brix=rung.brix, brix_temperature_c=20.0, lot=None)
                if each.key == "damson"
                else each
                for each in sorbet.ingredients
            ]
            alone = balance(replace(sorbet, ingredients=tuple(entries))).mix.weights
            assert rung.grams == tuple(each.grams for each in alone)

    return Pair(lambda: ladder(sorbet, "damson", readings), lambda: with_linprog(problem), agree)


# why no mix can be


@benchmark(
    "explaining an impossible recipe of 12 targets / bare `linprog`",
    "ingredients",
    INGREDIENTS[1:],
    at_most=40.0,
)
def explaining(size: int) -> Pair:
    hard, problem = impossible(size), arrays(recipe_of(size))

    def agree() -> None:
        assert balance(hard).status == "impossible"
        with np.testing.assert_raises(TypeError):  # scipy has no optimum either
            with_linprog(arrays(hard))

    return Pair(lambda: balance(hard), lambda: with_linprog(problem), agree)


@benchmark(
    "pricing every ingredient of the table / bare `linprog`",
    "ingredients",
    INGREDIENTS[1:],
    at_most=3.0,
)
def pricing(size: int) -> Pair:
    hard, problem = impossible(size), arrays(recipe_of(size))
    mix = mixture(hard)
    rows = programme(mix)
    found = explain(mix, rows)

    def agree() -> None:
        further, _, pull = priced(mix, rows, found)
        proof = found.certificate
        for entry, price in list(zip(further, pull, strict=True))[::50]:
            added = (*hard.ingredients, RecipeIngredient(entry.key))
            wider = programme(mixture(replace(hard, ingredients=added)))
            last = proof.rows @ wider.matrix[:, -1] + proof.total * wider.reach[-1]
            _same(price, last, 1e-9)
        assert len(pull) > len(ingredient_table()) // 2

    return Pair(lambda: priced(mix, rows, found), lambda: with_linprog(problem), agree)


# one base for many flavours


@benchmark(
    "shared base whole / bare solve of its joint programme",
    "flavours",
    (10, 50, 200),
    linear=True,
)
def shared_base(size: int) -> Pair:
    menu = menu_of(size)
    with mock.patch.object(base_plans, "sparse_linear", wraps=sparse_linear) as solver:
        answer = base.shared_base(menu)
    joint = solver.call_args.args

    def agree() -> None:
        assert answer is not None and all(mix.all_met for mix in answer.mixes)
        _same(answer.change, with_linprog(joint_arrays(*joint)))

    return Pair(lambda: base.shared_base(menu), lambda: sparse_linear(*joint), agree)


# commands and pages


def _command(*words: str) -> str:
    return (
        f"import sys; sys.argv = {['formulate', *words]}; from formulate.cli import entry; entry()"
    )


def _cold(code: str) -> Callable[[], str]:
    """A fresh Python that runs some code, with byte code on disk as an installed package has it."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for name in ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS"):
        environment.pop(name, None)

    def run() -> str:
        command = [sys.executable, "-c", code]
        return subprocess.run(
            command, check=True, env=environment, capture_output=True, text=True
        ).stdout

    return run


def _cold_pair(command: str, imports: str) -> Pair:
    ours = _cold(_command(command, "bay_leaf_ice_cream"))

    def agree() -> None:
        assert "Bay leaf" in ours()

    return Pair(ours, _cold(f"import {imports}"), agree)


@benchmark("cold `check` / importing numpy", "run", (1,), at_most=1.5, clock=time.perf_counter)
def cold_check(_: int) -> Pair:
    return _cold_pair("check", "numpy")


@benchmark(
    "cold `balance` / importing numpy and scipy's solvers",
    "run",
    (1,),
    clock=time.perf_counter,
)
def cold_balance(_: int) -> Pair:
    return _cold_pair("balance", "numpy, scipy.optimize")


@benchmark("page with a recipe, run again / an empty page", "run", (1,))
def page_rerun(_: int) -> Pair:
    from streamlit.testing.v1 import AppTest

    sys.path.insert(0, str(ROOT / "ui"))
    page = AppTest.from_file(str(ROOT / "ui" / "app.py"), default_timeout=60).run()
    page.button(key="try_bay_leaf_ice_cream").click().run()
    empty = AppTest.from_string("import streamlit as st\nst.title('Empty')").run()

    def agree() -> None:
        assert not page.exception and not empty.exception

    return Pair(page.run, empty.run, agree)


# memory


def _peak_mib(action: Callable[[], np.ndarray]) -> float:
    """The most that was held while running, beyond the result [MiB]."""
    gc.collect()
    tracemalloc.start()
    result = action()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return float(peak - result.nbytes) / 2**20


@benchmark(
    "memory of curves at 60 temperatures beyond the result [MiB]",
    "mixes",
    (1_000, 10_000, 100_000),
    at_most=16.0,
)
def memory_of_curves(size: int) -> Callable[[], float]:
    curves = _curves(size, 60).first
    return lambda: _peak_mib(curves)  # type: ignore[arg-type]


_GROWTH = """
import numpy as np
from formulate.freezing import freezing_model

def peak_kib():
    with open("/proc/self/status") as file:
        return next(int(line.split()[1]) for line in file if line.startswith("VmHWM"))

model = freezing_model()
mixes = np.random.default_rng(1).random(({size}, model.shares.shape[0]))
model.frozen_water(mixes[:10], np.linspace(-25.0, -1.0, 60))
before = peak_kib()
found = model.frozen_water(mixes, np.linspace(-25.0, -1.0, 60))
print((peak_kib() - before) / 1024 - found.nbytes / 2**20)
"""


@benchmark(
    "growth of the process by these curves beyond the result [MiB]",
    "mixes",
    (1_000, 10_000, 100_000),
    at_most=16.0,
)
def resident_growth(size: int) -> Callable[[], float]:
    """As Linux counts it; below 0 where memory that was free already was enough."""
    run = _cold(_GROWTH.format(size=size))
    return lambda: float(run())


@benchmark("memory kept after as many balances [KiB]", "balances", (10, 100, 1_000), at_most=64.0)
def memory_of_balances(size: int) -> Callable[[], float]:
    def kept() -> float:
        recipe = recipe_of(15)
        balance(recipe)
        gc.collect()
        tracemalloc.start()
        before, _ = tracemalloc.get_traced_memory()
        for _ in range(size):
            balance(recipe)
        gc.collect()
        after, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return (after - before) / 1024

    return kept
