"""The report of a recipe says what the recipe says, and never without its cautions."""

from __future__ import annotations

import pytest

import lanewise
from lanewise.document import Table
from lanewise.planning.cautions import LOCAL_RULES
from lanewise.reports.recipes import recipe_sections


@pytest.fixture
def report():
    found = lanewise.recipe("1-butanol:acetic acid:water 12:3:5", 40)
    return lanewise.recipe_report(
        found,
        lanewise.cautions(found.system),
        running=lanewise.running_time(75, [(40, 20, "a"), (60, 44, "a"), (75, 66, "b")]),
        title="Amino acids (invented)",
        date="2026-11-25",
    )


def test_amounts_stand_in_the_table_and_in_the_data(report):
    (table,) = report.sections[0].blocks
    assert isinstance(table, Table)
    assert [row[:2] for row in table.rows] == [
        ("1-butanol", "24 mL"), ("acetic acid", "6 mL"), ("water", "10 mL"),
    ]  # fmt: skip
    (data,) = report.data
    assert data.column("take").values == (24.0, 6.0, 10.0)


def test_sections_stand_in_the_order_of_the_work(report):
    titles = [section.title for section in report.sections]
    assert titles == ["What to measure", "How to mix", "Remarks on the recipe", "How long it runs", "Cautions"]
    assert report.sections[-1].blocks[0].text == LOCAL_RULES


@pytest.mark.parametrize("style", ["text", "markdown", "html"])
def test_every_built_in_style_lays_it_out(report, style):
    page = lanewise.render(report, style).main.decode()
    for said in ("24 mL", "fresh on the day", "H226", "data sheet decide"):
        assert said in " ".join(page.split()).replace("&#39;", "'"), said


def test_kitchen_measures_have_their_section():
    found = lanewise.recipe("0.1 % sodium chloride in water", 700)
    kitchen = lanewise.kitchen_recipe(1.0, 700)
    sections = recipe_sections(found, kitchen=kitchen)
    assert [one.title for one in sections][2] == "In kitchen measures"


def test_its_sections_go_into_the_report_of_a_plan():
    found = lanewise.recipe("ethanol:water 1:1", 40)
    plan = lanewise.plan(["U1"], ["blue"], width=60, height=100, system="ethanol:water 1:1")
    titles = [one.title for one in lanewise.plan_report(plan, sections=recipe_sections(found)).sections]
    assert titles.index("What to measure") < titles.index("Cautions")


def test_a_date_that_is_none_is_refused():
    found = lanewise.recipe("water", 40)
    with pytest.raises(ValueError, match=r"wanted YYYY-MM-DD|Invalid isoformat"):
        lanewise.recipe_report(found, lanewise.cautions(found.system), date="today")
