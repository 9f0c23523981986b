"""Study to table and back: nothing is lost that a table can hold. All records are invented."""

from __future__ import annotations

import io
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from lanewise.errors import RecordError
from lanewise.model.notation import parse_system
from lanewise.model.plates import Development, Lane, Plate, Reading, SharedError, Sheet, Spot
from lanewise.model.studies import Input, Study
from lanewise.tables.checking import NO_ORIGIN, check
from lanewise.tables.columns import CONTEXT, MARKS, names
from lanewise.tables.marks import from_frame, to_frame, to_xarray
from lanewise.testing.strategies import studies

SMALL = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
ALL = names((*MARKS, *CONTEXT))


def test_errors_that_readings_share_become_columns_and_come_back():
    lens = SharedError(name="lens", positions=[10, 60, 110], shifts=[0, 0.2, 0])
    lane = Lane(label="A", front=110, spots=[Spot(label="1", centre=35), Spot(label="2", trailing=80, leading=90)])
    bent = Plate(label="1", origin=10, shared_errors=[lens], lanes=[lane])
    flat = Plate(label="2", origin=10, lanes=[lane])
    frame = to_frame(Study(plates=[bent, flat]))
    assert frame["shared_centre_mm:lens"].tolist()[:1] == [pytest.approx(0.1, rel=1e-12)]
    assert frame["shared_leading_mm:lens"].tolist()[1] == pytest.approx(0.08, rel=1e-12)
    assert frame["shared_front_mm:lens"].tolist() == [0.0] * 4
    first, second = from_frame(frame).plates
    (error,) = first.shared_errors
    assert dict(zip(error.positions, error.shifts, strict=True)) == pytest.approx(
        {10: 0, 35: 0.1, 80: 0.12, 90: 0.08, 110: 0}
    )
    assert second.shared_errors == ()
    assert to_frame(from_frame(frame))["shared_centre_mm:lens"].equals(frame["shared_centre_mm:lens"])
    assert to_xarray(frame)["shared_centre_mm_lens"].attrs["units"] == "mm"


def test_a_factor_may_not_look_like_a_shared_error():
    plate = Plate(
        label="1",
        origin=0,
        factors={"shared_centre_mm:lens": "x"},
        lanes=[Lane(label="A", spots=[Spot(label="1", centre=3)])],
    )
    with pytest.raises(RecordError, match="a name that no column of the library has"):
        to_frame(Study(plates=[plate]))


@SMALL
@given(studies())
def test_the_table_of_the_study_of_a_table_is_the_table(study):
    frame = to_frame(study)
    assume(len(frame))
    assert_frame_equal(to_frame(from_frame(frame)), frame)


@SMALL
@given(studies(min_spots=1))
def test_a_study_that_a_table_can_hold_comes_back_as_it_was(study):
    """What a table cannot hold is taken out first; everything else is equal, reading for reading."""
    frame = to_frame(study)
    back = from_frame(frame)
    assert [plate.label for plate in back.plates] == [plate.label for plate in study.plates]
    for now, was in zip(back.plates, study.plates, strict=True):
        used = {line: any(getattr(lane, line) is None for lane in was.lanes) for line in ("origin", "front")}
        assert now.origin == (was.origin if used["origin"] else None)
        assert now.front == (was.front if used["front"] else None)
        assert now.system == was.system
        assert (now.reading.division, now.reading.u) == (was.reading.division, was.reading.u)
        assert now.development.runs == was.development.runs
        assert now.reading.zero == was.reading.zero
        assert now.sheet == (was.sheet and Sheet(stationary_phase=was.sheet.stationary_phase, height=was.sheet.height))
        for lane, old in zip(now.lanes, was.lanes, strict=True):
            assert (lane.label, lane.role, lane.sample) == (old.label, old.role, old.sample or old.label)
            assert (lane.origin, lane.front, lane.u_origin, lane.u_front) == (
                *(old.origin, old.front),
                *(old.u_origin, old.u_front),
            )
            for spot, seen in zip(lane.spots, old.spots, strict=True):
                held = {**now.factors, **lane.factors, **spot.factors}
                assert held == {**was.factors, **old.factors, **seen.factors}
                assert [getattr(spot, name) for name in spot.__struct_fields__ if name != "factors"] == [
                    getattr(seen, name) for name in seen.__struct_fields__ if name != "factors"
                ]


