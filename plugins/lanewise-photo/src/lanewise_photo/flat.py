"""The sheet laid flat: optical density on a grid of millimetres, with lamp and paper taken away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.edges import sample
from lanewise_photo.light import FLOOR, linear
from lanewise_photo.mapping import Mapping
from lanewise_photo.picture import Picture

Grid: TypeAlias = npt.NDArray[np.float32]

FINE = 16
"""Steps of the density table to a code value."""

ROWS = 64
"""Rows of the grid that are sampled at once; keeps what is held at a time small."""

STROKE, LONG, LEAST_STROKE = 1.0, 1.5, 0.03
"""Width that a pencil's stroke does not reach and length that it has [mm], and how dark it is at least."""

ALONG, GRAIN = 30.0, 1.2
"""Length over which a line is alike, wider than two spots; width that neither grain nor a tick across has. [mm]"""

LESS_DYED = 30.0
"""Share of a front on which no dye lies, at least. [%]"""

THINNED = 3
"""Every so many columns count for the median along a line."""

DEGREE = 4
RIM = 1.5
"""What is left out along the edges of the sheet. [mm]"""


@dataclass(frozen=True, eq=False)
class Flat:
    """Optical density of a sheet over its own paper.

    Attributes
    ----------
    density : array of shape (rows, columns, 3), float32
        Optical density against the paper, red, green and blue; row 0 at the lower edge.
    pitch : float
        Distance of rows and of columns. [mm]
    paper : array of shape (3,)
        Median code values of bare paper.
    saturated : float
        Share of the sheet where a channel is at its end.
    clipped : float
        Share of the sheet where all channels are at their end.
    tint : float
        By how much the colour of the light on the paper varies over the sheet, as optical density.
    """

    density: Grid
    pitch: float
    paper: npt.NDArray[np.float64]
    saturated: float
    clipped: float
    tint: float

    @property
    def rows(self) -> npt.NDArray[np.float64]:
        """Height of each row above the lower edge. [mm]."""
        return np.asarray((np.arange(self.density.shape[0]) + 0.5) * self.pitch, dtype=float)

    @property
    def columns(self) -> npt.NDArray[np.float64]:
        """Distance of each column from the left edge. [mm]."""
        return np.asarray((np.arange(self.density.shape[1]) + 0.5) * self.pitch, dtype=float)


