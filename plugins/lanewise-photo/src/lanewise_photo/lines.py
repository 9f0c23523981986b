"""The origin line and the front: thin neutral lines, wide tide lines, and the step between wet and dry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flat import Flat
from lanewise_photo.heaps import heap

Array: TypeAlias = npt.NDArray[np.float64]
Kind: TypeAlias = Literal["pencil line", "tide line", "wet step", "by hand"]

SEGMENT = 2.0
"""Width of the strips across the sheet in which a line is looked for. [mm]"""

STEEPEST = 0.07
"""Steepest tilt of a line against the lower edge (4 degrees)."""

LEAST_SNR = 7.0

WAVES = (2.0, 4.0, 8.0, 16.0)
"""Lengths over which the waves of a line may be alike. [mm]"""

TURN = 0.07
"""How steeply a line may turn away from its smooth course, as a hand draws or as liquid climbs at a cut edge."""

NEAR_EDGE = 3.0
"""Nearest to the edge of the sheet that a line is looked for. [mm]"""

DYED = 2.0
"""How many times as strong as most a strip is that shows no line alone, but dye on it."""

THIN = 0.45
"""A line of a smaller standard deviation across is a pencil's. [mm]"""

_WIDTHS: dict[str, tuple[float, int]] = {"pencil line": (0.25, 2), "tide line": (0.6, 2), "wet step": (0.6, 1)}


@dataclass(frozen=True, eq=False)
class Line:
    """A line across the sheet.

    Attributes
    ----------
    kind : str
        What it looks like.
    x, y : arrays of shape (N,)
        Where it was seen, strip by strip. [mm]
    fitted : array of shape (degree + 1,)
        Chebyshev coefficients of its smooth course over the sheet's width. [mm]
    width : float
        Width of the sheet. [mm]
    snr : float
        How far it stands out of the blank, in standard deviations.
    support : float
        Share of the strips in which it was seen, 0 to 1.
    scatter : float
        Standard deviation of the strips about the smooth course. [mm]
    spread : float
        Standard deviation across the line. [mm]
    said : float
        Standard uncertainty that a person gave with it, where it was not seen. [mm]
    bias : float
        Difference between the places that competing models of it give. [mm]
    weights : array of shape (3,) or None
        Mixture of the channels in which it was seen; None for the density that all share.
    over : float
        Over how many strips together it was followed, as a standard deviation.
    tail : float
        How far a tide line falls off below its darkest place, as the length of an exponential. [mm]
    """

    kind: Kind
    x: Array
    y: Array
    fitted: Array
    width: float
    snr: float
    support: float
    scatter: float
    spread: float
    said: float = 0.0
    bias: float = 0.0
    weights: Array | None = None
    over: float = 0.0
    tail: float = 0.0

    def across(self, away: Array) -> Array:
        """Give the shape of a tide line at distances from its course: about 1 at 0. Shape (N,)."""
        return heap(away, max(self.spread, 0.2), self.tail)

    def at(self, x: float | Array) -> Array:
        """Give the place of the line at x. [mm]."""
        return np.asarray(np.polynomial.chebyshev.chebval(2 * np.asarray(x) / self.width - 1, self.fitted))

    @cached_property
    def wave(self) -> tuple[float, float, float]:
        """How the strips lie about the smooth course: scatter of their own and of the line's waves, and their length.

        The two standard deviations and the length over which waves are alike, all in mm, are those under which the
        residuals are most likely, as of a Gaussian process with exponential correlation.
        """
        miss = self.y - self.at(self.x)
        whole = float(miss @ miss) / max(1, len(miss) - len(self.fitted))
        if len(miss) < 8 or whole <= 0.0:
            return float(np.sqrt(whole)), 0.0, 0.0
        apart = np.abs(np.subtract.outer(self.x, self.x))
        best, found = np.inf, (float(np.sqrt(whole)), 0.0, 0.0)
        for length in WAVES:
            alike = np.exp(-apart / length)
            for share in (0.0, 0.25, 0.5, 0.75, 0.95):
                lower = np.linalg.cholesky(share * alike + (1.0 - share) * np.eye(len(miss)))
                white = np.linalg.solve(lower, miss)
                cost = len(miss) * np.log(float(white @ white)) + 2.0 * float(np.log(np.diag(lower)).sum())
                if cost < best:
                    size = float(white @ white) / max(1, len(miss) - len(self.fitted))
                    best, found = cost, (float(np.sqrt(size * (1 - share))), float(np.sqrt(size * share)), length)
        return found

    def _waves(self, x: Array) -> tuple[Array, Array]:
        """Waves of the line at places x, and their standard uncertainty: what the strips beside them tell. [mm]."""
        own, wave, length = self.wave
        if wave == 0.0:
            return np.zeros(len(x)), np.zeros(len(x))
        alike = wave**2 * np.exp(-np.abs(np.subtract.outer(self.x, self.x)) / length)
        here = wave**2 * np.exp(-np.abs(np.subtract.outer(x, self.x)) / length)
        pull = np.linalg.solve(alike + own**2 * np.eye(len(self.x)), here.T).T
        left = np.maximum(wave**2 - (pull * here).sum(axis=1), 0.0)
        return np.asarray(pull @ (self.y - self.at(self.x))), np.sqrt(left)

    def course(self, x: Array) -> Array:
        """Give the places of the line at places x with its own waves there, as the strips beside show them. [mm]."""
        return self.at(x) if len(self.x) < 8 else np.asarray(self.at(x) + self._waves(x)[0])

    def near(self, x: float) -> float:
        """Give the place of the line at one x with its own waves there. [mm]."""
        return float(self.course(np.array([x]))[0])

    @cached_property
    def u(self) -> float:
        """Standard uncertainty of the place of the line at one lane, in the mean over the sheet. [mm]."""
        if not len(self.x):
            return self.said
        own, wave, length = self.wave
        left = float(np.sqrt((self._waves(self.x)[1] ** 2).mean()))
        held = max(1.0, 2.0 * length / SEGMENT) * wave**2 + own**2
        return float(np.sqrt(left**2 + held * len(self.fitted) / len(self.x)))


