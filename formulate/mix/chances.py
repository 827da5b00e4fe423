"""The chance that a mix holds what it must, and that it scoops, by the doubts that steer its margin.

Independent normal doubts move every side of every target linearly (:mod:`formulate.mix.deviations`),
so all sides together are one normal vector; how often it lies where every side holds is counted on a
fixed set of draws.  The cabinet's swing is taken as spread evenly from so much below to so much above
the serving temperature.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

import numpy as np

from formulate.arrays import Array
from formulate.freezing import COLDEST_CURVE_C
from formulate.mix.deviations import Side, effects, sides_of
from formulate.mix.mixtures import FROZEN_WATER_KEY, Mixture
from formulate.mix.targets import Target, targets_of, window_target
from formulate.recipes import Serving

__all__ = ["Chance", "TargetChance", "chance_of"]

_DRAWS = 8192  # half of them mirrored
_SEED = 20
_WARMEST_C = -0.05
_SWING_C = 1.0  # of a cabinet of which nothing is said; common practice, no source

# Gauss and Legendre's nodes and weights on -1 to 1.
_NODES, _NODE_WEIGHTS = np.polynomial.legendre.leggauss(5)


@dataclass(frozen=True, slots=True)
class TargetChance:
    """Chance that one target holds, 0 to 1."""

    key: str
    value: float


@dataclass(frozen=True, slots=True)
class Chance:
    """Chances, 0 to 1, by composition, readings, weighing and the doubts of the freezing model.

    Attributes
    ----------
    all_targets:
        That every target holds together.  A value that is asked exactly is left out, as nothing keeps a
        distance from itself.
    scoopable:
        That the frozen water at the serving temperature lies in the serving window.
    in_service:
        The same while the cabinet swings about the serving temperature.
    error:
        Largest standard error of these, from the number of draws.
    targets:
        Of each target by itself.
    """

    all_targets: float
    scoopable: float
    in_service: float
    error: float
    targets: tuple[TargetChance, ...]


def chance_of(mix: Mixture, weights: Array) -> Chance:
    """Return the chances of a mix.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,), with a positive sum.

    Returns
    -------
    Chance

    Notes
    -----
    The scale of relative sweetness is a convention and has no doubt here.  Cost, ratios and groups are
    taken to hold as weighed.

    Examples
    --------
    >>> from formulate.data import example_bytes
    >>> from formulate.mix import mixture
    >>> from formulate.recipes import parse
    >>> mix = mixture(parse(example_bytes("damson_sorbet"), "damson_sorbet"))
    >>> chance = chance_of(mix, mix.start)
    >>> 0.0 <= chance.in_service <= chance.scoopable <= 1.0
    True
    """
    serving = mix.recipe.serving or Serving()
    asked = targets_of(mix.recipe)
    window = serving.frozen_water
    served = tuple(window_target(float(at), window) for at in _temperatures(serving))
    held = _held(mix, weights, (*asked, *served))
    of_targets, of_service = held[: len(asked)], held[len(asked) :]
    ranged = [at for at, each in enumerate(asked) if each.bounds.min != each.bounds.max]
    return Chance(
        all_targets=float(of_targets[ranged].all(axis=0).mean()),
        scoopable=float(of_service[0].mean()),
        in_service=float(0.5 * _NODE_WEIGHTS @ of_service[1:].mean(axis=1)),
        error=sqrt(0.25 / _DRAWS),
        targets=tuple(
            TargetChance(target.key, float(each.mean()))
            for target, each in zip(asked, of_targets, strict=True)
            if target.key in mix.recipe.targets or target.key == FROZEN_WATER_KEY
        ),
    )


def _temperatures(serving: Serving) -> Array:
    """The serving temperature, then where the swing is looked at [°C]."""
    swing = _SWING_C if serving.swing_c is None else serving.swing_c
    found = serving.temperature_c + np.append(0.0, swing * _NODES)
    return np.asarray(np.clip(found, COLDEST_CURVE_C, _WARMEST_C))


def _held(mix: Mixture, weights: Array, asked: tuple[Target, ...]) -> Array:
    """Whether each target holds in each draw, shape (targets, draws)."""
    conditions = tuple(condition for target in asked for condition in target.conditions)
    owners = [at for at, target in enumerate(asked) for _ in target.conditions]
    found = np.ones((len(asked), _DRAWS), dtype=bool)
    sides = sides_of(conditions)
    if not sides:
        return found
    rooms = np.array([_room(mix, weights, side) for side in sides])
    moved = _draws(effects(mix, sides, weights))
    for side, room, each in zip(sides, rooms, moved, strict=True):
        found[owners[side.row]] &= room + side.sign * each >= 0.0
    return found


def _room(mix: Mixture, weights: Array, side: Side) -> float:
    """How far a side is from its bound, what an exact target may be missed by included [g]."""
    per_gram = mix.compositions @ side.of_share / 100.0
    allowed = side.condition.slack * float(mix.reach @ weights) / 100.0
    return side.sign * float(per_gram @ weights) + allowed + 1e-9


def _draws(moved: Array) -> Array:
    """Draws of all sides together, shape (sides, draws): normal, with the covariance of their effects."""
    values, vectors = np.linalg.eigh(moved @ moved.T)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    return np.asarray(root @ _normal(len(moved)))


@lru_cache(maxsize=4)
def _normal(dimensions: int) -> Array:
    half = np.random.default_rng(_SEED).standard_normal((dimensions, _DRAWS // 2))
    return np.hstack([half, -half])
