"""The tables of several sheets put together: one column for each thing, whatever the sheets call it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal

from lanewise_spreadsheet.headings import column_of, holds_numbers, kind_of, unit_named, unit_of
from lanewise_spreadsheet.table import Table

_COMMA = re.compile(r"^\s*[+\-\u2212]?[0-9]*,[0-9]")
_POINT = re.compile(r"^\s*[+\-\u2212]?[0-9]*\.[0-9]")
_FINDS = re.compile(r"^darkest(?:\s+point)?", re.IGNORECASE)


def decimal_of(tables: Iterable[Table]) -> Literal[".", ","]:
    """Find the decimal sign of numbers that stand as text, by the greater number of different cells.

    Examples
    --------
    >>> decimal_of([Table("bench 1", columns={"lane": ["1,5"], "front": ["85,5"], "centre": [32.5]})])
    ','
    """
    commas: set[str] = set()
    points: set[str] = set()
    for table in tables:
        for heading, cells in table.columns.items():
            if holds_numbers(column_of(heading)):
                texts = {cell for cell in cells if isinstance(cell, str)}
                commas.update(filter(_COMMA.match, texts))
                points.update(filter(_POINT.match, texts))
    return "," if commas and len(commas) >= len(points) else "."


def settle_above(table: Table, decimal: str) -> None:
    """Write the numbers that stand above a table with the decimal sign of the others."""
    other = {",": ".", ".": ","}[decimal]
    for heading in table.above:
        cells = table.columns[heading]
        if cells and isinstance(cells[0], str) and holds_numbers(column_of(heading)) and cells[0].count(other) == 1:
            table.columns[heading] = [cells[0].replace(other, decimal)] * len(cells)


def join(tables: Sequence[Table], decimal: str) -> tuple[dict[str, list[object]], dict[str, str]]:
    """Put tables one below the other.

    Parameters
    ----------
    tables : sequence of Table
        With N rows in all.
    decimal : {".", ","}
        Decimal sign of numbers that stand as text.

    Returns
    -------
    columns : dict of heading to list of length N
        Headings are those of the first sheet that has the column; None where a sheet lacks it.
    units : dict of heading to str
        Units stated apart from headings.

    Notes
    -----
    Where two sheets have a column in different units, every number of it carries its unit as text, under a heading
    without one; the library converts them.

    Examples
    --------
    >>> sheets = [Table("a", [2], {"front (cm)": [8.5]}), Table("b", [2], {"front_mm": [85.0]})]
    >>> join(sheets, ".")
    ({'front': ['8.5 cm', '85.0 mm']}, {})
    """
    if len(tables) == 1:
        return dict(tables[0].columns), dict(tables[0].units)
    for table in tables:
        _settle_points(table)
    columns: dict[str, list[object]] = {}
    units: dict[str, str] = {}
    for key, found in _matched(tables).items():
        headings = [heading for heading in found if heading is not None]
        stated = {_unit(table, heading) for table, heading in zip(tables, found, strict=True) if heading is not None}
        heading = headings[0]
        if len(stated) > 1:
            heading = key.removesuffix(f"_{kind_of(key)}")
        elif (unit := next(iter(stated))) and not unit_of(heading):
            units[heading] = unit
        columns[heading] = []
        for table, own in zip(tables, found, strict=True):
            cells = [None] * len(table.places) if own is None else table.columns[own]
            if own is not None and len(stated) > 1:
                cells = _with_unit(cells, _unit(table, own) or kind_of(key), decimal)
            columns[heading] += cells
    return columns, units


def _matched(tables: Sequence[Table]) -> dict[str, list[str | None]]:
    """Give for each column its heading in every table; a factor is known by its own heading.

    A second heading for one column of a sheet stays apart, so that the library complains of it.
    """
    found: dict[str, list[str | None]] = {}
    for number, table in enumerate(tables):
        for heading in table.columns:
            key = column_of(heading) or f"factor {heading.lower()}"
            while key in found and found[key][number] is not None:
                key += " again"
            found.setdefault(key, [None] * len(tables))[number] = heading
    return found


def _unit(table: Table, heading: str) -> str:
    """Give the unit that a sheet states for a column; empty where it states none, or for texts."""
    kind = kind_of(column_of(heading))
    return (unit_of(heading) or unit_named(table.units.get(heading, ""), kind)) if kind else ""


def _with_unit(cells: Iterable[object], unit: str, decimal: str) -> list[object]:
    """Write the unit behind every number that has none."""
    made: list[object] = []
    for cell in cells:
        if isinstance(cell, float):
            cell = f"{cell!r} {unit}".replace(".", decimal)
        elif isinstance(cell, str) and cell.strip()[-1:].isdigit():
            cell = f"{cell.strip()} {unit}"
        made.append(cell)
    return made


def _settle_points(table: Table) -> None:
    """Say in a column of its own that the darkest point was read, since the heading that says so may give way."""
    heading = next((text for text in table.columns if _FINDS.match(text) and column_of(text)), None)
    if heading is None:
        return
    if not any(column_of(text) == "point" for text in table.columns):
        table.columns["point"] = ["darkest"] * len(table.places)
    plain = _FINDS.sub("centre", heading)
    table.columns = {plain if text == heading else text: cells for text, cells in table.columns.items()}
    if heading in table.units:
        table.units[plain] = table.units.pop(heading)
