"""Makes a picture with known truth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simulator import things
from simulator.colour import Floats
from simulator.desk import Light, draw_desk, draw_light
from simulator.draw import Draw
from simulator.faults import FAULTS
from simulator.files import Pixels, encoded
from simulator.marks import Line
from simulator.paint import WET_GAIN, Job, draw_outline, lay_desk, lay_sheet
from simulator.sensor import Processing, develop, draw_processing, expose
from simulator.sheet import SheetPlan, draw_sheet
from simulator.spots import Measured, Spot, density_along, measure, told_apart
from simulator.surface import draw_surface
from simulator.texture import Grain, draw_grain
from simulator.truth import CHANNELS, LaneTruth, SpotTruth, Truth
from simulator.views import Seen, View, draw_camera, draw_scanner

KINDS = ("scan", "phone", "hard")
FAINTEST = 0.015  # optical density at which a line across the sheet is still seen
NEAR = 1.5  # of a line: a spot nearer than this is censored [mm]


@dataclass(frozen=True)
class Picture:
    """A picture and what is true of it.

    Attributes
    ----------
    image : array of uint8 or uint16, shape (rows, columns, 3)
        Upright, before compression.
    truth : Truth
    """

    image: Pixels
    truth: Truth

    @property
    def format(self) -> str:
        """Format in which such a picture would come: ``jpeg``, ``png`` or ``tiff``."""
        return str(self.truth.file["format"])

    def bytes(self, form: str = "") -> bytes:
        """Give the file, in its natural format unless another is named."""
        return encoded(self.image, form or self.format, self.truth.file)


def make(kind: str, seed: int, **changes: Any) -> Picture:
    """Make a picture.

    Parameters
    ----------
    kind : str
        ``scan``, ``phone`` or ``hard``, or the name of a fault (`simulator.FAULTS`), which is a phone picture
        with something wrong unless ``base`` says otherwise.
    seed : int
        Not below zero. The same kind, seed and changes give the same bytes.
    **changes
        Choices that are given instead of drawn, by the name under which they are drawn: ``megapixels``, ``lanes``,
        ``layer``, ``size``, ``front``, ``mixing``, ``bulge``, ``tilt``, ``quality``, ``orientation``, and many more;
        all other choices stay as they were. A wrong name is a TypeError that lists the right ones.

    Returns
    -------
    Picture

    Examples
    --------
    >>> picture = make("phone", 3, megapixels=0.5, lanes=3)
    >>> picture.truth.layer, len(picture.truth.lanes), picture.image.dtype.name
    ('paper', 3, 'uint8')
    """
    fault = FAULTS.get(kind)
    if fault is None and kind not in KINDS:
        raise ValueError(f"kind: wanted one of {', '.join((*KINDS, *FAULTS))}, given {kind!r}")
    base = changes.pop("base", "phone") if fault else kind
    draw = Draw(base, seed, changes, fault.drawn(seed) if fault else None)
    image, truth = _scene(draw, fault.name if fault else None)
    draw.refuse_unknown()
    if fault:
        image, truth = fault.applied(image, truth, draw)
    return Picture(image, truth)


def _scene(draw: Draw, fault: str | None) -> tuple[Pixels, Truth]:
    """Draw, lay out, light and take one picture."""
    plan, other = _plans(draw)
    scanned = draw.kind == "scan"
    surface = draw_surface(draw, plan.width, plan.height, rigid=plan.layer != "paper")
    surfaces = [surface]
    if other:
        surfaces = things.side_by_side(surface, replace(surface, width=other.width, height=other.height, turn=0.06))
    view: View = draw_scanner(draw, surfaces) if scanned else draw_camera(draw, surfaces)
    if draw.given("frame_cut", False):
        across, down = things.frame_shift(draw, view, Seen(view, surfaces[0]))
        view = replace(view, centre=(view.centre[0] - across, view.centre[1] - down))
    seen = Seen(view, surfaces[0])
    pixels_per_mm = seen.pixels_per_mm
    glows = plan.layer == "fluorescent"
    light = draw_light(draw, view.rows, view.columns, surface, pixels_per_mm, glows)
    desk = draw_desk(draw, 1 / pixels_per_mm, glows)
    canvas = np.empty((view.rows, view.columns, 3), dtype=np.float32)
    lay_desk(canvas, desk, view)
    grain = draw_grain(draw, plan.layer, 1 / pixels_per_mm)
    job = _job(draw, plan, seen, grain, light)
    if draw.given("sheet", True):
        lay_sheet(canvas, job)
    if other:
        lay_sheet(canvas, _job(draw, other, Seen(view, surfaces[1]), grain, light))
    covers = things.lay_things(draw, canvas, seen, plan)
    file = _file(draw, view.rows * view.columns / 1e6)
    settings = draw_processing(draw, pixels_per_mm, view.rows * view.columns / 1e6, file["bits"], glows)
    expose(canvas, light, _level(plan, light), settings)
    covers += things.add_light(draw, canvas, seen, plan)
    image = develop(canvas, settings, draw.rng("sensor noise"))
    truth = _truth(draw, plan, seen, grain, pixels_per_mm, settings, file, fault)
    return image, replace(truth, spots=tuple(_hidden(spot, covers, seen, plan) for spot in truth.spots))


def _hidden(spot: SpotTruth, covers: list[things.Cover], seen: Seen, plan: SheetPlan) -> SpotTruth:
    """Note whether something lies over a spot, or the frame or the sheet leaves it out."""
    at = seen.pixels(np.array([spot.x]), np.array([spot.apex]))[0]
    inside = 0 <= at[0] < seen.view.columns and 0 <= at[1] < seen.view.rows and spot.apex < plan.height - 0.5
    x, y = np.array([spot.x]), np.array([spot.apex])
    over = any(cover.distance(x, y)[0] < cover.radius + spot.sigma for cover in covers)
    return replace(spot, hidden=bool(over or not inside))


def _plans(draw: Draw) -> tuple[SheetPlan, SheetPlan | None]:
    plan = things.altered(draw, draw_sheet(draw))
    if not draw.given("two_sheets", False):
        return plan, None
    second = Draw(draw.kind, draw.seed + 500_000, {"layer": plan.layer, "size": plan.planned[:2]})
    return plan, draw_sheet(second)


def _job(draw: Draw, plan: SheetPlan, seen: Seen, grain: Grain, light: Light) -> Job:
    rng = draw.rng("sheet shadow")
    thick = 0.35 if draw.kind == "scan" else 0.4 + 0.5 * seen.surface.bulge
    deep = draw.uniform("sheet_shadow", 0.12, 0.4)
    return Job(
        plan=plan,
        seen=seen,
        grain=grain,
        outline=draw_outline(draw, plan),
        slant=light.slant,
        shadow=(rng.normal(0, 0.7) * thick, rng.normal(0, 0.7) * thick, thick * rng.uniform(0.3, 0.8), deep),
        ghost=things.ghost(draw, plan),
        show=draw.given("show_through", 0.0),
    )


def _level(plan: SheetPlan, light: Light) -> float:
    """Light from level paper where it is brightest, greenest channel, as the canvas would hold it."""
    blank = 0.9 if plan.layer == "fluorescent" else float((plan.mixture.paper @ plan.mixture.sensor.T)[1])
    return blank * light.brightest


def _file(draw: Draw, megapixels: float) -> dict[str, Any]:
    """Draw how the picture is stored."""
    if draw.kind == "scan":
        form = draw.choice("format", {"png": 0.4, "tiff": 0.3, "jpeg": 0.3})
        bits = 16 if form == "tiff" and draw.chance("sixteen", 0.5) else 8
        low, high, orientation = 85, 95, 1
    else:
        form, bits = draw.choice("format", {"jpeg": 1.0}), 8
        low, high = (85, 95) if draw.kind == "phone" else (50, 80)
        flags = {1: 0.58, 6: 0.24, 3: 0.06, 8: 0.06, 2: 0.02, 4: 0.01, 5: 0.02, 7: 0.01}
        orientation = draw.choice("orientation", flags)
    return {
        "format": form,
        "bits": draw.given("bits", bits),
        "quality": draw.whole("quality", low, high),
        "subsampling": draw.choice("subsampling", {2: 0.8, 1: 0.1, 0: 0.1}),
        "orientation": orientation,
        "focal_35": draw.choice("focal_35", [24, 26, 26, 27, 28, 52]) if draw.kind != "scan" else None,
        "dpi": draw.choice("dpi", [150, 200, 200, 300, 300]) if draw.kind == "scan" else None,
        "megapixels": round(megapixels, 3),
    }


def _truth(
    draw: Draw,
    plan: SheetPlan,
    seen: Seen,
    grain: Grain,
    pixels_per_mm: float,
    settings: Processing,
    file: dict[str, Any],
    fault: str | None,
) -> Truth:
    grid_x, grid_y = np.linspace(-5, plan.width + 5, 35), np.linspace(-5, plan.height + 5, 35)
    lanes = tuple(
        LaneTruth(
            name=lane.name,
            x=lane.x,
            origin=float(np.interp(lane.x, plan.origin.x, plan.origin.y)) if plan.origin else None,
            front=plan.front(lane.x),
        )
        for lane in plan.lanes
    )
    known = plan.front_kind != "none"
    inside = (plan.front_x >= 0) & (plan.front_x <= plan.width) & known
    file = {**file, "white": settings.white, "electrons": settings.electrons, "blur": settings.blur}
    return Truth(
        kind=draw.kind,
        seed=draw.seed,
        fault=fault,
        readable=_visible(plan, settings.blur / pixels_per_mm),
        layer=plan.layer,
        width=plan.width,
        height=plan.height,
        planned_width=plan.planned[0],
        planned_height=plan.planned[1],
        planned_origin=plan.planned[2],
        corners=seen.corners(plan.cut),
        grid_x=grid_x,
        grid_y=grid_y,
        grid_pixels=seen.pixels(*np.meshgrid(grid_x, grid_y)),
        pixels_per_mm=pixels_per_mm,
        front_x=plan.front_x[inside],
        front_y=plan.front_y[inside],
        front_kind=plan.front_kind,
        lanes=lanes,
        spots=_spot_truths(plan, grain, lanes),
        mark=plan.mark,
        bulge=seen.surface.bulge,
        mixing=plan.mixture.model,
        file=file,
    )


def _visible(plan: SheetPlan, blur: float) -> bool:
    """Whether a person sees the front: a tide line that blur [mm] leaves too little of is lost."""
    lines = [mark for mark in plan.marks if isinstance(mark, Line) and mark.behind]
    return plan.front_kind != "tide" or any(one.od * one.sigma / np.hypot(one.sigma, blur) > FAINTEST for one in lines)


def _spot_truths(plan: SheetPlan, grain: Grain, lanes: tuple[LaneTruth, ...]) -> tuple[SpotTruth, ...]:
    made: list[SpotTruth] = []
    step = 0.1
    y = np.arange(-5, plan.height + 5, step)
    for number, lane in enumerate(lanes):
        stronger = WET_GAIN if plan.wet else 1.0
        spots = [replace(spot, load=spot.load * stronger) for spot in plan.spots if spot.lane == number]
        liquid, drop = plan.liquid(lane.x), plan.lanes[number].drop
        found: list[Measured] = []
        alone: list[Floats] = []
        for spot in spots:
            shift = _moved(spot, grain)
            limit = plan.liquid(spot.x) if spot.cut else np.inf
            found.append(measure(spot, plan.mixture, shift, limit))
            alone.append(density_along(spot, plan.mixture, y, shift) * (y <= limit)[:, None])
        tops = [int(np.clip(round((one.apex + 5) / step), 0, len(y) - 1)) for one in found]
        apart = told_apart(alone, tops, [spot.sigma for spot in spots], step)
        for k, (spot, one) in enumerate(zip(spots, found, strict=True)):
            own = _half_widths(one)
            near = [other for j, other in enumerate(found) if j != k]
            lines = [line for line in (lane.origin, lane.front) if line is not None]
            rf = None
            if lane.origin is not None and lane.front is not None:
                rf = (one.apex - lane.origin) / (lane.front - lane.origin)
            made.append(
                SpotTruth(
                    lane=number,
                    rf=rf,
                    rf_dye=(one.apex - drop) / (liquid - drop),
                    x=spot.x,
                    apex=one.apex,
                    trailing=one.trailing,
                    leading=one.leading,
                    centroid=one.centroid,
                    sigma=spot.sigma,
                    tau=spot.tau,
                    sigma_x=spot.sigma_x,
                    od=one.od,
                    channel=CHANNELS[one.channel],
                    dye=spot.dye.name,
                    colour="grey" if plan.layer == "fluorescent" else spot.dye.colour,
                    lab=one.lab,
                    amount=round(one.amount / stronger, 4),
                    state=spot.state,
                    shape=spot.shape,
                    alone=apart[k],
                    near_end=any(abs(one.apex - line) < NEAR for line in lines),
                    overlapped=any(abs(other.apex - one.apex) < own + _half_widths(other) for other in near),
                )
            )
    return tuple(made)


def _moved(spot: Spot, grain: Grain) -> tuple[float, float]:
    """By how much the unevenness of the layer moved a spot as a whole, across and along. [mm]"""
    u, v = np.meshgrid(np.linspace(-1.5, 1.5, 13), np.linspace(-1.5, 1.5, 13))
    x, y = spot.x + u * spot.sigma_x, spot.y + v * spot.sigma
    weights = spot.amount(x, y)
    across, along = (float((tile.at(x, y) * weights).sum() / weights.sum()) for tile in grain.shift)
    return across, along


def _half_widths(one: Measured) -> float:
    return (one.leading - one.trailing) / 2
