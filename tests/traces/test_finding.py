"""Finding spots: against scipy.signal where it has a counterpart, against closed forms elsewhere."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lanes import NOISES, POSITIONS, bell, paper, table, tailing
from scipy import signal

from lanewise.traces import Noise, find_peaks, white_noise
from lanewise.traces._features import Reading, crossing, tops_of
from lanewise.traces._zones import LANDMARKS, landmarks

OVERLAP = table("traces_gaussian_overlap")
whole_traces = st.lists(st.integers(0, 6), min_size=3, max_size=40).map(lambda values: np.array(values, dtype=float))


def noisy(spots, seed=0, sd=0.003):
    x = POSITIONS
    rng = np.random.default_rng(seed)
    return paper(x, seed) + sum(bell(x, *spot) for spot in spots) + rng.normal(0.0, sd, len(x))


# --- against scipy.signal


@given(whole_traces, st.integers(1, 4))
def test_maxima_and_prominences_as_in_scipy(s, least):
    """Flat tops, equal tops and ends included."""
    expected, properties = signal.find_peaks(s, height=least, prominence=least)
    found = tops_of(s, least)
    assert found.at.tolist() == expected.tolist()
    assert found.prominence.tolist() == properties["prominences"].tolist()
    assert found.prominence.tolist() == signal.peak_prominences(s, found.at)[0].tolist()


@pytest.mark.parametrize("share", [0.1, 0.5])
def test_crossings_as_in_scipy(share):
    """Spots that rise from nothing, so that their prominence is their height, as scipy counts widths."""
    s = sum(bell(POSITIONS, *spot) for spot in ((0.3, 15.0, 1.5), (0.1, 34.0, 2.0), (0.2, 61.3, 1.0)))
    s = np.where(s < 1e-3, 0.0, s)
    tops = tops_of(s, 0.01)
    level = Reading(share * s[tops.at], np.zeros((3, len(s))))
    before, after = (crossing(POSITIONS, s, tops, side, level).value for side in (-1, 1))
    widths, _, left, right = signal.peak_widths(s, tops.at, rel_height=1.0 - share)
    step = POSITIONS[1]
    assert before == pytest.approx(step * left, abs=1e-12)
    assert after == pytest.approx(step * right, abs=1e-12)
    assert after - before == pytest.approx(step * widths, abs=1e-12)


def test_same_spots_and_widths_as_scipy():
    """Through the front door, on a clean trace left as it is; here a parabola stands for the highest point."""
    y = sum(bell(POSITIONS, *spot) for spot in ((0.3, 15.0, 1.5), (0.1, 34.0, 2.0), (0.2, 61.4, 1.2)))
    found = find_peaks(POSITIONS, y, narrowest=0.0, baseline=0.0)
    at, properties = signal.find_peaks(y, prominence=0.01)
    assert found.apex == pytest.approx(POSITIONS[at], abs=0.01)
    assert found.prominence == pytest.approx(properties["prominences"], abs=1e-12)
    assert found.half_width == pytest.approx(0.2 * signal.peak_widths(y, at)[0], rel=3e-3)


# --- against closed forms


def test_readings_of_gaussians():
    """Smoothing and straight lines between points cost less than half a hundredth of the standard deviation."""
    spots = ((0.3, 15.07, 1.5), (0.1, 34.0, 2.0), (0.2, 61.33, 1.2))
    found = find_peaks(POSITIONS, sum(bell(POSITIONS, *spot) for spot in spots))
    height, centre, sigma = np.array(spots).T
    expected = {
        "apex": centre,
        "centre": centre,
        "trailing": centre - 2 * sigma,
        "leading": centre + 2 * sigma,
        "width": 4 * sigma,
        "half_width": 2.35482 * sigma,
    }
    for name, value in expected.items():
        assert (getattr(found, name) - value) / sigma == pytest.approx(0.0, abs=0.02), name
    assert found.height == pytest.approx(height, rel=5e-3)
    assert found.area == pytest.approx(2.506628 * height * sigma, rel=2e-3)
    assert found.asymmetry == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("ratio", [0.5, 1.0, 2.0, -1.0])
def test_readings_of_tailing_spots(ratio):
    sigma, s = 1.5, 1.5 * np.hypot(1.0, ratio)
    place = dict(zip(LANDMARKS, landmarks(np.array(ratio**3)).tolist(), strict=True))
    mean = 40.0 - ratio * sigma
    found = find_peaks(POSITIONS, tailing(POSITIONS, 1.0, 40.0, sigma, ratio * sigma), baseline=0.0)
    for name in ("apex", "trailing", "leading"):
        assert (getattr(found, name) - mean - s * place[name]) / s == pytest.approx(0.0, abs=0.03), name
    assert found.centre == pytest.approx(mean, abs=0.05 * s)
    assert found.area == pytest.approx(1.0, abs=0.01)
    rear, lead = place["apex"] - place["rear"], place["lead"] - place["apex"]
    assert found.asymmetry == pytest.approx(rear / lead, rel=0.04)


@pytest.mark.parametrize("row", [row for row in OVERLAP if float(row["Rs"]) > 0.5], ids=lambda row: f"Rs {row['Rs']}")
def test_valley_between_two_equal_spots(row):
    """Sigma 1, drawn on a fine grid; at Rs 0.5 there is no valley."""
    x, apart = np.linspace(-15.0, 15.0, 6001), float(row["separation_in_sigma"])
    y = bell(x, 1.0, -apart / 2, 1.0) + bell(x, 1.0, apart / 2, 1.0)
    found = find_peaks(x, y, narrowest=0.0, baseline=0.0)
    place = apart / 2 - float(row["apparent_position_of_first_top"])
    assert len(found) == 2
    assert found.height == pytest.approx(float(row["top_height"]), abs=5e-3)  # a polynomial through the upper part
    assert found.apex == pytest.approx([-place, place], abs=0.02)
    assert np.interp(found.high[0], x, y) == pytest.approx(float(row["valley_height"]), abs=1e-6)
    assert found.high[0] == found.low[1] or float(row["Rs"]) > 1.5  # nothing is left there to part
    assert y.max() == pytest.approx(float(row["top_height"]), abs=1e-5)


def test_no_valley_is_one_spot():
    row = next(row for row in OVERLAP if row["Rs"] == "0.5")
    x, apart = np.linspace(-15.0, 15.0, 601), float(row["separation_in_sigma"])
    assert len(find_peaks(x, bell(x, 1.0, -apart / 2, 1.0) + bell(x, 1.0, apart / 2, 1.0), baseline=0.0)) == 1


def test_what_a_trace_does_not_show_is_nan():
    """Neither falls to a tenth between the two, and the smaller not to a half."""
    found = find_peaks(POSITIONS, bell(POSITIONS, 0.3, 40.0, 1.5) + bell(POSITIONS, 0.12, 44.5, 1.5))
    assert len(found) == 2
    for name in ("asymmetry", "u_asymmetry"):
        assert np.isnan(getattr(found, name)).all(), name
    for name in ("half_width", "u_half_width"):
        assert np.isnan(getattr(found, name)).tolist() == [False, True], name
    for name in ("apex", "trailing", "leading", "width", "area", "centre", "height"):
        assert np.isfinite(getattr(found, f"u_{name}")).all(), name


def test_area_is_cut_at_the_valley():
    found = find_peaks(POSITIONS, bell(POSITIONS, 0.3, 40.0, 1.5) + bell(POSITIONS, 0.3, 45.0, 1.5), baseline=0.0)
    assert found.high[0] == found.low[1]
    assert found.area.sum() == pytest.approx(2 * 0.3 * 1.5 * np.sqrt(2 * np.pi), rel=2e-3)


# --- noise


@pytest.mark.parametrize("kind", NOISES.values(), ids=NOISES)
def test_blank_lanes_show_nothing(kind):
    """Not quite nothing: 1 lane in 20 may."""
    lanes = [paper(POSITIONS, seed) + 0.003 * kind(POSITIONS, np.random.default_rng(seed)) for seed in range(100)]
    assert sum(len(find_peaks(POSITIONS, lane)) for lane in lanes) <= 5


def test_pale_spots_are_found():
    """Four times the noise of one point, beside spots of a hundred times."""
    spots = ((0.30, 15.0, 1.5), (0.25, 24.0, 1.5), (0.012, 45.0, 1.5), (0.30, 65.0, 2.0))
    runs = [find_peaks(POSITIONS, noisy(spots, seed)) for seed in range(60)]
    assert np.mean([np.abs(run.apex - 45.0).min() < 2.0 for run in runs]) > 0.9
    assert np.mean([len(run) for run in runs]) == pytest.approx(4.0, abs=0.1)


def test_noise_is_told():
    found = [find_peaks(POSITIONS, noisy(((0.3, 20.0, 1.5), (0.2, 50.0, 2.0)), seed)).noise for seed in range(20)]
    assert np.mean(found) == pytest.approx(0.003, rel=0.05)


def test_a_known_noise_is_used():
    y = noisy(((0.3, 20.0, 1.5),))
    small, large = (find_peaks(POSITIONS, y, noise=white_noise(sd)) for sd in (0.004, 0.04))
    assert large.u_apex == pytest.approx(10 * small.u_apex)
    assert large.noise == pytest.approx(0.04)
    coarse = find_peaks(POSITIONS, y, noise=Noise(np.array([2.0]), np.array([0.2**2])))
    assert len(coarse) == 0  # it would not stand out of that


def test_least_decides():
    y = noisy(((0.3, 20.0, 1.5), (0.02, 50.0, 1.5)))
    assert len(find_peaks(POSITIONS, y, least=5.0)) == 2
    assert len(find_peaks(POSITIONS, y, least=50.0)) == 1


# --- awkward lanes


def test_half_a_spot_at_the_origin_spoils_nothing():
    """What stayed behind at the start of the trace is no spot, and belongs to no baseline."""
    y = noisy(((0.3, 0.0, 1.5), (0.3, 30.0, 1.5)), sd=0.001)
    found = find_peaks(POSITIONS, y)
    assert found.apex == pytest.approx([30.0], abs=0.05)
    assert found.noise == pytest.approx(0.001, rel=0.3)
    assert find_peaks(POSITIONS[::-1] * -1.0, y[::-1]).apex == pytest.approx([-30.0], abs=0.05)


def test_a_clipped_spot_is_one():
    y = np.minimum(bell(POSITIONS, 0.3, 20.0, 1.5), 0.2) + np.random.default_rng(1).normal(0.0, 0.001, 401)
    assert find_peaks(POSITIONS, y).apex == pytest.approx([20.0], abs=0.1)
    flat = find_peaks(POSITIONS, np.minimum(bell(POSITIONS, 0.3, 20.0, 1.5), 0.2), narrowest=0.0, baseline=0.0)
    assert flat.apex == pytest.approx([20.0], abs=1e-6)


def test_a_crowded_lane_says_so():
    spots = tuple((0.2, place, 1.5) for place in np.arange(5.0, 78.0, 9.0))
    assert find_peaks(POSITIONS, noisy(spots)).crowded
    assert not find_peaks(POSITIONS, noisy(spots[:4])).crowded


@pytest.mark.parametrize("y", [np.zeros(401), np.full(401, 3.0), POSITIONS], ids=["nothing", "even", "slope"])
def test_an_empty_trace_has_no_spots(y):
    found = find_peaks(POSITIONS, y)
    assert len(found) == 0
    assert found.apex.shape == found.u_area.shape == found.low.shape == (0,)
    assert found.baseline == pytest.approx(y, abs=1e-6)


def test_uneven_positions():
    rng = np.random.default_rng(3)
    x = np.sort(rng.uniform(0.0, 80.0, 400))
    y = 0.05 + bell(x, 0.3, 20.0, 1.5) + bell(x, 0.1, 50.0, 2.0) + rng.normal(0.0, 0.003, 400)
    found = find_peaks(x, y)
    assert np.abs(found.apex - [20.0, 50.0]).max() < 0.1
    assert np.all(np.abs(found.area - [1.128, 0.501]) < 4 * found.u_area)


@pytest.mark.parametrize(
    ("x", "y", "text"),
    [
        (np.arange(3.0), np.arange(3.0), "wants at least 8 points, given 3"),
        (np.arange(9.0), np.arange(8.0), r"as many positions as values, .* shapes \(9,\) and \(8,\)"),
        (np.zeros((9, 2)), np.zeros((9, 2)), "each in one row"),
        (np.arange(9.0), np.where(np.arange(9) == 4, np.nan, 1.0), r"values\[4\] is nan: wanted a finite number"),
        (np.where(np.arange(9) == 2, np.inf, np.arange(9.0)), np.ones(9), r"positions\[2\] is inf"),
        (np.arange(9.0)[::-1], np.ones(9), r"positions\[1\] = 7 after 8: positions must rise from origin to front"),
        (np.round(np.arange(9.0) / 2), np.ones(9), r"positions\[1\] = 0 after 0"),
    ],
    ids=["few", "lengths", "two rows", "nan", "inf", "falling", "twice"],
)
def test_refusals(x, y, text):
    with pytest.raises(ValueError, match=text):
        find_peaks(x, y)


@pytest.mark.parametrize("option", [{"narrowest": -1.0}, {"least": -1.0}, {"least": float("nan")}])
def test_refuses_negative_options(option):
    with pytest.raises(ValueError, match="cannot be negative"):
        find_peaks(POSITIONS, np.zeros(401), **option)


@pytest.mark.parametrize("baseline", [np.zeros(5), float("nan")], ids=["length", "nan"])
def test_refuses_a_baseline_that_does_not_fit(baseline):
    with pytest.raises(ValueError, match="one finite number, or one for each of the 401 positions"):
        find_peaks(POSITIONS, np.zeros(401), baseline=baseline)


def test_a_full_lane_wants_its_baseline():
    """Nothing but spots: with the baseline they are all there."""
    spots = tuple((0.2, place, 1.5) for place in np.arange(5.0, 78.0, 5.0))
    y = 0.05 + sum(bell(POSITIONS, *spot) for spot in spots) + np.random.default_rng(4).normal(0.0, 0.002, 401)
    assert len(find_peaks(POSITIONS, y, baseline=0.05, noise=white_noise(0.002))) == len(spots)


def test_wide_spots_on_a_fine_grid():
    """The smoother keeps its digits where a spot is thousands of points wide."""
    x = np.linspace(0.0, 150.0, 15_001)
    found = find_peaks(x, bell(x, 0.3, 70.0, 8.0) + np.random.default_rng(5).normal(0.0, 0.003, len(x)))
    assert np.abs(found.apex - 70.0).max() < 0.2
    assert found.width == pytest.approx(32.0, rel=0.05)


def test_too_many_points_are_refused():
    x = np.arange(400_000.0)
    with pytest.raises(ValueError, match="average neighbours where there are more than 20 000"):
        find_peaks(x, np.cos(x))
