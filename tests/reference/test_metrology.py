"""The uncertainty engine against the worked examples of the GUM and its supplement, row by row of their tables.

`metrology/published.csv` keeps each answer as it was printed; ours must agree to half a unit of its last digit, or to
the column `within` where the print itself rests on rounded intermediate results. The other tables hold the examples'
input data, and values worked out exactly, to which results from trials must come within the numerical tolerance that
they claim themselves.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lanewise.uncertainty.budget import coverage_factor, effective_dof, expanded, group_variances
from lanewise.uncertainty.inputs import (
    DIVISORS,
    exact,
    from_covariance,
    from_limits,
    from_observations,
    from_standard,
    ruler_uncertainty,
)
from lanewise.uncertainty.intervals import bounded_multipliers, ratio_end, ratio_interval
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.montecarlo import Sampled, sample, tolerances
from lanewise.uncertainty.propagation import propagate, propagate_jointly

Row = dict[str, str]
Numbers = dict[str, float]
DATA = Path(__file__).parent / "metrology"


def table(name: str) -> list[Row]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def columns(name: str, *wanted: str) -> list[np.ndarray]:
    rows = table(name)
    return [np.array([float(row[column]) for row in rows]) for column in wanted]


def half_unit(printed: str) -> float:
    """Half a unit of the last printed digit, and a little for the binary form of it."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) * (1 + 1e-6)


def ids(rows: list[Row], *wanted: str) -> list[str]:
    return [" ".join(row[column] for column in wanted) for row in rows]


# --- JCGM 100:2008, annex H


def end_gauge_length(l_S, dbar, d1, d2, alpha_S, theta_bar, Delta, delta_alpha, delta_theta):
    return l_S + dbar + d1 + d2 - l_S * (delta_alpha * (theta_bar + Delta) + alpha_S * delta_theta)


def end_gauge() -> Numbers:
    inputs = {
        row["symbol"]: from_standard([float(row["value"])], float(row["u"]), row["symbol"], dof=float(row["dof"]))
        for row in table("gum_h1_inputs")
    }
    length = propagate(end_gauge_length, *inputs.values())
    difference = inputs["dbar"] + inputs["d1"] + inputs["d2"]
    parts = dict(zip([g.name for g in length.groups], np.sqrt(group_variances(length)[0]), strict=True))
    return {
        "l": length.values[0],
        "u(l)": length.u[0],
        "u(d)": difference.u[0],
        "part of delta_alpha": parts["delta_alpha"],
        "part of delta_theta": parts["delta_theta"],
        "nu_eff(l)": effective_dof(length)[0],
        "k(l)": float(coverage_factor(effective_dof(length), 0.99)[0]),
        "U_99(l)": expanded(length, 0.99)[0],
        "u(l) from trials": sample(end_gauge_length, *inputs.values(), trials=400_000).u[0],
    }


def resistance(voltage, current, phase):
    return voltage * np.cos(phase) / current


def reactance(voltage, current, phase):
    return voltage * np.sin(phase) / current


def impedance(voltage, current, phase):
    return voltage / current


def three_of(inputs: list[Measured]) -> Measured:
    """R, X and Z in one `Measured`."""
    results = [propagate(formula, *inputs) for formula in (resistance, reactance, impedance)]
    return Measured(
        np.concatenate([result.values for result in results]),
        np.concatenate([result.parts for result in results]),
        np.concatenate([result.ids for result in results]),
        results[0].groups,
    )


def described(result: Measured, names: str, suffix: str = "") -> Numbers:
    found: Numbers = {}
    correlations = result.correlation_matrix()
    for i, name in enumerate(names.split()):
        found[name + suffix] = result.values[i]
        found[f"u({name}){suffix}"] = result.u[i]
        for j, other in enumerate(names.split()[i + 1 :], start=i + 1):
            found[f"r({name},{other}){suffix}"] = correlations[i, j]
    return found


