"""Two systems as a map: Rf in one across, Rf in the other upward, each dye with the region it lies in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Ellipse, Rectangle

from lanewise.analyses.compare import CENSORED, VALUED, Comparison
from lanewise.document import Figure
from lanewise.errors import AnalysisError
from lanewise.figures.lettering import line_height, printable, text_width, wrap
from lanewise.figures.look import (
    BAND,
    FAINT,
    INK,
    PAGE_WIDTH,
    PENCIL,
    SMALL,
    SYSTEM_COLOURS,
    TEXT,
    add_area,
    as_document_figure,
    plain_settings,
    write,
)
from lanewise.uncertainty.budget import coverage_factor, effective_dof
from lanewise.uncertainty.rounding import plus_minus, round_bound, round_half_up

SIDE, LEFT, BOTTOM, HEAD = 92.0, 13.0, 14.0, 6.0  # mm
LIST = LEFT + SIDE + 9.0
MARKER = 3.0  # pt
REACHES = (2.6, 4.2, 6.0, 8.0)  # mm from a dye to its number
PARTS = 16
KINDS = {"measured": ("o", True), "streak": ("D", False), "bound": ("s", False)}
MEANINGS = {"measured": "measured in both", "streak": "a streak in one or both", "bound": "a bound in one or both"}


@dataclass(frozen=True, slots=True)
class Dot:
    """One dye of the map.

    Attributes
    ----------
    number : int
        Under which it stands in the picture, from 1.
    dye, kind : str
        Its name; measured, streak or bound.
    x, y : float
        Where its marker stands: the values, or the middle of a bound.
    low_x, high_x, low_y, high_y : float
        The ends on both axes.
    ellipse : tuple of 3 floats or None
        Full lengths of the two axes of its region and the angle of the first to the horizontal [degree].
    words : str
        What the description says of it.
    """

    number: int
    dye: str
    kind: str
    x: float
    y: float
    low_x: float
    high_x: float
    low_y: float
    high_y: float
    ellipse: tuple[float, float, float] | None
    words: str


def system_map(
    comparison: Comparison, system_a: str, system_b: str, name: str, *, labels: tuple[str, str] | None = None
) -> Figure:
    """Draw the dyes in the plane of two systems.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    system_a, system_b : str
        System across and system upward.
    name : str
        Short ASCII name of the figure, used for file names.
    labels : tuple of two str, optional
        What to call the two systems; by default their names.

    Returns
    -------
    Figure
        A dye measured in both has an ellipse that holds it with the probability of the comparison, from the full
        covariance of the two means; one with a bound has a box over all that the bound allows and no place of its own.
        Dyes on the diagonal run alike in both systems. Numbers stand for the names at the right.

    Raises
    ------
    AnalysisError
        If no dye has a place in both systems, or a system is not in the comparison.
    """
    for system in (system_a, system_b):
        if system not in comparison.systems:
            raise AnalysisError(f"wanted a system among {', '.join(comparison.systems)}, given {system!r}")
    dots = _dots(comparison, system_a, system_b)
    if not dots:
        raise AnalysisError(f"figure {name!r}: no dye has a place in both {system_a} and {system_b}")
    shown = labels or (system_a, system_b)
    with plain_settings():
        lines = _listed(dots)
    height = max(HEAD + SIDE + BOTTOM, HEAD + 4.0 + _list_height(lines, dots))
    share = f"{100 * comparison.level:g} %"
    caption = f"{len(dots)} dyes by their Rf in {shown[0]} and in {shown[1]}; an ellipse holds its dye with {share}."
    words = (
        f"Each dye has its Rf in {shown[0]} across and in {shown[1]} upward, from 0 to 1, with standard uncertainties; "
        "on the diagonal both are equal.",
        *(f"{dot.number}, {dot.dye}: {shown[0]} {dot.words.replace('|', f'; {shown[1]} ')}." for dot in dots),
    )
    paint = partial(
        paint_map, dots=dots, lines=lines, labels=shown, height=height, region=f"region of {share}, bounds as boxes"
    )
    return as_document_figure(name, caption, words, (PAGE_WIDTH, height), paint)


def _dots(comparison: Comparison, a: str, b: str) -> tuple[Dot, ...]:
    side = {(row["dye"], row["system"]): row for row in comparison.dyes.to_dict("records")}
    made: list[Dot] = []
    for dye in dict.fromkeys(comparison.dyes["dye"]):
        rows = (side[dye, a], side[dye, b])
        states = {row["state"] for row in rows}
        if not states <= {*VALUED, *CENSORED}:
            continue
        kind = "bound" if states & set(CENSORED) else "streak" if "streak" in states else "measured"
        place = [row["rf"] if row["state"] in VALUED else (row["rf_low"] + row["rf_high"]) / 2.0 for row in rows]
        low_x, high_x, low_y, high_y = (float(row[end]) for row in rows for end in ("rf_low", "rf_high"))
        ellipse = None if kind == "bound" else _ellipse(comparison, dye, a, b)
        words = "|".join(_said(row) for row in rows)
        made.append(
            Dot(
                len(made) + 1,
                str(dye),
                kind,
                float(place[0]),
                float(place[1]),
                low_x,
                high_x,
                low_y,
                high_y,
                ellipse,
                words,
            )
        )
    return tuple(made)


def _ellipse(comparison: Comparison, dye: str, a: str, b: str) -> tuple[float, float, float]:
    """Full axes and angle of the region of two means: the two-sided factor of their normal pair, widened by few dof."""
    means = comparison.means
    pair = means.rf[np.array([means.cell(dye, a), means.cell(dye, b)])]
    values, vectors = np.linalg.eigh(pair.covariance_matrix())
    level = comparison.level
    dof = np.min(effective_dof(pair))
    factor = np.sqrt(-2.0 * np.log(1.0 - level)) * coverage_factor(dof, level) / coverage_factor(np.inf, level)
    long, short = 2.0 * float(factor) * np.sqrt(np.maximum(values[::-1], 0.0))
    return float(long), float(short), float(np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])))


def _said(row: dict[object, object] | dict[str, object]) -> str:
    values = {str(name): value for name, value in row.items()}
    if values["state"] == "at origin":
        return f"below {round_bound(float(str(values['rf_high'])), up=True)} (at the origin)"
    if values["state"] == "with front":
        return f"above {round_bound(float(str(values['rf_low'])), up=False)} (with the front)"
    rf, u = float(str(values["rf"])), float(str(values["u_rf"]))
    said = plus_minus(rf, u) if u > 0 else round_half_up(rf, 3)
    return f"{said} (streak)" if values["state"] == "streak" else said


def _listed(dots: Sequence[Dot]) -> dict[int, tuple[str, ...]]:
    return {dot.number: wrap(printable(dot.dye), PAGE_WIDTH - LIST - 7.0, SMALL, most=3) for dot in dots}


def _list_height(lines: dict[int, tuple[str, ...]], dots: Sequence[Dot]) -> float:
    kinds = len({dot.kind for dot in dots}) + 3
    return (
        sum(len(text) * line_height(SMALL) + 0.9 for text in lines.values()) + kinds * (line_height(SMALL) + 0.9) + 8.0
    )


def paint_map(
    figure: Canvas,
    dots: Sequence[Dot],
    lines: dict[int, tuple[str, ...]],
    labels: tuple[str, str],
    height: float,
    region: str,
) -> None:
    """Draw the whole picture on an empty figure of the page's width and that height; `region` says what it holds."""
    page = add_area(figure, 0, 0, PAGE_WIDTH, height)
    bottom = height - HEAD - SIDE
    _paint_ground(page, bottom)
    for dot in dots:
        _paint_region(page, dot, bottom)
    for dot in dots:
        _paint_dot(page, dot, bottom)
    _paint_numbers(page, dots, bottom)
    _paint_axes(page, labels, bottom)
    _paint_list(page, dots, lines, height - HEAD, region)


