"""A developed sheet: its size, lanes, lines and spots, as a person made it and a solvent ran over it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulator.colour import Floats
from simulator.draw import Draw
from simulator.marks import BROWN, Blob, Disc, Line, Mark, Stroke
from simulator.mixing import Mixture, draw_mixture
from simulator.spots import Spot
from simulator.spotting import draw_spots
from simulator.writing import LETTERS, NOTES, outline, write

_PAPER = [(40, 80), (50, 100), (60, 90), (80, 80), (75, 150), (80, 100), (100, 100), (120, 100), (100, 200), (150, 120)]
SIZES = {
    "paper": [*_PAPER, (200, 200)],
    "silica": [(40, 80), (50, 100), (66, 100), (100, 100), (100, 200), (200, 200)],
    "fluorescent": [(40, 80), (50, 100), (66, 100), (100, 100)],
}


@dataclass(frozen=True, kw_only=True)
class Lane:
    """One lane: its name, where it starts, and where the drop sat on the line. [mm]"""

    name: str
    x: float
    drop: float
    lean: float


@dataclass(frozen=True, kw_only=True)
class SheetPlan:
    """A sheet in millimetres from its lower left corner.

    Attributes
    ----------
    width, height : float
        True size. [mm]
    planned : tuple of three float
        Width, height and height of the origin line as they were meant. [mm]
    cut : array (4, 2)
        By how much each corner (lower left, lower right, upper right, upper left) missed its place. [mm]
    layer : str
        ``paper``, ``silica`` or ``fluorescent``.
    mixture : Mixture
    lanes, spots
        Left to right.
    origin : Line or None
        As it was drawn.
    front_kind : str
        ``pencil``, ``wet``, ``tide`` or ``none``.
    front_x, front_y, liquid_y : array (K,)
        The front as it is seen, and where the liquid was.
    wet : float
        Optical density of the wet part below the front; 0 for a dry sheet.
    wet_soft : float
        Half-width of its edge. [mm]
    marks : tuple of Mark
        Pencil, stains and the like.
    mark : array (3, 2) or None
        Discs of the orientation mark.
    """

    width: float
    height: float
    planned: tuple[float, float, float]
    cut: Floats
    layer: str
    mixture: Mixture
    lanes: tuple[Lane, ...]
    spots: tuple[Spot, ...]
    origin: Line | None
    front_kind: str
    front_x: Floats
    front_y: Floats
    liquid_y: Floats
    wet: float
    wet_soft: float
    marks: tuple[Mark, ...]
    mark: Floats | None

    def liquid(self, x: float) -> float:
        """Where the liquid stood at x. [mm]"""
        return float(np.interp(x, self.front_x, self.liquid_y))

    def front(self, x: float) -> float | None:
        """Where the front is seen at x, None where it is not. [mm]"""
        return None if self.front_kind == "none" else float(np.interp(x, self.front_x, self.front_y))


def draw_sheet(draw: Draw) -> SheetPlan:
    """Draw everything about one sheet."""
    layer = draw.choice("layer", {"paper": 0.64, "silica": 0.3, "fluorescent": 0.0 if draw.kind == "scan" else 0.06})
    size = draw.choice("size", SIZES[layer])
    planned_origin = draw.choice("origin_height", [10, 12, 15, 15, 20] if layer == "paper" else [10, 10, 12, 15])
    slip = draw.rng("cut").normal(0, 0.25, 6)
    width, height = size[0] + slip[0], size[1] + slip[1]
    cut = draw.rng("cut corners").normal(0, 0.15, (4, 2))
    mixture = draw_mixture(draw, layer)
    origin = _origin(draw, width, planned_origin)
    front_x, liquid_y = _liquid(draw, width, height, planned_origin)
    kinds = {"pencil": 0.6, "wet": 0.25, "tide": 0.15} if layer == "paper" else {"pencil": 0.75, "wet": 0.25}
    if draw.kind == "scan":
        kinds.pop("wet")
    front_kind = draw.choice("front", kinds if layer != "fluorescent" else ["pencil"])
    front_y = _pencil_course(draw, front_x, liquid_y) if front_kind == "pencil" else liquid_y
    lanes = _lanes(draw, width, origin, planned_origin)
    spots = draw_spots(draw, lanes, front_x, liquid_y, mixture, layer)
    marks: list[Mark] = []
    lined = draw.chance("origin_line", 1.0)
    if lined:
        marks += [origin, *_ticks(draw, lanes, origin)]
    marks += _front_marks(draw, front_kind, front_x, front_y, layer)
    marks += _notes(draw, lanes, width, height, planned_origin, float(liquid_y.max()))
    marks += _dirt(draw, width, height, layer)
    if draw.chance("outlined", 0.05 if layer == "paper" else 0.12):
        marks += _outlines(draw, spots)
    mark = _orientation_mark(draw, lanes, planned_origin)
    marks += [Disc(x=x, y=y, radius=0.8) for x, y in (mark if mark is not None else ())]
    return SheetPlan(
        width=width,
        height=height,
        planned=(float(size[0]), float(size[1]), float(planned_origin)),
        cut=cut,
        layer=layer,
        mixture=mixture,
        lanes=lanes,
        spots=spots,
        origin=origin if lined else None,
        front_kind=front_kind,
        front_x=front_x,
        front_y=front_y,
        liquid_y=liquid_y,
        wet=draw.uniform("wet_od", 0.03, 0.075) * (1.6 if layer == "silica" else 1.0) if front_kind == "wet" else 0.0,
        wet_soft=draw.uniform("wet_soft", 0.2, 0.6),
        marks=tuple(marks),
        mark=mark,
    )


def _origin(draw: Draw, width: float, planned: float) -> Line:
    rng = draw.rng("origin")
    x = np.linspace(rng.uniform(0.3, 3.0), width - rng.uniform(0.3, 3.0), 160)
    height = planned + draw.normal("origin_offset", 0, 0.35)
    tilt = np.radians(draw.normal("origin_tilt", 0, 0.4))
    wobble = draw.uniform("origin_wobble", 0.01, 0.06) * np.sin(x / rng.uniform(5, 14) + rng.uniform(0, 6))
    return Line(
        x=x,
        y=height + np.tan(tilt) * (x - width / 2) + wobble,
        sigma=draw.uniform("pencil_sigma", 0.11, 0.2),
        od=draw.uniform("pencil_od", 0.14, 0.4),
        rough=draw.uniform("pencil_rough", 0.15, 0.5),
    )


def _liquid(draw: Draw, width: float, height: float, origin: float) -> tuple[Floats, Floats]:
    """Where the liquid stood when the sheet was taken out."""
    rng = draw.rng("front course")
    x = np.linspace(-1.0, width + 1.0, 400)
    room = height - origin
    stop = origin + room * draw.uniform("run_share", 0.66, 0.9)
    hard = draw.kind == "hard"
    tilt = np.radians(draw.normal("front_tilt", 0, 1.4 if hard else 0.8))
    sag = draw.normal("front_sag", 0, 0.9 if hard else 0.5) * min(1.0, width / 80)
    wave = draw.uniform("front_wave", 0.0, 0.45 if hard else 0.2)
    y = stop + np.tan(tilt) * (x - width / 2) + sag * (2 * x / width - 1) ** 2
    for length in (0.9 * width, 0.45 * width, 14.0):
        y = y + wave * 0.6 * np.sin(2 * np.pi * x / length + rng.uniform(0, 6)) * rng.uniform(0.4, 1)
    y = y + draw.uniform("front_edges", 0.0, 0.9) * (np.exp(-x / 3.5) + np.exp(-(width - x) / 3.5))
    return x, np.minimum(y, height - 2.5) if not draw.given("run_off", False) else y


def _pencil_course(draw: Draw, x: Floats, liquid: Floats) -> Floats:
    """Give the course of a pencil line along a front, drawn by hand or with a ruler."""
    rng = draw.rng("front pencil")
    late = draw.uniform("front_late", -0.35, 0.1)
    if rng.random() < 0.2:
        ruler = np.polynomial.Polynomial.fit(x, liquid, 1)
        return np.asarray(ruler(x) + late)
    knots = np.linspace(x[0], x[-1], int(rng.integers(7, 12)))
    from scipy.interpolate import CubicSpline

    at = np.interp(knots, x, liquid) + rng.normal(0, 0.1, len(knots))
    return np.asarray(CubicSpline(knots, at)(x) + late)


def _lanes(draw: Draw, width: float, origin: Line, planned: float) -> tuple[Lane, ...]:
    margin = 8.0 if width < 70 else 12.0
    most = int(min(8, 1 + (width - 2 * margin) // 9.0))
    count = draw.whole("lanes", min(most, 1 if draw.rng("one lane").random() < 0.06 else 2), most)
    rng = draw.rng("lane places")
    at = np.linspace(margin, width - margin, count) if count > 1 else np.array([width / 2])
    if count > 1 and rng.random() < 0.4:  # not spread over the whole width
        pitch = (at[1] - at[0]) * rng.uniform(0.85, 1.0)
        at = width / 2 + pitch * (np.arange(count) - (count - 1) / 2)
    at = at + rng.normal(0, 0.35, count)
    names = LETTERS if draw.rng("lane names").random() < 0.5 else "12345678"
    lean = np.radians(draw.normal("lane_lean", 0, 0.6))
    off = draw.uniform("drop_off", 0.1, 0.25)
    return tuple(
        Lane(
            name=names[k],
            x=float(x),
            drop=float(np.interp(x, origin.x, origin.y) + np.clip(rng.normal(0, off), -0.5, 0.5)),
            lean=float(lean + np.radians(rng.normal(0, 0.25))),
        )
        for k, x in enumerate(at)
    )


def _ticks(draw: Draw, lanes: tuple[Lane, ...], origin: Line) -> list[Mark]:
    if not draw.chance("ticks", 0.3):
        return []
    rng = draw.rng("ticks at")
    made: list[Mark] = []
    for lane in lanes:
        y, x = float(np.interp(lane.x, origin.x, origin.y)), lane.x + rng.normal(0, 0.25)
        ends = np.array([[x + rng.normal(0, 0.1), y - rng.uniform(0.7, 1.4)], [x, y + rng.uniform(0.5, 1.2)]])
        made.append(Stroke(points=ends, sigma=0.13, od=origin.od * 0.9))
    return made


def _front_marks(draw: Draw, kind: str, x: Floats, y: Floats, layer: str) -> list[Mark]:
    if kind == "pencil":
        rng = draw.rng("front line")
        inside = (x > rng.uniform(0.5, 3)) & (x < x[-1] - 1 - rng.uniform(0.5, 3))
        line = Line(
            x=x[inside],
            y=y[inside],
            sigma=draw.uniform("front_sigma", 0.11, 0.2),
            od=draw.uniform("front_od", 0.12, 0.38),
            rough=draw.uniform("front_rough", 0.15, 0.5),
        )
        return [line]
    if kind == "tide":
        ragged = draw.rng("tide ragged").normal(0, draw.uniform("tide_ragged", 0.05, 0.2), len(x))
        line = Line(
            x=x,
            y=y + np.convolve(ragged, np.ones(4) / 4, mode="same"),
            sigma=draw.uniform("tide_sigma", 0.18, 0.4),
            od=draw.uniform("tide_od", 0.028, 0.075),
            rough=0.25,
            colour=BROWN,
            behind=draw.uniform("tide_behind", 0.3, 1.3),
        )
        return [line]
    return []


def _notes(draw: Draw, lanes: tuple[Lane, ...], width: float, height: float, origin: float, top: float) -> list[Mark]:
    """Names of the lanes below the origin, and a note above the front."""
    made: list[Mark] = []
    rng, od = draw.rng("notes"), draw.uniform("writing_od", 0.14, 0.34)
    if draw.chance("labels", 0.8):
        size = min(4.2, origin * 0.34)
        for lane in lanes:
            made += write(lane.name, lane.x - 0.3 * size + rng.normal(0, 0.5), origin - 2.2 - size, size, rng, od)
    free = height - top
    if free > 6.5 and draw.chance("note", 0.45):
        size = min(4.0, 0.4 * free)
        text = NOTES[int(rng.integers(len(NOTES)))]
        left = rng.uniform(3, max(3.5, width - 4 - 0.9 * size * len(text)))
        if left + 0.9 * size * len(text) < width - 1:
            made += write(text, left, top + 0.35 * free, size, rng, od)
    return made


def _dirt(draw: Draw, width: float, height: float, layer: str) -> list[Mark]:
    """Specks, fibres, splashes, stains and finger marks."""
    rng, area = draw.rng("dirt"), width * height / 1e4
    made: list[Mark] = []
    for _ in range(rng.poisson(draw.uniform("specks", 1, 10) * area)):
        size = rng.uniform(0.05, 0.22)
        x, y = rng.uniform(1, width - 1), rng.uniform(1, height - 1)
        made.append(
            Blob(x=x, y=y, a=size, b=size * rng.uniform(0.6, 1), turn=rng.uniform(0, 3), od=rng.uniform(0.1, 0.6))
        )
    for _ in range(rng.poisson(draw.uniform("fibres", 0, 4 if layer == "paper" else 1) * area)):
        start, angle, bend = rng.uniform((2, 2), (width - 2, height - 2)), rng.uniform(0, 6.3), rng.normal(0, 0.25)
        heading = angle + bend * np.arange(9)
        steps = rng.uniform(0.1, 0.45) * np.stack([np.cos(heading), np.sin(heading)], axis=1)
        points = start + np.cumsum(steps, axis=0)
        made.append(Stroke(points=points, sigma=0.04, od=rng.uniform(0.05, 0.35), rough=0.2))
    for _ in range(rng.poisson(draw.uniform("stains", 0, 0.5))):
        a = rng.uniform(2, 9)
        made.append(
            Blob(
                x=rng.uniform(0, width),
                y=rng.uniform(0, height),
                a=a,
                b=a * rng.uniform(0.5, 1),
                turn=rng.uniform(0, 3),
                od=rng.uniform(0.004, 0.018),
                soft=rng.uniform(0.4, 1.0),
                rim=rng.uniform(0, 0.5),
                colour=BROWN,
            )
        )
    return made


def _outlines(draw: Draw, spots: tuple[Spot, ...]) -> list[Mark]:
    rng, made = draw.rng("outlines"), []
    for spot in spots:
        if spot.state == "measured" and spot.shape in ("round", "tail") and rng.random() < 0.8:
            a, b = 2.1 * spot.sigma_x + rng.uniform(0, 0.4), 2.1 * spot.sigma + 0.5 * abs(spot.tau) + 0.3
            made += outline(spot.x, spot.y - 0.5 * spot.tau, a, b, rng, rng.uniform(0.12, 0.3))
    return list(made)


def _orientation_mark(draw: Draw, lanes: tuple[Lane, ...], origin: float) -> Floats | None:
    """Three of the four corners of a 4 mm square in the sheet's lower left corner; the one inside is missing."""
    if not draw.chance("orientation_mark", 0.35):
        return None
    return np.array([[3.0, 3.0], [7.0, 3.0], [3.0, 7.0]])
