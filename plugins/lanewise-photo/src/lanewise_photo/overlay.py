"""An SVG picture over the photograph that shows what was read, for a person to confirm."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from html import escape
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flags import Flag
from lanewise_photo.lines import Line
from lanewise_photo.reading import LaneReading, PhotoReading, SheetReading, SpotReading
from lanewise_photo.shown import MEANINGS, SHAPES, photograph, reading_in_words, spot_in_words

Array: TypeAlias = npt.NDArray[np.float64]

MOST = 1600
"""Longer side of the photograph that is embedded. [px]"""

_STYLE = """
.under{fill:none;stroke:#fff;stroke-linecap:round;stroke-linejoin:round;opacity:.9}
.over{fill:none;stroke:#10243e;stroke-linecap:round;stroke-linejoin:round}
.hand{fill:#10243e;stroke:#fff}
.word{fill:#10243e;stroke:#fff;paint-order:stroke;stroke-linejoin:round;font-family:sans-serif}
.band{fill:#fff}.text{fill:#10243e;font-family:sans-serif}
"""


def draw_overlay(reading: PhotoReading, data: bytes, *, link: str = "", most: int = MOST) -> bytes:
    """Draw what was read over the photograph.

    Parameters
    ----------
    reading : PhotoReading
        What was read, corrected or not.
    data : bytes
        Content of the picture's file.
    link : str
        Address of the picture, to link to it instead of embedding a reduced copy.
    most : int
        Longer side of the embedded copy. [px]

    Returns
    -------
    bytes
        SVG, the same for the same reading. Every line is dark on a light rim, so that it is seen on any picture; the
        state of a spot is told by the shape of its mark; the description tells all readings in words.
    """
    photo = photograph(data, most, link)
    left, top, wide, tall = _frame(reading)
    unit = max(wide, tall) / 1000.0
    labels = Labels(unit)
    body = [part for sheet in reading.sheets for part in _sheet(sheet, labels)]
    legend, height = _legend(reading, wide, unit)
    x, y, width, high = photo.box
    share = min(1.0, most / max(wide, tall))
    whole = tall + height
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{_f(left)} {_f(top)} {_f(wide)} {_f(whole)}" '
        f'width="{_f(wide * share)}" height="{_f(whole * share)}" role="img" aria-labelledby="t d">'
    )
    parts = [
        head,
        f'<title id="t">What was read from {escape(reading.name)}</title>',
        f'<desc id="d">{escape(reading_in_words(reading))}</desc>',
        f"<style>{_STYLE}</style>",
        f'<image href="{escape(photo.href)}" x="{_f(x)}" y="{_f(y)}" width="{_f(width)}" height="{_f(high)}" '
        'preserveAspectRatio="none"/>',
        *body,
        f'<g transform="translate({_f(left)} {_f(top + tall)})">',
        *legend,
        "</g></svg>\n",
    ]
    return "\n".join(parts).encode()


def _frame(reading: PhotoReading) -> tuple[float, float, float, float]:
    """Frame the sheets and some of what is round them: left, top, width and height. [px]."""
    corners = np.concatenate([sheet.corners for sheet in reading.sheets])
    low, high = corners.min(axis=0), corners.max(axis=0)
    rim = 0.06 * (high - low).max() + 10.0
    low = np.maximum(low - rim, -0.5)
    high = np.minimum(high + rim, np.array([reading.width, reading.height]) - 0.5)
    return float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1])


def _f(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _path(points: Array) -> str:
    return "M" + "L".join(f"{_f(x)} {_f(y)}" for x, y in points)


def _stroke(path: str, width: float, dash: str = "", extra: str = "") -> str:
    """Draw a path twice, dark on a light rim."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    under = f'<path class="under" d="{path}" stroke-width="{_f(2.4 * width)}"{extra}/>'
    return f'{under}<path class="over" d="{path}" stroke-width="{_f(width)}"{dashed}{extra}/>'


def _word(at: Array, text: str, unit: float, size: float = 15.0, anchor: str = "start") -> str:
    return (
        f'<text class="word" x="{_f(at[0])}" y="{_f(at[1])}" dy=".35em" font-size="{_f(size * unit)}" '
        f'stroke-width="{_f(0.28 * size * unit)}" text-anchor="{anchor}">{escape(text)}</text>'
    )


def _sheet(sheet: SheetReading, labels: Labels) -> Iterable[str]:
    mapping, unit = sheet.mapping, labels.unit
    t = np.linspace(0.0, 1.0, 25)
    w, h, zero, one = mapping.width, mapping.height, np.zeros_like(t), np.ones_like(t)
    sides = ((t * w, zero), (w * one, t * h), (w - t * w, h * one), (zero, h - t * h))
    rim = _path(mapping.pixels(np.concatenate([np.stack(side, axis=1) for side in sides])))
    outline = _stroke(rim + "Z", 1.2 * unit, f"{_f(8 * unit)} {_f(5 * unit)}")
    yield f"<g><title>sheet {escape(sheet.label)}</title>{outline}</g>"
    for lane in sheet.lanes:
        for spot in lane.spots:
            labels.keep_free(_place(sheet, spot.x, spot.centre), 10.0)
            if spot.state != "unread":
                for end in (spot.trailing, spot.leading):
                    labels.keep_free(_place(sheet, spot.x, end), 3.0)
    for name, line in (("origin", sheet.origin), ("front", sheet.front)):
        if line is not None:
            yield _line(sheet, line, name, labels)
    for lane in sheet.lanes:
        yield from _lane(sheet, lane, labels)


def _place(sheet: SheetReading, x: float, y: float) -> Array:
    """Give the pixels of a place, which is kept on the sheet. [px]."""
    return np.asarray(sheet.mapping.pixels(np.array([[x, min(max(y, 0.0), sheet.mapping.height)]]))[0])


def _line(sheet: SheetReading, line: Line, name: str, labels: Labels) -> str:
    unit = labels.unit
    x = np.linspace(0.0, sheet.mapping.width, 33)
    points = sheet.mapping.pixels(np.stack([x, np.broadcast_to(line.at(x), x.shape)], axis=1))
    dash = "" if name == "origin" else f"{_f(14 * unit)} {_f(4 * unit)} {_f(2 * unit)} {_f(4 * unit)}"
    start = points[1] - np.array([0.0, 10 * unit])
    word = labels.first_free(name, 14.0, [(start, "start"), (points[-2] - np.array([0.0, 10 * unit]), "end")])
    for point in points:
        labels.keep_free(point, 4.0)
    return f"<g><title>{name}, {line.kind}</title>{_stroke(_path(points), 1.6 * unit, dash)}{word}</g>"


def _lane(sheet: SheetReading, lane: LaneReading, labels: Labels) -> Iterable[str]:
    unit = labels.unit
    foot = _place(sheet, lane.x, max(0.5, lane.origin - 0.06 * sheet.mapping.height))
    top = sheet.mapping.height if lane.front is None else lane.front
    run = sheet.mapping.pixels(np.array([[lane.x, lane.origin], [lane.x, top]]))
    yield _stroke(_path(run), 0.7 * unit, f"{_f(2 * unit)} {_f(7 * unit)}")
    whole = f"{lane.label} {lane.sample}".strip()
    steps = [(foot + np.array([0.0, step * unit]), "middle") for step in (0.0, 19.0, 38.0)]  # long names go in stairs
    yield labels.first_free(whole, 16.0, steps)
    for spot in lane.spots:
        yield _spot(sheet, lane, spot, labels)


def _spot(sheet: SheetReading, lane: LaneReading, spot: SpotReading, labels: Labels) -> str:
    mapping, unit = sheet.mapping, labels.unit
    slopes = mapping.slopes(np.array([[spot.x, min(max(spot.centre, 0.0), mapping.height)]]))[0]
    half = 9.0 * unit / float(np.sqrt(abs(np.linalg.det(slopes))))  # of the bars, in millimetres
    parts = [f"<title>lane {escape(lane.label)}, {escape(spot_in_words(spot))}</title>"]
    if spot.state != "unread":
        bars = [[_place(sheet, spot.x + x, y) for x in (-half, half)] for y in (spot.trailing, spot.leading)]
        stem = [_place(sheet, spot.x, y) for y in (spot.trailing, spot.leading)]
        parts.append(_stroke(" ".join(_path(np.stack(ends)) for ends in [*bars, stem]), 1.3 * unit))
    centre = _place(sheet, spot.x, spot.centre)
    size = 6.0 * unit
    scaled = f' transform="translate({_f(centre[0])} {_f(centre[1])}) scale({_f(size)})"'
    parts.append(_stroke(SHAPES[spot.state], 1.8 * unit / size, extra=scaled))
    if spot.by:
        parts.append(_dot(centre[0], centre[1], 2.4 * unit))
    colour = spot.colour.word if spot.colour is not None else ""
    telling = " !" * any(map(_telling, spot.flags))
    beside = labels.beside(centre, f"{spot.label} {colour}".strip() + telling, spot.label + telling)
    return f"<g>{''.join(parts)}{beside}</g>"


class Labels:
    """Words in the picture, each put where nothing else is written or marked.

    Parameters
    ----------
    unit : float
        A thousandth of the longer side of what is shown. [px]
    """

    def __init__(self, unit: float) -> None:
        self.unit = unit
        self._taken: list[Array] = []

    def keep_free(self, at: Array, half: float) -> None:
        """Let nothing be written round a mark."""
        self._taken.append(np.concatenate([at - half * self.unit, at + half * self.unit]))

    def beside(self, at: Array, text: str, short: str) -> str:
        """Write beside a mark, in short where there is no room for all."""
        places = [
            (at + np.array([side * 13.0, up]) * self.unit, "start" if side > 0 else "end")
            for up in (0.0, -11.0, 11.0)
            for side in (1, -1)
        ]
        for words in (text, short):
            for place, anchor in places:
                if self._free(self._box(place, words, 13.0, anchor)):
                    return self.first_free(words, 13.0, [(place, anchor)])
        return self.first_free(short, 13.0, places)

    def first_free(self, text: str, size: float, places: Sequence[tuple[Array, str]]) -> str:
        """Write at the first place where nothing is, or at the first of all."""
        boxes = [self._box(at, text, size, anchor) for at, anchor in places]
        chosen = next((number for number, box in enumerate(boxes) if self._free(box)), 0)
        self._taken.append(boxes[chosen])
        at, anchor = places[chosen]
        return _word(at, text, self.unit, size, anchor)

    def _free(self, box: Array) -> bool:
        return not any(
            box[0] < one[2] and one[0] < box[2] and box[1] < one[3] and one[1] < box[3] for one in self._taken
        )

    def _box(self, at: Array, text: str, size: float, anchor: str) -> Array:
        """Left, top, right and bottom of a word, with letters of 0.58 of their size (a usual width of plain type)."""
        width, half = 0.58 * size * self.unit * len(text), 0.55 * size * self.unit
        left = at[0] - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
        return np.array([left, at[1] - half, left + width, at[1] + half])


def _legend(reading: PhotoReading, width: float, unit: float) -> tuple[list[str], float]:
    """Explain the marks, and tell what may be wrong, in a white band below the photograph."""
    size = 15.0 * unit
    states = dict.fromkeys(spot.state for sheet in reading.sheets for lane in sheet.lanes for spot in lane.spots)
    keys: list[tuple[str, str]] = [(SHAPES[state], MEANINGS[state]) for state in SHAPES if state in states]
    parts, y = [], 1.6 * size
    for shape, meaning in keys:
        place = f' transform="translate({_f(1.6 * size)} {_f(y)}) scale({_f(0.4 * size)})"'
        parts.append(_stroke(shape, 0.3, extra=place))
        parts.append(_text(2.8 * size, y, meaning, size))
        y += 1.6 * size
    if any(spot.by for sheet in reading.sheets for lane in sheet.lanes for spot in lane.spots):
        parts.append(_dot(1.6 * size, y, 0.3 * size))
        parts.append(_text(2.8 * size, y, "a dot within: marked by a person", size))
        y += 1.6 * size
    for line in _remarks(reading, int((width - 2.4 * size) / (0.48 * size))):
        parts.append(_text(1.2 * size, y, line, size))
        y += 1.4 * size
    height = y - 0.4 * size
    return [f'<rect class="band" width="{_f(width)}" height="{_f(height)}"/>', *parts], height


def _remarks(reading: PhotoReading, columns: int) -> Iterable[str]:
    spots = [spot for sheet in reading.sheets for lane in sheet.lanes for spot in lane.spots]
    marked = " An exclamation mark: see below." if any(map(_telling, (flag for s in spots for flag in s.flags))) else ""
    yield from textwrap.wrap(f"Short bars: the two edges of a spot.{marked}", columns)
    said: dict[str, list[str]] = {}
    for sheet in reading.sheets:
        which = f"sheet {sheet.label}" if len(reading.sheets) > 1 else ""
        for flag in sheet.flags:
            said.setdefault(f"{flag.sentence}. {flag.advice}", []).append(which)
        for lane in sheet.lanes:
            place = f"{which} lane {lane.label}".strip()
            for flag in lane.flags:
                said.setdefault(f"{flag.sentence}. {flag.advice}", []).append(place)
            for spot in lane.spots:
                for flag in filter(_telling, spot.flags):
                    said.setdefault(f"{flag.sentence}. {flag.advice}", []).append(f"{place} spot {spot.label}")
    for sentence, places in said.items():
        where = ", ".join(dict.fromkeys(place for place in places if place))
        whole = f"{where}: {sentence}" if where else sentence
        yield from textwrap.wrap((whole[0].upper() + whole[1:]).strip(), columns, subsequent_indent="    ")


def _telling(flag: Flag) -> bool:
    """Whether a flag says more than the shape of the mark does."""
    return flag.code not in {"at_origin", "with_front"}


def _text(x: float, y: float, text: str, size: float) -> str:
    place = f'x="{_f(x)}" y="{_f(y)}" dy=".35em" font-size="{_f(size)}"'
    return f'<text class="text" xml:space="preserve" {place}>{escape(text)}</text>'


def _dot(x: float, y: float, r: float) -> str:
    return f'<circle class="hand" cx="{_f(x)}" cy="{_f(y)}" r="{_f(r)}" stroke-width="{_f(r / 3)}"/>'
