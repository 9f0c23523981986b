"""Reading: what was given, its format, its reader, the check of its readings, one study with its provenance."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import msgspec

from lanewise.errors import FormatError, LanewiseError, OptionError, Problem, ReadingsError
from lanewise.files.importing import import_content
from lanewise.files.merging import merge
from lanewise.files.sources import LIMIT, Given, Piece, check_piece, load_piece, pieces_of, sample_piece
from lanewise.model.studies import Study
from lanewise.plugins.choosing import Answer, ask
from lanewise.plugins.registry import Registry, default_registry


def read(
    source: Given,
    *,
    format: str | None = None,
    options: Mapping[str, object] | None = None,
    registry: Registry | None = None,
    title: str | None = None,
    name: str | None = None,
    limit: int = LIMIT,
) -> Study:
    """Read one file, or several that belong together, as a study.

    Parameters
    ----------
    source : path, bytes-like, open binary file, or an iterable of these
        What to read.
    format : str, optional
        Name of the import format, or ``distribution:name``; found out for each file if left out. A format that is
        named is obeyed, whatever its recogniser says.
    options : mapping of str to object, optional
        Options of the format.
    registry : Registry, optional
        Where formats are looked for; that of the process if left out.
    title : str, optional
        Title of the study; that of the files if left out.
    name : str, optional
        Name of the file, for bytes and open files.
    limit : int, optional
        Largest size of one file. [B]

    Returns
    -------
    Study
        Plates and inputs in the order of the files; each input has name, size, SHA-256, format and options. Plate
        labels that stand in more than one file get the name of their file in front.

    Raises
    ------
    FormatError
        If a file is missing, a folder, empty or too large; if no format or several recognise it; if its
        format cannot make sense of it; if an option is not allowed. Nothing is tried with another format.
    RecordError
        If what was read is not possible.
    ReadingsError
        If readings have faults; it holds those of all files.
    Exception
        Whatever a plugin raises that has a fault of its own, with a note that names it.

    Notes
    -----
    Missing files, folders and empty files are reported before any format is asked. Of several files all are looked
    at; where more than one cannot be read, one `ReadingsError` names each.
    """
    registry = registry or default_registry()
    pieces = pieces_of(source, name, limit)
    results = list(_results(pieces, format, options, registry, limit))
    _raise_faults(results)
    study = merge([(result.piece.path or Path(result.piece.name), result.study) for result in results if result.study])
    return study if title is None else msgspec.structs.replace(study, title=title)


def check(
    source: Given,
    *,
    format: str | None = None,
    options: Mapping[str, object] | None = None,
    registry: Registry | None = None,
    name: str | None = None,
    limit: int = LIMIT,
) -> tuple[Problem, ...]:
    """Find what `read` would refuse, without raising.

    Parameters
    ----------
    source, format, options, registry, name, limit
        As in `read`.

    Returns
    -------
    tuple of Problem
        In the order of the files; empty where nothing is wrong. A file that cannot be read at all is one problem with
        `row` None.

    Raises
    ------
    FormatError
        If the call itself is wrong: nothing given, no format of that name, an option that is not allowed.
    Exception
        Whatever a plugin raises that has a fault of its own, with a note that names it.
    """
    registry = registry or default_registry()
    results = list(_results(pieces_of(source, name, limit), format, options, registry, limit))
    found = tuple(problem for result in results for problem in result.problems)
    if found:
        return found
    try:
        merge([(result.piece.path or Path(result.piece.name), result.study) for result in results if result.study])
    except LanewiseError as error:
        return (_as_problem("all files together", error),)
    return ()


def detect(
    source: Given, *, registry: Registry | None = None, name: str | None = None, limit: int = LIMIT
) -> list[Answer]:
    """Ask every import format what it says about one file; reads no more than its first 64 KiB.

    Parameters
    ----------
    source : path, bytes-like, or open binary file
        The file.
    registry, name, limit
        As in `read`.

    Returns
    -------
    list of Answer
        Best claims first, each with its reason.

    Raises
    ------
    FormatError
        If the file is missing, a folder, empty or too large, or if several were given.
    """
    pieces = pieces_of(source, name, limit)
    if len(pieces) != 1:
        raise FormatError(f"wanted one file to ask about, given {len(pieces)}")
    check_piece(pieces[0], limit)
    return ask(registry or default_registry(), sample_piece(pieces[0], limit))


@dataclass(frozen=True, slots=True)
class _Result:
    """What became of one file: a study, or an error, or problems."""

    piece: Piece
    study: Study | None = None
    error: LanewiseError | None = None

    @property
    def problems(self) -> tuple[Problem, ...]:
        if isinstance(self.error, ReadingsError):
            return self.error.problems
        return (_as_problem(self.piece.name, self.error),) if self.error else ()


def _results(
    pieces: Sequence[Piece],
    format: str | None,
    options: Mapping[str, object] | None,
    registry: Registry,
    limit: int,
) -> Iterator[_Result]:
    """Look at all files; read them only if none of them is missing or the like."""
    unreachable = list(_unreachable(pieces, limit))
    if unreachable:
        yield from unreachable
        return
    if format is not None:
        registry.format(format)
    for piece in pieces:
        try:
            with closing(load_piece(piece, limit)) as content:
                yield _Result(piece, import_content(content, format, options, registry))
        except OptionError:
            raise
        except LanewiseError as error:
            yield _Result(piece, error=error)


def _unreachable(pieces: Sequence[Piece], limit: int) -> Iterator[_Result]:
    for piece in pieces:
        try:
            check_piece(piece, limit)
        except FormatError as error:
            yield _Result(piece, error=error)


def _raise_faults(results: Sequence[_Result]) -> None:
    """Raise the one error there is, or one that holds the problems of all files."""
    errors = [result.error for result in results if result.error is not None]
    if len(errors) == 1:
        raise errors[0]
    if errors:
        raise ReadingsError([problem for result in results for problem in result.problems])


def _as_problem(name: str, error: LanewiseError) -> Problem:
    """Put an error of a whole file into the form of a problem: its first sentence, and the rest as what to do."""
    said, *rest = re.split(r"(?<=[.?!])\s+|:?\n", str(error).removeprefix(f"{name}: "), maxsplit=1)
    todo = rest[0].strip() if rest else "Correct the file, or leave it out."
    return Problem(name, None, "", "a file that can be read", f"one that cannot: {said.rstrip('.')}", todo)
