"""Lays desk and sheets on a canvas: what each pixel's place gives back of the light, before light and camera."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.colour import Floats
from simulator.desk import Desk
from simulator.draw import Draw
from simulator.marks import Mark, Print
from simulator.sheet import SheetPlan
from simulator.spots import Spot
from simulator.texture import Grain
from simulator.views import Places, Seen, View

Canvas = NDArray[np.float32]
STRIP = 96  # rows painted at a time
WET_GAIN = 1.3  # of the load of a dye: a wet layer scatters less
LN10 = float(np.log(10))
GLOW = (0.25, 0.9, 0.36)  # of a fluorescent plate


@dataclass(frozen=True, kw_only=True)
class Outline:
    """How the edges of a sheet run: offsets from a true rectangle, each on 300 points. [mm]"""

    left: Floats
    right: Floats
    low: Floats
    high: Floats
    torn: tuple[float, float] | None = None

    def distance(self, x: Floats, y: Floats, width: float, height: float) -> Floats:
        """Distance from the nearest edge, positive inside. [mm]"""
        along, across = np.linspace(0, height, 300), np.linspace(0, width, 300)
        d = np.minimum(x - np.interp(y, along, self.left), width + np.interp(y, along, self.right) - x)
        d = np.minimum(d, y - np.interp(x, across, self.low))
        d = np.minimum(d, height + np.interp(x, across, self.high) - y)
        if self.torn:
            reach, slope = self.torn
            ragged = 0.5 * np.sin(2.3 * y) + 0.3 * np.sin(5.1 * y + 1) + 0.2 * np.sin(11 * x)
            d = np.minimum(d, (x + slope * (height - y) - reach + ragged) / np.hypot(1, slope))
        return np.asarray(d)


def draw_outline(draw: Draw, plan: SheetPlan) -> Outline:
    """Draw how a sheet was cut; a plate's edge is chipped."""
    rng = draw.rng("outline")
    t = np.linspace(0, 1, 300)
    cut, plate = plan.cut, plan.layer != "paper"
    ends = {"left": (cut[0, 0], cut[3, 0]), "right": (cut[1, 0], cut[2, 0])}
    ends |= {"low": (cut[0, 1], cut[1, 1]), "high": (cut[3, 1], cut[2, 1])}
    made = {}
    for side, (a, b) in ends.items():
        course = a + (b - a) * t
        for _ in range(2):
            course = course + rng.uniform(0, 0.05) * np.sin(2 * np.pi * t * rng.uniform(1, 5) + rng.uniform(0, 6))
        if plate:
            for _ in range(rng.poisson(3)):
                depth, at, wide = rng.uniform(0.1, 0.5), rng.uniform(0, 1), rng.uniform(0.003, 0.012)
                bite = depth * np.exp(-0.5 * ((t - at) / wide) ** 2)
                course = course + (bite if side in ("left", "low") else -bite)
        made[side] = course
    torn = (draw.given("torn", 0.0) * plan.width, 1.0) if draw.given("torn", 0.0) else None
    return Outline(**made, torn=torn)


@dataclass(frozen=True, kw_only=True)
class Job:
    """A sheet ready to be painted."""

    plan: SheetPlan
    seen: Seen
    grain: Grain
    outline: Outline
    slant: tuple[float, float]
    shadow: tuple[float, float, float, float]
    """Of the sheet on the desk: shift across and along [mm], softness [mm], depth."""
    ghost: Print | None = None
    """What shows through a wet sheet."""
    show: float = 0.0
    """Share of the light that comes from below."""


def lay_desk(canvas: Canvas, desk: Desk, view: View) -> None:
    """Fill a canvas with the desk."""
    rows, columns = canvas.shape[:2]
    step = 2 if rows * columns > 5e6 else 1  # nobody measures the desk
    places = Places(view.desk, slice(0, rows), slice(0, columns), step)
    for start in range(0, rows, STRIP):
        stop = min(rows, start + STRIP)
        x, y = places.strip(start, stop)
        made = desk.reflectance(x, y)
        if step > 1:
            made = made.repeat(step, axis=0)[: stop - start].repeat(step, axis=1)[:, :columns]
        canvas[start:stop] = made


