"""Plates, lanes and spots: what was seen on a sheet, in millimetres from any common zero."""

from __future__ import annotations

from typing import Annotated, Final, Literal, TypeAlias

import msgspec

from lanewise.model import checks
from lanewise.model.fields import Factors, Millimetres, Name, Record, Size, Uncertainty

Role: TypeAlias = Literal["sample", "standard", "blank"]
State: TypeAlias = Literal["measured", "at origin", "with front", "streak", "unread", "absent"]
Point: TypeAlias = Literal["centre", "darkest", "leading edge", "trailing edge"]
Zero: TypeAlias = Literal["not stated", "origin line", "sheet edge", "liquid level"]

Runs: TypeAlias = Annotated[int, msgspec.Meta(ge=1, le=1000)]
Celsius: TypeAlias = Annotated[float, msgspec.Meta(extra_json_schema={"unit": "degC"})]
Minutes: TypeAlias = Annotated[float, msgspec.Meta(gt=0, extra_json_schema={"unit": "min"})]
Area: TypeAlias = Annotated[float, msgspec.Meta(ge=0, extra_json_schema={"unit": "mm"})]
Micrograms: TypeAlias = Annotated[float, msgspec.Meta(ge=0, extra_json_schema={"unit": "ug"})]

NOT_STATED: Final = "not stated"


class Sheet(Record, frozen=True, kw_only=True):
    """The sheet or plate before anything was put on it.

    Attributes
    ----------
    stationary_phase : str
        The layer or paper, with make and batch where they are known; ``not stated`` unless given.
    width, height : float or None
        Size of the sheet, above zero; the height lies along the run. [mm]
    """

    stationary_phase: Name = NOT_STATED
    width: Size | None = None
    height: Size | None = None


class Development(Record, frozen=True, kw_only=True):
    """How a plate was developed.

    Attributes
    ----------
    runs : int
        Number of developments one after the other, 1 to 1000.
    temperature : float or None
        Temperature in the tank. [degC]
    saturated : bool or None
        Whether the tank was left to fill with vapour beforehand; None where that is not known.
    minutes : float or None
        Time from dipping to taking out, above zero. [min]
    note : str
        Remarks.
    """

    runs: Runs = 1
    temperature: Celsius | None = None
    saturated: bool | None = None
    minutes: Minutes | None = None
    note: str = ""


class Reading(Record, frozen=True, kw_only=True):
    """How positions were read.

    Attributes
    ----------
    instrument : str
        What they were read with.
    division : float
        Smallest division of its scale, above zero. [mm]
    u : float or None
        Standard uncertainty of one reading; None for division / sqrt(12), see `standard_uncertainty`. [mm]
    noticeable : float
        Smallest movement of a spot that would have been noticed. [mm]
    reader : str
        Who read, as the class or laboratory calls them.
    zero : {"not stated", "origin line", "sheet edge", "liquid level"}
        Where the zero of the ruler lay, from which all positions of the plate are counted. The edge is the one below
        the origin line; the level is that of the solvent system in the tank.
    """

    instrument: Name = "ruler"
    division: Size = 1.0
    u: Uncertainty | None = None
    noticeable: Uncertainty = 1.0
    reader: str = ""
    zero: Zero = NOT_STATED


