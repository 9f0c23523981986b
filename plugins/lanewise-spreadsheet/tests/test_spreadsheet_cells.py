from __future__ import annotations

import datetime

import pytest
from spreadsheet_builders import ods_cell, ods_of, openpyxl_book, packed, saved, unpacked, xlsx_of, xlsx_parts

from lanewise import ReadingsError


def both(*sheets):
    return [pytest.param(xlsx_of(*sheets), id="xlsx"), pytest.param(ods_of(*sheets), id="ods")]


@pytest.mark.parametrize(
    "data", both([["lane", "front", "centre"], ["A", "85,5", 20.25], ["B", 84.5, "32,25"], ["C", "83,5", "40"]])
)
def test_decimal_commas_as_text_and_true_numbers_are_both_right(marks_of, data):
    found = marks_of(data)
    assert found["front_mm"] == [85.5, 84.5, 83.5]
    assert found["centre_mm"] == [20.25, 32.25, 40.0]


@pytest.mark.parametrize("data", both([["lane", "front", "centre"], ["A", "85.5", "20"], [1.0, "84.5", "32.25"]]))
def test_numbers_as_text_are_numbers_and_numbers_as_labels_are_labels(marks_of, data):
    found = marks_of(data)
    assert found["lane"] == ["A", "1"]
    assert found["front_mm"] == [85.5, 84.5]


def test_two_decimal_signs_in_one_file_are_refused(study_of):
    rows = [["lane", "front", "centre"], ["A", "85,5", "20,5"], ["B", "84,5", "32.5"]]
    with pytest.raises(ReadingsError, match="row 3, column centre: wanted a number with a decimal comma"):
        study_of(xlsx_of(rows))


def dated(column):
    book, sheet = openpyxl_book([["lane", "front", "centre", "made on"], ["A", 85, 20, None]])
    sheet[f"{column}2"] = datetime.date(2024, 5, 3)
    return saved(book)


def test_a_date_where_a_number_belongs_is_explained(study_of):
    wanted = (
        r"inks.xlsx, sheet 'bench 1', row 2, column centre: wanted a number, given the date 2024-05-03 in cell C2\."
    )
    with pytest.raises(ReadingsError, match=wanted + r" The spreadsheet program made it of what was typed"):
        study_of(dated("C"))


@pytest.mark.parametrize(("column", "name"), [("A", "lane"), ("D", "made on")])
def test_a_date_in_a_column_of_texts_is_iso_text(marks_of, column, name):
    assert marks_of(dated(column), name)[name] == ["2024-05-03"]


def test_times_and_durations_are_explained_or_iso_text(study_of, marks_of):
    book, sheet = openpyxl_book([["lane", "front", "centre", "took"], ["A", 85, datetime.time(3, 5), None]])
    with pytest.raises(ReadingsError, match="given the time 03:05:00 in cell C2"):
        study_of(saved(book))
    sheet["C2"].number_format = "General"
    sheet["C2"], sheet["D2"] = 20, datetime.timedelta(hours=26, minutes=5)
    assert marks_of(saved(book), "took")["took"] == ["PT26H5M0S"]


def test_truth_values_are_labels_and_no_numbers(study_of, marks_of):
    book, sheet = openpyxl_book([["lane", "front", "centre"], [True, 85, 20]])
    assert marks_of(saved(book), "lane")["lane"] == ["TRUE"]
    sheet["C2"] = False
    with pytest.raises(ReadingsError, match="row 2, column centre: wanted a number"):
        study_of(saved(book))


def test_a_unit_that_the_number_format_shows_is_read(marks_of):
    book, sheet = openpyxl_book([["lane", "front", "centre"], ["A", 8.5, 2.25]])
    sheet["B2"].number_format = '0.0" cm"'
    sheet["C2"].number_format = '0.00\\ "cm";[Red]-0.00\\ "cm"'
    assert marks_of(saved(book))["front_mm"] == [85.0]
    assert marks_of(saved(book))["centre_mm"] == [22.5]


