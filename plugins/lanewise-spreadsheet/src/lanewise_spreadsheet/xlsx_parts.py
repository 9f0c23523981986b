"""What the parts of an xlsx file tell beyond the values of its cells."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from xml.parsers import expat

from lanewise_spreadsheet.archive import Archive
from lanewise_spreadsheet.headings import unit_named
from lanewise_spreadsheet.markup import Attributes, elements, feed, parser_for
from lanewise_spreadsheet.survey import MOST_COLUMNS, MOST_ROWS, Merged, Survey

_REFERENCE = re.compile(r"\$?([A-Z]{1,9})\$?([0-9]{1,9})")
_LITERAL = re.compile(r'"([^"]*)"|\\(.)|[_*].|\[[^\]]*\]|[^"\\_*\[]')
_NUMBER = (None, "n")  # types of cells that hold a number; one without a type does (ECMA-376 part 1, 18.18.11)
_TRUE = ("1", "true")


def sheet_parts(archive: Archive) -> list[tuple[str, str]]:
    """Give the sheets of a workbook in their order: name and part, the part empty where it is not in the archive."""
    names: list[tuple[str, str]] = []
    targets: dict[str, str] = {}

    def take_sheet(name: str, attributes: Attributes) -> None:
        if name == "sheet":
            identity = next((text for key, text in attributes.items() if key.rpartition(":")[2] == "id"), "")
            names.append((attributes.get("name", ""), identity))

    def take_target(name: str, attributes: Attributes) -> None:
        if name == "Relationship":
            path = posixpath.normpath(posixpath.join("/xl", attributes.get("Target", "")))
            targets[attributes.get("Id", "")] = path.lstrip("/")

    elements(archive, "xl/workbook.xml", take_sheet)
    if "xl/_rels/workbook.xml.rels" in archive.parts:
        elements(archive, "xl/_rels/workbook.xml.rels", take_target)
    found = [(name, targets.get(identity, "")) for name, identity in names]
    return [(name, part if part in archive.parts else "") for name, part in found]


def units_of_styles(archive: Archive) -> dict[str, str]:
    """Give the styles of cells whose number format shows a unit behind the number, by their number as text."""
    formats: dict[str, str] = {}
    styles: list[str] = []
    within = ""

    def take(name: str, attributes: Attributes) -> None:
        nonlocal within
        if name in ("cellXfs", "cellStyleXfs", "dxfs", "cellStyles"):
            within = name
        elif name == "numFmt" and within == "":
            formats[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        elif name == "xf" and within == "cellXfs":
            styles.append(attributes.get("numFmtId", ""))

    if "xl/styles.xml" in archive.parts:
        elements(archive, "xl/styles.xml", take)
    shown = {number: _unit_shown(code) for number, code in formats.items()}
    return {str(place): shown[number] for place, number in enumerate(styles) if shown.get(number)}


def _unit_shown(code: str) -> str:
    """Give the unit that a number format shows: what it holds as literal text (ECMA-376 part 1, 18.8.31)."""
    positive = re.split(r';(?=(?:[^"]*"[^"]*")*[^"]*$)', code)[0]
    text = "".join(found[1] or found[2] or "" for found in _LITERAL.finditer(positive)).strip()
    return unit_named(text)


def survey_sheet(archive: Archive, part: str, units: Mapping[str, str]) -> Survey:
    """Look through the XML of one sheet.

    Parameters
    ----------
    archive : Archive
        The file.
    part : str
        Name of the sheet's part.
    units : mapping of str to str
        As `units_of_styles` gives them.

    Returns
    -------
    Survey
        What its values do not tell.
    """
    parser = parser_for(archive, part)
    reader = _SheetReader(parser, units)
    parser.StartElementHandler = reader.opens
    feed(archive, part, parser)
    return reader.found


class _SheetReader:
    """Takes the elements of a sheet in their order and keeps what matters.

    Cells are many, so ends and texts of elements are only listened to within formulas and errors.
    """

    def __init__(self, parser: expat.XMLParserType, units: Mapping[str, str]) -> None:
        self.found = Survey()
        self._parser = parser
        self._units = units
        self._columns: dict[str, int] = {}
        self._row = self._column = -1
        self._in_row = ""
        self._kind: str | None = None
        self._formula = False
        self._value = ""

    def opens(self, name: str, attributes: Attributes) -> None:
        """Take an element that opens."""
        if name == "c":
            self._cell(attributes)
        elif name in ("v", "is"):
            self.found.reach(self._row, self._column)
            if self._formula or self._kind == "e":
                self._parser.EndElementHandler = self._closes
                self._parser.CharacterDataHandler = self._takes
        elif name == "row":
            self._line(attributes)
        elif name == "f":
            self.found.reach(self._row, self._column)
            self.found.formulas += 1
            self._formula = True
            self._parser.EndElementHandler = self._closes
        elif name == "mergeCell":
            self._merge(attributes.get("ref", ""))
        elif name == "col" and attributes.get("hidden") in _TRUE:
            first, last = (_whole(attributes.get(key, "")) for key in ("min", "max"))
            self.found.hidden_columns.append(range(max(first - 1, 0), min(last, MOST_COLUMNS)))
        elif ":" in name:
            self.opens(name.rpartition(":")[2], attributes)

    def _line(self, attributes: Attributes) -> None:
        self._in_row = attributes.get("r", "")
        self._row = _whole(self._in_row) - 1 if self._in_row else self._row + 1
        self._column = -1
        if attributes.get("hidden") in _TRUE:
            self.found.hidden_rows.append(range(self._row, self._row + 1))

    def _cell(self, attributes: Attributes) -> None:
        reference = attributes.get("r")
        if reference is None:
            self._column += 1
        else:
            letters = reference.rstrip("0123456789")
            self._column = self._columns.get(letters, -1)
            if self._column < 0:
                self._column = self._columns[letters] = _column(letters)
            if (row := reference[len(letters) :]) != self._in_row:
                self._row = _whole(row) - 1
                self._in_row = row
        self._kind = attributes.get("t")
        self._formula = False
        self._value = ""
        if self._units and self._kind in _NUMBER and (unit := self._units.get(attributes.get("s", "0"))):
            self.found.units[self._row, self._column] = unit

    def _takes(self, text: str) -> None:
        self._value += text

    def _closes(self, name: str) -> None:
        """Take the end of an element within a cell with a formula or an error."""
        name = name.rpartition(":")[2]
        if name == "v":
            self._parser.CharacterDataHandler = None
        elif name == "c":
            self._parser.EndElementHandler = None
            if self._kind == "e":
                self.found.errors[self._row, self._column] = self._value.strip() or "an error"
            elif self._formula and not self._value.strip() and self._kind in (*_NUMBER, "b", "d"):
                self.found.unsaved.add((self._row, self._column))

    def _merge(self, reference: str) -> None:
        ends = [_REFERENCE.fullmatch(end) for end in reference.split(":")]
        if len(ends) == 2 and ends[0] and ends[1]:
            (left, top), (right, bottom) = ((_column(end[1]), _whole(end[2]) - 1) for end in ends if end)
            self.found.merged.append(Merged(top, left, bottom, right))


def _whole(text: str) -> int:
    """Give a whole number; one that no sheet has where it is none, so that the sheet is refused."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else MOST_ROWS + 1


def _column(letters: str) -> int:
    """Give the number of a column, counted from 0; one that no sheet has where the letters name none."""
    if not 0 < len(letters) < 4 or not re.fullmatch("[A-Z]+", letters):
        return MOST_COLUMNS
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number - 1
