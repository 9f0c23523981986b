"""The report of a comparison: its numbers are those of the analyses, and its pictures are described."""

from __future__ import annotations

from pathlib import Path

import pytest

from lanewise.analyses.compare import compare
from lanewise.analyses.contrasts import contrast
from lanewise.analyses.correlations import correlate
from lanewise.analyses.measure import measure
from lanewise.document import Figure, Table
from lanewise.errors import AnalysisError
from lanewise.files.reading import read
from lanewise.files.rendering import render
from lanewise.model.record import decode
from lanewise.model.studies import Study
from lanewise.reports.comparing import comparison_report
from lanewise.tables.marks import to_frame

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def inks():
    return read(EXAMPLES / "writing_inks.csv")


@pytest.fixture(scope="module")
def report(inks):
    return comparison_report(inks, date="2024-05-01")


def blocks(report, kind):
    return [block for section in report.sections for block in section.blocks if isinstance(block, kind)]


def test_the_tables_behind_are_the_findings(report, inks):
    compared = compare(measure(to_frame(inks)))
    contrasts, correlations = contrast(compared), correlate(compared)
    behind = {table.name: table for table in report.data}
    assert list(behind) == ["differences", "tests", "correlations", "planes"]
    frames = (contrasts.dyes, contrasts.systems, correlations.coefficients, correlations.planes)
    for table, frame in zip(behind.values(), frames, strict=True):
        assert [column.name for column in table.columns] == list(frame)
        assert len(table) == len(frame)
        assert table.keys
        assert not [column.name for column in table.columns if column.meaning.startswith("factor:")]
    p = behind["tests"].column("p_t").values[0]
    assert p == pytest.approx(contrasts.systems["p_t"][0])
    assert None in behind["differences"].column("p").values, "a bound has no p value"


def test_the_summary_says_what_the_sections_show(report):
    text = " ".join(report.summary)
    assert "t test p 0.809, signed ranks p 0.951" in text
    (table,) = [table for table in blocks(report, Table) if table.caption.startswith("Each two systems over all")]
    cells = {row[1]: row[2] for row in table.rows}
    assert (cells["t test, p corrected"], cells["Signed ranks, p corrected"]) == ("0.809", "0.951")


def test_the_map_is_described(report):
    (figure,) = blocks(report, Figure)
    assert figure.name == "map-1"
    assert len(figure.description) == 16


@pytest.mark.parametrize("style", ["text", "markdown", "html"])
def test_every_built_in_style_lays_it_out(report, style):
    text = render(report, style).main.decode("utf-8")
    assert "signed ranks p" in " ".join(text.split())


def test_it_carries_the_record(report, inks):
    assert isinstance(decode(report.record), Study)
    assert [plate.label for plate in decode(report.record).plates] == [plate.label for plate in inks.plates]


def test_one_system_is_refused(inks):
    plates = [plate for plate in inks.plates if plate.system == inks.systems[0].name]
    one = Study(plates=plates, systems=inks.systems[:1])
    with pytest.raises(AnalysisError, match="wanted plates in at least two solvent systems to compare"):
        comparison_report(one)
