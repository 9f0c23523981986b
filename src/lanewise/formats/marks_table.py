"""A table of marks as text: one row a spot, cells parted by commas, semicolons or tabs.

The first line that is neither blank nor starts with ``#`` holds the headings; `lanewise.tables.headings` says which
are understood. Lines that start with ``#`` before it are the note of the study, later ones are passed over, and so are
blank lines. Cells may be quoted. Where semicolons or tabs part the cells, numbers may have a decimal comma.
"""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Literal

from lanewise.errors import Problem, ReadingsError, UnreadableFile
from lanewise.hooks import Readings, Recognition, Sample, Source, option
from lanewise.tables.columns import CONTEXT, MARKS
from lanewise.tables.headings import known_column

SUFFIXES = (".csv", ".tsv", ".txt")

_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_MOST_HEADINGS = 200
_LOOKED_AT = 8192
_AT_ONCE = 20_000
_NUMBERS = frozenset(column.name for column in (*MARKS, *CONTEXT) if column.kind != "text")
_COMMA = re.compile(r"^\s*[+\-\u2212]?[0-9]*,[0-9]")
_POINT = re.compile(r"^\s*[+\-\u2212]?[0-9]*\.[0-9]")


@dataclass(frozen=True)
class MarksTableOptions:
    """Options of the marks table, for what the table itself does not say."""

    division: float | None = option(None, help="division of the ruler", unit="mm", minimum=0.001)
    plate: str = option("", help="label of the plate, where the table has no column of it")
    system: str = option("", help="solvent system, where the table has no column of it")
    layer: str = option("", help="stationary phase, where the table has no column of it")


def recognise(sample: Sample) -> Recognition:
    """Recognise a marks table by its headings.

    Examples
    --------
    >>> head = b"lane,front_mm,centre_mm"
    >>> recognise(Sample("inks.csv", head, len(head), head.decode())).because
    'the headings of the lane and of the front stand in line 1, parted by commas'
    """
    if sample.text is None:
        return Recognition.no("it is not text")
    lines = _Lines(sample.text[:_LOOKED_AT])
    line = next(lines, "")
    delimiter = _delimiter(line)
    if not delimiter:
        return Recognition.no("it has no line of headings parted by commas, semicolons or tabs")
    known = _known(line, delimiter)
    if {"lane", "front_mm"} <= known:
        where = f"line {lines.number}, parted by {_DELIMITERS[delimiter]}"
        return Recognition.yes(f"the headings of the lane and of the front stand in {where}")
    lacking = [what for column, what in (("lane", "lane"), ("front_mm", "front")) if column not in known]
    because = f"line {lines.number} has no heading of the {' and no heading of the '.join(lacking)}"
    if sample.name.lower().endswith(SUFFIXES):
        return Recognition.maybe(f"it is a table of text by its ending, but {because}")
    return Recognition.no(because)


def read(source: Source, options: MarksTableOptions) -> Readings:
    """Read a marks table.

    Parameters
    ----------
    source : Source
        The file.
    options : MarksTableOptions
        What the table does not say.

    Returns
    -------
    Readings
        Headings and cells as written; places are lines of the file.

    Raises
    ------
    UnreadableFile
        If the file has no headings, or is not text.
    ReadingsError
        If rows differ in length, a heading stands twice, cells have no heading, or a quote is not closed; with every
        such fault.
    """
    text = source.text()
    if "\0" in text:
        raise UnreadableFile(f"{source.name}: wanted text, given NUL characters. Save the table as text (UTF-8).")
    lines = _Lines(text)
    line = next(lines, "")
    delimiter = _delimiter(line)
    if not delimiter:
        given = repr(line.strip()[:60]) if line else "nothing"
        where = f"{source.name}, row {max(lines.number, 1)}"
        raise UnreadableFile(
            f"{where}: wanted a line of headings parted by commas, semicolons or tabs, "
            f"given {given}. Put headings such as lane, front_mm and centre_mm above the readings."
        )
    columns, places, problems = _Table(source.name, lines).read(line, delimiter)
    if problems:
        raise ReadingsError(problems)
    stated = {"plate": options.plate, "system": options.system, "layer": options.layer}
    return Readings(
        columns=columns,
        places=places,
        defaults={name: text for name, text in stated.items() if text.strip()},
        note="\n".join(lines.comments),
        division=options.division,
        decimal="." if delimiter == "," else _decimal(columns),
    )


class _Lines:
    """The lines of a text that belong to the table; comments and blank lines between rows are taken out.

    Attributes
    ----------
    number, start : int
        Line that was given last, and line in which its row starts, counted from 1.
    between : bool
        Whether the next line starts a row; a line within a quoted cell is never a comment.
    comments : list of str
        Comments before the headings, without their signs.
    """

    def __init__(self, text: str) -> None:
        self.number = 0
        self.start = 0
        self.between = True
        self.comments: list[str] = []
        self._source = io.StringIO(text.removeprefix("\ufeff"), newline="")

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        for line in self._source:
            self.number += 1
            if not self.between:
                return line
            begin = line.lstrip()
            if begin and begin[0] != "#":
                self.between = False
                self.start = self.number
                return line
            if begin and not self.start:
                self.comments.append(begin[1:].strip())
        raise StopIteration


