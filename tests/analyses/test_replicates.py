"""Means over lanes and plates, and the scatter between plates as a source of its own."""

from __future__ import annotations

import statistics
from itertools import chain

import numpy as np
import pytest
from uncertainties import ufloat

from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.replicates import mean_rf
from lanewise.uncertainty.budget import budget, coverage_factor, effective_dof

EXACT = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0}
RULER = 1.0 / 12**0.5


@pytest.fixture
def means_of(measured):
    def make(*rows):
        found = measured(*rows)
        return mean_rf(found, name_dyes(found).names)

    return make


def plates(**values):
    """One lane a dye on each plate; the values are Rf on plates P, Q, R, on runs of 80 mm."""
    return [
        {"plate": plate, "lane": dye, "sample": dye, "centre_mm": 10.0 + 80.0 * rf}
        for dye, row in values.items()
        for plate, rf in zip("PQR", row, strict=False)
    ]


def test_a_mean_of_two_lanes_shares_the_readings_of_their_plate(means_of):
    """Object by object: the front and the origin of the plate stand in both lanes, so they do not average out."""
    means = means_of({"lane": "A", "centre_mm": 30.0}, {"lane": "B", "centre_mm": 32.0})
    origin, front = ufloat(10.0, RULER), ufloat(90.0, RULER)
    expected = sum((ufloat(centre, RULER) - origin) / (front - origin) for centre in (30.0, 32.0)) / 2
    assert means.rf.values.tolist() == pytest.approx([expected.n])
    assert means.rf.u.tolist() == pytest.approx([expected.s], rel=1e-9)
    assert (means.dof, np.isnan(means.between_plates)) == (0, True)


def test_a_mean_over_plates_averages_the_readings_of_each(means_of):
    """Nothing is shared between plates; equal values leave no scatter beyond the readings."""
    means = means_of(*plates(ink=[0.4, 0.4]))
    one = means_of(*plates(ink=[0.4]))
    assert means.rf.u[0] == pytest.approx(one.rf.u[0] / 2**0.5)
    assert (means.between_plates, means.dof) == (0.0, 1)


def test_a_plate_with_two_lanes_counts_once(means_of):
    rows = [
        {"plate": "P", "lane": "A", "centre_mm": 30.0},
        {"plate": "P", "lane": "B", "centre_mm": 34.0},
        {"plate": "Q", "lane": "A", "centre_mm": 42.0},
    ]
    means = means_of(*rows)
    assert means.rf.values[0] == pytest.approx(((20.0 + 24.0) / 2 + 32.0) / 2 / 80.0)
    assert means.cells.to_dict("records") == [{"dye": "ink", "system": "water", "plates": 2}]


def test_the_scatter_between_plates_by_hand(means_of):
    """Deviations of 0.40, 0.42, 0.44: -0.02, 0, 0.02; of 0.60, 0.61: -0.005, 0.005. Their squares are 0.0008 and
    0.00005, on 2 + 1 degrees of freedom: 0.00085 / 3. The readings are taken as exact."""
    rows = [row | EXACT for row in plates(red=[0.40, 0.42, 0.44], blue=[0.60, 0.61])]
    means = means_of(*rows)
    assert means.between_plates == pytest.approx((0.00085 / 3) ** 0.5)
    np.testing.assert_allclose(means.rf.u, means.between_plates / np.sqrt([3, 2]))
    assert [line.source for line in budget(means.rf[0])] == ["between plates"]


@pytest.mark.parametrize("seed", range(4))
def test_the_scatter_between_plates_is_that_of_a_one_way_layout(means_of, seed):
    """The mean square within dyes (python's statistics) less the mean variance that the readings give."""
    random = np.random.default_rng(seed)
    layout = {f"dye {n}": random.uniform(0.2, 0.8) + random.normal(0.0, 0.03, 1 + n % 3) for n in range(9)}
    means = means_of(*plates(**layout))
    degrees = {dye: len(row) - 1 for dye, row in layout.items()}
    within = sum(n * statistics.variance(layout[dye]) for dye, n in degrees.items() if n) / sum(degrees.values())
    by_reading = {
        dye: [RULER**2 * (1 + rf**2 + (1 - rf) ** 2) / 80.0**2 for rf in row]
        for dye, row in layout.items()
        if len(row) > 1
    }
    shares = [statistics.mean(row) * (len(row) - 1) for row in by_reading.values()]
    expected = max(0.0, within - sum(shares) / sum(degrees.values()))
    assert means.between_plates**2 == pytest.approx(expected, rel=1e-9)
    assert len(list(chain(*layout.values()))) == means.cells["plates"].sum()


def test_less_scatter_than_the_readings_explain_adds_nothing(means_of):
    means = means_of(*plates(red=[0.400, 0.401, 0.402], blue=[0.600, 0.601, 0.600]))
    assert means.between_plates == 0.0
    assert "between plates" not in {line.source for line in budget(means.rf[0])}


