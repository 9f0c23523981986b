from __future__ import annotations

import datetime
import io
import zipfile

import formulas
import openpyxl
import pytest
from openpyxl.drawing.image import Image
from spreadsheet_builders import xlsx_of

from lanewise import read, study_report, to_frame
from lanewise.document import Bullets, DataColumn, DataTable, Figure, Paragraph, Report, Section, Table
from lanewise_spreadsheet.pieces import MOST_UNITS
from lanewise_spreadsheet.plugin import WorkbookOptions
from lanewise_spreadsheet.workbook import render

HEADINGS = ["plate", "system", "lane", "spot", "origin", "front", "trailing", "centre", "leading", "state"]
ROWS = [
    ["1", "water", "A", "1", 10.0, 85.0, 30.0, 32.5, 35.0, None],
    ["1", "water", "A", "2", 10.0, 85.0, 49.5, None, 52.5, None],
    ["1", "water", "B", "1", 10.0, 85.0, None, None, None, "at origin"],
    ["1", "water", "B", "2", 10.0, 85.0, 20.0, 47.3, 60.0, "streak"],
    ["1", "water", "B", "3", 10.0, 85.0, None, None, None, "with front"],
    ["1", "water", "C", "1", 10.0, 85.0, None, None, None, "absent"],
    ["1", "water", "C", "2", 10.0, 85.0, None, None, None, "unread"],
    ["2", "ethanol", "A", "1", 9.8, 77.7, None, 33.1, None, None],
]


@pytest.fixture(scope="module")
def study(registry):
    return read(xlsx_of([HEADINGS, *ROWS]), name="inks.xlsx", registry=registry)


@pytest.fixture(scope="module")
def report(study):
    return study_report(study, title="Writing inks (invented readings)")


@pytest.fixture(scope="module")
def main(report):
    return render(report, WorkbookOptions()).main


def opened(data, **more):
    return openpyxl.load_workbook(io.BytesIO(data), **more)


def sheet_rows(data, name, **more):
    """Give the rows of a sheet as dicts by heading."""
    headings, *rows = opened(data, **more)[name].iter_rows(values_only=True)
    return [dict(zip(headings, row, strict=True)) for row in rows]


def values(report, table, name):
    return next(one for one in report.data if one.name == table).column(name).values


