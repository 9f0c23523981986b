"""From readings as written to a marks table, with every fault found at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from lanewise.errors import Problem
from lanewise.tables import rules
from lanewise.tables.cells import Texts
from lanewise.tables.columns import CONTEXT, MARKS, NOT_STATED
from lanewise.tables.draft import Draft, ordered, read_columns
from lanewise.tables.headings import resolve
from lanewise.tables.marks import ASSUMED

NO_ORIGIN = "Where no origin was given, the zero of the ruler is taken to have lain on the origin line."


def check(
    columns: Mapping[str, Sequence[object]],
    places: Sequence[int],
    units: Mapping[str, str] | None = None,
    defaults: Mapping[str, str] | None = None,
    file: str = "readings",
    division: float | None = None,
    decimal: str = ".",
    parts: Sequence[str] = (),
) -> tuple[pd.DataFrame, list[Problem]]:
    """Make a marks table of readings as written, and find every fault in them.

    Parameters
    ----------
    columns : mapping of heading to cells, each of length N
        Headings and cells as they stand in the file; cells are text, numbers or None.
    places : sequence of int, length N
        Row of the file for each row of cells.
    units : mapping of heading to unit, optional
        For headings that state none; without either, millimetres.
    defaults : mapping of column name to text, optional
        For columns that the file lacks, and for empty cells.
    file : str, optional
        Name of the file, for the faults.
    division : float or None, optional
        Division of the ruler, where the file has no column of it; None for 1 mm. [mm]
    decimal : {".", ","}, optional
        Decimal sign of the file.
    parts : sequence of str, length N or 0, optional
        Part of the file, such as a sheet, that each row stands in, where its rows are counted by parts.

    Returns
    -------
    marks : DataFrame
        All columns of ``MARKS``, those of ``CONTEXT`` that were given, then the factors. Lengths in millimetres as
        float64, NaN where nothing was read; texts empty where nothing stands. ``attrs["assumed"]`` says what was
        assumed.
    problems : list of Problem
        Every fault: those of headings first, then row by row. Where there is one, the table is not to be used.

    Notes
    -----
    Needed are the lane, its front, and of each measured spot its centre or both edges. What belongs to a lane or a
    plate may stand in one of its rows only. Left out are: plate (``1``), system (``not stated``), sample (the lane's
    label), role (``sample``), state (``measured``), spot (numbered from the origin), and the origin (0 mm), unless zero
    says that the ruler began at the edge of the sheet or at the liquid level: then the origin is needed. A front that
    was not seen is written ``not seen``. A missing centre stays missing: the middle of the edges is for the analysis to
    take.

    Examples
    --------
    >>> cells = {"lane": ["A", "A"], "front_cm": ["8,5", ""], "centre_cm": ["5,2", "2"]}
    >>> marks, problems = check(cells, [2, 3], decimal=",")
    >>> marks[["lane", "spot", "front_mm", "centre_mm"]].values.tolist(), problems
    ([['A', '2', 85.0, 52.0], ['A', '1', 85.0, 20.0]], [])
    >>> print(check({"lane": ["A"], "front": ["85"], "centre": ["12; 15"]}, [2], file="inks.csv")[1][0])
    inks.csv, row 2, column centre: wanted one number in the cell, given '12; 15'. Write one row a spot: repeat the row,
    once with 12 and once with 15.
    """
    draft = Draft(file, places, resolve(columns, units or {}, file), parts)
    uneven = [heading for heading, cells in columns.items() if len(cells) != len(draft)]
    if uneven or not len(draft):
        for heading in uneven:
            given = f"{len(columns[heading])} cells"
            draft.found.append(
                (-1, Problem(file, None, heading, f"{len(draft)} cells, one a row", given, "Mend the reader."))
            )
        if not uneven:
            draft.found.append(
                (-1, Problem(file, None, "", "at least one row of readings", "none", "Add the readings."))
            )
        return _frame(draft, {}), draft.problems()
    factors = read_columns(draft, columns, defaults or {}, decimal)
    assumed = _complete(draft, 1.0 if division is None else division)
    frame = _frame(draft, factors)
    frame.attrs[ASSUMED] = assumed
    return frame, draft.problems()


def _complete(draft: Draft, division: float) -> tuple[str, ...]:
    """Fill what was left out, apply the rules, and say what was assumed."""
    count = len(draft)
    for column in MARKS:
        if column.kind == "text":
            draft.text.setdefault(column.name, np.full(count, "", dtype=object))
        else:
            draft.number.setdefault(column.name, np.full(count, np.nan))
    _default(draft.text["plate"], "1")
    _default(draft.text["state"], "measured")
    rules.check_lanes_named(draft)
    plate, lane = rules.groups(draft)
    rules.settle(draft, rules.LANE_FACTS, lane, "lane")
    rules.settle(draft, rules.PLATE_FACTS, plate, "plate")
    _default(draft.text["system"], NOT_STATED)
    _default(draft.text["role"], "sample")
    _default(draft.text["sample"], draft.text["lane"])
    assumed = rules.fill_origins(draft, lane)
    rules.check_zeros(draft, plate, division)
    rules.check_shared(draft, plate)
    rules.check_fronts(draft, lane)
    rules.check_spots(draft)
    rules.check_double(draft, lane)
    rules.check_places(draft, division)
    _number_spots(draft, lane)
    return (NO_ORIGIN,) if assumed.any() else ()


def _default(held: Texts, value: str | Texts) -> None:
    empty = held == ""
    held[empty] = value if isinstance(value, str) else value[empty]


def _number_spots(draft: Draft, lane: rules.Ids) -> None:
    """Number the spots without a name from the origin of their lane on, around the names that are taken."""
    spot = draft.text["spot"]
    empty = spot == ""
    if not empty.any():
        return
    state = draft.text["state"]
    trailing, centre, leading = (draft.values(f"{name}_mm") for name in ("trailing", "centre", "leading"))
    at = np.where(np.isnan(centre), trailing + (leading - trailing) / 2, centre)
    at = np.where(np.isnan(at) & (state == "at origin"), -np.inf, at)
    at = np.where(np.isnan(at) & (state == "with front"), np.inf, at)
    order = np.lexsort((at, lane))
    starts = np.r_[True, np.diff(lane[order]) > 0]
    begin = np.maximum.accumulate(np.where(starts, np.arange(len(order)), 0))
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order)) - begin
    labels = np.array([str(number) for number in range(1, int(rank.max()) + 2)], dtype=object)
    some = np.zeros(int(lane.max()) + 1, dtype=bool)
    some[lane[~empty]] = True
    whole = empty & ~some[lane]
    spot[whole] = labels[rank[whole]]
    partly = order[(empty & some[lane])[order]].tolist()
    if partly:
        taken = set(zip(lane.tolist(), spot.tolist(), strict=True))
        for row in partly:
            number = int(rank[row]) + 1
            while (int(lane[row]), str(number)) in taken:
                number += 1
            spot[row] = str(number)
            taken.add((int(lane[row]), str(number)))


def _frame(draft: Draft, factors: Mapping[str, Texts]) -> pd.DataFrame:
    given = ordered((draft.text | draft.number).keys() & {column.name for column in CONTEXT})
    made: dict[str, pd.Series] = {}
    for name in [*(column.name for column in MARKS), *given]:
        if name in draft.number:
            made[name] = pd.Series(draft.number[name], dtype=np.float64)
        else:
            made[name] = pd.Series(draft.text.get(name, np.empty(0, dtype=object)), dtype="str")
    made.update({name: pd.Series(held, dtype="str") for name, held in factors.items()})
    return pd.DataFrame(made)
