"""A plugin whose reader changes the process once, when its module is imported."""

from __future__ import annotations

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.sheet import sheet

CAUGHT = {"lazy-sheet": Caught("global_state", "limit of csv fields")}


@hookimpl
def lanewise_import_formats():
    return [sheet("lazy-sheet", "zoo.late:read")]