@SMALL
@given(studies(min_spots=1), st.sampled_from([",", ";", "\t"]))
def test_a_table_typed_out_and_checked_is_the_table(study, sign):
    """To text and back through the check: every column is understood under its own name."""
    frame = to_frame(study)
    texts = [column.name for column in (*MARKS, *CONTEXT) if column.kind == "text"]
    assume((frame[texts] == frame[texts].apply(lambda column: column.str.strip())).all(axis=None))
    typed = frame.to_csv(index=False, sep=sign, lineterminator="\r\n")
    cells = pd.read_csv(io.StringIO(typed, newline=""), sep=sign, dtype=str, keep_default_na=False)
    cells["front_mm"] = cells["front_mm"].where(frame["front_mm"].notna(), "not seen")
    columns = {name: cells[name].tolist() for name in cells}
    got, problems = check(columns, range(2, 2 + len(cells)))
    assert not problems
    factors = [name for name in frame if name not in ALL]
    assert_frame_equal(got[ALL], frame[ALL], check_exact=True)
    for name in factors:
        assert got[name].tolist() == frame[name].str.strip().tolist()


def bench():
    """A plate with a front read once and an origin read lane by lane."""
    lanes = [
        Lane(label="A", sample="blue", origin=9.5, factors={"pen": "1"}, spots=[Spot(label="1", centre=20)]),
        Lane(
            label="B",
            role="standard",
            origin=10,
            u_origin=0.2,
            factors={"pen": "2"},
            spots=[
                Spot(label="x", state="with front", colour="red", note="faint", amount=2),
                Spot(label="y", trailing=30, leading=34, point="darkest", u_centre=0.4, factors={"lamp": "UV"}),
            ],
        ),
    ]
    return Plate(
        label="bench 3",
        system="ethanol:water 7:3",
        sheet=Sheet(stationary_phase="paper", width=100, height=120),
        development=Development(runs=2),
        reading=Reading(division=0.5, u=0.3, noticeable=0.7, zero="sheet edge"),
        front=85,
        u_front=0.5,
        lanes=lanes,
        factors={"bench": "3"},
    )


def test_the_columns_of_a_study():
    frame = to_frame(Study(plates=[bench()]))
    assert list(frame.columns) == [*ALL, "bench", "lamp", "pen"]
    row = frame.iloc[2]
    assert row[["plate", "system", "lane", "sample", "role", "spot"]].tolist() == [
        *("bench 3", "ethanol:water 7:3", "B", "B", "standard", "y")
    ]
    assert row[["origin_mm", "front_mm", "trailing_mm", "leading_mm"]].tolist() == [10.0, 85.0, 30.0, 34.0]
    assert row[["u_origin_mm", "u_front_mm", "u_centre_mm"]].tolist() == [0.2, 0.5, 0.4]
    assert math.isnan(row["centre_mm"])
    assert math.isnan(row["u_trailing_mm"])
    assert row[["layer", "point", "origin_read", "front_read"]].tolist() == ["paper", "darkest", "lane", "plate"]
    assert row[["division_mm", "u_reading_mm", "noticeable_mm", "runs"]].tolist() == [0.5, 0.3, 0.7, 2.0]
    assert row[["height_mm", "zero"]].tolist() == [120.0, "sheet edge"]
    assert row[["bench", "lamp", "pen"]].tolist() == ["3", "UV", "2"]
    assert frame["amount_ug"].tolist()[1] == 2.0
    assert frame["lamp"].tolist() == ["", "", "UV"]


