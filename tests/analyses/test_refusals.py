"""Tables that cannot be measured are refused with the row, what was wanted and what was given."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.errors import AnalysisError

GOOD = {"plate": ["P", "P"], "lane": ["1", "2"], "origin_mm": 10.0, "front_mm": 80.0, "trailing_mm": 28.0,
        "centre_mm": 30.0, "leading_mm": 32.0}  # fmt: skip


def marks(**columns):
    return pd.DataFrame(GOOD | columns, index=["first", "second"])


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        ({"front_mm": [80.0, 9.0]}, "row second, plate P, lane 2: wanted a front beyond the origin at 10 mm, given"),
        ({"front_mm": [80.0, 10.0]}, "beyond the origin at 10 mm, given a front at 10 mm. Correct one of the two"),
        ({"front_mm": [80.0, np.inf]}, "row second, .*: wanted a finite position in column front_mm, given inf mm"),
        ({"centre_mm": [-np.inf, 30.0]}, "row first, .*: wanted a finite position in column centre_mm, given -inf mm"),
        ({"u_front_mm": [0.3, -0.3]}, "row second, .*: wanted 0 or more in column u_front_mm, given -0.3 mm"),
        ({"u_centre_mm": [0.3, np.inf]}, "row second, .*: wanted 0 or more in column u_centre_mm, given inf mm"),
        ({"noticeable_mm": [-1.0, 1.0]}, "row first, .*: wanted 0 or more in column noticeable_mm, given -1 mm"),
        ({"trailing_mm": [28.0, 31.0]}, "row second, .* in this order, given 31 mm, 30 mm, 32 mm. Trailing is"),
        ({"leading_mm": [29.0, 32.0]}, "row first, .* in this order, given 28 mm, 30 mm, 29 mm"),
        ({"centre_mm": np.nan, "leading_mm": 27.0}, "in this order, given 28 mm, 27.5 mm, 27 mm"),
        ({"lane": "1", "front_mm": [80.0, 81.0]}, "plate P, lane 1: wanted one value in column front_mm, given 80"),
        ({"lane": "1", "front_mm": [np.nan, 80.0]}, "lane 1: wanted one value in column front_mm, given nothing"),
        ({"front_mm": [80.0, 81.0], "front_read": "plate"}, "plate P: wanted one value in column front_mm, given 80"),
        ({"lane": "1", "origin_mm": [10.0, 9.0]}, "plate P, lane 1: wanted one value in column origin_mm"),
        ({"lane": "1", "u_front_mm": [0.3, 0.4]}, "plate P, lane 1: wanted one value in column u_front_mm, given"),
        (
            {"zero": "origin line", "origin_mm": [0.8, 10.0], "u_origin_mm": 0.3},
            "row second, .*, lane 2: wanted the origin at 0 mm, since the zero lay on the origin line, given 10 mm",
        ),
        (
            {"zero": "sheet edge", "origin_mm": [10.0, np.nan]},
            "row second, .*: wanted the position of the origin, since the zero lay at the sheet edge, given nothing",
        ),
        ({"system": ["A", "B"]}, "plate P: wanted one solvent system for a plate, given 'A' and 'B'. Give"),
    ],
    ids=[
        "front behind", "front on the origin", "endless front", "endless centre", "negative u", "endless u",
        "negative movement", "trailing beyond", "leading short", "edges swapped", "two fronts in a lane",
        "front in one row only", "two fronts read once", "two origins in a lane", "two u of one front",
        "origin elsewhere than the zero", "no origin where it is needed",
        "two systems on a plate",
    ],
)  # fmt: skip
def test_readings_that_cannot_be(columns, message):
    with pytest.raises(AnalysisError, match=message):
        measure(marks(**columns))


def test_two_systems_without_plates_are_refused_even_where_the_lanes_agree():
    """Their spots would be taken for neighbours in one lane."""
    frame = marks(lane="1", system=["A", "B"]).drop(columns="plate")
    with pytest.raises(AnalysisError, match=r"plate 1: wanted one solvent system .* label of its own in column plate"):
        measure(frame)


def test_an_origin_that_is_needed_is_not_assumed():
    frame = marks(zero="liquid level").drop(columns="origin_mm")
    with pytest.raises(AnalysisError, match=r"row first, .*since the zero lay at the liquid level, given nothing\."):
        measure(frame)
    assert len(measure(frame.assign(zero="origin line")).spots) == 2
    assert len(measure(frame.assign(zero=pd.NA)).spots) == 2


@pytest.mark.parametrize("column", ["lane", "front_mm"])
def test_a_needed_column_is_missing(column):
    with pytest.raises(
        AnalysisError, match=r"wanted the columns lane, front_mm and centre_mm \(or both edges\), given"
    ):
        measure(marks().drop(columns=column))


def test_one_edge_is_no_position():
    with pytest.raises(AnalysisError, match=r"\(or both edges\), given .*'trailing_mm'"):
        measure(marks().drop(columns=["centre_mm", "leading_mm"]))


def test_an_empty_table_is_refused():
    with pytest.raises(AnalysisError, match="marks: wanted at least one row, a spot, given none"):
        measure(marks().iloc[:0])


@pytest.mark.parametrize("name", ["rf", "k", "flags", "width_mm", "alpha"])
def test_a_factor_may_not_be_named_like_a_result(name):
    """It would stand in the table where the result belongs."""
    with pytest.raises(AnalysisError, match=f"given a column '{name}', which is the name of a result. Rename or drop"):
        measure(marks(**{name: 1.0}))


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 95.0, float("nan")], ids=str)
def test_a_level_is_a_probability(level):
    with pytest.raises(AnalysisError, match=f"level: wanted a probability between 0 and 1, given {level}"):
        measure(marks(), level=level)


def test_good_tables_pass():
    assert len(measure(marks()).spots) == 2
    unread = marks(front_mm=np.nan)
    assert measure(unread).spots["rf"].isna().all()
