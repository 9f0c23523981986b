"""Do the intervals hold what they promise? Ten thousand simulated plates, read with a ruler (invented).

True positions are drawn; each reading adds a judgement (normal) and is rounded to the division of the ruler. The
intervals come from the engine's own functions and are held against the truth. The same plates show what it would
cost to forget that the spots of a lane share one reading of the origin and one of the front: run this file to read it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from lanewise.quantities.retardation import rf as rf_formula
from lanewise.quantities.separation import resolution
from lanewise.uncertainty.budget import expanded
from lanewise.uncertainty.inputs import from_standard, ruler_uncertainty
from lanewise.uncertainty.intervals import ratio_interval
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.propagation import propagate

PLATES = 10_000
SPOTS = 5
DIVISION, JUDGEMENT, RUN = 1.0, 0.25, 80.0  # millimetres
NOISE = 4 * np.sqrt(0.95 * 0.05 / PLATES)  # four standard errors of a coverage of 95 %
Ends = tuple[np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Plates:
    """Readings of one lane a plate: five spots, their edges, the front, the origin; and the true positions."""

    spots: tuple[Measured, ...]
    widths: tuple[Measured, ...]
    front: Measured
    origin: Measured
    true_rf: np.ndarray
    true_widths: np.ndarray
    true_run: np.ndarray


@cache
def plates(seed: int = 2026) -> Plates:
    random = np.random.default_rng(seed)
    u = float(np.hypot(ruler_uncertainty(DIVISION), JUDGEMENT))

    def read(name: str, true: np.ndarray) -> Measured:
        seen = true + random.normal(0.0, JUDGEMENT, PLATES)
        return from_standard(DIVISION * np.round(seen / DIVISION), u, name)

    origin = random.uniform(9.0, 11.0, PLATES)
    run = random.uniform(0.8, 1.2, PLATES) * RUN
    rf = random.uniform(0.0, 1.0, (SPOTS, PLATES))
    half = random.uniform(2.0, 4.0, (SPOTS, PLATES))
    centre = origin + rf * run
    spots = tuple(read(f"spot {i}", z) for i, z in enumerate(centre))
    edges = [(read("rear", z - h), read("fore", z + h)) for z, h in zip(centre, half, strict=True)]
    widths = tuple(fore - rear for rear, fore in edges)
    return Plates(spots, widths, read("front", origin + run), read("origin", origin), rf, 2 * half, run)


@cache
def rf_of(spot: int) -> Measured:
    lane = plates()
    return propagate(rf_formula, lane.spots[spot], lane.front, lane.origin)


def reach(result: Measured) -> Ends:
    half = expanded(result)
    return result.values - half, result.values + half


def covered(ends: Ends, truth: np.ndarray) -> float:
    return float(((ends[0] <= truth) & (truth <= ends[1])).mean())


def rf_interval(spot: int) -> Ends:
    lane = plates()
    distance, run = lane.spots[spot] - lane.origin, lane.front - lane.origin
    moments = (distance.values, run.values, distance.u**2, run.u**2, distance.covariance(run))
    return ratio_interval(*moments, lower=0.0, upper=1.0)


def rf_case() -> tuple[Ends, np.ndarray]:
    return rf_interval(0), plates().true_rf[0]


def difference_case() -> tuple[Ends, np.ndarray]:
    return reach(rf_of(1) - rf_of(0)), plates().true_rf[1] - plates().true_rf[0]


def mean_case() -> tuple[Ends, np.ndarray]:
    total = rf_of(0)
    for spot in range(1, SPOTS):
        total = total + rf_of(spot)
    return reach(total.scaled(1.0 / SPOTS)), plates().true_rf.mean(axis=0)


def resolution_case() -> tuple[Ends, np.ndarray]:
    lane = plates()
    found = propagate(resolution, lane.spots[0], lane.spots[1], lane.widths[0], lane.widths[1])
    apart = (lane.true_rf[1] - lane.true_rf[0]) * lane.true_run
    return reach(found), 2.0 * apart / (lane.true_widths[0] + lane.true_widths[1])


CASES: dict[str, Callable[[], tuple[Ends, np.ndarray]]] = {
    "Rf between its bounds": rf_case,
    "difference of two Rf of a lane": difference_case,
    "mean Rf of a lane": mean_case,
    "resolution": resolution_case,
}


@pytest.mark.parametrize("case", CASES)
def test_95_of_100_intervals_hold_the_truth(case: str) -> None:
    assert 0.935 <= covered(*CASES[case]()) <= 0.965


@pytest.mark.parametrize(("low", "high"), [(0.0, 0.02), (0.02, 0.5), (0.5, 0.98), (0.98, 1.0)], ids=str)
def test_also_near_the_ends_of_the_lane(low: float, high: float) -> None:
    """All five spots, by where they truly are. At the very ends an interval that knows its bounds covers more."""
    truth, hits = plates().true_rf, []
    for spot in range(SPOTS):
        ends = rf_interval(spot)
        chosen = (truth[spot] >= low) & (truth[spot] < high)
        hits.append(((ends[0] <= truth[spot]) & (truth[spot] <= ends[1]))[chosen])
    share = np.concatenate(hits).mean()
    assert share >= 0.935
    assert low == 0.0 or high == 1.0 or share <= 0.965


def test_bounded_intervals_stay_within_the_lane() -> None:
    low, high = rf_interval(0)
    assert low.min() >= 0.0
    assert high.max() <= 1.0
    assert (low < high).all()


# --- what it would cost to forget that readings are shared


def forgotten() -> dict[str, tuple[Ends, Ends, np.ndarray]]:
    """For each result: the interval, the one that forgets the shared readings, and the truth."""
    lane = plates()
    truth = lane.true_rf
    distance, run = lane.spots[0] - lane.origin, lane.front - lane.origin
    alone = propagate(
        lambda z, f: z / f,
        from_standard(distance.values, distance.u, "distance of the spot"),
        from_standard(run.values, run.u, "distance of the front"),
    )
    own = [from_standard(rf_of(spot).values, rf_of(spot).u, f"Rf of spot {spot}") for spot in range(SPOTS)]
    mean = own[0] + own[1] + own[2] + own[3] + own[4]
    return {
        "Rf, its two distances taken as independent": (reach(rf_of(0)), reach(alone), truth[0]),
        "difference of two Rf, taken as independent": (
            difference_case()[0],
            reach(own[1] - own[0]),
            truth[1] - truth[0],
        ),
        "mean of five Rf, taken as independent": (mean_case()[0], reach(mean.scaled(0.2)), truth.mean(axis=0)),
    }


def cost_of_forgetting() -> str:
    """Table in text: relative width, and coverage of both intervals."""
    lines = ["result; width as a multiple of the right one; coverage; right coverage"]
    for name, (right, wrong, truth) in forgotten().items():
        width = float(np.mean((wrong[1] - wrong[0]) / (right[1] - right[0])))
        lines.append(f"{name}; {width:.2f}; {100 * covered(wrong, truth):.1f} %; {100 * covered(right, truth):.1f} %")
    return "\n".join(lines)


def test_forgetting_shared_readings_gives_wrong_intervals() -> None:
    """Too wide for single values and differences, too narrow for a mean; never 95 %."""
    results = forgotten()
    for right, _, truth in results.values():
        assert covered(right, truth) == pytest.approx(0.95, abs=0.015)
    alone, difference, mean = ((covered(wrong, truth), wrong, right) for right, wrong, truth in results.values())
    assert alone[0] > 0.95 + NOISE
    assert difference[0] > 0.95 + NOISE
    assert mean[0] < 0.95 - NOISE


def test_the_cost_can_be_quoted() -> None:
    head, *lines = cost_of_forgetting().splitlines()
    assert head.startswith("result; width")
    assert [line.partition(";")[0] for line in lines] == list(forgotten())


if __name__ == "__main__":
    sys.stdout.write(cost_of_forgetting() + "\n")
