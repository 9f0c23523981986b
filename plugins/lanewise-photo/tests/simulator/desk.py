"""What the sheet lies on, and the light that falls on both."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline

from simulator.colour import Floats
from simulator.draw import Draw
from simulator.surface import Surface
from simulator.texture import Tile, noise

DESKS: dict[str, tuple[tuple[float, float, float], str]] = {
    "oak": ((0.36, 0.24, 0.14), "wood"),
    "walnut": ((0.14, 0.085, 0.055), "wood"),
    "pine": ((0.58, 0.43, 0.27), "wood"),
    "grey bench": ((0.30, 0.31, 0.32), "speckled"),
    "black bench": ((0.035, 0.036, 0.04), "speckled"),
    "blue folder": ((0.06, 0.14, 0.36), "card"),
    "green mat": ((0.05, 0.20, 0.12), "card"),
    "red card": ((0.42, 0.06, 0.05), "card"),
    "brown paper": ((0.44, 0.32, 0.21), "cloth"),
    "black cloth": ((0.03, 0.03, 0.032), "cloth"),
    "jeans": ((0.10, 0.13, 0.20), "cloth"),
    "light bench": ((0.60, 0.60, 0.58), "speckled"),
    "cream cloth": ((0.62, 0.57, 0.46), "cloth"),
    "pale wood": ((0.66, 0.54, 0.38), "wood"),
}
DARK = dict.fromkeys(list(DESKS)[:11], 1.0)
LIGHT = dict.fromkeys(list(DESKS)[11:], 1.0)
LIDS: dict[str, tuple[tuple[float, float, float], str]] = {
    "lid": ((0.72, 0.72, 0.71), "card"),
    "grey lid": ((0.55, 0.56, 0.56), "card"),
    "black card": ((0.03, 0.03, 0.03), "card"),
    "blue card": ((0.07, 0.16, 0.38), "card"),
    "green card": ((0.08, 0.26, 0.15), "card"),
}


@dataclass(frozen=True)
class Desk:
    """A plane with a colour and a texture: reflectance = colour times 10^-(texture)."""

    colour: tuple[float, float, float]
    tile: Tile
    turn: float

    def reflectance(self, x: Floats, y: Floats) -> Floats:
        """Reflectance at places of the desk, shape (..., 3)."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        value = self.tile.at(x * c - y * s, x * s + y * c)[..., None]
        return np.asarray(np.array(self.colour, dtype=np.float32) * np.exp(-2.3 * value))


def draw_desk(draw: Draw, pixel: float, glows: bool) -> Desk:
    """Draw a desk, or what a scanner has behind the sheet."""
    if draw.kind == "scan":
        name = draw.choice(
            "desk", {"lid": 0.25, "grey lid": 0.15, "black card": 0.25, "blue card": 0.2, "green card": 0.15}
        )
        colour, pattern = LIDS[name]
    else:
        lot = DARK if draw.kind == "phone" else {**DARK, **dict.fromkeys(LIGHT, 2.5)}
        name = draw.choice("desk", lot)
        colour, pattern = DESKS[name]
    if glows:  # ultraviolet lamp: hardly anything but the plate gives visible light
        colour = (0.03, 0.02, 0.07)
    colour = draw.given("desk_colour", colour)
    rng = draw.rng("desk texture")
    bands = {
        "wood": [(0.05, 0.5, 5.0), (0.05, 4.0, 4.0), (0.012, 0.2, 3.0)],
        "speckled": [(0.035, 0.35, 1.0), (0.02, 1.5, 1.0), (0.02, 25.0, 1.0)],
        "card": [(0.01, 0.25, 1.0), (0.01, 20.0, 1.0)],
        "cloth": [(0.05, 0.3, 2.0), (0.02, 0.8, 1.0), (0.02, 15.0, 1.0)],
    }[pattern]
    if draw.kind == "scan":
        bands = [(sd * 0.3, length, stretch) for sd, length, stretch in bands]
    plain = draw.given("desk_texture", 1.0)
    tile = noise(
        rng, [(sd * plain, length, k) for sd, length, k in bands], 1024, float(np.clip(1 / pixel, 2, 8)), 0, pixel
    )
    return Desk(colour=tuple(colour), tile=tile, turn=rng.uniform(0, 3.1) if pattern != "card" else 0.0)