def alternating_current() -> Numbers:
    readings = np.column_stack(columns("gum_h2_data", "V_volt", "I_ampere", "phi_radian"))
    means = from_observations(readings, "simultaneous readings")
    alone = [from_standard(means.values[i : i + 1], means.u[i], name) for i, name in enumerate(("V", "I", "phi"))]
    rows = np.column_stack([formula(*readings.T) for formula in (resistance, reactance, impedance)])
    u, r = np.array([0.0032, 9.5e-6, 0.75e-3]), np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    rounded = from_covariance([4.9990, 19.661e-3, 1.04446], r * np.outer(u, u), "printed, rounded inputs")
    return {
        **described(means, "V I phi"),
        **described(three_of([means[0], means[1], means[2]]), "R X Z"),
        **described(three_of(alone), "R X Z", " uncorrelated"),
        **described(from_observations(rows, "row by row"), "R X Z", " row by row"),
        **described(three_of([rounded[0], rounded[1], rounded[2]]), "R X Z", " rounded inputs"),
    }


def thermometer() -> tuple[Measured, np.ndarray, float]:
    """Corrections with the common scatter of a straight line, temperatures less 20 degrees, and that scatter."""
    temperature, correction = columns("gum_h3_data", "t_degC", "b_degC")
    theta = temperature - 20.0
    residuals = correction - np.polyval(np.polyfit(theta, correction, 1), theta)
    s = float(np.sqrt((residuals**2).sum() / (len(theta) - 2)))
    readings = from_standard(correction, s, "scatter about the line", dof=len(theta) - 2.0, joint=True)
    return readings, theta, s


def intercept_and_slope(theta: np.ndarray, correction: np.ndarray) -> np.ndarray:
    slope = ((theta - theta.mean()) * (correction - correction.mean())).sum() / ((theta - theta.mean()) ** 2).sum()
    return np.array([correction.mean() - slope * theta.mean(), slope])


def thermometer_line() -> Numbers:
    readings, theta, s = thermometer()
    line = readings.combined(np.linalg.pinv(np.column_stack([np.ones_like(theta), theta])))
    at_30 = line.combined([1.0, 10.0])
    covariance = line.covariance_matrix()
    found = described(line, "y1 y2")
    return found | {
        "s": s,
        "b(30)": at_30.values[0],
        "u(b(30))": at_30.u[0],
        "t0 of no correlation": 20.0 - covariance[0, 1] / covariance[1, 1],
    }


def radon_activity() -> Numbers:
    t_s, c_s, t_b, c_b, t_x, c_x = columns("gum_h4_data", "t_S_min", "C_S", "t_B_min", "C_B", "t_x_min", "C_x")
    assert (t_b > t_s).all()  # the background is counted between the two samples of a cycle
    decay, minutes = 1.25894e-4, 60.0
    r_x, r_s = ((c - c_b) / minutes * np.exp(decay * t) for c, t in ((c_x, t_x), (c_s, t_s)))
    means = from_observations(np.column_stack([r_x, r_s]), "cycles of counting")
    ratio = propagate(lambda x, s: x / s, means[0], means[1])
    by_row = from_observations((r_x / r_s)[:, None], "ratios of the cycles")
    standard = [from_standard([value], u, name) for value, u, name in RADON_STANDARD]
    activity, activity_by_row = (propagate(lambda a, s, x, r: a * s / x * r, *standard, r) for r in (ratio, by_row))
    return {
        **described(means, "R_x R_S"),
        **described(ratio, "R"),
        **described(by_row, "R", " row by row"),
        **described(activity, "A_x"),
        **described(activity_by_row, "A_x", " row by row"),
    }


# Activity of the standard in Bq/g, mass of standard and of sample in g: JCGM 100:2008, H.4.1 (from memory).
RADON_STANDARD = [(0.1368, 0.0018, "A_S"), (5.0192, 0.0050, "m_S"), (5.0571, 0.0010, "m_x")]

# --- JCGM 101:2008, section 9


def mass_difference(m_Rc, dm_Rc, rho_a, rho_W, rho_R, rho_a0, m_nom):
    return (m_Rc + dm_Rc) * (1.0 + (rho_a - rho_a0) * (1.0 / rho_W - 1.0 / rho_R)) - m_nom


def mass_inputs() -> list[Measured]:
    inputs = []
    for row in table("jcgm101_mass_inputs"):
        first, second = float(row["param1"]), float(row["param2"] or 0)
        if row["distribution"] == "normal":
            inputs.append(from_standard([first], second, row["symbol"]))
        elif row["distribution"] == "rectangular":
            inputs.append(from_limits([(first + second) / 2], (second - first) / 2, row["symbol"]))
        else:
            inputs.append(exact(first))
    return inputs


