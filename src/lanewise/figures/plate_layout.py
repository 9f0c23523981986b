"""Where everything goes in the picture of a plate, worked out before anything is drawn.

Along the run all is true to scale. Across it nothing was read: lanes stand evenly spaced, spots are equally wide. Sizes
on paper are millimetres of paper; a position divided by ``scale`` is one of the plate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from lanewise.figures.lettering import STAND_IN, STAND_IN_NOTE, line_height, printable, spread, text_width, wrap
from lanewise.figures.look import PAGE_HEIGHT, PAGE_WIDTH, SMALL, TEXT, TITLE
from lanewise.figures.plate_symbols import HALF_WIDTH, kind_of, label_anchor, symbol_ends
from lanewise.figures.seen import LaneSeen, SpotSeen
from lanewise.figures.words import STATE_WORDS, millimetres, rf_short

SCALES = (1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 10)
PITCH = 12.0  # distance of two lanes
RULER, SIDE, LAST, MARGIN = 14.0, 7.0, 11.0, 17.0  # left of the sheet, to the first lane, after the last, right
LABEL = 6.2  # pt, beside a spot
LABEL_GAP = 0.5
LABEL_ROOM = PITCH - 2 * HALF_WIDTH - LABEL_GAP - 0.2
LEADER_GAP, FAR = 1.6, 2.5  # more room for leaders where a label had to move that far away
UNDER_ORIGIN, OVER_FRONT, FRONT_VALUES = 5.0, 5.0, 3.0
NARROWEST = 120.0
NAME_ROOM = PITCH - 1.0
PANEL_GAP = 3.0
ROTATED_ROOM, ROTATED_LINES, NAME_LINES = 42.0, 3, 3
LEGEND_COLUMNS, LEGEND_SYMBOL = 2, 7.0
MODES = ("colour in full and Rf", "colour and Rf", "Rf", "state")
BESIDE = {
    MODES[0]: "Beside each spot: its colour and Rf.",
    MODES[1]: "Beside each spot: its colour and Rf.",
    MODES[2]: "Beside each spot: its Rf.",
    MODES[3]: "The spots lie too close for a number beside each: the values stand in the description.",
}
NOT_READ = (
    "Lanes are drawn evenly spaced, spots equally wide and the edge of the sheet freely: the readings say nothing of "
    "these."
)


@dataclass(frozen=True, slots=True)
class Label:
    """The text beside a spot.

    Attributes
    ----------
    lines : tuple of str
        From top to bottom.
    middle : float
        Where their middle stands along the run. [mm of the plate]
    gap : float
        Room between the symbol and the text. [mm of paper]
    leader : bool
        Whether a thin line leads from the spot to the text.
    """

    lines: tuple[str, ...]
    middle: float
    gap: float
    leader: bool

    @property
    def room(self) -> float:
        """Width for the text. [mm of paper]."""
        return LABEL_ROOM - self.gap + LABEL_GAP


@dataclass(frozen=True, slots=True)
class PlateLayout:
    """Everything that is drawn, and where.

    Attributes
    ----------
    scale : float
        Millimetres of paper for one of the plate.
    panels : tuple of tuples of LaneSeen
        The lanes, in rows one under the other where they are many.
    bottom, top : float
        Edges of the sheet as drawn. [mm of the plate]
    labels : mapping of row to Label
        Beside each spot that has a place.
    names : mapping of lane to lines
        What stands under the sheet.
    rotated : bool
        Whether these run upwards.
    names_height, width, height : float
        Room under the sheet, size of the picture. [mm of paper]
    title, subtitle, legend, notes
        Texts, broken into lines; the legend as pairs of a kind of symbol and its lines.
    """

    scale: float
    panels: tuple[tuple[LaneSeen, ...], ...]
    bottom: float
    top: float
    labels: dict[int, Label]
    names: dict[str, tuple[str, ...]]
    rotated: bool
    names_height: float
    width: float
    height: float
    title: tuple[str, ...]
    subtitle: tuple[str, ...]
    legend: tuple[tuple[str, tuple[str, ...]], ...]
    notes: tuple[str, ...]

    @property
    def panel_height(self) -> float:
        """Height of one row of lanes with the names under it. [mm of paper]."""
        return (self.top - self.bottom) * self.scale + self.names_height


def lay_out(plate: str, system: str, layer: str, lanes: Sequence[LaneSeen]) -> PlateLayout:
    """Choose scale, rows, labels and texts for one plate.

    The first scale is taken at which the picture is not larger than `PAGE_WIDTH` by `PAGE_HEIGHT`; with more lanes
    than fit even then it grows in height.
    """
    fit = int((PAGE_WIDTH - RULER - SIDE - LAST - MARGIN) // PITCH) + 1
    rows = ceil(len(lanes) / fit)
    per_row = ceil(len(lanes) / rows)
    panels = tuple(tuple(lanes[start : start + per_row]) for start in range(0, len(lanes), per_row))
    width = max(NARROWEST, RULER + SIDE + PITCH * (per_row - 1) + LAST + MARGIN)
    names, rotated, names_height = _names(lanes)
    title = wrap(printable(f"Plate {plate}"), width - 2, TITLE, "bold", most=2)
    subtitle = wrap(printable(", ".join(part for part in (system, layer) if part)), width - 2, TEXT, most=3)
    for scale in SCALES:
        bottom, top = _ends(lanes, scale)
        labels, mode = _labels(lanes, scale, bottom, top)
        legend = _legend(lanes, width)
        notes = _notes(scale, mode, (plate, system, layer, lanes), width)
        panel = (top - bottom) * scale + names_height + PANEL_GAP
        frame = header_height(title, subtitle) + legend_height(legend) + notes_height(notes)
        height = frame + rows * panel
        if height <= PAGE_HEIGHT:
            break
    return PlateLayout(
        scale=scale,
        panels=panels,
        bottom=bottom,
        top=top,
        labels=labels,
        names=names,
        rotated=rotated,
        names_height=names_height,
        width=width,
        height=height,
        title=title,
        subtitle=subtitle,
        legend=legend,
        notes=notes,
    )


def header_height(title: Sequence[str], subtitle: Sequence[str]) -> float:
    """Height of the heading. [mm of paper]."""
    return len(title) * line_height(TITLE) + len(subtitle) * line_height(TEXT) + 2.5


def legend_height(legend: Sequence[tuple[str, tuple[str, ...]]]) -> float:
    """Height of the legend, laid out row by row. [mm of paper]."""
    starts = range(0, len(legend), LEGEND_COLUMNS)
    return 2.0 + sum(legend_row_height(legend[start : start + LEGEND_COLUMNS]) for start in starts)


def legend_row_height(entries: Sequence[tuple[str, tuple[str, ...]]]) -> float:
    """Height of one row of the legend. [mm of paper]."""
    return max(5.0, max(len(lines) for _, lines in entries) * line_height(SMALL) + 1.0)


def notes_height(notes: Sequence[str]) -> float:
    """Height of the notes at the foot. [mm of paper]."""
    return len(notes) * line_height(SMALL) + 2.0


def uneven(lanes: Sequence[LaneSeen], line: str) -> bool:
    """Tell whether a line, ``origin`` or ``front``, differs by lane."""
    return len({getattr(lane, line) for lane in lanes} - {None}) > 1


def spot_lines(spot: SpotSeen, mode: str) -> tuple[str, ...]:
    """Give the lines of text beside a spot."""
    colour: tuple[str, ...] = ()
    if mode in MODES[:2]:
        colour = wrap(printable(spot.colour), LABEL_ROOM * 1.15, LABEL, most=2 if mode == MODES[0] else 1)
    value = rf_short(spot) if mode in MODES[:3] else ""
    return tuple(line for line in (*colour, STATE_WORDS.get(spot.state, ""), value) if line)


def unplaced_lines(lane: LaneSeen) -> tuple[str, ...]:
    """Give the lines over the front for spots that were seen without a place."""
    found = [spot for spot in lane.spots if kind_of(spot) == "no place"]
    words = [f"{STATE_WORDS.get(spot.state, 'no place')} {spot.colour or spot.spot}" for spot in found]
    return tuple(line for word in words for line in wrap(printable(word), LABEL_ROOM, LABEL, most=2))


def _ends(lanes: Sequence[LaneSeen], scale: float) -> tuple[float, float]:
    """Edges of the sheet as drawn: the zero of the ruler where it can be the lower edge, room at both ends."""
    origins = [lane.origin for lane in lanes if lane.origin is not None]
    placed = [spot for lane in lanes for spot in lane.spots if kind_of(spot) not in ("", "no place")]
    ends = [symbol_ends(spot, scale) for spot in placed]
    fronts = [lane.front for lane in lanes if lane.front is not None]
    lowest = min([*origins, *(low for low, _ in ends)], default=0.0)
    highest = max([*origins, *fronts, *(high for _, high in ends)], default=60.0)
    bottom = lowest - UNDER_ORIGIN / scale
    if bottom >= 0 and lowest <= 30:
        bottom = 0.0
    over = OVER_FRONT + (FRONT_VALUES if uneven(lanes, "front") else 0.0)
    over += max(len(unplaced_lines(lane)) for lane in lanes) * line_height(LABEL)
    return bottom, highest + over / scale


def _labels(lanes: Sequence[LaneSeen], scale: float, bottom: float, top: float) -> tuple[dict[int, Label], str]:
    """Place the labels lane by lane, with as much said as fits every lane; at worst leave out what does not fit."""
    for mode in MODES:
        labels: dict[int, Label] = {}
        crowded = False
        for lane in lanes:
            placed = _lane_labels(lane, mode, scale, bottom, top)
            crowded = crowded or placed is None
            labels |= placed or {}
        if not crowded:
            break
    return labels, mode


def _lane_labels(lane: LaneSeen, mode: str, scale: float, bottom: float, top: float) -> dict[int, Label] | None:
    spots = [spot for spot in lane.spots if kind_of(spot) not in ("", "no place") and spot_lines(spot, mode)]
    lines = [spot_lines(spot, mode) for spot in spots]
    heights = [len(block) * line_height(LABEL) + 0.6 for block in lines]
    wanted = [label_anchor(spot, scale) * scale for spot in spots]
    order = sorted(range(len(spots)), key=wanted.__getitem__)
    low = bottom * scale + 0.5
    high = top * scale - 0.5 - len(unplaced_lines(lane)) * line_height(LABEL)
    inner_low = low if lane.origin is None else lane.origin * scale + 0.3
    inner_high = high if lane.front is None else lane.front * scale - 0.3
    wanted, heights = [wanted[place] for place in order], [heights[place] for place in order]
    for ends in ((inner_low, inner_high), (inner_low, high), (low, high)):
        middles = spread(wanted, heights, *ends)
        if middles is None:
            continue
        # where each would stand if it were alone in the lane
        alone = [min(max(y, ends[0] + h / 2), ends[1] - h / 2) for y, h in zip(wanted, heights, strict=True)]
        far = max((abs(middle - y) for middle, y in zip(middles, alone, strict=True)), default=0.0) > FAR
        return {
            spots[place].row: Label(
                lines=lines[place],
                middle=middle / scale,
                gap=LEADER_GAP if far else LABEL_GAP,
                leader=abs(middle - own) > 0.4 or abs(middle - anchor) > height / 2,
            )
            for place, middle, own, anchor, height in zip(order, middles, alone, wanted, heights, strict=True)
        }
    return None


def _names(lanes: Sequence[LaneSeen]) -> tuple[dict[str, tuple[str, ...]], bool, float]:
    """Break the names under the sheet into lines: upright in short lines where all fit, else running upwards."""
    upright: dict[str, tuple[str, ...]] = {}
    rotated: dict[str, tuple[str, ...]] = {}
    fits = True
    for lane in lanes:
        name = printable(lane.sample) if lane.sample != lane.label else ""
        role = lane.role if lane.role in ("standard", "blank") and lane.role != name else ""
        lines = wrap(name, NAME_ROOM, SMALL)
        fits = fits and len(lines) <= NAME_LINES
        fits = fits and all(text_width(word, SMALL) <= NAME_ROOM for word in name.split())
        upright[lane.label] = (*lines, f"({role})") if role else lines
        full = f"{name} ({role})" if role else name
        rotated[lane.label] = wrap(full, ROTATED_ROOM, TEXT, most=ROTATED_LINES)
    if fits:
        return upright, False, max(len(lines) for lines in upright.values()) * line_height(SMALL) + 2.0
    longest = max(text_width(line, TEXT) for lines in rotated.values() for line in lines)
    return rotated, True, longest + 2.5


_LEGEND = {
    "edges": "spot from its trailing to its leading edge; bar: the point read",
    "point": "only the point was read: the size of the spot is not to scale",
    "streak": "streak from edge to edge; diamond: its darkest point",
    "at origin": "stayed at the origin: its Rf has an upper bound only",
    "with front": "ran with the front: its Rf has a lower bound only",
    "unread": "seen but not measured; over the front: place not known",
}


def _legend(lanes: Sequence[LaneSeen], width: float) -> tuple[tuple[str, tuple[str, ...]], ...]:
    kinds = {kind_of(spot) for lane in lanes for spot in lane.spots}
    if "no place" in kinds:
        kinds.add("unread")
    room = width / LEGEND_COLUMNS - LEGEND_SYMBOL - 2
    return tuple((kind, wrap(text, room, SMALL)) for kind, text in _LEGEND.items() if kind in kinds)


def _notes(scale: float, mode: str, texts: tuple[str, str, str, Sequence[LaneSeen]], width: float) -> tuple[str, ...]:
    notes = [f"{scale_words(scale)} {BESIDE[mode]} {NOT_READ}"]
    plate, system, layer, lanes = texts
    own = [lane.label + lane.sample + "".join(spot.colour for spot in lane.spots) for lane in lanes]
    if STAND_IN in printable("".join((plate, system, layer, *own))):
        notes.append(STAND_IN_NOTE)
    return tuple(line for note in notes for line in wrap(note, width - 2, SMALL))


def scale_words(scale: float) -> str:
    """Say the scale in words.

    Examples
    --------
    >>> scale_words(0.5)
    'Scale 1:2, 1 mm on paper is 2 mm on the plate.'
    """
    return f"Scale 1:{round(1 / scale)}, 1 mm on paper is {millimetres(1 / scale)} mm on the plate."
