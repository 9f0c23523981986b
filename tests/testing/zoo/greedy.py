"""A format that takes every text for its own."""

from __future__ import annotations

from lanewise.hooks import Recognition, hookimpl
from zoo import Caught
from zoo.sheet import sheet

CAUGHT = {"greedy-sheet": Caught("foreign", "Say yes to the format's own signature only")}


def recognise(sample):
    return Recognition.yes("it is text") if sample.text else Recognition.no("it is no text")


@hookimpl
def lanewise_import_formats():
    return [sheet("greedy-sheet", recogniser=recognise)]
