"""Plugins without a fault, as a control."""

from __future__ import annotations

from lanewise.hooks import hookimpl
from zoo.page import page, table_of_cells
from zoo.sheet import sheet


@hookimpl
def lanewise_import_formats():
    return [sheet("good-sheet")]


@hookimpl
def lanewise_report_styles():
    return [page("good-page"), table_of_cells("good-cells")]
