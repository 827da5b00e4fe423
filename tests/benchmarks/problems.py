"""Recipes and menus of any size, and their programmes as the arrays that a bare solver takes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from formulate.answers.menus import Menu, menu_from_mapping
from formulate.data.examples import example_bytes
from formulate.ingredients.table import ingredient_table
from formulate.mix.mixtures import Mixture, mixture
from formulate.mix.programmes import programme
from formulate.recipes.file import parse
from formulate.recipes.model import Range, Recipe, RecipeIngredient

EXAMPLE = "bay_leaf_ice_cream"

Arrays = dict[str, np.ndarray]

_MORE_TARGETS = {
    "protein": Range(None, 8.0),
    "lactose": Range(None, 9.0),
    "milk_fat": Range(4.0, None),
    "energy_kcal": Range(None, 260.0),
}


def example(name: str = EXAMPLE) -> Recipe:
    """Return one of the recipes that come with the package."""
    return parse(example_bytes(name), name)


def recipe_of(ingredients: int) -> Recipe:
    """Return the example, widened by a gram each of the most usual things until it has so many.

    With more than its own 8 ingredients it has 12 targets.
    """
    known = example()
    own = {entry.key for entry in known.ingredients}
    usual = sorted(ingredient_table().values(), key=lambda entry: (entry.usual, entry.key))
    further = [entry.key for entry in usual if entry.key not in own][: ingredients - len(own)]
    entries = tuple(RecipeIngredient(key, grams=1.0, max_g=40.0) for key in further)
    targets = {**known.targets, **_MORE_TARGETS} if further else known.targets
    return replace(known, ingredients=(*known.ingredients, *entries), targets=targets)


def impossible(ingredients: int) -> Recipe:
    """Return :func:`recipe_of` with more sweetness than its other targets allow."""
    known = recipe_of(ingredients)
    return replace(known, targets={**known.targets, "sweetness": Range(30.0, None)})


def arrays(recipe: Recipe) -> Arrays:
    """Return the least-change programme of a recipe for ``scipy.optimize.linprog``."""
    return arrays_of(mixture(recipe))


def arrays_of(mix: Mixture) -> Arrays:
    """Return the same of a recipe met with the tables: first the weights, then how far each moves."""
    rows, start = programme(mix), mix.start
    assert start is not None
    count = len(rows.keys)
    above, below = np.isfinite(rows.row_lower), np.isfinite(rows.row_upper)
    matrix = np.hstack([rows.matrix, np.zeros((len(rows.rows), count))])
    eye = np.eye(count)
    limits = np.column_stack([rows.lower, rows.upper])
    moves = np.column_stack([np.zeros(count), np.full(count, np.inf)])
    return {
        "c": np.concatenate([np.zeros(count), 1.0 / np.maximum(start, 0.02 * rows.batch_g)]),
        "A_ub": np.vstack(
            [matrix[below], -matrix[above], np.hstack([eye, -eye]), np.hstack([-eye, -eye])]
        ),
        "b_ub": np.concatenate([rows.row_upper[below], -rows.row_lower[above], start, -start]),
        "A_eq": np.concatenate([rows.reach, np.zeros(count)])[None, :],
        "b_eq": np.array([rows.batch_g]),
        "bounds": np.vstack([limits, moves]),
    }


def menu_of(flavours: int) -> Menu:
    """Return a white base and so many flavours of it, each with its own fruit and sugar."""
    fruits = [entry.key for entry in ingredient_table().values() if entry.kind == "fruit"]
    base = [
        {"key": "whole_milk", "grams": 600},
        {"key": "cream_35", "grams": 220},
        {"key": "skim_milk_powder", "grams": 40},
        {"key": "sucrose", "grams": 140},
    ]
    mixes = [
        {
            "name": f"Flavour {number}",
            "batch_g": 1000.0,
            "base_g": 700.0,
            "ingredient": [
                {"key": fruits[number % len(fruits)], "grams": 220 + number % 7},
                {"key": "sucrose", "grams": 60},
                {"key": "dextrose_monohydrate", "grams": 20},
                {"key": "water", "grams": 0},
            ],
            "target": {
                "total_solids": {"min": 28.0, "max": 42.0},
                "sweetness": {"min": 15.0 + number % 3},
            },
        }
        for number in range(flavours)
    ]
    return menu_from_mapping({"name": "Benchmark", "base": base, "mix": mixes}, "benchmark")


def joint_arrays(
    blocks: list[tuple[np.ndarray, np.ndarray]],
    lower: np.ndarray,
    upper: np.ndarray,
    start: np.ndarray,
    change: np.ndarray,
    least: np.ndarray,
    most: np.ndarray,
    further: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> Arrays:
    """Return what :func:`formulate.solver.highs.sparse_linear` solves for ``linprog``, dense;
    of the further rows that what the base adds up to alone."""
    assert len(further[0]) == 1
    shared, count = blocks[0][0].shape[1], len(start)
    matrix = np.zeros((len(lower), count))
    row, column = 0, shared
    for of_base, own in blocks:
        high, wide = own.shape
        matrix[row : row + high, :shared] = of_base
        matrix[row : row + high, column : column + wide] = own
        row, column = row + high, column + wide
    both = np.hstack([matrix, np.zeros_like(matrix)])
    eye = np.eye(count)
    above, below = np.isfinite(lower), np.isfinite(upper)
    whole = np.hstack([further[0], np.zeros_like(further[0])])
    return {
        "c": np.concatenate([np.zeros(count), change]),
        "A_ub": np.vstack(
            [both[below], -both[above], np.hstack([eye, -eye]), np.hstack([-eye, -eye])]
        ),
        "b_ub": np.concatenate([upper[below], -lower[above], start, -start]),
        "A_eq": whole,
        "b_eq": further[1],
        "bounds": np.vstack(
            [
                np.column_stack([least, most]),
                np.column_stack([np.zeros(count), np.full(count, np.inf)]),
            ]
        ),
    }