def test_a_unit_that_an_ods_cell_shows_is_read(marks_of):
    data = ods_of([["lane", "front", "centre"], ["A", ods_cell(8.5, "8,5 cm"), ods_cell(2.25, "2,25 cm")]])
    assert marks_of(data)["front_mm"] == [85.0]
    assert marks_of(data)["centre_mm"] == [22.5]


def test_a_unit_shown_against_the_heading_is_refused(study_of):
    book, sheet = openpyxl_book([["lane", "front (mm)", "centre"], ["A", 8.5, 2.25]])
    sheet["B2"].number_format = '0.0" cm"'
    with pytest.raises(ReadingsError, match=r"wanted a number in mm, as the heading says, given '8\.5 cm'"):
        study_of(saved(book))


FORMULA = '<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>lane</t></is></c><c r="B1" t="inlineStr"><is><t>front'
FORMULA += '</t></is></c><c r="C1" t="inlineStr"><is><t>centre</t></is></c></row><row r="2"><c r="A2" t="inlineStr">'
FORMULA += '<is><t>A</t></is></c><c r="B2"><v>85</v></c>{}</row></sheetData>'


def with_formula(cell):
    return packed(xlsx_parts(FORMULA.format(cell)))


def test_a_formula_counts_with_its_saved_value(marks_of, unread_of):
    data = with_formula('<c r="C2"><f>10+10</f><v>20</v></c>')
    assert marks_of(data)["centre_mm"] == [20.0]
    assert unread_of(data) == ["sheet 'bench 1': a formula was found; values were read as they were saved"]


@pytest.mark.parametrize("value", ["", "<v/>", "<v></v>", "<v> </v>"])
def test_a_formula_without_a_saved_value_is_refused(study_of, value):
    with pytest.raises(
        ReadingsError, match=r"row 2, column centre.*formula without a saved value in cell C2\. Open the file"
    ):
        study_of(with_formula(f'<c r="C2"><f>10+10</f>{value}</c>'))


def test_a_formula_whose_saved_value_is_an_empty_text_is_an_empty_cell(study_of):
    with pytest.raises(ReadingsError, match="row 2, column centre: wanted the position of the spot"):
        study_of(with_formula('<c r="C2" t="str"><f>""</f><v></v></c>'))


@pytest.mark.parametrize("error", ["#DIV/0!", "#REF!", "#N/A"])
def test_a_cell_with_an_error_is_named(study_of, error):
    with pytest.raises(
        ReadingsError, match=f"row 2, column centre: wanted a value, given the error {error} in cell C2"
    ):
        study_of(with_formula(f'<c r="C2" t="e"><f>1/0</f><v>{error}</v></c>'))


def test_errors_and_unsaved_formulas_of_ods_are_named(study_of):
    error = ods_cell("#DIV/0!", formula="of:=1/0", stringvalue="")
    unsaved = ods_cell(None, formula="of:=10+10")
    parts = unpacked(ods_of([["lane", "front", "centre"], ["A", 85.0, error], ["B", 85.0, unsaved]]))
    calc = b'xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0" '
    content = parts["content.xml"].replace(b"xmlns:table=", calc + b"xmlns:table=")  # as spreadsheet programs write it
    parts["content.xml"] = content.replace(b'"of:=1/0"', b'"of:=1/0" calcext:value-type="error"')
    data = packed(parts)
    with pytest.raises(ReadingsError, match="2 problems") as caught:
        study_of(data, name="inks.ods")
    first, second = (problem.given for problem in caught.value.problems)
    assert first == "the error #DIV/0! in cell C2"
    assert second == "a formula without a saved value in cell C3"


def test_labels_that_look_like_formulas_stay_what_they_are(marks_of):
    labels = ["=1+1", "+1", "@x", "-2", '=HYPERLINK("http://x.invalid")']
    data = xlsx_of([["lane", "sample", "front", "centre"], *([label, label, 85.0, 20.0] for label in labels)])
    assert marks_of(data, "lane", "sample") == {"lane": labels, "sample": labels}
