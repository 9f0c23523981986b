"""What the guard sees, holds back and passes over."""

from __future__ import annotations

import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import urllib.request
from contextlib import suppress

import pytest

from lanewise.testing.guards import watched

# ruff: noqa: SIM115 (nothing is opened, as it is held back)

STEPS = {
    "open": ("write", lambda path: open(path, "w")),
    "append": ("write", lambda path: open(path, "ab")),
    "read and write": ("write", lambda path: open(path, "r+b")),
    "os.open": ("write", lambda path: os.open(path, os.O_WRONLY | os.O_CREAT)),
    "path": ("write", lambda path: path.write_bytes(b"x")),
    "mkdir": ("write", lambda path: path.mkdir()),
    "remove": ("write", lambda path: os.remove(path)),
    "rename": ("write", lambda path: os.rename(path, path.with_suffix(".b"))),
    "copy": ("write", lambda path: shutil.copyfile(__file__, path)),
    "temporary file": ("write", lambda path: tempfile.NamedTemporaryFile()),
    "temporary folder": ("write", lambda path: tempfile.mkdtemp()),
    "database": ("write", lambda path: sqlite3.connect(path)),
    "connect": ("network", lambda path: socket.create_connection(("127.0.0.1", 9))),
    "look-up": ("network", lambda path: socket.getaddrinfo("localhost", 9)),
    "address": ("network", lambda path: urllib.request.urlopen("http://127.0.0.1:9/")),
    "program": ("process", lambda path: subprocess.run([sys.executable, "--version"], check=False)),
    "shell": ("process", lambda path: os.system("true")),
}


@pytest.mark.parametrize(("kind", "step"), STEPS.values(), ids=STEPS)
def test_step_is_seen_and_held_back(kind, step, tmp_path):
    with watched() as seen, suppress(OSError):
        step(tmp_path / "a")
    assert seen[0].kind == kind
    assert seen[0].where.startswith("test_guards.py, line ")
    assert list(tmp_path.iterdir()) == []


def test_swallowed_errors_and_other_threads_are_seen(tmp_path):
    def work():
        with suppress(OSError):
            (tmp_path / "a").write_text("x")

    with watched() as seen:
        thread = threading.Thread(target=work)
        thread.start()
        thread.join()
    assert [event.kind for event in seen] == ["write"]


def test_reading_and_the_null_device_are_passed_over(tmp_path):
    with watched() as seen, open(__file__, "rb") as file, open(os.devnull, "w") as nothing:
        nothing.write(str(len(file.read())))
    assert seen == []


def test_nothing_is_held_back_outside(tmp_path):
    with watched():
        pass
    (tmp_path / "a").write_text("x")
    assert (tmp_path / "a").read_text() == "x"


def test_an_event_names_the_code_of_the_plugin_and_not_that_of_a_library(tmp_path):
    with watched() as seen, suppress(OSError):
        tempfile.mkstemp(dir=tmp_path)
    assert str(seen[0]).startswith(f"tempfile.mkstemp '{tmp_path}")
    assert "test_guards.py" in str(seen[0])
