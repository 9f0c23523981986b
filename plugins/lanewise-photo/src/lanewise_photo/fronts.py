"""Which line is the origin, which is the front, and which model of it holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.heaps import heap
from lanewise_photo.lines import NEAR_EDGE, THIN, Kind, Line, Strips, find_lines, response_of, traced
from lanewise_photo.tides import find_tides

Array: TypeAlias = npt.NDArray[np.float64]

APART = 2.0
"""Lines nearer to each other than this are one line seen through several models. [mm]"""

LEAST_RUN = 10.0
"""A front lies at least this far above the origin. [mm]"""

BLURRED_LINE = 0.65
"""Standard deviation across, up to which a straight line in the lower half is a pencil's, if blurred. [mm]"""

MARGIN = 1.25
"""By what factor the best model of a line must leave less unexplained than the next."""

MEASURED = 2.5
"""How far a line may be from where a person said, as a standard deviation: a ruler, and a sheet cut askew. [mm]"""

RIVAL = 0.6
"""A second line this strong, as a share of the first, makes the choice doubtful."""


@dataclass(frozen=True, eq=False)
class Choice:
    """A line that was chosen, and what speaks against it.

    Attributes
    ----------
    line : Line or None
        None where nothing stands out.
    rivals : tuple of Line
        Other lines that might have been meant.
    sure : bool
        Whether the model of the line beats the next one by a margin.
    """

    line: Line | None
    rivals: tuple[Line, ...]
    sure: bool


@dataclass(frozen=True)
class _Model:
    kind: Kind
    shift: float
    spread: float
    tail: float
    rest: float


def find_origin(given: Strips, height: float, expected: float | None) -> Choice:
    """Find the pencil line on which samples were applied: straight, in the lower half of the sheet.

    Parameters
    ----------
    given : Strips
        Where to look.
    height : float
        Height of the sheet. [mm]
    expected : float or None
        Height of the line above the lower edge, where the user knows it to a few millimetres. [mm]
    """
    low, high = NEAR_EDGE, 0.5 * height
    if expected is not None:
        low, high = max(low, expected - 5.0), expected + 5.0
    lines = [_judged(given, line)[0] for line in find_lines(given, "pencil line", low, high, bowed=False)]
    lines = [
        replace(line, kind="pencil line")
        for line in lines
        if line.kind != "wet step" and line.spread <= BLURRED_LINE and line.support >= 0.5
    ]
    if not lines:
        return Choice(None, (), False)

    def weight(line: Line) -> float:
        away = 0.0 if expected is None else float(line.at(given.width / 2)) - expected
        return line.snr * line.support * float(np.exp(-0.5 * (away / MEASURED) ** 2))

    lines.sort(key=weight, reverse=True)
    rivals = tuple(line for line in lines[1:] if weight(line) > RIVAL * weight(lines[0]))
    return Choice(lines[0], rivals, True)


def find_front(given: Strips, origin: float, height: float) -> Choice:
    """Find the front: a pencil line, else a tide line or the step between wet and dry.

    Parameters
    ----------
    given : Strips
        Where to look.
    origin : float
        Height of the origin line. [mm]
    height : float
        Height of the sheet. [mm]
    """
    low, high = origin + LEAST_RUN, height - NEAR_EDGE
    seen = find_lines(given, "pencil line", low, high, True)
    seen += find_tides(given, "tide line", low, high) + find_tides(given, "wet step", low, high)
    seen.sort(key=lambda line: line.snr, reverse=True)
    groups: list[Line] = []
    for line in seen:
        if not _beside(given, line, groups):
            groups.append(line)
    judged = []
    for group in groups[:5]:
        kind, sure = _kind_of(given, group)
        same = _beside(given, group, [line for line in seen if line.kind == kind])
        again = _again(given, same[0] if same else replace(group, kind=kind))
        if again is not None and again.support >= 0.5:
            judged.append((again, sure))
    if not judged:
        return Choice(None, (), False)
    judged.sort(key=lambda pair: _weight(pair[0]), reverse=True)
    best, sure = judged[0]
    rivals = tuple(line for line, _ in judged[1:] if _weight(line) > RIVAL * _weight(best) or _clear(line))
    return Choice(best, rivals, sure)


def _weight(line: Line) -> float:
    return line.snr * line.support * (1.5 if _clear(line) else 1.0)


def _clear(line: Line) -> bool:
    """Whether a line was surely drawn in pencil: it may be the front however much another stands out."""
    return line.kind == "pencil line" and line.support >= 0.75 and line.snr >= 15.0


def _beside(given: Strips, line: Line, others: list[Line]) -> list[Line]:
    """Those of some lines that are the same line, seen through another model."""
    middle = float(line.at(given.width / 2))
    return [other for other in others if abs(middle - float(other.at(given.width / 2))) <= APART]


def _kind_of(given: Strips, line: Line) -> tuple[Kind, bool]:
    judged, sure = _judged(given, line)
    return judged.kind, sure


def _again(given: Strips, line: Line) -> Line | None:
    """Trace a line anew with the model that holds for it."""
    mixed = given.mixed(line.weights, line.over)
    again = traced(response_of(mixed, line.kind), mixed, line.kind, line.at(given.x), line.snr, True)
    if again is None:
        return None
    return _judged(given, replace(again, weights=line.weights, over=line.over), line.kind)[0]


