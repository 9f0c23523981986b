"""Criteria over many trials against the criteria of one chromatogram, and against the tables of the trade."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from lanewise.analyses.criteria import ALONE, TOGETHER, Chromatograms, alone, gaps, resolutions, together
from lanewise.quantities import criteria as one

FILE = Path(__file__).parents[1] / "reference" / "quality_criteria_examples.csv"
with FILE.open(encoding="utf-8", newline="") as opened:
    ROWS = [row for row in csv.DictReader(opened) if int(row["n"]) > 1]  # a single spot has no gap


def run(*rows, width=0.05, end=None):
    rf = np.array(rows, dtype=float)
    ends = np.zeros(rf.shape[1], dtype=np.int64) if end is None else np.array(end, dtype=np.int64)
    return Chromatograms(rf, ends, np.full(rf.shape, width))


@pytest.mark.parametrize("row", ROWS, ids=[row["rf_values"] for row in ROWS])
def test_tables_of_criteria(row):
    """Formulas of Komsta and co-workers (read) and of De Spiegeleer (from memory); sources stand in the table."""
    values = [float(text) for text in row["rf_values"].split()]
    found = alone(run(values))
    columns = {"RU": "retention uniformity", "RD": "retention distance", "MRF_L0_U1": "multispot response",
               "delta_rf_min": "smallest gap", "delta_rf_product": "product of gaps"}  # fmt: skip
    for column, name in columns.items():
        digits = len(row[column].partition(".")[2])
        assert found[name][0] == pytest.approx(float(row[column]), abs=0.5001 * 10.0**-digits), name


def test_every_criterion_is_that_of_one_chromatogram():
    random = np.random.default_rng(4)
    rf = random.uniform(0.05, 0.95, (40, 5))
    found = alone(run(*rf))
    assert list(found) == list(ALONE)
    for trial, row in enumerate(rf):
        ordered = np.sort(row)
        rs = np.diff(ordered) * 2 / 0.10
        wanted = {
            "worst resolution": one.smallest_resolution(rs),
            "smallest gap": one.smallest_gap(row),
            "retention uniformity": one.retention_uniformity(row),
            "retention distance": one.retention_distance(row),
            "multispot response": one.multispot_response(row),
            "product of gaps": one.gap_product(row),
            "sum of resolutions": one.resolution_sum(rs),
            "resolution product": one.normalised_resolution_product(rs),
            "optimisation function": one.optimisation_function(rs),
        }
        for name, value in wanted.items():
            assert found[name][trial] == pytest.approx(value, rel=1e-9), name


def test_two_systems_by_hand():
    """D_A of (0.2, 0.2), (0.2, 0.8), (0.8, 0.2) is 6.9444 (by hand, after Gonnord and co-workers)."""
    found = together(run([0.2, 0.2, 0.8]), run([0.2, 0.8, 0.2]))
    assert list(found) == list(TOGETHER)
    assert found["inverse square distances"][0] == pytest.approx(6.9444, abs=5e-5)
    assert found["smallest gap"][0] == pytest.approx(0.6)
    assert found["worst resolution"][0] == pytest.approx(0.6 * 2 / 0.10)
    assert found["closest pair"][0] == pytest.approx(0.6)


def test_ends_of_the_run():
    """Two dyes at the origin (bound 0.02), one at 0.30, one with the front (bound 0.97)."""
    ended = run([0.02, 0.02, 0.30, 0.97], end=[-1, -1, 0, 1])
    assert gaps(ended)[0] == pytest.approx([0.0, 0.28, 0.95, 0.28, 0.95, 0.67])
    rs = resolutions(ended)[0]
    assert rs[[0, 1, 3, 5]] == pytest.approx([0.0, 5.6, 5.6, 13.4])
    assert np.isinf(rs[[2, 4]]).all(), "one at each end has no length and no doubt"
    found = alone(ended)
    assert (found["worst resolution"][0], found["smallest gap"][0], found["retention distance"][0]) == (0.0, 0.0, 0.0)
    assert found["retention uniformity"][0] == pytest.approx(one.retention_uniformity([0.0, 0.0, 0.30, 1.0]))


def test_a_dye_within_the_bound_of_another_is_not_apart():
    """0.01 is below the bound 0.02 of the dye at the origin, so nothing shows that they lie apart."""
    assert gaps(run([0.02, 0.01], end=[-1, 0]))[0].tolist() == [0.0]
    assert gaps(run([0.97, 0.98], end=[1, 0]))[0].tolist() == [0.0]


def test_lengths_that_were_not_read_leave_gaps_alone():
    found = alone(run([0.2, 0.5], width=np.nan))
    assert np.isnan(found["worst resolution"][0])
    assert found["smallest gap"][0] == pytest.approx(0.3)
