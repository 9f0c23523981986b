"""Flags: each one where it belongs, at its limit and not beyond it. The limits are bench custom, no source."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.states import FLAGS, flag_texts

SHARP = {"u_origin_mm": 0.01, "u_front_mm": 0.01, "u_centre_mm": 0.01}
WEAK_LOW, WEAK_HIGH = "Rf below 0.10, weak evidence", "Rf above 0.90, weak evidence"
AT_EDGE = {"centre_mm": 50.0, "height_mm": 100.0, "zero": "sheet edge"}
OVER_RUN = "front at the edge of the sheet, may have run over"
NOT_LEFT, NOT_LAGGING = "not shown to have left the origin", "not shown to lag the front"


def flags_of(row):
    return set(row["flags"].split("; ")) - {""}


@pytest.mark.parametrize(
    ("cells", "flags"),
    [
        ({"centre_mm": 50.0}, set()),
        ({"centre_mm": 18.0}, set()),
        ({"centre_mm": 17.9}, {WEAK_LOW}),
        ({"centre_mm": 82.0}, set()),
        ({"centre_mm": 82.1}, {WEAK_HIGH}),
        ({"centre_mm": 11.1}, {WEAK_LOW}),
        ({"centre_mm": 10.9}, {WEAK_LOW, NOT_LEFT}),
        ({"centre_mm": 89.1}, {WEAK_HIGH, NOT_LAGGING}),
        ({"centre_mm": 88.9}, {WEAK_HIGH}),
        ({"centre_mm": 11.9, "noticeable_mm": 2.0}, {WEAK_LOW, NOT_LEFT}),
        ({"centre_mm": 11.39, "u_centre_mm": 0.7}, {WEAK_LOW, NOT_LEFT}),
        ({"centre_mm": 12.0, "u_centre_mm": 0.7}, {WEAK_LOW}),
        ({"centre_mm": 38.9, "front_mm": 40.0}, {WEAK_HIGH}),
        ({"centre_mm": 25.0, "front_mm": 39.9}, {"run shorter than 30 mm"}),
        ({"centre_mm": 25.0, "front_mm": 40.0}, set()),
        ({"centre_mm": 50.0, "trailing_mm": 42.0, "leading_mm": 58.0}, set()),
        ({"centre_mm": 50.0, "trailing_mm": 41.9, "leading_mm": 58.0}, {"longer than a fifth of the run"}),
        ({"centre_mm": 50.0, "point": "leading edge"}, {"edge of the spot read, not its centre"}),
        ({"centre_mm": 50.0, "point": "trailing edge"}, {"edge of the spot read, not its centre"}),
        ({"centre_mm": 50.0, "point": "darkest"}, set()),
        ({"centre_mm": 50.0, "runs": 2}, {"several developments, not comparable with one"}),
        ({"centre_mm": 50.0, "runs": 1}, set()),
        ({"centre_mm": 9.9}, {WEAK_LOW, NOT_LEFT, "Rf outside 0 to 1, check the readings",
                              "k and R_M limited on one side only"}),
        ({"centre_mm": 90.1}, {WEAK_HIGH, NOT_LAGGING, "Rf outside 0 to 1, check the readings",
                               "k and R_M limited on one side only"}),
        (AT_EDGE | {"front_mm": 97.0}, {OVER_RUN}),
        (AT_EDGE | {"front_mm": 96.9}, set()),
        (AT_EDGE | {"front_mm": 101.0}, {OVER_RUN}),
        (AT_EDGE | {"front_mm": 97.0, "zero": "liquid level"}, set()),
        (AT_EDGE | {"front_mm": 97.0, "zero": None}, set()),
        (AT_EDGE | {"front_mm": 97.0, "height_mm": None}, set()),
        (AT_EDGE | {"front_mm": None}, {"front not seen, no Rf"}),
        ({"centre_mm": 50.0, "front_mm": 97.0, "height_mm": 100.0}, set()),
        (AT_EDGE | {"front_mm": 97.0, "state": "with front", "centre_mm": None}, {OVER_RUN}),
        ({"state": "at origin"}, set()),
        ({"state": "with front", "runs": 2}, set()),
        ({"state": "absent", "point": "leading edge"}, set()),
    ],
    ids=[
        "plain", "at 0.10", "below 0.10", "at 0.90", "above 0.90", "left the origin", "not left", "not lagging",
        "lagging", "larger movement", "u of the spot", "more than two u", "with little run", "short run", "30 mm run",
        "a fifth", "longer", "leading edge", "trailing edge", "darkest point", "two developments", "one development",
        "below the origin", "beyond the front", "3 mm from the edge", "farther from the edge", "over the edge",
        "from the liquid", "zero missing", "height missing", "edge and no front", "no zero", "with a front at the edge",
        "origin", "front", "absent",
    ],
)  # fmt: skip
def test_flags_of_one_spot(row_of, cells, flags):
    assert flags_of(row_of(**(SHARP | cells))) == flags


def test_k_without_an_upper_limit_is_flagged_though_it_has_a_value(row_of):
    """The interval of Rf reaches 0, so k may be anything above its lower end."""
    spot = row_of(centre_mm=11.0, u_centre_mm=0.6)
    assert spot["rf_low"] == 0.0
    assert spot["k"] > spot["k_low"] > 0.0
    assert np.isnan(spot["k_high"])
    assert "k and R_M limited on one side only" in flags_of(spot)


@pytest.mark.parametrize(
    ("fronts", "uneven"),
    [
        ([80.0, 80.0, 80.0], [False] * 3),
        ([81.0, 80.0, 79.0], [False] * 3),
        ([84.0, 80.0, 80.0], [True, False, False]),
        ([80.0, 80.0, np.nan], [False] * 3),
        ([82.0, 78.0, np.nan], [False] * 3),
        ([83.0, 77.0, np.nan], [True, True, False]),
    ],
    ids=["even", "by 1 mm", "one by 2.7 mm", "one not seen", "by 2 mm of those seen", "by 3 mm of those seen"],
)
def test_uneven_fronts(fronts, uneven):
    """More than 2 mm, or 3 % of the run, from the mean front of the plate's lanes; a lane counts once."""
    marks = pd.DataFrame({"lane": ["1", "1", "2", "3"], "front_mm": [fronts[0], *fronts], "centre_mm": 40.0})
    found = measure(marks).spots["flags"].astype(str).str.contains("uneven front").tolist()
    assert found == [uneven[0], *uneven]


