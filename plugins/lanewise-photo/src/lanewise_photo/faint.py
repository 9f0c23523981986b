"""A sheet that hardly differs from what it lies on: four faint straight steps that the eye sees only as a whole.

A step of one or two code values is lost in the noise of single pixels, but not in the sum along a line of hundreds.
"""

from __future__ import annotations

from itertools import combinations
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Points: TypeAlias = npt.NDArray[np.float64]
Slope: TypeAlias = tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]
Seen: TypeAlias = dict[tuple[bytes, bytes], tuple[Points, float]]

BLUR, AROUND = 1.5, 31
"""Blur before slopes are taken, and the width over which the slow course of the light is taken from them. [px]"""

STROKE = 5
"""Width of dark marks that are filled before slopes are taken, so that a drawn line is no step. [px]"""

MOST_LINES = 16
"""Lines that are tried as sides."""

LEAST = 5.0
"""Standard deviations by which each side must stand out: among some 10^5 lines noise alone reaches 4.5."""

PARTS, TRUE_PARTS = 8, 6
"""Parts of a side that are looked at on their own, and how many must step the same way."""


def faint_corners(small: npt.NDArray[np.float32]) -> Points | None:
    """Find the four-sided figure whose sides all step the same way, the one whose sides stand out most together.

    Parameters
    ----------
    small : array of shape (rows, columns, 3)
        Code values.

    Returns
    -------
    array of shape (4, 2), or None
        Corners clockwise as seen (x and y); None where there is no such figure.
    """
    slope, noise = _slopes(small.mean(axis=2))
    if noise < 1e-3:  # a drawn picture without any structure
        return None
    lines = _lines(slope, noise)
    shape = small.shape[:2]
    meets = _meets(lines, shape)
    opposite = [pair for pair in combinations(range(len(lines)), 2) if _opposite(lines[pair[0]], lines[pair[1]])]
    best, strength = None, 0.0
    seen: Seen = {}
    for number, (first, third) in enumerate(opposite):
        for second, fourth in opposite[number + 1 :]:
            ends = [(first, second), (second, third), (third, fourth), (fourth, first)]
            if any(pair not in meets for pair in ends):
                continue
            corners = _around(np.array([meets[pair] for pair in ends]))
            if np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).min() < 0.2 * min(shape):
                continue
            found = _evidence(corners, slope, noise, seen)
            if found > strength:
                best, strength = corners, found
    return None if best is None else _climbed(best, strength, slope, noise)


def _climbed(corners: Points, strength: float, slope: Slope, noise: float) -> Points:
    """Move single corners and whole sides as long as the sides stand out more by it."""
    moves = [np.eye(4)[n] for n in range(4)] + [np.eye(4)[n] + np.eye(4)[(n + 1) % 4] for n in range(4)]
    for reach in (6.0, 3.0, 1.0, 0.5):
        for move in moves * 2:
            for dx, dy in ((reach, 0.0), (-reach, 0.0), (0.0, reach), (0.0, -reach)):
                moved = corners + move[:, None] * np.array([dx, dy])
                found = _evidence(moved, slope, noise, {})
                if found > strength:
                    corners, strength = moved, found
    return corners


