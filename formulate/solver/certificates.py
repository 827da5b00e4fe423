"""Proof that no mix can be: multipliers of the demands that contradict each other.

Every demand multiplied and added up says that a certain sum of weights must be at least so much, while
the limits of the weights allow no more than less than that (J. Farkas 1902).  Checked here with plain
arithmetic, by code that knows no solver.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.mix import Programme

__all__ = ["Certificate", "contradiction_g", "contradictions_g", "of_limits", "of_prices"]


_ROUNDING = 1e-9


@dataclass(frozen=True)
class Certificate:
    """Multipliers of rows (above 0 for a lower bound, below for an upper one) and of the total."""

    rows: Array
    total: float


def contradiction_g(programme: Programme, certificate: Certificate) -> float:
    """Return by how much the demands contradict the limits; above 0 it is a proof.

    In the unit of the multipliers times grams.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    certificate:
        Multipliers of its rows and of the total.

    Returns
    -------
    float

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> contradiction_g(rows, of_limits(rows)) > 0.0  # a mix can be, so there is no proof
    False
    """
    pull = certificate.rows @ programme.matrix + certificate.total * programme.reach
    ceiling = float(np.maximum(pull * programme.lower, pull * programme.upper).sum())
    above, below = certificate.rows > 0.0, certificate.rows < 0.0
    asked = float(certificate.rows[above] @ programme.row_lower[above])
    asked += float(certificate.rows[below] @ programme.row_upper[below])
    total = programme.total_least if certificate.total > 0.0 else programme.total_most
    if certificate.total != 0.0:
        asked += certificate.total * total
    return asked - ceiling


def contradictions_g(
    first: Programme, last: Programme, parts: Array, certificate: Certificate
) -> Array:
    """Return what :func:`contradiction_g` does for many programmes on the straight line between two.

    Parameters
    ----------
    first, last:
        Programmes that differ in the coefficients of their rows alone.
    parts:
        Where between them, 0 to 1, shape (n,).
    certificate:
        Multipliers of the rows and of the total.

    Returns
    -------
    Shape (n,).

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> contradictions_g(rows, rows, np.array([0.0, 1.0]), of_limits(rows)).shape
    (2,)
    """
    one, other = (certificate.rows @ each.matrix for each in (first, last))
    total = certificate.total * first.reach
    pull = np.outer(1.0 - parts, one + total) + np.outer(parts, other + total)
    ceiling = np.maximum(pull * first.lower, pull * first.upper).sum(axis=1)
    own = np.maximum((one + total) * first.lower, (one + total) * first.upper).sum()
    asked = contradiction_g(first, certificate) + own  # the same for all: bounds do not move
    return np.asarray(asked - ceiling)


def of_prices(programme: Programme, prices: Array, total_price: float) -> Certificate:
    """Return the prices of a least miss as multipliers, without what is only the solver's rounding.

    A price a billionth of the greatest says nothing, nor does one on a side without a bound, which would
    undo the proof.

    Parameters
    ----------
    programme:
        Rows, limits and total.
    prices:
        Of each row, shape (rows,).
    total_price:
        Of the total.

    Returns
    -------
    Certificate

    Examples
    --------
    >>> from dataclasses import replace
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> from formulate.solver import least_miss
    >>> asked = replace(fm.load("damson_sorbet"), targets={"fat": fm.Range(min=20.0)})
    >>> rows = programme(mixture(asked))
    >>> missed = least_miss(rows)
    >>> contradiction_g(rows, of_prices(rows, missed.prices, missed.total_price)) > 0.0
    True
    """
    greatest = float(np.abs(prices).max(initial=abs(total_price)))
    bound = np.where(prices > 0.0, programme.row_lower, programme.row_upper)
    says = np.isfinite(bound) & (np.abs(prices) > _ROUNDING * greatest)
    rows = np.where(says, prices, 0.0)
    return Certificate(rows, total_price if abs(total_price) > _ROUNDING * greatest else 0.0)


def _most(programme: Programme) -> float:
    """The most that the limits let reach the mix [g]."""
    ends = np.maximum(programme.reach * programme.lower, programme.reach * programme.upper)
    return float(ends.sum())


def of_limits(programme: Programme) -> Certificate:
    """Return the multipliers that prove that limits cannot make the total.

    Parameters
    ----------
    programme:
        Rows, limits and total.

    Returns
    -------
    Certificate

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture, programme
    >>> rows = programme(mixture(fm.load("damson_sorbet")))
    >>> contradiction_g(rows, of_limits(rows)) > 0.0  # these limits can make it
    False
    """
    short = float(_most(programme)) < programme.total_least
    return Certificate(np.zeros(len(programme.rows)), 1.0 if short else -1.0)