def test_a_short_run_is_uneven_by_its_share():
    """1.2 mm of 30 mm is 4 %."""
    marks = pd.DataFrame({"lane": ["1", "2"], "front_mm": [31.2, 28.8], "centre_mm": 15.0})
    assert measure(marks).spots["flags"].astype(str).str.contains("uneven front").all()


def test_fronts_of_other_plates_do_not_count():
    marks = pd.DataFrame({"plate": ["P", "P", "Q", "Q"], "lane": ["1", "2", "1", "2"], "centre_mm": 40.0})
    spots = measure(marks.assign(front_mm=[80.0, 80.5, 60.0, 60.5])).spots
    assert (spots["flags"].astype(str) == "").all()


def test_only_lanes_whose_front_reached_the_edge_of_their_sheet_are_flagged():
    marks = pd.DataFrame({"plate": ["P", "P", "Q"], "lane": ["1", "2", "1"], "origin_mm": 10.0, "centre_mm": 50.0,
                          "front_mm": [98.0, 96.8, 98.0], "height_mm": [100.0, 100.0, 200.0]})  # fmt: skip
    marks["zero"] = pd.Categorical(["sheet edge"] * 3)
    found = measure(marks).spots["flags"].astype(str).str.contains("may have run over")
    assert found.tolist() == [True, False, False]


def test_flags_of_a_row_are_joined_in_one_order():
    texts = flag_texts(np.array([0, 1, 3, 1 << (len(FLAGS) - 1)]))
    assert texts.tolist() == ["", FLAGS[0], f"{FLAGS[0]}; {FLAGS[1]}", FLAGS[-1]]