class _Table:
    """The rows of a table on their way into columns, with the faults in their shape."""

    def __init__(self, file: str, lines: _Lines) -> None:
        self.file = file
        self.lines = lines
        self.headings: list[str] = []
        self.cells: list[list[str]] = []
        self.places: list[int] = []
        self.problems: list[Problem] = []

    def read(self, line: str, delimiter: str) -> tuple[dict[str, Sequence[str]], list[int], list[Problem]]:
        """Read the headings, whose first line was looked at already, and all rows."""
        reader = csv.reader(chain([line], self.lines), delimiter=delimiter, strict=True)
        waiting: list[list[str]] = []
        try:
            for row in reader:
                self.lines.between = True
                if not self.headings:
                    self._take_headings(row)
                elif len(row) == len(self.headings) or self._fitted(row):
                    if not row[0].strip() and not any(cell.strip() for cell in row):
                        continue
                    waiting.append(row)
                    self.places.append(self.lines.start)
                    if len(waiting) == _AT_ONCE:
                        self._take_rows(waiting)
                        waiting = []
        except csv.Error as error:
            todo = "Close the quote, or leave quotes out: they belong round whole cells."
            self._fault(self.lines.start, "", "quotes round whole cells", str(error), todo)
        self._take_rows(waiting)
        return self._columns(), self.places, self.problems

    def _fault(self, place: int, column: str, wanted: str, given: str, todo: str) -> None:
        self.problems.append(Problem(self.file, place, column, wanted, given, todo))

    def _take_headings(self, row: list[str]) -> None:
        self.headings = [heading.strip() for heading in row]
        self.cells = [[] for _ in row]
        for number, heading in enumerate(self.headings):
            if heading and heading in self.headings[:number]:
                self._fault(self.lines.start, heading, "headings that differ", "this one twice", "Rename one of them.")

    def _fitted(self, row: list[str]) -> bool:
        """Cut empty cells behind the last column off; a row of another length is a fault."""
        wanted = len(self.headings)
        while len(row) > wanted and not row[-1].strip():
            row.pop()
        if len(row) == wanted:
            return True
        if any(cell.strip() for cell in row):
            todo = "Add the missing cells, empty ones too."
            if len(row) > wanted:
                todo = "Numbers with a decimal comma want semicolons between the cells; quote words that hold a comma."
            self._fault(self.lines.start, "", f"{wanted} cells, as there are headings", str(len(row)), todo)
        return False

    def _take_rows(self, rows: list[list[str]]) -> None:
        for held, cells in zip(self.cells, zip(*rows, strict=True), strict=False):
            held.extend(map(sys.intern, cells))

    def _columns(self) -> dict[str, Sequence[str]]:
        """Give the columns by heading; one without a heading must be empty."""
        for number, (heading, cells) in enumerate(zip(self.headings, self.cells, strict=True), start=1):
            row = next((row for row, cell in enumerate(cells) if cell.strip()), None) if not heading else None
            if row is not None:
                wanted = f"a heading over column {number}"
                self._fault(self.places[row], "", wanted, f"none, but {cells[row]!r} below", "Add the heading.")
        return {heading: cells for heading, cells in zip(self.headings, self.cells, strict=True) if heading}


def _cells(line: str, delimiter: str) -> list[str]:
    return next(csv.reader([line], delimiter=delimiter), [])


def _known(line: str, delimiter: str) -> set[str]:
    """Give the columns of the library that are among the headings."""
    return {known_column(heading)[0] for heading in _cells(line, delimiter)[:_MOST_HEADINGS]} - {""}


def _delimiter(line: str) -> str:
    """Find what parts the cells: the sign with which most headings are understood; empty where there is none."""
    found = {sign: _cells(line, sign) for sign in _DELIMITERS if sign in line}
    parted = {sign: len(cells) for sign, cells in found.items() if len(cells) > 1}
    return max(parted, key=lambda sign: (len(_known(line, sign)), parted[sign]), default="")


def _decimal(columns: Mapping[str, Sequence[str]]) -> Literal[".", ","]:
    """Find the decimal sign of the numbers, by the greater number of different cells."""
    commas = points = 0
    for heading, cells in columns.items():
        if known_column(heading)[0] in _NUMBERS:
            distinct = set(cells)
            commas += sum(1 for cell in distinct if _COMMA.match(cell))
            points += sum(1 for cell in distinct if _POINT.match(cell))
    return "," if commas and commas >= points else "."
