"""The doors through which uncertainty enters. Tabulated divisors are checked in tests/reference/test_metrology.py."""

from __future__ import annotations

import numpy as np
import pytest

from lanewise.uncertainty.budget import coverage_factor, effective_dof
from lanewise.uncertainty.inputs import (
    exact,
    from_covariance,
    from_limits,
    from_observations,
    from_readings,
    from_standard,
    ruler_uncertainty,
)

# Five simultaneous observations of two lines (invented), in millimetres.
LINES = [[10.0, 85.0], [10.5, 85.6], [10.2, 85.1], [9.9, 85.0], [10.1, 85.4]]
SHARED = np.array([[0.04, 0.03], [0.03, 0.09]])


def test_exact_values_have_no_parts() -> None:
    values = exact([1.0, 2.0])
    assert values.u.tolist() == [0.0, 0.0]
    assert values.groups == ()
    assert exact(3.0).values.tolist() == [3.0]


# --- from_standard


def test_each_value_has_its_own_source_unless_told() -> None:
    own = from_standard([1.0, 2.0, 3.0], 0.3, "reading")
    shared = from_standard([1.0, 2.0, 3.0], [0.3, 0.3, 0.6], "reading", source=[0, 4, 4])
    assert own.covariance_matrix() == pytest.approx(np.diag([0.09, 0.09, 0.09]))
    assert shared.correlation_matrix() == pytest.approx(np.array([[1, 0, 0], [0, 1, 1], [0, 1, 1]]))
    assert (own.groups[0].size, shared.groups[0].size) == (3, 5)


def test_stated_properties_reach_the_group() -> None:
    given = from_standard([1.0], 0.1, "reading", shape="t", dof=7, joint=True, label="lane {}".format)
    (group,) = given.groups
    assert (group.shape, group.dof, group.joint, group.describe(0)) == ("t", 7, True, "reading, lane 0")


def test_nothing_is_allowed() -> None:
    nothing = from_standard([], 0.3, "reading", source=[])
    assert len(nothing) == 0
    assert nothing.u.shape == (0,)


@pytest.mark.parametrize(
    ("u", "given"),
    [(-0.1, "-0.1"), ([0.1, float("nan")], "nan"), ([0.1, np.inf], "inf")],
    ids=["negative", "nan", "inf"],
)
def test_an_impossible_uncertainty(u, given: str) -> None:
    with pytest.raises(
        ValueError, match=f"front: wanted a standard uncertainty of zero or more, given {given} for value"
    ):
        from_standard([1.0, 2.0], u, "front")


@pytest.mark.parametrize(
    "source", [[0], [0, -1], [0.0, 1.0], [[0, 1]]], ids=["too few", "negative", "not whole", "a table"]
)
def test_an_impossible_source(source) -> None:
    with pytest.raises(ValueError, match="front: wanted a whole source number, 0 or more, for each of 2 values; given"):
        from_standard([1.0, 2.0], 0.1, "front", source=source)


# --- limits and rulers


