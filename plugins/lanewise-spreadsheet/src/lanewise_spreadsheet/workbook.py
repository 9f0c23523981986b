"""A report as a workbook: its text, the marks, and the arithmetic as live formulas beside the library's values."""

from __future__ import annotations

from collections.abc import Mapping

from lanewise.document import DataTable, Figure, Report
from lanewise.hooks import Rendered
from lanewise_spreadsheet.book import Book
from lanewise_spreadsheet.marks_sheet import MARKS, write_marks
from lanewise_spreadsheet.plugin import WorkbookOptions
from lanewise_spreadsheet.results_sheets import BUDGET, RESULTS, write_budget, write_results
from lanewise_spreadsheet.text_sheets import FIGURES, REPORT, write_figures, write_report, write_summary

SAID = {
    REPORT: "What was done and found, section by section, with all tables. Its numbers are rounded and stand as text.",
    MARKS: "What was read, in millimetres, one row a spot. Change a mark here and watch Rf follow on the next sheet.",
    RESULTS: (
        "Rf = (P − O) / (F − O) and k = 1 / Rf − 1 as live formulas, beside the values of the library with their "
        "standard uncertainty u and interval. Formula less library is 0 until a mark is changed."
    ),
    BUDGET: (
        "What makes up the standard uncertainty of each Rf: the root of the sum of the squared parts, and the share of "
        "each. The parts are the library's and do not follow a changed mark."
    ),
    FIGURES: "The pictures, each with its description in words below it.",
}
VALUES = {
    RESULTS: "Rf and k of the library with their standard uncertainty u and interval, and the positions behind them.",
    BUDGET: "What makes up the standard uncertainty of each Rf: its parts by source.",
    MARKS: "What was read, in millimetres, one row a spot.",
}
"""What is said of a sheet where formulas are not wanted."""


def render(report: Report, options: WorkbookOptions) -> Rendered:
    r"""Lay out a report as a workbook.

    Parameters
    ----------
    report : Report
        Finished text, tables and figures, and the numbers behind them.
    options : WorkbookOptions
        Whether pictures and formulas are wanted.

    Returns
    -------
    Rendered
        An xlsx file; no extras. Without numbers behind the report, only the sheets of its text.

    Raises
    ------
    StyleError
        If the marks are more than a sheet holds.

    Examples
    --------
    >>> render(Report("Inks", ("Both inks hold one dye.",), ()), WorkbookOptions()).main[:4]
    b'PK\x03\x04'
    """
    tables = {table.name: table for table in report.data}
    figures = [block for section in report.sections for block in section.blocks if isinstance(block, Figure)]
    marks, spots, budget = (tables.get(name) for name in ("marks", "spots", "budget"))
    order = _order(spots, marks) if spots and marks else None
    there = {
        REPORT: bool(report.sections),
        MARKS: marks is not None and len(marks) > 0,
        RESULTS: bool(order),
        BUDGET: budget is not None and len(budget) > 0,
        FIGURES: bool(figures),
    }
    book = Book(report)
    said: Mapping[str, str] = SAID if options.formulas else {**SAID, **VALUES}
    columns = (
        [(c.name, c.unit, c.meaning) for c in marks.columns if any(v is not None for v in c.values)] if marks else []
    )
    write_summary(book, report, {name: said[name] for name in there if there[name]}, columns)
    if there[REPORT]:
        write_report(book, report)
    if marks is not None and there[MARKS]:
        written = write_marks(book, marks)
        if spots is not None and order:
            write_results(book, spots, written, order, formulas=options.formulas)
    if budget is not None and there[BUDGET]:
        write_budget(book, budget, formulas=options.formulas)
    if figures:
        write_figures(book, figures, pictures=options.figures)
    return Rendered(main=book.close())


def _order(spots: DataTable, marks: DataTable) -> list[int] | None:
    """Give the row of the marks that belongs to each row of the results; None where that cannot be told."""
    keys = marks.keys or spots.keys
    if len(spots) == len(marks) and _named(spots, keys) == _named(marks, keys):
        return [*range(len(spots))]
    places = {name: place for place, name in enumerate(_named(marks, keys))}
    named = _named(spots, keys)
    if not keys or len(places) < len(marks) or any(name not in places for name in named):
        return None
    return [places[name] for name in named]


def _named(table: DataTable, keys: tuple[str, ...]) -> list[tuple[object, ...]]:
    """Give what names each row."""
    return [*zip(*(table.column(key).values for key in keys), strict=True)] if keys else [()] * len(table)
