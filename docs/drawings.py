"""Drawings of the how-to page on photographs; ``python docs/remake.py`` writes them into the folder of images."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Ellipse, FancyArrowPatch, Polygon, Rectangle

INK, BENCH, PAPER, PENCIL, ACCENT = "#1a1a1a", "#3b4046", "#fbfaf6", "#6d6d6d", "#0072b2"
SPOTS = (  # of an invented sheet: lane [mm], height [mm], half widths across and along, colour
    (16, 36, 2.2, 2.6, "#d55e00"),
    (16, 68, 2.6, 3.0, "#0072b2"),
    (34, 48, 2.2, 2.6, "#cc79a7"),
    (52, 36, 2.2, 2.6, "#d55e00"),
    (52, 58, 2.4, 6.0, "#e0b400"),
    (68, 68, 2.6, 3.0, "#0072b2"),
)
WIDTH, HEIGHT, ORIGIN, FRONT = 80, 100, 15, 85  # of the drawn sheet [mm]


def sheet() -> bytes:
    """Draw a sheet as it should be seen, each thing that the reader looks for with a word beside it."""
    figure, axes = _canvas(140, 89, (-74, 155), (-20, 125))
    axes.add_patch(Rectangle((-14, -16), WIDTH + 28, HEIGHT + 36, color=BENCH, zorder=0))
    axes.add_patch(Rectangle((0, 0), WIDTH, HEIGHT, facecolor=PAPER, edgecolor="white", zorder=1))
    across = np.linspace(1.5, WIDTH - 1.5, 90)
    axes.plot(across, ORIGIN + 0.12 * np.sin(across / 7), color=PENCIL, lw=1.1, zorder=2)
    axes.plot(across, FRONT + 0.5 * np.sin(across / 17), color=PENCIL, lw=1.1, zorder=2)
    for x, y, a, b, colour in SPOTS:
        axes.add_patch(Ellipse((x, y), 2 * a, 2 * b, color=colour, alpha=0.75, lw=0, zorder=3))
    for x, name in zip((16, 34, 52, 68), "ABCD", strict=True):
        axes.text(x, 7.5, name, color=PENCIL, size=8, ha="center", va="center", zorder=3)
    for x, y in ((3, 3), (7, 3), (3, 7)):
        axes.add_patch(Circle((x, y), 0.8, color=INK, zorder=3))
    left = (
        ((1, FRONT), "front:", "pencil, at once,", "from edge to edge"),
        ((13, 68), "spots: no", "pencil around them"),
        ((1, ORIGIN), "origin line:", "pencil, straight,", "from edge to edge"),
        ((3, 5), "corner mark:", "three discs, 1.6 mm", "wide, 4 mm apart,", "3 mm from the edges"),
    )
    for (at, *words), y in zip(left, (94, 66, 37, 8), strict=True):
        _label(axes, at, (-19, y), words, "right")
    right = (
        ((WIDTH, 100), "all four corners,", "nothing over an edge"),
        ((87, 76), "bench: plain, dark,", "all around the sheet"),
        ((68, 42), "blank paper between", "lanes 10 mm and more", "apart: from it comes", "the uncertainty"),
        ((68, 7.5), "names of the lanes", "below the origin line"),
    )
    for (at, *words), y in zip(right, (114, 84, 54, 14), strict=True):
        _label(axes, at, (99, y), words, "left")
    return _saved(figure, "What should be seen in the picture of a sheet")


def camera() -> bytes:
    """Draw from the side why one goes far away and lays the sheet flat."""
    figure, axes = _canvas(150, 84, (-4, 232), (-31, 102))
    cases = (
        (36, 40, 10.0, "near, sheet bulges", ("a point of the bulge", "is seen far from", "where it belongs")),
        (116, 84, 10.0, "far, sheet bulges", ("twice as far:", "half the error")),
        (196, 84, 0.0, "far, sheet flat", ("glass or weights at", "the edges: no error")),
    )
    for middle, high, bulge, title, words in cases:
        _bench(axes, middle)
        _view(axes, middle, high, bulge)
        axes.text(middle, -8, title, size=8, weight="bold", color=INK, ha="center", va="center")
        for number, word in enumerate(words):
            axes.text(middle, -12.5 - 5.6 * number, word, size=7.5, color=INK, ha="center", va="top")
    axes.text(36, 52, "camera", size=7.5, color=INK, ha="center", va="bottom")
    for x in (116, 196):
        axes.text(x, 96, "camera, straight above", size=7.5, color=INK, ha="center", va="bottom")
    _label(axes, (42, 9.0), (60, 32), ("height h of", "the bulge"), "left")
    _label(axes, (19.5, -2.2), (15, 26), ("error", "r h / Z"), "right")
    _label(axes, (116, 54), (132, 66), ("distance Z,", "zoom 2 x"), "left")
    _label(axes, (176, 1.6), (166, 24), ("glass,", "no glare"), "right")
    return _saved(figure, "Why to photograph from far and to lay the sheet flat")


def _bench(axes: Axes, middle: float) -> None:
    axes.add_patch(Rectangle((middle - 30, -4.5), 60, 3.5, color=BENCH))


def _view(axes: Axes, middle: float, high: float, bulge: float) -> None:
    """Draw a camera, the sheet below it, and the ray through a point of the sheet down to the bench; not to scale."""
    half = 22.0
    x = np.linspace(-half, half, 60)
    y = bulge * (1 - (x / half) ** 2)
    axes.plot(middle + x, y - 0.6, color="#c9a227", lw=2.6, solid_capstyle="butt", zorder=3)
    if not bulge:
        axes.add_patch(Rectangle((middle - half - 2, 0.2), 2 * half + 4, 1.6, color="#bcd6e6", alpha=0.9, zorder=4))
    axes.add_patch(Rectangle((middle - 6, high), 12, 7, color=INK, zorder=3))
    axes.add_patch(Polygon([(middle - 2.5, high), (middle + 2.5, high), (middle, high - 3)], color=INK, zorder=3))
    for side in (-half, half):
        axes.plot([middle, middle + side], [high - 3, -0.6], color=PENCIL, lw=0.7, ls=":", zorder=1)
    point = -15.0
    lifted = bulge * (1 - (point / half) ** 2) - 0.6
    seen = point * (high - 3 + 0.6) / (high - 3 - lifted)
    axes.plot([middle, middle + seen], [high - 3, -0.6], color=ACCENT, lw=1.0, zorder=2)
    axes.plot([middle + point], [lifted], "o", color=ACCENT, ms=4, zorder=5)
    if bulge:
        ends = ((middle + point, -2.4), (middle + seen, -2.4))
        axes.plot([middle + point] * 2, [lifted, -2.4], color=ACCENT, lw=0.8, ls="--", zorder=2)
        axes.plot(*zip(*ends, strict=True), color="#d55e00", lw=4.0, solid_capstyle="butt", zorder=6)


def _label(axes: Axes, at: tuple[float, float], text: tuple[float, float], words: Sequence[str], side: str) -> None:
    """Write a few short lines and draw an arrow from them to a place; side says where the text is aligned."""
    x, y = text
    for number, word in enumerate(words):
        axes.text(x, y - 6.2 * number, word, size=8, color=INK, ha=side, va="center")
    gap = 1.5 if side == "right" else -1.5
    arrow = FancyArrowPatch((x + gap, y), at, arrowstyle="-|>", mutation_scale=7, color=ACCENT, lw=0.9, zorder=7)
    axes.add_patch(arrow)


def _canvas(wide: float, high: float, x: tuple[float, float], y: tuple[float, float]) -> tuple[Figure, Axes]:
    """Give an empty figure of so many millimetres whose axes are not seen."""
    figure = Figure(figsize=(wide / 25.4, high / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=x, ylim=y, aspect="equal")
    axes.axis("off")
    return figure, axes


def _saved(figure: Figure, title: str) -> bytes:
    made = BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "lanewise", "svg.fonttype": "path"}):
        figure.savefig(made, format="svg", facecolor="white", metadata={"Title": title, "Date": None, "Creator": None})
    return made.getvalue()
