"""Formats that do not refuse bad files, or refuse them badly."""

from __future__ import annotations

import time

from lanewise.errors import UnreadableFile
from lanewise.hooks import hookimpl
from lanewise.model.studies import Study
from zoo import Caught
from zoo.sheet import FIRST, lines_of, read, readings, rows_of, sheet, unit_of

CAUGHT = {
    "short-sheet": Caught("truncated", "Count what must be there", also=("fuzz", "damaged")),
    "inventing-sheet": Caught("truncated", "to be refused, or rows of the whole file"),
    "content-sheet": Caught("empty", "Refuse a file that holds no readings"),
    "omnivorous-sheet": Caught("wrong_type", "Look for the format's own signature before anything else"),
    "silent-sheet": Caught("damaged", "Pass over nothing in silence"),
    "whole-sheet": Caught("odd_cells", "catch ValueError around each conversion"),
    "small-sheet": Caught("huge_cell", "Limit what one cell may hold"),
    "vague-sheet": Caught("place", "Write the line, row, column or path"),
    "asserting-sheet": Caught("fuzz", "think of short lines, repeated lines"),
    "pondering-sheet": Caught("fuzz", "done within 1 s"),
}


def read_short(source, options):
    lines = lines_of(source)
    rows = [line.split(";") for line in lines[2:] if line != "end"]
    return readings([(row[0], row[1], row[2], row[3]) for row in rows], unit_of(source, lines))


def read_inventing(source, options):
    lines = lines_of(source)
    whole = lines[-1] == "end"
    rows = rows_of(source, lines if whole else [*lines[:-1], "end"])
    if not whole:
        rows = [[*row[:3], str(len(row[3]))] for row in rows]
    return readings(rows, unit_of(source, lines))


def read_content(source, options):
    return read(source, options) if source.text().strip("\ufeff \t\r\n") else Study()


def read_omnivorous(source, options):
    if b"\0" in source.bytes() or not source.text().strip("\ufeff \t\r\n"):
        return read(source, options)
    if not FIRST.match(source.text()):
        return Study(note=source.text())
    return read(source, options)


def read_silent(source, options):
    lines = lines_of(source)
    kept = [line for line in lines[2:-1] if line.count(";") == 3]
    return readings(rows_of(source, [*lines[:2], *kept, lines[-1]]), unit_of(source, lines))


def converting(source, convert):
    lines = lines_of(source)
    rows = [[*row[:2], *map(convert, row[2:])] for row in rows_of(source, lines)]
    return readings(rows, unit_of(source, lines))


def read_whole(source, options):
    return converting(source, lambda cell: int(cell) if cell.isdigit() and len(cell) < 100 else cell)


def read_small(source, options):
    return converting(source, lambda cell: int(cell) if cell.isdecimal() else cell)


def read_vague(source, options):
    def checked(cell):
        if "?" in cell:
            raise UnreadableFile("something is not as it should be.")
        return cell

    return converting(source, checked)


def read_asserting(source, options):
    lines = lines_of(source)
    rows = rows_of(source, lines)
    seen = [row[0] for row in rows]
    assert len(set(seen)) == len(seen)
    return readings(rows, unit_of(source, lines))


def read_pondering(source, options):
    lines = lines_of(source)
    rows = rows_of(source, lines)
    if len({row[0] for row in rows}) < len(rows):
        time.sleep(1.2)
    return readings(rows, unit_of(source, lines))


@hookimpl
def lanewise_import_formats():
    readers = {name: globals()["read_" + name.removesuffix("-sheet")] for name in CAUGHT}
    return [sheet(name, reader) for name, reader in readers.items()]
