"""Findings in words: every number is that of a table, the words fit one and many, and nothing is claimed too much."""

from __future__ import annotations

import re

import pytest

from lanewise.analyses.compare import compare
from lanewise.analyses.sentences import (
    comparison_sentences,
    headline_sentences,
    open_sentences,
    separation_sentences,
)
from lanewise.analyses.separations import separations
from lanewise.uncertainty.rounding import decimals_for, round_bound, round_half_up

SHORT = {"ethyl acetate:ethanol:water 70:35:30": "system A", "1-butanol:ethanol:water 50:10:15": "system B"}
NUMBER = r"(-?\d\.\d+)"
ONE_DYE = re.compile(
    r"^(?P<dye>.+) ran farther in (?P<farther>.+): Rf (?P<fast>.+?) against (?P<slow>.+?) in (?P<other>.+?), "
    rf"(?:a difference of {NUMBER} \(95 % interval {NUMBER} to {NUMBER}\)|so at least {NUMBER} farther)\."
)


@pytest.fixture
def compared(measured):
    return lambda *rows, **settings: compare(measured(*rows, **settings))


def two(*dyes, systems="AB"):
    """One lane a dye on a plate of each system: ``(name, centre or cells in A, in B)``."""
    return [
        {"plate": f"plate {system}", "system": system, "lane": name, "sample": name}
        | (side if isinstance(side, dict) else {"centre_mm": side})
        for number, system in enumerate(systems)
        for name, *sides in dyes
        for side in [sides[number]]
    ]


ORIGIN, FRONT, UNREAD = {"state": "at origin"}, {"state": "with front"}, {"state": "unread"}


# --- numbers


def test_numbers_in_sentences_are_those_of_the_tables(inks_compared):
    """Each sentence of a dye is taken apart again and put beside its row."""
    system_of = {name: system for system, name in SHORT.items()}
    side = inks_compared.dyes.set_index(["dye", "system"])
    difference = inks_compared.differences.set_index("dye")
    found = [ONE_DYE.match(text) for text in comparison_sentences(inks_compared, SHORT)]
    found = [match for match in found if match]
    assert len(found) == 14
    for match in found:
        row = difference.loc[match["dye"]]
        farther = row["system_b"] if row["verdict"] == "farther in b" else row["system_a"]
        assert system_of[match["farther"]] == farther
        assert match["farther"] != match["other"]
        for name, text in (("farther", match["fast"]), ("other", match["slow"])):
            rf = side.loc[(match["dye"], system_of[match[name]])]
            if rf["state"] == "with front":
                assert text == f"above {round_bound(rf['rf_low'], 2, up=False)} (with the front)"
            else:
                assert text == round_half_up(rf["rf"], decimals_for(rf["u_rf"]))
        value, low, high, least = match.groups()[-4:]
        ends = sorted(abs(row[name]) for name in ("low", "high"))
        if least is not None:
            assert least == round_bound(ends[0], 2, up=False)
        else:
            places = decimals_for(row["u_delta_rf"])
            assert [value, low, high] == [round_half_up(number, places) for number in (abs(row["delta_rf"]), *ends)]


def test_the_surest_difference_comes_first(inks_compared):
    order = [match["dye"] for text in comparison_sentences(inks_compared) if (match := ONE_DYE.match(text))]
    ends = inks_compared.differences.set_index("dye")[["low", "high"]].abs().min(axis=1)
    assert order == ends[order].sort_values(ascending=False, kind="stable").index.tolist()


def test_the_range_of_the_headline_is_that_of_the_table(inks_compared):
    first, second = headline_sentences(inks_compared, SHORT)
    rows = inks_compared.differences
    for text, verdict in ((first, "farther in a"), (second, "farther in b")):
        known = rows.loc[rows["verdict"] == verdict, "delta_rf"].abs().dropna()
        ends = [round_half_up(size, 2) for size in (known.min(), known.max())]
        assert re.search(rf"\(by {NUMBER} to {NUMBER} in Rf", text).groups() == tuple(ends)
    assert first.endswith("where both have a value)."), (
        "three yellow dyes ran with the front there and have a bound only"
    )
    assert second.endswith("in Rf).")


# --- words


def test_the_count_of_dyes(inks_compared):
    assert comparison_sentences(inks_compared, SHORT)[0] == (
        "Of 14 dyes that can be compared between system A and system B, 7 ran farther in system A and 7 ran farther in "
        "system B."
    )


