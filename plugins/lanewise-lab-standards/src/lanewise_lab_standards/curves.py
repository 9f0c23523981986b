"""From the curves of a file to the study of one plate: the same way for every format of traces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

import lanewise
from lanewise.errors import UnreadableFile
from lanewise_lab_standards.axis import Lines, in_millimetres
from lanewise_lab_standards.records import lane_record, lines_of, study_record, trace_record

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lanewise_lab_standards.options import Asked

MOST_POINTS = 5_000_000
"""More points than any lane has; a file that claims more is refused before memory is asked for."""


@dataclass(frozen=True, slots=True)
class Peak:
    """A peak that a file states: apex, ends, area and name, positions in the unit of its abscissa."""

    at: float
    start: float | None = None
    end: float | None = None
    area: float | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve of a file, as it stands there.

    Attributes
    ----------
    where : str
        What names its unit, for messages: ``block 'lane B', XUNITS``.
    positions, values : array (N,)
        Abscissa and ordinate, NaN for an ordinate that is missing; both empty where there are peaks alone.
    x_unit, unit : str
        Units of the two.
    channel, sample, lane : str
        What was measured, in what, and what the file calls the lane; empty for a number.
    peaks : tuple of Peak
        The peaks that the file states.
    records : mapping of str to str
        The JSON texts of `lanewise_lab_standards.records`, where the file holds them.
    """

    where: str
    positions: NDArray[np.float64]
    values: NDArray[np.float64]
    x_unit: str
    unit: str = "1"
    channel: str = ""
    sample: str = ""
    lane: str = ""
    peaks: tuple[Peak, ...] = ()
    records: Mapping[str, str] = field(default_factory=dict)


def study_of(curves: Sequence[Curve], asked: Asked, left_out: Sequence[str] = ()) -> lanewise.Study:
    """Make the study of one plate from the curves of a file.

    Parameters
    ----------
    curves : sequence of Curve
        At least one; those of one lane become its traces.
    asked : Asked
        The file and its options.
    left_out : sequence of str
        What the reader saw and did not use, in words; it goes into the note of the study.

    Returns
    -------
    Study
        With one plate.

    Raises
    ------
    UnreadableFile
        If nothing says what the abscissa is, or where the origin lies; if peaks are wanted and there are none.
    RecordError
        If what was read is not possible.
    """
    options = asked.options
    study = study_record(curves[0].records, asked.file) or lanewise.Study()
    plate = study.plates[0] if study.plates else lanewise.Plate(label=PurePath(asked.file).stem.strip() or asked.file)
    plate = replace(plate, label=options.plate.strip() or plate.label, system=options.system.strip() or plate.system)
    if options.origin is not None:
        plate = replace(plate, origin=options.origin, u_origin=None)
    if options.front is not None:
        plate = replace(plate, front=options.front, u_front=None)
    lanes: dict[str, tuple[lanewise.Lane, list[Curve]]] = {}
    for number, curve in enumerate(curves, start=1):
        lane = lane_record(curve.records, asked.file)
        lane = lane or lanewise.Lane(label=curve.lane or str(number), sample=curve.sample)
        lanes.setdefault(lane.label, (lane, []))[1].append(curve)
    if options.lane.strip() and len(lanes) > 1:
        raise UnreadableFile(f"{asked.file}: the option lane={options.lane!r} is for one lane, given {len(lanes)}.")
    made = tuple(_lane(plate, lane, its, asked) for lane, its in lanes.values())
    note = "\n".join(text for text in (study.note, *left_out) if text)
    return replace(study, plates=(replace(plate, lanes=made),), note=note)


