"""The table of spots: reference numbers, intervals, ends of the run, and that no number is missing without a reason."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lanewise.analyses import measure as module
from lanewise.analyses.measure import measure
from lanewise.errors import AnalysisError
from lanewise.tables.columns import SPOTS, names
from lanewise.uncertainty.budget import group_variances
from lanewise.uncertainty.intervals import ratio_interval

REFERENCE = Path(__file__).parents[1] / "reference"
NUMBERS = ["rf", "u_rf", "rf_low", "rf_high", "hrf", "k", "u_k", "k_low", "k_high", "r_m", "u_r_m"]


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def as_printed(expected):
    """Within half a unit of the last printed digit."""
    places = len(expected.partition(".")[2])
    return pytest.approx(float(expected), rel=0, abs=0.5 * 10.0**-places * (1 + 1e-6))


# --- reference numbers


@pytest.mark.parametrize("row", table("metrology/rf_shared_origin.csv"), ids=lambda row: f"Rf {row['Rf']}")
def test_uncertainty_of_a_ratio_whose_distances_share_the_origin(row_of, row):
    """`rf_shared_origin.csv`, column u_Rf_correct; the spot at Rf 0 is read apart from the line."""
    run, u = float(row["front_distance_mm"]), float(row["u_each_reading_mm"])
    readings = {f"u_{name}_mm": u for name in ("origin", "front", "centre")}
    spot = row_of(origin_mm=10.0, front_mm=10.0 + run, centre_mm=10.0 + float(row["Rf"]) * run, **readings)
    assert spot["u_rf"] == pytest.approx(float(row["u_Rf_correct"]), rel=1e-9)
    assert spot["u_rf"] * run / u == pytest.approx(float(row["u_Rf_times_D_over_u"]), rel=1e-9)


@pytest.mark.parametrize("row", table("ends_of_the_run.csv"), ids=lambda row: row["id"])
def test_a_spot_at_an_end_has_the_bound_of_the_smallest_movement(row_of, row):
    spot = row_of(
        origin_mm=10.0,
        front_mm=10.0 + float(row["run_mm"]),
        noticeable_mm=float(row["noticeable_mm"]),
        state=row["state"],
    )
    assert spot[row["column"]] == as_printed(row["expected"])
    assert spot[["rf", "u_rf", "k", "u_k", "r_m", "u_r_m", "hrf"]].isna().all()


@pytest.mark.parametrize(
    ("moved", "run", "hrf"),
    [(1.9, 4.0, 48), (2.5, 500.0, 1), (2.4, 500.0, 0), (33.0, 55.0, 60), (0.5, 0.5, 100)],
    ids=["0.475 goes up", "0.005 goes up", "0.0048 goes down", "0.60", "front"],
)
def test_hrf_is_a_whole_number_rounded_half_up(row_of, moved, run, hrf):
    """0.475 is the quotient 1.9/4.0 of a published report, printed 0.48 (read); binary rounding would give 0.47."""
    assert row_of(origin_mm=0.0, front_mm=run, centre_mm=moved)["hrf"] == hrf


# --- intervals


def random_spots(count=400, seed=5):
    """One spot a lane, all over the run and a little beyond it; u from small to large."""
    random = np.random.default_rng(seed)
    marks = pd.DataFrame({"lane": np.arange(count), "origin_mm": 10.0, "front_mm": random.uniform(40.0, 110.0, count)})
    marks["centre_mm"] = 10.0 + random.uniform(-0.02, 1.02, count) * (marks["front_mm"] - 10.0)
    for name in ("origin", "front", "centre"):
        marks[f"u_{name}_mm"] = random.uniform(0.05, 1.5, count)
    return marks


@pytest.mark.parametrize("level", [0.5, 0.95, 0.999], ids=str)
def test_intervals_are_those_of_a_bounded_ratio(level):
    marks = random_spots()
    spots = measure(marks, level=level).spots
    var = {name: marks[f"u_{name}_mm"] ** 2 for name in ("origin", "front", "centre")}
    distance, run = marks["centre_mm"] - marks["origin_mm"], marks["front_mm"] - marks["origin_mm"]
    low, high = ratio_interval(
        distance,
        run,
        var["centre"] + var["origin"],
        var["origin"] + var["front"],
        var["origin"],
        lower=0.0,
        upper=1.0,
        level=level,
    )
    np.testing.assert_allclose(spots["rf_low"], low, atol=1e-9)
    np.testing.assert_allclose(spots["rf_high"], high, atol=1e-9)


@pytest.mark.parametrize("level", [0.5, 0.95, 0.999], ids=str)
def test_intervals_stay_within_the_run_and_hold_the_value(level):
    spots = measure(random_spots(), level=level).spots
    possible = spots["rf"].clip(0.0, 1.0)
    assert spots["rf_low"].between(0.0, possible).all()
    assert spots["rf_high"].between(possible, 1.0).all()
    assert (spots["rf_high"] > spots["rf_low"]).all()


def test_intervals_of_k_are_the_image_of_those_of_rf():
    spots = measure(random_spots()).spots
    open_end = spots["rf_low"] == 0.0
    assert 0 < open_end.sum() < len(spots)
    np.testing.assert_allclose(spots["k_low"], 1.0 / spots["rf_high"] - 1.0, rtol=1e-12)
    np.testing.assert_allclose(spots["k_high"][~open_end], 1.0 / spots["rf_low"][~open_end] - 1.0, rtol=1e-12)
    assert spots["k_high"][open_end].isna().all()
    assert spots["flags"].astype(str)[open_end].str.contains("k and R_M limited on one side only").all()


def test_a_wider_level_gives_a_wider_interval():
    narrow, wide = (measure(random_spots(), level=level).spots for level in (0.9, 0.99))
    assert (wide["rf_low"] <= narrow["rf_low"]).all()
    assert (wide["rf_high"] >= narrow["rf_high"]).all()


@pytest.mark.parametrize("centre", [9.98, 10.05, 10.12], ids=["below the origin", "between", "beyond the front"])
def test_a_run_that_may_be_nothing_says_nearly_nothing(row_of, centre):
    """A tenth of a millimetre, read to the millimetre: almost any Rf is possible."""
    spot = row_of(origin_mm=10.0, front_mm=10.1, centre_mm=centre)
    assert spot["rf_low"] < 0.05
    assert spot["rf_high"] > 0.95
    assert "run shorter than 30 mm" in spot["flags"]


@pytest.mark.parametrize(("centre", "line"), [(5.0, 0.0), (95.0, 1.0)], ids=["below the origin", "beyond the front"])
def test_a_spot_far_beyond_a_line_is_left_at_that_line(row_of, centre, line):
    spot = row_of(centre_mm=centre, u_origin_mm=0.0, u_front_mm=0.001, u_centre_mm=0.001)
    assert (spot["rf_low"], spot["rf_high"]) == pytest.approx((line, line), abs=1e-4)
    assert "Rf outside 0 to 1, check the readings" in spot["flags"]


def test_exact_readings_have_an_interval_of_no_width_within_the_run(measured):
    exact = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0}
    spots = measured({"centre_mm": 50.0, **exact}, {"centre_mm": 95.0, **exact}).spots
    assert spots[["rf", "u_rf", "rf_low", "rf_high"]].values.tolist() == [[0.5, 0.0, 0.5, 0.5], [1.0625, 0.0, 1.0, 1.0]]


# --- what a row is


def test_a_streak_reaches_from_edge_to_edge(row_of):
    """The value is its darkest point; half its length is the half-width of not knowing which point is meant."""
    spot = row_of(state="streak", trailing_mm=30.0, centre_mm=62.0, leading_mm=66.0)
    assert spot["rf"] == pytest.approx(0.65)
    assert (spot["rf_low"], spot["rf_high"]) == (pytest.approx(0.25), pytest.approx(0.70))
    assert spot["u_rf"] > 18.0 / np.sqrt(3.0) / 80.0
    assert (spot["k_low"], spot["k_high"]) == (pytest.approx(0.3 / 0.7), pytest.approx(3.0))
    assert spot["flags"] == "streak, interval is rear to front edge; longer than a fifth of the run"


def test_a_streak_beyond_the_lines_is_cut_to_the_run(row_of):
    spot = row_of(state="streak", trailing_mm=9.0, leading_mm=91.0)
    assert (spot["rf_low"], spot["rf_high"]) == (0.0, 1.0)


def test_edges_of_a_spot_at_an_end_widen_its_bound(row_of):
    assert row_of(state="at origin", trailing_mm=8.0, leading_mm=14.0)["rf_high"] == pytest.approx(4.0 / 80.0)
    assert row_of(state="at origin", leading_mm=10.5)["rf_high"] == pytest.approx(1.0 / 80.0)
    assert row_of(state="with front", trailing_mm=84.0, leading_mm=90.0)["rf_low"] == pytest.approx(74.0 / 80.0)
    assert row_of(state="at origin", noticeable_mm=100.0)["rf_high"] == 1.0


@pytest.mark.parametrize("state", ["unread", "absent"])
def test_what_was_not_read_or_not_found_has_no_number(row_of, state):
    assert row_of(state=state, centre_mm=40.0)[NUMBERS].isna().all()


@pytest.mark.parametrize("state", ["measured", "at origin", "with front", "streak"])
def test_without_a_front_there_is_no_number_and_a_flag(row_of, state):
    spot = row_of(state=state, front_mm=None, trailing_mm=30.0, leading_mm=40.0)
    assert spot[NUMBERS].isna().all()
    assert "front not seen, no Rf" in spot["flags"]
    assert spot["width_mm"] == 10.0


def test_a_measured_spot_without_a_position_is_flagged(row_of):
    spot = row_of(trailing_mm=30.0)
    assert spot[NUMBERS].isna().all()
    assert spot["flags"] == "position not read, no Rf"


# --- the table


def test_columns_are_those_of_the_page_then_the_factors(inks, inks_marks):
    assert list(inks.spots.columns) == [*names(SPOTS), "bench"]
    assert inks.spots.index.equals(inks_marks.index)
    assert inks.spots["sample"].tolist() == inks_marks["sample"].tolist()


def test_missing_columns_have_defaults():
    spots = measure(pd.DataFrame({"lane": [7], "front_mm": [80.0], "centre_mm": [20.0]})).spots
    assert spots.loc[0, ["plate", "system", "lane", "sample", "spot", "state"]].tolist() == [
        "1",
        "not stated",
        7,
        7,
        "",
        "measured",
    ]


def test_an_index_with_labels_twice_is_kept():
    """As after pandas.concat of the tables of two plates."""
    marks = pd.DataFrame({"plate": ["P", "Q"], "lane": "1", "front_mm": [80.0, 70.0], "centre_mm": 35.0}, index=[0, 0])
    spots = measure(marks).spots
    assert spots.index.tolist() == [0, 0]
    assert spots["rf"].tolist() == [35.0 / 80.0, 0.5]


def test_pieces_make_no_difference(inks_marks, monkeypatch):
    whole = measure(inks_marks)
    monkeypatch.setattr(module, "PIECE", 3)
    monkeypatch.setattr("lanewise.analyses.pairs.PIECE", 2)
    pieces = measure(inks_marks)
    pd.testing.assert_frame_equal(whole.spots, pieces.spots)
    pd.testing.assert_frame_equal(whole.pairs, pieces.pairs)


def test_a_row_without_a_number_has_no_parts(inks):
    rf = inks.quantity("rf")
    empty = inks.spots["rf"].isna().to_numpy()
    assert empty.any()
    np.testing.assert_array_equal(np.isnan(rf.values), empty)
    assert (rf.u[empty] == 0.0).all()
    assert [group.name for group in rf.groups] == [
        "trailing-edge reading",
        "leading-edge reading",
        "spot reading",
        "finding the spot's centre",
        "origin reading",
        "front reading",
    ]
    np.testing.assert_allclose(np.sqrt(group_variances(rf).sum(axis=1))[~empty], inks.spots["u_rf"][~empty])


@pytest.mark.parametrize("name", ["k", "r_m"])
def test_a_quantity_follows_the_table_where_it_has_no_number(measured, name):
    spots = measured({"centre_mm": 9.9}, {"centre_mm": 50.0}, {"centre_mm": 90.1}, {"state": "absent"})
    assert np.isnan(spots.quantity(name).values).tolist() == [True, False, True, True]
    assert np.isnan(spots.spots[name]).tolist() == [True, False, True, True]


def test_unknown_quantities_are_refused(inks):
    with pytest.raises(AnalysisError, match="wanted a quantity of spots among rf, k, r_m and width, given 'hrf'"):
        inks.quantity("hrf")
    with pytest.raises(AnalysisError, match="wanted a quantity of pairs among delta_rf, alpha and rs, given 'rf'"):
        inks.pair_quantity("rf")


# --- properties

TENTHS = st.integers(0, 1200).map(lambda number: number / 10.0)


@st.composite
def random_marks(draw):
    """Rows of up to four lanes on two plates, in any state, with readings missing and out of the run (all invented)."""
    lines = {
        (plate, lane): (draw(st.sampled_from([0.0, 10.0, 20.5])), draw(st.sampled_from([np.nan, 25.0, 80.0, 90.5])))
        for plate in "PQ"
        for lane in "12"
    }
    rows = []
    for _ in range(draw(st.integers(1, 12))):
        key = draw(st.sampled_from(sorted(lines)))
        trailing, centre, leading = (
            draw(st.sampled_from([np.nan, mark])) for mark in sorted(draw(st.tuples(TENTHS, TENTHS, TENTHS)))
        )
        rows.append(
            {
                "plate": key[0],
                "lane": key[1],
                "origin_mm": lines[key][0],
                "front_mm": lines[key][1],
                "trailing_mm": trailing,
                "centre_mm": centre,
                "leading_mm": leading,
                "state": draw(st.sampled_from(["measured", "at origin", "with front", "streak", "unread", "absent"])),
                "u_centre_mm": draw(st.sampled_from([np.nan, 0.0, 0.2, 9.0])),
                "u_trailing_mm": draw(st.sampled_from([np.nan, 0.0, 0.2])),
                "noticeable_mm": draw(st.sampled_from([np.nan, 0.0, 2.0])),
                "u_reading_mm": 0.0 if key[0] == "P" else np.nan,
                "runs": draw(st.sampled_from([1.0, 2.0])),
                "point": draw(st.sampled_from(["centre", "darkest", "leading edge"])),
            }
        )
    return pd.DataFrame(rows)


@settings(max_examples=150, deadline=None)
@given(random_marks(), st.sampled_from([0.5, 0.95, 0.999]))
def test_no_number_is_missing_without_a_reason_and_none_is_infinite(marks, level):
    found = measure(marks, level=level)
    spots = found.spots
    for frame in (spots, found.pairs):
        assert not np.isinf(frame.select_dtypes("number")).any(axis=None)
    flags = spots["flags"].astype(str)
    no_rf = flags.str.contains("no Rf")
    valued, censored = spots["state"].isin(["measured", "streak"]), spots["state"].isin(["at origin", "with front"])
    for name in ("rf", "u_rf", "hrf"):
        np.testing.assert_array_equal(spots[name].isna(), ~valued | no_rf)
    for name in ("rf_low", "rf_high"):
        np.testing.assert_array_equal(spots[name].isna(), ~(valued | censored) | no_rf)
    one_side = flags.str.contains("k and R_M limited on one side only")
    for name in ("k", "u_k", "r_m", "u_r_m"):
        assert (~valued | no_rf | one_side)[spots[name].isna()].all(), name
    assert (~valued | no_rf | one_side)[spots["k_high"].isna()].all()
    edges = marks["trailing_mm"].notna() & marks["leading_mm"].notna()
    np.testing.assert_array_equal(spots["width_mm"].notna(), edges)


@settings(max_examples=100, deadline=None)
@given(random_marks(), st.sampled_from([0.5, 0.95, 0.999]))
def test_what_has_a_value_lies_in_its_interval_within_the_run(marks, level):
    spots = measure(marks, level=level).spots
    ends = spots[["rf_low", "rf_high"]].dropna()
    assert ((ends >= 0.0) & (ends <= 1.0)).all(axis=None)
    possible = spots["rf"].clip(0.0, 1.0).dropna()
    assert (spots["rf_low"][possible.index] <= possible + 1e-12).all()
    assert (spots["rf_high"][possible.index] >= possible - 1e-12).all()


@settings(max_examples=60, deadline=None)
@given(random_marks(), st.sampled_from([0.1, 2.54, 25.4]), st.sampled_from([-40.0, 0.0, 300.0]))
def test_neither_the_unit_nor_the_zero_of_the_ruler_matters(marks, scale, shift):
    """Rf, k and R_M are ratios of distances: another unit of length, or another zero, changes nothing."""
    marks = marks.assign(
        u_reading_mm=marks["u_reading_mm"].fillna(0.3), noticeable_mm=marks["noticeable_mm"].fillna(1.0)
    )
    other = marks.copy()
    for name in (name for name in marks.columns if name.endswith("_mm")):
        moved = 0.0 if name.startswith("u_") or name == "noticeable_mm" else shift
        other[name] = scale * marks[name] + moved
    first, second = measure(marks).spots, measure(other).spots
    for name in NUMBERS:
        if name == "hrf":  # a half may fall to either side
            np.testing.assert_allclose(first[name], second[name], atol=1.0)
        else:
            both = first[name].notna() & second[name].notna()
            np.testing.assert_allclose(first[name][both], second[name][both], rtol=1e-6, atol=1e-9, err_msg=name)
