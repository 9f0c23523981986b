"""Rf and its relatives: definitions, inverses, symmetries, ends of the range."""

from __future__ import annotations

import math
import statistics

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lanewise.quantities.retardation import (
    corrected_rf,
    hrf,
    r_m,
    relative_rf,
    retention_factor,
    rf,
    rf_from_r_m,
    rf_from_retention_factor,
)

LENGTHS = st.floats(0, 200)
INSIDE = st.floats(1e-6, 1 - 1e-6)
quick = settings(deadline=None, max_examples=80)


@quick
@given(spot=LENGTHS, run=st.floats(10, 200), origin=LENGTHS, shift=st.floats(-500, 500), scale=st.floats(0.01, 100))
def test_rf_does_not_depend_on_zero_or_scale_of_the_ruler(
    spot: float, run: float, origin: float, shift: float, scale: float
) -> None:
    front = origin + run
    other = rf(*(scale * (position + shift) for position in (spot, front, origin)))
    assert other == pytest.approx(rf(spot, front, origin), rel=1e-9, abs=1e-9)


@quick
@given(spot=LENGTHS, front=LENGTHS, origin=LENGTHS)
def test_rf_does_not_depend_on_the_sense_of_counting(spot: float, front: float, origin: float) -> None:
    assume(abs(front - origin) > 1)
    assert rf(-spot, -front, -origin) == rf(spot, front, origin)


@pytest.mark.parametrize(("origin", "front"), [(10.0, 70.0), (70.0, 10.0)], ids=["upwards", "downwards"])
def test_rf_at_the_ends(origin: float, front: float) -> None:
    at_origin = rf(origin, front, origin)
    assert at_origin == 0
    assert not math.copysign(1, at_origin) < 0  # a -0.0 would turn the bound of k round
    assert rf(front, front, origin) == 1


def test_rf_outside_the_run_is_left_as_it_is() -> None:
    assert rf(80.0, front=70.0, origin=10.0) == pytest.approx(70 / 60)
    assert rf(4.0, front=70.0, origin=10.0) == pytest.approx(-0.1)


def test_rf_without_a_run() -> None:
    assert rf(30.0, front=10.0, origin=10.0) == math.inf
    assert math.isnan(rf(10.0, front=10.0, origin=10.0))


@quick
@given(share=INSIDE)
def test_hrf_is_rf_in_per_cent_and_not_rounded(share: float) -> None:
    assert hrf(share) == pytest.approx(100 * share, rel=1e-15)


def test_corrected_rf_of_one_is_reached_at_the_largest_observable_rf() -> None:
    """With xi = 1.1 the observable Rf cannot exceed 1 / 1.1 = 0.91 (Soczewinski's formula, by hand)."""
    assert corrected_rf(1 / 1.1, xi=1.1) == pytest.approx(1.0, rel=1e-15)
    assert corrected_rf(0.37, xi=1.0) == 0.37
    assert retention_factor(corrected_rf(0.5, xi=1.2)) == pytest.approx(0.4 / 0.6, rel=1e-14)


@quick
@given(share=INSIDE)
def test_retention_factor_and_its_inverse(share: float) -> None:
    assert rf_from_retention_factor(retention_factor(share)) == pytest.approx(share, rel=1e-12)


@quick
@given(k=st.floats(1e-6, 1e6))
def test_retention_factor_undoes_its_inverse(k: float) -> None:
    assert retention_factor(rf_from_retention_factor(k)) == pytest.approx(k, rel=1e-9)


@quick
@given(d=st.floats(1, 100), beyond=st.floats(0, 100))
def test_retention_factor_is_the_way_behind_over_the_way_run(d: float, beyond: float) -> None:
    """The form in distances, k = (L - d) / d."""
    assert retention_factor(rf(d, d + beyond, 0.0)) == pytest.approx(beyond / d, rel=1e-9, abs=1e-12)


@quick
@given(share=INSIDE)
def test_r_m_and_its_inverse(share: float) -> None:
    assert rf_from_r_m(r_m(share)) == pytest.approx(share, rel=1e-12)


@quick
@given(share=INSIDE)
def test_r_m_is_antisymmetric_about_one_half(share: float) -> None:
    assert r_m(1 - share) == pytest.approx(-r_m(share), rel=1e-9, abs=1e-12)


@quick
@given(share=INSIDE)
def test_r_m_is_the_decimal_logarithm_of_k(share: float) -> None:
    assert r_m(share) == pytest.approx(math.log10(retention_factor(share)), rel=1e-12, abs=1e-15)


@quick
@given(share=INSIDE, further=INSIDE)
def test_k_and_r_m_fall_as_rf_grows(share: float, further: float) -> None:
    assume(further - share > 1e-9)
    assert retention_factor(share) > retention_factor(further)
    assert r_m(share) > r_m(further)


@pytest.mark.parametrize(
    ("value", "k", "log_k"),
    [
        pytest.param(0.0, math.inf, math.inf, id="origin"),
        pytest.param(1.0, 0.0, -math.inf, id="front"),
        pytest.param(0, math.inf, math.inf, id="origin-as-int"),
        pytest.param(1, 0.0, -math.inf, id="front-as-int"),
    ],
)
def test_k_and_r_m_at_the_ends(value: float, k: float, log_k: float) -> None:
    assert retention_factor(value) == k
    assert r_m(value) == log_k
    assert rf_from_retention_factor(k) == value
    assert rf_from_r_m(log_k) == value


@pytest.mark.parametrize("value", [-0.1, 1.1], ids=["below-0", "above-1"])
def test_r_m_has_no_value_outside_the_run(value: float) -> None:
    assert retention_factor(value) < 0
    assert math.isnan(r_m(value))


@quick
@given(d=st.floats(0.1, 100), d_standard=st.floats(0.1, 100), run=st.floats(100, 200))
def test_relative_rf_does_not_need_the_front(d: float, d_standard: float, run: float) -> None:
    """With a common front the ratio of distances is the ratio of Rf (IUPAC, R05276)."""
    by_rf = relative_rf(rf(d, run, 0.0), rf(d_standard, run, 0.0))
    assert by_rf == pytest.approx(relative_rf(d, d_standard), rel=1e-12)


def test_relative_rf_of_a_standard_at_the_origin() -> None:
    assert relative_rf(0.3, 0.0) == math.inf
    assert math.isnan(relative_rf(0.0, 0.0))


def test_centre_is_the_mean_of_the_edges() -> None:
    """Rf is linear in the position: the Rf of the mid-point is the mean of the Rf of the edges."""
    edges = [rf(28.0, 70.0, 10.0), rf(33.0, 70.0, 10.0)]
    assert rf(30.5, 70.0, 10.0) == pytest.approx(statistics.mean(edges), rel=1e-15)
