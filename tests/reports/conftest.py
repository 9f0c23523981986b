from __future__ import annotations

from pathlib import Path

import pytest

from lanewise.files.reading import read

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"


@pytest.fixture(scope="session")
def inks():
    """The example study of invented readings: five inks, three standards, two systems, three benches."""
    return read(EXAMPLE)
