"""What goes beside a trace so that nothing is lost: three JSON texts in ASCII, and how they are read back.

``study`` is the record of the study without lanes, ``lane`` that of the lane without its traces, in the form of the
JSON Schema of lanewise; ``trace`` has channel, unit, note and axis of one trace as texts. A file of somebody else has
none of them, and programs that do not know them pass them over.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import msgspec
from msgspec.structs import replace

import lanewise
from lanewise.errors import LanewiseError, UnreadableFile

if TYPE_CHECKING:
    from lanewise_lab_standards.axis import Lines

_T = TypeVar("_T")

KEYS = ("study", "lane", "trace")


@dataclass(frozen=True, slots=True)
class Profile:
    """One trace to be written, with what goes beside it.

    Attributes
    ----------
    lane : Lane
        Its lane.
    trace : Trace
        The trace.
    origin, front : float, and float or None
        The lines that hold for the lane. [mm]
    title : str
        Plate, lane, sample and channel in words.
    records : dict of str to str
        The three JSON texts.
    """

    lane: lanewise.Lane
    trace: lanewise.Trace
    origin: float
    front: float | None
    title: str
    records: dict[str, str]


def profiles(study: lanewise.Study, plate: str | None, axis: str = "") -> list[Profile]:
    """Give the traces of one plate, lane by lane; lanes without one are named in the note of the study.

    Parameters
    ----------
    study : Study
        The study.
    plate : str or None
        Label of the plate; None where the study has one.
    axis : str, optional
        What the abscissa is to be, where it is not millimetres.

    Raises
    ------
    LanewiseError
        If there is no such plate, or it has no traces.
    """
    found = [one for one in study.plates if plate in (None, one.label)]
    if len(found) != 1:
        labels = [one.label for one in study.plates]
        raise LanewiseError(f"plate: wanted the label of one of the plates {labels}, given {plate!r}.")
    chosen = found[0]
    bare = [lane.label for lane in chosen.lanes if not lane.traces]
    note = "\n".join([study.note, f"Lanes without a trace were not written: {bare}."]) if bare else study.note
    whole = _json(replace(study, plates=(replace(chosen, lanes=()),), note=note.strip("\n"), inputs=()))
    made = []
    for lane in chosen.lanes:
        origin, front = lines_of(chosen, lane)
        assert origin is not None, "the record refuses a lane without an origin"
        record = _json(replace(lane, traces=()))
        for trace in lane.traces:
            words = {"channel": trace.channel, "unit": trace.unit, "note": trace.note, "axis": axis}
            texts = (whole, record, _json({key: text for key, text in words.items() if text or key == "channel"}))
            title = ", ".join(filter(None, (chosen.label, f"lane {lane.label}", lane.sample, trace.channel)))
            made.append(Profile(lane, trace, origin, front, title, dict(zip(KEYS, texts, strict=True))))
    if not made:
        raise LanewiseError(f"plate {chosen.label!r}: wanted lanes with traces, given none. Nothing else is written.")
    return made


def lines_of(plate: lanewise.Plate, lane: lanewise.Lane) -> Lines:
    """Give the origin and the front that hold for a lane: its own, else those of the plate. [mm]."""
    origin = plate.origin if lane.origin is None else lane.origin
    return origin, plate.front if lane.front is None else lane.front


def study_record(records: Mapping[str, str], file: str) -> lanewise.Study | None:
    """Give the study that a file holds beside its curves; None where there is none."""
    return _read(records, "study", lanewise.Study, file)


def lane_record(records: Mapping[str, str], file: str) -> lanewise.Lane | None:
    """Give the lane that a file holds beside a curve; None where there is none."""
    return _read(records, "lane", lanewise.Lane, file)


def trace_record(records: Mapping[str, str], file: str) -> dict[str, str]:
    """Give the texts that a file holds beside a curve; empty where there are none."""
    return _read(records, "trace", dict[str, str], file) or {}


def _json(record: msgspec.Struct | dict[str, str]) -> str:
    """Write a record in ASCII, without spaces between its parts."""
    return json.dumps(msgspec.to_builtins(record), separators=(",", ":"))


def _read(records: Mapping[str, str], key: str, kind: type[_T], file: str) -> _T | None:
    if key not in records:
        return None
    try:
        return msgspec.json.decode(records[key], type=kind)
    except (msgspec.MsgspecError, ValueError, RecursionError) as fault:
        raise UnreadableFile(f"{file}: the record {key!r} that lanewise wrote there is damaged: {fault}") from fault
