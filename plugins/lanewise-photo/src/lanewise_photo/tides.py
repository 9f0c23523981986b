"""Faint fronts: the tide line that dried liquid leaves and the step from wet to dry, in whatever colour they have."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.blobs import blank_covariance
from lanewise_photo.lines import NEAR_EDGE, Kind, Line, Strips, courses, response_of, traced

Array: TypeAlias = npt.NDArray[np.float64]

WIDTHS: dict[Kind, tuple[float, int]] = {"tide line": (0.6, 2), "wet step": (0.8, 1)}
"""Standard deviation of the filter [mm] and which derivative it is."""

MOST = 3.0
"""Distance from the blank, in standard deviations, up to which one strip counts, so that no spot makes a line."""

LEAST = 5.0
"""Distance from the blank of a line that blank paper does not show by chance.

Three channels and about 800 courses that do not depend on one another (80 heights, 10 slopes and bows) exceed it in
about one sheet of a hundred, by the chi-squared distribution with 3 degrees of freedom.
"""

MIRROR = 1.15
"""By what factor a line must stand out more than the strongest bright one, which no liquid leaves.

Where it is the other way round, a dark line beside a bright one is its mere edge.
"""

ACROSS = 0.75
"""How far a line must be seen all across the sheet, from 0 for none to 1 for every strip.

