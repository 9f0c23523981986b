"""Holm's correction against published tables."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from lanewise.stats.multiple import holm

FILE = Path(__file__).parents[1] / "reference" / "metrology" / "multiple_comparisons.csv"
with FILE.open(encoding="utf-8", newline="") as opened:
    ROWS = list(csv.DictReader(opened))
SETS = sorted({row["dataset"] for row in ROWS})


@pytest.mark.parametrize("name", SETS)
def test_published_corrections(name):
    """R multtest, read in the tests of statsmodels; the set *textbook 5* is computed from Holm's formula only."""
    rows = [row for row in ROWS if row["dataset"] == name]
    raw, wanted = (np.array([float(row[column]) for row in rows]) for column in ("p_raw", "holm"))
    np.testing.assert_allclose(holm(raw), wanted, rtol=1e-10)
    order = np.random.default_rng(1).permutation(len(raw))
    np.testing.assert_allclose(holm(raw[order]), wanted[order], rtol=1e-10)


def test_what_was_not_tested_counts_for_nothing():
    found = holm([0.01, np.nan, 0.04])
    assert found[[0, 2]].tolist() == pytest.approx([0.02, 0.04])
    assert np.isnan(found[1])
    assert holm([]).shape == (0,)
