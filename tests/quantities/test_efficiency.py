"""Plate numbers and capacities, against counting and integration."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from lanewise.quantities.efficiency import (
    plate_height,
    plate_number,
    plate_number_half_height,
    plate_number_of_run,
    separation_number,
    spot_capacity,
)
from lanewise.quantities.separation import resolution, resolution_half_height

quick = settings(deadline=None, max_examples=80)
LENGTHS = st.floats(1, 200)


@quick
@given(distance=LENGTHS, sigma=st.floats(0.1, 10))
def test_every_width_of_a_gaussian_spot_gives_the_same_plate_number(distance: float, sigma: float) -> None:
    """N = (d / sigma)^2; half of the height is reached at sqrt(2 ln 2) sigma on either side."""
    by_definition = (distance / sigma) ** 2
    half_height_width = 2 * math.sqrt(2 * math.log(2)) * sigma
    assert plate_number(distance, 4 * sigma) == pytest.approx(by_definition, rel=1e-12)
    assert plate_number_half_height(distance, half_height_width) == pytest.approx(by_definition, rel=1e-12)


@quick
@given(distance=LENGTHS, sigma=st.floats(0.1, 10))
def test_plate_height_is_variance_over_distance(distance: float, sigma: float) -> None:
    height = plate_height(distance, plate_number(distance, 4 * sigma))
    assert height == pytest.approx(sigma**2 / distance, rel=1e-12)


@quick
@given(run=LENGTHS, rf=st.floats(0.01, 1), height=st.floats(0.01, 1))
def test_all_spots_of_a_run_tell_the_same_plate_number_of_it(run: float, rf: float, height: float) -> None:
    """Constant H: a spot that ran d = Rf L has base width 4 sqrt(H d), the run has L / H plates."""
    of_spot = plate_number(rf * run, 4 * math.sqrt(height * rf * run))
    assert plate_number_of_run(of_spot, rf) == pytest.approx(run / height, rel=1e-9)


def test_plates_of_a_spot_at_the_origin() -> None:
    assert plate_number(0.0, 4.0) == 0
    assert math.isnan(plate_height(0.0, plate_number(0.0, 4.0)))
    assert math.isnan(plate_number_of_run(plate_number(0.0, 4.0), 0.0))


@pytest.mark.parametrize("count", [plate_number, plate_number_half_height], ids=lambda f: f.__name__)
def test_plates_of_a_spot_without_width(count: Callable[..., float]) -> None:
    assert count(40.0, 0.0) == math.inf
    assert math.isnan(count(0.0, 0.0))


def test_separation_number_counts_spots_between_the_ends() -> None:
    """Spots of linearly growing width, each touching the next at half height; by hand 6 mm + 2 mm over 80 mm."""
    assert separation_number(80.0, 2.0, 6.0) == pytest.approx(80 / 8 - 1)
    # all of one width b: L / (2 b) - 1 lie between the ends, 2 b apart ...
    assert separation_number(80.0, 4.0, 4.0) == pytest.approx(9.0)
    # ... and neighbours have the resolution named in the docstring, about 1.18
    assert resolution_half_height(0.0, 8.0, 4.0, 4.0) == pytest.approx(1.18, abs=0.005)


@quick
@given(run=st.floats(20, 200), height=st.floats(0.01, 0.5), start=st.floats(0.1, 8))
def test_spot_capacity_is_one_and_the_integral_of_inverse_widths(run: float, height: float, start: float) -> None:
    integral, _ = quad(lambda d: 1 / math.sqrt(start**2 + 16 * height * d), 0, run)
    assert spot_capacity(run, height, start) == pytest.approx(1 + integral, rel=1e-8)


def test_spot_capacity_agrees_with_laying_spots_side_by_side() -> None:
    """Lay spot after spot so that each is resolved from the last with Rs = 1 until the front is reached."""
    run, height, start = 80.0, 0.005, 1.0

    def width(d: float) -> float:
        return math.sqrt(start**2 + 16 * height * d)

    count, position = 1, 0.0
    while True:
        step = width(position)
        for _ in range(50):  # the mean of both widths, by iteration
            step = (width(position) + width(position + step)) / 2
        if position + step > run:
            break
        assert resolution(position, position + step, width(position), width(position + step)) == pytest.approx(1)
        count, position = count + 1, position + step
    assert abs(count - spot_capacity(run, height, start)) < 1


@quick
@given(run=LENGTHS, height=st.floats(0.01, 1))
def test_spot_capacity_without_start_width(run: float, height: float) -> None:
    assert spot_capacity(run, height) == pytest.approx(1 + math.sqrt(run / height) / 2, rel=1e-12)


def test_spot_capacity_without_broadening_and_without_width() -> None:
    assert spot_capacity(80.0, 0.0, 4.0) == pytest.approx(1 + 80 / 4)
    assert spot_capacity(80.0, 0.0, 0.0) == math.inf
