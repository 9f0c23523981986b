"""How figures look: colours, sizes, and the way from a drawing to bytes.

Line colours are the palette of Okabe and Ito (Color Universal Design; from memory), put into an order in which the
first ones differ most to readers without one of the three kinds of cone. Colour never stands alone: shapes, outlines
and words say the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from io import BytesIO
from threading import RLock
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from lanewise import document
from lanewise.figures.lettering import font, printable

MM_PER_INCH = 25.4
PAGE_WIDTH, PAGE_HEIGHT = 170.0, 240.0  # mm, room on upright A4 with ordinary margins
PIXELS_PER_INCH = 200

TITLE, TEXT, SMALL, LEAST = 9.0, 7.0, 6.5, 4.5  # pt
INK, PENCIL, FAINT, BAND = "#1a1a1a", "#555555", "#bbbbbb", "#eef2f5"

SYSTEM_COLOURS = ("#0072b2", "#d55e00", "#56b4e9", "#000000", "#e69f00", "#cc79a7", "#009e73")
SYSTEM_SHAPES = ("o", "s", "^", "D", "v", "P", "X", "h")

_WORDS = {
    "red": "#d62828",
    "pink": "#f48fb1",
    "magenta": "#c2186b",
    "purple": "#7b2d8b",
    "violet": "#7e57c2",
    "blue": "#2962c8",
    "cyan": "#4dc4d9",
    "turquoise": "#2bb5a8",
    "green": "#3d9a50",
    "olive": "#8a8f2a",
    "yellow": "#f7df3a",
    "gold": "#d9a514",
    "orange": "#f28c28",
    "brown": "#8d5a34",
    "black": "#262626",
    "grey": "#9e9e9e",
    "gray": "#9e9e9e",
    "white": "#ffffff",
}
_SHADES = {"dark": "#000000", "deep": "#000000", "light": "#ffffff", "pale": "#ffffff", "faint": "#ffffff"}
_STEMS = {"redd": "red", "grey": "grey", "gray": "gray", "purpl": "purple", "blu": "blue", "oliv": "olive"}

UNKNOWN_HATCH = "...."

_SETTINGS: dict[Any, Any] = {
    "svg.hashsalt": "lanewise",  # names inside the file no longer depend on chance
    "pdf.fonttype": 42,  # letters stay letters
    "text.hinting": "none",  # letters as wide on screen as on paper
    "hatch.linewidth": 0.5,
}
_ONE_AT_A_TIME = RLock()


def spot_fill(colour: str) -> tuple[str, str]:
    """Give fill and hatch for a spot from the word for its colour.

    The word always stands beside the spot as well. Of several words the last names the hue and the others tint it;
    dark, deep, light, pale and faint shade it.

    Parameters
    ----------
    colour : str
        A word or several: ``violet``, ``dark blue``, ``yellow-green``, ``reddish brown``. Case does not matter.

    Returns
    -------
    fill : str
        As ``#rrggbb``; white where no word is known.
    hatch : str
        Empty for a known word, else a pattern of dots.

    Examples
    --------
    >>> spot_fill("Blue"), spot_fill("teal-ish"), spot_fill("")
    (('#2962c8', ''), ('#ffffff', '....'), ('#ffffff', ''))
    """
    words = [_hue_word(word) for word in re.findall("[a-z]+", colour.lower())]
    hues = [_WORDS[word] for word in words if word in _WORDS]
    if not hues:
        return "#ffffff", UNKNOWN_HATCH if colour.strip() else ""
    fill: tuple[float, ...] = to_rgb(hues[-1])
    for other in hues[:-1]:
        fill = _mix(fill, to_rgb(other), 0.35)
    for word in words:
        if word in _SHADES:
            fill = _mix(fill, to_rgb(_SHADES[word]), 0.4)
    return "#" + "".join(f"{round(255 * part):02x}" for part in fill), ""


def system_style(number: int) -> tuple[str, str, bool]:
    """Give colour, marker shape and whether it is filled for the solvent system of that number, from 0.

    Colour and shape differ for each of the first 7; 112 systems pass before a combination comes back.
    """
    shapes, colours = len(SYSTEM_SHAPES), len(SYSTEM_COLOURS)
    filled = number // (shapes * colours) % 2 == 0
    return SYSTEM_COLOURS[number % colours], SYSTEM_SHAPES[number % shapes], filled


def write(
    axes: Axes, x: float, y: float, text: str, *, style: str = "regular", size: float = TEXT, **how: object
) -> None:
    """Write a text that has passed `printable` as it stands: no formulas, no markup."""
    settings = {"va": "center", "ha": "left", "color": INK} | how
    axes.text(x, y, text, parse_math=False, fontproperties=font(style), fontsize=size, **settings)  # type: ignore[arg-type]


def new_figure(width: float, height: float) -> Figure:
    """Make an empty white figure of a size on paper in mm; it belongs to no window and no list."""
    return Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH), facecolor="white")


def add_area(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Add a drawing area without frame, placed in mm from the lower left corner; its own units are mm as well."""
    page_width, page_height = figure.get_size_inches() * MM_PER_INCH
    axes = figure.add_axes((left / page_width, bottom / page_height, width / page_width, height / page_height))
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    axes.set_axis_off()
    return axes


def as_document_figure(
    name: str,
    caption: str,
    description: tuple[str, ...],
    size: tuple[float, float],
    paint: Callable[[Figure], None],
) -> document.Figure:
    """Wrap a drawing for the report.

    Parameters
    ----------
    name, caption, description
        As in `lanewise.document.Figure`.
    size : tuple of 2 floats
        Width and height on paper. [mm]
    paint : callable
        ``paint(figure)`` draws on an empty figure of that size.
    """
    draw = partial(_as_bytes, size, paint, printable(caption))
    return document.Figure(name, caption, description, draw, *size)


@contextmanager
def plain_settings() -> Iterator[None]:
    """Work with matplotlib's own defaults, whatever the user has set, and put the user's settings back afterwards.

    The settings belong to the whole process, so one thread draws at a time.
    """
    with _ONE_AT_A_TIME, matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        yield


def painted(size: tuple[float, float], paint: Callable[[Figure], None]) -> Figure:
    """Give the finished figure of matplotlib, for `_as_bytes` and for tests of what is drawn where."""
    with plain_settings():
        figure = new_figure(*size)
        paint(figure)
    return figure


def _as_bytes(
    size: tuple[float, float], paint: Callable[[Figure], None], title: str, kind: document.FigureKind
) -> bytes:
    metadata: dict[document.FigureKind, dict[str, str | None]] = {
        "svg": {"Date": None, "Creator": None, "Format": None, "Type": None, "Title": title},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None, "Title": title},
        "png": {"Software": None},
    }
    if kind not in metadata:
        raise ValueError(f"wanted a picture as svg, png or pdf, given {kind!r}")
    out = BytesIO()
    with plain_settings():
        figure = new_figure(*size)
        paint(figure)
        figure.savefig(out, format=kind, dpi=PIXELS_PER_INCH, metadata=metadata[kind])
    return out.getvalue()


def _hue_word(word: str) -> str:
    stem = word.removesuffix("ish")
    return _STEMS.get(stem, stem)


def _mix(first: tuple[float, ...], second: tuple[float, ...], share: float) -> tuple[float, ...]:
    return tuple((1 - share) * a + share * b for a, b in zip(first, second, strict=True))
