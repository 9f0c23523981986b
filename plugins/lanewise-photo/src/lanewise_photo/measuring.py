"""The whole way from a picture to what was read."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise.errors import OptionError, UnreadableFile
from lanewise_photo.blobs import Blob, Search, find_blobs
from lanewise_photo.colours import glows
from lanewise_photo.flags import Flag
from lanewise_photo.flat import Flat, flatten, without_line, without_strokes
from lanewise_photo.fronts import LEAST_RUN, Choice, find_front, find_origin
from lanewise_photo.lane_reading import BEYOND, LINE, LaneStrip, lane_model, read_lanes
from lanewise_photo.lanes import (
    HALF_STRIP,
    Rows,
    blank_profiles,
    find_lanes,
    lane_courses,
    lane_profile,
    lane_rows,
    lean_of,
)
from lanewise_photo.lines import Line, Strips, strips
from lanewise_photo.noise import Noise, blank_noise, rounding_of
from lanewise_photo.orientation import opposite, placed_upright
from lanewise_photo.picture import PictureFile
from lanewise_photo.placing import Placed, outlines, place, refuse
from lanewise_photo.reading import LaneReading, PhotoReading, SheetReading
from lanewise_photo.settings import Settings
from lanewise_photo.shadows import COVERED, NEAR, Crossing, find_crossing

Array: TypeAlias = npt.NDArray[np.float64]

PITCH = 0.125
MARGIN = 5.0
"""How far beyond the two lines a lane is fitted. [mm]"""

INK = 0.45
"""Share by which the channels of a line differ from which it is ink and no pencil."""

TO_COME = "to come"
"""What stands for corrections that are yet to be made."""

MOST_TAILS = 3
"""Long tails that must be there before their direction says which end is up."""

DARK = 90.0
SATURATED = 0.02
LIGHT_UNEVEN = 0.05
COARSE = 35.0
"""Mean step of brightness in a JPEG from which it is strongly compressed."""

UNEVEN_FRONT = 0.5
"""Scatter of a front about its smooth course from which it is uneven. [mm]"""


def measure(data: bytes, name: str, settings: Settings) -> PhotoReading:
    """Read a picture.

    Parameters
    ----------
    data : bytes
        Content of the file.
    name : str
        Its name.
    settings : Settings
        What the user said.

    Returns
    -------
    PhotoReading

    Raises
    ------
    UnreadableFile
        If the picture or a sheet on it cannot be measured; the text begins with the code of a flag.
    """
    file = PictureFile(data, settings.page)
    sheets = []
    for number, corners in enumerate(outlines(file, settings), start=1):
        found = placed_upright(file, corners, settings)
        sheet = read_sheet(found.placed, found.known, str(number), settings, found.mirrored)
        if not found.known and _tails_point_up(sheet):
            turned = place(file, corners, replace(settings, orientation=opposite(found.placed.orientation)))
            sheet = _or_keep(turned, sheet, settings)
        sheets.append(sheet)
    return PhotoReading(name, file.facts.width, file.facts.height, tuple(sheets))


def read_sheet(placed: Placed, upright: bool, label: str, settings: Settings, mirrored: bool = False) -> SheetReading:
    """Read one sheet that has been placed; `upright` says whether it is known which end is up.

    Where it is seen as in a mirror, lanes are numbered from the right, so that each keeps its own name.
    """
    mapping = placed.mapping
    pitch = PITCH * max(1.0, mapping.height / 150.0)
    flat = flatten(placed.picture, mapping, pitch)
    flags = [*placed.flags, *_light_flags(flat, placed)]
    given = strips(flat)
    origin = _find_origin(given, mapping.height, _told_origin(label, upright, settings), settings, flags)
    if origin.kind != "by hand" and (colour := line_chroma(flat, origin)) > INK:
        coloured = Flag("ink_line", f"its channels differ by {100 * colour:.0f} %", colour, INK)
        if not settings.corrections:
            raise UnreadableFile(str(coloured))
        flags.append(coloured)
    front = _find_front(given, origin, mapping.height, settings, flags)
    crossing = find_crossing(flat, (origin, front))
    if crossing is not None:
        found = f"{100 * crossing.covered:.0f} % of a straight course"
        flags.append(Flag("hard_shadow", found, crossing.covered, COVERED))
    flat = without_strokes(_without_lines(flat, (origin, front)))
    search = _without(_search(flat, origin, front), crossing)
    trusted = [blob for blob in search.blobs if _trusted(blob, search.threshold)]
    start = float(origin.at(mapping.width / 2))
    lean = lean_of(find_lanes(trusted, mapping.width, settings.lanes), trusted)
    straight = [replace(blob, x=blob.x - lean * (blob.y - start)) for blob in trusted]
    places = find_lanes(straight, mapping.width, settings.lanes)
    if not places:
        flags.append(Flag("no_spots"))
    if settings.lanes is not None and places and len(places) != settings.lanes:
        seen = f"{len(places)} seen, {settings.lanes} given"
        flags.append(Flag("lane_count", seen, float(len(places)), float(settings.lanes)))
    half = _half_strip(places)
    rows = lane_rows(flat, max(1.0, _lowest(origin, settings) - MARGIN), _highest(front, mapping.height))
    noise = _noise(flat, rows, search, half, placed)
    lanes = read_lanes(
        _lane_strips(
            places, lane_courses(places, start, lean, trusted, rows.heights), rows, noise, half, (origin, front)
        ),
        (origin, front),
        placed.widening,
        settings.names,
    )
    if glows(flat.paper):
        lanes = [replace(lane, spots=tuple(replace(spot, colour=None) for spot in lane.spots)) for lane in lanes]
    if not settings.corrections and not any(spot.state != "unread" for lane in lanes for spot in lane.spots):
        raise refuse("no_spots")
    if mirrored:
        flags.append(Flag("mirrored"))
        lanes = _from_the_right(lanes, settings)
    if not upright:
        flags.append(Flag("orientation_unknown"))
    rectangle = np.array([[0, 0], [mapping.width, 0], [mapping.width, mapping.height], [0, mapping.height]])
    return SheetReading(
        label=label,
        mapping=mapping,
        scanned=placed.scanned,
        scale=placed.scale,
        corners=mapping.pixels(rectangle.astype(float)),
        origin=origin,
        front=front,
        lanes=tuple(lanes),
        flags=tuple(flags),
    )


def _from_the_right(lanes: list[LaneReading], settings: Settings) -> list[LaneReading]:
    names = settings.names if len(settings.names) == len(lanes) else ("",) * len(lanes)
    return [
        replace(lane, label=str(number), sample=name)
        for number, (lane, name) in enumerate(zip(reversed(lanes), names, strict=True), start=1)
    ]


def _tails_point_up(sheet: SheetReading) -> bool:
    """Whether long tails point away from the origin: dye lags behind, so the sheet is upside down.

    One spot may well run ahead of itself; most of several do not.
    """
    tails = [
        spot.tail
        for lane in sheet.lanes
        for spot in lane.spots
        if abs(spot.tail) > 2.5 * spot.sigma and spot.strength > 12
    ]
    return len(tails) >= MOST_TAILS and sum(tail < 0 for tail in tails) >= 0.8 * len(tails)


def _or_keep(turned: Placed, sheet: SheetReading, settings: Settings) -> SheetReading:
    """Read a sheet turned round; keep the first reading where that makes no sense."""
    try:
        again = read_sheet(turned, False, sheet.label, settings)
    except UnreadableFile:
        return sheet
    return sheet if _tails_point_up(again) else again


def _light_flags(flat: Flat, placed: Placed) -> list[Flag]:
    """Judge the exposure and the file."""
    flags = []
    paper = float(flat.paper.min())
    if flat.saturated > SATURATED:
        flags.append(Flag("saturated", f"{100 * flat.saturated:.0f} % of the sheet", flat.saturated, SATURATED))
    if paper < DARK:
        flags.append(Flag("dark", f"the paper has code value {paper:.0f} of 255", paper, DARK))
    if flat.tint > LIGHT_UNEVEN:
        flags.append(Flag("light_uneven", f"by {flat.tint:.2f} in optical density", flat.tint, LIGHT_UNEVEN))
    facts = placed.picture.facts
    step = 0.0 if facts.quantisation is None else float(facts.quantisation[0].mean())
    if step > COARSE:
        flags.append(Flag("compressed", f"brightness is stored in steps of {step:.0f}", step, COARSE))
    if facts.grey:
        flags.append(Flag("grey"))
    return flags


def _told_origin(label: str, upright: bool, settings: Settings) -> float | None:
    """Give the height at which a person put the origin line of a sheet, by an option or a correction to come. [mm]."""
    from lanewise_photo.by_hand import corrections_of

    if settings.corrections not in {"", TO_COME}:
        moved = corrections_of(settings.corrections).of("origin", label)
        if moved is not None:
            return moved.at
    return settings.origin if upright and settings.corrections else None


def _find_origin(given: Strips, height: float, told: float | None, settings: Settings, flags: list[Flag]) -> Line:
    """Find the origin line; where none is seen, take the height that was told."""
    chosen = find_origin(given, height, settings.origin)
    if chosen.line is None:
        if told is None:
            raise refuse("no_origin")
        flags.append(Flag("origin_given", f"{told:.1f} mm"))
        return by_hand(told, given.width)
    if chosen.rivals:
        flags.append(Flag("origin_ambiguous", *_places(chosen)))
    return chosen.line


def _find_front(given: Strips, origin: Line, height: float, settings: Settings, flags: list[Flag]) -> Line | None:
    """Find the front; None where none is seen or it is not clear which one it is, so that only heights can be given."""
    middle = float(origin.at(given.width / 2))
    if settings.front is not None:
        if not middle + LEAST_RUN <= settings.front <= height:
            raise OptionError(
                f"option 'front': wanted a height between {middle + LEAST_RUN:.1f} and {height:.1f} mm, "
                f"since the origin line lies at {middle:.1f} mm, given {settings.front:g}"
            )
        return by_hand(settings.front, given.width)
    found = find_front(given, middle, height)
    if found.line is None:
        if not settings.corrections:
            raise refuse("no_front")
        flags.append(Flag("no_front"))
        return None
    if found.rivals:
        flags.append(Flag("front_ambiguous", *_places(found)))
        return None
    line = found.line
    if not found.sure:
        flags.append(Flag("front_model", f"{line.bias:.2f} mm apart", line.bias, 0.0))
    if line.scatter > UNEVEN_FRONT:
        flags.append(Flag("front_uneven", f"{line.scatter:.1f} mm", line.scatter, UNEVEN_FRONT))
    return line


def line_chroma(flat: Flat, line: Line) -> float:
    """How far the channels of a line differ, as a share of its largest, along most of its course; pencil is grey."""
    x = flat.columns
    inner = (x > 3.0) & (x < x[-1] - 3.0)
    column = np.flatnonzero(inner)
    middle = np.rint(line.at(x[inner]) / flat.pitch - 0.5).astype(int)
    half, reach = max(1, round(0.25 / flat.pitch)), round(1.2 / flat.pitch)
    middle = np.clip(middle, reach + half, flat.density.shape[0] - 1 - reach - half)
    steps = range(-half, half + 1)
    on = np.mean([flat.density[middle + step, column] for step in steps], axis=0)
    beside = np.mean([flat.density[middle + side + step, column] for side in (-reach, reach) for step in steps], axis=0)
    rise = np.median(on - beside, axis=0)
    return float((rise.max() - rise.min()) / rise.max()) if rise.max() > 0.01 else 0.0


def _places(chosen: Choice) -> tuple[str, float, float]:
    """Where lines were seen of which only one is meant, how many there are, and how many there should be."""
    lines = [line for line in (chosen.line, *chosen.rivals) if line is not None]
    return " or ".join(f"{float(line.at(line.width / 2)):.1f} mm" for line in lines), float(len(lines)), 1.0


def by_hand(height: float, width: float) -> Line:
    """Make a line that the user gave."""
    empty = np.empty(0)
    return Line("by hand", empty, empty, np.array([height, 0.0]), width, 0.0, 1.0, 0.0, 0.0, said=0.3)


def _lowest(origin: Line, settings: Settings) -> float:
    return float(min(origin.at(0.0), origin.at(origin.width)))


def _highest(front: Line | None, height: float) -> float:
    if front is None:
        return height - 2.0
    return min(height - 2.0, float(front.at(np.linspace(0, front.width, 9)).max()) + MARGIN)


def _without_lines(flat: Flat, lines: tuple[Line, Line | None]) -> Flat:
    for line in lines:
        if line is not None and line.kind in {"pencil line", "tide line"}:
            reach = max(LINE, 3.0 * line.spread, 2.5 * line.tail)
            flat = without_line(flat, line.course(flat.columns), reach, dyed=line.kind == "tide line")
    return flat


def _search(flat: Flat, origin: Line, front: Line | None) -> Search:
    x = flat.columns
    low = origin.at(x) - BEYOND
    high = np.full_like(x, flat.rows[-1] - 3.0) if front is None else front.at(x) + BEYOND
    return find_blobs(flat, low, np.minimum(high, flat.rows[-1] - 2.0))


def _without(search: Search, crossing: Crossing | None) -> Search:
    """Leave out grey candidates that lie on a shadow's edge or a crease."""
    if crossing is None:
        return search
    blobs = [
        blob for blob in search.blobs if blob.chroma > 0.4 or crossing.distance(blob.x, blob.y) > NEAR + blob.scale
    ]
    return replace(search, blobs=tuple(blobs))


def _trusted(blob: Blob, threshold: float) -> bool:
    return blob.strength >= threshold and (blob.chroma >= 0.25 or max(blob.density) > 0.06)


def _half_strip(places: list[float]) -> float:
    nearest = min(np.diff(places), default=20.0)
    return float(np.clip(0.2 * nearest, 0.8, HALF_STRIP))


def _noise(flat: Flat, rows: Rows, search: Search, half: float, placed: Placed) -> Noise:
    profiles, used = blank_profiles(rows, search, half)
    block = 16.0 / placed.mapping.scale
    rounding = rounding_of(placed.picture.facts.quantisation, flat.paper, 2 * half / block)
    return blank_noise(profiles, used, float(rows.heights[1] - rows.heights[0]), rounding, block)


def _lane_strips(
    places: list[float], courses: list[Array], rows: Rows, noise: Noise, half: float, lines: tuple[Line, Line | None]
) -> list[LaneStrip]:
    made = []
    for x, course in zip(places, courses, strict=True):
        profile = lane_model(rows.heights, lane_profile(rows, course, half), noise, *lines, x)
        made.append(LaneStrip(x, course, profile))
    return made
