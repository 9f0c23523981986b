"""Units that readings may arrive in, and what they are in the library's own."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

LENGTHS: Mapping[str, float] = MappingProxyType({"mm": 1.0, "cm": 10.0, "in": 25.4, "um": 0.001})
"""Millimetres in one of each unit of length (the inch is 25.4 mm exactly, by definition)."""

MASSES: Mapping[str, float] = MappingProxyType({"ug": 1.0, "ng": 0.001, "mg": 1000.0})
"""Micrograms in one of each unit of mass."""

MINUTES: Mapping[str, float] = MappingProxyType({"min": 1.0, "s": 1 / 60, "h": 60.0})
"""Minutes in one of each unit of time."""

_SPELLINGS = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "in": ("in", "inch", "inches", '"', "″"),
    "um": ("um", "µm", "micrometre", "micrometres", "micrometer", "micrometers"),
    "ug": ("ug", "µg", "microgram", "micrograms"),
    "ng": ("ng", "nanogram", "nanograms"),
    "min": ("min", "minute", "minutes"),
    "s": ("s", "sec", "second", "seconds"),
    "h": ("h", "hour", "hours"),
    "mg": ("mg", "milligram", "milligrams"),
}
_NAMES = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}


def unit_named(text: str) -> str:
    """Give the unit that a text names, or an empty text where it names none.

    Parameters
    ----------
    text : str
        As written; capitals, blanks around it, a full stop behind it and either sign for micro do not matter.

    Returns
    -------
    str
        A key of `LENGTHS`, `MASSES` or `MINUTES`, or empty.

    Examples
    --------
    >>> unit_named("Inches"), unit_named("mm."), unit_named("furlong")
    ('in', 'mm', '')
    """
    return _NAMES.get(text.strip().removesuffix(".").lower().replace("\u03bc", "\u00b5"), "")


def units_of(unit: str) -> Mapping[str, float]:
    """Give the units that can stand in for a column's own, with their factors; empty for pure numbers and text.

    Examples
    --------
    >>> sorted(units_of("mm"))
    ['cm', 'in', 'mm', 'um']
    """
    return {"mm": LENGTHS, "ug": MASSES, "min": MINUTES}.get(unit, MappingProxyType({}))
