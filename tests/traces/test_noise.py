"""Noise with neighbours that err together: its algebra against dense matrices, its estimate against known noise."""

from __future__ import annotations

import numpy as np
import pytest
from lanes import NOISES, POSITIONS, textured, white

from lanewise.traces import Noise, blank_noise, white_noise
from lanewise.traces.noise import residual_noise

UNEVEN = np.sort(np.random.default_rng(4).uniform(0.0, 20.0, 60))
MIXED = Noise(np.array([0.0, 0.4, 3.0]), np.array([1.0, 2.0, 0.5]))


def test_covariance_is_a_sum_of_exponentials():
    apart = np.abs(UNEVEN[:, None] - UNEVEN)
    expected = np.eye(60) + 2.0 * np.exp(-apart / 0.4) + 0.5 * np.exp(-apart / 3.0)
    assert MIXED.covariance(UNEVEN) == pytest.approx(expected, abs=1e-12)
    columns = np.random.default_rng(5).normal(size=(60, 3))
    assert MIXED.times(UNEVEN, columns) == pytest.approx(expected @ columns, abs=1e-11)
    assert MIXED.sd == pytest.approx(np.sqrt(3.5))


def test_effective_points():
    assert white_noise(0.3).effective_points(POSITIONS) == pytest.approx(401)
    covariance = MIXED.covariance(UNEVEN)
    assert MIXED.effective_points(UNEVEN) == pytest.approx(60**2 * 3.5 / covariance.sum())
    assert white_noise(0.0).effective_points(POSITIONS) == 401


def basis_of(degree):
    across = POSITIONS / 40.0 - 1.0
    return np.linalg.qr(np.polynomial.chebyshev.chebvander(across, degree))[0]


@pytest.mark.parametrize("kind", NOISES.values(), ids=NOISES)
def test_scatter_of_a_sum(kind):
    """What counts in use: the variance of sums over narrow and wide spots, judged from what a fit leaves."""
    basis = basis_of(15)
    sums = np.array([np.exp(-(((POSITIONS - 40.0) / width) ** 2)) for width in (0.5, 1.5, 3.0)])
    true = np.var([sums @ kind(POSITIONS, np.random.default_rng(seed)) for seed in range(2000)], axis=0)
    found = []
    for seed in range(150):
        noise = kind(POSITIONS, np.random.default_rng(5000 + seed))
        judged = residual_noise(POSITIONS, noise - basis @ (basis.T @ noise), basis)
        found.append(np.sum(sums.T * judged.times(POSITIONS, sums.T), axis=0))
    ratios = np.sqrt(np.median(found, axis=0) / true)
    assert ratios.min() > 0.95
    assert ratios.max() < 1.2  # variances below 0 are not allowed, so that it errs to the safe side


def test_blanks_give_the_noise_they_were_made_with():
    rng = np.random.default_rng(6)
    blanks = [0.05 + 0.01 * np.sin(POSITIONS / 30.0) + 0.003 * textured(POSITIONS, rng, 0.5) for _ in range(40)]
    judged = blank_noise(POSITIONS, np.array(blanks))
    true = Noise(np.array([0.5]), np.array([0.003**2]))
    lags = [0, 1, 2, 5, 10]
    expected = true.covariance(POSITIONS)[200, 200 + np.array(lags)]
    assert judged.covariance(POSITIONS)[200, 200 + np.array(lags)] == pytest.approx(expected, abs=0.1 * 0.003**2)


def test_many_blanks_are_one_estimate():
    rng = np.random.default_rng(7)
    one = white(POSITIONS, rng)
    assert blank_noise(POSITIONS, [one, one]).variances == pytest.approx(blank_noise(POSITIONS, one).variances)


def test_scales_with_the_signal():
    blank = white(POSITIONS, np.random.default_rng(8))
    small, large = blank_noise(POSITIONS, 1e-9 * blank), blank_noise(POSITIONS, 1e9 * blank)
    assert 1e18 * small.sd == pytest.approx(large.sd)


def test_nothing_left_over_is_no_noise():
    assert residual_noise(POSITIONS, np.zeros(401), basis_of(2)).sd == 0.0


def test_few_points_are_taken_for_white():
    x = np.arange(20.0)
    assert residual_noise(x, np.random.default_rng(9).normal(size=20), np.full((20, 1), 20**-0.5)).lengths.tolist() == [
        0
    ]


def test_refuses_blanks_that_are_no_numbers():
    with pytest.raises(ValueError, match=r"values\[3\] is nan"):
        blank_noise(POSITIONS, np.where(np.arange(401) == 3, np.nan, 1.0))
