"""Rf with its interval for every dye, sample, system and plate, on one axis."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Rectangle

from lanewise.document import Figure
from lanewise.errors import AnalysisError
from lanewise.figures.chart_layout import (
    AXIS,
    DYES,
    HEAD,
    RIGHT,
    ROW_PADDING,
    SAMPLES,
    ChartLayout,
    Row,
    chart_rows,
    lay_out_chart,
    legend_entry_height,
)
from lanewise.figures.lettering import MM_PER_POINT, line_height, printable, wrap
from lanewise.figures.look import (
    BAND,
    FAINT,
    INK,
    PENCIL,
    SMALL,
    TEXT,
    add_area,
    as_document_figure,
    plain_settings,
    spot_fill,
    system_style,
    write,
)
from lanewise.figures.seen import SpotSeen, spots_seen
from lanewise.figures.words import interval_words, rf_words

USEFUL = (0.1, 0.9)
ENDS = (-0.06, 1.06)
MARKER = 3.6  # pt
ARROW = 0.04  # length, in Rf


def rf_figure(spots: pd.DataFrame, marks: pd.DataFrame, name: str, level: float | None = None) -> Figure:
    """Draw Rf with its interval, one row for each dye of each sample, one marker for each solvent system.

    Parameters
    ----------
    spots : DataFrame
        N rows, columns ``SPOTS`` of `lanewise.tables.columns`.
    marks : DataFrame
        N rows with the same index, columns ``MARKS`` and ``CONTEXT``. Their colour words say which spots of a sample
        are the same dye on different plates.
    name : str
        Short ASCII name of the figure, used for file names.
    level : float, optional
        Coverage probability of the intervals, told in the legend.

    Returns
    -------
    Figure
        A spot at the origin or with the front is an arrow at its bound; a streak reaches from edge to edge; what
        was not found or has no Rf is counted at the right of its row. The range 0.1 to 0.9 is shaded: outside it a
        value is weak evidence (common practice, no source). The picture is 170 mm wide; many rows make it
        longer than 240 mm.

    Raises
    ------
    AnalysisError
        If there is no row, or marks and spots do not belong together.

    Examples
    --------
    >>> import pandas as pd
    >>> marks = pd.DataFrame({"plate": ["1"], "system": ["water"], "lane": ["A"], "sample": ["blue pen"],
    ...     "role": ["sample"], "spot": ["1"], "origin_mm": [10.0], "front_mm": [70.0], "centre_mm": [40.0],
    ...     "state": ["measured"], "colour": ["blue"]})
    >>> spots = pd.DataFrame({"rf": [0.5], "u_rf": [0.006], "rf_low": [0.488], "rf_high": [0.512]})
    >>> rf_figure(spots, marks, "rf").description[-1]
    'blue pen, blue, in water: Rf 0.500 ± 0.006 (0.488 to 0.512) on plate 1.'
    """
    rows = spots_seen(marks, spots)
    if not rows:
        raise AnalysisError(f"figure {name!r}: wanted at least one spot, given no row")
    with plain_settings():
        layout = lay_out_chart(rows, level)
    systems, samples = len(layout.systems), len({row.sample for row in layout.rows})
    caption = (
        f"Rf of the dyes of {samples} {'sample' if samples == 1 else 'samples'} in {systems} solvent "
        f"{'system' if systems == 1 else 'systems'}, with coverage intervals."
    )
    size = (layout.width, layout.height)
    return as_document_figure(name, caption, _describe(rows, level), size, partial(paint_chart, layout=layout))


def _describe(spots: Sequence[SpotSeen], level: float | None) -> tuple[str, ...]:
    """Say what the picture shows, row by row, each system apart."""
    share = f"the {100 * level:g} % coverage interval" if level is not None else "the coverage interval"
    sentences = [f"Each value is given with its standard uncertainty and, in brackets, {share}."]
    for row in chart_rows(spots):
        role = f" ({row.role})" if row.role in ("standard", "blank") and row.role != row.sample else ""
        head = f"{row.sample}{role}, {row.dye}"
        for system in dict.fromkeys(spot.system for spot in row.drawn):
            values = [_value_words(spot) for spot in row.drawn if spot.system == system]
            sentences.append(f"{head}, in {system or 'a system not stated'}: {'; '.join(values)}.")
        if row.left_out:
            sentences.append(f"{head}: {', '.join(row.left_out)}.")
    return tuple(sentences)


def _value_words(spot: SpotSeen) -> str:
    interval = interval_words(spot)
    brackets = (
        "" if not interval else f" ({interval}, rear to front edge)" if spot.state == "streak" else f" ({interval})"
    )
    state = {"streak": "streak, ", "at origin": "at the origin, ", "with front": "with the front, "}
    return f"{state.get(spot.state, '')}{rf_words(spot)}{brackets} on plate {spot.plate}"


def paint_chart(figure: Canvas, layout: ChartLayout) -> None:
    """Draw the whole picture on an empty figure of the layout's size."""
    page = add_area(figure, 0, 0, layout.width, layout.height)
    left, width, height = SAMPLES + DYES, layout.width - SAMPLES - DYES - RIGHT, sum(layout.heights)
    top = layout.height - HEAD
    axes = add_area(figure, left, top - height, width, height)
    axes.set_label("rows")
    axes.set_xlim(*ENDS)
    axes.set_ylim(height, 0.0)
    _paint_ground(axes, height)
    y = 0.0
    for number, row in enumerate(layout.rows):
        _paint_row(axes, row, y, layout.heights[number], layout.systems)
        _paint_names(page, layout, number, top - y)
        y += layout.heights[number]
    for y, side in ((top, 1), (top - height, -1)):
        page.plot([1.0, layout.width - 1.0], [y, y], color=PENCIL, linewidth=0.6)
        _paint_axis(page, left, width, y, side)
    write(page, left + width / 2, top - height - 6.4, "Rf", size=TEXT, style="bold", ha="center")
    _paint_legend(page, layout, top - height - AXIS)


