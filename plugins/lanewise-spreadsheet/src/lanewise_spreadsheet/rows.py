"""Which rows below the headings are readings, and what the others are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lanewise_spreadsheet.headings import holds_numbers, tidy
from lanewise_spreadsheet.layout import Layout, heads
from lanewise_spreadsheet.sheets import Sheet
from lanewise_spreadsheet.survey import cell_name


@dataclass(slots=True)
class Rows:
    """The rows of a table, counted from 0.

    Attributes
    ----------
    kept : list of int
        Those with readings.
    titles : dict of int to str
        Title that stands above some rows, across the table, by the first row below it.
    unread : list of str
        What was seen and left out.
    second : int or None
        Row of a second row of headings, with other columns; nothing below it was looked at.
    """

    kept: list[int] = field(default_factory=list)
    titles: dict[int, str] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    second: int | None = None


def take_rows(sheet: Sheet, layout: Layout, window: range, *, hidden: bool) -> Rows:
    """Sort the rows below the headings.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    layout : Layout
        Where its table lies.
    window : range
        Rows that are asked for.
    hidden : bool
        Whether hidden rows are read.

    Returns
    -------
    Rows
        Empty rows, repeated headings, titles across the table and notes under it are no readings; a note is a row
        below an empty one, with one cell and no reading after it.
    """
    found = Rows()
    numbers = [place for place, column in layout.known().items() if holds_numbers(column)]
    across = {(one.top, one.left) for one in sheet.survey.merged if one.right > one.left}
    out_of_sight = set() if hidden else _numbers(sheet.survey.hidden_rows, len(sheet.rows))
    unseen: list[int] = []
    notes: list[int] = []
    repeated: list[int] = []
    gap = False
    for row in range(max(layout.first, window.start), min(window.stop, len(sheet.rows))):
        cells = sheet.rows[row]
        if row in out_of_sight:
            if _filled(cells):
                unseen.append(row)
            continue
        if not any(_is_number(cells[place]) for place in numbers):
            filled = _filled(cells)
            if not filled:
                gap = True
                continue
            if all(tidy(str(cells[place])) == heading for place, heading in layout.headings.items()):
                repeated.append(row)
                continue
            if heads(cells[place] for place in layout.headings):
                found.second = row
                break
            if len(filled) == 1 and (row, filled[0]) in across:
                found.titles[row + 1] = tidy(str(cells[filled[0]]))
                continue
            if len(filled) == 1 and (gap or notes):
                notes.append(row)
                continue
        found.kept += [*notes, row]
        notes, gap = [], False
    _say(found, sheet, unseen, repeated, notes)
    return found


def _say(found: Rows, sheet: Sheet, unseen: list[int], repeated: list[int], notes: list[int]) -> None:
    """Put into words what was left out."""
    if unseen:
        found.unread.append(f"hidden rows were left out: {_said(unseen)}")
    if repeated:
        found.unread.append(f"rows that repeat the headings were left out: {_said(repeated)}")
    for row in notes:
        place = _filled(sheet.rows[row])[0]
        text = tidy(str(sheet.rows[row][place]))
        found.unread.append(f"cell {cell_name(row, place)}, below the table, was left out: {text!r}")


def _is_number(cell: object) -> bool:
    return type(cell) is float or (type(cell) is str and cell[:1].isdigit())


def _filled(cells: Sequence[object]) -> list[int]:
    return [place for place, cell in enumerate(cells) if cell != "" and str(cell).strip()]


def _numbers(ranges: Iterable[range], most: int) -> set[int]:
    """Give the numbers in some ranges, below a limit."""
    return {number for one in ranges for number in range(max(one.start, 0), min(one.stop, most))}


def _said(rows: list[int]) -> str:
    """Name some rows, neighbours together, counted from 1.

    Examples
    --------
    >>> _said([6, 7, 8, 11])
    '7 to 9, 12'
    """
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    return ", ".join(f"{first + 1}" if first == last else f"{first + 1} to {last + 1}" for first, last in runs)
