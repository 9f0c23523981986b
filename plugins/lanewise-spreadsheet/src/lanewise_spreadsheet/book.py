"""A workbook under way: its formats, its sheets, and the one way in which a text gets into a cell."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any, TypeAlias

from lanewise.document import Report, clean
from lanewise_spreadsheet.pieces import pieces
from lanewise_spreadsheet.survey import cell_name

Worksheet: TypeAlias = Any  # XlsxWriter has no annotations
Format: TypeAlias = Any

LINE = 15.0  # height of a line of 11 points [pt]
DIFFERENCE = "0.0000;-0.0000;0"
READABLE = 210.0  # characters that can still be read side by side on a page turned sideways
_WIDEST = 30.0
_HIGHEST = 409.0  # of a row, in the spreadsheet programs of our day [pt]
_NO_DATE = datetime(1980, 1, 1)  # a workbook has to have one; this is the first that its archive can state
_SETTINGS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "nan_inf_to_errors": False,
}
_WRAPPED = {"text_wrap": True, "valign": "top"}
_RULED = {**_WRAPPED, "bottom": 1, "bottom_color": "#BFBFBF"}
_HEADED = {**_WRAPPED, "bold": True, "bottom": 2, "bg_color": "#E8E8E8"}
_LEFT, _RIGHT = {"align": "left", "indent": 1}, {"align": "right", "indent": 1}
_FORMATS: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 16, **_WRAPPED},
    "heading": {"bold": True, "font_size": 13, **_WRAPPED},
    "text": _WRAPPED,
    "caption": {"italic": True, **_WRAPPED},
    "bullet": {"indent": 1, **_WRAPPED},
    "link": {"underline": 1, "font_color": "#0B4F9E", **_WRAPPED},
    "head": {**_HEADED, **_LEFT},
    "head right": {**_HEADED, **_RIGHT},
    "key": {**_RULED, **_LEFT, "bold": True},
    "cell": {**_RULED, **_LEFT},
    "cell right": {**_RULED, **_RIGHT},
    "label": {"valign": "top", **_LEFT},
    "General": {"valign": "top", **_RIGHT},
    **{look: {"num_format": look, "valign": "top", **_RIGHT} for look in ("0.0000", "0.000", "0%", DIFFERENCE)},
}
_PER_WIDTH = 1.15  # letters of running text on the width of one digit


class Book:
    """A workbook in memory.

    Parameters
    ----------
    report : Report
        What its properties are taken from.
    """

    def __init__(self, report: Report) -> None:
        import xlsxwriter  # type: ignore[import-untyped]

        self._held = io.BytesIO()
        self.workbook = xlsxwriter.Workbook(self._held, _SETTINGS)
        made = datetime.fromisoformat(report.date) if report.date else _NO_DATE
        title = clean(report.title).strip() or "(untitled)"
        self.workbook.set_properties({"title": title[:255], "created": made})
        self.workbook.set_custom_property("Language", clean(report.language) or "und")
        self._formats: dict[str, Format] = {}

    def style(self, name: str) -> Format:
        """Give a format by its name."""
        if name not in self._formats:
            self._formats[name] = self.workbook.add_format(_FORMATS[name])
        return self._formats[name]

    def sheet(self, name: str, widths: Sequence[float], *, portrait: bool = False, fit: bool = True) -> Worksheet:
        """Add a sheet for A4 paper, its columns so many characters wide; printed at full size if not fitted."""
        sheet = self.workbook.add_worksheet(name)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        sheet.set_paper(9)
        if not portrait:
            sheet.set_landscape()
        sheet.set_margins(left=0.4, right=0.4, top=0.6, bottom=0.6)
        if fit:
            sheet.fit_to_pages(math.ceil(sum(widths) / READABLE), 0)
        sheet.set_footer("&L&A&RPage &P of &N")
        sheet.hide_gridlines(1)
        return sheet

    def close(self) -> bytes:
        """Give the finished file."""
        self.workbook.close()
        return self._held.getvalue()


class Page:
    """A sheet that is written from top to bottom: texts across its columns, and tables.

    Parameters
    ----------
    book : Book
        The workbook.
    sheet : Worksheet
        The sheet.
    widths : sequence of float
        Widths of its columns, in characters.
    most : float
        Width of a line of text, in characters.

    Attributes
    ----------
    row : int
        Row that is written next, counted from 0.
    texts : list of (int, int, int, int)
        First row and column, last row and column of the tables, in which numbers stand as texts.
    """

    def __init__(self, book: Book, sheet: Worksheet, widths: Sequence[float], most: float = 110.0) -> None:
        self.book = book
        self.sheet = sheet
        self.row = 0
        self.texts: list[tuple[int, int, int, int]] = []
        self.span = len(widths)
        self._widths = widths
        self._width = 0.0
        for count, width in enumerate(widths, start=1):
            self._width += width
            if self._width >= most:
                self.span = count
                break

    def text(self, text: str, style: str = "text", size: float = 11.0) -> None:
        """Write a text across the columns, in as many rows as it needs, and go below it."""
        for piece in pieces(clean(text)):
            form = self.book.style(style)
            if self.span > 1:
                self.sheet.merge_range(self.row, 0, self.row, self.span - 1, "", form)
            self.sheet.write_string(self.row, 0, piece, form)
            self._set_height(lines(piece, self._width * 11.0 / size), size)
            self.row += 1

    def gap(self) -> None:
        """Leave a row empty."""
        self.row += 1

    def cells(self, cells: Sequence[str], styles: Sequence[str]) -> None:
        """Write texts side by side, and go below them; what a cell cannot hold goes on in the cell below it."""
        height = 1
        for column, (text, style) in enumerate(zip(cells, styles, strict=True)):
            height = max(height, put(self.sheet, self.row, column, text, self.book.style(style)))
        if height == 1:
            self._set_height(max(map(lines, map(clean, cells), self._widths), default=1))
        self.row += height

    def _set_height(self, count: int, size: float = 11.0) -> None:
        """Make the row high enough for some lines; spreadsheet programs do not all do so by themselves."""
        self.sheet.set_row(self.row, min(count * LINE * size / 11.0 + 3.0, _HIGHEST))

    def close(self) -> None:
        """Say that numbers in finished tables are meant as the texts they are."""
        if self.texts:
            ranges = " ".join(f"{cell_name(*ends[:2])}:{cell_name(*ends[2:])}" for ends in self.texts)
            self.sheet.ignore_errors({"number_stored_as_text": ranges})


def put(sheet: Worksheet, row: int, column: int, text: str, form: Format) -> int:
    """Write a text as text, whatever it looks like; give how many rows it took."""
    count = 0
    for piece in pieces(clean(text)):
        if piece:
            sheet.write_string(row + count, column, piece, form)
        else:
            sheet.write_blank(row + count, column, None, form)
        count += 1
    return count


def lines(text: str, width: float) -> int:
    """Give how many lines a text takes that is wrapped at blanks, in a column so many digits wide.

    Examples
    --------
    >>> lines("Rf of the library", 30.0), lines("Rf of the library", 12.0)
    (1, 2)
    """
    most = max(1.0, (width - 2.0) * _PER_WIDTH)
    count, used = 1, 0
    for word in text.split():
        if used and used + 1 + len(word) > most:
            count, used = count + 1, 0
        used += len(word) + (1 if used else 0)
        count += int((used - 1) / most)
        used = int((used - 1) % most) + 1
    return count


def widths_of(columns: Iterable[tuple[str, Sequence[str]]], least: float = 9.0) -> Iterator[float]:
    """Give a width for each column, from its heading and its texts, in digits; long texts are wrapped.

    Examples
    --------
    >>> list(widths_of([("Lane", ["A"]), ("Rf by formula (P − O) / (F − O)", ["0.3465"]), ("Note", ["w" * 90])]))
    [9.0, 13.0, 30.0]
    """
    for heading, texts in columns:
        word = max((len(word) for word in heading.split()), default=0)
        longest = max((len(text) for text in texts), default=0)
        yield min(max(least, longest + 2.0, word + 3.0, math.ceil(len(heading) / 3) + 2.0), _WIDEST)
