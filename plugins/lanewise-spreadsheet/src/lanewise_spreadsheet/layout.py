"""How a sheet is laid out: where its headings stand, what stands above them, and in which units the columns are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from lanewise_spreadsheet.headings import (
    POSITIONS,
    column_of,
    holds_numbers,
    kind_of,
    tidy,
    unit_cell,
    unit_of,
    unit_stated,
)
from lanewise_spreadsheet.sheets import Sheet
from lanewise_spreadsheet.survey import Place, cell_name

MOST_SEARCHED = 200
"""Rows from the top of the sheet, or of the rows asked for, among which the headings are looked for."""

MOST_HEADINGS = 200
"""Columns that are looked at."""

FACTS = frozenset(
    (
        *("plate", "system", "layer", "zero", "point", "height_mm", "division_mm", "runs", "minutes"),
        *("origin_mm", "front_mm", "u_origin_mm", "u_front_mm", "u_reading_mm", "noticeable_mm"),
    )
)
"""Columns that may stand above the table instead, once for all its rows."""

_UNITS = ("unit", "units")
_DASHES = ("", "-", "–", "—", "1")


@dataclass(frozen=True, slots=True)
class Fact:
    """A value that stands above the table: its heading, its cell and where that is."""

    heading: str
    column: str
    cell: object
    place: Place


@dataclass(slots=True)
class Layout:
    """How the table of a sheet lies; rows and columns are counted from 0.

    Attributes
    ----------
    row : int
        Row of the headings.
    first : int
        First row below them, and below the row of units.
    headings : dict of int to str
        Heading of each column that has one, as one line.
    units : dict of int to str
        Unit of a column, where it is stated apart from its heading.
    facts : list of Fact
        What stands above the table and holds for all its rows.
    note : list of str
        What else stands there, row by row.
    unread : list of str
        What was seen and left out.
    """

    row: int
    first: int
    headings: dict[int, str]
    units: dict[int, str] = field(default_factory=dict)
    facts: list[Fact] = field(default_factory=list)
    note: list[str] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)

    def known(self) -> dict[int, str]:
        """Give the column of the library behind each heading; factors are left out."""
        found = {place: column_of(heading) for place, heading in self.headings.items()}
        return {place: column for place, column in found.items() if column}


def find_layout(sheet: Sheet, window: range) -> Layout | None:
    """Find the table of marks of a sheet.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    window : range
        Rows that are asked for, counted from 0; headings may stand above them.

    Returns
    -------
    Layout or None
        None where no row has the heading of the lane and of a position.
    """
    rows = _Head(sheet)
    row = _heading_row(rows, window)
    if row is None:
        return None
    headings = {place: tidy(str(cell)) for place, cell in rows.filled(row).items() if str(cell).strip()}
    layout = Layout(row, row + 1, headings)
    _take_units_row(rows, layout)
    _take_group_units(rows, layout)
    _take_above(rows, layout)
    return layout


def heads(cells: Iterable[object]) -> set[str]:
    """Give the columns that a row of cells would be headings of; none where it lacks the lane or every position."""
    found = {column_of(cell) for cell in cells} - {""}
    return found if "lane" in found and found.intersection(POSITIONS) else set()


class _Head:
    """The upper rows of a sheet, with the cells that are merged downwards filled in."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.covered: dict[Place, object] = {}
        self.across = {(one.top, one.left): one.right for one in sheet.survey.merged}
        for one in sheet.survey.merged:
            if (one.top + 1, one.left) in self.covered or one.left >= MOST_HEADINGS or one.top >= len(sheet.rows):
                continue
            for row in range(one.top + 1, min(one.bottom + 1, one.top + MOST_SEARCHED, len(sheet.rows))):
                self.covered[row, one.left] = self.cell(one.top, one.left)

    def cell(self, row: int, column: int) -> object:
        """Give the value of a cell; empty where there is none."""
        held = self.sheet.rows[row] if row < len(self.sheet.rows) else []
        return held[column] if column < len(held) else ""

    def filled(self, row: int) -> dict[int, object]:
        """Give the cells of a row that hold something, those under a merged one included."""
        cells = {place: self.covered.get((row, place), cell) for place, cell in self.own(row, all_cells=True).items()}
        return {place: cell for place, cell in cells.items() if str(cell).strip()}

    def own(self, row: int, *, all_cells: bool = False) -> dict[int, object]:
        """Give the cells of a row that hold something themselves."""
        cells = enumerate(self.sheet.rows[row][:MOST_HEADINGS] if row < len(self.sheet.rows) else [])
        return {place: cell for place, cell in cells if all_cells or str(cell).strip()}


