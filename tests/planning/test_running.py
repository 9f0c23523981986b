"""Running times against published runs, worked numbers, a general statistics route, and simulated sheets."""

from __future__ import annotations

import csv
import json
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import lanewise
from lanewise.errors import PlanError
from lanewise.planning.fronts import MOST_LAG
from lanewise.planning.running import CM2_PER_S, RunningTime, running_time

TABLE = Path(__file__).parents[1] / "reference" / "front_times.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
RUNS = {run: [(float(r["front_mm"]), float(r["minutes"])) for r in ROWS if r["run"] == run] for run in "ABCDE"}
PAIRS = [(run, early, late) for run, seen in RUNS.items() for early, late in combinations(seen, 2)]


@pytest.mark.parametrize(
    ("front", "minutes", "kappa"),
    [
        pytest.param(24, 10, 0.0096, id="24 mm"),
        pytest.param(48, 29, 0.0132, id="48 mm"),
        pytest.param(72, 60, 0.0144, id="72 mm"),
        pytest.param(96, 105, 0.0146, id="96 mm"),
    ],
)
def test_velocity_constant_of_a_published_run(front, minutes, kappa):
    """Run A; kappa in cm2/s worked by hand from z2/t, to four decimals."""
    found = running_time(front, [(front, minutes)])
    assert found.kappa / CM2_PER_S == pytest.approx(kappa, abs=0.00005)
    assert found.minutes == minutes


@pytest.mark.parametrize(
    ("seen", "expected", "half"),
    [
        pytest.param((72, 60), 106.7, 0.05, id="from 60 min"),
        pytest.param((48, 29), 116, 0.5, id="from 29 min"),
        pytest.param((24, 10), 160, 0.5, id="from 10 min"),
    ],
)
def test_one_observation_by_the_square_law(seen, expected, half):
    """t2 = t1 (z2/z1)2, worked by hand for the front at 96 mm of run A, where 105 min were seen."""
    found = running_time(96, [seen])
    assert found.minutes == pytest.approx(expected, abs=half)
    assert found.basis == "one observation"
    assert found.low < 105 < found.high
    assert "so the interval is wide" in str(found)


def test_least_squares_line_of_a_published_run():
    """Run A: z2 = 0.01518 (t - 213 s) in cm2 and s, least squares worked out apart from the library."""
    found = running_time(96, RUNS["A"], same_sheet=True)
    assert found.kappa / CM2_PER_S == pytest.approx(0.01518, abs=0.000005)
    assert 60 * found.lag == pytest.approx(213, abs=0.5)


def test_time_to_the_origin_line_and_from_there():
    """By hand: kappa 0.1 cm2/s, origin 0.5 cm above the liquid: passed after 2.5 s, 8 cm above it 720 s later."""
    found = running_time(85, [(60, 6)])  # 0.1 cm2/s
    assert found.kappa / CM2_PER_S == pytest.approx(0.1, rel=1e-12)
    assert 60 * found.at(5) == pytest.approx(2.5, abs=0.05)
    assert 60 * (found.at(85) - found.at(5)) == pytest.approx(720, abs=0.5)


@pytest.mark.parametrize(("run", "early", "late"), PAIRS, ids=[f"{r} {a[0]:g} to {b[0]:g}" for r, a, b in PAIRS])
def test_every_later_time_of_the_published_runs_is_within_the_interval(run, early, late):
    found = running_time(late[0], [early])
    assert found.low <= late[1] <= found.high


def test_the_lag_that_is_allowed_for_is_the_one_the_published_runs_show():
    """Share of an early time lost before the law holds: (1 - seen/predicted) / (1 - (z1/z2)2), derived by hand."""
    shares = [
        (1 - late[1] / early[1] * (early[0] / late[0]) ** 2) / (1 - (early[0] / late[0]) ** 2)
        for _, early, late in PAIRS
    ]
    assert len(shares) == 18
    assert sorted(shares)[-2] == pytest.approx(0.41, abs=0.005)
    assert [round(shares_, 2) for shares_ in (min(shares), max(shares))] == [-0.14, 0.52]
    assert abs(sorted(shares)[-2] - MOST_LAG) < 0.01