@pytest.mark.parametrize(
    ("half_width", "shape", "message"),
    [
        ([0.5, -0.5], "rectangular", "room: wanted a half-width of zero or more, given -0.5 for value 1"),
        (0.5, "normal", "room: limits want a shape among rectangular, triangular, arcsine, given 'normal'"),
        (0.5, "square", "room: limits want a shape among .*, given 'square'"),
    ],
    ids=["negative", "normal has no limits", "unknown"],
)
def test_impossible_limits(half_width, shape, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        from_limits([20.0, 21.0], half_width, "room", shape=shape)


def test_limits_pass_on_shape_and_dof() -> None:
    (group,) = from_limits([20.0], 0.5, "room", shape="arcsine", dof=8).groups
    assert (group.shape, group.dof) == ("arcsine", 8)


@pytest.mark.parametrize("division", [0.0, -1.0, [1.0, 0.0]], ids=["zero", "negative", "one of several"])
def test_an_impossible_ruler(division) -> None:
    with pytest.raises(ValueError, match="wanted a division of the ruler above 0 mm, given"):
        ruler_uncertainty(division)


def test_an_unknown_division_stays_unknown() -> None:
    assert np.isnan(ruler_uncertainty([1.0, np.nan])).tolist() == [False, True]


# --- repeats


def test_mean_of_repeats() -> None:
    """By hand: readings 41.0 41.5 42.0 41.5, s = sqrt(0.5 / 3)."""
    repeats = from_readings([41.0, 41.5, 42.0, 41.5], "spot reading")
    assert repeats.values.tolist() == [41.5]
    assert repeats.u[0] == pytest.approx((0.5 / 3) ** 0.5 / 2, rel=1e-12)
    assert effective_dof(repeats)[0] == pytest.approx(3.0, rel=1e-12)
    assert repeats.groups[0].shape == "t"


def test_observations_of_one_quantity_are_repeats() -> None:
    column = [row[0] for row in LINES]
    together, alone = from_observations(np.array(column)[:, None], "line"), from_readings(column, "line")
    assert together.values[0] == pytest.approx(alone.values[0], rel=1e-12)
    assert together.u[0] == pytest.approx(alone.u[0], rel=1e-12)
    assert effective_dof(together)[0] == pytest.approx(effective_dof(alone)[0], rel=1e-12)


def test_observations_made_together_are_correlated_as_they_were() -> None:
    means = from_observations(LINES, "lines read together")
    assert means.covariance_matrix() == pytest.approx(np.cov(LINES, rowvar=False) / 5, rel=1e-12)
    assert effective_dof(means) == pytest.approx([4.0, 4.0], rel=1e-12)
    assert effective_dof(means[1] - means[0])[0] == pytest.approx(4.0, rel=1e-12)


@pytest.mark.parametrize(
    ("take", "given", "message"),
    [
        (from_readings, [1.0], r"spot: wanted two or more readings in one list.*given shape \(1,\)"),
        (from_readings, [[1.0, 2.0]], r"spot: wanted two or more readings in one list.*given shape \(1, 2\)"),
        (from_readings, [1.0, np.nan], "spot: wanted two or more readings.*with 1 not finite"),
        (from_observations, [[1.0, 2.0]], r"spot: wanted two or more observations, each a row.*given shape \(1, 2\)"),
        (from_observations, [1.0, 2.0], r"spot: wanted two or more observations.*given shape \(2,\)"),
        (from_observations, [[1.0], [np.inf]], "spot: wanted two or more observations.*with 1 not finite"),
    ],
    ids=["one reading", "table of readings", "nan", "one observation", "no table", "inf"],
)
def test_too_few_repeats(take, given, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        take(given, "spot")


# --- covariances


@pytest.mark.parametrize("scale", [1.0, 1e-7, 1e9], ids=["ones", "small", "large"])
@pytest.mark.parametrize(
    "matrix",
    [SHARED, [[0.04, -0.06], [-0.06, 0.09]], [[0.04, 0.0], [0.0, 0.0]]],
    ids=["correlated", "fully anticorrelated", "one of them exact"],
)
def test_a_covariance_is_reproduced(matrix, scale: float) -> None:
    given = scale**2 * np.array(matrix)
    assert from_covariance([1.0, 2.0], given, "fit").covariance_matrix() == pytest.approx(given, rel=1e-9, abs=1e-30)


def test_units_may_differ_widely() -> None:
    """As of the current and the voltage in GUM H.2: the split must not lose the small one."""
    u = np.array([5.0e3, 2.0e-9])
    given = np.outer(u, u) * np.array([[1.0, -0.9], [-0.9, 1.0]])
    found = from_covariance([1.0, 2.0], given, "fit").covariance_matrix()
    assert found == pytest.approx(given, rel=1e-9, abs=0)


@pytest.mark.parametrize(
    ("matrix", "message"),
    [
        ([[0.04]], r"fit: wanted a covariance of shape \(2, 2\), given \(1, 1\)"),
        ([[1e-14, 5e-15], [0.0, 1e-14]], "fit: wanted a symmetric covariance of finite numbers"),
        ([[1.0, 0.5], [0.50001, 1.0]], "fit: wanted a symmetric covariance of finite numbers"),
        ([[np.nan, 0.0], [0.0, 1.0]], "fit: wanted a symmetric covariance of finite numbers"),
        ([[0.04, 0.07], [0.07, 0.09]], "fit: wanted the covariance of some quantities.*negative eigenvalue"),
        ([[-1e-12, 0.0], [0.0, 1.0]], "fit: wanted the covariance of some quantities.*negative eigenvalue"),
        ([[0.0, 1e-9], [1e-9, 1.0]], "fit: wanted the covariance of some quantities.*negative eigenvalue"),
    ],
    ids=[
        "shape",
        "asymmetric and small",
        "slightly asymmetric",
        "nan",
        "correlation above 1",
        "negative variance",
        "covariance without variance",
    ],
)
def test_an_impossible_covariance(matrix, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        from_covariance([1.0, 2.0], matrix, "fit")


def test_one_estimate_of_spread_for_many_readings() -> None:
    """A scatter from 10 degrees of freedom does not become better known by being used for four readings."""
    readings = [31.0, 32.0, 33.0, 34.0]
    each = from_standard(readings, 0.2, "scatter", dof=10).combined([0.25] * 4)
    joint = from_standard(readings, 0.2, "scatter", dof=10, joint=True).combined([0.25] * 4)
    assert effective_dof(each)[0] == pytest.approx(40.0)
    assert effective_dof(joint)[0] == pytest.approx(10.0)
    assert coverage_factor(effective_dof(joint)) > coverage_factor(effective_dof(each))