def flatten(picture: Picture, mapping: Mapping, pitch: float) -> Flat:
    """Lay the sheet flat and refer it to its own paper.

    Parameters
    ----------
    picture : Picture
        At the resolution to measure at.
    mapping : Mapping
        Where sheet points are seen.
    pitch : float
        Distance of the grid's rows and columns. [mm]

    Returns
    -------
    Flat
    """
    rows, columns = (max(8, int(mapping.height / pitch)), max(8, int(mapping.width / pitch)))
    table = _fine_table()
    density = np.empty((rows, columns, 3), dtype=np.float32)
    x = (np.arange(columns) + 0.5) * pitch
    over = whole = 0
    for start in range(0, rows, ROWS):
        y = (np.arange(start, min(start + ROWS, rows)) + 0.5) * pitch
        points = np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1)
        codes = sample(picture, mapping.pixels(points))
        full = codes[::2, ::2] >= 253.5
        over += int(full.any(axis=2).sum())
        whole += int(full.all(axis=2).sum())
        np.take(table, (codes * FINE).astype(np.intp), out=density[start : start + len(y)])
    counted = (-(-rows // 2)) * (-(-columns // 2))
    paper, tint = _take_background(density, pitch)
    return Flat(density, pitch, paper, over / counted, whole / counted, tint)


def without_line(flat: Flat, heights: npt.NDArray[np.float64], reach: float, dyed: bool = False) -> Flat:
    """Take a line across the sheet out, and leave what lies on it.

    A line is as dark and as wide all along, or changes slowly; dye is where it is darker or wider than beside. So what
    is taken away, in each channel and at each distance from the middle of the line, is the median along `ALONG` mm of
    what rises above a straight bridge between both sides. What is left and grey is kept only where it stands out of the
    line's own grain and is wider than a tick.

    Parameters
    ----------
    flat : Flat
        The sheet.
    heights : array of shape (columns,)
        Where the line runs at each column. [mm]
    reach : float
        How far on either side it is to be bridged. [mm]
    dyed : bool
        Whether dye may lie on more than half of it, as on a front to which dye was carried: then a lower share than the
        median is taken, and what it leaves is to be fitted.
    """
    from scipy.ndimage import grey_opening, percentile_filter, uniform_filter1d

    density = flat.density.copy()
    half = max(2, round(reach / flat.pitch))
    middle = np.clip(np.rint(heights / flat.pitch - 0.5).astype(int), half + 2, len(density) - half - 3)
    column = np.arange(density.shape[1])
    below = np.mean([density[middle - half - step, column] for step in range(3)], axis=0)
    above = np.mean([density[middle + half + step, column] for step in range(3)], axis=0)
    place = middle + np.arange(-half, half + 1)[:, None]
    part = ((np.arange(2 * half + 1)) / (2 * half)).astype(np.float32)[:, None, None]
    bridge = below * (1 - part) + above * part
    rise = density[place, column] - bridge
    sparse = rise[:, ::THINNED]
    size = 2 * round(0.5 * ALONG / (THINNED * flat.pitch)) + 1
    share = LESS_DYED if dyed else 50.0
    least = percentile_filter(sparse, share, (1, size, 1), mode="reflect")
    usual = np.repeat(least, THINNED, axis=1)[:, : rise.shape[1]]
    left = rise - usual
    over = max(1, round(GRAIN / flat.pitch))
    smooth = uniform_filter1d(left, over, axis=1)  # the least of three noisy values would be too small
    grey = smooth.min(axis=2, keepdims=True) + (left - smooth).mean(axis=2, keepdims=True)
    along = grey_opening(grey.mean(axis=(0, 2)), (over,))
    spread = 1.4826 * float(np.median(np.abs(along - np.median(along)))) + 1e-6
    kept = np.clip(0.5 * along / spread - 1.0, 0.0, 1.0).astype(np.float32)
    density[place, column] = bridge + (left - grey) + grey * kept[None, :, None]
    return replace(flat, density=density)


def without_strokes(flat: Flat) -> Flat:
    """Take thin grey strokes out, such as outlines drawn round spots and writing, and leave the colour below them.

    A stroke is what a square of `STROKE` mm does not fit into, in all channels alike, and longer than `LONG` mm.
    """
    from scipy import ndimage

    neutral = np.minimum(np.minimum(flat.density[..., 0], flat.density[..., 1]), flat.density[..., 2])
    size = max(3, round(STROKE / flat.pitch))
    ridge = neutral - ndimage.grey_opening(ndimage.uniform_filter(neutral, 2), (size, size))
    usual = float(np.median(ridge[::4, ::4]))
    spread = 1.4826 * float(np.median(np.abs(ridge[::4, ::4] - usual)))
    least = max(LEAST_STROKE, usual + 6.0 * spread)
    labels, _ = ndimage.label(ridge > least, np.ones((3, 3)))
    long = [
        number
        for number, part in enumerate(ndimage.find_objects(labels), start=1)
        if max(one.stop - one.start for one in part) * flat.pitch > LONG
    ]
    if not long:
        return flat
    stroke = ndimage.binary_dilation(np.isin(labels, long), np.ones((3, 3), dtype=bool), iterations=2)
    density = flat.density.copy()
    density[stroke] -= np.maximum(ridge[stroke] - usual, 0.0)[:, None]
    return replace(flat, density=density)


def _fine_table() -> npt.NDArray[np.float32]:
    codes = np.arange(255 * FINE + 2) / FINE
    return (-np.log10(linear(np.maximum(codes / 255.0, FLOOR)))).astype(np.float32)


def _take_background(density: Grid, pitch: float) -> tuple[npt.NDArray[np.float64], float]:
    """Subtract the density of lamp and paper, in place; give the paper's code values and how far its tint varies."""
    cell = max(2, round(1.5 / pitch))
    rows, columns = density.shape[0] // cell, density.shape[1] // cell
    sparse = density[: rows * cell, : columns * cell].reshape(rows, cell, columns, cell, 3)[:, ::3, :, ::3]
    cells = np.median(sparse.transpose(0, 2, 1, 3, 4).reshape(rows, columns, -1, 3), axis=2)
    u = np.polynomial.chebyshev.chebvander((np.arange(rows) + 0.5) / rows * 2 - 1, DEGREE)
    v = np.polynomial.chebyshev.chebvander((np.arange(columns) + 0.5) / columns * 2 - 1, DEGREE)
    terms = [(i, j) for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i)]
    design = np.stack([(u[:, i, None] * v[None, :, j]).ravel() for i, j in terms], axis=1)
    inner = np.zeros((rows, columns), dtype=bool)
    inner[1:-1, 1:-1] = True
    fitted = np.stack([_robust_surface(design, cells[..., c].ravel(), inner.ravel()) for c in range(3)], axis=1)
    _subtract(density, fitted, terms)
    surface = design @ fitted
    level = np.median(surface, axis=0)
    tint = float(np.ptp(surface[:, 0] - surface[:, 2]))
    return _codes_of(level), tint


def _robust_surface(
    design: npt.NDArray[np.float64], values: npt.NDArray[np.float32], inner: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float64]:
    """Fit a surface to cells, leaving out those that are darker than bare paper."""
    keep = inner.copy()
    found = np.zeros(design.shape[1])
    usual = float(np.median(values[inner]))
    keep &= values < usual + 0.25
    floor = 1e-9 * np.eye(design.shape[1])
    for _ in range(8):
        kept = design[keep]  # Chebyshev polynomials on a grid hardly depend on one another: equations are safe
        found = np.asarray(np.linalg.solve(kept.T @ kept + floor, kept.T @ values[keep]), dtype=float)
        miss = values - design @ found
        below = np.abs(miss[keep & (miss < 0)])
        spread = 1.4826 * float(np.median(below)) if below.size else 0.0
        before, keep = keep, inner & (miss < 2.0 * spread + 0.002) & (miss > -4.0 * spread - 0.004)
        if keep.sum() < 3 * design.shape[1] or (before == keep).all():
            break
    return found


def _subtract(density: Grid, fitted: npt.NDArray[np.float64], terms: list[tuple[int, int]]) -> None:
    rows, columns = density.shape[:2]
    u = np.polynomial.chebyshev.chebvander((np.arange(rows) + 0.5) / rows * 2 - 1, DEGREE)
    v = np.polynomial.chebyshev.chebvander((np.arange(columns) + 0.5) / columns * 2 - 1, DEGREE)
    for channel in range(3):
        matrix = np.zeros((DEGREE + 1, DEGREE + 1))
        for (i, j), value in zip(terms, fitted[:, channel], strict=True):
            matrix[i, j] = value
        density[..., channel] -= ((u @ matrix) @ v.T).astype(np.float32)


def _codes_of(level: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Code values, 0 to 255, of optical densities against full light."""
    from lanewise_photo.light import encoded

    return np.asarray(encoded(10.0 ** -np.maximum(level, 0.0)) * 255.0, dtype=float)
