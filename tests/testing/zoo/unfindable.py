"""A format that no file can be found to be of."""

from __future__ import annotations

from dataclasses import replace

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.sheet import sheet

CAUGHT = {"unfindable-sheet": Caught("descriptor", "wanted: file endings or a recogniser")}


@hookimpl
def lanewise_import_formats():
    return [replace(sheet("unfindable-sheet"), suffixes=(), recognise=None)]
