"""From a picture to a sheet whose every millimetre is known: outline, edges, mapping, scale, refusals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise.errors import UnreadableFile
from lanewise_photo.edges import Edge, find_edges, sample
from lanewise_photo.flags import Flag
from lanewise_photo.light import linear
from lanewise_photo.mapping import CORNER_U, USUAL_FOCAL, Mapping, fit_mapping, homography, through_corners
from lanewise_photo.picture import Picture, PictureFile
from lanewise_photo.reading import Scale
from lanewise_photo.settings import Settings
from lanewise_photo.sheet import Outline, find_sheets

Array: TypeAlias = npt.NDArray[np.float64]

ASSUMED = 100.0
"""Height that a sheet of unknown size is taken to have. [mm]"""

WANTED = 7.5
"""Pixels a millimetre that are enough for everything that is read."""

LEAST_SCALE, POOR_SCALE = 3.0, 4.0
"""Pixels a millimetre below which nothing is read, and below which the intervals are widened."""

BAND = 2.0
"""How far from a straight line an edge is looked for. [mm]"""

BLURRED, USELESS = 0.4, 0.55
"""Standard deviation of the blur at the edges that is flagged, and refused. [mm]"""

BULGES, STEEP_BULGE = 0.15, 0.08
"""How far positions are moved to undo a bulge that is flagged [mm], and the share of the height by which they are moved
at most."""

BOWED = 0.3
"""Bow of an edge from which a sheet is no flat one on a scanner; paper is cut straight to 0.1 or 0.2 mm. [mm]"""

LEAST_CONTRAST, FAINT_U = 12.0, 1.0
"""Steps of linear light (of 255) between paper and background that are flagged; standard uncertainty of corners that
were found by faint sides, which is about a pixel of the small copy. [mm]"""

FAR = 5.0
"""Distance from an edge at which paper and background are compared where the edge is blurred. [mm]"""

PAPER_RIM, SAME_SIZE, SCAN_U = 0.8, 0.1, 0.05
"""Share of the paper's code value that the rim of a scan reaches which shows paper only; how far the size of the scan
may be from that of the sheet, as a share; and how far a scanner's frame is from square, at a corner [mm] (estimate)."""

STRAYS = 0.5
"""Standard deviation of an edge about a smooth curve that is refused. [mm]"""

TOO_DARK, CLIPPED = 50.0, 0.5
"""Code value of the paper, and share of white without any detail, that are refused."""

SECOND_FIT, SECOND_CONTRAST, SECOND_APART = 0.95, 25.0, 20.0
"""Fit, contrast [code values] and distance [px] from which another outline is a second sheet."""

_TURN = {"up": 0, "right": 1, "down": 2, "left": 3}


@dataclass(frozen=True, eq=False)
class Placed:
    """A sheet in its picture.

    Attributes
    ----------
    picture : Picture
        At the resolution to measure at.
    mapping : Mapping
        From millimetres to pixels.
    edges : tuple of four Edge
        Lower, right, upper, left.
    scale : str
        Where the size is known from.
    flags : tuple of Flag
    widening : float
        Factor on all uncertainties that follows from the flags.
    scanned : bool
        Whether the sheet was seen square on, as by a scanner.
    orientation : str
        Where in the picture the front was taken to be.
    """

    picture: Picture
    mapping: Mapping
    edges: tuple[Edge, ...]
    scale: Scale
    flags: tuple[Flag, ...]
    widening: float
    scanned: bool
    orientation: str


def refuse(code: str, detail: str = "", number: float | None = None, limit: float | None = None) -> UnreadableFile:
    """Make the error that refuses a picture for the reason of a flag."""
    return UnreadableFile(str(Flag(code, detail, number, limit)))


def outlines(file: PictureFile, settings: Settings) -> list[Array]:
    """Find the corners of every sheet, clockwise from the upper left as seen in the picture. [px].

    Raises
    ------
    UnreadableFile
        If fewer are found than wanted, or one is cut off by the frame.
    """
    if settings.corners:
        return [_around(points) for points in settings.corners]
    small = file.decode(700)
    several = find_sheets(small, settings.plates, others=int(settings.plates == 1))
    found = several[: settings.plates]
    if all(one.faint for one in found) and _fills_frame(small, settings):
        return [_frame(file)]
    if not found:
        raise refuse("no_sheet")
    if len(found) < settings.plates:
        raise UnreadableFile(
            f"wanted {settings.plates} sheets, found {len(found)}. Give plates, or the corners of each sheet."
        )
    if settings.plates == 1 and _is_second(several, found[0]):
        raise refuse("several_sheets")
    for one in found:
        _check_inside(one, small)
    return [one.corners for one in found]


