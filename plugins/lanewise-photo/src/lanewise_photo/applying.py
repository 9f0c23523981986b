"""Corrections applied to what was read: every step gives a new reading, and every fault names its line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final, TypeAlias, cast

import numpy as np

from lanewise.errors import OptionError
from lanewise_photo.corrections import Correction, Corrections, fault, plain, written
from lanewise_photo.flags import Flag
from lanewise_photo.lines import Line
from lanewise_photo.mapping import Mapping
from lanewise_photo.marking import (
    add,
    among,
    colour,
    drop,
    height,
    lane_of,
    move,
    spot_of,
    state,
    state_of,
    with_lane,
)
from lanewise_photo.reading import LaneReading, PhotoReading, SheetReading

_Step: TypeAlias = Callable[[SheetReading, Correction, float], SheetReading]

ACCURACY: Final = 0.5
"""Standard uncertainty with which a person sets a mark on a spot or a line on a screen, in a sharp picture and without
the pixel. [mm]

An estimate, on the safe side: what is judged is the darkest point of a spot some millimetres wide, with a finger or a
pointer, on a picture that is often shown smaller than the sheet."""

NEAR: Final = 1.0
"""How far a spot may lie from where it stood when a correction of it was written. [mm]

The edges of two spots that are told apart lie farther from each other than this, and a reading of the same picture by
another version moves less."""

_ANSWERED = {
    "origin": {"origin_ambiguous"},
    "front": {"no_front", "front_ambiguous", "front_model", "front_uneven"},
    "no front": {"front_ambiguous", "front_model", "front_uneven"},
    "new lane": {"lane_count"},
    "drop lane": {"lane_count"},
    "add": {"no_spots"},
}
"""Flags of a sheet that a correction answers."""


def u_by_hand(mapping: Mapping, accuracy: float | None = None) -> float:
    """Give the standard uncertainty of a mark set by hand on the picture.

    Parameters
    ----------
    mapping : Mapping
        Of the sheet.
    accuracy : float or None
        Standard uncertainty of setting the mark; None for `ACCURACY`. [mm]

    Returns
    -------
    float
        Root of the sum of squares of it and of a rectangular distribution one pixel wide. [mm]

    References
    ----------
    JCGM 100:2008, 4.3.7: half-width a gives a / sqrt(3); here a is half a pixel. From memory.
    """
    return float(np.hypot(ACCURACY if accuracy is None else accuracy, 1.0 / (mapping.scale * np.sqrt(12.0))))


def apply(reading: PhotoReading, corrections: Corrections) -> PhotoReading:
    """Correct a reading.

    Parameters
    ----------
    reading : PhotoReading
        What was read, or an empty sheet placed by hand (`lanewise_photo.by_hand.empty_reading`).
    corrections : Corrections
        Their order does not matter, but of two that say the same thing of the same mark the later holds. What they
        say of the picture as a whole (size, corners, orientation) was needed before it was read, and is not looked at
        here.

    Returns
    -------
    PhotoReading
        A new one. Spots set by hand say who set them, and have the uncertainty of `u_by_hand`; a spot that was moved,
        or whose lines were, has the state that follows from its place, unless a correction states another.

    Raises
    ------
    OptionError
        If a correction names a sheet, lane or spot that is not there or stands elsewhere, naming every such line, or
        gives a place that cannot be.
    """
    sheets = {sheet.label: sheet for sheet in reading.sheets}
    for one in corrections.steps:
        if one.sheet not in sheets:
            raise fault(one.line, f"sheet: wanted {among(list(sheets))}, given {one.sheet!r}")
    made = []
    for label, sheet in sheets.items():
        steps = _by_read_names(sheet, [one for one in corrections.steps if one.sheet == label])
        _check_targets(sheet, steps)
        made.append(_corrected(sheet, steps, u_by_hand(sheet.mapping, corrections.accuracy)))
    return replace(reading, sheets=tuple(made))


def _corrected(sheet: SheetReading, steps: Sequence[Correction], u: float) -> SheetReading:
    rank = {kind: number for number, kind in enumerate(_STEPS)}
    ordered = sorted(
        (one for one in steps if one.kind in _STEPS), key=lambda one: rank[_FELLOWS.get(one.kind, one.kind)]
    )
    for one in ordered:
        made = _STEPS[one.kind](sheet, one, u)
        answered = _ANSWERED.get(one.kind, set())
        sheet = replace(made, flags=tuple(flag for flag in made.flags if flag.code not in answered))
    _check_sheet(sheet, ordered)
    return _renamed(sheet, [one for one in steps if one.kind == "rename"])


def _by_read_names(sheet: SheetReading, steps: Sequence[Correction]) -> list[Correction]:
    """Let each correction name its spot as it was read, also where it uses the name that another one gives it."""
    known = {(lane.label, spot.label) for lane in sheet.lanes for spot in lane.spots}
    known |= {(one.lane, one.spot) for one in steps if one.kind == "add"}
    before = {(one.lane, one.text): one.spot for one in steps if one.kind == "rename"}
    return [
        replace(one, spot=before.get((one.lane, one.spot), one.spot)) if (one.lane, one.spot) not in known else one
        for one in steps
    ]


def _check_targets(sheet: SheetReading, steps: Sequence[Correction]) -> None:
    """Refuse corrections of lanes and spots that are not there, or stand elsewhere than when they were written."""
    added = {one.lane for one in steps if one.kind == "new lane"}
    faults = []
    for one in steps:
        if not one.lane or one.kind == "new lane":
            continue
        lane = next((lane for lane in sheet.lanes if lane.label == one.lane), None)
        if lane is None:
            if one.lane not in added:
                names = [*(lane.label for lane in sheet.lanes), *sorted(added)]
                faults.append(fault(one.line, f"lane: wanted {among(names)}, given {one.lane!r}"))
            continue
        what, stands = f"lane {lane.label!r}", lane.x
        if one.spot and one.kind != "add":
            new = {other.spot for other in steps if other.kind == "add" and other.lane == one.lane}
            spot = next((spot for spot in lane.spots if spot.label == one.spot), None)
            if spot is None:
                if one.spot not in new and "" not in new:
                    wanted = among([spot.label for spot in lane.spots])
                    faults.append(fault(one.line, f"{what}, spot: wanted {wanted}, given {one.spot!r}"))
                continue
            what, stands = f"{what}, spot {spot.label!r}", spot.centre
        if one.near is not None and abs(stands - one.near) > NEAR:
            wanted = f"it near {plain(one.near)} mm, as when the line was written, found at {plain(stands)}"
            faults.append(fault(one.line, f"{what}: wanted {wanted}. Review the picture anew, or correct the line."))
    if faults:
        raise OptionError("; ".join(map(str, faults)))


def _renamed(sheet: SheetReading, steps: Sequence[Correction]) -> SheetReading:
    """Name spots, all at once, so that two may change names."""
    for lane in sheet.lanes:
        names = {one.spot: one for one in steps if one.lane == lane.label}
        if not names:
            continue
        for one in names.values():
            spot_of(lane, one)
        spots, seen = [], set()
        for spot in lane.spots:
            label = names[spot.label].text if spot.label in names else spot.label
            if label in seen:
                line = max(one.line for one in names.values() if one.text == label)
                raise fault(line, f"lane {lane.label!r}: spot {label!r} is there already. Give another name.")
            seen.add(label)
            spots.append(replace(spot, label=label))
        sheet = with_lane(sheet, replace(lane, spots=tuple(spots)))
    return sheet


def _moved_line(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Move the origin or the front as a whole; its slope and course stay."""
    at = height(sheet, one.at, one, one.kind)
    old = sheet.origin if one.kind == "origin" else sheet.front
    width = sheet.mapping.width
    fitted = np.zeros(2) if old is None else old.fitted.copy()
    shift = at - (float(old.at(width / 2)) if old is not None else 0.0)
    fitted[0] += shift
    empty = np.empty(0)
    line = Line("by hand", empty, empty, fitted, width, 0.0, 1.0, 0.0, 0.0, said=u)
    lanes = []
    for lane in sheet.lanes:
        own = lane.origin if one.kind == "origin" else lane.front
        place = float(line.at(lane.x)) if own is None or old is None else own + shift
        lanes.append(_with_line(lane, one.kind, place, u))
    if one.kind == "origin":
        return replace(sheet, origin=line, lanes=tuple(lanes))
    return replace(sheet, front=line, lanes=tuple(lanes))


