"""Headings: each spelling that is understood, and each that is refused with the right name."""

from __future__ import annotations

import pytest

from lanewise.tables.headings import SPELLINGS, known_column, read_heading, resolve

SPELT = [(spelling, name) for name, spellings in SPELLINGS.items() for spelling in spellings]


@pytest.mark.parametrize(("spelling", "name"), SPELT, ids=[spelling for spelling, _ in SPELT])
def test_every_spelling(spelling, name):
    assert known_column(spelling) == (name, "")
    assert known_column(f"  {spelling.upper().replace(' ', '_')} ") == (name, "")


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("front_mm", "front_mm", "mm"),
        ("front_cm", "front_mm", "cm"),
        ("front_in", "front_mm", "in"),
        ("Front (cm)", "front_mm", "cm"),
        ("FRONT [IN]", "front_mm", "in"),
        ("solvent front / mm", "front_mm", "mm"),
        ("front, cm", "front_mm", "cm"),
        ("front in cm", "front_mm", "cm"),
        ("front-mm", "front_mm", "mm"),
        ("front\u00a0(mm)", "front_mm", "mm"),
        ('"front_mm"', "front_mm", "mm"),
        ("center_\u00b5m", "centre_mm", "um"),
        ("darkest (mm)", "centre_mm", "mm"),
        ("u_front_mm", "u_front_mm", "mm"),
        ("u(front) / mm", "u_front_mm", "mm"),
        ("Division [mm]", "division_mm", "mm"),
        ("amount (\u00b5g)", "amount_ug", "ug"),
        ("amount_ng", "amount_ug", "ng"),
        ("run time (min)", "minutes", "min"),
        ("Running time [h]", "minutes", "h"),
        ("Sheet height (cm)", "height_mm", "cm"),
        ("height_cm", "height_mm", "cm"),
    ],
    ids=lambda value: str(value),
)
def test_units_in_headings(heading, name, unit):
    assert known_column(heading) == (name, unit)


@pytest.mark.parametrize(
    ("heading", "factor"),
    [
        ("bench", "bench"),
        (" Operator ", "Operator"),
        ("temperature (degC)", "temperature (degC)"),
        ("factor:place", "place"),
        ("Factor: front px", "front px"),
        ("Rf", "Rf as written"),
        ("hrf", "hrf as written"),
        ("u_rf", "u_rf as written"),
        ("class", "class"),
        ("time", "time"),
        ("weight", "weight"),
        ("weight (mg)", "weight (mg)"),
    ],
    ids=lambda value: str(value),
)
def test_factors(heading, factor):
    found = read_heading(heading)
    assert (found.factor, found.column, found.wanted) == (factor, "", "")
    assert known_column(heading) == ("", "")


def test_the_darkest_point_is_another_point():
    assert read_heading("darkest_mm").point == "darkest"
    assert read_heading("centre_mm").point == ""


@pytest.mark.parametrize(
    ("heading", "todo"),
    [
        ("frnt_mm", "Write 'front_mm'; or, if it is a factor of your own, 'factor:frnt_mm'."),
        ("frnt (cm)", "Write 'front_cm'; or, if it is a factor of your own, 'factor:frnt (cm)'."),
        ("cetnre", "Write 'centre_mm'; or, if it is a factor of your own, 'factor:cetnre'."),
        ("lanes", "Write 'lane'; or, if it is a factor of your own, 'factor:lanes'."),
        ("place", "Write 'plate'; or, if it is a factor of your own, 'factor:place'."),
        ("u_frnt_mm", "Write 'u_front_mm'; or, if it is a factor of your own, 'factor:u_frnt_mm'."),
        ("front (px)", "Write 'front_mm', for instance."),
        ("front_px", "Write 'front_mm', for instance."),
        ("front_\u00b5g", "Write 'front_mm', for instance."),
        ("amount_mm", "Write 'amount_ug', for instance."),
        ("spot_mm", "Write 'centre_mm' for the position of the spot."),
        ("lane (cm)", "Write 'lane'; or, for a factor of your own, 'factor:lane (cm)'."),
        ("sample (ink)", "Write 'sample'; or, for a factor of your own, 'factor:sample (ink)'."),
        ("heigth_mm", "Write 'height_mm'; or, if it is a factor of your own, 'factor:heigth_mm'."),
        ("zero_mm", "Write 'zero'; or, for a factor of your own, 'factor:zero_mm'."),
        (
            "shared_centre_mm:lens",
            "Read the study from its record (JSON), which holds them, or leave the column out.",
        ),
        ("runs_mm", "Write 'runs'; or, for a factor of your own, 'factor:runs_mm'."),
    ],
    ids=lambda value: value.split(";")[0],
)
def test_slips_and_wrong_units(heading, todo):
    found = read_heading(heading)
    assert found.wanted
    assert found.todo == todo
    assert known_column(heading) == ("", "")


@pytest.mark.parametrize(
    "heading",
    [
        "distance",
        "distance_mm",
        "spot distance",
        "distance of solvent (cm)",
        "position",
        "height spot",
        "front distance",
    ],
    ids=str,
)
def test_distances_are_unclear(heading):
    found = read_heading(heading)
    assert found.wanted == "a heading that says what lies there"
    assert "write 'centre_mm' for the spot, 'front_mm' for the front" in found.todo


def problems_of(*headings, **units):
    return [str(problem) for problem in resolve(headings, units, "inks.csv").problems]


def test_two_headings_for_one_column():
    assert problems_of("front_mm", "solvent front") == [
        "inks.csv, column solvent front: wanted one column for front_mm, given 'front_mm' and 'solvent front'. "
        "Keep one of them."
    ]


def test_two_factors_of_one_name():
    assert problems_of("bench", " bench") == [
        "inks.csv, column  bench: wanted factors of different names, given 'bench' twice. Rename one of them."
    ]


def test_an_empty_heading():
    assert problems_of("lane", " ") == ["inks.csv, column  : wanted a heading, given an empty one. Name the column."]


@pytest.mark.parametrize(
    ("heading", "stated", "problem"),
    [
        ("front_cm", "mm", "wanted the unit cm, given 'front_cm'"),
        ("front", "px", "wanted a unit out of mm, cm, in, um, given 'front'"),
        ("lane", "mm", "wanted no unit, given 'lane'"),
    ],
    ids=["another unit than the heading", "unknown unit", "unit of a text"],
)
def test_units_stated_apart_that_do_not_fit(heading, stated, problem):
    (text,) = problems_of(heading, **{heading: stated})
    assert problem in text
    assert f"The unit {stated!r} was stated for it apart: correct one of the two." in text


@pytest.mark.parametrize("heading", ["front", "front_cm"], ids=str)
def test_units_stated_apart_that_fit(heading):
    found = resolve([heading, "bench"], {heading: "centimetres", "bench": "mm"}, "inks.csv")
    assert found.columns["front_mm"].unit == "cm"
    assert not found.problems


def test_columns_that_a_slip_may_have_meant():
    assert resolve(["frnt", "front (px)"], {}, "inks.csv").suspected == {"front_mm"}
