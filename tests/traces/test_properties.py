"""What must hold for any trace: the zero, the units and the direction of a lane are conventions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lanes import POSITIONS, bell, paper, tailing, white

from lanewise.traces import baseline, find_peaks, fit_peaks, moments
from lanewise.traces.spots import READ

PLACES = {"apex", "trailing", "leading", "centre"}
LENGTHS = {"width", "half_width"}
MIRRORED = {"trailing": "leading", "leading": "trailing"}
shifts, signals, lengths = st.floats(-200.0, 200.0), st.floats(1e-3, 1e4), st.floats(0.1, 10.0)


@st.composite
def lanes(draw):
    """Two or three spots that stand apart, with or without tails, on a bent baseline with white noise."""
    seed = draw(st.integers(0, 10_000))
    y = paper(POSITIONS, seed) + 0.002 * white(POSITIONS, np.random.default_rng(seed))
    for place in draw(st.sampled_from([(16.0, 56.0), (14.0, 38.0, 64.0)])):
        height, sigma = draw(st.floats(0.1, 0.5)), draw(st.floats(1.0, 2.0))
        tau = draw(st.sampled_from([0.0, 1.5, -1.5]))
        mu = place + draw(st.floats(-1.0, 1.0))
        y += bell(POSITIONS, height, mu, sigma) if tau == 0 else tailing(POSITIONS, 4 * height, mu, sigma, tau)
    return y


def read(x, y, how):
    return find_peaks(x, y) if how == "found" else fit_peaks(x, y, None, how)


def same(found, expected, tight):
    """Equal readings, and equal uncertainties, but for rounding: to 1e-4 of an uncertainty, or of 1 at least."""
    for name, value in expected.items():
        u = np.broadcast_to(np.asarray(expected.get(f"u_{name}", value)), np.shape(value))
        off = np.abs(getattr(found, name) - value)
        assert np.all((off <= tight * np.abs(u)) | (np.isnan(off) & np.isnan(value))), name


def readings(found, change):
    """All readings and their uncertainties, each put through `change(name, value)`."""
    values = {name: change(name, getattr(found, name)) for name in READ}
    u = {f"u_{name}": np.abs(change(f"u_{name}", getattr(found, f"u_{name}"))) for name in READ}
    return values | u


EACH = pytest.mark.parametrize(("how", "tight"), [("found", 1e-5), ("gaussian", 1e-3), ("emg", 2e-2)])


@EACH
@settings(max_examples=12, deadline=None)
@given(y=lanes(), shift=shifts)
def test_the_zero_of_positions_is_a_convention(how, tight, y, shift):
    before, after = read(POSITIONS, y, how), read(POSITIONS + shift, y, how)
    same(after, readings(before, lambda name, value: value + shift if name in PLACES else value), tight)


@EACH
@settings(max_examples=12, deadline=None)
@given(y=lanes(), scale=signals, offset=st.floats(-1.0, 1.0))
def test_the_unit_of_the_signal_is_a_convention(how, tight, y, scale, offset):
    before, after = read(POSITIONS, y, how), read(POSITIONS, scale * (y + offset), how)
    scaled = {"height", "area", "u_height", "u_area"}
    same(after, readings(before, lambda name, value: scale * value if name in scaled else value), tight)


@EACH
@settings(max_examples=12, deadline=None)
@given(y=lanes(), scale=lengths)
def test_the_unit_of_length_is_a_convention(how, tight, y, scale):
    before, after = read(POSITIONS, y, how), read(scale * POSITIONS, y, how)
    stays = {"height", "asymmetry", "u_height", "u_asymmetry"}
    same(after, readings(before, lambda name, value: value if name in stays else scale * value), tight)


@EACH
@settings(max_examples=12, deadline=None)
@given(y=lanes())
def test_turning_the_lane_round(how, tight, y):
    """Edges change places, an asymmetry a becomes 1 / a, a tail changes its sign."""
    before, after = read(POSITIONS, y, how), read(-POSITIONS[::-1], y[::-1], how)
    expected = {}
    for name in READ:
        there = MIRRORED.get(name, name)
        value, u = getattr(before, there)[::-1], getattr(before, f"u_{there}")[::-1]
        if name in PLACES:
            value = -value
        elif name == "asymmetry":
            value, u = 1.0 / value, u / value**2
        expected |= {name: value, f"u_{name}": u}
    same(after, expected, tight)
    if how == "emg":
        same(after, {"tau": -before.tau[::-1], "u_tau": before.u_tau[::-1], "sigma": before.sigma[::-1]}, 0.05)


@settings(max_examples=20, deadline=None)
@given(y=lanes(), shift=shifts, scale=signals, length=lengths)
def test_baseline_knows_no_units(y, shift, scale, length):
    moved = baseline(length * POSITIONS + shift, scale * (y - 0.3))
    assert moved / scale + 0.3 == pytest.approx(baseline(POSITIONS, y), abs=1e-6)


@settings(max_examples=20, deadline=None)
@given(y=lanes(), shift=shifts, scale=signals, length=lengths)
def test_moments_know_no_units(y, shift, scale, length):
    before = moments(POSITIONS, y, 5.05, 70.3, noise=0.002)
    low, high = length * 5.05 + shift, length * 70.3 + shift
    after = moments(length * POSITIONS + shift, scale * y, low, high, noise=0.002 * scale)
    assert after.area == pytest.approx(length * scale * before.area, rel=1e-7)
    assert after.mean == pytest.approx(length * before.mean + shift, rel=1e-7, abs=1e-6)
    assert after.variance == pytest.approx(length**2 * before.variance, rel=1e-7)
    assert after.skewness == pytest.approx(before.skewness, abs=1e-6)
    assert after.u_mean == pytest.approx(length * before.u_mean, rel=1e-6)
