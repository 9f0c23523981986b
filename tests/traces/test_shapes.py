"""Gaussian zones and zones with a tail: closed forms, tables computed independently, and scipy's own distribution."""

from __future__ import annotations

import numpy as np
import pytest
from lanes import half_unit, table, tailing
from scipy import integrate, stats

from lanewise.traces import emg, gaussian
from lanewise.traces._zones import GAUSSIAN, LANDMARKS, Zones, landmarks
from lanewise.traces.shapes import zone

CASES = table("traces_emg_cases")
DENSITIES = table("traces_emg_density")
RELATIONS = {row["relation"]: row["value"] for row in table("traces_gaussian_relations")}
case = pytest.mark.parametrize("row", CASES, ids=[f"tau {row['tau']} sigma {row['sigma']}" for row in CASES])
TAUS = (0.001, 0.02, 0.5, 1.0, 4.0, 20.0)


def printed(row, column):
    return pytest.approx(float(row[column]), rel=0, abs=half_unit(row[column]))


def landmarks_of(row):
    """Landmarks in mm, mirrored as the table is: its tails lie towards larger x."""
    mu, sigma, tau = (float(row[name]) for name in ("mu", "sigma", "tau"))
    found = dict(zip(LANDMARKS, landmarks(np.array((tau / sigma) ** 3)).tolist(), strict=True))
    s = np.hypot(sigma, tau)
    return {name: mu + tau - s * place for name, place in found.items() if name != "ln height"}, found["ln height"], s


@pytest.mark.parametrize("row", DENSITIES, ids=[f"{r['mu']} {r['sigma']} {r['tau']} {r['x']}" for r in DENSITIES])
def test_density_of_the_table(row):
    mu, sigma, tau, x = (float(row[name]) for name in ("mu", "sigma", "tau", "x"))
    assert emg(x, 1.0, mu, sigma, -tau) == pytest.approx(float(row["pdf"]), rel=2e-12)
    assert emg(2 * mu - x, 1.0, mu, sigma, tau) == pytest.approx(float(row["pdf"]), rel=2e-12)


@pytest.mark.parametrize("tau", [tau for tau in TAUS if tau >= 0.5])
def test_density_of_scipy(tau):
    x = np.linspace(-40.0, 12.0, 300)
    assert emg(x, 2.0, 1.0, 1.5, tau) == pytest.approx(tailing(x, 2.0, 1.0, 1.5, tau), rel=1e-10, abs=1e-300)
    assert emg(-x, 2.0, -1.0, 1.5, -tau) == pytest.approx(tailing(x, 2.0, 1.0, 1.5, tau), rel=1e-10, abs=1e-300)


@case
def test_moments_of_the_table(row):
    mu, sigma, tau = (float(row[name]) for name in ("mu", "sigma", "tau"))
    x = np.linspace(mu - 10 * sigma, mu + 12 * sigma + 45 * tau, 20_001)
    density = emg(x, 1.0, mu, sigma, -tau)
    mean = integrate.simpson(x * density, x=x)
    assert mean == pytest.approx(float(row["mean"]), abs=1e-9)
    moments = [integrate.simpson((x - mean) ** order * density, x=x) for order in (2, 3, 4)]
    assert moments[0] == pytest.approx(float(row["variance"]), rel=1e-9)
    assert moments[1] / moments[0] ** 1.5 == pytest.approx(float(row["skewness"]), rel=1e-8, abs=1e-10)
    assert moments[2] / moments[0] ** 2 - 3 == pytest.approx(float(row["excess_kurtosis"]), rel=1e-8, abs=1e-8)


@case
def test_mode_of_the_table(row):
    """The table's modes come from a search for the largest density, which knows a place to half the digits only."""
    places, _, s = landmarks_of(row)
    assert places["apex"] == pytest.approx(float(row["mode"]), abs=5e-8 * s)


@case
def test_height_and_widths_of_the_table(row):
    places, ln_height, s = landmarks_of(row)
    assert np.exp(ln_height) / s == printed(row, "height_unit_area")
    assert places["before"] - places["after"] == printed(row, "FWHM")
    assert places["rear"] - places["lead"] == printed(row, "W_0.1")
    ratio = (places["rear"] - places["apex"]) / (places["apex"] - places["lead"])
    assert ratio == pytest.approx(float(row["B_over_A_at_10pct"]), rel=5e-8)


@pytest.mark.parametrize("ratio", [-3.0, -0.3, 0.05, 1.0, 8.0])
def test_edges_are_feet_of_the_steepest_tangents(ratio):
    """Against a dense grid of differences."""
    s = np.hypot(1.0, ratio)
    x = np.linspace(-10.0 * s, 10.0 * s, 2_000_001)
    y = emg(x, 1.0, ratio, 1.0, ratio)
    slope = np.gradient(y, x)
    for name, place in (("trailing", np.argmax(slope)), ("leading", np.argmin(slope))):
        found = s * landmarks(np.array(ratio**3))[LANDMARKS.index(name)]
        assert found == pytest.approx(x[place] - y[place] / slope[place], abs=1e-6 * s)