@dataclass(frozen=True, eq=False)
class Strips:
    """What lines are looked for in: neutral density in strips across the sheet.

    Attributes
    ----------
    values : array of shape (rows, strips)
        Optical density that all channels share.
    x : array of shape (strips,)
        Middle of each strip. [mm]
    pitch : float
        Distance of rows. [mm]
    width : float
        Width of the sheet. [mm]
    colours : array of shape (rows, strips, 3)
        Optical density of each channel, the median over the strip's columns, so that thin strokes do not count.
    """

    values: Array
    x: Array
    pitch: float
    width: float
    colours: Array

    def coarser(self, pitch: float) -> Strips:
        """Give the strips in rows about this far apart, each the mean of as many as fit."""
        per = max(1, round(pitch / self.pitch))
        count = len(self.values) // per
        values, colours = (
            np.asarray(sum(one[start : count * per : per] for start in range(per))) / per
            for one in (self.values, self.colours)
        )
        return replace(self, values=values, colours=colours, pitch=per * self.pitch)

    def mixed(self, weights: Array | None, over: float = 0.0) -> Strips:
        """Give the strips with a mixture of the channels for their density, each averaged with those beside it."""
        from scipy.ndimage import gaussian_filter1d

        values = self.values if weights is None else self.colours @ weights
        return replace(self, values=gaussian_filter1d(values, over, axis=1, mode="nearest") if over > 0.5 else values)


def strips(flat: Flat) -> Strips:
    """Average the neutral density over strips 2 mm wide; dye is mostly taken out by the smallest channel."""
    per = max(1, round(SEGMENT / flat.pitch))
    rim = round(1.5 / flat.pitch)
    inner = flat.density[:, rim:-rim]
    count = inner.shape[1] // per
    parts = inner[:, : count * per].reshape(len(inner), count, per, 3)
    values = np.minimum(np.minimum(parts[..., 0], parts[..., 1]), parts[..., 2]).mean(axis=2)
    colours = _median(parts)
    x = (rim + (np.arange(count) + 0.5) * per) * flat.pitch
    width = flat.density.shape[1] * flat.pitch
    return Strips(values.astype(float), x, flat.pitch, width, colours.astype(float))


