"""What is said of spots without a plain value, word for word, and how the statements are gathered over plates."""

from __future__ import annotations

import pandas as pd
import pytest

from lanewise.analyses.limits import limits, spot_name
from lanewise.analyses.measure import measure

OVER = {"front_mm": 98.0, "height_mm": 100.0, "zero": "sheet edge"}
RUN_ON = (
    "The solvent may have run on after its front stopped at the edge of the sheet: Rf may be too high, and only "
    "relative values in the same lane hold."
)
RUN_60 = {"front_mm": 70.0}
EDGES = {"trailing_mm": 40.0, "centre_mm": 50.0, "leading_mm": 56.0}


@pytest.fixture
def said(measured):
    """The one statement on one typed spot."""

    def say(**cells):
        (statement,) = limits(measured(cells)).statements["statement"]
        return statement

    return say


@pytest.mark.parametrize(
    ("cells", "statement"),
    [
        (
            RUN_60 | {"state": "at origin"},
            "stayed at the origin: Rf below 0.02. It may be insoluble, or the system too weak for it.",
        ),
        (
            RUN_60 | {"state": "with front"},
            "ran with the front: Rf above 0.98. Whatever runs with the front lies together there and is not shown to "
            "be the same.",
        ),
        (
            EDGES | {"state": "streak"},
            "is a streak from Rf 0.38 to 0.58: no single Rf describes it (its darkest point or middle lies at 0.50 ± "
            "0.06), and it is not used as proof of identity.",
        ),
        ({"state": "unread"}, "was seen but not measured: no Rf."),
        ({"state": "absent"}, "was looked for and not found."),
        (
            {"front_mm": None, "centre_mm": 30.0},
            "has no Rf: the front was not seen. Only distances in the same lane can be compared.",
        ),
        (
            {"front_mm": None, "state": "at origin"},
            "stayed at the origin, with no bound on Rf, since the front was not seen. It may be insoluble, or the "
            "system too weak for it.",
        ),
        (
            {"front_mm": None, "state": "with front"},
            "ran with the front, by the record, but the front was not seen. Only distances in the same lane can be "
            "compared.",
        ),
        ({}, "has no Rf: its position is missing, or an edge of the streak."),
        (
            {"state": "streak", "centre_mm": 30.0},
            "has no Rf: its position is missing, or an edge of the streak.",
        ),
        (
            {"centre_mm": 15.0},
            "has Rf 0.063 ± 0.005; to bear in mind: Rf below 0.10, weak evidence.",
        ),
        (
            OVER | {"centre_mm": 54.0},
            f"has Rf 0.500 ± 0.004; to bear in mind: front at the edge of the sheet, may have run over. {RUN_ON}",
        ),
        (
            OVER | {"state": "with front"},
            "ran with the front: Rf above 0.98. Whatever runs with the front lies together there and is not shown to "
            f"be the same. {RUN_ON}",
        ),
        (
            OVER | {"state": "streak", "trailing_mm": 44.0, "centre_mm": 54.0, "leading_mm": 64.0},
            "is a streak from Rf 0.39 to 0.61: no single Rf describes it (its darkest point or middle lies at 0.50 ± "
            f"0.07), and it is not used as proof of identity. {RUN_ON}",
        ),
        (
            OVER | {"state": "at origin"},
            "stayed at the origin: Rf below 0.02. It may be insoluble, or the system too weak for it.",
        ),
        (
            {"centre_mm": 15.0, "u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0},
            "has Rf 0.063; to bear in mind: Rf below 0.10, weak evidence.",
        ),
    ],
    ids=[
        "origin",
        "front",
        "streak",
        "unread",
        "absent",
        "no front",
        "origin without a front",
        "front not seen",
        "no position",
        "streak without edges",
        "weak",
        "over-run",
        "over-run with the front",
        "over-run streak",
        "over-run at the origin",
        "known exactly",
    ],
)
def test_statements(said, cells, statement):
    assert said(**cells) == statement


def test_a_plain_spot_needs_no_word(measured):
    assert limits(measured({"centre_mm": 50.0})).statements.empty
    assert limits(measured({"centre_mm": 50.0})).sentences == ()


def test_bounds_are_rounded_outwards(said):
    """1/63.5 is 0.01575; a text that said 0.01 would claim too much."""
    assert "Rf below 0.02" in said(state="at origin", front_mm=73.5)
    assert "Rf above 0.98" in said(state="with front", front_mm=73.5)


def test_rows_stand_in_the_order_of_the_spots(inks):
    table = limits(inks).statements
    worth = (inks.spots["state"] != "measured") | (inks.spots["flags"].astype(str) != "")
    listed = inks.spots[worth & (inks.spots["sample"] != "blank")]
    assert list(table.columns) == ["plate", "system", "lane", "sample", "spot", "state", "statement"]
    assert table["sample"].tolist() == listed["sample"].tolist()
    assert table["state"].astype(str).value_counts().to_dict() == {
        "at origin": 6,
        "with front": 9,
        "streak": 1,
        "measured": 1,
    }


def test_the_same_statement_on_several_plates_stands_once(inks):
    sentences = limits(inks).sentences
    assert (
        "map green, spot 2, on plates bench 1 ester, bench 2 ester and bench 3 ester ran with the front: Rf above "
        "0.98. Whatever runs with the front lies together there and is not shown to be the same."
    ) in sentences
    assert sum("document black, spot 1," in text for text in sentences) == 2, "once a system"
    assert len(sentences) == 7, "six empty blank lanes are no limit"


@pytest.mark.parametrize(
    ("cells", "start"),
    [
        ({"sample": "ink", "spot": "1"}, "ink, spot 1, on plate P stayed"),
        ({"sample": "ink", "spot": None}, "ink on plate P stayed"),
        ({"sample": None, "spot": 2.0}, "lane A, spot 2, on plate P stayed"),
    ],
    ids=["sample and spot", "no spot", "no sample"],
)
def test_how_a_spot_is_named(measured, cells, start):
    (sentence,) = limits(measured({"state": "at origin"} | cells)).sentences
    assert sentence.startswith(start)


def test_a_sample_in_two_lanes_of_a_plate_is_said_once(measured):
    sentences = limits(measured({"state": "at origin"}, {"lane": "B", "state": "at origin"})).sentences
    assert len(sentences) == 1
    assert sentences[0].startswith("ink, spot 1, on plate P stayed")


def test_systems_are_kept_apart(measured):
    rows = [
        {"plate": plate, "system": system, "state": "at origin"} for plate, system in zip("PQR", "AAB", strict=True)
    ]
    starts = [text.split(" stayed")[0] for text in limits(measured(*rows)).sentences]
    assert starts == ["ink, spot 1, on plates P and Q", "ink, spot 1, on plate R"]


def test_spot_name():
    assert spot_name("ink", "3", "2") == "ink, spot 2,"
    assert spot_name("", "3", "") == "lane 3"


def test_numeric_labels_are_words_too():
    marks = pd.DataFrame({"plate": [1, 2], "lane": 1, "sample": "ink", "spot": 1, "front_mm": 80.0, "centre_mm": 2.0})
    (sentence,) = limits(measure(marks)).sentences
    assert sentence.startswith("ink, spot 1, on plates 1 and 2 has Rf 0.025 ± 0.005; to bear in mind: Rf below 0.10")