def _at(rf: float, start: float) -> float:
    return start + SIDE * rf


def _paint_ground(page: Axes, bottom: float) -> None:
    band = Rectangle(
        (_at(0.1, LEFT), _at(0.1, bottom)), 0.8 * SIDE, 0.8 * SIDE, facecolor=BAND, edgecolor="none", zorder=0
    )
    band.set_gid("useful-range")
    page.add_patch(band)
    for tenth in range(11):
        look: dict[str, Any] = (
            {"color": PENCIL, "linewidth": 0.7} if tenth in (0, 10) else {"color": "#d5dbe0", "linewidth": 0.5}
        )
        for x, y in (([tenth / 10] * 2, [0.0, 1.0]), ([0.0, 1.0], [tenth / 10] * 2)):
            page.plot([_at(v, LEFT) for v in x], [_at(v, bottom) for v in y], zorder=1, **look)
    page.plot([LEFT, LEFT + SIDE], [bottom, bottom + SIDE], color=PENCIL, linewidth=0.7, dashes=(4, 3), zorder=1)


def _paint_region(page: Axes, dot: Dot, bottom: float) -> None:
    colour = SYSTEM_COLOURS[0 if dot.kind == "measured" else 1]
    if dot.ellipse is not None:
        long, short, angle = dot.ellipse
        centre = (_at(dot.x, LEFT), _at(dot.y, bottom))
        shape = Ellipse(
            centre, SIDE * long, SIDE * short, angle=angle, facecolor=colour, alpha=0.28, linewidth=0.0, zorder=2
        )
        edge = Ellipse(
            centre, SIDE * long, SIDE * short, angle=angle, fill=False, edgecolor=colour, linewidth=0.6, zorder=3
        )
        shape.set_gid(f"region-{dot.number}")
        page.add_patch(shape)
        page.add_patch(edge)
        return
    corner = (_at(dot.low_x, LEFT), _at(dot.low_y, bottom))
    size = (SIDE * (dot.high_x - dot.low_x), SIDE * (dot.high_y - dot.low_y))
    box = Rectangle(corner, *size, facecolor=colour, alpha=0.28, linewidth=0.0, zorder=2)
    box.set_gid(f"region-{dot.number}")
    page.add_patch(box)
    page.add_patch(Rectangle(corner, *size, fill=False, edgecolor=colour, linewidth=0.6, zorder=3))


