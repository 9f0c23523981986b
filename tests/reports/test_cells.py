from __future__ import annotations

import pytest

from lanewise.reports.cells import difference, interval, millimetres, value, whole

NAN = float("nan")
SPOT = {"state": "measured", "rf": 0.47498, "u_rf": 0.0057, "rf_low": 0.4638, "rf_high": 0.4862}


@pytest.mark.parametrize(
    ("row", "name", "text"),
    [
        pytest.param(SPOT, "rf", "0.475\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}0.006", id="value and uncertainty"),
        pytest.param(SPOT | {"u_rf": 0.0}, "rf", "0.475", id="without uncertainty"),
        pytest.param(
            {"state": "at origin", "rf": NAN, "u_rf": NAN, "rf_low": 0.0, "rf_high": 0.0157},
            "rf",
            "< 0.02",
            id="bound at the origin rounded up",
        ),
        pytest.param(
            {"state": "with front", "rf": NAN, "u_rf": NAN, "rf_low": 0.9843, "rf_high": 1.0},
            "rf",
            "> 0.98",
            id="bound with the front rounded down",
        ),
        pytest.param(
            {"state": "at origin", "k": NAN, "u_k": NAN, "k_low": 62.9, "k_high": NAN},
            "k",
            "> 62",
            id="k at the origin",
        ),
        pytest.param(
            {"state": "with front", "k": NAN, "u_k": NAN, "k_low": 0.0, "k_high": 0.0161},
            "k",
            "< 0.02",
            id="k with the front",
        ),
        pytest.param({"state": "absent", "rf": NAN, "u_rf": NAN, "rf_low": NAN, "rf_high": NAN}, "rf", "", id="absent"),
        pytest.param({"state": "measured", "rs": NAN, "u_rs": NAN}, "rs", "", id="a quantity without bounds"),
    ],
)
def test_value(row, name, text):
    assert value(row, name) == text


def test_interval_has_the_digits_of_the_value():
    assert interval(SPOT) == "0.464 to 0.486"
    assert interval(SPOT | {"rf": NAN}) == ""
    row = {"state": "measured", "k": 90.0, "u_k": 40.0, "k_low": 45.2, "k_high": NAN}
    assert interval(row, "k") == "50 to no limit"


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        pytest.param(0.149, 0.18, "> 0.14", id="lower bound goes down"),
        pytest.param(-0.18, -0.1459, "< -0.14", id="upper bound goes up"),
        pytest.param(-0.01, 0.02, "", id="no sign, no bound"),
    ],
)
def test_difference_with_a_bound(low, high, text):
    assert difference({"delta_rf": NAN, "u_delta_rf": NAN, "low": low, "high": high}) == text


def test_lengths_and_whole_numbers():
    assert (millimetres(73.5), millimetres(10.0), millimetres(NAN)) == ("73.5", "10", "")
    assert (whole(48.0), whole(NAN)) == ("48", "")
