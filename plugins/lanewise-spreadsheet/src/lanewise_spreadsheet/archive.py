"""The zip archive that an xlsx or ods file is, looked at before anything reads it.

A file from a stranger may swell a thousandfold when it is unpacked, hold two parts of one name, carry macros or be
locked. Nothing is unpacked to disk; every part is unpacked in pieces and held to the size that the archive states.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from collections.abc import Iterator
from typing import Literal

from lanewise.errors import UnreadableFile
from lanewise_spreadsheet.recognising import OLE, ZIP

MOST_PARTS = 5_000
MOST_BYTES = 1 << 30  # unpacked, all parts together
MOST_RATIO = 200  # unpacked to packed, of a part above SMALL; sheets of marks have 10 to 40 (computed here)
SMALL = 1 << 20

_PIECE = 1 << 18
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
_MACROS = re.compile(
    r"(?:.*/)?vba[^/]*\.(?:bin|xml)|xl/(?:macrosheets|intlmacrosheets|dialogsheets|activex)/.+|(?:basic|scripts)/.+",
    re.IGNORECASE,
)


def refusal(file: str, part: str, wanted: str, given: str, todo: str) -> UnreadableFile:
    """Make the error that refuses a file, with the part that is at fault; empty where the whole file is."""
    where = f"{file}, part {part!r}" if part else file
    return UnreadableFile(f"{where}: wanted {wanted}, given {given}. {todo}")


class Archive:
    """The parts of an xlsx or ods file, once the archive has been found harmless.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    data : bytes
        Its content.

    Attributes
    ----------
    kind : {"xlsx", "ods"}
        What it is.
    parts : dict of str to zipfile.ZipInfo
        By name, in the order of the archive.

    Raises
    ------
    UnreadableFile
        If it is no such archive, damaged, locked, too large, carries macros, or has names that could do harm.
    """

    def __init__(self, file: str, data: bytes) -> None:
        self.file = file
        self._data = data
        self.parts = self._parts()
        self.kind: Literal["xlsx", "ods"] = self._kind()

    def pieces(self, part: str) -> Iterator[bytes]:
        """Unpack a part piece by piece, no more of it than the archive states."""
        info = self.parts[part]
        packed = self._packed(info)
        size = check = 0
        try:
            for piece in _inflated(packed) if info.compress_type == zipfile.ZIP_DEFLATED else (bytes(packed),):
                size += len(piece)
                if size > info.file_size:
                    raise self._swelling(part, f"more than the {info.file_size} bytes that the archive states")
                check = zlib.crc32(piece, check)
                yield piece
        except zlib.error as fault:
            raise self._damaged(part, f"a broken one ({fault})") from fault
        if size != info.file_size or check != info.CRC:
            raise self._damaged(part, f"{size} bytes of {info.file_size}, or others than were packed")

    def read(self, part: str) -> bytes:
        """Unpack a whole part."""
        return b"".join(self.pieces(part))

    def _parts(self) -> dict[str, zipfile.ZipInfo]:
        """Give the parts by name; refuse what should not be unpacked."""
        if self._data.startswith(OLE):
            todo = "Open it in a spreadsheet program and save it as .xlsx or .ods, without a password."
            given = "an old binary workbook (.xls) or one locked with a password"
            raise refusal(self.file, "", "an xlsx or ods file", given, todo)
        if not self._data.startswith(ZIP):
            todo = "Save it from a spreadsheet program as .xlsx or .ods."
            given = f"one that starts with {self._data[:8]!r}"
            raise refusal(self.file, "", "an xlsx or ods file, which is a zip archive", given, todo)
        if self._data.count(b"PK\x01\x02") > MOST_PARTS:
            raise self._swelling("", "more")
        try:
            with zipfile.ZipFile(io.BytesIO(self._data)) as archive:
                infos = archive.infolist()
        except (zipfile.BadZipFile, NotImplementedError, ValueError, OSError) as fault:
            raise self._damaged("", f"one that is cut short or damaged ({fault})") from fault
        parts: dict[str, zipfile.ZipInfo] = {}
        seen: set[str] = set()
        for info in infos:
            self._check(info, seen)
            parts[info.filename] = info
        if sum(info.file_size for info in infos) > MOST_BYTES:
            raise self._swelling("", f"{sum(info.file_size for info in infos)}")
        return parts

    def _check(self, info: zipfile.ZipInfo, seen: set[str]) -> None:
        """Refuse a part by what the directory of the archive says of it."""
        name, plain = info.filename, info.orig_filename
        todo = "Do not open it unless you know where it comes from; ask for a file saved anew as .xlsx or .ods."
        climbs = posixpath.isabs(plain) or ".." in plain.split("/") or re.match(r"[A-Za-z]:", plain)
        if climbs or "\\" in plain or "\0" in plain:
            raise refusal(self.file, plain, "names of parts within the archive", "one that points elsewhere", todo)
        if name.lower() in seen:
            raise refusal(self.file, name, "parts of different names", "this one twice", todo)
        seen.add(name.lower())
        if info.flag_bits & 0x1:
            raise self._locked(name)
        if info.compress_type not in _METHODS:
            given = f"packing method {info.compress_type}"
            raise refusal(self.file, name, "a part stored or deflated, as the formats demand", given, todo)
        if info.file_size > SMALL and info.file_size > MOST_RATIO * info.compress_size:
            raise self._swelling(name, f"one of {info.compress_size} bytes that unpacks to {info.file_size}")
        if not info.is_dir() and _MACROS.fullmatch(name):
            given = "macros or other active content"
            raise refusal(self.file, name, "a spreadsheet without macros", given, "Save it as plain .xlsx or .ods.")

    def _kind(self) -> Literal["xlsx", "ods"]:
        if "xl/workbook.xml" in self.parts:
            return "xlsx"
        if "encrypted-package" in self.parts:
            raise self._locked("encrypted-package")
        if {"mimetype", "content.xml"} <= self.parts.keys() and next(self.pieces("mimetype"), b"").startswith(
            _ODS_TYPE
        ):
            return "ods"
        given = "an archive with the parts " + ", ".join(map(repr, list(self.parts)[:4])) if self.parts else "none"
        todo = "Save it from a spreadsheet program as .xlsx or .ods."
        raise refusal(self.file, "", "the parts of an xlsx or ods file", given, todo)

    def _packed(self, info: zipfile.ZipInfo) -> memoryview:
        """Give the packed bytes of a part, as its local header places them."""
        start = info.header_offset
        header = self._data[start : start + 30]
        name = info.orig_filename.encode("utf-8" if info.flag_bits & 0x800 else "cp437")
        begin = start + 30 + int.from_bytes(header[26:28], "little") + int.from_bytes(header[28:30], "little")
        same = header.startswith(ZIP) and self._data[start + 30 : start + 30 + len(name)] == name
        packed = memoryview(self._data)[begin : begin + info.compress_size]
        if not same or int.from_bytes(header[26:28], "little") != len(name) or len(packed) != info.compress_size:
            raise self._damaged(info.filename, "one whose header says otherwise, or that is cut short")
        return packed

    def _damaged(self, part: str, given: str) -> UnreadableFile:
        todo = "Open it in a spreadsheet program and save it anew, or copy it again from where it came."
        return refusal(self.file, part, "a whole archive" if not part else "a whole part", given, todo)

    def _swelling(self, part: str, given: str) -> UnreadableFile:
        wanted = f"at most {MOST_PARTS} parts of {MOST_BYTES} bytes together, each at most {MOST_RATIO} times as packed"
        todo = "Such files are made to do harm, or are far larger than any sheet of marks: leave it out."
        return refusal(self.file, part, wanted, given, todo)

    def _locked(self, part: str) -> UnreadableFile:
        todo = "Open it in a spreadsheet program and save it without a password."
        return refusal(self.file, part, "a spreadsheet without a password", "a locked one", todo)


def _inflated(packed: memoryview) -> Iterator[bytes]:
    """Unpack deflated bytes in pieces of bounded size."""
    unpack = zlib.decompressobj(-zlib.MAX_WBITS)
    for start in range(0, len(packed), _PIECE):
        waiting: bytes | memoryview = packed[start : start + _PIECE]
        while piece := unpack.decompress(waiting, _PIECE):
            yield piece
            waiting = unpack.unconsumed_tail
    if not unpack.eof:
        raise zlib.error("it ends too early")
