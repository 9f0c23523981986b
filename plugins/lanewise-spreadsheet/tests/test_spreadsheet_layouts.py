from __future__ import annotations

import pytest
from openpyxl.comments import Comment
from spreadsheet_builders import covered, ods_cell, ods_of, openpyxl_book, saved, xlsx_of

from lanewise import ReadingsError, to_frame
from lanewise.errors import OptionError, UnreadableFile

PLAIN = [["lane", "front", "centre"], ["A", 85.0, 20.0], ["B", 84.0, 32.5]]
WANTED = {"lane": ["A", "B"], "front_mm": [85.0, 84.0], "centre_mm": [20.0, 32.5]}


def both(*sheets):
    return [pytest.param(xlsx_of(*sheets), id="xlsx"), pytest.param(ods_of(*sheets), id="ods")]


@pytest.mark.parametrize("data", both([["Writing inks"], [None], ["read by", "bench 4"], [None], *PLAIN]))
def test_headings_may_stand_below_other_things(study_of, marks_of, data):
    assert marks_of(data, *WANTED) == WANTED
    assert study_of(data).note.startswith("Writing inks\nread by bench 4")


@pytest.mark.parametrize("data", both([[None, *row] for row in [[None], *PLAIN]]))
def test_the_table_may_stand_anywhere(marks_of, data):
    assert marks_of(data, *WANTED) == WANTED


# 1 in = 25.4 mm exactly (international yard and pound agreement of 1959, from memory)
@pytest.mark.parametrize(
    ("unit", "front", "centre"),
    [
        pytest.param("mm", 85.0, 20.0, id="mm"),
        pytest.param("(cm)", 850.0, 200.0, id="cm in brackets"),
        pytest.param("/ cm", 850.0, 200.0, id="cm behind a stroke"),
        pytest.param("in", 2159.0, 508.0, id="inches"),
    ],
)
def test_a_second_row_of_headings_gives_units(marks_of, unit, front, centre):
    data = xlsx_of([PLAIN[0], ["-", unit, unit], PLAIN[1]])
    assert marks_of(data) == {"plate": ["bench 1"], "lane": ["A"], "front_mm": [front], "centre_mm": [centre]}


def test_words_in_the_row_of_units_are_named(unread_of):
    data = xlsx_of([["lane", "front", "centre", "bench"], ["label", "cm", "cm", "number"], ["A", 8.5, 2.0, "4"]])
    assert unread_of(data) == ["sheet 'bench 1': row 2 was taken as units; left out there: A2, D2"]


def test_a_row_of_readings_is_no_row_of_units(study_of):
    with pytest.raises(ReadingsError, match=r"row 2, column centre: wanted a number.*given 'cm'"):
        study_of(xlsx_of([PLAIN[0], ["A", 85.0, "cm"]]))


@pytest.mark.parametrize("title", ["positions (cm)", "all lengths in cm", "Distances / cm"])
def test_a_title_over_several_headings_gives_their_unit(marks_of, title):
    data = xlsx_of([[None, title], PLAIN[0], ["A", 8.5, 2.0]])
    assert marks_of(data)["front_mm"] == [85.0]


def test_headings_of_two_rows_are_put_together(marks_of, unread_of):
    book, sheet = openpyxl_book([["lane", "front (mm)", "spot", None], [None, None, "rear edge", "leading edge"]])
    sheet.append(["A", 85, 19, 22])
    sheet.merge_cells("A1:A2")
    sheet.merge_cells("B1:B2")
    sheet.merge_cells("C1:D1")
    data = saved(book)
    found = marks_of(data, "lane", "front_mm", "trailing_mm", "leading_mm")
    assert found == {"lane": ["A"], "front_mm": [85.0], "trailing_mm": [19.0], "leading_mm": [22.0]}
    assert "sheet 'bench 1': row 1 belongs to the headings; left out there: lane, front (mm), spot" in unread_of(data)


def test_facts_above_the_table_hold_for_all_its_rows(study_of):
    rows = [
        ["Writing inks, invented readings", None],
        ["Solvent:", "water:ethanol 2:1"],
        ["Plate", 7.0, "Ruler division: 0.5 mm"],
        ["Front (cm)", 8.5],
        [None],
        ["lane", "centre (mm)"],
        ["A", "20,5"],
        ["B", 32.0],
    ]
    study = study_of(xlsx_of(rows))
    frame = to_frame(study)
    assert frame["system"].tolist() == ["water:ethanol 2:1"] * 2
    assert frame["plate"].tolist() == ["7", "7"]
    assert frame["front_mm"].tolist() == [85.0, 85.0]
    assert frame["centre_mm"].tolist() == [20.5, 32.0]
    assert frame["division_mm"].tolist() == [0.5, 0.5]
    assert study.note.splitlines()[0] == "Writing inks, invented readings"


