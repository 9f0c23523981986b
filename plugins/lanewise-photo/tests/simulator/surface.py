"""The sheet as a surface above the desk: where each of its points lies in space, and the way back.

A sheet that arches along one direction does not stretch: its points draw together by the length of the arc.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.colour import Floats
from simulator.draw import Draw

SHAPES = ("arch along", "arch across", "dome", "skew", "curled corner")


@dataclass(frozen=True, kw_only=True)
class Crease:
    """A fold that was flattened again: a ridge along the line x cos(angle) + y sin(angle) = place. [mm, rad]"""

    angle: float
    place: float
    height: float
    reach: float

    def distance(self, x: Floats, y: Floats) -> Floats:
        """Signed distance from the line. [mm]"""
        return np.asarray(x * np.cos(self.angle) + y * np.sin(self.angle) - self.place)


@dataclass(frozen=True, kw_only=True)
class Surface:
    """Height of the sheet and its place on the desk.

    Attributes
    ----------
    width, height : float
        Of the sheet. [mm]
    bulge : float
        Greatest height of the arch. [mm]
    shape : str
        One of `SHAPES`.
    crease : Crease or None
    turn : float
        Of the sheet on the desk, counter-clockwise. [rad]
    shift : tuple of float
        Of its middle from the middle of the desk. [mm]
    """

    width: float
    height: float
    bulge: float = 0.0
    shape: str = "arch along"
    crease: Crease | None = None
    turn: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)

    def rise(self, x: Floats, y: Floats) -> Floats:
        """Height above the desk. [mm]"""
        s = np.clip(x / self.width, -0.05, 1.05)
        t = np.clip(y / self.height, -0.05, 1.05)
        if self.shape == "arch along":
            made = 4 * t * (1 - t)
        elif self.shape == "arch across":
            made = 0.5 * (1 - np.cos(2 * np.pi * np.clip(s, 0, 1)))
        elif self.shape == "dome":
            made = 16 * s * (1 - s) * t * (1 - t) * 0.7 + 0.3 * 4 * t * (1 - t)
        elif self.shape == "skew":
            made = 6.75 * t * t * (1 - t) * (0.7 + 0.3 * s)
        else:
            made = np.clip((s + t - 1.1) / 0.9, 0, None) ** 2
        high = self.bulge * made
        if self.crease:
            high = high + self.crease.height * np.exp(-np.abs(self.crease.distance(x, y)) / self.crease.reach)
        return np.asarray(high)

    def slopes(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Slope of the height along x and along y."""
        d = 0.05
        return (
            (self.rise(x + d, y) - self.rise(x - d, y)) / (2 * d),
            (self.rise(x, y + d) - self.rise(x, y - d)) / (2 * d),
        )

    def _drawn(self, along: bool) -> tuple[Floats, Floats]:
        """Place on the sheet and place over the desk, for a direction in which the sheet arches."""
        length = self.height if along else self.width
        at = np.linspace(-2 * length, 3 * length, 2501)
        middle = np.full_like(at, (self.width if along else self.height) / 2)
        slope = self.slopes(middle, at)[1] if along else self.slopes(at, middle)[0]
        over = np.concatenate([[0.0], np.cumsum(np.sqrt(np.clip(1 - slope**2, 0.2, 1))[:-1] * np.diff(at))])
        return at, over - np.interp(length / 2, at, over) + length / 2

    def space(self, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
        """Places in space, on the desk's axes and above it, of places on the sheet. [mm]"""
        flat_x = np.interp(x, *self._drawn(along=False)) - self.width / 2
        flat_y = np.interp(y, *self._drawn(along=True)) - self.height / 2
        c, s = np.cos(self.turn), np.sin(self.turn)
        return (
            flat_x * c - flat_y * s + self.shift[0],
            flat_x * s + flat_y * c + self.shift[1],
            self.rise(x, y),
        )

    def sheet(self, at_x: Floats, at_y: Floats) -> tuple[Floats, Floats]:
        """Places on the sheet that lie over places of the desk. [mm]"""
        c, s = np.cos(self.turn), np.sin(self.turn)
        dx, dy = at_x - self.shift[0], at_y - self.shift[1]
        x_at, x_over = self._drawn(along=False)
        y_at, y_over = self._drawn(along=True)
        return (
            np.interp(dx * c + dy * s + self.width / 2, x_over, x_at),
            np.interp(dy * c - dx * s + self.height / 2, y_over, y_at),
        )


def draw_surface(draw: Draw, width: float, height: float, rigid: bool) -> Surface:
    """Draw how a sheet lies."""
    ranges = {"scan": (0.0, 0.0), "phone": (0.0, 0.5), "hard": (0.0, 2.0)}
    low, high = ranges[draw.kind]
    bulge = draw.uniform("bulge", low, 0.15 * high if rigid else high)
    crease = None
    if draw.chance("crease", {"scan": 0.06, "phone": 0.06, "hard": 0.25}[draw.kind] if not rigid else 0.0):
        rng = draw.rng("crease at")
        angle = float(rng.choice([0.0, np.pi / 2]) + rng.normal(0, 0.25))
        through = rng.uniform(0.25, 0.75) * width * np.cos(angle) + rng.uniform(0.3, 0.7) * height * np.sin(angle)
        lift = 0.0 if draw.kind == "scan" else draw.uniform("crease_height", 0.05, 0.5)
        crease = Crease(angle=angle, place=float(through), height=lift, reach=float(rng.uniform(8, 20)))
    return Surface(
        width=width,
        height=height,
        bulge=bulge,
        shape=draw.choice("bulge_shape", SHAPES),
        crease=crease,
        turn=np.radians(draw.uniform("turn", -1.0, 1.0)),
        shift=tuple(draw.given("shift", (0.0, 0.0))),
    )
