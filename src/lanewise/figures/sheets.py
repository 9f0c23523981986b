"""The sheet to print, true to scale: outline, lines, lanes, scales, check bar and orientation mark."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import pairwise
from typing import Any

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure as Drawing
from matplotlib.patches import Circle, Patch, Polygon, Rectangle

from lanewise.document import Figure
from lanewise.figures.lettering import line_height, printable
from lanewise.figures.look import INK, PENCIL, SMALL, TEXT, TITLE, add_area, as_document_figure, plain_settings, write
from lanewise.figures.sheet_layout import (
    BAR,
    BAR_AT,
    BAR_END,
    BELOW,
    GAP,
    KEY_ROW,
    KEY_SYMBOL,
    MARGIN,
    MARK_CENTRES,
    MARK_ROOM,
    MARK_SIZE,
    TICKS,
    Kind,
    LineLabel,
    Page,
    SheetLayout,
    label_fits,
    lay_out_sheet,
    way_words,
)
from lanewise.figures.words import millimetres
from lanewise.planning.checking import counted_lanes
from lanewise.planning.plans import Plan, PlannedLane

POINTER = (1.0, 3.5)  # from the edge of the sheet, where a pointer begins and ends
DASHES: dict[str, Any] = {"origin": "solid", "front-target": (0, (6, 2)), "liquid": (0, (4, 1.5, 1, 1.5))}
DOTS = (0, (1, 1.5))
FINE, LINE, HEAVY = 0.3, 0.7, 1.1  # pt
LANE = "#999999"


def sheet_figure(plan: Plan, page: Page = "A4", kind: Kind = "guide") -> Figure:
    """Draw the sheet of a plan for printing, true to scale.

    Parameters
    ----------
    plan : Plan
        From `lanewise.plan`.
    page : {"A4", "Letter", "A3"}
        Paper of the printer; it stands where the sheet fits so, else it lies.
    kind : {"guide", "outline"}
        ``guide`` has all lines across the sheet, to be laid under paper that light shines through; ``outline`` has
        them as pointers round the sheet, for a plate that hides what lies under it.

    Returns
    -------
    Figure
        As large as the page; ``draw("pdf")`` and ``draw("svg")`` give its file, fonts and all, with lines where the
        plan says to within the rounding of the file, far below 0.01 mm.

    Raises
    ------
    PlanError
        If the sheet does not fit the page at full size: it is not scaled and not parted over several pages. The text
        gives the largest that fits, and the paper on which this one does.

    Notes
    -----
    Roles of lanes have shapes, lines have dashes and names: nothing depends on colour. A scale in millimetres runs
    along both sides. The check bar lies along the run, where lengths matter, and says how true the printer is
    (`lanewise.scale_of_print`). Three discs of 2 mm at 3 and 7 mm from the sides mark the lower left corner of the
    sheet on the page; a sheet narrower or lower than 24 mm goes without.

    Examples
    --------
    >>> from lanewise.planning.plans import plan
    >>> figure = sheet_figure(plan(["blue pen", "black pen"], ["dye A"], width=80, height=100), page="Letter")
    >>> figure.width, figure.height, figure.draw("pdf")[:5]
    (215.9, 279.4, b'%PDF-')
    >>> figure.description[1]
    'Origin line at 15 mm, front target at 90 mm, liquid at 10 mm above the lower edge.'
    """
    with plain_settings():
        layout = lay_out_sheet(plan, page, kind)
    caption = f"Sheet to print for plate {plan.wanted.plate}, true to scale."
    size = (layout.width, layout.height)
    return as_document_figure("sheet", caption, _describe(plan), size, partial(paint_sheet, layout=layout))


def _describe(plan: Plan) -> tuple[str, ...]:
    """Say what the picture shows: the sheet, its lines, then the lanes from left to right."""
    wanted, levels = plan.wanted, plan.levels
    size = f"{millimetres(wanted.width)} mm wide and {millimetres(wanted.height)} mm high"
    sentences = [
        f"Sheet of plate {wanted.plate}, {size}, {way_words(plan)}, with {counted_lanes(len(plan.lanes))}.",
        f"Origin line at {millimetres(levels.origin)} mm, front target at {millimetres(levels.front)} mm, liquid at "
        f"{millimetres(levels.depth)} mm above the lower edge.",
    ]
    if plan.folds:
        places = ", ".join(millimetres(x) for x in plan.folds)
        sentences.append(f"{'Fold' if len(plan.folds) == 1 else 'Folds'} at {places} mm from the left side.")
    for lane in plan.lanes:
        role = f" ({lane.role})" if lane.role == "standard" else ""
        sentences.append(f"Lane {lane.label} at {millimetres(lane.x)} mm from the left side: {lane.sample}{role}.")
    sentences.append("A scale in millimetres along both sides; at the left a check bar of 100 mm.")
    return tuple(sentences)


def paint_sheet(figure: Drawing, layout: SheetLayout) -> None:
    """Draw the whole page on an empty figure of the layout's size."""
    _paint_texts(add_area(figure, 0, 0, layout.width, layout.height), layout)
    page = add_area(figure, 0, 0, layout.width, layout.height)
    page.set_xlim(-layout.left, layout.width - layout.left)  # millimetres of the sheet
    page.set_ylim(-layout.bottom, layout.height - layout.bottom)
    wanted = layout.plan.wanted
    outline = Rectangle((0, 0), wanted.width, wanted.height, fill=False, edgecolor=INK, linewidth=LINE)
    outline.set_gid("outline")
    page.add_patch(outline)
    _paint_scales(page, wanted.width, wanted.height)
    _paint_bar(page)
    for line in layout.lines:
        _paint_line(page, layout, line)
    for number, x in enumerate(layout.plan.folds, start=1):
        _paint_fold(page, layout, x, number)
    _paint_lanes(page, layout)
    if layout.marked:
        for number, (x, y) in enumerate(MARK_CENTRES, start=1):
            _shape(page, Circle((x, y), MARK_SIZE / 2, facecolor="black", edgecolor="none"), f"mark-{number}")


