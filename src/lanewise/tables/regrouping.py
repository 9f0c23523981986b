"""From the rows of a marks table back to plates: each value where it was read, each factor where it is constant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import count
from typing import Any

import numpy as np
import pandas as pd

from lanewise.model.fields import refusal
from lanewise.model.plates import NOT_STATED, Development, Lane, Plate, Reading, SharedError, Sheet, Spot
from lanewise.tables.columns import AWAY, CONTEXT, MARKS, described, shared_error
from lanewise.tables.rules import LANE_FACTS, PLATE_FACTS, Ids, numbered

SPOT_FIELDS = {
    "spot": "label",
    "trailing_mm": "trailing",
    "centre_mm": "centre",
    "leading_mm": "leading",
    "state": "state",
    "colour": "colour",
    "note": "note",
    "u_trailing_mm": "u_trailing",
    "u_centre_mm": "u_centre",
    "u_leading_mm": "u_leading",
    "point": "point",
    "amount_ug": "amount",
    "area_mm": "area",
    "u_area_mm": "u_area",
}
"""For a column of the marks, the field of a spot that it holds."""

_WORDS = {
    "plate": "1",
    "system": NOT_STATED,
    "role": "sample",
    "state": "measured",
    "point": "centre",
    "zero": NOT_STATED,
}
"""What stands for an empty cell."""


def regroup(frame: pd.DataFrame, division: float | None = None) -> list[Plate]:
    """Make plates of a marks table.

    Parameters
    ----------
    frame : DataFrame
        As `lanewise.tables.marks.from_frame` takes it.
    division : float or None, optional
        Division of the ruler, where the table has none. [mm]

    Returns
    -------
    list of Plate
        In the order of their first rows.

    Raises
    ------
    RecordError
        If a lane or a plate has two values of what it has one of, or a value is not possible.

    Examples
    --------
    >>> rows = pd.DataFrame({"lane": ["A"], "front_mm": [85.0], "centre_mm": [20.0]})
    >>> regroup(rows, division=0.5)[0].reading.division
    0.5
    """
    table = _Table(frame, division)
    return [table.make_plate(rows) for rows in _runs(table.plate)]


class _Table:
    """The columns of a marks table as plain lists, with missing ones filled, and its rows in groups."""

    def __init__(self, frame: pd.DataFrame, division: float | None) -> None:
        if "lane" not in frame.columns:
            raise refusal("marks", "a column 'lane'", f"the columns {list(frame.columns)}", "Add it.")
        count = len(frame)
        self.columns: dict[str, list[Any]] = {}
        for column in (*MARKS, *CONTEXT):
            if column.name not in frame.columns:
                empty: Any = _WORDS.get(column.name, "") if column.kind == "text" else None
                self.columns[column.name] = [empty] * count
            elif column.kind == "text":
                word = _WORDS.get(column.name, "")
                self.columns[column.name] = [text or word for text in _texts(frame[column.name])]
            else:
                self.columns[column.name] = _numbers(frame[column.name])
        if "origin_mm" not in frame.columns:
            self.columns["origin_mm"] = [None if zero in AWAY else 0.0 for zero in self.columns["zero"]]
        if division is not None:
            self.columns["division_mm"] = [division if one is None else one for one in self.columns["division_mm"]]
        self.plate = numbered(_objects(self.columns["plate"]))
        self.lane = numbered(self.plate, _objects(self.columns["lane"]))
        self.shared = {name: _numbers(frame[name]) for name in map(str, frame.columns) if shared_error(name)[0]}
        factors = {str(name): _texts(frame[name]) for name in frame.columns if described(str(name)) is None}
        self.plate_factors, rest = _constant(factors, self.plate)
        self.lane_factors, self.spot_factors = _constant(rest, self.lane)

    def fact(self, column: str, rows: Sequence[int], what: str) -> Any:
        """Give the one value of a column in some rows."""
        values = self.columns[column]
        found = {values[row] for row in rows}
        if len(found) > 1:
            given = " and ".join(sorted(map(repr, found))[:3])
            raise refusal(what, f"one value in column {column}", given, "Correct the table.")
        return values[rows[0]]

    def make_plate(self, rows: Ids) -> Plate:
        """Make the plate of some rows."""
        first = int(rows[0])
        what = f"plate {self.columns['plate'][first]!r}"
        facts = {column: self.fact(column, rows.tolist(), what) for column in PLATE_FACTS}
        lanes = [rows[group] for group in _runs(self.lane[rows])]
        lane_facts = [self._lane_facts(group.tolist(), what) for group in lanes]
        shared = {line: _shared(line, lane_facts, what) for line in ("origin", "front")}
        return Plate(
            label=self.columns["plate"][first],
            system=facts["system"],
            sheet=_sheet(facts["layer"], facts["height_mm"]),
            development=Development(runs=_whole(facts["runs"]), minutes=facts["minutes"]),
            reading=Reading(
                **_given(division=facts["division_mm"], u=facts["u_reading_mm"], noticeable=facts["noticeable_mm"]),
                zero=facts["zero"],
            ),
            **{name: value for line in ("origin", "front") for name, value in shared[line].items()},
            shared_errors=self._shared_errors(rows.tolist()),
            lanes=tuple(
                self._make_lane(group.tolist(), held, shared) for group, held in zip(lanes, lane_facts, strict=True)
            ),
            factors=_factors(self.plate_factors, first),
        )

    def _shared_errors(self, rows: list[int]) -> tuple[SharedError, ...]:
        """Make the shared errors of a plate from what they do to its positions."""
        curves: dict[str, dict[float, float]] = {}
        for name, shifts in self.shared.items():
            point, error = shared_error(name)
            at = self.columns[f"{point}_mm"]
            known = {at[row]: shifts[row] for row in rows if at[row] is not None and shifts[row] is not None}
            curves.setdefault(error, {}).update(known)
        return tuple(
            SharedError(name=error, positions=tuple(sorted(curve)), shifts=tuple(curve[at] for at in sorted(curve)))
            for error, curve in curves.items()
            if any(curve.values())
        )

    def _lane_facts(self, rows: list[int], plate: str) -> dict[str, Any]:
        what = f"lane {self.columns['lane'][rows[0]]!r} on {plate}"
        facts = {column: self.fact(column, rows, what) for column in LANE_FACTS}
        for line in ("origin", "front"):
            facts[f"u_{line}_mm"] = None if facts[f"{line}_mm"] is None else facts[f"u_{line}_mm"]
        return facts

    def _make_lane(self, rows: list[int], facts: dict[str, Any], shared: dict[str, dict[str, Any]]) -> Lane:
        own = {
            name: facts[f"{name}_mm"]
            for line in ("origin", "front")
            if facts[f"{line}_read"] == "lane" or _reading(line, facts) != shared[line]
            for name in (line, f"u_{line}")
        }
        label = self.columns["lane"][rows[0]]
        return Lane(
            label=label,
            sample=facts["sample"],
            role=facts["role"],
            **own,
            spots=tuple(map(self._make_spot, rows, self._spot_labels(rows))),
            factors=_factors(self.lane_factors, rows[0]),
        )

    def _spot_labels(self, rows: list[int]) -> list[str]:
        """Give the labels of a lane's spots; those without one are numbered in the order of the rows."""
        labels = [self.columns["spot"][row] for row in rows]
        taken = set(labels)
        free = (str(number) for number in count(1) if str(number) not in taken)
        return [label if label.strip() else next(free) for label in labels]

    def _make_spot(self, row: int, label: str) -> Spot:
        fields = {field: self.columns[name][row] for name, field in SPOT_FIELDS.items()}
        return Spot(**{**fields, "label": label}, factors=_factors(self.spot_factors, row))


