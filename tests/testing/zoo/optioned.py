"""Plugins whose options do not hold what they say."""

from __future__ import annotations

from dataclasses import dataclass

from lanewise.document import Report
from lanewise.hooks import hookimpl, option
from zoo import Caught
from zoo.page import Page, page
from zoo.sheet import lines_of, read, readings, rows_of, sheet

CAUGHT = {
    "trusting-sheet": Caught("options", "Declare what is allowed with choices="),
    "choosy-sheet": Caught("options", "wanted: unit='in' to work"),
    "deaf-sheet": Caught("option_effects", "wanted: option 'division' to have an effect"),
    "trusting-page": Caught("options", "Declare what is allowed with choices="),
    "deaf-page": Caught("option_effects", "Use the option, drop it, or add an example on which it acts"),
}
UNITS = {"": "mm", "2": "cm", "1": "mm"}


@dataclass(frozen=True)
class AnyUnit:
    unit: str = option("", help="unit of the lengths")


@dataclass(frozen=True)
class OneUnit:
    unit: str = option("mm", help="unit of the lengths", choices=("mm", "cm", "in"))

    def __post_init__(self):
        if self.unit == "in":
            raise ValueError("inches are not known")


@dataclass(frozen=True)
class Division:
    division: float = option(1.0, help="division of the ruler", unit="mm", minimum=0.1)


def read_trusting(source, options):
    lines = lines_of(source)
    return readings(rows_of(source, lines), UNITS[options.unit] if options.unit else lines[1].partition(": ")[2])


def read_choosy(source, options):
    lines = lines_of(source)
    unit = lines[1].partition(": ")[2]
    return readings(rows_of(source, lines), unit if options.unit == "mm" else options.unit)


class Trusting(Page):
    def render(self, report, options):
        size = {"": 10, "x": 12, "1": 8, "2": 9}[options.unit]
        return super().render(Report(report.title, report.summary, report.sections, f"en-x-{size}"), options)

    def head(self, report):
        return super().head(report).replace("lang='en'", f"lang='{report.language}'")


@hookimpl
def lanewise_import_formats():
    return [
        sheet("trusting-sheet", read_trusting, options=AnyUnit),
        sheet("choosy-sheet", read_choosy, options=OneUnit),
        sheet("deaf-sheet", read, options=Division),
    ]


@hookimpl
def lanewise_report_styles():
    return [page("trusting-page", Trusting(), options=AnyUnit), page("deaf-page", options=Division)]