def _heading_row(rows: _Head, window: range) -> int | None:
    """Find the first row of headings within the rows asked for, else the nearest above them."""
    stop = min(window.stop, len(rows.sheet.rows))
    within = range(window.start, min(window.start + MOST_SEARCHED, stop))
    above = range(min(window.start, stop) - 1, max(window.start - MOST_SEARCHED, 0) - 1, -1)
    row = next((row for row in (*within, *above) if heads(rows.filled(row).values())), None)
    while row is not None and _goes_on(rows, row):
        row += 1
    return row


def _goes_on(rows: _Head, row: int) -> bool:
    """Tell whether the headings go on in the next row: some are merged into it, and it adds others."""
    merged = any((row + 1, place) in rows.covered for place in rows.own(row))
    return merged and len(heads(rows.filled(row + 1).values())) > len(heads(rows.filled(row).values()))


def _take_units_row(rows: _Head, layout: Layout) -> None:
    """Take the row below the headings as units, where nothing else stands under the columns of numbers."""
    below = layout.row + 1
    cells = {place: cell for place, cell in rows.own(below).items() if (below, place) not in rows.covered}
    numbers = {place: kind_of(column) for place, column in layout.known().items() if holds_numbers(column)}
    units = {place: unit_cell(cell, numbers[place]) for place, cell in cells.items() if place in numbers}
    dashes = {place for place, cell in cells.items() if str(cell).strip() in _DASHES}
    if not any(units.values()) or not all(unit or place in dashes for place, unit in units.items()):
        return
    layout.first = below + 1
    layout.units = {place: unit for place, unit in units.items() if unit}
    rest = [cell_name(below, place) for place in cells if place not in units and place not in dashes]
    if rest:
        layout.unread.append(f"row {below + 1} was taken as units; left out there: {', '.join(rest)}")


def _take_group_units(rows: _Head, layout: Layout) -> None:
    """Take the unit of a title that stands right above several headings."""
    above = layout.row - 1
    titles = rows.own(above) if above >= 0 else {}
    after = MOST_HEADINGS
    for place in sorted(titles, reverse=True):
        text = titles[place]
        unit = unit_stated(text) if isinstance(text, str) else ""
        if unit:
            _set_units(layout, unit, range(place, rows.across.get((above, place), after - 1) + 1))
        after = place


def _set_units(layout: Layout, unit: str, columns: Iterable[int]) -> None:
    """Set the unit of the lengths among some columns that state none."""
    known = layout.known()
    for place in columns:
        if kind_of(known.get(place, "")) == "mm" and not unit_of(layout.headings[place]):
            layout.units.setdefault(place, unit)


def _take_above(rows: _Head, layout: Layout) -> None:
    """Sort what stands above the headings into facts and notes."""
    taken = set(layout.known().values())
    reaching = {row - 1 for row, _ in rows.covered if row == layout.row}
    for row in range(layout.row):
        words: list[str] = []
        for kind, fact in _sorted_cells(rows, row, taken):
            if kind == "unit":
                _set_units(layout, str(fact.cell).strip(), layout.headings)
            elif kind == "fact":
                layout.facts.append(fact)
                taken.add(fact.column)
            else:
                words.append(tidy(str(fact.cell)))
        if words and row in reaching:
            layout.unread.append(f"row {row + 1} belongs to the headings; left out there: {', '.join(words)}")
        elif words:
            layout.note.append(" ".join(words))


def _sorted_cells(rows: _Head, row: int, taken: set[str]) -> Iterator[tuple[str, Fact]]:
    """Give the cells of a row above the headings, a name and the value behind it together."""
    cells = iter(rows.own(row).items())
    waiting = next(cells, None)
    while waiting is not None:
        place, cell = waiting
        waiting = next(cells, None)
        key, parted, rest = str(cell).partition(":")
        within = bool(parted and rest.strip())
        column = column_of(key.strip())
        value, at = (rest.strip(), place) if within else (waiting[1], waiting[0]) if waiting else ("", place)
        kind = ""
        if key.strip().lower() in _UNITS and unit_cell(value, "mm"):
            kind, value = "unit", unit_cell(value, "mm")
        elif column in FACTS and column not in taken and str(value).strip() and isinstance(cell, str):
            kind = "fact"
        if kind and not within:
            waiting = next(cells, None)
        if kind:
            yield kind, Fact(tidy(key), column, value, (row, at))
        else:
            yield "note", Fact("", "", cell, (row, place))
