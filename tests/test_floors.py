"""The floors of the architecture: no import runs upward or sideways between rooms."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import lanewise

PACKAGE = Path(lanewise.__file__).parent
FLOORS = (
    ("errors",),
    ("model", "document", "quantities", "uncertainty", "stats", "traces", "reference"),
    ("planning", "tables", "hooks", "densitometry"),
    ("analyses", "formats", "styles", "plugins"),
    ("figures", "files"),
    ("reports", "testing", "batch", "scaffold"),
    ("cli",),
)
FLOOR_OF = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
FORBIDDEN = {("analyses", "model")}
FACE = {"__init__", "__main__"}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    """Rooms of the package that a file imports, at the top or inside a function; the face counts as ''."""
    rooms = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}, line {node.lineno}: imports are absolute"
            module = node.module or ""
            names = [f"lanewise.{alias.name}" for alias in node.names] if module == "lanewise" else [module]
        for name in names:
            parts = name.split(".")
            if parts[0] == "lanewise":
                rooms.add(parts[1] if len(parts) > 1 else "")
    return rooms


FILES = sorted(path for path in PACKAGE.rglob("*.py") if room_of(path) not in FACE)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_imports_run_downward(path):
    here = room_of(path)
    for room in imported_rooms(path) - {here}:
        assert room, f"{path.name} imports from the package's own face"
        assert FLOOR_OF[room] < FLOOR_OF[here], (
            f"{here} (floor {FLOOR_OF[here]}) imports {room} (floor {FLOOR_OF[room]})"
        )
        assert (here, room) not in FORBIDDEN, f"{here} may not know {room}"


def test_every_room_stands_on_a_floor():
    rooms = {room_of(path) for path in FILES}
    assert rooms <= set(FLOOR_OF)


def test_a_forbidden_import_would_be_seen(tmp_path):
    """The check itself bites: an import inside a function and one of the face are both found."""
    source = "import lanewise\ndef late():\n    from lanewise.model.plates import Plate\n    return Plate\n"
    path = tmp_path / "example.py"
    path.write_text(source, encoding="utf-8")
    assert imported_rooms(path) == {"", "model"}
