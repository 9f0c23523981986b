"""From the marks table to positions with named sources of uncertainty.

This is the only place that decides what a reading's uncertainty is. In millimetres, each one a standard uncertainty:

==========================  ===================================================================================
source                      taken as
==========================  ===================================================================================
one reading                 the row's ``u_reading_mm``, else division / sqrt(12), the division being 1 mm unless stated
origin reading              the row's ``u_origin_mm``, else that of one reading; one source for the plate or for
                            the lane, as ``origin_read`` says
front reading               the same with ``u_front_mm`` and ``front_read``
trailing, leading edge      the row's own, else that of one reading; one source a spot
spot reading                the row's ``u_centre_mm``, else that of one reading; one source a spot
finding the centre          a tenth of the spot's length as half-width of a rectangular distribution (common
                            practice, no source); for a streak half its length, since it is not known which point
                            is meant. Not added where the row has its own ``u_centre_mm``; nothing can be added
                            where an edge was not read
==========================  ===================================================================================

Where the centre was not read, the middle of the two edges stands for it and carries half of each edge's error. A
streak without both edges has no position: how far it reaches is all that could be said of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.errors import AnalysisError
from lanewise.tables.columns import SHARED_POINTS, STATES, shared_columns, shared_error
from lanewise.uncertainty.inputs import ruler_uncertainty
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.sources import Floats, Ids, SourceGroup, offsets

DIVISION = 1.0
CENTRE_SHARE = 0.1
NOTHING = 1e-12  # an Rf up to this is 0 for all that follows from its inverse, which would be too large a number

MEASURED, AT_ORIGIN, WITH_FRONT, STREAK, UNREAD, ABSENT = range(6)
EDGES = ("trailing", "leading")
States: TypeAlias = npt.NDArray[np.int8]

_ORIGIN, _FRONT, _TRAILING, _CENTRE, _LEADING = range(len(SHARED_POINTS))

READ_BY = {"": 0, "plate": 1, "lane": 2}
SPARSE = 4  # plates times lane labels, per row, from which on the lanes that occur are numbered through


@dataclass(frozen=True, eq=False)
class LineNames:
    """Names origin and front readings by their numbers: first one a plate, then one a lane.

    Attributes
    ----------
    plates, lanes : Index
        Labels of the plates, and the different labels of lanes.
    pairs : integer array or None
        For each lane the number of its plate times the number of lane labels, plus that of its label; None where the
        lanes are numbered so themselves.
    """

    plates: pd.Index[Any]
    lanes: pd.Index[Any]
    pairs: Ids | None

    def __call__(self, number: int) -> str:
        """Name one reading."""
        if number < len(self.plates):
            return f"plate {self.plates[number]}"
        lane = number - len(self.plates)
        plate, label = divmod(lane if self.pairs is None else int(self.pairs[lane]), len(self.lanes))
        return f"plate {self.plates[plate]}, lane {self.lanes[label]}"


@dataclass(frozen=True, eq=False)
class Lengths:
    """Where N spots and their lines lie, with the uncertainty of each reading, in millimetres.

    Attributes
    ----------
    front, centre : arrays of shape (N,)
        Positions; nan where not read. The centre falls back on the middle of the edges.
    origin, trailing, leading : arrays of shape (N,), or (1,) where all rows share one value
        Positions; nan where not read.
    edge_share : array of shape (N,) or (1,)
        Half where the centre is the middle of the edges and owes its error to them, else 0.
    u_origin, u_front, u_trailing, u_leading, u_spot, u_centre : arrays of shape (N,) or (1,)
        Standard uncertainties by source; u_spot is the reading, u_centre the finding of the centre.
    shared : array of shape (N, 5, K), or (1, 5, 0) where there is no such error
        By how much each of K errors that a plate's readings share moves the points of `SHARED_POINTS`.
    """

    origin: Floats
    front: Floats
    centre: Floats
    trailing: Floats
    leading: Floats
    edge_share: Floats
    u_origin: Floats
    u_front: Floats
    u_trailing: Floats
    u_leading: Floats
    u_spot: Floats
    u_centre: Floats
    shared: Floats

    def __getitem__(self, rows: slice | Ids) -> Lengths:
        """Give some of the rows; a slice copies nothing, and what all rows share stays of shape (1,)."""
        arrays = {field.name: getattr(self, field.name) for field in fields(Lengths)}
        return Lengths(**{name: array if len(array) == 1 else array[rows] for name, array in arrays.items()})

    @cached_property
    def run(self) -> Floats:
        """Distance from origin to front in each row, shape (N,), in mm."""
        return self.front - self.origin

    @cached_property
    def length(self) -> Floats:
        """Length of each spot along its lane, shape (N,) or (1,), in mm."""
        return self.leading - self.trailing

    @cached_property
    def own_variance(self) -> Floats:
        """Variance of the point read that the edges do not share, shape (N,) or (1,), in mm2."""
        return self.u_spot**2 + self.u_centre**2

    @cached_property
    def centre_variance(self) -> Floats:
        """Variance of the point read, without origin and front, shape (N,) or (1,), in mm2."""
        return self.edge_share**2 * (self.u_trailing**2 + self.u_leading**2) + self.own_variance

    @cached_property
    def shared_distance(self) -> Floats:
        """Shift of the distance from the origin to the point read by each shared error, shape (N, K), in mm."""
        return self.shared[:, _CENTRE] - self.shared[:, _ORIGIN]

    @cached_property
    def shared_run(self) -> Floats:
        """Shift of the run by each shared error, shape (N, K), in mm."""
        return self.shared[:, _FRONT] - self.shared[:, _ORIGIN]

    @cached_property
    def shared_length(self) -> Floats:
        """Shift of the length of the spot by each shared error, shape (N, K), in mm."""
        return self.shared[:, _LEADING] - self.shared[:, _TRAILING]


@dataclass(frozen=True, eq=False)
class Positions(Lengths):
    """The readings of N spots, row by row of the marks table, with what each of them is.

    Attributes
    ----------
    state : integer array of shape (N,)
        Number of the state in `lanewise.tables.columns.STATES`.
    plate, lane : integer arrays of shape (N,)
        Number of the plate, and of the lane among all lanes of all plates.
    origin_source, front_source : integer arrays of shape (N,)
        Number of the reading that each row's origin and front come from.
    label : LineNames
        Names an origin or front reading from its number.
    shared_names : tuple of str, length K
        Names of the errors that the readings of a plate share.
    """

    state: States
    plate: Ids
    lane: Ids
    origin_source: Ids
    front_source: Ids
    label: LineNames
    shared_names: tuple[str, ...]

    def measured(self) -> tuple[Measured, Measured, Measured, Measured]:
        """Give centre, front, origin and length of all spots as values with parts.

        Returns
        -------
        tuple of Measured
            Each of N values; the four share their sources, so covariances between any results are exact.
        """
        n = len(self.state)
        groups = (
            SourceGroup("trailing-edge reading", n, shape="rectangular"),
            SourceGroup("leading-edge reading", n, shape="rectangular"),
            SourceGroup("spot reading", n, shape="rectangular"),
            SourceGroup("finding the spot's centre", n, shape="rectangular"),
            SourceGroup("origin reading", _size(self.origin_source), shape="rectangular", label=self.label),
            SourceGroup("front reading", _size(self.front_source), shape="rectangular", label=self.label),
            *(SourceGroup(name, len(self.label.plates), label=self.label) for name in self.shared_names),
        )
        first = offsets(groups)
        own = np.arange(n, dtype=np.int64)[:, None] + first[:4]
        shared = self.plate[:, None] + first[6 : 6 + len(self.shared_names)]
        share = self.edge_share

        def value(at: Floats, parts: Sequence[Floats], ids: Ids, moved: Floats) -> Measured:
            columns = [np.broadcast_to(part, (n,))[:, None] for part in parts]
            whole = np.concatenate([*columns, np.broadcast_to(moved, (n, len(self.shared_names)))], axis=1)
            return Measured(np.broadcast_to(at, (n,)).copy(), whole, np.concatenate([ids, shared], axis=1), groups)

        spot = (share * self.u_trailing, share * self.u_leading, self.u_spot, self.u_centre)
        return (
            value(self.centre, spot, own, self.shared[:, _CENTRE]),
            value(self.front, (self.u_front,), self.front_source[:, None] + first[5], self.shared[:, _FRONT]),
            value(self.origin, (self.u_origin,), self.origin_source[:, None] + first[4], self.shared[:, _ORIGIN]),
            value(self.length, (-self.u_trailing, self.u_leading), own[:, :2], self.shared_length),
        )


def positions(marks: pd.DataFrame) -> Positions:
    """Take the positions and their uncertainties out of a marks table.

    Parameters
    ----------
    marks : DataFrame
        Columns as in `lanewise.tables.columns`; of the context columns any may be missing.

    Returns
    -------
    Positions
        In the row order of the table.

    Raises
    ------
    AnalysisError
        If a state is unknown, a plate or lane has no label, or a division of the ruler is not above 0.
    """
    plate, plate_names = _labelled(marks, "plate")
    lane, lane_names = _labelled(marks, "lane")
    lane = plate * len(lane_names) + lane
    pairs = None
    if len(plate_names) * len(lane_names) > SPARSE * len(marks):
        codes, found = pd.factorize(lane)
        lane, pairs = codes.astype(np.int64), np.asarray(found, dtype=np.int64)
    state = _states(marks)
    reading = _reading(marks)
    u_edge = {edge: _or(lengths(marks, f"u_{edge}_mm"), reading) for edge in EDGES}
    edge = {edge: lengths(marks, f"{edge}_mm") for edge in EDGES}
    centre, own_u = lengths(marks, "centre_mm"), lengths(marks, "u_centre_mm")
    middle, unstated = np.isnan(centre), np.isnan(own_u)
    by_edges = middle & unstated
    length, streak = edge["leading"] - edge["trailing"], state == STREAK
    half_width = _or(length * _choose(streak, 0.5, CENTRE_SHARE), np.zeros(1))
    centre = _choose(middle, 0.5 * (edge["trailing"] + edge["leading"]), centre)
    if streak.any():
        centre = _choose(streak & np.isnan(length), np.nan, centre)
    shared, shared_names = _shared(marks, middle)
    return Positions(
        state=state,
        plate=plate,
        lane=lane,
        origin=lengths(marks, "origin_mm", 0.0),
        front=np.broadcast_to(lengths(marks, "front_mm"), state.shape),
        centre=np.broadcast_to(centre, state.shape),
        trailing=edge["trailing"],
        leading=edge["leading"],
        edge_share=_choose(by_edges, 0.5, 0.0),
        u_origin=_or(lengths(marks, "u_origin_mm"), reading),
        u_front=_or(lengths(marks, "u_front_mm"), reading),
        u_trailing=u_edge["trailing"],
        u_leading=u_edge["leading"],
        u_spot=_choose(by_edges, 0.0, _or(own_u, reading)),
        u_centre=_choose(unstated, half_width / np.sqrt(3.0), 0.0),
        origin_source=_read_by(marks, "origin", plate, lane, len(plate_names)),
        front_source=_read_by(marks, "front", plate, lane, len(plate_names)),
        label=LineNames(plate_names, lane_names, pairs),
        shared=shared,
        shared_names=shared_names,
    )


def _shared(marks: pd.DataFrame, middle: npt.NDArray[np.bool_]) -> tuple[Floats, tuple[str, ...]]:
    """Take the errors that the readings of a plate share, shape (N, 5, K), and their names.

    Where the middle of the edges stands for the centre, so does the middle of their shifts. An empty cell is no shift.
    """
    errors = tuple(dict.fromkeys(shared_error(str(name))[1] for name in marks.columns if shared_error(str(name))[0]))
    if not errors:
        return np.zeros((1, len(SHARED_POINTS), 0)), ()
    count = len(marks)
    moved = np.empty((count, len(SHARED_POINTS), len(errors)))
    for place, error in enumerate(errors):
        for point, column in enumerate(shared_columns(error)):
            moved[:, point, place] = lengths(marks, column.name)
    edges = 0.5 * (moved[:, _TRAILING] + moved[:, _LEADING])
    by_edges = middle[:, None] | np.isnan(moved[:, _CENTRE])
    moved[:, _CENTRE] = np.where(by_edges, edges, moved[:, _CENTRE])
    return np.nan_to_num(moved, nan=0.0), errors


def lengths(marks: pd.DataFrame, name: str, default: float = np.nan) -> Floats:
    """Take a column of numbers; the default stands where the column or a cell is missing. Shape (N,) or (1,)."""
    if name not in marks.columns:
        return np.array([default])
    try:
        values = marks[name].to_numpy(dtype=float)
    except (TypeError, ValueError):  # cells that are missing in pandas' own way, or texts
        values = _numbers(marks, name)
    return values if np.isnan(default) else _or(values, np.array([default]))


def _numbers(marks: pd.DataFrame, name: str) -> Floats:
    numbers = pd.to_numeric(marks[name].astype(object), errors="coerce")
    bad = np.flatnonzero(numbers.isna() & marks[name].notna())
    if bad.size:
        row = marks.index[bad[0]]
        raise AnalysisError(f"row {row}, column {name}: wanted a number, given {marks[name].iloc[bad[0]]!r}")
    return numbers.to_numpy(dtype=float, na_value=np.nan)


def _or(values: Floats, default: Floats) -> Floats:
    return _choose(np.isnan(values), default, values)


def _choose(mask: npt.NDArray[np.bool_], yes: Floats | float, no: Floats | float) -> Floats:
    """Like ``np.where``, but makes no new array where the mask is all one way: then of shape (N,) or (1,)."""
    if mask.any() and not mask.all():
        return np.where(mask, yes, no)
    return np.atleast_1d(np.asarray(yes if mask.any() else no, dtype=float))


def _reading(marks: pd.DataFrame) -> Floats:
    """Standard uncertainty of one reading, as stated or from the division of the ruler, shape (N,) or (1,), in mm."""
    division = lengths(marks, "division_mm", DIVISION)
    if (division <= 0.0).any():
        row = int(np.flatnonzero(division <= 0.0)[0])
        raise AnalysisError(
            f"row {marks.index[row]}, column division_mm: wanted a division of the ruler above 0 mm, given "
            f"{division[row]:g}. Leave the cell empty where it is not known; 1 mm is taken then."
        )
    return _or(lengths(marks, "u_reading_mm"), ruler_uncertainty(division))


def _numbered(marks: pd.DataFrame, name: str) -> tuple[Ids, pd.Index[Any]]:
    """Number the different texts of a column; a categorical column is numbered already. A missing text is one too."""
    if name not in marks.columns:
        return np.zeros(len(marks), dtype=np.int64), pd.Index(["1"])
    values = marks[name].array
    if isinstance(values, pd.Categorical) and not (values.codes < 0).any():
        return values.codes.astype(np.int64), values.categories
    codes, names = pd.factorize(values.astype(object), use_na_sentinel=False)
    return codes.astype(np.int64), pd.Index(names, dtype=object)


def _is_blank(text: Any) -> bool:
    return bool(pd.isna(text)) or text == ""


def _labelled(marks: pd.DataFrame, name: str) -> tuple[Ids, pd.Index[Any]]:
    """Number the labels of plates or lanes; none may be missing."""
    codes, names = _numbered(marks, name)
    for number in [*np.flatnonzero(names.isna()), *names.get_indexer_for(pd.Index([""]))]:
        rows = np.flatnonzero(codes == number)
        if rows.size:
            raise AnalysisError(
                f"row {marks.index[rows[0]]}, column {name}: wanted the label of a {name}, given an empty cell. "
                f"Name the {name} in every row."
            )
    return codes, names


def _states(marks: pd.DataFrame) -> States:
    """Number the states; an empty cell means measured."""
    if "state" not in marks.columns:
        return np.zeros(len(marks), dtype=np.int8)
    codes, texts = _numbered(marks, "state")
    names = ["measured" if _is_blank(text) else text for text in texts]
    for number, name in enumerate(names):
        if name not in STATES and (codes == number).any():
            row = marks.index[np.flatnonzero(codes == number)[0]]
            raise AnalysisError(f"row {row}, column state: wanted one of {', '.join(STATES)}, given {name!r}")
    table = np.array([STATES.index(name) if name in STATES else -1 for name in names], dtype=np.int8)
    return table[codes]


def _read_by(marks: pd.DataFrame, line: str, plate: Ids, lane: Ids, plates: int) -> Ids:
    """Number the reading behind each row's origin or front: 0 to plates - 1 for a plate's, then a lane's.

    Where nothing says so, a line is taken as read once if all rows of a plate give one position with one uncertainty.
    """
    column = f"{line}_read"
    if column not in marks.columns:
        return np.where(_even(marks, line, plate, plates), plate, lane + plates)
    codes, names = _numbered(marks, column)
    meanings = np.array([READ_BY.get("" if _is_blank(name) else name, -1) for name in names], dtype=np.int64)
    if (meanings == READ_BY["lane"]).all():
        return lane + plates
    said = meanings[codes]
    if (said < 0).any():
        row = int(np.flatnonzero(said < 0)[0])
        raise AnalysisError(
            f"row {marks.index[row]}, column {column}: wanted plate or lane, given {marks[column].iloc[row]!r}"
        )
    once = said == READ_BY["plate"]
    if (said == READ_BY[""]).any():
        once |= (said == READ_BY[""]) & _even(marks, line, plate, plates)
    return np.where(once, plate, lane + plates)


def _even(marks: pd.DataFrame, line: str, plate: Ids, plates: int) -> npt.NDArray[np.bool_]:
    """Whether all rows of a row's plate give one position of a line and one uncertainty, shape (N,)."""
    uneven = np.zeros(plates, dtype=bool)
    for values in (lengths(marks, f"{line}_mm", 0.0), lengths(marks, f"u_{line}_mm", -1.0)):
        if len(values) == len(plate):
            seen = np.empty(plates)
            seen[plate] = values
            uneven[plate[values != seen[plate]]] = True
    return ~uneven[plate]


def _size(source: Ids) -> int:
    return int(source.max(initial=-1)) + 1
