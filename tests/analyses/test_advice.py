"""What to try next: one case for each branch. The rules are bench custom, no source."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from lanewise.analyses.advice import summarise

CRITERIA = Path(__file__).parents[1] / "reference" / "quality_criteria_examples.csv"


@pytest.mark.parametrize(
    ("rf", "at_origin", "with_front", "advice"),
    [
        ([], 0, 0, "S: no dye has an Rf here, so nothing can be advised."),
        ([0.3], 0, 0, "S: the strength suits this dye (Rf 0.30); keep it."),
        ([0.7], 0, 0, "S: the strength suits this dye (Rf 0.70); keep it."),
        ([0.25, 0.4, 0.6], 0, 0, "S: the strength suits these dyes (3 of them, middle Rf 0.40); keep it."),
        (
            [0.85, 0.3, 0.9],
            0,
            0,
            "S: try a weaker system. Here 2 of 3 dyes lie above Rf 0.80, the middle lies at 0.85, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.95],
            0,
            0,
            "S: try a weaker system. Here the only dye lies above Rf 0.80, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.5, 0.62, 0.7, 0.85],
            0,
            0,
            "S: try a weaker system. Here 1 of 4 dyes lies above Rf 0.80, the middle lies at 0.66, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.3, 0.4, 0.5, 0.85, 0.9],
            0,
            0,
            "S: try a weaker system. Here 2 of 5 dyes lie above Rf 0.80, the middle lies at 0.50, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.1, 0.15, 0.4, 0.5, 0.6],
            0,
            0,
            "S: try a stronger system. Here 2 of 5 dyes lie below Rf 0.20, the middle lies at 0.40, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.1, 0.4, 0.5, 0.85],
            0,
            0,
            "S: the strength suits these dyes (4 of them, middle Rf 0.45); keep it.",
        ),
        (
            [0.4],
            0,
            2,
            "S: try a weaker system. Here 2 of 3 dyes lie above Rf 0.80, the middle lies with the front, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.6, 0.7],
            0,
            0,
            "S: try a weaker system. Here both dyes lie above Rf 0.50, the middle lies at 0.65, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.3],
            2,
            0,
            "S: try a stronger system. Here 2 of 3 dyes lie below Rf 0.20, the middle lies at the origin, and "
            "spots separate best between 0.2 and 0.5.",
        ),
        (
            [0.3, 0.4, 0.6],
            1,
            0,
            "S: the strength suits most dyes (middle Rf 0.35), but 1 of 4 stayed at the origin. A stronger system may "
            "move it, if anything does, at the cost of the others.",
        ),
        (
            [0.3, 0.35, 0.4, 0.45, 0.5, 0.55],
            0,
            2,
            "S: the strength suits most dyes (middle Rf 0.48), but 2 of 8 ran with the front. A weaker system may hold "
            "them back, at the cost of the others.",
        ),
        (
            [0.3, 0.5],
            1,
            2,
            "S: use a second system of another kind beside it. "
            "Here 1 of 5 dyes lies below Rf 0.20 and 2 lie above 0.80; "
            "a change of strength moves all of them the same way and cannot bring both into range.",
        ),
        (
            [0.1, 0.15, 0.85, 0.9],
            0,
            0,
            "S: use a second system of another kind beside it. "
            "Here 2 of 4 dyes lie below Rf 0.20 and 2 lie above 0.80; "
            "a change of strength moves all of them the same way and cannot bring both into range.",
        ),
    ],
    ids=[
        "nothing",
        "one dye",
        "one high dye",
        "well spread",
        "many high",
        "one too high",
        "middle too high",
        "two of five high",
        "two of five low",
        "one at each side",
        "most with the front",
        "all in the upper half",
        "many low",
        "one at the origin",
        "two with the front",
        "both ends",
        "both groups",
    ],
)
def test_advice(rf, at_origin, with_front, advice):
    assert summarise("S", rf, at_origin, with_front).advice == advice


@pytest.mark.parametrize(
    ("layer", "weaker", "stronger"),
    [
        ("silica", "a weaker (on this layer less polar) system", "a stronger (on this layer more polar) system"),
        ("Alumina N", "a weaker (on this layer less polar) system", "a stronger (on this layer more polar) system"),
        ("silica C18", "a weaker (on this layer more polar) system", "a stronger (on this layer less polar) system"),
        ("RP-18", "a weaker (on this layer more polar) system", "a stronger (on this layer less polar) system"),
        (
            "silanised silica",
            "a weaker (on this layer more polar) system",
            "a stronger (on this layer less polar) system",
        ),
        ("filter paper", "a weaker system", "a stronger system"),
        ("", "a weaker system", "a stronger system"),
    ],
    ids=["silica", "alumina", "octadecyl silica", "reversed phase", "silanised", "paper", "unknown"],
)
def test_what_stronger_means_depends_on_the_layer(layer, weaker, stronger):
    assert f"try {weaker}." in summarise("S", [0.9], 0, 0, layer).advice
    assert f"try {stronger}." in summarise("S", [0.1], 0, 0, layer).advice


def rows():
    with CRITERIA.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["rf_values"])
def test_criteria_of_the_whole_system(row):
    """RU and RD of the published examples; a spot at 0 or 1 is given as at the origin or with the front."""
    rf = [float(value) for value in row["rf_values"].split()]
    inside = [value for value in rf if 0.0 < value < 1.0]
    found = summarise("S", inside, rf.count(0.0), rf.count(1.0))
    for value, expected in ((found.uniformity, row["RU"]), (found.distance, row["RD"])):
        assert value == pytest.approx(float(expected), abs=0.5 * 10.0 ** -len(expected.partition(".")[2]) * (1 + 1e-6))


def test_ends_count_in_the_median_only():
    found = summarise("S", [0.5, 0.4], 1, 2)
    assert (found.lowest, found.median, found.highest) == (0.4, 0.5, 0.5)
    assert (found.dyes, found.at_origin, found.with_front) == (2, 1, 2)


def test_nothing_to_sum_up():
    found = summarise("S", [], 0, 0)
    assert np.isnan([found.lowest, found.median, found.highest, found.uniformity, found.distance]).all()
    only_ends = summarise("S", [], 1, 0)
    assert (only_ends.median, np.isnan(only_ends.lowest)) == (0.0, True)