def _slopes(values: npt.NDArray[np.float32]) -> tuple[Slope, float]:
    """Slopes across and along without strong marks and without the slow course of the light; their noise."""
    from scipy import ndimage

    made = []
    values = ndimage.grey_closing(values, (STROKE, STROKE))
    for order in ((0, 1), (1, 0)):
        slope = ndimage.gaussian_filter(values, BLUR, order=order)
        slope -= (
            ndimage.median_filter(slope[::4, ::4], AROUND // 4)
            .repeat(4, axis=0)
            .repeat(4, axis=1)[: slope.shape[0], : slope.shape[1]]
        )
        limit = 3.0 * 1.4826 * float(np.median(np.abs(slope))) + 1e-6
        slope = np.clip(slope, -limit, limit)
        slope[:3] = slope[-3:] = 0.0
        slope[:, :3] = slope[:, -3:] = 0.0
        made.append(slope.astype(np.float32))
    return (made[0], made[1]), float(np.std(made))


def _lines(slope: Slope, noise: float) -> list[tuple[float, float]]:
    """Give the normal's direction [radians] and the distance from the middle of lines along which most steps add up."""
    rows, columns = slope[0].shape
    y, x = np.mgrid[:rows, :columns]
    x, y = (x - columns / 2).ravel(), (y - rows / 2).ravel()
    half = int(np.hypot(rows, columns) / 2) + 2
    angles = np.radians(np.arange(0.0, 180.0, 1.0))
    sums = np.zeros((len(angles), 2 * half + 1))
    for number, angle in enumerate(angles):
        across = np.rint(x * np.cos(angle) + y * np.sin(angle)).astype(np.intp) + half
        step = slope[0].ravel() * np.float32(np.cos(angle)) + slope[1].ravel() * np.float32(np.sin(angle))
        total = np.bincount(across, step, minlength=2 * half + 1)[: 2 * half + 1]
        count = np.bincount(across, minlength=2 * half + 1)[: 2 * half + 1]
        sums[number] = total / (noise * np.sqrt(np.maximum(count, 60.0)))
    strength = np.abs(sums)
    found = []
    for _ in range(MOST_LINES):
        here = np.unravel_index(int(np.argmax(strength)), strength.shape)
        if strength[here] < LEAST / 2:
            break
        found.append((float(angles[here[0]]), float(here[1] - half)))
        near = (here[0] + np.arange(-5, 6)) % len(angles)
        for one in near:
            mirrored = abs(int(one) - int(here[0])) > 90
            place = 2 * half - here[1] if mirrored else here[1]
            strength[one, max(0, place - 5) : place + 6] = 0.0
    return found


def _opposite(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether two lines may be opposite sides: at most 25 degrees from parallel, as a steep view makes them."""
    turn = abs(one[0] - other[0])
    return bool(min(turn, np.pi - turn) < np.radians(25.0))


def _meets(lines: list[tuple[float, float]], shape: tuple[int, ...]) -> dict[tuple[int, int], Points]:
    """Where lines that may be neighbouring sides meet inside the picture, by their numbers either way round."""
    rows, columns = shape
    made = {}
    for one, other in combinations(range(len(lines)), 2):
        matrix = np.array([[np.cos(angle), np.sin(angle)] for angle, _ in (lines[one], lines[other])])
        if abs(np.linalg.det(matrix)) < 0.6:
            continue
        place = np.linalg.solve(matrix, [lines[one][1], lines[other][1]]) + np.array([columns / 2, rows / 2])
        if place.min() >= 2 and place[0] <= columns - 3 and place[1] <= rows - 3:
            made[one, other] = made[other, one] = place
    return made


def _around(corners: Points) -> Points:
    """Put corners in order about their middle."""
    away = corners - corners.mean(axis=0)
    return corners[np.argsort(np.arctan2(away[:, 1], away[:, 0]))]


def _evidence(corners: Points, slope: Slope, noise: float, seen: Seen) -> float:
    """Sum of the strengths of the sides, in standard deviations; 0 where one is weak or steps the other way.

    Sides that were looked at are kept in `seen`.
    """
    total, sign = 0.0, 0.0
    for number in range(4):  # in order about their middle, the inside lies to the same hand of every side
        start, stop = corners[number], corners[(number + 1) % 4]
        key = (start.tobytes(), stop.tobytes())
        if key not in seen:
            seen[key] = _steps(start, stop, slope)
        parts, length = seen[key]
        sign = sign or float(np.sign(parts.mean()))
        strength = float(sign * parts.mean() / noise * np.sqrt(length / BLUR / 2))
        if strength < LEAST or (sign * parts > 0).sum() < TRUE_PARTS:
            return 0.0
        total += strength
    return total


def _steps(start: Points, stop: Points, slope: Slope) -> tuple[Points, float]:
    """Mean step towards the left in each part of a side, and its length."""
    length = float(np.linalg.norm(stop - start))
    normal = np.array([-(stop - start)[1], (stop - start)[0]]) / length
    t = np.linspace(0.03, 0.97, PARTS * max(4, int(length / PARTS)))[:, None]
    place = start + t * (stop - start) + np.array([-1.0, 0.0, 1.0])[:, None, None] * normal
    column = np.clip(np.rint(place[..., 0]).astype(np.intp), 0, slope[0].shape[1] - 1)
    row = np.clip(np.rint(place[..., 1]).astype(np.intp), 0, slope[0].shape[0] - 1)
    steps = (slope[0][row, column] * normal[0] + slope[1][row, column] * normal[1]).mean(axis=0)
    return steps.reshape(PARTS, -1).mean(axis=1), length
