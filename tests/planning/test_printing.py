"""The scale of a print: a bar measured, lengths corrected, Rf left alone."""

from __future__ import annotations

from math import hypot

import pytest
from uncertainties import ufloat

import lanewise
from lanewise.analyses.positions import positions
from lanewise.errors import PlanError
from lanewise.planning.printing import SOURCE, scale_of_print


def study(**more):
    spot = {"label": "1", "trailing": 30, "centre": 32, "leading": 35, "u_centre": 0.3, "area": 0.5}
    trace = lanewise.Trace(channel="grey", positions=[10, 20], values=[0, 1])
    lane = lanewise.Lane(label="A", front=84, spots=[lanewise.Spot(**spot)], traces=[trace])
    plate = lanewise.Plate(label="1", system="water", origin=10, front=85, u_front=0.4, lanes=[lane], **more)
    return lanewise.Study(plates=[plate])


def test_a_length_carries_the_uncertainty_of_the_scale():
    """Against the package `uncertainties`."""
    length, u = scale_of_print(98.6, 0.25).length(62.5, 0.3)
    expected = ufloat(98.6, 0.25) / 100 * ufloat(62.5, 0.3)
    assert (length, u) == pytest.approx((expected.nominal_value, expected.std_dev))


def test_two_lengths_of_one_print_share_its_scale():
    """What the scale gives to the ratio of two lengths cancels; the shared error of the record does the same."""
    scale = scale_of_print(98.6, 0.25)
    (error,) = scale.correct(study()).plates[0].shared_errors
    assert error.name == SOURCE
    rise = (error.shifts[1] - error.shifts[0]) / (error.positions[1] - error.positions[0])
    printed = 62.5
    assert rise * printed * scale.factor == pytest.approx(printed * scale.u)
    assert error.shifts[0] == -error.shifts[1]


def test_rf_does_not_depend_on_the_scale():
    before = lanewise.measure(lanewise.to_frame(study())).spots.iloc[0]
    after = lanewise.measure(lanewise.to_frame(scale_of_print(96.0, 1.0).correct(study()))).spots.iloc[0]
    assert after["rf"] == pytest.approx(before["rf"], rel=1e-12)
    assert after["u_rf"] == pytest.approx(before["u_rf"], rel=1e-9)
    assert after["width_mm"] == pytest.approx(0.96 * before["width_mm"])


def test_every_length_is_corrected():
    (plate,) = scale_of_print(98.0, 0.3).correct(study()).plates
    (lane,) = plate.lanes
    (spot,) = lane.spots
    assert (plate.origin, plate.front, plate.u_front) == pytest.approx((9.8, 83.3, 0.392))
    assert lane.front == pytest.approx(82.32)
    assert (spot.trailing, spot.centre, spot.leading) == pytest.approx((29.4, 31.36, 34.3))
    assert (spot.u_centre, spot.area) == pytest.approx((0.294, 0.49))
    assert lane.traces[0].positions == pytest.approx((9.8, 19.6))
    assert plate.reading.division == pytest.approx(0.98)


def test_other_shared_errors_stay_on_the_lengths_they_are_about():
    lens = lanewise.SharedError(name="lens", positions=[0, 50, 100], shifts=[0, 0.2, 0])
    first, second = scale_of_print(98.0, 0.3).correct(study(shared_errors=[lens])).plates[0].shared_errors
    assert first.positions == pytest.approx((0, 49, 98))
    assert first.shifts == pytest.approx((0, 0.196, 0))
    assert second.name == SOURCE


def test_a_plate_is_corrected_once():
    once = scale_of_print(98.0).correct(study())
    with pytest.raises(PlanError, match=r"plate '1': wanted positions as they were read, given ones corrected"):
        scale_of_print(98.0).correct(once)


def test_two_readings_of_a_ruler_where_nothing_is_said():
    """Two ends, each to the nearest millimetre: sqrt(2) / sqrt(12) mm (JCGM 100:2008, 4.3.7; from memory)."""
    assert scale_of_print(100.0).u == pytest.approx(0.00408, abs=5e-6)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        pytest.param((9.9,), r"check bar: wanted a length from 80 mm to 125 mm, given 9\.9 mm", id="centimetres"),
        pytest.param((float("nan"),), r"check bar: wanted a length", id="nan"),
        pytest.param((99, -1), r"wanted a standard uncertainty from 0 mm to 10 mm, given -1 mm", id="negative"),
    ],
)
def test_bars_that_are_none(given, said):
    with pytest.raises(PlanError, match=said):
        scale_of_print(*given)


def test_the_scale_stands_in_the_budget_of_a_length_and_not_in_that_of_rf():
    """Run of 74 mm as printed: its readings as before, times the factor, and 74 mm times u of the scale beside them."""
    scale = scale_of_print(98.0, 0.5)
    before, after = (positions(lanewise.to_frame(one)).measured() for one in (study(), scale.correct(study())))
    runs = [lanewise.propagate(lambda front, origin: front - origin, one[1], one[2]) for one in (before, after)]
    expected = hypot(0.98 * runs[0].u[0], 74 * 0.005)
    assert runs[1].values[0] == pytest.approx(0.98 * 74)
    assert runs[1].u[0] == pytest.approx(expected, rel=1e-6)
    widths = [one[3].u[0] for one in (before, after)]
    assert widths[1] == pytest.approx(hypot(0.98 * widths[0], 5 * 0.005), rel=1e-6)