@pytest.mark.parametrize(
    ("dyes", "start"),
    [
        ([("red", 30, 50), ("blue", 30, 50)], "Of 2 dyes that can be compared between A and B, 2 ran farther in B."),
        (
            [("red", 30, 50), ("blue", 30, 30)],
            "Of 2 dyes that can be compared between A and B, 1 ran farther in B and for 1 no difference is shown.",
        ),
        (
            [("red", 30, 50), ("blue", 50, 30), ("black", 40, 40)],
            "Of 3 dyes that can be compared between A and B, 1 ran farther in A, 1 ran farther in B and for 1 no "
            "difference is shown.",
        ),
        ([("red", 30, 50)], "red ran farther in B: Rf 0.500 against 0.250 in A, a difference of 0.250 (95 % interval "),
        ([("red", ORIGIN, ORIGIN)], "No dye can be compared between A and B."),
    ],
    ids=["two", "one and one", "each way", "one dye needs no count", "none"],
)
def test_counts_of_one_and_many(compared, dyes, start):
    assert comparison_sentences(compared(*two(*dyes)))[0].startswith(start)


def test_no_difference_is_shown_with_its_interval(compared):
    comparison = compared(*two(("red", 30.0, 30.1), ("blue", 50.0, 49.9)))
    row = comparison.differences.iloc[0]
    ends = [round_half_up(row[name], decimals_for(row["u_delta_rf"])) for name in ("low", "high")]
    text = comparison_sentences(comparison)[1]
    assert text.startswith(f"No difference is shown for red ({ends[0]} to {ends[1]}) and blue (")
    assert text.endswith("the 95 % intervals hold zero, counted as Rf in B minus Rf in A.")
    (only,) = [text for text in comparison_sentences(compared(*two(("red", 30, 30)), level=0.9)) if "zero" in text]
    assert "the 90 % interval holds zero" in only


def test_without_repeats_the_intervals_are_said_to_hold_reading_errors_only(compared, inks_compared):
    caveat = "These intervals hold errors of reading only: no dye was run on two plates of one system"
    assert comparison_sentences(compared(*two(("red", 30, 50))))[-1].startswith(caveat)
    assert not any(text.startswith(caveat) for text in comparison_sentences(inks_compared))
    assert not any(caveat in text for text in comparison_sentences(compared(*two(("red", ORIGIN, 50)))))


@pytest.mark.parametrize(
    ("a", "b", "sentence"),
    [
        (
            ORIGIN,
            50,
            r"red ran farther in B: Rf 0\.500 against below 0\.02 \(at the origin\) in A, so at least 0\.47 farther\.",
        ),
        (
            FRONT,
            50,
            r"red ran farther in A: Rf above 0\.98 \(with the front\) against 0\.500 in B, so at least 0\.47 farther\.",
        ),
        (
            ORIGIN,
            FRONT,
            r"red ran farther in B: Rf above 0\.98 .* against below 0\.02 .* in A, so at least 0\.97 farther\.",
        ),
    ],
    ids=["origin", "front", "both ends"],
)
def test_bounds_in_words(compared, a, b, sentence):
    assert re.fullmatch(sentence, comparison_sentences(compared(*two(("red", a, b))))[0])


@pytest.mark.parametrize(
    ("a", "b", "tail"),
    [
        (True, False, "It is a streak in one of them, which makes the interval wide."),
        (True, True, "It is a streak in both, which makes the interval wide."),
    ],
    ids=["one", "both"],
)
def test_streaks_in_words(compared, a, b, tail):
    def side(streak, at):
        return {"centre_mm": at} | ({"state": "streak", "trailing_mm": at - 4, "leading_mm": at + 4} if streak else {})

    assert comparison_sentences(compared(*two(("red", side(a, 20.0), side(b, 80.0)))))[0].endswith(tail)


def test_values_known_exactly_have_three_decimals(compared):
    exact = {"u_origin_mm": 0.0, "u_front_mm": 0.0, "u_centre_mm": 0.0}
    rows = [row | exact for row in two(("red", 30, 50), ("blue", 30, 30))]
    texts = comparison_sentences(compared(*rows))
    assert (
        "red ran farther in B: Rf 0.500 against 0.250 in A, a difference of 0.250 (95 % interval 0.250 to 0.250)."
        in texts
    )
    assert "blue (0.000 to 0.000)" in texts[2]


@pytest.mark.parametrize(
    ("dyes", "sentences"),
    [
        ([("red", 30, 50)], ["In B, red ran farther than in A (by 0.25 in Rf)."]),
        ([("red", ORIGIN, 50)], ["In B, red ran farther than in A."]),
        (
            [("red", 30, 50), ("blue", ORIGIN, 50)],
            ["In B, red and blue ran farther than in A (by 0.25 in Rf where both have a value)."],
        ),
        ([("red", 30, 30)], ["Between A and B no difference is shown for red."]),
        ([("red", ORIGIN, ORIGIN)], ["Between A and B no dye can be compared."]),
    ],
    ids=["one", "a bound only", "value and bound", "same", "none"],
)
def test_headlines(compared, dyes, sentences):
    assert list(headline_sentences(compared(*two(*dyes)))) == sentences


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [
        (ORIGIN, ORIGIN, "it stayed at the origin in both"),
        (FRONT, FRONT, "it ran with the front in both"),
        (UNREAD, 50, "it has no Rf in A"),
        (ORIGIN, UNREAD, "it stayed at the origin in A and has no Rf in B"),
        (ORIGIN, 10.5, "it stayed at the origin in A and its Rf of 0.006 in B is not shown to lie above that"),
        (89.5, FRONT, "it ran with the front in B and its Rf of 0.994 in A is not shown to lie below that"),
    ],
    ids=["origin", "front", "unread", "origin and unread", "origin and nearly", "nearly and front"],
)
def test_what_stays_open_and_why(compared, a, b, why):
    assert open_sentences(compared(*two(("red", a, b)))) == (f"Between A and B, red cannot be compared: {why}.",)


