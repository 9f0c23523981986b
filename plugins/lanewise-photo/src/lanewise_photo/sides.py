"""Four straight sides through the outline of a region, also where a corner is torn off or a finger covers one."""

from __future__ import annotations

from itertools import combinations
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Points: TypeAlias = npt.NDArray[np.float64]

TURN = 2.0
"""Step of the directions in which sides are looked for. [degrees]"""

NEAR = 1.5
"""How far a place of the outline may lie from a side that it belongs to. [px]"""

MOST = 7
"""Straight parts of an outline that are tried as sides: four, two torn corners, and one to spare."""

APART = 12.0
"""Least turn from one straight part to the next. [degrees]"""


def quadrilateral(points: Points) -> Points | None:
    """Fit four straight sides to the outline of a region.

    In each direction the outermost places of the outline lie on a support line. Where many do, there is a straight
    side. Of all four such sides those are taken that the outline follows along the largest share of their length, so
    that a torn corner, which is a short fifth side, is none.

    Parameters
    ----------
    points : array of shape (N, 2)
        Outermost pixels of the region, as x and y.

    Returns
    -------
    array of shape (4, 2), or None
        Corners clockwise as seen, from the one at the upper left; None where there are no four sides.
    """
    best, share = None, 0.0
    for sides in combinations(_straight(points), 4):
        corners = _meeting(sides)
        if corners is None:
            continue
        lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        followed = _followed(points, corners) / float(lengths.sum())
        if lengths.min() >= 10.0 and followed > share:
            best, share = corners, followed
    for reach in (6.0, 3.0):
        best = None if best is None else _sides(points, best, reach)
    return None if best is None else _from_upper_left(best)


def _straight(points: Points) -> list[tuple[float, float]]:
    """Give direction [radians] and distance of the outline's straight parts, in the order of their directions."""
    angles = np.radians(np.arange(0.0, 360.0, TURN))
    across = points @ np.stack([np.cos(angles), np.sin(angles)])
    outermost = np.percentile(across, 99.7, axis=0)
    counts = (np.abs(across - (outermost - NEAR / 2)) < NEAR).sum(axis=0).astype(float)
    apart, found = round(APART / TURN), []
    for _ in range(MOST):
        here = int(np.argmax(counts))
        if counts[here] < 10:
            break
        found.append((float(angles[here]), float(outermost[here] - NEAR / 2)))
        counts[(here + np.arange(-apart, apart + 1)) % len(counts)] = 0
    return sorted(found)


def _meeting(sides: tuple[tuple[float, float], ...]) -> Points | None:
    """Corners where each of four sides meets the next; None where they do not go round once."""
    made = []
    for number in range(4):
        (a, one), (b, other) = sides[number - 1], sides[number]
        if not np.radians(25.0) < (b - a) % (2 * np.pi) < np.radians(155.0):
            return None
        matrix = np.array([[np.cos(a), np.sin(a)], [np.cos(b), np.sin(b)]])
        made.append(np.linalg.solve(matrix, [one, other]))
    return np.array(made)


def _followed(points: Points, corners: Points) -> float:
    """Length along four sides that the outline follows. [px]."""
    total = 0.0
    for number in range(4):
        start, stop = corners[number], corners[(number + 1) % 4]
        length = float(np.linalg.norm(stop - start))
        along = (stop - start) / max(length, 1e-9)
        t, d = (points - start) @ along, (points - start) @ np.array([-along[1], along[0]])
        total += len(np.unique(np.rint(t[(np.abs(d) < 2 * NEAR) & (t > 0) & (t < length)])))
    return total


def _sides(points: Points, corners: Points, reach: float) -> Points | None:
    lines = []
    for number in range(4):
        start, stop = corners[number], corners[(number + 1) % 4]
        along = stop - start
        length = float(np.linalg.norm(along))
        if length < 10.0:
            return None
        along = along / length
        t, d = (points - start) @ along, (points - start) @ np.array([-along[1], along[0]])
        near = (np.abs(d) < reach) & (t > 0.08 * length) & (t < 0.92 * length)
        if near.sum() < 8:
            return None
        slope, level = _robust_line(t[near], d[near])
        normal = np.array([-along[1], along[0]]) - slope * along
        lines.append((normal, normal @ start + level))
    made = []
    for number in range(4):
        (n1, c1), (n2, c2) = lines[number - 1], lines[number]
        matrix = np.stack([n1, n2])
        if abs(np.linalg.det(matrix)) < 0.3:
            return None
        made.append(np.linalg.solve(matrix, [c1, c2]))
    return np.array(made)


def _robust_line(t: Points, d: Points) -> tuple[float, float]:
    weights = np.ones_like(t)
    slope = level = 0.0
    for _ in range(6):
        design = np.stack([t, np.ones_like(t)], axis=1)
        slope, level = np.linalg.lstsq(design * weights[:, None], d * weights, rcond=None)[0]
        miss = np.abs(d - slope * t - level)
        weights = 1.0 / (1.0 + (miss / max(0.5, 1.5 * float(np.median(miss)))) ** 2)
    return float(slope), float(level)


def _from_upper_left(corners: Points) -> Points:
    """Order corners clockwise as seen (y downwards), beginning with the one at the upper left."""
    centre = corners.mean(axis=0)
    around = corners[np.argsort(np.arctan2(corners[:, 1] - centre[1], corners[:, 0] - centre[0]))]
    middles = 0.5 * (around + np.roll(around, -1, axis=0)) - centre
    top = int(np.argmin(middles[:, 1] + 0.0 * middles[:, 0]))
    return np.roll(around, -top, axis=0)
