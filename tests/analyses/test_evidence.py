"""The numbers behind an identification, against scipy, the law of propagation, and arithmetic done another way."""

from __future__ import annotations

import math
from itertools import permutations, product

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats

from lanewise.analyses.bench import set_up, standards
from lanewise.analyses.evidence import Differences, agreement, end_factor, interval_factor, log_t_density
from lanewise.analyses.expectation import CORRECTED, UNCORRECTED, Expectations, differences
from lanewise.analyses.joint import joint_chances
from lanewise.analyses.measure import measure
from lanewise.analyses.scatter import PRIOR_DOF, PRIOR_SIGMA, pooled_scatter, repeat_squares
from lanewise.analyses.weighing import set_scales
from lanewise.tables.rf_library import LibraryEntry, RfLibrary

RNG = np.random.default_rng(5)


@pytest.mark.parametrize("size", [1, 2, 4])
@pytest.mark.parametrize("dof", [2.0, 12.0, 200.0])
def test_density_is_that_of_scipy(size, dof):
    root = RNG.normal(size=(size, size)) + 2 * np.eye(size)
    at, shape = RNG.normal(size=size), root @ root.T
    assert log_t_density(at, shape, dof) == pytest.approx(stats.multivariate_t.logpdf(at, shape=shape, df=dof))


def test_what_readings_disagree_about_drops_out():
    """The factor from the averages is the ratio of the two likelihoods: normal about 0, and with an unknown shift of
    each system that is integrated over (scipy; large degrees of freedom stand for normal)."""
    covariance = np.diag([4e-4, 9e-4, 1e-4]) + 5e-5
    values, system = np.array([0.01, -0.02, 0.015]), np.array([0, 0, 1])
    found = agreement(Differences(values, covariance, np.zeros((3, 3)), system, np.inf))
    normal = stats.multivariate_normal(np.zeros(3), covariance)

    def shifted(b, a):
        return normal.pdf(values - np.array([a, a, b]))

    below, _ = integrate.dblquad(shifted, -0.3, 0.3, -0.3, 0.3, epsrel=1e-8)
    by_averages = stats.multivariate_normal(np.zeros(2), found.covariance).pdf(found.delta)
    assert by_averages == pytest.approx(normal.pdf(values) / below, rel=1e-5)


def test_estimated_scatter_gives_heavier_tails():
    """Welch and Satterthwaite: (total variance / estimated part)^2 times its degrees of freedom."""
    one = np.array([[2e-4]])
    found = agreement(Differences(np.zeros(1), one, one / 2, np.zeros(1, dtype=int), 2.0))
    assert found.dof == pytest.approx(2.0 / 0.25)
    assert agreement(Differences(np.zeros(1), one, one, np.zeros(1, dtype=int), 2.0)).dof == 2.0


def test_interval_against_integration():
    """A spot somewhere between 0.3 and 0.5, a candidate between 0.45 and 0.6, blurred by 0.02 (scipy)."""
    blur = stats.norm(scale=0.02)

    def both(x, y):
        return blur.pdf(x - y) / (0.2 * 0.15)

    expected, _ = integrate.dblquad(both, 0.45, 0.6, 0.3, 0.5)
    assert interval_factor((0.3, 0.5), (0.45, 0.6), 0.02) == pytest.approx(expected, rel=0.01)


def test_agreement_at_an_end_is_weak_and_disagreement_is_not():
    assert end_factor((0.98, 1.0), (0.98, 1.0), 0.01) == 3.0
    assert end_factor((0.98, 1.0), (0.5, 0.5), 0.01) < 1e-6


def test_joint_chances_by_brute_force():
    weights = [RNG.uniform(0.01, 1.0, 4) for _ in range(3)]
    total, mine = 0.0, np.zeros((3, 4))
    for choice in product(range(4), repeat=3):
        named = [place for place in choice if place < 3]
        if len(set(named)) == len(named):
            weight = math.prod(w[place] for w, place in zip(weights, choice, strict=True))
            total += weight
            for spot, place in enumerate(choice):
                mine[spot, place] += weight
    found = joint_chances(weights)
    assert np.array(found.chances) == pytest.approx(mine / total)
    assert found.log_total == pytest.approx(math.log(total))
    assert sum(found.sets.values()) == pytest.approx(1.0)
    whole = sum(
        math.prod(w[place] for w, place in zip(weights, order, strict=True)) for order in permutations(range(3))
    )
    assert found.sets[0, 1, 2] == pytest.approx(whole / total)


def test_too_many_explanations_are_not_gone_through():
    found = joint_chances([np.full(9, 1.0)] * 6, limit=1000)
    assert not found.exact
    assert found.chances[0] == pytest.approx(np.full(9, 1 / 9))


def test_scatter_of_repeats_is_found_whatever_plates_do():
    """Dyes on plates that shift and stretch: the residual standard deviation is what was put in (simulation)."""
    dyes, plates, sigma = 12, 200, 0.012
    rf = RNG.uniform(0.1, 0.9, dyes)
    table = (
        rf
        + RNG.normal(0, 0.03, (plates, 1))
        + rf * RNG.normal(0, 0.05, (plates, 1))
        + RNG.normal(0, sigma, (plates, dyes))
    )
    plate, dye = (index.ravel() for index in np.indices(table.shape))
    squares, expected, dof = repeat_squares(table.ravel(), np.zeros(table.size), dye, plate, np.zeros_like(plate))
    assert (expected, dof) == (0.0, (dyes - 2) * (plates - 1))
    assert math.sqrt(squares / dof) == pytest.approx(sigma, rel=0.05)