def test_types_of_an_empty_study():
    frame = to_frame(Study(plates=[Plate(label="1", origin=0, lanes=[Lane(label="A")])]))
    assert list(frame.columns) == ALL
    assert len(frame) == 0
    assert all(frame[column.name].dtype == np.float64 for column in (*MARKS, *CONTEXT) if column.kind != "text")
    assert from_frame(frame) == Study()


def test_a_front_that_was_not_seen():
    spots = [Spot(label="1", centre=20)]
    frame = to_frame(Study(plates=[Plate(label="1", origin=0, lanes=[Lane(label="A", spots=spots)])]))
    assert frame["front_mm"].isna().all()
    assert frame["front_read"].tolist() == [""]
    assert from_frame(frame).plates[0].lanes[0].front is None


def test_a_factor_may_not_have_the_name_of_a_column():
    for name in ("front_mm", "rf"):
        plate = Plate(
            label="1", origin=0, factors={name: "x"}, lanes=[Lane(label="A", spots=[Spot(label="1", centre=1)])]
        )
        with pytest.raises(RecordError, match=rf"^factor '{name}': wanted a name that no column of the library has"):
            to_frame(Study(plates=[plate]))


def made(text, **fields):
    """A study of a frame written as text."""
    typed = io.StringIO("\n".join(line.strip() for line in text.strip().splitlines()))
    words = dict.fromkeys(("plate", "lane", "spot", "bench", "empty"), str)
    return from_frame(pd.read_csv(typed, dtype=words), **fields)


def test_lines_that_are_equal_were_read_once():
    plate = made("lane,origin_mm,front_mm,centre_mm\nA,10,85,20\nB,10,85,30\nB,10,85,40").plates[0]
    assert (plate.origin, plate.front) == (10.0, 85.0)
    assert [(lane.origin, lane.front) for lane in plate.lanes] == [(None, None)] * 2


def test_lines_that_differ_belong_to_their_lanes():
    plate = made("lane,origin_mm,front_mm,centre_mm\nA,10,85,20\nB,10,84,30").plates[0]
    assert (plate.origin, plate.front) == (10.0, None)
    assert [lane.front for lane in plate.lanes] == [85.0, 84.0]


def test_lines_of_different_uncertainty_belong_to_their_lanes():
    plate = made("lane,front_mm,u_front_mm,centre_mm\nA,85,0.5,20\nB,85,0.6,30").plates[0]
    assert plate.front is None
    assert [lane.u_front for lane in plate.lanes] == [0.5, 0.6]


def test_one_lane_alone_has_its_own_lines():
    plate = made("lane,front_mm,centre_mm\nA,85,20").plates[0]
    assert (plate.front, plate.lanes[0].front, plate.lanes[0].origin) == (None, 85.0, 0.0)


def test_what_was_read_once_is_said():
    plate = made("lane,front_mm,centre_mm,front_read\nA,85,20,plate\nB,84,20,lane").plates[0]
    assert (plate.front, plate.lanes[0].front, plate.lanes[1].front) == (85.0, None, 84.0)


def test_a_lane_that_does_not_say_and_differs_has_its_own_line():
    plate = made("lane,front_mm,centre_mm,front_read\nA,85,20,plate\nB,84,20,\nC,85,20,").plates[0]
    assert (plate.front, [lane.front for lane in plate.lanes]) == (85.0, [None, 84.0, None])


def test_equal_lines_that_were_read_apart_stay_apart():
    plate = made("lane,front_mm,centre_mm,front_read\nA,85,20,lane\nB,85,20,lane").plates[0]
    assert (plate.front, [lane.front for lane in plate.lanes]) == (None, [85.0, 85.0])


def test_a_lane_without_a_front_beside_one_with_a_front():
    plate = made("lane,front_mm,centre_mm\nA,85,20\nB,,20").plates[0]
    assert (plate.front, [lane.front for lane in plate.lanes]) == (None, [85.0, None])


