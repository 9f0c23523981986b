"""What can be given to read, and what is refused before any format is asked."""

from __future__ import annotations

import io
import os
import threading
from pathlib import Path

import pytest

from lanewise.errors import FormatError
from lanewise.files.sources import LIMIT, check_piece, load_piece, pieces_of, sample_piece


def content_of(given, name=None, limit=LIMIT):
    (piece,) = pieces_of(given, name, limit)
    check_piece(piece, limit)
    return load_piece(piece, limit)


@pytest.fixture
def bench(tmp_path):
    path = tmp_path / "bench-1.csv"
    path.write_bytes(b"abc")
    return path


@pytest.mark.parametrize(
    "make",
    [str, Path, lambda p: [p], lambda p: (p for p in [p]), os.fspath],
    ids=["text", "path", "list", "generator", "os"],
)
def test_paths(bench, make):
    content = content_of(make(bench))
    assert (content.name, content.size, content.bytes()) == ("bench-1.csv", 3, b"abc")


@pytest.mark.parametrize("kind", [bytes, bytearray, memoryview])
def test_bytes_with_a_name(kind):
    content = content_of(kind(b"abc"), name="bench-1.csv")
    assert (content.name, content.text()) == ("bench-1.csv", "abc")


def test_open_files(bench):
    with bench.open("rb") as file:
        assert content_of(file).name == "bench-1.csv"
    assert content_of(io.BytesIO(b"abc"), name="x.csv").bytes() == b"abc"


def test_a_stream_that_cannot_go_back():
    class Pipe(io.RawIOBase):
        def readable(self):
            return True

        def readinto(self, into):
            return 0

        def read(self, size=-1):
            return b"abc"

    assert content_of(Pipe(), name="x.csv").bytes() == b"abc"


def test_the_digest_is_that_of_the_standard(bench):
    # FIPS 180-2, appendix B.1: SHA-256 of "abc" (from memory)
    wanted = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert content_of(bench).sha256 == wanted


def test_every_stream_begins_at_the_start_and_is_closed_with_the_content(bench):
    content = content_of(bench)
    first, second = content.open(), content.open()
    assert (first.read(), second.read(1)) == (b"abc", b"a")
    content.close()
    assert first.closed
    assert second.closed


def test_a_sample_holds_no_more_than_64_kib(tmp_path):
    path = tmp_path / "long.csv"
    path.write_bytes(b"a" * 100_000)
    (piece,) = pieces_of(path)
    for sample in (sample_piece(piece), load_piece(piece).sample()):
        assert (len(sample.head), sample.size, sample.name) == (65_536, 100_000, "long.csv")
        assert sample.text == "a" * 65_536


def test_a_pipe_can_be_read(tmp_path):
    pipe = tmp_path / "readings"
    os.mkfifo(pipe)
    writer = threading.Thread(target=pipe.write_bytes, args=(b"abc",))
    writer.start()
    assert content_of(pipe).bytes() == b"abc"
    writer.join()


