"""The sheets of results and of the uncertainty budget: live formulas beside the library's own values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt

from lanewise.document import DataTable
from lanewise_spreadsheet.book import DIFFERENCE, Book, Worksheet, put
from lanewise_spreadsheet.marks_sheet import Value, Written, check_rows, data_sheet, write
from lanewise_spreadsheet.survey import column_letters

RESULTS, BUDGET = "Results", "Uncertainty budget"
STATES = {
    "at origin": "at the origin, below High",
    "with front": "with the front, above Low",
    "streak": "a streak without a middle",
    "unread": "seen, but not measured",
    "absent": "looked for and not found",
}
"""What stands in place of a formula where a spot has no Rf, by its state."""

NO_FRONT = "no front was seen"
_PART = "u_rf_"


@dataclass(frozen=True, slots=True)
class Live:
    """A formula and the value that it comes to."""

    formula: str
    value: float


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a sheet: its heading, how numbers look, and what stands in it for each row.

    `cell` gets the number of the row in the table, counted from 0, and that on the sheet, counted from 1.
    """

    heading: str
    look: str
    cell: Callable[[int, int], Value | Live]


def write_results(book: Book, spots: DataTable, marks: Written, order: Sequence[int], *, formulas: bool) -> None:
    """Write one row a spot: where it lies, Rf by a live formula beside the library's value, and k.

    Parameters
    ----------
    book : Book
        The workbook, whose sheet of marks is written.
    spots : DataTable
        The library's results.
    marks : Written
        Where the marks stand.
    order : sequence of int
        Row of the marks of each row of the results, counted from 0.
    formulas : bool
        Whether live formulas are wanted.
    """
    _write(book, RESULTS, spots, [*_results(spots, marks, order, formulas=formulas)], keys=4)


def _results(spots: DataTable, marks: Written, order: Sequence[int], *, formulas: bool) -> list[Column]:
    """Give the columns of the results; the letters in the formulas are those of their places here."""

    def given(name: str) -> Callable[[int, int], Value]:
        values = spots.column(name).values
        return lambda spot, _: values[spot]

    def mark(name: str) -> Callable[[int, int], Value | Live]:
        return lambda spot, _: _reference(marks, name, order[spot], formulas)

    def point(spot: int, _: int) -> Value | Live:
        return _point(marks, order[spot], formulas)

    def rf(spot: int, row: int) -> Value | Live:
        value = _rf(marks, order[spot])
        if spots.column("rf").values[spot] is not None:
            return None if value is None else Live(f"(H{row}-F{row})/(G{row}-F{row})", value)
        state = str(spots.column("state").values[spot] or "")
        return STATES.get(state) or (NO_FRONT if marks.number("front_mm", order[spot]) is None else "no value")

    def less(spot: int, row: int) -> Value | Live:
        own, value = spots.column("rf").values[spot], _rf(marks, order[spot])
        return None if own is None or value is None else Live(f"ROUND(I{row}-J{row},12)", round(value - float(own), 12))

    def k(spot: int, row: int) -> Value | Live:
        value = _rf(marks, order[spot])
        return Live(f"1/I{row}-1", 1.0 / value - 1.0) if value and spots.column("k").values[spot] is not None else None

    labels = [
        Column(name.capitalize(), "General", given(name)) for name in ("plate", "lane", "sample", "spot", "state")
    ]
    read = [
        Column("O: origin (mm)", "General", mark("origin_mm")),
        Column("F: front (mm)", "General", mark("front_mm")),
        Column("P: point read (mm)", "General", point),
    ]
    by_formula = [Column("Rf by formula (P − O) / (F − O)", "0.0000", rf)] if formulas else []
    compared = [Column("Formula less library", DIFFERENCE, less)] if formulas else []
    again = [Column("k by formula 1 / Rf − 1", "0.000", k)] if formulas else []
    return [
        *labels,
        *read,
        *by_formula,
        Column("Rf of the library", "0.0000", given("rf")),
        *compared,
        Column("u(Rf)", "0.0000", given("u_rf")),
        Column("Low", "0.0000", given("rf_low")),
        Column("High", "0.0000", given("rf_high")),
        *again,
        Column("k of the library", "0.000", given("k")),
        Column("u(k)", "0.000", given("u_k")),
        Column("Flags", "General", given("flags")),
    ]


def _reference(marks: Written, name: str, spot: int, live: bool) -> Value | Live:
    """Give a position of a spot: as a reference to its mark, or as a number."""
    number = marks.number(name, spot)
    return Live(marks.cell(name, spot), number) if live and number is not None else number


def _point(marks: Written, spot: int, live: bool) -> Value | Live:
    """Give the point that was read; the middle of the edges where only they were."""
    if marks.number("centre_mm", spot) is not None:
        return _reference(marks, "centre_mm", spot, live)
    value = _middle(marks, spot)
    if value is None or not live:
        return value
    return Live(f"({marks.cell('trailing_mm', spot)}+{marks.cell('leading_mm', spot)})/2", value)


