"""The report of a plan says what the plan says, in every built-in style."""

from __future__ import annotations

import pytest

import lanewise
from lanewise.document import Bullets, Paragraph, Section, Table
from lanewise.model.record import decode


@pytest.fixture
def found():
    return lanewise.plan(
        ["blue pen", "black pen", "red pen"], ["dye A"], width=64, height=90, standing="folded", seed=2,
        vessel=lanewise.Vessel(diameter=80, height=100), system="ethanol:water 1:1", replicates=2,
    )  # fmt: skip


def section(report, title):
    return next(one for one in report.sections if one.title == title)


def test_the_lanes_stand_in_a_table_and_in_the_data(found):
    report = lanewise.plan_report(found, title="Inks (invented)")
    table = section(report, "The lanes").blocks[0]
    assert isinstance(table, Table)
    assert [row[2] for row in table.rows] == [lane.sample for lane in found.lanes]
    (data,) = report.data
    assert data.column("x_mm").values == tuple(found.positions.tolist())
    assert decode(report.record) == found.record()


def test_warnings_are_said_and_the_fold_is_named(found):
    report = lanewise.plan_report(found)
    (block,) = section(report, "What to bear in mind").blocks
    assert isinstance(block, Bullets)
    *whole, lanes = block.items
    assert tuple(whole) == found.warnings
    tight = [lane.label for lane in found.lanes if lane.warnings]
    assert lanes.startswith(f"Tighter than usual: lanes {', '.join(tight)}.")
    assert len(tight) > 1
    texts = [one.text for one in section(report, "Lines, liquid and vessel").blocks if isinstance(one, Paragraph)]
    assert "Folded into 2 panels, at 32 mm from the left side." in texts


def test_a_sheet_that_does_not_fit_the_page_is_said_in_its_place():
    report = lanewise.plan_report(lanewise.plan(["a"], width=300, height=300))
    (block,) = section(report, "The sheet to print").blocks
    assert isinstance(block, Paragraph)
    assert "given 300 mm by 300 mm" in block.text


def test_more_sections_stand_before_the_cautions(found):
    more = Section("The solvent system", (Paragraph("Mix it fresh."),))
    titles = [one.title for one in lanewise.plan_report(found, sections=[more]).sections]
    assert titles.index("On the bench") < titles.index("The solvent system") < titles.index("Cautions")


@pytest.mark.parametrize("style", ["html", "markdown", "text"])
def test_each_style_lays_it_out(found, style):
    rendered = lanewise.render(lanewise.plan_report(found, date="2026-05-04"), style)
    text = rendered.main.decode()
    assert "front target" in text
    assert "blue pen" in text


def test_the_date_is_a_date(found):
    with pytest.raises(ValueError, match="Invalid isoformat string"):
        lanewise.plan_report(found, date="2026-5-4")