def test_a_unit_above_the_table_holds_for_all_lengths_without_one(marks_of):
    data = xlsx_of([["Units:", "cm"], ["lane", "front", "centre (mm)"], ["A", 8.5, 20.0]])
    assert marks_of(data)["front_mm"] == [85.0]
    assert marks_of(data)["centre_mm"] == [20.0]


def merged_xlsx():
    book, sheet = openpyxl_book([["plate", "lane", "front", "centre"], ["P1", "A", 85, 20], [None, None, None, 30]])
    sheet.append([None, "B", 84, 40])
    sheet.append(["P2", "A", 80, 25])
    for cells in ("A2:A4", "B2:B3", "C2:C3"):
        sheet.merge_cells(cells)
    return saved(book)


def merged_ods():
    return ods_of(
        [
            ["plate", "lane", "front", "centre"],
            [
                ods_cell("P1", numberrowsspanned=3),
                ods_cell("A", numberrowsspanned=2),
                ods_cell(85, numberrowsspanned=2),
                20,
            ],
            [covered(), covered(), covered(), 30],
            [covered(), "B", 84, 40],
            ["P2", "A", 80, 25],
        ]
    )


@pytest.mark.parametrize("data", [pytest.param(merged_xlsx(), id="xlsx"), pytest.param(merged_ods(), id="ods")])
def test_merged_cells_hold_for_every_row_they_cover(marks_of, data):
    assert marks_of(data) == {
        "plate": ["P1", "P1", "P1", "P2"],
        "lane": ["A", "A", "B", "A"],
        "front_mm": [85.0, 85.0, 84.0, 80.0],
        "centre_mm": [20.0, 30.0, 40.0, 25.0],
    }


def test_the_sheet_shown_in_the_readme_is_read(study_of):
    book, sheet = openpyxl_book([["Writing inks, class of Tuesday"], ["Solvent:", "water:ethanol 2:1"]])
    sheet["D2"] = "Ruler division: 0.5 mm"
    below = [["Plate", "Lane", "Sample", "Front", "Centre"], [None, None, None, "cm", "mm"]]
    below += [["bench 1", "A", "black", "8,5", "32,5"], [None] * 4 + [51], [None, "B", "brown", "8,4", 40.25]]
    for row, cells in enumerate(below, start=4):
        for column, cell in enumerate(cells, start=1):
            sheet.cell(row, column).value = cell
    for cells in ("A6:A8", "B6:B7", "C6:C7", "D6:D7"):
        sheet.merge_cells(cells)
    study = study_of(saved(book))
    frame = to_frame(study)
    assert frame["plate"].tolist() == ["bench 1"] * 3
    assert frame["sample"].tolist() == ["black", "black", "brown"]
    assert frame["front_mm"].tolist() == [85.0, 85.0, 84.0]
    assert frame["centre_mm"].tolist() == [32.5, 51.0, 40.25]
    assert frame["division_mm"].tolist() == [0.5] * 3
    assert frame["system"].tolist() == ["water:ethanol 2:1"] * 3
    assert study.note.startswith("Writing inks, class of Tuesday\n")


UNMERGED = [
    ["plate", "lane", "front", "centre"],
    ["P1", "A", 85.0, 20.0],
    [None, None, None, 30.0],
    ["P2", "A", 80.0, 25.0],
]


def test_empty_cells_below_a_label_take_it_where_that_is_asked_for(marks_of):
    found = marks_of(xlsx_of(UNMERGED), fill_down=True)
    assert found["plate"] == ["P1", "P1", "P2"]
    assert found["lane"] == ["A", "A", "A"]
    assert found["front_mm"] == [85.0, 85.0, 80.0]


def test_an_empty_cell_below_a_plate_is_refused_otherwise(study_of):
    with pytest.raises(ReadingsError, match=r"row 3, column plate: wanted the label of the plate.*fill_down=True"):
        study_of(xlsx_of(UNMERGED))


