"""Files of many kinds that are none of a plugin's business: small, real where that is possible, and invented."""

from __future__ import annotations

import gzip
import io
import random
import zipfile
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from lanewise.testing.pictures import draw

_SHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org"
_XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_WORKBOOK = {
    "[Content_Types].xml": f'{_XML}<Types xmlns="{_RELATIONS}/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.'
    'spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.'
    'openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>',
    "_rels/.rels": f'{_XML}<Relationships xmlns="{_RELATIONS}/package/2006/relationships"><Relationship Id="rId1" '
    f'Type="{_RELATIONS}/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": f'{_XML}<workbook xmlns="{_SHEET}" xmlns:r="{_RELATIONS}/officeDocument/2006/relationships">'
    '<sheets><sheet name="Rooms" sheetId="1" r:id="rId1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": f'{_XML}<Relationships xmlns="{_RELATIONS}/package/2006/relationships"><Relationship '
    f'Id="rId1" Type="{_RELATIONS}/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/>'
    "</Relationships>",
    "xl/worksheets/sheet1.xml": f'{_XML}<worksheet xmlns="{_SHEET}"><sheetData><row r="1"><c r="A1" t="inlineStr"><is>'
    '<t>room</t></is></c><c r="B1" t="inlineStr"><is><t>chairs</t></is></c></row><row r="2"><c r="A2" t="inlineStr">'
    '<is><t>hall</t></is></c><c r="B2"><v>40</v></c></row></sheetData></worksheet>',
}


@cache
def foreign_files() -> Mapping[str, bytes]:
    r"""Give files of other kinds.

    Returns
    -------
    mapping of str to bytes
        By file name. Two are of the library's own formats: ``marks-table.csv`` and ``study-record.json``.

    Examples
    --------
    >>> foreign_files()["letter.txt"][:17].decode()
    'Dear colleagues,\n'
    """
    page = (
        "<!DOCTYPE html>\n<html lang='en'><head><title>Rooms</title></head><body><p>Hall: 40 chairs</p></body></html>\n"
    )
    files: dict[str, bytes] = {
        "photo.png": draw("png"),
        "photo.jpg": _JPEG,
        "page.pdf": draw("pdf"),
        "drawing.svg": draw("svg"),
        "archive.zip": _zip({"readme.txt": "Rooms and chairs."}),
        "workbook.xlsx": _zip(_WORKBOOK),
        "letter.txt.gz": gzip.compress(_LETTER.encode(), mtime=0),
        "letter.txt": _LETTER.encode(),
        "rooms.csv": b"room,chairs,projector\nhall,40,yes\nattic,12,no\n",
        "rooms.tsv": b"room\tchairs\nhall\t40\n",
        "two-columns.txt": b"".join(b"%.2f %.4f\n" % (n / 10, n / 7) for n in range(200)),
        "numbers.csv": b"1,2,3\n4,5,6\n",
        "settings.ini": b"[rooms]\nhall = 40\nattic = 12\n",
        "rooms.json": b'{"kind": "rooms", "rooms": [{"name": "hall", "chairs": 40}]}\n',
        "rooms.xml": b'<?xml version="1.0"?>\n<rooms><room name="hall" chairs="40"/></rooms>\n',
        "rooms.yaml": b"rooms:\n  - name: hall\n    chairs: 40\n",
        "page.html": page.encode(),
        "script.py": b"import sys\n\nprint(sys.argv)\n",
        "utf-16.txt": _LETTER.encode("utf-16"),
        "random.bin": random.Random(7).randbytes(5000),
        "zeros.bin": bytes(2000),
        "marks-table.csv": b"plate,lane,front_mm,centre_mm\n1,A,85,32.5\n1,B,85,51\n",
        "study-record.json": b'{"kind": "lanewise study", "schema_version": 1, "title": "Writing inks"}\n',
    }
    return MappingProxyType(files)


_LETTER = """\
Dear colleagues,

the hall has 40 chairs and the attic has 12; please bring your own cushion: it is cold.
We meet at 10:30, not at 9.

With kind regards,
the caretaker
"""

# A grey picture of one pixel: start, quantisation table of ones, frame, the four Huffman tables cut to one code each.
_JPEG = bytes.fromhex(
    "ffd8ffe000104a46494600010101004800480000ffdb004300" + "01" * 64 + "ffc0000b080001000101011100"
    "ffc40014000100000000000000000000000000000009ffc40014100100000000000000000000000000000000"
    "ffda0008010100003f0037ffd9"
)


def _zip(members: Mapping[str, str]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in members.items():
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text.encode())
    return held.getvalue()
