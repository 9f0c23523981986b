"""What the kit tries plugins on: pictures that open, reports whose numbers fit, strategies that reach every corner."""

from __future__ import annotations

import io
import math
import zipfile
import zlib
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, Phase, find, given, settings

import lanewise
from lanewise.document import Bullets, Figure, Paragraph, Table
from lanewise.model.record import decode, encode
from lanewise.styles import builtin as styles
from lanewise.testing import isolated, strategies
from lanewise.testing.foreign import foreign_files
from lanewise.testing.pictures import draw
from lanewise.testing.report_data import data_tables
from lanewise.testing.reports import ACTING, FORMULAS, LANES, PLAIN, UNSEEN, standard_reports
from lanewise.testing.studies import standard_studies

BUILT_IN = isolated(styles)
FEW = settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large], deadline=None)
SEARCH = settings(max_examples=1000, phases=[Phase.generate], suppress_health_check=list(HealthCheck), database=None)


class TestPictures:
    def test_svg(self):
        tree = ElementTree.fromstring(draw("svg"))
        assert tree.tag == "{http://www.w3.org/2000/svg}svg"
        assert (tree.get("width"), tree.get("height")) == ("80mm", "50mm")

    def test_png(self):
        # PNG Specification, third edition, 5.3: each chunk ends in the CRC of its type and data (from memory)
        data = draw("png")
        at, kinds = 8, []
        while at < len(data):
            length = int.from_bytes(data[at : at + 4])
            kinds.append(data[at + 4 : at + 8])
            assert zlib.crc32(data[at + 4 : at + 8 + length]) == int.from_bytes(
                data[at + 8 + length : at + 12 + length]
            )
            at += 12 + length
        assert kinds == [b"IHDR", b"IDAT", b"IEND"]
        image = pytest.importorskip("PIL.Image")
        assert image.open(io.BytesIO(data)).size == (80, 50)

    def test_pdf_table_points_at_its_objects(self):
        # ISO 32000-1:2008, 7.5.4 and 7.5.5 (from memory)
        data = draw("pdf")
        table = int(data.rsplit(b"startxref\n", 1)[1].split(b"\n")[0])
        entries = data[table:].split(b"\n")
        assert entries[0] == b"xref"
        for number in range(1, 5):
            place = int(entries[2 + number].split()[0])
            assert data[place:].startswith(b"%d 0 obj" % number)

    @pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
    def test_the_same_bytes_each_time(self, kind):
        assert draw(kind) == draw(kind)


class TestReports:
    def test_every_label_stands_in_every_place(self):
        reports = standard_reports()
        for name, labels in (("labels", PLAIN), ("hostile", {**ACTING, **FORMULAS}), ("unseen", UNSEEN)):
            blocks = [block for section in reports[name].sections for block in section.blocks]
            for label in labels.values():
                assert any(label in row for table in blocks if isinstance(table, Table) for row in table.rows)
                assert any(label in table.header for table in blocks if isinstance(table, Table))
                assert Paragraph(label) in blocks
                assert any(label in block.items for block in blocks if isinstance(block, Bullets))
                assert any(label in block.description for block in blocks if isinstance(block, Figure))

    def test_forty_lanes(self):
        table = standard_reports()["wide"].sections[0].blocks[0]
        assert len(table.header) == 1 + LANES == 41

    def test_a_label_of_five_hundred_characters(self):
        assert len(PLAIN["long"]) == 500

    def test_record_data_and_date_are_filled(self):
        report = standard_reports()["ordinary"]
        assert decode(report.record).plates
        assert report.date
        assert [table.name for table in report.data] == ["systems", "plates", "marks", "spots", "pairs", "budget"]

    def test_numbers_of_the_data_fit_each_other(self):
        tables = {table.name: table for table in data_tables(("black", "brown", "blue"))}
        marks, spots, budget = tables["marks"], tables["spots"], tables["budget"]
        front, centre = marks.column("front_mm").values, marks.column("centre_mm").values
        for row, rf in enumerate(spots.column("rf").values):
            assert rf == pytest.approx(centre[row] / front[row], rel=1e-15)
            parts = [budget.column(f"u_rf_{part}").values[row] for part in ("origin", "front", "spot")]
            assert math.hypot(*parts) == pytest.approx(spots.column("u_rf").values[row], rel=1e-15)

    def test_the_columns_are_those_of_a_real_report(self):
        spots = [lanewise.Spot(label="1", centre=20), lanewise.Spot(label="2", centre=40)]
        plate = lanewise.Plate(label="1", origin=0, front=85, lanes=[lanewise.Lane(label="A", spots=spots)])
        study = lanewise.Study(plates=[plate])
        real = {table.name: table for table in lanewise.study_report(study).data}
        for table in data_tables():
            known = {column.name: (column.kind, column.unit) for column in real[table.name].columns}
            for column in table.columns:
                assert known[column.name] == (column.kind, column.unit)


def test_foreign_files_are_what_they_are_called():
    files = foreign_files()
    assert files["photo.jpg"].startswith(b"\xff\xd8")
    with zipfile.ZipFile(io.BytesIO(files["workbook.xlsx"])) as book:
        assert "xl/workbook.xml" in book.namelist()
    assert lanewise.detect(files["marks-table.csv"], name="marks-table.csv")[0].recognition.claim == "yes"
    assert lanewise.read(files["study-record.json"], name="study-record.json").title == "Writing inks"


def test_standard_studies_have_every_state():
    states = {
        spot.state for s in standard_studies().values() for p in s.plates for lane in p.lanes for spot in lane.spots
    }
    assert states == {"measured", "at origin", "with front", "streak", "unread", "absent"}


@FEW
@given(strategies.reports())
@pytest.mark.parametrize("style", ["html", "markdown", "text"])
def test_any_report_is_laid_out(style, report):
    assert lanewise.render(report, style, registry=BUILT_IN).main


@FEW
@given(strategies.studies(shared=True))
def test_any_study_goes_through_its_record(study):
    assert decode(encode(study)) == study


def any_lane(study, question):
    return any(question(lane) for plate in study.plates for lane in plate.lanes)


@pytest.mark.parametrize(
    ("strategy", "question"),
    [
        pytest.param(strategies.studies(), lambda s: any_lane(s, lambda lane: len(lane.traces) > 1), id="two traces"),
        pytest.param(
            strategies.studies(1), lambda s: any_lane(s, lambda lane: any(spot.area for spot in lane.spots)), id="area"
        ),
        pytest.param(
            strategies.studies(1),
            lambda s: any_lane(s, lambda lane: any(spot.u_area for spot in lane.spots)),
            id="u_area",
        ),
        pytest.param(
            strategies.studies(shared=True), lambda s: any(plate.shared_errors for plate in s.plates), id="shared error"
        ),
        pytest.param(
            strategies.reports(),
            lambda r: any(isinstance(block, Figure) for section in r.sections for block in section.blocks),
            id="figure",
        ),
        pytest.param(
            strategies.reports(),
            lambda r: any(isinstance(b, Table) and b.rows for section in r.sections for b in section.blocks),
            id="table",
        ),
        pytest.param(strategies.reports(), lambda r: any("<script>" in text for text in r.summary), id="hostile"),
        pytest.param(strategies.reports(), lambda r: any(len(table) for table in r.data), id="data"),
        pytest.param(strategies.reports(), lambda r: bool(r.date), id="date"),
    ],
)
def test_strategies_reach(strategy, question):
    assert question(find(strategy, question, settings=SEARCH))


@FEW
@given(strategies.studies())
def test_without_being_asked_no_errors_are_shared(study):
    assert not any(plate.shared_errors for plate in study.plates)