def _with_line(lane: LaneReading, name: str, place: float, u: float) -> LaneReading:
    moved = replace(lane, origin=place, u_origin=u) if name == "origin" else replace(lane, front=place, u_front=u)
    return _restated(moved)


def _no_front(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    lanes = tuple(_restated(replace(lane, front=None, u_front=0.0)) for lane in sheet.lanes)
    flags = sheet.flags if any(flag.code == "no_front" for flag in sheet.flags) else (*sheet.flags, Flag("no_front"))
    return replace(sheet, front=None, lanes=lanes, flags=flags)


def _lane_line(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    name = one.kind.removeprefix("lane ")
    at = height(sheet, one.at, one, f"lane {one.lane!r}, {name}")
    return with_lane(sheet, _with_line(lane_of(sheet, one), name, at, u))


def _new_lane(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    if any(lane.label == one.lane for lane in sheet.lanes):
        raise fault(one.line, f"lane {one.lane!r} is there already. Give another name.")
    if sheet.origin is None:
        raise fault(one.line, "a lane needs the origin: give 'move origin to' before 'new lane'.")
    x = cast(float, one.at)
    if not 0.0 <= x <= sheet.mapping.width:
        wanted = f"millimetres from the left edge, 0 to {plain(sheet.mapping.width)}"
        raise fault(one.line, f"lane {one.lane!r}: wanted {wanted}, given {plain(x)}")
    made = LaneReading(
        label=one.lane,
        sample="",
        x=x,
        origin=float(sheet.origin.at(x)),
        front=None if sheet.front is None else float(sheet.front.at(x)),
        u_origin=max(u, sheet.origin.u),
        u_front=0.0 if sheet.front is None else max(u, sheet.front.u),
        heights=np.array([0.0, sheet.mapping.height]),
        density=np.zeros((2, 3)),
        spots=(),
    )
    return replace(sheet, lanes=tuple(sorted((*sheet.lanes, made), key=lambda lane: lane.x)))


def _drop_lane(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    gone = lane_of(sheet, one)
    return replace(sheet, lanes=tuple(lane for lane in sheet.lanes if lane is not gone))


def _name_lane(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    return with_lane(sheet, replace(lane_of(sheet, one), sample=one.text))


def _restated(lane: LaneReading) -> LaneReading:
    return replace(lane, spots=tuple(state_of(spot, lane, by_hand=False) for spot in lane.spots))


def _check_sheet(sheet: SheetReading, steps: Sequence[Correction]) -> None:
    """Refuse lines that cross, and spots that were left outside their run, naming the last correction that did it."""
    for lane in sheet.lanes:
        touching = [one for one in steps if one.lane in {"", lane.label}]
        line = touching[-1].line if touching else 0
        if lane.front is not None and lane.front <= lane.origin:
            given = f"{plain(lane.front)}, the origin at {plain(lane.origin)}"
            raise fault(line, f"lane {lane.label!r}: wanted a front above the origin, given {given}")
        for spot in lane.spots:
            marked = [one for one in touching if one.spot in {"", spot.label}]
            if spot.state == "unread" or not marked:
                continue
            low = lane.origin - 3.0 * float(np.hypot(spot.u_centre, lane.u_origin))
            top = sheet.mapping.height if lane.front is None else lane.front
            high = top + 3.0 * float(np.hypot(spot.u_centre, lane.u_front))
            if not low <= spot.centre <= high:
                wanted = f"a darkest point between origin and front, {plain(lane.origin)} to {plain(top)}"
                where = f"lane {lane.label!r}, spot {spot.label!r}"
                raise fault(marked[-1].line, f"{where}: wanted {wanted}, given {plain(spot.centre)}")


_STEPS: Final[dict[str, _Step]] = {
    "origin": _moved_line,
    "front": _moved_line,
    "no front": _no_front,
    "drop lane": _drop_lane,
    "new lane": _new_lane,
    "lane origin": _lane_line,
    "lane front": _lane_line,
    "name": _name_lane,
    "drop": drop,
    "move": move,
    "add": add,
    "colour": colour,
    "state": state,
}
"""What each kind of correction does to a sheet, in the order in which the kinds are done; spots are renamed last, and
the others were done before the sheet was read."""

_FELLOWS: Final = {"no front": "front", "lane front": "lane origin"}
"""Kinds that are done together with another one, in the order of the file."""


def told(sheet: str, corrections: Corrections) -> str:
    """Say who corrected what of a sheet, for the note of its plate: one line a person; empty where nothing was."""
    said: dict[str, list[str]] = {}
    for one in corrections.steps:
        if one.sheet == sheet:
            said.setdefault(one.who, []).append(written(one))
    return "\n".join(f"Corrected by {who}: {'; '.join(lines)}." for who, lines in said.items())
