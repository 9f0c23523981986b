"""What was given to read, looked at before any format is asked: paths, bytes, open files."""

from __future__ import annotations

import builtins
import hashlib
import io
import os
import stat
from collections.abc import Iterable
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path
from typing import Any, BinaryIO, TypeAlias

from lanewise.errors import FormatError
from lanewise.files.encoding import head_text, whole_text
from lanewise.hooks import Sample
from lanewise.plugins.names import nearest

HEAD = 64 * 1024
LIMIT = 256 * 1024 * 1024

One: TypeAlias = str | PathLike[str] | builtins.bytes | bytearray | memoryview | BinaryIO
Given: TypeAlias = One | Iterable[One]


@dataclass(frozen=True, slots=True)
class Content:
    """The content of one file in memory; what a reader gets as its source.

    Attributes
    ----------
    name : str
        File name without its folder.
    data : bytes
        The whole content.
    """

    name: str
    data: builtins.bytes
    _open: list[BinaryIO] = field(default_factory=list, repr=False, compare=False)

    @property
    def size(self) -> int:
        """Length of the content in bytes."""
        return len(self.data)

    @property
    def sha256(self) -> str:
        """SHA-256 of the content, as 64 hexadecimal digits."""
        return hashlib.sha256(self.data).hexdigest()

    def open(self) -> BinaryIO:
        """Open the content at its start."""
        self._open.append(io.BytesIO(self.data))
        return self._open[-1]

    def bytes(self) -> builtins.bytes:
        """Give the whole content."""
        return self.data

    def text(self) -> str:
        """Give the whole content as text, line ends as they are."""
        return whole_text(self.data, self.name)

    def sample(self) -> Sample:
        """Give the part that recognisers see."""
        head = self.data[:HEAD]
        return Sample(self.name, head, len(self.data), head_text(head))

    def close(self) -> None:
        """Close every stream that was opened."""
        while self._open:
            self._open.pop().close()


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing that was given to read.

    Attributes
    ----------
    name : str
        File name without its folder.
    path : pathlib.Path or None
        Where it lies; None for bytes and open files.
    data : bytes or None
        Its content, where it is no path.
    """

    name: str
    path: Path | None = None
    data: builtins.bytes | None = None


def pieces_of(given: Given, name: str | None = None, limit: int = LIMIT) -> list[Piece]:
    """Take apart what was given to read; opens no path.

    Parameters
    ----------
    given : path, bytes-like, open binary file, or an iterable of these
        What to read.
    name : str, optional
        Name of the file, for bytes and open files.
    limit : int, optional
        Largest size of one file. [B]

    Returns
    -------
    list of Piece
        At least one.

    Raises
    ------
    FormatError
        If it is something else, nothing, or bytes without a name.
    """
    if isinstance(given, (str, PathLike, builtins.bytes, bytearray, memoryview)) or hasattr(given, "read"):
        return [_piece(given, name, limit)]
    if not isinstance(given, Iterable):
        raise FormatError(f"wanted a path, bytes or an open binary file, given {type(given).__name__}")
    pieces = [_piece(one, None, limit) for one in given]
    if not pieces:
        raise FormatError("wanted at least one file, given an empty list. Does the pattern match any file?")
    if name is not None:
        raise FormatError(f"name={name!r} is for one thing to read, given {len(pieces)}")
    paths = [os.path.realpath(piece.path) for piece in pieces if piece.path is not None]
    twice = sorted({Path(path).name for path in paths if paths.count(path) > 1})
    if twice:
        raise FormatError(
            f"{twice[0]} stands twice among the files. Name each file once, or its readings count double."
        )
    return pieces


def _piece(given: object, name: str | None, limit: int) -> Piece:
    if isinstance(given, (str, PathLike)):
        path = Path(os.fsdecode(given))
        return Piece(name or path.name or str(path), path)
    if isinstance(given, (builtins.bytes, bytearray, memoryview)):
        if not name:
            raise FormatError("bytes have no file name: give one with name=, for instance name='bench-1.csv'")
        return _checked(Piece(name, data=builtins.bytes(given)), limit)
    if hasattr(given, "read"):
        return _checked(_from_file(given, name, limit), limit)
    raise FormatError(f"wanted a path, bytes or an open binary file, given {type(given).__name__}")


def _from_file(file: Any, name: str | None, limit: int) -> Piece:
    own = getattr(file, "name", None)
    name = name or (Path(own).name if isinstance(own, str) else "")
    if not name:
        raise FormatError("the open file has no name: give one with name=, for instance name='bench-1.csv'")
    if isinstance(file, io.TextIOBase):
        raise FormatError(f"{name}: wanted a file opened for bytes, given one opened as text. Open it with mode 'rb'.")
    if file.seekable() and file.tell() != 0:
        raise FormatError(f"{name}: the open file stands at byte {file.tell()}, not at its start. Call seek(0) first.")
    data = file.read(limit + 1)
    if not isinstance(data, builtins.bytes):
        raise FormatError(f"{name}: wanted bytes from the open file, given {type(data).__name__}")
    return Piece(name, data=data)


def _checked(piece: Piece, limit: int) -> Piece:
    assert piece.data is not None
    _check_size(piece.name, len(piece.data), limit)
    return piece


def _check_size(name: str, size: int, limit: int) -> None:
    if size == 0:
        raise FormatError(f"{name} is empty (0 bytes). Was it saved?")
    if size > limit:
        raise FormatError(
            f"{name} holds more than the limit of {limit / 2**20:.3g} MB. If that is meant, give a higher limit= [B]."
        )


def check_piece(piece: Piece, limit: int = LIMIT) -> None:
    """Refuse a file that cannot be read whatever its format: missing, a folder, empty, too large, not allowed.

    Raises
    ------
    FormatError
        With what was found at the path and what to do.
    """
    path = piece.path
    if path is None:
        return
    try:
        status = path.stat()
    except (FileNotFoundError, NotADirectoryError) as fault:
        raise FormatError(f"there is no file {str(path)!r}.{_near(path)}") from fault
    except (OSError, ValueError) as fault:
        raise FormatError(f"{str(path)!r} cannot be reached: {getattr(fault, 'strerror', None) or fault}") from fault
    if stat.S_ISDIR(status.st_mode):
        raise FormatError(
            f"{str(path)!r} is a folder. Name its files, for instance read(sorted(Path({str(path)!r}).glob('*.csv')))."
        )
    if not (stat.S_ISREG(status.st_mode) or stat.S_ISFIFO(status.st_mode)):
        raise FormatError(f"{str(path)!r} is a device, not a file")
    if not os.access(path, os.R_OK):
        raise FormatError(f"{str(path)!r} may not be read by this user. Ask its owner, or copy it.")
    if stat.S_ISREG(status.st_mode):
        _check_size(piece.name, status.st_size, limit)


def load_piece(piece: Piece, limit: int = LIMIT) -> Content:
    """Read one file whole.

    Raises
    ------
    FormatError
        If that is not possible, or there turns out to be nothing, or too much.
    """
    return Content(piece.name, _bytes(piece, limit, limit + 1))


def sample_piece(piece: Piece, limit: int = LIMIT) -> Sample:
    """Read as much of one file as recognisers see."""
    head = _bytes(piece, limit, HEAD)[:HEAD]
    size = piece.path.stat().st_size if piece.path else len(piece.data or b"")
    return Sample(piece.name, head, size or len(head), head_text(head))


def _bytes(piece: Piece, limit: int, most: int) -> builtins.bytes:
    if piece.path is None:
        return piece.data or b""
    try:
        with piece.path.open("rb") as file:
            data = file.read(most)
    except OSError as fault:
        raise FormatError(f"{str(piece.path)!r} cannot be read: {fault.strerror or fault}") from fault
    _check_size(piece.name, len(data), limit)
    return data


def _near(path: Path) -> str:
    try:
        names = os.listdir(path.parent)
    except OSError:
        return f" There is no folder {str(path.parent)!r} either."
    return nearest(path.name, names) or f" Is {str(path.parent)!r} the right folder?"
