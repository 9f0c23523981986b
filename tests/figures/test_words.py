"""Numbers as text: digits, bounds rounded outward, states."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lanewise.analyses.measure import Measurement
from lanewise.figures.seen import SpotSeen, lanes_seen, spots_seen
from lanewise.figures.words import interval_words, millimetres, place_words, rf_short, rf_words


def spot(**what: object) -> SpotSeen:
    names = ("plate", "system", "layer", "lane", "sample", "role", "spot", "colour", "point")
    places = ("origin", "front", "trailing", "centre", "leading", "rf", "u_rf", "low", "high")
    return SpotSeen(**(dict.fromkeys(names, "") | dict.fromkeys(places) | {"row": 0, "state": "measured"} | what))


@pytest.mark.parametrize(
    ("value", "text"),
    [(10.0, "10"), (73.5, "73.5"), (0.0, "0"), (100.0, "100"), (41.236, "41.24"), (-2.5, "-2.5"), (0.004, "0")],
    ids=str,
)
def test_millimetres(value: float, text: str) -> None:
    assert millimetres(value) == text


@pytest.mark.parametrize(
    ("given", "short", "words", "interval"),
    [
        # digits from the uncertainty: one, but two where the first is 1 or 2 (lanewise.uncertainty.rounding)
        ({"rf": 0.475, "u_rf": 0.0057, "low": 0.4638, "high": 0.4862}, "0.475", "Rf 0.475 ± 0.006", "0.464 to 0.486"),
        ({"rf": 0.4751, "u_rf": 0.0122, "low": 0.45, "high": 0.5}, "0.475", "Rf 0.475 ± 0.012", "0.450 to 0.500"),
        ({"rf": 0.4751, "u_rf": 0.05, "low": 0.37, "high": 0.58}, "0.48", "Rf 0.48 ± 0.05", "0.37 to 0.58"),
        ({"rf": 0.25, "u_rf": 0.0, "low": 0.25, "high": 0.25}, "0.250", "Rf 0.250", "0.250 to 0.250"),
        ({"state": "at origin", "low": 0.0, "high": 1 / 60}, "<0.02", "Rf below 0.02", ""),
        ({"state": "with front", "low": 59 / 60, "high": 1.0}, ">0.98", "Rf above 0.98", ""),
        ({"state": "at origin"}, "", "no bound for Rf", ""),
        ({"state": "unread"}, "", "no Rf", ""),
    ],
    ids=["one digit", "two digits", "coarse", "no uncertainty", "at origin", "with front", "no front", "unread"],
)
def test_rf_as_text(given: dict[str, object], short: str, words: str, interval: str) -> None:
    seen = spot(**given)
    assert (rf_short(seen), rf_words(seen), interval_words(seen)) == (short, words, interval)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"centre": 30.5, "trailing": 28.0, "leading": 33.0}, "centre at 30.5 mm, from 28 to 33 mm"),
        ({"centre": 33.0, "point": "leading edge"}, "leading edge at 33 mm"),
        ({"trailing": 28.0}, "trailing edge at 28 mm"),
        ({"leading": 33.0}, "leading edge at 33 mm"),
        ({}, "no position given"),
        ({"state": "streak", "trailing": 20.0, "leading": 50.0}, "a streak from 20 to 50 mm"),
        ({"state": "absent"}, "looked for and not found"),
        ({"state": "unread", "centre": 22.0}, "seen but not measured, centre at 22 mm"),
    ],
    ids=["spot", "edge read", "trailing", "leading", "nothing", "streak", "absent", "unread"],
)
def test_place_as_text(given: dict[str, object], words: str) -> None:
    assert place_words(spot(**given)) == words


def test_spots_of_a_lane_are_counted_from_the_origin(typed: Callable[..., Measurement]) -> None:
    measured = typed(
        {"spot": "c", "state": "unread"},
        {"spot": "front", "state": "with front"},
        {"spot": "b", "centre_mm": 50.0},
        {"spot": "a", "trailing_mm": 20.0, "leading_mm": 24.0},
        {"spot": "origin", "state": "at origin"},
    )
    (lane,) = lanes_seen(spots_seen(measured.marks, measured.spots))
    assert [seen.spot for seen in lane.spots] == ["origin", "a", "b", "front", "c"]
    assert [seen.place for seen in lane.spots] == [10.0, 22.0, 50.0, 70.0, None]
