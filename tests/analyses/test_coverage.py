"""Do the printed intervals hold what they promise? 10,000 invented plates, through `measure` and `separations`.

What a person does at the bench is simulated: every line and edge is read to the nearest millimetre, and the centre of
a spot is found to within a tenth of its length. The truth is known, so the share of intervals that hold it can be
counted.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.separations import separations

PLATES, SPOTS = 10_000, 4


@pytest.fixture(scope="module")
def truth():
    """True places of origin, front, spots and lengths, shapes (P,) and (P, S). [mm]"""
    rng = np.random.default_rng(20)
    origin, run = rng.uniform(9.0, 11.0, PLATES), rng.uniform(60.0, 80.0, PLATES)
    rf = np.sort(rng.uniform(0.12, 0.30, (PLATES, SPOTS)) + np.linspace(0.0, 0.55, SPOTS), axis=1)
    return {
        "origin": origin,
        "front": origin + run,
        "centre": origin[:, None] + rf * run[:, None],
        "length": rng.uniform(3.0, 5.0, (PLATES, SPOTS)),
        "rf": rf,
    }


@pytest.fixture(scope="module")
def found(truth):
    """The marks of these plates as they are read, measured."""
    rng = np.random.default_rng(21)
    centre, length = truth["centre"], truth["length"]
    judged = centre + length * rng.uniform(-0.1, 0.1, centre.shape)
    plate = np.repeat(np.arange(PLATES), SPOTS).astype(str)
    marks = pd.DataFrame(
        {
            "plate": plate,
            "lane": "1",
            "spot": np.tile(np.arange(SPOTS), PLATES).astype(str),
            "origin_mm": np.repeat(np.round(truth["origin"]), SPOTS),
            "front_mm": np.repeat(np.round(truth["front"]), SPOTS),
            "trailing_mm": np.round(centre - length / 2).ravel(),
            "leading_mm": np.round(centre + length / 2).ravel(),
        }
    )
    marks["centre_mm"] = np.clip(np.round(judged).ravel(), marks["trailing_mm"], marks["leading_mm"])
    return measure(marks)


def share(low, high, true):
    return float(np.mean((low <= true) & (true <= high)))


def test_intervals_of_rf(found, truth):
    spots = found.spots
    assert share(spots["rf_low"], spots["rf_high"], truth["rf"].ravel()) == pytest.approx(0.95, abs=0.015)


def test_intervals_of_a_difference_in_one_lane(found, truth):
    pairs = separations(found).pairs
    true = np.diff(truth["rf"], axis=1).ravel()
    assert share(pairs["delta_rf_low"], pairs["delta_rf_high"], true) == pytest.approx(0.95, abs=0.015)


def test_intervals_of_resolution(found, truth):
    pairs = separations(found).pairs
    lengths = truth["length"]
    true = (2.0 * np.diff(truth["centre"], axis=1) / (lengths[:, 1:] + lengths[:, :-1])).ravel()
    assert share(pairs["rs_low"], pairs["rs_high"], true) == pytest.approx(0.95, abs=0.015)


def test_forgetting_the_shared_lines_would_promise_too_little(found, truth):
    """With spots taken as independent the intervals of a difference are too wide and hold the truth too often."""
    rf, u = (found.spots[name].to_numpy().reshape(PLATES, SPOTS) for name in ("rf", "u_rf"))
    delta = np.diff(rf, axis=1)
    wide = 1.96 * np.hypot(u[:, 1:], u[:, :-1])
    assert share(delta - wide, delta + wide, np.diff(truth["rf"], axis=1)) > 0.965
