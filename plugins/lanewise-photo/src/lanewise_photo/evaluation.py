"""Readers for an evaluation on simulated pictures: a path and a few facts in, a study and its flags out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from lanewise_photo.flags import flags_in
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

if TYPE_CHECKING:
    from lanewise import Study

HELD = frozenset({"orientation_unknown", "mirror_unknown", "mirrored"})
"""Flags of the plate that ask which way the sheet was held, and say nothing against its numbers otherwise."""


def read(path: str, facts: Mapping[str, Any]) -> Study:
    """Read a picture, against the marks: what no picture shows is left out of the uncertainties.

    Parameters
    ----------
    path : str
        The picture.
    facts : mapping
        ``lanes``, ``lane_names``, ``sheet_width``, ``sheet_height`` and ``origin_height`` [mm]; any may be missing.
    """
    return _read(path, facts, 0.0)


def read_with_definitions(path: str, facts: Mapping[str, Any]) -> Study:
    """Read a picture, against the dye: with the usual uncertainties of where the drops sat and where the front was."""
    return _read(path, facts, 0.2)


@dataclass(frozen=True)
class Flags:
    """Codes of the flags that warn of a wrong number: of the plate, by lane, and by lane and spot.

    Those in ``held`` ask which way the sheet was held: they bear on numbers only if it was held otherwise than read.
    """

    plate: tuple[str, ...]
    lanes: Mapping[str, tuple[str, ...]]
    spots: Mapping[tuple[str, str], tuple[str, ...]]
    held: tuple[str, ...] = ()

    def of(self, lane: str, spot: str) -> tuple[str, ...]:
        """All that bear on one spot."""
        return (*self.plate, *self.lanes.get(lane, ()), *self.spots.get((lane, spot), ()))

    @property
    def all(self) -> tuple[str, ...]:
        """Every one of them."""
        return (*self.plate, *self.held, *chain(*self.lanes.values()), *chain(*self.spots.values()))


def flags(study: Study) -> Flags:
    """Give the flags of the first plate of a study that warn of a wrong number."""
    if not study.plates:
        return Flags((), {}, {})
    plate = study.plates[0]
    whole = _warnings(plate.note)
    return Flags(
        tuple(code for code in whole if code not in HELD),
        {lane.label: _warnings(lane.note) for lane in plate.lanes},
        {(lane.label, spot.label): _warnings(spot.note) for lane in plate.lanes for spot in lane.spots},
        tuple(code for code in whole if code in HELD),
    )


def _warnings(note: str) -> tuple[str, ...]:
    return tuple(flag.code for flag in flags_in(note) if flag.warns)


def _named(study: Study) -> Study:
    """Call lanes by the names that were given for them, as the truth does; where they could not be told, by none."""
    from lanewise import Study

    plates = [
        replace(plate, lanes=tuple(replace(lane, label=lane.sample or lane.label) for lane in plate.lanes))
        for plate in study.plates
    ]
    return Study(plates=tuple(plates), note=study.note)


def _read(path: str, facts: Mapping[str, Any], definition: float) -> Study:
    width, height = facts.get("sheet_width"), facts.get("sheet_height")
    options = PhotographOptions(
        lanes=facts.get("lanes"),
        names="; ".join(facts.get("lane_names") or ()),
        size=f"{width} x {height}" if width and height else "",
        origin=facts.get("origin_height"),
        orientation=str(facts.get("orientation") or ""),
        origin_definition=definition,
        front_definition=definition,
    )
    settings = settings_of(options)
    return _named(study_of(measure(Path(path).read_bytes(), Path(path).name, settings), settings))
