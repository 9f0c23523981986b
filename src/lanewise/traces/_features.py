"""Readings of a smooth trace: each a number for every spot, and how it moves with every point of the trace.

P is the number of spots, N that of points. `side` is -1 towards the origin and 1 towards the front.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lanewise.traces._grids import Counts, Floats

Side = Literal[-1, 1]
FLANK = 0.1  # of the height: the point of inflection of a flank lies above that
SUMMIT = 0.6  # of the height: what lies above belongs to the top


class Tops(NamedTuple):
    """Local maxima that stand out: arrays of shape (P,), of indices but for the prominence."""

    at: Counts
    left: Counts
    """First point of a flat top; `at` itself where the top is not flat."""
    right: Counts
    low: Counts
    """Where the trace is lowest between this top and the one before, or the start."""
    high: Counts
    first: Counts
    """Where its upper part begins, see `SUMMIT`."""
    last: Counts
    prominence: Floats

    def with_ends(self, s: Floats, least: float) -> Tops:
        """Give these tops and the ends of the trace, where it is still as high as `least`: half a spot lies there."""
        last = len(s) - 1
        start, end = (np.full(int(s[place] >= least), place) for place in (0, last))
        bounds = np.concatenate([self.low, self.high[-1:]]) if len(self.at) else np.array([int(np.argmin(s))])
        at, left, right = (np.concatenate([start, column, end]) for column in (self.at, self.left, self.right))
        low = np.concatenate([start, self.low, bounds[-1:].repeat(len(end))])
        high = np.concatenate([bounds[:1].repeat(len(start)), self.high, end])
        return Tops(at, left, right, low, high, left, right, s[at])


class Reading(NamedTuple):
    """One reading of every spot, (P,), nan where there is none; `rows` are its derivatives by each value, (P, N)."""

    value: Floats
    rows: Floats

    def times(self, factor: float) -> Reading:
        """Give a multiple of this reading."""
        return Reading(factor * self.value, factor * self.rows)

    def minus(self, other: Reading) -> Reading:
        """Give this reading less another."""
        return Reading(self.value - other.value, self.rows - other.rows)

    def filled(self, other: Reading) -> Reading:
        """Give this reading, and another where there is none."""
        missing = np.isnan(self.value)
        return Reading(np.where(missing, other.value, self.value), np.where(missing[:, None], other.rows, self.rows))

    def over(self, other: Reading) -> Reading:
        """Give this reading divided by another."""
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = self.value / other.value
            return Reading(ratio, (self.rows - ratio[:, None] * other.rows) / other.value[:, None])


def tops_of(s: Floats, least: float) -> Tops:
    """Find the local maxima whose height and prominence are `least` or more, and above 0; no end of a trace is one."""
    starts = np.flatnonzero(np.concatenate([[True], s[1:] != s[:-1]]))
    ends = np.append(starts[1:], len(s)) - 1
    rising = np.diff(s[starts]) > 0
    flat = np.flatnonzero(rising[:-1] & ~rising[1:]) + 1
    left, right = starts[flat], ends[flat]
    at = (left + right) // 2
    valleys = np.minimum.reduceat(s, np.concatenate([[0], at]))
    heights = s[at]
    before = np.array(_deepest(heights, valleys[:-1]))
    after = np.array(_deepest(heights[::-1], valleys[:0:-1]))[::-1]
    prominence = heights - np.maximum(before, after)
    kept = (np.minimum(heights, prominence) >= least) & (prominence > 0.0)
    at = at[kept]
    bounds = [0, *at, len(s)]
    valleys = np.array([a + np.argmin(s[a : b + 1]) for a, b in pairwise(bounds)], dtype=np.int64)
    left, right, low, high = left[kept], right[kept], valleys[:-1], valleys[1:]
    tops = Tops(at, left, right, low, high, left, right, prominence[kept])
    first = np.minimum(np.maximum(fall(s, tops, -1, SUMMIT * s[at]) + 1, low), left - 1)
    last = np.maximum(np.minimum(fall(s, tops, 1, SUMMIT * s[at]), high), right + 1)
    return tops._replace(first=first, last=last)


def _deepest(heights: Floats, valleys: Floats) -> list[float]:
    """For each top the lowest point on the way back to a taller one; `valleys` are those just before each top."""
    found: list[float] = []
    open_tops: list[tuple[float, float]] = []
    for height, valley in zip(heights.tolist(), valleys.tolist(), strict=True):
        lowest = valley
        while open_tops and open_tops[-1][0] <= height:
            lowest = min(lowest, open_tops.pop()[1])
        open_tops.append((height, lowest))
        found.append(lowest)
    return found


def vertex(x: Floats, s: Floats, tops: Tops) -> tuple[Reading, Reading]:
    """Position and height of each apex, from a polynomial of degree 4 through the upper part of the spot.

    That is wide enough to even out noise, and its odd terms follow a top that leans. A parabola stands in where there
    are fewer than 5 points, or where the top is so flat that the polynomial has a dent. Where not even that has a top,
    there is no apex.
    """
    apex, height = (Reading(np.zeros(len(tops.at)), np.zeros((len(tops.at), len(s)))) for _ in range(2))
    for spot, (a, b, at) in enumerate(zip(tops.first, tops.last, tops.at, strict=True)):
        part, places = s[a : b + 1], x[a : b + 1]
        middle, span = 0.5 * (x[a] + x[b]), x[b] - x[a]
        for degree in (4, 2):
            place, slopes, values, bend = _top((places - middle) / span, part, degree if len(part) > degree else 2)
            if abs(place) < 0.5 and bend < 0.0:
                apex.value[spot], apex.rows[spot, a : b + 1] = middle + span * place, -span * slopes / bend
                height.rows[spot, a : b + 1] = values
                break
        else:
            apex.value[spot], height.rows[spot, at] = np.nan, 1.0
        height.value[spot] = height.rows[spot] @ s
    return apex, height


def _top(u: Floats, s: Floats, degree: int) -> tuple[float, Floats, Floats, float]:
    """Where a polynomial through s(u) is level, near u = 0, and there its slope and value by each s, and its bend."""
    powers = np.arange(degree + 1)
    shapes = u[:, None] ** powers
    to_terms = np.linalg.solve(shapes.T @ shapes, shapes.T)
    terms = to_terms @ s
    place = 0.0
    for _ in range(5):  # Newton's steps
        slope = powers[1:] * place ** (powers[1:] - 1)
        bend = float((powers[2:] * (powers[2:] - 1) * place ** (powers[2:] - 2)) @ terms[2:])
        if not (abs(place) < 0.5 and bend < 0.0):
            break
        place -= float(slope @ terms[1:]) / bend
    return place, slope @ to_terms[1:], place**powers @ to_terms, bend


def reach(x: Floats, s: Floats, tops: Tops, share: float = 2.0) -> tuple[Floats, Floats]:
    """From where to where each spot reaches: `share` times as far as it takes to fall to a tenth; or to the valley."""
    level, apex = FLANK * s[tops.at], x[tops.at]
    rear, lead = fall(s, tops, -1, level), fall(s, tops, 1, level) + 1
    share += 1e-9  # so that rounding does not decide whether a point at the very end belongs to it
    low = np.where(rear > tops.low, apex - share * (apex - x[np.maximum(rear, 0)]), x[tops.low])
    high = np.where(lead < tops.high, apex + share * (x[np.minimum(lead, len(x) - 1)] - apex), x[tops.high])
    return low, high


def crossing(x: Floats, s: Floats, tops: Tops, side: Side, level: Reading) -> Reading:
    """Where the trace first falls below a level on that side of each top, if it does before the valley."""
    place = fall(s, tops, side, level.value)
    seen = place >= tops.low if side < 0 else place < tops.high
    return _through(x, s, np.where(seen, place, tops.at), level, seen)


def foot(x: Floats, s: Floats, tops: Tops, side: Side) -> Reading:
    """Where the steepest tangent of the flank on that side meets the baseline."""
    slopes = side * np.diff(s) / np.diff(x)
    ends = fall(s, tops, side, FLANK * s[tops.at])
    if side < 0:
        first, last = np.maximum(ends, tops.low), tops.left - 1
    else:
        first, last = tops.right, np.minimum(ends, tops.high - 1)
    steps = np.arange(len(slopes))
    flank = (steps >= first[:, None]) & (steps <= last[:, None])
    steepest = np.argmin(np.where(flank, slopes, np.inf), axis=1)
    ground = Reading(np.zeros(len(steepest)), np.zeros((len(steepest), len(s))))
    return _through(x, s, steepest, ground, first <= last)


def fall(s: Floats, tops: Tops, side: Side, level: Floats | float) -> Counts:
    """First step, counted by its lower index, in which the trace falls below a level; -1 or N - 1 where it does not."""
    below = s < np.reshape(level, (-1, 1))
    points = np.arange(len(s))
    found: Counts
    if side < 0:
        found = np.where(below & (points < tops.left[:, None]), points, -1).max(axis=1)
    else:
        found = np.where(below & (points > tops.right[:, None]), points, len(s)).min(axis=1) - 1
    return found


def integrals(x: Floats, s: Floats, low: Floats, high: Floats) -> tuple[Reading, Reading]:
    """Area and centroid of the points from `low` to `high`, by trapezia."""
    inside = (x >= low[:, None]) & (x <= high[:, None])
    half = 0.5 * np.diff(x) * (inside[:, :-1] & inside[:, 1:])
    weights = np.zeros(inside.shape)
    weights[:, :-1] += half
    weights[:, 1:] += half
    area = weights @ s
    centre = weights @ (s * x) / area
    return Reading(area, weights), Reading(centre, weights * (x - centre[:, None]) / area[:, None])


def _through(x: Floats, s: Floats, place: Counts, level: Reading, seen: NDArray[np.bool_]) -> Reading:
    """Where the line through points `place` and the next meets a level."""
    step, rise = x[place + 1] - x[place], s[place + 1] - s[place]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(seen & (rise != 0.0), (level.value - s[place]) / rise, np.nan)
        slope = rise / step
        rows = _rows(s, [(place, (share - 1.0) / slope), (place + 1, -share / slope)]) + level.rows / slope[:, None]
    return Reading(x[place] + share * step, rows)


def _rows(s: Floats, entries: Iterable[tuple[Counts, Floats]]) -> Floats:
    """Matrix of shape (P, N) with the given numbers at the given points."""
    pairs = list(entries)
    rows = np.zeros((len(pairs[0][0]), len(s)))
    spots = np.arange(len(rows))
    for place, number in pairs:
        rows[spots, place] += number
    return rows
