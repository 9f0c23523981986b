"""The derivatives that formulas carry, against central differences and against `uncertainties`.

`uncertainties` differentiates by itself; each formula is written again here the way a textbook prints it.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from lanewise.quantities import efficiency, retardation, separation
from lanewise.quantities._derivatives import with_derivatives

Ranges = dict[str, tuple[float, float]]

RF = (0.02, 0.98)
POSITIONS: Ranges = {"position_slow": (10, 40), "position_fast": (40, 80), "width_slow": (2, 8), "width_fast": (2, 8)}
CASES: list[tuple[Any, Ranges, Callable[..., Any]]] = [
    (
        retardation.rf,
        {"spot": (12, 70), "front": (72, 110), "origin": (5, 11)},
        lambda zs, zf, z0: (zs - z0) / (zf - z0),
    ),
    (retardation.hrf, {"rf": RF}, lambda x: 100 * x),
    (retardation.corrected_rf, {"rf": RF, "xi": (1, 1.6)}, lambda x, xi: xi * x),
    (retardation.retention_factor, {"rf": RF}, lambda x: 1 / x - 1),
    (retardation.r_m, {"rf": RF}, lambda x: umath.log10(1 / x - 1)),
    (retardation.relative_rf, {"rf": RF, "rf_standard": RF}, lambda x, s: x / s),
    (separation.delta_rf, {"rf_slow": RF, "rf_fast": RF}, lambda a, b: b - a),
    (
        separation.separation_factor,
        {"rf_slow": RF, "rf_fast": RF},
        lambda a, b: (1 / a - 1) / (1 / b - 1),
    ),
    (separation.resolution, POSITIONS, lambda a, b, v, w: 2 * (b - a) / (v + w)),
    (
        separation.resolution_half_height,
        POSITIONS,
        lambda a, b, v, w: (2 * umath.log(2)) ** 0.5 * (b - a) / (v + w),
    ),
    (
        efficiency.plate_number,
        {"distance": (5, 100), "base_width": (1, 10)},
        lambda d, w: 16 * (d / w) ** 2,
    ),
]
every_formula = pytest.mark.parametrize(("formula", "ranges", "textbook"), CASES, ids=[f.__name__ for f, *_ in CASES])


def points(ranges: Ranges, count: int) -> list[np.ndarray]:
    random = np.random.default_rng(20)
    return [random.uniform(low, high, count) for low, high in ranges.values()]


@every_formula
def test_central_differences(formula: Any, ranges: Ranges, textbook: Callable[..., Any]) -> None:
    inputs = points(ranges, 300)
    partials = formula.derivatives(*inputs)
    for number, partial in enumerate(partials):
        step = 1e-5 * inputs[number]
        up, down = ([*inputs[:number], inputs[number] + s, *inputs[number + 1 :]] for s in (step, -step))
        slope = (formula(*up) - formula(*down)) / (2 * step)
        # truncation grows near Rf 0 and 1, where the third derivative does
        np.testing.assert_allclose(partial, slope, rtol=1e-6, atol=1e-9)


@every_formula
def test_against_uncertainties(formula: Any, ranges: Ranges, textbook: Callable[..., Any]) -> None:
    inputs = points(ranges, 40)
    values, partials = formula(*inputs), formula.derivatives(*inputs)
    for point in range(40):
        variables = [uncertainties.ufloat(column[point], 0.01) for column in inputs]
        second = textbook(*variables)
        assert values[point] == pytest.approx(second.nominal_value, rel=1e-12, abs=1e-14)
        for variable, partial in zip(variables, partials, strict=True):
            assert partial[point] == pytest.approx(second.derivatives[variable], rel=1e-10, abs=1e-14)


@every_formula
def test_one_array_an_input_in_the_order_of_the_parameters(
    formula: Any, ranges: Ranges, textbook: Callable[..., Any]
) -> None:
    assert list(inspect.signature(formula).parameters) == list(ranges)
    middle = [(low + high) / 2 for low, high in ranges.values()]
    first, *others = middle
    partials = formula.derivatives(np.full((3, 1), first), *(np.full(2, other) for other in others))
    shape = (3, 2) if others else (3, 1)
    assert [partial.shape for partial in partials] == [shape] * len(ranges)
    assert all(partial.dtype == float for partial in partials)


@every_formula
def test_derivatives_at_the_ends_are_silent(formula: Any, ranges: Ranges, textbook: Callable[..., Any]) -> None:
    """Warnings are errors in this suite: running through is the check."""
    for value in (0, 1, 0.0, 1.0, np.nan, np.inf, 1e-320):
        partials = formula.derivatives(*[value] * len(ranges))
        assert len(partials) == len(ranges)


def test_derivatives_of_k_grow_without_bound_at_the_origin() -> None:
    assert retardation.retention_factor.derivatives(0.0) == (-np.inf,)
    assert np.isinf(retardation.r_m.derivatives([0.0, 1.0])).all()


def test_the_decorator_keeps_the_formula() -> None:
    def area(length: float, width: float) -> float:
        return length * width

    assert with_derivatives(lambda length, width: (width, length))(area) is area


def test_shared_origin_and_front_correlate_two_spots_of_a_lane() -> None:
    """cov(Rf1, Rf2) = [Rf1 Rf2 u(front)^2 + (1 - Rf1)(1 - Rf2) u(origin)^2] / L^2, derived from the definition."""
    run, u_front, u_origin = 60.0, 0.3, 0.2
    (_, front_1, origin_1), (_, front_2, origin_2) = (retardation.rf.derivatives(x * run, run, 0) for x in (0.2, 0.7))
    carried = front_1 * front_2 * u_front**2 + origin_1 * origin_2 * u_origin**2
    assert carried == pytest.approx((0.2 * 0.7 * u_front**2 + 0.8 * 0.3 * u_origin**2) / run**2, rel=1e-12)
