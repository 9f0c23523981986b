from __future__ import annotations

import io
from types import MappingProxyType

import openpyxl
from spreadsheet_builders import ods_of, packed, sheet_data, xlsx_of, xlsx_parts

from lanewise.testing import Example, ImportFormatContract, ReportStyleContract
from lanewise_spreadsheet import plugin

HEADINGS = ["plate", "system", "lane", "sample", "origin", "front", "centre"]
UNITS = [None, None, None, None, "mm", "mm", "mm"]
ROWS = [
    ["1", "water", "A", "black ink", 10.0, 85.0, 32.5],
    ["1", "water", "A", "black ink", 10.0, 85.0, 51.0],
    ["2", None, "A", "brown ink", 12.7, 88.9, 40.64],
]
MARKS = {
    "plate": ["1", "1", "2"],
    "system": ["water", "water", "not stated"],
    "lane": ["A", "A", "A"],
    "sample": ["black ink", "black ink", "brown ink"],
    "origin_mm": [10.0, 10.0, 12.7],
    "front_mm": [85.0, 85.0, 88.9],
    "centre_mm": [32.5, 51.0, 40.64],
}
PER_MM = {"cm": 10.0, "in": 25.4}


def laid_out(rows, units=UNITS):
    return xlsx_of([["Writing inks (invented readings)"], [None], HEADINGS, units, *rows])


class TestSpreadsheet(ImportFormatContract):
    """A million rows would fit on a sheet, but making and packing that file takes longer than reading it."""

    plugin = plugin
    format = "spreadsheet"
    claims = ("workbook.xlsx",)
    not_applicable = MappingProxyType({"encodings": "both formats are XML, which states its encoding itself"})
    labelled_column = "lane"
    rows = 100_000
    memory_mb = 300
    seconds = 15

    def examples(self):
        hidden = [["lane", "front", "centre"], ["A", 85.0, 20.0], ["B", 85.0, 30.0], ["C", 85.0, 40.0]]
        kept = {"plate": ["bench 1"] * 2, "lane": ["A", "C"], "front_mm": [85.0] * 2, "centre_mm": [20.0, 40.0]}
        return [
            Example("inks.xlsx", laid_out(ROWS), MARKS),
            Example("leaves.ods", ods_of(hidden, hidden_rows=[3]), kept),
        ]

    def damaged(self):
        return {
            "prose.xlsx": xlsx_of([["lane", "sample"], ["A", "black ink"]]),
            "cut.xlsx": laid_out(ROWS)[:-30],
            "broken.xlsx": packed({**xlsx_parts(sheet_data([HEADINGS])), "xl/worksheets/sheet1.xml": "<worksheet>"}),
            "old.xls": bytes.fromhex("D0CF11E0A1B11AE1") + bytes(600),
        }

    def in_unit(self, unit):
        rows = [[*row[:4], *(round(number / PER_MM[unit], 10) for number in row[4:])] for row in ROWS]
        return laid_out(rows, [None, None, None, None, unit, unit, unit])

    def labelled(self, label):
        return laid_out([[*row[:2], label, *row[3:]] for row in ROWS])

    def numbered(self, text):
        return laid_out([[*ROWS[0][:6], text], *ROWS[1:]])

    def large(self, rows):
        spots = (
            [f"plate {n // 400}", f"lane {n // 4 % 100}", 85.0, 10.0 + 15 * (n % 4) + n % 97 / 8] for n in range(rows)
        )
        return xlsx_of([["plate", "lane", "front_mm", "centre_mm"], *spots])


class TestWorkbook(ReportStyleContract):
    plugin = plugin
    style = "workbook"

    def text(self, rendered):
        book = openpyxl.load_workbook(io.BytesIO(rendered.main))
        cells = (cell for sheet in book for row in sheet.iter_rows() for cell in row)
        return "\n".join(str(cell.value) for cell in cells if cell.data_type in ("s", "n") and cell.value is not None)

    def opens(self, rendered):
        book = openpyxl.load_workbook(io.BytesIO(rendered.main))
        assert book.sheetnames[0] == "Summary"