def test_a_height_without_a_layer_is_kept():
    plate = made("lane,front_mm,centre_mm,height_mm\nA,85,20,100").plates[0]
    assert plate.sheet == Sheet(stationary_phase="not stated", height=100)
    assert made("lane,front_mm,centre_mm,layer,height_mm\nA,85,20,,").plates[0].sheet is None


def test_the_zero_is_not_stated_unless_it_is_given():
    assert made("lane,front_mm,centre_mm\nA,85,20").plates[0].reading.zero == "not stated"
    assert made("lane,front_mm,centre_mm,zero\nA,85,20,").plates[0].reading.zero == "not stated"


def test_an_origin_is_assumed_only_where_the_zero_may_have_lain_on_it():
    assert made("lane,front_mm,centre_mm,zero\nA,85,20,origin line").plates[0].lanes[0].origin == 0.0
    for zero in ("sheet edge", "liquid level"):
        with pytest.raises(RecordError, match=r"^lane 'A' on plate '1': wanted a position of the origin, given none"):
            made(f"lane,front_mm,centre_mm,zero\nA,85,20,{zero}")


def test_factors_go_to_the_highest_level_on_which_they_never_change():
    study = made(
        """
        plate,lane,front_mm,centre_mm,bench,pen,lamp,empty
        1,A,85,20,3,blue,white,
        1,A,85,30,3,blue,UV,
        1,B,85,20,3,red,white,
        2,A,85,20,4,red,white,
        """
    )
    first, second = study.plates
    assert (first.factors, second.factors) == ({"bench": "3"}, {"bench": "4"})
    assert [lane.factors for lane in first.lanes] == [{"pen": "blue"}, {"pen": "red"}]
    assert [spot.factors for spot in first.lanes[0].spots] == [{"lamp": "white"}, {"lamp": "UV"}]


def test_systems_are_taken_apart_once():
    study = made("plate,system,lane,front_mm,centre_mm\n1,water,A,85,20\n2,ethanol:water 7:3,A,85,20\n3,water,A,85,20")
    assert study.systems == (parse_system("water"), parse_system("ethanol:water 7:3"))
    assert [plate.system for plate in study.plates] == ["water", "ethanol:water 7:3", "water"]


def test_division_note_and_inputs():
    source = Input(name="inks.csv", sha256="0" * 64, size=3, format="marks-table")
    study = made("lane,front_mm,centre_mm\nA,85,20", division=0.5, note="class 4b", inputs=[source])
    assert study.plates[0].reading.division == 0.5
    assert (study.note, study.inputs) == ("class 4b", (source,))
    stated = made("lane,front_mm,centre_mm,division_mm\nA,85,20,0.1", division=0.5)
    assert stated.plates[0].reading.division == 0.1


def test_what_was_assumed_goes_into_the_note():
    frame, _ = check({"lane": ["A"], "front": ["85"], "centre": ["20"]}, [2])
    assert from_frame(frame, note="class 4b").note == f"class 4b\n{NO_ORIGIN}"
    assert from_frame(frame).note == NO_ORIGIN


def test_spots_without_a_name_are_numbered():
    lane = made("lane,front_mm,centre_mm,spot\nA,85,30,\nA,85,20,1\nA,85,40,").plates[0].lanes[0]
    assert [spot.label for spot in lane.spots] == ["2", "1", "3"]


def test_rows_of_a_lane_need_not_stand_together():
    plate = made("lane,front_mm,centre_mm,spot\nA,85,30,1\nB,85,20,1\nA,85,40,2").plates[0]
    assert [[spot.centre for spot in lane.spots] for lane in plate.lanes] == [[30.0, 40.0], [20.0]]


