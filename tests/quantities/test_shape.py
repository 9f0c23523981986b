"""Asymmetry and tailing: which side is which, and what symmetric means."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lanewise.quantities.shape import asymmetry, tailing_factor

quick = settings(deadline=None, max_examples=80)
HALVES = st.floats(0.1, 20)


@quick
@given(half=HALVES)
def test_a_symmetric_spot_has_one(half: float) -> None:
    assert asymmetry(half, half) == 1
    assert tailing_factor(2 * half, half) == 1


@quick
@given(rear=HALVES, leading=HALVES)
def test_both_measures_fall_on_the_same_side_of_one(rear: float, leading: float) -> None:
    """T = (a + b) / (2 a) with a leading and b rear, so T = (1 + b/a) / 2."""
    assert tailing_factor(rear + leading, leading) == pytest.approx((1 + asymmetry(rear, leading)) / 2, rel=1e-12)


def half_widths(distance: np.ndarray, profile: np.ndarray, share: float) -> tuple[float, float]:
    """Rear and leading half-width of a profile along the lane, origin on the left."""
    top = int(np.argmax(profile))
    above = np.flatnonzero(profile >= share * profile[top])
    return distance[top] - distance[above[0]], distance[above[-1]] - distance[top]


@pytest.mark.parametrize(
    ("rear_sigma", "leading_sigma"),
    [pytest.param(3.0, 1.5, id="tail-towards-origin"), pytest.param(1.5, 3.0, id="beard-towards-front")],
)
def test_tailing_on_a_plate_shows_on_the_side_of_the_origin(rear_sigma: float, leading_sigma: float) -> None:
    """Two half Gaussians joined at the top: at any height the half-widths are as their sigmas."""
    distance = np.linspace(0, 80, 80001)
    sigma = np.where(distance < 40, rear_sigma, leading_sigma)
    profile = np.exp(-(((distance - 40) / sigma) ** 2) / 2)

    assert asymmetry(*half_widths(distance, profile, 0.10)) == pytest.approx(rear_sigma / leading_sigma, abs=2e-3)
    rear, leading = half_widths(distance, profile, 0.05)
    expected = (rear_sigma + leading_sigma) / (2 * leading_sigma)
    assert tailing_factor(rear + leading, leading) == pytest.approx(expected, abs=2e-3)


def test_a_spot_without_a_leading_side() -> None:
    assert asymmetry(3.0, 0.0) == math.inf
    assert tailing_factor(3.0, 0.0) == math.inf
    assert math.isnan(asymmetry(0.0, 0.0))
