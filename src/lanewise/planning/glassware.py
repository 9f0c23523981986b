"""Glassware at hand: what volume it can measure out, and how far that may be off."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, sqrt
from typing import Literal, NamedTuple, TypeAlias

from lanewise.errors import PlanError
from lanewise.uncertainty.rounding import as_decimal, round_half_up

Kind: TypeAlias = Literal["cylinder", "pipette"]

MOST_FILLINGS = 5
LEAST_SHARE = 0.1
"""Below a tenth of its capacity glass is a poor choice, and often has no marks (common practice, no source)."""


def _above_zero(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0.0 < value < 1e6


@dataclass(frozen=True, kw_only=True)
class Glassware:
    """One vessel for measuring out, by its size and its marks.

    Attributes
    ----------
    kind : {"cylinder", "pipette"}
    capacity : float
        What it holds up to its highest mark, above zero. [mL]
    division : float or None
        Distance of neighbouring marks; None for a pipette with one mark only. [mL]
    tolerance : float or None
        Largest error that the class of the glass allows, as printed on it. None takes one division for it (common
        practice, no source), and every recipe says so. [mL]

    Raises
    ------
    PlanError
        If a size is not above zero, a division is more than half of the capacity, a cylinder has no division, or glass
        with one mark has no tolerance.

    Notes
    -----
    No tolerance of a standard is built in: read it off the glass, where class and tolerance are printed.

    Examples
    --------
    >>> Glassware(kind="cylinder", capacity=25, division=0.5).limit
    0.5
    >>> str(Glassware(kind="pipette", capacity=10, tolerance=0.02))
    '10 mL pipette'
    """

    kind: Kind
    capacity: float
    division: float | None = None
    tolerance: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in ("cylinder", "pipette"):
            raise PlanError(f"glassware, kind: wanted cylinder or pipette, given {self.kind!r}. Choose one.")
        for name in ("capacity", "division", "tolerance"):
            value = getattr(self, name)
            if (value is not None or name == "capacity") and not _above_zero(value):
                raise PlanError(f"{self.kind}, {name}: wanted a volume above 0 mL, given {value!r}. Correct it.")
        if self.division is not None and self.division > self.capacity / 2:
            raise PlanError(
                f"{self}, division: wanted at most half of the capacity, given {self.division:g} mL. Read it off again."
            )
        if self.kind == "cylinder" and self.division is None:
            raise PlanError(f"{self}: wanted the distance of its marks in mL, given none. Read it off the glass.")
        if self.division is None and self.tolerance is None:
            raise PlanError(f"{self} with one mark: wanted its tolerance in mL, given none. Read it off the glass.")

    @property
    def limit(self) -> float:
        """Largest error of one filling: the tolerance, or one division where none was given. [mL]."""
        if self.tolerance is not None:
            return self.tolerance
        assert self.division is not None
        return self.division

    def __str__(self) -> str:
        return f"{self.capacity:g} mL {self.kind}"


class Taken(NamedTuple):
    """A volume as it can be measured out.

    Attributes
    ----------
    volume, u : float
        What is measured out, and its standard uncertainty. [mL]
    glass : Glassware
    fillings : int
        How often the glass is filled.
    """

    volume: float
    u: float
    glass: Glassware
    fillings: int

    @property
    def how(self) -> str:
        """Say with which glass, and in which fillings."""
        if self.fillings == 1:
            return str(self.glass)
        full, capacity = self.fillings - 1, self.glass.capacity
        several = f"{full} × " if full > 1 else ""
        rest = as_decimal(self.volume - full * capacity).normalize()
        return f"{self.glass}, filled {self.fillings} times: {several}{capacity:g} + {rest:f} mL"


USUAL_GLASSWARE: tuple[Glassware, ...] = tuple(
    Glassware(kind="cylinder", capacity=capacity, division=division)
    for capacity, division in ((10.0, 0.2), (25.0, 0.5), (50.0, 1.0), (100.0, 1.0), (250.0, 2.0))
)
"""Graduated cylinders that are taken where none are named (sizes: common practice, no source)."""


def parse_glassware(kind: Kind, text: str) -> Glassware:
    """Take glassware apart as it is typed: capacity, division and tolerance, parted by strokes.

    Parameters
    ----------
    kind : {"cylinder", "pipette"}
    text : str
        ``25/0.5`` or ``25/0.5/0.25`` for glass with many marks; ``10/0.02`` for a pipette with one mark, which has no
        division. [mL]

    Raises
    ------
    PlanError
        If it is none of these.

    Examples
    --------
    >>> parse_glassware("cylinder", "25/0.5/0.25").tolerance
    0.25
    >>> parse_glassware("pipette", "10/0.02").division is None
    True
    """
    numbers = [part.strip() for part in text.split("/")]
    if not 2 <= len(numbers) <= 3 or not all(re.fullmatch(r"\d+(\.\d+)?", part) for part in numbers):
        shape = "capacity/division or capacity/division/tolerance, such as 25/0.5 or 25/0.5/0.25"
        if kind == "pipette":
            shape = "capacity/tolerance or capacity/division/tolerance, such as 10/0.02 or 10/0.1/0.05"
        raise PlanError(f"{kind}: wanted {shape}, all in mL, given {text!r}. Correct it.")
    capacity, second, *third = [float(part) for part in numbers]
    if kind == "pipette" and not third:
        return Glassware(kind=kind, capacity=capacity, tolerance=second)
    return Glassware(kind=kind, capacity=capacity, division=second, tolerance=third[0] if third else None)


def measure_out(volume: float, glassware: Sequence[Glassware] = USUAL_GLASSWARE) -> Taken:
    """Choose the glass that measures a volume best, and round the volume to its marks.

    Parameters
    ----------
    volume : float
        Wanted, above zero. [mL]
    glassware : sequence of Glassware
        What is at hand, at least one.

    Returns
    -------
    Taken
        With the fewest fillings of a cylinder and, of equal ones, the least combined error: the square root of the
        squares of what rounding changes and of the standard uncertainty. Glass that would have to be filled more than
        five times, or is used below a tenth of its capacity, comes last.

    Raises
    ------
    PlanError
        If the volume is not above zero, or no glassware is given.

    Notes
    -----
    Halves are rounded up. The standard uncertainty of n fillings is sqrt(n division² / 12 + n² tolerance² / 3): each
    reading lies within half a division, and the error of the glass, within its tolerance, is the same each time
    (rectangular distributions, JCGM 100:2008, 4.3.7 and F.2.2.1; clause numbers from memory).
    Filling to one mark counts as exact beside the tolerance.

    Examples
    --------
    >>> found = measure_out(20.3, [Glassware(kind="cylinder", capacity=25, division=0.5, tolerance=0.25)])
    >>> found.volume, round(found.u, 3), found.how
    (20.5, 0.204, '25 mL cylinder')
    """
    if not _above_zero(volume):
        raise PlanError(f"volume: wanted one above 0 mL, given {volume!r}. Correct it.")
    if not glassware:
        raise PlanError("glassware: wanted at least one cylinder or pipette, given none. Name one, or leave it out.")
    return min((_taken(volume, glass) for glass in glassware), key=lambda one: _badness(one, volume))


def _taken(volume: float, glass: Glassware) -> Taken:
    step = glass.capacity if glass.division is None else glass.division
    steps = max(1, int(round_half_up(float(as_decimal(volume) / as_decimal(step)), 0)))
    measured = float(as_decimal(step) * Decimal(steps))
    fillings = max(1, ceil(measured / glass.capacity - 1e-9))
    reading = 0.0 if glass.division is None else fillings * glass.division**2 / 12
    return Taken(measured, sqrt(reading + (fillings * glass.limit) ** 2 / 3), glass, fillings)


def _badness(one: Taken, volume: float) -> tuple[bool, bool, int, float]:
    little = one.volume < LEAST_SHARE * one.glass.capacity - 1e-9
    combined = sqrt((one.volume - volume) ** 2 + one.u**2)
    return one.fillings > MOST_FILLINGS, little, one.fillings if one.glass.kind == "cylinder" else 1, combined
