"""Where the edges of the sheet run, to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.light import linear
from lanewise_photo.picture import Picture

Points: TypeAlias = npt.NDArray[np.float64]

NORMALS = 140
CLEAR = 4.0
"""Standard deviations of the noise to which the step at an edge is brought by averaging."""

OWN_BLUR = 2.75
"""Variance that smoothing and differences add to the width of an edge, in squared steps of a normal: 0.5 of the kernel
of three, 0.25 of the difference over two steps, 2 of the mean of five."""

SIDES = ("upper", "right", "lower", "left")


@dataclass(frozen=True, eq=False)
class Edge:
    """One edge of the sheet.

    Attributes
    ----------
    points : array of shape (N, 2)
        Places on the edge, in full-size pixels; outliers are left out.
    along : array of shape (N,)
        How far along its side each place lies, 0 to 1.
    found : float
        Share of the normals on which the edge was found where it was looked for, 0 to 1.
    scatter : float
        Standard deviation of the places about a smooth curve. [px]
    width : float
        Standard deviation of the blur across the edge, without what measuring it adds. [px]
    contrast : float
        Median difference in linear light between paper and background, as a share of 255.
    bow : float
        Largest distance of the smooth curve from its chord. [px]
    averaged : int
        Normals that were taken together, where paper and background hardly differ.
    """

    points: Points
    along: npt.NDArray[np.float64]
    found: float
    scatter: float
    width: float
    contrast: float
    bow: float
    averaged: int = 1


def find_edges(picture: Picture, corners: Points, band: float) -> tuple[Edge, ...]:
    """Find the four edges between corners that are roughly known.

    Along each side the picture is sampled on normals. In the colour direction that parts paper from background, the
    steepest place of each normal is found and its centre of gravity of slope taken.

    Parameters
    ----------
    picture : Picture
        At the resolution to measure at.
    corners : array of shape (4, 2)
        Clockwise from the upper left, in full-size pixels.
    band : float
        How far to look on either side. [full-size px]

    Returns
    -------
    tuple of four Edge
        Upper, right, lower, left.
    """
    return tuple(_edge(picture, corners[n], corners[(n + 1) % 4], corners.mean(axis=0), band) for n in range(4))


def sample(picture: Picture, points: Points) -> npt.NDArray[np.float32]:
    """Give the three code values at places (full-size pixels), shape (..., 2), by bilinear interpolation.

    Beyond the frame the nearest pixel stands.
    """
    place = picture.inside(points)
    rows, columns = picture.pixels.shape[:2]
    x = np.clip(place[..., 0], 0.0, columns - 1.001)
    y = np.clip(place[..., 1], 0.0, rows - 1.001)
    ix, iy = x.astype(np.intp), y.astype(np.intp)
    fx = (x - ix).astype(np.float32)[..., None]
    fy = (y - iy).astype(np.float32)[..., None]
    flat = picture.pixels.reshape(-1, 3)
    start = iy * columns + ix
    upper = flat[start] * (1 - fx) + flat[start + 1] * fx
    lower = flat[start + columns] * (1 - fx) + flat[start + columns + 1] * fx
    made: npt.NDArray[np.float32] = upper * (1 - fy) + lower * fy
    return made


@cache
def _linear_table() -> npt.NDArray[np.float32]:
    """Linear light of every quarter of a code value; blur mixes light, so that an edge lies at its half."""
    return linear(np.arange(255 * 4 + 5) / (255.0 * 4)).astype(np.float32)


def _edge(picture: Picture, start: Points, stop: Points, centre: Points, band: float) -> Edge:
    along = np.linspace(0.04, 0.96, NORMALS)
    direction = (stop - start) / np.linalg.norm(stop - start)
    normal = np.array([-direction[1], direction[0]])
    normal = normal if normal @ (centre - start) > 0 else -normal
    pitch = picture.step * 0.5
    depth = np.arange(-band, band + pitch / 2, pitch)
    base = start + along[:, None] * (stop - start)
    values = sample(picture, base[:, None, :] + depth[None, :, None] * normal)
    profile, contrast = _projected(255.0 * _linear_table()[(values * 4.0).astype(np.intp)])
    profile, averaged, clear = _averaged(profile)
    place, width, strong = _steepest(profile, depth)
    strong &= clear
    curve, keep = _robust_curve(along, place, strong)
    miss = place[keep] - curve[keep]
    chord = np.interp(along, [along[0], along[-1]], [curve[0], curve[-1]])
    return Edge(
        points=base[keep] + place[keep, None] * normal,
        along=along[keep],
        found=float(keep.mean()),
        scatter=float(miss.std()) if keep.sum() > 3 else float("inf"),
        width=float(np.median(width[keep])) if keep.any() else float("inf"),
        contrast=contrast,
        bow=float(np.abs(curve - chord).max()),
        averaged=averaged,
    )


def _projected(values: npt.NDArray[np.float32]) -> tuple[npt.NDArray[np.float64], float]:
    """Project colours on the direction from background to paper, scaled so that paper is 1 and background 0."""
    count = max(2, values.shape[1] // 5)
    outer = np.median(values[:, :count].reshape(-1, 3), axis=0)
    inner = np.median(values[:, -count:].reshape(-1, 3), axis=0)
    spread = 3.0 + np.median(np.abs(values[:, -count:] - inner).reshape(-1, 3), axis=0)
    spread += np.median(np.abs(values[:, :count] - outer).reshape(-1, 3), axis=0)
    weights = (inner - outer) / spread**2
    scale = float(weights @ (inner - outer))
    contrast = float(np.abs(inner - outer).max())
    profile: npt.NDArray[np.float64] = ((values - outer) @ weights / max(scale, 1e-9)).astype(float)
    return profile, contrast


def _averaged(profile: npt.NDArray[np.float64]) -> tuple[npt.NDArray[np.float64], int, bool]:
    """Average neighbouring normals until the step is clear of the noise; give also how many, and whether it is."""
    from scipy.ndimage import uniform_filter1d

    count = max(2, profile.shape[1] // 5)
    ends = np.concatenate([profile[:, :count], profile[:, -count:]], axis=1)
    noise = 1.4826 * float(np.median(np.abs(np.diff(ends[:, ::2], axis=1)))) / np.sqrt(2.0)
    steps = profile[:, -count:].mean(axis=1) - profile[:, :count].mean(axis=1)
    noise = max(noise, 1.4826 * float(np.median(np.abs(steps - np.median(steps)))))
    wanted = int(np.ceil((CLEAR * noise) ** 2))
    if wanted <= 1:
        return profile, 1, True
    averaged = min(wanted, NORMALS // 4)
    return uniform_filter1d(profile, averaged, axis=0, mode="nearest"), averaged, wanted <= NORMALS // 2


def _steepest(
    profile: npt.NDArray[np.float64], depth: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Place, blur and presence of the edge on each normal."""
    kernel = np.array([0.25, 0.5, 0.25])
    smooth = np.apply_along_axis(np.convolve, 1, profile, kernel, "same")
    slope = np.gradient(smooth, depth, axis=1)
    slope[:, :2] = slope[:, -2:] = 0.0
    summed = np.apply_along_axis(np.convolve, 1, slope, np.ones(5) / 5, "same")
    best = summed.argmax(axis=1)
    pitch, half = float(depth[1] - depth[0]), 8
    window = np.clip(best[:, None] + np.arange(-half, half + 1), 0, len(depth) - 1)
    rows = np.arange(len(profile))[:, None]
    local = np.maximum(slope[rows, window], 0.0)
    local = np.where(local > 0.15 * local.max(axis=1, keepdims=True), local, 0.0)
    weight = local.sum(axis=1) + 1e-12
    place = (local * depth[window]).sum(axis=1) / weight
    seen = (summed > 0.5 * summed.max(axis=1, keepdims=True)).sum(axis=1) / 2.355
    width = pitch * np.sqrt(np.maximum(seen**2 - OWN_BLUR, 0.0))
    rise = weight * pitch
    return place, width, rise > 0.4


def _robust_curve(
    along: npt.NDArray[np.float64], place: npt.NDArray[np.float64], strong: npt.NDArray[np.bool_]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Smooth curve of degree 4 through the places, and which of them it goes by."""
    t = 2 * along - 1
    design = np.polynomial.chebyshev.chebvander(t, 4)
    keep: npt.NDArray[np.bool_] = strong.copy()
    if keep.sum() < 20:
        return np.zeros_like(place), np.zeros_like(keep)
    curve: Any = np.full_like(place, np.median(place[strong]))
    scale = 3.0 * float(np.median(np.abs(place[strong] - curve[strong]))) + 0.5
    for degree in (1, 1, 2, 2, 4, 4):
        part = design[:, : degree + 1]
        weights = strong / (1.0 + ((place - curve) / scale) ** 2)
        curve = part @ np.linalg.lstsq(part * weights[:, None], place * weights, rcond=None)[0]
        scale = max(0.15, 2.5 * float(np.median(np.abs(place[strong] - curve[strong]))))
    keep = strong & (np.abs(place - curve) < 2.0 * scale)
    return curve, keep