class Trace(Record, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """Profile of a lane: a signal along the run, such as optical density, as it was recorded.

    Attributes
    ----------
    channel : str
        What was measured: ``grey``, ``absorbance 254 nm``. Two traces of a lane differ in it.
    positions : tuple of float, length N
        Where, from the same zero as every position of the plate, rising; two at least. [mm]
    values : tuple of float, length N
        The signal there, in `unit`.
    unit : str
        Unit of the signal; ``1`` for a pure number, such as optical density.
    note : str
        Remarks.

    Raises
    ------
    RecordError
        If there are fewer than two positions, another number of values, or a position not above the one before it.

    Examples
    --------
    >>> len(Trace(channel="grey", positions=[10, 10.5, 11], values=[0.01, 0.08, 0.02]).values)
    3
    >>> Trace(channel="grey", positions=[10, 10], values=[0.01, 0.08])
    Traceback (most recent call last):
    lanewise.errors.RecordError: trace 'grey', position 2: wanted one above the position before it, 10 mm, given 10 mm.
    Give positions in rising order, each once.
    """

    channel: str = ""
    positions: tuple[Millimetres, ...]
    values: tuple[float, ...]
    unit: Name = "1"
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_curve(self, self.positions, self.values, least=2)


class SharedError(Record, frozen=True, kw_only=True, gc=False):
    """One cause that moves all positions of a plate together, such as a photograph that was not quite straightened.

    Attributes
    ----------
    name : str
        What it is, as budgets name it: ``rectification``.
    positions : tuple of float, length N
        Where on the plate, rising; one at least. [mm]
    shifts : tuple of float, length N
        By how much a reading there is moved when the cause is one standard uncertainty away from none; between these
        positions along straight lines, beyond them as at the nearest. [mm]

    Raises
    ------
    RecordError
        If there is no position, another number of shifts, or a position not above the one before it.

    Notes
    -----
    What is the same for all positions, or grows evenly from the origin to the front, cancels in Rf.

    Examples
    --------
    >>> SharedError(name="lens", positions=[0, 50, 100], shifts=[0, 0.1, 0]).shifts
    (0.0, 0.1, 0.0)
    """

    name: Name
    positions: tuple[Millimetres, ...]
    shifts: tuple[Millimetres, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_curve(self, self.positions, self.shifts, least=1)


class Spot(Record, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """One spot of a lane.

    Attributes
    ----------
    label : str
        Name or number of the spot in its lane.
    state : {"measured", "at origin", "with front", "streak", "unread", "absent"}
        ``measured`` has a position; ``at origin`` did not move and ``with front`` kept up with the solvent, so that
        their positions are limits; ``streak`` has two edges and no one position; ``unread`` was seen and not
        measured; ``absent`` was looked for and not found.
    trailing : float or None
        Edge nearer the origin. [mm]
    centre : float or None
        Point read, not below the trailing and not above the leading edge. [mm]
    leading : float or None
        Edge nearer the front. [mm]
    point : {"centre", "darkest", "leading edge", "trailing edge"}
        Which point of the spot `centre` is.
    u_trailing, u_centre, u_leading : float or None
        Standard uncertainties of the three, not below zero; None for that of the plate's `Reading`. [mm]
    colour : str
        Colour as a word.
    amount : float or None
        Mass of the substance that was applied, not below zero. [ug]
    area : float or None
        Area under the spot in the trace of its lane, not below zero: optical density, or what else the signal is,
        integrated along the run. [mm]
    u_area : float or None
        Its standard uncertainty, not below zero; None where it is not known. [mm]
    factors : dict of str to str
        What else distinguishes this spot.
    note : str
        Remark of the reader.

    Raises
    ------
    RecordError
        If the three positions are out of order; if a measured spot has neither its point nor both edges; if a
        streak lacks an edge; if an absent spot has a position.

    Examples
    --------
    >>> Spot(label="1", trailing=30, centre=32, leading=33.5).centre
    32.0
    >>> Spot(label="2", state="streak", leading=60)
    Traceback (most recent call last):
    lanewise.errors.RecordError: spot '2': wanted both edges of a streak, given a leading edge at 60 mm. Give trailing
    and leading, or call it 'unread'.
    """

    label: Name
    state: State = "measured"
    trailing: Millimetres | None = None
    centre: Millimetres | None = None
    leading: Millimetres | None = None
    point: Point = "centre"
    u_trailing: Uncertainty | None = None
    u_centre: Uncertainty | None = None
    u_leading: Uncertainty | None = None
    colour: str = ""
    amount: Micrograms | None = None
    area: Area | None = None
    u_area: Uncertainty | None = None
    factors: Factors = {}  # noqa: RUF012 (msgspec copies it)
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_order(self)
        checks.check_state(self)


class Lane(Record, frozen=True, kw_only=True, omit_defaults=True):
    """One lane of a plate.

    Attributes
    ----------
    label : str
        Name or number of the lane on its plate.
    sample : str
        What was spotted there.
    role : {"sample", "standard", "blank"}
        What the lane is for.
    origin : float or None
        Position of the origin line in this lane alone; None where the plate's own reading holds. [mm]
    front : float or None
        Position of the front in this lane alone, where it is uneven; None where the plate's own reading holds. [mm]
    u_origin, u_front : float or None
        Standard uncertainties of these two, not below zero; None for that of the plate's `Reading`. [mm]
    spots : tuple of Spot
        From the origin to the front is usual; labels are unique.
    traces : tuple of Trace
        What was recorded along the lane, so that spots can be found in it anew; channels are unique.
    factors : dict of str to str
        What else distinguishes this lane.
    note : str
        Remarks.

    Raises
    ------
    RecordError
        If two spots have one label or two traces one channel, or an uncertainty comes without its reading.

    Examples
    --------
    >>> lane = Lane(label="B", sample="blue pen", front=85, spots=[Spot(label="1", centre=32)])
    >>> len(lane.spots)
    1
    """

    label: Name
    sample: str = ""
    role: Role = "sample"
    origin: Millimetres | None = None
    front: Millimetres | None = None
    u_origin: Uncertainty | None = None
    u_front: Uncertainty | None = None
    spots: tuple[Spot, ...] = ()
    traces: tuple[Trace, ...] = ()
    factors: Factors = {}  # noqa: RUF012 (msgspec copies it)
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_unique(self, "spots", [spot.label for spot in self.spots])
        checks.check_unique(self, "traces", [trace.channel for trace in self.traces])
        checks.check_lines(self)


class Plate(Record, frozen=True, kw_only=True):
    """One plate: a sheet that was developed in one solvent system.

    Attributes
    ----------
    label : str
        Name or number of the plate in its study.
    system : str
        Name of the solvent system.
    sheet : Sheet or None
        What it was run on.
    development : Development
        How it was run.
    reading : Reading
        How it was read.
    origin : float or None
        Position of the origin line, read once for the whole plate; a lane's own reading goes before it. [mm]
    front : float or None
        Position of the front, read once for the whole plate; a lane's own reading goes before it. [mm]
    u_origin, u_front : float or None
        Standard uncertainties of these two, not below zero; None for that of `reading`. [mm]
    shared_errors : tuple of SharedError
        What moves all its positions together, beside the uncertainty of each reading; names are unique.
    lanes : tuple of Lane
        Labels are unique.
    factors : dict of str to str
        What distinguishes this plate: bench, operator, day.
    note : str
        Remarks.

    Raises
    ------
    RecordError
        If two lanes have one label, or two shared errors one name; if a lane has no origin, its own or the plate's;
        if a front does not lie above the origin; if a spot lies beyond the front or below the origin by more than
        three combined standard uncertainties of the two readings; if a spot called ``at origin`` or ``with front``
        lies elsewhere; if the zero of the reading lay on the origin line, and yet an origin lies more than three of
        its standard uncertainties away from 0.

    Notes
    -----
    A front of None means that the front was not seen: positions are kept, but no Rf can be had from that lane.
    Edges of a spot at the origin may lie below the line, since it was applied with a size.

    Examples
    --------
    >>> lane = Lane(label="B", spots=[Spot(label="1", centre=32)])
    >>> Plate(label="bench 3", system="water", origin=10, front=85, lanes=[lane]).lanes[0].label
    'B'
    >>> Plate(label="bench 3", system="water", origin=10, front=25, lanes=[lane])
    Traceback (most recent call last):
    lanewise.errors.RecordError: lane 'B' on plate 'bench 3': spot '1': wanted a centre not beyond the front at 25 mm,
    given 32 mm. Correct the mark or the front, or give no front if it was not seen.
    """

    label: Name
    system: Name = NOT_STATED
    sheet: Sheet | None = None
    development: Development = Development()
    reading: Reading = Reading()
    origin: Millimetres | None = None
    front: Millimetres | None = None
    u_origin: Uncertainty | None = None
    u_front: Uncertainty | None = None
    shared_errors: tuple[SharedError, ...] = ()
    lanes: tuple[Lane, ...] = ()
    factors: Factors = {}  # noqa: RUF012 (msgspec copies it)
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        checks.check_unique(self, "lanes", [lane.label for lane in self.lanes])
        checks.check_unique(self, "shared_errors", [error.name for error in self.shared_errors])
        checks.check_lines(self)
        checks.check_zero(self)
        checks.check_plate(self)
