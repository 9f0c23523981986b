"""Rf against strength: what was seen, the curve of each dye, and where a new plate would put it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Rectangle

from lanewise.analyses.strength import Predictions
from lanewise.document import Figure
from lanewise.errors import AnalysisError
from lanewise.figures.lettering import line_height, printable, wrap
from lanewise.figures.look import (
    BAND,
    FAINT,
    PAGE_WIDTH,
    PENCIL,
    SMALL,
    TEXT,
    add_area,
    as_document_figure,
    plain_settings,
    system_style,
    write,
)
from lanewise.uncertainty.rounding import round_half_up

LEFT, BOTTOM, HEAD = 12.0, 13.0, 4.0  # mm
WIDTH, HEIGHT = 100.0, 78.0
NUMBERS = 7.0  # mm, room for the numbers at the right end of the curves
LIST = LEFT + WIDTH + NUMBERS + 6.0
MARKER = 3.4  # pt


def strength_figure(predictions: Predictions, series: str, name: str) -> Figure:
    """Draw Rf of each dye against the strength of one series.

    Parameters
    ----------
    predictions : Predictions
        From `lanewise.predict_rf`.
    series : str
        Name of one of its series, such as ``acetone in heptane``.
    name : str
        Short ASCII name of the figure, used for file names.

    Returns
    -------
    Figure
        A band holds a spot on a plate still to be run; markers are the means that were seen; the strengths that were
        tried lie on the shaded ground; a dashed line stands where all dyes are most likely apart.

    Raises
    ------
    AnalysisError
        If the series has no predictions.
    """
    curves = predictions.curves[predictions.curves["series"] == series]
    if curves.empty:
        raise AnalysisError(f"figure {name!r}: there is no prediction for the series {series!r}")
    seen = predictions.seen[predictions.seen["series"] == series]
    best = float(predictions.best(series)["at"]) if (predictions.scan["series"] == series).any() else float("nan")
    numbers = {str(dye): place for place, dye in enumerate(dict.fromkeys(curves["dye"]), start=1)}
    share = f"{100 * predictions.level:g} %"
    with plain_settings():
        lines = {dye: wrap(printable(dye), PAGE_WIDTH - LIST - 12.0, SMALL, most=3) for dye in numbers}
    listed = sum(len(text) for text in lines.values()) * line_height(SMALL) + 1.2 * len(lines) + 22.0
    height = max(HEAD + HEIGHT + BOTTOM, HEAD + listed)
    caption = f"Rf of {len(numbers)} dyes against {series}; a band holds a spot on a new plate with {share}."
    paint = partial(paint_strengths, curves=curves, seen=seen, lines=lines, best=best, series=series, height=height)
    return as_document_figure(name, caption, _describe(curves, seen, best, series), (PAGE_WIDTH, height), paint)


def _describe(curves: pd.DataFrame, seen: pd.DataFrame, best: float, series: str) -> tuple[str, ...]:
    said = [f"Rf upward, strength ({series}) across; the dyes are most likely apart at {round_half_up(best, 2)}."]
    for number, (dye, rows) in enumerate(curves.groupby("dye", sort=False), start=1):
        points = seen[seen["dye"] == dye].sort_values("at")
        pairs = points[["at", "rf"]].to_numpy(dtype=float)
        tried = ", ".join(f"{round_half_up(at, 2)}: {round_half_up(rf, 2)}" for at, rf in pairs)
        beyond = " and ".join(_at(*row) for row in rows[["at", "rf", "rf_low", "rf_high"]].iloc[[0, -1]].to_numpy())
        said.append(f"{number}, {dye}: seen {tried}; predicted {beyond}.")
    return tuple(said)


def _at(at: float, rf: float, low: float, high: float) -> str:
    value, *ends, place = (round_half_up(float(number), 2) for number in (rf, low, high, at))
    return f"{value} ({' to '.join(ends)}) at {place}"


def paint_strengths(
    figure: Canvas,
    curves: pd.DataFrame,
    seen: pd.DataFrame,
    lines: Mapping[str, Sequence[str]],
    best: float,
    series: str,
    height: float,
) -> None:
    """Draw the whole picture on an empty figure of the page's width and that height."""
    page = add_area(figure, 0, 0, PAGE_WIDTH, height)
    bottom = height - HEAD - HEIGHT
    axes = add_area(figure, LEFT, bottom, WIDTH, HEIGHT)
    low, high = float(curves["at"].min()), float(curves["at"].max())
    axes.set_xlim(low, high)
    axes.set_ylim(0.0, 1.0)
    first, last = float(seen["at"].min()), float(seen["at"].max())
    axes.add_patch(Rectangle((first, 0.0), last - first, 1.0, facecolor=BAND, edgecolor="none", zorder=0))
    for tenth in range(11):
        axes.plot([low, high], [tenth / 10] * 2, color="#d5dbe0", linewidth=0.5, zorder=1)
    if np.isfinite(best):
        axes.plot([best, best], [0.0, 1.0], color=PENCIL, linewidth=0.9, dashes=(4, 3), zorder=2)
    for number, (dye, rows) in enumerate(curves.groupby("dye", sort=False)):
        colour, shape, filled = system_style(number)
        at = rows["at"].to_numpy()
        axes.fill_between(at, rows["rf_low"], rows["rf_high"], color=colour, alpha=0.18, linewidth=0.0, zorder=2)
        axes.plot(at, rows["rf"], color=colour, linewidth=1.1, zorder=3)
        mine = seen[seen["dye"] == dye]
        face = colour if filled else "#ffffff"
        looks: dict[str, Any] = {
            "markersize": MARKER,
            "markerfacecolor": face,
            "markeredgecolor": colour,
            "linestyle": "none",
        }
        axes.plot(mine["at"], mine["rf"], marker=shape, zorder=4, clip_on=False, **looks)
    page.add_patch(Rectangle((LEFT, bottom), WIDTH, HEIGHT, fill=False, edgecolor=PENCIL, linewidth=0.7))
    _paint_axes(page, axes, bottom, series)
    _paint_numbers(page, curves, bottom)
    _paint_list(page, lines, height - HEAD)


