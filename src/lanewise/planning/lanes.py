"""Where lanes lie across a sheet: spread over its panels, as far from edges, folds and each other as there is room."""

from __future__ import annotations

from math import floor
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise.planning.distances import Distances
from lanewise.planning.wanted import Wanted

Floats: TypeAlias = npt.NDArray[np.float64]

DUST = 1e-9
"""Below this a length is nothing. [mm]"""


class Panel(NamedTuple):
    """A part of the sheet between two edges or folds, and the lanes on it.

    Attributes
    ----------
    left, right : float
        Where it lies. [mm]
    folded_left, folded_right : bool
        Whether a fold and not an edge is there.
    lanes : int
        Number of them.
    """

    left: float
    right: float
    folded_left: bool
    folded_right: bool
    lanes: int


class Room(NamedTuple):
    """Distances from both sides of a panel to its outer lanes, and between lanes. [mm]."""

    left: float
    right: float
    pitch: float


def panels_of(wanted: Wanted) -> tuple[Panel, ...]:
    """Give the panels of a sheet from left to right; lanes are shared out evenly, the more to the left.

    Examples
    --------
    >>> folded = Wanted(samples=("a", "b", "c"), width=80, height=100, standing="folded")
    >>> [(panel.left, panel.right, panel.lanes) for panel in panels_of(folded)]
    [(0.0, 40.0, 2), (40.0, 80.0, 1)]
    """
    ends = (0.0, *wanted.folds, wanted.width)
    number = len(ends) - 1
    few, more = divmod(wanted.count, number)
    return tuple(
        Panel(ends[place], ends[place + 1], place > 0, place < number - 1, few + (place < more))
        for place in range(number)
    )


def least_room(panel: Panel, spot: float, distances: Distances) -> Room:
    """Give the distances that the lanes of a panel keep at least."""
    edge, fold = distances.least_edge + spot / 2, distances.least_fold + spot / 2
    left, right = fold if panel.folded_left else edge, fold if panel.folded_right else edge
    return Room(left, right, distances.least_pitch * spot)


def usual_room(panel: Panel, wanted: Wanted) -> Room:
    """Give the distances that lanes of a panel usually keep, never below the least."""
    keep, least = wanted.distances, least_room(panel, wanted.spot, wanted.distances)
    edge = keep.usual_edge_large if wanted.width >= keep.large else keep.usual_edge
    fold = keep.usual_fold + wanted.spot / 2
    left, right = fold if panel.folded_left else edge, fold if panel.folded_right else edge
    return Room(max(left, least.left), max(right, least.right), max(keep.usual_pitch, least.pitch))


def needed(room: Room, count: int) -> float:
    """Width that so many lanes take with such room; 0 for none. [mm]."""
    return room.left + room.right + (count - 1) * room.pitch if count else 0.0


def place_lanes(wanted: Wanted) -> Floats:
    """Place the lanes.

    Parameters
    ----------
    wanted : Wanted
        For N lanes; whether they fit is asked elsewhere.

    Returns
    -------
    array of shape (N,)
        Middles of the lanes from the left side of the sheet, rising. [mm]

    Notes
    -----
    With a pitch given, the lanes of a panel stand in its middle. Otherwise, where there is room for the usual
    distances, the outer lanes keep half the distance of two lanes from the edge, or the usual distance where that is
    more; where there is not, distances shrink together from the usual towards the least.

    Examples
    --------
    >>> place_lanes(Wanted(samples=("a", "b", "c", "d"), width=80, height=100)).tolist()
    [10.0, 30.0, 50.0, 70.0]
    """
    parts = [_on_panel(panel, wanted) for panel in panels_of(wanted)]
    return np.asarray(np.round(np.concatenate(parts), 9), dtype=np.float64)


def _on_panel(panel: Panel, wanted: Wanted) -> Floats:
    """Place the lanes of one panel."""
    count, width = panel.lanes, panel.right - panel.left
    least, usual = least_room(panel, wanted.spot, wanted.distances), usual_room(panel, wanted)
    if count <= 1:
        middle = min(max(width / 2, least.left), width - least.right)
        return np.full(count, panel.left + middle, dtype=np.float64)
    if wanted.pitch is not None:
        slack = width - needed(Room(least.left, least.right, wanted.pitch), count)
        first, pitch = least.left + slack / 2, wanted.pitch
        return np.asarray(panel.left + first + np.arange(count) * pitch, dtype=np.float64)
    short, full = needed(least, count), needed(usual, count)
    if width >= full:
        even = width / count
        left, right = max(usual.left, even / 2), max(usual.right, even / 2)
        if width - left - right < (count - 1) * usual.pitch:
            left, right = usual.left, usual.right
    else:
        share = (width - short) / (full - short)
        left = least.left + share * (usual.left - least.left)
        right = least.right + share * (usual.right - least.right)
    pitch = (width - left - right) / (count - 1)
    return np.asarray(panel.left + left + np.arange(count) * pitch, dtype=np.float64)


def least_width(wanted: Wanted) -> float:
    """Width of the narrowest sheet that takes the lanes wanted, standing as wanted. [mm].

    Examples
    --------
    >>> least_width(Wanted(samples=tuple("abcdefghi"), width=60, height=100))
    55.0
    """
    widest = 0.0
    panels = panels_of(wanted)
    for panel in panels:
        room = least_room(panel, wanted.spot, wanted.distances)
        if wanted.pitch is not None:
            room = room._replace(pitch=max(room.pitch, wanted.pitch))
        widest = max(widest, needed(room, panel.lanes))
    return widest * len(panels)


def most_lanes(wanted: Wanted) -> int:
    """Greatest number of lanes that the sheet wanted can take, standing as wanted.

    Examples
    --------
    >>> most_lanes(Wanted(samples=("a",), width=60, height=100))
    9
    """
    total = 0
    for panel in panels_of(wanted):
        room = least_room(panel, wanted.spot, wanted.distances)
        pitch = room.pitch if wanted.pitch is None else max(room.pitch, wanted.pitch)
        free = panel.right - panel.left - room.left - room.right
        total += 0 if free < -DUST else floor(free / pitch + DUST) + 1
    return total