def mass_calibration() -> Numbers:
    result = propagate(mass_difference, *mass_inputs())
    reach = expanded(result)[0]
    found = described(result, "delta_m")
    return found | {"low": result.values[0] - reach, "high": result.values[0] + reach}


EXAMPLES: dict[str, Callable[[], Numbers]] = {
    "H.1": cache(end_gauge),
    "H.2": cache(alternating_current),
    "H.3": cache(thermometer_line),
    "H.4": cache(radon_activity),
    "9.3": cache(mass_calibration),
}
PUBLISHED = table("published")


@pytest.mark.parametrize("row", PUBLISHED, ids=ids(PUBLISHED, "example", "quantity"))
def test_published_answer(row: Row) -> None:
    found = EXAMPLES[row["example"]]()[row["quantity"]]
    within = float(row["within"]) if row["within"] else half_unit(row["published"])
    assert found == pytest.approx(float(row["published"]), rel=0, abs=within)


def test_a_wider_tolerance_is_explained() -> None:
    assert all(row["note"] for row in PUBLISHED if row["within"])


def test_unrounded_answers_of_the_end_gauge() -> None:
    """The digits behind the print, by the same formulas in ordinary arithmetic (computed here)."""
    found = end_gauge()
    assert found["u(l)"] == pytest.approx(31.66, abs=0.005)
    assert found["nu_eff(l)"] == pytest.approx(16.75, abs=0.005)


def test_a_fit_probed_as_a_whole_is_the_same_line() -> None:
    """As random variables: the difference of the two has neither a value nor a deviation."""
    readings, theta, _ = thermometer()
    by_weights = readings.combined(np.linalg.pinv(np.column_stack([np.ones_like(theta), theta])))
    difference = propagate_jointly(intercept_and_slope, theta, readings) - by_weights
    assert difference.values == pytest.approx([0.0, 0.0], abs=1e-14)
    assert difference.u == pytest.approx([0.0, 0.0], abs=1e-9 * by_weights.u.min())


def test_a_line_has_the_degrees_of_freedom_of_its_scatter() -> None:
    """Eleven readings, two coefficients, one estimate of scatter: 9 (JCGM 100:2008, H.3.2, from memory)."""
    readings, theta, _ = thermometer()
    line = readings.combined(np.linalg.pinv(np.column_stack([np.ones_like(theta), theta])))
    assert effective_dof(line) == pytest.approx([9.0, 9.0], rel=1e-12)


# --- results from trials

EXACT = table("jcgm101_exact")
LOSS = table("jcgm101_comparison_loss")
TOLERANCES = table("jcgm101_tolerances")


def total(*inputs):
    return sum(inputs)


def additive(shape: str, scale: str) -> list[Measured]:
    return [from_standard([0.0], float(u), f"X{i}", shape=shape) for i, u in enumerate(scale.split(), start=1)]


TRIALS: dict[str, Callable[[], tuple[Callable, list[Measured]]]] = {
    "9.2.2": lambda: (total, additive("normal", "1 1 1 1")),
    "9.2.3": lambda: (total, additive("rectangular", "1 1 1 1")),
    "9.2.4": lambda: (total, additive("rectangular", "1 1 1 10")),
    "9.3": lambda: (mass_difference, mass_inputs()),
}


def close_to(found: Sampled, exact_answer: list[float], within: float) -> bool:
    results = [found.values[0], found.u[0], found.low[0], found.high[0]]
    return results == pytest.approx(exact_answer, rel=0, abs=within)


def hold_to_tolerance(formula: Callable, inputs: list[Measured], exact_answer: list[float]) -> None:
    """Settled trials are exact to the digits that are printed; mean and u of many trials to two digits.

    The ends of a shortest interval are noisy, since its optimum is flat. Its length is less so: in these examples
    0.4 % from one seed to another, for 500 000 trials.
    """
    mean, u, low, high = exact_answer
    settled = sample(formula, *inputs)
    assert settled.settled.all()
    assert close_to(settled, exact_answer, tolerances(np.array([u]))[0])
    many = sample(formula, *inputs, trials=500_000, digits=2)
    (finer,) = tolerances(np.array([u]), 2)
    assert many.values[0] == pytest.approx(mean, rel=0, abs=finer)
    assert many.u[0] == pytest.approx(u, rel=0, abs=finer)
    assert many.high[0] - many.low[0] == pytest.approx(high - low, rel=0.02)