class TestRefused:
    def test_missing(self, bench):
        with pytest.raises(FormatError, match=r"there is no file '.*bench1\.csv'\. Did you mean 'bench-1\.csv'\?"):
            content_of(bench.with_name("bench1.csv"))

    def test_missing_without_a_near_name(self, bench):
        with pytest.raises(FormatError, match=r"no file '.*zzz'\. Is '.*' the right folder\?"):
            content_of(bench.with_name("zzz"))

    def test_missing_folder(self, tmp_path):
        with pytest.raises(FormatError, match=r"There is no folder '.*nowhere' either\."):
            content_of(tmp_path / "nowhere" / "bench-1.csv")

    def test_below_a_file(self, bench):
        with pytest.raises(FormatError, match="there is no file"):
            content_of(bench / "bench-1.csv")

    def test_folder(self, tmp_path):
        with pytest.raises(FormatError, match=r"is a folder\. Name its files, .*glob\('\*\.csv'\)"):
            content_of(tmp_path)

    def test_empty(self, tmp_path):
        (tmp_path / "bench-2.csv").touch()
        with pytest.raises(FormatError, match=r"^bench-2\.csv is empty \(0 bytes\)\. Was it saved\?"):
            content_of(tmp_path / "bench-2.csv")

    @pytest.mark.parametrize("given", [b"", io.BytesIO()], ids=["bytes", "open file"])
    def test_empty_without_a_path(self, given):
        with pytest.raises(FormatError, match=r"^x\.csv is empty"):
            content_of(given, name="x.csv")

    def test_empty_pipe(self, tmp_path):
        pipe = tmp_path / "readings"
        os.mkfifo(pipe)
        writer = threading.Thread(target=pipe.write_bytes, args=(b"",))
        writer.start()
        with pytest.raises(FormatError, match="readings is empty"):
            content_of(pipe)
        writer.join()

    @pytest.mark.parametrize("kind", ["path", "bytes", "file"])
    def test_too_large(self, tmp_path, kind):
        path = tmp_path / "x.csv"
        path.write_bytes(b"a" * (2**20 + 1))
        given = {"path": path, "bytes": path.read_bytes(), "file": io.BytesIO(path.read_bytes())}[kind]
        with pytest.raises(
            FormatError, match=r"x\.csv holds more than the limit of 1 MB\. If that is meant, give a hi"
        ):
            content_of(given, "x.csv", limit=2**20)
        assert content_of(path, limit=2**20 + 1).size == 2**20 + 1

    def test_not_allowed(self, bench, monkeypatch):
        monkeypatch.setattr(os, "access", lambda path, mode: False)
        with pytest.raises(FormatError, match=r"bench-1\.csv' may not be read by this user"):
            content_of(bench)

    def test_not_allowed_after_all(self, bench, monkeypatch):
        def refuse(self, mode):
            raise PermissionError(13, "Permission denied", str(self))

        monkeypatch.setattr(Path, "open", refuse)
        with pytest.raises(FormatError, match=r"bench-1\.csv' cannot be read: Permission denied"):
            content_of(bench)

    def test_device(self):
        with pytest.raises(FormatError, match="'/dev/zero' is a device, not a file"):
            content_of("/dev/zero")

    @pytest.mark.parametrize("name", ["a\0b", "a" * 300], ids=["NUL", "long"])
    def test_impossible_path(self, name):
        with pytest.raises(FormatError, match="cannot be reached: "):
            content_of(name)

    def test_bytes_without_a_name(self):
        with pytest.raises(FormatError, match=r"bytes have no file name: give one with name=, .*'bench-1\.csv'"):
            pieces_of(b"abc")

    def test_open_file_without_a_name(self):
        with pytest.raises(FormatError, match="the open file has no name: give one with name="):
            pieces_of(io.BytesIO(b"abc"))

    def test_open_as_text(self, bench):
        with (
            bench.open() as file,
            pytest.raises(FormatError, match=r"bench-1\.csv: wanted a file opened for bytes.*'rb'"),
        ):
            pieces_of(file)

    def test_not_at_its_start(self, bench):
        with bench.open("rb") as file:
            file.read(2)
            with pytest.raises(FormatError, match="stands at byte 2, not at its start"):
                pieces_of(file)

    def test_stream_of_something_else(self):
        class Odd:
            name = "x"

            def seekable(self):
                return False

            def read(self, size):
                return "abc"

        with pytest.raises(FormatError, match="x: wanted bytes from the open file, given str"):
            pieces_of(Odd())

    @pytest.mark.parametrize(
        "given", [3, None, [3], [["a"]]], ids=["number", "nothing", "list of numbers", "nested list"]
    )
    def test_something_else(self, given):
        with pytest.raises(
            FormatError, match=r"wanted a path, bytes or an open binary file, given (int|NoneType|list)"
        ):
            pieces_of(given)

    def test_no_file_at_all(self):
        with pytest.raises(FormatError, match="wanted at least one file, given an empty list"):
            pieces_of([])

    def test_a_name_for_several(self, bench):
        with pytest.raises(FormatError, match="name='x' is for one thing to read, given 1"):
            pieces_of([bench], name="x")

    def test_the_same_file_twice(self, bench, tmp_path):
        with pytest.raises(FormatError, match=r"bench-1\.csv stands twice among the files"):
            pieces_of([bench, tmp_path / "." / "bench-1.csv"])
