"""The plugin: one import format, one report style, and their options; readers and renderers load when needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.hooks import ImportFormat, ReportStyle, hookimpl, option
from lanewise_spreadsheet.recognising import recognise


@dataclass(frozen=True)
class SpreadsheetOptions:
    """Options of the format ``spreadsheet``, for what the sheets themselves do not say."""

    sheet: str = option("", help="sheet to read, by name or by number from 1; all that hold a table of marks otherwise")
    rows: str = option("", help="rows of the sheet to read, such as 5-40, 5- or -40; all otherwise")
    fill_down: bool = option(
        False, help="take an empty cell under a plate, system or lane for the label above it; merged cells need no help"
    )
    hidden: bool = option(False, help="read hidden sheets and hidden rows too; they are left out and named otherwise")
    division: float | None = option(None, help="division of the ruler", unit="mm", minimum=0.001)
    plate: str = option("", help="label of the plate, where a sheet has none; the name of the sheet otherwise")
    system: str = option("", help="solvent system, where the sheets have none")
    layer: str = option("", help="stationary phase, where the sheets have none")


@dataclass(frozen=True)
class WorkbookOptions:
    """Options of the style ``workbook``."""

    figures: bool = option(
        True, help="put the pictures into the workbook; their descriptions in words are always given"
    )
    formulas: bool = option(True, help="work Rf, k and the sums of the budget out by live formulas beside the values")


@hookimpl
def lanewise_import_formats() -> Sequence[ImportFormat]:
    """Register the spreadsheet format.

    Examples
    --------
    >>> [one.name for one in lanewise_import_formats()]
    ['spreadsheet']
    """
    return (
        ImportFormat(
            name="spreadsheet",
            title="Spreadsheet: tables of marks in xlsx and ods files, as people lay them out",
            read="lanewise_spreadsheet.reading:read",
            suffixes=(".xlsx", ".ods"),
            recognise=recognise,
            options=SpreadsheetOptions,
            description=(
                "Finds the row of headings wherever it stands, a row of units below it, merged cells, and facts above "
                "the table; reads every sheet that holds a table of marks. Values are read as the file holds them, and "
                "no formula is worked out. Macros, passwords, entity declarations and archives that swell are refused."
            ),
            needs=("python-calamine",),
        ),
    )


@hookimpl
def lanewise_report_styles() -> Sequence[ReportStyle]:
    """Register the workbook style.

    Examples
    --------
    >>> [style.suffix for style in lanewise_report_styles()]
    ['.xlsx']
    """
    return (
        ReportStyle(
            name="workbook",
            title="Workbook: the report, the marks, and Rf by live formulas beside the library's values",
            render="lanewise_spreadsheet.workbook:render",
            suffix=".xlsx",
            media_type="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            options=WorkbookOptions,
            description=(
                "An xlsx file for a class that wants to follow the arithmetic: change a mark and see Rf follow. "
                "Labels stay text and never become formulas; pictures come with their descriptions in words."
            ),
            needs=("xlsxwriter",),
        ),
    )
