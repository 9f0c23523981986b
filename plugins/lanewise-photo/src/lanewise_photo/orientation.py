"""Which end of the sheet is up, and whether it is mirrored: by the corner mark, the origin line, or the writing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flags import Flag
from lanewise_photo.flat import Flat, flatten
from lanewise_photo.lines import Line, find_lines, strips
from lanewise_photo.picture import PictureFile
from lanewise_photo.placing import Placed, place, proportion_in
from lanewise_photo.settings import Settings
from lanewise_photo.writing import Writing, writing_on

Array: TypeAlias = npt.NDArray[np.float64]

TURNS = ("up", "left", "down", "right")
"""Orientations in the order of quarter turns of the flat sheet, clockwise, that bring the front up."""

DISCS = ((3.0, 3.0), (7.0, 3.0), (3.0, 7.0))
EMPTY = ((7.0, 7.0), (5.0, 5.0), (5.0, 3.0), (3.0, 5.0), (9.0, 3.0), (3.0, 9.0))
"""Printed corner mark: three discs of four near the lower left corner, and places about them that are bare. [mm]"""

LEAST_MARK = 0.12
"""How much darker the discs are than the bare places between them, as optical density."""

PITCH = 0.25
NEAR_EXPECTED, USUAL_MISS = 4.0, 1.0
"""How far from the height given an origin line may lie, and how far it commonly does. [mm]"""

CLEARLY = 5.0
"""By what factor the origin line must stand out more at one end than at the other to say which end is down."""

UPRIGHT, AS_SEEN, MIRRORED = 2.0, 0.0, -3.0
"""Standard errors by which writing must fit better upright than upside down, as seen than mirrored, and the other way:
a mirrored picture is rare (one in a hundred, say, an estimate), so that any writing which fits better as seen leaves
little doubt, and much is wanted to say that one is mirrored."""


@dataclass(frozen=True, eq=False)
class Upright:
    """A sheet placed with the front up, as far as can be told.

    Attributes
    ----------
    placed : Placed
    known : bool
        Whether the user, the corner mark, the origin line or the writing says which end is up.
    mirrored : bool
        Whether the user, the corner mark or the writing says that the sheet is seen as in a mirror.
    """

    placed: Placed
    known: bool
    mirrored: bool = False


def placed_upright(file: PictureFile, corners: Array, settings: Settings) -> Upright:
    """Place a sheet with the front up; say also whether that is known.

    Where the user gave no orientation, every one that the proportions allow is tried. The printed mark decides; else
    the origin line, where it stands out clearly more at one end than at the other; else writing that matches the names
    of the lanes; else the upper end of the picture is taken for the front, as most people hold a sheet (common
    practice, no source), and that is not known. The mark or the writing say also whether it is seen as in a mirror.
    """
    seen = _Seen(file, corners, settings)
    name, evidence, mark_mirrored = _end_up(seen, settings)
    placed = seen.placed(name)
    flags = [] if settings.orientation or not evidence else [Flag("orientation_told", f"by the {evidence}")]
    mirrored = _mirror(seen, name, mark_mirrored, settings)
    if mirrored is None and settings.lanes != 1 and not placed.scanned:  # a scanner mirrors nothing
        flags.append(Flag("mirror_unknown"))
    return Upright(replace(placed, flags=(*placed.flags, *flags)), bool(evidence), bool(mirrored))


class _Seen:
    """A sheet placed and laid flat in each orientation that is asked for, once."""

    def __init__(self, file: PictureFile, corners: Array, settings: Settings) -> None:
        self.file, self.corners, self.settings = file, corners, settings
        self.axes = (settings.orientation,) if settings.orientation else _axes(file, corners, settings)
        self._placed: dict[str, Placed] = {}
        self._flat: dict[str, Flat] = {}
        self._writing: dict[str, Writing] = {}

    def placed(self, name: str) -> Placed:
        if name not in self._placed:
            self._placed[name] = place(self.file, self.corners, replace(self.settings, orientation=name))
        return self._placed[name]

    def flat(self, name: str) -> Flat:
        """Give the sheet laid flat; half a turn needs no second look at the picture."""
        if name not in self._flat:
            other = opposite(name)
            if other in self._flat:
                self._flat[name] = _half_turn(self._flat[other])
            else:
                placed = self.placed(name)
                self._flat[name] = flatten(
                    placed.picture, placed.mapping, PITCH * max(1.0, placed.mapping.height / 150.0)
                )
        return self._flat[name]

    def writing(self, name: str) -> Writing:
        if name not in self._writing:
            self._writing[name] = writing_on(self.flat(name), self.settings.names)
        return self._writing[name]


def _end_up(seen: _Seen, settings: Settings) -> tuple[str, str, bool | None]:
    """Orientation, what it is known from (empty where it is not), and whether the corner mark is seen in a mirror."""
    names = seen.axes if settings.orientation else tuple(name for base in seen.axes for name in (base, opposite(base)))
    marks = [(corner_mark(seen.flat(name)), False, name) for name in names]
    marks += [(corner_mark(_mirrored(seen.flat(name))), True, name) for name in names]
    (mark, mirrored, name), (second, _, _) = sorted(marks, reverse=True)[:2]
    if mark > LEAST_MARK and second < 0.6 * mark:
        return name, "corner mark", mirrored
    if settings.orientation:
        return settings.orientation, "user", None
    usual = names[0]
    lines = {
        name: _origin_strength(seen.flat(name), settings, seen.placed(_base(name, seen)).mapping.height)
        for name in names
    }
    best = max(lines, key=lambda one: (lines[one], one == usual))
    if lines[best] > 0.0 and lines[best] > CLEARLY * max(lines[one] for one in lines if one != best):
        return best, "origin line", None
    if len(seen.axes) == 1 and abs(way := seen.writing(usual).prefers(0, 2)) > UPRIGHT:
        return (usual if way > 0 else opposite(usual)), "writing", None
    return usual, "", None


def _base(name: str, seen: _Seen) -> str:
    return name if name in seen.axes else opposite(name)


def _mirror(seen: _Seen, name: str, mark: bool | None, settings: Settings) -> bool | None:
    """Whether the sheet is seen as in a mirror; None where that is not known."""
    if settings.mirrored:
        return settings.mirrored == "yes"
    if mark is not None:
        return mark
    way = seen.writing(name).prefers(0, 1)
    return True if way < MIRRORED else False if way > AS_SEEN else None


def opposite(orientation: str) -> str:
    """Give the orientation that is half a turn away.

    Examples
    --------
    >>> opposite("left")
    'right'
    """
    return TURNS[(TURNS.index(orientation) + 2) % 4]


def _axes(file: PictureFile, corners: Array, settings: Settings) -> tuple[str, ...]:
    """Orientations to try, one for each direction that the proportions of the sheet allow."""
    if settings.size is None:
        return ("up", "right")
    wanted = np.log(settings.size[0] / settings.size[1])
    upright = np.log(proportion_in(corners[[3, 2, 1, 0]], file))
    if abs(wanted) < 0.1:
        return ("up", "right")
    return ("up",) if abs(upright - wanted) < abs(-upright - wanted) else ("right",)


def _mirrored(flat: Flat) -> Flat:
    return replace(flat, density=flat.density[:, ::-1])


def _half_turn(flat: Flat) -> Flat:
    return replace(flat, density=flat.density[::-1, ::-1])


def corner_mark(flat: Flat) -> float:
    """How much darker the discs of the mark are than what lies about them, with the mark at the lower left."""
    from scipy.ndimage import uniform_filter

    reach = round(12.0 / flat.pitch)
    corner = flat.density[:reach, :reach].min(axis=2).astype(float)
    smooth = uniform_filter(corner, max(1, round(1.0 / flat.pitch)))
    shifts = np.arange(-1.5, 1.51, flat.pitch)
    dx, dy = np.meshgrid(shifts, shifts)

    def at(x: float, y: float) -> Array:
        column = np.clip(np.rint((x + dx) / flat.pitch - 0.5).astype(int), 0, smooth.shape[1] - 1)
        row = np.clip(np.rint((y + dy) / flat.pitch - 0.5).astype(int), 0, smooth.shape[0] - 1)
        return np.asarray(smooth[row, column])

    dark = np.min([at(*one) for one in DISCS], axis=0)
    bare = np.max([at(*one) for one in EMPTY], axis=0)
    return float((dark - bare).max())


def _origin_strength(flat: Flat, settings: Settings, height: float) -> float:
    """How far a pencil line stands out of the blank, less the farther it lies from the height given."""
    if settings.origin is None:
        return 0.0
    low, high = (max(2.0, settings.origin - NEAR_EXPECTED), min(settings.origin + NEAR_EXPECTED, 0.6 * height))
    lines = find_lines(strips(flat), "pencil line", low, high, bowed=False)
    return max((line.snr * line.support * nearness(line, settings.origin) for line in lines), default=0.0)


def nearness(line: Line, expected: float) -> float:
    """Weight of a line by how far it lies from where it was to be drawn, 0 to 1."""
    miss = float(line.at(line.width / 2)) - expected
    return 1.0 / (1.0 + (miss / USUAL_MISS) ** 2)
