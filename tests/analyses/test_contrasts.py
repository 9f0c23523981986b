"""Systems tested against each other on typed dyes: shared errors are kept, bounds never become numbers."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from uncertainties import ufloat

from lanewise.analyses.compare import compare
from lanewise.analyses.contrasts import contrast
from lanewise.analyses.measure import measure
from lanewise.analyses.verdicts import contrast_sentences
from lanewise.errors import AnalysisError

RULER = 1.0 / 12**0.5
EXACT = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.01}


def systems(**centres):
    """Dyes by their centres in the systems A, B, C on plates of their own; a state stands as a word."""
    rows = []
    for dye, places in centres.items():
        for system, place in zip("ABC", places, strict=False):
            cell = {"state": place} if isinstance(place, str) else {"centre_mm": float(place)}
            rows.append({"plate": f"P{system}", "system": system, "lane": dye, "sample": dye} | cell)
    return rows


@pytest.fixture
def contrasted(measured):
    return lambda *rows, margin=0.05, **settings: contrast(compare(measured(*rows, **settings)), margin=margin)


DYES = {"red": (30, 40), "blue": (34, 47), "green": (50, 52), "pink": (22, 30), "grey": (60, 71)}


def test_over_all_dyes_as_scipy_has_it(contrasted):
    found = contrasted(*systems(**DYES)).systems.iloc[0]
    a, b = (np.array([row[side] for row in DYES.values()]) / 80.0 for side in (0, 1))
    known = stats.ttest_rel(b, a)
    assert (found["t"], found["p_t"]) == pytest.approx((known.statistic, known.pvalue))
    assert (found["t_low"], found["t_high"]) == pytest.approx(tuple(known.confidence_interval()))
    assert found["p_rank"] == pytest.approx(stats.wilcoxon(b - a, method="exact").pvalue)
    assert found["d_z"] == pytest.approx((b - a).mean() / (b - a).std(ddof=1))
    assert found["p_t_holm"] == found["p_t"], "one pair of systems needs no correction"


def test_the_mean_of_these_dyes_keeps_what_their_plate_shares(contrasted):
    """Object by object: all lanes of a plate share one origin and one front, which do not average out."""
    found = contrasted(*systems(**DYES)).systems.iloc[0]
    means = []
    for side in (0, 1):
        origin, front = ufloat(10.0, RULER), ufloat(90.0, RULER)
        spots = [(ufloat(row[side], RULER) + 0 - origin) / (front - origin) for row in DYES.values()]
        means.append(sum(spots) / len(spots))
    expected = means[1] - means[0]
    assert found["mean"] == pytest.approx(expected.n)
    assert found["u_mean"] == pytest.approx(expected.s, rel=1e-9)
    apart = sum((RULER / 80.0) ** 2 * 2 for _ in DYES) ** 0.5 / len(DYES)
    assert found["u_mean"] > 1.2 * apart, "more than the readings of the spots alone"


def test_dyes_are_corrected_for_their_number(contrasted):
    found = contrasted(*systems(**DYES)).dyes
    order = found["p"].sort_values()
    assert found["p_holm"].min() == pytest.approx(5 * order.iloc[0])
    assert (found["p_holm"] >= found["p"]).all()


def test_three_systems_are_corrected_over_their_pairs(contrasted):
    three = {dye: (*row, row[0] + 1) for dye, row in DYES.items()}
    found = contrasted(*systems(**three))
    assert len(found.systems) == 3
    assert len(found.dyes) == 15
    assert found.systems["p_t_holm"].max() <= 1.0
    least = found.systems["p_t"].idxmin()
    assert found.systems["p_t_holm"][least] == pytest.approx(min(1.0, 3 * found.systems["p_t"][least]))


def test_bounds_enter_by_sign_and_never_as_numbers(contrasted):
    """Black left the origin in B only, yellow ran with the front in both: one tells its sign, one nothing."""
    more = DYES | {"black": ("at origin", 44), "yellow": ("with front", "with front")}
    found, plain = contrasted(*systems(**more)), contrasted(*systems(**DYES))
    row, without = found.systems.iloc[0], plain.systems.iloc[0]
    assert (row["dyes"], row["limited"], row["left_out"]) == (5, 1, 1)
    for name in ("t", "p_t", "mean", "u_mean", "d_z"):
        assert row[name] == pytest.approx(without[name], rel=1e-9), f"{name} takes no bound for a value"
    assert row["w_plus"] == without["w_plus"] + 6.0, "44 mm against at most 1 mm is the largest difference of all"
    assert row["p_rank"] == pytest.approx(2.0 / 2**6)
    assert np.isnan(row["shift"])
    assert row["least"] < row["most"]
    dyes = found.dyes.set_index("dye")
    assert np.isnan(dyes.loc["black", "p"])
    assert np.isnan(dyes.loc["black", "delta_rf"])
    assert dyes.loc["black", "finding"] == "differs, by its bound"
    assert dyes.loc["yellow", "finding"] == "alike within the margin, by its bound"


def test_a_bound_wider_than_the_margin_shows_nothing(contrasted):
    more = DYES | {"yellow": ("with front", "with front")}
    found = contrasted(*systems(**more), margin=0.01).dyes.set_index("dye")
    assert found.loc["yellow", "finding"] == "not shown"


@pytest.mark.parametrize(
    ("step", "finding"),
    [(0.0, "alike within the margin"), (0.5, "differs, within the margin"), (8.0, "differs"), (3.98, "differs")],
    ids=["same", "near", "far", "at the margin"],
)
def test_findings_of_dyes(contrasted, step, finding):
    rows = [row | EXACT for row in systems(red=(40.0, 40.0 + step), blue=(50.0, 50.0 + step))]
    assert set(contrasted(*rows).dyes["finding"]) == {finding}


def test_equivalence_is_the_interval_within_the_margin(contrasted):
    """p below 5 % exactly where the 90 % interval of the mean lies within the margin."""
    random = np.random.default_rng(2)
    both = set()
    for spread in (0.5, 1.0, 2.0, 3.0, 5.0, 8.0):
        shift = random.normal(0.5, spread, 6)
        found = contrasted(*systems(**{f"dye {n}": (30 + 5 * n, 30 + 5 * n + shift[n]) for n in range(6)}))
        ninety = stats.ttest_1samp(shift / 80.0, 0.0).confidence_interval(0.90)
        within = ninety.low > -0.05 and ninety.high < 0.05
        assert (found.systems["p_alike"][0] < 0.05) == within
        both.add(within)
    assert both == {True, False}


def test_what_moves_a_plate_moves_the_mean_of_its_dyes():
    """120 studies, two systems of three plates, plates shifted by 0.02: the interval of the mean holds zero as often as
    stated. With dyes taken as independent it would hold it far less often."""
    random = np.random.default_rng(11)
    rf, inside, naive = np.linspace(0.25, 0.75, 6), 0, 0
    plates = pd.DataFrame({"plate": list("PQRSTU"), "system": list("AAABBB")}).merge(
        pd.DataFrame({"sample": range(6)}), "cross"
    )
    for _ in range(120):
        shift = random.normal(0.0, 0.02, 6)
        value = rf[plates["sample"]] + np.repeat(shift, 6) + random.normal(0.0, 0.004, 36)
        marks = plates.assign(lane=plates["sample"].astype(str), sample=plates["sample"].map("dye {}".format))
        marks = marks.assign(front_mm=80.0, centre_mm=80.0 * value)
        marks = marks.assign(u_centre_mm=0.1, u_front_mm=0.1, u_origin_mm=0.1)
        compared = compare(measure(marks))
        row = contrast(compared).systems.iloc[0]
        inside += row["mean_low"] <= 0.0 <= row["mean_high"]
        gaps = compared.differences
        short = stats.t.ppf(0.975, 4) * (gaps["u_delta_rf"] ** 2).sum() ** 0.5 / 6
        naive += abs(gaps["delta_rf"].mean()) <= short
    assert inside / 120 >= 0.95 - 3 * (0.05 * 0.95 / 120) ** 0.5
    assert naive / 120 < 0.8


@pytest.mark.parametrize("margin", [0.0, 1.0, -0.1], ids=["zero", "one", "negative"])
def test_a_margin_is_a_difference_of_rf(contrasted, margin):
    with pytest.raises(AnalysisError, match="margin: wanted a difference of Rf between 0 and 1, given"):
        contrasted(*systems(**DYES), margin=margin)


def test_sentences_carry_the_numbers(contrasted):
    more = DYES | {"black": ("at origin", 44), "yellow": ("with front", "with front")}
    found = contrasted(*systems(**more))
    text = " ".join(contrast_sentences(found, {"A": "water", "B": "brine"}))
    mean = found.systems["mean"][0]
    assert f"the mean difference over 5 dyes is {mean:.3f}" in text
    assert "1 dye with a bound enters the ranks by sign and bound, and not the mean" in text
    assert "Of 1 dye the readings tell no sign" in text
    assert "Dye by dye between water and brine, corrected for 5 tests: of 7 dyes" in text


def test_too_few_dyes_for_the_ranks_are_told(contrasted):
    """The least p of n signs is 2 / 2**n: 0.0625 of five dyes, 0.03125 of six."""
    five = contrast_sentences(contrasted(*systems(**DYES)))[0]
    assert "Of so few dyes the signed ranks cannot show a difference" in five
    six = contrast_sentences(contrasted(*systems(**DYES, black=(44, 51))))[0]
    assert "cannot show" not in six


def test_one_dye_says_nothing_of_dyes(contrasted):
    text = contrast_sentences(contrasted(*systems(red=(30, 40))))
    assert "fewer than two dyes have a value in both" in text[0]