def _reading(line: str, facts: Mapping[str, Any]) -> dict[str, Any]:
    """Give the origin or front of a lane with its uncertainty, by field; empty where it was not seen."""
    value = facts[f"{line}_mm"]
    return {} if value is None else {line: value, f"u_{line}": facts[f"u_{line}_mm"]}


def _shared(line: str, lanes: Sequence[dict[str, Any]], plate: str) -> dict[str, Any]:
    """Give the origin or front that was read once for the plate, as `_reading` does; empty where there is none."""
    said = [facts for facts in lanes if facts[f"{line}_read"] == "plate"]
    silent = [facts for facts in lanes if not facts[f"{line}_read"]]
    readings = [_reading(line, facts) for facts in said or silent]
    same = all(reading == readings[0] for reading in readings)
    if said:
        gone = [facts for facts in lanes if facts[f"{line}_mm"] is None]
        if not same or gone:
            given = "none in some lanes" if gone else "different ones"
            raise refusal(plate, f"one {line}, since it was read once", given, f"Correct {line}_read or the readings.")
        return readings[0]
    return readings[0] if same and 2 <= len(silent) == len(lanes) else {}


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def _sheet(layer: str, height: float | None) -> Sheet | None:
    """Make the sheet of a plate; its layer is not stated where only the height is given."""
    if not layer.strip() and height is None:
        return None
    return Sheet(stationary_phase=layer if layer.strip() else NOT_STATED, height=height)


def _whole(runs: float | None) -> Any:
    """Give the number of developments as a whole number; a broken one is left for the record to refuse."""
    if runs is None:
        return 1
    return int(runs) if runs == int(runs) else runs


def _factors(columns: Mapping[str, Sequence[str]], row: int) -> dict[str, str]:
    return {name: texts[row] for name, texts in columns.items() if texts[row].strip()}


def _constant(factors: Mapping[str, list[str]], group: Ids) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    """Part factors into those that never change within a group, and the others."""
    constant: dict[str, list[str]] = {}
    changing: dict[str, list[str]] = {}
    for name, texts in factors.items():
        codes = numbered(_objects(texts))
        pairs = np.unique(np.stack([group, codes]), axis=1).shape[1] if len(group) else 0
        (constant if pairs == len(np.unique(group)) else changing)[name] = texts
    return constant, changing


def _runs(group: Ids) -> list[Ids]:
    """Give the rows of each group, in the order of appearance."""
    order = np.argsort(group, kind="stable")
    ends = np.flatnonzero(np.diff(group[order])) + 1
    return [np.asarray(rows, dtype=np.int64) for rows in np.split(order, ends)] if len(group) else []


def _texts(column: pd.Series) -> list[str]:
    return [cell if type(cell) is str else _text(cell) for cell in column.tolist()]


def _text(cell: object) -> str:
    """Give the text of a cell that is not text: empty for nothing, without decimals for a whole number."""
    if cell is None or cell is pd.NA or cell != cell:
        return ""
    return str(int(cell)) if isinstance(cell, float) and cell.is_integer() else str(cell)


def _numbers(column: pd.Series) -> list[float | None]:
    numbers = column.to_numpy(dtype=np.float64, na_value=np.nan).tolist()
    return [None if value != value else value for value in numbers]


def _objects(values: Sequence[str]) -> Any:
    made = np.empty(len(values), dtype=object)
    made[:] = values
    return made