def _frame(file: PictureFile) -> Array:
    """Corners of the picture itself, clockwise from the upper left. [px]."""
    right, below = file.facts.width - 0.5, file.facts.height - 0.5
    return np.array([[-0.5, -0.5], [right, -0.5], [right, below], [-0.5, below]])


def _fills_frame(small: Picture, settings: Settings) -> bool:
    """Whether a scan shows nothing but paper up to its rim, and has about the size that was given."""
    facts, codes = small.facts, small.pixels.min(axis=2)
    if facts.camera or facts.resolution is None:
        return False
    rim = np.concatenate([codes[:3].ravel(), codes[-3:].ravel(), codes[:, :3].ravel(), codes[:, -3:].ravel()])
    if np.percentile(rim, 10) < PAPER_RIM * float(np.median(codes)):
        return False
    if settings.size is None:
        return True
    sides = np.sort([facts.width / facts.resolution, facts.height / facts.resolution])
    return bool((np.abs(sides / np.sort(settings.size) - 1.0) < SAME_SIZE).all())


def _is_second(outlines: Sequence[Outline], chosen: Outline) -> bool:
    """Whether another outline beside the one chosen is a sheet of its own: as good, and about as large."""
    others = [one for one in outlines if np.linalg.norm((one.corners - chosen.corners).mean(axis=0)) > SECOND_APART]
    sizes = [
        float(np.linalg.norm(np.ptp(one.corners, axis=0)) / np.linalg.norm(np.ptp(chosen.corners, axis=0)))
        for one in others
    ]
    return any(
        one.fit > SECOND_FIT and one.contrast > SECOND_CONTRAST and 0.5 < size < 2.0 and not _overlap(one, chosen)
        for one, size in zip(others, sizes, strict=True)
    )


def _overlap(one: Outline, other: Outline) -> bool:
    """Whether the frames of two outlines overlap by more than a rim."""
    low, high = (
        np.maximum(one.corners.min(axis=0), other.corners.min(axis=0)),
        np.minimum(one.corners.max(axis=0), other.corners.max(axis=0)),
    )
    least = np.minimum(np.ptp(one.corners, axis=0), np.ptp(other.corners, axis=0))
    return bool(((high - low) > 0.3 * least).all())


def _check_inside(outline: Outline, small: Picture) -> None:
    facts = small.facts
    rim = 0.006 * max(facts.width, facts.height)
    x, y = outline.corners.T
    if min(x.min(), y.min()) < rim or x.max() > facts.width - rim or y.max() > facts.height - rim:
        raise refuse("sheet_cut")


def _around(points: Array) -> Array:
    """Order corners clockwise as seen, beginning at the side that is uppermost."""
    centre = points.mean(axis=0)
    around = points[np.argsort(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))]
    middles = 0.5 * (around + np.roll(around, -1, axis=0))
    return np.roll(around, -int(np.argmin(middles[:, 1])), axis=0)


def place(file: PictureFile, corners: Array, settings: Settings) -> Placed:
    """Find the edges of a sheet and fit its mapping.

    Parameters
    ----------
    file : PictureFile
        The picture.
    corners : array of shape (4, 2)
        Clockwise from the upper left as seen. [px]
    settings : Settings
        What the user said.

    Raises
    ------
    UnreadableFile
        If the sheet is too small in the picture, an edge cannot be followed, or the picture is out of focus.
    """
    facts = file.facts
    turned = np.roll(corners, -_TURN[settings.orientation or "up"], axis=0)
    corners = turned[[3, 2, 1, 0]]  # lower left, lower right, upper right, upper left
    size, scale = _size(corners, file, settings)
    flags: list[Flag] = []
    if scale == "assumed":
        flags.append(Flag("scale_assumed"))
    _check_proportions(corners, file, size, scale, flags)
    rough = _length(corners) / size[1]
    if rough < LEAST_SCALE:
        raise refuse("too_small", f"{rough:.1f} pixels a millimetre, wanted {POOR_SCALE:.0f}", rough, LEAST_SCALE)
    picture = file.decode(int(np.ceil(WANTED / rough * max(facts.width, facts.height))))
    _check_light(picture, corners)
    edges, mapping = _fitted(picture, corners, size, rough, settings)
    per_mm = mapping.scale
    if _on_frame(corners, file):
        mapping = through_corners(corners, size, (facts.width, facts.height), facts.focal, SCAN_U * rough)
        flags.append(Flag("sheet_fills_frame"))
    elif not settings.corners and _faint(edges, per_mm) and _beyond(picture, corners, rough) < LEAST_CONTRAST:
        mapping = through_corners(corners, size, (facts.width, facts.height), facts.focal, FAINT_U * rough)
        flags.append(_contrast_flag(edges))
    elif not settings.corners:
        _check_edges(edges, per_mm, flags)
    widening = 1.0
    if per_mm < POOR_SCALE:
        flags.append(
            Flag("low_resolution", f"{per_mm:.1f} pixels a millimetre, wanted {POOR_SCALE:.0f}", per_mm, POOR_SCALE)
        )
        widening *= 1.5
    _check_bulge(mapping, flags)
    return Placed(
        picture,
        mapping,
        edges,
        scale,
        tuple(flags),
        widening,
        not facts.camera and _square_on(corners),
        settings.orientation or "up",
    )