@pytest.mark.parametrize("seen", [RUNS["A"], RUNS["E"], [*RUNS["A"], *RUNS["B"], *RUNS["D"]]], ids=["A", "E", "A B D"])
def test_prediction_interval_equals_the_general_linear_model(seen):
    """A line through n points by matrices, variance of a new one s2 (1 + x' (X'X)^-1 x), t from scipy.stats."""
    from scipy import stats

    found = running_time(100, seen, same_sheet=True, level=0.9)
    x = np.array([[1.0, z * z] for z, _ in seen])
    t = np.array([minutes for _, minutes in seen])
    beta, residual, *_ = np.linalg.lstsq(x, t, rcond=None)
    at = np.array([1.0, 1e4])
    dof = len(seen) - 2
    variance = float(residual[0]) / dof * (1.0 + at @ np.linalg.inv(x.T @ x) @ at)
    half = stats.t.ppf(0.95, dof) * np.sqrt(variance)
    assert found.minutes == pytest.approx(at @ beta, rel=1e-9)
    assert found.high - found.minutes == pytest.approx(half, rel=1e-9)
    assert found.low == pytest.approx(max(found.minutes - half, max(t)), rel=1e-9)


def test_a_line_through_two_times_carries_the_readings_by_first_order():
    """Against the package `uncertainties`: readings to the nearest millimetre and minute, u = 1/sqrt(12)."""
    from uncertainties import ufloat

    u = 12**-0.5
    (za, ta), (zb, tb) = [[ufloat(value, u) for value in pair] for pair in ((48, 29), (72, 60))]
    target = ufloat(96, u)
    slope = (tb - ta) / (zb * zb - za * za)
    minutes = ta + slope * (target * target - za * za)
    found = running_time(96, [(48, 29), (72, 60)], same_sheet=True, level=0.6826894921)
    assert found.minutes == pytest.approx(minutes.nominal_value, rel=1e-12)
    assert found.high - found.minutes == pytest.approx(minutes.std_dev, rel=1e-6)


def test_one_observation_carries_readings_and_sheets_by_first_order():
    """Against the package `uncertainties`, the sheets as a factor 1 with u = 0.1; the lag opens the low end only."""
    from uncertainties import ufloat

    u = 12**-0.5
    minutes = ufloat(29, u) * (ufloat(96, u) / ufloat(48, u)) ** 2 * ufloat(1, 0.1)
    found = running_time(96, [(48, 29)], level=0.6826894921)
    share = minutes.std_dev / minutes.nominal_value
    assert np.log(found.high / found.minutes) == pytest.approx(share, rel=1e-6)
    assert np.log(found.minutes / found.low) == pytest.approx(share - np.log(1 - MOST_LAG * 0.75), rel=1e-6)


