"""Rf at another strength: typed series against straight lines, simulated series against the interval, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.strength import predict_rf
from lanewise.analyses.verdicts import prediction_sentences
from lanewise.errors import AnalysisError

FRACTIONS = {"W9:S1": 0.1, "W8:S2": 0.2, "W7:S3": 0.3, "W6:S4": 0.4}


def compositions(fractions=FRACTIONS, weak="heptane", strong="acetone"):
    rows = [
        {"system": system, "substance": name, "fraction": part, "grams_per_litre": np.nan, "phase": ""}
        for system, share in fractions.items()
        for name, part in ((weak, 1.0 - share), (strong, share))
        if part > 0
    ]
    return pd.DataFrame(rows)


def rf_at(fraction, at20, slope, curve="log"):
    x = np.log10(fraction / 0.2) if curve == "log" else (fraction - 0.2) / 0.2 * 0.4
    return 1.0 / (1.0 + 10.0 ** (at20 - slope * x))


def plates(dyes, fractions=FRACTIONS, curve="log", noise=None, copies=1, shift=0.0):
    rows = []
    for system, share in fractions.items():
        for copy in range(copies):
            moved = noise.normal(0.0, shift) if noise is not None else 0.0
            for dye, (at20, slope) in dyes.items():
                rf = rf_at(share, at20, slope, curve) + moved + (noise.normal(0.0, 0.003) if noise is not None else 0.0)
                rows.append({"plate": f"{system} {copy}", "system": system, "lane": dye, "sample": dye,
                             "layer": "silica", "origin_mm": 10.0, "front_mm": 90.0, "centre_mm": 10.0 + 80.0 * rf,
                             "division_mm": 0.5})  # fmt: skip
    return measure(pd.DataFrame(rows))


DYES = {"red": (0.6, 2.0), "blue": (0.1, 1.8), "green": (-0.4, 1.6)}


@pytest.mark.parametrize("curve", ["log", "straight"])
def test_three_strengths_find_the_curve_that_was_put_in(curve):
    """Without noise the right curve has no residual and takes nearly all the weight."""
    some = dict(list(FRACTIONS.items())[:3])
    found = predict_rf(plates(DYES, some, curve), compositions(some), at={"acetone": [0.25]})
    for row in found.points.to_dict("records"):
        assert row["rf"] == pytest.approx(rf_at(0.25, *DYES[row["dye"]], curve), abs=0.003)
        assert row["rf_low"] < row["rf"] < row["rf_high"]
        assert row["within"]


def test_two_strengths_cannot_tell_the_curve_and_say_so():
    """Half-way between two strengths the two curves lie apart; the interval holds both, and is wider by that."""
    some = {name: FRACTIONS[name] for name in ("W9:S1", "W6:S4")}
    found = predict_rf(plates(DYES, some), compositions(some), at={"acetone": [0.2]}).points.set_index("dye")
    for dye, truth in DYES.items():
        logs = rf_at(0.2, *truth)
        r_m = [np.log10(1 / rf_at(share, *truth) - 1) for share in some.values()]
        straight = 1 / (1 + 10 ** (r_m[0] + (r_m[1] - r_m[0]) * (0.2 - 0.1) / 0.3))
        row = found.loc[dye]
        assert row["rf_low"] < min(logs, straight)
        assert max(logs, straight) < row["rf_high"]
        middle = sum(np.log10(1 / rf - 1) for rf in (logs, straight)) / 2
        assert row["r_m"] == pytest.approx(middle, abs=0.01)
    three = predict_rf(plates(DYES), compositions(), at={"acetone": [0.2]}).points.set_index("dye")
    assert (found["u_r_m"] > 1.5 * three["u_r_m"]).all()


@pytest.mark.parametrize("strengths", [2, 3], ids=["two", "three"])
@pytest.mark.parametrize("curve", ["log", "straight"])
def test_a_new_plate_falls_into_its_interval(curve, strengths):
    """60 simulated studies of three dyes: plates shifted by 0.01, two plates a strength. Simulated, since no published
    series of one system at three strengths with named substances was found."""
    random, inside, total = np.random.default_rng(5), 0, 0
    some = dict(list(FRACTIONS.items())[:strengths])
    for _ in range(60):
        dyes = {f"dye {n}": (random.uniform(-0.5, 0.6), random.uniform(1.2, 2.4)) for n in range(3)}
        found = predict_rf(plates(dyes, some, curve, random, 2, 0.01), compositions(some), at={"acetone": [0.15]})
        moved = random.normal(0.0, 0.01)
        for row in found.points.to_dict("records"):
            new = rf_at(0.15, *dyes[row["dye"]], curve) + moved + random.normal(0.0, 0.004)
            inside += row["rf_low"] <= new <= row["rf_high"]
            total += 1
    assert total == 180
    assert inside / total >= 0.95 - 3 * (0.05 * 0.95 / 60) ** 0.5, "dyes of one plate move together: 60, not 180"


def test_leaving_one_out_at_a_time():
    """40 simulated studies of four strengths: nine of ten left-out Rf or more lie in their 95 % interval."""
    random, checks = np.random.default_rng(6), []
    for _ in range(40):
        checks.append(predict_rf(plates(DYES, noise=random, copies=2, shift=0.008), compositions()).checks)
    table = pd.concat(checks)
    assert set(table["left_out"]) == {"W8:S2", "W7:S3", "W6:S4"}, "from 0.2 to 0.4 half the span does not reach 0.1"
    assert table["inside"].mean() >= 0.90
    assert (table["rf"] - table["observed"]).abs().mean() < 0.03


def test_without_repeats_the_scatter_is_assumed_and_told():
    found, repeated = (
        predict_rf(plates(DYES), compositions()),
        predict_rf(plates(DYES, noise=np.random.default_rng(1), copies=3), compositions()),
    )
    assert (found.assumed, found.scatter) == (True, 0.02)
    assert (repeated.assumed, repeated.scatter) == (False, 0.01)
    at = {"acetone": [0.25]}
    wide = predict_rf(plates(DYES), compositions(), at=at).points
    assert ((wide["rf_high"] - wide["rf_low"]) > 2 * 1.96 * 0.02 * 0.95).all()


def test_farther_is_wider():
    found = predict_rf(plates(DYES), compositions(), at={"acetone": [0.25, 0.5, 0.55]}).points
    u = found.groupby("at")["u_r_m"].mean()
    assert u[0.25] < u[0.5] < u[0.55]
    assert found.groupby("at")["within"].all().tolist() == [True, False, False]


@pytest.mark.parametrize(
    ("at", "match"),
    [
        ({"acetone": [0.6]}, r"acetone 0.6 lies too far from what was tried \(0.1 to 0.4\): .* from 0.05 to 0.55"),
        ({"acetone": [0.001]}, "acetone 0.001 lies too far"),
        ({"water": [0.2]}, "'water' does not change between the systems. Wanted one of: acetone"),
    ],
    ids=["beyond", "nothing", "another component"],
)
def test_refusals_of_places(at, match):
    with pytest.raises(AnalysisError, match=match):
        predict_rf(plates(DYES), compositions(), at=at)


def test_unknown_dyes_are_refused():
    with pytest.raises(AnalysisError, match="dyes: 'mauve' is none of the dyes that can be followed: blue, green, red"):
        predict_rf(plates(DYES), compositions(), dyes=["mauve"])


def test_no_series_is_refused_with_the_reason():
    one = {"W9:S1": 0.1}
    with pytest.raises(AnalysisError, match=r"wanted two systems that differ in strength alone .* Run one of them at"):
        predict_rf(plates(DYES, one), compositions(one))
    with pytest.raises(AnalysisError, match="W9:S1: its components are not known"):
        predict_rf(plates(DYES), compositions().iloc[:0])


def test_a_dye_with_bounds_is_left_out_and_told():
    measurement = plates(DYES)
    marks = measurement.marks.copy()
    front = (marks["sample"] == "green") & (marks["system"] != "W9:S1")
    marks["state"] = np.where(front, "with front", "measured")
    marks.loc[front, "centre_mm"] = np.nan
    found = predict_rf(measure(marks), compositions())
    assert set(found.points["dye"]) == {"red", "blue"}
    assert found.left_out[0].startswith("green has an Rf of its own in 1 of 4 mixtures of acetone in heptane")


def test_dyes_that_keep_together_lead_to_another_kind_of_solvent():
    """Two dyes of one slope 0.03 apart in R_M: no strength parts them; another group keeps P'."""
    close = {"red": (0.10, 2.0), "blue": (0.13, 2.0), "green": (-0.5, 1.8)}
    found = predict_rf(plates(close), compositions(weak="hexane"))
    best = found.best("acetone in hexane")
    assert best["all_apart"] < 0.5
    assert set(found.groups["group"]) == {"II"}
    for row in found.groups.to_dict("records"):
        wanted = 0.1 * (1 - best["at"]) + 5.1 * best["at"]
        own = {"ethanol": 4.3, "2-propanol": 3.9}[row["solvent"]]
        assert 0.1 * (1 - row["fraction"]) + own * row["fraction"] == pytest.approx(wanted)
    text = " ".join(prediction_sentences(found))
    assert "The strength of acetone in hexane alone is not likely to part them" in text
    assert "local rules and the safety data sheets" in text


