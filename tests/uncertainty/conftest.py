"""What the tests of the engine share: comparison of results as random variables, and a lane to measure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from lanewise.uncertainty.inputs import from_standard
from lanewise.uncertainty.measured import Measured

Lane = tuple[Measured, Measured, Measured]


@pytest.fixture
def same_quantity() -> Callable[..., None]:
    """Two results are one quantity if their difference has no value and no deviation.

    Comparing values and deviations alone would not notice that correlations were lost on one of the two ways.
    """

    def check(first: Measured, second: Measured, rel: float = 1e-9) -> None:
        difference = first - second
        assert len(difference) == len(first) == len(second)
        np.testing.assert_array_less(np.abs(difference.values), rel * np.abs(first.values) + 1e-300)
        np.testing.assert_array_less(difference.u, rel * first.u + 1e-300)

    return check


@pytest.fixture
def lane() -> Lane:
    """Four spots, the front and the origin of one lane, in millimetres (invented); each reading has its own u."""
    spots = from_standard([22.0, 31.5, 48.0, 70.25], [0.3, 0.25, 0.4, 0.3], "spot reading")
    front = from_standard([90.0], 0.35, "front reading")
    origin = from_standard([10.0], 0.2, "origin reading")
    return spots, front, origin
