"""From places in space to pixels and back: a camera with a lens, and a flatbed scanner.

Pixels are counted from the centre of the top left pixel. The desk is the plane z = 0, x to the right and y upwards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import RectBivariateSpline

from simulator.colour import Floats
from simulator.draw import Draw
from simulator.surface import Surface

DIAGONAL_35 = float(np.hypot(36.0, 24.0))
FEWEST = 3.5  # pixels a millimetre: whoever wants to read a sheet goes nearer than that


@dataclass(frozen=True, kw_only=True)
class Camera:
    """A camera that looks down on the desk.

    Attributes
    ----------
    columns, rows : int
        Of the picture.
    focal : float
        Focal length. [pixel]
    centre : tuple of float
        Principal point. [pixel]
    k1, k2 : float
        Radial distortion, in units of the focal length.
    turn : array (3, 3)
        From the desk's axes to the camera's: right, down, away.
    target : tuple of float
        Place on the desk that lies at `distance` straight ahead. [mm]
    distance : float
        [mm]
    """

    columns: int
    rows: int
    focal: float
    centre: tuple[float, float]
    k1: float
    k2: float
    turn: Floats
    target: tuple[float, float]
    distance: float

    def pixels(self, x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats]:
        """Column and row of places in space."""
        place = np.stack([x - self.target[0], y - self.target[1], z + 0 * x])
        right, down, away = np.tensordot(self.turn, place, axes=1)
        away = away + self.distance
        u, v = right / away, down / away
        r = u * u + v * v
        bent = self.focal * (1 + self.k1 * r + self.k2 * r * r)
        return bent * u + self.centre[0], bent * v + self.centre[1]

    def desk(self, column: Floats, row: Floats, z: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Places at height z that are seen at pixels."""
        u0, v0 = (column - self.centre[0]) / self.focal, (row - self.centre[1]) / self.focal
        u, v = u0, v0
        for _ in range(12):
            r = u * u + v * v
            bent = 1 + self.k1 * r + self.k2 * r * r
            u, v = u0 / bent, v0 / bent
        back = self.turn.T
        ray = np.tensordot(back, np.stack([u, v, np.ones_like(u)]), axes=1)
        start = back @ np.array([0.0, 0.0, -self.distance])
        far = (z - start[2]) / ray[2]
        return start[0] + far * ray[0] + self.target[0], start[1] + far * ray[1] + self.target[1]


@dataclass(frozen=True, kw_only=True)
class Scanner:
    """A flatbed scanner: no perspective, a carriage that does not run quite evenly.

    Attributes
    ----------
    columns, rows : int
    scale : tuple of float
        Across and along the carriage's travel. [pixel/mm]
    centre : tuple of float
        Where the middle of the desk is seen. [pixel]
    turn : float
        [rad]
    sway, period, phase : float
        Uneven run: amplitude [pixel], period [pixel], phase [rad].
    """

    columns: int
    rows: int
    scale: tuple[float, float]
    centre: tuple[float, float]
    turn: float
    sway: float
    period: float
    phase: float

    def pixels(self, x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats]:
        """Column and row of places on the glass."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        column = self.scale[0] * (x * c - y * s) + self.centre[0]
        row = -self.scale[1] * (x * s + y * c) + self.centre[1]
        return column, row + self.sway * np.sin(2 * np.pi * row / self.period + self.phase)

    def desk(self, column: Floats, row: Floats, z: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Places on the glass that are seen at pixels."""
        even = row
        for _ in range(8):
            even = row - self.sway * np.sin(2 * np.pi * even / self.period + self.phase)
        across, along = (column - self.centre[0]) / self.scale[0], -(even - self.centre[1]) / self.scale[1]
        c, s = np.cos(self.turn), np.sin(self.turn)
        return across * c + along * s, along * c - across * s


View = Camera | Scanner


