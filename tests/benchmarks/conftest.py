"""A line of its own for each ratio, printed at the end of the run."""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # the files here import one another

LINES = []


class Ratios:
    """Keeps the median ratio of two ways of doing one thing, timed in turn, as a line to print."""

    def note(self, what, first, second):
        """Keep a line for two lists of seconds, taken in turn."""
        ratio = statistics.median(b / a for a, b in zip(first, second, strict=True))
        a, b = (_in_words(statistics.median(times)) for times in (first, second))
        LINES.append(f"{what}: {a} against {b}, {ratio:.3g} times faster (1 in {ratio:.3g})")


def _in_words(seconds):
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "us")):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


@pytest.fixture
def ratio():
    return Ratios()


def pytest_terminal_summary(terminalreporter):
    if LINES:
        terminalreporter.section("medians of rounds taken in turn")
        for line in LINES:
            terminalreporter.write_line(line)
