"""A library of Rf values as an SQLite store: one file with a schema version, older ones are brought up to date.

The store is written as a whole to a file beside it, which then takes its name: a library is small, and so either the
old one stands or the new one. Migrations work on a copy in memory; a store that was only read is left as it is.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from lanewise.errors import LanewiseError, RecordError, UnreadableFile
from lanewise.files.writing import AnyPath, write_whole
from lanewise.tables.rf_library import COLUMNS, LibraryEntry, RfLibrary

ENDINGS = (".sqlite", ".db")
MAGIC = b"SQLite format 3\x00"
APPLICATION = 0x4C57_5246  # "LWRF", marks the file as one of ours
VERSION = 2


def _first(store: sqlite3.Connection) -> None:
    """Schema 1: one table of values."""
    store.execute(
        "CREATE TABLE entries (id INTEGER PRIMARY KEY, dye TEXT NOT NULL, layer TEXT NOT NULL, system TEXT NOT NULL,"
        " rf REAL NOT NULL CHECK (rf BETWEEN 0 AND 1), u_rf REAL NOT NULL CHECK (u_rf > 0),"
        " plates INTEGER NOT NULL CHECK (plates >= 0), source TEXT NOT NULL)"
    )


def _second(store: sqlite3.Connection) -> None:
    """Schema 2: how a value came to be known, and its colour; what stood there before counts as printed."""
    store.execute("ALTER TABLE entries ADD COLUMN origin TEXT NOT NULL DEFAULT 'printed'")
    store.execute("ALTER TABLE entries ADD COLUMN colour TEXT NOT NULL DEFAULT ''")
    store.execute("CREATE INDEX by_system ON entries (layer, system)")


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (_first, _second)
assert len(MIGRATIONS) == VERSION


def is_store(path: Path) -> bool:
    """Whether a file begins as an SQLite file does; False where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False


def migrate(store: sqlite3.Connection) -> int:
    """Bring an open store up to the present schema, all steps or none.

    Parameters
    ----------
    store : Connection
        Of any version up to the present one; an empty one is version 0.

    Returns
    -------
    int
        The version that it had.

    Raises
    ------
    UnreadableFile
        If it is of a later version.

    Examples
    --------
    >>> store = sqlite3.connect(":memory:")
    >>> migrate(store), migrate(store)
    (0, 2)
    """
    (found,) = store.execute("PRAGMA user_version").fetchone()
    if found > VERSION:
        raise UnreadableFile(
            f"wanted a store of schema {VERSION} or older, given {found}. A later lanewise wrote it; use that one."
        )
    with store:
        store.execute("BEGIN")
        for step in MIGRATIONS[found:]:
            step(store)
        store.execute(f"PRAGMA user_version = {VERSION}")
        store.execute(f"PRAGMA application_id = {APPLICATION}")
    return int(found)


def read_store(path: AnyPath) -> RfLibrary:
    """Read a store of any version up to the present one; the file is not changed.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    RfLibrary
        Entries in the order in which they were added.

    Raises
    ------
    UnreadableFile
        If it is no store of this library, is damaged, or was written by a later version.
    LanewiseError
        If it cannot be opened.
    """
    path = Path(path)
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise LanewiseError(f"{str(path)!r} cannot be read: {fault.strerror or fault}.") from fault
    try:
        with closing(sqlite3.connect(":memory:")) as store:
            store.deserialize(data)
            if store.execute("PRAGMA application_id").fetchone()[0] != APPLICATION:
                raise UnreadableFile("wanted a library of Rf values, given a store of something else.")
            migrate(store)
            rows = store.execute(f"SELECT {', '.join(COLUMNS)} FROM entries ORDER BY id").fetchall()
        return RfLibrary(tuple(LibraryEntry(*row) for row in rows))
    except sqlite3.Error as fault:
        raise UnreadableFile(f"{path.name}: the store is damaged ({fault}). Take a copy of it from before.") from fault
    except (UnreadableFile, RecordError) as fault:
        raise UnreadableFile(f"{path.name}: {fault}") from fault


def write_store(library: RfLibrary, path: AnyPath, *, overwrite: bool = True) -> Path:
    """Write a library as a store of the present version, whole or not at all.

    Parameters
    ----------
    library : RfLibrary
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
        As in `lanewise.files.writing.write_whole`.
    """
    with closing(sqlite3.connect(":memory:")) as store:
        migrate(store)
        marks = ", ".join("?" for _ in COLUMNS)
        with store:
            store.executemany(
                f"INSERT INTO entries ({', '.join(COLUMNS)}) VALUES ({marks})",
                [tuple(getattr(entry, name) for name in COLUMNS) for entry in library.entries],
            )
        data = store.serialize()
    return write_whole(path, data, overwrite=overwrite)
