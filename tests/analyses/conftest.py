"""Tables to measure: the invented ink readings of ``examples``, and small ones typed for a single question."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from lanewise.analyses.compare import compare
from lanewise.analyses.measure import measure

INKS = Path(__file__).parents[2] / "examples" / "writing_inks.csv"
DEFAULTS = {"plate": "P", "system": "water", "lane": "A", "sample": "ink", "spot": "1", "origin_mm": 10.0,
            "front_mm": 90.0, "centre_mm": None, "state": "measured"}  # fmt: skip


@pytest.fixture
def typed():
    """Make marks of rows that are typed with only what matters: ``typed({"centre_mm": 30.0}, {"state": "absent"})``.

    The run is 80 mm and each lane counts its spots; a column that no row has is left out.
    """

    def make(*rows):
        count = {}
        full = []
        for row in rows:
            whole = DEFAULTS | row
            lane = (whole["plate"], whole["lane"])
            count[lane] = count.get(lane, 0) + 1
            full.append(whole | {"spot": row.get("spot", str(count[lane]))})
        frame = pd.DataFrame(full)
        positions = [name for name in frame.columns if name.endswith("_mm")]
        return frame.astype(dict.fromkeys(positions, float))

    return make


@pytest.fixture
def measured(typed):
    """Measure typed rows."""
    return lambda *rows, **settings: measure(typed(*rows), **settings)


@pytest.fixture
def row_of(measured):
    """Give the row of one typed spot in the table of spots."""
    return lambda **cells: measured(cells).spots.iloc[0]


@pytest.fixture(scope="session")
def inks_marks():
    """The example as pandas reads it, no more help given."""
    return pd.read_csv(INKS, comment="#")


@pytest.fixture(scope="session")
def inks(inks_marks):
    return measure(inks_marks)


@pytest.fixture(scope="session")
def inks_compared(inks):
    return compare(inks)
