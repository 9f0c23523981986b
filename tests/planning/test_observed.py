"""Times of earlier runs out of a study: heights above the liquid by hand, and what a plate may lack."""

from __future__ import annotations

import pytest

import lanewise
from lanewise.errors import PlanError
from lanewise.planning.observed import observations_of


def plate(label="1", zero="sheet edge", minutes=12.0, runs=1, front=88.0, origin=15.0, system="water", lanes=()):
    return lanewise.Plate(
        label=label, system=system, front=front, origin=origin, lanes=lanes,
        development=lanewise.Development(minutes=minutes, runs=runs), reading=lanewise.Reading(zero=zero),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("zero", "more", "front"),
    [
        pytest.param("liquid level", {}, 88, id="from the liquid"),
        pytest.param("sheet edge", {"depth": 8}, 80, id="from the edge, by the depth"),
        pytest.param("sheet edge", {"gap": 7}, 80, id="from the edge, by the origin"),
        pytest.param("not stated", {"gap": 7}, 80, id="from anywhere, by the origin"),
    ],
)
def test_height_of_the_front_above_the_liquid(zero, more, front):
    """By hand: the front at 88, the origin at 15, the liquid at 8 mm of the ruler (at its zero in the first case)."""
    (found,) = observations_of(lanewise.Study(plates=[plate(zero=zero)]), **more)
    assert found == (front, 12, "1")


def test_zero_on_the_origin_line():
    study = lanewise.Study(plates=[plate(zero="origin line", origin=None, front=73)])
    assert observations_of(study, gap=7)[0].front == 80


def test_fronts_of_lanes_are_averaged_and_the_plates_own_fills_gaps():
    lanes = [lanewise.Lane(label="a", front=86), lanewise.Lane(label="b", front=87), lanewise.Lane(label="c")]
    (found,) = observations_of(lanewise.Study(plates=[plate(lanes=lanes)]), depth=8)
    assert found.front == pytest.approx((86 + 87 + 88) / 3 - 8)


def test_plates_of_one_system_and_those_that_give_a_time():
    plates = [plate("1"), plate("2", minutes=None), plate("3", runs=2), plate("4", system="ethanol"), plate("5")]
    found = observations_of(lanewise.Study(plates=plates), system="water", depth=8)
    assert [one.run for one in found] == ["1", "5"]
    assert lanewise.running_time(80, found).basis == "several sheets"


@pytest.mark.parametrize(
    ("study", "more", "said"),
    [
        pytest.param([plate(minutes=None)], {"depth": 8}, "plate 1: no minutes were noted", id="minutes"),
        pytest.param([plate(runs=2)], {"depth": 8}, "plate 1: it was developed 2 times", id="twice"),
        pytest.param([plate(front=None)], {"depth": 8}, "plate 1: no front was read", id="front"),
        pytest.param([plate()], {}, "plate 1: the depth of the liquid is not known", id="depth"),
        pytest.param([plate(zero="not stated")], {"depth": 8}, "the height of the origin above the liquid", id="gap"),
        pytest.param([plate(zero="not stated", origin=None)], {"gap": 8}, "no origin was read", id="origin"),
        pytest.param([plate(front=16)], {"depth": 20}, "its front lies at -4 mm", id="below the liquid"),
        pytest.param([plate()], {"system": "beer"}, "wanted plates developed in beer, given water", id="system"),
        pytest.param([], {}, "wanted plates developed in any system, given none", id="no plates"),
        pytest.param([plate()], {"depth": -1}, "depth: wanted a length of 0 mm or more, given -1 mm", id="negative"),
    ],
)
def test_what_is_lacking_is_said(study, more, said):
    with pytest.raises(PlanError, match=said):
        observations_of(lanewise.Study(plates=study), **more)
