"""Which of all the mixes that a recipe allows: the order of wishes.

Limits hold, and what is usual of each kind; then the targets; what is tasted first stays, as near as can
be; then a margin inside what is uncertain (:mod:`formulate.solver.margins`); then the least change, in
which every kind has the price that a cook puts on moving it, the character of the dessert the highest,
and the gums of a blend move together; then the alphabet.  Without weights to change from it is the mix
closest to what is usual, or the cheapest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.mix import Mixture, Programme
from formulate.recipes import Counts
from formulate.solver.margins import Rooms, Uncertain, uncertain
from formulate.solver.objectives import Objective, Solution, best
from formulate.solver.preferences import (
    as_near_as_can_be,
    blended,
    objective_of,
    of_its_name,
    within_usual,
)
from formulate.solver.whole_numbers import counted

__all__ = [
    "Chosen",
    "is_counted",
    "kept_to_counts",
    "optimum",
    "programmes_in_order",
    "reached",
]

_SAME_G = 1e-7
_REAL_USE = 1e-3  # of the batch: less of an ingredient makes no other mix
_TURNS = 8  # of laying tangents anew


@dataclass(frozen=True, eq=False)
class Chosen:
    """The mix that a recipe asks for, and what it was chosen from.

    Attributes
    ----------
    solution:
        Weights of the ingredients [g]; prices of the rows of ``programme`` and what follows them.
    rank:
        Which of :func:`programmes_in_order` the mix meets, the first that can be met.
    programme:
        That one, without the rows of the margin.
    uncertain:
        What doubts do to its sides.
    rooms:
        The room that was asked for around the mix.
    kept, objective:
        The programme with that room, and what was made least over it.
    columns:
        Weights, then how far each side falls short of its room.
    eased:
        Whether limits that were wished for had to give: ``programme`` has them as near as can be, and at
        another reading they are others.
    """

    solution: Solution
    rank: int
    programme: Programme
    uncertain: Uncertain
    rooms: Rooms
    kept: Programme
    objective: Objective
    columns: Array
    eased: bool = False

    def as_they_are(self, mix: Mixture) -> Chosen:
        """Return the present weights, where these are as good a choice."""
        assert mix.present is not None
        solution = replace(self.solution, weights=mix.present, objective=0.0)
        return replace(self, solution=solution)

    @property
    def moves(self) -> Array | None:
        """What a gram of change of each ingredient counts [1/g]; ``None`` where changes count nothing."""
        change = self.objective.change[: len(self.weights)]
        return change if change.any() else None

    @property
    def weights(self) -> Array:
        """Weights [g], shape (ingredients,)."""
        return self.solution.weights


def optimum(
    mix: Mixture,
    programme: Programme,
    not_again: tuple[frozenset[int], ...] = (),
    margin: float | None = None,
) -> Chosen | None:
    """Return the mix that the recipe asks for, ``None`` if none can be.

    Parameters
    ----------
    mix, programme:
        The recipe met with the tables, and its programme.
    not_again:
        Sets of ingredients that are not taken once more.
    margin:
        Standard deviations to keep inside every uncertain target; as the recipe says if not given.

    Returns
    -------
    Solution or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> round(float(optimum(mix, programme(mix)).weights.sum()), 6)
    2000.0
    """
    asked = mix.recipe.balance.margin if margin is None else margin
    objective = objective_of(mix, programme)
    in_order = programmes_in_order(mix, programme, asked)
    for rank, tried in enumerate(in_order):
        nearest, eased = tried, False
        if not (_same_limits(tried, in_order[0]) or is_counted(mix)):
            near, eased = as_near_as_can_be(mix, tried, in_order[0]), True
            if near is None:
                continue
            nearest = near
        found = _with_margin(mix, (rank, nearest), objective, not_again, asked)
        if found is not None:
            return replace(found, eased=eased)
    return None


def programmes_in_order(
    mix: Mixture, programme: Programme, margin: float | None = None
) -> tuple[Programme, ...]:
    """Return what is tried in turn: the most that a cook would want first, the bare demands last.

    What gives the dessert its name as it is, where a margin is wished for, which must not be bought with
    it; gums of a blend in their ratio and everything within the usual; without the blend; beyond the
    usual, with the blend and without.  Each time exact targets first exactly, then as far off as they are
    judged to be met.

    Parameters
    ----------
    mix, programme:
        The recipe met with the tables, and its programme.
    margin:
        As in :func:`optimum`.

    Returns
    -------
    tuple of Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> len(programmes_in_order(mix, rows)[-1].rows) == len(rows.rows)
    True
    """
    asked = mix.recipe.balance.margin if margin is None else margin
    usual = within_usual(mix, programme)
    wanted = blended(mix, usual)
    itself = of_its_name(mix, wanted) if asked > 0.0 else wanted
    found: list[Programme] = []
    for each in (itself, wanted, usual, blended(mix, programme), programme):
        for tried in (each, each.loosened()):
            if not any(tried is other for other in found):
                found.append(tried)
    return tuple(found)


def reached(chosen: Chosen, weights: Array) -> float | None:
    """Return the least distance of any uncertain side from its bound [its standard deviations].

    Parameters
    ----------
    chosen:
        What the mix was chosen from.
    weights:
        The mix, as rounded [g], shape (ingredients,).

    Returns
    -------
    ``None`` where nothing is uncertain.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> chosen = optimum(mix, programme(mix))
    >>> reached(chosen, chosen.weights) > 0.0
    True
    """
    return chosen.uncertain.rooms(weights, 1.0).reached(chosen.programme, weights)


def is_counted(mix: Mixture) -> bool:
    """Say whether the recipe counts changes or ingredients, or has weights that are none or so much.

    Parameters
    ----------
    mix:
        The recipe met with the tables.

    Returns
    -------
    bool

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> is_counted(mixture(fm.load("damson_sorbet")))
    False
    """
    least_use = any(entry.least_use_g for entry in mix.recipe.ingredients)
    return mix.recipe.counts != Counts() or least_use


def kept_to_counts(mix: Mixture, programme: Programme, weights: Array) -> Programme:
    """Return the programme with limits that keep what was decided, for rounding.

    What is unchanged stays, what is not used stays at nothing, what has a minimum use keeps it, where
    that was counted.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    programme:
        Its programme.
    weights:
        What was decided [g], shape (ingredients,).

    Returns
    -------
    Programme

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> kept_to_counts(mix, programme(mix), mix.start).keys == mix.keys
    True
    """
    if not is_counted(mix):
        return programme
    lower, upper = programme.lower.copy(), programme.upper.copy()
    counts = mix.recipe.counts
    least_use = _least_use(mix)
    used = weights > _SAME_G
    lower = np.where(used, np.maximum(lower, least_use), lower)
    if counts.most_ingredients is not None or least_use.any():
        upper = np.where(used, upper, 0.0)
    if counts.most_changes is not None and mix.start is not None:
        same = mix.known & (np.abs(weights - mix.start) <= _SAME_G)
        lower = np.where(same, mix.start, lower)
        upper = np.where(same, mix.start, upper)
    return programme.with_limits(lower, np.maximum(upper, lower))


def _with_margin(
    mix: Mixture,
    ranked: tuple[int, Programme],
    objective: Objective,
    not_again: tuple[frozenset[int], ...],
    asked: float,
) -> Chosen | None:
    """The best mix with as much of the margin as there can be; ``None`` if there is no mix at all."""
    count, (rank, programme) = len(mix.keys), ranked
    told = uncertain(mix, programme)
    weights = np.clip(objective.start, programme.lower, programme.upper)
    if not weights.any():
        weights = np.full(count, programme.batch_g / count)
    for turn in range(_TURNS):
        rooms = told.rooms(weights, asked) if asked > 0.0 else _no_rooms(told, weights)
        kept, priced = rooms.kept(programme), rooms.priced(objective, programme.batch_g)
        found = _solved(mix, kept, priced, not_again)
        if found is None:
            return None
        weights = found.weights[:count]
        last = turn == _TURNS - 1 or asked <= 0.0
        if last or rooms.agree(told.rooms(weights, asked), weights):
            break
    assert found is not None  # as there is at least one turn
    solution = replace(found, weights=weights, objective=objective.of(weights))
    return Chosen(solution, rank, programme, told, rooms, kept, priced, found.weights)


def _same_limits(one: Programme, other: Programme) -> bool:
    return np.array_equal(one.lower, other.lower) and np.array_equal(one.upper, other.upper)


def _no_rooms(told: Uncertain, weights: Array) -> Rooms:
    none = told.rooms(weights, 0.0)
    empty = np.zeros(0)
    return Rooms((), none.slopes[:0], empty, empty, empty)


def _solved(
    mix: Mixture,
    programme: Programme,
    objective: Objective,
    not_again: tuple[frozenset[int], ...],
) -> Solution | None:
    if not (is_counted(mix) or not_again):
        return best(programme, objective)
    least_use = _least_use(mix)
    if not_again:
        least_use = np.maximum(least_use, _REAL_USE * programme.batch_g)
        least_use = np.minimum(least_use, programme.upper[: len(least_use)])
    return counted(programme, objective, mix.recipe.counts, least_use, not_again, mix.known)


def _least_use(mix: Mixture) -> Array:
    return np.array([entry.least_use_g or 0.0 for entry in mix.recipe.ingredients])
