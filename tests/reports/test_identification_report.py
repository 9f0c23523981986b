from __future__ import annotations

import pytest

from lanewise.analyses.identify import identify
from lanewise.analyses.measure import measure
from lanewise.document import Table
from lanewise.files.rendering import render
from lanewise.reports.identification import identification_report, verdict
from lanewise.tables.marks import to_frame


@pytest.fixture(scope="module")
def report(inks):
    return identification_report(inks, date="2026-01-05")


def tables(report):
    return [block for section in report.sections for block in section.blocks if isinstance(block, Table)]


def test_summary_says_what_is_in_what(report):
    assert report.summary[0] == (
        "ledger blue is consistent with holding crystal violet (probability above 0.99); left over: blue."
    )
    assert any("yellow, is seen in 3 samples" in text for text in report.summary)


def test_verdicts_are_those_of_the_analysis(report, inks):
    found = identify(measure(to_frame(inks)))
    (table,) = [table for table in tables(report) if table.caption == "The verdict on each spot."]
    assert [row[table.header.index("Verdict")] for row in table.rows] == [
        verdict(row) for row in found.spots.to_dict("records")
    ]


def test_it_never_says_is(report):
    """Report consistent with, not distinguishable from, excluded; never is (common practice)."""
    said = [text for section in report.sections for block in section.blocks for text in getattr(block, "items", ())]
    assert any("no proof" in str(block) for section in report.sections for block in section.blocks)
    assert [text for text in (*said, *report.summary) if " is crystal violet" in text or " is eosin" in text] == []


def test_cautions_and_sources_stand(report):
    titles = [section.title for section in report.sections]
    assert titles[-2:] == ["Cautions", "Where this comes from"]


def test_numbers_behind_it(report):
    data = {table.name: table for table in report.data}
    assert set(data) == {"identities", "candidates", "mixtures", "shared"}
    assert len(data["candidates"]) == 36
    assert all(column.meaning for table in report.data for column in table.columns)
    assert data["identities"].column("probability").unit == "1"


@pytest.mark.parametrize("style", ["html", "markdown", "text"])
def test_every_style_lays_it_out(report, style):
    assert b"crystal violet" in render(report, style).main
