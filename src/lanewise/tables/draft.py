"""Readings on their way to a marks table: columns read cell by cell, and the faults found so far."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches

import numpy as np
import numpy.typing as npt

from lanewise.errors import Problem
from lanewise.tables.cells import MISSING, Floats, Texts, numbers, texts
from lanewise.tables.columns import CONTEXT, MARKS, POINTS, ROLES, STATES, ZEROS, Column
from lanewise.tables.headings import Heading, Headings, read_heading
from lanewise.tables.units import units_of

Mask = npt.NDArray[np.bool_]

NOT_SEEN = "not seen"
"""What stands in a cell of the front where none was seen."""

CHOICES: Mapping[str, tuple[str, ...]] = {
    "state": STATES,
    "role": ROLES,
    "point": POINTS,
    "zero": ZEROS,
    "origin_read": ("plate", "lane"),
    "front_read": ("plate", "lane"),
}
"""Columns of text in which only certain words may stand."""

_NOT_NEGATIVE = ("a number not below 0", 0.0, np.inf)
_ABOVE_0 = ("a number above 0", float(np.nextafter(0.0, 1.0)), np.inf)
_LIMITS: Mapping[str, tuple[str, float, float]] = {
    **{column.name: _NOT_NEGATIVE for column in (*MARKS, *CONTEXT) if column.name.startswith("u_")},
    "noticeable_mm": _NOT_NEGATIVE,
    "division_mm": _ABOVE_0,
    "height_mm": _ABOVE_0,
    "runs": ("a whole number from 1 to 1000", 1.0, 1000.0),
    "minutes": _ABOVE_0,
    "amount_ug": _NOT_NEGATIVE,
    "area_mm": _NOT_NEGATIVE,
}
"""For a column: what is wanted, the least and the greatest value."""


@dataclass(slots=True)
class Draft:
    """A table of N rows while it is being read and checked.

    Attributes
    ----------
    file : str
        Name of the file.
    places : sequence of int, length N
        Row in the file of each row here.
    headings : Headings
        What the headings mean.
    parts : sequence of str, length N or 0
        Part of the file that each row stands in, where it has several.
    text : dict of column name to array of str, shape (N,)
        Columns of text; empty where nothing stands.
    number : dict of column name to array, shape (N,)
        Columns of numbers in the library's units; NaN where nothing stands.
    refused : dict of column name to array of bool, shape (N,)
        Cells that could not be read, so that nobody complains of them again.
    unseen : array of bool, shape (N,)
        Rows that say that no front was seen.
    found : list of (row, Problem)
        The faults, with the row counted from 0; -1 for those of the whole table.
    """

    file: str
    places: Sequence[int]
    headings: Headings
    parts: Sequence[str] = ()
    text: dict[str, Texts] = field(default_factory=dict)
    number: dict[str, Floats] = field(default_factory=dict)
    refused: dict[str, Mask] = field(default_factory=dict)
    unseen: Mask = field(default_factory=lambda: np.zeros(0, dtype=bool))
    found: list[tuple[int, Problem]] = field(default_factory=list)

    def __len__(self) -> int:
        return len(self.places)

    def written(self, column: str) -> str:
        """Give the heading under which a column stands in the file, else its name."""
        heading = self.headings.columns.get(column)
        return column if heading is None else heading.written

    def place(self, row: int) -> int:
        """Give the row of the file."""
        return int(self.places[row])

    def row_named(self, row: int) -> str:
        """Name a row in the text of a fault of another row."""
        return f"row {self.place(row)}{f' of {self.parts[row]}' if self.parts else ''}"

    def fault(self, row: int, column: str, wanted: str, given: str, todo: str) -> None:
        """Note a fault in a row; -1 for the whole table."""
        place = None if row < 0 else self.place(row)
        file = f"{self.file}, {self.parts[row]}" if self.parts and row >= 0 else self.file
        self.found.append((row, Problem(file, place, self.written(column), wanted, given, todo)))

    def problems(self) -> list[Problem]:
        """Give every fault: those of headings, then row by row."""
        return [*self.headings.problems, *(problem for _, problem in sorted(self.found, key=lambda one: one[0]))]

    def values(self, column: str) -> Floats:
        """Give a column of numbers; NaN where the table lacks it."""
        return self.number[column] if column in self.number else np.full(len(self), np.nan)

    def was_refused(self, column: str) -> Mask:
        """Give which cells of a column could not be read."""
        return self.refused[column] if column in self.refused else np.zeros(len(self), dtype=bool)


def read_columns(
    draft: Draft, cells: Mapping[str, Sequence[object]], defaults: Mapping[str, str], decimal: str
) -> dict[str, Texts]:
    """Read all columns of a table into a draft.

    Parameters
    ----------
    draft : Draft
        Filled here: columns that the table has, and those that the defaults supply.
    cells : mapping of heading to cells
        As in the file.
    defaults : mapping of column name to text
        For columns that the table lacks, and for their empty cells.
    decimal : {".", ","}
        Decimal sign.

    Returns
    -------
    dict of factor name to array of str, shape (N,)
        The factors, in their order.
    """
    supplied = {read_heading(name, suggest=False): text for name, text in defaults.items() if str(text).strip()}
    draft.unseen = np.zeros(len(draft), dtype=bool)
    for column in (*MARKS, *CONTEXT):
        heading = draft.headings.columns.get(column.name)
        if heading is not None:
            _read_column(draft, column, heading, cells[heading.written], decimal)
        for named, text in supplied.items():
            if named.column == column.name:
                _supply(draft, column, named, text)
    factors = {heading.factor: texts(cells[heading.written]) for heading in draft.headings.factors}
    for named, text in supplied.items():
        if not named.column:
            held = factors.get(named.factor, _same("", len(draft)))
            factors[named.factor] = np.where(held == "", text, held)
    for name in {heading.point for heading in draft.headings.columns.values() if heading.point}:
        held = draft.text.get("point", _same("", len(draft)))
        draft.text["point"] = np.where(held == "", name, held)
    return factors


def _same(text: str, count: int) -> Texts:
    return np.full(count, text, dtype=object)


def _read_column(draft: Draft, column: Column, heading: Heading, cells: Sequence[object], decimal: str) -> None:
    if column.kind == "text":
        draft.text[column.name] = _words(draft, column.name, texts(cells))
        return
    if column.name == "front_mm":
        cells = _without_unseen(draft, cells)
    read = numbers(cells, heading.unit, units_of(column.unit), decimal)
    draft.number[column.name] = read.values
    for row, fault in read.faults.items():
        draft.fault(row, column.name, fault.wanted, _shown(cells[row]), fault.todo)
    if read.mixed is not None:
        bare, united = read.mixed
        draft.fault(
            bare,
            column.name,
            "a unit in the heading, or in every cell",
            f"{_shown(cells[bare])} here and {_shown(cells[united])} in {draft.row_named(united)}",
            f"Put the unit into the heading, for instance {column.name!r}.",
        )
        read.values[:] = np.nan  # nobody knows what the bare numbers mean
        _refuse(draft, column.name, list(range(len(draft))))
    _refuse(draft, column.name, list(read.faults))
    rows = _outside(column.name, read.values)
    for row in rows:
        draft.fault(row, column.name, _LIMITS[column.name][0], _shown(cells[row]), "Correct it.")
    read.values[rows] = np.nan
    _refuse(draft, column.name, rows)


def _refuse(draft: Draft, column: str, rows: list[int]) -> None:
    if rows:
        mask = draft.was_refused(column)
        mask[rows] = True
        draft.refused[column] = mask


def _outside(column: str, values: Floats) -> list[int]:
    """Find the numbers that a column does not allow."""
    if column not in _LIMITS:
        return []
    _, least, most = _LIMITS[column]
    wrong = (values < least) | (values > most)
    if column == "runs":
        wrong |= ~np.isnan(values) & (values % 1 != 0)
    return [int(row) for row in np.flatnonzero(wrong)]


def _without_unseen(draft: Draft, cells: Sequence[object]) -> Sequence[object]:
    """Take the cells out that say that no front was seen."""
    rows = [row for row, cell in enumerate(cells) if isinstance(cell, str) and cell.strip().lower() == NOT_SEEN]
    if not rows:
        return cells
    draft.unseen[rows] = True
    rest = list(cells)
    for row in rows:
        rest[row] = None
    return rest


def _words(draft: Draft, column: str, cells: Texts) -> Texts:
    """Bring the words of a column with choices into their right form."""
    if column not in CHOICES:
        return cells
    found = {cell: _word(column, cell) for cell in set(cells.tolist())}
    if any(todo for _, todo in found.values()):
        rows = [row for row, cell in enumerate(cells.tolist()) if found[cell][1]]
        for row in rows:
            draft.fault(row, column, f"one of {', '.join(CHOICES[column])}", repr(cells[row]), found[cells[row]][1])
        _refuse(draft, column, rows)
    made = np.empty(len(cells), dtype=object)
    made[:] = [found[cell][0] for cell in cells.tolist()]
    return made


def _word(column: str, cell: str) -> tuple[str, str]:
    """Bring one word into its right form, or say what to do about it."""
    choices = CHOICES[column]
    plain = re.sub(r"[\s_-]+", " ", cell).strip().lower()
    if plain in choices:
        return plain, ""
    if cell.lower() in MISSING:
        return "", ""
    near = get_close_matches(plain, choices, n=1)
    return "", f"Did you mean {near[0]!r}?" if near else "Correct it, or leave the cell empty."


def _supply(draft: Draft, column: Column, named: Heading, text: str) -> None:
    """Put a default into a column that is not there, or into its empty cells."""
    if column.kind == "text":
        held = draft.text.get(column.name, _same("", len(draft)))
        value, todo = _word(column.name, text) if column.name in CHOICES else (text.strip(), "")
        if todo:
            wanted = f"one of {', '.join(CHOICES[column.name])}"
            draft.fault(-1, column.name, wanted, repr(text), f"{todo} It was given as a default.")
        draft.text[column.name] = np.where((held == "") & ~draft.was_refused(column.name), value, held)
        return
    read = numbers([text], named.unit, units_of(column.unit))
    for fault in read.faults.values():
        draft.fault(-1, column.name, fault.wanted, repr(text), f"{fault.todo} It was given as a default.")
    if _outside(column.name, read.values):
        draft.fault(-1, column.name, _LIMITS[column.name][0], repr(text), "Correct it. It was given as a default.")
    held_numbers = draft.values(column.name)
    empty = np.isnan(held_numbers) & ~draft.was_refused(column.name)
    draft.number[column.name] = np.where(empty, read.values[0], held_numbers)


def _shown(cell: object) -> str:
    text = repr(cell) if isinstance(cell, str) else str(cell)
    return text if len(text) <= 60 else f"{text[:57]}..."


def ordered(names: Iterable[str]) -> list[str]:
    """Put names of columns into the order of `MARKS` and `CONTEXT`.

    Examples
    --------
    >>> ordered({"runs", "lane", "plate"})
    ['plate', 'lane', 'runs']
    """
    wanted = set(names)
    return [column.name for column in (*MARKS, *CONTEXT) if column.name in wanted]
