"""Paired tests against published results, against scipy, and against every sign written out."""

from __future__ import annotations

import csv
import itertools
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats

from lanewise.stats.paired import (
    equivalence_p,
    noncentral_ends,
    paired_t,
    sign_test_p,
    signed_rank,
    two_sided_p,
)

DATA = Path(__file__).parents[1] / "reference" / "metrology"


def table(name):
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


PUBLISHED = table("paired_published")


def half_unit(printed):
    """Half a unit of the last printed digit; of numbers printed to the end of a double, a relative 1e-12."""
    digits = len(printed.partition(".")[2])
    return 0.5 * 10.0**-digits * (1 + 1e-6) if digits < 13 else 1e-12 * abs(float(printed)) + 1e-15


def pairs(name):
    rows = [row for row in table("paired_data") if row["dataset"].startswith(name)]
    assert rows
    return [np.array([float(row[side]) for row in rows]) for side in "xy"]


def clinic(variable):
    rows = table("paired_clinic")
    return [np.array([float(row[variable]) for row in rows if row["group"] == group]) for group in "12"]


SETS = {"sleep": "sleep", "zeamays": "zea mays", "shoes": "shoes", "depression": "depression"}
T_ROWS = [row for row in PUBLISHED if row["example"].startswith("paired.")]
RANK_ROWS = [row for row in PUBLISHED if row["example"].startswith("wilcoxon.") and "normal" not in row["quantity"]]
TOST_ROWS = [row for row in PUBLISHED if row["quantity"].startswith("p (larger")]


@pytest.mark.parametrize("row", T_ROWS, ids=lambda row: f"{row['example']} {row['quantity']}")
def test_published_t(row):
    x, y = pairs(SETS[row["example"].split(".")[1]])
    found = paired_t(x - y)
    name = {"p": "p", "mean difference": "mean", "95 % low": "low", "95 % high": "high"}.get(row["quantity"], "t")
    assert getattr(found, name) == pytest.approx(float(row["published"]), abs=half_unit(row["published"]), rel=0)


@pytest.mark.parametrize("row", RANK_ROWS, ids=lambda row: f"{row['example']} {row['quantity']}")
def test_published_signed_ranks(row):
    x, y = pairs(SETS[row["example"].split(".")[1]])
    found = signed_rank(x - y)
    made = {"min rank sum": min(found.w_plus, found.w_minus), "V": found.w_plus, "exact two-sided p": found.p}
    made["exact one-sided p"] = found.p / 2.0
    assert made[row["quantity"]] == pytest.approx(float(row["published"]), abs=half_unit(row["published"]), rel=0)


@pytest.mark.parametrize("row", TOST_ROWS, ids=lambda row: row["example"])
def test_published_equivalence(row):
    """Estimate, standard error and degrees of freedom as published too; the log example has a margin of ln 1.25."""
    found = {one["quantity"]: float(one["published"]) for one in PUBLISHED if one["example"] == row["example"]}
    margin = np.log(1.25) if "ratio" in row["example"] else 0.6
    p = equivalence_p([found["mean difference"]], [found["standard error"]], margin, found["dof"])
    assert p[0] == pytest.approx(float(row["published"]), rel=1e-10)


def test_published_equivalence_from_the_readings():
    x, y = clinic("var1")
    found = paired_t(x - y, 0.90)
    p = equivalence_p([found.mean], [found.sd / np.sqrt(found.n)], 0.6, found.dof)
    assert p[0] == pytest.approx(0.003166881489265175, rel=1e-10)  # paired_published.csv, var1 paired
    assert (found.low, found.high) == pytest.approx((-0.0744336620516462, 0.4037669953849797), rel=1e-10)


def test_decimal_differences_are_rounded_before_they_are_ranked():
    """From the SciPy documentation: 6 and p 0.5 from the decimal differences, 5 and 0.5625 from their binary dust."""
    x, y = np.array([0.5, 0.825, 0.375, 0.5]), np.array([0.525, 0.775, 0.325, 0.55])
    found = signed_rank(x - y)
    assert found.w_plus == 6.0
    dusty = signed_rank(x - y, resolution=1e-18)
    assert {dusty.w_plus, dusty.w_minus} == {5.0}
    chance = stats.wilcoxon(np.round(x - y, 6), method=stats.PermutationMethod())
    assert found.p == pytest.approx(chance.pvalue)


def all_signs_p(ranks, plus):
    """Two-sided p value with each sign of each rank written out."""
    sums = np.array([sum(rank for rank, on in zip(ranks, signs, strict=True) if on)
                     for signs in itertools.product((False, True), repeat=len(ranks))])  # fmt: skip
    return min(1.0, 2.0 * min((sums <= plus + 1e-9).mean(), (sums >= plus - 1e-9).mean()))


@pytest.mark.parametrize("seed", range(5))
def test_ties_are_exact_over_all_signs(seed):
    values = np.random.default_rng(seed).integers(-4, 7, 9) / 100.0
    found = signed_rank(values)
    some = values[values != 0.0]
    ranks = stats.rankdata(np.round(np.abs(some), 6))
    assert found.w_plus == ranks[some > 0].sum()
    assert found.p == pytest.approx(all_signs_p(ranks, found.w_plus))
    assert found.left_out == (values == 0).sum()