def _stroke(axes: Axes, ends: Sequence[tuple[float, float]], name: str, **how: Any) -> None:
    """Draw one straight line that ends exactly where it is told to."""
    settings: dict[str, Any] = {"color": PENCIL, "linewidth": LINE} | how
    xs, ys = zip(*ends, strict=True)
    axes.plot(xs, ys, solid_capstyle="butt", dash_capstyle="butt", gid=name, **settings)


def _shape(axes: Axes, patch: Patch, name: str) -> None:
    patch.set_gid(name)
    axes.add_patch(patch)


def _paint_scales(axes: Axes, width: float, height: float) -> None:
    """Draw a scale in millimetres along both sides, 0 at the lower edge."""
    for name, edge, way in (("scale-left", -GAP, -1.0), ("scale-right", width + GAP, 1.0)):
        ticks = []
        for y in range(int(height + 1e-9) + 1):
            length = TICKS[2] if y % 10 == 0 else TICKS[1] if y % 5 == 0 else TICKS[0]
            ticks.append([(edge, float(y)), (edge + way * length, float(y))])
            if y % 10 == 0:
                side = "left" if way > 0 else "right"
                write(axes, edge + way * (TICKS[2] + 0.6), y, str(y), size=SMALL, ha=side, color=PENCIL)
        lines = LineCollection(ticks, colors=PENCIL, linewidths=FINE, capstyle="butt")
        lines.set_gid(name)
        axes.add_collection(lines, autolim=False)
        write(axes, edge + way * 2.0, -2.6, "mm", size=SMALL, ha="center", color=PENCIL)


def _paint_bar(axes: Axes) -> None:
    """Draw the check bar along the run, from the height of the lower edge up."""
    _stroke(axes, [(BAR_AT, 0.0), (BAR_AT, BAR)], "check-bar", color=INK, linewidth=HEAVY)
    for number, y in enumerate((0.0, BAR)):
        ends = [(BAR_AT - BAR_END, y), (BAR_AT + BAR_END, y)]
        _stroke(axes, ends, f"check-bar-end-{number}", color=INK, linewidth=FINE)
    write(axes, BAR_AT - 2.2, BAR / 2, "check bar, 100 mm", size=SMALL, rotation=90, ha="center")


