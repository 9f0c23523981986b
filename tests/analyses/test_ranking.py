"""Which system is best and how sure that is: the inks, typed dyes, and trials against closed forms."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from lanewise.analyses.measure import measure
from lanewise.analyses.ranking import chance_above, rank_systems
from lanewise.analyses.separations import separations
from lanewise.analyses.verdicts import chance_words, ranking_sentences
from lanewise.errors import AnalysisError

RULER = 1.0 / 12**0.5


def spots(system, plate=None, length=4.0, **centres):
    rows = []
    for dye, centre in centres.items():
        row = {"plate": plate or system, "system": system, "lane": dye, "sample": dye}
        if isinstance(centre, str):
            rows.append(row | {"state": centre})
        else:
            edges = {"trailing_mm": centre - length / 2, "leading_mm": centre + length / 2} if length else {}
            rows.append(row | {"centre_mm": float(centre)} | edges)
    return rows


@pytest.fixture
def ranked(measured):
    return lambda *rows, **settings: rank_systems(measured(*rows), **settings)


def test_the_inks_have_the_order_that_was_put_in(inks):
    """Head of the example: only the second system parts violet and pink; Rs by the lanes in which both ran."""
    found = rank_systems(inks)
    ester, butanol = inks.spots["system"].unique()
    assert found.dyes == ("crystal violet", "rhodamine B", "eosin Y"), "the standards"
    assert found.criterion == "worst resolution"
    assert found.order["system_a"].tolist()[:2] == [butanol, ester]
    assert found.order["best"].iloc[0] > 0.99
    failed = found.dye_pairs[found.dye_pairs["finding"] != "separated"]
    assert failed[["system", "dye_a", "dye_b"]].values.tolist() == [[ester, "crystal violet", "rhodamine B"]]
    lanes = separations(inks).pairs.query("sample == 'copying violet'").groupby("system")["rs"].mean()
    for system in (ester, butanol):
        rs = found.dye_pairs.query("system == @system and dye_a == 'crystal violet' and dye_b == 'rhodamine B'")["rs"]
        assert rs.iloc[0] == pytest.approx(lanes[system], rel=0.35), "the same two dyes within one lane"


def test_the_resolution_is_that_of_mean_places_and_lengths(ranked):
    found = ranked(*spots("A", red=30, blue=42))
    assert found.dye_pairs["rs"].tolist() == pytest.approx([2 * 12 / 8])
    assert found.dye_pairs["gap"].tolist() == pytest.approx([12 / 80])


def test_trials_keep_shared_lines_so_that_the_resolution_has_the_u_of_the_engine(measured):
    """Two dyes of one lane: the origin and the front cancel in Rs, whose u the pairs table has in closed form."""
    rows = [row | {"lane": "1", "sample": "ink", "spot": row["sample"]} for row in spots("A", red=30, blue=42)]
    table = measured(*rows)
    found = rank_systems(table, trials=40_000).dye_pairs.iloc[0]
    z = stats.norm.ppf(0.975)
    reach = z * table.pairs["u_rs"][0]
    assert (found["rs_high"] - found["rs_low"]) / 2 == pytest.approx(reach, rel=0.03)


def test_the_chance_that_one_system_is_better_by_the_normal_law(ranked):
    """Gaps of 10 and 10.6 mm, spot readings of the ruler alone: the difference of the gaps is normal."""
    rows = spots("A", length=0, red=30, blue=40) + spots("B", length=0, red=30, blue=40.6)
    found = ranked(*rows, trials=40_000)
    assert found.criterion == "smallest gap"
    u = (4 * RULER**2 + (10 / 80) ** 2 * 4 * RULER**2) ** 0.5
    best = found.order.query("system_b == ''").iloc[0]
    assert best["system_a"] == "B"
    assert best["above_next"] == pytest.approx(stats.norm.cdf(0.6 / u), abs=0.02)
    assert best["best"] == best["above_next"]


def test_what_moves_both_systems_alike_changes_no_order(measured):
    """Both systems on plates with one shared scale error: it cancels in the comparison and not in the values."""
    rows = spots("A", length=0, red=30, blue=40) + spots("B", length=0, red=30, blue=40.6)
    exact = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 1e-6}
    table = measured(*[row | exact for row in rows])
    assert rank_systems(table).order["above_next"].iloc[0] == 1.0


def test_two_systems_part_what_neither_parts_alone(ranked):
    rows = spots("A", red=30, blue=30.5, green=60) + spots("B", red=30, blue=60, green=60.5)
    found = ranked(*rows)
    assert found.order.query("system_b == ''")["value"].max() < 0.2
    both = found.order.query("system_b != ''").iloc[0]
    assert both["value"] == pytest.approx(2 * 29.5 / 8)
    text = " ".join(ranking_sentences(found))
    assert "Of two systems run one beside the other, A with B comes first by the worst resolution" in text
    assert "leaves together" in text


def test_dyes_at_one_end_are_left_together(ranked):
    found = ranked(*spots("A", red="at origin", blue="at origin", green=50))
    rows = found.dye_pairs.set_index(["dye_a", "dye_b"])
    assert rows.loc[("red", "blue"), "finding"] == "not separated"
    assert rows.loc[("red", "green"), "finding"] == "separated"
    assert found.order["value"].tolist() == [0.0]


def test_one_at_each_end_needs_no_resolution(ranked):
    found = ranked(*spots("A", red="at origin", blue="with front"))
    row = found.dye_pairs.iloc[0]
    assert (np.isnan(row["rs"]), row["apart"], row["finding"]) == (True, 1.0, "separated")
    assert not np.isinf(found.systems["value"]).any()


def test_a_dye_that_a_system_does_not_show_is_left_out_and_told(ranked):
    rows = spots("A", red=30, blue=40, green=50) + spots("B", red=30, blue=42, green="unread")
    found = ranked(*rows)
    assert found.dyes == ("red", "blue")
    assert found.left_out == ("green is left out of the order: it has no place in B (no reading).",)


def test_other_criteria_and_dyes(ranked):
    rows = spots("A", red=30, blue=40, green=60) + spots("B", red=25, blue=45, green=65)
    found = ranked(*rows, dyes=["red", "green"], criterion="retention distance")
    assert found.dyes == ("red", "green")
    assert (found.criterion, found.pair_criterion) == ("retention distance", "worst resolution")


@pytest.mark.parametrize(
    ("settings", "match"),
    [
        ({"dyes": ["red", "mauve"]}, "dyes: 'mauve' is none of the dyes that can be followed: red, blue"),
        ({"criterion": "beauty"}, "criterion: wanted one of worst resolution, .*, given 'beauty'"),
        ({"trials": 10}, "trials: wanted at least 100, given 10"),
        ({"dyes": ["red"]}, "dyes: wanted at least two to tell apart, given 1"),
    ],
    ids=["dye", "criterion", "trials", "one dye"],
)
def test_refusals(ranked, settings, match):
    with pytest.raises(AnalysisError, match=match):
        ranked(*spots("A", red=30, blue=40), **settings)


def test_many_dyes_get_fewer_trials(ranked):
    found = ranked(*spots("A", **{f"dye {n}": 12 + n for n in range(60)}), trials=10_000)
    assert 1_000 <= found.trials < 10_000
    assert len(found.dye_pairs) == 60 * 59 // 2


def test_of_two_equal_systems_either_seems_better_by_chance_alone():
    """80 pairs of systems with one true gap: the probability given to the first is spread evenly from 0 to 1."""
    random, given = np.random.default_rng(8), []
    lines = {"origin_mm": 0.0, "front_mm": 80.0, "u_origin_mm": 1e-6, "u_front_mm": 1e-6, "u_centre_mm": 0.4}
    for _ in range(80):
        rows = [
            {
                "plate": system,
                "system": system,
                "lane": dye,
                "sample": dye,
                "centre_mm": place + random.normal(0.0, 0.4),
            }
            for system in "AB"
            for dye, place in (("red", 30.0), ("blue", 40.0))
        ]
        order = rank_systems(measure(pd.DataFrame([row | lines for row in rows])), trials=1000).order
        best = order.query("system_b == ''").iloc[0]
        given.append(best["above_next"] if best["system_a"] == "A" else 1.0 - best["above_next"])
    assert stats.kstest(given, "uniform").pvalue > 0.01


def test_words_of_chance_and_ties():
    assert chance_above(np.array([1.0, np.nan]), np.array([1.0, 2.0])) != chance_above(np.ones(2), np.ones(2))
    assert [chance_words(x) for x in (1.0, 0.0, float("nan"))] == ["more than 99 %", "less than 1 %", "not known"]