@pytest.mark.parametrize("seed", range(5))
def test_without_ties_as_scipy_has_it(seed):
    values = np.random.default_rng(seed).normal(0.3, 1.0, 14)
    found, known = signed_rank(values), stats.wilcoxon(values, method="exact")
    assert min(found.w_plus, found.w_minus) == known.statistic
    assert found.p == pytest.approx(known.pvalue)
    assert found.rank_biserial == pytest.approx((found.w_plus - found.w_minus) / (14 * 15 / 2))


def test_limits_count_by_what_they_surely_tell():
    """Gehan's scores by hand: 0.02 is smallest, 0.05 next; (0.1, 1) and (0.3, 1) are above both and untold apart."""
    found = signed_rank([0.02, -0.05, 0.1, 0.3, -0.01], [0.02, -0.05, 1.0, 1.0, 0.4])
    assert (found.n, found.limited, found.left_out) == (4, 2, 1)
    assert (found.w_plus, found.w_minus) == (1.0 + 3.5 + 3.5, 2.0)
    assert found.p == pytest.approx(all_signs_p([1.0, 2.0, 3.5, 3.5], 8.0))
    assert np.isnan(found.shift)


def test_a_limit_that_tells_everything_is_as_good_as_a_value():
    values = np.array([0.01, 0.03, -0.02, 0.05, 0.09])
    high = values.copy()
    high[4] = 1.0
    assert signed_rank(values, high).p == signed_rank(values).p


@pytest.mark.parametrize("n", [8, 12])
def test_the_level_of_the_signed_ranks_holds_with_limits(n):
    """Under exchange of the two sides, with values cut at one end, at most the stated share is called different."""
    random = np.random.default_rng(n)
    called = 0
    for _ in range(600):
        x, y = random.normal(size=(2, n))
        low = np.where((x > 1.0) & (y > 1.0), -5.0, np.where(x > 1.0, 1.0 - y, np.where(y > 1.0, x - 9.0, x - y)))
        high = np.where((x > 1.0) & (y > 1.0), 5.0, np.where(x > 1.0, 9.0 - y, np.where(y > 1.0, x - 1.0, x - y)))
        called += signed_rank(low, high).p < 0.05
    assert called / 600 < 0.05 + 3 * (0.05 * 0.95 / 600) ** 0.5


def test_the_shift_holds_its_level():
    """Hodges-Lehmann intervals of 95 %, or more since the ranks are discrete; 600 samples of a shifted Laplace."""
    random = np.random.default_rng(3)
    inside = 0
    for _ in range(600):
        found = signed_rank(0.4 + random.laplace(size=10))
        inside += found.shift_low <= 0.4 <= found.shift_high
    assert 0.95 - 0.027 <= inside / 600 <= 0.985
    assert np.isnan(signed_rank([0.1, 0.2, 0.3]).shift_low), "three differences carry no interval of 95 %"


def test_the_standardised_difference_by_the_noncentral_t_of_scipy():
    found = paired_t([0.02, 0.04, 0.03, 0.05, -0.01])
    for end, chance in ((found.d_z_low, 0.975), (found.d_z_high, 0.025)):
        wanted = optimize.brentq(lambda delta, to=chance: stats.nct.cdf(found.t, 4, delta) - to, -20, 20)
        assert end == pytest.approx(wanted / 5**0.5, abs=1e-6)
    assert noncentral_ends(0.0, 7.0)[0] == pytest.approx(-noncentral_ends(0.0, 7.0)[1], abs=1e-8)


def test_t_as_scipy_has_it():
    values = np.random.default_rng(1).normal(0.1, 1.0, 12)
    known = stats.ttest_1samp(values, 0.0)
    found = paired_t(values)
    assert (found.t, found.p) == pytest.approx((known.statistic, known.pvalue), rel=1e-10)
    assert (found.low, found.high) == pytest.approx(tuple(known.confidence_interval()), rel=1e-10)


@pytest.mark.parametrize(
    ("values", "n", "p"),
    [([], 0, None), ([0.1], 1, None), ([0.1, 0.1, 0.1], 3, 0.0), ([0.0, 0.0], 2, None)],
    ids=["none", "one", "all equal", "all zero"],
)
def test_edges_of_t(values, n, p):
    found = paired_t(values)
    assert found.n == n
    assert np.isnan(found.p) if p is None else found.p == p


def test_edges_of_p():
    p = two_sided_p([0.0, 0.1, np.nan, 0.1], [0.0, 0.0, 0.1, np.nan])
    assert p[:2].tolist() == [1.0, 0.0]
    assert np.isnan(p[2:]).all()
    assert two_sided_p([1.96], [1.0])[0] == pytest.approx(2 * stats.norm.sf(1.96))


def test_a_margin_must_be_above_zero():
    with pytest.raises(ValueError, match="wanted a margin above zero, given 0"):
        equivalence_p([0.1], [0.1], 0.0)


@pytest.mark.parametrize(("plus", "minus"), [(8, 1), (3, 3), (0, 6)], ids=["most", "even", "all"])
def test_signs_as_scipy_has_them(plus, minus):
    assert sign_test_p(plus, minus) == pytest.approx(stats.binomtest(plus, plus + minus).pvalue)


def test_no_sign_is_no_test():
    assert np.isnan(sign_test_p(0, 0))
    assert np.isnan(signed_rank([0.0, 0.0]).p)
