"""Files of a supplement, and the archive that holds them: the same files give the same bytes."""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass

_ACTING = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff"  # controls, halves of surrogate pairs
    "\u202a-\u202e\u2066-\u2069]"  # marks that turn the direction of what follows
)
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip archive can state
_READABLE = 0o100644 << 16  # a plain file that all may read and its owner may change
_UNIX = 3


@dataclass(frozen=True, slots=True)
class Part:
    """One file of a supplement.

    Attributes
    ----------
    path : str
        Where it lies in the archive, with forward slashes.
    data : bytes
        Its content.
    media_type : str
        Such as ``text/csv``.
    title, description : str
        What it is, in a few words and in a sentence or more.
    """

    path: str
    data: bytes
    media_type: str
    title: str
    description: str

    @property
    def sha256(self) -> str:
        """SHA-256 of the content, as 64 hexadecimal digits."""
        return hashlib.sha256(self.data).hexdigest()


def archive(parts: Iterable[Part]) -> bytes:
    """Put files into one zip archive, in the order given, with fixed times and permissions.

    Parameters
    ----------
    parts : iterable of Part
        The files; no path stands twice.

    Returns
    -------
    bytes
        The archive. Another build of the compressor may pack the same files into other bytes.

    Examples
    --------
    >>> held = archive([Part("notes.txt", b"two dyes", "text/plain", "Notes", "What was seen.")])
    >>> zipfile.ZipFile(io.BytesIO(held)).read("notes.txt")
    b'two dyes'
    """
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for part in parts:
            entry = zipfile.ZipInfo(part.path, _FIRST_DAY)
            entry.create_system, entry.external_attr = _UNIX, _READABLE
            packed.writestr(entry, part.data, zipfile.ZIP_DEFLATED, 6)
    return stream.getvalue()


def visible(text: str) -> str:
    r"""Show characters that act, or that text files cannot hold, by their numbers; everything else stays.

    These are control characters but for tabs and line breaks, marks that turn the reading direction, and halves of
    surrogate pairs. Nothing is dropped in silence.

    Examples
    --------
    >>> visible("blue\x00 ink \u202e12.34")
    'blue⟨U+0000⟩ ink ⟨U+202E⟩12.34'
    """
    return _ACTING.sub(lambda found: f"⟨U+{ord(found[0]):04X}⟩", text)


def one_line(text: str) -> str:
    r"""Give a text as one line for readers, `visible` throughout.

    Examples
    --------
    >>> one_line("blue\nink")
    'blue ink'
    """
    return visible(" ".join(text.split()))


def to_json(content: object) -> bytes:
    """Give content as JSON that people can read as well."""
    return (visible(json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1)) + "\n").encode()


def slug(text: str) -> str:
    """Make a name of lower-case ASCII letters, digits and hyphens; nothing may be left of a text.

    Examples
    --------
    >>> slug("Writing inks, bench 3")
    'writing-inks-bench-3'
    """
    return re.sub("[^a-z0-9]+", "-", text.lower())[:60].strip("-")
