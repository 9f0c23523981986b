"""What a spreadsheet looks like from its first bytes; standard library only."""

from __future__ import annotations

import re

from lanewise.hooks import Recognition, Sample

ZIP = b"PK\x03\x04"
OLE = bytes.fromhex("D0CF11E0A1B11AE1")  # [MS-CFB] 2.2, header signature: old and password-protected workbooks
ODS = b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet"  # OpenDocument 1.3 part 2, 3.3: first, not compressed

SUFFIXES = (".xlsx", ".ods")
_REFUSED = (*SUFFIXES, ".xls", ".xlsm")
_NAME = re.compile(re.escape(ZIP) + rb".{22}(..)..", re.DOTALL)


def recognise(sample: Sample) -> Recognition:
    r"""Recognise an xlsx or ods file by the parts of its archive.

    Examples
    --------
    >>> head = b"PK\x03\x04" + bytes(22) + b"\x0f\x00\x00\x00" + b"xl/workbook.xml"
    >>> recognise(Sample("inks.xlsx", head, len(head), None)).claim
    'yes'
    """
    name = sample.name.lower()
    if sample.head.startswith(OLE):
        because = "it is an old binary workbook, or one with a password, which has to be saved anew"
        return Recognition.maybe(because) if name.endswith(_REFUSED) else Recognition.no(because)
    if not sample.head.startswith(ZIP):
        return Recognition.no("it is not a zip archive, as xlsx and ods files are")
    if sample.head[30:200].startswith(ODS):
        return Recognition.yes("its first part says that it is an OpenDocument spreadsheet")
    if any(part.startswith(b"xl/") for part in _parts(sample.head)):
        return Recognition.yes("it is a zip archive with the parts of an xlsx workbook")
    if name.endswith(SUFFIXES):
        return Recognition.maybe("it is a zip archive with the ending of a spreadsheet")
    return Recognition.no("it is a zip archive, but no part of a spreadsheet stands at its beginning")


def _parts(head: bytes) -> list[bytes]:
    """Give the names of the parts whose local headers lie in the head (APPNOTE.TXT of the zip format, 4.3.7)."""
    found = []
    for header in _NAME.finditer(head):
        length = int.from_bytes(header[1], "little")
        found.append(head[header.end() : header.end() + length])
    return found