@dataclass(frozen=True)
class Light:
    """Light on desk and sheet, as a share of its mean over the sheet.

    Attributes
    ----------
    field : array (24, 24, 3)
        Even light, lamp gradient and vignetting, on points spread evenly over the picture.
    size : tuple of int
        Rows and columns of the picture.
    slant : tuple of float
        How strongly a slope along x and along y is lit, relative to level. [per unit slope]
    shadows : tuple
        Each an edge through a point of the picture: row, column, angle, half-width of its edge [pixel], depth.
    """

    field: Floats
    size: tuple[int, int]
    slant: tuple[float, float]
    shadows: tuple[tuple[float, float, float, float, float], ...]

    @cached_property
    def _weights(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Weights of the points of the field for each row and each column, by cubic splines."""
        made = []
        for length in self.size:
            at = np.linspace(0, length - 1, len(self.field))
            made.append(make_interp_spline(at, np.eye(len(self.field)), k=3)(np.arange(length)).astype(np.float32))
        return made[0], made[1]

    def strip(self, start: int, stop: int) -> NDArray[np.float32]:
        """Light on rows start to stop, shape (stop - start, columns, 3)."""
        down, across = self._weights
        made = np.empty((stop - start, self.size[1], 3), dtype=np.float32)
        for k in range(3):
            made[..., k] = down[start:stop] @ self.field[..., k].astype(np.float32) @ across.T
        rows, columns = np.arange(start, stop, dtype=np.float32), np.arange(self.size[1], dtype=np.float32)
        for row, column, angle, soft, depth in self.shadows:
            off = ((columns - column) * np.cos(angle))[None, :] + ((rows - row) * np.sin(angle))[:, None]
            made *= (1 - depth * 0.5 * (1 + np.tanh(off / soft))).astype(np.float32)[..., None]
        return made

    @property
    def brightest(self) -> float:
        """Brightest of the places in the middle of the picture, where the sheet lies, greenest channel."""
        return float(self.field[4:20, 4:20, 1].max())


def draw_light(draw: Draw, rows: int, columns: int, surface: Surface, pixels_per_mm: float, glows: bool) -> Light:
    """Draw the light of a picture."""
    rng = draw.rng("light")
    v, u = np.meshgrid(np.linspace(-1, 1, 24), np.linspace(-1, 1, 24), indexing="ij")
    made = np.ones((24, 24, 3))
    if draw.kind == "scan":
        across = draw.uniform("lamp", 0.0, 0.03)
        made *= (1 + across * np.cos(2.2 * u + rng.uniform(0, 6)))[..., None]
    else:
        most = {"phone": 0.3, "hard": 0.45}[draw.kind] * (1.3 if glows else 1.0)
        slope, way = draw.uniform("gradient", 0.03, most), draw.uniform("gradient_way", 0, 2 * np.pi)
        along = u * np.cos(way) + v * np.sin(way)
        made *= (1 + 0.5 * slope * along - 0.25 * slope * draw.uniform("gradient_bend", 0, 1) * along**2)[..., None]
        radius = (u * columns) ** 2 + (v * rows) ** 2
        made *= (1 - draw.uniform("vignette", 0.05, 0.28) * radius / (columns**2 + rows**2))[..., None]
        warm = draw.uniform("mixed_light", 0.0, 0.03 if draw.kind == "phone" else 0.06)
        other = u * np.cos(way + 2) + v * np.sin(way + 2)
        made *= np.stack([1 + warm * other, np.ones_like(u), 1 - warm * other], axis=-1)
    shadows = []
    if draw.kind != "scan" and draw.chance("soft_shadow", 0.4):
        soft = draw.uniform("shadow_soft", 8, 30) * pixels_per_mm
        depth = draw.uniform("shadow_depth", 0.06, 0.22 if draw.kind == "phone" else 0.35)
        shadows.append(
            (rows * rng.uniform(0.2, 0.8), columns * rng.uniform(0.2, 0.8), rng.uniform(0, 6.3), soft, depth)
        )
    if draw.given("hard_shadow", False):
        angle, depth = rng.choice([0.0, 1.57]) + rng.normal(0, 0.35), rng.uniform(0.25, 0.45)
        middle = rows * rng.uniform(0.4, 0.6), columns * rng.uniform(0.42, 0.58)
        shadows.append((*middle, angle, rng.uniform(0.15, 0.5) * pixels_per_mm, depth))
    low = draw.uniform("low_light", 0.1, 0.7)
    way = rng.uniform(0, 6.3)
    return Light(
        field=made,
        size=(rows, columns),
        slant=(low * np.cos(way), low * np.sin(way)) if draw.kind != "scan" else (0.0, 0.25),
        shadows=tuple(shadows),
    )
