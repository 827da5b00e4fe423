"""The exact programme of a recipe with named rows: as text that linear solvers read, or plain data."""

from __future__ import annotations

import re
from typing import Any

import numpy as np

from formulate.data import made_with, versions
from formulate.errors import InputError
from formulate.mix import mixture, programme
from formulate.recipes import Recipe
from formulate.solver import is_counted, objective_of, optimum

__all__ = ["as_lp", "programme_data"]


def programme_data(recipe: Recipe) -> dict[str, Any]:
    """Return the programme: columns, objective, rows with names and bounds, limits.

    Where the recipe has weights, the objective is the sum of ``change x |weight - start|``; the columns
    are then what is added (``up``) and taken away (``down``) of each ingredient, and ``weight = start +
    up - down``.  Infinite bounds are ``None``.  ``versions`` are those of program, table and model.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.

    Returns
    -------
    dict
        Ready for JSON.

    Raises
    ------
    InputError
        If the recipe counts ingredients, or gives neither weights nor all prices.

    Examples
    --------
    >>> import formulate as fm
    >>> sorted(programme_data(fm.load("damson_sorbet")))[:3]
    ['columns', 'constant', 'lower']
    """
    mix = mixture(recipe)
    rows = programme(mix)
    wish = objective_of(mix, rows)
    if is_counted(mix) or (mix.start is None and mix.prices is None):
        raise InputError(
            recipe.name,
            "has no linear objective to export",
            "Give weights or prices, and take counts out.",
        )
    chosen = optimum(mix, rows)
    if chosen is not None:
        rows, wish = chosen.kept, chosen.objective
    matrix = np.vstack([rows.matrix, rows.reach])
    lower = np.append(rows.row_lower, rows.total_least)
    upper = np.append(rows.row_upper, rows.total_most)
    names = [*(_row_name(row.key, row.side) for row in rows.rows), "total"]
    offset = matrix @ wish.start
    return {
        "name": recipe.name,
        "versions": versions(),
        "start": wish.start.tolist(),
        "columns": [*(f"up_{key}" for key in rows.keys), *(f"down_{key}" for key in rows.keys)],
        "objective": np.concatenate([wish.change + wish.cost, wish.change - wish.cost]).tolist(),
        "constant": float(wish.cost @ wish.start),
        "rows": [
            {
                "name": name,
                "coefficients": [*row.tolist(), *(-row).tolist()],
                "lower": _bound(low - shift),
                "upper": _bound(high - shift),
            }
            for name, row, low, high, shift in zip(names, matrix, lower, upper, offset, strict=True)
        ],
        "lower": [
            *np.maximum(rows.lower - wish.start, 0.0).tolist(),
            *np.maximum(wish.start - rows.upper, 0.0).tolist(),
        ],
        "upper": [
            *np.maximum(rows.upper - wish.start, 0.0).tolist(),
            *np.maximum(wish.start - rows.lower, 0.0).tolist(),
        ],
    }


def as_lp(recipe: Recipe) -> str:
    """Return the programme as LP text; :func:`programme_data` says what its columns are.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.

    Returns
    -------
    str
        The text format of linear programmes that solvers share.

    Raises
    ------
    InputError
        As :func:`programme_data` says.

    Examples
    --------
    >>> import formulate as fm
    >>> as_lp(fm.load("damson_sorbet")).splitlines()[-1]
    'End'
    """
    data = programme_data(recipe)
    columns = [_word(column) for column in data["columns"]]
    lines = [
        f"\\ {data['name']}".replace("\n", " "),
        f"\\ {made_with()}",
        "Minimize",
        f" wish: {_sum(data['objective'], columns)}",
    ]
    lines.append("Subject To")
    for row in data["rows"]:
        words = _sum(row["coefficients"], columns)
        name = _word(row["name"])
        low, high = row["lower"], row["upper"]
        if low is not None and low == high:
            lines.append(f" {name}: {words} = {low!r}")
            continue
        if low is not None:
            lines.append(f" {name}_least: {words} >= {low!r}")
        if high is not None:
            lines.append(f" {name}_most: {words} <= {high!r}")
    lines.append("Bounds")
    for column, low, high in zip(columns, data["lower"], data["upper"], strict=True):
        lines.append(f" {low!r} <= {column} <= {high!r}")
    return "\n".join([*lines, "End", ""])


def _bound(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _row_name(key: str, side: str) -> str:
    return key if side in ("range", "exact") else f"{key} {side}"


def _word(name: str) -> str:
    """A name of letters, digits and underscores only."""
    return re.sub(r"\W+", "_", name, flags=re.ASCII)


def _sum(coefficients: list[float], columns: list[str]) -> str:
    parts = [
        f"{'-' if value < 0.0 else '+'} {abs(value)!r} {column}"
        for value, column in zip(coefficients, columns, strict=True)
        if value != 0.0
    ]
    return " ".join(parts) or f"0 {columns[0]}"
