"""Budgets, effective degrees of freedom and coverage factors."""

from __future__ import annotations

import numpy as np
import pytest

from lanewise.uncertainty.budget import budget, coverage_factor, effective_dof, expanded, group_variances
from lanewise.uncertainty.inputs import exact, from_observations, from_readings, from_standard
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.propagation import propagate


def rf(spot, front, origin):
    return (spot - origin) / (front - origin)


@pytest.fixture
def difference(lane) -> Measured:
    """Difference of two Rf of one lane: own readings apart, lines shared."""
    found = propagate(rf, *lane)
    return found[2] - found[1]


def test_group_variances_are_sums_of_squared_parts(lane) -> None:
    found = propagate(rf, *lane)
    run, values = 80.0, found.values
    by_hand = (
        np.column_stack([np.array([0.3, 0.25, 0.4, 0.3]) ** 2, values**2 * 0.35**2, (1 - values) ** 2 * 0.2**2])
        / run**2
    )
    assert group_variances(found) == pytest.approx(by_hand, rel=1e-9)
    assert group_variances(found).sum(axis=1) == pytest.approx(found.u**2, rel=1e-12)


def test_group_variances_of_exact_values() -> None:
    assert group_variances(exact([1.0, 2.0])).shape == (2, 0)


@pytest.mark.parametrize("each", [False, True], ids=["by group", "by source"])
def test_shares_sum_to_one_and_fall(difference: Measured, each: bool) -> None:
    lines = budget(difference, each=each)
    shares = [line.share for line in lines]
    assert sum(shares) == pytest.approx(1.0, rel=1e-12)
    assert shares == sorted(shares, reverse=True)
    assert sum(line.u**2 for line in lines) == pytest.approx(difference.u[0] ** 2, rel=1e-12)


def test_lines_by_group_and_by_source(difference: Measured) -> None:
    assert {line.source for line in budget(difference)} == {"spot reading", "front reading", "origin reading"}
    assert {line.source for line in budget(difference, each=True)} == {
        "spot reading 2",
        "spot reading 3",
        "front reading",
        "origin reading",
    }


def test_groups_of_one_name_share_a_line() -> None:
    """Two kinds of reading called by one name: their dof combine by Welch-Satterthwaite (worked by hand)."""
    total = from_standard([1.0], 0.3, "reading", dof=4) + from_standard([1.0], 0.4, "reading", dof=8)
    (line,) = budget(total)
    assert (line.source, line.share) == ("reading", pytest.approx(1.0))
    assert line.u == pytest.approx(0.5, rel=1e-12)
    assert line.dof == pytest.approx(25**2 / (9**2 / 4 + 16**2 / 8), rel=1e-12)


def test_dof_of_a_line_of_one_source_are_its_own() -> None:
    total = from_readings([1.0, 1.1, 1.3], "repeats") + from_standard([2.0], 0.1, "scale")
    assert {line.source: line.dof for line in budget(total)} == {"repeats": pytest.approx(2.0), "scale": np.inf}


def test_what_brings_nothing_has_no_line() -> None:
    total = from_standard([1.0], 0.3, "reading") + from_standard([1.0], 0.0, "perfect scale")
    assert [line.source for line in budget(total)] == ["reading"]
    assert budget(exact([1.0])) == ()


@pytest.mark.parametrize("count", [0, 2], ids=["none", "two"])
def test_a_budget_is_for_one_value(count: int) -> None:
    with pytest.raises(ValueError, match=f"a budget is made for one value, given {count}; choose one"):
        budget(exact(np.zeros(count)))


def test_independent_estimates_add_their_dof() -> None:
    """Welch-Satterthwaite for n equal parts of nu each gives n nu (JCGM 100:2008, G.4.1, from memory)."""
    readings = from_standard(np.zeros(5), 0.2, "reading", dof=3).combined(np.ones(5))
    assert effective_dof(readings)[0] == pytest.approx(15.0, rel=1e-12)


@pytest.mark.parametrize("count", range(2, 12))
def test_observations_count_as_one_sample(count: int) -> None:
    """n observations give n - 1, for every combination of the quantities, however rounding falls."""
    table = np.random.default_rng(count).normal(10.0, 0.3, (count, 3))
    means = from_observations(table, "together")
    sums = means.combined(np.random.default_rng(1).normal(size=(50, 3)))
    assert effective_dof(sums) == pytest.approx(np.full(50, count - 1.0), rel=1e-12)
    assert coverage_factor(effective_dof(sums)) == pytest.approx(np.full(50, coverage_factor(count - 1)), rel=1e-12)


def test_dust_of_arithmetic_costs_no_degree_of_freedom() -> None:
    random = np.random.default_rng(0)
    means = [from_readings(random.normal(10.0, 0.3, 5), "repeats") for _ in range(200)]
    dof = np.array([effective_dof(mean)[0] for mean in means])
    assert (dof < 4.0).any()  # 3.9999999999999996 among them
    assert coverage_factor(dof) == pytest.approx(np.full(200, 2.776), abs=5e-4)  # t for 4: GUM Table G.2, from memory


def test_known_sources_leave_the_normal_factor(lane) -> None:
    found = propagate(rf, *lane)
    assert effective_dof(found).tolist() == [np.inf] * 4
    assert expanded(found) == pytest.approx(1.959964 * found.u, rel=1e-7)


def test_expanded_is_factor_times_u() -> None:
    mean = from_readings([9.8, 10.0, 10.2, 10.4], "repeats")
    assert expanded(mean, 0.99) == pytest.approx(mean.u * coverage_factor(3, 0.99), rel=1e-12)


def test_fractions_of_a_degree_are_cut() -> None:
    assert coverage_factor([16.0, 16.75, 16.999]) == pytest.approx(np.full(3, coverage_factor(16.0)))


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 95, float("nan")], ids=str)
def test_an_impossible_level(level: float) -> None:
    with pytest.raises(ValueError, match="wanted a coverage probability between 0 and 1, given"):
        coverage_factor(5, level)


@pytest.mark.parametrize("dof", [0.5, [3.0, 0.2], float("nan")], ids=["below 1", "one of several", "nan"])
def test_too_few_degrees_of_freedom(dof) -> None:
    with pytest.raises(ValueError, match=r"wanted at least 1 degree of freedom, given (0\.5|0\.2|nan)"):
        coverage_factor(dof)
