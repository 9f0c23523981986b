"""A valid file with what it holds, and how a marks table is compared with that."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lanewise.model.studies import Study


@dataclass(frozen=True)
class Example:
    """A valid file of a format, and what is read from it.

    Attributes
    ----------
    name : str
        File name: ``bench-1.txt``.
    data : bytes
        The whole file.
    marks : mapping of str to sequence, each of length N
        Columns of the marks table that `lanewise.to_frame` gives for it, worked out by hand: lengths in millimetres
        to the last bit, texts as they are, None where nothing was read. Columns that are not named are not compared.
    options : mapping of str to object
        Options to read it with.

    Examples
    --------
    >>> example = Example("bench-1.txt", b"A 85 32", {"lane": ["A"], "front_mm": [85.0], "centre_mm": [32.0]})
    >>> example.options
    {}
    """

    name: str
    data: bytes
    marks: Mapping[str, Sequence[object]]
    options: Mapping[str, object] = field(default_factory=dict)


def columns_of(study: Study, names: Sequence[str]) -> dict[str, list[object]]:
    """Give columns of the marks table of a study as plain lists, None for what is not there; no column, no key."""
    from lanewise.tables.marks import to_frame

    frame = to_frame(study)
    return {
        name: [None if isinstance(cell, float) and math.isnan(cell) else cell for cell in frame[name].tolist()]
        for name in names
        if name in frame.columns
    }


def difference(
    wanted: Mapping[str, Sequence[object]], given: Mapping[str, Sequence[object]], tolerance: float = 0.0
) -> tuple[str, str] | None:
    """Find the first place in which columns differ.

    Parameters
    ----------
    wanted, given : mapping of str to sequence
        Columns by name; those of `wanted` are compared.
    tolerance : float, optional
        Relative difference of two numbers that is passed over; 0 for equal to the last bit.

    Returns
    -------
    tuple of str, or None
        What was wanted and what was given, with the place; None where nothing differs.

    Examples
    --------
    >>> difference({"centre_mm": [32.0, None]}, {"centre_mm": [32.0, 5.0]})
    ('centre_mm in row 2 of the marks table: nothing', '5.0')
    """
    for name, cells in wanted.items():
        if name not in given:
            return f"a column {name!r} in the marks table", "none of that name"
        if len(cells) != len(given[name]):
            return f"{len(cells)} rows in column {name!r} of the marks table", f"{len(given[name])}"
        for row, (want, have) in enumerate(zip(cells, given[name], strict=True), start=1):
            if not _same(want, have, tolerance):
                return f"{name} in row {row} of the marks table: {_shown(want)}", _shown(have)
    return None


def _same(want: object, have: object, tolerance: float) -> bool:
    want = None if isinstance(want, float) and math.isnan(want) else want
    if isinstance(want, bool) or not isinstance(want, (int, float)) or not isinstance(have, (int, float)):
        return type(want) is type(have) and want == have
    if tolerance:
        return math.isclose(want, have, rel_tol=tolerance, abs_tol=tolerance)
    return float(want).hex() == float(have).hex()


def _shown(cell: object) -> str:
    text = "nothing" if cell is None else repr(cell)
    return text if len(text) <= 120 else f"{text[:117]}..."


def rows_of(study: Study) -> list[tuple[object, ...]]:
    """Give what was read of each spot, without what the library fills in: lane and the three positions."""
    return [
        (lane.label, spot.trailing, spot.centre, spot.leading)
        for plate in study.plates
        for lane in plate.lanes
        for spot in lane.spots
    ]


def without_inputs(study: Study) -> Study:
    """Leave out where a study came from, so that the same content from two places compares equal."""
    from msgspec.structs import replace

    return replace(study, inputs=())
