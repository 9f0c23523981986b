"""A line of its own for each ratio, printed at the end of the run."""

from __future__ import annotations

import statistics
import time

import pytest

LINES = []


class Ratios:
    """Times two ways of doing one thing in turn and keeps the median ratio as a line to print."""

    def compare(self, what, first, second, *, rounds=7, per_first=1, per_second=1):
        """Run two callables in turn; times are CPU time per item."""
        first(), second()
        took = ([], [])
        for _ in range(rounds):
            for times, call, count in zip(took, (first, second), (per_first, per_second), strict=True):
                start = time.process_time()
                call()
                times.append((time.process_time() - start) / count)
        self.note(what, *took)

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
