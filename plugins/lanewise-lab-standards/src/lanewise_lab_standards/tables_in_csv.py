"""Tables of numbers as CSV files, each with its Table Schema.

The schema declares only what holds in the table as it is written: a key, a reference to another table or a limit that
does not hold is left out, so that each of them can be relied on and a later change that breaks it is found.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from lanewise.document import DataColumn, DataTable
from lanewise.errors import StyleError
from lanewise_lab_standards.archive import visible

DIALECT = {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True, "skipInitialSpace": False}
"""How the files are written (RFC 4180), in the words of the standard; without it readers guess."""

_TABLE_SCHEMA = "https://datapackage.org/profiles/2.0/tableschema.json"
_FORMULA = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
)  # first signs that a spreadsheet takes for a formula (common practice, no source)
_POSITIVE, _SHARE = {"minimum": 0}, {"minimum": 0, "maximum": 1}
_LIMITS: dict[str, dict[str, Any]] = {
    "state": {"enum": ["measured", "at origin", "with front", "streak", "unread", "absent"]},
    "role": {"enum": ["sample", "standard", "blank"]},
    **dict.fromkeys(("rf", "rf_low", "rf_high"), _SHARE),
    **dict.fromkeys(("k", "k_low", "k_high", "width_mm", "height_mm", "division_mm"), _POSITIVE),
}
"""Limits of quantities, by the names that the library gives them; a standard uncertainty is never below 0."""


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A table with its cells as they stand in the file.

    Attributes
    ----------
    table : DataTable
        What is written.
    headings : list of str, length C
        The first row of the file.
    cells : list of C lists of str, length R
        Column by column; an empty text is a missing value.
    """

    table: DataTable
    headings: list[str]
    cells: list[list[str]]

    def rows(self, headings: Iterable[str]) -> list[tuple[str, ...]]:
        """Give the cells of some columns, row by row."""
        return list(zip(*(self.cells[self.headings.index(heading)] for heading in headings), strict=True))

    @property
    def keys(self) -> list[str]:
        """Headings that together name a row; empty where a cell is missing or two rows are alike."""
        names = [column.name for column in self.table.columns]
        keys = [self.headings[names.index(key)] for key in self.table.keys]
        rows = self.rows(keys)
        return keys if len(set(rows)) == len(rows) and all(map(all, rows)) else []

    def encode(self) -> bytes:
        """Give the file: UTF-8, commas, a quoted cell where one is needed, CR LF after each row."""
        stream = io.StringIO(newline="")
        csv.writer(stream, lineterminator="\r\n").writerows([self.headings, *zip(*self.cells, strict=True)])
        return stream.getvalue().encode()


def written(table: DataTable, guard: bool) -> CsvTable:
    """Turn the values of a table into cells.

    Parameters
    ----------
    table : DataTable
        Texts and finite numbers.
    guard : bool
        Whether texts that a spreadsheet could take for a formula get an apostrophe.

    Returns
    -------
    CsvTable
        Numbers with the fewest digits that give the same number again; characters that act made `visible`.

    Raises
    ------
    StyleError
        If a number is not finite.

    Examples
    --------
    >>> rf = DataColumn("rf", "number", "1", "retardation factor", (1 / 3, None))
    >>> written(DataTable("spots", "One spot.", (rf,)), guard=False).cells
    [['0.3333333333333333', '']]
    """
    headings = [_text(" ".join(column.name.split()), guard) for column in table.columns]
    return CsvTable(table, headings, [_cells(table, column, guard) for column in table.columns])


def _cells(table: DataTable, column: DataColumn, guard: bool) -> list[str]:
    if column.kind == "text":
        return ["" if value is None else _text(str(value), guard) for value in column.values]
    numbers = [None if value is None else float(value) for value in column.values]
    for row, number in enumerate(numbers, start=1):
        if number is not None and not isfinite(number):
            raise StyleError(
                f"table {table.name!r}, row {row}, column {column.name!r}: wanted a finite number or none, given "
                f"{number}. Correct the analysis that gave it."
            )
    return ["" if number is None else repr(number) for number in numbers]


def _text(text: str, guard: bool) -> str:
    return f"'{visible(text)}" if guard and text.startswith(_FORMULA) else visible(text)


def schema(csv_table: CsvTable, earlier: Sequence[tuple[str, CsvTable]]) -> dict[str, Any]:
    """Describe a table: its columns with kind, unit and meaning, its key, and what it refers to.

    Parameters
    ----------
    csv_table : CsvTable
        From `written`.
    earlier : sequence of (name, CsvTable)
        Tables that it may refer to, by the names of their resources.

    Returns
    -------
    dict
        A Table Schema (Data Package standard, version 2).

    Examples
    --------
    >>> plate = DataColumn("plate", "text", "", "label of the plate", ("bench 1", "bench 2"))
    >>> schema(written(DataTable("plates", "One plate.", (plate,), ("plate",)), guard=False), [])["primaryKey"]
    ['plate']
    """
    keys = csv_table.keys
    columns = zip(csv_table.headings, csv_table.table.columns, strict=True)
    made: dict[str, Any] = {
        "$schema": _TABLE_SCHEMA,
        "fields": [_field(heading, column, heading in keys) for heading, column in columns],
        "missingValues": [""],
    }
    if keys:
        made["primaryKey"] = keys
    if references := list(_references(csv_table, earlier)):
        made["foreignKeys"] = references
    return made


def _field(heading: str, column: DataColumn, key: bool) -> dict[str, Any]:
    """Describe a column; the standard has no word for a unit, so it is given beside the meaning and as ``unit``."""
    field: dict[str, Any] = {"name": heading, "type": "number" if column.kind == "number" else "string"}
    bracket = f" [{column.unit}]" if column.unit not in ("", "1") else ""
    field["description"] = column.meaning + bracket
    if column.unit:
        field["unit"] = column.unit
    constraints: dict[str, Any] = {"required": True} if key else {}
    uncertainty = column.kind == "number" and column.name.startswith("u_")
    limits = _POSITIVE if uncertainty else _LIMITS.get(column.name, {})
    constraints |= {name: limit for name, limit in limits.items() if _holds(name, limit, column)}
    if constraints:
        field["constraints"] = constraints
    return field


def _holds(name: str, limit: Any, column: DataColumn) -> bool:
    values: list[Any] = [value for value in column.values if value not in (None, "")]
    if name == "enum":
        return all(value in limit for value in values)
    return column.kind == "number" and all(value >= limit if name == "minimum" else value <= limit for value in values)


def _references(csv_table: CsvTable, earlier: Sequence[tuple[str, CsvTable]]) -> Iterator[dict[str, Any]]:
    """Find the earlier tables whose key stands in this one, each row of which names a row there."""
    for name, other in earlier:
        keys = other.keys
        if keys and set(keys) <= set(csv_table.headings) and set(csv_table.rows(keys)) <= set(other.rows(keys)):
            yield {"fields": keys, "reference": {"resource": name, "fields": keys}}
