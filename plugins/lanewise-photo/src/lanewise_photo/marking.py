"""Corrections of spots: moved, added, dropped, given a state or a colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import erf
from typing import Final, TypeAlias, cast

import numpy as np
import numpy.typing as npt

from lanewise_photo.colours import Colour, colour_of
from lanewise_photo.corrections import Correction, fault, plain
from lanewise_photo.flags import Flag
from lanewise_photo.reading import CHANNELS, LaneReading, SheetReading, SpotReading, State
from lanewise_photo.spots import CENSORED

Array: TypeAlias = npt.NDArray[np.float64]
_Marks: TypeAlias = tuple[float, float, float]

EDGE_SHARE: Final = 0.05
"""Share of the distance to the darkest point by which an edge may lie elsewhere, as for edges that were read."""

TENTH: Final = float(np.sqrt(2 * np.log(10)))
"""Where a Gaussian has fallen to a tenth, in standard deviations."""


def move(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Move a spot: its darkest point, its edges, or all."""
    lane = lane_of(sheet, one)
    spot = spot_of(lane, one)
    centre = spot.centre if one.at is None else one.at
    shift = centre - spot.centre
    low = max(0.0, spot.trailing + shift) if one.trailing is None else one.trailing
    high = min(sheet.mapping.height, spot.leading + shift) if one.leading is None else one.leading
    made = _set(sheet, lane, spot, (low, centre, high), one, u)
    if spot.colour is not None and spot.colour.word:  # a mark that is moved keeps the word for its colour
        made = replace(made, colour=_called(made.colour, spot.colour.word))
    return _placed(sheet, lane, made)


