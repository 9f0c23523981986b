"""The symbols of spots: which one a spot gets, how far it reaches along the run, and how it is drawn.

What a symbol says is told by its outline, so that a print without colour says the same.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Ellipse, Patch, Polygon

from lanewise.figures.look import INK, SMALL, spot_fill, write
from lanewise.figures.seen import SpotSeen

HALF_WIDTH = 1.6  # mm of paper, half the width of a spot
SIZE = 3.2  # mm of paper, for what has no edges
DASHES, DOTS = (0, (3, 1.5)), (0, (1, 1.2))


def kind_of(spot: SpotSeen) -> str:
    """Tell which symbol a spot gets; empty for a spot that is not drawn."""
    if spot.state == "absent":
        return ""
    if spot.place is None:
        return "no place"
    if spot.state in ("at origin", "with front", "unread"):
        return spot.state
    if spot.trailing is None or spot.leading is None or spot.leading <= spot.trailing:
        return "point"
    return "streak" if spot.state == "streak" else "edges"


def symbol_ends(spot: SpotSeen, scale: float) -> tuple[float, float]:
    """Lower and upper end of the symbol of a spot that has a place. [mm of the plate]."""
    place, size = spot.place or 0.0, SIZE / scale
    kind = kind_of(spot)
    if kind in ("edges", "streak") and spot.trailing is not None and spot.leading is not None:
        return spot.trailing, spot.leading
    if kind == "at origin":
        return place, max(place + size / 2, spot.leading or place)
    if kind == "with front":
        return min(place - size * 0.7, spot.trailing if spot.trailing is not None else place), place
    if kind == "unread" and spot.trailing is not None and spot.leading is not None and spot.leading > spot.trailing:
        return spot.trailing, spot.leading
    return place - size * 0.4, place + size * 0.4


def label_anchor(spot: SpotSeen, scale: float) -> float:
    """Where the label of a spot belongs. [mm of the plate]."""
    if spot.state in ("at origin", "with front"):
        return sum(symbol_ends(spot, scale)) / 2
    return spot.place or 0.0


def paint_symbol(
    axes: Axes,
    kind: str,
    x: float,
    along: tuple[float, float, float],
    spot: SpotSeen | None,
    unit: float,
) -> None:
    """Draw the symbol of a spot.

    Parameters
    ----------
    axes : Axes
        Drawing area.
    kind : str
        As given by `kind_of`.
    x : float
        Middle of the lane, in units of the area.
    along : tuple of 3 floats
        Lower end, point read, upper end, in units of the area.
    spot : SpotSeen or None
        For its colour and its row; None in the legend.
    unit : float
        One millimetre of paper, in units of the area.
    """
    low, point, high = along
    fill, hatch = spot_fill(spot.colour) if spot is not None else ("#dddddd", "")
    looks: dict[str, Any] = {"facecolor": fill, "hatch": "/////" if kind == "streak" else hatch or None}
    line: dict[str, Any] = {"edgecolor": INK, "linewidth": 0.7}
    if kind == "unread":
        looks = {"facecolor": "#ffffff"}
        line["linestyle"] = DASHES
    elif kind == "point":
        line["linestyle"] = DOTS
    body = _shape(kind, x, along, HALF_WIDTH * unit, **looks, **line, zorder=3)
    body.set_gid(f"{kind.replace(' ', '-')}-{'legend' if spot is None else spot.row}")
    axes.add_patch(body)
    axes.add_patch(_shape(kind, x, along, HALF_WIDTH * unit, fill=False, **line, zorder=3.5))  # seen through neighbours
    if kind == "unread":
        write(axes, x, (low + high) / 2, "?", size=SMALL, ha="center", va="center_baseline", zorder=4)
    elif kind in ("edges", "point"):
        _paint_tick(axes, x, point, unit)
    elif kind == "streak" and (spot is None or spot.centre is not None):
        diamond = [(x - 0.8 * unit, point), (x, point + unit), (x + 0.8 * unit, point), (x, point - unit)]
        axes.add_patch(Polygon(diamond, closed=True, facecolor="#ffffff", edgecolor=INK, linewidth=0.7, zorder=4))


def _shape(kind: str, x: float, along: tuple[float, float, float], half: float, **looks: Any) -> Patch:
    """Make the outline of a symbol: tapering, a half disc on its line, a triangle under its line, or an ellipse."""
    low, point, high = along
    if kind == "streak":
        outline = [(-0.3, low), (-1.0, point), (-0.6, high), (0.6, high), (1.0, point), (0.3, low)]
        return Polygon([(x + share * half, y) for share, y in outline], closed=True, **looks)
    if kind == "at origin":
        turn = np.linspace(0.0, np.pi, 25)
        return Polygon(np.column_stack((x + half * np.cos(turn), low + (high - low) * np.sin(turn))), **looks)
    if kind == "with front":
        return Polygon([(x - half, low), (x + half, low), (x, high)], closed=True, **looks)
    return Ellipse((x, (low + high) / 2), 2 * half, high - low, **looks)


def _paint_tick(axes: Axes, x: float, y: float, unit: float) -> None:
    """Mark the point read: a dark bar on a light one, seen on any fill."""
    for color, width, half in (("#ffffff", 1.6, 1.0), (INK, 0.7, 0.8)):
        axes.plot(
            [x - half * unit, x + half * unit], [y, y], color=color, linewidth=width, zorder=4, solid_capstyle="butt"
        )
