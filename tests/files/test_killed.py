"""Killed at any point, the file holds its old content or the new."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROUNDS = 40


def what_stood_there(folder, way):
    script = Path(__file__).with_name("killed.py")
    run = [sys.executable, str(script), str(folder), str(ROUNDS), way]
    return subprocess.run(run, capture_output=True, text=True, check=True, timeout=120).stdout.split()


@pytest.mark.skipif(sys.platform == "win32", reason="no fork, no SIGKILL")
def test_the_file_is_whole_whenever_the_writer_is_killed(tmp_path):
    seen = what_stood_there(tmp_path, "whole")
    assert len(seen) == ROUNDS
    assert set(seen) == {"old", "new"}
    left = [path.name for path in tmp_path.iterdir() if path.name != "record.json"]
    assert all(name.startswith(".record.json.") and name.endswith(".part") for name in left)
    assert left  # some were killed in the middle of writing


@pytest.mark.skipif(sys.platform == "win32", reason="no fork, no SIGKILL")
def test_this_test_finds_a_writer_that_is_not_careful(tmp_path):
    assert "broken" in what_stood_there(tmp_path, "plain")
