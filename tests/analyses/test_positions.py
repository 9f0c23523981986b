"""Positions out of a marks table: fall-backs, who shares which reading, and names."""

from __future__ import annotations

import pickle

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.positions import positions
from lanewise.errors import AnalysisError
from lanewise.uncertainty.budget import budget

RULER = 1.0 / np.sqrt(12.0)  # JCGM 100:2008, F.2.2.1 (clause from memory)


def lanes(**columns):
    """Four rows in two lanes of two plates each, unless given otherwise."""
    frame = {"plate": ["P", "P", "Q", "Q"], "lane": ["1", "2", "1", "2"], "front_mm": 80.0, "centre_mm": 30.0}
    return pd.DataFrame(frame | columns)


def test_readings_without_a_statement_are_taken_to_the_millimetre():
    place = positions(lanes(origin_mm=10.0))
    for u in (place.u_origin, place.u_front, place.u_trailing, place.u_leading, place.u_spot):
        np.testing.assert_allclose(u, RULER)
    assert place.u_centre.tolist() == [0.0], "nothing is known of the length of a spot without edges"


def test_a_stated_uncertainty_goes_before_the_division_and_a_row_s_own_before_both():
    marks = lanes(division_mm=0.5, u_reading_mm=[0.2, np.nan, 0.2, 0.2], u_front_mm=[np.nan, np.nan, 0.3, 0.3])
    place = positions(marks)
    np.testing.assert_allclose(place.u_front, [0.2, 0.5 * RULER, 0.3, 0.3])
    np.testing.assert_allclose(place.u_spot, [0.2, 0.5 * RULER, 0.2, 0.2])


def test_what_all_rows_share_is_kept_once():
    place = positions(lanes())
    assert {name: len(getattr(place, name)) for name in ("origin", "u_origin", "trailing", "edge_share")} == {
        "origin": 1,
        "u_origin": 1,
        "trailing": 1,
        "edge_share": 1,
    }
    assert place.front.shape == place.centre.shape == (4,)


def test_finding_the_centre_takes_a_tenth_of_the_length_and_of_a_streak_half():
    """Half-widths of rectangular distributions (common practice, no source)."""
    edges = {"trailing_mm": 27.0, "leading_mm": 33.0}
    place = positions(lanes(**edges, state=["measured", "measured", "streak", "streak"]))
    np.testing.assert_allclose(place.u_centre, np.array([0.6, 0.6, 3.0, 3.0]) / np.sqrt(3.0))
    stated = positions(lanes(**edges, u_centre_mm=[0.4, np.nan, np.nan, np.nan]))
    np.testing.assert_allclose(stated.u_centre, np.array([0.0, 0.6, 0.6, 0.6]) / np.sqrt(3.0))


def test_the_middle_of_the_edges_stands_for_a_missing_centre():
    marks = lanes(centre_mm=[30.0, np.nan, np.nan, 30.0], trailing_mm=27.0, leading_mm=[33.0, 34.0, np.nan, 33.0])
    place = positions(marks)
    np.testing.assert_array_equal(place.centre, [30.0, 30.5, np.nan, 30.0])
    np.testing.assert_array_equal(place.edge_share, [0.0, 0.5, 0.5, 0.0])
    assert place.u_spot[1] == 0.0


def test_a_streak_without_both_edges_has_no_position():
    marks = lanes(state=["streak", "measured", "streak", "streak"], trailing_mm=[np.nan, np.nan, 25.0, 25.0])
    place = positions(marks.assign(leading_mm=[35.0, 35.0, np.nan, 35.0]))
    np.testing.assert_array_equal(place.centre, [np.nan, 30.0, np.nan, 30.0])


@pytest.mark.parametrize(
    ("front", "read", "groups"),
    [
        ([80, 80, 75, 75], None, ["P", "P", "Q", "Q"]),
        ([80, 81, 75, 75], None, ["P1", "P2", "Q", "Q"]),
        ([80, 80, 80, 80], None, ["P", "P", "Q", "Q"]),
        ([80, np.nan, 75, 75], None, ["P1", "P2", "Q", "Q"]),
        ([80, 80, 75, 75], "lane", ["P1", "P2", "Q1", "Q2"]),
        ([80, 80, 75, 75], ["plate", "plate", "lane", "lane"], ["P", "P", "Q1", "Q2"]),
        ([80, 80, 75, 76], ["", None, "", None], ["P", "P", "Q1", "Q2"]),
        ([80, 80, 75, 75], ["lane", "plate", "", ""], ["P1", "P", "Q", "Q"]),
    ],
    ids=["once", "one uneven", "never over plates", "one not seen", "said lane", "said both", "said nothing", "mixed"],
)
def test_who_shares_a_reading_of_the_front(front, read, groups):
    marks = lanes(front_mm=np.array(front, dtype=float))
    place = positions(marks if read is None else marks.assign(front_read=read))
    number = dict(zip(groups, place.front_source, strict=True))
    assert [number[group] for group in groups] == place.front_source.tolist()
    assert len(set(number.values())) == len(number)
    for group, source in number.items():
        assert place.label(int(source)) == f"plate {group[0]}" + (f", lane {group[1]}" if len(group) > 1 else "")


