"""The text of the project speaks of the project alone: no path of a machine, no address of a package registry."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PLACES = ("README.md", "DEVELOPERS.md", "pyproject.toml", ".ci", "docs", "examples", "plugins", "src", "tests")
TEXT = {"", ".md", ".txt", ".toml", ".py", ".pyi", ".csv", ".json", ".css", ".jinja", ".svg"}
PASSED_OVER = {"__pycache__", "_build", "build", "dist"}
# Written in pieces, so that this file does not hold what it looks for.
FORBIDDEN = re.compile(
    "|".join(
        [
            r"/(?:root|work|home)" + r"/\w",
            r"[A-Z]:\\Users" + r"\\",
            r"pypi" + r"\.(?:org|python)",
            r"files\.python" + r"hosted",
            r"registry\.npm" + r"js",
            r"proxy\.golang" + r"\.org",
        ]
    )
)
FRAGMENT = re.compile(r"[a-z0-9-]+\.(?:added|changed|fixed|removed|plugins)\.md")


def files():
    for place in PLACES:
        path = ROOT / place
        for file in [path] if path.is_file() else sorted(path.rglob("*")):
            parts = file.relative_to(ROOT).parts
            hidden = any(part.startswith(".") for part in parts[1:]) or PASSED_OVER & set(parts)
            if file.is_file() and file.suffix in TEXT and not hidden:
                yield file


def test_no_path_of_a_machine_and_no_registry():
    found = []
    for file in files():
        for number, line in enumerate(file.read_text(encoding="utf-8", errors="replace").splitlines(), start=1):
            if FORBIDDEN.search(line):
                found.append(f"{file.relative_to(ROOT)}, line {number}")
    assert found == []


@pytest.mark.parametrize("text", ["see /ro" + "ot/notes", "from pyp" + "i.org", "C:\\User" + "s\\me"])
def test_the_look_bites(text):
    assert FORBIDDEN.search(text)


def test_change_notes_have_a_kind_and_are_short():
    notes = sorted((ROOT / "docs" / "changelog.d").iterdir())
    assert notes
    for note in notes:
        assert FRAGMENT.fullmatch(note.name), note.name
        assert all(line.startswith("- ") for line in note.read_text(encoding="utf-8").splitlines())
