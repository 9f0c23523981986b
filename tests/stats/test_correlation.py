"""Correlations against scipy, limits against scipy's tie handling, intervals against simulated pairs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from lanewise.stats.correlation import kendall, kendall_rows, pearson, pearson_rows, ranks, spearman


def sample(seed, n=9, ties=False):
    x, y = np.random.default_rng(seed).multivariate_normal([0, 0], [[1, 0.5], [0.5, 1]], n).T
    return (np.round(x), np.round(y)) if ties else (x, y)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("ties", [False, True], ids=["no ties", "ties"])
def test_values_as_scipy_has_them(seed, ties):
    x, y = sample(seed, 12, ties)
    assert pearson(x, y).value == pytest.approx(stats.pearsonr(x, y).statistic)
    assert spearman(x, y).value == pytest.approx(stats.spearmanr(x, y).statistic)
    assert kendall(x, y).value == pytest.approx(stats.kendalltau(x, y).statistic)
    assert ranks(x).tolist() == stats.rankdata(x).tolist()


def test_the_interval_of_pearson_as_scipy_has_it():
    x, y = sample(5)
    found, known = pearson(x, y), stats.pearsonr(x, y).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((known.low, known.high))


def test_values_that_limits_do_not_order_are_ties():
    """Everything above a limit is one tied group: tau b of scipy with those values set equal."""
    x, y = sample(7, 10)
    cut = y > 0.5
    assert cut.sum() > 1
    low, high = np.where(cut, 0.5, y), np.where(cut, 9.0, y)
    assert kendall(x, low, y_high=high).value == pytest.approx(stats.kendalltau(x, np.minimum(y, 0.5)).statistic)


@pytest.mark.parametrize("kind", [pearson, spearman, kendall], ids=["pearson", "spearman", "kendall"])
def test_intervals_hold_their_level(kind):
    """Normal pairs of correlation 0.5; the true Spearman and Kendall values by their arcsine formulas (from memory)."""
    truth = {pearson: 0.5, spearman: 6 / np.pi * np.arcsin(0.25), kendall: 2 / np.pi * np.arcsin(0.5)}[kind]
    inside = 0
    for seed in range(500):
        found = kind(*sample(seed, 12))
        inside += found.low <= truth <= found.high
    assert 0.95 - 3 * (0.05 * 0.95 / 500) ** 0.5 <= inside / 500 <= 0.99


@pytest.mark.parametrize("kind", [spearman, kendall], ids=["spearman", "kendall"])
def test_one_order_does_not_prove_itself(kind):
    x = np.arange(6.0)
    found = kind(x, x**3)
    assert (found.value, found.high) == (1.0, 1.0)
    assert 0.0 < found.low < 0.9
    other = kind(x, -x)
    assert (other.low, other.high) == pytest.approx((-1.0, -found.low))


def test_too_few_or_unvarying_values():
    assert np.isnan(pearson([1, 2, 3], [1, 2, 4]).low)
    assert np.isnan(pearson([1, 2, 3, 4], [1, 1, 1, 1]).value)
    assert np.isnan(kendall([1, 2, 3, 4], [1, 2, 4, 3]).low)


def test_rows_are_one_each():
    x, y = np.stack([sample(1)[0], sample(2)[0]]), np.stack([sample(1)[1], sample(2)[1]])
    assert pearson_rows(x, y).tolist() == pytest.approx([pearson(a, b).value for a, b in zip(x, y, strict=True)])
    assert kendall_rows(x, y, x, y).tolist() == pytest.approx([kendall(a, b).value for a, b in zip(x, y, strict=True)])
