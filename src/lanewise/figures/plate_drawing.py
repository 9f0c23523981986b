"""The picture of a plate: lines, spots and texts put where the layout says."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from lanewise.figures.lettering import line_height, printable, shorten, size_that_fits
from lanewise.figures.look import FAINT, LEAST, PENCIL, SMALL, TEXT, TITLE, add_area, write
from lanewise.figures.plate_layout import (
    LABEL,
    LABEL_GAP,
    LABEL_ROOM,
    LAST,
    LEGEND_COLUMNS,
    LEGEND_SYMBOL,
    NAME_ROOM,
    PANEL_GAP,
    PITCH,
    RULER,
    SIDE,
    Label,
    PlateLayout,
    header_height,
    legend_row_height,
    uneven,
    unplaced_lines,
)
from lanewise.figures.plate_symbols import HALF_WIDTH, kind_of, label_anchor, paint_symbol, symbol_ends
from lanewise.figures.seen import LaneSeen, SpotSeen
from lanewise.figures.words import millimetres


def paint_plate(figure: Figure, layout: PlateLayout) -> None:
    """Draw the whole picture on an empty figure of the layout's size."""
    page = add_area(figure, 0, 0, layout.width, layout.height)
    y = layout.height - 1.0
    for line in layout.title:
        write(page, 1.0, y, line, style="bold", size=TITLE, va="top")
        y -= line_height(TITLE)
    for line in layout.subtitle:
        write(page, 1.0, y, line, size=TEXT, va="top")
        y -= line_height(TEXT)
    y = layout.height - header_height(layout.title, layout.subtitle)
    for number, lanes in enumerate(layout.panels):
        y -= layout.panel_height
        _paint_panel(figure, layout, lanes, y, number)
        y -= PANEL_GAP
    _paint_legend(page, layout, y - 1.0)


def _paint_panel(figure: Figure, layout: PlateLayout, lanes: Sequence[LaneSeen], bottom: float, number: int) -> None:
    """Draw one row of lanes; the units of its area are millimetres of the plate."""
    scale = layout.scale
    axes = add_area(figure, 0, bottom, layout.width, layout.panel_height)
    axes.set_label(f"panel {number}")
    axes.set_xlim(0, layout.width / scale)
    axes.set_ylim(layout.bottom - layout.names_height / scale, layout.top)
    left, right = RULER / scale, (RULER + SIDE + PITCH * (len(lanes) - 1) + LAST) / scale
    sheet = Rectangle(
        (left, layout.bottom), right - left, layout.top - layout.bottom, fill=False, edgecolor=PENCIL, linewidth=0.8
    )
    sheet.set_gid(f"sheet-{number}")
    axes.add_patch(sheet)
    _paint_ruler(axes, layout)
    xs = [(RULER + SIDE + PITCH * place) / scale for place in range(len(lanes))]
    _paint_line(axes, lanes, xs, (left, right), "origin", scale)
    _paint_line(axes, lanes, xs, (left, right), "front", scale)
    for lane, x in zip(lanes, xs, strict=True):
        _paint_lane(axes, layout, lane, x)


