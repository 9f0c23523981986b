"""A spreadsheet to readings: the sheets that hold a table of marks, one below the other."""

from __future__ import annotations

import re
from collections.abc import Sequence

from lanewise.errors import OptionError, ReadingsError, UnreadableFile
from lanewise.hooks import Readings, Source
from lanewise_spreadsheet.headings import column_of
from lanewise_spreadsheet.joining import decimal_of, join, settle_above
from lanewise_spreadsheet.layout import MOST_HEADINGS, MOST_SEARCHED
from lanewise_spreadsheet.plugin import SpreadsheetOptions
from lanewise_spreadsheet.sheets import Sheet, SheetFile
from lanewise_spreadsheet.survey import MOST_ROWS
from lanewise_spreadsheet.table import Table, read_table

_ROWS = re.compile(r"(\d{1,7})?\s*(-|–)?\s*(\d{1,7})?")


def read(source: Source, options: SpreadsheetOptions) -> Readings:
    """Read the tables of marks of an xlsx or ods file.

    Parameters
    ----------
    source : Source
        The file.
    options : SpreadsheetOptions
        Which sheets and rows, and what the sheets do not say.

    Returns
    -------
    Readings
        Headings and cells as written; places are rows of the sheets, parts the sheets.

    Raises
    ------
    UnreadableFile
        If the file is damaged, locked, could do harm, or no sheet holds a table of marks.
    OptionError
        If there is no such sheet, or the rows are not written like ``5-40``.
    ReadingsError
        If cells hold errors, formulas without a saved value, or dates where a number belongs; with every such fault.
    """
    window = rows_asked(options.rows)
    file = SheetFile(source)
    tables, unread = _tables(file, window, options)
    if not tables:
        raise _no_table(source.name, unread)
    problems = [problem for table in tables for problem in table.problems]
    if problems:
        raise ReadingsError(problems)
    _name_plates(tables, options.plate.strip())
    decimal = decimal_of(tables)
    for table in tables:
        settle_above(table, decimal)
        unread += [f"sheet {table.sheet!r}: {text}" for text in table.unread]
    columns, units = join(tables, decimal)
    stated = {"plate": options.plate, "system": options.system, "layer": options.layer}
    return Readings(
        columns=columns,
        places=[place for table in tables for place in table.places],
        units=units,
        defaults={name: text for name, text in stated.items() if text.strip()},
        note="\n".join(_note(tables)),
        division=options.division,
        unread=[*unread, *file.left_out()],
        parts=[part for table in tables for part in [f"sheet {table.sheet!r}"] * len(table.places)],
        decimal=decimal,
    )


def _tables(file: SheetFile, window: range, options: SpreadsheetOptions) -> tuple[list[Table], list[str]]:
    """Read the tables of the sheets that are asked for, and say which sheets were not read."""
    chosen = file.chosen(options.sheet.strip(), options.hidden)
    why = "was not read, as asked" if options.sheet.strip() else "is hidden and was not read"
    unread = [f"sheet {name!r} {why}" for name in file.names if name not in chosen]
    tables: list[Table] = []
    for name in chosen:
        sheet = file.sheet(name)
        table = read_table(file.file, sheet, window, options)
        if table is None:
            nearest = _nearest(sheet)
            unread.append(f"sheet {name!r} holds no table of marks{f'; {nearest}' if nearest else ''}")
            continue
        tables.append(table)
        if options.rows:
            table.unread.append(f"rows other than {options.rows} were left out, as asked")
    return tables, unread


def rows_asked(text: str) -> range:
    """Give the rows that an option asks for, counted from 0.

    Examples
    --------
    >>> rows_asked("5-40"), rows_asked("7"), rows_asked("-3")
    (range(4, 40), range(6, 7), range(0, 3))
    """
    plain = text.strip()
    found = _ROWS.fullmatch(plain)
    if not plain:
        return range(MOST_ROWS)
    if found is not None and (found[1] or found[3]):
        first = int(found[1] or 1)
        last = int(found[3] or (MOST_ROWS if found[2] else first))
        if 1 <= first <= last:
            return range(first - 1, last)
    raise OptionError(f"option rows: wanted rows such as 5-40, 5- or -40, counted from 1, given {text!r}")


def _name_plates(tables: Sequence[Table], plate: str) -> None:
    """Name the plates of sheets that do not: by a title across the table, by the option, or by the sheet."""
    for table in tables:
        if any(column_of(heading) == "plate" for heading in table.columns):
            continue
        titles = table.titles or [""] * len(table.places)
        table.columns = {"plate": [title or plate or table.sheet for title in titles], **table.columns}


def _note(tables: Sequence[Table]) -> list[str]:
    """Give what stands above the headings, with the sheet where there are several."""
    if len(tables) == 1:
        return tables[0].note
    return [f"{table.sheet}: {line}" for table in tables for line in table.note]


def _nearest(sheet: Sheet) -> str:
    """Say which row of a sheet comes nearest to headings of marks; empty where none does."""
    best: list[str] = []
    where = 0
    for row, cells in enumerate(sheet.rows[:MOST_SEARCHED]):
        known = [str(cell) for cell in cells[:MOST_HEADINGS] if column_of(cell)]
        if len(known) > len(best):
            best, where = known, row
    return f"row {where + 1} has the headings {', '.join(map(repr, best))} alone" if best else ""


def _no_table(file: str, unread: Sequence[str]) -> UnreadableFile:
    wanted = "a sheet with a row of headings for the lane and a position, such as lane, front_mm and centre_mm"
    given = "; ".join(unread) or "no sheet"
    todo = "Put the headings above the readings, or name the sheet and its rows with the options sheet and rows."
    return UnreadableFile(f"{file}: wanted {wanted}, given this: {given}. {todo}")
