"""Several developments, against a front that is moved up the sheet step by step."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lanewise.quantities.development import (
    best_number,
    gap_after,
    position_after,
    reconcentrated_length,
    rf_after,
    rf_single,
)

INSIDE = st.floats(0.01, 0.95)
quick = settings(deadline=None, max_examples=80)


def carried(rf: float, start: float, run: float, steps: int = 4000) -> float:
    """Where a spot ends when the front passes in small steps: it moves Rf of each step once it is wet."""
    position, step = start, run / steps
    for front in np.linspace(0, run, steps, endpoint=False):
        if front >= position:
            position += rf * step
    return position


@pytest.mark.parametrize("rf", [0.0, 0.15, 0.3, 0.62, 0.9])
def test_developments_of_one_length_by_moving_the_front(rf: float) -> None:
    position = 0.0
    for n in range(1, 4):
        position = carried(rf, position, 60.0)
        assert rf_after(rf, n) == pytest.approx(position / 60, abs=3e-3)


def test_developments_of_growing_length_by_moving_the_front() -> None:
    position = 0.0
    for run in (30.0, 45.0, 60.0):
        position = carried(0.3, position, run)
    assert position_after(0.3, [30.0, 45.0, 60.0]) == pytest.approx(position, abs=0.1)


@quick
@given(rf=INSIDE, n=st.integers(1, 6), run=st.floats(20, 200))
def test_runs_of_equal_length_are_a_special_case(rf: float, n: int, run: float) -> None:
    assert position_after(rf, [run] * n) == pytest.approx(run * rf_after(rf, n), rel=1e-12)


@quick
@given(rf=INSIDE, n=st.integers(0, 6), more=st.integers(0, 6))
def test_developments_join(rf: float, n: int, more: int) -> None:
    """What is left of the way multiplies."""
    left = (1 - rf_after(rf, n)) * (1 - rf_after(rf, more))
    assert 1 - rf_after(rf, n + more) == pytest.approx(left, rel=1e-9, abs=1e-15)


def test_developments_in_two_solvents_join_by_the_start() -> None:
    """By hand: 0.5 * 40 = 20, then 20 + 0.2 * (60 - 20) = 28."""
    assert position_after(0.2, [60.0], start=position_after(0.5, [40.0])) == pytest.approx(28.0)


def test_a_spot_beyond_the_front_stays() -> None:
    assert position_after(0.5, [60.0, 20.0]) == 30.0
    assert position_after(0.5, [], start=12.0) == 12.0


@quick
@given(rf=st.floats(0.01, 0.8), n=st.floats(1, 5))
def test_single_run_value_comes_back(rf: float, n: float) -> None:
    assert rf_single(rf_after(rf, n), n) == pytest.approx(rf, rel=1e-9)


@pytest.mark.parametrize("end", [0.0, 1.0], ids=["origin", "front"])
def test_spots_at_the_ends_stay_there(end: float) -> None:
    assert rf_after(end, 4) == end
    assert rf_single(end, 4) == end
    assert position_after(end, [30.0, 60.0]) == end * 60


@quick
@given(rf=st.floats(0.01, 0.9), n=st.integers(0, 8))
def test_each_development_takes_a_spot_further(rf: float, n: int) -> None:
    assert rf_after(rf, n) < rf_after(rf, n + 1) < 1


@quick
@given(slow=INSIDE, fast=INSIDE, n=st.integers(1, 8))
def test_gap_is_the_difference_of_apparent_values(slow: float, fast: float, n: int) -> None:
    assert gap_after(slow, fast, n) == pytest.approx(rf_after(fast, n) - rf_after(slow, n), abs=1e-12)


@quick
@given(slow=st.floats(0.02, 0.9), fast=st.floats(0.02, 0.95))
def test_best_number_has_the_largest_gap(slow: float, fast: float) -> None:
    assume(fast - slow > 0.01)
    n = best_number(slow, fast)
    around = gap_after(slow, fast, n * np.linspace(0.2, 3, 561))
    assert gap_after(slow, fast, n) >= around.max() - 1e-12


def test_a_close_pair_sits_at_1_minus_1_over_e_when_best() -> None:
    n = best_number(0.2, 0.2001)
    assert n == pytest.approx(-1 / math.log(1 - 0.2), rel=1e-3)
    assert rf_after(0.2, n) == pytest.approx(1 - math.exp(-1), abs=1e-3)


@pytest.mark.parametrize(
    ("slow", "fast", "n"),
    [
        pytest.param(0.0, 0.3, math.inf, id="slow-at-origin"),
        pytest.param(0, 0.3, math.inf, id="slow-at-origin-as-int"),
        pytest.param(0.3, 1.0, math.nan, id="fast-with-front"),
        pytest.param(0.3, 0.3, math.nan, id="equal"),
        pytest.param(0.0, 0.0, math.nan, id="both-at-origin"),
    ],
)
def test_best_number_at_the_ends(slow: float, fast: float, n: float) -> None:
    assert best_number(slow, fast) == pytest.approx(n, nan_ok=True)


@pytest.mark.parametrize("rf", [0.1, 0.3, 0.7])
def test_a_crossing_front_shortens_a_spot(rf: float) -> None:
    """Rear edge wet from the start, leading edge not before the front has come to it."""
    rear, leading = 20.0, 24.0
    rear_then = rear + rf * (leading - rear)
    assert reconcentrated_length(leading - rear, rf) == pytest.approx(leading - rear_then)
    # and it stays so when both edges have moved on to the end of the run
    by_steps = carried(rf, leading, 60.0, 60000) - carried(rf, rear, 60.0, 60000)
    assert reconcentrated_length(leading - rear, rf) == pytest.approx(by_steps, abs=5e-3)
