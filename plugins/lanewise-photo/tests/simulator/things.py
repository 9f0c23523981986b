"""Things that lie on sheet or desk and do not belong there, and sheets that went wrong before the picture was taken."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simulator.colour import Floats
from simulator.draw import Draw
from simulator.marks import Line, Print
from simulator.sheet import SheetPlan
from simulator.surface import Surface
from simulator.views import Places, Seen, View
from simulator.writing import printed, sentences

Canvas = NDArray[np.float32]
INK = (1.0, 0.55, 0.2)  # of a blue pen: density in red, green and blue


@dataclass(frozen=True)
class Cover:
    """Part of the sheet that cannot be seen: within a distance of a straight course. [mm]"""

    start: tuple[float, float]
    end: tuple[float, float]
    radius: float

    def distance(self, x: Floats, y: Floats) -> Floats:
        """Distance from its middle line. [mm]"""
        dx, dy = self.end[0] - self.start[0], self.end[1] - self.start[1]
        along = ((x - self.start[0]) * dx + (y - self.start[1]) * dy) / max(dx * dx + dy * dy, 1e-9)
        along = np.clip(along, 0, 1)
        return np.asarray(np.hypot(x - self.start[0] - along * dx, y - self.start[1] - along * dy))


def altered(draw: Draw, plan: SheetPlan) -> SheetPlan:
    """Give a sheet on which something went wrong, where that was asked for."""
    if draw.given("page", False):
        plan = _page(draw, plan)
    if draw.given("ruled", False):
        plan = _ruled(draw, plan)
    if draw.given("ink_line", False):
        plan = _inked(draw, plan)
    if draw.given("second_front", False):
        rng = draw.rng("second front")
        low = float(np.min([lane.drop for lane in plan.lanes]))
        y = low + rng.uniform(0.72, 0.9) * (plan.liquid_y - low)
        line = Line(x=plan.front_x, y=y, sigma=0.25, od=rng.uniform(0.04, 0.1), rough=0.3, colour=(0.8, 1.0, 1.3))
        plan = replace(plan, marks=(*plan.marks, line))
    if draw.given("under_front", False) and plan.spots:
        rng = draw.rng("under front")
        made = list(plan.spots)
        first = made[0].lane
        for number in range(len(plan.lanes)):
            top = max((k for k, spot in enumerate(made) if spot.lane == number), key=lambda k: made[k].y, default=None)
            if top is not None and (number == first or rng.random() < 0.5):
                spot = made[top]
                low = plan.front(spot.x) or 0.0
                plain: dict[str, Any] = {"tau": 0.0, "bow": 0.0, "cut": False, "state": "measured", "shape": "round"}
                made[top] = replace(spot, y=low - rng.uniform(0.0, 1.0), sigma=rng.uniform(0.8, 1.4), **plain)
        plan = replace(plan, spots=tuple(made))
    return plan


def _page(draw: Draw, plan: SheetPlan) -> SheetPlan:
    rng = draw.rng("page")
    width = plan.width - 16
    size, gap = rng.uniform(2.6, 4.2), rng.uniform(1.5, 1.9)
    lines = sentences(rng, int((plan.height - 16) / (size * gap)), int(width / size / 0.62))
    text = replace(printed(lines, width, size, 12.0, size * gap), left=8.0, top=plan.height - 8.0)
    return replace(plan, lanes=(), spots=(), marks=(text,), origin=None, front_kind="none", mark=None, wet=0.0)


def _ruled(draw: Draw, plan: SheetPlan) -> SheetPlan:
    rng = draw.rng("ruled")
    pitch, turn = rng.choice([5.0, 8.0]), rng.normal(0, 0.012)
    x = np.linspace(0, plan.width, 60)
    colour = (1.0, 0.55, 0.3) if rng.random() < 0.7 else (1.0, 1.0, 1.0)
    lines = [
        Line(x=x, y=y + turn * x, sigma=0.1, od=float(rng.uniform(0.08, 0.2)), rough=0.2, colour=colour)
        for y in np.arange(rng.uniform(0, pitch), plan.height, pitch)
    ]
    return replace(plan, marks=(*lines, *plan.marks))


def _inked(draw: Draw, plan: SheetPlan) -> SheetPlan:
    """Draw the origin in blue ink: most of it ran with the liquid and left a smear behind."""
    if plan.origin is None:
        return plan
    rng = draw.rng("ink line")
    start = float(plan.origin.y.mean())
    x = plan.front_x
    gone = start + rng.uniform(0.35, 0.8) * (plan.liquid_y - start) + 0.4 * np.sin(x / rng.uniform(2, 6))
    wide, od, behind = rng.uniform(1.0, 2.0), rng.uniform(0.06, 0.2), rng.uniform(4, 14)
    smear = Line(x=x, y=gone, sigma=wide, od=od, rough=0.1, colour=INK, behind=behind)
    left = replace(plan.origin, colour=INK, od=0.35, sigma=0.3)
    others = tuple(mark for mark in plan.marks if mark is not plan.origin)
    return replace(plan, marks=(left, smear, *others), origin=left)


def ghost(draw: Draw, plan: SheetPlan) -> Print | None:
    """Give what lies below a wet sheet: printed text and a table, in print much larger than the sheet's own marks."""
    if not draw.given("show_through", 0.0):
        return None
    rng = draw.rng("ghost")
    size = rng.uniform(3.0, 6.0)
    lines = sentences(rng, int(plan.height / (1.6 * size)), int(plan.width / size / 0.55))
    return replace(printed(lines, plan.width, size, 8.0, 1.6 * size), left=0.0, top=plan.height)


