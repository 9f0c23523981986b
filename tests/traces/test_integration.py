"""Moments of a stretch against closed forms, and what baseline and cut add against differences."""

from __future__ import annotations

import numpy as np
import pytest
from lanes import POSITIONS, bell, tailing

from lanewise.traces import Noise, moments

FINE = np.linspace(0.0, 80.0, 1601)


def test_gaussian():
    found = moments(FINE, bell(FINE, 0.3, 40.0, 2.0), 20.0, 60.0)
    assert found.area == pytest.approx(0.3 * 2.0 * np.sqrt(2 * np.pi), rel=1e-12)
    assert found.mean == pytest.approx(40.0, abs=1e-11)
    assert found.variance == pytest.approx(4.0, rel=1e-10)
    assert found.skewness == pytest.approx(0.0, abs=1e-10)
    assert found.excess_kurtosis == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize("tau", [1.0, 3.0])
def test_tail_towards_the_origin(tau):
    """mean mu - tau, variance sigma^2 + tau^2, skewness -2 tau^3 / variance^1.5, kurtosis 6 tau^4 / variance^2."""
    found = moments(FINE, tailing(FINE, 2.0, 60.0, 1.5, tau), 0.0, 80.0)
    variance = 1.5**2 + tau**2
    assert found.area == pytest.approx(2.0, rel=1e-7)
    assert found.mean == pytest.approx(60.0 - tau, rel=1e-6)
    assert found.variance == pytest.approx(variance, rel=1e-4)
    assert found.skewness == pytest.approx(-2 * tau**3 / variance**1.5, rel=1e-3)
    assert found.excess_kurtosis == pytest.approx(6 * tau**4 / variance**2, rel=1e-2)


def test_range_between_points_is_a_straight_line():
    """A trapezium by hand: y = 1 + x between 2.3 and 7.9 has the area 5.6 + (7.9^2 - 2.3^2) / 2."""
    x = np.arange(12.0)
    assert moments(x, 1.0 + x, 2.3, 7.9).area == pytest.approx(5.6 + (7.9**2 - 2.3**2) / 2)


def test_uneven_positions():
    x = np.sort(np.concatenate([np.linspace(0.0, 80.0, 900), np.random.default_rng(1).uniform(0.0, 80.0, 300)]))
    found = moments(x, bell(x, 0.3, 40.0, 2.0), 25.0, 55.0)
    assert found.area == pytest.approx(0.3 * 2.0 * np.sqrt(2 * np.pi), rel=1e-4)
    assert found.variance == pytest.approx(4.0, rel=2e-3)


@pytest.mark.parametrize("name", ["area", "mean", "variance"])
def test_what_a_level_does(name):
    """Against a baseline that is really moved."""
    y, step = tailing(POSITIONS, 2.0, 60.0, 1.5, 3.0), 1e-6
    lower, higher = (getattr(moments(POSITIONS, y, 30.3, 66.1, baseline=level), name) for level in (-step, step))
    found = getattr(moments(POSITIONS, y, 30.3, 66.1), f"{name}_per_level")
    assert found == pytest.approx((lower - higher) / (2 * step), rel=1e-5)


def test_a_level_in_the_middle_of_a_wide_range():
    """The variance moves by about b L^3 / (12 area), the rule of the docstring."""
    found = moments(FINE, bell(FINE, 0.3, 40.0, 1.0), 20.0, 60.0)
    assert found.variance_per_level == pytest.approx(40.0**3 / (12 * found.area), rel=0.02)
    assert found.mean_per_level == pytest.approx(0.0, abs=1e-9)


def test_baseline_is_taken_off_and_told():
    slope = 0.05 + 0.001 * POSITIONS
    y = slope + bell(POSITIONS, 0.3, 40.0, 2.0)
    found, bare = moments(POSITIONS, y, 30.0, 50.0, baseline=slope), moments(POSITIONS, y - slope, 30.0, 50.0)
    assert found.area == pytest.approx(bare.area)
    assert found.baseline_area == pytest.approx(20.0 * (0.05 + 0.001 * 40.0))


def test_cut_is_told():
    y = bell(POSITIONS, 0.3, 40.0, 2.0)
    found = moments(POSITIONS, y, 38.0, 46.0)
    assert found.cut_low == pytest.approx(np.exp(-0.5), rel=1e-3)
    assert found.cut_high == pytest.approx(np.exp(-4.5), rel=1e-2)


@pytest.mark.parametrize(
    "noise", [0.003, Noise(np.array([0.0, 1.0]), np.array([4e-6, 5e-6]))], ids=["white", "textured"]
)
def test_uncertainties_against_trials(noise):
    rng, y = np.random.default_rng(2), tailing(POSITIONS, 1.0, 45.0, 1.5, 2.0)
    covariance = np.eye(401) * noise**2 if isinstance(noise, float) else noise.covariance(POSITIONS)
    draws = rng.multivariate_normal(np.zeros(401), covariance, 2000, method="cholesky")
    levels = rng.normal(0.0, 0.001, 2000)
    trials = [moments(POSITIONS, y + e + level, 30.0, 52.0) for e, level in zip(draws, levels, strict=True)]
    found = moments(POSITIONS, y, 30.0, 52.0, noise=noise, u_baseline=0.001)
    for name in ("area", "mean", "variance"):
        scatter = np.std([getattr(trial, name) for trial in trials])
        assert getattr(found, f"u_{name}") == pytest.approx(scatter, rel=0.06)  # 2000 trials know it to 1.6 %


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (-1.0, 40.0, "wanted a range within 0 to 80 mm, given -1 to 40 mm"),
        (50.0, 40.0, "wanted a range within"),
        (40.05, 40.15, "only 2 points lie between"),
        (60.0, 70.0, "the area from 60 to 70 mm is .*: wanted a positive one"),
    ],
    ids=["outside", "turned round", "too short", "no area"],
)
def test_refusals(low, high, text):
    with pytest.raises(ValueError, match=text):
        moments(POSITIONS, bell(POSITIONS, 0.3, 40.0, 2.0) - 1e-4, low, high)
