"""Where a candidate is expected on a plate: beside its standard there, or by the library, corrected for the plate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np

from lanewise.analyses.bench import SHARP, Bench
from lanewise.analyses.evidence import Differences
from lanewise.tables.rf_library import LibraryEntry, RfLibrary, folded
from lanewise.uncertainty.sources import Floats, Ids

Basis: TypeAlias = Literal[
    "standard on the plate",
    "standard on another plate, corrected",
    "standard on another plate, not corrected",
    "library, corrected",
    "library, not corrected",
    "printed value, corrected",
    "printed value, not corrected",
]
APART = 0.05  # references closer than this do not both serve to correct (common practice)
CORRECTED, UNCORRECTED = 0.02, 0.03
"""Scatter between a plate and a library value beyond readings and lanes, which are counted apart. In all it is 0.02 to
0.03 after correction by references on the plate, and 0.02 to 0.05 among the benches of one class without, or beyond the
outermost reference (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What is expected of one candidate on one plate.

    Attributes
    ----------
    basis : str
        From what.
    rows : tuple of int
        Rows of its standard on the plate; empty if it comes from the library.
    entry : LibraryEntry or None
        The entry, if it comes from the library.
    sharp : bool
        Whether it is a value and no interval.
    low, high : float
        The value twice, or the interval. [1]
    """

    basis: Basis
    rows: tuple[int, ...]
    entry: LibraryEntry | None
    sharp: bool
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class _Knots:
    """References that correct the values of a plate: their rows, measured and accepted values, and entries."""

    rows: tuple[Ids, ...]
    measured: Floats
    accepted: Floats
    entries: tuple[LibraryEntry, ...]


@dataclass(frozen=True, eq=False)
class Expectations:
    """Candidates and what is expected of each on each plate.

    Attributes
    ----------
    bench : Bench
    standards : mapping of str to integer array
        Rows of each standard dye.
    library : RfLibrary
    own : RfLibrary
        Standards of the study itself, for plates on which one of them did not run.
    beyond : set of int
        Rows that lay beyond the outermost reference of their plate where they were compared with a library value.
    """

    bench: Bench
    standards: Mapping[str, Ids]
    library: RfLibrary
    own: RfLibrary = field(default_factory=RfLibrary)
    beyond: set[int] = field(default_factory=set)
    _knots: dict[tuple[int, bool], _Knots] = field(default_factory=dict)
    _found: dict[tuple[str, int], Expectation | None] = field(default_factory=dict)

    @cached_property
    def candidates(self) -> tuple[str, ...]:
        """Names of all candidates: standards first, then dyes of the library for the layers and systems of the study.

        A dye of the library with the name of a standard is that standard.
        """
        names = dict.fromkeys(self.standards)
        known = {folded(name) for name in names}
        for plate in range(len(self.bench.plates)):
            for entry in self._entries(plate, own=False):
                if folded(entry.dye) not in known:
                    known.add(folded(entry.dye))
                    names[entry.dye] = None
        return tuple(names)

    def colour(self, candidate: str) -> str:
        """Give the usual colour word of a candidate; empty where none is known."""
        words = [word for word in self.bench.colour[self.standards.get(candidate, [])] if word]
        if not words:
            wanted = folded(candidate)
            words = [entry.colour.lower() for entry in self.library.entries if folded(entry.dye) == wanted]
        return most_common(words)

    def on(self, candidate: str, plate: int) -> Expectation | None:
        """Give what is expected on a plate; None where nothing is known there."""
        key = (candidate, plate)
        if key not in self._found:
            self._found[key] = self._on_plate(candidate, plate) or self._by_library(candidate, plate)
        return self._found[key]

    def _on_plate(self, candidate: str, plate: int) -> Expectation | None:
        rows = self.standards.get(candidate, np.zeros(0, dtype=np.int64))
        rows = rows[self.bench.plate[rows] == plate]
        if not rows.size:
            return None
        sharp = rows[self.bench.kind[rows] == SHARP]
        if sharp.size:
            value = float(self.bench.rf.values[sharp].mean())
            return Expectation("standard on the plate", tuple(sharp.tolist()), None, True, value, value)
        low, high = float(self.bench.low[rows].min()), float(self.bench.high[rows].max())
        return Expectation("standard on the plate", tuple(rows.tolist()), None, False, low, high)

    def _entries(self, plate: int, *, own: bool) -> tuple[LibraryEntry, ...]:
        rows = self.bench.rows_on(plate)
        if not rows.size:
            return ()
        return (self.own if own else self.library).on(
            self.bench.layer[rows[0]], self.bench.systems[self.bench.system[rows[0]]]
        )

    def _by_library(self, candidate: str, plate: int) -> Expectation | None:
        for own in (True, False):
            found = [entry for entry in self._entries(plate, own=own) if folded(entry.dye) == folded(candidate)]
            if found:
                entry = min(found, key=lambda one: one.u_used)
                return Expectation(self._basis(plate, entry, own), (), entry, True, entry.rf, entry.rf)
        return None

    def _basis(self, plate: int, entry: LibraryEntry, own: bool) -> Basis:
        corrected = bool(self.knots(plate, own=own).rows)
        if own:
            return "standard on another plate, corrected" if corrected else "standard on another plate, not corrected"
        if entry.origin == "printed":
            return "printed value, corrected" if corrected else "printed value, not corrected"
        return "library, corrected" if corrected else "library, not corrected"

    def knots(self, plate: int, *, own: bool) -> _Knots:
        """Give the references of a plate: standards on it that the library knows, apart and in the same order."""
        key = (plate, own)
        if key not in self._knots:
            self._knots[key] = self._make_knots(plate, own)
        return self._knots[key]

    def _make_knots(self, plate: int, own: bool) -> _Knots:
        entries = sorted(self._entries(plate, own=own), key=lambda one: -one.u_used)
        known = {folded(entry.dye): entry for entry in entries}
        found = []
        for name in self.standards:
            here = self._on_plate(name, plate)
            if here and here.sharp and folded(name) in known and 0.0 < here.low < 1.0:
                found.append((here.low, known[folded(name)], np.array(here.rows, dtype=np.int64)))
        found.sort(key=lambda one: one[0])
        kept: list[tuple[float, LibraryEntry, Ids]] = []
        for one in found:
            before = (kept[-1][0], kept[-1][1].rf) if kept else (0.0, 0.0)
            if min(one[0] - before[0], one[1].rf - before[1], 1.0 - one[0], 1.0 - one[1].rf) >= APART:
                kept.append(one)
        return _Knots(
            tuple(one[2] for one in kept),
            np.array([one[0] for one in kept]),
            np.array([one[1].rf for one in kept]),
            tuple(one[1] for one in kept),
        )


def most_common(words: list[str]) -> str:
    """Give the word that stands most often, the first of several; empty where there is none."""
    return max(dict.fromkeys(words), key=words.count) if words else ""


def differences(
    expectations: Expectations, candidate: str, rows: Ids, covariance: Floats, place: Mapping[int, int]
) -> Differences | None:
    """Give the differences of the sharp rows of a spot from what is expected of a candidate.

    Parameters
    ----------
    expectations : Expectations
    candidate : str
    rows : integer array of shape (R,)
        Rows of the spot.
    covariance : array of shape (K, K)
        Covariance of Rf of all rows that may be needed, from the readings.
    place : mapping of int to int
        Where a row stands in `covariance`.

    Returns
    -------
    Differences or None
        None where nothing can be compared so.
    """
    bench = expectations.bench
    pairs = [
        (int(row), found)
        for row in rows
        if bench.kind[row] == SHARP and (found := expectations.on(candidate, int(bench.plate[row]))) and found.sharp
    ]
    if not pairs:
        return None
    size = len(pairs)
    weights, values = np.zeros((size, len(covariance))), np.empty(size)
    shares: dict[LibraryEntry, Floats] = {}
    extra = np.zeros((size, size))
    for number, (row, found) in enumerate(pairs):
        if found.entry is None:
            values[number] = bench.rf.values[row] - found.low
            weights[number, place[row]] = 1.0
            for other in found.rows:
                weights[number, place[other]] -= 1.0 / len(found.rows)
            continue
        values[number] = _against_library(expectations, row, found, number, weights, shares, place)
        sd = UNCORRECTED if row in expectations.beyond else CORRECTED
        for earlier in range(number + 1):
            same = bench.plate[pairs[earlier][0]] == bench.plate[row] and pairs[earlier][1].entry is not None
            extra[number, earlier] = extra[earlier, number] = sd**2 if same else 0.0
    scatter = bench.scatter.sigma**2 * (weights @ weights.T)
    total = weights @ covariance @ weights.T + scatter + extra
    for entry, share in shares.items():
        total += np.outer(share, share) * entry.u_used**2
    system = bench.system[[row for row, _ in pairs]]
    return Differences(values, total, scatter, system, bench.scatter.dof)


def _against_library(
    expectations: Expectations,
    row: int,
    found: Expectation,
    number: int,
    weights: Floats,
    shares: dict[LibraryEntry, Floats],
    place: Mapping[int, int],
) -> float:
    """Difference of a corrected reading from a library value; its sensitivities go into `weights` and `shares`."""
    bench, entry = expectations.bench, found.entry
    assert entry is not None
    knots = expectations.knots(int(bench.plate[row]), own=found.basis.startswith("standard"))
    x = float(bench.rf.values[row])

    def share(one: LibraryEntry, by: float) -> None:
        shares.setdefault(one, np.zeros(len(weights)))[number] += by

    if not knots.rows or not knots.measured[0] <= x <= knots.measured[-1]:
        expectations.beyond.add(row)
    measured = np.concatenate([[0.0], knots.measured, [1.0]])
    accepted = np.concatenate([[0.0], knots.accepted, [1.0]])
    side = int(np.clip(np.searchsorted(measured, x, side="right"), 1, len(measured) - 1))
    a, b, start, end = measured[side - 1], measured[side], accepted[side - 1], accepted[side]
    part, slope = (x - a) / (b - a), (end - start) / (b - a)
    weights[number, place[row]] += slope
    for knot, by in ((side - 2, 1.0 - part), (side - 1, part)):
        if 0 <= knot < len(knots.rows):
            for other in knots.rows[knot]:
                weights[number, place[int(other)]] -= slope * by / len(knots.rows[knot])
            share(knots.entries[knot], by)
    share(entry, -1.0)
    return float(start + slope * (x - a) - entry.rf)
