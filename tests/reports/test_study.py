"""The report of the example, looked at as its readers would."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

import lanewise
from lanewise.analyses.measure import measure
from lanewise.document import Bullets, Figure, Paragraph, Table
from lanewise.model.plates import Lane, Plate, Spot
from lanewise.model.solvents import SolventSystem
from lanewise.model.studies import Study
from lanewise.reports.study import study_report
from lanewise.tables.marks import to_frame
from lanewise.uncertainty.rounding import with_uncertainty

SECTIONS = (
    "What was done",
    "The plates",
    "Neighbouring spots",
    "Comparison of the systems",
    "Conclusion",
    "How sure this is",
    "What could not be said",
    "Cautions",
    "Where this comes from",
)


@pytest.fixture(scope="module")
def report(inks):
    return study_report(inks, title="Writing inks")


def section(report, title):
    return next(part for part in report.sections if part.title == title)


def words(part):
    """All text of a section."""
    texts = []
    for block in part.blocks:
        if isinstance(block, Paragraph):
            texts.append(block.text)
        elif isinstance(block, Bullets):
            texts += block.items
        elif isinstance(block, Table):
            texts += [block.caption, *block.header, *(cell for row in block.rows for cell in row)]
        else:
            texts += [block.caption, *block.description]
    return "\n".join(texts)


def one_system():
    lanes = [
        Lane(label="1", sample="ink", spots=[Spot(label="1", centre=30.0), Spot(label="2", centre=60.0)]),
        Lane(label="2", sample="standard", role="standard", spots=[Spot(label="1", centre=60.5)]),
    ]
    return Study(plates=[Plate(label="p", system="water", origin=10.0, front=90.0, lanes=lanes)])


def test_sections_stand_in_reading_order(report):
    assert tuple(part.title for part in report.sections) == SECTIONS
    assert report.title == "Writing inks"


def test_the_systems_are_named_before_anything_is_said_of_them(report):
    assert report.summary[0] == (
        "System A is ethyl acetate:ethanol:water 70:35:30; system B is 1-butanol:ethanol:water 50:10:15."
    )


def test_the_note_says_that_the_readings_are_invented(report):
    assert "Invented readings" in words(section(report, "What was done"))


def test_every_plate_is_drawn_and_has_its_table(report, inks):
    blocks = section(report, "The plates").blocks
    assert [type(block) for block in blocks] == [Figure, Table] * len(inks.plates)
    for plate, figure, table in zip(inks.plates, blocks[::2], blocks[1::2], strict=True):
        assert plate.label in figure.caption
        assert plate.label in table.caption
        assert len(table.rows) == sum(len(lane.spots) for lane in plate.lanes)


def test_every_rf_of_the_tables_is_the_measured_one(report, inks):
    spots = measure(to_frame(inks)).spots
    rows = [row for block in section(report, "The plates").blocks[1::2] for row in block.rows]
    assert len(rows) == len(spots)
    column = section(report, "The plates").blocks[1].header.index("Rf")
    for row, (_, spot) in zip(rows, spots.iterrows(), strict=True):
        if spot["rf"] == spot["rf"]:
            assert row[column].replace("\N{NO-BREAK SPACE}", " ") == " ± ".join(
                with_uncertainty(spot["rf"], spot["u_rf"])
            )
        else:
            assert spot["state"] in ("at origin", "with front", "absent")
            assert re.fullmatch(r"(< 0\.02)|(> 0\.98)|", row[column])


def test_what_could_not_be_said_names_the_ends_and_the_streak(report):
    text = words(section(report, "What could not be said"))
    for part in ("stayed at the origin", "ran with the front", "is a streak", "cannot be compared", "not proof"):
        assert part in text


def test_cautions_defer_and_print_only_checked_codes(report):
    text = words(section(report, "Cautions"))
    assert "local rules and the supplier's safety data sheet decide" in text
    assert "1-butanol: flash point 35 °C, flammable; H226, H302, H315, H318, H335, H336 (text of 2026-07-01)." in text
    assert "ethyl acetate: flash point -4 °C, flammable; no hazard codes are printed" in text
    assert "water: not classified as hazardous (common knowledge)." in text


def test_provenance_names_file_digest_and_version(report, inks):
    from importlib.metadata import version

    text = words(section(report, "Where this comes from"))
    assert inks.inputs[0].sha256 in text
    assert "writing_inks.csv" in text
    assert version("lanewise") in text


def test_budget_shares_add_up(report):
    table = next(block for block in section(report, "How sure this is").blocks if isinstance(block, Table))
    shares = [int(row[2].removesuffix(" %")) for row in table.rows]
    assert sum(shares) == pytest.approx(100, abs=len(shares) / 2)


def test_one_system_is_reported_without_a_comparison():
    report = study_report(one_system())
    assert "Comparison of the systems" not in [part.title for part in report.sections]
    assert report.title == "Planar chromatography, 1 plate"
    assert "water: the strength suits these dyes" in words(section(report, "Conclusion")).lower()
    assert "no file was read" in words(section(report, "Where this comes from"))


def test_a_report_says_when_it_does_not_draw_all_plates(inks):
    report = study_report(inks, most_drawn=2)
    blocks = section(report, "The plates").blocks
    assert sum(isinstance(block, Figure) for block in blocks) == 2
    assert "Only the first 2 of 6 plates are drawn" in words(section(report, "The plates"))


def test_a_system_in_which_nothing_was_run_is_listed_under_its_own_name():
    plate = Plate(
        label="1", system="water", origin=0, front=80, lanes=[Lane(label="A", spots=[Spot(label="1", centre=30)])]
    )
    systems = [SolventSystem(name="water"), SolventSystem(name="not run")]
    (table,) = [
        block
        for block in study_report(Study(systems=systems, plates=[plate])).sections[0].blocks
        if isinstance(block, Table) and block.caption == "Solvent systems."
    ]
    assert [row[0] for row in table.rows] == ["water", "not run"]


def test_a_report_carries_its_numbers_unrounded(report, inks):
    marks = lanewise.to_frame(inks)
    spots = lanewise.measure(marks).spots
    tables = {table.name: table for table in report.data}
    assert list(tables) == ["systems", "plates", "marks", "spots", "pairs", "budget"]
    assert tables["spots"].keys == ("plate", "lane", "spot")
    held = [math.nan if value is None else value for value in tables["spots"].column("rf").values]
    np.testing.assert_array_equal(held, spots["rf"])
    held = [math.nan if value is None else value for value in tables["marks"].column("leading_mm").values]
    np.testing.assert_array_equal(held, marks["leading_mm"])
    assert tables["marks"].column("bench").meaning.startswith("factor")
    assert set(tables["systems"].column("system").values) == {system.name for system in inks.systems}
    assert tables["plates"].column("plate").values == tuple(plate.label for plate in inks.plates)
    assert all(
        value is None or isinstance(value, str | float)
        for table in report.data
        for column in table.columns
        for value in column.values
    )


def test_the_parts_of_a_budget_make_up_the_uncertainty(report):
    budget = report.data[-1]
    parts = [budget.column(f"u_rf_{part}").values for part in ("origin", "front", "spot")]
    assert len(budget) > 50
    np.testing.assert_allclose(
        [math.hypot(*row) for row in zip(*parts, strict=True)], budget.column("u_rf").values, rtol=1e-12
    )
    # JCGM 100:2008, 5.1.2: a part is sensitivity times input uncertainty, and here d Rf / d front = -Rf / run
    spots, marks = report.data[3], report.data[2]
    named = {key: row for row, key in enumerate(zip(*(marks.column(name).values for name in spots.keys), strict=True))}
    key = tuple(budget.column(name).values[0] for name in spots.keys)
    row = named[key]
    run = marks.column("front_mm").values[row] - marks.column("origin_mm").values[row]
    u_front = marks.column("division_mm").values[row] / math.sqrt(12)
    assert parts[1][0] == pytest.approx(budget.column("rf").values[0] * u_front / run, rel=1e-12)


def test_a_report_carries_its_record_and_its_date(inks):
    report = study_report(inks, date="2026-03-01")
    assert report.date == "2026-03-01"
    assert lanewise.read(report.record, name="inks.json").plates == inks.plates


@pytest.mark.parametrize("date", ["20260301", "1 March 2026", "2026-02-30"])
def test_a_date_that_is_none_is_refused(inks, date):
    with pytest.raises(ValueError, match=r"date: wanted YYYY-MM-DD|Invalid isoformat|day is out of range"):
        study_report(inks, date=date)


def test_figure_names_are_unique(report):
    names = [block.name for part in report.sections for block in part.blocks if isinstance(block, Figure)]
    assert len(names) == len(set(names)) == 7


def test_the_same_study_gives_the_same_report(report, inks):
    again = study_report(inks, title="Writing inks")
    assert [words(part) for part in again.sections] == [words(part) for part in report.sections]
