"""Measuring out: rounding to marks, choice of the glass, and what uncertainty follows from marks and tolerance."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.errors import PlanError
from lanewise.planning.glassware import Glassware, measure_out, parse_glassware


def cylinder(capacity, division, tolerance=None):
    return Glassware(kind="cylinder", capacity=capacity, division=division, tolerance=tolerance)


@pytest.mark.parametrize(
    ("volume", "division", "measured"),
    [
        pytest.param(20.25, 0.5, 20.5, id="half a division goes up"),
        pytest.param(20.24, 0.5, 20.0, id="less than half goes down"),
        pytest.param(2.3 / 2, 0.1, 1.2, id="a half that is no binary number"),
        pytest.param(0.15, 0.1, 0.2, id="0.15 goes up, which binary rounding would lose"),
        pytest.param(0.01, 0.1, 0.1, id="at least one division"),
    ],
)
def test_rounding_is_half_up(volume, division, measured):
    assert measure_out(volume, [cylinder(25, division)]).volume == measured


@pytest.mark.parametrize(
    ("volume", "u"),
    [
        pytest.param(20, 0.3227, id="one filling"),
        pytest.param(45, 0.6124, id="two fillings: readings apart, tolerance together"),
    ],
)
def test_uncertainty_from_marks_and_tolerance(volume, u):
    """By hand, rectangular distributions (JCGM 100:2008, 4.3.7): sqrt(n 0.5^2/12 + n^2 0.5^2/3)."""
    assert measure_out(volume, [cylinder(25, 0.5, 0.5)]).u == pytest.approx(u, abs=0.00005)


def test_filling_to_one_mark_carries_the_tolerance_alone():
    """0.02/sqrt(3) = 0.0115, by hand."""
    found = measure_out(10, [Glassware(kind="pipette", capacity=10, tolerance=0.02)])
    assert (found.volume, found.fillings) == (10, 1)
    assert found.u == pytest.approx(0.0115, abs=0.00005)


@pytest.mark.parametrize(
    ("volume", "named"),
    [
        pytest.param(8, "10 mL cylinder", id="smallest that holds it"),
        pytest.param(20, "25 mL cylinder", id="not two fillings of a smaller one"),
        pytest.param(60, "100 mL cylinder", id="larger"),
        pytest.param(240, "100 mL cylinder, filled 3 times: 2 × 100 + 40 mL", id="fillings"),
    ],
)
def test_the_glass_that_is_chosen(volume, named):
    assert measure_out(volume, [cylinder(100, 1), cylinder(10, 0.2), cylinder(25, 0.5)]).how == named


def test_a_pipette_is_filled_several_times_where_it_hits_the_volume():
    glass = [cylinder(25, 0.5), Glassware(kind="pipette", capacity=5, tolerance=0.015)]
    assert measure_out(20, glass).glass.kind == "pipette"
    assert measure_out(18, glass).glass.kind == "cylinder"


@given(st.floats(0.1, 500), st.sampled_from([(10.0, 0.1), (25.0, 0.5), (100.0, 1.0)]))
def test_what_is_measured_is_a_mark_within_half_a_division(volume, size):
    capacity, division = size
    found = measure_out(volume, [cylinder(capacity, division)])
    marks = found.volume / division
    assert marks == pytest.approx(round(marks), abs=1e-9)
    assert abs(found.volume - volume) <= division / 2 + 1e-9 or found.volume == division
    assert (found.fillings - 1) * capacity < found.volume <= found.fillings * capacity + 1e-9


@pytest.mark.parametrize(
    ("kind", "text", "glass"),
    [
        pytest.param("cylinder", "25/0.5", cylinder(25, 0.5), id="cylinder"),
        pytest.param("cylinder", " 25 / 0.5 / 0.25 ", cylinder(25, 0.5, 0.25), id="with tolerance"),
        pytest.param("pipette", "10/0.02", Glassware(kind="pipette", capacity=10, tolerance=0.02), id="one mark"),
        pytest.param(
            "pipette", "5/0.1/0.05", Glassware(kind="pipette", capacity=5, division=0.1, tolerance=0.05), id="marks"
        ),
    ],
)
def test_glassware_as_it_is_typed(kind, text, glass):
    assert parse_glassware(kind, text) == glass


@pytest.mark.parametrize(
    ("call", "said"),
    [
        pytest.param(lambda: cylinder(0, 0.5), r"cylinder, capacity: wanted a volume above 0 mL, given 0\.", id="size"),
        pytest.param(
            lambda: cylinder(25, 20), "division: wanted at most half of the capacity, given 20 mL", id="marks"
        ),
        pytest.param(lambda: cylinder(25, None), "25 mL cylinder: wanted the distance of its marks", id="no marks"),
        pytest.param(
            lambda: Glassware(kind="pipette", capacity=10), "with one mark: wanted its tolerance", id="no tolerance"
        ),
        pytest.param(lambda: Glassware(kind="jug", capacity=10), "wanted cylinder or pipette, given 'jug'", id="kind"),
        pytest.param(lambda: parse_glassware("cylinder", "25"), "such as 25/0.5 .* given '25'", id="text"),
        pytest.param(lambda: parse_glassware("pipette", "a/b"), "such as 10/0.02 .* given 'a/b'", id="pipette text"),
        pytest.param(lambda: measure_out(0), "volume: wanted one above 0 mL, given 0", id="no volume"),
        pytest.param(lambda: measure_out(float("nan")), "volume: wanted one above 0 mL, given nan", id="nan"),
        pytest.param(lambda: measure_out(5, []), "wanted at least one cylinder or pipette", id="no glass"),
    ],
)
def test_wrong_input_says_what_was_wanted(call, said):
    with pytest.raises(PlanError, match=said):
        call()
