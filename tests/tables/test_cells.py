"""Cells: each way to write a number that is understood, and each that is refused with what to do."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.tables.cells import Fault, convert, numbers, read_number, texts
from lanewise.tables.units import LENGTHS

READ = [
    ("5.2", ".", (5.2, "")),
    ("5", ".", (5.0, "")),
    (".5", ".", (0.5, "")),
    ("5.", ".", (5.0, "")),
    ("+5", ".", (5.0, "")),
    ("-3.5", ".", (-3.5, "")),
    ("\u22123.5", ".", (-3.5, "")),
    ("1.2e1", ".", (12.0, "")),
    (" 7 ", ".", (7.0, "")),
    ("\u00a07\u202f", ".", (7.0, "")),
    ('"5.2"', ".", (5.2, "")),
    ("'5.2'", ".", (5.2, "")),
    ("5,2", ",", (5.2, "")),
    (",5", ",", (0.5, "")),
    ("-0,5 cm", ",", (-0.5, "cm")),
    ("5.2 cm", ".", (5.2, "cm")),
    ("5.2\u202fcm", ".", (5.2, "cm")),
    ("21.5mm", ".", (21.5, "mm")),
    ("4.0MM.", ".", (4.0, "mm")),
    ('2"', ".", (2.0, "in")),
    ("2 inches", ".", (2.0, "in")),
    ("5.2 \u03bcm", ".", (5.2, "um")),
    ("3 ug", ".", (3.0, "ug")),
]


@pytest.mark.parametrize(("text", "decimal", "expected"), READ, ids=[f"{text!r} {sign}" for text, sign, _ in READ])
def test_read(text, decimal, expected):
    assert read_number(text, decimal) == expected


def test_minus_nothing_is_nothing():
    value, _ = read_number("-0")
    assert str(value) == "0.0"


@pytest.mark.parametrize("text", ["", " ", "\u00a0", "-", "\u2013", "\u2014", "n/a", "N/A", "NA", "n.a."], ids=repr)
def test_nothing_was_read(text):
    assert read_number(text) is None
    assert read_number(text, ",") is None


ONE_A_ROW = "Write one row a spot: repeat the row, once with {} and once with {}."
REFUSED = [
    ("12; 15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("0.39 & 0.98", ".", "one number in the cell", ONE_A_ROW.format(0.39, 0.98)),
    ("12 / 15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12, 15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12,5; 15,5", ",", "one number in the cell", ONE_A_ROW.format("12,5", "15,5")),
    ("12 and 15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12 15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12-15", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12 mm | 15 mm", ".", "one number in the cell", ONE_A_ROW.format(12, 15)),
    ("12;15;18", ".", "one number in the cell", "repeat the row, once with 12, once with 15 and once with 18."),
    ("1/2", ".", "one number in the cell", ONE_A_ROW.format(1, 2)),
    ("1 234", ".", "one number in the cell", "Write 1234 if it is one number, else one row a spot."),
    ("1,234", ".", "a number with a decimal point", "Write 1.234; a decimal comma is understood where semicolons"),
    ("5,2", ".", "a number with a decimal point", "Write 5.2; a decimal comma"),
    ("5.2", ",", "a number with a decimal comma, as elsewhere in the file", "Use one decimal sign throughout."),
    ("1,234.5", ".", "a number without separators of thousands", "Write the digits together, with one decimal sign."),
    ("1.234,5", ",", "a number without separators of thousands", "Write the digits together, with one decimal sign."),
    ("5..2", ".", "a number without separators of thousands", "Write the digits together"),
    ("nan", ".", "a number", "Correct it, or leave the cell empty where nothing was read."),
    ("inf", ".", "a number", "Correct it, or leave the cell empty"),
    ("1e999", ".", "a finite number", "Correct it, or leave the cell empty"),
    ("9" * 400, ".", "a finite number", "Correct it, or leave the cell empty"),
    ("twelve", ".", "a number", "Correct it, or leave the cell empty"),
    ("about 12", ".", "a number", "Correct it, or leave the cell empty"),
    ("12?", ".", "a number, with a known unit or none", "Remove '?', or correct the unit."),
    ("45 %", ".", "a number, with a known unit or none", "Remove '%', or correct the unit."),
    ("12 px", ".", "a number, with a known unit or none", "Remove 'px', or correct the unit."),
    ("1_000", ".", "a number, with a known unit or none", "Remove '_000', or correct the unit."),
    ("0x10", ".", "a number, with a known unit or none", "Remove 'x10', or correct the unit."),
    ("--5", ".", "a number", "Correct it"),
    ("\u0663", ".", "a number", "Correct it"),
    ("True", ".", "a number", "Correct it"),
]


@pytest.mark.parametrize(
    ("text", "decimal", "wanted", "todo"), REFUSED, ids=[f"{text[:20]!r} {sign}" for text, sign, _, _ in REFUSED]
)
def test_refused(text, decimal, wanted, todo):
    fault = read_number(text, decimal)
    assert isinstance(fault, Fault)
    assert fault.wanted == wanted
    assert todo in fault.todo


UNITS = dict(LENGTHS)


def test_a_column_in_the_unit_of_its_heading():
    read = numbers(["5.2", "", None, "7 cm", "n/a"], "cm", UNITS)
    assert read.values.tolist()[0] == 52.0
    assert read.values.tolist()[3] == 70.0
    assert np.isnan(read.values[[1, 2, 4]]).all()
    assert (read.faults, read.mixed) == ({}, None)


def test_another_unit_than_the_headings_is_refused_cell_by_cell():
    read = numbers(["52 mm", "5.2", "52 mm"], "cm", UNITS)
    assert {row: fault.wanted for row, fault in read.faults.items()} == dict.fromkeys(
        (0, 2), "a number in cm, as the heading says"
    )
    assert np.isnan(read.values).tolist() == [True, False, True]


def test_units_of_another_kind_are_refused():
    assert numbers(["5 ug"], "", UNITS).faults[0].wanted == "a unit out of mm, cm, in, um"
    assert numbers(["5 mm"], "", {}).faults[0].wanted == "a number without a unit"


def test_units_in_every_cell_may_differ():
    read = numbers(["5.2 cm", "21 mm", None, '1"'], "", UNITS)
    assert read.values.tolist()[:2] == [52.0, 21.0]
    assert read.values[3] == 25.4
    assert read.mixed is None


def test_units_in_some_cells_only_are_mixed():
    assert numbers(["", "21", "5.2 cm"], "", UNITS).mixed == (1, 2)
    assert numbers(["21", "5.2 cm"], "cm", UNITS).mixed is None


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ([1.5, None, 2.0], [1.5, None, 2.0]),
        ([1, 2, None], [1.0, 2.0, None]),
        (["1.5", 2, 2.5, None, 2, "1.5"], [1.5, 2.0, 2.5, None, 2.0, 1.5]),
        (np.array([1, 2]), [1.0, 2.0]),
        (pd.Series([1.5, 2.5]), [1.5, 2.5]),
        ([], []),
    ],
    ids=["floats", "ints", "mixed", "array", "series", "none"],
)
def test_cells_that_are_numbers(cells, expected):
    read = numbers(cells, "", UNITS)
    assert [None if np.isnan(value) else value for value in read.values] == expected
    assert not read.faults


@pytest.mark.parametrize(
    "cell",
    [float("nan"), float("inf"), True, 1j, [1], 10**400],
    ids=["nan", "inf", "bool", "complex", "list", "huge"],
)
def test_cells_that_are_no_numbers(cell):
    read = numbers([cell, 2.0], "", UNITS)
    assert list(read.faults) == [0]
    assert read.values[1] == 2.0
    assert list(numbers([cell, "2"], "", UNITS).faults) == [0]


# The decimal module is the second opinion: the product as on paper, then the nearest float. The inch is 25.4 mm exactly
# (international yard and pound agreement of 1959).
@given(st.decimals(-1000, 1000, places=4), st.sampled_from(sorted(LENGTHS)))
def test_conversion_is_what_it_is_on_paper(number, unit):
    expected = float(Decimal(str(number)) * Decimal(str(LENGTHS[unit])))
    assert numbers([str(number)], unit, UNITS).values[0] == expected + 0.0


def test_conversion_of_long_numbers_stays_within_rounding():
    given_cm = np.array([5.123456789012345, 1e-13, 3e20, np.nan])
    got = convert(given_cm, 10.0)
    assert got[:3] == pytest.approx(given_cm[:3] * 10.0, rel=3e-16)
    assert np.isnan(got[3])


def test_texts():
    made = texts([" A ", None, 3.0, 2.5, 7, True, "\u00a0x\u00a0"])
    assert made.tolist() == ["A", "", "3", "2.5", "7", "True", "x"]
    assert texts([]).tolist() == []
