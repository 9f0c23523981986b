"""What `measure` refuses: tables that lack something it needs, and readings that cannot be.

A file is checked cell by cell when it is read, with all its faults at once; these checks stand at the other door, for a
table made by hand, and stop at the first fault that would silently give a wrong number.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.analyses.positions import Lengths, Positions, lengths
from lanewise.errors import AnalysisError
from lanewise.tables.columns import AWAY, CONTEXT, MARKS, ORIGIN_LINE, PAIRS, SPOTS, names
from lanewise.uncertainty.sources import Floats, Ids

BEYOND = 3.0  # standard uncertainties, as in the record
RESULTS = {*names(SPOTS), *names(PAIRS)} - {*names(MARKS), *names(CONTEXT)}


def refuse_incomplete(marks: pd.DataFrame) -> None:
    """Refuse a table without rows, without a column that is needed, or with a factor named like a result."""
    given = set(marks.columns)
    positioned = "centre_mm" in given or {"trailing_mm", "leading_mm"} <= given
    if not {"lane", "front_mm"} <= given or not positioned:
        raise AnalysisError(
            f"marks: wanted the columns lane, front_mm and centre_mm (or both edges), given {list(marks.columns)}"
        )
    if not len(marks):
        raise AnalysisError("marks: wanted at least one row, a spot, given none")
    taken = [name for name in marks.columns if name in RESULTS]
    if taken:
        raise AnalysisError(
            f"marks: wanted factors with names of their own, given a column {taken[0]!r}, which is the name of a "
            "result. Rename or drop it."
        )


def refuse_contradictions(marks: pd.DataFrame, place: Positions, noticeable: Floats) -> None:
    """Refuse what contradicts itself across rows, and uncertainties that cannot be."""
    spreads = {f"u_{line}_mm": getattr(place, f"u_{line}") for line in ("origin", "front", "trailing", "leading")}
    for column, values in (spreads | {"u_centre_mm": place.u_spot, "noticeable_mm": noticeable}).items():
        one = values[:1] if values.strides == (0,) else values
        bad = ~((one >= 0.0) & (one < np.inf))
        if bad.any():
            raise _refusal(marks, bad, f"0 or more in column {column}", values)
    for line, values, u, source in (
        ("origin", place.origin, place.u_origin, place.origin_source),
        ("front", place.front, place.u_front, place.front_source),
    ):
        _refuse_two_readings(marks, f"{line}_mm", values, source, place)
        _refuse_two_readings(marks, f"u_{line}_mm", u, source, place)
    if "system" in marks.columns:
        _refuse_two_systems(marks, place)
    if "zero" in marks.columns:
        _refuse_zeros(marks, place)


def looks_impossible(place: Lengths) -> bool:
    """Say quickly whether `refuse_impossible` has to look at these rows."""
    run, length = place.run, place.length
    return bool(
        (run <= 0.0).any()
        or np.isinf(run).any()
        or np.isinf(length).any()
        or np.isinf(place.centre).any()
        or (place.trailing > place.centre).any()
        or (place.centre > place.leading).any()
    )


def refuse_impossible(marks: pd.DataFrame, place: Positions) -> None:
    """Refuse positions that cannot be, naming the first row where each kind is found."""
    for line in ("origin", "front", "trailing", "centre", "leading"):
        bad = np.isinf(getattr(place, line))
        if bad.any():
            raise _refusal(marks, bad, f"a finite position in column {line}_mm", getattr(place, line))
    run = place.run
    if (run <= 0.0).any():
        row = int(np.flatnonzero(run <= 0.0)[0])
        raise AnalysisError(
            f"{_where(marks, row)}: wanted a front beyond the origin at {place.front[row] - run[row]:g} mm, given a "
            f"front at {place.front[row]:g} mm. Correct one of the two."
        )
    bad = (place.trailing > place.centre) | (place.centre > place.leading)
    if bad.any():
        row = int(np.flatnonzero(bad)[0])
        marks_read = (values[row if len(values) > 1 else 0] for values in (place.trailing, place.centre, place.leading))
        given = ", ".join("nothing" if np.isnan(value) else f"{value:g} mm" for value in marks_read)
        raise AnalysisError(
            f"{_where(marks, row)}: wanted trailing edge, centre and leading edge in this order, given {given}. "
            "Trailing is the edge nearer the origin: swap or correct them."
        )


def _refuse_two_readings(marks: pd.DataFrame, column: str, values: Floats, source: Ids, place: Positions) -> None:
    """Refuse one reading, of a plate or a lane, that stands in the table with two values."""
    if len(values) != len(source):
        return
    moved = values[1:] != values[:-1]
    if not moved.any():
        return
    seen = np.empty(int(source.max()) + 1)
    seen[source] = values
    bad = np.flatnonzero(values != seen[source])
    bad = bad[~(np.isnan(values[bad]) & np.isnan(seen[source[bad]]))]
    if bad.size:
        row = int(bad[0])
        both = " and ".join(
            "nothing" if np.isnan(value) else f"{value:g}" for value in (values[row], seen[source[row]])
        )
        raise AnalysisError(
            f"{place.label(int(source[row]))}: wanted one value in column {column}, given {both}. Correct the table, "
            "or give each plate a label of its own in column plate."
        )


def _refuse_zeros(marks: pd.DataFrame, place: Positions) -> None:
    """Refuse origins that do not fit where the zero of the ruler is said to have lain."""
    origin = lengths(marks, "origin_mm")
    missing = np.isnan(origin)
    if missing.any() and (bad := missing & marks["zero"].isin(AWAY).to_numpy()).any():
        row = int(np.flatnonzero(bad)[0])
        raise AnalysisError(
            f"{_where(marks, row)}: wanted the position of the origin, since the zero lay at the "
            f"{marks['zero'].iloc[row]}, given nothing. Give it in column origin_mm."
        )
    away = np.abs(origin) > BEYOND * place.u_origin
    if away.any() and (bad := away & marks["zero"].isin([ORIGIN_LINE]).to_numpy()).any():
        raise _refusal(marks, bad, f"the origin at 0 mm, since the zero lay on the {ORIGIN_LINE}", origin)


def _refuse_two_systems(marks: pd.DataFrame, place: Positions) -> None:
    """Refuse a plate in two solvent systems; the first and the last row of each lane are looked at."""
    values = marks["system"].array
    if isinstance(values, pd.Categorical) and not (values.codes[1:] != values.codes[:-1]).any():
        return
    count = len(place.lane)
    ends = np.zeros((2, int(place.lane.max()) + 1), dtype=np.int64)
    ends[0, place.lane[::-1]] = np.arange(count - 1, -1, -1)
    ends[1, place.lane] = np.arange(count)
    looked = ends.ravel()
    system, found = pd.factorize(values.take(looked), use_na_sentinel=False)
    if len(found) == 1:
        return
    first = np.empty(int(place.plate.max()) + 1, dtype=np.int64)
    first[place.plate[looked]] = system
    bad = np.flatnonzero(first[place.plate[looked]] != system)
    if bad.size:
        row = looked[bad[0]]
        one, other = found[system[bad[0]]], found[first[place.plate[row]]]
        raise AnalysisError(
            f"{place.label(int(place.plate[row]))}: wanted one solvent system for a plate, given {one!r} and "
            f"{other!r}. Give each plate a label of its own in column plate."
        )


def _refusal(marks: pd.DataFrame, bad: npt.NDArray[np.bool_], wanted: str, values: Floats) -> AnalysisError:
    row = int(np.flatnonzero(bad)[0])
    return AnalysisError(f"{_where(marks, row)}: wanted {wanted}, given {values[row if len(values) > 1 else 0]:g} mm")


def _where(marks: pd.DataFrame, row: int) -> str:
    plate = f", plate {marks['plate'].iloc[row]}" if "plate" in marks.columns else ""
    return f"row {marks.index[row]}{plate}, lane {marks['lane'].iloc[row]}"