def test_scatter_of_lanes_on_one_plate():
    """Two lanes of one dye: half the squared difference, one degree of freedom."""
    zero = np.zeros(2, dtype=int)
    squares, expected, dof = repeat_squares(np.array([0.50, 0.52]), np.full(2, 1e-5), zero, zero, zero)
    assert (squares, expected, dof) == (pytest.approx(2e-4), pytest.approx(1e-5), 1)
    assert pooled_scatter(squares, expected, dof).sigma == pytest.approx(
        math.sqrt((PRIOR_DOF * PRIOR_SIGMA**2 + 1.9e-4) / (PRIOR_DOF + 1))
    )


ROWS = pd.DataFrame(
    {
        "plate": ["P"] * 4,
        "system": ["water"] * 4,
        "layer": ["silica"] * 4,
        "lane": ["1", "2", "3", "4"],
        "sample": ["red", "blue", "green", "ink"],
        "role": ["standard", "standard", "standard", "sample"],
        "origin_mm": [0.0] * 4,
        "front_mm": [100.0] * 4,
        "centre_mm": [22.0, 45.0, 71.0, 53.0],
        "u_origin_mm": [0.4] * 4,
        "u_front_mm": [0.5] * 4,
        "u_centre_mm": [0.3, 0.3, 0.3, 0.6],
    }
)


def made(marks, library=None):
    bench = set_up(measure(marks))
    expectations = Expectations(bench, standards(bench), library or RfLibrary())
    rows = np.flatnonzero(bench.role == "sample")
    return bench, expectations, rows, set_scales(expectations, rows)


def test_difference_from_a_standard_on_the_plate_by_hand():
    """Origin and front are shared: the difference of two spots carries (Rf difference) times the front's and the
    origin's uncertainty over the run, and both spot readings (law of propagation, by hand)."""
    bench, expectations, rows, scales = made(ROWS)
    found = differences(expectations, "blue", rows, scales.covariance, scales.place)
    delta = 0.53 - 0.45
    by_hand = ((0.3**2 + 0.6**2) + delta**2 * (0.4**2 + 0.5**2)) / 100.0**2
    assert found.values == pytest.approx([delta])
    assert found.covariance[0, 0] - found.scatter[0, 0] == pytest.approx(by_hand)
    assert found.scatter[0, 0] == pytest.approx(2 * bench.scatter.sigma**2)


def test_corrected_library_value_by_hand():
    """hRf^c of 53 between references at 45 and 71 with accepted 40 and 65 is 47.69 (worked by hand); the uncertainty
    is carried by numerical derivatives of that formula, all six inputs."""
    entries = [("red", 0.20), ("blue", 0.40), ("green", 0.65), ("violet", 0.47)]
    library = RfLibrary(
        tuple(LibraryEntry(dye, "silica", "water", rf, 0.011, 3, "own plates", "", "notes") for dye, rf in entries)
    )
    _, expectations, rows, scales = made(ROWS, library)
    found = differences(expectations, "violet", rows, scales.covariance, scales.place)
    assert f"{100 * (found.values[0] + 0.47):.2f}" == "47.69"

    def difference(x):
        origin, front, low, high, spot, accepted_low, accepted_high, entry = x
        a, b, s = ((place - origin) / (front - origin) for place in (low, high, spot))
        return accepted_low + (accepted_high - accepted_low) / (b - a) * (s - a) - entry

    at = np.array([0.0, 100.0, 45.0, 71.0, 53.0, 0.40, 0.65, 0.47])
    u = np.array([0.4, 0.5, 0.3, 0.3, 0.6, 0.011, 0.011, 0.011])
    slopes = [(difference(at + h) - difference(at - h)) / 2e-6 for h in 1e-6 * np.eye(8)]
    by_hand = float(np.sum((np.array(slopes) * u) ** 2)) + CORRECTED**2
    assert found.covariance[0, 0] - found.scatter[0, 0] == pytest.approx(by_hand, rel=1e-4)


def test_without_a_reference_the_plate_is_not_corrected():
    library = RfLibrary((LibraryEntry("violet", "silica", "water", 0.5, 0.02, 3, "own plates", "", "notes"),))
    _, expectations, rows, scales = made(ROWS, library)
    found = differences(expectations, "violet", rows, scales.covariance, scales.place)
    assert found.values == pytest.approx([0.03])
    reading = (0.6**2 + 0.53**2 * 0.5**2 + 0.47**2 * 0.4**2) / 100.0**2
    assert found.covariance[0, 0] - found.scatter[0, 0] == pytest.approx(reading + 0.02**2 + UNCORRECTED**2)


def test_one_library_value_behind_two_plates_is_shared():
    """What is wrong with an entry is wrong on every plate: the covariance of two plates is its variance."""
    two = pd.concat([ROWS, ROWS.assign(plate="Q")], ignore_index=True)
    two = two[two["role"] == "sample"]
    library = RfLibrary((LibraryEntry("violet", "silica", "water", 0.5, 0.02, 0, "printed", "", "a table"),))
    bench = set_up(measure(two))
    expectations = Expectations(bench, {}, library)
    rows = np.arange(2)
    scales = set_scales(expectations, rows)
    found = differences(expectations, "violet", rows, scales.covariance, scales.place)
    assert found.covariance[0, 1] == pytest.approx(0.02**2 + 0.09**2)