def test_a_new_plate_begins_without_a_lane(study_of):
    rows = [["plate", "lane", "front", "centre"], ["P1", "A", 85.0, 20.0], ["P2", None, 80.0, 25.0]]
    with pytest.raises(ReadingsError, match="row 3, column lane: wanted the label of a lane"):
        study_of(xlsx_of(rows), fill_down=True)


def test_a_title_across_the_table_names_the_plate(marks_of, unread_of):
    book, sheet = openpyxl_book([PLAIN[0], ["A", 85, 20], ["bench 7"], PLAIN[0], ["A", 80, 30], ["B", 80, 31]])
    sheet.merge_cells("A3:C3")
    assert marks_of(saved(book))["plate"] == ["bench 1", "bench 7", "bench 7"]
    assert unread_of(saved(book)) == ["sheet 'bench 1': rows that repeat the headings were left out: 4"]


@pytest.mark.parametrize("data", both(PLAIN, [["read me"]], [["lane", "front", "darkest"], ["A", 70.0, 35.0]]))
def test_every_sheet_with_marks_is_read_and_names_its_plate(marks_of, unread_of, data):
    found = marks_of(data, "plate", "lane", "centre_mm", "point")
    assert found["plate"] == ["bench 1", "bench 1", "bench 3"]
    assert found["centre_mm"] == [20.0, 32.5, 35.0]
    assert found["point"] == ["centre", "centre", "darkest"]
    assert unread_of(data) == ["sheet 'bench 2' holds no table of marks"]


def test_sheets_may_use_different_units_and_spellings(marks_of):
    inches = [
        ["Track", "Solvent front [in]", "spot centre", "bench"],
        [None, None, "cm", None],
        ["C", 3.5, "5,08", "x"],
    ]
    found = marks_of(xlsx_of(PLAIN, inches), "lane", "front_mm", "centre_mm", "bench")
    assert found == {
        "lane": ["A", "B", "C"],
        "front_mm": [85.0, 84.0, 88.9],  # 3.5 in, 1 in = 25.4 mm
        "centre_mm": [20.0, 32.5, 50.8],
        "bench": ["", "", "x"],
    }


@pytest.mark.parametrize("sheet", ["bench 2", "2"])
def test_one_sheet_may_be_chosen(marks_of, unread_of, sheet):
    data = xlsx_of(PLAIN, [["lane", "front", "centre"], ["A", 70.0, 35.0]])
    assert marks_of(data, sheet=sheet)["centre_mm"] == [35.0]
    assert unread_of(data, sheet=sheet) == ["sheet 'bench 1' was not read, as asked"]


def test_an_unknown_sheet_is_refused_with_those_there_are(study_of):
    with pytest.raises(OptionError, match=r"given 'bench 9'\. The file has 1 'bench 1'; 2 'bench 2'"):
        study_of(xlsx_of(PLAIN, PLAIN), sheet="bench 9")


@pytest.mark.parametrize(
    ("rows", "lanes"),
    [
        pytest.param("2-3", ["A", "B"], id="both ends"),
        pytest.param("3-", ["B", "C"], id="from"),
        pytest.param("-2", ["A"], id="to"),
        pytest.param("4", ["C"], id="one"),
        pytest.param(" 3 – 4 ", ["B", "C"], id="blanks and a dash"),
    ],
)
def test_rows_may_be_chosen_and_headings_stand_above_them(marks_of, unread_of, rows, lanes):
    data = xlsx_of([*PLAIN, ["C", 83.0, 40.0]])
    assert marks_of(data, rows=rows)["lane"] == lanes
    assert unread_of(data, rows=rows) == [f"sheet 'bench 1': rows other than {rows} were left out, as asked"]


@pytest.mark.parametrize("rows", ["0-4", "5-4", "a", "-", "1-2-3"])
def test_rows_that_are_none_are_refused(study_of, rows):
    with pytest.raises(OptionError, match=f"wanted rows such as 5-40, 5- or -40.*given '{rows}'"):
        study_of(xlsx_of(PLAIN), rows=rows)


def test_two_tables_on_one_sheet_are_read_one_at_a_time(study_of, marks_of):
    data = xlsx_of([*PLAIN, [None], ["lane", "sample", "front", "centre"], ["C", "black", 70.0, 30.0]])
    with pytest.raises(ReadingsError, match=r"row 5: wanted one row of headings.*rows='1-4'"):
        study_of(data)
    assert marks_of(data, rows="1-4")["lane"] == ["A", "B"]
    assert marks_of(data, rows="5-6")["lane"] == ["C"]