def _paint_dot(page: Axes, dot: Dot, bottom: float) -> None:
    _paint_symbol(page, dot.kind, _at(dot.x, LEFT), _at(dot.y, bottom))


def _paint_symbol(page: Axes, kind: str, x: float, y: float) -> None:
    shape, filled = KINDS[kind]
    colour = SYSTEM_COLOURS[0 if kind == "measured" else 1]
    page.plot(
        [x], [y], marker=shape, markersize=MARKER, markerfacecolor=colour if filled else "#ffffff",
        markeredgecolor=INK if filled else colour, markeredgewidth=0.5 if filled else 1.1, linestyle="none", zorder=5,
    )  # fmt: skip


def _paint_numbers(page: Axes, dots: Sequence[Dot], bottom: float) -> None:
    """Write the number of each dye where it covers neither another number nor a marker, with a line to its dye."""
    taken = [(_at(dot.x, LEFT) - 0.9, _at(dot.y, bottom) - 0.9, 1.8, 1.8) for dot in dots]
    tall = line_height(SMALL) * 0.9
    for dot in dots:
        x, y, wide = _at(dot.x, LEFT), _at(dot.y, bottom), text_width(str(dot.number), SMALL, "bold") + 0.6
        spots = [
            (x + reach * np.cos(angle), y + reach * np.sin(angle))
            for reach in REACHES
            for angle in np.pi / 4.0 + 2.0 * np.pi * np.arange(PARTS) / PARTS
        ]
        boxes = [(px - wide / 2.0, py - tall / 2.0, wide, tall) for px, py in spots]
        cost = [sum(_overlap(box, other) for other in taken) + _outside(box, bottom) for box in boxes]
        best = int(np.argmin(np.round(cost, 6)))
        px, py = spots[best]
        taken.append(boxes[best])
        page.plot([x, px], [y, py], color=PENCIL, linewidth=0.4, zorder=4)
        label = Rectangle(boxes[best][:2], wide, tall, facecolor="#ffffff", edgecolor="none", alpha=0.85, zorder=6)
        page.add_patch(label)
        write(page, px, py, str(dot.number), size=SMALL, style="bold", ha="center", va="center_baseline", zorder=7)


