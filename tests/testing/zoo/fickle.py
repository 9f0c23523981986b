"""A plugin that offers something else each time."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.sheet import sheet

CAUGHT = {"fickle-sheet": Caught("hook", "the same offers at the second call")}
NUMBERS = count(1)


@hookimpl
def lanewise_import_formats():
    return [replace(sheet("fickle-sheet"), title=f"Offer number {next(NUMBERS)}")]
