"""A folder of new files, written whole or not at all."""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from lanewise.errors import LanewiseError


def write_folder(files: Mapping[str, str], folder: Path) -> list[Path]:
    """Write files into a folder that is new or empty.

    Parameters
    ----------
    files : mapping of str to str
        Texts by their place in the folder, with slashes: ``tests/test_contract.py``.
    folder : pathlib.Path
        Where to. It is made if it is not there; the folder around it must be.

    Returns
    -------
    list of pathlib.Path
        What was written, in the order given.

    Raises
    ------
    LanewiseError
        If a file or a folder with content stands there, if there is no folder to make it in, or if the disk refuses.
        Nothing of ours is left there then.

    Notes
    -----
    The files are written to a temporary folder first, whose name begins with a dot and ends in ``.part``. A new folder
    is that one, renamed. An empty one stays the folder it is, since somebody may stand in it, and the files move in.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place:
    ...     [path.name for path in write_folder({"README.md": "Inks"}, Path(place) / "inks")]
    ['README.md']
    """
    with _said(folder):
        target = Path(os.path.realpath(folder))
        _refuse(folder, target)
        there = target.is_dir()
        temporary = (target if there else target.parent) / f".{target.name[:40]}.{secrets.token_hex(6)}.part"
        try:
            _fill(temporary, files)
            if there:
                _move_in(temporary, target)
            else:
                os.rename(temporary, target)
        finally:
            shutil.rmtree(temporary, ignore_errors=True)
    return [folder / place for place in files]


def _refuse(folder: Path, target: Path) -> None:
    """Refuse what can be refused before anything is written."""
    if not target.is_dir():
        if os.path.lexists(target):
            raise LanewiseError(f"{str(folder)!r} wanted a new or empty folder, given a file. Take another name.")
        if not target.parent.is_dir():
            raise LanewiseError(
                f"{str(folder)!r} cannot be made: there is no folder {str(folder.parent)!r}. Make it first."
            )
        return
    first = min((path.name for path in target.iterdir()), default="")
    if first:
        raise LanewiseError(
            f"{str(folder)!r} wanted a new or empty folder, given one that holds {first!r}. "
            "It was left alone; take another one."
        )


def _fill(folder: Path, files: Mapping[str, str]) -> None:
    folder.mkdir()
    for place, text in files.items():
        path = folder / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


def _move_in(temporary: Path, target: Path) -> None:
    """Move what a folder holds into the one around it; take it back where that fails."""
    moved: list[Path] = []
    try:
        for path in sorted(temporary.iterdir()):
            os.rename(path, target / path.name)
            moved.append(path)
    except OSError:
        for path in moved:
            os.rename(target / path.name, path)
        raise


@contextmanager
def _said(folder: Path) -> Iterator[None]:
    """Turn an error of the operating system into one of ours, with the folder as it was given."""
    try:
        yield
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise LanewiseError(f"{str(folder)!r} cannot be written: {reason}. Nothing was left there.") from fault