def _overlap(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> float:
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    along = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    return max(across, 0.0) * max(along, 0.0)


def _outside(box: tuple[float, float, float, float], bottom: float) -> float:
    beyond = max(LEFT - box[0], bottom - box[1], box[0] + box[2] - LEFT - SIDE, box[1] + box[3] - bottom - SIDE, 0.0)
    return 20.0 * beyond


def _paint_axes(page: Axes, labels: tuple[str, str], bottom: float) -> None:
    for tenth in range(0, 11, 2):
        text = f"{tenth / 10:.1f}"
        write(page, _at(tenth / 10, LEFT), bottom - 2.6, text, size=SMALL, ha="center", color=PENCIL)
        write(page, LEFT - 1.4, _at(tenth / 10, bottom), text, size=SMALL, ha="right", color=PENCIL)
    across, upward = (f"Rf in {printable(label)}" for label in labels)
    (first, *_) = wrap(across, SIDE, TEXT, "bold", most=1)
    (other, *_) = wrap(upward, SIDE, TEXT, "bold", most=1)
    write(page, LEFT + SIDE / 2.0, bottom - 7.4, first, style="bold", ha="center")
    write(page, 3.4, bottom + SIDE / 2.0, other, style="bold", ha="center", rotation=90)


def _paint_list(page: Axes, dots: Sequence[Dot], lines: dict[int, tuple[str, ...]], top: float, region: str) -> None:
    step = line_height(SMALL)
    y = top - step / 2.0
    for dot in dots:
        write(page, LIST + 4.6, y, str(dot.number), size=SMALL, style="bold", ha="right", va="center_baseline")
        for place, line in enumerate(lines[dot.number]):
            write(page, LIST + 6.4, y - place * step, line, size=SMALL, va="center_baseline")
        y -= len(lines[dot.number]) * step + 0.9
    y -= 1.0
    page.plot([LIST, PAGE_WIDTH - 1.0], [y + step / 2.0 + 0.4] * 2, color=FAINT, linewidth=0.4)
    for kind, meaning in MEANINGS.items():
        if any(dot.kind == kind for dot in dots):
            _paint_symbol(page, kind, LIST + 3.0, y)
            write(page, LIST + 6.4, y, meaning, size=SMALL, va="center_baseline")
            y -= step + 0.9
    shape = Ellipse((LIST + 3.0, y), 4.2, 2.2, facecolor=SYSTEM_COLOURS[0], alpha=0.28, edgecolor=SYSTEM_COLOURS[0])
    page.add_patch(shape)
    write(page, LIST + 6.4, y, region, size=SMALL, va="center_baseline")
    y -= step + 0.9
    page.plot([LIST + 1.0, LIST + 5.0], [y, y], color=PENCIL, linewidth=0.7, dashes=(3, 2))
    write(page, LIST + 6.4, y, "equal in both", size=SMALL, va="center_baseline")
    y -= step + 0.9
    page.add_patch(Rectangle((LIST + 1.0, y - 1.0), 4.0, 2.0, facecolor=BAND, edgecolor=FAINT, linewidth=0.5))
    write(page, LIST + 6.4, y, "Rf 0.1 to 0.9 in both", size=SMALL, va="center_baseline")
