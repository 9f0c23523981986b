"""Writing whole or not at all: permissions, links, faults of the disk, names of extra files."""

from __future__ import annotations

import errno
import os
import stat
import threading
from pathlib import Path

import pytest

from lanewise.errors import LanewiseError, StyleError
from lanewise.files import writing
from lanewise.files.naming import check_extras
from lanewise.files.reading import read
from lanewise.files.writing import save, write, write_together, write_whole
from lanewise.hooks import Rendered
from lanewise.model.record import decode
from lanewise.model.studies import Study


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def mode_of(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_file(tmp_path):
    path = tmp_path / "report.html"
    assert write_whole(str(path), b"new") == path
    assert path.read_bytes() == b"new"
    assert names_in(tmp_path) == ["report.html"]


def test_a_new_file_has_the_permissions_of_every_new_file(tmp_path):
    (tmp_path / "plain").write_bytes(b"")
    assert mode_of(write_whole(tmp_path / "ours", b"new")) == mode_of(tmp_path / "plain")


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o755])
def test_permissions_of_an_old_file_are_kept(tmp_path, mode):
    path = tmp_path / "report.html"
    path.write_bytes(b"old")
    path.chmod(mode)
    write_whole(path, b"new")
    assert (path.read_bytes(), mode_of(path)) == (b"new", mode)


def test_the_owner_of_an_old_file_is_kept_where_the_system_allows(tmp_path, monkeypatch):
    path = tmp_path / "report.html"
    path.write_bytes(b"old")
    asked = []

    def refuse(file, user, group):
        asked.append((Path(file).name.endswith(".part"), user, group))
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "chown", refuse)
    assert write_whole(path, b"new").read_bytes() == b"new"
    assert asked == [(True, path.stat().st_uid, path.stat().st_gid)]


