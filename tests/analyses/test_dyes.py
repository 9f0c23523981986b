"""Which spots are the same dye: by single spot, by name, by colour, and why not."""

from __future__ import annotations

import pandas as pd
import pytest

from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.measure import measure


@pytest.fixture
def named(measured):
    return lambda *rows: name_dyes(measured(*rows))


def two_lanes(*spots):
    """The same spots in a lane of two plates."""
    return [{"plate": plate, "centre_mm": 20.0 + 10 * n, **spot} for plate in "PQ" for n, spot in enumerate(spots)]


def test_a_sample_with_one_spot_a_lane_is_its_own_dye(named):
    dyes = named(*two_lanes({"sample": "eosin Y", "colour": "orange"}))
    assert dyes.names.tolist() == ["eosin Y"] * 2
    assert dyes.unmatched == ()


def test_names_of_spots_go_before_colours(named):
    dyes = named(*two_lanes({"spot": "first", "colour": "red"}, {"spot": "second", "colour": "red"}))
    assert dyes.names.tolist() == ["ink (first)", "ink (second)"] * 2


@pytest.mark.parametrize("labels", [("1", "2"), ("1.0", "2.0"), (1, 2), (1.0, 2.0)], ids=str)
def test_numbers_are_no_names_so_colours_serve(named, labels):
    dyes = named(*two_lanes({"spot": labels[0], "colour": "Red"}, {"spot": labels[1], "colour": " blue "}))
    assert dyes.names.tolist() == ["ink (red)", "ink (blue)"] * 2
    assert dyes.unmatched == ()


def test_position_decides_nothing(named):
    """In the other system the two dyes stand in another order."""
    rows = [
        {"plate": "P", "centre_mm": 20.0, "colour": "red"},
        {"plate": "P", "centre_mm": 40.0, "colour": "blue"},
        {"plate": "Q", "centre_mm": 20.0, "colour": "blue"},
        {"plate": "Q", "centre_mm": 40.0, "colour": "red"},
    ]
    assert named(*rows).names.tolist() == ["ink (red)", "ink (blue)", "ink (blue)", "ink (red)"]


@pytest.mark.parametrize(
    ("spots", "reason"),
    [
        (({}, {}), "they have numbers only, and no colours are given"),
        (({"colour": "red"}, {"colour": ""}), "they have numbers only, and some have no colour"),
        (({"colour": "red"}, {"colour": "red"}), "they have numbers only, and two of one lane have the same colour"),
        (({"spot": "first"}, {"spot": "first"}), "two of one lane have the same name, and no colours are given"),
        (({"spot": "first"}, {"spot": "2"}), "some have only numbers, and no colours are given"),
    ],
    ids=["nothing", "one colour", "colour twice", "name twice", "one name"],
)
def test_what_cannot_be_followed_is_said_with_the_reason(named, spots, reason):
    dyes = named(*two_lanes(*spots), {"plate": "P", "lane": "B", "sample": "other", "centre_mm": 30.0})
    assert dyes.names.tolist() == [""] * 4 + ["other"]
    assert dyes.unmatched == (
        f"The spots of ink cannot be followed from lane to lane: {reason}. Give each spot of a lane a name of its own "
        "in the column spot, or a colour of its own.",
    )


def test_within_one_system_numbers_are_names(named):
    dyes = named(*two_lanes({}, {"spot": None}), {"plate": "P", "lane": "B", "sample": "other", "centre_mm": 30.0})
    assert dyes.within.tolist() == ["ink (spot 1)", "ink (spot 2)"] * 2 + ["other"]


def test_spots_that_are_not_there_or_not_measured_have_no_name_and_do_not_count(named):
    rows = [{"centre_mm": 20.0}, {"state": "absent"}, {"state": "unread"}, {"lane": "B", "state": "at origin"}]
    assert named(*rows).names.tolist() == ["ink", "", "", "ink"]


def test_a_spot_in_a_blank_lane_is_no_dye_but_is_told(named):
    rows = [{"centre_mm": 20.0}, {"lane": "B", "sample": "blank", "role": "blank", "centre_mm": 70.0}]
    dyes = named(*rows)
    assert dyes.names.tolist() == dyes.within.tolist() == ["ink", ""]
    assert dyes.unmatched == (
        "The blank on plate P shows a spot. It may come from the solvent, the layer or the spotting; it is not "
        "compared, and a spot at its place in other lanes is no evidence.",
    )


def test_an_empty_blank_lane_is_not_told(named):
    assert named({"centre_mm": 20.0}, {"lane": "B", "role": "blank", "state": "absent"}).unmatched == ()


def test_a_lane_without_a_sample_goes_by_its_label():
    marks = pd.DataFrame({"lane": [1, 2], "front_mm": 80.0, "centre_mm": 20.0, "sample": ["ink", None]})
    assert name_dyes(measure(marks)).names.tolist() == ["ink", "2"]


def test_labels_twice_in_the_index_do_no_harm(typed):
    """As after pandas.concat of the tables of two plates."""
    first = typed({"centre_mm": 20.0, "sample": "red pen"}, {"lane": "B", "centre_mm": 30.0, "sample": "blue pen"})
    marks = pd.concat([first, first.assign(plate="Q").iloc[::-1].reset_index(drop=True)])
    dyes = name_dyes(measure(marks))
    assert dyes.names.tolist() == ["red pen", "blue pen", "blue pen", "red pen"]
    assert dyes.names.index.equals(marks.index)


def test_the_inks_are_followed_by_their_colours(inks, inks_marks):
    dyes = name_dyes(inks)
    assert dyes.unmatched == ()
    several = inks_marks["sample"].isin(
        ["ledger blue", "copying violet", "correction red", "document black", "map green"]
    )
    found = dyes.names[several]
    assert found.tolist() == [f"{row['sample']} ({row['colour']})" for _, row in inks_marks[several].iterrows()]
    assert set(dyes.names[~several]) == {"", "crystal violet", "rhodamine B", "eosin Y"}
