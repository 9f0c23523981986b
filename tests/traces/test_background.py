"""The baseline for looking, against pybaselines (an independent library of baselines) and against known baselines."""

from __future__ import annotations

import numpy as np
import pytest
from lanes import POSITIONS, bell, paper, tailing, white
from pybaselines import Baseline

from lanewise.traces import baseline
from lanewise.traces._grids import penalty

STEP = POSITIONS[1] - POSITIONS[0]


def lane(seed, noise=0.003):
    """A strong spot, a pale one and a streak on a bent background (invented)."""
    spots = bell(POSITIONS, 0.30, 15.0, 1.5) + bell(POSITIONS, 0.04, 30.0, 2.0)
    spots += tailing(POSITIONS, 1.5, 62.0, 1.5, 4.0)
    return paper(POSITIONS, seed) + spots + noise * white(POSITIONS, np.random.default_rng(seed))


@pytest.mark.parametrize("stiffness", [4.0, 8.0, 12.0])
@pytest.mark.parametrize("seed", range(3))
def test_same_as_pybaselines(seed, stiffness):
    """There the stiffness is a weight of squared second differences, the fourth power of ours in steps."""
    y = lane(seed)
    expected, _ = Baseline(POSITIONS).arpls(y, lam=(stiffness / STEP) ** 4, tol=1e-3, max_iter=50)
    assert baseline(POSITIONS, y, stiffness=stiffness) == pytest.approx(expected, abs=1e-9)


def test_default_stiffness_is_a_tenth_of_the_trace():
    y = lane(0)
    assert baseline(POSITIONS, y).tolist() == baseline(POSITIONS, y, stiffness=8.0).tolist()


def test_runs_under_the_spots():
    """Between the spots to within the noise; under them no better than the docstring says."""
    off = np.array([baseline(POSITIONS, lane(seed)) - paper(POSITIONS, seed) for seed in range(20)])
    between = (POSITIONS < 9.0) | (np.abs(POSITIONS - 38.0) < 3.0) | (POSITIONS > 70.0)
    assert np.sqrt(np.mean(off[:, between] ** 2)) < 0.003
    assert np.abs(off).max() < 0.015


def test_penalty_of_even_positions_is_the_product_of_difference_matrices():
    for order in (2, 3):
        differences = np.diff(np.eye(12), order, axis=0)
        bands = penalty(np.linspace(3.0, 5.2, 12), order, 0.6)
        dense = 3.0 ** (2 * order) * differences.T @ differences
        for band, row in enumerate(bands):
            assert row[: 12 - band] == pytest.approx(np.diagonal(dense, -band), abs=1e-9)


@pytest.mark.parametrize("order", [2, 3])
def test_penalty_of_uneven_positions_lets_polynomials_pass(order):
    x = np.sort(np.random.default_rng(1).uniform(0.0, 10.0, 30))
    bands = penalty(x, order, 2.0)
    dense = sum(np.diag(row[: 30 - band], -band) for band, row in enumerate(bands))
    dense = dense + np.tril(dense, -1).T
    straight, bent = (x / 10.0) ** (order - 1), (x / 10.0) ** order
    assert straight @ dense @ straight == pytest.approx(0.0, abs=1e-8 * np.abs(dense).max())
    assert bent @ dense @ bent > 1e-3


def test_uneven_positions():
    x = np.sort(np.random.default_rng(2).uniform(0.0, 80.0, 500))
    y = paper(x, 1) + bell(x, 0.3, 40.0, 1.5) + 0.003 * white(x, np.random.default_rng(3))
    assert np.abs(baseline(x, y) - paper(x, 1)).max() < 0.01


def test_an_even_trace_is_its_own_baseline():
    assert baseline(POSITIONS, np.full(401, 0.3)) == pytest.approx(0.3)


@pytest.mark.parametrize("stiffness", [0.0, -1.0, float("nan")])
def test_refuses_a_stiffness_that_is_none(stiffness):
    with pytest.raises(ValueError, match="stiffness of a baseline is a length in mm and positive"):
        baseline(POSITIONS, lane(0), stiffness=stiffness)
