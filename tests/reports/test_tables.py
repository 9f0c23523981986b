"""The tables of a report: what they say of the plates."""

from __future__ import annotations

from lanewise.model.plates import Lane, Plate, Reading, Sheet
from lanewise.reports.tables import plates_table

LANES = (Lane(label="1"),)


def test_a_zero_and_a_height_that_are_stated_have_a_column():
    stated = Plate(
        label="1",
        sheet=Sheet(stationary_phase="paper", height=100),
        reading=Reading(zero="sheet edge"),
        origin=10,
        front=98,
        lanes=LANES,
    )
    table = plates_table([stated, Plate(label="2", origin=0, lanes=LANES)], {})
    assert table.caption == "Plates; origin and front in millimetres from the zero of the ruler."
    columns = dict(zip(table.header, zip(*table.rows, strict=True), strict=True))
    assert columns["Zero of the ruler"] == ("sheet edge", "")
    assert columns["Height (mm)"] == ("100", "")
    assert columns["Origin (mm)"] == ("10", "0")


def test_a_zero_and_a_height_that_are_not_stated_have_none():
    table = plates_table([Plate(label="2", origin=0, lanes=LANES)], {})
    assert {"Zero of the ruler", "Height (mm)"}.isdisjoint(table.header)
