"""Text that fits: signs that the font lacks, widths, line breaks, labels that do not cover each other.

One font, DejaVu Sans as it comes with matplotlib, named by its file: pictures look the same on every machine.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import matplotlib
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FT2Font
from matplotlib.textpath import text_to_path

MM_PER_POINT = 25.4 / 72
LINE_SPACING = 1.2
STAND_IN = "\u25af"  # white vertical rectangle, for a sign that the font lacks
STAND_IN_NOTE = f"{STAND_IN} stands for a sign that this font lacks; the description has the full text."
MORE = "\u2026"

_FILES = {"regular": "DejaVuSans.ttf", "bold": "DejaVuSans-Bold.ttf", "italic": "DejaVuSans-Oblique.ttf"}


@cache
def font(style: str = "regular") -> FontProperties:
    """Give the font of all figures: ``regular``, ``bold`` or ``italic``."""
    return FontProperties(fname=_file(style))


def printable(text: str) -> str:
    r"""Give a text as one line that the font can draw.

    Line breaks and tabs become a space. Joiners and variation selectors, which have no shape of their own, are left
    out. A control character, a mark that turns the reading direction, half of a surrogate pair and any sign that
    the font lacks become U+25AF, the white rectangle: nothing that is seen is dropped in silence.

    Examples
    --------
    >>> printable("blue\nink $x_")
    'blue ink $x_'
    >>> printable("ink \U0001F58B\uFE0F!") == "ink \u25af!"
    True
    """
    known = _signs()
    shown = []
    for sign in text:
        if sign.isspace():
            shown.append(" ")
        elif sign in "\u200c\u200d" or "\ufe00" <= sign <= "\ufe0f":
            continue
        else:
            kind = unicodedata.category(sign)
            shown.append(sign if ord(sign) in known and kind not in ("Cc", "Cf", "Cs", "Cn", "Co") else STAND_IN)
    return " ".join("".join(shown).split())


def text_width(text: str, size: float, style: str = "regular") -> float:
    """Width of a printable text on paper. [mm].

    Parameters
    ----------
    text : str
        Printable text in one line.
    size : float
        Size of the letters. [pt]
    style : {"regular", "bold", "italic"}
    """
    if not text:
        return 0.0
    return size * _em_width(text, style) * MM_PER_POINT


def line_height(size: float) -> float:
    """Distance of two lines of text on paper. [mm]."""
    return size * LINE_SPACING * MM_PER_POINT


def wrap(text: str, width: float, size: float, style: str = "regular", most: int = 99) -> tuple[str, ...]:
    """Break a printable text into lines.

    Parameters
    ----------
    text : str
        Printable text in one line.
    width : float
        Room for a line. [mm]
    size : float
        Size of the letters. [pt]
    style : {"regular", "bold", "italic"}
    most : int
        Most lines; what does not fit is cut and marked with U+2026.

    Returns
    -------
    tuple of str
        At least one line, broken at spaces and after hyphens; a word longer than a line is broken within.
    """
    lines: list[str] = [""]
    for gap, piece in _pieces(text):
        longer = f"{lines[-1]}{gap}{piece}" if lines[-1] else piece
        if text_width(longer, size, style) <= width:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for sign in piece:
            if lines[-1] and text_width(lines[-1] + sign, size, style) > width:
                lines.append("")
            lines[-1] += sign
    if len(lines) <= most:
        return tuple(lines)
    return (*lines[: most - 1], shorten(f"{lines[most - 1]} {lines[most]}", width, size, style))


def shorten(text: str, width: float, size: float, style: str = "regular") -> str:
    """Cut a printable text to a width and mark the cut with U+2026; unchanged where it fits. Width in mm."""
    if text_width(text, size, style) <= width:
        return text
    short = text
    while short and text_width(short + MORE, size, style) > width:
        short = short[:-1].rstrip()
    return short + MORE


def size_that_fits(text: str, width: float, size: float, least: float) -> float:
    """Give the size at which a text fits a width, not above `size` and not below `least`. Sizes in pt, width in mm."""
    needed = text_width(text, size)
    return size if needed <= width else max(least, size * width / needed)


def spread(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float] | None:
    """Move labels up and down, as little as possible, until none covers another.

    Parameters
    ----------
    wanted : sequence of L floats, ascending
        Where the middles of the labels should be. [mm]
    heights : sequence of L floats
        Their heights. [mm]
    low, high : float
        Ends of the room for them. [mm]

    Returns
    -------
    list of float or None
        Middles of the labels, in the order given, with the least sum of squared shifts; None where they do not fit.

    Examples
    --------
    >>> [round(y, 3) for y in spread([10, 11, 30], [4, 4, 4], 0, 40)]
    [8.5, 12.5, 30.0]
    >>> spread([10, 11], [4, 4], 8, 14) is None
    True
    """
    if not wanted:
        return []
    if sum(heights) > high - low + 1e-9:
        return None
    from scipy.optimize import isotonic_regression

    below = [sum(heights[:place]) + height / 2 for place, height in enumerate(heights)]
    shifted = [middle - under for middle, under in zip(wanted, below, strict=True)]
    start = isotonic_regression(shifted).x
    most = high - sum(heights)
    return [float(min(max(value, low), most) + under) for value, under in zip(start, below, strict=True)]


def _pieces(text: str) -> Iterator[tuple[str, str]]:
    """Give the parts of a text that stay whole, each with what stands before it on the same line."""
    for word in text.split():
        for number, part in enumerate(re.findall("[^-]*-|[^-]+", word)):
            yield "" if number else " ", part


def _file(style: str) -> Path:
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / _FILES[style]


@cache
def _signs() -> frozenset[int]:
    """Signs that all three styles of the font can draw."""
    return frozenset.intersection(*(frozenset(FT2Font(str(_file(style))).get_charmap()) for style in _FILES))


@cache
def _em_width(text: str, style: str) -> float:
    width, _, _ = text_to_path.get_text_width_height_descent(text, font(style), False)
    return float(width) / font(style).get_size_in_points()