def test_a_link_stays_and_its_target_is_written(tmp_path):
    (tmp_path / "store").mkdir()
    target = tmp_path / "store" / "report.html"
    target.write_bytes(b"old")
    link = tmp_path / "latest.html"
    link.symlink_to(Path("store") / "report.html")
    write_whole(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"
    assert names_in(target.parent) == ["report.html"]


def test_a_link_to_nothing_yet(tmp_path):
    (tmp_path / "latest.html").symlink_to("report.html")
    write_whole(tmp_path / "latest.html", b"new")
    assert (tmp_path / "report.html").read_bytes() == b"new"


def test_a_pipe_is_written_to_directly(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    write_whole(pipe, b"new")
    reader.join()
    assert got == [b"new"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_device_stays_a_device():
    write_whole("/dev/null", b"new")
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)


@pytest.mark.parametrize("name", ["a" * 255, "\N{ARTIST PALETTE}" * 63], ids=["letters", "pictures"])
def test_a_name_as_long_as_the_system_allows(tmp_path, name):
    path = tmp_path / name
    assert write_whole(path, b"new").read_bytes() == b"new"


def test_nobody_else_can_read_a_private_file_while_it_is_written(tmp_path, monkeypatch):
    path = tmp_path / "marks.json"
    path.write_bytes(b"old")
    path.chmod(0o600)
    modes = []
    fsync = os.fsync
    monkeypatch.setattr(
        os, "fsync", lambda handle: (modes.append(stat.S_IMODE(os.fstat(handle).st_mode)), fsync(handle))
    )
    write_whole(path, b"new")
    assert modes[0] == 0o600


class TestRefused:
    @pytest.fixture
    def old(self, tmp_path):
        path = tmp_path / "report.html"
        path.write_bytes(b"old")
        return path

    def test_there_already(self, old):
        with pytest.raises(
            LanewiseError, match=r"report\.html' is there already and was left alone\. Allow overwriting"
        ):
            write_whole(old, b"new", overwrite=False)
        assert old.read_bytes() == b"old"

    def test_not_there_and_not_to_be_overwritten(self, tmp_path):
        assert write_whole(tmp_path / "a", b"new", overwrite=False).read_bytes() == b"new"

    def test_folder(self, tmp_path):
        with pytest.raises(LanewiseError, match=r"cannot be written: a folder stands there\. Give the name of a file"):
            write_whole(tmp_path, b"new")

    def test_missing_folder(self, tmp_path):
        with pytest.raises(LanewiseError, match=r"cannot be written: there is no folder '.*nowhere'\. Make it first"):
            write_whole(tmp_path / "nowhere" / "report.html", b"new")

    def test_write_protected(self, old, monkeypatch):
        monkeypatch.setattr(os, "access", lambda path, mode: False)
        with pytest.raises(LanewiseError, match=r"report\.html' cannot be written: it is write-protected"):
            write_whole(old, b"new")
        assert old.read_bytes() == b"old"

    def test_name_too_long(self, tmp_path):
        with pytest.raises(LanewiseError, match=r"cannot be written: File name too long"):
            write_whole(tmp_path / ("a" * 256), b"new")
        assert names_in(tmp_path) == []

    def test_impossible_name(self, tmp_path):
        with pytest.raises(LanewiseError, match=r"cannot be written: .*embedded null"):
            write_whole(tmp_path / "a\0b", b"new")

    def test_circle_of_links(self, tmp_path):
        (tmp_path / "a").symlink_to("b")
        (tmp_path / "b").symlink_to("a")
        with pytest.raises(LanewiseError, match=r"/a' cannot be written: the links there lead in a circle"):
            write_whole(tmp_path / "a", b"new")

    @pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
    def test_full_disk(self, old, tmp_path, monkeypatch, step):
        def refuse(*args, **more):
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(os, step, refuse)
        with pytest.raises(LanewiseError, match=r"report\.html' cannot be written: No space left on device"):
            write_whole(old, b"new")
        monkeypatch.undo()
        assert old.read_bytes() == b"old"
        assert names_in(tmp_path) == ["report.html"]

    def test_an_interrupt_leaves_no_temporary_file(self, old, tmp_path, monkeypatch):
        def stop(handle):
            raise KeyboardInterrupt("stop")

        monkeypatch.setattr(os, "fsync", stop)
        with pytest.raises(KeyboardInterrupt, match="stop"):
            write_whole(old, b"new")
        assert old.read_bytes() == b"old"
        assert names_in(tmp_path) == ["report.html"]


class TestSeveral:
    REPORT = Rendered(b"main", {"plate-2.svg": b"two", "plate-1.svg": b"one"})

    def test_all_are_written_beside_the_main_one(self, tmp_path):
        written = write(tmp_path / "report.md", self.REPORT)
        assert [path.name for path in written] == ["report.md", "plate-2.svg", "plate-1.svg"]
        assert names_in(tmp_path) == ["plate-1.svg", "plate-2.svg", "report.md"]
        assert (tmp_path / "plate-2.svg").read_bytes() == b"two"

    def test_the_main_one_takes_its_name_last_and_after_the_disk_has_the_others(self, tmp_path, monkeypatch):
        steps = []
        replace, force = os.replace, writing._force_folders
        monkeypatch.setattr(os, "replace", lambda old, new: (steps.append(Path(new).name), replace(old, new)))
        monkeypatch.setattr(writing, "_force_folders", lambda targets: (steps.append("forced"), force(targets)))
        write(tmp_path / "report.md", self.REPORT)
        assert steps == ["plate-2.svg", "plate-1.svg", "forced", "report.md", "forced"]

    def test_a_fault_before_the_names_are_taken_changes_nothing(self, tmp_path, monkeypatch):
        (tmp_path / "report.md").write_bytes(b"old")
        (tmp_path / "plate-1.svg").write_bytes(b"old")
        calls = []

        def refuse_third(handle, fsync=os.fsync):
            calls.append(handle)
            if len(calls) == 3:
                raise OSError(errno.ENOSPC, "No space left on device")
            fsync(handle)

        monkeypatch.setattr(os, "fsync", refuse_third)
        with pytest.raises(LanewiseError, match=r"report\.md' cannot be written: No space left"):
            write(tmp_path / "report.md", self.REPORT)
        assert names_in(tmp_path) == ["plate-1.svg", "report.md"]
        assert (tmp_path / "plate-1.svg").read_bytes() == (tmp_path / "report.md").read_bytes() == b"old"

    def test_one_that_is_there_already_stops_all(self, tmp_path):
        (tmp_path / "plate-1.svg").write_bytes(b"old")
        with pytest.raises(LanewiseError, match=r"plate-1\.svg' is there already"):
            write(tmp_path / "report.md", self.REPORT, overwrite=False)
        assert names_in(tmp_path) == ["plate-1.svg"]

    def test_extras_lie_beside_a_link_not_beside_its_target(self, tmp_path):
        (tmp_path / "store").mkdir()
        (tmp_path / "latest.md").symlink_to(Path("store") / "report.md")
        write(tmp_path / "latest.md", self.REPORT)
        assert names_in(tmp_path / "store") == ["report.md"]
        assert names_in(tmp_path) == ["latest.md", "plate-1.svg", "plate-2.svg", "store"]

    def test_nothing_to_write(self):
        assert write_together([]) == []


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("../a.svg", "one with a folder or drive"),
        ("/a.svg", "one with a folder or drive"),
        ("sub/a.svg", "one with a folder or drive"),
        ("sub\\a.svg", "one with a folder or drive"),
        ("C:a.svg", "one with a folder or drive"),
        ("..", "one that begins with a dot"),
        (".hidden", "one that begins with a dot"),
        ("", "none"),
        (3, "none"),
        ("a.", "one with a dot or space at its edge"),
        ("a ", "one with a dot or space at its edge"),
        (" a", "one with a dot or space at its edge"),
        ("a\nb", "one with signs that file names cannot hold everywhere"),
        ("a*b", "one with signs that file names cannot hold everywhere"),
        ("a" * 121, "one of more than 120 bytes"),
        ("nul.svg", "the name of a device"),
        ("Com1", "the name of a device"),
        ("REPORT.md", r"one that 'report\.md' has too, but for capitals"),
    ],
)
def test_extra_files_have_plain_names(tmp_path, name, said):
    with pytest.raises(StyleError, match=f"extra file .*: wanted a plain file name, given {said}"):
        write(tmp_path / "report.md", Rendered(b"main", {name: b"x"}))
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("name", ["plate-1.svg", "plate 1.svg", "a" * 120, "größe.png", "console.svg", "a.tar.gz"])
def test_plain_names_of_extra_files(name):
    check_extras({name: b""}, "report.md")


def test_extra_files_that_differ_in_capitals_only():
    with pytest.raises(StyleError, match=r"extra file 'Plate-1\.svg': .* one that 'plate-1\.svg' has too"):
        check_extras({"plate-1.svg": b"", "Plate-1.svg": b""})


def test_a_study_is_saved_as_its_record(tmp_path, registry_of):
    from lanewise.hooks import ImportFormat

    study = Study(title="Writing inks")
    path = save(study, tmp_path / "inks.json")
    assert decode(path.read_bytes()) == study
    record = ImportFormat("record", "Record", lambda source, options: decode(source.bytes()), suffixes=(".json",))
    assert read(path, registry=registry_of(record)).title == "Writing inks"
    with pytest.raises(LanewiseError, match="is there already"):
        save(study, path, overwrite=False)