def _paint_axes(page: Axes, axes: Axes, bottom: float, series: str) -> None:
    low, high = axes.get_xlim()
    step = next(size for size in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0) if (high - low) / size <= 11)
    for place in np.arange(np.ceil(low / step - 1e-9) * step, high + 1e-9, step):
        x = LEFT + WIDTH * (place - low) / (high - low)
        page.plot([x, x], [bottom, bottom - 1.0], color=PENCIL, linewidth=0.6)
        write(page, x, bottom - 2.8, round_half_up(float(place), 2), size=SMALL, ha="center", color=PENCIL)
    for fifth in range(6):
        write(page, LEFT - 1.4, bottom + HEIGHT * fifth / 5, f"{fifth / 5:.1f}", size=SMALL, ha="right", color=PENCIL)
    what = series if series == "polarity index" else f"fraction of {series}"
    (text, *_) = wrap(printable(what), WIDTH, TEXT, "bold", most=1)
    write(page, LEFT + WIDTH / 2.0, bottom - 7.4, text, style="bold", ha="center")
    write(page, 3.4, bottom + HEIGHT / 2.0, "Rf", style="bold", ha="center", rotation=90)


def _paint_numbers(page: Axes, curves: pd.DataFrame, bottom: float) -> None:
    """Write the number of each dye at the right end of its curve, pushed apart where they would touch."""
    ends = curves.groupby("dye", sort=False)["rf"].last().to_numpy(dtype=float)
    tall = line_height(SMALL)
    order = np.argsort(ends)
    places = bottom + HEIGHT * ends[order]
    for place in range(1, len(places)):
        places[place] = max(places[place], places[place - 1] + tall)
    over = max(0.0, places[-1] - bottom - HEIGHT)
    places[-1] -= over
    for place in range(len(places) - 2, -1, -1):
        places[place] = min(places[place], places[place + 1] - tall)
    for number, y in zip(order, places, strict=True):
        x = LEFT + WIDTH
        page.plot([x, x + 2.6], [bottom + HEIGHT * ends[number], y], color=PENCIL, linewidth=0.4)
        write(page, x + 3.2, y, str(number + 1), size=SMALL, style="bold", va="center_baseline")


def _paint_list(page: Axes, lines: Mapping[str, Sequence[str]], top: float) -> None:
    step = line_height(SMALL)
    y = top - step / 2.0
    for number, text in enumerate(lines.values()):
        colour, shape, filled = system_style(number)
        write(page, LIST + 3.6, y, str(number + 1), size=SMALL, style="bold", ha="right", va="center_baseline")
        looks: dict[str, Any] = {
            "markersize": MARKER,
            "markerfacecolor": colour if filled else "#ffffff",
            "markeredgecolor": colour,
        }
        page.plot([LIST + 4.6, LIST + 9.4], [y, y], color=colour, linewidth=1.1)
        page.plot([LIST + 7.0], [y], marker=shape, linestyle="none", **looks)
        for place, line in enumerate(text):
            write(page, LIST + 10.8, y - place * step, line, size=SMALL, va="center_baseline")
        y -= len(text) * step + 1.2
    y -= 1.0
    page.plot([LIST, PAGE_WIDTH - 1.0], [y + step / 2.0 + 0.6] * 2, color=FAINT, linewidth=0.4)
    page.add_patch(Rectangle((LIST + 4.6, y - 1.0), 4.8, 2.0, facecolor=PENCIL, alpha=0.25, edgecolor="none"))
    write(page, LIST + 10.8, y, "a new plate", size=SMALL, va="center_baseline")
    y -= step + 1.2
    page.add_patch(Rectangle((LIST + 4.6, y - 1.0), 4.8, 2.0, facecolor=BAND, edgecolor=FAINT, linewidth=0.5))
    write(page, LIST + 10.8, y, "strengths tried", size=SMALL, va="center_baseline")
    y -= step + 1.2
    page.plot([LIST + 4.6, LIST + 9.4], [y, y], color=PENCIL, linewidth=0.9, dashes=(4, 3))
    write(page, LIST + 10.8, y, "most likely apart", size=SMALL, va="center_baseline")
