"""All mixes that meet a programme, and uniform draws from them by hit-and-run.

The mixes form a convex body in the plane where weights add up and every exact target holds.  Hit-and-run
(R. L. Smith, Operations Research 32 (1984) 1296-1308) goes from a mix in a random direction to a uniform
place on the chord through it; its draws become uniform over the body from wherever it begins.  Directions
are stretched as the body is, which changes how fast that is and not where it ends: what is stretched
evenly stays uniform.  All chains step at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.mix import Programme
from formulate.solver import greatest, with_total

__all__ = ["Body", "Walk", "begin", "body_of", "walk"]


_THIN = 1e-6  # of the batch: what no scale can tell from nothing
_SAME = 1e-9
_TOWARDS = 0.9  # chains begin so far from the middle towards a mix at the edge
_ROUNDS = 4
_ROUND_STEPS = 60  # per dimension, to see how the body is stretched


@dataclass(frozen=True)
class Body:
    """Mixes ``centre + plane z`` with ``rows z <= room``.

    Attributes
    ----------
    centre:
        A mix inside every bound that leaves room [g], shape (ingredients,).
    plane:
        Orthonormal directions in which everything exact holds, shape (ingredients, dimensions).
    rows, room:
        Bounds, shapes (bounds, dimensions) and (bounds,) [g].
    edge:
        The mixes farthest from each bound, shape (bounds, dimensions) [g].
    """

    centre: Array
    plane: Array
    rows: Array
    room: Array
    edge: Array

    @property
    def dimensions(self) -> int:
        """In how many directions a mix can move."""
        return int(self.plane.shape[1])

    def weights(self, places: Array) -> Array:
        """Return the mixes at places of shape (…, dimensions) [g], shape (…, ingredients)."""
        return np.asarray(self.centre + places @ self.plane.T)


@dataclass(frozen=True)
class Walk:
    """Where chains stand, shape (chains, dimensions), and how directions are stretched."""

    places: Array
    stretch: Array


def body_of(programme: Programme) -> Body | None:
    """Return all mixes that meet a programme; ``None`` if there is none.

    Bounds that no mix can get away from by a millionth of the batch count as exact.
    """
    matrix, least, most = with_total(programme)
    unit = np.eye(len(programme.keys))
    matrix = np.vstack([matrix, unit])
    least, most = np.append(least, programme.lower), np.append(most, programme.upper)
    length = np.linalg.norm(matrix, axis=1)
    keep = length > 0.0
    matrix, least, most = (
        each[keep] / (length[keep, None] if each.ndim == 2 else length[keep])
        for each in (matrix, least, most)
    )
    exact = least == most
    above, below = np.isfinite(most) & ~exact, np.isfinite(least) & ~exact
    bounds = np.vstack([matrix[above], -matrix[below]])
    ends = np.concatenate([most[above], -least[below]])
    wished = bounds if len(bounds) else np.zeros((1, len(programme.keys)))
    farthest = [greatest(programme, -wish) for wish in wished]
    found = [each.weights for each in farthest if each is not None]
    if len(found) < len(farthest):
        return None
    mixes = np.array(found)
    slack = ends - np.einsum("ij,ij->i", bounds, mixes[: len(bounds)])
    loose = slack > _THIN * programme.batch_g
    centre = mixes.mean(axis=0)
    plane = _directions(np.vstack([matrix[exact], bounds[~loose]]))
    rows = bounds[loose] @ plane
    room = ends[loose] - bounds[loose] @ centre
    return Body(centre, plane, rows, room, (mixes - centre) @ plane)


def begin(body: Body, chains: int, random: np.random.Generator) -> Walk:
    """Return chains that begin far apart, and how the body is stretched, found by walking in it.

    Parameters
    ----------
    chains:
        How many, from 1.
    """
    chosen = random.choice(len(body.edge), chains, replace=len(body.edge) < chains)
    start = _TOWARDS * body.edge[chosen]
    stepping = Walk(start, _stretch(body.edge))
    for _ in range(_ROUNDS):
        stepping, draws = walk(body, stepping, _ROUND_STEPS * body.dimensions, 1, random)
        stepping = Walk(stepping.places, _stretch(draws.reshape(-1, body.dimensions)))
    return Walk(start, stepping.stretch)


def walk(
    body: Body, begun: Walk, draws: int, steps: int, random: np.random.Generator
) -> tuple[Walk, Array]:
    """Step all chains on; return where they end, and draws from each.

    Parameters
    ----------
    draws:
        How many are kept of each chain.
    steps:
        Steps from one to the next.

    Returns
    -------
    The walk to go on from, and draws of shape (chains, draws, dimensions).
    """
    places = begun.places.copy()
    chains, dimensions = places.shape
    kept = np.empty((chains, draws, dimensions))
    tiny = np.finfo(float).tiny
    for draw in range(draws):
        directions = random.standard_normal((steps, chains, dimensions)) @ begun.stretch.T
        parts = random.random((steps, chains))
        rates = directions @ body.rows.T
        rates = np.where(np.abs(rates) < tiny, tiny, rates)
        for step in range(steps):
            rate = rates[step]
            reach = np.maximum(body.room - places @ body.rows.T, 0.0) / rate
            most = np.min(reach, axis=1, where=rate > 0.0, initial=np.inf)
            least = np.max(reach, axis=1, where=rate < 0.0, initial=-np.inf)
            places += (least + parts[step] * (most - least))[:, None] * directions[step]
        kept[:, draw] = places
    return Walk(places, begun.stretch), kept


def _directions(exact: Array) -> Array:
    """Orthonormal directions at right angles to all rows, shape (columns, dimensions)."""
    _, sizes, right = np.linalg.svd(exact, full_matrices=True)
    rank = int((sizes > _SAME * sizes.max(initial=0.0)).sum())
    return np.asarray(right[rank:].T)


def _stretch(places: Array) -> Array:
    """A square root of the covariance of places, so that no direction is lost."""
    covariance = places.T @ places / len(places)
    mean = places.mean(axis=0)
    covariance = covariance - np.outer(mean, mean)
    sizes, axes = np.linalg.eigh(covariance)
    sizes = np.maximum(sizes, _SAME * max(float(sizes.max(initial=0.0)), np.finfo(float).tiny))
    return np.asarray(axes * np.sqrt(sizes))
