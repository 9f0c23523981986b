"""Readings as written become a marks table, or every fault in them is found at once. All readings are invented."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.tables.checking import NO_ORIGIN, check
from lanewise.tables.columns import CONTEXT, MARKS, names
from lanewise.tables.marks import ASSUMED


def table(text, **fields):
    """Check a table written with blanks between the cells; a dot is an empty cell, an underscore a blank."""
    headings, *rows = [
        ["" if cell == "." else cell.replace("_", " ") for cell in line.split()] for line in text.strip().splitlines()
    ]
    headings = [heading.replace(" ", "_") for heading in headings]
    columns = {heading: [row[number] for row in rows] for number, heading in enumerate(headings)}
    return check(columns, range(2, 2 + len(rows)), file="inks.csv", **fields)


def faults(text, **fields):
    return [str(problem) for problem in table(text, **fields)[1]]


def marks(text, **fields):
    frame, problems = table(text, **fields)
    assert not problems, "\n".join(map(str, problems))
    return frame


GOOD = """
    lane front_mm centre_mm bench
    A    80       10        1
    A    80       60        1
    B    81       30        .
"""


def test_the_shape_of_the_table():
    frame = marks(GOOD)
    assert list(frame.columns) == [*names(MARKS), "bench"]
    assert len(frame) == 3
    for column in MARKS:
        if column.kind == "text":
            assert frame[column.name].map(type).eq(str).all()
        else:
            assert frame[column.name].dtype == np.float64


def test_what_is_left_out():
    frame = marks(GOOD)
    assert frame["plate"].tolist() == ["1", "1", "1"]
    assert frame["system"].tolist() == ["not stated"] * 3
    assert frame["sample"].tolist() == ["A", "A", "B"]
    assert frame["role"].tolist() == ["sample"] * 3
    assert frame["state"].tolist() == ["measured"] * 3
    assert frame["spot"].tolist() == ["1", "2", "1"]
    assert frame["origin_mm"].tolist() == [0.0] * 3
    assert frame["trailing_mm"].isna().all()
    assert frame["bench"].tolist() == ["1", "1", ""]
    assert frame.attrs[ASSUMED] == (NO_ORIGIN,)


def test_nothing_is_assumed_where_the_origin_is_given():
    assert marks("lane front origin centre\nA 80 10 30\nA 80 . 40").attrs[ASSUMED] == ()


def test_nothing_is_assumed_where_the_zero_lay_on_the_origin_line():
    frame = marks("lane front centre zero\nA 80 30 origin_line\nB 80 30 .")
    assert frame["origin_mm"].tolist() == [0.0, 0.0]
    assert frame["zero"].tolist() == ["origin line"] * 2
    assert frame.attrs[ASSUMED] == ()
    assert marks("lane front centre zero\nA 80 30 not_stated").attrs[ASSUMED] == (NO_ORIGIN,)


def test_zero_and_height_of_a_plate_may_stand_in_one_of_its_rows():
    frame = marks(
        "plate lane front origin centre ruler_zero sheet_height_cm\n1 A 80 10 30 . 10\n1 B 80 10 30 Sheet-edge ."
    )
    assert frame["zero"].tolist() == ["sheet edge"] * 2
    assert frame["height_mm"].tolist() == [100.0, 100.0]


def test_columns_of_the_context_come_when_they_are_given():
    frame = marks("lane front centre runs layer division amount\nA 80 10 2 paper 0.5 1.5")
    assert list(frame.columns) == [*names(MARKS), *(n for n in names(CONTEXT) if n in frame.columns)]
    assert frame[["runs", "layer", "division_mm", "amount_ug"]].values.tolist() == [[2.0, "paper", 0.5, 1.5]]


def test_minutes_of_a_run_may_stand_once_and_in_hours():
    frame = marks("plate lane front centre run_time_h\n1 A 80 30 1.5\n1 B 80 30 .")
    assert frame["minutes"].tolist() == [90.0, 90.0]


def test_units_are_converted():
    frame = marks('lane front_cm centre_in amount_ng\nA 8.5 0.7 1500\nA 8.5_cm 0.8" .')
    assert frame["front_mm"].tolist() == [85.0, 85.0]
    assert frame["centre_mm"].tolist() == [17.78, 20.32]
    assert frame["amount_ug"].tolist()[0] == 1.5


def test_units_stated_apart():
    assert marks("lane front centre\nA 8.5 2", units={"front": "cm", "centre": "cm"})["front_mm"].tolist() == [85.0]


def test_the_decimal_comma():
    assert marks("lane front centre\nA 85,5 20,25", decimal=",")["centre_mm"].tolist() == [20.25]


def test_defaults_fill_what_is_not_there():
    given = {
        "plate": "bench 3",
        "system": "water",
        "origin_cm": "1",
        "operator": "Kim",
        "role": "standard",
        "point": "",
    }
    frame = marks("lane front centre role\nA 80 20 blank\nB 80 20 .", defaults=given)
    assert frame["plate"].tolist() == ["bench 3"] * 2
    assert frame["origin_mm"].tolist() == [10.0] * 2
    assert frame["role"].tolist() == ["blank", "standard"]
    assert frame["operator"].tolist() == ["Kim"] * 2
    assert "point" not in frame


def test_what_belongs_to_a_lane_may_stand_in_one_of_its_rows():
    frame = marks(
        """
        plate system lane sample role     front origin centre layer
        1     water  A    blue   standard 80    .      20     .
        1     .      A    .      .        .     5      30     paper
        1     .      B    .      .        81    .      30     .
        """
    )
    assert frame["front_mm"].tolist() == [80.0, 80.0, 81.0]
    assert frame["origin_mm"].tolist() == [5.0, 5.0, 0.0]
    assert frame["sample"].tolist() == ["blue", "blue", "B"]
    assert frame["role"].tolist() == ["standard", "standard", "sample"]
    assert frame["system"].tolist() == ["water"] * 3
    assert frame["layer"].tolist() == ["paper"] * 3


def test_spots_are_numbered_from_the_origin():
    frame = marks(
        """
        lane front trailing centre leading state
        A    80    .        50     .       .
        A    .     .        .      .       with_front
        A    .     18       .      22      streak
        A    .     .        .      .       absent
        A    .     .        .      .       at_origin
        B    80    .        9      .       .
        """
    )
    assert frame["spot"].tolist() == ["3", "4", "2", "5", "1", "1"]


def test_numbers_go_round_names_that_are_taken():
    frame = marks("lane front centre spot\nA 80 50 1\nA . 20 .\nA . 30 .\nA . 60 green\nB 80 1 .")
    assert frame["spot"].tolist() == ["1", "2", "3", "green", "1"]


@pytest.mark.parametrize(
    "word", ["at origin", "At Origin", "AT_ORIGIN", "at-origin"], ids=lambda word: word.replace(" ", "+")
)
def test_words_are_understood_in_any_dress(word):
    frame, problems = check({"lane": ["A"], "front": ["80"], "state": [word]}, [2])
    assert not problems
    assert frame["state"].tolist() == ["at origin"]


def test_missing_words_have_their_default():
    frame = marks("lane front centre state role\nA 80 1 - n/a")
    assert frame[["state", "role"]].values.tolist() == [["measured", "sample"]]


def test_labels_stay_as_they_are():
    frame = marks("lane front centre sample\n+ 80 1 n/a\n- 80 1 -")
    assert frame["lane"].tolist() == ["+", "-"]
    assert frame["sample"].tolist() == ["n/a", "-"]


def test_numbers_as_labels_have_no_decimals():
    frame, problems = check(
        {"lane": [1.0, 2], "front": [80, 80.5], "centre": [1, None], "state": [None, "absent"]}, [2, 3]
    )
    assert not problems
    assert frame["lane"].tolist() == ["1", "2"]


def test_a_front_that_was_not_seen():
    frame = marks("lane front centre\nA Not_seen 20\nA . 30\nB 80 20")
    assert frame["front_mm"].isna().tolist() == [True, True, False]


def test_the_darkest_point_is_noted():
    assert marks("lane front darkest\nA 80 20")["point"].tolist() == ["darkest"]
    assert marks("lane front darkest point\nA 80 20 .\nA . 30 centre")["point"].tolist() == ["darkest", "centre"]


def test_the_centre_is_left_to_the_analysis():
    assert np.isnan(marks("lane front trailing leading\nA 80 18 22")["centre_mm"]).all()


FAULTY = {
    "no lane": (
        "lane front centre\nA 80 1\n. 80 2",
        "inks.csv, row 3, column lane: wanted the label of a lane, given an empty cell. Name the lane in every row.",
    ),
    "no front": (
        "lane front centre\nA 80 1\nB . 2\nB . 3",
        "inks.csv, row 3, column front: wanted the front of lane 'B' on plate '1', given nothing. "
        "Give it, or write 'not seen' where no front was seen.",
    ),
    "front and no front": (
        "lane front centre\nA 80 1\nA not_seen 2",
        "inks.csv, row 2, column front: wanted a front, or 'not seen', given both in lane 'A' on plate '1'. "
        "Keep one of them for the whole lane.",
    ),
    "no position": (
        "lane front centre\nA 80 .",
        "inks.csv, row 2, column centre: wanted the position of the spot, or both its edges, given nothing. "
        "Give it, or say under 'state' why there is no position (unread, absent, at origin, with front).",
    ),
    "one edge": (
        "lane front trailing leading\nA 80 5 .",
        "inks.csv, row 2, column centre_mm: wanted the position of the spot, or both its edges, given nothing. ",
    ),
    "half a streak": (
        "lane front trailing leading state\nA 80 5 . streak",
        "inks.csv, row 2, column leading: wanted both edges of a streak, given one missing. "
        "Give it, or call the spot 'unread'.",
    ),
    "absent with a position": (
        "lane front centre state\nA 80 5 absent",
        "inks.csv, row 2, column state: wanted no position of an absent spot, given 'absent' and a position. "
        "Leave the positions out, or call it 'measured'.",
    ),
    "front below the origin": (
        "lane front origin centre\nA 8 10 9\nA . . 9.5",
        "inks.csv, row 2, column front: wanted a front above the origin at 10 mm, given 8 mm. "
        "Correct one of them, or the unit.",
    ),
    "front on the origin": (
        "lane front origin centre\nA 10 10 10",
        "inks.csv, row 2, column front: wanted a front above the origin at 10 mm, given 10 mm. ",
    ),
    "beyond the front": (
        "lane front centre\nA 80 91",
        "inks.csv, row 2, column centre: wanted a centre not beyond the front at 80 mm, given centre 91 mm. "
        "Correct the mark or the front, or write 'not seen' for the front.",
    ),
    "middle beyond the front": (
        "lane front trailing leading\nA 80 90 92",
        "inks.csv, row 2, column leading: wanted a middle not beyond the front at 80 mm, given middle 91 mm. ",
    ),
    "edge beyond the front": (
        "lane front centre leading\nA 80 79 85",
        "inks.csv, row 2, column leading: wanted a leading edge not beyond the front at 80 mm, given leading edge",
    ),
    "below the origin": (
        "lane front origin centre\nA 80 10 5",
        "inks.csv, row 2, column centre: wanted a centre not below the origin at 10 mm, given centre 5 mm. "
        "Correct the mark or the origin.",
    ),
    "at the origin and not": (
        "lane front origin centre state\nA 80 10 40 at_origin",
        "inks.csv, row 2, column centre: wanted a spot at the origin at 10 mm, given centre 40 mm. "
        "Correct it, or call it 'measured'.",
    ),
    "with the front and not": (
        "lane front leading state\nA 80 40 with_front",
        "inks.csv, row 2, column leading: wanted a spot that reaches the front at 80 mm, given leading edge 40 mm. ",
    ),
    "edges out of order": (
        "lane front trailing centre leading\nA 80 33 32 34",
        "inks.csv, row 2, column trailing: wanted trailing, centre and leading in this order, "
        "given trailing 33 mm, centre 32 mm, leading 34 mm. "
        "Trailing is the edge nearer the origin: swap or correct them.",
    ),
    "centre above leading": (
        "lane front trailing centre leading\nA 80 30 36 34",
        "inks.csv, row 2, column leading: wanted trailing, centre and leading in this order, given trailing 30 mm",
    ),
    "a spot twice": (
        "lane front centre spot\nA 80 1 x\nB 80 1 x\nA 80 2 x",
        "inks.csv, row 4, column spot: wanted a spot of another name than in row 2, given 'x' again in "
        "lane 'A' on plate '1'. Rename it, or remove one of the rows.",
    ),
    "two fronts": (
        "lane front centre\nA 80 1\nA 81 2",
        "inks.csv, row 3, column front: wanted one value for lane 'A' on plate '1', as in row 2: 80, given 81. "
        "Correct one of them, or give the lanes different labels.",
    ),
    "two origins": (
        "lane front centre origin\nA 80 8 5\nA . 9 6",
        "row 3, column origin: wanted one value for lane 'A'",
    ),
    "two samples": (
        "lane front centre sample\nA 80 1 x\nA . 2 y",
        "row 3, column sample: wanted one value for lane 'A'",
    ),
    "two roles": (
        "lane front centre role\nA 80 1 blank\nA . 2 sample",
        "row 3, column role: wanted one value for lane 'A' on plate '1', as in row 2: 'blank', given 'sample'. ",
    ),
    "two uncertainties of a front": (
        "lane front centre u_front\nA 80 1 1\nA . 2 2",
        "column u_front: wanted one value",
    ),
    "two systems on a plate": (
        "lane front centre solvent\nA 80 1 water\nB 80 2 brine",
        "inks.csv, row 3, column solvent: wanted one value for plate '1', as in row 2: 'water', given 'brine'. "
        "Correct one of them, or give the plates different labels.",
    ),
    "two layers on a plate": (
        "lane front centre layer\nA 80 1 x\nB 80 2 y",
        "column layer: wanted one value for plate '1'",
    ),
    "two readings that were one": (
        "lane front centre front_read\nA 80 1 plate\nB 81 2 plate",
        "inks.csv, row 3, column front: wanted the front that was read once for the plate, as in row 2, given 81. "
        "Correct one of them, or write 'lane' under front_read.",
    ),
    "a front that was read once, and not seen": (
        "lane front centre front_read\nA 80 1 plate\nB not_seen 2 .",
        "inks.csv, row 3, column front: wanted the front that was read once for the plate, given 'not seen'. "
        "Give it, or write 'lane' under front_read in every row of the plate.",
    ),
    "unknown state": (
        "lane front centre state\nA 80 1 mesured",
        "inks.csv, row 2, column state: wanted one of measured, at origin, with front, streak, unread, absent, "
        "given 'mesured'. Did you mean 'measured'?",
    ),
    "strange state": (
        "lane front centre state\nA 80 1 ???",
        "given '???'. Correct it, or leave the cell empty.",
    ),
    "unknown role": ("lane front centre role\nA 80 1 standart", "given 'standart'. Did you mean 'standard'?"),
    "unknown point": ("lane front centre point\nA 80 1 leading", "given 'leading'. Did you mean 'leading edge'?"),
    "unknown zero": (
        "lane front centre zero\nA 80 1 liquid",
        "inks.csv, row 2, column zero: wanted one of not stated, origin line, sheet edge, "
        "liquid level, given 'liquid'. "
        "Did you mean 'liquid level'?",
    ),
    "two zeros on a plate": (
        "lane front origin centre zero\nA 80 10 20 sheet_edge\nB 80 10 20 liquid_level",
        "inks.csv, row 3, column zero: wanted one value for plate '1', as in row 2: 'sheet edge', "
        "given 'liquid level'.",
    ),
    "two heights of a sheet": (
        "lane front centre height\nA 80 20 100\nB 80 20 90",
        "inks.csv, row 3, column height: wanted one value for plate '1', as in row 2: 100, given 90. ",
    ),
    "zero on the origin line, and an origin elsewhere": (
        "lane front origin centre ruler_zero\nA 80 10 20 origin_line\nA 80 10 30 .\nB 80 10 20 .",
        "inks.csv, row 2, column origin: wanted the origin at 0 mm, "
        "since the zero lay on the origin line, given 10 mm. "
        "Write 'sheet edge' or 'liquid level' under ruler_zero if positions were read from there, or correct them.",
    ),
    "no column of an origin that is needed": (
        "lane front centre zero\nA 80 20 sheet_edge\nB 80 20 .",
        "inks.csv: wanted a column with the position of the origin line, since the zero lay at the sheet edge, given "
        "the columns 'lane', 'front', 'centre', 'zero'. Add a column 'origin_mm'.",
    ),
    "no origin where it is needed": (
        "lane front origin centre zero\nA 80 10 20 liquid_level\nB 80 . 20 .\nB 80 . 30 .",
        "inks.csv, row 3, column origin: wanted the origin of lane 'B' on plate '1', since the zero lay at the liquid "
        "level, given nothing. Give it.",
    ),
    "height of nothing": ("lane front centre height\nA 80 9 0", "column height: wanted a number above 0, given '0'"),
    "height of the spot": (
        "lane front height\nA 80 20",
        "inks.csv: wanted a column with the position of the spot (or both 'trailing_mm' and 'leading_mm'), given",
    ),
    "two values in a cell": (
        "lane front centre\nA 80 12;15",
        "inks.csv, row 2, column centre: wanted one number in the cell, given '12;15'. "
        "Write one row a spot: repeat the row, once with 12 and once with 15.",
    ),
    "not a number": ("lane front centre\nA 80 nan", "inks.csv, row 2, column centre: wanted a number, given 'nan'. "),
    "infinite": ("lane front centre\nA 1e999 9", "row 2, column front: wanted a finite number, given '1e999'. "),
    "another unit": (
        "lane front_cm centre\nA 80_mm 9",
        "row 2, column front_cm: wanted a number in cm, as the heading says, given '80 mm'. Convert it, or correct",
    ),
    "units in some cells": (
        "lane front centre\nA 80 9\nB 8_cm 9",
        "inks.csv, row 2, column front: wanted a unit in the heading, or in every cell, given '80' here and '8 cm' "
        "in row 3. Put the unit into the heading, for instance 'front_mm'.",
    ),
    "negative uncertainty": (
        "lane front centre u_centre\nA 80 9 -1",
        "column u_centre: wanted a number not below 0, given '-1'",
    ),
    "division of zero": ("lane front centre division\nA 80 9 0", "column division: wanted a number above 0, given '0'"),
    "half a run": (
        "lane front centre runs\nA 80 9 1.5",
        "column runs: wanted a whole number from 1 to 1000, given '1.5'",
    ),
    "no run": ("lane front centre runs\nA 80 9 0", "column runs: wanted a whole number from 1 to 1000, given '0'"),
    "negative amount": (
        "lane front centre amount\nA 80 9 -1",
        "column amount: wanted a number not below 0, given '-1'",
    ),
    "misspelt heading": (
        "lane frnt_mm centre\nA 80 9",
        "inks.csv, column frnt_mm: wanted 'front_mm', which it looks like, given 'frnt_mm'. Write 'front_mm'; or",
    ),
    "no column of the lane": (
        "front centre bench\n80 9 1",
        "inks.csv: wanted a column with the label of the lane, given the columns 'front', 'centre', 'bench'. "
        "Add a column 'lane'.",
    ),
    "no column of the front": (
        "lane centre\nA 9",
        "inks.csv: wanted a column with the position of the front, given the columns 'lane', 'centre'. "
        "Add a column 'front_mm'.",
    ),
    "no column of the spot": (
        "lane front trailing\nA 80 9",
        "inks.csv: wanted a column with the position of the spot (or both 'trailing_mm' and 'leading_mm'), "
        "given the columns 'lane', 'front', 'trailing'. Add a column 'centre_mm'.",
    ),
    "no rows": ("lane front centre", "inks.csv: wanted at least one row of readings, given none. Add the readings."),
}


@pytest.mark.parametrize(("text", "fault"), FAULTY.values(), ids=FAULTY)
def test_one_fault(text, fault):
    (found,) = faults(text)
    assert fault in found


def test_every_fault_is_found_at_once_in_the_order_of_the_file():
    frame, problems = table(
        """
        lane front centre state  frnt origin u_front
        A    80    9      odd    1    0      0.2_cm
        A    80    90     .      1    0      0.2
        .    80    95     .      1    x      .
        B    5     12;15  .      1    10     .
        """
    )
    assert [(problem.row, problem.column) for problem in problems] == [
        (None, "frnt"),
        (2, "state"),
        (3, "u_front"),
        (3, "centre"),
        (4, "origin"),
        (4, "lane"),
        (4, "centre"),
        (5, "centre"),
        (5, "front"),
    ]
    assert len(frame) == 4


def test_a_cell_that_cannot_be_read_is_not_complained_of_twice():
    assert len(faults("lane front centre\nA x y")) == 2
    assert len(faults("lane front trailing leading state\nA 80 x 20 streak")) == 1
    assert len(faults("lane front centre origin\nA 80 20 x")) == 1
    assert len(faults("lane front centre origin zero\nA 80 20 x sheet_edge")) == 1
    assert len(faults("lane front centre orgin zero\nA 80 20 10 sheet_edge")) == 1
    assert len(faults("lane front centre zero\nA 80 20 liquid")) == 1


def test_a_misspelt_lane_is_one_fault():
    assert len(faults("lanes front centre\nA 80 20")) == 1


def test_faults_of_defaults():
    given = {"role": "standart", "origin_cm": "1 mm", "division": "0"}
    found = faults("lane front centre\nA 80 20", defaults=given)
    assert found[0].startswith(
        "inks.csv, column role: wanted one of sample, standard, blank, given 'standart'. Did you"
    )
    assert "It was given as a default." in found[0]
    assert "column origin_mm: wanted a number in cm, as the heading says, given '1 mm'" in found[1]
    assert "column division_mm: wanted a number above 0, given '0'. Correct it. It was given as a default." in found[2]


def test_columns_of_different_length():
    frame, problems = check({"lane": ["A", "B"], "front": ["80"]}, [2, 3], file="inks.csv")
    assert [str(problem) for problem in problems] == [
        "inks.csv, column front: wanted 2 cells, one a row, given 1 cells. Mend the reader."
    ]
    assert list(frame.columns) == names(MARKS)


# As in the record: three combined standard uncertainties (common practice, no source), 0.29 mm a reading to 1 mm
# (JCGM 100:2008 F.2.2.1, from memory).
@pytest.mark.parametrize(
    ("text", "fields", "fits"),
    [
        ("lane front centre\nA 80 81.2", {}, True),
        ("lane front centre\nA 80 81.3", {}, False),
        ("lane front centre\nA 80 80.6", {"division": 0.5}, True),
        ("lane front centre\nA 80 80.7", {"division": 0.5}, False),
        ("lane front centre division\nA 80 80.7 1", {"division": 0.5}, True),
        ("lane front centre u_reading\nA 80 84.2 1", {}, True),
        ("lane front centre u_reading\nA 80 84.3 1", {}, False),
        ("lane front centre u_centre u_front\nA 80 84.2 1 1", {}, True),
        ("lane front centre u_centre u_front\nA 80 84.3 1 1", {}, False),
        ("lane front centre state\nA 80 2.2 at_origin", {}, True),
        ("lane front centre state\nA 80 2.3 at_origin", {}, False),
        ("lane front centre state noticeable\nA 80 2.3 at_origin 2", {}, True),
    ],
    ids=lambda value: value.replace("\n", " ") if isinstance(value, str) else "",
)
def test_how_far_out_is_too_far(text, fields, fits):
    assert (not faults(text, **fields)) == fits


# As in the record: three standard uncertainties of the origin, 0.29 mm for a reading to 1 mm.
@pytest.mark.parametrize(
    ("text", "fields", "fits"),
    [
        ("lane front centre zero origin\nA 80 20 origin_line 0.86", {}, True),
        ("lane front centre zero origin\nA 80 20 origin_line 0.87", {}, False),
        ("lane front centre zero origin\nA 80 20 origin_line -0.87", {}, False),
        ("lane front centre zero origin\nA 80 20 origin_line 0.44", {"division": 0.5}, False),
        ("lane front centre zero origin u_origin\nA 80 20 origin_line 1.4 0.5", {}, True),
    ],
    ids=["in", "out", "out below", "finer ruler", "own u"],
)
def test_how_far_the_origin_may_lie_from_a_zero_on_it(text, fields, fits):
    assert (not faults(text, **fields)) == fits


def test_defaults_may_give_zero_height_and_the_origin_that_is_needed():
    frame = marks("lane front centre\nA 80 20", defaults={"zero": "sheet edge", "height": "10 cm", "origin": "10"})
    assert frame[["origin_mm", "height_mm", "zero"]].values.tolist() == [[10.0, 100.0, "sheet edge"]]


def test_a_fault_names_the_part_of_the_file():
    cells = {"lane": ["A", "B", "B"], "front": [80, 80, 81], "centre": [20, "x", 30]}
    parts = ["sheet 'one'", "sheet 'two'", "sheet 'two'"]
    found = [str(problem) for problem in check(cells, [4, 4, 5], file="inks.xlsx", parts=parts)[1]]
    assert found[0].startswith("inks.xlsx, sheet 'two', row 4, column centre: ")
    assert found[1].startswith("inks.xlsx, sheet 'two', row 5, column front: ")
    assert "as in row 4 of sheet 'two'" in found[1]


def test_the_area_of_a_spot_is_a_length():
    frame = check({"lane": ["A"], "front": [80], "centre": [20], "area_cm": [0.12], "u_area": [0.01]}, [2])[0]
    assert frame[["area_mm", "u_area_mm"]].values.tolist() == [[pytest.approx(1.2, rel=1e-15), 0.01]]


def test_the_index_is_plain():
    assert isinstance(marks(GOOD).index, pd.RangeIndex)


def test_a_row_without_a_spot_name_that_repeats_another_is_found():
    """Once by the very same row; not where the position or the colour differs, nor where nothing was read."""
    columns = {
        "lane": ["1", "1", "1", "1", "2", "2"],
        "front_mm": ["80", "80", "80", "80", "80", "80"],
        "centre_mm": ["20", "20", "20", "30", "", ""],
        "colour": ["blue", "red", "blue", "blue", "", ""],
        "state": ["", "", "", "", "with front", "with front"],
    }
    _, problems = check(columns, range(2, 8), file="inks.csv")
    (problem,) = problems
    assert problem.row == 4
    assert problem.wanted == "a spot at another place, or of another colour, than in row 2"
    assert "Remove one of the rows" in problem.todo
