"""Libraries as files: what goes out comes back, others read the same, faults are named, nothing is half written."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing

import pandas as pd
import pytest

from lanewise.errors import LanewiseError, OptionError, ReadingsError, UnreadableFile
from lanewise.files import library_store
from lanewise.files.libraries import read_library, write_library
from lanewise.tables.rf_library import COLUMNS, LibraryEntry, RfLibrary, printed_library

ENTRIES = (
    LibraryEntry("eosin Y", "silica", "ethanol:water 70:30", 0.7371215397, 0.0038, 3, "own plates", "orange", "p. 12"),
    LibraryEntry('dye "7", new', "paper", "water", 1 / 3, 0.02, 0, "other laboratory", "", "letter;\nsecond line"),
)  # fmt: skip
LIBRARY = RfLibrary(ENTRIES)
HEAD = ",".join(COLUMNS) + "\n"


@pytest.mark.parametrize("name", ["dyes.csv", "dyes.json", "dyes.sqlite", "dyes.db"])
@pytest.mark.parametrize("library", [LIBRARY, printed_library(), RfLibrary()], ids=["two", "printed", "empty"])
def test_round_trip_to_the_last_bit(tmp_path, name, library):
    path = write_library(library, tmp_path / name)
    assert read_library(path) == library
    assert write_library(read_library(path), tmp_path / f"again-{name}").read_bytes() == path.read_bytes()


def test_other_readers_see_the_same(tmp_path):
    """pandas, the json module and sqlite3 itself."""
    table = pd.read_csv(write_library(LIBRARY, tmp_path / "a.csv"))
    assert table["rf"].tolist() == [0.7371215397, 1 / 3]
    assert list(table.columns) == list(COLUMNS)
    content = json.loads(write_library(LIBRARY, tmp_path / "a.json").read_text(encoding="utf-8"))
    assert [entry["source"] for entry in content["entries"]] == ["p. 12", "letter;\nsecond line"]
    with closing(sqlite3.connect(write_library(LIBRARY, tmp_path / "a.sqlite"))) as store:
        assert store.execute("SELECT dye, rf FROM entries ORDER BY id").fetchall() == [
            ("eosin Y", 0.7371215397),
            ('dye "7", new', 1 / 3),
        ]
        assert store.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_csv_of_a_spreadsheet(tmp_path):
    path = tmp_path / "typed.csv"
    rows = (
        "# our dyes\r\n"
        + HEAD.replace("\n", "\r\n").upper()
        + "eosin Y,silica,water,.7,0.02,3,own plates,,p. 12\r\n\r\n"
    )
    path.write_bytes(rows.encode("utf-8-sig"))
    (entry,) = read_library(path).entries
    assert (entry.rf, entry.plates, entry.colour) == (0.7, 3, "")


def test_all_faults_are_listed_with_their_rows(tmp_path):
    path = tmp_path / "faulty.csv"
    good = "eosin Y,silica,water,0.7,0.02,3,own plates,orange,p. 12\n"
    faulty = [good.replace("0.7,", '"0,7",'), good.replace(",3,", ",,"), good.replace("0.7,", "70,")]
    path.write_text(HEAD + good + "".join(faulty), encoding="utf-8")
    with pytest.raises(ReadingsError, match="3 problems") as caught:
        read_library(path)
    found = [(problem.row, problem.column) for problem in caught.value.problems]
    assert found == [(3, "rf"), (4, "plates"), (5, "rf")]
    assert "Divide hRf by 100" in str(caught.value)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        pytest.param("a.csv", b"dye,rf\nx,0.5\n", "none called layer, system", id="columns"),
        pytest.param("a.json", b'{"kind": "other"}', "wanted an object of the kind", id="kind"),
        pytest.param("a.json", b'{"kind": "lanewise Rf library", "schema": 9, "entries": []}', "given 9", id="schema"),
        pytest.param("a.json", b"{", "wanted JSON", id="no json"),
        pytest.param("a.sqlite", b"SQLite format 3\x00" + bytes(200), "damaged", id="damaged store"),
    ],
)
def test_what_is_no_library(tmp_path, name, content, said):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(UnreadableFile, match=said):
        read_library(tmp_path / name)


def test_what_is_not_there_and_what_cannot_be_written(tmp_path):
    with pytest.raises(LanewiseError, match="cannot be read"):
        read_library(tmp_path / "nowhere.csv")
    with pytest.raises(OptionError, match=r"wanted a file ending in \.csv"):
        write_library(LIBRARY, tmp_path / "dyes.txt")


def old_store(path, version=1):
    """A store of schema 1, written with plain SQL."""
    with closing(sqlite3.connect(path)) as store:
        store.execute(
            "CREATE TABLE entries (id INTEGER PRIMARY KEY, dye TEXT NOT NULL, layer TEXT NOT NULL,"
            " system TEXT NOT NULL, rf REAL NOT NULL, u_rf REAL NOT NULL, plates INTEGER NOT NULL,"
            " source TEXT NOT NULL)"
        )
        store.execute("INSERT INTO entries VALUES (1, 'eosin Y', 'silica', 'water', 0.7, 0.02, 3, 'a table')")
        store.execute(f"PRAGMA user_version = {version}")
        store.execute(f"PRAGMA application_id = {library_store.APPLICATION}")
        store.commit()
    return path


def test_an_older_store_is_read_and_its_values_count_as_printed(tmp_path):
    path = old_store(tmp_path / "old.sqlite")
    before = path.read_bytes()
    library = read_library(path)
    assert [(e.dye, e.rf, e.origin, e.colour) for e in library.entries] == [("eosin Y", 0.7, "printed", "")]
    assert path.read_bytes() == before
    write_library(library, path)
    with closing(sqlite3.connect(path)) as store:
        assert store.execute("PRAGMA user_version").fetchone() == (library_store.VERSION,)
    assert read_library(path) == library


def test_a_step_that_fails_leaves_the_older_schema(monkeypatch):
    def broken(store):
        store.execute("ALTER TABLE entries ADD COLUMN half TEXT")
        raise sqlite3.OperationalError("no room")

    with closing(sqlite3.connect(":memory:")) as store:
        monkeypatch.setattr(library_store, "MIGRATIONS", (library_store.MIGRATIONS[0], broken))
        with pytest.raises(sqlite3.OperationalError, match="no room"):
            library_store.migrate(store)
        assert store.execute("PRAGMA user_version").fetchone() == (0,)
        assert store.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)


def test_a_later_store_and_a_foreign_one_are_refused(tmp_path):
    with pytest.raises(UnreadableFile, match="given 99"):
        read_library(old_store(tmp_path / "later.sqlite", version=99))
    with closing(sqlite3.connect(tmp_path / "other.sqlite")) as store:
        store.execute("CREATE TABLE inks (name TEXT)")
    with pytest.raises(UnreadableFile, match="store of something else"):
        read_library(tmp_path / "other.sqlite")


@pytest.mark.parametrize("name", ["dyes.csv", "dyes.json", "dyes.sqlite"])
def test_a_disk_that_fails_leaves_the_old_library(tmp_path, monkeypatch, name):
    path = write_library(LIBRARY, tmp_path / name)
    before = path.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("lanewise.files.writing.os.fsync", full)
    with pytest.raises(LanewiseError, match="No space left"):
        write_library(printed_library(), path)
    assert path.read_bytes() == before
    assert [found.name for found in tmp_path.iterdir()] == [name]