def straightened(given: Strips, line: Line, reach: float) -> tuple[Array, Array]:
    """Average the strips along the course of a line: distance from it [mm] and neutral density."""
    offset = np.arange(-reach, reach + given.pitch / 2, given.pitch)
    place = (line.at(given.x)[None, :] + offset[:, None]) / given.pitch - 0.5
    low = np.clip(place.astype(int), 0, len(given.values) - 2)
    part = np.clip(place - low, 0.0, 1.0)
    column = np.arange(len(given.x))[None, :]
    values = given.values[low, column] * (1 - part) + given.values[low + 1, column] * part
    lowest, highest = np.percentile(values, [15, 85], axis=1)
    clipped = np.clip(values, lowest[:, None], highest[:, None])
    return offset, np.asarray(clipped.mean(axis=1))


def _judged(given: Strips, line: Line, kind: Kind | None = None) -> tuple[Line, bool]:
    """Compare the models of a line on its straightened profile; give the line as the best one sees it."""
    offset, values = straightened(given.mixed(line.weights), line, 4.0)
    models = [_best_line(offset, values), _best_step(offset, values)]
    models.sort(key=lambda model: model.rest)
    if kind is not None:
        models.sort(key=lambda model: (model.kind == "wet step") != (kind == "wet step"))
    best, other = models
    fitted = line.fitted.copy()
    fitted[0] += best.shift
    sure = other.rest > MARGIN * best.rest
    bias = 0.0 if sure else abs(best.shift - other.shift)
    return replace(line, kind=best.kind, fitted=fitted, spread=best.spread, tail=best.tail, bias=bias), sure


_SHIFTS = np.arange(-1.2, 1.21, 0.05)
_LINE_WIDTHS = (0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.65, 0.8)
_TAILS = (0.0, 0.5, 0.8, 1.2, 2.0, 3.5)


@cache
def _line_shapes(pitch: float, count: int) -> tuple[Array, Array]:
    """All shapes of a line on a grid about its course: what each is of (apex, width, tail), and its values.

    What a front leaves is heaped up to where the liquid ended and falls off below, so that its darkest place is the
    front; pencil is alike on either side.
    """
    offset: Array = np.asarray((np.arange(count) - (count - 1) / 2) * pitch, dtype=float)
    kinds, values = [], []
    for tail in _TAILS:
        for width in _LINE_WIDTHS:
            for shift in _SHIFTS:
                kinds.append((shift, width, tail))
                values.append(heap(offset - float(shift), width, tail))
    return np.array(kinds), np.array(values)


def _best_line(offset: Array, values: Array) -> _Model:
    kinds, shapes = _line_shapes(round(float(offset[1] - offset[0]), 6), len(offset))
    rest, amplitude = _least(offset, values, shapes)
    rest = np.where(amplitude > 0, rest, np.inf)
    number = int(np.argmin(rest))
    width, tail = float(kinds[number, 1]), float(kinds[number, 2])
    whole = float(np.hypot(width, tail))
    plain = np.flatnonzero(kinds[:, 2] == 0.0)
    straight = int(plain[np.argmin(rest[plain])])
    if kinds[straight, 1] <= THIN and rest[straight] < MARGIN**2 * rest[number]:
        number, width, tail, whole = straight, float(kinds[straight, 1]), 0.0, float(kinds[straight, 1])
    place = number % len(_SHIFTS)
    shift = float(kinds[number, 0])
    if 0 < place < len(_SHIFTS) - 1:
        before, here, after = rest[number - 1 : number + 2]
        bend = before - 2 * here + after
        move = 0.5 * (before - after) / bend if np.isfinite(bend) and bend > 0 else 0.0
        shift += float(np.clip(move, -0.5, 0.5) * (_SHIFTS[1] - _SHIFTS[0]))
    kind: Kind = "pencil line" if whole <= THIN else "tide line"
    return _Model(kind, shift, width, tail, float(rest[number]))


def _best_step(offset: Array, values: Array) -> _Model:
    from scipy.special import erf

    widths = np.array([0.15, 0.25, 0.4, 0.6, 0.8])
    shift, width = (part.ravel() for part in np.meshgrid(_SHIFTS, widths, indexing="ij"))
    shapes = erf((offset - shift[:, None]) / width[:, None] / np.sqrt(2.0))
    rest, amplitude = _least(offset, values, shapes)
    rest = np.where(amplitude < 0, rest, np.inf)
    number = int(np.argmin(rest))
    return _Model("wet step", float(shift[number]), float(width[number]), 0.0, float(rest[number]))


def _least(offset: Array, values: Array, shapes: Array) -> tuple[Array, Array]:
    """Fit level, slope and each shape; give the mean square left and the amplitude of each."""
    plain = np.stack([np.ones_like(offset), offset / offset[-1]], axis=1)
    q, _ = np.linalg.qr(plain)
    rest = values - q @ (q.T @ values)
    bare = shapes - (shapes @ q) @ q.T
    size = (bare**2).sum(axis=1) + 1e-12
    amplitude = bare @ rest / size
    left = (rest**2).sum() - amplitude**2 * size
    return left / len(values) + 1e-14, amplitude
