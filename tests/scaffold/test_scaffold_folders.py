"""A folder is written whole or not at all."""

from __future__ import annotations

import os
import re

import pytest

from lanewise.errors import LanewiseError
from lanewise.scaffold.folders import write_folder

FILES = {"README.md": "Tinte\n", "tests/test_contract.py": "µ\n"}


def test_files_are_there(tmp_path):
    folder = tmp_path / "inks"
    paths = write_folder(FILES, folder)
    assert paths == [folder / "README.md", folder / "tests" / "test_contract.py"]
    assert [path.read_bytes() for path in paths] == [b"Tinte\n", "µ\n".encode()]
    assert [path.name for path in tmp_path.iterdir()] == ["inks"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_new_folder_has_the_permissions_of_any_other(tmp_path):
    write_folder(FILES, tmp_path / "inks")
    (tmp_path / "other").mkdir()
    assert (tmp_path / "inks").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_empty_folder_stays_the_same_one(tmp_path, monkeypatch):
    folder = tmp_path / "inks"
    folder.mkdir()
    before = folder.stat().st_ino
    monkeypatch.chdir(folder)
    write_folder(FILES, tmp_path / "inks")
    assert folder.stat().st_ino == before
    assert sorted(os.listdir()) == ["README.md", "tests"]


def refused(folder, why):
    with pytest.raises(LanewiseError, match=re.escape(f"{str(folder)!r} {why}")):
        write_folder(FILES, folder)


def test_folder_with_content_is_left_alone(tmp_path):
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    refused(tmp_path, "wanted a new or empty folder, given one that holds 'notes.txt'. It was left alone; take another")
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_file_in_the_place_is_left_alone(tmp_path):
    (tmp_path / "inks").write_text("mine", encoding="utf-8")
    refused(tmp_path / "inks", "wanted a new or empty folder, given a file.")
    assert (tmp_path / "inks").read_text(encoding="utf-8") == "mine"


def test_folder_around_it_has_to_be_there(tmp_path):
    refused(tmp_path / "a" / "b", f"cannot be made: there is no folder {str(tmp_path / 'a')!r}. Make it first.")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("there", [False, True], ids=["new", "empty"])
def test_a_full_disk_leaves_nothing(tmp_path, monkeypatch, there):
    folder = tmp_path / "inks"
    if there:
        folder.mkdir()
    rename, calls = os.rename, []

    def full(old, new):
        calls.append(new)
        if len(calls) == (2 if there else 1):
            raise OSError(28, "No space left on device")
        rename(old, new)

    monkeypatch.setattr(os, "rename", full)
    refused(folder, "cannot be written: No space left on device. Nothing was left there.")
    assert [path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*")] == ["inks"] * there
