"""Files that are written whole or not at all: at every moment the old content stands, or the new."""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from os import PathLike
from pathlib import Path
from typing import TypeAlias

from lanewise.errors import LanewiseError
from lanewise.files.naming import check_extras
from lanewise.hooks import Rendered
from lanewise.model.record import encode
from lanewise.model.studies import Study

AnyPath: TypeAlias = str | PathLike[str]

_SHOWN = 40
"""How many letters of a file's name its temporary file shows; with the rest they stay below 255 bytes."""


def write_whole(path: AnyPath, data: bytes, *, overwrite: bool = True) -> Path:
    """Write a file so that it holds either its old content or the new, whenever the program ends.

    Parameters
    ----------
    path : str or path-like
        Where to. Where a symbolic link stands there, the link stays and the file that it points to is written.
    data : bytes
        The whole content.
    overwrite : bool, optional
        False to refuse where something stands there already.

    Returns
    -------
    pathlib.Path
        The path as given.

    Raises
    ------
    LanewiseError
        If the folder is missing, the place is a folder or write-protected, the disk is full, or the file is there and
        must not be overwritten. The old file, if there was one, is untouched.

    Notes
    -----
    The content goes to a temporary file in the same folder, is forced to the disk, and takes the name in one step;
    then the folder is forced to the disk. Permissions of an existing file are kept. A process that is killed
    in between leaves the temporary file behind; its name begins with a dot and ends in ``.part``.
    Another hard link to an old file keeps the old content. A device or pipe is written to directly.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder) / "record.json", b"{}").read_bytes()
    b'{}'
    """
    return write_together([(path, data)], overwrite=overwrite)[0]


def write_together(files: Sequence[tuple[AnyPath, bytes]], *, overwrite: bool = True) -> list[Path]:
    """Write several files that belong together.

    All are written to temporary files first; only when that has worked do they take their names, in the order given.
    So a full disk changes nothing, and whoever finds the last file new finds the others new as well.

    Parameters
    ----------
    files : sequence of (path, bytes)
        In the order in which they take their names.
    overwrite : bool, optional
        False to refuse where one of them is there already.

    Returns
    -------
    list of pathlib.Path
        The paths as given.

    Raises
    ------
    LanewiseError
        As in `write_whole`.
    """
    paths = [Path(path) for path, _ in files]
    targets = [_target(path, overwrite) for path in paths]
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, target, (_, data) in zip(paths, targets, files, strict=True):
            with _said(path):
                if _is_special(target):
                    target.write_bytes(data)
                else:
                    temporary = target.with_name(f".{target.name[:_SHOWN]}.{secrets.token_hex(6)}.part")
                    waiting.append((temporary, target))
                    _write_temporary(temporary, target, data)
        for temporary, target in waiting:
            if target == waiting[-1][1]:  # the others have to be on the disk before it
                _force_folders(targets)
            with _said(target):
                os.replace(temporary, target)
        _force_folders(targets)
    finally:
        for temporary, _ in waiting:
            with suppress(OSError):
                temporary.unlink(missing_ok=True)
    return paths


def write(path: AnyPath, rendered: Rendered, *, overwrite: bool = True) -> list[Path]:
    """Write a laid-out report: its main file, and beside it the files that belong to it.

    Parameters
    ----------
    path : str or path-like
        Where the main file goes.
    rendered : Rendered
        From `lanewise.files.rendering.render`.
    overwrite : bool, optional
        False to refuse where one of the files is there already.

    Returns
    -------
    list of pathlib.Path
        What was written, the main file first.

    Raises
    ------
    StyleError
        If the name of a file beside the main one is not a plain file name.
    LanewiseError
        As in `write_whole`.
    """
    path = Path(path)
    check_extras(rendered.extras, path.name)
    extras = [(path.with_name(name), data) for name, data in rendered.extras.items()]
    *others, main = write_together([*extras, (path, rendered.main)], overwrite=overwrite)
    return [main, *others]


def save(study: Study, path: AnyPath, *, overwrite: bool = True) -> Path:
    """Write a study as its JSON record, which `lanewise.files.reading.read` reads back without loss.

    Parameters
    ----------
    study : Study
        What to write.
    path : str or path-like
        Where to.
    overwrite : bool, optional
        False to refuse where something stands there already.

    Returns
    -------
    pathlib.Path
        The path as given.

    Raises
    ------
    LanewiseError
        As in `write_whole`.
    """
    return write_whole(path, encode(study), overwrite=overwrite)


def _target(path: Path, overwrite: bool) -> Path:
    """Follow links, and refuse what can be refused before anything is written."""
    with _said(path):
        target = Path(os.path.realpath(path))
        if target.is_symlink():
            raise LanewiseError(
                f"{str(path)!r} cannot be written: the links there lead in a circle. Take another name."
            )
        there = target.exists()
        if target.is_dir():
            raise LanewiseError(f"{str(path)!r} cannot be written: a folder stands there. Give the name of a file.")
        if there and not overwrite:
            raise LanewiseError(
                f"{str(path)!r} is there already and was left alone. Allow overwriting, or take another name."
            )
        if there and not os.access(target, os.W_OK):
            raise LanewiseError(f"{str(path)!r} cannot be written: it is write-protected. Take another name.")
        if not target.parent.is_dir():
            raise LanewiseError(
                f"{str(path)!r} cannot be written: there is no folder {str(path.parent)!r}. Make it first."
            )
    return target


def _is_special(target: Path) -> bool:
    return target.exists() and not stat.S_ISREG(target.stat().st_mode)


def _write_temporary(temporary: Path, target: Path, data: bytes) -> None:
    old = target.stat() if target.exists() else None
    mode = 0o666 if old is None else 0o600  # less the user's mask, as for every new file; an old one may be private
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with open(os.open(temporary, flags, mode), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if old is not None:
        if hasattr(os, "chown"):
            with suppress(OSError):  # only the administrator may give files away
                os.chown(temporary, old.st_uid, old.st_gid)
        os.chmod(temporary, stat.S_IMODE(old.st_mode))


def _force_folders(targets: Sequence[Path]) -> None:
    """Force the names in the folders of files to the disk, where the system can do that."""
    if os.name == "nt":
        return
    for folder in {target.parent for target in targets}:
        with suppress(OSError):  # some network drives cannot
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


@contextmanager
def _said(path: Path) -> Iterator[None]:
    """Turn an error of the operating system into one of ours, with the path as it was given."""
    try:
        yield
    except LanewiseError:
        raise
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise LanewiseError(f"{str(path)!r} cannot be written: {reason}. What stood there before stands.") from fault