def worked_out(data, tmp_path):
    """Let an independent engine of formulas work a workbook out; give its value of a cell by sheet and name."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(data)
    solution = formulas.ExcelModel().loads(str(path)).finish().calculate()

    def value(sheet, cell):
        return solution[f"'[book.xlsx]{sheet.upper()}'!{cell}"].value[0, 0]

    return value


RF, LIBRARY, LESS = "Rf by formula (P − O) / (F − O)", "Rf of the library", "Formula less library"


def test_the_formulas_come_to_the_values_of_the_library(report, main, tmp_path):
    value = worked_out(main, tmp_path)
    rf, k = values(report, "spots", "rf"), values(report, "spots", "k")
    assert sum(one is not None for one in rf) == 4
    for row, (own, own_k) in enumerate(zip(rf, k, strict=True), start=2):
        if own is not None:
            assert value("Results", f"I{row}") == pytest.approx(own, abs=1e-12, rel=0)
            assert value("Results", f"K{row}") == 0
        if own_k is not None:
            assert value("Results", f"O{row}") == pytest.approx(own_k, abs=1e-12, rel=0)


def test_the_root_of_the_parts_comes_to_the_uncertainty_of_the_library(report, main, tmp_path):
    value = worked_out(main, tmp_path)
    own = values(report, "budget", "u_rf")
    assert len(own) == 4
    for row, u in enumerate(own, start=2):
        assert value("Uncertainty budget", f"H{row}") == pytest.approx(u, abs=1e-12, rel=0)
        assert value("Uncertainty budget", f"J{row}") == 0
        assert sum(value("Uncertainty budget", f"{letter}{row}") for letter in "KLM") == pytest.approx(1.0, abs=1e-12)


def test_rf_follows_a_changed_mark_and_the_library_does_not(report, main, tmp_path):
    book = opened(main)
    marks = book["Marks"]
    place = [cell.value for cell in marks[1]].index("centre_mm") + 1
    assert marks.cell(2, place).value == 32.5
    marks.cell(2, place).value = 47.5
    held = io.BytesIO()
    book.save(held)
    value = worked_out(held.getvalue(), tmp_path)
    assert value("Results", "I2") == pytest.approx((47.5 - 10) / (85 - 10), abs=1e-12)  # by hand: 0.5
    assert value("Results", "J2") == pytest.approx((32.5 - 10) / (85 - 10), abs=1e-12)  # by hand: 0.3
    assert value("Results", "K2") == pytest.approx(0.2, abs=1e-12)


def test_viewers_that_work_nothing_out_see_the_same_values(report, main):
    live, seen = sheet_rows(main, "Results"), sheet_rows(main, "Results", data_only=True)
    for formula, value, own in zip(live, seen, values(report, "spots", "rf"), strict=True):
        if own is not None:
            assert formula[RF].startswith("=")
            assert value[RF] == pytest.approx(own, abs=1e-12)
            assert value[LESS] == 0


def test_at_the_ends_words_stand_in_place_of_a_formula(main):
    found = [row[RF] for row in sheet_rows(main, "Results") if not str(row[RF]).startswith("=")]
    assert found == [
        "at the origin, below High",
        "with the front, above Low",
        "looked for and not found",
        "seen, but not measured",
    ]
    row = sheet_rows(main, "Results")[2]
    assert row[LIBRARY] is None
    assert row[LESS] is None
    assert 0 < row["High"] < 0.1


def test_the_middle_of_the_edges_is_a_formula_too(main):
    assert opened(main)["Results"]["H3"].value == "=(Marks!$I$3+Marks!$K$3)/2"


def test_without_a_front_nothing_is_worked_out(registry):
    rows = [["lane", "front", "centre"], ["A", "not seen", 20.0], ["B", 85.0, 20.0]]
    report = study_report(read(xlsx_of(rows), name="inks.xlsx", registry=registry))
    assert sheet_rows(render(report, WorkbookOptions()).main, "Results")[0][RF] == "no front was seen"


def test_formulas_may_be_left_out(report):
    data = render(report, WorkbookOptions(formulas=False)).main
    assert not [cell for sheet in opened(data) for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    found = sheet_rows(data, "Results")
    assert RF not in found[0]
    assert found[0][LIBRARY] == pytest.approx(0.3, abs=1e-12)  # (32.5 - 10) / (85 - 10), by hand
    assert found[1]["P: point read (mm)"] == 51.0


def test_marks_are_numbers_and_empty_columns_are_left_out(study, main):
    rows = sheet_rows(main, "Marks")
    frame = to_frame(study)
    for name in ("origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm"):
        assert [row[name] for row in rows] == [None if value != value else value for value in frame[name]]
    assert "u_centre_mm" not in rows[0]


def test_the_sheet_of_marks_is_read_back_as_the_marks(registry, study, main):
    again = read(main, name="report.xlsx", registry=registry)
    assert to_frame(again).equals(to_frame(study))
    assert "sheet 'Results' holds no table of marks" in " ".join(again.inputs[-1].unread)


def test_pictures_have_alternative_texts_their_size_and_their_words_below(report, main):
    figures = [block for section in report.sections for block in section.blocks if isinstance(block, Figure)]
    sheet = opened(main)["Figures"]
    assert len(sheet._images) == len(figures) == 3
    with zipfile.ZipFile(io.BytesIO(main)) as archive:
        drawing = archive.read("xl/drawings/drawing1.xml").decode()
    for figure in figures:
        assert f'descr="{figure.caption} Described in words in the cells below the picture."' in drawing
    words = [row[0] for row in sheet.iter_rows(values_only=True) if row[0]]
    for figure in figures:
        start = words.index(next(word for word in words if word.endswith(figure.caption)))
        assert tuple(words[start + 1 : start + 1 + len(figure.description)]) == figure.description
    picture = Image(io.BytesIO(figures[0].draw("png")))
    assert picture.width / picture.height == pytest.approx(figures[0].width / figures[0].height, rel=0.01)


def test_pictures_may_be_left_out_and_their_words_may_not(report):
    book = opened(render(report, WorkbookOptions(figures=False)).main)
    assert not book["Figures"]._images
    words = [row[0] for row in book["Figures"].iter_rows(values_only=True)]
    for section in report.sections:
        for block in section.blocks:
            if isinstance(block, Figure):
                assert set(block.description) <= set(words)


def test_the_first_sheet_gives_the_conclusion_and_says_what_is_where(report, main):
    book = opened(main)
    assert book.sheetnames == ["Summary", "Report", "Marks", "Results", "Uncertainty budget", "Figures"]
    words = [cell for row in book["Summary"].iter_rows(values_only=True) for cell in row if cell]
    assert words[0] == report.title
    assert tuple(words[1 : 1 + len(report.summary)]) == report.summary
    links = {
        cell.value: cell.hyperlink.location for row in book["Summary"].iter_rows() for cell in row if cell.hyperlink
    }
    assert links == {name: f"'{name}'!A1" for name in book.sheetnames[1:]}


def test_sheets_of_data_are_made_for_reading_and_printing(main):
    book = opened(main)
    for name in ("Marks", "Results", "Uncertainty budget"):
        sheet = book[name]
        assert sheet.freeze_panes.endswith("2")
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.page_setup.orientation == "landscape"
        assert all(cell.font.bold for cell in sheet[1])


def test_properties_give_title_language_and_day(report):
    book = opened(render(Report("Inks", (), (), language="en-GB", date="2024-02-29"), WorkbookOptions()).main)
    assert book.properties.title == "Inks"
    assert book.properties.created == datetime.datetime(2024, 2, 29)
    assert book.custom_doc_props["Language"].value == "en-GB"


def test_a_report_without_numbers_has_no_sheets_of_data():
    report = Report("Inks", ("One dye.",), (Section("What was found", (Paragraph("A dye."), Bullets(("Blue.",)))),))
    assert opened(render(report, WorkbookOptions()).main).sheetnames == ["Summary", "Report"]


def test_no_text_of_any_kind_becomes_a_formula_a_number_or_a_link():
    texts = (
        "=1+1",
        "+1",
        "-1",
        "@x",
        "\t=1",
        "{=1}",
        "1e5",
        "007",
        "http://x.invalid",
        "mailto:x@x.invalid",
        "internal:'a'!A1",
    )
    table = Table("=caption", texts, (texts,), (True,) * len(texts))
    figure = Figure("=name", "=caption", ("=words",), lambda kind: b"", 10.0, 10.0)
    marks = DataTable("marks", "=m", (DataColumn("=name", "text", "", "=meaning", texts),))
    report = Report(
        "=title", ("=summary",), (Section("=section", (table, Paragraph("=p"), Bullets(texts), figure)),), data=(marks,)
    )
    book = opened(render(report, WorkbookOptions(figures=False)).main)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells} == {"s"}
    assert {cell.hyperlink.target for cell in cells if cell.hyperlink} == {None}
    shown = {str(cell.value) for cell in cells}
    assert {text.replace("\t", " ") for text in texts} <= shown


def test_characters_that_steer_are_shown_by_their_number():
    book = opened(render(Report("a\x00b \u202e\ud800", ("_x0041_",), ()), WorkbookOptions()).main)
    assert book["Summary"]["A1"].value == "a⟨U+0000⟩b ⟨U+202E⟩⟨U+D800⟩"
    assert book["Summary"]["A2"].value in ("_x0041_", "_x005F_x0041_")  # as written in the file, or as it is meant


@pytest.mark.parametrize("sign", [pytest.param("a", id="plain"), pytest.param("🖋", id="pairs of code units")])
def test_long_texts_go_on_in_the_cell_below(sign):
    text = sign * 40_000
    table = Table("Long.", ("Ink", "n"), ((text, "1"), ("b", "2")), (False, True))
    data = render(Report("Inks", (), (Section("s", (Paragraph(text), table)),)), WorkbookOptions()).main
    column = [row[0] for row in opened(data)["Report"].iter_rows(values_only=True) if row[0]]
    assert max(len(cell.encode("utf-16-le")) // 2 for cell in column) <= MOST_UNITS
    joined = "".join(column)
    assert joined.count(text) == 2
    assert joined.endswith("b")


def test_formulas_follow_their_marks_past_long_labels():
    def column(name, kind, *held):
        return DataColumn(name, kind, "", "", held)

    names = column("lane", "text", "A" * 40_000, "B")
    numbers = (column("origin_mm", "number", 10.0, 10.0), column("front_mm", "number", 90.0, 90.0))
    marks = DataTable("marks", "", (names, *numbers, column("centre_mm", "number", 30.0, 50.0)), ("lane",))
    blank = [column(name, "number", None, None) for name in ("u_rf", "rf_low", "rf_high", "k", "u_k")]
    texts = [column(name, "text", None, None) for name in ("plate", "sample", "spot", "state", "flags")]
    spots = DataTable("spots", "", (names, *texts, column("rf", "number", 0.25, 0.5), *blank), ("lane",))
    sheet = opened(render(Report("Inks", (), (), data=(marks, spots)), WorkbookOptions()).main)["Results"]
    assert [sheet["H2"].value, sheet["I2"].value] == ["=Marks!$D$2", "=(H2-F2)/(G2-F2)"]
    assert [sheet["H4"].value, sheet["I4"].value] == ["=Marks!$D$4", "=(H4-F4)/(G4-F4)"]


def test_an_unknown_block_is_not_passed_over():
    with pytest.raises(TypeError, match="wanted a paragraph, bullets, a table or a figure, given object"):
        render(Report("Inks", (), (Section("s", (object(),)),)), WorkbookOptions())


def test_more_marks_than_a_sheet_holds_are_refused(monkeypatch, report):
    from lanewise.errors import StyleError
    from lanewise_spreadsheet import marks_sheet

    monkeypatch.setattr(marks_sheet, "MOST_ROWS", 8)
    with pytest.raises(StyleError, match="a sheet of a workbook holds 8 rows; the data table 'marks' has 8"):
        render(report, WorkbookOptions())
