"""Weights that a scale can show, still within the targets.

Each weight is rounded to the scale's step; then single steps and exchanges between two ingredients
repair whatever rounding has broken, smallest relative repair first: a gram of fruit, not of gum.  Where
that does not succeed, an integer programme finds the nearest multiples of the steps.  The batch is as
good as made within half a step of the scale, and no weight ends more than a few steps from its optimum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.arrays import Array
from formulate.mix import Programme
from formulate.recipes import Scale
from formulate.solver.whole_numbers import on_steps

__all__ = ["MOST_STEPS", "Weighable", "weighable"]

#: No weight ends more than so many steps of the scale from its optimum.
MOST_STEPS = 3.0


_MOST_MOVES = 400
_NOISE = 1e-9  # of the width of a target
_NOISE_G, _NOISE_LIMIT_G = 1e-12, 1e-10  # of the batch: of a target, of a limit or the total
_LIMIT_PRICE = 1e3  # per batch by which a limit or the total is missed
_SMALL_REPAIR = 0.01  # of a weight
_MOST_PAIRED = 160


@dataclass(frozen=True)
class Weighable:
    """Rounded weights [g]; ``refined`` says how many times finer than the scale they had to be."""

    weights: Array
    refined: int


@dataclass(frozen=True)
class _Demands:
    """What weights must keep, one row each: the total, the targets with their slack, the limits.

    Bounds are wider by what is arithmetic; ``price`` is what a gram beyond them counts.  Limits come
    last: the values of the demands end with the weights themselves.
    """

    matrix: Array
    lower: Array
    upper: Array
    price: Array
    limits: int

    def rows(self) -> tuple[Array, Array, Array]:
        """Return coefficients and bounds without the limits."""
        end = len(self.lower) - self.limits
        return self.matrix[:end], self.lower[:end], self.upper[:end]

    def hold(self, values: Array) -> NDArray[np.bool_]:
        """Whether all hold, by their values, shape (mixes, demands)."""
        return np.asarray(((values >= self.lower) & (values <= self.upper)).all(axis=-1))

    def miss(self, values: Array) -> Array:
        """How far they are missed in all, by their values; 0 where all hold, shape (mixes,)."""
        beyond = np.maximum(self.lower - values, values - self.upper)
        return np.asarray(np.maximum(beyond, 0.0, out=beyond) @ self.price)


def weighable(
    programme: Programme, exact: Array, scale: Scale, price: Array | None = None
) -> Weighable | None:
    """Return the weights nearest to ``exact`` that a scale shows and that keep every row and the total.

    Tries the scale's own steps, then steps 10 and 100 times finer; ``None`` if none will do.

    Parameters
    ----------
    programme:
        Rows and limits; rows of exact targets may be missed by their slack.
    exact:
        A mix that meets the programme [g], shape (ingredients,).
    scale:
        The steps of the kitchen's scales.
    price:
        What a gram of repair of each counts, shape (ingredients,); relative to the weight if not given.

    Returns
    -------
    Weighable or None

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> from formulate.solver import optimum
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> rows = programme(mix)
    >>> found = weighable(rows, optimum(mix, rows).weights, mix.recipe.scale)
    >>> float(found.weights.sum()), found.refined
    (2000.0, 1)
    """
    exactly = programme.total_least < programme.total_most or bool(np.all(programme.reach == 1.0))
    for refined in (1, 10, 100):
        steps = np.where(exact < scale.fine_below_g, scale.fine_step_g, scale.step_g) / refined
        far = MOST_STEPS * np.maximum(steps, scale.step_g / refined)
        each = 1.0 / np.maximum(exact, steps) if price is None else price
        for room_g in (0.0, 0.5 * scale.step_g) if exactly else (0.5 * scale.step_g,):
            demands = _demands(programme, room_g)
            found = _near(programme, demands, exact, (steps, far, each))
            if found is not None:
                return Weighable(np.round(found, 9) + 0.0, refined)
    return None


def _near(
    programme: Programme, demands: _Demands, exact: Array, by: tuple[Array, Array, Array]
) -> Array | None:
    """Multiples of steps that keep the demands, none of them far from its optimum; ``None`` if none do.

    ``by`` are the steps, how far is far [g], and what a gram of repair counts.
    """
    steps, far, price = by
    found = _repaired(programme, demands, exact, steps, price)
    if found is None or np.any(np.abs(found - exact) > far):
        near = programme.with_limits(
            np.maximum(programme.lower, exact - far), np.minimum(programme.upper, exact + far)
        )
        found = on_steps(near, demands.rows(), exact, steps)
    return found if found is not None and demands.hold(demands.matrix @ found) else None


def _demands(programme: Programme, room_g: float = 0.0) -> _Demands:
    """Rows are asked of the mix as it is weighed; the total may be off by some room [g]."""
    count, batch = len(programme.keys), programme.batch_g
    planned = programme.total_most
    matrix, lower, upper, price = [], [], [], []
    for row in programme.rows:
        slack = row.slack + max(_NOISE * row.width, _NOISE_G * batch)
        for bound, sign, grows in (
            (row.lower, 1.0, row.growth[0]),
            (row.upper, -1.0, row.growth[1]),
        ):
            if np.isfinite(bound):
                matrix.append(sign * (row.coefficients - grows * programme.reach))
                lower.append(sign * (bound - grows * planned) - slack)
                price.append(1.0 / row.width)
    upper = [np.inf] * len(lower)
    limit = _NOISE_LIMIT_G * batch
    total = (room_g if programme.total_least == planned else 0.0) + limit
    return _Demands(
        matrix=np.vstack([programme.reach, *matrix, np.eye(count)]),
        lower=np.concatenate(
            [(programme.total_least - total,), np.array(lower), programme.lower - limit]
        ),
        upper=np.concatenate([(planned + total,), np.array(upper), programme.upper + limit]),
        price=np.concatenate(
            [(_LIMIT_PRICE / batch,), np.array(price), np.full(count, _LIMIT_PRICE / batch)]
        ),
        limits=count,
    )


def _repaired(
    programme: Programme, demands: _Demands, exact: Array, steps: Array, price: Array
) -> Array | None:
    """Round to steps and repair; ``None`` if a row, limit or the total stays broken."""
    free = (programme.upper > programme.lower) & (exact > 0.0)
    rounded = np.where(free, np.round(exact / steps) * steps, exact)
    if demands.hold(demands.matrix @ rounded):
        return rounded
    at = np.flatnonzero(free)
    if not len(at):
        return None
    effects = _effects_of_moves(demands.matrix.T[at], steps[at])
    greedy = _by_single_moves(demands, rounded, effects, price)
    if greedy is not None and _away(greedy, rounded, price) <= _SMALL_REPAIR:
        return greedy
    if len(effects) > _MOST_PAIRED:
        return greedy
    paired = _by_pairs(demands, rounded, effects, price)
    return greedy if paired is None else paired


def _by_single_moves(
    demands: _Demands, rounded: Array, effects: Array, price: Array
) -> Array | None:
    """Take the move that repairs most, again and again; ``None`` if none does any more.

    ``effects`` are what each move changes of the values of the demands, shape (moves, demands).
    """
    values, miss, count = demands.matrix @ rounded, np.inf, len(rounded)
    for _ in range(_MOST_MOVES):
        tried = values + effects
        left = np.round(demands.miss(tried), 12)
        if left.min() >= miss:
            return None
        miss = left.min()
        best = tried[left == miss]
        values = best[np.argmin(_away(best[:, -count:], rounded, price))]
        if miss == 0.0:
            return np.asarray(values[-count:])
    return None


def _by_pairs(demands: _Demands, rounded: Array, effects: Array, price: Array) -> Array | None:
    """Return what :func:`_by_pairs_plain` does, from the effect of every single move.

    Most pairs break the total, the first of the demands, which alone is looked at first.
    """
    values = demands.matrix @ rounded
    total = values[0] + effects[:, 0] + effects[:, [0]]
    kept = (total >= demands.lower[0]) & (total <= demands.upper[0])
    one, other = np.nonzero(np.triu(kept))
    tried = values + (effects[one] + effects[other])
    tried = tried[demands.hold(tried)][:, -len(rounded) :]
    if not len(tried):
        return None
    return np.asarray(tried[np.argmin(_away(tried, rounded, price))])


def _by_pairs_plain(
    demands: _Demands, rounded: Array, effects: Array, price: Array
) -> Array | None:
    """The least of all repairs by one or two moves, ``None`` if none repairs everything."""
    best, least = None, np.inf
    moves = effects[:, -len(rounded) :]
    for at, move in enumerate(moves):
        for other in moves[at:]:
            tried = rounded + (move + other)
            away = float(_away(tried, rounded, price))
            if away < least and demands.hold(demands.matrix @ tried):
                best, least = tried, away
    return best


def _away(tried: Array, rounded: Array, price: Array) -> Array:
    """What the dearest repair counts, then all of them, shape (mixes,)."""
    counts = np.abs(tried - rounded) * price
    return np.asarray(counts.max(axis=-1) + 1e-3 * counts.sum(axis=-1))


def _effects_of_moves(per_gram: Array, steps: Array) -> Array:
    """What is changed by no step, all single steps, and all exchanges between two ingredients.

    Parameters
    ----------
    per_gram:
        What a gram of each changes, shape (ingredients, n).
    steps:
        [g], shape (ingredients,).

    Returns
    -------
    Shape (moves, n), without a matrix product, which would wake the threads of a library for so little.
    """
    singles = per_gram * steps[:, None]
    exchanges = per_gram - per_gram[:, None]
    # a pinch is not exchanged for a step of what is weighed coarsely: the total need not match so well
    alike = np.equal.outer(steps, steps) * steps
    exchanges *= alike[:, :, None]
    none = np.zeros((1, per_gram.shape[1]))
    return np.concatenate([none, singles, -singles, exchanges.reshape(-1, per_gram.shape[1])])
