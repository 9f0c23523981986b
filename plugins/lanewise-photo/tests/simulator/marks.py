"""What lies on a sheet beside dye: pencil, print, tide lines, stains, specks and fibres.

Each mark has a `box` (left, right, lower, upper) [mm] and gives a `density(x, y, pixel, grain)`, optical density at
places on the sheet: `pixel` is the size of a pixel there [mm], `grain` the tooth of the paper, mean 0, deviation 1.
Thin things are widened by what a pixel integrates over, and lightened by as much.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simulator.colour import Floats

Box = tuple[float, float, float, float]
GREY = (1.0, 1.0, 1.0)
BROWN = (0.55, 0.8, 1.25)
BREAK = (0.3, 1.8)  # least and greatest share of its density that the paper's tooth leaves to a line
PIXEL_SD = 0.32  # of a pixel: standard deviation of the box that it integrates over, and a little more


def _spread(sigma: float, pixel: float) -> tuple[float, float]:
    wide = float(np.hypot(sigma, PIXEL_SD * pixel))
    return wide, sigma / wide


@dataclass(frozen=True, kw_only=True, eq=False)
class Line:
    """A line across the sheet, y as a function of x.

    Attributes
    ----------
    x, y : array (N,)
        Its course. [mm]
    sigma : float
        About a third of its visible width. [mm]
    od : float
        Optical density in its middle.
    rough : float
        How far the paper's tooth breaks it up, 0 to 1.
    colour : tuple of three float
        Density in red, green and blue relative to `od`.
    behind : float
        Length of a tail towards the origin, for a tide line. [mm]
    """

    x: Floats
    y: Floats
    sigma: float
    od: float
    rough: float = 0.6
    colour: tuple[float, float, float] = GREY
    behind: float = 0.0

    @property
    def box(self) -> Box:
        """Where there is anything of it."""
        low = float(self.y.min()) - 5 * self.sigma - 5 * self.behind - 0.4
        return float(self.x.min()), float(self.x.max()), low, float(self.y.max()) + 5 * self.sigma + 0.4

    def density(self, x: Floats, y: Floats, pixel: float, grain: Floats) -> Floats:
        """Optical density, relative to `colour`."""
        wide, light = _spread(self.sigma, pixel)
        off = y - np.interp(x, self.x, self.y)
        made = light * np.exp(-0.5 * (off / wide) ** 2)
        if self.behind:
            made = np.where(off < 0, np.maximum(made, np.exp(np.minimum(off, 0) / self.behind)), made)
        ends = (x >= self.x.min()) & (x <= self.x.max())
        return np.asarray(self.od * made * ends * np.clip(1 + self.rough * grain, *BREAK))


@dataclass(frozen=True, kw_only=True, eq=False)
class Stroke:
    """A stroke of a pencil, a hair or a fibre: a course of points [mm], shape (N, 2)."""

    points: Floats
    sigma: float
    od: float
    rough: float = 0.6
    colour: tuple[float, float, float] = GREY

    @property
    def box(self) -> Box:
        """Where there is anything of it."""
        (left, low), (right, high) = self.points.min(axis=0), self.points.max(axis=0)
        room = 4 * self.sigma + 0.4
        return left - room, right + room, low - room, high + room

    def density(self, x: Floats, y: Floats, pixel: float, grain: Floats) -> Floats:
        """Optical density, relative to `colour`."""
        wide, light = _spread(self.sigma, pixel)
        nearest = np.full(x.shape, np.inf)
        for (ax, ay), (bx, by) in zip(self.points[:-1], self.points[1:], strict=True):
            dx, dy = bx - ax, by - ay
            along = np.clip(((x - ax) * dx + (y - ay) * dy) / max(dx * dx + dy * dy, 1e-12), 0, 1)
            np.minimum(nearest, (x - ax - along * dx) ** 2 + (y - ay - along * dy) ** 2, out=nearest)
        made = light * np.exp(-0.5 * nearest / wide**2)
        return np.asarray(self.od * made * np.clip(1 + self.rough * grain, *BREAK))


@dataclass(frozen=True, kw_only=True, eq=False)
class Blob:
    """A stain, a speck or a finger mark: an ellipse with a soft edge, darker at its rim where `rim` is above 0."""

    x: float
    y: float
    a: float
    b: float
    turn: float
    od: float
    soft: float = 0.5
    rim: float = 0.0
    colour: tuple[float, float, float] = GREY

    @property
    def box(self) -> Box:
        """Where there is anything of it."""
        room = 1.6 * max(self.a, self.b) + 0.4
        return self.x - room, self.x + room, self.y - room, self.y + room

    def density(self, x: Floats, y: Floats, pixel: float, grain: Floats) -> Floats:
        """Optical density, relative to `colour`."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        u, v = (x - self.x) * c + (y - self.y) * s, (y - self.y) * c - (x - self.x) * s
        blur = PIXEL_SD * pixel
        a, b = np.hypot(self.a, blur), np.hypot(self.b, blur)
        light = self.a * self.b / (a * b)
        r = np.sqrt((u / a) ** 2 + (v / b) ** 2)
        made = 0.5 * (1 - np.tanh((r - 1) / self.soft))
        if self.rim:
            made = made * (1 - self.rim) + self.rim * np.exp(-0.5 * ((r - 1) / (0.4 * self.soft)) ** 2)
        return np.asarray(self.od * light * made * (1 + 0.15 * grain))


@dataclass(frozen=True, kw_only=True, eq=False)
class Disc:
    """A printed black disc with a sharp edge."""

    x: float
    y: float
    radius: float
    od: float = 1.1
    colour: tuple[float, float, float] = GREY

    @property
    def box(self) -> Box:
        """Where there is anything of it."""
        room = self.radius + 0.8
        return self.x - room, self.x + room, self.y - room, self.y + room

    def density(self, x: Floats, y: Floats, pixel: float, grain: Floats) -> Floats:
        """Optical density; the share of a pixel that is covered counts in reflectance."""
        inside = np.clip(0.5 + (self.radius - np.hypot(x - self.x, y - self.y)) / pixel, 0, 1)
        return np.asarray(-np.log10(1 - inside * (1 - 10**-self.od)))


@dataclass(frozen=True, kw_only=True, eq=False)
class Print:
    """Something printed: optical density on a grid of `scale` pixels a millimetre, first row at the top."""

    raster: NDArray[np.float32]
    left: float
    top: float
    scale: float
    colour: tuple[float, float, float] = GREY
    od: float = field(default=1.0)

    @property
    def box(self) -> Box:
        """Where there is anything of it."""
        rows, columns = self.raster.shape
        return self.left, self.left + columns / self.scale, self.top - rows / self.scale, self.top

    def density(self, x: Floats, y: Floats, pixel: float, grain: Floats) -> Floats:
        """Optical density, relative to `colour`."""
        from scipy.ndimage import gaussian_filter, map_coordinates

        soft = gaussian_filter(self.raster, PIXEL_SD * pixel * self.scale)
        places = np.stack([(self.top - y) * self.scale - 0.5, (x - self.left) * self.scale - 0.5])
        return np.asarray(self.od * map_coordinates(soft, places, order=1, mode="constant"))


Mark = Line | Stroke | Blob | Disc | Print
