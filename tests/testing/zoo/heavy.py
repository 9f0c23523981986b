"""A plugin whose module loads a large package before anybody needs it."""

from __future__ import annotations

import pandas  # noqa: F401

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.page import page
from zoo.sheet import sheet

CAUGHT = {
    "heavy-sheet": Caught("light_import", "Move imports of large packages into the function that needs them"),
    "heavy-page": Caught("light_import", "Move imports of large packages into the function that needs them"),
}


@hookimpl
def lanewise_import_formats():
    return [sheet("heavy-sheet")]


@hookimpl
def lanewise_report_styles():
    return [page("heavy-page")]