@dataclass(frozen=True)
class Seen:
    """A sheet as a view sees it."""

    view: View
    surface: Surface

    def pixels(self, x: Floats, y: Floats) -> Floats:
        """Column and row of places on the sheet; shape (..., 2)."""
        return np.stack(self.view.pixels(*self.surface.space(np.asarray(x, float), np.asarray(y, float))), axis=-1)

    def sheet(self, column: Floats, row: Floats) -> tuple[Floats, Floats]:
        """Places on the sheet seen at pixels, found by stepping between height and ray. [mm]"""
        z: Floats | float = 0.0
        for _ in range(14):
            x, y = self.surface.sheet(*self.view.desk(column, row, z))
            z = self.surface.rise(x, y)
        return x, y

    def corners(self, cut: Floats) -> Floats:
        """Lower left, lower right, upper right, upper left corner. [pixel]"""
        w, h = self.surface.width, self.surface.height
        at = np.array([[0, 0], [w, 0], [w, h], [0, h]], dtype=float) + cut
        return self.pixels(at[:, 0], at[:, 1])

    @property
    def pixels_per_mm(self) -> float:
        """Mean over the sheet."""
        x, y = self.corners(np.zeros((4, 2))).T
        area = 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))
        return float(np.sqrt(area / (self.surface.width * self.surface.height)))

    def box(self, left: float, right: float, low: float, high: float, room: int = 3) -> tuple[slice, slice]:
        """Rows and columns that hold a rectangle of the sheet, within the picture."""
        s, t = np.meshgrid(np.linspace(left, right, 5), np.linspace(low, high, 5))
        at = self.pixels(s, t)
        (c0, r0), (c1, r1) = at.reshape(-1, 2).min(axis=0), at.reshape(-1, 2).max(axis=0)
        return (
            slice(max(0, int(r0) - room), max(0, min(self.view.rows, int(r1) + room + 2))),
            slice(max(0, int(c0) - room), max(0, min(self.view.columns, int(c1) + room + 2))),
        )


