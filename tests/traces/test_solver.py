"""The least-squares core against NIST StRD Gauss1 (easy), Gauss2 (medium) and Gauss3 (hard), from both starts.

Each set is 250 points of y = b1 exp(-b2 x) + b3 exp(-((x - b4) / b5)^2) + b6 exp(-((x - b7) / b8)^2); certified values
have eleven digits. `fit_peaks` goes through the same function. The amounts b1, b3 and b6 are solved for, so their
published starts are not needed.
"""

from __future__ import annotations

import numpy as np
import pytest
from lanes import half_unit, table

from lanewise.errors import AnalysisError
from lanewise.traces._solver import least_squares

SETS = ("Gauss1", "Gauss2", "Gauss3")
ORDER = ("b1", "b3", "b6", "b2", "b4", "b5", "b7", "b8")
BENDS = np.array([0, 1, 1, 2, 2])


def model_of(x):
    def model(theta):
        b2, b4, b5, b7, b8 = theta
        decay = np.exp(-b2 * x)
        u, v = (x - b4) / b5, (x - b7) / b8
        first, second = np.exp(-(u**2)), np.exp(-(v**2))
        shapes = np.column_stack([decay, first, second])
        slopes = [-x * decay, 2 * u * first / b5, 2 * u**2 * first / b5, 2 * v * second / b8, 2 * v**2 * second / b8]
        return shapes, np.column_stack(slopes)

    return model


@pytest.fixture(scope="module", params=[(name, start) for name in SETS for start in ("start1", "start2")], ids="-".join)
def run(request):
    name, start = request.param
    rows = [row for row in table("strd_gauss_data") if row["dataset"] == name]
    x, y = (np.array([float(row[column]) for row in rows]) for column in "xy")
    certified = {row["quantity"]: row for row in table("strd_gauss_certified") if row["dataset"] == name}
    begin = np.array([float(certified[quantity][start]) for quantity in ORDER[3:]])
    return least_squares(model_of(x), BENDS, begin, y), certified


def test_parameters(run):
    solution, certified = run
    for name, value in zip(ORDER, [*solution.amounts, *solution.theta], strict=True):
        printed = certified[name]["certified"]
        assert value == pytest.approx(float(printed), rel=0, abs=half_unit(printed)), name


def test_standard_deviations(run):
    solution, certified = run
    gains = solution.orthonormal[1]
    found = solution.residual_sd * np.sqrt(np.sum(gains**2, axis=1))
    for name, value in zip(ORDER, found, strict=True):
        printed = certified[name]["certified_sd"]
        assert value == pytest.approx(float(printed), rel=0, abs=half_unit(printed)), name


def test_residuals(run):
    solution, certified = run
    squares, sd = (certified[f"Residual {name}"]["certified"] for name in ("Sum of Squares", "Standard Deviation"))
    assert np.sum(solution.residuals**2) == pytest.approx(float(squares), rel=0, abs=half_unit(squares))
    assert solution.residual_sd == pytest.approx(float(sd), rel=0, abs=half_unit(sd))
    assert solution.dof == int(certified["Degrees of Freedom"]["certified"])


def test_the_model_above_carries_its_derivatives():
    x = np.linspace(0.0, 250.0, 26)
    theta, step = np.array([0.01, 70.0, 20.0, 150.0, 25.0]), 1e-6
    slopes = model_of(x)(theta)[1]
    for place, bent in enumerate(BENDS):
        moved = np.where(np.arange(5) == place, step * theta, 0.0)
        ahead, behind = (model_of(x)(theta + sign * moved)[0][:, bent] for sign in (1, -1))
        assert slopes[:, place] == pytest.approx((ahead - behind) / (2 * step * theta[place]), abs=1e-7)


def test_two_equal_shapes_are_refused():
    x = np.linspace(0.0, 250.0, 251)
    y = np.exp(-(((x - 100.0) / 20.0) ** 2))
    with pytest.raises(AnalysisError, match="cannot be told apart where the fit begins"):
        least_squares(model_of(x), BENDS, np.array([0.01, 100.0, 20.0, 100.0, 20.0]), y)


def test_a_fit_that_only_grows_worse_is_refused():
    """Derivatives of the wrong sign lead uphill whatever the damping."""
    x = np.linspace(0.0, 1.0, 30)

    def model(theta):
        shape = np.exp(-theta[0] * x)[:, None]
        return shape, x[:, None] * shape

    with pytest.raises(AnalysisError, match="did not settle in 200 rounds: begin nearer"):
        least_squares(model, np.array([0]), np.array([1.0]), np.exp(-3.0 * x))
