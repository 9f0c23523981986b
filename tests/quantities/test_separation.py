"""Gap, separation factor, resolution and valley, against slow versions written another way."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lanewise.quantities.retardation import r_m, retention_factor
from lanewise.quantities.separation import (
    delta_rf,
    discrimination_factor,
    gaussian_overlap,
    gaussian_valley_to_peak,
    planar_resolution,
    planar_resolution_approximate,
    resolution,
    resolution_half_height,
    separation_factor,
    valley_to_peak_ratio,
)

INSIDE = st.floats(0.01, 0.99)
quick = settings(deadline=None, max_examples=80)


@quick
@given(slow=INSIDE, fast=INSIDE)
def test_the_order_of_two_spots_only_turns_signs(slow: float, fast: float) -> None:
    assert delta_rf(slow, fast) == -delta_rf(fast, slow)
    assert separation_factor(slow, fast) == pytest.approx(1 / separation_factor(fast, slow), rel=1e-12)
    assert planar_resolution(slow, fast, 1000.0) == -planar_resolution(fast, slow, 1000.0)


@quick
@given(slow=INSIDE, fast=INSIDE)
def test_separation_factor_is_the_ratio_of_retention_factors(slow: float, fast: float) -> None:
    alpha = separation_factor(slow, fast)
    assert alpha == pytest.approx(retention_factor(slow) / retention_factor(fast), rel=1e-12)
    assert math.log10(alpha) == pytest.approx(r_m(slow) - r_m(fast), rel=1e-9, abs=1e-12)


@quick
@given(slow=INSIDE, fast=INSIDE)
def test_the_ratio_of_rf_is_not_the_separation_factor(slow: float, fast: float) -> None:
    assume(fast - slow > 1e-3)
    assert separation_factor(slow, fast) > fast / slow


@pytest.mark.parametrize(
    ("slow", "fast", "alpha"),
    [
        pytest.param(0.0, 0.5, math.inf, id="slow-at-origin"),
        pytest.param(0.5, 1.0, math.inf, id="fast-with-front"),
        pytest.param(0.0, 1.0, math.inf, id="both-ends"),
        pytest.param(0.0, 0.0, math.nan, id="both-at-origin"),
        pytest.param(1.0, 1.0, math.nan, id="both-with-front"),
    ],
)
def test_separation_factor_at_the_ends(slow: float, fast: float, alpha: float) -> None:
    assert separation_factor(slow, fast) == pytest.approx(alpha, nan_ok=True)


@quick
@given(gap=st.floats(0, 50), sigma_slow=st.floats(0.1, 5), sigma_fast=st.floats(0.1, 5))
def test_both_resolutions_agree_for_gaussian_spots(gap: float, sigma_slow: float, sigma_fast: float) -> None:
    """Base width 4 sigma, width at half height from the inverse of the density (standard library)."""
    half = math.sqrt(-2 * math.log(0.5))
    density = NormalDist()
    assert density.pdf(half) == pytest.approx(density.pdf(0) / 2, rel=1e-12)

    by_base = resolution(20.0, 20.0 + gap, 4 * sigma_slow, 4 * sigma_fast)
    by_half = resolution_half_height(20.0, 20.0 + gap, 2 * half * sigma_slow, 2 * half * sigma_fast)
    assert by_half == pytest.approx(by_base, rel=1e-12, abs=1e-15)


@quick
@given(shift=st.floats(-100, 100), scale=st.floats(0.1, 10))
def test_resolution_does_not_depend_on_zero_or_scale(shift: float, scale: float) -> None:
    other = resolution(scale * (32 + shift), scale * (38 + shift), scale * 4, scale * 5)
    assert other == pytest.approx(resolution(32.0, 38.0, 4.0, 5.0), rel=1e-9)


@pytest.mark.parametrize("measure", [resolution, resolution_half_height], ids=lambda f: f.__name__)
def test_resolution_without_widths(measure: Callable[..., float]) -> None:
    assert measure(32.0, 38.0, 0.0, 0.0) == math.inf
    assert math.isnan(measure(32.0, 32.0, 0.0, 0.0))


@quick
@given(slow=INSIDE, fast=INSIDE, run=st.floats(30, 200), plates=st.floats(100, 5000))
def test_planar_resolution_is_the_measured_one_of_the_model(
    slow: float, fast: float, run: float, plates: float
) -> None:
    """Constant plate height H = L / N, so a spot that ran d has base width 4 sqrt(H d)."""
    height = run / plates
    measured = resolution(
        slow * run, fast * run, 4 * math.sqrt(height * slow * run), 4 * math.sqrt(height * fast * run)
    )
    assert planar_resolution(slow, fast, plates) == pytest.approx(measured, rel=1e-7, abs=1e-9)


@quick
@given(slow=st.floats(0.05, 0.9), gap=st.floats(0.005, 0.05))
def test_the_exact_form_lies_between_the_two_quoted_ones(slow: float, gap: float) -> None:
    """Column form with N of the slower spot, (sqrt(N)/4) (alpha - 1)/alpha k/(1 + k), written out."""
    fast, plates = slow + gap, 1000.0
    alpha, k = separation_factor(slow, fast), retention_factor(slow)
    column = math.sqrt(plates * slow) / 4 * (alpha - 1) / alpha * k / (1 + k)
    assert column < planar_resolution(slow, fast, plates) < planar_resolution_approximate(slow, fast, plates)


def test_the_quoted_form_becomes_exact_for_close_pairs() -> None:
    ratio = planar_resolution_approximate(0.3, 0.3001, 1e4) / planar_resolution(0.3, 0.3001, 1e4)
    assert ratio == pytest.approx(1, abs=1e-3)


def test_a_pair_is_best_resolved_near_one_third() -> None:
    """At a given separation factor close to 1 the quoted form peaks at Rf 1/3 (sqrt(Rf) (1 - Rf), by hand)."""
    faster = np.linspace(0.01, 0.99, 981)
    slower = faster / (faster + 1.001 * (1 - faster))  # alpha = 1.001
    best = faster[np.argmax(planar_resolution_approximate(slower, faster, 1000.0))]
    assert best == pytest.approx(1 / 3, abs=1e-3)


def test_two_spots_at_one_end_have_no_planar_resolution() -> None:
    assert planar_resolution(0.0, 0.0, 1000.0) == 0
    assert planar_resolution(1.0, 1.0, 1000.0) == 0
    assert math.isnan(planar_resolution(-0.1, 0.5, 1000.0))
    assert planar_resolution_approximate(0.0, 0.5, 1000.0) == math.inf
    assert math.isnan(planar_resolution_approximate(0.5, 1.0, 1000.0))


@pytest.mark.parametrize("rs", [0.75, 0.9, 1.0, 1.25, 1.5, 2.0])
def test_valley_of_two_added_gaussians(rs: float) -> None:
    """Two densities of the standard library, added on a fine grid; the top is looked for, not assumed."""
    left, right = NormalDist(-2 * rs, 1), NormalDist(2 * rs, 1)
    grid = np.linspace(-2 * rs - 1, 0, 4001)
    heights = [left.pdf(z) + right.pdf(z) for z in grid]
    assert gaussian_valley_to_peak(rs) == pytest.approx(heights[-1] / max(heights), abs=5e-4)


@pytest.mark.parametrize("rs", [0.0, 0.25, 0.5])
def test_no_valley_between_spots_less_than_two_standard_deviations_apart(rs: float) -> None:
    left, right = NormalDist(-2 * rs, 1), NormalDist(2 * rs, 1)
    heights = [left.pdf(z) + right.pdf(z) for z in np.linspace(-2 * rs - 1, 0, 401)]
    assert max(heights) == heights[-1]
    assert gaussian_valley_to_peak(rs) == 1


@quick
@given(rs=st.floats(0, 2))
def test_overlap_is_the_tail_beyond_the_middle(rs: float) -> None:
    assert gaussian_overlap(rs) == pytest.approx(NormalDist(sigma=1).cdf(-2 * rs), rel=1e-9)


@quick
@given(valley=st.floats(0, 10), above=st.floats(0.1, 10))
def test_valley_and_discrimination_add_up_to_one(valley: float, above: float) -> None:
    heights = (valley, valley + above)
    assert valley_to_peak_ratio(*heights) + discrimination_factor(*heights) == pytest.approx(1, rel=1e-12)
    assert 0 <= valley_to_peak_ratio(*heights) <= 1


def test_peak_to_valley_ratio_is_the_inverse() -> None:
    """Heights 40 and 10 give p/v = 4.0 (European Pharmacopoeia form, from memory)."""
    assert 1 / valley_to_peak_ratio(10.0, 40.0) == 4.0