@pytest.mark.parametrize("row", EXACT, ids=ids(EXACT, "id", "example"))
def test_trials_reach_the_exact_answer(row: Row) -> None:
    formula, inputs = TRIALS[row["id"]]()
    hold_to_tolerance(formula, inputs, [float(row[name]) for name in ("mean", "u", "low", "high")])


def test_first_order_misses_what_trials_find() -> None:
    """JCGM 101:2008, 9.3: 0.0539 mg by the first order, 0.0754 mg by trials, 0.07548 exactly."""
    (row,) = [row for row in EXACT if row["id"] == "9.3"]
    assert mass_calibration()["u(delta_m)"] / float(row["u"]) == pytest.approx(0.713, abs=0.0005)


@pytest.mark.parametrize("row", LOSS, ids=ids(LOSS, "r", "x1"))
def test_comparison_loss(row: Row) -> None:
    """A quantity that cannot be negative, estimated at its bound: JCGM 101:2008, 9.4."""
    r, u, x1, x2 = (float(row[name]) for name in ("r", "u_each", "x1", "x2"))
    both = from_covariance([x1, x2], u**2 * np.array([[1.0, r], [r, 1.0]]), "both signals")

    def loss(a, b):
        return a**2 + b**2

    first_order = propagate(loss, both[0], both[1])
    assert first_order.values[0] == pytest.approx(float(row["guf_estimate"]), rel=1e-12)
    assert first_order.u[0] == pytest.approx(float(row["guf_u_first_order"]), rel=1e-9, abs=1e-12)
    names = ("exact_mean", "exact_u", "exact_shortest95_low", "exact_shortest95_high")
    hold_to_tolerance(loss, [both[0], both[1]], [float(row[name]) for name in names])


@pytest.mark.parametrize("row", TOLERANCES, ids=ids(TOLERANCES, "u", "n_dig"))
def test_numerical_tolerance(row: Row) -> None:
    assert tolerances(np.array([float(row["u"])]), int(row["n_dig"]))[0] == float(row["delta"])


# --- shapes, factors, intervals

DIVISOR_ROWS = table("typeb_divisors")
FACTORS = table("student_t")
BOUNDED = table("bounded_intervals")
FIELLER = table("fieller_cases")
SHARED = table("rf_shared_origin")
PAIRS = table("rf_pair_covariance")


def given(start: str) -> float:
    """Tabulated uncertainty for half-width or step 1 of the distribution whose name starts so."""
    (row,) = [row for row in DIVISOR_ROWS if row["distribution"].startswith(start)]
    return float(row["u_per_unit_half_width_or_step"])


@pytest.mark.parametrize("shape", DIVISORS)
def test_limits_by_shape(shape: str) -> None:
    assert from_limits([7.0], 1.0, "limits", shape=shape).u[0] == pytest.approx(given(shape), abs=5e-11)


def test_division_of_a_ruler() -> None:
    assert ruler_uncertainty(1.0) == pytest.approx(given("digital or ruled step d"), abs=5e-11)


def test_difference_of_two_rounded_readings_is_triangular() -> None:
    """Two rectangular errors of half a step each make a triangular one of a whole step."""
    readings = from_limits([30.0, 70.0], 0.5, "ruler")
    difference = readings[1] - readings[0]
    assert difference.u[0] == pytest.approx(given("difference of two independent readings of step d"), abs=5e-11)


def test_sum_of_two_unequal_limits_is_a_trapezoid() -> None:
    """Half-widths 3/4 and 1/4: the base has half-width 1 and the top half of that."""
    both = from_limits([0.0], 0.75, "wide") + from_limits([0.0], 0.25, "narrow")
    assert both.u[0] == pytest.approx(given("trapezoid"), abs=5e-11)


def test_normal_limits_are_divided_by_a_coverage_factor() -> None:
    assert 1.0 / coverage_factor(np.inf, 0.95) == pytest.approx(given("normal, 95 %"), abs=5e-5)  # there 1.96
    assert 1.0 / coverage_factor(np.inf, 0.9973) == pytest.approx(given("normal, 99.73 %"), abs=5e-5)  # there 3


