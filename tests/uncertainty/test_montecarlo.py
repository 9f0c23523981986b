"""Trials: drawn from the right distributions, stopped by the rule, honest about what they cannot say.

The worked examples of JCGM 101 are in tests/reference/test_metrology.py.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from lanewise.uncertainty.inputs import exact, from_observations, from_readings, from_standard
from lanewise.uncertainty.intervals import ratio_interval
from lanewise.uncertainty.montecarlo import LEAST_BLOCK, sample, shortest_interval, tolerances
from lanewise.uncertainty.propagation import propagate
from lanewise.uncertainty.sources import SHAPES

# Largest deviation, and fourth moment over the squared variance, of each shape with u = 1 (textbooks, from memory).
SHAPE = {
    "normal": (np.inf, 3.0),
    "rectangular": (3**0.5, 1.8),
    "triangular": (6**0.5, 2.4),
    "arcsine": (2**0.5, 1.5),
}


def itself(value):
    return value


def rf(spot, front, origin):
    return (spot - origin) / (front - origin)


def r_m(spot, front, origin):
    return np.log10((front - spot) / (spot - origin))


def trials_of(measured, count: int = 200_000, seed: int = 3) -> np.ndarray:
    """Every single trial of one value, caught on its way through a formula."""
    caught = []
    sample(lambda x: caught.append(x) or x, measured, trials=count, seed=seed)
    return np.concatenate(caught)


# --- distributions


@pytest.mark.parametrize("shape", SHAPE)
def test_each_shape_has_its_moments_and_limits(shape: str) -> None:
    limit, kurtosis = SHAPE[shape]
    drawn = (trials_of(from_standard([5.0], 2.0, "reading", shape=shape)) - 5.0) / 2.0
    assert drawn.mean() == pytest.approx(0.0, abs=0.01)
    assert drawn.std() == pytest.approx(1.0, abs=0.01)
    assert (drawn**4).mean() == pytest.approx(kurtosis, abs=0.08)
    assert np.abs(drawn).max() <= limit
    assert limit == np.inf or np.abs(drawn).max() > 0.99 * limit


def test_every_shape_is_covered() -> None:
    assert {*SHAPE, "t"} == set(SHAPES)


@pytest.mark.parametrize("dof", [5.0, 18.0])
def test_few_repeats_have_long_tails(dof: float) -> None:
    """Scale u, standard deviation u sqrt(nu / (nu - 2)): JCGM 101:2008, 6.4.9 (from memory)."""
    drawn = trials_of(from_standard([0.0], 2.0, "repeats", shape="t", dof=dof))
    assert drawn.std() == pytest.approx(2.0 * (dof / (dof - 2.0)) ** 0.5, rel=0.02)


def test_a_t_with_known_spread_is_normal() -> None:
    drawn = trials_of(from_standard([0.0], 1.0, "reading", shape="t"))
    assert (np.abs(drawn) < 1.959964).mean() == pytest.approx(0.95, abs=0.002)


@pytest.mark.parametrize("weights", [(1.0, 0.0), (0.0, 1.0), (0.6, -2.0)], ids=str)
def test_observations_made_together_share_their_spread(weights: tuple[float, float]) -> None:
    """Joint t: every combination of two means of seven observations is t with 6 degrees of freedom.

    Half-widths 2.45 for 95 % and 3.71 for 99 %: JCGM 100:2008, Table G.2 (from memory).
    """
    table = np.array([[1.0, 1.0], [-1.0, 1.0], [1.0, -1.0], [-1.0, -1.0], [0.5, 0.0], [0.0, 0.2], [0.1, 0.0]])
    means = from_observations(table, "together")
    mean = means.combined(weights)
    deviation = (trials_of(mean) - mean.values[0]) / mean.u[0]
    assert (np.abs(deviation) < 2.447).mean() == pytest.approx(0.95, abs=0.002)
    assert (np.abs(deviation) < 3.707).mean() == pytest.approx(0.99, abs=0.001)


def test_shared_sources_are_drawn_once(lane) -> None:
    """A result less itself is nothing in every trial; two spots of one lane are correlated as by first order."""
    spots, front, origin = lane
    nothing = sample(lambda a, b, f, o: rf(a, f, o) - rf(b, f, o), spots, spots, front, origin, trials=1000)
    assert nothing.u.tolist() == [0.0] * 4
    first_order = propagate(rf, *lane)
    difference = first_order[2] - first_order[1]
    drawn = sample(lambda a, b, f, o: rf(a, f, o) - rf(b, f, o), spots[2], spots[1], front, origin, trials=200_000)
    assert drawn.u == pytest.approx(difference.u, rel=0.01)
    assert drawn.u[0] < 0.95 * np.hypot(*first_order.u[1:3])


# --- agreement with closed forms


def test_first_order_holds_where_the_formula_is_straight(lane) -> None:
    drawn, first_order = sample(rf, *lane), propagate(rf, *lane)
    assert drawn.values == pytest.approx(first_order.values, abs=2e-4)
    assert drawn.u == pytest.approx(first_order.u, rel=0.03)


def test_the_interval_of_a_ratio_is_the_closed_one(lane) -> None:
    """Same content, asked the other way round: the closed interval holds 95 % of the trials."""
    spots, front, origin = lane
    above, run = spots[1] - origin, front - origin
    low, high = ratio_interval(above.values, run.values, above.u**2, run.u**2, above.covariance(run))
    caught = []
    sample(lambda s, f, o: caught.append(rf(s, f, o)) or s, spots[1], front, origin, trials=200_000)
    ratios = np.concatenate(caught)
    assert ((ratios > low[0]) & (ratios < high[0])).mean() == pytest.approx(0.95, abs=0.002)


# --- the stopping rule


def test_stops_when_settled(lane) -> None:
    found = sample(rf, *lane, digits=2)
    assert found.settled.all()
    assert (found.trials % LEAST_BLOCK == 0).all()
    assert (found.trials >= 2 * LEAST_BLOCK).all()


def test_more_digits_take_more_trials() -> None:
    reading = from_standard([0.0], 0.5, "reading")
    one, two = (sample(itself, reading, digits=digits) for digits in (1, 2))
    assert one.settled.all()
    assert two.settled.all()
    assert two.trials[0] > 5 * one.trials[0]


def test_blocks_grow_with_the_level() -> None:
    """100 / (1 - p) trials a block, at least 10 000: JCGM 101:2008, 7.9.4 (from memory)."""
    reading = from_standard([0.0], 1.0, "reading")
    assert sample(itself, reading, level=0.999).trials[0] % 100_000 == 0
    assert sample(itself, reading, level=0.9999, most=1_000_000).trials.tolist() == [1_000_000]


def test_the_same_seed_gives_the_same_result(lane) -> None:
    first, again, other = (sample(r_m, *lane, seed=seed) for seed in (7, 7, 8))
    for name in ("values", "u", "low", "high"):
        assert getattr(first, name).tolist() == getattr(again, name).tolist()
        assert getattr(first, name).tolist() != getattr(other, name).tolist()


def test_rows_stop_one_by_one() -> None:
    """A row does not wait for the worst of them, nor does its result depend on the others."""
    spot = from_standard([0.0, 1.0, 10.0], [0.5, 0.5, 0.01], "reading")

    def inverse(value):
        return 1.0 / value

    together, alone = sample(inverse, spot, most=100_000), sample(inverse, spot[0], most=100_000)
    assert together.settled.tolist() == [False, False, True]
    assert together.trials.tolist() == [100_000, 100_000, 20_000]
    assert together.low[0] == alone.low[0]


def test_an_exact_result_is_settled_at_once() -> None:
    found = sample(itself, exact([3.0]))
    assert (found.values[0], found.u[0], found.low[0], found.high[0]) == (3.0, 0.0, 3.0, 3.0)
    assert found.trials.tolist() == [2 * LEAST_BLOCK]
    assert found.settled.all()


def test_a_distribution_without_a_deviation_does_not_settle() -> None:
    """The mean of three repeats: t with 2 degrees of freedom. Its interval is sound all the same (t = 4.30)."""
    repeats = from_readings([9.9, 10.0, 10.1], "repeats")
    found = sample(itself, repeats, digits=2, most=400_000)
    assert found.settled.tolist() == [False]
    assert (found.high - found.low) / 2 / repeats.u == pytest.approx([4.30], rel=0.03)


@pytest.mark.parametrize(("trials", "settled"), [(500, False), (10_000, False), (25_000, True)], ids=str)
def test_a_given_number_is_drawn_exactly(trials: int, settled: bool) -> None:
    """One block cannot show that it has settled."""
    found = sample(itself, from_standard([0.0], 1.0, "reading"), digits=1, trials=trials)
    assert found.trials.tolist() == [trials]
    assert found.settled.tolist() == [settled]


def test_a_limit_below_one_block_is_kept() -> None:
    found = sample(itself, from_standard([0.0], 1.0, "reading"), most=5000)
    assert found.trials.tolist() == [5000]
    assert found.settled.tolist() == [False]


# --- trials that mean nothing


def test_impossible_trials_are_left_out_and_counted() -> None:
    """R_M of a spot two u from the origin line: 2.3 % of the trials have no logarithm (normal tail beyond 2)."""
    spot, front = from_standard([2.0], 1.0, "spot reading"), exact([80.0])
    found = sample(r_m, spot, front, 0.0)
    assert found.undefined == pytest.approx([ndtr(-2.0)], abs=0.003)
    assert np.isfinite([found.values[0], found.u[0], found.low[0], found.high[0]]).all()
    kept = np.log10((80.0 - 2.0) / 2.0)
    assert found.low[0] < kept < found.high[0]


def test_a_row_without_any_number_says_so() -> None:
    found = sample(np.log10, from_standard([-5.0, 5.0], 0.1, "reading"), most=20_000)
    assert np.isnan(found.values).tolist() == [True, False]
    assert np.isnan(found.low).tolist() == [True, False]
    assert found.undefined.tolist() == [1.0, 0.0]
    assert found.settled.tolist() == [False, True]


def test_a_missing_reading_has_no_result() -> None:
    found = sample(itself, from_standard([np.nan], 0.1, "reading"), most=20_000)
    assert np.isnan(found.values).all()
    assert found.undefined.tolist() == [1.0]


def test_no_rows_is_no_fault() -> None:
    found = sample(itself, exact([]))
    assert found.values.shape == found.trials.shape == (0,)


# --- shortest intervals and tolerances


@pytest.mark.parametrize("level", [0.5, 0.9, 0.95], ids=str)
@pytest.mark.parametrize("count", [40, 101], ids=str)
def test_the_shortest_of_all(level: float, count: int) -> None:
    """All y(r) to y(r + q) are tried, q = p M if whole, else int(p M + 1/2): JCGM 101:2008, 7.7 (from memory)."""
    results = np.random.default_rng(4).gamma(2.0, size=(count, 3))
    product = level * count
    q = round(product) if abs(product - round(product)) < 1e-9 else int(product + 0.5)
    low, high = shortest_interval(results, level)
    for column in range(3):
        ordered = sorted(results[:, column])
        shortest = min((ordered[r + q] - ordered[r], ordered[r]) for r in range(count - q))
        assert (high[column] - low[column], low[column]) == shortest


def test_too_few_trials_for_the_level() -> None:
    with pytest.raises(ValueError, match=r"5 trials are too few for an interval that holds 0\.95 of them"):
        shortest_interval(np.zeros((5, 1)), 0.95)


@pytest.mark.parametrize(
    ("u", "expected"),
    [(0.0, 0.0), (0.0122, 0.0005), (0.0296, 0.005), (0.0057, 0.0005), (0.0995, 0.005), (310.0, 50.0)],
    ids=str,
)
def test_tolerance_of_the_printed_digits(u: float, expected: float) -> None:
    """Half a unit of the last digit that `decimals_for` prints."""
    assert tolerances(np.array([u])).tolist() == [expected]


@pytest.mark.parametrize("u", [np.nan, np.inf], ids=str)
def test_no_tolerance_without_a_deviation(u: float) -> None:
    assert np.isnan(tolerances(np.array([u]), 2)).all()


# --- faults


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"level": 1.0}, "wanted a coverage probability between 0 and 1, given 1.0"),
        ({"trials": 1}, "wanted at least 2 trials, given 1"),
        ({"most": 0}, "wanted at least 2 trials, given 0"),
    ],
    ids=["level", "trials", "most"],
)
def test_impossible_options(options: dict, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        sample(itself, from_standard([0.0], 1.0, "reading"), **options)


def test_what_does_not_fit(lane) -> None:
    spots, front, _ = lane
    with pytest.raises(ValueError, match="input 2 has 2 values; wanted 4 or one"):
        sample(rf, spots, [90.0, 91.0], front)
    with pytest.raises(ValueError, match=r"must give one value a trial: wanted shape \(10000,\), given \(\)"):
        sample(np.mean, spots)
