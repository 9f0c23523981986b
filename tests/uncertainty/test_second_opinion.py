"""The engine against the `uncertainties` package, an independent implementation, on lanes drawn at random.

Both get the same readings. All results of a lane are compared: values, deviations and every covariance.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from uncertainties import covariance_matrix, ufloat, umath

from lanewise.quantities import retardation, separation
from lanewise.uncertainty.inputs import from_standard
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.propagation import propagate

SPOTS = 4
Formulas = dict[str, Callable[..., Any]]

# Written plainly, the way a textbook prints them.
PLAIN: Formulas = {
    "rf": lambda spot, front, origin: (spot - origin) / (front - origin),
    "k": lambda rf: (1 - rf) / rf,
    "r_m": lambda rf: np.log10(1 / rf - 1),
    "delta": lambda slow, fast: fast - slow,
    "alpha": lambda slow, fast: (1 / slow - 1) / (1 / fast - 1),
    "resolution": lambda a, b, w_a, w_b: 2 * (b - a) / (w_a + w_b),
}
DERIVATIVES: Formulas = {
    "rf": lambda s, f, o: (1 / (f - o), -(s - o) / (f - o) ** 2, (s - f) / (f - o) ** 2),
    "k": lambda rf: (-1 / rf**2,),
    "r_m": lambda rf: (-1 / (np.log(10) * rf * (1 - rf)),),
    "delta": lambda slow, fast: (np.full_like(slow, -1.0), np.full_like(fast, 1.0)),
    "alpha": lambda a, b: (-1 / a**2 / (1 / b - 1), (1 / a - 1) / (1 / b - 1) ** 2 / b**2),
    "resolution": lambda a, b, v, w: (-2 / (v + w), 2 / (v + w), *[-2 * (b - a) / (v + w) ** 2] * 2),
}
LIBRARY: Formulas = {
    "rf": retardation.rf,
    "k": retardation.retention_factor,
    "r_m": retardation.r_m,
    "delta": separation.delta_rf,
    "alpha": separation.separation_factor,
    "resolution": separation.resolution,
}


def with_derivatives(name: str) -> Callable[..., Any]:
    def formula(*inputs: Any) -> Any:
        return PLAIN[name](*inputs)

    formula.derivatives = DERIVATIVES[name]
    return formula


WAYS: dict[str, Formulas] = {
    "probed": PLAIN,
    "derivatives written here": {name: with_derivatives(name) for name in PLAIN},
    "the library's formulas": LIBRARY,
}


def readings(seed: int) -> dict[str, np.ndarray]:
    """One lane: positions in millimetres from a zero of its own, and a standard uncertainty of every reading."""
    random = np.random.default_rng(seed)
    zero, run = random.uniform(-50, 300), random.uniform(40, 120)
    centre = zero + run * np.sort(random.uniform(0.05, 0.95, SPOTS))
    half = random.uniform(1.0, 4.0, SPOTS)
    lane = {
        "spot": centre,
        "rear": centre - half,
        "fore": centre + half,
        "front": np.array([zero + run]),
        "origin": np.array([zero]),
    }
    return lane | {f"u_{name}": random.uniform(0.05, 0.5, len(place)) for name, place in lane.items()}


def engine_results(formulas: Formulas, lane: dict[str, np.ndarray]) -> list[Measured]:
    spot, rear, fore, front, origin = (
        from_standard(lane[name], lane[f"u_{name}"], name) for name in ("spot", "rear", "fore", "front", "origin")
    )
    rf = propagate(formulas["rf"], spot, front, origin)
    slow, fast, width = rf[:-1], rf[1:], fore - rear
    return [
        rf,
        propagate(formulas["k"], rf),
        propagate(formulas["r_m"], rf),
        propagate(formulas["delta"], slow, fast),
        propagate(formulas["alpha"], slow, fast),
        propagate(formulas["resolution"], spot[:-1], spot[1:], width[:-1], width[1:]),
    ]


def other_results(lane: dict[str, np.ndarray]) -> list[Any]:
    spot, rear, fore, (front,), (origin,) = (
        [ufloat(value, u) for value, u in zip(lane[name], lane[f"u_{name}"], strict=True)]
        for name in ("spot", "rear", "fore", "front", "origin")
    )
    rf = [(z - origin) / (front - origin) for z in spot]
    width = [b - a for a, b in zip(rear, fore, strict=True)]
    pairs = range(SPOTS - 1)
    return [
        *rf,
        *[(1 - r) / r for r in rf],
        *[umath.log10(1 / r - 1) for r in rf],
        *[rf[i + 1] - rf[i] for i in pairs],
        *[(1 / rf[i] - 1) / (1 / rf[i + 1] - 1) for i in pairs],
        *[2 * (spot[i + 1] - spot[i]) / (width[i] + width[i + 1]) for i in pairs],
    ]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seed", range(12))
def test_values_deviations_and_covariances(seed: int, way: str) -> None:
    lane = readings(seed)
    results, others = engine_results(WAYS[way], lane), other_results(lane)
    values, u = (np.array([getattr(other, name) for other in others]) for name in ("nominal_value", "std_dev"))
    covariances = np.block([[left.covariance_matrix(right) for right in results] for left in results])

    assert np.concatenate([result.values for result in results]) == pytest.approx(values, rel=1e-9)
    assert np.concatenate([result.u for result in results]) == pytest.approx(u, rel=1e-9)
    np.testing.assert_allclose(
        covariances / np.outer(u, u), np.array(covariance_matrix(others)) / np.outer(u, u), rtol=0, atol=1e-9
    )


def test_the_lanes_are_correlated_at_all() -> None:
    """Without shared readings the comparison of covariances would compare zeros."""
    rf, *_ = engine_results(PLAIN, readings(0))
    off_diagonal = rf.correlation_matrix()[~np.eye(SPOTS, dtype=bool)]
    assert (off_diagonal > 0.05).all()
