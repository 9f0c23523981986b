"""A plugin that says hello when it is loaded."""

from __future__ import annotations

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.page import page
from zoo.sheet import sheet

CAUGHT = {
    "chatty-sheet": Caught("quiet_import", "given:  'the chatty plugin is here'"),
    "chatty-page": Caught("quiet_import", "Remove what prints at the top of the module"),
}

print("the chatty plugin is here")  # noqa: T201


@hookimpl
def lanewise_import_formats():
    return [sheet("chatty-sheet")]


@hookimpl
def lanewise_report_styles():
    return [page("chatty-page")]
