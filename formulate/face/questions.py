"""What a cook asks of a recipe, one function a question; each imports no more than it needs.

That no mix can do it is an answer: a :class:`Result` that is ``impossible`` and says why, or ``None``
where there is nothing to draw a table of.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from formulate.errors import InputError
from formulate.face.results import Result, Status, with_tables
from formulate.recipes import Recipe

if TYPE_CHECKING:
    import pandas as pd

    from formulate.answers import BaseAnswer, Correction, Menu
    from formulate.face.several import Frontier, Ladder, Mixes, Ranges

__all__ = [
    "alternatives",
    "balance",
    "base",
    "check",
    "correct",
    "curve",
    "ladder",
    "ranges",
    "shown",
    "tradeoff",
    "weights_of",
    "without",
]


def balance(
    recipe: Recipe,
    *,
    confidence: float | None = None,
    margin: float | None = None,
    objective: str | None = None,
) -> Result:
    """Return the mix that meets every target, or why none can.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    confidence:
        Probability with which each target must hold though lots and readings vary, from 0.5 to below
        1; ``None``: as predicted.
    margin:
        Standard deviations to keep inside every uncertain target before anything else, 0 to 10; ``None``:
        as the recipe says, 1 where it does not.
    objective:
        What is made least: ``change`` from the present weights, ``cost``, or the distance from what is
        ``typical``; ``None``: as the recipe says.

    Returns
    -------
    Result
        ``balanced``, or ``impossible`` with the conflict, the mix that misses least, and ways out.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables, a number is out of its range, the objective is
        unknown, or it is the cost and a price is missing.
    SolverFault, VerificationFault
        If the answer cannot be trusted; nothing is shown then.

    Examples
    --------
    >>> import formulate as fm
    >>> result = fm.balance(fm.load("damson_sorbet"))
    >>> result.status == fm.Status.BALANCED
    True
    >>> bool(result.targets.loc["sweetness", "met"])
    True
    """
    from formulate.answers import balance as balanced
    from formulate.answers import balance_safely

    asked = recipe.with_balance(margin, objective)
    found = balanced(asked) if confidence is None else balance_safely(asked, confidence)
    return with_tables(Result, found, status=Status(found.status))


def check(recipe: Recipe) -> Result:
    """Return what the present weights give, target by target.  Nothing is solved.

    Parameters
    ----------
    recipe:
        A recipe with weights.

    Returns
    -------
    Result
        ``meets`` or ``misses``.

    Raises
    ------
    InputError
        If the recipe gives no weights, or cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> str(fm.check(fm.load("damson_sorbet")).status)
    'misses'
    """
    from formulate.answers import check as checked

    found = checked(recipe)
    return with_tables(Result, found, status=Status(found.status))


def shown(recipe: Recipe, balanced: bool = False) -> Result:
    """Return the mix that a recipe stands for: as it stands where every weight is given, else balanced.

    What is printed, labelled, timed, ordered or kept of a recipe is this mix.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    balanced:
        Whether the balanced mix is meant, be every weight given.

    Returns
    -------
    Result
        ``which`` says which of the two it is.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> unknown = recipe.with_weights({"damson": None, "water": None})
    >>> str(shown(recipe).which), str(shown(unknown).which)
    ('as_it_stands', 'balanced')
    """
    from formulate.answers import meant

    found = meant(recipe, balanced)
    return with_tables(Result, found, status=Status(found.status))


def weights_of(recipe: Recipe) -> dict[str, float]:
    """Return the weights of a recipe as it stands, scaled to its batch; empty unless all are given.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.

    Returns
    -------
    dict
        Grams by key.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> weights_of(fm.load("damson_sorbet"))["damson"]
    1000.0
    """
    if not recipe.is_weighed:
        return {}
    return {weight.key: weight.grams for weight in shown(recipe).mix.weights}


def curve(recipe: Recipe) -> pd.DataFrame:
    """Return the freezing curve of the present weights, or of the balanced mix if not all are known.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.

    Returns
    -------
    DataFrame
        Indexed by ``temperature_c`` from -2 to -24 °C: ``percent``, frozen water, and ``plus_minus``,
        one standard deviation [% of all water].

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> frozen = fm.curve(fm.load("damson_sorbet"))["percent"]
    >>> bool(frozen.loc[-20.0] > frozen.loc[-10.0])
    True
    """
    return shown(recipe).curve


def ranges(recipe: Recipe, slack: float = 0.1) -> Ranges | None:
    """Return how far ingredients and targets can move, and what each target costs.

    Parameters
    ----------
    recipe:
        A recipe with weights, or with a price for each ingredient.
    slack:
        How much worse than the optimum a mix may be, 0 or more: added to the sum of relative changes
        (0.1 is a tenth of one ingredient's weight), or to the cost per kg.

    Returns
    -------
    Ranges or None
        ``None`` if no mix meets the targets.

    Raises
    ------
    InputError
        If the slack is below zero, or the recipe counts ingredients or gives neither weights nor prices.

    Examples
    --------
    >>> import formulate as fm
    >>> fm.ranges(fm.load("damson_sorbet")).to_frame().loc[("ingredient", "sucrose"), "unit"]
    'g'
    """
    from formulate.answers import ranges as ranges_of
    from formulate.face.several import Ranges

    found = ranges_of(recipe, slack)
    return None if found is None else with_tables(Ranges, found)


def ladder(recipe: Recipe, key: str, readings: str | Iterable[float]) -> Ladder:
    """Return one balanced mix for each reading of one ingredient.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    key:
        The ingredient that is read.
    readings:
        Rising, above 0 to 85 °Bx at 20 °C, at most 501; or ``"9:15:0.5"``, from, to and step.

    Returns
    -------
    Ladder

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or it cannot read so.

    Examples
    --------
    >>> import formulate as fm
    >>> rungs = fm.ladder(fm.load("damson_sorbet"), "damson", range(9, 14)).to_frame()
    >>> bool(rungs["sucrose"].is_monotonic_decreasing)  # riper fruit takes less sugar
    True
    """
    from formulate.answers import ladder as rungs_of
    from formulate.answers import readings_of
    from formulate.face.several import Ladder

    if isinstance(readings, str):
        rising = readings_of(readings)
    else:
        rising = tuple(float(brix) for brix in readings)
        steps = zip((0.0, *rising), rising, strict=False)
        if not rising or len(rising) > 501 or not all(a < b <= 85.0 for a, b in steps):
            problem = "must rise, from above 0 to 85 °Bx, and be 1 to 501"
            raise InputError("readings", problem, "Give range(9, 16), for example.")
    return with_tables(Ladder, rungs_of(recipe, key, rising), recipe=recipe)


def tradeoff(recipe: Recipe, first: str, second: str) -> Frontier | None:
    """Return the exact frontier between two wishes.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    first, second:
        ``change`` (sum of relative changes), ``cost_per_kg``, ``hardness`` (water frozen at the
        serving temperature beyond the middle of the window [g per 100 g]), or a property to make small,
        with a minus before it to make large: ``sweetness``, ``-total_solids``.

    Returns
    -------
    Frontier or None
        ``None`` if no mix meets the targets.

    Raises
    ------
    InputError
        If a wish is unknown, or lacks the weights, prices or serving that it needs.

    Examples
    --------
    >>> import formulate as fm
    >>> found = fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness")
    >>> found.corners[0].first <= found.corners[-1].first
    True
    """
    from formulate.answers import frontier
    from formulate.face.several import Frontier

    found = frontier(recipe, first, second)
    return None if found is None else with_tables(Frontier, found)


def alternatives(recipe: Recipe, count: int = 3) -> Mixes:
    """Return mixes of which no two have the same set of ingredients, best first.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    count:
        How many at most, 1 to 50.

    Returns
    -------
    Mixes
        Empty if no mix meets the targets.

    Raises
    ------
    InputError
        If the count is out of its range.

    Examples
    --------
    >>> import formulate as fm
    >>> len(fm.alternatives(fm.load("damson_sorbet"), 2))
    2
    """
    from formulate.answers import different_mixes
    from formulate.face.several import Mixes
    from formulate.report import sentence

    found = different_mixes(recipe, count)
    return Mixes(
        tuple(each.mix for each in found),
        tuple(sentence(each.way) for each in found),
        tuple(each.recipe for each in found),
    )


def correct(recipe: Recipe, pot: Mapping[str, float]) -> tuple[Correction, ...]:
    """Return what to add to a half-made pot; nothing is taken out.

    Parameters
    ----------
    recipe:
        The recipe, with its targets.
    pot:
        What is in the pot already [g], 0 or more, by key.

    Returns
    -------
    tuple of Correction
        The smallest addition first; if none can do it, one whose ``aim`` is ``nearest``.

    Raises
    ------
    InputError
        If the pot holds something that is not in the recipe, or nothing.

    Examples
    --------
    >>> import formulate as fm
    >>> fm.correct(fm.load("damson_sorbet"), {"damson": 1000, "sucrose": 250})[0].aim
    'smallest'
    """
    from formulate.answers import correct as corrections

    return corrections(recipe, pot)


def without(recipe: Recipe, key: str) -> Result:
    """Return the best mix without one ingredient, which is not proposed again either.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    key:
        What is out of stock, not wanted, or too dear.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        If the recipe has no such ingredient, or cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> "water" in fm.without(fm.load("damson_sorbet"), "water").weights.index
    False
    """
    from formulate.recipes import without as left_out

    rest = left_out(recipe, key)
    never = replace(rest.exclude, keys=(*rest.exclude.keys, key))
    name = f"{recipe.name}, without {key.replace('_', ' ')}"
    return balance(replace(rest, name=name, exclude=never))


def base(menu: Menu) -> BaseAnswer:
    """Return one base for several mixes, and the additions of each; or why no base serves all.

    Parameters
    ----------
    menu:
        The base and its mixes, from :func:`formulate.face.load_menu`.

    Returns
    -------
    BaseAnswer

    Raises
    ------
    VerificationFault
        If a mix, recomputed, misses a target.

    Examples
    --------
    >>> import formulate as fm
    >>> tables = {
    ...     "base": [{"key": "whole_milk", "grams": 700}, {"key": "sucrose", "grams": 180}],
    ...     "mix": [{"name": "Plain", "batch_g": 1000, "base_g": 1000, "target": {}}],
    ... }
    >>> from formulate.answers import menu_from_mapping
    >>> menu = menu_from_mapping(tables, "milk base")
    >>> fm.base(menu).names
    ('Whole milk', 'Sugar (sucrose)')
    """
    from formulate.answers import shared_base

    return shared_base(menu)
