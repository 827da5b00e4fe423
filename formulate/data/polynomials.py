"""Polynomials by their coefficients, lowest power first.

What ``numpy.polynomial`` does, of which importing takes as long as judging a mix.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["derivative", "integral", "polynomial"]


def polynomial(
    x: ArrayLike, coefficients: Sequence[float] | NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the value at every ``x``, by Horner's rule; of any shape."""
    x = np.asarray(x, dtype=float)
    value = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        value = value * x + coefficient
    return value


def derivative(coefficients: Sequence[float]) -> tuple[float, ...]:
    """Return the coefficients of the derivative."""
    return tuple(power * each for power, each in enumerate(coefficients))[1:]


def integral(coefficients: Sequence[float]) -> tuple[float, ...]:
    """Return the coefficients of the integral that is 0 at 0."""
    return (0.0, *(each / power for power, each in enumerate(coefficients, start=1)))