def test_one_position_with_two_uncertainties_is_not_one_reading():
    place = positions(lanes(u_front_mm=[0.3, 0.4, 0.3, 0.3]))
    assert [place.label(int(source)) for source in place.front_source[:2]] == ["plate P, lane 1", "plate P, lane 2"]


def test_lanes_with_labels_of_their_own_on_every_plate_are_numbered_through():
    """Plates times labels may be far more than there are rows; nothing may grow with that product."""
    count = 3_000
    number = np.arange(count)
    marks = pd.DataFrame({"plate": number // 2, "lane": [f"L{n}" for n in number], "front_mm": 80.0, "centre_mm": 30.0})
    place = positions(marks.assign(front_read="lane"))
    assert place.lane.max() < count
    assert place.label(int(place.front_source[-1])) == f"plate {count // 2 - 1}, lane L{count - 1}"
    named = positions(marks.assign(front_read="lane").iloc[:4])
    assert [named.label(int(n)) for n in named.front_source] == [f"plate {n // 2}, lane L{n}" for n in range(4)]


def test_sources_are_named_in_a_budget_and_survive_a_pickle():
    place = positions(lanes(origin_mm=10.0, front_read="lane", origin_read="plate"))
    centre, front, origin, _ = pickle.loads(pickle.dumps(place)).measured()
    run = (front - origin)[3]
    assert {line.source for line in budget(run, each=True)} == {
        "front reading, plate Q, lane 2",
        "origin reading, plate Q",
    }
    assert centre.u.tolist() == pytest.approx([RULER] * 4)


def test_an_empty_state_means_measured():
    place = positions(lanes(state=["measured", None, "", "absent"]))
    assert place.state.tolist() == [0, 0, 0, 5]
    found = measure(lanes(state=["measured", None, "", "absent"]))
    assert found.spots["state"].tolist() == ["measured", "measured", "measured", "absent"]


def test_unused_categories_count_for_nothing():
    marks = lanes(state=pd.Categorical(["measured"] * 4, categories=["gone", "measured"]))
    assert positions(marks).state.tolist() == [0] * 4


def test_numbers_in_a_column_of_objects_are_read():
    marks = lanes(front_mm=pd.array([80, 80, 75, pd.NA], dtype="Int64").astype(object))
    np.testing.assert_array_equal(positions(marks).front, [80.0, 80.0, 75.0, np.nan])


def test_missing_cells_of_pandas_own_text_are_empty():
    marks = lanes(state=pd.array(["absent", pd.NA, "absent", "absent"], dtype="string[python]"))
    assert positions(marks).state.tolist() == [5, 0, 5, 5]


def test_missing_cells_of_nullable_columns_are_missing():
    marks = lanes(front_mm=pd.array([80, None, 80, 80], dtype="Int64"))
    np.testing.assert_array_equal(positions(marks).front, [80.0, np.nan, 80.0, 80.0])


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"state": ["measured", "gone", "absent", "absent"]}, "row 1, column state: wanted one of measured, .*'gone'"),
        ({"lane": ["1", None, "1", "2"]}, "row 1, column lane: wanted the label of a lane, given an empty cell"),
        ({"plate": ["P", "P", "", "Q"]}, "row 2, column plate: wanted the label of a plate, given an empty cell"),
        ({"division_mm": [1.0, 0.0, 1.0, 1.0]}, "row 1, column division_mm: wanted .* above 0 mm, given 0"),
        ({"front_read": ["plate", "sheet", "", ""]}, "row 1, column front_read: wanted plate or lane, given 'sheet'"),
        ({"centre_mm": ["30", "thirty", "30", "30"]}, "row 1, column centre_mm: wanted a number, given 'thirty'"),
    ],
    ids=["state", "lane", "plate", "division", "who read", "text"],
)
def test_cells_that_mean_nothing_are_refused(columns, message):
    with pytest.raises(AnalysisError, match=message):
        positions(lanes(**columns))
