"""Criteria for a whole chromatogram, against versions in exact fractions."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lanewise.errors import AnalysisError
from lanewise.quantities.criteria import (
    gap_product,
    inverse_square_distances,
    multispot_response,
    normalised_resolution_product,
    optimisation_function,
    resolution_sum,
    retention_distance,
    retention_uniformity,
    smallest_gap,
    smallest_resolution,
)

quick = settings(deadline=None, max_examples=80)
HUNDREDTHS = st.lists(st.integers(0, 100), min_size=1, max_size=8)
RESOLUTIONS = st.lists(st.floats(0.1, 10), min_size=1, max_size=8)

ON_RF = [smallest_gap, gap_product, retention_uniformity, retention_distance, multispot_response]
ON_RESOLUTIONS = [smallest_resolution, resolution_sum, normalised_resolution_product, optimisation_function]


def exact(hundredths: list[int]) -> list[Fraction]:
    return sorted(Fraction(value, 100) for value in hundredths)


def exact_gaps(hundredths: list[int], lower: Fraction, upper: Fraction) -> list[Fraction]:
    return [b - a for a, b in itertools.pairwise([lower, *exact(hundredths), upper])]


@quick
@given(hundredths=HUNDREDTHS)
def test_gaps_in_exact_fractions(hundredths: list[int]) -> None:
    rf = [value / 100 for value in hundredths]
    gaps = [b - a for a, b in itertools.pairwise(exact(hundredths))]
    if gaps:
        assert smallest_gap(rf) == pytest.approx(float(min(gaps)), abs=1e-12)
        assert gap_product(rf) == pytest.approx(float(math.prod(gaps)), abs=1e-12)
    else:
        assert math.isnan(smallest_gap(rf))
        assert math.isnan(gap_product(rf))


@quick
@given(hundredths=HUNDREDTHS)
def test_retention_uniformity_in_exact_fractions(hundredths: list[int]) -> None:
    n = len(hundredths)
    off = sum((value - Fraction(i, n + 1)) ** 2 for i, value in enumerate(exact(hundredths), start=1))
    worst = sum(Fraction(i, n + 1) ** 2 for i in range(1, n + 1))  # all spots at the origin: RU is 0
    expected = 1 - math.sqrt(off / worst)
    assert retention_uniformity([value / 100 for value in hundredths]) == pytest.approx(expected, abs=1e-9)


@quick
@given(hundredths=HUNDREDTHS)
def test_retention_distance_in_exact_fractions(hundredths: list[int]) -> None:
    n = len(hundredths)
    product = math.prod(exact_gaps(hundredths, Fraction(0), Fraction(1)))
    expected = float((n + 1) ** (n + 1) * product) ** (1 / n)
    assert retention_distance([value / 100 for value in hundredths]) == pytest.approx(expected, abs=1e-9)


@quick
@given(hundredths=HUNDREDTHS, lower=st.integers(0, 30), upper=st.integers(70, 100))
def test_multispot_response_in_exact_fractions(hundredths: list[int], lower: int, upper: int) -> None:
    n = len(hundredths)
    gaps = exact_gaps(hundredths, Fraction(lower, 100), Fraction(upper, 100))
    inside = all(gap >= 0 for gap in gaps)
    expected = math.prod(gaps) / Fraction(upper - lower, 100 * (n + 1)) ** (n + 1) if inside else 0
    value = multispot_response([value / 100 for value in hundredths], lower / 100, upper / 100)
    assert value == pytest.approx(float(expected), rel=1e-9, abs=1e-12)


@quick
@given(hundredths=HUNDREDTHS)
def test_retention_distance_is_a_root_of_the_multispot_response(hundredths: list[int]) -> None:
    rf = [value / 100 for value in hundredths]
    assert retention_distance(rf) == pytest.approx(multispot_response(rf) ** (1 / len(rf)), abs=1e-9)


@pytest.mark.parametrize("criterion", ON_RF, ids=lambda f: f.__name__)
def test_order_of_spots_does_not_matter(criterion: Callable[..., float]) -> None:
    rf = [0.15, 0.8, 0.4, 0.55]
    assert {criterion(order) for order in itertools.permutations(rf)} == {criterion(sorted(rf))}


@pytest.mark.parametrize("criterion", [retention_uniformity, retention_distance, multispot_response])
@pytest.mark.parametrize("n", [1, 2, 5, 40])
def test_equal_spread_is_best(criterion: Callable[..., float], n: int) -> None:
    assert criterion(np.arange(1, n + 1) / (n + 1)) == pytest.approx(1, rel=1e-9)


@quick
@given(hundredths=HUNDREDTHS)
def test_criteria_of_spread_lie_between_0_and_1(hundredths: list[int]) -> None:
    rf = [value / 100 for value in hundredths]
    for criterion in (retention_uniformity, retention_distance, multispot_response):
        assert -1e-9 <= criterion(rf) <= 1 + 1e-9


def test_many_spots_do_not_underflow() -> None:
    """400 equally spread spots: the plain product of gaps is below the smallest float, RD is 1."""
    rf = np.arange(1, 401) / 401
    assert gap_product(rf) == 0
    assert retention_distance(rf) == pytest.approx(1, rel=1e-9)
    assert multispot_response(rf) == pytest.approx(1, rel=1e-9)


def test_spots_beyond_both_ends_of_the_window_do_not_cancel() -> None:
    assert multispot_response([0.02, 0.98], lower=0.05, upper=0.95) == 0
    assert multispot_response([0.01, 0.02, 0.5], lower=0.05, upper=0.95) == 0


def test_rf_outside_the_run_has_no_retention_distance() -> None:
    assert math.isnan(retention_distance([0.2, 1.1]))


@quick
@given(rs=RESOLUTIONS)
def test_criteria_on_resolutions_written_out(rs: list[float]) -> None:
    assert smallest_resolution(rs) == min(rs)
    assert resolution_sum(rs) == pytest.approx(math.fsum(rs), rel=1e-12)
    mean = math.fsum(rs) / len(rs)
    product = math.prod(value / mean for value in rs)
    assert normalised_resolution_product(rs) == pytest.approx(product, rel=1e-9)
    assert normalised_resolution_product(rs) <= 1 + 1e-12
    assert optimisation_function(rs) == pytest.approx(sum(min(math.log(v / 1.5), 0) for v in rs), abs=1e-12)


def test_equal_resolutions_have_product_one() -> None:
    assert normalised_resolution_product([0.4, 0.4, 0.4]) == pytest.approx(1)


def test_optimisation_function_weights_and_time() -> None:
    """By hand: 2 ln(0.75/1.5) + 1 * 0 + 0.1 * 5 = -0.886294."""
    value = optimisation_function([0.75, 3.0], weights=[2.0, 1.0], time_weight=0.1, time_left=5.0)
    assert value == pytest.approx(-0.886294, abs=5e-7)


@pytest.mark.parametrize("criterion", ON_RESOLUTIONS, ids=lambda f: f.__name__)
def test_without_a_pair_there_is_no_value(criterion: Callable[..., float]) -> None:
    assert math.isnan(criterion([]))


def test_resolutions_of_coinciding_spots() -> None:
    assert optimisation_function([0.0, 2.0]) == -math.inf
    assert normalised_resolution_product([0.0, 2.0]) == 0
    assert math.isnan(normalised_resolution_product([0.0, 0.0]))
    assert math.isnan(optimisation_function([-0.5, 2.0]))


@quick
@given(spots=st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=2, max_size=7, unique=True))
def test_inverse_square_distances_pair_by_pair(spots: list[tuple[int, int]]) -> None:
    x, y = zip(*spots, strict=True)
    slow = sum(Fraction(400, (a - c) ** 2 + (b - d) ** 2) for (a, b), (c, d) in itertools.combinations(spots, 2))
    assert inverse_square_distances(np.array(x) / 20, np.array(y) / 20) == pytest.approx(float(slow), rel=1e-9)


def test_inverse_square_distances_at_the_ends() -> None:
    assert inverse_square_distances([0.2, 0.2], [0.4, 0.4]) == math.inf
    assert math.isnan(inverse_square_distances([0.2], [0.4]))


@pytest.mark.parametrize("criterion", [*ON_RF, *ON_RESOLUTIONS], ids=lambda f: f.__name__)
def test_no_row_of_numbers_warns(criterion: Callable[..., float]) -> None:
    """Warnings are errors in this suite, so running through is the check."""
    for row in itertools.product([0.0, 1.0, -1.7e308, 1.7e308, math.inf, -math.inf, math.nan], repeat=3):
        assert isinstance(criterion(row), float)


@pytest.mark.parametrize("criterion", [*ON_RF, *ON_RESOLUTIONS], ids=lambda f: f.__name__)
def test_a_plate_is_not_a_row(criterion: Callable[..., float]) -> None:
    with pytest.raises(AnalysisError, match=r"wanted the values of one chromatogram as a row, .* shape \(2, 3\)"):
        criterion(np.full((2, 3), 0.5))


@pytest.mark.parametrize("criterion", ON_RF, ids=lambda f: f.__name__)
def test_a_lane_without_spots_is_refused(criterion: Callable[..., float]) -> None:
    with pytest.raises(AnalysisError, match=r"wanted at least one spot, given none\. Leave lanes without spots out"):
        criterion([])


@pytest.mark.parametrize(("lower", "upper"), [(0.9, 0.1), (0.5, 0.5), (math.nan, 1.0)], ids=["swapped", "empty", "nan"])
def test_a_window_must_be_open(lower: float, upper: float) -> None:
    with pytest.raises(AnalysisError, match="wanted a window with lower below upper, given"):
        multispot_response([0.5], lower, upper)


def test_each_pair_has_its_weight() -> None:
    with pytest.raises(AnalysisError, match=r"weights: wanted one number, or one for each of the 3 pairs"):
        optimisation_function([1.0, 1.2, 1.4], weights=[1.0, 2.0])


def test_both_directions_have_every_spot() -> None:
    with pytest.raises(AnalysisError, match="wanted one value of each for every spot, given 2 and 3"):
        inverse_square_distances([0.2, 0.4], [0.1, 0.2, 0.3])
