"""The report of a choice: order, failures and predictions as the analyses give them, and what is refused or told."""

from __future__ import annotations

from pathlib import Path

import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.ranking import rank_systems
from lanewise.document import Bullets, Figure, Table
from lanewise.errors import AnalysisError
from lanewise.files.reading import read
from lanewise.files.rendering import render
from lanewise.model.studies import Study
from lanewise.reports.choosing import choice_report
from lanewise.tables.marks import to_frame

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def leaf():
    return read(EXAMPLES / "leaf_systems.csv")


@pytest.fixture(scope="module")
def report(leaf):
    return choice_report(leaf, at={"acetone": [0.25]})


def blocks(report, kind):
    return [block for section in report.sections for block in section.blocks if isinstance(block, kind)]


def texts(report):
    return " ".join(item for block in blocks(report, Bullets) for item in block.items)


def test_the_order_is_that_of_the_ranking(report, leaf):
    ranking = rank_systems(measure(to_frame(leaf)))
    table = next(table for table in blocks(report, Table) if table.caption.startswith("Systems by the worst"))
    singles = ranking.order[ranking.order["system_b"] == ""]
    assert [row[1] for row in table.rows] == ["system D", "system C", "system B", "system A"]
    assert [row[2] for row in table.rows] == [f"{value:.2f}" for value in singles["value"]]


def test_each_criterion_has_its_row_and_its_meaning(report):
    table = next(table for table in blocks(report, Table) if table.caption.startswith("Every criterion of each system"))
    assert table.header == ("Criterion", "system A", "system B", "system C", "system D")
    assert len(table.rows) == 9
    assert "retention distance: RD, geometric mean of all gaps against equal ones." in texts(report)


def test_the_tables_behind(report):
    names = ["order", "dye_pairs", "criteria", "pairs", "predictions", "scan", "checks", "alternatives"]
    assert [table.name for table in report.data] == names
    for table in report.data:
        assert not [column.name for column in table.columns if column.meaning.startswith("factor:")], table.name
    scan = next(table for table in report.data if table.name == "scan")
    assert set(scan.column("observed").values) == {"yes", "no"}


def test_offered_solvents_stand_among_the_cautions(report):
    section = next(section for section in report.sections if section.title == "Cautions")
    said = " ".join(item for block in section.blocks if isinstance(block, Bullets) for item in block.items)
    assert "ethanol: flash point 12 °C, flammable; H225 (text of 2026-07-01)." in said
    assert "safety data sheet" in section.blocks[0].text


def test_the_best_pair_is_drawn(report):
    assert blocks(report, Figure)[0].name == "best-pair"


@pytest.mark.parametrize("style", ["text", "markdown", "html"])
def test_every_built_in_style_lays_it_out(report, style):
    text = " ".join(render(report, style).main.decode("utf-8").split())
    assert "is best with 1.76 (1.65 to 1.82)" in text


def test_without_a_series_it_says_why_nothing_is_predicted():
    found = choice_report(read(EXAMPLES / "writing_inks.csv"))
    section = next(section for section in found.sections if section.title == "What could not be said")
    assert "No Rf is predicted: wanted two systems that differ in strength alone" in section.blocks[0].items[0]
    assert [table.name for table in found.data] == ["order", "dye_pairs", "criteria", "pairs"]


def test_a_strength_that_was_asked_for_is_refused_and_not_passed_over():
    with pytest.raises(AnalysisError, match="wanted two systems that differ in strength alone"):
        choice_report(read(EXAMPLES / "writing_inks.csv"), at={"water": [0.3]})


def test_one_system_has_what_it_leaves_together(leaf):
    plates = [plate for plate in leaf.plates if plate.system == "heptane:acetone 7:3"]
    one = Study(plates=plates, systems=[system for system in leaf.systems if system.name == "heptane:acetone 7:3"])
    found = choice_report(one)
    assert "leaves together leaf extract (yellow) and leaf extract (yellow-green)" in " ".join(found.summary)
