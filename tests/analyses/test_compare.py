"""The same dyes in two and more systems: the example end to end, differences, bounds, and what is refused."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtri, stdtrit
from uncertainties import ufloat

from lanewise.analyses.compare import compare, spread
from lanewise.analyses.measure import measure
from lanewise.errors import AnalysisError
from lanewise.uncertainty.intervals import bounded_multipliers

RULER = 1.0 / 12**0.5
T_3, Z = stdtrit(3, 0.975), ndtri(0.975)  # two-sided 95 % quantiles of Student's t and of the normal, from scipy

# Put in by the head of the example: violet and pink run farther in the second system, the others in the first.
COLOURS = {"violet": "farther in b", "pink": "farther in b", "orange": "farther in a", "blue": "farther in a",
           "yellow": "farther in a", "black": "cannot be compared"}  # fmt: skip


@pytest.fixture
def compared(measured):
    return lambda *rows, **settings: compare(measured(*rows, **settings))


def two_systems(a, b, **shared):
    """One dye on plate P in system A and on plate Q in system B; cells, or only a centre."""
    sides = [side if isinstance(side, dict) else {"centre_mm": side} for side in (a, b)]
    return [
        {"plate": plate, "system": system} | shared | side
        for plate, system, side in zip("PQ", "AB", sides, strict=True)
    ]


def only(comparison):
    assert len(comparison.differences) == 1
    return comparison.differences.iloc[0]


# --- the example, as pandas reads it


def test_every_dye_of_the_inks_has_the_verdict_that_was_put_in(inks_compared, inks_marks):
    colour_of = inks_marks.dropna(subset=["colour"]).drop_duplicates("sample").set_index("sample")["colour"]
    verdicts = inks_compared.differences.set_index("dye")["verdict"]
    assert len(verdicts) == 15
    for dye, verdict in verdicts.items():
        named = re.search(r"\((\w+)\)$", dye)
        assert verdict == COLOURS[named[1] if named else colour_of[dye]], dye
    assert inks_compared.unmatched == ()
    assert inks_compared.systems == ("ethyl acetate:ethanol:water 70:35:30", "1-butanol:ethanol:water 50:10:15")


def test_the_means_of_the_inks_are_those_that_were_put_in(inks_compared):
    """Given in the head of the file; 0.02 allows for the shift of plates that was put in too."""
    put_in = {"violet": (0.36, 0.43), "pink": (0.385, 0.58), "orange": (0.74, 0.70), "blue": (0.56, 0.24)}
    for colour, values in put_in.items():
        rows = inks_compared.dyes[inks_compared.dyes["dye"].str.endswith(f"({colour})")]
        for system, value in zip(inks_compared.systems, values, strict=True):
            np.testing.assert_allclose(rows.loc[rows["system"] == system, "rf"], value, atol=0.02)


def test_states_of_the_inks(inks_compared):
    state = inks_compared.dyes.set_index(["dye", "system"])["state"]
    a, b = inks_compared.systems
    assert state["correction red (orange)", a] == "streak"
    assert state["correction red (orange)", b] == "measured"
    assert state["map green (yellow)", a] == "with front"
    assert state["document black (black)", a] == state["document black (black)", b] == "at origin"
    assert (inks_compared.dyes["plates"] == 3).all()


def test_a_difference_is_the_one_of_the_two_means(inks_compared):
    side = inks_compared.dyes.set_index(["dye", "system"])
    valued = inks_compared.differences.dropna(subset=["delta_rf"])
    assert len(valued) == 11
    for row in valued.to_dict("records"):
        a, b = side.loc[(row["dye"], row["system_a"])], side.loc[(row["dye"], row["system_b"])]
        assert row["delta_rf"] == pytest.approx(b["rf"] - a["rf"])
        assert row["u_delta_rf"] == pytest.approx(np.hypot(a["u_rf"], b["u_rf"]), rel=1e-9), "plates share nothing"
        assert row["low"] < row["delta_rf"] < row["high"]


# --- one difference


def test_a_difference_object_by_object(compared):
    """Two lanes on each plate share its origin and front; the plates share nothing."""
    rows = [
        {"plate": plate, "system": system, "lane": lane, "centre_mm": centre, "front_mm": front}
        for plate, system, front, centres in (("P", "A", 90.0, (30.0, 32.0)), ("Q", "B", 85.0, (50.0, 51.0)))
        for lane, centre in zip("12", centres, strict=True)
    ]
    means = []
    for front, centres in ((90.0, (30.0, 32.0)), (85.0, (50.0, 51.0))):
        line, origin = ufloat(front, RULER), ufloat(10.0, RULER)
        means.append(sum((ufloat(centre, RULER) - origin) / (line - origin) for centre in centres) / 2)
    expected = means[1] - means[0]
    row = only(compared(*rows))
    assert row["delta_rf"] == pytest.approx(expected.n, rel=1e-12)
    assert row["u_delta_rf"] == pytest.approx(expected.s, rel=1e-9)
    assert row["low"] == pytest.approx(expected.n - Z * expected.s, rel=1e-6)
    assert row["high"] == pytest.approx(expected.n + Z * expected.s, rel=1e-6)
    assert row["verdict"] == "farther in b"


def test_few_repeats_widen_the_interval(compared):
    """Exact readings, three plates in A and two in B: 2 + 1 degrees of freedom, so t is 3.182 and not 1.960."""
    exact = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0}
    rows = [
        {"plate": plate, "system": system, "centre_mm": centre} | exact
        for plate, system, centre in (("1", "A", 30), ("2", "A", 32), ("3", "A", 31), ("4", "B", 50), ("5", "B", 52))
    ]
    comparison = compared(*rows)
    row = only(comparison)
    assert comparison.means.dof == 3
    assert row["high"] - row["delta_rf"] == pytest.approx(T_3 * row["u_delta_rf"], rel=1e-6)
    side = comparison.dyes.iloc[0]
    assert side["rf_high"] - side["rf"] == pytest.approx(T_3 * side["u_rf"], rel=1e-6)


@pytest.mark.parametrize(
    ("a", "b", "verdict"),
    [
        (30.0, 50.0, "farther in b"),
        (50.0, 30.0, "farther in a"),
        (30.0, 30.2, "no difference shown"),
        ({"state": "at origin"}, 50.0, "farther in b"),
        ({"state": "at origin"}, 10.5, "cannot be compared"),
        (50.0, {"state": "at origin"}, "farther in a"),
        ({"state": "with front"}, 50.0, "farther in a"),
        ({"state": "with front"}, 89.5, "cannot be compared"),
        ({"state": "at origin"}, {"state": "with front"}, "farther in b"),
        ({"state": "at origin"}, {"state": "at origin"}, "cannot be compared"),
        ({"state": "with front"}, {"state": "with front"}, "cannot be compared"),
        ({"state": "unread"}, 50.0, None),
    ],
    ids=[
        "b", "a", "same", "left the origin in b", "hardly left it", "stayed in b", "front in a", "nearly both",
        "both ends", "both at the origin", "both with the front", "unread",
    ],
)  # fmt: skip
def test_verdicts(compared, a, b, verdict):
    comparison = compared(*two_systems(a, b))
    row = only(comparison)
    if verdict is None:
        assert comparison.dyes["state"].tolist() == ["no reading", "measured"]
        assert row[["delta_rf", "u_delta_rf", "low", "high"]].isna().all()
        assert row["verdict"] == "cannot be compared"
        return
    assert row["verdict"] == verdict
    has_value = all(not isinstance(side, dict) for side in (a, b))
    assert np.isfinite(row["delta_rf"]) == has_value


def test_a_bound_gives_the_least_difference(compared):
    """At the origin in A, so Rf is at most 1/80; in B the interval of Rf starts at its lower end."""
    comparison = compared(*two_systems({"state": "at origin"}, 50.0))
    side = comparison.dyes.set_index("system")
    row = only(comparison)
    assert row["low"] == pytest.approx(side.loc["B", "rf_low"] - 1.0 / 80.0)
    assert row["high"] == pytest.approx(side.loc["B", "rf_high"])
    assert side.loc["A", ["rf_low", "rf_high"]].tolist() == pytest.approx([0.0, 1.0 / 80.0])


def test_the_widest_of_several_bounds_holds(compared):
    rows = [
        {"plate": "P", "system": "A", "state": "at origin"},
        {"plate": "R", "system": "A", "state": "at origin", "front_mm": 50.0},
        {"plate": "Q", "system": "B", "centre_mm": 50.0},
    ]
    side = compared(*rows).dyes.iloc[0]
    assert (side["plates"], side["state"], side["rf_high"]) == (2, "at origin", pytest.approx(1.0 / 40.0))


@pytest.mark.parametrize("other", ["at origin", "with front"])
def test_plates_that_disagree_make_a_dye_not_alike(compared, other):
    rows = two_systems(30.0, 50.0)
    comparison = compared(*rows, {"plate": "R", "system": "A", "state": other})
    assert comparison.dyes["state"].tolist() == ["not alike", "measured"]
    assert only(comparison)["verdict"] == "cannot be compared"


def test_a_streak_on_one_plate_makes_the_dye_a_streak(compared):
    streak = {"plate": "R", "system": "A", "state": "streak", "trailing_mm": 25.0, "leading_mm": 45.0}
    comparison = compared(*two_systems(30.0, 50.0), streak)
    side = comparison.dyes.iloc[0]
    assert (side["state"], side["plates"]) == ("streak", 2)
    assert side["u_rf"] > 20.0 / 2 / np.sqrt(3.0) / 80.0 / 2


def test_lanes_without_a_front_count_for_nothing(compared):
    rows = [*two_systems(30.0, 50.0), {"plate": "R", "system": "A", "centre_mm": 30.0, "front_mm": None}]
    assert compared(*rows).dyes["plates"].tolist() == [1, 1]


@pytest.mark.parametrize("centre", [9.8, 10.2, 89.9, 90.3], ids=str)
def test_intervals_of_means_stay_within_the_run(compared, centre):
    """As for a normal quantity that cannot leave 0 to 1 (`bounded_multipliers`)."""
    side = compared(*two_systems(centre, 50.0)).dyes.iloc[0]
    below, above = bounded_multipliers([side["rf"]], [side["u_rf"]], 0.0, 1.0)
    assert side["rf_low"] == pytest.approx(side["rf"] - below[0] * side["u_rf"], abs=1e-12)
    assert side["rf_high"] == pytest.approx(side["rf"] + above[0] * side["u_rf"], abs=1e-12)
    assert 0.0 <= side["rf_low"] < side["rf_high"] <= 1.0


def test_a_higher_level_is_harder_to_please(compared):
    rows = two_systems(30.0, 31.2)
    assert only(compared(*rows, level=0.90))["verdict"] == "farther in b"
    assert only(compared(*rows, level=0.999))["verdict"] == "no difference shown"


def test_readings_known_exactly_do_not_upset_it(compared):
    exact = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0}
    row = only(compared(*two_systems(30.0, 31.0, **exact)))
    assert row[["low", "delta_rf", "high"]].tolist() == pytest.approx([1.0 / 80.0] * 3)


# --- systems


def test_three_systems_are_compared_two_by_two(compared):
    rows = [*two_systems(30.0, 50.0), {"plate": "R", "system": "C", "centre_mm": 40.0}]
    comparison = compared(*rows)
    assert comparison.systems == ("A", "B", "C")
    assert comparison.differences[["system_a", "system_b", "verdict"]].values.tolist() == [
        ["A", "B", "farther in b"],
        ["A", "C", "farther in b"],
        ["B", "C", "farther in a"],
    ]
    assert [item.system for item in comparison.summaries] == ["A", "B", "C"]


def test_categorical_columns_give_the_same(inks, inks_marks, inks_compared):
    texts = inks_marks.select_dtypes(exclude="number").columns
    other = compare(measure(inks_marks.astype(dict.fromkeys(texts, "category"))))
    pd.testing.assert_frame_equal(other.dyes, inks_compared.dyes)
    pd.testing.assert_frame_equal(other.differences, inks_compared.differences)


@pytest.mark.parametrize("system", ["water", None], ids=["one", "not stated"])
def test_one_system_is_not_compared(measured, system):
    message = f"at least two solvent systems to compare, given only '{system or 'not stated'}'. Use `spread` for one"
    with pytest.raises(AnalysisError, match=message):
        compare(measured({"centre_mm": 30.0, "system": system}))


def test_a_system_that_is_not_stated_counts_as_one(compared):
    comparison = compared(*two_systems(30.0, 50.0), {"plate": "R", "system": None, "centre_mm": 40.0})
    assert comparison.systems == ("A", "B", "not stated")


def test_what_cannot_be_followed_is_left_out_and_told(compared):
    rows = [row | {"sample": "mix"} for row in two_systems(20.0, 30.0)]
    rows += [row | {"sample": "mix"} for row in two_systems(60.0, 70.0)]
    comparison = compared(*rows, *two_systems(40.0, 50.0, lane="B", sample="red"))
    assert comparison.dyes["dye"].unique().tolist() == ["red"]
    assert len(comparison.unmatched) == 1
    assert comparison.unmatched[0].startswith("The spots of mix cannot be followed")
    assert [item.dyes for item in comparison.summaries] == [3, 3], "within a system its spots count by their numbers"


def test_no_dye_may_have_a_value(compared):
    comparison = compared(*two_systems({"state": "at origin"}, {"state": "unread"}))
    assert comparison.dyes["state"].tolist() == ["at origin", "no reading"]
    assert (comparison.means.dof, len(comparison.means.rf)) == (0, 0)


def test_nothing_may_be_left_to_compare(compared):
    comparison = compared(*two_systems({"state": "absent"}, {"state": "absent"}))
    assert comparison.dyes.empty
    assert comparison.differences.empty
    assert [item.dyes for item in comparison.summaries] == [0, 0]


# --- summaries


def test_spread_sums_up_each_system(inks, inks_compared):
    assert spread(inks) == inks_compared.summaries
    first, second = inks_compared.summaries
    assert (first.dyes, first.at_origin, first.with_front) == (11, 1, 3)
    assert (second.dyes, second.at_origin, second.with_front) == (14, 1, 0)


def test_spread_needs_one_system_only(measured):
    (only_one,) = spread(measured({"centre_mm": 30.0}, {"centre_mm": 70.0}))
    assert (only_one.system, only_one.dyes, only_one.lowest, only_one.highest) == ("water", 2, 0.25, 0.75)


@pytest.mark.parametrize(
    ("layers", "said"),
    [(("silica", "silica"), True), (("silica", "cellulose"), False), ((None, "silica"), False)],
    ids=["one layer", "two layers", "one not stated"],
)
def test_the_layer_counts_where_all_plates_of_a_system_have_it(measured, layers, said):
    rows = [{"plate": plate, "centre_mm": 85.0, "layer": layer} for plate, layer in zip("PQ", layers, strict=True)]
    (summary,) = spread(measured(*rows))
    assert ("less polar" in summary.advice) == said
