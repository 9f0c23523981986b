"""What a plan is to be made for, checked where it is typed, and the levels that follow where none were given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import floor, nan
from typing import NamedTuple

from lanewise.errors import PlanError
from lanewise.planning.distances import USUAL, Distances
from lanewise.planning.vessels import STANDINGS, Standing, Vessel

MOST_LANES = 200
NOT_STATED = "not stated"


class Levels(NamedTuple):
    """Heights above the lower edge of the sheet. [mm]."""

    origin: float
    front: float
    depth: float


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a plan is to be made for.

    Attributes
    ----------
    samples, standards : tuple of str
        What is to be spotted; names of one kind differ.
    replicates, standard_replicates : int
        Lanes of each.
    blank : bool
        Whether one lane stays without sample.
    seed : int or None
        For the order of the lanes.
    width, height : float
        Size of the sheet, the height along the run. [mm]
    spot : float
        Diameter of a spot as it is applied. [mm]
    pitch : float or None
        Distance of neighbouring lanes; None to use the room there is. [mm]
    origin, front, depth : float or None
        Height of the origin line and of the front target above the lower edge, and depth of the liquid; None for the
        usual. [mm]
    vessel : Vessel or None
        None where it is not known; then nothing is said of it.
    standing : {"flat", "folded", "rolled"}
        How the sheet stands.
    panels : int
        Number of panels of a folded sheet, 2 to 20.
    distances : Distances
        What is kept.
    plate, title, system, stationary_phase : str
        Names for the record.

    Raises
    ------
    PlanError
        If a value is not possible by itself.
    """

    samples: tuple[str, ...]
    standards: tuple[str, ...] = ()
    replicates: int = 1
    standard_replicates: int = 1
    blank: bool = False
    seed: int | None = None
    width: float
    height: float
    spot: float = 3.0
    pitch: float | None = None
    origin: float | None = None
    front: float | None = None
    depth: float | None = None
    vessel: Vessel | None = None
    standing: Standing = "flat"
    panels: int = 2
    distances: Distances = field(default=USUAL)
    plate: str = "1"
    title: str = ""
    system: str = NOT_STATED
    stationary_phase: str = NOT_STATED

    def __post_init__(self) -> None:
        for name in ("samples", "standards"):
            object.__setattr__(self, name, names_of(name, getattr(self, name)))
        for name in ("plate", "title", "system", "stationary_phase"):
            object.__setattr__(
                self, name, _one_line(name, getattr(self, name)) or ("" if name == "title" else NOT_STATED)
            )
        for name in ("width", "height", "spot", "pitch", "origin", "front", "depth"):
            object.__setattr__(self, name, _length(name, getattr(self, name)))
        for name, least, most in (("replicates", 1, MOST_LANES), ("standard_replicates", 1, MOST_LANES)):
            _check_whole(name, getattr(self, name), least, most)
        _check_names(self)
        if self.seed is not None:
            _check_whole("seed", self.seed, 0, 2**53)
        if self.standing not in STANDINGS:
            wanted = ", ".join(STANDINGS)
            raise PlanError(f"plan, standing: wanted one of {wanted}, given {self.standing!r}. Correct it.")
        _check_whole("panels", self.panels, 2, 20)
        if self.count > MOST_LANES:
            raise PlanError(f"plan: wanted at most {MOST_LANES} lanes, given {self.count}. Use several sheets.")

    @property
    def count(self) -> int:
        """Number of lanes."""
        return len(self.samples) * self.replicates + len(self.standards) * self.standard_replicates + int(self.blank)

    @property
    def folds(self) -> tuple[float, ...]:
        """Where the sheet is folded, from its left side. [mm]."""
        if self.standing != "folded":
            return ()
        return tuple(self.width * number / self.panels for number in range(1, self.panels))

    def levels(self) -> Levels:
        """Give origin, front target and depth, the usual ones where none were given.

        Notes
        -----
        Origin: 15 mm, on a sheet at least 150 mm high 20 mm, on one lower than 70 mm 10 mm. Front target: 10 mm below
        the upper edge. Depth: whole millimetres, at most the usual depth, so that the usual distance to the origin
        line is kept, but not less than 3 mm. Sources: `Distances`; heights of the origin line as in layouts for
        teaching that were read (10 to 20 mm).
        """
        keep = self.distances
        usual = 20.0 if self.height >= 150.0 else 15.0 if self.height >= 70.0 else 10.0
        origin = usual if self.origin is None else self.origin
        front = max(self.height - keep.usual_top, self.height / 2) if self.front is None else self.front
        room = floor(origin - max(keep.usual_liquid, self.spot / 2 + keep.clear_liquid))
        depth = float(min(keep.deep, max(3.0, room))) if self.depth is None else self.depth
        return Levels(origin, front, depth)


def _one_line(what: str, text: object) -> str:
    """Give a text as one line without blanks at its ends."""
    if not isinstance(text, str):
        raise PlanError(f"plan, {what}: wanted a text, given {text!r}. Name it.")
    return " ".join(text.split())


def names_of(kind: str, given: object) -> tuple[str, ...]:
    """Give names as one line each, as they are read back from a table."""
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise PlanError(f"plan, {kind}: wanted a list of names, given {given!r}. Write for instance ['blue pen'].")
    return tuple(_one_line(kind, name) for name in given)


def _length(name: str, value: object) -> float | None:
    if value is None and name not in ("width", "height", "spot"):
        return None
    try:
        length = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        length = nan
    if not 0.0 < length < 1e4:
        raise PlanError(f"plan, {name}: wanted a length above 0 mm, given {value!r}. Give it in millimetres.")
    return length


def _check_names(wanted: Wanted) -> None:
    if wanted.count == 0:
        raise PlanError("plan: wanted at least one lane, given no sample, no standard and no blank. Name a sample.")
    for kind, names in (("samples", wanted.samples), ("standards", wanted.standards)):
        for name in names:
            if not name:
                raise PlanError(f"plan, {kind}: wanted names, given an empty one. Name each of them.")
        double = next((name for place, name in enumerate(names) if name in names[:place]), None)
        if double is not None:
            raise PlanError(
                f"plan, {kind}: wanted names that differ, given {double!r} twice. Ask for replicates instead."
            )


def _check_whole(name: str, value: object, least: int, most: int) -> None:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise PlanError(f"plan, {name}: wanted a whole number from {least} to {most}, given {value!r}. Correct it.")