def _paint_line(axes: Axes, layout: SheetLayout, line: LineLabel) -> None:
    """Draw a line across the sheet, or its pointers alone, with its name at the right."""
    width = layout.plan.wanted.width
    style = {"linestyle": DASHES[line.name], "linewidth": HEAVY if line.name == "origin" else LINE}
    if layout.kind == "guide":
        start = MARK_ROOM if layout.marked and line.y < MARK_ROOM else 0.0
        _stroke(axes, [(start, line.y), (width, line.y)], line.name, **style)
    far = GAP + TICKS[2]
    for side, ends in (("left", (-far, -GAP)), ("right", (width + GAP, width + far))):
        _stroke(axes, [(x, line.y) for x in ends], f"{line.name}-{side}", color=INK, linewidth=HEAVY)
    x, pitch = width + GAP + TICKS[2] + 6.0, line_height(SMALL)
    for number, words in enumerate(line.words):
        y = line.middle + (0.5 - number) * pitch
        write(axes, x, y, words, size=SMALL, style="bold" if number == 0 else "regular", va="center_baseline")


def _paint_fold(axes: Axes, layout: SheetLayout, x: float, number: int) -> None:
    height = layout.plan.wanted.height
    _stroke(axes, [(x, 0.0), (x, height)], f"fold-{number}", linestyle=DOTS)
    _stroke(axes, [(x, height + POINTER[0]), (x, height + POINTER[1])], f"fold-{number}-top", color=INK, linestyle=DOTS)
    write(axes, x, height + POINTER[1] + 1.4, "fold", size=SMALL, ha="center")


def _paint_lanes(axes: Axes, layout: SheetLayout) -> None:
    plan, (origin, front, _) = layout.plan, layout.plan.levels
    places = [lane.x for lane in plan.lanes]
    pitch = min((b - a for a, b in pairwise(places)), default=float("inf"))
    height, spot = plan.wanted.height, plan.wanted.spot
    for lane in plan.lanes:
        name = f"lane-{lane.label}"
        if layout.kind == "guide":
            _stroke(axes, [(lane.x, origin - spot), (lane.x, front)], name, color=LANE, linewidth=FINE)
            _shape(axes, _symbol(lane, lane.x, origin, spot), f"{name}-spot")
        for side, edge, way in (("bottom", 0.0, -1.0), ("top", height, 1.0)):
            ends = [(lane.x, edge + way * one) for one in POINTER]
            _stroke(axes, ends, f"{name}-{side}", color=INK, linewidth=LINE)
        lower = not label_fits(lane, pitch) and int(lane.label) % 2 == 0
        write(axes, lane.x, -7.6 if lower else -5.4, lane.label, size=TEXT, style="bold", ha="center")


def _symbol(lane: PlannedLane, x: float, y: float, size: float) -> Patch:
    """Shape of a lane's role: circle, square, triangle; all about one centre."""
    how: dict[str, Any] = {"fill": False, "edgecolor": INK, "linewidth": LINE}
    half = size / 2
    if lane.role == "standard":
        return Rectangle((x - half, y - half), size, size, **how)
    if lane.role == "blank":
        return Polygon([(x - half, y - half), (x + half, y - half), (x, y + half)], closed=True, **how)
    return Circle((x, y), half, **how)


def _paint_texts(page: Axes, layout: SheetLayout) -> None:
    """Write the heading, the key to the lanes under the sheet, and the notes at the foot. In mm of the page."""
    y = layout.height - MARGIN
    write(page, MARGIN, y, layout.title, style="bold", size=TITLE, va="top")
    y -= line_height(TITLE)
    for line in layout.subtitle:
        write(page, MARGIN, y, line, size=TEXT, va="top")
        y -= line_height(TEXT)
    top = layout.bottom - BELOW
    inner = (layout.width - 2 * MARGIN) / layout.columns
    rows = -(-len(layout.key) // layout.columns)
    for number, (lane, words) in enumerate(layout.key):
        x, y = MARGIN + number // rows * inner, top - (number % rows + 0.5) * KEY_ROW
        page.add_patch(_symbol(lane, x + KEY_SYMBOL / 2 - 0.5, y, 2.4))
        write(page, x + KEY_SYMBOL, y, printable(words), size=TEXT)
    y = top - rows * KEY_ROW - 2.0
    for line in layout.notes:
        write(page, MARGIN, y, line, size=SMALL, va="top")
        y -= line_height(SMALL)
