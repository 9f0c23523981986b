"""Long straight grey steps and ridges: hard shadows and creases, which are no spots and spoil what lies under them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flat import Flat
from lanewise_photo.lines import Line

Array: TypeAlias = npt.NDArray[np.float64]

CELL = 1.0
"""Pitch of the grid on which they are looked for. [mm]"""

LEAST_STEP = 3.5
"""Least slope, in standard deviations of the blank, of a place that counts."""

NOTICED, BLUR = 0.008, 0.7
"""Step in optical density below which neither the eye nor the reading notices anything, as for spots, and the standard
deviation of the filter by which it is looked for [cells]: a step of height h has a slope of h / (sqrt(2 pi) BLUR)."""

COVERED = 0.55
"""Share of its course over the sheet on which a straight step must be seen."""

NEAR = 2.0
"""How near to it a spot is touched by it. [mm]"""


@dataclass(frozen=True)
class Crossing:
    """A straight course across the sheet: all points with x cos(angle) + y sin(angle) = offset.

    Attributes
    ----------
    angle : float
        Direction of its normal against the x axis. [rad]
    offset : float
        Distance from the lower left corner, signed. [mm]
    covered : float
        Share of the course on which it was seen.
    """

    angle: float
    offset: float
    covered: float

    def distance(self, x: float, y: float) -> float:
        """Distance of a place from the course. [mm]."""
        return abs(x * float(np.cos(self.angle)) + y * float(np.sin(self.angle)) - self.offset)


def find_crossing(flat: Flat, lines: Sequence[Line | None]) -> Crossing | None:
    """Find the straight grey step or ridge that is seen on most of its course; None where there is none.

    Parameters
    ----------
    flat : Flat
        The sheet.
    lines : sequence of Line or None
        Known lines, which do not count.
    """
    from scipy.ndimage import gaussian_filter

    per = max(1, round(CELL / flat.pitch))
    rows, columns = flat.density.shape[0] // per, flat.density.shape[1] // per
    part = flat.density[: rows * per, : columns * per].reshape(rows, per, columns, per, 3)[:, ::2, :, ::2]
    grey = part.mean(axis=(1, 3), dtype=np.float64).min(axis=2)
    pitch = per * flat.pitch
    across = gaussian_filter(grey, BLUR, order=(0, 1), mode="nearest")
    along = gaussian_filter(grey, BLUR, order=(1, 0), mode="nearest")
    size = np.hypot(across, along)
    x, y = (np.arange(columns) + 0.5) * pitch, (np.arange(rows) + 0.5) * pitch
    free = np.ones_like(size, dtype=bool)
    free[:2] = free[-2:] = free[:, :2] = free[:, -2:] = False
    for line in lines:
        if line is not None:
            free &= np.abs(y[:, None] - line.at(x)[None, :]) > 2.5
    usual = float(np.median(size[free]))
    strong = free & (size > max(LEAST_STEP * usual, NOTICED / (np.sqrt(2.0 * np.pi) * BLUR)))
    at_row, at_column = np.nonzero(strong)
    if len(at_row) < 10:
        return None
    angle = np.arctan2(along[strong], across[strong]) % np.pi
    return _straightest(x[at_column], y[at_row], angle, free, x, y, pitch)


def _straightest(
    px: Array, py: Array, direction: Array, free: npt.NDArray[np.bool_], x: Array, y: Array, pitch: float
) -> Crossing | None:
    best: Crossing | None = None
    least = 0.35 * min(x[-1], y[-1]) / pitch
    where_y, where_x = np.nonzero(free)
    fx, fy = x[where_x], y[where_y]
    for angle in np.arange(0.0, np.pi, np.pi / 60):
        turned = np.abs((direction - angle + np.pi / 2) % np.pi - np.pi / 2)
        same = turned < np.radians(15)
        if same.sum() < least:
            continue
        c, s = np.cos(angle), np.sin(angle)
        offset = px[same] * c + py[same] * s
        shift = np.floor((fx * c + fy * s).min())
        bins = np.floor((offset - shift) / (1.5 * pitch)).astype(int)
        place = np.floor((-px[same] * s + py[same] * c) / (2 * pitch)).astype(int)
        place -= place.min()
        length = _seen(bins, place)
        whole = np.floor((fx * c + fy * s - shift) / (1.5 * pitch)).astype(int)
        along = np.floor((-fx * s + fy * c) / (2 * pitch)).astype(int)
        along -= along.min()
        room = _seen(whole, along)[: len(length)]
        covered = length / np.maximum(room, 1)
        covered[room < least / 2] = 0.0
        top = int(np.argmax(covered))
        if covered[top] > COVERED and (best is None or covered[top] > best.covered):
            best = Crossing(float(angle), float(shift + (top + 0.5) * 1.5 * pitch), float(covered[top]))
    return best


def _seen(course: npt.NDArray[np.int_], place: npt.NDArray[np.int_]) -> npt.NDArray[np.int_]:
    """Count the different places on each course."""
    there = np.zeros((int(course.max()) + 1, int(place.max()) + 1), dtype=bool)
    there[course, place] = True
    return np.asarray(there.sum(axis=1))