It is Wilcoxon's signed ranks: of all pairs of strips, the share whose mean is darker, less what chance gives. A spot or
a word that takes up a third of the sheet gives 0.56, a line of 1 standard deviation a strip 0.84.
"""

DYED_STRIP = 3.0
"""How many times as strong as the median strip one is that shows dye and no line; it does not count."""

MIXED = 0.3
"""Least share of the largest channel to which another may be brighter than the paper."""

APART = 2.5
"""Candidates nearer to each other than this are one. [mm]"""

TRIED = 6

ROW = 0.25
"""Distance of the rows in which courses are added up: a line is more than twice as wide. [mm]"""

PLAIN = 3.5
"""Distance from the blank at which a line is followed from strip to strip; a fainter one over several together."""


@dataclass(frozen=True, eq=False)
class _Field:
    """Answers of the filter, in channels that are independent and of variance 1 in the blank.

    Attributes
    ----------
    white : array of shape (rows, strips, 3)
        The answers.
    back : array of shape (3, 3)
        Turns them into optical densities.
    out : array of shape (3, 3)
        Turns optical densities into them.
    shifts : array of shape (courses, strips)
        By how many rows each course lies above its middle.
    """

    white: Array
    back: Array
    out: Array
    shifts: npt.NDArray[np.int_]

    def along(self, values: Array, number: int) -> Array:
        """Sum of values along one course, for each row at which it crosses the middle.

        `values` are those of strip after strip, each all its rows, of shape (strips, 3 rows); the sum has shape
        (rows, 3).
        """
        length = values.shape[1]
        total = np.zeros(length, dtype=values.dtype)
        for one, move in zip(values, (3 * self.shifts[number]).tolist(), strict=True):
            if move >= 0:
                total[: length - move] += one[move:]
            else:
                total[-move:] += one[:move]
        return total.reshape(-1, 3)

    def strips_of(self, row: int, number: int) -> Array:
        """What each strip shows on one course. Shape (strips, 3)."""
        place = np.clip(row + self.shifts[number], 0, len(self.white) - 1)
        return np.asarray(self.white[place, np.arange(self.white.shape[1])])


@dataclass(frozen=True, eq=False)
class _Seen:
    """A candidate: where it crosses the middle, on which course, how strong, how far across, and its colour.

    The strength is that of the sum or, where it is less, that of the median strip, so that what stands out in some
    strips alone does not count; `median` is the latter.
    """

    row: int
    course: int
    strength: float
    median: float
    across: float
    colour: Array


def find_tides(given: Strips, kind: Kind, low: float, high: float) -> list[Line]:
    """Find faint lines of any colour, the one that stands out most first.

    Paper texture and shadows are grey; what liquid carries along is mostly yellow or brown. So the three channels are
    weighed by the covariance of the blank, as for spots, and the colour of the line is left free, the same on all its
    course.

    Parameters
    ----------
    given : Strips
        Where to look.
    kind : {"tide line", "wet step"}
        What to look for.
    low, high : float
        Between which heights above the lower edge. [mm]

    Returns
    -------
    list of Line
        At most four, each with the weights of the channels in which it is best seen.
    """
    coarse = given.coarser(ROW)
    field = _field(coarse, kind, courses(coarse, True)[2])
    rows = (np.arange(len(field.white)) + 0.5) * coarse.pitch
    dark, bright = _candidates(field, (rows > low) & (rows < high), round(APART / coarse.pitch))
    away = 2 * APART / coarse.pitch
    lobes = [(one.row, one.median) for one in bright if one.across > ACROSS]
    seen = [
        one
        for one in dark
        if one.across > ACROSS
        and not any(abs(one.row - row) < away and median > MIRROR * one.median for row, median in lobes)
    ]
    mirror = [
        one.strength for one in bright if one.across > ACROSS and all(abs(one.row - other.row) > away for other in seen)
    ]
    least = max(LEAST, MIRROR * max(mirror, default=0.0))
    made = [_followed(given, field, kind, one, coarse.pitch) for one in seen if one.strength > least]
    return sorted((line for line in made if line is not None), key=lambda line: -line.snr)[:4]


def _field(given: Strips, kind: Kind, shifts: npt.NDArray[np.int_]) -> _Field:
    from scipy.ndimage import gaussian_filter1d

    sigma, order = WIDTHS[kind]
    made = -gaussian_filter1d(given.colours, sigma / given.pitch, axis=0, order=order, mode="nearest")
    rim = round(NEAR_EDGE / given.pitch)
    inner = made[rim:-rim].reshape(-1, 3)
    lower = np.linalg.cholesky(blank_covariance(inner))
    out = np.asarray(np.linalg.inv(lower).T)
    return _Field((made - np.median(inner, axis=0)) @ out, np.asarray(lower.T), out, shifts)


def _candidates(field: _Field, open_rows: npt.NDArray[np.bool_], apart: int) -> tuple[list[_Seen], list[_Seen]]:
    """Add up along all courses; give the best dark and the best bright ones.

    The sum is judged by its own scatter over the sheet, since the texture of paper may run along the courses.
    """
    size = np.linalg.norm(field.white, axis=2, keepdims=True)
    rows, count = field.white.shape[:2]
    clipped = (field.white * np.minimum(1.0, MOST / np.maximum(size, 1e-9))).astype(np.float32)
    clipped = np.ascontiguousarray(clipped.transpose(1, 0, 2)).reshape(count, 3 * rows)
    back = field.back.astype(np.float32)
    sums = np.stack([field.along(clipped, number) for number in range(len(field.shifts))])
    some = np.linalg.eigvalsh(blank_covariance(sums[::9].reshape(-1, 3)))
    usual = float(np.sqrt(max(float(some.mean()), float(count))))
    strength = np.where(open_rows, np.sqrt(np.einsum("crk,crk->cr", sums, sums)) / usual, 0.0)
    r, g, b = np.moveaxis(sums @ back, 2, 0)
    most, least = np.maximum(np.maximum(r, g), b), np.minimum(np.minimum(r, g), b)
    best = {}
    for sign, pure in ((1.0, least > -MIXED * most), (-1.0, most < -MIXED * least)):
        score = np.where(pure, strength, 0.0)
        which = np.argmax(score, axis=0)
        best[sign] = (score[which, np.arange(rows)], which)
    dark, bright = (_tops(field, *best[sign], usual, apart) for sign in (1.0, -1.0))
    return dark, bright


def _tops(field: _Field, score: Array, which: npt.NDArray[np.int_], usual: float, apart: int) -> list[_Seen]:
    found: list[_Seen] = []
    left = score.copy()
    while len(found) < TRIED and (row := int(np.argmax(left))) >= 0 and left[row] > 0.0:
        number = int(which[row])
        strips = field.strips_of(row, number)
        mean = (strips * np.minimum(1.0, MOST / np.maximum(np.linalg.norm(strips, axis=1), 1e-9))[:, None]).mean(axis=0)
        colour = mean / max(float(np.linalg.norm(mean)), 1e-12)
        along = strips @ colour
        along = along[along < max(MOST, DYED_STRIP * float(np.median(along)))]
        pairs = np.add.outer(along, along)[np.triu_indices(len(along))]
        median = float(np.median(along)) * len(along) / usual
        found.append(
            _Seen(row, number, min(median, float(left[row])), median, float(2.0 * (pairs > 0.0).mean() - 1.0), colour)
        )
        left[max(0, row - apart) : row + apart + 1] = 0.0
    return found


def _followed(given: Strips, field: _Field, kind: Kind, one: _Seen, pitch: float) -> Line | None:
    """Follow a line in the mixture of channels in which it is best seen, over as many strips as it takes to see it."""
    weights = field.out @ one.colour
    weights = weights / np.abs(weights).sum()
    each = float(np.median(field.strips_of(one.row, one.course) @ one.colour))
    over = min((PLAIN / max(each, 0.3)) ** 2 / (2.0 * np.sqrt(np.pi)), len(given.x) / 8)
    mixed = given.mixed(weights, over)
    course = (one.row + 0.5 + field.shifts[one.course]) * pitch
    line = traced(response_of(mixed, kind), mixed, kind, course, one.strength, True)
    return None if line is None else replace(line, weights=weights, over=over)
