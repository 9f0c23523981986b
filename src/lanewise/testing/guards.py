"""Watching what code does outside its own memory: network, files that it writes, other programs.

Python reports such steps to audit hooks. One hook is set for the process, once, and does nothing except inside
`watched`. It is a test aid and no wall: a compiled library that writes by itself is not seen.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias

Kind: TypeAlias = Literal["network", "write", "process"]

_KINDS: dict[str, Kind] = {
    **dict.fromkeys(
        (
            *("socket.connect", "socket.bind", "socket.sendto", "socket.sendmsg", "socket.getaddrinfo"),
            *("socket.gethostbyname", "socket.gethostbyaddr", "socket.getnameinfo", "urllib.Request"),
            *("http.client.connect", "ftplib.connect", "smtplib.connect", "imaplib.open", "poplib.connect"),
        ),
        "network",
    ),
    **dict.fromkeys(
        (
            *("os.mkdir", "os.remove", "os.rename", "os.rmdir", "os.truncate", "os.link", "os.symlink", "os.chmod"),
            *("os.chown", "os.utime", "shutil.copyfile", "shutil.move", "shutil.rmtree", "shutil.make_archive"),
            *("tempfile.mkstemp", "tempfile.mkdtemp", "sqlite3.connect"),
        ),
        "write",
    ),
    **dict.fromkeys(
        (
            *("subprocess.Popen", "os.system", "os.exec", "os.fork", "os.forkpty", "os.posix_spawn", "os.spawn"),
            *("os.startfile", "pty.spawn"),
        ),
        "process",
    ),
}
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_LIBRARY = os.path.dirname(os.__file__)


@dataclass(frozen=True, slots=True)
class Event:
    """One step that was seen, and held back.

    Attributes
    ----------
    kind : {"network", "write", "process"}
    name : str
        Name of the audit event: ``socket.connect``.
    about : str
        What it was about: an address, a path, a command.
    where : str
        File and line of the code that took it.
    """

    kind: Kind
    name: str
    about: str
    where: str

    def __str__(self) -> str:
        return f"{self.name} {self.about} in {self.where}"


class _State:
    seen: list[Event] | None = None
    hooked = False


@contextmanager
def watched() -> Iterator[list[Event]]:
    """Watch the whole process, and hold back what is seen with an ``OSError``.

    Yields
    ------
    list of Event
        Fills while the block runs. It is the better witness: the code may swallow the error.

    Examples
    --------
    >>> with watched() as seen:
    ...     try:
    ...         _ = open("somewhere.txt", "w")
    ...     except OSError as held_back:
    ...         pass
    >>> seen[0].kind, seen[0].about
    ('write', "'somewhere.txt'")
    """
    if not _State.hooked:
        sys.addaudithook(_hook)
        _State.hooked = True
    before = _State.seen
    seen: list[Event] = []
    _State.seen = seen
    try:
        yield seen
    finally:
        _State.seen = before


def _hook(name: str, args: tuple[object, ...]) -> None:
    seen = _State.seen
    if seen is None:
        return
    kind: Kind | None = "write" if name == "open" and _is_writing(args) else _KINDS.get(name)
    if kind is None:
        return
    event = Event(kind, name, ", ".join(repr(one)[:80] for one in args[:1] if one is not None), _where())
    seen.append(event)
    raise PermissionError(f"held back by the contract kit: {event}")


def _is_writing(args: tuple[object, ...]) -> bool:
    """Tell whether ``open`` is for writing; compiled modules, which Python itself puts away, are passed over."""
    path, mode, flags = (*args, None, None, None)[:3]
    if not isinstance(path, (str, bytes)):
        return False  # a number: what stands behind it was opened before
    text = os.fsdecode(path)
    if text == os.devnull or "__pycache__" in text:
        return False
    return (isinstance(mode, str) and any(sign in mode for sign in "wax+")) or bool(
        isinstance(flags, int) and flags & _WRITING
    )


def _where() -> str:
    """Find the innermost code that belongs neither to Python's library nor to this module."""
    frame = sys._getframe(2)
    last = frame
    while frame is not None:
        file = frame.f_code.co_filename
        if (file != __file__ and not file.startswith(("<frozen", _LIBRARY))) or "site-packages" in file:
            last = frame
            break
        frame = frame.f_back  # type: ignore[assignment]
    return f"{Path(last.f_code.co_filename).name}, line {last.f_lineno}"
