"""Verdicts on neighbours, their intervals, and the worst pair of each lane."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.separations import separations
from lanewise.uncertainty.intervals import ratio_end

Z95 = 1.9599639845400545  # two-sided 95 % quantile of the normal distribution


def pair(distance, length, u=0.05, **cells):
    """Two spots of one length, `distance` apart, each reading with the same uncertainty. All in millimetres."""
    centre = np.array([40.0, 40.0 + distance])
    marks = pd.DataFrame({"lane": "1", "front_mm": 90.0, "origin_mm": 10.0, "centre_mm": centre, "u_reading_mm": u,
                          "u_centre_mm": u})  # fmt: skip
    return marks.assign(trailing_mm=centre - length / 2, leading_mm=centre + length / 2, **cells)


@pytest.mark.parametrize(
    ("marks", "verdict"),
    [
        (pair(8.0, 4.0), "baseline"),
        (pair(6.0, 4.0), "separated"),
        (pair(5.0, 4.0), "separated"),
        (pair(4.0, 4.0), "not sure"),
        (pair(3.0, 4.0), "touching"),
        (pair(8.0, 4.0, u=2.0), "not sure"),
        (pair(8.0, 4.0).drop(columns=["trailing_mm"]), "width not read"),
        (pair(8.0, 0.0), "width not read"),
        (pair(8.0, 0.5, u=0.3), "not sure"),
    ],
    ids=["2.0", "1.5, not surely", "1.25", "1.0", "0.75", "2.0, read badly", "an edge missing", "no length", "tiny"],
)
def test_verdicts(marks, verdict):
    assert separations(measure(marks)).pairs["verdict"].tolist() == [verdict]


def lanes(count=60, by_edges=False, seed=4):
    """Two spots in each of many lanes; every reading has a standard uncertainty of its own."""
    random = np.random.default_rng(seed)
    slow = random.uniform(15.0, 70.0, count)
    centre = np.stack([slow, slow + random.uniform(1.0, 15.0, count)], axis=1).ravel()
    number = np.repeat(np.arange(count), 2)
    marks = pd.DataFrame({"lane": number, "origin_mm": 10.0, "front_mm": 90.0, "centre_mm": centre})
    marks["trailing_mm"] = centre - random.uniform(0.5, 4.0, len(centre))
    marks["leading_mm"] = centre + random.uniform(0.5, 4.0, len(centre))
    for name in ("trailing", "centre", "leading"):
        marks[f"u_{name}_mm"] = random.uniform(0.05, 0.2, len(centre))
    for name in ("origin", "front"):
        marks[f"u_{name}_mm"] = random.uniform(0.05, 0.4, count)[number]
    return marks.drop(columns=["centre_mm", "u_centre_mm"]) if by_edges else marks


@pytest.mark.parametrize("by_edges", [False, True], ids=["centre read", "centre from edges"])
@pytest.mark.parametrize("level", [0.9, 0.95], ids=str)
def test_intervals_are_those_of_ratios_whose_parts_are_correlated(by_edges, level):
    """Numerator and denominator come from the engine's values with parts, so does their covariance."""
    found = measure(lanes(by_edges=by_edges), level=level)
    table = separations(found).pairs
    centre, front, origin, length = found.place.measured()
    a, b = found.pair_rows.slow, found.pair_rows.fast
    gap, run, lengths = centre[b] - centre[a], (front - origin)[a], length[a] + length[b]
    twice = gap.scaled(2.0)
    t = Z95 if level == 0.95 else 1.6448536269514722
    for name, top, bottom in (("delta_rf", gap, run), ("rs", twice, lengths)):
        for end, sign in (("low", -t), ("high", t)):
            expected = ratio_end(top.values, bottom.values, top.u**2, bottom.u**2, top.covariance(bottom), sign)
            np.testing.assert_allclose(table[f"{name}_{end}"], expected, rtol=1e-9, err_msg=f"{name}_{end}")


def test_the_interval_of_alpha_is_that_of_its_logarithm():
    """R_M is the logarithm of k, so the difference of two R_M with its own uncertainty gives both ends."""
    found = measure(lanes())
    table = separations(found).pairs
    r_m = found.quantity("r_m")
    difference = r_m[found.pair_rows.slow] - r_m[found.pair_rows.fast]
    sure = table["alpha_high"].notna()
    assert sure.sum() > 40
    for end, sign in (("low", -1.0), ("high", 1.0)):
        expected = 10.0 ** (difference.values + sign * Z95 * difference.u)
        np.testing.assert_allclose(table[f"alpha_{end}"][sure], expected[sure], rtol=1e-9)


@pytest.mark.parametrize(
    "centres", [(10.4, 40.0), (40.0, 89.6), (10.000001, 40.0)], ids=["origin", "front", "touching"]
)
def test_no_upper_limit_of_alpha_where_a_spot_may_lie_on_a_line(measured, centres):
    row = separations(measured(*({"centre_mm": centre} for centre in centres))).pairs.iloc[0]
    assert row["alpha"] > 1.0
    assert row["alpha_low"] < row["alpha"]
    assert np.isnan(row["alpha_high"])


def test_an_interval_may_say_that_neighbours_stand_the_other_way_round():
    row = separations(measure(pair(0.05, 4.0, u=0.3))).pairs.iloc[0]
    assert row["delta_rf"] > 0.0 > row["delta_rf_low"]
    assert row["alpha"] > 1.0 > row["alpha_low"]


def test_the_worst_pair_of_each_lane(inks):
    separated = separations(inks)
    worst = separated.worst.set_index(["plate", "lane"])["rs"]
    for lane, rows in separated.pairs.groupby(["plate", "lane"]):
        assert worst[lane] == rows["rs"].min()
    assert len(separated.worst) == separated.pairs.groupby(["plate", "lane"]).ngroups
    assert separated.worst["system"].nunique() == 2


def test_a_lane_without_a_resolution_has_no_worst_pair(measured):
    separated = separations(measured({"centre_mm": 20.0}, {"centre_mm": 40.0}))
    assert len(separated.pairs) == 1
    assert separated.worst.empty


def test_one_spot_a_lane_gives_empty_tables(measured):
    separated = separations(measured({"centre_mm": 20.0}))
    assert separated.pairs.empty
    assert separated.worst.empty
    assert {"system", "sample", "rs_low", "verdict"} <= set(separated.pairs.columns)


def test_a_streak_counts_with_its_length(measured):
    """A spot 20 mm before the middle of a streak is separated; one that lies within the streak is not."""
    streak = {"trailing_mm": 50.0, "centre_mm": 60.0, "leading_mm": 70.0, "state": "streak"}
    spot = {"trailing_mm": 51.0, "centre_mm": 53.0, "leading_mm": 55.0}
    assert separations(measured(spot, streak)).pairs["verdict"].tolist() == ["not sure"]


def test_a_verdict_needs_no_front(measured):
    spots = [{"centre_mm": at, "trailing_mm": at - 2, "leading_mm": at + 2, "front_mm": None} for at in (30.0, 44.0)]
    row = separations(measured(*spots)).pairs.iloc[0]
    assert row["verdict"] == "baseline"
    assert row[["delta_rf", "delta_rf_low", "delta_rf_high", "alpha", "alpha_low", "alpha_high"]].isna().all()