def _lane(plate: lanewise.Plate, lane: lanewise.Lane, curves: Sequence[Curve], asked: Asked) -> lanewise.Lane:
    """Make a lane with its traces and spots."""
    options = asked.options
    lane = replace(lane, label=options.lane.strip() or lane.label)
    if options.origin is not None:
        lane = replace(lane, origin=None, u_origin=None)
    if options.front is not None:
        lane = replace(lane, front=None, u_front=None)
    lines = origin, front = lines_of(plate, lane)
    where = f"{asked.file}, lane {lane.label!r}"
    if origin is None:
        raise UnreadableFile(
            f"{where}: wanted the position of the origin line, given none. Say where it lies: "
            f"{asked.call(origin=0.0)} where the trace starts to count there."
        )
    traces = tuple(_trace(curve, lines, asked) for curve in curves if len(curve.values))
    if options.spots == "none":
        return replace(lane, traces=traces, spots=())
    if options.spots == "stated":
        spots = lane.spots if "lane" in curves[0].records else _stated(curves, lines, asked)
        return replace(lane, traces=traces, spots=spots)
    channels = [trace.channel for trace in traces]
    if not traces:
        raise UnreadableFile(
            f"{where}: wanted a trace to find spots in, given a table of peaks alone. "
            f"Take the peaks: {asked.call(spots='stated')}."
        )
    if options.channel and options.channel not in channels:
        raise UnreadableFile(f"{where}: wanted the channel {options.channel!r}, given {channels}. Name one of these.")
    searched = traces[channels.index(options.channel) if options.channel else 0]
    try:
        spots = lanewise.spots_of_trace(searched, origin=origin, front=front, shape=options.shape)
    except ValueError as fault:
        raise UnreadableFile(f"{where}: {fault}. Without spots: {asked.call(spots='none')}.") from fault
    note = lane.note
    count = len(lane.spots) or sum(len(curve.peaks) for curve in curves)
    if count and lane.spots != spots:
        note = f"{note}\n{count} spots stated in the file were left out; the option spots='stated' takes them.".strip()
    return replace(lane, traces=traces, spots=spots, note=note)


def _trace(curve: Curve, lines: Lines, asked: Asked) -> lanewise.Trace:
    """Make a trace: millimetres, rising, without the points that have no value."""
    stated = trace_record(curve.records, asked.file)
    positions, values = _placed(curve.positions, curve, lines, asked), curve.values
    if not np.isfinite(positions).all() or np.isinf(values).any():
        raise UnreadableFile(f"{asked.file}, {curve.where}: wanted numbers that a trace can have, given infinite ones.")
    if positions[0] > positions[-1]:
        positions, values = positions[::-1], values[::-1]
    known = ~np.isnan(values)
    note = stated.get("note", "")
    if not known.all():
        note = f"{note} {(~known).sum()} points without a value were left out.".strip()
    return lanewise.Trace(
        channel=stated.get("channel", curve.channel),
        positions=tuple(positions[known].tolist()),
        values=tuple(values[known].tolist()),
        unit=stated.get("unit", curve.unit).strip() or "1",
        note=note,
    )


def _stated(curves: Sequence[Curve], lines: Lines, asked: Asked) -> tuple[lanewise.Spot, ...]:
    """Make spots of the peaks that a file states, in the order of the run."""
    found = [(_at(peak.at, curve, lines, asked), curve, peak) for curve in curves for peak in curve.peaks]
    if not found:
        raise UnreadableFile(
            f"{asked.file}, {curves[0].where}: wanted peaks that the file states, given none. "
            f"Have spots found: {asked.call(spots='found')}."
        )
    found.sort(key=lambda one: one[0] or 0.0)
    names = [peak.name.strip() for *_, peak in found]
    if "" in names or len(set(names)) < len(names):
        names = [str(number) for number in range(1, len(names) + 1)]
    return tuple(
        lanewise.Spot(
            label=name,
            trailing=_at(peak.start, curve, lines, asked),
            centre=at,
            leading=_at(peak.end, curve, lines, asked),
            area=peak.area,
        )
        for name, (at, curve, peak) in zip(names, found, strict=True)
    )


def _at(position: float | None, curve: Curve, lines: Lines, asked: Asked) -> float | None:
    return None if position is None else float(_placed(np.array([position]), curve, lines, asked)[0])


def _placed(positions: NDArray[np.float64], curve: Curve, lines: Lines, asked: Asked) -> NDArray[np.float64]:
    """Give positions in millimetres, by the option, else by what this plugin wrote, else by the unit in the file."""
    axis = asked.options.axis
    if axis == "stated":
        axis = trace_record(curve.records, asked.file).get("axis", axis)
    return in_millimetres(positions, curve.x_unit, axis, lines, curve.where, asked)
