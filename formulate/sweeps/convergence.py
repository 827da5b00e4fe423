"""Whether several chains of draws have come to tell the same: split R-hat and effective sample size.

As defined by Vehtari, Gelman, Simpson, Carpenter and Bürkner, "Rank-normalization, folding, and
localization: an improved R-hat for assessing convergence of MCMC", Bayesian Analysis 16 (2021) 667-718,
doi 10.1214/20-BA1221: each chain is split in two, draws are replaced by normal scores of their ranks, and
autocorrelations are added up by Geyer's initial monotone sequence (Statistical Science 7 (1992) 473-483).
"""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

from formulate.arrays import Array

__all__ = ["bulk_ess", "rank_r_hat", "tail_ess"]


_LEAST_DRAWS = 8
_TAILS = (0.05, 0.95)


def rank_r_hat(draws: Array) -> float:
    """Return the rank-normalised split R-hat: 1 where chains agree; below 1.01 is what the paper asks.

    The larger of that of the draws and that of how far they lie from their median.

    Parameters
    ----------
    draws:
        Shape (chains, draws), at least 8 draws.
    """
    halves = _halves(draws)
    folded = np.abs(halves - np.median(halves))
    return max(_r_hat(_scores(halves)), _r_hat(_scores(folded)))


def bulk_ess(draws: Array) -> float:
    """Return how many independent draws would tell as much of the middle, for draws as above."""
    return _ess(_scores(_halves(draws)))


def tail_ess(draws: Array) -> float:
    """Return the same for the 5 % and 95 % quantiles: the smaller of the two."""
    below = [(draws <= np.quantile(draws, tail)).astype(float) for tail in _TAILS]
    return min(_ess(_halves(each)) for each in below)


def _halves(draws: Array) -> Array:
    """Each chain in two; of an odd number the draw in the middle is left out."""
    count = draws.shape[1]
    if draws.ndim != 2 or count < _LEAST_DRAWS:
        raise ValueError(f"needs chains of at least {_LEAST_DRAWS} draws, got shape {draws.shape}")
    half = count // 2
    return np.vstack([draws[:, :half], draws[:, count - half :]])


def _scores(draws: Array) -> Array:
    """Normal scores of the ranks over all draws, ties by their mean rank (Blom's 3/8)."""
    _, place, counts = np.unique(draws, return_inverse=True, return_counts=True)
    ranks = np.cumsum(counts) - 0.5 * (counts - 1)
    normal = NormalDist()
    shares = (ranks - 0.375) / (draws.size + 0.25)
    scores = np.array([normal.inv_cdf(share) for share in shares.tolist()])
    return np.asarray(scores[place].reshape(draws.shape))


def _r_hat(draws: Array) -> float:
    count = draws.shape[1]
    within = float(draws.var(axis=1, ddof=1).mean())
    between = count * float(draws.mean(axis=1).var(ddof=1))
    if within == 0.0:
        return 1.0 if between == 0.0 else math.inf
    return float(np.sqrt((between / within + count - 1.0) / count))


def _ess(draws: Array) -> float:
    chains, count = draws.shape
    total = chains * count
    if np.ptp(draws) == 0.0:
        return float(total)
    covariance = _autocovariance(draws).mean(axis=0)
    within = float(covariance[0]) * count / (count - 1.0)
    spread = float(covariance[0]) + float(draws.mean(axis=1).var(ddof=1))
    correlation = 1.0 - (within - covariance) / spread
    correlation[0] = 1.0
    even, odd = correlation[0 : count - 2 : 2], correlation[1 : count - 1 : 2]
    pairs = even[: len(odd)] + odd
    negative = np.flatnonzero(pairs < 0.0)
    end = int(negative[0]) if len(negative) else len(pairs) - 1
    time = -1.0 + 2.0 * float(np.minimum.accumulate(pairs[:end]).sum())
    time += float(even[end]) if pairs[end] >= 0.0 else max(float(even[end]), 0.0)
    return float(total / max(time, 1.0 / math.log10(total)))


def _autocovariance(draws: Array) -> Array:
    """Biased autocovariance of each chain at every lag, by Fourier transform, shape (chains, lags)."""
    count = draws.shape[1]
    size = 2 ** math.ceil(math.log2(2 * count))
    wave = np.fft.rfft(draws - draws.mean(axis=1, keepdims=True), size, axis=1)
    return np.asarray(np.fft.irfft(np.abs(wave) ** 2, size, axis=1)[:, :count] / count)