def side_by_side(first: Surface, second: Surface) -> list[Surface]:
    """Lay two sheets beside each other."""
    return [
        replace(first, shift=(-first.width / 2 - 7, 0.0)),
        replace(second, shift=(second.width / 2 + 7, 4.0), turn=second.turn + first.turn),
    ]


def lay_things(draw: Draw, canvas: Canvas, seen: Seen, plan: SheetPlan) -> list[Cover]:
    """Lay a finger on a sheet, or things on a desk without one."""
    covers = []
    if draw.given("finger", False):
        rng = draw.rng("finger")
        side = rng.choice(["low", "right", "left"])
        reach, radius = rng.uniform(9, 20), rng.uniform(6.5, 9)
        if side == "low":
            x = rng.uniform(0.2, 0.8) * plan.width
            cover = Cover((x + rng.normal(0, 20), -75.0), (x, reach - radius), radius)
        else:
            y, edge = rng.uniform(0.15, 0.6) * plan.height, 0.0 if side == "left" else plan.width
            away = -1 if side == "left" else 1
            cover = Cover((edge + away * 75.0, y - 25), (edge - away * (reach - radius), y), radius)
        _solid(canvas, seen, cover, (0.58, 0.36, 0.26), rounded=True)
        covers.append(cover)
    if draw.given("clutter", False):
        rng = draw.rng("clutter")
        for _ in range(int(rng.integers(2, 6))):
            at, way = rng.uniform((0, 0), (plan.width, plan.height)), rng.uniform(0, 6.3)
            long = rng.choice([0.0, rng.uniform(60, 130)])
            end = at + long * np.array([np.cos(way), np.sin(way)])
            colour = [(0.1, 0.12, 0.4), (0.5, 0.05, 0.05), (0.5, 0.36, 0.2), (0.6, 0.58, 0.5), (0.05, 0.05, 0.05)]
            shade = colour[int(rng.integers(len(colour)))]
            radius = rng.uniform(9, 13) if long == 0 else rng.uniform(3.5, 5)
            _solid(canvas, seen, Cover(tuple(at), tuple(end), radius), shade, rounded=long > 0)
    return covers


def _solid(canvas: Canvas, seen: Seen, cover: Cover, colour: tuple[float, float, float], rounded: bool) -> None:
    """Paint a rounded bar with its shading and a soft shadow beside it."""
    room = cover.radius + 6
    (ax, ay), (bx, by) = cover.start, cover.end
    rows, columns = seen.box(min(ax, bx) - room, max(ax, bx) + room, min(ay, by) - room, max(ay, by) + room)
    if rows.stop <= rows.start or columns.stop <= columns.start:
        return
    x, y = Places(seen.sheet, rows, columns).strip(rows.start, rows.stop)
    pixel = float(np.hypot(np.diff(x[0]).mean(), np.diff(y[0]).mean()))
    away = cover.distance(x, y)
    block = canvas[rows, columns]
    block *= (1 - 0.35 * np.exp(-np.clip(cover.distance(x - 1.5, y + 1.5) - cover.radius, 0, None) / 2.0))[..., None]
    over = np.clip(0.5 + (cover.radius - away) / (1.2 * pixel), 0, 1)[..., None].astype(np.float32)
    shade = np.sqrt(np.clip(1 - (away / (1.05 * cover.radius)) ** 2, 0.05, 1)) if rounded else np.ones_like(away)
    block += over * (np.array(colour) * (0.35 + 0.65 * shade)[..., None] - block)


def add_light(draw: Draw, canvas: Canvas, seen: Seen, plan: SheetPlan) -> list[Cover]:
    """Mirror a lamp on the sheet."""
    if not draw.given("glare", False):
        return []
    rng = draw.rng("glare")
    at = rng.uniform((0.3, 0.3), (0.7, 0.7)) * (plan.width, plan.height)
    size = rng.uniform(0.07, 0.15) * min(plan.width, plan.height) + 3
    rows, columns = seen.box(at[0] - 4 * size, at[0] + 4 * size, at[1] - 4 * size, at[1] + 4 * size)
    x, y = Places(seen.sheet, rows, columns).strip(rows.start, rows.stop)
    r = np.hypot((x - at[0]) / size, (y - at[1]) / (0.7 * size))
    shine = rng.uniform(1.0, 2.0) * np.exp(-(r**3)) + 0.1 * np.exp(-r / 1.5)
    canvas[rows, columns] += shine[..., None].astype(np.float32)
    return [Cover(tuple(at), tuple(at), size)]


def frame_shift(draw: Draw, view: View, seen: Seen) -> tuple[float, float]:
    """By how much to move the picture so that its frame cuts the sheet, in pixels."""
    rng = draw.rng("frame cut")
    corners = seen.corners(np.zeros((4, 2)))
    low, high = corners.min(axis=0), corners.max(axis=0)
    share = rng.uniform(0.06, 0.25)
    side = int(rng.integers(4))
    if side == 0:
        return float(low[0] + share * (high[0] - low[0])), 0.0
    if side == 1:
        return float(high[0] - share * (high[0] - low[0]) - view.columns), 0.0
    if side == 2:
        return 0.0, float(low[1] + share * (high[1] - low[1]))
    return 0.0, float(high[1] - share * (high[1] - low[1]) - view.rows)
