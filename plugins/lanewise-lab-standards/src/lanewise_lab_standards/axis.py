"""The abscissa of a trace: a length as it stands, or a multiple of Rf where that was chosen; never guessed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeAlias

from lanewise.errors import LanewiseError, UnreadableFile

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from lanewise_lab_standards.options import Asked

Lines: TypeAlias = tuple[float | None, float | None]
"""Origin and front of a lane; None for what is not known. [mm]"""

RATIOS = {"rf": 1.0, "hrf": 100.0, "rf1000": 1000.0}
"""Choices of the axis that are multiples of Rf, with the factor; hRf is 100 Rf by its usual definition."""

_LENGTHS = {
    "mm": 1.0,
    "millimeter": 1.0,
    "cm": 10.0,
    "centimeter": 10.0,
    "um": 0.001,
    "micrometer": 0.001,
    "micron": 0.001,
    "in": 25.4,
    "inch": 25.4,
    "inche": 25.4,
}


def length_in_mm(unit: str) -> float | None:
    """Give how many millimetres a unit of length is; None for what is none.

    Examples
    --------
    >>> length_in_mm("MILLIMETRES"), length_in_mm("cm"), length_in_mm("seconds")
    (1.0, 10.0, None)
    """
    word = re.sub(r"[\s.]", "", unit.lower()).replace("\u00b5", "u").replace("\u03bc", "u").replace("metre", "meter")
    return _LENGTHS.get(word) or _LENGTHS.get(word.removesuffix("s"))


def in_millimetres(
    positions: NDArray[np.float64], unit: str, axis: str, lines: Lines, where: str, asked: Asked
) -> NDArray[np.float64]:
    """Give positions in millimetres.

    Parameters
    ----------
    positions : array (N,)
        As they stand in the file.
    unit : str
        What the file says about them.
    axis : {"stated", "millimetres", "rf", "hrf", "rf1000"}
        What they are.
    lines : tuple of float or None
        Origin and front, which multiples of Rf need. [mm]
    where : str
        What in the file names the unit, for messages.
    asked : Asked
        The file and its options.

    Returns
    -------
    array (N,)
        In millimetres; numbers that are millimetres already are not touched.

    Raises
    ------
    UnreadableFile
        If the unit is no length and nothing was chosen, with the calls that decide; if Rf comes without its lines.
    """
    choice = axis
    if axis == "stated":
        factor = length_in_mm(unit)
        if factor is not None:
            return positions if factor == 1.0 else positions * factor
        choice = unit.strip().lower()
    if choice == "millimetres":
        return positions
    if choice not in RATIOS:
        raise UnreadableFile(
            f"{asked.file}, {where}: wanted a length along the lane (mm, cm, micrometers, inches), given {unit!r}; "
            f"it is not guessed what the numbers are. If they are millimetres: {asked.call(axis='millimetres')}. "
            f"If they are 1000 Rf: {asked.call(axis='rf1000', **asked.lines())}, with your own origin and "
            "front. If they are a time, this is no profile of a lane."
        )
    origin, front = lines
    if origin is None or front is None:
        raise UnreadableFile(
            f"{asked.file}, {where}: multiples of Rf want the origin and the front in millimetres, given "
            f"{'neither' if origin is front else 'no front' if front is None else 'no origin'}. "
            f"Say where they lie: {asked.call(**asked.lines())}."
        )
    return origin + positions / RATIOS[choice] * (front - origin)


def as_ratio(
    positions: NDArray[np.float64], axis: str, origin: float, front: float | None, where: str
) -> NDArray[np.float64]:
    """Give positions in millimetres as a multiple of Rf, for writing.

    Raises
    ------
    LanewiseError
        If the axis is none of these, or the lane has no front.
    """
    if axis not in RATIOS:
        raise LanewiseError(f"axis: wanted 'millimetres', {', '.join(map(repr, RATIOS))}, given {axis!r}.")
    if front is None:
        raise LanewiseError(f"{where}: axis {axis!r} wants a front, given none. Write axis='millimetres'.")
    return (positions - origin) / (front - origin) * RATIOS[axis]