@pytest.mark.parametrize("row", FACTORS, ids=ids(FACTORS, "dof", "level"))
def test_factor_of_student(row: Row) -> None:
    factor = coverage_factor(float(row["dof"]), float(row["level"]))
    assert float(factor) == pytest.approx(float(row["factor"]), rel=0, abs=half_unit(row["factor"]))


@pytest.mark.parametrize("row", BOUNDED, ids=ids(BOUNDED, "observed", "u", "upper_bound"))
def test_bounded_interval(row: Row) -> None:
    names = ("observed", "u", "lower_bound", "upper_bound", "hpd95_low", "hpd95_high")
    x, u, lower, upper, low, high = (float(row[name]) for name in names)
    below, above = bounded_multipliers([x], [u], lower, upper)
    assert x - below[0] * u == pytest.approx(low, rel=5e-8, abs=5e-9)
    assert x + above[0] * u == pytest.approx(high, rel=5e-8, abs=5e-9)


@pytest.mark.parametrize("row", FIELLER, ids=ids(FIELLER, "x", "y", "var_x", "cov_xy"))
def test_fieller_limits(row: Row) -> None:
    *moments, t = (float(row[name]) for name in ("x", "y", "var_x", "var_y", "cov_xy", "t"))
    ends = [float(ratio_end(*moments, -t)), float(ratio_end(*moments, t))]
    if row["kind"] == "bounded":
        assert ends == pytest.approx([float(row["fieller_low"]), float(row["fieller_high"])], rel=1e-9)
        if row["t"] == "1.959963985":  # 95 %
            low, high = ratio_interval(*moments)
            assert [low[0], high[0]] == pytest.approx(ends, rel=1e-7)
    else:  # the denominator is not shown to differ from zero
        assert np.isnan(ends).all()


def rf_of(z_spot, z_front, z_origin):
    return (z_spot - z_origin) / (z_front - z_origin)


def lane(rf: list[float], run: float, u: float) -> Measured:
    """Rf of spots read in one lane: own readings of each spot, one of the front, one of the origin."""
    spots = from_standard(run * np.array(rf), u, "spot reading")
    return propagate(rf_of, spots, from_standard([run], u, "front reading"), from_standard([0.0], u, "origin reading"))


@pytest.mark.parametrize("row", SHARED, ids=ids(SHARED, "Rf"))
def test_rf_with_one_origin_reading(row: Row) -> None:
    rf, run, u = (float(row[name]) for name in ("Rf", "front_distance_mm", "u_each_reading_mm"))
    found = lane([rf], run, u)
    assert found.u[0] == pytest.approx(float(row["u_Rf_correct"]), rel=5e-10)
    distance, front = from_standard([rf * run], u * 2**0.5, "spot"), from_standard([run], u * 2**0.5, "front")
    apart = propagate(lambda z, f: z / f, distance, front)
    assert apart.u[0] == pytest.approx(float(row["u_Rf_if_two_distances_treated_as_independent"]), rel=5e-10)
    sure = propagate(rf_of, from_standard([rf * run], u, "spot"), from_standard([run], u, "front"), 0.0)
    assert sure.u[0] == pytest.approx(float(row["u_Rf_if_origin_reading_taken_as_exact"]), rel=5e-10)


@pytest.mark.parametrize("row", PAIRS, ids=ids(PAIRS, "Rf_1", "Rf_2"))
def test_two_spots_of_a_lane(row: Row) -> None:
    first, second, run, u = (float(row[name]) for name in ("Rf_1", "Rf_2", "front_distance_mm", "u_each_reading_mm"))
    found = lane([first, second], run, u)
    difference = found[1] - found[0]
    apart = np.hypot(*found.u)
    assert found.u == pytest.approx([float(row["u_Rf_1"]), float(row["u_Rf_2"])], rel=5e-10)
    assert found.correlation_matrix()[0, 1] == pytest.approx(float(row["correlation"]), rel=5e-10)
    assert difference.u[0] == pytest.approx(float(row["u_of_difference"]), rel=5e-10)
    assert apart == pytest.approx(float(row["u_of_difference_if_correlation_ignored"]), rel=5e-10)


@pytest.mark.parametrize("name", sorted(path.stem for path in DATA.glob("*.csv")))
def test_every_row_names_its_source_and_status(name: str) -> None:
    words = ("read", "from memory", "computed here")  # explained in sources.toml
    for row in table(name):
        assert row["source"]
        assert row["status"].startswith(words)
