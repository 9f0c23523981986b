"""The vessel, and the room that a sheet takes in it: flat, folded or rolled."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi, sqrt
from typing import Literal, TypeAlias

from lanewise.errors import PlanError
from lanewise.planning.distances import Distances, is_length

Standing: TypeAlias = Literal["flat", "folded", "rolled"]
STANDINGS: tuple[Standing, ...] = ("flat", "folded", "rolled")

MM3_PER_ML = 1000.0


@dataclass(frozen=True, kw_only=True)
class Vessel:
    """A vessel by its inner size: round with a diameter, or rectangular with a width and a breadth.

    Attributes
    ----------
    diameter : float or None
        Inner diameter of a round vessel. [mm]
    width, breadth : float or None
        Inner sides of a rectangular one, the longer first or not. [mm]
    height : float
        Inner height, up to the lid or the rim. [mm]
    lid : bool
        Whether it is covered during the run.

    Raises
    ------
    PlanError
        If neither or both shapes are given, or a size is not above zero.

    Examples
    --------
    >>> round(Vessel(diameter=70, height=95).volume(10), 1)
    38.5
    """

    diameter: float | None = None
    width: float | None = None
    breadth: float | None = None
    height: float
    lid: bool = True

    def __post_init__(self) -> None:
        sides = (self.width, self.breadth)
        if (self.diameter is None) == (None in sides) or (self.diameter is not None and sides != (None, None)):
            given = ", ".join(f"{name} {value}" for name, value in self._sizes() if name != "height") or "nothing"
            raise PlanError(f"vessel: wanted either a diameter or a width and a breadth, given {given}. Correct it.")
        for name, value in self._sizes():
            if not is_length(value, 1e5):
                raise PlanError(f"vessel, {name}: wanted a length above 0 mm, given {value!r}. Give it in millimetres.")

    def _sizes(self) -> list[tuple[str, float]]:
        held = {"diameter": self.diameter, "width": self.width, "breadth": self.breadth, "height": self.height}
        return [(name, value) for name, value in held.items() if value is not None]

    def _sides(self) -> tuple[float, float]:
        assert self.width is not None
        assert self.breadth is not None
        return self.width, self.breadth

    @property
    def floor(self) -> float:
        """Area of the floor. [mm2]."""
        if self.diameter is not None:
            return pi * self.diameter**2 / 4
        width, breadth = self._sides()
        return width * breadth

    def volume(self, depth: float) -> float:
        """Volume of liquid that stands so deep; the sheet in it is not counted. Depth in mm, volume in mL."""
        return self.floor * depth / MM3_PER_ML

    def most_width(self, standing: Standing, panels: int, distances: Distances) -> float:
        """Width of the widest sheet that stands in the vessel without touching its wall.

        Parameters
        ----------
        standing : {"flat", "folded", "rolled"}
            A flat sheet stands upright along the longest line of the floor. A folded one has its panels at right
            angles, zigzag where they are three or more. A rolled one is a cylinder.
        panels : int
            Number of panels of a folded sheet.
        distances : Distances
            Distance to the wall, and between the ends of a roll.

        Returns
        -------
        float
            Width of the sheet before folding or rolling; 0 where none fits. [mm]

        Notes
        -----
        Derived in closed form. Two panels of length p at right angles touch a circle of diameter p sqrt(2), and a
        rectangle with sides p along the walls, or with p sqrt(2) along one wall and p / sqrt(2) along the other. A
        zigzag of n panels covers n p / sqrt(2) by p / sqrt(2), and the circle about that rectangle.
        A roll of diameter d has the circumference pi d, less the seam.

        Examples
        --------
        >>> vessel = Vessel(diameter=70, height=95)
        >>> [round(vessel.most_width(way, 2, Distances())) for way in ("flat", "folded", "rolled")]
        [66, 93, 202]
        """
        if self.diameter is not None:
            inner = max(0.0, self.diameter - 2 * distances.wall)
            if standing == "flat":
                return inner
            if standing == "folded":
                panel = inner / sqrt(2) if panels == 2 else inner * sqrt(2) / hypot(panels, 1)
                return panels * panel
            return max(0.0, pi * inner - distances.seam)
        short, long = sorted(self._sides())
        short, long = max(0.0, short - 2 * distances.wall), max(0.0, long - 2 * distances.wall)
        if standing == "flat":
            return long
        if standing == "folded":
            zigzag = min(long * sqrt(2) / panels, short * sqrt(2))
            return panels * (max(short, zigzag) if panels == 2 else zigzag)
        return max(0.0, pi * short - distances.seam)

    def __str__(self) -> str:
        size = (
            f"{self.diameter:g} mm across" if self.diameter is not None else f"{self.width:g} mm by {self.breadth:g} mm"
        )
        return f"{size} inside, {self.height:g} mm high, {'with' if self.lid else 'without'} a lid"
