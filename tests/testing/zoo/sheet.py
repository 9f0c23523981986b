"""The good sheet: a text format from which each bad one differs in one thing.

A first line with the name of the format and its version, a line with the unit, one line a spot, an end mark.
"""

from __future__ import annotations

import re

from lanewise.errors import UnreadableFile
from lanewise.hooks import ImportFormat, Readings, Recognition

FIRST = re.compile(r"[a-z-]+ 1")
CELLS = ("lane", "sample", "front", "centre")


def recognise(name):
    """Make the recogniser of a sheet."""

    def look(sample):
        if (sample.text or "").lstrip().startswith(f"{name} 1"):
            return Recognition.yes(f"it begins with {name!r}")
        return Recognition.no(f"it does not begin with {name!r}")

    return look


def lines_of(source):
    """Give the lines of a sheet, once its first one was looked at."""
    lines = source.text().rstrip().splitlines()
    if not lines or not FIRST.fullmatch(lines[0].removeprefix("\ufeff")):
        raise UnreadableFile(f"{source.name}, line 1: wanted the name of the format and 1, given something else.")
    return lines


def unit_of(source, lines):
    """Give the unit that the second line states."""
    if len(lines) < 2 or not lines[1].startswith("unit: "):
        raise UnreadableFile(f"{source.name}, line 2: wanted 'unit: ' and a unit.")
    return lines[1].removeprefix("unit: ").strip()


def rows_of(source, lines):
    """Give the cells of each line of a spot, once the end mark was seen."""
    if lines[-1] != "end":
        raise UnreadableFile(f"{source.name}, line {len(lines)}: wanted 'end'. The file is cut short.")
    rows = [line.split(";") for line in lines[2:-1]]
    for place, row in enumerate(rows, start=3):
        if len(row) != len(CELLS):
            raise UnreadableFile(f"{source.name}, line {place}: wanted {len(CELLS)} cells, given {len(row)}.")
    if not rows:
        raise UnreadableFile(f"{source.name}, line 3: wanted a spot, given none.")
    return rows


def readings(rows, unit, **more):
    """Put cells into readings."""
    return Readings(
        columns={name: [row[at] for row in rows] for at, name in enumerate(CELLS)},
        places=range(3, len(rows) + 3),
        units={"front": unit, "centre": unit},
        **more,
    )


def read(source, options):
    """Read a sheet as it should be read."""
    lines = lines_of(source)
    return readings(rows_of(source, lines), unit_of(source, lines))


def sheet(name, reader=read, recogniser=None, **more):
    """Make a format of sheets."""
    return ImportFormat(
        name=name,
        title="Invented sheet",
        read=reader,
        suffixes=(".sheet",),
        recognise=recogniser or recognise(name),
        **more,
    )
