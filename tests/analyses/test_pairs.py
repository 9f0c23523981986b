"""Neighbours of a lane: who they are, reference numbers, and what must not matter."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lanewise.analyses.measure import measure
from lanewise.tables.columns import PAIRS, names
from lanewise.uncertainty.budget import budget

REFERENCE = Path(__file__).parents[1] / "reference" / "metrology"


def table(name):
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def lane(*centres, half=2.0, **columns):
    """One lane of 80 mm, with edges on both sides of each centre."""
    centre = np.array(centres, dtype=float)
    frame = pd.DataFrame({"lane": "1", "spot": [str(n + 1) for n in range(len(centre))], "origin_mm": 10.0,
                          "front_mm": 90.0, "centre_mm": centre})  # fmt: skip
    return frame.assign(trailing_mm=centre - half, leading_mm=centre + half, **columns)


@pytest.mark.parametrize("row", table("rf_pair_covariance.csv"), ids=lambda row: f"{row['Rf_1']} and {row['Rf_2']}")
def test_difference_of_two_rf_that_share_origin_and_front(row):
    """`rf_pair_covariance.csv`: the correlation, and the uncertainty of the difference with it."""
    run, u = float(row["front_distance_mm"]), float(row["u_each_reading_mm"])
    rf = np.array([float(row["Rf_1"]), float(row["Rf_2"])])
    marks = pd.DataFrame({"lane": "1", "front_mm": run, "centre_mm": rf * run, "origin_mm": 0.0, "u_reading_mm": u})
    found = measure(marks)
    assert found.pairs.loc[0, "delta_rf"] == pytest.approx(rf[1] - rf[0])
    assert found.pairs.loc[0, "u_delta_rf"] == pytest.approx(float(row["u_of_difference"]), rel=1e-9)
    np.testing.assert_allclose(found.spots["u_rf"], [float(row["u_Rf_1"]), float(row["u_Rf_2"])], rtol=1e-9)
    measured = found.quantity("rf")
    assert measured.correlation_matrix()[0, 1] == pytest.approx(float(row["correlation"]), rel=1e-9)
    # the covariance as the law of propagation gives it, written out
    by_hand = (rf[0] * rf[1] + (1 - rf[0]) * (1 - rf[1])) * u**2 / run**2
    assert measured.covariance_matrix()[0, 1] == pytest.approx(by_hand, rel=1e-12)


def test_columns_are_those_of_the_page(inks):
    assert list(inks.pairs.columns) == names(PAIRS)


def test_neighbours_are_counted_from_the_origin_whatever_the_order_of_the_rows():
    found = measure(lane(60.0, 20.0, 75.0, 40.0))
    assert found.pairs[["spot_a", "spot_b"]].values.tolist() == [["2", "4"], ["4", "1"], ["1", "3"]]


def test_rows_of_a_lane_need_not_stand_together():
    first, second = lane(20.0, 40.0), lane(30.0, 70.0).assign(lane="2")
    mixed = pd.concat([first, second]).iloc[[0, 2, 1, 3]]
    pairs = measure(mixed).pairs
    assert pairs[["lane", "delta_rf"]].round(9).values.tolist() == [["1", 0.25], ["2", 0.5]]


def test_what_has_no_value_of_its_own_takes_no_part():
    states = ["at origin", "measured", "unread", "absent", "streak", "with front"]
    marks = lane(10.0, 30.0, 40.0, np.nan, 60.0, 90.0, state=states)
    assert measure(marks).pairs[["spot_a", "spot_b"]].values.tolist() == [["2", "5"]]


def test_without_a_front_neighbours_have_a_resolution_only():
    """It needs distances in the lane alone, so it is the same as with a front."""
    seen, unseen = (measure(lane(30.0, 44.0, 60.0).assign(front_mm=front)) for front in (90.0, np.nan))
    assert unseen.pairs[["rs", "u_rs"]].equals(seen.pairs[["rs", "u_rs"]])
    assert unseen.pairs[["delta_rf", "u_delta_rf", "alpha", "u_alpha"]].isna().all(axis=None)
    assert np.isnan(unseen.pair_quantity("delta_rf").values).all()
    np.testing.assert_allclose(unseen.pair_quantity("rs").u, seen.pairs["u_rs"])


def test_lanes_of_one_label_on_two_plates_are_two_lanes():
    marks = pd.concat([lane(30.0).assign(plate="P"), lane(40.0).assign(plate="Q")])
    assert measure(marks).pairs.empty


def test_two_spots_in_one_place_are_not_separated():
    pair = measure(lane(40.0, 40.0)).pairs.iloc[0]
    assert (pair["delta_rf"], pair["alpha"], pair["rs"]) == (0.0, 1.0, 0.0)
    assert pair["u_rs"] > 0.0


@pytest.mark.parametrize(
    ("centres", "which"), [((9.5, 40.0), "slower"), ((40.0, 90.5), "faster")], ids=lambda x: str(x)
)
def test_no_separation_factor_with_a_spot_beyond_a_line(centres, which):
    pair = measure(lane(*centres)).pairs.iloc[0]
    assert np.isnan(pair["alpha"]), which
    assert np.isnan(pair["u_alpha"])
    assert pair["delta_rf"] > 0.0
    assert pair["rs"] > 0.0


@pytest.mark.parametrize("half", [0.0, np.nan], ids=["lengths of nothing", "edges not read"])
def test_no_resolution_without_lengths(half):
    pair = measure(lane(30.0, 40.0, half=half)).pairs.iloc[0]
    assert np.isnan(pair["rs"])
    assert np.isnan(pair["u_rs"])
    assert pair["delta_rf"] == pytest.approx(0.125)


def test_errors_of_the_lines_do_not_reach_a_resolution():
    marks = lane(30.0, 44.0)
    sharp, blunt = (measure(marks.assign(u_origin_mm=u, u_front_mm=u)) for u in (0.01, 5.0))
    assert sharp.pairs[["rs", "u_rs"]].equals(blunt.pairs[["rs", "u_rs"]])
    assert blunt.pairs.loc[0, "u_delta_rf"] > 2 * sharp.pairs.loc[0, "u_delta_rf"]
    sources = {line.source for line in budget(blunt.pair_quantity("rs")[0])}
    assert sources == {"trailing-edge reading", "leading-edge reading", "spot reading", "finding the spot's centre"}


def test_a_longer_run_does_not_change_a_resolution():
    near, far = (measure(lane(30.0, 44.0, front_mm=front)) for front in (60.0, 95.0))
    assert near.pairs["rs"].equals(far.pairs["rs"])


CENTRES = st.lists(st.integers(101, 899).map(lambda tenths: tenths / 10.0), min_size=2, max_size=6, unique=True)


@settings(max_examples=60, deadline=None)
@given(CENTRES, st.sampled_from([0.1, 2.54]), st.sampled_from([-40.0, 300.0]), st.randoms(use_true_random=False))
def test_properties_of_neighbours(centres, scale, shift, random):
    """Positive distances, alpha from 1 up; neither unit, zero nor order of the rows matters."""
    marks = lane(*centres, u_reading_mm=0.3)
    pairs = measure(marks).pairs
    assert len(pairs) == len(centres) - 1
    assert (pairs["delta_rf"] > 0.0).all()
    assert (pairs["alpha"] >= 1.0).all()
    assert (pairs["rs"] > 0.0).all()
    assert pairs["delta_rf"].sum() == pytest.approx((max(centres) - min(centres)) / 80.0)
    other = marks.sample(frac=1.0, random_state=random.randrange(2**32))
    for name in (name for name in marks.columns if name.endswith("_mm")):
        other[name] = scale * other[name] + (0.0 if name == "u_reading_mm" else shift)
    pd.testing.assert_frame_equal(measure(other).pairs, pairs, rtol=1e-6)


def test_k_of_the_pair_gives_its_separation_factor():
    """alpha is the ratio of the two k of the table of spots, and its logarithm the difference of the two R_M."""
    found = measure(lane(20.0, 31.0, 52.0, 80.0))
    k, r_m = found.spots["k"].to_numpy(), found.spots["r_m"].to_numpy()
    np.testing.assert_allclose(found.pairs["alpha"], k[:-1] / k[1:], rtol=1e-12)
    np.testing.assert_allclose(np.log10(found.pairs["alpha"]), r_m[:-1] - r_m[1:], atol=1e-12)
