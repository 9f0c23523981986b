"""Intervals in closed form. Tabulated cases are checked in tests/reference/test_metrology.py; here are the laws."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from lanewise.uncertainty.intervals import bounded_multipliers, ratio_end, ratio_ends, ratio_interval

COVERAGE = Path(__file__).parents[1] / "reference" / "metrology" / "fieller_coverage.csv"
with COVERAGE.open(encoding="utf-8", newline="") as file:
    SIMULATED = [{name: row[name] for name in row} for row in csv.DictReader(file)]

USUAL = 1.959963984540054
# Distance and run of a spot in millimetres, their variances and their covariance: one origin reading, each u 0.25 mm.
LANE = (40.0, 80.0, 0.125, 0.125, 0.0625)
ratios = st.floats(-0.1, 1.1)
levels = st.floats(0.5, 0.999)


def content(x: float, u: float, lower: float, upper: float, low: float, high: float) -> float:
    """Share of a normal distribution, cut to its bounds, that lies between two ends."""

    def between(a: float, b: float) -> float:
        first, second = (a - x) / u, (b - x) / u
        return ndtr(second) - ndtr(first) if first < 0 else ndtr(-first) - ndtr(-second)

    return between(low, high) / between(lower, upper)


# --- bounds


@settings(deadline=None)
@given(x=st.floats(-0.2, 1.2), u=st.floats(0.02, 2.0), level=levels)
def test_the_interval_holds_its_share_of_what_is_possible(x: float, u: float, level: float) -> None:
    below, above = bounded_multipliers([x], [u], 0.0, 1.0, level)
    low, high = x - below[0] * u, x + above[0] * u
    assert -1e-12 < low < high < 1.0 + 1e-12
    assert content(x, u, 0.0, 1.0, low, high) == pytest.approx(level, rel=1e-7)


@pytest.mark.parametrize("x", [-0.03, 0.0, 0.01, 0.021, 0.3, 0.985, 1.0, 1.04], ids=str)
@pytest.mark.parametrize("u", [0.01, 0.3], ids=str)
def test_no_other_interval_is_shorter(x: float, u: float) -> None:
    """Every start between the bounds is tried: the interval of 95 % from there is at least as long."""
    edges = np.linspace(0.0, 1.0, 200_001)
    middles = (edges[1:] + edges[:-1]) / 2
    heap = np.concatenate([[0.0], np.cumsum(np.exp(-0.5 * ((middles - x) / u) ** 2))])
    ends = np.searchsorted(heap, heap + 0.95 * heap[-1])
    possible = ends < len(edges)
    shortest = (edges[ends[possible]] - edges[possible]).min()
    below, above = bounded_multipliers([x], [u], 0.0, 1.0)
    assert (below[0] + above[0]) * u == pytest.approx(shortest, abs=1e-5)  # two steps of the grid


@settings(deadline=None)
@given(x=st.floats(-0.2, 1.2), u=st.floats(0.005, 2.0))
def test_the_two_ends_are_alike(x: float, u: float) -> None:
    below, above = bounded_multipliers([x], [u], 0.0, 1.0)
    mirrored_below, mirrored_above = bounded_multipliers([1.0 - x], [u], 0.0, 1.0)
    assert below[0] == pytest.approx(mirrored_above[0], rel=1e-9, abs=1e-12)
    assert above[0] == pytest.approx(mirrored_below[0], rel=1e-9, abs=1e-12)


def test_far_from_the_bounds_the_interval_is_the_usual_one() -> None:
    below, above = bounded_multipliers([0.5, 0.5, 7.0], [0.01, 0.05, 1.0], [0.0, 0.0, -np.inf], [1.0, 1.0, np.inf])
    assert below == pytest.approx(np.full(3, USUAL), rel=1e-9)
    assert above == pytest.approx(np.full(3, USUAL), rel=1e-9)


@pytest.mark.parametrize("level", [0.5, 0.95, 0.9999, 1 - 1e-9], ids=str)
def test_the_usual_interval_is_reached_without_a_step(level: float) -> None:
    """The short cut for distant bounds must not show."""
    x = np.linspace(0.0, 20.0, 2001)
    below, above = bounded_multipliers(x, np.ones_like(x), 0.0, np.inf, level)
    assert np.abs(np.diff(x - below)).max() < 0.0101
    assert np.abs(np.diff(above)).max() < 0.01 + 1e-7
    assert (x - below).min() > -1e-12


@pytest.mark.parametrize("distance", [3.0, 12.0, 40.0, 300.0], ids=str)
def test_beyond_a_bound_what_is_left_is_a_tail(distance: float) -> None:
    """Far outside, the density falls off like exp(-distance z): 95 % of it lies within ln(20) / distance.

    The next term of the tail makes that shorter by less than 2 / distance^2 of it.
    """
    below, above = bounded_multipliers([-distance], [1.0], 0.0, np.inf)
    assert -distance - below[0] == 0.0
    high = -distance + above[0]
    tail = np.log(20.0) / distance
    assert tail * (1.0 - 4.0 / distance**2) <= high * (1 + 1e-9)
    assert high < tail


@pytest.mark.parametrize("u", [0.0, np.nan], ids=["exact", "nan"])
def test_without_an_uncertainty_the_bounds_are_not_looked_at(u: float) -> None:
    below, above = bounded_multipliers([-3.0], [u], 0.0, 1.0)
    assert [below[0], above[0]] == pytest.approx([USUAL, USUAL])


def test_single_numbers_will_do() -> None:
    below, above = bounded_multipliers(0.005, 0.010, 0.0, 1.0)
    assert below == pytest.approx([0.5])
    assert above == pytest.approx([1.8175], abs=5e-5)  # 0.02317463: metrology/bounded_intervals.csv


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0], ids=str)
def test_an_impossible_level(level: float) -> None:
    with pytest.raises(ValueError, match="wanted a coverage probability between 0 and 1"):
        bounded_multipliers([0.5], [0.1], 0.0, 1.0, level)
    with pytest.raises(ValueError, match="wanted a coverage probability between 0 and 1"):
        ratio_interval(*LANE, level=level)


# --- ratios


@settings(deadline=None)
@given(rf=ratios, u=st.floats(0.01, 5.0), t=st.floats(-4.0, 4.0))
def test_an_end_is_where_the_probability_is_the_wanted_one(rf: float, u: float, t: float) -> None:
    """The derivation, backwards: N - r D is normal, and at the end r it is t standard uncertainties below zero."""
    n, d, vn, vd, c = rf * 80.0, 80.0, 2 * u**2, 2 * u**2, u**2
    r = float(ratio_end(n, d, vn, vd, c, t))
    assert (r * d - n) == pytest.approx(t * np.sqrt(vn - 2 * r * c + r**2 * vd), abs=1e-9 * d)


def test_ends_solve_the_quadratic() -> None:
    """The usual form: a r^2 - 2 b r + c = 0 with a = d^2 - t^2 vd, b = n d - t^2 cov, c = n^2 - t^2 vn."""
    n, d, vn, vd, cov = 3.0, 8.0, 1.0, 0.6, -0.2
    t = 2.0
    roots = np.sort(np.roots([d**2 - t**2 * vd, -2 * (n * d - t**2 * cov), n**2 - t**2 * vn]))
    assert [float(ratio_end(n, d, vn, vd, cov, sign * t)) for sign in (-1, 1)] == pytest.approx(roots, rel=1e-12)


def test_both_signs_of_both_distances_are_one_ratio() -> None:
    """Positions may count in either sense."""
    n, d, *moments = LANE
    assert ratio_end(-n, -d, *moments, [-2.0, 2.0]) == pytest.approx(ratio_end(n, d, *moments, [-2.0, 2.0]), rel=1e-12)
    low, high = ratio_interval(n, d, *moments, lower=0.0, upper=1.0)
    turned_low, turned_high = ratio_interval(-n, -d, *moments, lower=0.0, upper=1.0)
    assert [low[0], high[0]] == pytest.approx([turned_low[0], turned_high[0]], rel=1e-12)


@pytest.mark.parametrize("u", [1e-3, 1e-6, 1e-9], ids=str)
def test_small_uncertainties_lose_no_digits(u: float) -> None:
    """Against first order, which becomes exact: u(Rf) D / u = sqrt(1.5) at 0.5."""
    end = float(ratio_end(40.0, 80.0, 2 * u**2, 2 * u**2, u**2, 2.0))
    assert (end - 0.5) / (2.0 * u / 80.0 * 1.5**0.5) == pytest.approx(1.0, abs=max(1e-4 * u, 1e-16 / u * 80))


def test_an_exact_ratio_is_its_own_interval() -> None:
    assert float(ratio_end(40.0, 80.0, 0.0, 0.0, 0.0, 2.0)) == 0.5
    low, high = ratio_interval([0.0, 40.0, 80.0], 80.0, 0.0, 0.0, 0.0, lower=0.0, upper=1.0)
    assert low.tolist() == high.tolist() == [0.0, 0.5, 1.0]


def test_distances_that_err_alike_have_a_sure_ratio() -> None:
    """Numerator and denominator fully correlated, as by one scale error: both ends are the ratio, and never nan."""
    ratio = np.linspace(0.0, 1.0, 1001)
    ends = [ratio_end(80.0 * ratio, 80.0, 0.07 * ratio**2, 0.07, 0.07 * ratio, t) for t in (-USUAL, USUAL)]
    assert ends[0] == pytest.approx(ratio, abs=1e-9)
    assert ends[1] == pytest.approx(ratio, abs=1e-9)


@pytest.mark.parametrize("d", [0.0, 0.4, -0.4], ids=str)
def test_a_denominator_that_may_be_zero_has_no_ends(d: float) -> None:
    assert np.isnan(ratio_end(40.0, d, 0.125, 0.125, 0.0625, [-USUAL, USUAL])).all()


@pytest.mark.parametrize("sense", [1.0, -1.0], ids=["forwards", "backwards"])
def test_both_ends_at_once_are_the_two_ends(sense: float) -> None:
    """The quick way for tables, from the ratio and its first-order u, on distances drawn at random."""
    random = np.random.default_rng(12)
    n, d = sense * random.uniform(-5.0, 90.0, 1000), sense * random.uniform(0.5, 80.0, 1000)
    vn, vd = random.uniform(0.01, 2.0, (2, 1000))
    c = random.uniform(-0.9, 0.9, 1000) * np.sqrt(vn * vd)
    u = np.sqrt(vn - 2 * (n / d) * c + (n / d) ** 2 * vd) / np.abs(d)
    low, high = ratio_ends(n / d, u, d, vn, vd, c, USUAL)
    assert low == pytest.approx(ratio_end(n, d, vn, vd, c, -USUAL), rel=1e-9, nan_ok=True)
    assert high == pytest.approx(ratio_end(n, d, vn, vd, c, USUAL), rel=1e-9, nan_ok=True)
    assert 0 < np.isnan(low).sum() < 100


@pytest.mark.parametrize("row", SIMULATED[:3], ids=[f"{row['mean_x']} over {row['mean_y']}" for row in SIMULATED[:3]])
def test_ratio_ends_cover_as_they_say(row: dict) -> None:
    """Pairs drawn at random: 95 % of the intervals hold the true ratio, 2.5 % miss it on each side.

    The fourth row of the table has a denominator that is often not shown to differ from zero, where ends are nan.
    """
    mx, my, sx, sy, rho = (float(row[name]) for name in ("mean_x", "mean_y", "sd_x", "sd_y", "rho"))
    random = np.random.default_rng(11)
    x, z = random.standard_normal((2, 200_000))
    n, d = mx + sx * x, my + sy * (rho * x + np.sqrt(1 - rho**2) * z)
    low, high = (ratio_end(n, d, sx**2, sy**2, rho * sx * sy, t) for t in (-USUAL, USUAL))
    above, below = (mx / my < low).mean(), (mx / my > high).mean()
    assert above == pytest.approx(0.025, abs=0.0014)  # four standard errors of the simulation
    assert below == pytest.approx(0.025, abs=0.0014)
    assert 1 - above - below == pytest.approx(float(row["coverage_fieller"]), abs=0.0025)


# --- ratios with bounds


@settings(deadline=None)
@given(rf=ratios, u=st.floats(0.01, 5.0), level=levels)
def test_a_bounded_ratio_stays_within_its_bounds(rf: float, u: float, level: float) -> None:
    moments = (rf * 80.0, 80.0, 2 * u**2, 2 * u**2, u**2)
    low, high = (float(end[0]) for end in ratio_interval(*moments, lower=0.0, upper=1.0, level=level))
    assert 0.0 <= low < high <= 1.0


@settings(deadline=None)
@given(rf=ratios, u=st.floats(0.6, 5.0), level=levels)
def test_a_bounded_ratio_holds_its_share(rf: float, u: float, level: float) -> None:
    """Share of the probability between 0 and 1, by the distribution of N - r D."""

    def z(r: float) -> float:
        return (r * d - n) / np.sqrt(vn - 2 * r * c + r**2 * vd)

    n, d, vn, vd, c = rf * 80.0, 80.0, 2 * u**2, 2 * u**2, u**2
    low, high = (float(end[0]) for end in ratio_interval(n, d, vn, vd, c, lower=0.0, upper=1.0, level=level))
    assert content(0.0, 1.0, z(0.0), z(1.0), z(low), z(high)) == pytest.approx(level, rel=1e-6)


def test_a_spot_near_the_origin_ends_exactly_there() -> None:
    low, high = ratio_interval([-0.3, 0.0, 0.3, 0.69], 80.0, 0.125, 0.125, 0.0625, lower=0.0, upper=1.0)
    assert low[:3].tolist() == [0.0, 0.0, 0.0]
    assert low[3] < 1e-3
    assert (np.diff(high) > 0).all()


def test_a_spot_near_the_front_ends_exactly_there() -> None:
    low, high = ratio_interval([79.7, 80.0, 80.3], 80.0, 0.125, 0.125, 0.0625, lower=0.0, upper=1.0)
    assert high.tolist() == [1.0, 1.0, 1.0]
    assert (np.diff(low) > 0).all()


def test_first_order_distances_would_let_the_interval_out() -> None:
    """Why the bound's distance is measured on the ratio's own scale: just inside, the other way ends below 0."""
    moments = np.array([0.589, 80.0, 0.125, 0.125, 0.0625])
    rf = moments[0] / 80.0
    u = 0.25 / 80.0 * np.sqrt(2.0 * (1.0 - rf + rf**2))
    below, _ = bounded_multipliers([rf], [u], 0.0, 1.0)
    assert float(ratio_end(*moments, -below)[0]) < 0.0
    assert ratio_interval(*moments, lower=0.0, upper=1.0)[0][0] >= 0.0


def test_without_bounds_it_is_the_plain_interval() -> None:
    low, high = ratio_interval(*LANE)
    assert [low[0], high[0]] == pytest.approx([float(ratio_end(*LANE, t)) for t in (-USUAL, USUAL)], rel=1e-12)


def test_a_missing_reading_has_no_interval() -> None:
    low, high = ratio_interval([np.nan, 40.0], [80.0, np.nan], 0.125, 0.125, 0.0625, lower=0.0, upper=1.0)
    assert np.isnan(low).all()
    assert np.isnan(high).all()