def test_degrees_of_freedom_are_counted_by_plates_not_by_dyes(means_of):
    """What differs between plates moves all their spots, so nine dyes on three plates are three repeats."""
    layout = {f"dye {n}": [0.05 * n + 0.2, 0.05 * n + 0.25, 0.05 * n + 0.3] for n in range(9)}
    rows = [row | EXACT for row in plates(**layout)]
    assert means_of(*rows).dof == 2
    other = [row | {"plate": f"{row['plate']}2", "system": "brine"} for row in rows if row["plate"] != "R"]
    means = means_of(*rows, *other)
    assert means.dof == 2 + 1
    np.testing.assert_allclose(effective_dof(means.rf), 3.0)


def test_one_estimate_of_scatter_does_not_become_better_known_by_being_used_often(means_of):
    """A difference of two means has the degrees of freedom of the one estimate behind both."""
    rows = [row | EXACT for row in plates(red=[0.40, 0.44], blue=[0.60, 0.63])]
    means = means_of(*rows)
    gap = means.rf[1] - means.rf[0]
    assert effective_dof(gap).tolist() == pytest.approx([1.0])
    assert coverage_factor(effective_dof(gap))[0] == pytest.approx(12.706, abs=5e-4)  # Student t table, nu = 1


def test_streaks_say_nothing_of_the_scatter(means_of):
    sharp = plates(red=[0.40, 0.42])
    streak = [
        row | {"state": "streak", "trailing_mm": row["centre_mm"] - 5, "leading_mm": row["centre_mm"] + 5}
        for row in plates(blue=[0.30, 0.80])[:1]
    ]
    with_streak = means_of(*sharp, *streak, *plates(blue=[0.30, 0.80])[1:])
    alone = means_of(*sharp)
    assert with_streak.between_plates == pytest.approx(alone.between_plates)
    assert with_streak.dof == alone.dof == 1
    assert with_streak.rf.values[with_streak.cell("blue", "water")] == pytest.approx(0.55)


def test_spots_at_the_ends_take_no_part(means_of):
    means = means_of(*plates(red=[0.4]), {"plate": "Q", "sample": "red", "state": "at origin"})
    assert means.rf.values.tolist() == pytest.approx([0.4])
    assert means.cells["plates"].tolist() == [1]


def test_without_any_rf_there_are_no_means(means_of):
    means = means_of({"state": "at origin"}, {"lane": "B", "sample": "other", "state": "with front"})
    assert len(means.rf) == len(means.cells) == 0
    assert means.dof == 0


def test_a_cell_is_found_by_dye_and_system(means_of):
    means = means_of(*plates(red=[0.4], blue=[0.6]))
    assert means.rf.values[means.cell("blue", "water")] == pytest.approx(0.6)
    with pytest.raises(KeyError, match="brine"):
        means.cell("blue", "brine")


def test_the_share_that_moves_a_plate_together(means_of):
    """By hand, readings exact. All dyes move alike: all of it. Each against the other: none of it."""
    together = plates(red=[0.40, 0.42, 0.44], blue=[0.60, 0.62, 0.64], pink=[0.20, 0.22, 0.24])
    means = means_of(*[row | EXACT for row in together])
    assert means.plate_share == pytest.approx(1.0)
    gap = means.rf[1] - means.rf[0]
    assert gap.u.tolist() == pytest.approx([0.0], abs=1e-12), "what moves both alike leaves their distance"
    against = plates(red=[0.40, 0.42, 0.44], blue=[0.64, 0.62, 0.60])
    means = means_of(*[row | EXACT for row in against])
    assert means.plate_share == 0.0
    assert (means.rf[1] - means.rf[0]).u[0] == pytest.approx(means.between_plates * (2 / 3) ** 0.5)


def test_the_share_does_not_change_the_uncertainty_of_one_mean(means_of):
    layout = {f"dye {n}": [0.05 * n + 0.2, 0.05 * n + 0.25 + 0.01 * (n % 2), 0.05 * n + 0.3] for n in range(6)}
    means = means_of(*[row | EXACT for row in plates(**layout)])
    assert 0.0 < means.plate_share < 1.0
    np.testing.assert_allclose(means.rf.u, means.between_plates / 3**0.5)
    np.testing.assert_allclose(effective_dof(means.rf), 2.0)


def test_the_share_is_found_again(means_of):
    """Plates shifted by 0.02 and dyes by 0.01 on each: 0.8 of the variance is shared; many plates, so to 0.1."""
    random = np.random.default_rng(2)
    shift = random.normal(0.0, 0.02, 40)
    rows = [
        {"plate": f"P{plate}", "lane": str(dye), "sample": f"dye {dye}", "u_centre_mm": 0.1,
         "centre_mm": 10.0 + 80.0 * (0.2 + 0.1 * dye + shift[plate] + random.normal(0.0, 0.01))}
        for plate in range(40) for dye in range(6)
    ]  # fmt: skip
    assert means_of(*rows).plate_share == pytest.approx(0.8, abs=0.1)


def test_one_dye_a_plate_tells_no_share(means_of):
    assert np.isnan(means_of(*[row | EXACT for row in plates(red=[0.40, 0.42])]).plate_share)
