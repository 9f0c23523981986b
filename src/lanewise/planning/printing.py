"""The scale of a printed sheet, from the check bar on it: printers do not keep a millimetre a millimetre.

What is read on a printed scale is corrected by it, and carries its uncertainty. Rf is a ratio of two lengths along one
scale and does not change; lengths such as the width of a spot do.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import TypeVar

import msgspec

from lanewise.errors import PlanError
from lanewise.model.checks import ruler_uncertainty
from lanewise.model.fields import Record
from lanewise.model.plates import Lane, Plate, SharedError, Spot, Trace
from lanewise.model.studies import Study

BAR = 100.0
"""Length of the check bar as it is meant to be printed. [mm]"""

SOURCE = "scale of the print"
"""Name of the shared error that a corrected plate carries."""

LEAST, MOST = 0.8, 1.25
"""A factor outside of these is a slip, not a printer: the bar was misread, or the page was fitted to the paper."""

REACH = 1000.0

Given = TypeVar("Given", bound=Record)


@dataclass(frozen=True, slots=True)
class PrintScale:
    """How long a printed millimetre is.

    Attributes
    ----------
    factor : float
        True millimetres for one printed millimetre. [1]
    u : float
        Its standard uncertainty. [1]
    """

    factor: float
    u: float

    def length(self, printed: float, u: float = 0.0) -> tuple[float, float]:
        """Correct a length read on the printed scale.

        Parameters
        ----------
        printed, u : float
            What was read, and its standard uncertainty. [mm]

        Returns
        -------
        length, u_length : float
            Corrected, with the uncertainty of the scale in it. [mm]

        Examples
        --------
        >>> length, u = scale_of_print(98.0, 0.3).length(50.0, 0.3)
        >>> round(length, 2), round(u, 3)
        (49.0, 0.33)
        """
        return printed * self.factor, sqrt((self.factor * u) ** 2 + (printed * self.u) ** 2)

    def correct(self, study: Study) -> Study:
        """Correct a study whose positions were read on the printed scale.

        Parameters
        ----------
        study : Study
            As it was read. Plates read with a ruler of their own need no correction: leave them out.

        Returns
        -------
        Study
            All positions and their uncertainties, traces and areas multiplied by `factor`; each plate has one more
            shared error, which moves all its positions together in proportion. It cancels in Rf and stays in lengths.
            The size of the sheet stays as it was given.

        Raises
        ------
        PlanError
            If a plate was corrected already.

        Examples
        --------
        >>> lane = Lane(label="A", spots=[Spot(label="1", centre=50)])
        >>> read = Study(plates=[Plate(label="1", origin=10, front=90, lanes=[lane])])
        >>> plate = scale_of_print(98.0, 0.3).correct(read).plates[0]
        >>> plate.front, plate.lanes[0].spots[0].centre
        (88.2, 49.0)
        """
        return msgspec.structs.replace(study, plates=tuple(self._plate(plate) for plate in study.plates))

    def _plate(self, plate: Plate) -> Plate:
        if any(error.name == SOURCE for error in plate.shared_errors):
            raise PlanError(f"plate {plate.label!r}: wanted positions as they were read, given ones corrected already.")
        reach = REACH * self.u / self.factor
        mine = SharedError(name=SOURCE, positions=(-REACH, REACH), shifts=(-reach, reach))
        others = tuple(_scaled(error, self.factor, positions=True, shifts=True) for error in plate.shared_errors)
        reading = _scaled(plate.reading, self.factor, division=True, u=True, noticeable=True)
        return _scaled(
            msgspec.structs.replace(
                plate,
                shared_errors=(*others, mine),
                reading=reading,
                lanes=tuple(self._lane(lane) for lane in plate.lanes),
            ),
            self.factor,
            **dict.fromkeys(("origin", "front", "u_origin", "u_front"), True),
        )

    def _lane(self, lane: Lane) -> Lane:
        lengths = ("trailing", "centre", "leading", "u_trailing", "u_centre", "u_leading", "area", "u_area")
        spots: tuple[Spot, ...] = tuple(
            _scaled(spot, self.factor, **dict.fromkeys(lengths, True)) for spot in lane.spots
        )
        traces: tuple[Trace, ...] = tuple(_scaled(trace, self.factor, positions=True) for trace in lane.traces)
        return _scaled(
            msgspec.structs.replace(lane, spots=spots, traces=traces),
            self.factor,
            **dict.fromkeys(("origin", "front", "u_origin", "u_front"), True),
        )


def scale_of_print(measured: float, u: float | None = None) -> PrintScale:
    """Give the scale of a printed sheet from the measured length of its 100 mm check bar.

    Parameters
    ----------
    measured : float
        Length of the bar with a ruler that one trusts. [mm]
    u : float or None
        Its standard uncertainty; None for two readings to the nearest millimetre, 0.41 mm. [mm]

    Returns
    -------
    PrintScale

    Raises
    ------
    PlanError
        If the bar is not between 80 mm and 125 mm, or the uncertainty is not a number from 0 to 10 mm.

    Examples
    --------
    >>> scale_of_print(98.0, 0.3)
    PrintScale(factor=0.98, u=0.003)
    """
    if u is None:
        u = sqrt(2) * ruler_uncertainty(1.0)
    if not (isfinite(measured) and LEAST * BAR <= measured <= MOST * BAR):
        raise PlanError(
            f"check bar: wanted a length from {LEAST * BAR:g} mm to {MOST * BAR:g} mm, given {measured:g} mm. "
            "Print again at full size ('100 %', not 'fit to page'), or measure again."
        )
    if not (isfinite(u) and 0.0 <= u <= 10.0):
        raise PlanError(f"check bar: wanted a standard uncertainty from 0 mm to 10 mm, given {u:g} mm. Correct it.")
    return PrintScale(measured / BAR, u / BAR)


def _scaled(record: Given, factor: float, **lengths: bool) -> Given:
    """Give a record with some of its lengths multiplied."""
    held = {name: getattr(record, name) for name in lengths}
    return msgspec.structs.replace(
        record,
        **{
            name: tuple(factor * one for one in value) if isinstance(value, tuple) else factor * value
            for name, value in held.items()
            if value is not None
        },
    )
