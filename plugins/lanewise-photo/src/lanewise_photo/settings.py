"""Options as the user wrote them, taken apart and checked."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise.errors import OptionError
from lanewise_photo.plugin import PhotographOptions

Points: TypeAlias = npt.NDArray[np.float64]

_NUMBER = r"\s*([+-]?\d+(?:\.\d+)?)\s*"


@dataclass(frozen=True, eq=False)
class Settings:
    """What the user said about a picture.

    Attributes
    ----------
    lanes : int or None
    names : tuple of str
    size : tuple of float or None
        Width and height. [mm]
    origin, front : float or None
        Heights above the lower edge. [mm]
    corners : tuple of arrays of shape (4, 2)
        One a sheet, going round. [px]
    orientation : str
        Where in the picture the front is: ``up``, ``down``, ``left``, ``right``, or empty for not known.
    mirrored : str
        Whether the sheet is seen as in a mirror: ``no``, ``yes``, or empty for not known.
    page : int or None
        Which picture of a file that holds several, from 1.
    bar : tuple of two points and a length, or None
        Ends of a scale bar [px] and its length [mm].
    plates : int
    system, layer, corrections : str
    origin_definition, front_definition : float
        Standard uncertainties that no picture shows. [mm]
    """

    lanes: int | None
    names: tuple[str, ...]
    size: tuple[float, float] | None
    origin: float | None
    front: float | None
    corners: tuple[Points, ...]
    orientation: str
    bar: tuple[Points, float] | None
    plates: int
    system: str
    layer: str
    corrections: str
    origin_definition: float
    front_definition: float
    mirrored: str = ""
    page: int | None = None


def settings_of(options: PhotographOptions) -> Settings:
    """Take options apart.

    Raises
    ------
    OptionError
        If a text does not hold what it should.

    Examples
    --------
    >>> settings_of(PhotographOptions(size="80 x 100", names="ink A; ink B")).size
    (80.0, 100.0)
    >>> settings_of(PhotographOptions(size="large"))
    Traceback (most recent call last):
    lanewise.errors.OptionError: option 'size': wanted width x height in millimetres, such as '80 x 100', given 'large'
    """
    names = tuple(name.strip() for name in options.names.split(";")) if options.names.strip() else ()
    lanes = options.lanes or (len(names) or None)
    if names and lanes and len(names) != lanes:
        raise OptionError(f"option 'names': wanted {lanes} names, one a lane, joined by ';', given {len(names)}")
    corners = tuple(_corners(part) for part in options.corners.split("|")) if options.corners.strip() else ()
    if corners and len(corners) != options.plates:
        raise OptionError(
            f"option 'corners': wanted four corners for each of {options.plates} plates, joined by '|', "
            f"given {len(corners)}"
        )
    return Settings(
        lanes=lanes,
        names=names,
        size=_size(options.size),
        origin=options.origin,
        front=options.front,
        corners=corners,
        orientation=options.orientation,
        bar=_bar(options.bar),
        plates=options.plates,
        system=options.system,
        layer=options.layer,
        corrections=options.corrections,
        origin_definition=options.origin_definition,
        front_definition=options.front_definition,
        mirrored=options.mirrored,
        page=options.page,
    )


def _size(text: str) -> tuple[float, float] | None:
    if not text.strip():
        return None
    found = re.fullmatch(rf"{_NUMBER}[x×]{_NUMBER}", text)
    if not found or min(float(found[1]), float(found[2])) < 10 or max(float(found[1]), float(found[2])) > 1000:
        raise OptionError(f"option 'size': wanted width x height in millimetres, such as '80 x 100', given {text!r}")
    return float(found[1]), float(found[2])


def _point(text: str) -> list[float] | None:
    found = re.fullmatch(rf"{_NUMBER},{_NUMBER}", text)
    return [float(found[1]), float(found[2])] if found else None


def _corners(text: str) -> Points:
    points = [_point(part) for part in text.split(";")]
    given = [point for point in points if point is not None]
    if len(points) != 4 or len(given) != 4:
        raise OptionError(
            f"option 'corners': wanted four corners in pixels, 'x,y; x,y; x,y; x,y', given {text.strip()!r}"
        )
    return np.array(given)


def _bar(text: str) -> tuple[Points, float] | None:
    if not text.strip():
        return None
    parts = text.split(";")
    ends = [_point(part) for part in parts[:2]]
    length = re.fullmatch(_NUMBER, parts[2]) if len(parts) == 3 else None
    if length is None or float(length[1]) <= 0 or any(end is None for end in ends):
        raise OptionError(
            f"option 'bar': wanted both ends in pixels and the length in millimetres, 'x,y; x,y; 100', given {text!r}"
        )
    return np.array(ends, dtype=float), float(length[1])
