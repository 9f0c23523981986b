"""Do two systems sort the dyes alike: coefficients of typed dyes, bounds in Kendall's alone, the plane they use."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from lanewise.analyses.compare import compare
from lanewise.analyses.correlations import correlate, outline_area
from lanewise.analyses.verdicts import correlation_sentences

A = [18, 30, 42, 55, 66, 78]
ORDERS = {"alike": [20, 33, 45, 58, 70, 81], "turned": [80, 70, 57, 46, 32, 20], "mixed": [44, 20, 70, 33, 78, 52]}


@pytest.fixture
def correlated(measured):
    def make(second, *more, **settings):
        rows = []
        for number, pair in enumerate([*zip(A, second, strict=True), *more]):
            for system, place in zip("AB", pair, strict=True):
                cell = {"state": place} if isinstance(place, str) else {"centre_mm": float(place)}
                rows.append({"plate": system, "system": system, "lane": str(number), "sample": f"dye {number}"} | cell)
        return correlate(compare(measured(*rows)), **settings)

    return make


def value(found, kind, scale="rf"):
    rows = found.coefficients.query("kind == @kind and scale == @scale")
    assert len(rows) == 1
    return rows.iloc[0]


@pytest.mark.parametrize("order", ORDERS, ids=list(ORDERS))
def test_coefficients_as_scipy_has_them(correlated, order):
    found = correlated(ORDERS[order])
    a, b = ((np.array(side) - 10.0) / 80.0 for side in (A, ORDERS[order]))
    assert value(found, "pearson")["value"] == pytest.approx(stats.pearsonr(a, b).statistic)
    assert value(found, "spearman")["value"] == pytest.approx(stats.spearmanr(a, b).statistic)
    assert value(found, "kendall")["value"] == pytest.approx(stats.kendalltau(a, b).statistic)
    logs = [np.log10(1 / side - 1) for side in (a, b)]
    assert value(found, "pearson", "r_m")["value"] == pytest.approx(stats.pearsonr(*logs).statistic)


@pytest.mark.parametrize(
    ("order", "finding"),
    [("alike", "much the same order"), ("turned", "another order"), ("mixed", "another order, of other dyes not sure")],
    ids=list(ORDERS),
)
def test_findings(correlated, order, finding):
    found = correlated(ORDERS[order])
    assert found.planes["finding"].tolist() in ([finding], [f"{finding}, of other dyes not sure"])
    (text,) = correlation_sentences(found, {"A": "water", "B": "brine"})
    assert text.startswith(f"Water and brine give {finding.split(',')[0]} to 6 dyes (rank correlation ")


def test_bounds_enter_kendall_alone(correlated):
    plain, more = correlated(ORDERS["alike"]), correlated(ORDERS["alike"], ("at origin", "at origin"))
    assert value(more, "pearson")["value"] == value(plain, "pearson")["value"]
    assert (value(more, "kendall")["dyes"], value(more, "kendall")["limited"]) == (6, 1)
    assert value(more, "kendall")["value"] == 1.0, "the dye at the origin is behind all others in both"
    apart = correlated(ORDERS["alike"], ("at origin", "with front"))
    assert value(apart, "kendall")["value"] == pytest.approx((15 - 6) / 21)


def test_what_reading_does_to_a_coefficient_by_other_trials(correlated):
    """Spots of one plate share its lines, which moves all of them alike: redrawn here from the readings."""
    row = value(correlated(ORDERS["mixed"], trials=4000), "pearson")
    random, ruler = np.random.default_rng(9), 1 / 12**0.5
    drawn = []
    for _ in range(4000):
        sides = []
        for centres in (A, ORDERS["mixed"]):
            origin, front = 10 + ruler * random.normal(), 90 + ruler * random.normal()
            sides.append((np.array(centres) + ruler * random.normal(size=6) - origin) / (front - origin))
        drawn.append(np.corrcoef(*sides)[0, 1])
    assert row["u_value"] == pytest.approx(np.std(drawn), rel=0.08)


def test_the_plane_by_hand():
    """A triangle of legs 0.6 covers 0.18; points on a line, and two points, cover nothing."""
    assert outline_area(np.array([0.2, 0.8, 0.2]), np.array([0.2, 0.2, 0.8])) == pytest.approx(0.18)
    assert outline_area(np.array([0.1, 0.5, 0.9]), np.array([0.1, 0.5, 0.9])) == pytest.approx(0.0, abs=1e-9)
    assert outline_area(np.array([0.1, 0.5]), np.array([0.3, 0.5])) == 0.0


def test_distances_in_the_plane(correlated):
    found = correlated(ORDERS["turned"]).planes.iloc[0]
    points = np.stack([np.array(A), np.array(ORDERS["turned"])], axis=1) / 80.0
    apart = np.array([min(np.hypot(*(p - q)) for m, q in enumerate(points) if m != n) for n, p in enumerate(points)])
    assert found["nearest"] == pytest.approx(apart.mean())
    assert found["closest"] == pytest.approx(apart.min())


def test_too_few_dyes(measured):
    rows = [{"plate": s, "system": s, "centre_mm": c, "sample": "red"} for s, c in (("A", 30.0), ("B", 40.0))]
    found = correlate(compare(measured(*rows)))
    assert found.coefficients["value"].isna().all()
    assert found.planes["finding"].tolist() == ["too few dyes"]
    assert "too few dyes" in correlation_sentences(found)[0]