def test_gaussian_relations():
    place = dict(zip(LANDMARKS, GAUSSIAN, strict=True))

    def same(name):
        return pytest.approx(float(RELATIONS[name]), rel=1e-11)

    assert place["after"] - place["before"] == same("FWHM / sigma")
    assert place["lead"] - place["rear"] == same("full width at 10 % / sigma")
    assert place["leading"] - place["trailing"] == same("base width between tangents / sigma")
    assert gaussian(3.5 + 1.7, 2.0, 3.5, 1.7) / 2.0 == same("height of the inflection points / height")
    assert gaussian(3.5 + 2 * 1.7, 2.0, 3.5, 1.7) / 2.0 == same("height at +-2 sigma / height")
    x = np.linspace(-20.0, 30.0, 5001)
    area = integrate.trapezoid(gaussian(x, 2.0, 3.5, 1.7), x)
    assert area / (2.0 * 1.7) == same("area / (height*sigma)")
    assert area / (2.0 * 1.7 * (place["after"] - place["before"])) == same("area / (height*FWHM)")


def test_landmarks_without_a_tail_are_those_of_a_gaussian():
    assert landmarks(np.array([1e-9, -1e-9])) == pytest.approx(np.stack([GAUSSIAN, GAUSSIAN], axis=1), abs=2e-9)


def test_no_tail_is_a_gaussian():
    x = np.linspace(-10.0, 10.0, 101)
    expected = stats.norm.pdf(x, 0.5, 1.3)
    assert emg(x, 3.0, 0.5, 1.3, 0.0) == pytest.approx(3.0 * expected, rel=1e-13)
    assert emg(x, 3.0, 0.5, 1.3, 1e-12) == pytest.approx(3.0 * expected, rel=1e-8)
    mixed = emg(x[:, None], 1.0, 0.5, 1.3, np.array([0.0, 2.0]))
    assert mixed[:, 0] == pytest.approx(expected, rel=1e-13)
    assert mixed[:, 1] == pytest.approx(tailing(x, 1.0, 0.5, 1.3, 2.0), rel=1e-10)


@pytest.mark.parametrize("tau", [*TAUS, *(-tau for tau in TAUS)])
def test_derivatives_of_a_zone(tau):
    """Against differences of the value; those by tau and sigma too."""
    x, step = np.linspace(-8.0, 6.0, 57), 1e-4
    mu, sigma = np.array(0.2), np.array(1.1)

    def value(x=x, sigma=sigma, tau=tau):
        return zone(x, mu, np.array(sigma), np.array(tau)).value

    at = zone(x, mu, sigma, np.array(tau))
    assert at.first == pytest.approx((value(x + step) - value(x - step)) / (2 * step), abs=1e-8)
    assert at.second == pytest.approx((value(x + 1e-3) - 2 * at.value + value(x - 1e-3)) / 1e-6, abs=1e-6)
    by_sigma = (value(sigma=sigma + step) - value(sigma=sigma - step)) / (2 * step)
    assert sigma * at.second == pytest.approx(by_sigma, abs=1e-8)
    h = 0.01 * abs(tau)
    by_tau = (value(tau=tau + h) - value(tau=tau - h)) / (2 * h)
    assert at.by_tau == pytest.approx(by_tau, abs=2e-5)


def test_nothing_overflows():
    x = np.array([-1e3, -50.0, 0.0, 50.0, 1e3])
    with np.errstate(over="raise", invalid="raise", divide="raise"):
        for tau in (1e-9, 1e-3, 1.0, 1e3):
            values = emg(x, 1.0, 0.0, 1.0, tau)
            assert np.isfinite(values).all()
            assert (values >= 0.0).all()


@pytest.mark.parametrize("lean", [0.0, 0.05, 1.0, 20.0, -3.0])
def test_derivatives_of_zones_and_readings(lean):
    """By area, mean, ln s and lean, against differences."""
    zones = Zones(np.array([30.0]), np.array([2.0]), np.array([lean]), np.array([lean != 0.0]))
    x, theta, area, step = np.linspace(15.0, 45.0, 61), zones.theta(), np.array([1.5]), 1e-5
    slopes = zones.shapes(x)[1]
    readings, by = zones.readings(area)
    for place in range(len(theta)):
        moved = np.where(np.arange(len(theta)) == place, step, 0.0)
        ahead, behind = zones.at(theta + moved), zones.at(theta - moved)
        expected = (ahead.shapes(x)[0] - behind.shapes(x)[0])[:, 0] / (2 * step)
        assert slopes[:, place] == pytest.approx(expected, abs=1e-7)
        expected = (ahead.readings(area)[0] - behind.readings(area)[0])[:, 0] / (2 * step)
        assert by[:, 0, 1 + place] == pytest.approx(expected, abs=1e-5)
    more = zones.readings(area + step)[0]
    assert by[:, 0, 0] == pytest.approx((more - readings)[:, 0] / step, abs=1e-8)
