"""The room as a whole: what it offers, and what it does not load."""

from __future__ import annotations

import subprocess
import sys

import pytest

import lanewise.traces

RUN = """
import sys
import lanewise.traces
first = [name for name in ("numpy", "scipy") if name in sys.modules]
import numpy as np
from lanewise.traces import baseline, blank_noise, emg, find_peaks, fit_peaks, gaussian, moments
x = np.linspace(0.0, 80.0, 401)
y = gaussian(x, 0.3, 20.0, 1.5) + emg(x, 1.0, 50.0, 1.5, 2.0) + np.random.default_rng(1).normal(0.0, 0.003, 401)
blank_noise(x, y), moments(x, y, 10.0, 30.0), baseline(x, y), fit_peaks(x, y, find_peaks(x, y))
print(first, [name for name in ("scipy.stats", "scipy.signal", "pandas", "matplotlib") if name in sys.modules])
"""


def test_heavy_friends_stay_away():
    """In an interpreter of its own: nothing heavy on import, and neither scipy.stats nor scipy.signal at all."""
    done = subprocess.run([sys.executable, "-c", RUN], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[] []"


@pytest.mark.parametrize("name", lanewise.traces.__all__)
def test_public_names(name):
    value = getattr(lanewise.traces, name)
    assert value.__name__ == name
    assert value.__module__.startswith("lanewise.traces.")
    assert name in dir(lanewise.traces)


def test_other_names_are_refused():
    with pytest.raises(AttributeError, match=r"module 'lanewise\.traces' has no attribute 'peak'"):
        lanewise.traces.peak  # noqa: B018
