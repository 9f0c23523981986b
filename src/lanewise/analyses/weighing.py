"""All that is known of one spot, weighed for one candidate: place, streaks, ends, colour, and where it is missing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from lanewise.analyses.bench import INTERVAL, NOTHING, SHARP, Bench
from lanewise.analyses.evidence import Agreement, agreement, end_factor, interval_factor
from lanewise.analyses.expectation import Basis, Expectation, Expectations, differences, most_common
from lanewise.uncertainty.sources import Floats, Ids

SAME_WORD, WORD_BY_CHANCE = 0.9, 0.2
"""Chance that two spots of one dye get the same colour word, and that two of different dyes do (common practice, no
source: readers choose among five to ten words)."""
MISSED = 0.1
"""Chance that a dye which is there is not seen on a plate (common practice, no source)."""
NEAR_HUES = {
    frozenset(pair)
    for pair in (
        ("red", "orange"), ("red", "pink"), ("orange", "yellow"), ("yellow", "green"), ("green", "turquoise"),
        ("turquoise", "blue"), ("cyan", "blue"), ("cyan", "turquoise"), ("blue", "violet"), ("violet", "purple"),
        ("purple", "pink"), ("purple", "magenta"), ("magenta", "pink"), ("magenta", "red"), ("brown", "orange"),
        ("black", "grey"), ("gold", "yellow"), ("gold", "orange"), ("olive", "green"), ("brown", "red"),
    )
}  # fmt: skip
"""Neighbouring hues: two such words say nothing, since readers differ."""
HUES = {hue for pair in NEAR_HUES for hue in pair}


@dataclass(frozen=True, eq=False)
class Weighed:
    """What speaks for one candidate.

    Attributes
    ----------
    log_factor : float
        Natural logarithm of the Bayes factor against an unknown dye, all evidence together.
    place : Agreement or None
        The part of the values; None where none could be compared.
    parts : mapping of str to float
        Logarithms of the factors by kind of evidence: place, ends, colour, missing.
    bases : tuple of str
        What the candidate was compared with.
    """

    log_factor: float
    place: Agreement | None
    parts: Mapping[str, float]
    bases: tuple[Basis, ...]
    entries: tuple[object, ...] = field(default=())


@dataclass(frozen=True, eq=False)
class Scales:
    """The rows of a sample and its standards with their covariance, worked out once.

    Attributes
    ----------
    covariance : array of shape (K, K)
    place : mapping of int to int
    lanes : mapping of int to integer array
        For each plate on which the sample was run, its rows there.
    """

    covariance: Floats
    place: Mapping[int, int]
    lanes: Mapping[int, Ids]


def set_scales(expectations: Expectations, rows: Ids) -> Scales:
    """Take the covariances of a sample's rows and of all standards on its plates."""
    bench = expectations.bench
    plates = np.unique(bench.plate[rows])
    beside = [found[np.isin(bench.plate[found], plates)] for found in expectations.standards.values()]
    needed = np.unique(np.concatenate([rows, *beside]))
    covariance = bench.rf[needed].covariance_matrix()
    lanes = {int(plate): rows[bench.plate[rows] == plate] for plate in plates}
    return Scales(covariance, {int(row): number for number, row in enumerate(needed)}, lanes)


def weigh(expectations: Expectations, scales: Scales, candidate: str, rows: Ids) -> Weighed:
    """Weigh one candidate for the rows of one spot."""
    bench = expectations.bench
    found = differences(expectations, candidate, rows, scales.covariance, scales.place)
    place = agreement(found) if found is not None else None
    settled = set(place.systems.tolist()) if place is not None else set()
    parts = {
        "place": place.log_factor if place is not None else 0.0,
        "ends": _ends(expectations, candidate, rows, settled),
        "colour": math.log(colour_factor(colour_of(bench, rows), expectations.colour(candidate))),
        "missing": _missing(expectations, scales, candidate, rows),
    }
    used = [one for row in rows if (one := expectations.on(candidate, int(bench.plate[row]))) is not None]
    bases = tuple(dict.fromkeys(one.basis for one in used))
    entries = tuple(dict.fromkeys(one.entry for one in used if one.entry is not None))
    return Weighed(sum(parts.values()), place, parts, bases, entries)