def test_dyes_that_part_at_some_strength_need_no_other_solvent():
    found = predict_rf(plates(DYES), compositions())
    assert found.best("acetone in heptane")["all_apart"] > 0.9
    assert found.groups.empty
    assert len(found.scan) == 31 + 4


def test_on_the_axis_of_polarity():
    """Three components in changing parts: one line of P' only, with a factor of two in k unknown."""
    parts = {"one": (0.7, 0.2, 0.1), "two": (0.5, 0.2, 0.3), "three": (0.4, 0.5, 0.1)}
    rows = [
        {"system": system, "substance": name, "fraction": part, "grams_per_litre": np.nan, "phase": ""}
        for system, shares in parts.items()
        for name, part in zip(("hexane", "ethyl acetate", "ethanol"), shares, strict=True)
    ]
    fractions = dict(zip(parts, (0.15, 0.22, 0.3), strict=True))
    found = predict_rf(plates(DYES, fractions), pd.DataFrame(rows))
    (series,) = found.series
    assert series.axis == "polarity"
    assert series.at.tolist() == pytest.approx([0.07 + 0.88 + 0.43, 0.05 + 0.88 + 1.29, 0.04 + 2.2 + 0.43])
    assert series.systems == tuple(parts)
    assert (found.points["u_r_m"] > 0.02).all()


def test_a_mixture_without_the_strong_one_has_no_logarithm():
    """Straight against the fraction or its root, from 0 on; nothing below."""
    some = {"weak": 0.0, "W9:S1": 0.1, "W8:S2": 0.2}
    found = predict_rf(plates(DYES, some, "straight"), compositions(some), at={"acetone": [0.05]})
    assert found.series[0].ends == pytest.approx((0.0, 0.3))
    for row in found.points.to_dict("records"):
        assert row["rf"] == pytest.approx(rf_at(0.05, *DYES[row["dye"]], "straight"), abs=0.01)
