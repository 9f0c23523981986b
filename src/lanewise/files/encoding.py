"""Bytes as text: byte-order mark, UTF-8, UTF-16 without a mark, else Windows-1252."""

from __future__ import annotations

import codecs

from lanewise.errors import UnreadableFile

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # begins with the mark of UTF-16, and so comes before it
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_GUESS = "cp1252"
"""What is tried where nothing else fits: the encoding of older spreadsheets, in which nearly every byte is a sign."""
_SHARE = 0.4
"""Share of zero bytes on one side, none or few on the other, from which text is taken for UTF-16 without a mark."""


def _shown(data: bytes) -> str | None:
    """Give the encoding that the bytes show by themselves; empty for binary content, None where they show none."""
    for mark, codec in _MARKS:
        if data.startswith(mark):
            return codec
    return _two_bytes(data) if b"\0" in data else None


def _two_bytes(data: bytes) -> str:
    """Tell UTF-16 without a mark from binary content; empty for the latter."""
    even, odd = data[::2].count(0) / (len(data) / 2), data[1::2].count(0) / (len(data) / 2)
    if min(even, odd) > 0.01 or max(even, odd) < _SHARE:
        return ""
    codec = "utf-16-le" if odd > even else "utf-16-be"
    text = codecs.getincrementaldecoder(codec)("replace").decode(data[:4096])
    return codec if all(sign.isprintable() or sign in "\t\r\n\f" for sign in text) else ""


def head_text(head: bytes) -> str | None:
    r"""Give the beginning of a file as text; None where it is no text.

    Signs that are not possible in the encoding become U+FFFD, and a sign cut at the end is left out: recognisers look
    at words, and the reader meets the whole content later.

    Examples
    --------
    >>> head_text("µ".encode()[:1]), head_text(b"\x00\x01")
    ('', None)
    """
    codec = _shown(head)
    if codec is None:
        try:
            return codecs.getincrementaldecoder("utf-8")().decode(head)
        except UnicodeDecodeError:
            codec = _GUESS
    if not codec:
        return None
    text = codecs.getincrementaldecoder(codec)("replace").decode(head)
    return None if "\0" in text else text


def whole_text(data: bytes, name: str) -> str:
    """Give the whole content of a file as text, line ends as they are.

    Parameters
    ----------
    data : bytes
        The content.
    name : str
        Name of the file, for the message.

    Raises
    ------
    UnreadableFile
        If it is no text, or a byte is not possible in its encoding; the text names the byte and its line.
    """
    codec = _shown(data)
    if codec is None:
        try:
            return data.decode("utf-8")
        except UnicodeDecodeError:
            codec = _GUESS
    if not codec:
        at = data.index(b"\0")
        raise UnreadableFile(f"{name}: wanted text, given binary content (NUL byte at byte {at + 1}).")
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise UnreadableFile(
            f"{name}, line {line}: byte {fault.start + 1} (0x{data[fault.start]:02x}) is not possible in {codec}. "
            "Save the file as UTF-8."
        ) from fault
    if "\0" in text:
        raise UnreadableFile(f"{name}, line {text.count(chr(10), 0, text.index(chr(0))) + 1}: holds a NUL character.")
    return text