def colour_of(bench: Bench, rows: Ids) -> str:
    """Give the colour word of a spot."""
    return most_common([word for word in bench.colour[rows] if word])


def colour_factor(one: str, other: str) -> float:
    """Bayes factor of two colour words.

    Examples
    --------
    >>> [round(colour_factor("red", other), 3) for other in ("dark red", "pink", "blue", "")]
    [4.5, 1.0, 0.125, 1.0]
    """
    hues = [
        next((word for word in reversed(text.replace("-", " ").split()) if word in HUES), text) for text in (one, other)
    ]
    if not all(hues):
        return 1.0
    if hues[0] == hues[1]:
        return SAME_WORD / WORD_BY_CHANCE
    if frozenset(hues) in NEAR_HUES or not set(hues) <= HUES:
        return 1.0
    return (1.0 - SAME_WORD) / (1.0 - WORD_BY_CHANCE)


def _ends(expectations: Expectations, candidate: str, rows: Ids, settled: set[int]) -> float:
    """Logarithm of the factor of streaks and ends; the least one in each system that has no value to compare."""
    bench = expectations.bench
    total = 0.0
    for system in set(bench.system[rows].tolist()) - settled:
        factors = []
        for row in rows[bench.system[rows] == system]:
            found = expectations.on(candidate, int(bench.plate[row]))
            if found is not None and bench.kind[row] != NOTHING:
                factors.append(_interval(bench, int(row), found))
        total += math.log(min(factors)) if factors else 0.0
    return total


def _interval(bench: Bench, row: int, found: Expectation) -> float:
    value = float(bench.rf.values[row])
    sharp = bench.kind[row] == SHARP
    spot = (value, value) if sharp else (float(bench.low[row]), float(bench.high[row]))
    u = math.hypot(bench.scatter.sigma * math.sqrt(2.0), float(bench.u[row]) if sharp else 0.0)
    if found.entry is not None:
        u = math.hypot(u, found.entry.u_used)
    streaks = (sharp or bench.kind[row] == INTERVAL) and (
        found.sharp or (bench.kind[list(found.rows)] == INTERVAL).all()
    )
    return (interval_factor if streaks else end_factor)(spot, (found.low, found.high), u)


def _missing(expectations: Expectations, scales: Scales, candidate: str, rows: Ids) -> float:
    """Logarithm of the factor of plates on which the sample ran and the spot was not seen, once a system.

    A dye whose place is taken by another spot may hide there; an unknown dye may hide behind any.
    """
    bench = expectations.bench
    lost: dict[int, float] = {}
    for plate in sorted(set(scales.lanes) - set(bench.plate[rows].tolist())):
        found = expectations.on(candidate, plate)
        others = scales.lanes[plate]
        others = others[bench.kind[others] != NOTHING]
        if found is None or not others.size:
            continue
        near = 0.03 + np.where(bench.kind[others] == SHARP, 0.0, 0.02)
        centre = np.where(bench.kind[others] == SHARP, bench.rf.values[others], 0.5 * (bench.low + bench.high)[others])
        half = np.where(bench.kind[others] == SHARP, 0.0, 0.5 * (bench.high - bench.low)[others])
        hidden = bool((np.abs(0.5 * (found.low + found.high) - centre) <= half + near).any())
        covered = min(1.0, float((2.0 * (half + near)).sum()))
        chance = 1.0 if hidden else MISSED
        factor = math.log(chance / (MISSED + (1.0 - MISSED) * covered))
        system = int(bench.system[others[0]])
        lost[system] = min(factor, lost.get(system, np.inf))
    return sum(lost.values())