class Places:
    """Places seen in a block of pixels: exact on a coarse grid, between its points by a cubic spline.

    Parameters
    ----------
    back : callable
        Gives places, x and y, of columns and rows: `Seen.sheet` or a view's `desk`; further arrays may follow.
    rows, columns : slice
        The block.
    step : int
        Every so many columns only.
    """

    def __init__(
        self, back: Callable[[Floats, Floats], tuple[Floats, ...]], rows: slice, columns: slice, step: int = 1
    ) -> None:
        count = max(24, (rows.stop - rows.start) // 40), max(24, (columns.stop - columns.start) // 40)
        at_rows = np.linspace(rows.start - 2, rows.stop + 1, count[0])
        at_columns = np.linspace(columns.start - 2, columns.stop + 1, count[1])
        column, row = np.meshgrid(at_columns, at_rows)
        self._splines = [RectBivariateSpline(at_rows, at_columns, part, s=0) for part in back(column, row)]
        self._columns, self._step = np.arange(columns.start, columns.stop, step, dtype=float), step

    def strip(self, start: int, stop: int) -> tuple[Floats, ...]:
        """Places seen in rows start to stop, each of shape (rows, columns). [mm]"""
        at = np.arange(start, stop, self._step, dtype=float)
        return tuple(spline(at, self._columns) for spline in self._splines)


def tilted(pitch: float, yaw: float, roll: float) -> Floats:
    """Turn from the desk's axes to those of a camera that looks down; angles in radians."""
    down = np.diag([1.0, -1.0, -1.0])
    cp, sp, cy, sy, cr, sr = np.cos(pitch), np.sin(pitch), np.cos(yaw), np.sin(yaw), np.cos(roll), np.sin(roll)
    about_x = np.array([[1, 0, 0], [0, cp, -sp], [0, sp, cp]])
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_z = np.array([[cr, -sr, 0], [sr, cr, 0], [0, 0, 1]])
    return np.asarray(about_z @ about_y @ about_x @ down)


def draw_camera(draw: Draw, surfaces: list[Surface]) -> Camera:
    """Draw a camera that holds all sheets within its frame."""
    hard = draw.kind == "hard"
    tilt = draw.uniform("tilt", 0.0, 30.0 if hard else 15.0)
    way = draw.uniform("tilt_way", 0.0, 2 * np.pi)
    roll = np.radians(draw.normal("roll", 0.0, 9.0 if hard else 3.5))
    turn = tilted(np.radians(tilt) * np.cos(way), np.radians(tilt) * np.sin(way), roll)
    tall = max(s.height for s in surfaces) >= max(s.width for s in surfaces)
    if draw.chance("other_way_round", 0.12):
        tall = not tall
    fill = draw.uniform("fill", 0.58, 0.88)
    megapixels = draw.given("megapixels", None)
    if megapixels is not None or not hard:
        return _framed(draw, _camera(draw, megapixels or 12.0, tall, turn), surfaces, fill)
    megapixels = float(np.exp(draw.rng("megapixels").uniform(np.log(0.3), np.log(3.0))))
    camera = _framed(draw, _camera(draw, megapixels, tall, turn), surfaces, fill)
    coarse = FEWEST / min(Seen(camera, surface).pixels_per_mm for surface in surfaces)
    if coarse <= 1:
        return camera
    return _framed(draw, _camera(draw, megapixels * coarse**2, tall, turn), surfaces, fill)


def _camera(draw: Draw, megapixels: float, tall: bool, turn: Floats) -> Camera:
    """Give a camera with so many pixels, far above the middle of the desk."""
    long, short = 2 * round(np.sqrt(megapixels * 1e6 * 4 / 3) / 2), 2 * round(np.sqrt(megapixels * 1e6 * 3 / 4) / 2)
    columns, rows = (short, long) if tall else (long, short)
    equivalent = draw.choice("focal_35", [24, 26, 26, 27, 28, 52])
    focal = equivalent / DIAGONAL_35 * float(np.hypot(columns, rows)) * (1 + draw.normal("focal_off", 0, 0.012))
    off = draw.rng("principal").normal(0, 0.004, 2) * (columns, rows)
    return Camera(
        columns=columns,
        rows=rows,
        focal=focal,
        centre=((columns - 1) / 2 + off[0], (rows - 1) / 2 + off[1]),
        k1=draw.normal("k1", 0.0, 0.012 if draw.kind == "hard" else 0.006),
        k2=draw.normal("k2", 0.0, 0.003),
        turn=turn,
        target=(0.0, 0.0),
        distance=300.0,
    )


def _framed(draw: Draw, camera: Camera, surfaces: list[Surface], fill: float) -> Camera:
    """Move a camera until the sheets fill their share of the frame, a little off its middle."""
    rng = draw.rng("framing")
    spare = (1 - fill) / 2
    wish = np.array([0.5, 0.5]) + rng.uniform(-0.55, 0.55, 2) * spare + np.array(draw.given("frame_shift", (0.0, 0.0)))
    size = np.array([camera.columns, camera.rows], dtype=float)
    for _ in range(25):
        at = np.concatenate([Seen(camera, s).corners(np.zeros((4, 2))) for s in surfaces])
        low, high = at.min(axis=0), at.max(axis=0)
        share = float(((high - low) / size).max())
        miss = (low + high) / 2 - wish * size
        scale = camera.focal / camera.distance
        step = camera.turn[:2, :2].T @ (miss / scale)
        camera = replace(
            camera,
            target=(camera.target[0] + step[0], camera.target[1] + step[1]),
            distance=camera.distance * share / fill,
        )
    return camera


def draw_scanner(draw: Draw, surfaces: list[Surface]) -> Scanner:
    """Draw a scanner and the part of its glass that is kept."""
    dpi = draw.choice("dpi", [150, 200, 200, 300, 300])
    megapixels = draw.given("megapixels", None)
    width = max(s.width + 2 * abs(s.shift[0]) for s in surfaces) + draw.uniform("beside", 12, 40)
    height = max(s.height + 2 * abs(s.shift[1]) for s in surfaces) + draw.uniform("above", 12, 40)
    if megapixels is not None:
        dpi = min(dpi, 25.4 * float(np.sqrt(megapixels * 1e6 / (width * height))))
    true = dpi / 25.4
    columns, rows = int(width * true), int(height * true)
    rng = draw.rng("glass")
    return Scanner(
        columns=columns,
        rows=rows,
        scale=(true * (1 + rng.normal(0, 0.001)), true * (1 + rng.normal(0, 0.003))),
        centre=(columns / 2 + rng.normal(0, 1.2) * true, rows / 2 + rng.normal(0, 1.2) * true),
        turn=np.radians(draw.normal("roll", 0.0, 1.2)),
        sway=draw.uniform("sway", 0.0, 0.04) * true,
        period=rng.uniform(25, 90) * true,
        phase=rng.uniform(0, 6.3),
    )