def test_plates_that_disagree_stay_open(compared):
    rows = [*two(("red", 30, 50)), {"plate": "third", "system": "A", "lane": "red", "sample": "red", **ORIGIN}]
    (text,) = open_sentences(compared(*rows))
    assert text == "Between A and B, red cannot be compared: it did not behave alike in all lanes in A."


def test_samples_that_cannot_be_followed_stay_open(compared):
    rows = two(("mix", 20, 30))
    comparison = compared(*rows, *(row | {"centre_mm": 70.0} for row in rows))
    assert open_sentences(comparison) == comparison.unmatched
    assert comparison.unmatched[0].startswith("The spots of mix cannot be followed")


def test_three_systems_are_told_two_by_two(compared):
    comparison = compared(*two(("red", 30, 50, 70), ("blue", 30, 31, ORIGIN), systems="ABC"))
    heads = [text for text in comparison_sentences(comparison) if text.startswith("Of ")]
    assert [re.search("between (.) and (.),", text).groups() for text in heads] == [("A", "B"), ("A", "C"), ("B", "C")]
    assert headline_sentences(comparison)[-1] == "In C, red ran farther than in B (by 0.25 in Rf)."


# --- separations


def told(measurement, short=None):
    return separation_sentences(measurement, separations(measurement), short)


def spots(*centres, half=2.0, **shared):
    return [
        {"centre_mm": centre, "trailing_mm": centre - half, "leading_mm": centre + half, "colour": colour} | shared
        for centre, colour in zip(centres, ("red", "blue", "black"), strict=False)
    ]


def test_the_neighbours_of_the_inks(inks):
    (text,) = told(inks, SHORT)
    rs = separations(inks).pairs.query("sample == 'copying violet'").groupby("system", sort=False)["rs"].median()
    worst, best = (round_half_up(rs[system], 1) for system in SHORT)
    assert text == (
        "In system A, copying violet (pink) and copying violet (violet) are not separated (apparent resolution "
        f"{worst}, median of 3 lanes); in system B they are ({best})."
    )


@pytest.mark.parametrize(
    ("a", "b", "sentence"),
    [
        ((30, 50), (30, 50), None),
        ((30, 31), (30, 50), "In A, {} are not separated (apparent resolution 0.3); in B they are (5.0)."),
        ((30, 33.8), (30, 50), "In A, {} are not clearly separated (apparent resolution 1.0); in B they are (5.0)."),
        ((30, 31), (30, 34.2), "In A, {} are not separated (apparent resolution 0.3); in B they may be (1.1)."),
        (
            (30, 31),
            (30, 32),
            "In A, {} are not separated (apparent resolution 0.3); nor in B (0.5).",
        ),
        (
            (30, 31),
            (31, 30),
            "In A, {} are not separated (apparent resolution 0.3); nor in B (0.3).",
        ),
        ((30, 31), (30, 33.8), "In A, {} are not separated (apparent resolution 0.3); nor clearly in B (1.0)."),
    ],
    ids=["both", "only b", "hardly in a", "perhaps in b", "neither", "in another order", "hardly in b"],
)
def test_two_neighbours_in_two_systems(measured, a, b, sentence):
    rows = [*spots(*a, plate="P", system="A"), *spots(*b, plate="Q", system="B")]
    found = told(measured(*rows))
    assert found == (() if sentence is None else (sentence.format("ink (blue) and ink (red)"),))


def test_spots_that_cannot_be_followed_are_told_system_by_system(measured):
    rows = [*spots(30, 31, plate="P", system="A", colour=""), *spots(30, 50, plate="Q", system="B", colour="")]
    assert told(measured(*rows)) == (
        "In A, ink (spot 1) and ink (spot 2) are not separated (apparent resolution 0.3).",
    )


def test_spots_in_a_blank_lane_are_not_told(measured):
    assert told(measured(*spots(30, 31, role="blank"))) == ()


def test_without_lengths_nothing_is_told(measured):
    assert told(measured({"centre_mm": 30.0}, {"centre_mm": 31.0})) == ()
