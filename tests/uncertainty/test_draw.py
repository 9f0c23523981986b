"""Trials of many values at once: moments, shared sources, and few degrees of freedom."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from lanewise.uncertainty.inputs import exact, from_limits, from_standard
from lanewise.uncertainty.montecarlo import draw


def test_covariances_are_those_of_the_parts():
    front = from_standard(np.zeros(3), 0.3, "front", source=[0, 0, 1])
    values = from_standard([1.0, 2.0, 3.0], [0.1, 0.2, 0.4], "spot") + front
    drawn = draw(values, 40_000)
    assert drawn.shape == (40_000, 3)
    np.testing.assert_allclose(drawn.mean(axis=0), values.values, atol=0.01)
    np.testing.assert_allclose(np.cov(drawn.T), values.covariance_matrix(), atol=0.005)


def test_shapes_are_kept():
    drawn = draw(from_limits([0.0], 1.0, "limits"), 5_000)[:, 0]
    assert stats.kstest(drawn, stats.uniform(-1.0, 2.0).cdf).pvalue > 0.01


def test_few_degrees_of_freedom_are_one_estimate_for_all():
    values = from_standard(np.zeros(2), 1.0, "scatter", shape="t", dof=3.0, joint=True)
    drawn = draw(values, 20_000)
    assert stats.kstest(drawn[:, 0], stats.t(3).cdf).pvalue > 0.01
    assert stats.spearmanr(np.abs(drawn[:, 0]), np.abs(drawn[:, 1])).statistic > 0.1, "wide in one, wide in the other"


def test_the_same_seed_gives_the_same_trials():
    values = from_standard([1.0, np.nan], 0.1, "spot")
    np.testing.assert_array_equal(draw(values, 10, 4), draw(values, 10, 4))
    assert np.isnan(draw(values, 10)[:, 1]).all()
    assert draw(exact([2.0]), 3).tolist() == [[2.0]] * 3


def test_no_trial_is_refused():
    with pytest.raises(ValueError, match="wanted at least 1 trial, given 0"):
        draw(exact([1.0]), 0)