def test_labels_that_are_numbers():
    frame = pd.DataFrame(
        {"plate": [1, 1], "lane": [1.0, 2.5], "front_mm": [85, 85], "centre_mm": [1, 2], "pen": [np.nan, 3]}
    )
    (plate,) = from_frame(frame).plates
    assert (plate.label, [lane.label for lane in plate.lanes]) == ("1", ["1", "2.5"])
    assert [lane.factors for lane in plate.lanes] == [{}, {"pen": "3"}]


REFUSED = {
    "no lane": ("front_mm,centre_mm\n85,20", r"^marks: wanted a column 'lane', given the columns"),
    "two fronts": (
        "lane,front_mm,centre_mm\nA,85,20\nA,84,30",
        r"^lane 'A' on plate '1': wanted one value in column front_mm, given 84\.0 and 85\.0\. Correct the table\.",
    ),
    "two systems": (
        "lane,front_mm,centre_mm,system\nA,85,20,water\nB,85,20,brine",
        r"^plate '1': wanted one value in column system, given 'brine' and 'water'",
    ),
    "two fronts that were one": (
        "lane,front_mm,centre_mm,front_read\nA,85,20,plate\nB,84,20,plate",
        r"^plate '1': wanted one front, since it was read once, given different ones\. Correct front_read",
    ),
    "a front that was read once, and not seen": (
        "lane,front_mm,centre_mm,front_read\nA,85,20,plate\nB,,20,",
        r"^plate '1': wanted one front, since it was read once, given none in some lanes",
    ),
    "beyond the front": ("lane,front_mm,centre_mm\nA,85,95", r"wanted a centre not beyond the front at 85 mm"),
    "two zeros": (
        "lane,front_mm,origin_mm,centre_mm,zero\nA,85,10,20,sheet edge\nB,85,10,20,liquid level",
        r"^plate '1': wanted one value in column zero, given 'liquid level' and 'sheet edge'",
    ),
    "half a run": ("lane,front_mm,centre_mm,runs\nA,85,20,1.5", r"development, runs: wanted a whole number"),
    "unknown state": ("lane,front_mm,centre_mm,state\nA,85,20,odd", r"spot '1', state: wanted one of"),
}


@pytest.mark.parametrize(("text", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(text, message):
    with pytest.raises(RecordError, match=message):
        made(text)


ROW = st.fixed_dictionaries(
    {
        "plate": st.sampled_from(["1", "2"]),
        "lane": st.sampled_from(["A", "B"]),
        "spot": st.sampled_from(["x", "y", "z"]),
        "origin_mm": st.sampled_from([None, 0.5, 10.0, 10.0, 30.0]),
        "front_mm": st.sampled_from([80.0, 80.0, 80.0, 20.0]),
        "trailing_mm": st.sampled_from([None, None, 9.0, 20.0, 78.0]),
        "centre_mm": st.sampled_from([None, 2.0, 10.0, 12.5, 40.0, 79.0, 81.25, 90.0]),
        "leading_mm": st.sampled_from([None, None, 11.0, 41.0, 80.0, 86.0]),
        "state": st.sampled_from(["measured", "measured", "at origin", "with front", "streak", "unread", "absent"]),
        "u_centre_mm": st.sampled_from([None, None, 2.0]),
        "division_mm": st.sampled_from([None, None, None, 0.5]),
        "system": st.sampled_from(["water", "water", "brine"]),
        "front_read": st.sampled_from(["", "", "", "plate", "lane"]),
        "zero": st.sampled_from(["", "", "", "origin line", "sheet edge"]),
    }
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(ROW, min_size=1, max_size=3))
def test_the_rules_of_the_table_are_those_of_the_record(rows):
    """The check on columns finds a fault exactly where the record refuses the study."""
    columns = {name: [row[name] for row in rows] for name in rows[0]}
    frame, problems = check(columns, range(2, 2 + len(rows)))
    if problems:
        with pytest.raises(RecordError, match="wanted"):
            from_frame(frame)
    else:
        assert sum(len(lane.spots) for plate in from_frame(frame).plates for lane in plate.lanes) == len(rows)
