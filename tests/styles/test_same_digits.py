"""Every installed style gives the same digits: random studies go through all, and independent readers compare."""

from __future__ import annotations

import dataclasses
import io
import re
import zipfile
from collections import Counter
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings

import lanewise
from lanewise.document import Figure, Report, Section, Table
from lanewise.testing.pictures import draw
from lanewise.testing.strategies import studies

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"
NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)  # a failing study is large, and takes minutes to be made small
FEW = settings(
    max_examples=12,
    deadline=None,
    phases=PHASES,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@pytest.fixture(scope="module")
def readers(readback):
    """For each media type, how its text is read by something that did not write it."""

    def page(data):
        return "\n".join(cell for table in readback.html_tables(data) for row in table for cell in row)

    def workbook(data):
        sheets = openpyxl.load_workbook(io.BytesIO(data), read_only=True).worksheets
        return "\n".join(str(cell) for sheet in sheets for row in sheet.values for cell in row if isinstance(cell, str))

    def archive(data):
        with zipfile.ZipFile(io.BytesIO(data)) as held:
            return page(held.read("report.html"))

    return {
        "text/html": page,
        "text/markdown": lambda data: "\n".join(
            " ".join(row) for table in readback.markdown_tables(data) for row in table
        ),
        "text/plain": lambda data: data.decode(),
        "application/x-tex": lambda data: re.sub(r"\\[A-Za-z]+|[{}~]", " ", data.decode()),
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": workbook,
        "application/zip": archive,
    }


def figures_made_cheap(report):
    """The same report with one small picture in place of each; their words stay."""
    cheap = tuple(
        Section(section.title, tuple(
            dataclasses.replace(block, draw=draw) if isinstance(block, Figure) else block
            for block in section.blocks
        ))
        for section in report.sections
    )  # fmt: skip
    return dataclasses.replace(report, sections=cheap)


def numbers(text):
    return Counter(NUMBER.findall(text))


def numbers_of(report: Report):
    tables = [block for section in report.sections for block in section.blocks if isinstance(block, Table)]
    cells = [
        cell
        for table in tables
        for row in table.rows
        for cell, number in zip(row, table.numeric, strict=True)
        if number
    ]
    return numbers("\n".join(cells))


def check(report, readers):
    wanted = numbers_of(report)
    for entry in lanewise.default_registry().styles.values():
        assert entry.item.media_type in readers, f"no reader here for {entry.item.media_type} of {entry.full_name}"
        rendered = lanewise.render(report, entry.full_name)
        found = numbers(readers[entry.item.media_type](rendered.main))
        assert wanted - found == Counter(), f"{entry.full_name} lost or changed numbers"


@FEW
@given(study=studies(min_spots=1))
def test_a_random_study_has_the_same_digits_in_every_style(study, readers):
    assume(any(lane.spots for plate in study.plates for lane in plate.lanes))
    check(figures_made_cheap(lanewise.study_report(study, date="2026-03-01")), readers)


def test_the_example_has_the_same_digits_in_every_style(readers):
    report = lanewise.study_report(lanewise.read(EXAMPLE), date="2026-03-01")
    assert sum(numbers_of(report).values()) > 500
    check(figures_made_cheap(report), readers)


@pytest.mark.parametrize("make", ["comparison_report", "choice_report"])
def test_comparing_and_choosing_have_the_same_digits_in_every_style(readers, make):
    report = getattr(lanewise, make)(lanewise.read(EXAMPLE), date="2026-03-01")
    assert sum(numbers_of(report).values()) > 50
    check(figures_made_cheap(report), readers)


def test_a_changed_digit_would_be_seen(readers):
    report = lanewise.study_report(lanewise.read(EXAMPLE))
    page = lanewise.render(figures_made_cheap(report), "lanewise:html").main
    wanted = numbers_of(report)
    cell = next(number for number in wanted if number.startswith("0."))
    assert wanted - numbers(readers["text/html"](page)) == Counter()
    changed = page.replace(f">{cell}".encode(), f">{cell[:-1]}".encode(), 1)
    assert changed != page
    assert wanted - numbers(readers["text/html"](changed)) != Counter()