def _median(parts: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Median over the third of four axes, all of it in one order that the memory is quick in."""
    lined = np.ascontiguousarray(parts.transpose(0, 1, 3, 2))
    lined.sort(axis=-1)
    half = lined.shape[-1] // 2
    return np.asarray(0.5 * (lined[..., half] + lined[..., -half - 1]), dtype=np.float32)


def response_of(given: Strips, kind: Kind) -> Array:
    """Filter along the run: peaks where a line of this kind lies, in units of its own noise a strip.

    A wet step falls: it is darker below, where the solvent came to.
    """
    from scipy.ndimage import gaussian_filter1d

    sigma, order = _WIDTHS[kind]
    made = gaussian_filter1d(given.values, sigma / given.pitch, axis=0, order=order, mode="nearest")
    made = -made
    rim = round(NEAR_EDGE / given.pitch)
    spread = 1.4826 * np.median(np.abs(made[rim:-rim] - np.median(made[rim:-rim])))
    made = (made - np.median(made[rim:-rim])) / max(float(spread), 1e-9)
    made[:rim] = made[-rim:] = 0.0
    return np.asarray(made)


def courses(given: Strips, bowed: bool) -> tuple[Array, Array, npt.NDArray[np.int_]]:
    """All courses a line may take: tilt, bow [mm], and by how many rows each strip lies above the middle."""
    u = 2 * given.x / given.width - 1
    pace = 0.3 / (given.width / 2)
    slopes = np.arange(-STEEPEST, STEEPEST + pace / 2, pace)
    bends = np.arange(-3.0, 3.1, 1.0) if bowed else np.zeros(1)
    tilt, bow = (part.ravel() for part in np.meshgrid(slopes, bends, indexing="ij"))
    away = tilt[:, None] * given.width / 2 * u + bow[:, None] * (u * u - 1 / 3)
    return tilt, bow, np.rint(away / given.pitch).astype(int)


def _scan(response: Array, given: Strips, bowed: bool) -> tuple[Array, Array, Array]:
    """Best sum along any tilted and bowed course: score, tilt and bow for each row."""
    clipped = np.ascontiguousarray(np.clip(response, -3.0, 8.0).T, dtype=np.float32)
    tilts, bows, shifts = courses(given, bowed)
    rows = len(response)
    best, which = np.full(rows, -np.inf), np.zeros(rows, dtype=int)
    for number, shift in enumerate(shifts):
        total = np.zeros(rows, dtype=np.float32)
        for one, move in zip(clipped, shift.tolist(), strict=True):
            if move >= 0:
                total[: rows - move] += one[move:]
            else:
                total[-move:] += one[:move]
        better = total > best
        best[better], which[better] = total[better], number
    return best / np.sqrt(len(given.x)), tilts[which], bows[which]


def find_lines(given: Strips, kind: Kind, low: float, high: float, bowed: bool) -> list[Line]:
    """Find lines of one kind between two heights, the one that stands out most first.

    Parameters
    ----------
    given : Strips
        Where to look.
    kind : {"pencil line", "tide line", "wet step"}
        What to look for.
    low, high : float
        Between which heights above the lower edge. [mm]
    bowed : bool
        Whether the course may be bowed by up to 3 mm, as a front is, or straight, as a ruled line.

    Returns
    -------
    list of Line
        At most four.
    """
    response = response_of(given, kind)
    rows = (np.arange(len(response)) + 0.5) * given.pitch
    score, tilt, bow = _scan(response, given, bowed)
    usual = float(np.median(score))
    spread = 1.4826 * float(np.median(np.abs(score - usual)))
    snr = (score - usual) / max(spread, 1e-9)
    open_rows = (rows > low) & (rows < high)
    found: list[Line] = []
    left = np.where(open_rows, snr, -np.inf)
    while len(found) < 4:
        row = int(np.argmax(left))
        if left[row] < LEAST_SNR:
            break
        u = 2 * given.x / given.width - 1
        course = rows[row] + tilt[row] * given.width / 2 * u + bow[row] * (u * u - 1 / 3)
        line = traced(response, given, kind, course, float(left[row]), bowed)
        if line is not None:
            found.append(line)
        left[np.abs(rows - rows[row]) < 2.0] = -np.inf
    return found


def traced(response: Array, given: Strips, kind: Kind, course: Array, snr: float, bowed: bool) -> Line | None:
    """Follow a line from strip to strip, from about where it is, and smooth its course."""
    u = 2 * given.x / given.width - 1
    for reach in (1.2, 0.7):
        y, strength = _tops_near(response, course / given.pitch - 0.5, reach / given.pitch)
        y = (y + 0.5) * given.pitch
        seen = strength > 2.5
        if seen.sum() < 0.4 * len(y):
            return None
        fitted, keep = _smooth(u, y, seen, 2 if bowed else 1)
        course = np.asarray(np.polynomial.chebyshev.chebval(u, fitted), dtype=float)
    clean = seen & (strength < DYED * np.median(strength[keep])) if keep.any() else keep
    keep &= clean
    if keep.sum() < 0.4 * len(y):
        return None
    seen = keep
    degree = _degree(u[keep], y[keep]) if bowed else 1
    fitted, keep = _smooth(u, y, seen, degree)
    miss = y[keep] - np.polynomial.chebyshev.chebval(u[keep], fitted)
    scatter = float(np.sqrt((miss**2).sum() / max(1, keep.sum() - degree - 1)))
    if bowed:
        keep = _run_on(given.x, y - np.polynomial.chebyshev.chebval(u, fitted), keep, clean, max(scatter, 0.03))
    return Line(
        kind=kind,
        x=given.x[keep],
        y=y[keep],
        fitted=fitted,
        width=given.width,
        snr=snr,
        support=float(keep.mean()),
        scatter=scatter,
        spread=0.0,
    )


def _run_on(
    x: Array, miss: Array, keep: npt.NDArray[np.bool_], clean: npt.NDArray[np.bool_], scatter: float
) -> npt.NDArray[np.bool_]:
    """Take in strips that lie off the smooth course because the line itself turns away, as a front does at the sides.

    Such a strip goes on from one that is kept, two strips away at most, no steeper than `TURN` against the course.
    """
    kept = keep.copy()
    for order in (range(len(x)), range(len(x) - 1, -1, -1)):
        last = -1
        for number in order:
            if clean[number] and not kept[number] and last >= 0:
                away = abs(float(x[number] - x[last]))
                step = abs(float(miss[number] - miss[last]))
                kept[number] = away < 2.5 * SEGMENT and step < 2.5 * scatter + TURN * away
            last = number if kept[number] else last
    return kept


def _tops_near(response: Array, expected: Array, reach: float) -> tuple[Array, Array]:
    """Highest place of each column of (rows, columns) near the row expected in it, between rows, and its height."""
    column, last = np.arange(len(expected)), len(response) - 1
    low = np.clip(np.rint(expected - reach).astype(int), 1, last)
    high = np.clip(np.rint(expected + reach).astype(int) + 1, 1, last)
    place = low[:, None] + np.arange(max(1, int((high - low).max())))
    inside = place < high[:, None]
    values = np.where(inside, response[np.minimum(place, last), column[:, None]], -np.inf)
    best = low + np.argmax(values, axis=1)
    a, b, c = (response[np.clip(best + step, 0, last), column] for step in (-1, 0, 1))
    bend = a - 2 * b + c
    shift = np.clip(0.5 * (a - c) / np.where(bend < 0, bend, -np.inf), -0.5, 0.5)
    there = high - low >= 2
    return np.where(there, best + shift, expected), np.where(there, b, 0.0)


def _smooth(u: Array, y: Array, seen: npt.NDArray[np.bool_], degree: int) -> tuple[Array, npt.NDArray[np.bool_]]:
    design = np.polynomial.chebyshev.chebvander(u, degree)
    fitted, floor = np.zeros(degree + 1), 1e-9 * np.eye(degree + 1)
    fitted[0] = np.median(y[seen])
    scale = 1.0
    for _ in range(8):
        miss = y - design @ fitted
        weights = seen / (1.0 + (miss / scale) ** 2)
        held = design * weights[:, None] ** 2
        fitted = np.asarray(np.linalg.solve(held.T @ design + floor, held.T @ y), dtype=float)
        scale = max(0.03, 2.0 * float(np.median(np.abs((y - design @ fitted)[seen]))))
    return fitted, seen & (np.abs(y - design @ fitted) < 2.5 * scale)


def _degree(u: Array, y: Array) -> int:
    """Choose the degree of a front's course by leaving out every second strip in turn."""
    best, chosen = np.inf, 2
    design, floor = np.polynomial.chebyshev.chebvander(u, 6), 1e-9 * np.eye(7)
    for degree in (1, 2, 3, 4, 5, 6):
        if len(u) < 4 * (degree + 1):
            break
        miss = []
        for part in range(4):
            test = np.arange(len(u)) % 4 == part
            rest, own = design[~test, : degree + 1], design[test, : degree + 1]
            fitted = np.linalg.solve(rest.T @ rest + floor[: degree + 1, : degree + 1], rest.T @ y[~test])
            miss.append((y[test] - own @ fitted) ** 2)
        error = float(np.median(np.concatenate(miss)) + 0.1 * np.concatenate(miss).mean())
        if error < 0.93 * best:
            best, chosen = error, degree
    return chosen