def _paint_ruler(axes: Axes, layout: PlateLayout) -> None:
    """Draw the millimetre scale at the left."""
    scale = layout.scale
    fine = 1 if scale == 1 else 5
    bold = next(step for step in (10, 20, 50, 100, 200) if step * scale >= 4.0)
    x = (RULER - 1.5) / scale
    axes.plot([x, x], [layout.bottom, layout.top], color=PENCIL, linewidth=0.5, solid_capstyle="butt")
    first = ceil(layout.bottom / fine - 1e-9)
    for tick in range(first, int(layout.top // fine) + 1):
        place = tick * fine
        length = 2.2 if place % bold == 0 else 1.5 if place % 5 == 0 else 0.8
        axes.plot([x - length / scale, x], [place, place], color=PENCIL, linewidth=0.4, solid_capstyle="butt")
        if place % bold == 0:
            write(axes, x - 2.8 / scale, place, str(place), size=SMALL, ha="right", color=PENCIL)
    write(axes, x - 2.8 / scale, layout.bottom - 2.6 / scale, "mm", size=SMALL, ha="right", color=PENCIL)


def _paint_line(
    axes: Axes, lanes: Sequence[LaneSeen], xs: Sequence[float], ends: tuple[float, float], line: str, scale: float
) -> None:
    """Draw the origin or the front: straight across, or from lane to lane where it differs."""
    read = [(x, y) for x, y in zip(xs, (getattr(lane, line) for lane in lanes), strict=True) if y is not None]
    if not read:
        return
    style: dict[str, Any] = {"linestyle": (0, (5, 1.5)), "linewidth": 0.9} if line == "front" else {"linewidth": 0.7}
    half = PITCH / 2 / scale
    for group in _neighbours(read, 1.5 * PITCH / scale):
        start = ends[0] if group[0][0] == xs[0] else group[0][0] - half
        end = ends[1] if group[-1][0] == xs[-1] else group[-1][0] + half
        across, along = zip((start, group[0][1]), *group, (end, group[-1][1]), strict=True)
        axes.plot(across, along, color=PENCIL, zorder=1.5, gid=f"{line}-line", **style)
    values = sorted({y for _, y in read})
    words = (
        f"{millimetres(values[0])} mm"
        if len(values) == 1
        else f"{millimetres(values[0])} to {millimetres(values[-1])} mm"
    )
    x, y = ends[1] + 1.2 / scale, read[-1][1]
    write(axes, x, y + 1.2 / scale, line, size=SMALL, style="bold")
    write(axes, x, y - 1.5 / scale, words, size=size_that_fits(words, 14.5, SMALL, LEAST))
    if line == "front" and uneven(lanes, line):
        for x, y in read:
            write(axes, x, y + 0.8 / scale, millimetres(y), size=SMALL - 1, ha="center", va="bottom")


def _neighbours(points: Sequence[tuple[float, float]], most: float) -> list[list[tuple[float, float]]]:
    """Part points, ordered across, where two are further apart than `most`: a line was not read between them."""
    groups = [[points[0]]]
    for point in points[1:]:
        if point[0] - groups[-1][-1][0] > most:
            groups.append([])
        groups[-1].append(point)
    return groups


def _paint_lane(axes: Axes, layout: PlateLayout, lane: LaneSeen, x: float) -> None:
    scale = layout.scale
    foot = layout.bottom if lane.origin is None else lane.origin
    axes.plot([x, x], [foot - 0.8 / scale, foot + 0.8 / scale], color=PENCIL, linewidth=0.7, zorder=1.5)
    label = shorten(printable(lane.label), PITCH - 1.0, TEXT, "bold")
    write(axes, x, foot - 2.0 / scale, label, size=TEXT, style="bold", ha="center", va="top")
    _paint_names(axes, layout, lane, x)
    for spot in lane.spots:
        kind = kind_of(spot)
        if kind in ("", "no place"):
            continue
        low, high = symbol_ends(spot, scale)
        paint_symbol(axes, kind, x, (low, spot.place or 0.0, high), spot, 1 / scale)
        if spot.row in layout.labels:
            _paint_label(axes, layout.labels[spot.row], x, spot, scale)
    lines = unplaced_lines(lane)
    if lines:
        y = layout.top - (1.0 + len(lines) * line_height(LABEL) / 2) / scale
        paint_symbol(axes, "unread", x, (y - 1.4 / scale, y, y + 1.4 / scale), None, 1 / scale)
        _paint_block(axes, lines, x + (HALF_WIDTH + LABEL_GAP) / scale, y, LABEL_ROOM, scale)


def _paint_names(axes: Axes, layout: PlateLayout, lane: LaneSeen, x: float) -> None:
    """Write what was spotted under the sheet, upright or running upwards."""
    scale, lines = layout.scale, layout.names[lane.label]
    size = TEXT if layout.rotated else SMALL
    pitch, down = line_height(size) / scale, layout.bottom - 1.0 / scale
    for number, line in enumerate(lines):
        if layout.rotated:
            across = x + (number - (len(lines) - 1) / 2) * pitch
            write(axes, across, down, line, size=size, rotation=90, ha="center", va="top")
        else:
            fitting = size_that_fits(line, NAME_ROOM, size, LEAST)
            write(axes, x, down - number * pitch, line, size=fitting, ha="center", va="top")


def _paint_label(axes: Axes, label: Label, x: float, spot: SpotSeen, scale: float) -> None:
    """Write the lines beside a spot, with a thin leader where they had to move away from it."""
    left = x + (HALF_WIDTH + label.gap) / scale
    if label.leader:
        ends = [label_anchor(spot, scale), label.middle]
        axes.plot([x + HALF_WIDTH / scale, left - 0.1 / scale], ends, color=PENCIL, linewidth=0.4, zorder=5)
    _paint_block(axes, label.lines, left, label.middle, label.room, scale)


def _paint_block(axes: Axes, lines: Sequence[str], x: float, middle: float, room: float, scale: float) -> None:
    pitch = line_height(LABEL) / scale
    for number, line in enumerate(lines):
        y = middle + ((len(lines) - 1) / 2 - number) * pitch
        write(axes, x, y, line, size=size_that_fits(line, room, LABEL, LEAST), va="center_baseline")


def _paint_legend(page: Axes, layout: PlateLayout, top: float) -> None:
    """Draw what the symbols mean, then the notes."""
    y, columns = top, LEGEND_COLUMNS
    for start in range(0, len(layout.legend), columns):
        row = layout.legend[start : start + columns]
        height = legend_row_height(row)
        for column, (kind, lines) in enumerate(row):
            x = 1.0 + column * layout.width / columns
            middle = y - height / 2
            low, high = middle - 1.6, middle + 1.6
            if kind in ("at origin", "with front"):
                low, high = middle - 0.9, middle + 0.9
                edge = low if kind == "at origin" else high
                page.plot([x, x + 5.0], [edge, edge], color=PENCIL, linewidth=0.7, zorder=1)
            point = middle + 0.5 if kind == "streak" else middle
            paint_symbol(page, kind, x + 2.5, (low, point, high), None, 1.0)
            for number, line in enumerate(lines):
                down = middle + ((len(lines) - 1) / 2 - number) * line_height(SMALL)
                write(page, x + LEGEND_SYMBOL, down, line, size=SMALL)
        y -= height
    page.plot([1.0, layout.width - 1.0], [y - 0.7, y - 0.7], color=FAINT, linewidth=0.4)
    for number, line in enumerate(layout.notes):
        write(page, 1.0, y - 1.6 - number * line_height(SMALL), line, size=SMALL, va="top", color=PENCIL)
