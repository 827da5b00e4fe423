"""How far each ingredient and each target can move near the optimum, and what each target costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from formulate.answers.conflicts import Demand, demands, freezing_extreme
from formulate.answers.proposals import may_be_added, most_share, with_bound
from formulate.arrays import Array
from formulate.errors import InputError, SolverFault
from formulate.ingredients import ingredient_table
from formulate.messages import Message, message
from formulate.mix import (
    COST_KEY,
    FREEZING_KEY,
    FROZEN_WATER_KEY,
    Assessment,
    Mixture,
    Programme,
    assess,
    fine,
    mixture,
    programme,
    value_per_ingredient,
)
from formulate.recipes import Recipe
from formulate.solver import (
    ActiveSet,
    Chosen,
    Objective,
    Optimum,
    Solution,
    active_set_of,
    best,
    holds_between,
    is_counted,
    optimum,
    optimum_at,
    programmes_in_order,
)

__all__ = ["Newcomer", "Price", "Ranges", "Span", "ranges"]

Near = Callable[[Array], Solution | None]

_NEWCOMERS = 5
_BULK = 0.02  # what is used by the pinch is no newcomer


@dataclass(frozen=True, slots=True)
class Span:
    """Least and greatest value of an ingredient [g] or a target, and the value at the optimum."""

    key: str
    name: str
    unit: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Price:
    """What one demand costs.

    Attributes
    ----------
    grams_per_unit:
        How much less would move from one ingredient to others, if its bound gave way by one unit [g];
        ``None`` where the recipe is about cost.
    cost_per_unit:
        How much less the mix would cost per kg, if its bound gave way by one unit; ``None`` else.
    holds_from, holds_to:
        Bounds between which that price holds [unit of the target].
    """

    demand: Demand
    grams_per_unit: float | None
    cost_per_unit: float | None
    holds_from: float
    holds_to: float


@dataclass(frozen=True, slots=True)
class Newcomer:
    """An ingredient that is not in the mix but would come in.

    ``below_price`` is the price per kg under which it would, where the recipe is about cost; else
    ``None``: it would come in as it is.
    """

    key: str
    name: str
    below_price: float | None


@dataclass(frozen=True)
class Ranges:
    """The spans around an optimum.

    ``slack`` is how much worse than the optimum a mix may be, ``near`` says by what that is told.
    """

    optimum: Assessment
    slack: float
    near: Message
    ingredients: tuple[Span, ...]
    targets: tuple[Span, ...]
    prices: tuple[Price, ...]
    newcomers: tuple[Newcomer, ...]


def ranges(recipe: Recipe, slack: float = 0.1) -> Ranges | None:
    """Return the ranges of a recipe, ``None`` if no mix meets it.

    Parameters
    ----------
    recipe:
        With weights, or a price for each ingredient.
    slack:
        How much worse than the optimum a mix may be, not a share of it: added to the sum of relative
        changes (0.1 is a tenth of one ingredient's weight), or to the cost per kg.

    Returns
    -------
    Ranges or None

    Raises
    ------
    InputError
        If the slack is below zero, or the recipe counts ingredients or gives neither weights nor prices.

    Examples
    --------
    >>> import formulate as fm
    >>> all(span.low <= span.high for span in ranges(fm.load("damson_sorbet")).ingredients)
    True
    """
    if not slack >= 0.0:
        raise InputError("slack", f"is {slack:g}, and cannot be below zero", "Try 0.1.")
    mix = mixture(recipe)
    rows = programme(mix)
    if is_counted(mix) or (mix.start is None and mix.prices is None):
        raise InputError(
            recipe.name,
            "has ranges only with weights, or prices for all, and without counts of ingredients",
            "Give grams, or take the counts out.",
        )
    found = optimum(mix, rows)
    if found is None:
        return None
    near, within = _near(mix, found, slack)
    judged = assess(mix, found.weights)
    corner = active_set_of(found.kept, found.objective, found.columns, found.solution.prices)
    return Ranges(
        optimum=judged,
        slack=slack,
        near=within,
        ingredients=_ingredients(mix, judged, near),
        targets=_targets(mix, rows, judged, near),
        prices=() if corner is None else _prices(mix, found, corner),
        newcomers=_newcomers(mix, rows, found.solution),
    )


def _near(mix: Mixture, found: Chosen, slack: float) -> tuple[Near, Message]:
    """A search for the greatest ``coefficients . weights`` within the slack, and what it is within."""
    kept, objective = found.kept, found.objective
    more = np.zeros(len(kept.keys) - len(mix.keys))
    if mix.start is not None:
        moved = objective.of(found.columns)
        ceiling = moved + slack
        least = found.solution.objective
        within = message("near_least_change", slack=slack, least=least)
    else:
        assert mix.prices is not None
        cost = float(mix.prices @ found.weights) / mix.recipe.batch_g
        ceiling = objective.of(found.columns) + slack * mix.recipe.batch_g / float(mix.prices.max())
        within = message("near_least_cost", slack=slack, least=cost)

    def near(coefficients: Array) -> Solution | None:
        wanted = Objective(
            objective.start, np.zeros(len(kept.keys)), -np.append(coefficients, more)
        )
        solved = best(kept, wanted, within=(objective, ceiling))
        return None if solved is None else replace(solved, weights=solved.weights[: len(mix.keys)])

    return near, within


def _there(found: Solution | None) -> Solution:
    """A mix that must be there, because the optimum is one."""
    if found is None:
        raise SolverFault("The mix that was found before cannot be found again.")
    return found


def _ingredients(mix: Mixture, judged: Assessment, near: Near) -> tuple[Span, ...]:
    found = []
    for index, weight in enumerate(judged.weights):
        unit = np.eye(len(mix.keys))[index]
        low, high = (float(_there(near(sign * unit)).weights[index]) for sign in (-1.0, 1.0))
        found.append(Span(weight.key, weight.name, "g", weight.grams, low, high))
    return tuple(found)


def _targets(mix: Mixture, rows: Programme, judged: Assessment, near: Near) -> tuple[Span, ...]:
    found = []
    for target in judged.targets:
        if target.key in (FREEZING_KEY, FROZEN_WATER_KEY):
            ends = [freezing_extreme(mix, target.key, sign, near) for sign in (-1.0, 1.0)]
        elif target.key in mix.recipe.targets:
            values = value_per_ingredient(mix, target.key) / rows.batch_g
            ends = [float(values @ _there(near(sign * values)).weights) for sign in (-1.0, 1.0)]
        else:
            continue
        low, high = sorted(end for end in ends if end is not None)
        found.append(Span(target.key, target.name, target.unit, target.value, low, high))
    return tuple(found)


def _prices(mix: Mixture, found: Chosen, corner: ActiveSet) -> tuple[Price, ...]:
    """The price of every demand that holds the optimum, and how far it stays the same."""
    rows, count = found.kept, len(mix.keys)
    held = optimum_at(rows, found.objective, corner)
    if held is None:
        return ()
    tight = {
        (rows.rows[index].key, _bound_held(rows.rows[index].side, side))
        for index, side in corner.rows
        if index < len(rows.rows)
    }
    prices = []
    for demand in demands(mix, found.programme):
        if demand.kind == "limit" or (demand.key, demand.side) not in tight:
            continue
        step = 0.01 if fine(demand.key, (demand.bound,)) else 0.1
        direction = -1.0 if demand.side == "min" else 1.0
        given = _moved(mix, found, corner, demand, demand.bound + direction * step)
        if given is None:
            continue
        if mix.start is not None:
            grams = 0.5 * float(np.abs(held.weights[:count] - mix.start).sum())
            less = 0.5 * float(np.abs(given.weights[:count] - mix.start).sum())
            prices.append(_price(mix, found, corner, demand, step, (grams - less) / step, None))
        else:
            assert mix.prices is not None
            saved = float(mix.prices @ (held.weights - given.weights)[:count]) / rows.batch_g
            prices.append(_price(mix, found, corner, demand, step, None, saved / step))
    return tuple(prices)


def _bound_held(asked: str, side: int) -> str:
    """Which bound of its target a row that is tight holds: ``min``, ``max`` or ``exact``.

    The room that is kept inside a bound holds that bound, too.
    """
    word = asked.removeprefix("margin_").removesuffix("_share")
    return word if word != "range" else ("min" if side < 0 else "max")


def _price(
    mix: Mixture,
    found: Chosen,
    corner: ActiveSet,
    demand: Demand,
    step: float,
    grams: float | None,
    cost: float | None,
) -> Price:
    low, high = holds_between(partial(_moved, mix, found, corner, demand), demand.bound, step)
    return Price(demand, grams, cost, low, high)


def _moved(
    mix: Mixture, found: Chosen, corner: ActiveSet, demand: Demand, bound: float
) -> Optimum | None:
    """The optimum with one bound moved, if the same corner holds it."""
    try:
        recipe = with_bound(mix.recipe, demand, bound)
        moved = replace(mix, recipe=recipe)
        tried = programmes_in_order(moved, programme(moved))[found.rank]
        if found.eased:
            tried = tried.with_limits(found.programme.lower, found.programme.upper)
    except (InputError, ValueError):  # a bound that cannot be, like a freezing point above 0 °C
        return None
    return optimum_at(found.rooms.kept(tried), found.objective, corner)


def _newcomers(mix: Mixture, rows: Programme, found: Solution) -> tuple[Newcomer, ...]:
    """Ingredients of the table that would improve on the optimum, by their worth at its prices."""
    table = ingredient_table()
    further = [
        entry
        for entry in table.values()
        if may_be_added(mix, entry) and most_share(entry.kind) >= _BULK
    ]
    if not further or COST_KEY in mix.recipe.targets:
        return ()
    compositions = np.stack([entry.composition for entry in further])
    keys = tuple(entry.key for entry in further)
    wider = rows.widened(keys, compositions, np.full(len(further), rows.batch_g))
    worth = found.prices[: len(rows.rows)] @ wider.matrix[:, len(mix.keys) :] + found.total_price
    if mix.start is not None:
        each = 1.0 / (0.02 * mix.recipe.batch_g)
        better = np.argsort(-worth)
        return tuple(
            Newcomer(further[index].key, further[index].name, None)
            for index in better[:_NEWCOMERS]
            if worth[index] > each * (1.0 + 1e-6)
        )
    assert mix.prices is not None
    prices = worth * float(mix.prices.max())
    return tuple(
        Newcomer(further[index].key, further[index].name, float(prices[index]))
        for index in np.argsort(-prices)[:_NEWCOMERS]
        if prices[index] > 0.0
    )
