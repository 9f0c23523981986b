"""Formats that read good files wrongly."""

from __future__ import annotations

import time
from contextlib import suppress
from dataclasses import replace
from itertools import count

from lanewise.errors import UnreadableFile
from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.sheet import lines_of, read, readings, rows_of, sheet

CAUGHT = {
    "rounding-sheet": Caught("examples", "wanted: plate.sheet, centre_mm in row 2 of the marks table: 51.25"),
    "guessing-sheet": Caught("labels", "Keep labels as text, with no guess at their type"),
    "unitless-sheet": Caught("units", "State the unit of each heading in Readings.units"),
    "latin-sheet": Caught("encodings", "Read with source.text(), which knows byte-order marks"),
    "ended-sheet": Caught("line_ends", "do not ask for a last line break"),
    "leaning-sheet": Caught("source", "Use what Source offers and nothing else"),
    "naming-sheet": Caught("ways_in", "of source.name take nothing for granted"),
    "counting-sheet": Caught("same_twice", "Keep nothing between two reads", also=("hash_seed",)),
    "shuffled-sheet": Caught("hash_seed", "sort first"),
    "hungry-sheet": Caught("size", "wanted: 20000 rows within 60 MB"),
    "dawdling-sheet": Caught("size", "wanted: 20000 rows within 2 s"),
}
NUMBERS = count(1)
HOARD = []


def read_rounding(source, options):
    made = read(source, options)
    rounded = []
    for cell in made.columns["centre"]:
        with suppress(ValueError):
            cell = f"{float(cell):.1f}"
        rounded.append(cell)
    return replace(made, columns={**made.columns, "centre": rounded})


def read_guessing(source, options):
    made = read(source, options)
    guessed = []
    for cell in made.columns["sample"]:
        with suppress(ValueError):
            cell = float(cell)
        guessed.append(str(cell))
    return replace(made, columns={**made.columns, "sample": guessed})


def read_unitless(source, options):
    return readings(rows_of(source, lines_of(source)), "mm")


class _AsUtf8:
    def __init__(self, source):
        self.name, self._text = source.name, source.bytes().decode("utf-8", "replace")

    def text(self):
        return self._text


def read_latin(source, options):
    source = _AsUtf8(source)
    if source.text().startswith("\ufeff"):
        raise UnreadableFile(f"{source.name}, line 1: wanted a letter.")
    return read(source, options)


def read_ended(source, options):
    if not source.text().endswith(("\n", "\r")):
        raise UnreadableFile(f"{source.name}: wanted a line break at the end.")
    return read(source, options)


def read_leaning(source, options):
    return read(source, options) if source.data else None


def read_naming(source, options):
    if not source.name.endswith(".sheet"):
        raise UnreadableFile(f"{source.name}: wanted a name that ends in .sheet.")
    return read(source, options)


def read_counting(source, options):
    return replace(read(source, options), note=f"file {next(NUMBERS)}")


def read_shuffled(source, options):
    made = read(source, options)
    names = {f"factor {number}" for number in range(40)}
    return replace(made, columns={**made.columns, **{name: ["x"] * len(made.places) for name in names}})


def read_hungry(source, options):
    made = read(source, options)
    HOARD[:] = [bytearray(10_000) for _ in made.places]
    return made


def read_dawdling(source, options):
    made = read(source, options)
    if len(made.places) > 1000:
        time.sleep(2.5)
    return made


@hookimpl
def lanewise_import_formats():
    readers = {name: globals()["read_" + name.removesuffix("-sheet")] for name in CAUGHT}
    return [sheet(name, reader) for name, reader in readers.items()]
