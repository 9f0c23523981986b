"""Small functions behind the checks."""

from __future__ import annotations

import pytest

from lanewise.model.checks import mm, ruler_uncertainty, spot_point, standard_uncertainty
from lanewise.model.plates import Reading, Spot


# JCGM 100:2008, F.2.2.1: a resolution of delta gives u = 0.29 delta (from memory).
@pytest.mark.parametrize(("division", "expected"), [(1.0, "0.29"), (10.0, "2.9"), (100.0, "29")], ids=str)
def test_ruler_uncertainty(division, expected):
    digits = len(expected.partition(".")[2])
    assert ruler_uncertainty(division) == pytest.approx(float(expected), abs=0.5 * 10**-digits)


def test_a_stated_uncertainty_goes_before_the_division():
    assert standard_uncertainty(Reading(division=1, u=0.0)) == 0.0
    assert standard_uncertainty(Reading(division=2)) == ruler_uncertainty(2)


@pytest.mark.parametrize(
    ("spot", "expected"),
    [
        (Spot(label="1", trailing=1, centre=2, leading=9), ("centre", 2.0)),
        (Spot(label="1", trailing=1, leading=9), ("middle", 5.0)),
        (Spot(label="1", state="unread", leading=9), ("middle", None)),
    ],
    ids=["centre", "edges", "one edge"],
)
def test_the_point_by_which_a_spot_is_placed(spot, expected):
    assert spot_point(spot) == expected


def test_lengths_in_texts():
    assert (mm(85.0), mm(0.1 + 0.2), mm(None)) == ("85 mm", "0.3 mm", "nothing")
