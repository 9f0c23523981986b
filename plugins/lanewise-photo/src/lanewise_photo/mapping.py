"""From millimetres on the sheet to pixels of the picture: perspective, lens, and a sheet that does not lie flat.

A point of the sheet at height h above the plane of its corners is seen at H (x, y, 1) + h v, where H is the homography
of the plane and v follows from H and the focal length. Height is described by six smooth terms that vanish at the
corners; how much of each there is shows in the bowed edges. All is fitted at once to the edge points, with what is
known beforehand as prior, so that the posterior covariance says how far a position may be off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from lanewise_photo.edges import Edge

Points: TypeAlias = npt.NDArray[np.float64]

USUAL_FOCAL = 0.75
"""Focal length of a phone in units of the longer side of the picture (common practice, no source)."""

CORNER_U = 2.0
"""Standard uncertainty of a corner set by hand, across and along (estimate). [px]"""

CORNERS = 8
K1, FOCAL, HEIGHTS = 8, 9, 10
SIZE = 16
EDGE_CORRELATION = 4.0
"""Length over which the places found on an edge stray to one side. [mm] (estimate)"""

CUT, CUT_CORRELATION = 0.06, 25.0
"""Standard deviation of a cut edge from a straight line, and the length over which it strays. [mm] (estimate)"""


@dataclass(frozen=True, eq=False)
class Mapping:
    """Where points of the sheet are seen.

    Sheet coordinates are millimetres from the lower left corner, x to the right, y towards the front.

    Attributes
    ----------
    width, height : float
        Size of the sheet. [mm]
    centre : array of shape (2,)
        Middle of the picture. [px]
    unit : float
        Longer side of the picture. [px]
    values : array of shape (16,)
        Corners (lower left, lower right, upper right, upper left) in the undistorted picture, in units of `unit` from
        `centre`; lens k1; logarithm of the focal length; six heights [mm].
    covariance : array of shape (16, 16)
        Posterior covariance of `values`.
    """

    width: float
    height: float
    centre: Points
    unit: float
    values: npt.NDArray[np.float64]
    covariance: npt.NDArray[np.float64]

    @cached_property
    def _matrix(self) -> tuple[Points, Points]:
        return _projection(self.values, self.width, self.height)

    def pixels(self, points: Points) -> Points:
        """Give the full-size pixels of sheet points in millimetres, both of shape (..., 2)."""
        matrix, lift = self._matrix
        made = _seen(points, matrix, lift, self.values, self.width, self.height)
        return np.asarray(made * self.unit + self.centre)

    def sheet(self, pixels: Points, rounds: int = 8) -> Points:
        """Give the sheet points in millimetres of full-size pixels, both of shape (..., 2), by Newton's method."""
        flat = np.asarray(pixels, dtype=float).reshape(-1, 2)
        plane = np.linalg.inv(self._matrix[0])
        start = np.concatenate([(flat - self.centre) / self.unit, np.ones((len(flat), 1))], axis=1) @ plane.T
        at = start[:, :2] / start[:, 2:]
        for _ in range(rounds):
            miss = flat - self.pixels(at)
            at = at + np.einsum("nij,nj->ni", np.linalg.inv(self.slopes(at)), miss)
        return np.asarray(at.reshape(np.shape(pixels)), dtype=float)

    def slopes(self, points: Points) -> Points:
        """Give pixels a millimetre: shape (N, 2, 2), the second axis x and y of the picture, the third of the sheet."""
        step = 0.01
        across, along = np.array([step, 0.0]), np.array([0.0, step])
        return np.stack(
            [
                (self.pixels(points + across) - self.pixels(points - across)) / (2 * step),
                (self.pixels(points + along) - self.pixels(points - along)) / (2 * step),
            ],
            axis=-1,
        )

    @property
    def scale(self) -> float:
        """Pixels a millimetre in the middle of the sheet."""
        middle = np.array([[self.width / 2, self.height / 2]])
        return float(np.sqrt(abs(np.linalg.det(self.slopes(middle)[0]))))

    def shift_along(self, x: float, y: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Standard modes of how a position along the run may be off at x, shape (16, N). [mm].

        The squares of the modes sum to the variance at each y; each mode moves all positions together.
        """
        points = np.stack([np.full_like(y, x), y], axis=1)
        inverse = np.linalg.inv(self.slopes(points))
        vectors = _root(self.covariance)
        modes = np.empty((SIZE, len(y)))
        for number in range(SIZE):
            moved = replace(self, values=self.values + vectors[:, number])
            modes[number] = np.einsum("nij,nj->ni", inverse, moved.pixels(points) - self.pixels(points))[:, 1]
        return modes

    def bulge_along(self, x: float, y: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """How far the heights of the sheet move what is seen at x, shape (N,). [mm]."""
        points = np.stack([np.full_like(y, x), y], axis=1)
        flat = self.values.copy()
        flat[HEIGHTS:] = 0.0
        moved = replace(self, values=flat).pixels(points) - self.pixels(points)
        shift: npt.NDArray[np.float64] = np.einsum("nij,nj->ni", np.linalg.inv(self.slopes(points)), moved)[:, 1]
        return shift


def _root(covariance: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    made: npt.NDArray[np.float64] = vectors * np.sqrt(np.maximum(values, 0.0))
    return made


def homography(source: Points, target: Points) -> Points:
    """Give the 3 x 3 matrix that takes four points to four others.

    Examples
    --------
    >>> square = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    >>> homography(square, 2 * square + 1).round(6).tolist()
    [[2.0, 0.0, 1.0], [0.0, 2.0, 1.0], [0.0, 0.0, 1.0]]
    """
    rows, right = [], []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3) + 0.0


def _projection(values: npt.NDArray[np.float64], width: float, height: float) -> tuple[Points, Points]:
    rectangle = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=float)
    matrix = homography(rectangle, values[:CORNERS].reshape(4, 2))
    focal = np.exp(values[FOCAL])
    camera = np.array([focal, focal, 1.0])
    across, along = matrix[:, 0] / camera, matrix[:, 1] / camera
    length = np.sqrt(np.linalg.norm(across) * np.linalg.norm(along))
    return matrix, np.cross(across, along) / length * camera


def _seen(
    points: Points, matrix: Points, lift: Points, values: npt.NDArray[np.float64], width: float, height: float
) -> Points:
    x, y = points[..., 0], points[..., 1]
    p, q, w = (matrix[row, 0] * x + matrix[row, 1] * y + matrix[row, 2] for row in range(3))
    if np.any(values[HEIGHTS:]):
        u, v = 2 * x / width - 1, 2 * y / height - 1
        a, b, c, d, e, f = values[HEIGHTS:]
        h = (a + c * u + e * v) * (1 - u * u) + (b + d * v + f * u) * (1 - v * v) + twist(values) * u * v
        p, q, w = p + h * lift[0], q + h * lift[1], w + h * lift[2]
    p, q = p / w, q / w
    bent = 1.0 + values[K1] * (p * p + q * q)
    return np.stack([p * bent, q * bent], axis=-1)


def twist(values: npt.NDArray[np.float64]) -> float:
    """How far corners stand off the plane through all four, one pair up and the other down. [mm].

    A sheet whose corners do not lie in one plane has straight edges all the same if it is twisted evenly, so that no
    edge shows it. But paper does not stretch: a corner that stands up is bent up, and both edges that meet there sag
    below their chords. An edge bent evenly from flat to a height z sags by z / 4 half-way, and a corner at z stands
    z / 4 off the plane. So each corner counts by the lesser sag of its two edges.

    Examples
    --------
    >>> values = np.zeros(SIZE)
    >>> values[HEIGHTS:] = -0.5, -0.5, 0.0, 0.0, -0.5, -0.5  # the upper and the right edge sag by 1 mm
    >>> twist(values)
    1.0
    """
    a, b, _, _, e, f = (float(one) for one in values[HEIGHTS:])
    lower, upper, left, right = (max(0.0, -bow) for bow in (a - e, a + e, b - f, b + f))
    return min(upper, right) - min(upper, left) + min(lower, left) - min(lower, right)


def flat_values(corners: Points, focal: float | None) -> npt.NDArray[np.float64]:
    """Give the values of a flat sheet seen through a lens without distortion, shape (16,).

    Parameters
    ----------
    corners : array of shape (4, 2)
        Lower left, lower right, upper right, upper left, in units of the longer side from the middle of the picture.
    focal : float or None
        Focal length in units of the longer side; None for the usual.
    """
    values = np.zeros(SIZE)
    values[:CORNERS] = corners.ravel()
    values[FOCAL] = np.log(focal or USUAL_FOCAL)
    return values


def through_corners(
    corners: Points, size: tuple[float, float], picture_size: tuple[int, int], focal: float | None, u: float
) -> Mapping:
    """Make the mapping of a flat sheet through corners as they are given.

    Parameters
    ----------
    corners, size, picture_size, focal
        As of `fit_mapping`.
    u : float
        Standard uncertainty of each corner, across and along. [px]

    Returns
    -------
    Mapping

    Examples
    --------
    >>> corners = np.array([[0, 1000], [800, 1000], [800, 0], [0, 0.0]])
    >>> made = through_corners(corners, (80, 100), (1200, 1200), None, 2.0)
    >>> made.sheet(np.array([[400.0, 250.0]])).round(6).tolist()
    [[40.0, 75.0]]
    """
    unit = float(max(picture_size))
    centre = (np.array(picture_size, dtype=float) - 1) / 2
    covariance = np.zeros((SIZE, SIZE))
    covariance[np.arange(CORNERS), np.arange(CORNERS)] = (u / unit) ** 2
    values = flat_values((corners - centre) / unit, focal)
    return Mapping(float(size[0]), float(size[1]), centre, unit, values, covariance)


def fit_mapping(
    edges: Sequence[Edge],
    corners: Points,
    size: tuple[float, float],
    picture_size: tuple[int, int],
    focal: float | None,
    curved: bool = True,
) -> Mapping:
    """Fit the mapping to four edges.

    Parameters
    ----------
    edges : sequence of four Edge
        Lower, right, upper, left as the sheet stands with the front up.
    corners : array of shape (4, 2)
        Lower left, lower right, upper right, upper left; roughly. [px]
    size : tuple of float
        Width and height of the sheet. [mm]
    picture_size : tuple of int
        Width and height of the picture. [px]
    focal : float or None
        Focal length in units of the longer side, where it is known.
    curved : bool
        Whether lens and heights are fitted; otherwise straight edges are taken for granted.

    Returns
    -------
    Mapping
    """
    unit = float(max(picture_size))
    centre = (np.array(picture_size, dtype=float) - 1) / 2
    start = flat_values((corners - centre) / unit, focal)
    spread = np.full(SIZE, 1.0)
    spread[K1] = 0.02 if curved else 1e-6
    spread[FOCAL] = 0.25 if focal is None else 0.03
    # Opposite edges mostly bend alike, so that half as much is expected of how they differ (estimate).
    spread[HEIGHTS:] = (0.02 * max(size)) * np.array([1.0, 1.0, 0.5, 0.5, 0.5, 0.5]) if curved else 1e-6
    data = [_edge_data(edge, number, corners, size, centre, unit) for number, edge in enumerate(edges)]
    values, covariance = _gauss_newton(start, spread, data, size)
    return Mapping(size[0], size[1], centre, unit, values, covariance)


_EdgeData: TypeAlias = "tuple[int, Points, Points, float]"


def _edge_data(
    edge: Edge, number: int, corners: Points, size: tuple[float, float], centre: Points, unit: float
) -> _EdgeData:
    """Points and normal of an edge in units of the picture, and the standard uncertainty that a point counts with."""
    along = corners[(number + 1) % 4] - corners[number]
    normal = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    length = size[number % 2]
    per_mm = float(np.linalg.norm(along)) / length
    alike = max(1.0, float(edge.averaged), len(edge.points) * EDGE_CORRELATION / length)
    cut = CUT * per_mm * np.sqrt(max(1.0, len(edge.points) * CUT_CORRELATION / length))
    u = np.hypot(np.hypot(max(edge.scatter, 0.05), 0.05) * np.sqrt(alike), cut)
    return number, (edge.points - centre) / unit, normal, float(u) / unit


def _residuals(values: npt.NDArray[np.float64], data: Sequence[_EdgeData], size: tuple[float, float]) -> Points:
    width, height = size
    matrix, lift = _projection(values, width, height)
    back = np.linalg.inv(matrix)
    made = []
    for number, points, normal, u in data:
        r2 = (points**2).sum(axis=1)
        straight = points / (1 + values[K1] * r2)[:, None]
        plane = np.concatenate([straight, np.ones((len(points), 1))], axis=1) @ back.T
        at = plane[:, :2] / plane[:, 2:]
        at[:, 1 - number % 2] = (0.0, width, height, 0.0)[number]
        made.append((points - _seen(at, matrix, lift, values, width, height)) @ normal / u)
    return np.concatenate(made)


def _gauss_newton(
    start: npt.NDArray[np.float64],
    spread: npt.NDArray[np.float64],
    data: Sequence[_EdgeData],
    size: tuple[float, float],
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    steps = np.where(np.arange(SIZE) < CORNERS, 1e-6, np.where(np.arange(SIZE) < HEIGHTS, 1e-5, 1e-3))
    values, damping = start.copy(), 1e-6
    miss = _residuals(values, data, size)
    cost = _cost(miss, values, start, spread)
    normal = np.eye(SIZE)
    for _ in range(12):
        slopes = np.empty((len(miss), SIZE))
        for number, step in enumerate(steps):
            moved = values.copy()
            moved[number] += step
            slopes[:, number] = (_residuals(moved, data, size) - miss) / step
        normal = slopes.T @ slopes + np.diag(1 / spread**2)
        pull = slopes.T @ miss + (values - start) / spread**2
        trial = values - np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
        missed = _residuals(trial, data, size)
        new = _cost(missed, trial, start, spread)
        if new < cost:
            gain, values, miss, cost, damping = cost - new, trial, missed, new, damping / 5
            if gain < 1e-4 * cost:
                break
        else:
            damping *= 20
            if damping > 1e6:
                break
    return values, np.asarray(np.linalg.inv(normal), dtype=float)


def _cost(miss: Points, values: Points, start: Points, spread: Points) -> float:
    return float((miss**2).sum() + (((values - start) / spread) ** 2).sum())
