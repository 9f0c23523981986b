"""The sheets that hold the text of a report: summary, report, figures."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterable, Mapping, Sequence
from itertools import zip_longest

from lanewise.document import Bullets, Figure, Paragraph, Report, Table, clean
from lanewise_spreadsheet.book import LINE, Book, Page, Worksheet, lines, widths_of

SUMMARY, REPORT, FIGURES = "Summary", "Report", "Figures"
_PIXELS = 96 / 25.4  # of a screen, in a millimetre, as spreadsheet programs count them
_ROW = 20  # pixels in a row of the usual height
_DPI = 96.0
_ACROSS = 188.0  # what stands side by side on upright A4 paper [mm]


def write_summary(book: Book, report: Report, sheets: Mapping[str, str], columns: Iterable[Sequence[str]]) -> None:
    """Write the first sheet: the conclusion, what is where, and how to follow the arithmetic.

    Parameters
    ----------
    book : Book
        The workbook.
    report : Report
        The report.
    sheets : mapping of str to str
        The other sheets and what each holds.
    columns : iterable of (name, unit, meaning)
        The columns of the sheet of marks.
    """
    widths = (24.0, 12.0, 74.0)
    page = Page(book, book.sheet(SUMMARY, widths, portrait=True), widths)
    page.text(clean(report.title).strip() or "(untitled)", "title", 16.0)
    for sentence in report.summary:
        page.text(sentence)
    if report.date:
        page.text(f"Report of {report.date}.")
    page.gap()
    page.text("What is in this workbook", "heading", 13.0)
    for name, said in sheets.items():
        page.sheet.write_url(page.row, 0, f"internal:'{name}'!A1", book.style("link"), string=name)
        page.sheet.merge_range(page.row, 1, page.row, 2, "", book.style("text"))
        page.sheet.write_string(page.row, 1, said, book.style("text"))
        page.sheet.set_row(page.row, lines(said, sum(widths[1:])) * LINE + 3.0)
        page.row += 1
    held = list(columns)
    if held:
        page.gap()
        page.text("Columns of the sheet Marks", "heading", 13.0)
        page.cells(("Column", "Unit", "What it holds"), ("head",) * 3)
        for cells in held:
            page.cells(cells, ("key", "cell", "cell"))


def write_report(book: Book, report: Report) -> None:
    """Write the sections with their tables; figures are named here and stand on their own sheet."""
    tables = [block for section in report.sections for block in section.blocks if isinstance(block, Table)]
    widths = _shared_widths(tables)
    sheet = book.sheet(REPORT, widths)
    page = Page(book, sheet, widths)
    figures = 0
    for section in report.sections:
        page.text(clean(section.title).strip() or "(untitled)", "heading", 13.0)
        for block in section.blocks:
            if isinstance(block, Paragraph):
                page.text(block.text)
            elif isinstance(block, Bullets):
                for item in block.items:
                    page.text(f"• {item}", "bullet")
            elif isinstance(block, Table):
                _write_table(page, block)
            elif isinstance(block, Figure):
                figures += 1
                page.text(_titled(figures, block), "caption")
                page.text(f"The picture and its description in words stand on the sheet {FIGURES}.")
            else:
                raise TypeError(f"wanted a paragraph, bullets, a table or a figure, given {type(block).__name__}")
        page.gap()
    page.close()


def write_figures(book: Book, figures: Sequence[Figure], *, pictures: bool) -> None:
    """Write the figures in the order of the report: the picture, where it is wanted, and its description in words.

    Pictures have their own size on paper, which some state as a scale; so the sheet is not fitted to the page.
    """
    portrait = max(figure.width for figure in figures) <= _ACROSS
    widths = (13.0,) * (7 if portrait else 10)
    page = Page(book, book.sheet(FIGURES, widths, portrait=portrait, fit=False), widths)
    breaks: list[int] = []
    for number, figure in enumerate(figures, start=1):
        if number > 1:
            breaks.append(page.row)
        page.text(_titled(number, figure), "heading", 13.0)
        if pictures:
            page.row += _insert(page.sheet, page.row, figure)
        for sentence in figure.description:
            page.text(sentence)
        page.gap()
    page.sheet.set_h_pagebreaks(breaks)


def _titled(number: int, figure: Figure) -> str:
    return f"Figure {number}. {figure.caption or figure.name}"


def _insert(sheet: Worksheet, row: int, figure: Figure) -> int:
    """Insert a picture at its size on paper; give how many rows it covers."""
    data = figure.draw("png")
    width, height, dpi = _measures(data)
    scale = [
        size * _PIXELS / (pixels * _DPI / dpi) if pixels else 1.0
        for size, pixels in ((figure.width, width), (figure.height, height))
    ]
    options = {
        "image_data": io.BytesIO(data),
        "description": clean(f"{figure.caption} Described in words in the cells below the picture."),
        "x_scale": scale[0],
        "y_scale": scale[1],
        "object_position": 2,
    }
    sheet.insert_image(row, 0, f"{clean(figure.name)}.png", options)
    return int(figure.height * _PIXELS / _ROW) + 2


def _measures(png: bytes) -> tuple[int, int, float]:
    """Give width and height of a PNG file in pixels, and its pixels per inch.

    References
    ----------
    Portable Network Graphics (third edition), 11.2.1 (IHDR) and 11.3.4.3 (pHYs, in pixels per metre). From memory.
    """
    width, height = struct.unpack(">II", png[16:24])
    at = png.find(b"pHYs")
    if at < 0 or png[at + 12] != 1:
        return width, height, _DPI
    return width, height, float(struct.unpack(">I", png[at + 4 : at + 8])[0]) * 0.0254


def _write_table(page: Page, table: Table) -> None:
    """Write a table of finished texts; numbers stay the texts they are, with their digits."""
    page.text(table.caption, "caption")
    right = [" right" if number else "" for number in table.numeric]
    page.cells(table.header, [f"head{side}" for side in right])
    styles = ["key" if place < table.key_columns else f"cell{side}" for place, side in enumerate(right)]
    first = page.row
    for row in table.rows:
        page.cells(row, styles)
    if table.rows and table.header:
        page.texts.append((first, 0, page.row - 1, len(table.header) - 1))
    page.gap()


def _shared_widths(tables: Iterable[Table]) -> list[float]:
    """Give widths that suit the columns of all tables, since they stand below each other."""
    found: list[float] = []
    for table in tables:
        columns = ((heading, [row[place] for row in table.rows]) for place, heading in enumerate(table.header))
        found = [max(pair) for pair in zip_longest(found, widths_of(columns), fillvalue=0.0)]
    while sum(found) < 110.0:
        found.append(12.0)
    return found
