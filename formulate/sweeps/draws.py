"""Draws from all the mixes that meet a recipe, uniform by weight, and whether they may be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.mix import made, measures, mixture, programme, require_verified
from formulate.recipes import Recipe
from formulate.solver import is_counted
from formulate.sweeps.body import Body, begin, body_of, walk
from formulate.sweeps.convergence import bulk_ess, rank_r_hat, tail_ess

__all__ = ["ESS_PER_CHAIN", "R_HAT_BELOW", "Agreement", "DrawnMixes", "draw_mixes"]


#: Vehtari et al. (2021) ask of every quantity an R-hat below 1.01, and 100 effective draws per chain.
R_HAT_BELOW, ESS_PER_CHAIN = 1.01, 100

_CHAINS, _MANY_CHAINS, _MANY = 8, 64, 20_000
_LEAST_DRAWS = 250  # of each chain: fewer tell little of whether chains agree
_STEPS_PER_DIMENSION = 3
_DOUBLINGS = 5
_MOST_MIXES = 1_000_000
_AT_ONCE = 65_536
_STILL_G = 1e-6  # of the batch: what varies less does not vary


@dataclass(frozen=True, slots=True)
class Agreement:
    """How well chains agree on the weight of an ingredient.

    Split R-hat, and as how many independent draws the middle and the tails are as good.
    """

    key: str
    name: str
    r_hat: float
    bulk_ess: float
    tail_ess: float


@dataclass(frozen=True)
class DrawnMixes:
    """Mixes drawn evenly from all that meet the recipe.

    Attributes
    ----------
    keys, names:
        Of the ingredients.
    chains:
        Which chain each mix is from, shape (mixes,).
    weights:
        [g], exact, shape (mixes, ingredients).
    values:
        As :func:`formulate.mix.many.measures`.
    dimensions:
        In how many directions a mix can move; 0 where there is a single one.
    steps:
        Steps of a chain from one draw to the next.
    agreement:
        For every weight that varies.
    mixed:
        Whether all of them meet what the paper asks: if not, the draws are not to be trusted as even.
    """

    keys: tuple[str, ...]
    names: tuple[str, ...]
    chains: NDArray[np.int64]
    weights: Array
    values: dict[str, Array]
    dimensions: int
    steps: int
    agreement: tuple[Agreement, ...]
    mixed: bool


def draw_mixes(
    recipe: Recipe, count: int, seed: int = 0, patience: int | None = None
) -> DrawnMixes | None:
    """Return mixes drawn evenly, by weight, from all that meet a recipe; ``None`` if none does.

    Where chains do not agree, steps between draws are doubled and the walk is made anew.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    count:
        1 to 1,000,000; where the recipe leaves a single mix, that one is returned once.
    seed:
        From 0; the same seed gives the same mixes.
    patience:
        How often steps may be doubled; 5 times if not given.

    Returns
    -------
    DrawnMixes or None

    Raises
    ------
    InputError
        If the recipe counts ingredients or changes, so that its mixes are no convex body; or a number is
        out of its range.
    VerificationFault
        If a mix, recomputed, misses a target.

    Examples
    --------
    >>> import formulate as fm
    >>> found = draw_mixes(fm.load("damson_sorbet"), 10, seed=1)
    >>> found.weights.shape
    (10, 6)
    """
    if not 1 <= count <= _MOST_MIXES:
        problem = f"is {count:,}, and must be from 1 to {_MOST_MIXES:,}"
        raise InputError("mixes", problem, "Try 1000.")
    if seed < 0:
        raise InputError("seed", f"is {seed}, and must be a whole number from 0", "Try 1.")
    mix = mixture(recipe)
    if is_counted(mix):
        problem = "counts ingredients or changes, and then mixes do not lie in one piece"
        raise InputError(recipe.name, problem, "Take [limits] and least_use_g out.")
    rows = programme(mix)
    body = body_of(rows)
    if body is None:
        return None
    steps, agreement = 0, tuple[Agreement, ...]()
    if body.dimensions == 0:
        weights, chains = body.centre[None, :], np.zeros(1, dtype=np.int64)
    else:
        steps = _STEPS_PER_DIMENSION * body.dimensions
        for attempt in range(1 + (_DOUBLINGS if patience is None else patience)):
            steps *= 2 if attempt else 1
            draws = _walked(body, count, steps, seed)
            agreement = _agreement(mix.keys, mix.names, draws, recipe.batch_g)
            if _is_mixed(agreement, len(draws)):
                break
        weights, chains = _spread(draws, count)
    weights = np.clip(weights, rows.lower, rows.upper)  # what sums leave beyond a limit
    values: dict[str, list[Array]] = {}
    for start in range(0, len(weights), _AT_ONCE):
        drawn = made(mix, weights[start : start + _AT_ONCE])
        require_verified(mix, drawn, counted=False)
        part = measures(drawn)
        for key, column in part.items():
            values.setdefault(key, []).append(column)
    return DrawnMixes(
        mix.keys,
        mix.names,
        chains,
        weights,
        {key: np.concatenate(columns) for key, columns in values.items()},
        body.dimensions,
        steps,
        agreement,
        not agreement or _is_mixed(agreement, _chains_for(count)),
    )


def _chains_for(count: int) -> int:
    return _CHAINS if count <= _MANY else _MANY_CHAINS


def _walked(body: Body, count: int, steps: int, seed: int) -> Array:
    """Weights of every chain, shape (chains, draws, ingredients); the way in is not kept."""
    random = np.random.default_rng(seed)
    chains = _chains_for(count)
    begun = begin(body, chains, random)
    arrived, _ = walk(body, begun, 1, steps * body.dimensions, random)
    _, draws = walk(body, arrived, max(_LEAST_DRAWS, -(-count // chains)), steps, random)
    return body.weights(draws)


def _agreement(
    keys: tuple[str, ...], names: tuple[str, ...], draws: Array, batch_g: float
) -> tuple[Agreement, ...]:
    moving = np.ptp(draws.reshape(-1, draws.shape[2]), axis=0) > _STILL_G * batch_g
    return tuple(
        Agreement(keys[at], names[at], rank_r_hat(one), bulk_ess(one), tail_ess(one))
        for at in np.flatnonzero(moving)
        for one in (draws[:, :, at],)
    )


def _is_mixed(agreement: tuple[Agreement, ...], chains: int) -> bool:
    enough = ESS_PER_CHAIN * chains
    return all(
        each.r_hat < R_HAT_BELOW and min(each.bulk_ess, each.tail_ess) >= enough
        for each in agreement
    )


def _spread(draws: Array, count: int) -> tuple[Array, NDArray[np.int64]]:
    """So many of all draws, evenly from the whole walk and in its order, and their chains."""
    chains, length, ingredients = draws.shape
    in_order = np.swapaxes(draws, 0, 1).reshape(-1, ingredients)
    chosen = np.arange(count) * (chains * length) // count
    return in_order[chosen], chosen % chains
