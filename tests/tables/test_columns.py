"""The page of columns, and the headings and units that go with it."""

from __future__ import annotations

import pytest

from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS, names
from lanewise.tables.draft import CHOICES, ordered
from lanewise.tables.headings import SPELLINGS
from lanewise.tables.regrouping import SPOT_FIELDS
from lanewise.tables.rules import LANE_FACTS, PLATE_FACTS
from lanewise.tables.units import LENGTHS, MASSES, unit_named, units_of

ALL = (*MARKS, *CONTEXT, *SPOTS, *PAIRS)


@pytest.mark.parametrize("table", [MARKS, CONTEXT, SPOTS, PAIRS], ids=["marks", "context", "spots", "pairs"])
def test_names_differ(table):
    assert len(set(names(table))) == len(table)


def test_a_name_means_the_same_everywhere():
    meanings = {}
    for column in ALL:
        assert meanings.setdefault(column.name, column) == column


def test_lengths_are_in_millimetres_and_say_so():
    for column in ALL:
        assert (column.kind == "length") == column.name.endswith("_mm") == (column.unit == "mm")
        assert (column.kind == "text") == (column.unit == "")


def test_every_column_of_marks_and_context_can_be_typed():
    assert list(SPELLINGS) == [name for name in SPELLINGS if name in names((*MARKS, *CONTEXT))]
    assert set(SPELLINGS) == set(names((*MARKS, *CONTEXT)))


def test_every_column_belongs_to_a_plate_a_lane_or_a_spot():
    held = [*PLATE_FACTS, *LANE_FACTS, *SPOT_FIELDS, "plate", "lane"]
    assert sorted(held) == sorted(names((*MARKS, *CONTEXT)))
    assert set(CHOICES) <= set(held)


def test_order():
    assert ordered({"runs", "lane", "plate", "mine"}) == ["plate", "lane", "runs"]


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("mm", "mm"),
        ("MM", "mm"),
        ("mm.", "mm"),
        (" cm ", "cm"),
        ("centimetres", "cm"),
        ("centimeter", "cm"),
        ("in", "in"),
        ("inch", "in"),
        ("inches", "in"),
        ('"', "in"),
        ("um", "um"),
        ("\u00b5m", "um"),
        ("\u03bcm", "um"),
        ("\u00b5g", "ug"),
        ("ng", "ng"),
        ("mg", "mg"),
        ("", ""),
        ("m", ""),
        ("px", ""),
        ("%", ""),
    ],
    ids=repr,
)
def test_units(text, unit):
    assert unit_named(text) == unit


def test_units_that_can_stand_for_each_other():
    assert units_of("mm") == LENGTHS
    assert units_of("ug") == MASSES
    assert not units_of("1")
    assert not units_of("")
