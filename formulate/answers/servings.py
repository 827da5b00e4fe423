"""Serving it colder or warmer: the way out of an impossible recipe that changes no weight."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from formulate.answers.proposals import Proposal, solved_proposal
from formulate.arrays import Array
from formulate.errors import InputError
from formulate.messages import message
from formulate.mix import FROZEN_WATER_KEY, Mixture, Programme, assess, mixture, programme
from formulate.recipes import Recipe
from formulate.solver import is_possible, of_its_name, optimum, within_usual

__all__ = ["served_otherwise", "served_within_usual"]

_STEP_C = 0.5  # as finely as a cabinet is set


def served_otherwise(mix: Mixture, rows: Programme, nearest: Array) -> tuple[Proposal, ...]:
    """Return the serving temperature at which a mix is possible, solved; none where there is none.

    Where the mix that misses least would be right, else the present one, else the one that meets all but
    the serving window.

    Parameters
    ----------
    mix, rows:
        The recipe met with the tables, and its programme.
    nearest:
        The mix that misses least [g], shape (ingredients,).
    """
    for recipe in _served(mix, _right_mixes(mix, rows, nearest)):
        assert recipe.serving is not None and mix.recipe.serving is not None
        asked, found = mix.recipe.serving.temperature_c, recipe.serving.temperature_c
        what = message("serve_at", at_c=found, colder=found < asked)
        way = solved_proposal("serve", what, abs(found - asked) / abs(asked), recipe)
        if way is not None:
            return (way,)
    return ()


def served_within_usual(mix: Mixture, rows: Programme, nearest: Array) -> tuple[Proposal, ...]:
    """Return the same where the mix would also be this dessert still, and within what is usual."""
    found = []
    for way in served_otherwise(mix, rows, nearest):
        met = mixture(way.recipe)
        if is_possible(of_its_name(met, within_usual(met, programme(met)))):
            found.append(way)
    return tuple(found)


def _right_mixes(mix: Mixture, rows: Programme, nearest: Array) -> Iterable[Array]:
    yield nearest
    if mix.present is not None:
        yield mix.present
    free = optimum(mix, rows.without(FROZEN_WATER_KEY))
    if free is not None:
        yield free.weights


def _served(mix: Mixture, mixes: Iterable[Array]) -> Iterable[Recipe]:
    """The recipe served where each of these would be right, no temperature twice."""
    serving = mix.recipe.serving
    if serving is None or (serving.frozen_water.min is None and serving.frozen_water.max is None):
        return
    tried = {serving.temperature_c}
    for weights in mixes:
        right = assess(mix, weights).serving_temperature_c
        at_c = None if right is None else round(right / _STEP_C) * _STEP_C
        if at_c is None or at_c in tried:
            continue
        tried.add(at_c)
        try:
            yield replace(mix.recipe, serving=replace(serving, temperature_c=at_c))
        except InputError:  # where no cabinet is
            continue
