"""A library of Rf values as a plain file: CSV, one row an entry, or JSON with the same names."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Mapping
from pathlib import Path

from lanewise.errors import LanewiseError, OptionError, Problem, ReadingsError, RecordError, UnreadableFile
from lanewise.files.encoding import whole_text
from lanewise.files.library_store import ENDINGS, is_store, read_store, write_store
from lanewise.files.writing import AnyPath, write_whole
from lanewise.tables.rf_library import COLUMNS, LibraryEntry, RfLibrary

KIND = "lanewise Rf library"
SCHEMA = 1
MAY_BE_EMPTY = ("colour",)
BOM = "\ufeff"


def read_library(path: AnyPath) -> RfLibrary:
    """Read a library of Rf values.

    Parameters
    ----------
    path : str or path-like
        A CSV or JSON file, or an SQLite store; told apart by their content.

    Returns
    -------
    RfLibrary
        Entries in the order of the file.

    Raises
    ------
    ReadingsError
        If entries are faulty: all faults are listed, with their rows.
    UnreadableFile
        If the file is none of the three.
    LanewiseError
        If it cannot be opened.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> entry = LibraryEntry("eosin Y", "silica", "water", 0.7, 0.02, 3, "own plates", "orange", "notebook p. 12")
    >>> with TemporaryDirectory() as folder:
    ...     _ = write_library(RfLibrary((entry,)), Path(folder) / "dyes.csv")
    ...     print(read_library(Path(folder) / "dyes.csv"))
    1 entry: 1 dye in 1 system, none printed
    """
    path = Path(path)
    if is_store(path):
        return read_store(path)
    try:
        text = whole_text(path.read_bytes(), path.name).removeprefix(BOM)
    except OSError as fault:
        raise LanewiseError(f"{str(path)!r} cannot be read: {fault.strerror or fault}.") from fault
    rows = _json_rows(text, path.name) if text.lstrip().startswith("{") else _csv_rows(text, path.name)
    problems: list[Problem] = []
    entries: list[LibraryEntry] = []
    for number, row in rows:
        found = _entry(row, path.name, number)
        if isinstance(found, LibraryEntry):
            entries.append(found)
        else:
            problems.append(found)
    if problems:
        raise ReadingsError(problems)
    try:
        return RfLibrary(tuple(entries))
    except RecordError as fault:
        raise UnreadableFile(f"{path.name}: {fault}") from fault


def write_library(library: RfLibrary, path: AnyPath, *, overwrite: bool = True) -> Path:
    """Write a library whole or not at all, in the form that the ending asks for.

    Parameters
    ----------
    library : RfLibrary
        What to write.
    path : str or path-like
        Ending in ``.csv``, ``.json``, or ``.sqlite`` or ``.db`` for a store.
    overwrite : bool, optional
        False to refuse where something stands there already.

    Returns
    -------
    pathlib.Path
        The path as given.

    Raises
    ------
    OptionError
        If the ending is another one.
    LanewiseError
        As in `lanewise.files.writing.write_whole`.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending in ENDINGS:
        return write_store(library, path, overwrite=overwrite)
    if ending == ".csv":
        return write_whole(path, _as_csv(library), overwrite=overwrite)
    if ending == ".json":
        return write_whole(path, _as_json(library), overwrite=overwrite)
    raise OptionError(
        f"library: wanted a file ending in .csv, .json, {' or '.join(ENDINGS)}, given {path.name!r}. Take one of them."
    )


def _as_csv(library: RfLibrary) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(
        [repr(value) if isinstance(value, float) else value for value in _values(entry)] for entry in library.entries
    )
    return out.getvalue().encode()


def _as_json(library: RfLibrary) -> bytes:
    entries = [dict(zip(COLUMNS, _values(entry), strict=True)) for entry in library.entries]
    content = {"kind": KIND, "schema": SCHEMA, "entries": entries}
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()


def _values(entry: LibraryEntry) -> list[object]:
    return [getattr(entry, name) for name in COLUMNS]


def _csv_rows(text: str, name: str) -> Iterator[tuple[int, Mapping[str, object]]]:
    lines = [
        (number, line) for number, line in enumerate(text.splitlines(keepends=True), 1) if not line.startswith("#")
    ]
    reader = csv.reader(line for _, line in lines)
    header = [cell.strip().lower() for cell in next(reader, [])]
    absent = [column for column in COLUMNS if column not in header and column not in MAY_BE_EMPTY]
    if absent:
        raise UnreadableFile(
            f"{name}: wanted a library of Rf values with the columns {', '.join(COLUMNS)}, given none called "
            f"{', '.join(absent)}. Name them so; colour alone may be left out."
        )
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield lines[reader.line_num - 1][0], dict(zip(header, cells, strict=False))


def _json_rows(text: str, name: str) -> Iterator[tuple[int, Mapping[str, object]]]:
    try:
        content = json.loads(text)
    except ValueError as fault:
        raise UnreadableFile(f"{name}: wanted JSON, given something else ({fault}).") from fault
    if content.get("kind") != KIND or not isinstance(content.get("entries"), list):
        raise UnreadableFile(f"{name}: wanted an object of the kind {KIND!r} with a list of entries, given another.")
    if content.get("schema") != SCHEMA:
        raise UnreadableFile(
            f"{name}: wanted a library of schema {SCHEMA}, given {content.get('schema')!r}. Use a newer lanewise."
        )
    for number, entry in enumerate(content["entries"], start=1):
        yield number, entry if isinstance(entry, dict) else {}


def _entry(row: Mapping[str, object], name: str, number: int) -> LibraryEntry | Problem:
    """Make an entry of texts or numbers, or say what is wrong with it."""
    values: dict[str, object] = {column: str(row.get(column) or "").strip() for column in COLUMNS}
    for column, kind, wanted in (
        ("rf", float, "a number"),
        ("u_rf", float, "a number"),
        ("plates", int, "a whole number"),
    ):
        given = row.get(column)
        text = "" if given is None else str(given).strip()
        try:
            values[column] = kind(text)
        except ValueError:
            todo = "Write 0 where it is not known." if column == "plates" else "Write a point and no sign or unit."
            return Problem(name, number, column, wanted, repr(text) if text else "nothing", todo)
    try:
        return LibraryEntry(**values)  # type: ignore[arg-type]
    except RecordError as fault:
        where, _, rest = str(fault).partition(": wanted ")
        wanted, _, rest = rest.partition(", given ")
        given_text, _, todo = rest.partition(". ")
        return Problem(name, number, where.rpartition(", ")[2], wanted, given_text, todo)