def _paint_ground(axes: Axes, height: float) -> None:
    """Shade the useful range and draw a line at each tenth."""
    band = Rectangle((USEFUL[0], 0.0), USEFUL[1] - USEFUL[0], height, facecolor=BAND, edgecolor="none", zorder=0)
    band.set_gid("useful-range")
    axes.add_patch(band)
    for tenth in range(11):
        end = tenth in (0, 10)
        axes.plot(
            [tenth / 10] * 2, [0.0, height], color=PENCIL if end else "#d5dbe0", linewidth=0.7 if end else 0.5, zorder=1
        )


def _paint_axis(page: Axes, left: float, width: float, y: float, side: int) -> None:
    for tenth in range(11):
        x = left + width * (tenth / 10 - ENDS[0]) / (ENDS[1] - ENDS[0])
        page.plot([x, x], [y, y + side * 1.0], color=PENCIL, linewidth=0.6)
        write(page, x, y + side * 2.8, f"{tenth / 10:.1f}", size=SMALL, ha="center", color=PENCIL)


def _paint_names(page: Axes, layout: ChartLayout, number: int, y: float) -> None:
    """Write the sample and the dye of a row, with a swatch of its colour, and what could not be drawn."""
    row, height = layout.rows[number], layout.heights[number]
    lines = layout.names[number]
    middle = y - height / 2
    if number:
        start, color = (1.0, FAINT) if lines else (SAMPLES, "#e4e4e4")
        page.plot([start, layout.width - 1.0], [y, y], color=color, linewidth=0.6, zorder=2)
    upper = min(middle + (len(lines) - 1) / 2 * line_height(TEXT), y - 2.2)
    for place, line in enumerate(lines):
        write(page, 1.5, upper - place * line_height(TEXT), line, style="bold", size=TEXT, va="center_baseline")
    fill, hatch = spot_fill(row.colour)
    if row.colour.strip():
        swatch = Rectangle(
            (SAMPLES, middle - 1.1), 2.6, 2.2, facecolor=fill, edgecolor=INK, linewidth=0.5, hatch=hatch or None
        )
        page.add_patch(swatch)
    words = wrap(printable(row.dye), DYES - 5.0, SMALL, most=max(1, int(height // line_height(SMALL))))
    for place, line in enumerate(words):
        down = middle + ((len(words) - 1) / 2 - place) * line_height(SMALL)
        write(page, SAMPLES + 3.8, down, line, size=SMALL, va="center_baseline")
    for place, text in enumerate(row.left_out):
        down = middle + ((len(row.left_out) - 1) / 2 - place) * line_height(SMALL)
        write(page, layout.width - RIGHT + 1.5, down, text, size=SMALL, va="center_baseline", color=PENCIL)


def _paint_row(axes: Axes, row: Row, top: float, height: float, systems: Sequence[str]) -> None:
    if not row.drawn:
        return
    step = (height - ROW_PADDING) / len(row.drawn)
    size = min(MARKER, max(2.0, 0.9 * step / MM_PER_POINT))
    for place, spot in enumerate(row.drawn):
        y = top + ROW_PADDING / 2 + (place + 0.5) * step
        paint_value(axes, spot, y, systems.index(spot.system), size)


def paint_value(axes: Axes, spot: SpotSeen, y: float, number: int, size: float) -> None:
    """Draw the marker of one spot, with its interval or its bound, at a height of the area.

    Parameters
    ----------
    axes : Axes
        Area whose horizontal axis is Rf.
    spot : SpotSeen
        A spot that `is_drawn`.
    y : float
        Height in units of the area.
    number : int
        Number of its solvent system, from 0.
    size : float
        Size of the marker. [pt]
    """
    color = system_style(number)[0]
    marker = _marker(number, spot.state != "measured", size) | {"gid": f"rf-{spot.row}"}
    if spot.state in ("at origin", "with front"):
        side = -1 if spot.state == "at origin" else 1
        bound = (spot.high if side < 0 else spot.low) or 0.0
        tip = bound + side * ARROW
        axes.plot([bound, tip], [y, y], color=color, linewidth=1.3, solid_capstyle="butt", zorder=3)
        head = "<" if side < 0 else ">"
        axes.plot([tip], [y], marker=head, markersize=0.7 * size, color=color, linestyle="none", zorder=3)
        axes.plot([bound], [y], **marker)
        return
    if spot.low is not None and spot.high is not None:
        bar: dict[str, Any] = {"color": color, "solid_capstyle": "butt", "zorder": 3, "gid": f"interval-{spot.row}"}
        bar |= {"linewidth": 3.2, "alpha": 0.45} if spot.state == "streak" else {"linewidth": 0.36 * size}
        axes.plot([spot.low, spot.high], [y, y], **bar)
    if spot.rf is not None:
        axes.plot([spot.rf], [y], **marker)


def _marker(number: int, hollow: bool, size: float) -> dict[str, Any]:
    """Give the looks of a marker: a white one stands for what is no plain value."""
    color, shape, filled = system_style(number)
    hollow = hollow or not filled
    return {
        "marker": shape,
        "markersize": size,
        "markerfacecolor": "#ffffff" if hollow else color,
        "markeredgecolor": color if hollow else INK,
        "markeredgewidth": (0.28 if hollow else 0.14) * size,
        "linestyle": "none",
        "zorder": 4,
    }


def _paint_legend(page: Axes, layout: ChartLayout, top: float) -> None:
    """Draw what the markers mean, then the notes."""
    y = top
    for kind, lines in layout.legend:
        height = legend_entry_height(lines)
        _paint_legend_symbol(page, kind, y - height / 2)
        for place, line in enumerate(lines):
            down = y - height / 2 + ((len(lines) - 1) / 2 - place) * line_height(SMALL)
            write(page, 14.0, down, line, size=SMALL, va="center_baseline")
        y -= height
    page.plot([1.0, layout.width - 1.0], [y - 0.7] * 2, color=FAINT, linewidth=0.4)
    for place, line in enumerate(layout.notes):
        write(page, 1.0, y - 1.6 - place * line_height(SMALL), line, size=SMALL, va="top", color=PENCIL)


def _paint_legend_symbol(page: Axes, kind: str | int, y: float) -> None:
    if kind == "band":
        page.add_patch(Rectangle((2.0, y - 1.2), 9.0, 2.4, facecolor=BAND, edgecolor=FAINT, linewidth=0.5))
        return
    x, looks = 6.5, _marker(kind if isinstance(kind, int) else 0, kind in ("bound", "streak"), MARKER)
    if kind == "interval":
        page.plot([2.0, 11.0], [y, y], color=PENCIL, linewidth=0.36 * MARKER)
    elif kind == "streak":
        page.plot([2.0, 11.0], [y, y], color=PENCIL, linewidth=3.2, alpha=0.45, solid_capstyle="butt")
    elif kind == "bound":
        x = 4.0
        page.plot([x, 9.0], [y, y], color=PENCIL, linewidth=1.3)
        page.plot([9.3], [y], marker=">", markersize=0.7 * MARKER, color=PENCIL, linestyle="none")
    if isinstance(kind, str):
        looks |= {"markeredgecolor": PENCIL} if kind in ("bound", "streak") else {"markerfacecolor": PENCIL}
    page.plot([x], [y], **looks)
