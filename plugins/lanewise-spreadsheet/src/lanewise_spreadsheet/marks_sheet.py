"""The sheet of marks: what was read, as numbers, under the library's own names of columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lanewise.document import DataColumn, DataTable
from lanewise.errors import StyleError
from lanewise_spreadsheet.book import LINE, Book, Worksheet, lines, put, widths_of
from lanewise_spreadsheet.survey import MOST_ROWS, column_letters

MARKS = "Marks"
Value = str | float | None


@dataclass(frozen=True, slots=True)
class Written:
    """Where the marks stand.

    Attributes
    ----------
    columns : dict of column name to DataColumn
        Those that hold anything.
    letters : dict of column name to str
        Column of the sheet.
    rows : list of int
        Row of the sheet of each spot, counted from 1.
    """

    columns: Mapping[str, DataColumn]
    letters: Mapping[str, str]
    rows: Sequence[int]

    def cell(self, name: str, spot: int) -> str:
        """Give the address of a cell, from other sheets; empty where nothing stands there."""
        if name not in self.columns or self.columns[name].values[spot] is None:
            return ""
        return f"{MARKS}!${self.letters[name]}${self.rows[spot]}"

    def number(self, name: str, spot: int) -> float | None:
        """Give a number of a spot; None where it has none."""
        value = self.columns[name].values[spot] if name in self.columns else None
        return float(value) if isinstance(value, (int, float)) else None


def write_marks(book: Book, table: DataTable) -> Written:
    """Write the marks, one row a spot, without the columns in which nothing stands."""
    check_rows(table)
    kept = [column for column in table.columns if any(value is not None for value in column.values)]
    sheet = data_sheet(book, MARKS, [(column.name, _shown(column)) for column in kept], keys=_keys(kept, table.keys))
    for place, column in enumerate(kept):
        put(sheet, 0, place, column.name, book.style("head right" if column.kind == "number" else "head"))
    rows: list[int] = []
    row = 1
    for spot in range(len(table)):
        rows.append(row + 1)
        row += max([1, *(write(book, sheet, row, place, column.values[spot]) for place, column in enumerate(kept))])
    return Written(
        {column.name: column for column in kept},
        {column.name: column_letters(place) for place, column in enumerate(kept)},
        rows,
    )


def check_rows(table: DataTable) -> None:
    """Refuse a table that does not fit on a sheet."""
    if len(table) >= MOST_ROWS:
        raise StyleError(
            f"a sheet of a workbook holds {MOST_ROWS} rows; the data table {table.name!r} has {len(table)} and its "
            "headings. Lay out fewer plates at a time, or write the results as text."
        )


def data_sheet(book: Book, name: str, columns: Sequence[tuple[str, Sequence[str]]], keys: int) -> Worksheet:
    """Add a sheet for one row a spot: headings that stay in view and are printed on every page."""
    widths = [*widths_of(columns)]
    sheet = book.sheet(name, widths)
    sheet.freeze_panes(1, keys)
    sheet.repeat_rows(0)
    if keys:
        sheet.repeat_columns(0, keys - 1)
    deepest = max((lines(heading, width) for (heading, _), width in zip(columns, widths, strict=True)), default=1)
    sheet.set_row(0, deepest * LINE + 3.0)
    return sheet


def write(book: Book, sheet: Worksheet, row: int, column: int, value: Value, form: str = "General") -> int:
    """Write a number as a number and a text as a text; give how many rows it took."""
    if isinstance(value, str):
        return put(sheet, row, column, value, book.style("label"))
    if value is not None:
        sheet.write_number(row, column, value, book.style(form))
    return 1


def _shown(column: DataColumn) -> list[str]:
    return [value if isinstance(value, str) else f"{value:.6g}" for value in column.values if value is not None]


def _keys(kept: Sequence[DataColumn], keys: Sequence[str]) -> int:
    """Give how many columns from the left stay in view: up to the last that names a spot, at most four."""
    return min(4, max((place + 1 for place, column in enumerate(kept) if column.name in keys), default=0))
