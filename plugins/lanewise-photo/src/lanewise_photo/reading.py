"""What was read from a picture: sheets, lanes and spots, in pixels and millimetres, with what may be wrong.

A picture of what was read, a page to review it, and the study are all made from this.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.colours import Colour
from lanewise_photo.flags import Flag
from lanewise_photo.lines import Line
from lanewise_photo.mapping import Mapping

Array: TypeAlias = npt.NDArray[np.float64]
State: TypeAlias = Literal["measured", "at origin", "with front", "streak", "unread"]
Scale: TypeAlias = Literal["given", "bar", "resolution", "assumed"]

CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True)
class SpotReading:
    """One spot; positions are heights above the lower edge of the sheet.

    Attributes
    ----------
    label : str
        Number in its lane, from the origin, or a name.
    state : {"measured", "at origin", "with front", "streak", "unread"}
        As in a spot of a study.
    x : float
        Across the sheet, from its left edge. [mm]
    trailing, centre, leading : float
        Edge nearer the origin, darkest point, edge nearer the front; the edges lie where the density has fallen to a
        tenth. [mm]
    u_trailing, u_centre, u_leading : float
        Standard uncertainties, without what the sheet's geometry and the two lines add. [mm]
    sigma, tail : float
        Standard deviation of the spot and length of its tail (negative towards the front). [mm]
    density : tuple of three float
        Optical density of red, green and blue at the darkest point.
    channel : str
        The channel in which it is darkest.
    area, u_area : float
        Area in that channel. [mm]
    strength : float
        Distance from the blank in standard deviations.
    colour : Colour or None
        None where it was not judged.
    flags : tuple of Flag
    by : str
        Who marked it, where a person did; empty for what was found in the picture.
    """

    label: str
    state: State
    x: float
    trailing: float
    centre: float
    leading: float
    u_trailing: float
    u_centre: float
    u_leading: float
    sigma: float
    tail: float
    density: tuple[float, float, float]
    channel: str
    area: float
    u_area: float
    strength: float
    colour: Colour | None
    flags: tuple[Flag, ...] = ()
    by: str = ""


@dataclass(frozen=True, eq=False)
class LaneReading:
    """One lane.

    Attributes
    ----------
    label, sample : str
        Number from the left, and what was applied.
    x : float
        Its place. [mm]
    origin, front : float or None
        Heights of the two lines at the lane. [mm]
    u_origin, u_front : float
        Their standard uncertainties at this lane, without what the definition adds. [mm]
    heights : array of shape (N,)
        Heights of the profile. [mm]
    density : array of shape (N, 3)
        Its optical density.
    spots : tuple of SpotReading
        From the origin to the front.
    flags : tuple of Flag
    """

    label: str
    sample: str
    x: float
    origin: float
    front: float | None
    u_origin: float
    u_front: float
    heights: Array
    density: Array
    spots: tuple[SpotReading, ...]
    flags: tuple[Flag, ...] = ()


@dataclass(frozen=True, eq=False)
class SheetReading:
    """One sheet.

    Attributes
    ----------
    label : str
        Number in the picture.
    mapping : Mapping
        From millimetres to pixels: ``mapping.pixels``, and back: ``mapping.sheet``.
    scale : {"given", "bar", "resolution", "assumed"}
        Where the size of the sheet is known from.
    corners : array of shape (4, 2)
        Lower left, lower right, upper right, upper left, with the front up. [px]
    origin, front : Line or None
        The two lines.
    lanes : tuple of LaneReading
        From the left.
    flags : tuple of Flag
    scanned : bool
        Whether it was seen square on, as by a scanner.
    """

    label: str
    mapping: Mapping
    scale: Scale
    corners: Array
    origin: Line | None
    front: Line | None
    lanes: tuple[LaneReading, ...]
    flags: tuple[Flag, ...]
    scanned: bool = False


@dataclass(frozen=True, eq=False)
class PhotoReading:
    """A picture.

    Attributes
    ----------
    name : str
        File name.
    width, height : int
        Size the right way up. [px]
    sheets : tuple of SheetReading
        In reading order.
    """

    name: str
    width: int
    height: int
    sheets: tuple[SheetReading, ...]
