"""Options of the three formats of lane traces."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Literal

from lanewise.hooks import option


@dataclass(frozen=True, slots=True)
class TraceOptions:
    """What a file of lane traces may not say; what is given here goes before what it says."""

    axis: str = option(
        "stated",
        help="what the abscissa is; 'stated' takes the unit in the file and refuses what is no length",
        choices=("stated", "millimetres", "rf", "hrf", "rf1000"),
    )
    origin: float | None = option(None, help="position of the origin line, on the scale of the traces", unit="mm")
    front: float | None = option(None, help="position of the front, on the scale of the traces", unit="mm")
    spots: str = option(
        "found",
        help="where spots come from: found in the trace, stated in the file, or none",
        choices=("found", "stated", "none"),
    )
    channel: str = option("", help="channel in which spots are found, where a lane has several; else its first")
    shape: Literal["gaussian", "emg", "best"] = option("best", help="curve fitted to spots that are found")
    plate: str = option("", help="label of the plate; else as stated, else the name of the file")
    system: str = option("", help="solvent system; else as stated")
    lane: str = option("", help="label of the lane, in a file of one lane; else as stated, else a number")


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody asked for: a file and the options to read it with.

    Examples
    --------
    >>> Asked("B.cdf", TraceOptions(plate="bench 3")).call(origin=10.0)
    "lanewise.read('B.cdf', options={'plate': 'bench 3', 'origin': 10.0})"
    """

    file: str
    options: TraceOptions

    def call(self, **changes: object) -> str:
        """Write the call that reads the file with changed options, to be pasted."""
        given = {one.name: getattr(self.options, one.name) for one in fields(self.options)}
        kept = {one.name: given[one.name] for one in fields(self.options) if given[one.name] != one.default}
        return f"lanewise.read({self.file!r}, options={kept | changes})"

    def lines(self) -> dict[str, float]:
        """Give the origin and the front that were given, and examples for what was not. [mm]."""
        origin, front = self.options.origin, self.options.front
        return {"origin": 10.0 if origin is None else origin, "front": 90.0 if front is None else front}