def _check_bulge(mapping: Mapping, flags: list[Flag]) -> None:
    """Flag a sheet that does not lie flat, and refuse one that lies so badly that it cannot be undone."""
    heights = np.linspace(0, mapping.height, 9)
    bulge = max(float(np.abs(mapping.bulge_along(mapping.width * t, heights)).max()) for t in (0.2, 0.5, 0.8))
    if bulge > STEEP_BULGE * mapping.height:
        limit = STEEP_BULGE * mapping.height
        raise refuse("not_flat", f"positions would have to be moved by {bulge:.1f} mm", bulge, limit)
    if bulge > BULGES:
        flags.append(Flag("sheet_bulges", f"positions were moved by up to {bulge:.2f} mm", bulge, BULGES))


def _check_light(picture: Picture, corners: Array) -> None:
    """Refuse a picture in which the paper is nearly black, or nothing but white."""
    t = (np.arange(24) + 0.5) / 24
    left, right = (corners[a] + t[:, None] * (corners[b] - corners[a]) for a, b in ((0, 3), (1, 2)))
    codes = sample(picture, left[:, None] + t[None, :, None] * (right - left)[:, None])
    paper = float(np.percentile(codes.min(axis=2), 60))
    if paper < TOO_DARK:
        raise refuse("too_dark", f"the paper has code value {paper:.0f} of 255", paper, TOO_DARK)
    white = float((codes >= 253.5).all(axis=2).mean())
    if white > CLIPPED:
        raise refuse("over_exposed", f"{100 * white:.0f} % of the sheet are at the end of the scale", white, CLIPPED)


def _length(corners: Array) -> float:
    """Mean length of the two sides along the run. [px]."""
    return float(0.5 * (np.linalg.norm(corners[3] - corners[0]) + np.linalg.norm(corners[2] - corners[1])))


def _size(corners: Array, file: PictureFile, settings: Settings) -> tuple[tuple[float, float], Scale]:
    if settings.size is not None:
        return settings.size, "given"
    ratio = proportion_in(corners, file)
    if settings.bar is not None:
        ends, length = settings.bar
        height = _height_from_bar(corners, ends, length, ratio)
        return (height * ratio, height), "bar"
    facts = file.facts
    if facts.resolution is not None and not facts.camera:
        height = _length(corners) / facts.resolution
        if 20.0 <= height <= 400.0:
            across = float(np.linalg.norm(corners[1] - corners[0]) + np.linalg.norm(corners[2] - corners[3])) / 2
            return (across / facts.resolution, height), "resolution"
    return (ASSUMED * ratio, ASSUMED), "assumed"


def _height_from_bar(corners: Array, ends: Array, length: float, ratio: float) -> float:
    """Height of the sheet from a bar of known length in its plane. [mm]."""
    square = np.array([[0, 0], [ratio, 0], [ratio, 1], [0, 1.0]])
    matrix = np.linalg.inv(homography(square, corners))
    on = np.concatenate([ends, np.ones((2, 1))], axis=1) @ matrix.T
    on = on[:, :2] / on[:, 2:]
    return length / max(float(np.linalg.norm(on[1] - on[0])), 1e-6)


def proportion_in(corners: Array, file: PictureFile) -> float:
    """Width over height of a rectangle seen at four corners, with the focal length that is known or usual."""
    facts = file.facts
    unit = max(facts.width, facts.height)
    centre = (np.array([facts.width, facts.height]) - 1) / 2
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    matrix = homography(square, (corners - centre) / unit)
    focal = facts.focal or USUAL_FOCAL
    camera = np.array([focal, focal, 1.0])
    return float(np.linalg.norm(matrix[:, 0] / camera) / np.linalg.norm(matrix[:, 1] / camera))


