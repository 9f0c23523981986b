"""What the content of an ods file tells beyond the values of its cells."""

from __future__ import annotations

from xml.parsers import expat

from lanewise_spreadsheet.archive import Archive, refusal
from lanewise_spreadsheet.headings import unit_named
from lanewise_spreadsheet.markup import Attributes, elements, feed, parser_for
from lanewise_spreadsheet.survey import MOST_COLUMNS, MOST_ROWS, Merged, Place, Survey

CONTENT = "content.xml"
MANIFEST = "META-INF/manifest.xml"
_CELLS = ("table:table-cell", "table:covered-table-cell")
_NUMBERS = ("float", "currency", "percentage")
_HIDDEN = ("collapse", "filter")
_MOST_REPEATS = 200


def refuse_locked(archive: Archive) -> None:
    """Refuse a file whose parts are encrypted, as its manifest says (OpenDocument 1.3 part 2, 4.4)."""

    def take(name: str, _: Attributes) -> None:
        if name == "encryption-data":
            todo = "Open it in a spreadsheet program and save it without a password."
            raise refusal(archive.file, MANIFEST, "a spreadsheet without a password", "a locked one", todo)

    if MANIFEST in archive.parts:
        elements(archive, MANIFEST, take)


def survey_content(archive: Archive) -> list[Survey]:
    """Look through the content of a file.

    Parameters
    ----------
    archive : Archive
        The file.

    Returns
    -------
    list of Survey
        What the values of each sheet do not tell, in the order of the sheets.
    """
    parser = parser_for(archive, CONTENT)
    reader = _ContentReader(archive, parser)
    parser.StartElementHandler = reader.opens
    parser.EndElementHandler = reader.closes
    feed(archive, CONTENT, parser)
    return reader.found


class _ContentReader:
    """Takes the elements of all sheets in their order and keeps what matters.

    A cell or a row may stand for many; they are counted and never written out.
    """

    def __init__(self, archive: Archive, parser: expat.XMLParserType) -> None:
        self.found: list[Survey] = []
        self._archive = archive
        self._parser = parser
        self._depth = 0
        self._row = self._column = self._table_column = 0
        self._rows = self._columns = 1
        self._cell: Attributes = {}
        self._note = False
        self._shown = ""

    def opens(self, name: str, attributes: Attributes) -> None:
        """Take an element that opens."""
        if name == "table:table":
            self._depth += 1
            if self._depth == 1:
                self.found.append(Survey())
                self._row = self._table_column = 0
        elif name == "office:script":
            todo = "Save it without macros."
            raise refusal(self._archive.file, CONTENT, "a spreadsheet without macros", "a script", todo)
        elif self._depth != 1:
            return
        elif name in _CELLS:
            self._open_cell(attributes)
        elif name == "table:table-row":
            self._rows = _repeated(attributes, "table:number-rows-repeated", MOST_ROWS)
            self._column = 0
            if attributes.get("table:visibility") in _HIDDEN:
                self.found[-1].hidden_rows.append(range(self._row, self._row + self._rows))
        elif name == "table:table-column":
            count = _repeated(attributes, "table:number-columns-repeated", MOST_COLUMNS)
            if attributes.get("table:visibility") in _HIDDEN:
                self.found[-1].hidden_columns.append(range(self._table_column, self._table_column + count))
            self._table_column += count
        elif name == "office:annotation":
            self._note = True
            self.found[-1].comments += 1
        elif name == "text:p" and not self._note:
            self._reach()
            self._parser.CharacterDataHandler = self._takes

    def closes(self, name: str) -> None:
        """Take an element that closes."""
        if name == "table:table":
            self._depth -= 1
        elif self._depth != 1:
            return
        elif name in _CELLS:
            self._close_cell()
        elif name == "table:table-row":
            self._row += self._rows
        elif name == "text:p":
            self._parser.CharacterDataHandler = None
        elif name == "office:annotation":
            self._note = False

    def _takes(self, text: str) -> None:
        self._shown += text

    def _reach(self) -> None:
        self.found[-1].reach(self._row + self._rows - 1, self._column + self._columns - 1)

    def _open_cell(self, attributes: Attributes) -> None:
        self._cell = attributes
        self._columns = _repeated(attributes, "table:number-columns-repeated", MOST_COLUMNS)
        self._shown = ""
        if "office:value-type" in attributes or "table:formula" in attributes:
            self._reach()
        down, across = (
            _repeated(attributes, f"table:number-{what}-spanned", most)
            for what, most in (("rows", MOST_ROWS), ("columns", MOST_COLUMNS))
        )
        if down > 1 or across > 1:
            bottom, right = self._row + down - 1, self._column + across - 1
            self.found[-1].merged.append(Merged(self._row, self._column, bottom, right))

    def _close_cell(self) -> None:
        found, cell, shown = self.found[-1], self._cell, self._shown.strip()
        kind = cell.get("office:value-type")
        formula = "table:formula" in cell
        found.formulas += formula
        if cell.get("calcext:value-type") == "error":
            found.errors.update(dict.fromkeys(self._places(), shown or "an error"))
        elif formula and kind is None:
            found.unsaved.update(self._places())
        elif kind in _NUMBERS and shown[-1:].strip("0123456789.,)"):
            unit = unit_named(shown.split()[-1].lstrip("+-\u22120123456789.,"))
            if unit:
                found.units.update(dict.fromkeys(self._places(), unit))
        self._column += self._columns

    def _places(self) -> list[Place]:
        """Give the cells that a cell stands for; of very many no more than could be looked at."""
        rows = range(self._row, self._row + min(self._rows, _MOST_REPEATS))
        columns = range(self._column, self._column + min(self._columns, _MOST_REPEATS))
        return [(row, column) for row in rows for column in columns]


def _repeated(attributes: Attributes, name: str, most: int) -> int:
    """Give how often an element stands; more than any sheet has where that is not a number."""
    text = attributes.get(name, "1")
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else most + 1
    return max(number, 1)