def test_no_line_fits_better_than_its_times_were_read():
    """Three times on a line to the last bit: the interval is that of 1/sqrt(12) min; t with 1 degree is 12.706."""
    found = running_time(80, [(30, 3), (40, 16 / 3), (50, 25 / 3)], same_sheet=True)
    x = np.array([900.0, 1600.0, 2500.0])
    spread = (1 / 12) ** 0.5 * np.sqrt(1 + 1 / 3 + (6400 - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
    assert found.high - found.minutes == pytest.approx(12.706 * spread, rel=1e-4)


def test_several_sheets_by_their_logarithms():
    """By hand: brought to 80 mm, 20, 22 and 25 min; geometric mean, t with 2 degrees of freedom (4.303, any table)."""
    seen = [(80, 20, "a"), (40, 5.5, "b"), (160, 100, "c")]
    found = running_time(80, seen)
    logs = np.log([20, 22, 25])
    assert found.basis == "several sheets"
    assert found.minutes == pytest.approx(np.exp(logs.mean()), rel=1e-12)
    width = 4.303 * logs.std(ddof=1) * (4 / 3) ** 0.5
    assert np.log(found.high / found.minutes) == pytest.approx(width, rel=2e-4)


def test_two_sheets_that_agree_are_given_the_usual_scatter():
    found = running_time(80, [(80, 20, "a"), (80, 20, "b")])
    assert np.log(found.high / found.minutes) == pytest.approx(1.959964 * 0.1 * 1.5**0.5, rel=1e-6)
    assert "10 % is taken" in str(found)


def test_a_new_sheet_gets_the_scatter_of_sheets_on_top():
    """By hand: squares of the half-widths add up, 1.96 times a tenth of the time for the sheets."""
    now, new = (running_time(96, RUNS["A"], same_sheet=same) for same in (True, False))
    assert new.minutes == now.minutes
    expected = np.hypot(now.high - now.minutes, 1.959964 * 0.1 * now.minutes)
    assert new.high - new.minutes == pytest.approx(expected, rel=1e-6)


def test_a_line_over_sheets_is_a_straight_line_of_time_over_square():
    """Divided by the square, t/z2 = 1/kappa + t0/z2 scatters evenly: `scipy.stats.linregress` on that."""
    from scipy import stats

    seen = [(40, 7.1, "a"), (55, 12.0, "b"), (70, 18.6, "c"), (85, 27.5, "d"), (60, 14.6, "e")]
    found = running_time(80, seen)
    x, t = np.array([z * z for z, *_ in seen]), np.array([minutes for _, minutes, _ in seen])
    line = stats.linregress(1 / x, t / x)
    assert found.basis == "line over sheets"
    assert found.kappa == pytest.approx(1 / line.intercept, rel=1e-9)
    assert found.lag == pytest.approx(line.slope, rel=1e-9)
    s = np.sqrt(((t / x - line.intercept - line.slope / x) ** 2).sum() / 3)
    at, middle = 1 / 6400, (1 / x).mean()
    spread = s * np.sqrt(1 + 1 / 5 + (at - middle) ** 2 / ((1 / x - middle) ** 2).sum())
    assert found.high - found.minutes == pytest.approx(stats.t.ppf(0.975, 3) * 6400 * spread, rel=1e-9)


def test_sheets_at_one_height_give_no_line():
    seen = [(80, 20, "a"), (82, 22, "b"), (78, 19, "c"), (81, 23, "d")]
    assert running_time(80, seen).basis == "several sheets"


def coverage(make, count=1500, level=0.9):
    """Share of simulated sheets whose time is within the interval."""
    rng = np.random.default_rng(20)
    hits = 0
    for _ in range(count):
        seen, truth, same = make(rng)
        found = running_time(80, seen, level=level, same_sheet=same)
        hits += found.low <= truth <= found.high
    return hits / count


def one_sheet(rng):
    fronts = np.array([20.0, 35.0, 50.0, 60.0])
    times = 15 + fronts**2 / 30 + rng.normal(0, 2, 4)
    return list(zip(fronts, times, strict=True)), 15 + 6400 / 30 + rng.normal(0, 2), True


def sheets_alike(rng):
    kappa = 300 * np.exp(rng.normal(0, 0.1, 6))
    fronts = rng.uniform(70, 85, 6)
    seen = [(z, z * z / k, str(n)) for n, (z, k) in enumerate(zip(fronts[:5], kappa[:5], strict=True))]
    return seen, 6400 / kappa[5], False


def sheets_apart(rng):
    fronts = np.array([40.0, 50.0, 60.0, 70.0, 80.0, 90.0])
    kappa = 300 * (1 + rng.normal(0, 0.08, 7))
    times = 2.0 + fronts**2 / kappa[:6]
    return [(z, t, str(n)) for n, (z, t) in enumerate(zip(fronts, times, strict=True))], 2.0 + 6400 / kappa[6], False


@pytest.mark.parametrize(
    "make", [one_sheet, sheets_alike, sheets_apart], ids=["one sheet", "several sheets", "line over sheets"]
)
def test_intervals_hold_what_they_promise(make):
    """1500 simulated sheets at 0.9: the share found lies within three standard deviations, 0.023."""
    assert coverage(make) == pytest.approx(0.9, abs=0.024)


def test_one_observation_holds_at_least_what_it_promises():
    def make(rng):
        lag = rng.uniform(0, 0.4) * 8.0
        kappa = 1600 / (8.0 - lag) * np.exp(rng.normal(0, 0.1))
        return [(40, 8.0)], lag + 6400 / kappa, False

    assert coverage(make) >= 0.9


@given(st.floats(5, 200), st.floats(5, 200), st.floats(1, 300), st.floats(0.5, 0.999))
def test_the_interval_holds_the_estimate_and_grows_with_its_level(front, seen, minutes, level):
    found = running_time(front, [(seen, minutes)], level=level)
    narrower = running_time(front, [(seen, minutes)], level=level / 2)
    assert 0 <= found.low <= narrower.low <= found.minutes <= narrower.high <= found.high


@given(st.floats(1, 5))
def test_twice_as_slow_takes_twice_as_long(factor):
    seen = [(z, factor * t) for z, t in RUNS["A"]]
    once, scaled = running_time(110, RUNS["A"], same_sheet=True), running_time(110, seen, same_sheet=True)
    assert scaled.minutes == pytest.approx(factor * once.minutes, rel=1e-9)
    assert scaled.high == pytest.approx(factor * once.high, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        pytest.param(lambda: running_time(80, []), "the speed of a front depends on the paper", id="no observation"),
        pytest.param(lambda: running_time(0, [(40, 8)]), "front: wanted a height above 0 mm, given 0", id="front"),
        pytest.param(lambda: running_time(80, [(40, -1)]), "observation 1, minutes: wanted a time above", id="minutes"),
        pytest.param(lambda: running_time(80, [(40, 8), ("x", 9)]), "observation 2, front: .* given 'x'", id="text"),
        pytest.param(lambda: running_time(80, [(40,)]), "observation 1: wanted front and minutes", id="one number"),
        pytest.param(lambda: running_time(80, [(40, 8)], level=1.0), "level: wanted a probability", id="level"),
        pytest.param(lambda: running_time(80, [(40, 8)], between=1.0), "between: wanted a share", id="between"),
        pytest.param(
            lambda: running_time(80, [(40, 8, "a"), (40, 9, "b")], same_sheet=True),
            "of one sheet, given 2",
            id="sheets",
        ),
        pytest.param(
            lambda: running_time(80, [(40, 8), (50, 7)]), "fronts that rise with time, given 40 mm at 8", id="falling"
        ),
        pytest.param(lambda: running_time(80, [(40, 8), (40, 9)]), "fronts that rise with time", id="equal fronts"),
    ],
)
def test_wrong_input_says_what_was_wanted(call, said):
    with pytest.raises(PlanError, match=f"(?i){said}"):
        call()


def test_what_is_said_of_an_early_observation_and_of_theory():
    early = str(running_time(96, [(24, 10)]))
    assert "The first centimetres mislead" in early
    assert "when the front has passed 48 mm" in early
    assert "mislead" not in str(running_time(96, [(60, 43)]))
    with pytest.raises(PlanError, match="not told from theory"):
        running_time(96, [])


def test_json_holds_all_of_it():
    held = json.loads(running_time(96, [(24, 10), (48, 29)]).to_json())
    assert held["observations"][1] == {"front": 48.0, "minutes": 29.0, "run": ""}
    assert {"minutes", "low", "high", "level", "basis", "kappa", "lag", "remarks"} <= set(held)
    assert isinstance(lanewise.running_time(96, [(24, 10)]), RunningTime)