def lay_sheet(canvas: Canvas, job: Job) -> None:
    """Lay a sheet on a canvas, with its shadow on what lies there."""
    plan, seen = job.plan, job.seen
    rows, columns = seen.box(-4, plan.width + 4, -4, plan.height + 4)
    if rows.stop <= rows.start or columns.stop <= columns.start:
        return
    places = Places(lambda column, row: _lit(job, *seen.sheet(column, row)), rows, columns)
    x, y, _ = places.strip((rows.start + rows.stop) // 2, (rows.start + rows.stop) // 2 + 1)
    pixel = float(np.hypot(np.diff(x[0]).mean(), np.diff(y[0]).mean()))
    boxes = [seen.box(*mark.box) for mark in plan.marks]
    spot_boxes = [seen.box(*spot.box) for spot in plan.spots]
    for start in range(rows.start, rows.stop, STRIP):
        stop = min(rows.stop, start + STRIP)
        x, y, shade = places.strip(start, stop)
        if seen.surface.crease:  # the spline is too smooth for a fold
            shade = _lit(job, x, y)[2]
        block = canvas[start:stop, columns]
        inside = job.outline.distance(x, y, plan.width, plan.height)
        cover = np.clip(0.5 + inside / (1.1 * pixel), 0, 1).astype(np.float32)
        block *= (1 - _shadow(job, x, y))[..., None]
        strip = Strip(job, x, y, slice(start, stop), columns, pixel)
        strip.blank()
        for mark, box in zip(plan.marks, boxes, strict=True):
            strip.add_mark(mark, box)
        strip.add_spots(plan.spots, spot_boxes)
        block += cover[..., None] * (strip.reflectance() * shade[..., None].astype(np.float32) - block)


def _lit(job: Job, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
    """Add to places the light that they get for their slope, relative to level ones."""
    along_x, along_y = job.seen.surface.slopes(x, y)
    return x, y, 1 + job.slant[0] * along_x + job.slant[1] * along_y


def _shadow(job: Job, x: Floats, y: Floats) -> NDArray[np.float32]:
    across, along, soft, depth = job.shadow
    u, v = x - across, y - along
    if job.outline.torn:
        inside = job.outline.distance(u, v, job.plan.width, job.plan.height)
    else:
        inside = np.minimum(np.minimum(u, job.plan.width - u), np.minimum(v, job.plan.height - v))
    return np.asarray(depth * 0.5 * (1 + np.tanh(inside / soft)), dtype=np.float32)


class Strip:
    """Optical density of some rows of a sheet, built up part by part."""

    def __init__(self, job: Job, x: Floats, y: Floats, rows: slice, columns: slice, pixel: float) -> None:
        self.job, self.x, self.y, self.rows, self.columns, self.pixel = job, x, y, rows, columns, pixel
        self.neutral = job.grain.neutral.at(x, y)
        self.density = np.empty((*x.shape, 3), dtype=np.float32)

    def blank(self) -> None:
        """Unevenness of the layer, and the wet part."""
        grain, plan = self.job.grain, self.job.plan
        self.density[...] = self.neutral[..., None]
        self.density[..., 0] += grain.hue[0].at(self.x, self.y)
        self.density[..., 2] += grain.hue[1].at(self.x, self.y)
        if plan.wet:
            self.density += (plan.wet * self._wet()[..., None] * np.array([0.95, 1.0, 1.12])).astype(np.float32)
        crease = self.job.seen.surface.crease
        if crease:
            off = crease.distance(self.x, self.y)
            ridge = np.exp(-0.5 * ((off - 0.18) / 0.2) ** 2) - 0.7 * np.exp(-0.5 * ((off + 0.18) / 0.2) ** 2)
            worn = 0.03 + 0.05 * min(crease.height, 1.5)
            self.density += (worn * ridge * (1 + 0.5 * self.neutral / grain.tooth))[..., None].astype(np.float32)

    def _wet(self) -> Floats:
        plan, grain = self.job.plan, self.job.grain
        front = np.interp(self.x, plan.front_x, plan.front_y)
        off = self.y - front - 1.5 * grain.shift[1].at(self.x, self.y)
        return np.asarray(0.5 * (1 - np.tanh(off / plan.wet_soft)))

    def _common(self, box: tuple[slice, slice]) -> tuple[slice, slice] | None:
        """Part of this strip that lies in a box of the picture."""
        top, bottom = max(self.rows.start, box[0].start), min(self.rows.stop, box[0].stop)
        left, right = max(self.columns.start, box[1].start), min(self.columns.stop, box[1].stop)
        if top >= bottom or left >= right:
            return None
        return (
            slice(top - self.rows.start, bottom - self.rows.start),
            slice(left - self.columns.start, right - self.columns.start),
        )

    def add_mark(self, mark: Mark, box: tuple[slice, slice]) -> None:
        """Add pencil, print or dirt."""
        part = self._common(box)
        if part is None:
            return
        tooth = self.neutral[part] / self.job.grain.tooth
        made = mark.density(self.x[part], self.y[part], self.pixel, tooth)
        self.density[part] += (made[..., None] * np.array(mark.colour)).astype(np.float32)

    def add_spots(self, spots: tuple[Spot, ...], boxes: list[tuple[slice, slice]]) -> None:
        """Add dye, summing the loads of spots that lie over one another before light is asked."""
        here = [(spot, part) for spot, box in zip(spots, boxes, strict=True) if (part := self._common(box))]
        here.sort(key=lambda pair: pair[1][1].start)
        while here:
            group, end = [here.pop(0)], 0
            end = group[0][1][1].stop
            while here and here[0][1][1].start < end:
                group.append(here.pop(0))
                end = max(end, group[-1][1][1].stop)
            self._add_group(group, slice(group[0][1][1].start, end))

    def _add_group(self, group: list[tuple[Spot, tuple[slice, slice]]], columns: slice) -> None:
        rows = slice(min(part[0].start for _, part in group), max(part[0].stop for _, part in group))
        x, y = self.x[rows, columns], self.y[rows, columns]
        grain, plan = self.job.grain, self.job.plan
        u, v = x - grain.shift[0].at(x, y), y - grain.shift[1].at(x, y)
        taken = 1 + grain.mottle * np.clip(self.neutral[rows, columns] / grain.tooth, -3, 3)
        if plan.wet:
            taken = taken * (1 + (WET_GAIN - 1) * self._wet()[rows, columns])
        amounts = []
        for spot, _ in group:
            amount = spot.amount(u, v) * taken
            if spot.cut:
                over = y - np.interp(x, plan.front_x, plan.liquid_y)
                amount = amount * 0.5 * (1 - np.tanh(over / 0.15))
            amounts.append(amount)
        touched = np.sum(amounts, axis=0) > 2e-5
        load = np.sum(
            [a[touched][:, None] * spot.dye.absorptivity for a, (spot, _) in zip(amounts, group, strict=True)], axis=0
        )
        part = self.density[rows, columns]
        part[touched] += plan.mixture.density(load).astype(np.float32)

    def reflectance(self) -> NDArray[np.float32]:
        """Light given back, as a share of what falls there."""
        plan, job = self.job.plan, self.job
        if plan.layer == "fluorescent":
            blank = np.array(GLOW, dtype=np.float32)
        else:
            blank = (plan.mixture.paper @ plan.mixture.sensor.T).astype(np.float32)
        made = blank * np.exp(np.float32(-LN10) * self.density)
        if job.ghost is not None:
            below = job.ghost.density(self.x, self.y, self.pixel, self.neutral)
            share = job.show * (0.3 + 0.7 * self._wet()) if plan.wet else job.show  # dry paper shows less
            made *= (1 - share * (1 - 10.0**-below))[..., None].astype(np.float32)
        return np.asarray(made)
