"""From traces to spots of the record. All traces are invented; their zones are drawn by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from lanewise.densitometry import CROWDED, NOT_FITTED, spots_of_trace
from lanewise.errors import AnalysisError
from lanewise.model.plates import Lane, Plate, Trace

X = np.linspace(0.0, 100.0, 501)
ORIGIN, FRONT = 10.0, 85.0


def bell(centre, sigma=1.5, area=1.0):
    return area * stats.norm.pdf(X, centre, sigma)


def tailing(centre, sigma, tau, area=1.0):
    """The tail runs towards the origin: the mirror image of what scipy calls exponnorm."""
    return area * stats.exponnorm.pdf(centre - X, tau / sigma, scale=sigma)


def trace(*zones, noise=0.001, seed=1):
    rng = np.random.default_rng(seed)
    return Trace(positions=X.tolist(), values=(sum(zones, np.zeros(len(X))) + rng.normal(0.0, noise, len(X))).tolist())


def found(*zones, front=FRONT, **settings):
    return spots_of_trace(trace(*zones, **settings), origin=ORIGIN, front=front)


def test_spots_have_the_marks_of_their_zones():
    first, second = found(bell(30.0, 1.5, 0.9), bell(61.0, 2.0, 1.4))
    assert [first.label, second.label] == ["1", "2"]
    for spot, (centre, sigma, area) in ((first, (30.0, 1.5, 0.9)), (second, (61.0, 2.0, 1.4))):
        assert spot.state == "measured"
        assert spot.point == "darkest"
        # a Gaussian: edges 2 standard deviations from the apex, where the tangents at the inflections meet the baseline
        # (closed form); four standard uncertainties leave one trace in 16,000 outside
        for name, truth in (("centre", centre), ("trailing", centre - 2 * sigma), ("leading", centre + 2 * sigma)):
            assert abs(getattr(spot, name) - truth) < 4 * getattr(spot, f"u_{name}")
        assert abs(spot.area - area) < 4 * spot.u_area
        assert spot.note == ""


def test_step_and_misfit_are_in_the_uncertainty():
    (spot,) = found(bell(40.0), noise=1e-9)
    step = 0.2 / 12**0.5  # a rectangular distribution, JCGM 100:2008, 4.3.7
    assert spot.u_centre == pytest.approx(np.hypot(step, 0.015 * 1.5), rel=1e-3)


def test_intervals_hold_the_truth():
    """About 95 in a hundred of the darkest points and areas lie within two standard uncertainties."""
    inside = np.zeros(2)
    for seed in range(60):
        (spot,) = found(bell(43.21, 1.5, 0.5), noise=0.004, seed=seed)
        inside += abs(spot.centre - 43.21) < 1.96 * spot.u_centre, abs(spot.area - 0.5) < 1.96 * spot.u_area
    assert (inside >= 51).all()  # fewer come once in 20,000 times at 95 %, by the binomial distribution
    assert inside[1] <= 60


@pytest.mark.parametrize(
    ("centre", "state", "edge"),
    [
        pytest.param(ORIGIN + 0.3, "at origin", "leading", id="at the origin"),
        pytest.param(FRONT - 0.4, "with front", "trailing", id="with the front"),
    ],
)
def test_a_spot_at_a_line_is_no_number(centre, state, edge):
    first, second = sorted(found(bell(centre), bell(50.0)), key=lambda spot: spot.state == "measured")
    assert first.state == state
    assert first.centre is None
    assert {name for name in ("trailing", "leading") if getattr(first, name) is not None} == {edge}
    assert getattr(first, edge) == pytest.approx(centre + (3.0 if edge == "leading" else -3.0), abs=0.2)
    assert second.state == "measured"


def test_a_long_tail_is_a_streak():
    (spot,) = found(tailing(52.0, 1.0, 6.0, 2.0))
    assert spot.state == "streak"
    assert spot.trailing < spot.centre < spot.leading
    mode = X[np.argmax(tailing(52.0, 1.0, 6.0))]
    assert spot.centre == pytest.approx(mode, abs=0.2)


def test_a_spot_longer_than_a_fifth_of_the_run_is_a_streak():
    (spot,) = found(bell(45.0, 4.5, 3.0))
    assert spot.state == "streak"
    (spot,) = found(bell(45.0, 3.0, 3.0))
    assert spot.state == "measured"


def test_what_lies_beyond_the_lines_is_no_spot_of_the_run():
    assert [spot.centre for spot in found(bell(4.0), bell(50.0), bell(93.0))] == [pytest.approx(50.0, abs=0.1)]


def test_without_a_front_there_is_no_upper_end():
    assert len(found(bell(50.0), bell(93.0), front=None)) == 2


def test_a_lane_full_from_end_to_end_is_said_to_be():
    spots = found(*(bell(at, 2.0) for at in range(5, 96, 10)), noise=1e-3)
    assert spots
    assert all(CROWDED in spot.note for spot in spots)


def test_an_empty_lane_has_no_spot():
    assert found() == ()


def test_where_no_curve_can_be_fitted_the_trace_is_read_as_it_stands():
    """Two spots so high at the ends of a short trace that a fit of four parameters each wants more points."""
    x = np.linspace(20.0, 40.0, 9)
    values = [0.0, 0.0, 0.1, 0.9, 0.2, 0.0, 0.0, 0.0, 0.0]
    (spot,) = spots_of_trace(Trace(positions=x.tolist(), values=values), origin=10.0, front=85.0)
    assert spot.note.startswith(NOT_FITTED)
    assert spot.centre == pytest.approx(27.5, abs=1.0)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        pytest.param(
            {"origin": 20.0, "front": 20.0}, "front beyond the origin at 20 mm, given one at 20 mm", id="no run"
        ),
        pytest.param({"origin": 120.0}, "begins at 120 mm, given one from 0 to 100 mm", id="trace before the run"),
        pytest.param({"origin": -30.0, "front": -5.0}, "given one from 0 to 100 mm", id="trace behind the run"),
    ],
)
def test_lines_that_cannot_be(lines, said):
    with pytest.raises(AnalysisError, match=said):
        spots_of_trace(trace(bell(50.0)), **lines)


@settings(max_examples=40, deadline=None)
@given(
    zones=st.lists(st.tuples(st.floats(-5, 105), st.floats(0.3, 8), st.floats(0, 12), st.floats(0.01, 3)), max_size=5),
    front=st.none() | st.floats(30.0, 99.0),
    noise=st.sampled_from([0.0, 1e-4, 0.01]),
    seed=st.integers(0, 5),
)
def test_whatever_is_found_fits_into_the_record(zones, front, noise, seed):
    drawn = [tailing(at, sigma, tau, area) if tau > 0.1 else bell(at, sigma, area) for at, sigma, tau, area in zones]
    recorded = trace(*drawn, noise=noise, seed=seed)
    spots = spots_of_trace(recorded, origin=ORIGIN, front=front)
    lane = Lane(label="A", spots=spots, traces=[recorded])
    plate = Plate(label="1", origin=ORIGIN, front=front, lanes=[lane])  # refuses what cannot be
    assert [spot.label for spot in plate.lanes[0].spots] == [str(number) for number in range(1, len(spots) + 1)]
    assert all(spot.state in ("measured", "streak") or spot.centre is None for spot in spots)
