"""Bytes as text. The expected bytes are those of Python's own codecs, which follow the Unicode Standard."""

from __future__ import annotations

import codecs

import pytest

from lanewise.errors import UnreadableFile
from lanewise.files.encoding import head_text, whole_text

TEXT = "lane,colour,µm\nA,grün,5\r\nB,“blue”,6\n"

CASES = {
    "UTF-8": TEXT.encode("utf-8"),
    "UTF-8 with mark": TEXT.encode("utf-8-sig"),
    "UTF-16 little end first with mark": codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
    "UTF-16 big end first with mark": codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
    "UTF-16 little end first": TEXT.encode("utf-16-le"),
    "UTF-16 big end first": TEXT.encode("utf-16-be"),
    "UTF-32 with mark": codecs.BOM_UTF32_LE + TEXT.encode("utf-32-le"),
    "Windows-1252": TEXT.encode("cp1252"),
    "ASCII": b"lane,spot_mm\nA,32\n",
}


@pytest.mark.parametrize("data", CASES.values(), ids=CASES)
def test_text_comes_back_with_its_line_ends(data):
    wanted = TEXT if len(data) > 20 else data.decode()
    assert whole_text(data, "bench-1.csv") == wanted
    assert head_text(data) == wanted


@pytest.mark.parametrize(
    "data",
    [
        b"PK\x03\x04\x14\x00\x00\x00\x08\x00",
        b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
        bytes(range(256)),
        b"\x00\x01",
    ],
    ids=["zip", "PNG", "all bytes", "two bytes"],
)
def test_binary_content_is_no_text(data):
    assert head_text(data) is None
    with pytest.raises(
        UnreadableFile, match=r"bench-1\.csv: wanted text, given binary content \(NUL byte at byte \d+\)"
    ):
        whole_text(data, "bench-1.csv")


@pytest.mark.parametrize("end", range(1, 5))
def test_a_head_that_ends_inside_a_sign(end):
    head = ("ink " + "\N{ARTIST PALETTE}").encode()[: 4 + end]
    assert head_text(head) == ("ink \N{ARTIST PALETTE}" if end == 4 else "ink ")


def test_a_byte_that_is_not_possible_is_named():
    with pytest.raises(UnreadableFile, match=r"bench-1\.csv, line 2: byte 8 \(0x81\) is not possible in cp1252\. Save"):
        whole_text(b"lane,x\n\x81A", "bench-1.csv")


def test_a_cut_file_with_a_mark_is_named():
    with pytest.raises(UnreadableFile, match="is not possible in utf-16"):
        whole_text(codecs.BOM_UTF16_LE + b"a", "bench-1.csv")


def test_a_nul_behind_a_mark():
    with pytest.raises(UnreadableFile, match="line 2: holds a NUL character"):
        whole_text("a\n\0".encode("utf-8-sig") + b"x" * 3, "bench-1.csv")


def test_nothing_is_text():
    assert whole_text(b"", "x") == head_text(b"") == ""