def _check_proportions(
    corners: Array, file: PictureFile, size: tuple[float, float], scale: Scale, flags: list[Flag]
) -> None:
    if scale != "given":
        return
    seen = proportion_in(corners, file)
    off = seen * size[1] / size[0]
    if not 0.87 < off < 1.15:
        flags.append(
            Flag("size_mismatch", f"width over height is {seen:.2f}, given {size[0] / size[1]:.2f}", off, 1.15)
        )


def _fitted(
    picture: Picture, corners: Array, size: tuple[float, float], rough: float, settings: Settings
) -> tuple[tuple[Edge, ...], Mapping]:
    facts = picture.facts
    shape = (facts.width, facts.height)
    curved = facts.camera or not _square_on(corners)
    if settings.corners:
        edges = find_edges(picture, corners, BAND * rough)
        if min(edge.found for edge in edges) < 0.5:
            return edges, through_corners(corners, size, shape, facts.focal, CORNER_U)
        return edges, fit_mapping(edges, corners, size, shape, facts.focal, curved)
    band = max(BAND * rough, 0.006 * max(shape))
    edges = find_edges(picture, corners, band)
    bow = max(edge.bow for edge in edges)
    curved = curved or bow > BOWED * rough
    mapping = fit_mapping(edges, corners, size, shape, facts.focal, curved)
    rectangle = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], dtype=float)
    again = mapping.pixels(rectangle)
    edges = find_edges(picture, again, BAND * rough + bow)
    return edges, fit_mapping(edges, again, size, shape, facts.focal, curved)


def _square_on(corners: Array) -> bool:
    """Whether the sheet is seen as a parallelogram with right angles, as on a scanner: then it is taken as flat."""
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.linalg.norm(sides, axis=1)
    turned = np.cross(np.append(sides[0], 0.0), np.append(sides[1], 0.0))[2]
    straight = abs(sides[0] @ sides[1]) < 0.01 * abs(turned)
    return bool(straight and (np.abs(lengths[:2] / lengths[2:] - 1) < 0.008).all())


def _on_frame(corners: Array, file: PictureFile) -> bool:
    """Whether the corners are those of the picture itself."""
    away = np.linalg.norm(corners[:, None] - _frame(file)[None], axis=2).min(axis=1)
    return bool((away < 1.0).all())


def _faint(edges: Sequence[Edge], per_mm: float) -> bool:
    """Whether paper and background differ so little that the corners found by whole sides are better than the edges."""
    strays = any(edge.found < 0.7 or edge.averaged > 1 or edge.scatter > 0.3 * per_mm for edge in edges)
    return strays and min(edge.contrast for edge in edges) < LEAST_CONTRAST


def _beyond(picture: Picture, corners: Array, rough: float) -> float:
    """Contrast of the weakest side some way from it, where no blur reaches: steps of linear light of 255."""
    centre, weakest = corners.mean(axis=0), np.inf
    for number in range(4):
        start, stop = corners[number], corners[(number + 1) % 4]
        normal = np.array([-(stop - start)[1], (stop - start)[0]]) / np.linalg.norm(stop - start)
        normal = normal if normal @ (centre - start) > 0 else -normal
        middle = start + np.linspace(0.1, 0.9, 60)[:, None] * (stop - start)
        sides = [sample(picture, middle + side * FAR * rough * normal) for side in (-1.0, 1.0)]
        outside, inside = (255.0 * np.median(linear(values / 255.0), axis=0) for values in sides)
        weakest = min(weakest, float(np.abs(inside - outside).max()))
    return weakest


def _contrast_flag(edges: Sequence[Edge]) -> Flag:
    contrast = min(edge.contrast for edge in edges)
    return Flag("background_bright", f"{contrast:.0f} of 255 steps", contrast, LEAST_CONTRAST)


def _check_edges(edges: Sequence[Edge], per_mm: float, flags: list[Flag]) -> None:
    found = min(edge.found for edge in edges)
    blur = float(np.median([edge.width for edge in edges])) / per_mm
    if blur > USELESS:
        seen = (
            f"edges are {blur:.1f} mm wide" if np.isfinite(blur) else "edges are wider than where they were looked for"
        )
        raise refuse("out_of_focus", seen, blur, USELESS)
    if found < 0.5:
        raise refuse("edge_missing", f"{100 * found:.0f} % of it were seen", found, 0.5)
    if min(edge.contrast for edge in edges) < LEAST_CONTRAST:
        flags.append(_contrast_flag(edges))
    if blur > BLURRED:
        flags.append(Flag("blurred", f"edges are {blur:.1f} mm wide", blur, BLURRED))
    scatter = max(edge.scatter for edge in edges) / per_mm
    if scatter > STRAYS:
        raise refuse("not_flat", f"an edge strays by {scatter:.1f} mm", scatter, STRAYS)
