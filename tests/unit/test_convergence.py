"""R-hat and effective sample size against another implementation and against theory."""

from __future__ import annotations

import numpy as np
import pytest
from arviz_stats.base import array_stats

from formulate.sweeps.convergence import bulk_ess, rank_r_hat, tail_ess

AXES = {"chain_axis": 0, "draw_axis": 1}


def chains_of(seed):
    """Chains of an autoregression of first order; some with one shifted, some with ties."""
    random = np.random.default_rng(seed)
    chains, length = int(random.integers(2, 9)), int(random.integers(20, 900))
    draws = autoregression(chains, length, random.uniform(-0.8, 0.98), random)
    if seed % 3 == 0:
        draws[0] += 1.0
    return np.round(draws, 1) if seed % 4 == 0 else draws


def autoregression(chains, length, memory, random):
    draws = random.normal(size=(chains, length))
    draws[:, 0] /= np.sqrt(1.0 - memory**2)
    for at in range(1, length):
        draws[:, at] += memory * draws[:, at - 1]
    return draws


@pytest.mark.parametrize("seed", range(40))
def test_as_arviz_computes_them(seed):
    """Source: ArviZ (arviz-stats), which follows the definitions of Vehtari et al. 2021 on its own."""
    draws = chains_of(seed)
    assert rank_r_hat(draws) == pytest.approx(array_stats.rhat(draws, **AXES), rel=1e-9)
    assert bulk_ess(draws) == pytest.approx(array_stats.ess(draws, **AXES), rel=1e-9)
    theirs = array_stats.ess(draws, method="tail", prob=(0.05, 0.95), **AXES)
    assert tail_ess(draws) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("memory", [0.0, 0.5, 0.9])
def test_an_autoregression_is_worth_what_theory_says(memory):
    """n (1 - a) / (1 + a) independent draws (Hamilton, Time Series Analysis, 1994, ch. 7); the estimate
    of 40,000 draws is within a tenth of that."""
    draws = autoregression(4, 10_000, memory, np.random.default_rng(1))
    assert bulk_ess(draws) == pytest.approx(40_000 * (1 - memory) / (1 + memory), rel=0.1)
    assert rank_r_hat(draws) < 1.01


def test_chains_that_differ_in_place_or_width_are_found_out():
    random = np.random.default_rng(1)
    draws = random.normal(size=(4, 1000))
    assert rank_r_hat(draws) < 1.01
    assert rank_r_hat(draws + np.array([[1.0], [0.0], [0.0], [0.0]])) > 1.05
    assert rank_r_hat(draws * np.array([[3.0], [1.0], [1.0], [1.0]])) > 1.05
    assert rank_r_hat(draws + np.linspace(0.0, 3.0, 1000)) > 1.05  # all drift together


def test_chains_that_do_not_move():
    assert rank_r_hat(np.zeros((4, 100))) == 1.0
    assert bulk_ess(np.zeros((4, 100))) == 400.0
    stuck = np.repeat([[0.0], [1.0], [2.0], [3.0]], 100, axis=1)
    assert rank_r_hat(stuck) > 1e6


def test_too_few_draws_say_nothing():
    with pytest.raises(ValueError, match="at least 8 draws"):
        rank_r_hat(np.zeros((4, 7)))