def _middle(marks: Written, spot: int) -> float | None:
    trailing, leading = marks.number("trailing_mm", spot), marks.number("leading_mm", spot)
    return None if trailing is None or leading is None else (trailing + leading) / 2


def _rf(marks: Written, spot: int) -> float | None:
    """Work the formula of Rf out, as a spreadsheet program will; None where it could not."""
    centre = marks.number("centre_mm", spot)
    point = _middle(marks, spot) if centre is None else centre
    origin = marks.number("origin_mm", spot) or 0.0
    front = marks.number("front_mm", spot)
    return None if point is None or front is None or front == origin else (point - origin) / (front - origin)


def write_budget(book: Book, budget: DataTable, *, formulas: bool) -> None:
    """Write what the uncertainty of each Rf is made of: the parts, the root of the sum of their squares, the shares.

    Parameters
    ----------
    book : Book
        The workbook.
    budget : DataTable
        With columns plate, lane, spot, rf, u_rf and one for each part, named ``u_rf_`` and the source.
    formulas : bool
        Whether live formulas are wanted.
    """
    parts = [column.name for column in budget.columns if column.name.startswith(_PART)]
    _write(book, BUDGET, budget, _budget(budget, parts, formulas=formulas), keys=3)


def _budget(budget: DataTable, parts: Sequence[str], *, formulas: bool) -> list[Column]:
    first, last = column_letters(4), column_letters(3 + len(parts))

    def given(name: str) -> Callable[[int, int], Value]:
        values = budget.column(name).values
        return lambda spot, _: values[spot]

    def root(spot: int) -> float:
        return sqrt(sum(_number(budget, part, spot) ** 2 for part in parts))

    def total(spot: int, row: int) -> Value | Live:
        return Live(f"SQRT(SUMSQ({first}{row}:{last}{row}))", root(spot))

    def less(spot: int, row: int) -> Value | Live:
        own = _number(budget, "u_rf", spot)
        places = [column_letters(4 + len(parts) + step) for step in (0, 1)]
        return Live(f"ROUND({places[0]}{row}-{places[1]}{row},12)", round(root(spot) - own, 12))

    def share(place: int) -> Callable[[int, int], Value | Live]:
        def of(spot: int, row: int) -> Value | Live:
            whole = root(spot) ** 2
            if not whole:
                return None
            cells = f"{column_letters(4 + place)}{row}^2/SUMSQ({first}{row}:{last}{row})"
            return Live(cells, _number(budget, parts[place], spot) ** 2 / whole)

        return of

    live = [Column("Root of the sum of the squares", "0.0000", total)] if formulas and parts else []
    check = [Column("Formula less library", DIFFERENCE, less)] if formulas and parts else []
    return [
        *(Column(name.capitalize(), "General", given(name)) for name in ("plate", "lane", "spot")),
        Column("Rf of the library", "0.0000", given("rf")),
        *(Column(f"Part of the {_source(part)}", "0.0000", given(part)) for part in parts),
        *live,
        Column("u(Rf) of the library", "0.0000", given("u_rf")),
        *check,
        *(Column(f"Share of the {_source(part)}", "0%", share(place)) for place, part in enumerate(parts) if formulas),
    ]


def _source(part: str) -> str:
    return part.removeprefix(_PART).replace("_", " ")


def _number(table: DataTable, name: str, row: int) -> float:
    value = table.column(name).values[row]
    return float(value) if isinstance(value, (int, float)) else 0.0


def _write(book: Book, name: str, table: DataTable, columns: Sequence[Column], keys: int) -> None:
    """Write a sheet of one row a spot, column by column."""
    check_rows(table)
    cells = [[column.cell(spot, 0) for spot in range(len(table))] for column in columns]
    texts = [
        [cell for cell in held if isinstance(cell, str)] if column.look == "General" else []
        for column, held in zip(columns, cells, strict=True)
    ]
    sheet = data_sheet(book, name, [(one.heading, found) for one, found in zip(columns, texts, strict=True)], keys)
    numbers = [any(not isinstance(cell, str) and cell is not None for cell in column) for column in cells]
    for place, column in enumerate(columns):
        put(sheet, 0, place, column.heading, book.style("head right" if numbers[place] else "head"))
    row = 1
    for spot in range(len(table)):
        row += max(
            [1, *(_cell(book, sheet, row, place, one, one.cell(spot, row + 1)) for place, one in enumerate(columns))]
        )


def _cell(book: Book, sheet: Worksheet, row: int, place: int, column: Column, value: Value | Live) -> int:
    if isinstance(value, Live):
        sheet.write_formula(row, place, f"={value.formula}", book.style(column.look), value.value)
        return 1
    return write(book, sheet, row, place, value, column.look)
