"""Discriminating power, list length and information on the worked numbers: six food dyes of one student report.

Formulas from memory (Smalldon and Moffat 1973; Schepers, Franke and de Zeeuw 1983; Massart 1973); numbers worked by
hand. Corrected Rf stands in tests/reference/formula_values.csv.
"""

from __future__ import annotations

from itertools import combinations
from math import log2

import numpy as np
import pytest

from lanewise.errors import AnalysisError
from lanewise.quantities.identification import (
    discriminating_power,
    information_content,
    mean_list_length,
    not_told_apart,
    reference_corrected_rf,
)

SIX = [1.00, 0.00, 0.20, 0.42, 0.56, 0.46]
SECOND = [0.35, 0.10, 0.05, 0.30, 0.12, 0.36]  # invented


@pytest.mark.parametrize(
    ("window", "power", "length"),
    [
        pytest.param(0.05, "0.9333", "1.333", id="0.05"),
        pytest.param(0.10, "0.8667", "1.667", id="0.10, where 0.56 - 0.46 must count"),
        pytest.param(0.15, "0.8000", "2.000", id="0.15"),
    ],
)
def test_one_system(window, power, length):
    same = not_told_apart(SIX, window)
    assert f"{discriminating_power(same):.4f}" == power
    assert f"{mean_list_length(same):.3f}" == length


def test_two_systems_together():
    assert f"{discriminating_power(not_told_apart(SECOND, 0.05)):.4f}" == "0.7333"
    assert discriminating_power(not_told_apart(np.transpose([SIX, SECOND]), 0.05)) == 1.0


def test_pairs_counted_one_by_one():
    """The definition, written with a loop; 1 + 2M/N and 1 - 2M/(N(N-1)) follow from it (derived in closed form)."""
    rf = np.random.default_rng(1).uniform(0, 1, (15, 2))
    same = not_told_apart(rf, 0.2)
    matched = sum(bool((abs(a - b) <= 0.2).all()) for a, b in combinations(rf, 2))
    assert discriminating_power(same) == pytest.approx(1 - 2 * matched / (15 * 14))
    assert mean_list_length(same) == pytest.approx(1 + 2 * matched / 15)


def test_what_was_not_run_tells_nothing_apart():
    assert not_told_apart([0.2, np.nan, 0.9], 0.05).tolist() == [
        [True, True, False],
        [True, True, True],
        [False, True, True],
    ]


def test_information_of_two_systems_is_that_of_joint_classes():
    """I(A,B) = I(A) + I(B) - mutual information; equal systems add nothing."""
    assert information_content(np.transpose([SIX, SIX]), 0.1) == pytest.approx(information_content(SIX, 0.1))
    assert information_content(np.transpose([SIX, SECOND]), 0.1) <= log2(6) + 1e-12
    assert information_content(np.transpose([SIX, SECOND]), 0.1) > information_content(SECOND, 0.1)


def test_information_is_a_mean_over_shifted_edges():
    each = [information_content(np.add(SIX, 0.1 * k / 4), 0.1) for k in range(4)]
    assert information_content(SIX, 0.1, 4) == pytest.approx(np.mean(each))


@pytest.mark.parametrize(
    ("measured", "accepted"),
    [
        pytest.param([0.2, 0.4], [0.4, 0.2], id="changed places"),
        pytest.param([0.0, 0.4], [0.1, 0.5], id="on the origin"),
        pytest.param([0.2, 1.0], [0.2, 0.9], id="with the front"),
    ],
)
def test_references_out_of_order(measured, accepted):
    with pytest.raises(AnalysisError, match="rise together"):
        reference_corrected_rf(0.5, measured, accepted)


def test_references_must_be_pairs():
    with pytest.raises(AnalysisError, match="pairs of values"):
        reference_corrected_rf(0.5, [0.2], [0.2, 0.5])


def test_without_references_nothing_changes():
    assert reference_corrected_rf([0.1, 0.8], [], []).tolist() == [0.1, 0.8]