def hidden_xlsx():
    book, sheet = openpyxl_book([*PLAIN, ["C", 83, 40]])
    sheet.row_dimensions[3].hidden = True
    sheet.column_dimensions["B"].hidden = True
    return saved(book)


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(hidden_xlsx(), id="xlsx"),
        pytest.param(ods_of([*PLAIN, ["C", 83.0, 40.0]], hidden_rows=[3], hidden_columns=[1]), id="ods"),
    ],
)
def test_hidden_rows_are_left_out_and_hidden_columns_read_both_named(marks_of, unread_of, data):
    assert marks_of(data)["lane"] == ["A", "C"]
    assert unread_of(data) == [
        "sheet 'bench 1': hidden rows were left out: 3",
        "sheet 'bench 1': hidden columns were read like the others: 'front'",
    ]
    assert marks_of(data, hidden=True)["lane"] == ["A", "B", "C"]


def test_hidden_sheets_are_left_out_unless_asked_for(marks_of, unread_of):
    book, _ = openpyxl_book(PLAIN)
    old = book.create_sheet("old")
    for row in [["lane", "front", "centre"], ["A", 60, 30]]:
        old.append(row)
    old.sheet_state = "veryHidden"
    data = saved(book)
    assert marks_of(data)["plate"] == ["bench 1", "bench 1"]
    assert unread_of(data) == ["sheet 'old' is hidden and was not read"]
    assert marks_of(data, hidden=True)["plate"] == ["bench 1", "bench 1", "old"]
    assert marks_of(data, sheet="old")["plate"] == ["old"]


def test_notes_below_the_table_and_columns_without_heading_are_named(marks_of, unread_of):
    rows = [*PLAIN, [None], ["mean of both: see the board"]]
    rows[1] = [*rows[1], None, "smudged"]
    data = xlsx_of(rows)
    assert marks_of(data)["lane"] == ["A", "B"]
    assert unread_of(data) == [
        "sheet 'bench 1': cell A5, below the table, was left out: 'mean of both: see the board'",
        "sheet 'bench 1': column E has no heading and was left out: 1 cells, the first in E2",
    ]


def test_a_lane_below_an_empty_row_is_no_note_where_readings_follow(study_of):
    data = xlsx_of([*PLAIN, [None], ["C"], ["D", 80.0, 20.0]])
    with pytest.raises(ReadingsError, match="row 5, column front: wanted the front of lane 'C'"):
        study_of(data)


def test_pictures_charts_and_comments_are_named(unread_of):
    from openpyxl.chart import BarChart

    book, sheet = openpyxl_book(PLAIN)
    sheet["A2"].comment = Comment("smudged", "the class")
    sheet.add_chart(BarChart(), "F2")
    assert unread_of(saved(book)) == ["charts were left out", "comments on cells were left out"]


def test_repeated_headings_of_one_name_are_refused(study_of):
    with pytest.raises(ReadingsError, match="row 1, column bench: wanted headings that differ, given this one twice"):
        study_of(xlsx_of([["lane", "front", "centre", "bench", "bench"], ["A", 85.0, 20.0, "1", "2"]]))


def test_every_fault_of_every_sheet_is_told_at_once_with_sheet_and_row(study_of):
    second = [["lane", "front", "centre"], ["A", 85.0, "2x"], ["B", "?", 20.0]]
    with pytest.raises(ReadingsError, match="2 problems") as caught:
        study_of(xlsx_of(PLAIN, second))
    assert [(one.file, one.row, one.column) for one in caught.value.problems] == [
        ("inks.xlsx, sheet 'bench 2'", 2, "centre"),
        ("inks.xlsx, sheet 'bench 2'", 3, "front"),
    ]


def test_a_file_without_a_table_of_marks_says_what_was_found(study_of):
    wanted = "sheet 'bench 1' holds no table of marks; row 2 has the headings 'lane', 'sample' alone"
    with pytest.raises(UnreadableFile, match=wanted):
        study_of(xlsx_of([["plan"], ["lane", "sample"], ["A", "black ink"]]))


def test_options_supply_what_the_sheets_do_not_say(marks_of):
    data = xlsx_of(PLAIN)
    found = marks_of(
        data, "plate", "system", "layer", "division_mm", plate="P", system="water", layer="paper", division=0.5
    )
    assert found == {"plate": ["P"] * 2, "system": ["water"] * 2, "layer": ["paper"] * 2, "division_mm": [0.5] * 2}
