"""Blank forms: what was planned, filled in with a pencil's numbers, read back by the library's own door."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import lanewise
from lanewise.errors import PlanError, ReadingsError
from lanewise.planning.blanks import COLUMNS
from lanewise.planning.plans import plan
from lanewise.tables.headings import known_column


def made(**more):
    asked = {"width": 100, "height": 100, "blank": True, "seed": 3, "system": "ethanol:water 1:1", "plate": "bench 2"}
    return plan(["blue pen", "black, thick", 'the "red" one'], ["dye A"], **(asked | more))


def filled(text):
    """Fill a blank table in as a person would: lines, a spot a row, 'absent' in the blank lane."""
    lines = text.splitlines(keepends=True)
    remarks = [line for line in lines if line.startswith("#")]
    rows = list(csv.DictReader(io.StringIO("".join(line for line in lines if not line.startswith("#")))))
    for number, row in enumerate(rows):
        row |= {"origin_mm": "15.5", "front_mm": "88"}
        row |= {"state": "absent"} if row["role"] == "blank" else {"centre_mm": str(20 + number), "colour": "blue"}
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return "".join(remarks[:1]) + out.getvalue()


def lanes_of(study):
    (plate,) = study.plates
    return [(lane.label, lane.sample, lane.role, lane.factors) for lane in plate.lanes]


@pytest.mark.parametrize("column", COLUMNS)
def test_every_heading_is_understood(column):
    assert known_column(column)[0] == column


@pytest.mark.parametrize("replicates", [1, 2], ids=["once", "twice"])
@pytest.mark.parametrize("spots", [1, 3], ids=["one spot", "three spots"])
def test_a_table_filled_in_is_read_back_as_the_plan(replicates, spots):
    found = made(replicates=replicates)
    study = lanewise.read(filled(found.marks_table(spots)).encode(), name="bench2.csv")
    planned = found.record()
    assert lanes_of(study) == lanes_of(planned)
    (plate,) = study.plates
    assert (plate.label, plate.system, plate.reading.zero) == ("bench 2", "ethanol:water 1:1", "sheet edge")
    assert plate.sheet.height == 100
    assert [len(lane.spots) for lane in plate.lanes] == [spots] * len(found.lanes)
    assert study.systems == planned.systems
    assert study.note.startswith("Planned: origin line at 15 mm, front target at 90 mm")


def test_rf_follows_from_a_table_filled_in():
    study = lanewise.read(filled(made().marks_table()).encode(), name="bench2.csv")
    spots = lanewise.measure(lanewise.to_frame(study)).spots
    rows = spots[spots["state"] == "measured"]
    assert rows["rf"].tolist() == pytest.approx([(20 + n - 15.5) / (88 - 15.5) for n in rows.index])


def test_a_table_that_was_not_filled_in_says_what_is_missing():
    with pytest.raises(ReadingsError, match=r"column front_mm: wanted the front of lane '1' on plate 'bench 2'"):
        lanewise.read(made().marks_table().encode(), name="bench2.csv")


def test_the_blank_record_is_saved_and_read_back(tmp_path):
    record = made(title="Inks (invented)").record()
    assert lanewise.read(lanewise.save(record, tmp_path / "blank.json")).plates == record.plates
    (plate,) = record.plates
    assert plate.origin == 15.0
    assert plate.front is None
    assert not any(lane.spots for lane in plate.lanes)


def test_the_table_says_how_it_is_filled_in_below_its_headings():
    """Remarks above the headings become the note of the study; these are for the person with the pencil alone."""
    lines = made().marks_table().splitlines()
    assert lines[1].startswith("lane,sample,role,spot,origin_mm,front_mm")
    assert all(line.startswith("# ") for line in lines[2:5])


@pytest.mark.parametrize("spots", [0, 51, 1.5, True], ids=str)
def test_spots_are_a_whole_number(spots):
    with pytest.raises(PlanError, match=r"marks table, spots: wanted a whole number from 1 to 50"):
        made().marks_table(spots)


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8)


@settings(max_examples=30, deadline=None)
@given(names=st.lists(WORDS, min_size=1, max_size=4, unique=True), plate=WORDS)
@example(names=["#1", "=1+1", "-2"], plate="# 3")
def test_any_names_come_back(names, plate):
    found = plan(names, width=100, height=100, plate=plate)
    study = lanewise.read(filled(found.marks_table()).encode(), name="names.csv", format="marks-table")
    assert [lane.sample for lane in study.plates[0].lanes] == names
    assert study.plates[0].label == plate
