"""One sheet to a table of readings as written: columns by heading, with merged cells filled and faults named."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Protocol

from lanewise.errors import Problem
from lanewise_spreadsheet.headings import column_of, holds_numbers
from lanewise_spreadsheet.layout import Fact, Layout, find_layout
from lanewise_spreadsheet.rows import take_rows
from lanewise_spreadsheet.sheets import Sheet
from lanewise_spreadsheet.survey import Merged, cell_name, column_letters

FILLED_DOWN = ("plate", "system", "lane")
_DATES = (date, time, timedelta)


class Wanted(Protocol):
    """What the options say of every sheet."""

    @property
    def fill_down(self) -> bool:
        """Whether empty cells below a label take it."""

    @property
    def hidden(self) -> bool:
        """Whether hidden rows are read."""


@dataclass(slots=True)
class Table:
    """The readings of one sheet, N rows.

    Attributes
    ----------
    sheet : str
        Name of the sheet.
    places : list of int, length N
        Rows of the sheet, counted from 1.
    columns : dict of heading to list of length N
        Cells as written: text, numbers or None.
    units : dict of heading to str
        Units stated apart from the headings.
    above : list of str
        Headings of the columns that repeat what stands above the table.
    titles : list of str, length N
        Title that stands across the table above each row; empty where none does.
    note : list of str
        What stands above the headings.
    unread : list of str
        What was seen and left out.
    problems : list of Problem
        Faults that only the spreadsheet can tell.
    """

    sheet: str
    places: list[int] = field(default_factory=list)
    columns: dict[str, list[object]] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    above: list[str] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)
    note: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_table(file: str, sheet: Sheet, window: range, options: Wanted) -> Table | None:
    """Read the table of marks of one sheet; None where it holds none.

    Parameters
    ----------
    file : str
        Name of the file, for faults.
    sheet : Sheet
        The sheet.
    window : range
        Rows that are asked for, counted from 0.
    options : Wanted
        Whether labels are filled down and hidden rows are read.

    Returns
    -------
    Table or None
        Also with faults, so that those of all sheets are told at once.
    """
    layout = find_layout(sheet, window)
    if layout is None:
        return None
    return _Reader(file, sheet, layout, window, options).read()


class _Reader:
    """Reads the table of one sheet, whose layout is known."""

    def __init__(self, file: str, sheet: Sheet, layout: Layout, window: range, options: Wanted) -> None:
        self.file = f"{file}, sheet {sheet.name!r}"
        self.sheet = sheet
        self.layout = layout
        self.options = options
        self.rows = take_rows(sheet, layout, window, hidden=options.hidden)
        self.table = Table(sheet.name, [row + 1 for row in self.rows.kept], note=layout.note)
        self.table.unread = [*layout.unread, *self.rows.unread]
        self._merged: dict[int, list[Merged]] = {}
        for one in sorted(sheet.survey.merged, key=lambda one: one.top):
            self._merged.setdefault(one.left, []).append(one)

    def read(self) -> Table:
        """Read all columns, and the facts above them."""
        table, kept = self.table, self.rows.kept
        if self.rows.second is not None:
            todo = f"Read one table at a time: rows='{self.layout.row + 1}-{self.rows.second}', for instance."
            self._fault(self.rows.second, "", "one row of headings", "a second one with other columns", todo)
        for place, heading in self.layout.headings.items():
            if heading in table.columns:
                self._fault(self.layout.row, heading, "headings that differ", "this one twice", "Rename one of them.")
                continue
            cells = [self.sheet.rows[row][place] for row in kept]
            self._fill_merged(place, cells)
            numeric = holds_numbers(column_of(heading))
            table.columns[heading] = self._checked(cells, place, heading, numeric)
            if place in self.layout.units:
                table.units[heading] = self.layout.units[place]
        if self.options.fill_down:
            self._fill_down()
        else:
            self._refuse_unnamed_plates()
        for fact in self.layout.facts:
            self._take_fact(fact)
        self._take_titles()
        self._name_loose_cells()
        self._name_hidden_columns()
        if self.sheet.survey.formulas:
            count = self.sheet.survey.formulas
            said = "a formula was found" if count == 1 else f"{count} formulas were found"
            table.unread.append(f"{said}; values were read as they were saved")
        if self.sheet.survey.comments:
            table.unread.append("comments on cells were left out")
        return table

    def _fault(self, row: int, column: str, wanted: str, given: str, todo: str) -> None:
        self.table.problems.append(Problem(self.file, row + 1, column, wanted, given, todo))

    def _fill_merged(self, place: int, cells: list[object]) -> None:
        """Put the value of cells that are merged downwards into every row they cover."""
        kept = self.rows.kept
        covered = 0
        for one in self._merged.get(place, ()):
            first = max(one.top + 1, covered)
            covered = max(one.bottom + 1, covered)
            if one.top < self.layout.first or one.top >= len(self.sheet.rows):
                continue
            value = self.sheet.rows[one.top][place]
            for at in range(bisect_left(kept, first), bisect_left(kept, one.bottom + 1)):
                if cells[at] == "":
                    cells[at] = value

    def _checked(self, cells: list[object], place: int, heading: str, numeric: bool) -> list[object]:
        """Give cells that the library understands, and name those that only the spreadsheet does."""
        survey = self.sheet.survey
        plain = set(map(type, cells)) <= {float, str}
        if plain and not survey.errors and not survey.unsaved and not (numeric and survey.units):
            return cells
        return [self._cell(cell, row, place, heading, numeric) for cell, row in zip(cells, self.rows.kept, strict=True)]

    def _cell(self, cell: object, row: int, place: int, heading: str, numeric: bool) -> object:
        """Give one cell; None where it is at fault."""
        survey, name = self.sheet.survey, cell_name(row, place)
        if (row, place) in survey.errors:
            given = f"the error {survey.errors[row, place]} in cell {name}"
            self._fault(row, heading, "a value", given, "Correct the formula, or type the value.")
            return None
        if (row, place) in survey.unsaved:
            todo = "Open the file in a spreadsheet program and save it, so that it holds the value; or type the value."
            self._fault(row, heading, "a value", f"a formula without a saved value in cell {name}", todo)
            return None
        if isinstance(cell, bool):
            return str(cell).upper()
        if isinstance(cell, _DATES):
            if not numeric:
                return _iso(cell)
            todo = (
                "The spreadsheet program made it of what was typed, such as 3.5 or 1/2: set the cell to the format "
                "'number' or 'text' and type the reading again."
            )
            kind = "date" if isinstance(cell, date) else "time"
            self._fault(row, heading, "a number", f"the {kind} {_iso(cell)} in cell {name}", todo)
            return None
        if numeric and isinstance(cell, float) and (row, place) in survey.units:
            return f"{cell!r} {survey.units[row, place]}"
        return cell

    def _fill_down(self) -> None:
        """Put the label above into empty cells; a new plate begins without a lane."""
        named = {column_of(heading): cells for heading, cells in self.table.columns.items()}
        plates = named.get("plate", [])
        before = [bool(str(cell or "").strip()) for cell in plates]
        for column in FILLED_DOWN:
            cells = named.get(column, [])
            held: object = ""
            for row, cell in enumerate(cells):
                if column == "lane" and plates and before[row]:
                    held = ""
                if str("" if cell is None else cell).strip():
                    held = cell
                else:
                    cells[row] = held

    def _refuse_unnamed_plates(self) -> None:
        """Refuse empty cells below the label of a plate, which could mean that plate or another one."""
        for heading, cells in self.table.columns.items():
            empty = [row for row, cell in zip(self.rows.kept, cells, strict=True) if not str(cell or "").strip()]
            if column_of(heading) != "plate" or len(empty) == len(cells):
                continue
            for row in empty:
                todo = "Name it in every row, merge the cells, or read with fill_down=True to take the label above."
                self._fault(row, heading, "the label of the plate", "an empty cell", todo)

    def _take_fact(self, fact: Fact) -> None:
        """Make a column of what stands above the table; its heading may have to give way."""
        numeric = holds_numbers(fact.column)
        heading = fact.heading if fact.heading not in self.table.columns else fact.column
        cell = self._cell(fact.cell, *fact.place, heading, numeric)
        self.table.columns[heading] = [cell] * len(self.table.places)
        self.table.above.append(heading)

    def _take_titles(self) -> None:
        """Give every row the title above it, which names the plate where no column does."""
        titles = self.rows.titles
        if not titles:
            return
        if any(column_of(heading) == "plate" for heading in self.table.columns):
            said = ", ".join(f"row {row}: {text!r}" for row, text in titles.items())
            self.table.unread.append(f"titles across the table were left out: {said}")
            return
        starts = sorted(titles)
        for row in self.rows.kept:
            at = bisect_left(starts, row + 1)
            self.table.titles.append(titles[starts[at - 1]] if at else "")

    def _name_loose_cells(self) -> None:
        """Say which columns without a heading hold something."""
        width = max((len(row) for row in self.sheet.rows), default=0)
        for place in sorted(set(range(width)) - self.layout.headings.keys()):
            held = [row for row in self.rows.kept if str(self.sheet.rows[row][place]).strip()]
            if held:
                first = f"the first in {cell_name(held[0], place)}"
                said = f"column {column_letters(place)} has no heading and was left out: {len(held)} cells, {first}"
                self.table.unread.append(said)

    def _name_hidden_columns(self) -> None:
        hidden = self.sheet.survey.hidden_columns
        said = [text for place, text in self.layout.headings.items() if any(place in one for one in hidden)]
        if said:
            self.table.unread.append(f"hidden columns were read like the others: {', '.join(map(repr, said))}")


def _iso(cell: object) -> str:
    """Give a date, time or duration as text after ISO 8601."""
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat()
    if isinstance(cell, timedelta):
        seconds = int(cell.total_seconds())
        return f"PT{seconds // 3600}H{seconds // 60 % 60}M{seconds % 60}S"
    return cell.isoformat() if isinstance(cell, (date, time)) else str(cell)
