"""What a cook could give up, or add, so that a mix becomes possible; every proposal is solved."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from formulate.answers.conflicts import Demand, Explanation, Reach, bounds_of
from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import Ingredient, ingredient_table, position
from formulate.messages import Message, message
from formulate.mix import (
    FROZEN_WATER_KEY,
    Assessment,
    Crossing,
    Mixture,
    Programme,
    fine,
    mixture,
    programme,
)
from formulate.recipes import (
    Range,
    Recipe,
    RecipeIngredient,
    most_share,
    role_of,
    willingness,
)
from formulate.solver import greatest, optimum

__all__ = [
    "Proposal",
    "additions",
    "may_be_added",
    "most_share",
    "priced",
    "relaxations",
    "solved_proposal",
    "with_bound",
]


#: Kinds that bring no flavour of their own; of any other, one must be in the mix already.
_PLAIN = frozenset(
    "water sugar syrup polyol fibre stabiliser emulsifier acid mineral protein".split()
)
_AT_HAND = 2  # the table's rank of use up to which a kitchen is likely to have it

_MOST_ADDITIONS = 5
_TRIED = 12
_ETHANOL = position("ethanol")


@dataclass(frozen=True, slots=True)
class Proposal:
    """One way out.

    Attributes
    ----------
    kind:
        ``serve`` it colder or warmer, ``relax`` one demand, relax several ``together``, or ``add`` an
        ingredient.
    what:
        What to give up or to add.
    size:
        What is given up relative to what was asked, or grams added per gram of the batch.
    recipe:
        The recipe with the proposal in it.
    weights:
        The mix that it makes possible [g], in the order of that recipe.
    """

    kind: str
    what: Message
    size: float
    recipe: Recipe
    weights: tuple[float, ...]


def relaxations(
    mix: Mixture,
    rows: Programme,
    explanation: Explanation,
    reaches: tuple[Reach, ...],
    nearest: Assessment,
) -> tuple[Proposal, ...]:
    """Return the smallest giving-up of each demand of a conflict, and of several together.

    Parameters
    ----------
    mix, rows:
        The recipe met with the tables, and its programme.
    explanation, reaches:
        Why it has no mix, and what its targets can reach.
    nearest:
        The mix that misses least.
    """
    by_key = {found.key: found for found in reaches}
    found = []
    for demand in explanation.conflict:
        bound: float | None
        if demand.kind == "limit" and mix.crossings:
            bound = _other_limit(mix.crossings[0], demand)
        elif demand.kind == "limit":
            bound = _limit_needed(rows, demand)
        else:
            bound = _bound_needed(demand, by_key.get(demand.key))
        if bound is None:
            continue
        what = _what(demand, bound)
        size = abs(bound - demand.bound) / max(abs(demand.bound), 1e-9)
        found.append(solved_proposal("relax", what, size, _relaxed(mix, demand, bound)))
    found.append(_together(mix, nearest))
    kept = [proposal for proposal in found if proposal is not None]
    return tuple(sorted(kept, key=lambda proposal: (proposal.kind != "relax", proposal.size)))


def additions(mix: Mixture, rows: Programme, explanation: Explanation) -> tuple[Proposal, ...]:
    """Return ingredients of the table that make a mix possible, the most fitting first.

    All are priced at once against the proof of impossibility: only what pulls against it can help, and
    the pull says how much is needed at least.  The best few are then solved for the least amount, none
    beyond what is usual for its kind (``usual_use.csv``).  What would bring a new flavour comes last;
    else sugars come before gums, and these before salt, as a cook moves them, then what most kitchens
    have, and among equals the least needed.
    """
    further, wider, prices = priced(mix, rows, explanation)
    count = len(mix.keys)
    grams_needed = np.full(len(prices), np.inf)
    helps = prices > 0.0
    grams_needed[helps] = explanation.contradiction / prices[helps]
    grams_needed[grams_needed > wider.upper[count:]] = np.inf
    found = []
    strange = [
        (
            entry.kind not in _PLAIN and entry.kind not in mix.kinds,
            -willingness(role_of(None, entry.key, entry.kind)),
            entry.usual > _AT_HAND,
        )
        for entry in further
    ]
    helpful = [int(index) for index in np.flatnonzero(np.isfinite(grams_needed))]
    helpful.sort(key=lambda index: (strange[index], grams_needed[index]))
    for index in helpful[:_TRIED]:
        amount = _least_amount(wider, [*range(count), count + index])
        if amount is not None:
            entry = RecipeIngredient(further[index].key, price_per_kg=_dearest(mix))
            found.append((strange[index], amount, entry))
    found.sort(key=lambda way: way[:2])
    table = ingredient_table()
    proposals = []
    for _, amount, entry in found[:_MOST_ADDITIONS]:
        grams = _outward(amount, up=True, digits=0 if amount >= 20.0 else 1)
        recipe = replace(mix.recipe, ingredients=(*mix.recipe.ingredients, entry))
        what = message("add_ingredient", key=entry.key, name=table[entry.key].name, limit=grams)
        proposals.append(solved_proposal("add", what, amount / mix.recipe.batch_g, recipe))
    return tuple(proposal for proposal in proposals if proposal is not None)


def priced(
    mix: Mixture, rows: Programme, explanation: Explanation
) -> tuple[tuple[Ingredient, ...], Programme, Array]:
    """Return every ingredient that may be proposed, and the pull of each against the proof.

    Returns
    -------
    The further ingredients; the programme widened by them; and how much one gram of each does against
    the proof, shape (further ingredients,): only those above 0 can help.
    """
    further = tuple(entry for entry in ingredient_table().values() if may_be_added(mix, entry))
    compositions = np.stack([entry.composition for entry in further])
    upper = mix.recipe.batch_g * np.array([most_share(entry.kind) for entry in further])
    keys = tuple(entry.key for entry in further)
    wider = rows.widened(keys, compositions, upper, _dearest(mix) or 0.0)
    certificate = explanation.certificate
    pull = certificate.rows @ wider.matrix + certificate.total * wider.reach
    return further, wider, np.asarray(pull[len(mix.keys) :])


def _dearest(mix: Mixture) -> float | None:
    """A price for what has none yet: that of the dearest."""
    return None if mix.prices is None else float(mix.prices.max(initial=0.0))


def may_be_added(mix: Mixture, entry: Ingredient) -> bool:
    """Say whether an ingredient of the table may come in.

    Not if the cook excludes it; and a mix without animal origin or alcohol stays without.
    """
    exclude = mix.recipe.exclude
    table = ingredient_table()
    plant = all(key not in table or table[key].animal == "none" for key in mix.keys)
    dry = not mix.compositions[:, _ETHANOL].any()
    return not (
        entry.key in mix.keys
        or entry.key in exclude.keys
        or (exclude.only and entry.key not in exclude.only)
        or ((exclude.animal or plant) and entry.animal != "none")
        or ((exclude.alcohol or dry) and entry.composition[_ETHANOL] > 0.0)
        or set(exclude.allergens) & set(entry.allergens)
    )


def _least_amount(everything: Programme, columns: list[int]) -> float | None:
    """The least of the last column that makes a mix possible [g]."""
    narrow = replace(
        everything,
        keys=tuple(everything.keys[column] for column in columns),
        lower=everything.lower[columns],
        upper=everything.upper[columns],
        rows=tuple(replace(row, coefficients=row.coefficients[columns]) for row in everything.rows),
        matrix=everything.matrix[:, columns],
        reach=everything.reach[columns],
    )
    unit = np.zeros(len(columns))
    unit[-1] = -1.0
    found = greatest(narrow, unit)
    return None if found is None else float(found.weights[-1])


def _limit_needed(rows: Programme, demand: Demand) -> float | None:
    """The nearest limit with which a mix is possible [g]."""
    index = rows.keys.index(demand.key)
    lower, upper = rows.lower.copy(), rows.upper.copy()
    if demand.side == "min":
        lower[index] = 0.0
    else:
        upper[index] = rows.batch_g
    sign = 1.0 if demand.side == "min" else -1.0
    unit = np.zeros(len(rows.keys))
    unit[index] = sign
    found = greatest(rows.with_limits(lower, upper), unit)
    if found is None:
        return None
    grams = float(found.weights[index])
    return _outward(grams, up=demand.side == "max", digits=0 if grams >= 20.0 else 1)


def _other_limit(crossing: Crossing, demand: Demand) -> float:
    """What contradicts a limit: there the two meet [g]."""
    if demand.side == "min":
        return _outward(crossing.most.grams, up=False, digits=1)
    return _outward(crossing.least.grams, up=True, digits=1)


def _bound_needed(demand: Demand, found: Reach | None) -> float | None:
    """The nearest bound with which a mix is possible, rounded outward to what is shown."""
    if found is None or found.given != "others":
        return None
    assert found.low is not None and found.high is not None
    digits = 2 if fine(demand.key, (demand.bound,)) else 1
    if demand.side == "max" or (demand.side == "exact" and found.low > demand.bound):
        return _outward(found.low, up=True, digits=digits)
    return _outward(found.high, up=False, digits=digits)


def _outward(value: float, *, up: bool, digits: int) -> float:
    scale = 10.0**digits
    moved = math.ceil(value * scale - 1e-6) if up else math.floor(value * scale + 1e-6)
    return moved / scale


def _relaxed(mix: Mixture, demand: Demand, bound: float) -> Recipe | None:
    """The recipe with one bound moved, an exact target made a range; ``None`` if it cannot lie there."""
    recipe = mix.recipe
    try:
        if demand.kind == "limit":
            buys = zip(recipe.ingredients, mix.buys, strict=True)
            entries = tuple(
                _with_limit(entry, demand, bound, float(buy)) if entry.key == demand.key else entry
                for entry, buy in buys
            )
            return replace(recipe, ingredients=entries)
        old = bounds_of(recipe, demand.key)
        low, high = old.min, old.max
        if demand.side == "max" or (demand.side == "exact" and bound > demand.bound):
            high = bound
        else:
            low = bound
        return _with_bounds(recipe, demand.key, Range(low, high))
    except InputError:
        return None


def _with_limit(
    entry: RecipeIngredient, demand: Demand, bound: float, buy: float
) -> RecipeIngredient:
    """An ingredient with one limit moved [g at the scale]; a fixed weight becomes two limits."""
    if demand.field == "least_use_g":
        return replace(entry, least_use_g=bound)
    if entry.fixed:
        entry = replace(entry, fixed=False, min_g=entry.grams, max_g=entry.grams)
    if demand.side == "min":
        return replace(entry, min_g=bound)
    most = None if entry.max_g is None else max(entry.max_g, bound)
    stock = None if entry.stock_g is None else max(entry.stock_g, bound * buy)
    return replace(entry, max_g=most, stock_g=stock)


def with_bound(recipe: Recipe, demand: Demand, bound: float) -> Recipe:
    """Return the recipe with the bound of one demand set; an exact target stays exact."""
    old = bounds_of(recipe, demand.key)
    if demand.side == "exact":
        changed = Range(bound, bound)
    else:
        changed = Range(bound, old.max) if demand.side == "min" else Range(old.min, bound)
    return _with_bounds(recipe, demand.key, changed)


def _with_bounds(recipe: Recipe, key: str, bounds: Range) -> Recipe:
    if key == FROZEN_WATER_KEY:
        assert recipe.serving is not None
        return replace(recipe, serving=replace(recipe.serving, frozen_water=bounds))
    if key in recipe.targets:
        return replace(recipe, targets={**recipe.targets, key: bounds})
    return replace(
        recipe,
        ratios=tuple(
            replace(entry, bounds=bounds) if entry.key == key else entry for entry in recipe.ratios
        ),
        groups=tuple(
            replace(entry, bounds=bounds) if entry.key == key else entry for entry in recipe.groups
        ),
    )


def _together(mix: Mixture, nearest: Assessment) -> Proposal | None:
    """Every missed target moved to what the nearest mix has."""
    wider: Recipe | None = mix.recipe
    ways, size = [], 0.0
    missed = [target for target in nearest.targets if not target.met]
    for target in missed:
        side = "min" if target.min is not None and target.value < target.min else "max"
        bound = target.min if side == "min" else target.max
        assert bound is not None
        exact = "exact" if target.min == target.max else side
        demand = Demand("target", target.key, exact, bound, target.name, target.unit)
        digits = 2 if fine(target.key, (bound,)) else 1
        moved = _outward(target.value, up=side == "max", digits=digits)
        wider = _relaxed(mix, demand, moved)
        if wider is None:
            return None
        mix = replace(mix, recipe=wider)
        ways.append(_what(replace(demand, side=side), moved))
        size += abs(moved - bound) / max(abs(bound), 1e-9)
    if len(missed) < 2:
        return None
    return solved_proposal("together", message("together", ways=tuple(ways)), size, wider)


def _what(demand: Demand, bound: float) -> Message:
    """The giving-up of a demand, to so much."""
    about = {"key": demand.key, "name": demand.name}
    if demand.kind == "limit":
        return message("allow_grams", **about, limit=bound, least=demand.side == "min")
    rises = demand.side == "max" or (demand.side == "exact" and bound > demand.bound)
    return message("let_target", **about, limit=bound, unit=demand.unit, rises=rises)


def solved_proposal(
    kind: str, what: Message, size: float, recipe: Recipe | None
) -> Proposal | None:
    """Return a proposal with its mix, or ``None`` if after all there is none."""
    if recipe is None:
        return None
    met = mixture(recipe)
    found = optimum(met, programme(met))
    if found is None:
        return None
    return Proposal(kind, what, size, recipe, tuple(float(each) for each in found.weights))
