"""A format and a style without a title: the library does not take them."""

from __future__ import annotations

from dataclasses import replace

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.page import page
from zoo.sheet import sheet

CAUGHT = {
    "untitled-sheet": Caught("descriptor", "title wanted one line of text, given ''"),
    "untitled-page": Caught("descriptor", "title wanted one line of text, given ''"),
}


@hookimpl
def lanewise_import_formats():
    return [replace(sheet("untitled-sheet"), title="")]


@hookimpl
def lanewise_report_styles():
    return [replace(page("untitled-page"), title="")]
