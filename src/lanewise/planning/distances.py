"""The usual distances of the trade, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from numbers import Real
from typing import Any

from lanewise.errors import PlanError

CUSTOM = "common practice, no source"
METHOD = "written methods of thin-layer chromatography for teaching, read"


def _distance(value: float, meaning: str, source: str) -> Any:
    return field(default=value, metadata={"meaning": meaning, "source": source})


def is_length(value: object, most: float) -> bool:
    """Tell whether a value is a number above 0 and below `most`.

    Examples
    --------
    >>> is_length(70, 1e4), is_length("70", 1e4), is_length(float("nan"), 1e4)
    (True, False, False)
    """
    return isinstance(value, Real) and 0.0 < float(value) < most


@dataclass(frozen=True, kw_only=True)
class Distances:
    """Distances that a plan keeps; the least are held, the usual are wished and missed with a warning.

    Attributes
    ----------
    least_edge, usual_edge, usual_edge_large : float
        From the side of the sheet: to the edge of a spot at least, to the middle of a lane usually, and that on a sheet
        at least `large` wide. [mm]
    least_fold, usual_fold : float
        From a fold to the edge of a spot. [mm]
    least_pitch, usual_pitch : float
        Between the middles of two lanes: at least so many spot diameters [1], usually so far [mm].
    least_liquid, usual_liquid : float
        From the level of the liquid up to the origin line. [mm]
    clear_liquid : float
        From the level of the liquid up to the lower edge of a spot, at least. [mm]
    shallow, deep : float
        Usual depth of the liquid. [mm]
    least_top, usual_top : float
        From the front target up to the upper edge of the sheet. [mm]
    least_run, usual_run : float
        From the origin line to the front target. [mm]
    strip : float
        Least usual width of a strip of paper. [mm]
    large : float
        From this size on a sheet counts as large. [mm]
    wall, headroom : float
        From the sheet to the wall of the vessel and to its lid. [mm]
    seam : float
        Between the two ends of a rolled sheet. [mm]

    Notes
    -----
    `source_of` says where each comes from. Change one with ``dataclasses.replace`` and say why in your record.

    Examples
    --------
    >>> Distances().usual_pitch, Distances.source_of("usual_pitch")
    (10.0, 'written methods of thin-layer chromatography for teaching, read')
    """

    least_edge: float = _distance(
        2.0, "side of the sheet to the edge of a spot, at least", "university module on thin-layer chromatography, read"
    )
    usual_edge: float = _distance(10.0, "side of the sheet to the middle of a lane, usually", CUSTOM)
    usual_edge_large: float = _distance(20.0, "the same on a large sheet", METHOD)
    least_fold: float = _distance(2.0, "fold to the edge of a spot, at least", CUSTOM)
    usual_fold: float = _distance(5.0, "fold to the edge of a spot, usually", CUSTOM)
    least_pitch: float = _distance(2.0, "middle of a lane to the next, at least, in spot diameters", CUSTOM)
    usual_pitch: float = _distance(10.0, "middle of a lane to the next, usually", METHOD)
    least_liquid: float = _distance(3.0, "liquid up to the origin line, at least", CUSTOM)
    usual_liquid: float = _distance(
        5.0, "liquid up to the origin line, usually", "what the teaching layouts that were read leave"
    )
    clear_liquid: float = _distance(1.0, "liquid up to the edge of a spot, at least", CUSTOM)
    shallow: float = _distance(5.0, "depth of the liquid, usually at least", METHOD)
    deep: float = _distance(10.0, "depth of the liquid, usually at most", METHOD)
    least_top: float = _distance(3.0, "front target up to the upper edge, at least", CUSTOM)
    usual_top: float = _distance(10.0, "front target up to the upper edge, usually", METHOD)
    least_run: float = _distance(10.0, "origin line to the front target, at least", CUSTOM)
    usual_run: float = _distance(30.0, "origin line to the front target, usually", CUSTOM)
    strip: float = _distance(25.0, "width of a strip of paper, usually at least", "British Pharmacopoeia, read")
    large: float = _distance(200.0, "from this width on a sheet is large", METHOD)
    wall: float = _distance(2.0, "sheet to the wall of the vessel, at least", CUSTOM)
    headroom: float = _distance(3.0, "sheet to the lid, at least", CUSTOM)
    seam: float = _distance(5.0, "between the ends of a rolled sheet, at least", CUSTOM)

    def __post_init__(self) -> None:
        for one in fields(self):
            value = getattr(self, one.name)
            if not is_length(value, 1e4):
                raise PlanError(f"distance {one.name!r}: wanted a number above 0, given {value!r}. Correct it.")

    @classmethod
    def source_of(cls, name: str) -> str:
        """Say where a distance comes from.

        Raises
        ------
        KeyError
            If there is none of that name.
        """
        return str({one.name: one.metadata["source"] for one in fields(cls)}[name])

    @classmethod
    def meaning_of(cls, name: str) -> str:
        """Say what a distance is, in a few words.

        Raises
        ------
        KeyError
            If there is none of that name.
        """
        return str({one.name: one.metadata["meaning"] for one in fields(cls)}[name])


USUAL = Distances()
"""What holds unless something else is asked for."""
