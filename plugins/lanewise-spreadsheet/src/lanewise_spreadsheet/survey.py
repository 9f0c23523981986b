"""What a look through the XML of a sheet tells beyond its values: how far it reaches, and what no value shows."""

from __future__ import annotations

from dataclasses import dataclass, field

from lanewise.errors import UnreadableFile
from lanewise_spreadsheet.archive import refusal

MOST_ROWS = 1_048_576  # of a sheet, in the spreadsheet programs of our day
MOST_COLUMNS = 16_384
MOST_CELLS = 10_000_000

Place = tuple[int, int]
"""Row and column of a cell, counted from 0."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A range of merged cells: its first and last row and column, counted from 0; the first cell holds the value."""

    top: int
    left: int
    bottom: int
    right: int


@dataclass(slots=True)
class Survey:
    """What was seen in one sheet beside its values.

    Attributes
    ----------
    rows, columns : int
        How many it has, up to the last cell with a value.
    errors : dict of Place to str
        What stands in cells whose formula came to an error: ``#DIV/0!``.
    unsaved : set of Place
        Formulas whose value the file does not hold.
    formulas : int
        How many formulas there are.
    hidden_rows, hidden_columns : list of range
        Counted from 0.
    merged : list of Merged
        Ranges of merged cells.
    units : dict of Place to str
        Units that the number format of a cell shows behind its number.
    comments : int
        How many cells carry a comment.
    """

    rows: int = 0
    columns: int = 0
    errors: dict[Place, str] = field(default_factory=dict)
    unsaved: set[Place] = field(default_factory=set)
    formulas: int = 0
    hidden_rows: list[range] = field(default_factory=list)
    hidden_columns: list[range] = field(default_factory=list)
    merged: list[Merged] = field(default_factory=list)
    units: dict[Place, str] = field(default_factory=dict)
    comments: int = 0

    def reach(self, row: int, column: int) -> None:
        """Take note of a cell with a value."""
        if row >= self.rows:
            self.rows = row + 1
        if column >= self.columns:
            self.columns = column + 1

    def too_large(self) -> bool:
        """Tell whether the sheet reaches farther than is read."""
        return self.rows > MOST_ROWS or self.columns > MOST_COLUMNS or self.rows * self.columns > MOST_CELLS


def cell_name(row: int, column: int) -> str:
    """Give the name of a cell, from its row and column counted from 0.

    Examples
    --------
    >>> cell_name(0, 0), cell_name(6, 27)
    ('A1', 'AB7')
    """
    return f"{column_letters(column)}{row + 1}"


def column_letters(column: int) -> str:
    """Give the letters of a column, counted from 0.

    Examples
    --------
    >>> [column_letters(number) for number in (0, 25, 26, 701, 702, 16383)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA', 'XFD']
    """
    letters = ""
    number = column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def too_large(file: str, sheet: str, survey: Survey) -> UnreadableFile:
    """Make the error that refuses a sheet which reaches too far."""
    wanted = f"a sheet of at most {MOST_ROWS} rows, {MOST_COLUMNS} columns and {MOST_CELLS} cells in all"
    given = f"one that reaches to row {survey.rows} and column {survey.columns}"
    todo = "Clear the stray cells far out, or split the table over several files."
    return refusal(f"{file}, sheet {sheet!r}", "", wanted, given, todo)
