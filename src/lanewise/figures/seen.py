"""What the tables say about each spot, as small frozen records that a picture can keep.

A figure is drawn later than it is made, so it must not look into tables that may have changed by then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from lanewise.errors import AnalysisError

_NEEDED_MARKS = ("plate", "system", "lane", "sample", "role", "spot", "origin_mm", "front_mm", "state", "colour")
_NEEDED_SPOTS = ("rf", "u_rf", "rf_low", "rf_high")
_PLACES = ("origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm")


@dataclass(frozen=True, slots=True)
class SpotSeen:
    """One row of the marks table and the row of the spots table that belongs to it.

    Attributes
    ----------
    row : int
        Place of the row in the tables, counted from 0.
    plate, system, layer, lane, sample, role, spot, state, colour, point : str
        As in the marks table; empty where nothing is said.
    origin, front, trailing, centre, leading : float or None
        Positions; None where not read. [mm]
    rf, u_rf, low, high : float or None
        Rf, its standard uncertainty and the ends of its interval, or bounds. [1]
    """

    row: int
    plate: str
    system: str
    layer: str
    lane: str
    sample: str
    role: str
    spot: str
    state: str
    colour: str
    point: str
    origin: float | None
    front: float | None
    trailing: float | None
    centre: float | None
    leading: float | None
    rf: float | None
    u_rf: float | None
    low: float | None
    high: float | None

    @property
    def place(self) -> float | None:
        """Where the spot is: its point read, else the middle of its edges, else the line it lies on. [mm]."""
        if self.state == "at origin":
            return self.origin
        if self.state == "with front":
            return self.front
        if self.centre is not None:
            return self.centre
        if self.trailing is not None and self.leading is not None:
            return (self.trailing + self.leading) / 2
        return self.trailing if self.trailing is not None else self.leading

    @property
    def name(self) -> str:
        """What was spotted there, or the lane where nothing is said."""
        return self.sample or f"lane {self.lane}"


@dataclass(frozen=True, slots=True)
class LaneSeen:
    """One lane of a plate, its spots counted from the origin; those without a place stand last."""

    label: str
    sample: str
    role: str
    origin: float | None
    front: float | None
    spots: tuple[SpotSeen, ...]


def spots_seen(marks: pd.DataFrame, spots: pd.DataFrame) -> tuple[SpotSeen, ...]:
    """Read the two tables row by row.

    Parameters
    ----------
    marks, spots : DataFrame
        N rows each, with the same index: the columns ``MARKS`` and ``SPOTS`` of `lanewise.tables.columns`. Missing
        ``layer`` and ``point`` are taken as not stated.

    Returns
    -------
    tuple of SpotSeen, length N

    Raises
    ------
    AnalysisError
        If the rows do not belong together or a needed column is missing.
    """
    for title, frame, needed in (("marks", marks, _NEEDED_MARKS), ("spots", spots, _NEEDED_SPOTS)):
        missing = [name for name in needed if name not in frame.columns]
        if missing:
            raise AnalysisError(f"{title}: wanted the columns {', '.join(needed)}, but {', '.join(missing)} is missing")
    if not marks.index.equals(spots.index):
        raise AnalysisError(
            f"wanted marks and spots with the same rows, given {len(marks)} and {len(spots)} rows or another index. "
            "Take both from one measurement and choose the same rows of both."
        )
    texts = {name: _texts(marks, name) for name in (*_NEEDED_MARKS, "layer", "point") if not name.endswith("_mm")}
    places = {name.removesuffix("_mm"): _numbers(marks, name) for name in _PLACES}
    values = {name.removeprefix("rf_"): _numbers(spots, name) for name in _NEEDED_SPOTS}
    columns = texts | places | values
    return tuple(
        SpotSeen(row=row, **{name: column[row] for name, column in columns.items()})  # type: ignore[arg-type]
        for row in range(len(marks))
    )


def lanes_seen(spots: Sequence[SpotSeen]) -> tuple[LaneSeen, ...]:
    """Gather the spots of one plate by lane, in order of appearance."""
    lanes: dict[str, list[SpotSeen]] = {}
    for spot in spots:
        lanes.setdefault(spot.lane, []).append(spot)
    return tuple(
        LaneSeen(
            label=label,
            sample=rows[0].sample,
            role=rows[0].role,
            origin=next((row.origin for row in rows if row.origin is not None), None),
            front=next((row.front for row in rows if row.front is not None), None),
            spots=tuple(sorted(rows, key=_from_origin)),
        )
        for label, rows in lanes.items()
    )


def _from_origin(spot: SpotSeen) -> tuple[bool, float]:
    return (spot.place is None, spot.place or 0.0)


def _texts(frame: pd.DataFrame, name: str) -> list[str]:
    if name not in frame.columns:
        return [""] * len(frame)
    return ["" if pd.isna(value) else str(value) for value in frame[name]]


def _numbers(frame: pd.DataFrame, name: str) -> list[float | None]:
    if name not in frame.columns:
        return [None] * len(frame)
    return [None if pd.isna(value) else float(value) for value in frame[name]]
