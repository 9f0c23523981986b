"""Small spreadsheet files for the tests, made by hand: part by part where a library would not write what is wanted."""

from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import escape

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import P

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
SHEET = "xl/worksheets/sheet1.xml"


def packed(parts, method=zipfile.ZIP_DEFLATED):
    """Pack parts into a zip archive, the same bytes each time."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", method) as archive:
        for name, content in parts.items():
            info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_STORED if name == "mimetype" else method
            archive.writestr(info, content.encode() if isinstance(content, str) else content)
    return held.getvalue()


def unpacked(data):
    """Give the parts of a zip archive."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {info.filename: archive.read(info) for info in archive.infolist()}


def xlsx_parts(*sheets, names=("bench 1", "bench 2", "bench 3"), styles=""):
    """Give the parts of a workbook whose sheets are given as what stands in their `worksheet` element."""
    used = list(zip(names, sheets, strict=False))
    numbers = range(1, len(used) + 1)
    overrides = "".join(
        f'<Override PartName="/xl/worksheets/sheet{n}.xml" ContentType="{TYPE}.worksheet+xml"/>' for n in numbers
    )
    listed = "".join(f'<sheet name="{escape(used[n - 1][0])}" sheetId="{n}" r:id="rId{n}"/>' for n in numbers)
    related = "".join(
        f'<Relationship Id="rId{n}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{n}.xml"/>' for n in numbers
    )
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" ContentType='
        '"application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" '
        f'ContentType="{TYPE}.sheet.main+xml"/>{overrides}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1" '
        f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">{related}</Relationships>',
    }
    for number, (_, body) in zip(numbers, used, strict=True):
        parts[f"xl/worksheets/sheet{number}.xml"] = f'<worksheet xmlns="{MAIN}">{body}</worksheet>'
    if styles:
        parts["xl/styles.xml"] = f'<styleSheet xmlns="{MAIN}">{styles}</styleSheet>'
    return parts


def sheet_data(rows, first=1):
    """Write rows of texts and numbers as the `sheetData` element; None is no cell."""
    lines = []
    for number, row in enumerate(rows, start=first):
        cells = "".join(_cell(cell, f"{chr(65 + place)}{number}") for place, cell in enumerate(row) if cell is not None)
        lines.append(f'<row r="{number}">{cells}</row>')
    return f"<sheetData>{''.join(lines)}</sheetData>"


def _cell(cell, name):
    if isinstance(cell, str):
        return f'<c r="{name}" t="inlineStr"><is><t xml:space="preserve">{escape(cell)}</t></is></c>'
    return f'<c r="{name}"><v>{cell!r}</v></c>'


def xlsx_of(*sheets, **more):
    """Make a workbook of sheets given as rows."""
    return packed(xlsx_parts(*map(sheet_data, sheets), **more))


def saved(book):
    """Give the bytes of a workbook made with openpyxl."""
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def openpyxl_book(rows, title="bench 1"):
    """Make a workbook with openpyxl, and give it with its sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    return book, sheet


def ods_of(*sheets, hidden_rows=(), hidden_columns=(), names=("bench 1", "bench 2", "bench 3")):
    """Make an ods file with odfpy; cells are values, or ready cells made with `ods_cell`."""
    document = OpenDocumentSpreadsheet()
    for name, rows in zip(names, sheets, strict=False):
        table = Table(name=name)
        for place in range(max(len(row) for row in rows)):
            table.addElement(TableColumn(**({"visibility": "collapse"} if place in hidden_columns else {})))
        for number, row in enumerate(rows, start=1):
            line = TableRow(**({"visibility": "collapse"} if number in hidden_rows else {}))
            for cell in row:
                line.addElement(cell if hasattr(cell, "qname") else ods_cell(cell))
            table.addElement(line)
        document.spreadsheet.addElement(table)
    held = io.BytesIO()
    document.write(held)
    parts = unpacked(held.getvalue())
    parts.pop("meta.xml")  # holds the time
    return packed(parts)


def ods_cell(value, shown=None, **attributes):
    """Make one cell of an ods file; `shown` is its text where that differs from the value."""
    if value is None:
        return TableCell(**attributes)
    if isinstance(value, str):
        cell = TableCell(valuetype="string", **attributes)
    else:
        cell = TableCell(valuetype="float", value=repr(value), **attributes)
    cell.addElement(P(text=str(value) if shown is None else shown))
    return cell


def covered():
    """Make a cell that a merged one covers."""
    return CoveredTableCell()