def add(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Add a spot."""
    lane = lane_of(sheet, one)
    taken = {spot.label for spot in lane.spots}
    label = one.spot or next(str(n) for n in range(1, len(taken) + 2) if str(n) not in taken)
    if label in taken:
        raise fault(one.line, f"lane {lane.label!r}: spot {label!r} is there already. Give another name, or move it.")
    low, centre, high = cast(_Marks, (one.trailing, one.at, one.leading))
    none = (0.0, 0.0, 0.0)
    bare = SpotReading(
        label, "measured", lane.x, low, centre, high, u, u, u, 1.0, 0.0, none, CHANNELS[0], 0.0, 0.0, 0.0, None
    )
    made = _set(sheet, lane, bare, (low, centre, high), one, u)
    if one.text:
        made = replace(made, colour=_called(made.colour, one.text))
    return _placed(sheet, lane, made)


def _set(
    sheet: SheetReading, lane: LaneReading, spot: SpotReading, marks: _Marks, one: Correction, u: float
) -> SpotReading:
    """Set a spot by hand: places, uncertainties, and what its lane's profile says there."""
    where = f"lane {lane.label!r}, spot {spot.label!r}"
    for value in (marks[1], marks[0], marks[2]):
        height(sheet, value, one, where)
    low, centre, high = marks
    if not (low <= centre <= high and low < high):
        raise fault(
            one.line,
            f"{where}: wanted the edge nearer the origin, the darkest point and the edge nearer the front in this "
            f"order, given {plain(low)}, {plain(centre)}, {plain(high)}",
        )
    moved = replace(
        spot,
        trailing=low,
        centre=centre,
        leading=high,
        u_trailing=float(np.hypot(u, EDGE_SHARE * (centre - low))),
        u_centre=u,
        u_leading=float(np.hypot(u, EDGE_SHARE * (high - centre))),
        sigma=(high - low) / (2 * TENTH),
        tail=0.0,
        flags=tuple(flag for flag in spot.flags if flag.code not in {"faint", "tailing", "streak", "overlap"}),
        by=one.who,
    )
    return state_of(_remeasured(lane, moved), lane, by_hand=True)


def _remeasured(lane: LaneReading, spot: SpotReading) -> SpotReading:
    """Take density, area and colour of a spot from the profile of its lane.

    The edges are where the density has fallen to a tenth, so that the straight line between them lies a tenth of the
    height above the blank; what a Gaussian has beyond its edges is added to the area.
    """
    y, density = lane.heights, lane.density
    inside = (y >= spot.trailing) & (y <= spot.leading)
    if not density.any() or inside.sum() < 3:
        return replace(spot, density=(0.0,) * 3, area=0.0, u_area=0.0, strength=0.0, colour=None)
    rows = y[inside]
    ends = np.stack([[np.interp(end, y, density[:, c]) for c in range(3)] for end in (spot.trailing, spot.leading)])
    share = ((rows - spot.trailing) / (spot.leading - spot.trailing))[:, None]
    over = density[inside] - (1 - share) * ends[0] - share * ends[1]
    at = np.array([np.interp(spot.centre, rows, over[:, c]) for c in range(3)]) / 0.9
    above = over + 0.1 * at
    noise = 1.4826 * np.median(np.abs(np.diff(density, axis=0)), axis=0) / np.sqrt(2.0) + 1e-4
    channel = int(np.argmax(at))
    area = max(0.0, float(np.trapezoid(above[:, channel], rows)) / erf(TENTH / np.sqrt(2.0)))
    strength = float(at[channel] / noise[channel])
    return replace(
        spot,
        density=_three(at),
        channel=CHANNELS[channel],
        area=area,
        u_area=float(np.hypot(0.1 * area, noise[channel] * np.sqrt(spot.leading - spot.trailing))),
        strength=max(strength, 0.01),
        colour=colour_of(at, np.diag(noise**2)),
    )


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _called(colour: Colour | None, word: str) -> Colour:
    if colour is None:
        return Colour(word, (255, 255, 255), (100.0, 0.0, 0.0), 0.0, 180.0)
    return replace(colour, word=word)


def state_of(spot: SpotReading, lane: LaneReading, *, by_hand: bool) -> SpotReading:
    """Give a spot the state that follows from its place; one that was not read stays so until a person sets it."""
    if spot.state == "unread" and not by_hand:
        return spot
    if spot.centre - lane.origin < CENSORED:
        state: State = "at origin"
    elif lane.front is not None and lane.front - spot.centre < CENSORED:
        state = "with front"
    else:
        state = "streak" if spot.state == "streak" else "measured"
    return _with_state(spot, state)


def _with_state(spot: SpotReading, state: State) -> SpotReading:
    flags = [flag for flag in spot.flags if flag.code not in {"at_origin", "with_front"}]
    if state in {"at origin", "with front"}:
        flags.append(Flag(state.replace(" ", "_")))
    return replace(spot, state=state, flags=tuple(flags))


def drop(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Take a spot away."""
    lane = lane_of(sheet, one)
    gone = spot_of(lane, one)
    return with_lane(sheet, replace(lane, spots=tuple(spot for spot in lane.spots if spot is not gone)))


def state(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Give a spot the state that a person sees."""
    lane = lane_of(sheet, one)
    made = _with_state(spot_of(lane, one), cast(State, one.text))
    where = f"lane {lane.label!r}, spot {made.label!r}"
    if made.state == "at origin" and made.trailing > lane.origin + CENSORED:
        wanted = f"a spot at the origin to begin at most {plain(CENSORED)} mm above it, at {plain(lane.origin)}"
        raise fault(one.line, f"{where}: wanted {wanted}, given {plain(made.trailing)}")
    if made.state == "with front" and (lane.front is None or made.leading < lane.front - CENSORED):
        given = "no front" if lane.front is None else f"{plain(made.leading)}, the front at {plain(lane.front)}"
        wanted = f"a spot that reaches within {plain(CENSORED)} mm of the front"
        raise fault(one.line, f"{where}: wanted {wanted}, given {given}")
    return _placed(sheet, lane, replace(made, by=one.who))


def colour(sheet: SheetReading, one: Correction, u: float) -> SheetReading:
    """Give a spot a word for its colour."""
    lane = lane_of(sheet, one)
    spot = spot_of(lane, one)
    return _placed(sheet, lane, replace(spot, colour=_called(spot.colour, one.text), by=one.who))


def _placed(sheet: SheetReading, lane: LaneReading, changed: SpotReading) -> SheetReading:
    """Put a spot into its lane, in place of the one of its name, in order along the run."""
    others = [spot for spot in lane.spots if spot.label != changed.label]
    ordered = sorted([*others, changed], key=lambda spot: spot.centre)
    return with_lane(sheet, replace(lane, spots=tuple(ordered)))


def among(names: Sequence[str]) -> str:
    """Name what could have been given."""
    return "one of " + ", ".join(repr(name) for name in names) if names else "none, since there is none"


def height(sheet: SheetReading, value: float | None, one: Correction, what: str) -> float:
    """Check that a place lies on the sheet."""
    assert value is not None
    if not 0.0 <= value <= sheet.mapping.height:
        wanted = f"millimetres above the lower edge, 0 to {plain(sheet.mapping.height)}"
        raise fault(one.line, f"{what}: wanted {wanted}, given {plain(value)}")
    return value


def lane_of(sheet: SheetReading, one: Correction) -> LaneReading:
    """Find the lane that a correction names."""
    for lane in sheet.lanes:
        if lane.label == one.lane:
            return lane
    raise fault(one.line, f"lane: wanted {among([lane.label for lane in sheet.lanes])}, given {one.lane!r}")


def spot_of(lane: LaneReading, one: Correction) -> SpotReading:
    """Find the spot that a correction names."""
    for spot in lane.spots:
        if spot.label == one.spot:
            return spot
    names = among([spot.label for spot in lane.spots])
    raise fault(one.line, f"lane {lane.label!r}, spot: wanted {names}, given {one.spot!r}")


def with_lane(sheet: SheetReading, changed: LaneReading) -> SheetReading:
    """Put a changed lane in place of the one of its name."""
    return replace(sheet, lanes=tuple(changed if lane.label == changed.label else lane for lane in sheet.lanes))
