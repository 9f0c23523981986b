"""Plans that work, plans that are refused, and whether the plan that is offered instead works and is the nearest."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from itertools import pairwise
from math import cos, hypot, pi, sin

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lanewise.errors import PlanError
from lanewise.planning.checking import faults
from lanewise.planning.distances import Distances
from lanewise.planning.nearest import distance
from lanewise.planning.plans import plan, plan_of
from lanewise.planning.vessels import Vessel
from lanewise.planning.wanted import Wanted

BEAKER = Vessel(diameter=70, height=95)  # 250 mL, low form: about 70 mm inside (from memory)
INKS = ("blue pen", "black pen", "green pen", "brown felt tip", "red pen")


def test_the_rolled_sheet_of_a_class_fits_its_beaker():
    """A learned society's resource for ages 11 to 14 (read): 20 by 10 cm rolled in a 250 cm3 beaker, line at 1.5 cm,
    six or seven colours 2 cm apart, liquid about 1 cm deep.
    """
    found = plan(
        [f"colour {n}" for n in range(1, 8)], width=200, height=100, pitch=20, standing="rolled", origin=15, depth=10,
        vessel=replace(BEAKER, lid=False),
    )  # fmt: skip
    assert np.diff(found.positions) == pytest.approx([20.0] * 6)
    assert found.levels == (15.0, 90.0, 10.0)


def test_volume_is_floor_times_depth():
    """A depth of 1 cm in a beaker 70 mm wide is about 38 cm3 (worked by hand: 3.8485 cm2 of floor... times 10)."""
    assert plan(["a"], width=30, height=80, vessel=BEAKER).volume == pytest.approx(38.485, abs=0.0005)
    assert Vessel(width=120, breadth=60, height=100).volume(5) == pytest.approx(36.0)
    assert plan(["a"], width=30, height=80).volume is None


@pytest.mark.parametrize(
    ("height", "levels"),
    [
        pytest.param(60, (10.0, 50.0, 5.0), id="low"),
        pytest.param(100, (15.0, 90.0, 10.0), id="school"),
        pytest.param(200, (20.0, 190.0, 10.0), id="laboratory"),
    ],
)
def test_usual_levels(height, levels):
    """Origin 10 to 20 mm, front 10 mm below the top, liquid 5 to 10 mm deep and at least 5 mm below the line (read)."""
    assert plan(["a"], width=50, height=height).levels == levels


def test_lanes_use_the_room_there_is():
    even = plan(list("abcd"), width=120, height=100).positions
    assert even == pytest.approx([15, 45, 75, 105])
    edge = plan(list("abcdefghi"), width=100, height=100)
    assert edge.positions == pytest.approx(np.linspace(10, 90, 9))
    assert not any(lane.warnings for lane in edge.lanes)


def test_lanes_tighter_than_usual_say_so():
    found = plan(list("abcde"), ["k"], width=50, height=80, depth=11)
    first, second = found.lanes[0].warnings, found.lanes[1].warnings
    assert [text.split(" mm ")[1].split(",")[0] for text in first] == [
        "from the edge", "from the next lane", "above the liquid",
    ]  # fmt: skip
    assert not any("edge" in text for text in second)
    gap = found.positions[1] - found.positions[0]
    assert f"{gap:.1f} mm from the next lane, usually 10 mm" in first


def test_lanes_near_a_fold_say_so():
    found = plan(list("abcdefgh"), width=64, height=80, standing="folded")
    assert found.folds == (32.0,)
    near = [lane.label for lane in found.lanes if any("fold" in text for text in lane.warnings)]
    assert near == ["4", "5"]
    assert [lane.panel for lane in found.lanes] == [1] * 4 + [2] * 4


@pytest.mark.parametrize(
    ("change", "said"),
    [
        pytest.param({"height": 39, "origin": 10}, r"The run is 19 mm.*0\.026", id="short run"),
        pytest.param({"front": 76}, r"front target lies 4 mm below", id="near the top"),
        pytest.param({"depth": 4}, r"liquid is 4 mm deep, usually 5 to 10", id="shallow"),
        pytest.param({"width": 20, "samples": ["a"]}, r"sheet is 20 mm wide, usually at least 25", id="narrow"),
        pytest.param({"vessel": replace(BEAKER, lid=False)}, r"no lid", id="no lid"),
        pytest.param({"replicates": 2}, r"not drawn at random", id="no seed"),
        pytest.param({"standards": []}, r"No standard is on the sheet", id="no standard"),
        pytest.param({"samples": list("abcd")}, r"No standard stands beside lanes 1, 5\.", id="alone"),
    ],
)
def test_what_of_the_sheet_is_not_as_usual_is_said(change, said):
    import re

    usual = {"samples": ["a", "b"], "standards": ["k"], "width": 60, "height": 80}
    assert plan(**usual).warnings == ()
    assert any(re.search(said, text) for text in plan(**(usual | change)).warnings)


def test_a_plan_says_all_as_json_and_as_a_table():
    found = plan(INKS, ["dye A"], width=90, height=90, vessel=BEAKER, standing="folded", seed=4, system="water")
    held = json.loads(found.to_json())
    assert [lane["x_mm"] for lane in held["lanes"]] == found.positions.tolist()
    assert held["folds_mm"] == [45.0]
    assert held["volume_ml"] == pytest.approx(38.485, abs=0.0005)
    frame = found.to_frame()
    assert frame["sample"].tolist() == [lane.sample for lane in found.lanes]
    assert "lane 1 at" in str(found)
    assert "fold at 45.0 mm" in str(found)


# ---- refused


REFUSED = {
    "too many lanes": (
        {"samples": tuple("abcdefghi"), "width": 50},
        "at least 55 mm wide for 9 lanes, given 50 mm",
        {"width": 55.0},
    ),
    "line under the liquid": ({"origin": 8, "depth": 10}, "liquid at least 3 mm below", {"origin": 13.0}),
    "wide for the vessel": (
        {"vessel": BEAKER, "width": 70, "height": 80},
        "at most 66 mm wide, for a vessel 70 mm across",
        {"width": 66.0},
    ),
    "high for the vessel": ({"vessel": BEAKER, "height": 100}, "at most 92 mm high under the lid", {"height": 92.0}),
    "front over the top": ({"front": 79}, "front target at least 3 mm below", {"height": 82.0}),
    "no run": ({"origin": 65, "front": 70}, "at least 10 mm above the origin line at 65", {"front": 75.0}),
    "lanes on each other": ({"pitch": 5}, r"at least 6 mm apart, 2 spots of 3 mm, given 5 mm", {"pitch": 6.0}),
    "spot in the liquid": ({"spot": 14, "depth": 8, "origin": 15}, "at least 8 mm below", {"origin": 16.0}),
}


@pytest.mark.parametrize(("change", "said", "nearest"), REFUSED.values(), ids=REFUSED)
def test_a_plan_that_cannot_work_is_refused_with_the_nearest_that_does(change, said, nearest):
    wanted = Wanted(**({"samples": ("a", "b"), "width": 60, "height": 80} | change))
    with pytest.raises(PlanError, match=said) as refused:
        plan_of(wanted)
    offered = refused.value.nearest.wanted
    differing = {
        one.name: getattr(offered, one.name)
        for one in fields(Wanted)
        if getattr(offered, one.name) != getattr(wanted, one.name)
    }
    assert differing == nearest
    # one millimetre (a tenth for lanes) less of a change, and it would not work
    ((name, size),) = nearest.items()
    before = getattr(wanted, name) or wanted.levels()._asdict()[name]
    step = (0.1 if name == "pitch" else 1.0) * (1 if before > size else -1)
    with pytest.raises(PlanError, match="The nearest plan that works"):
        plan_of(replace(wanted, **{name: size + step}))


def test_every_reason_is_given_and_mended_together():
    with pytest.raises(PlanError, match=r"64 mm|66 mm.*92 mm high.*works: .* and ") as refused:
        plan(INKS, width=150, height=120, vessel=BEAKER)
    assert "wide" in str(refused.value)
    offered = refused.value.nearest
    assert plan_of(offered.wanted) == offered
    assert offered.wanted.standing == "rolled"


def test_where_no_nearest_plan_is_found_in_time_one_that_works_is_offered(monkeypatch):
    monkeypatch.setattr("lanewise.planning.nearest.MOST_TRIED", 60)
    with pytest.raises(PlanError, match="A plan that works, perhaps not the nearest: ") as refused:
        plan([f"s{n}" for n in range(14)], replicates=2, width=76, height=60, spot=1.4, pitch=3, front=139,
             vessel=Vessel(diameter=20, height=30, lid=False))  # fmt: skip
    kept(refused.value.nearest)


def test_fewer_lanes_are_offered_where_nothing_else_may_change():
    """Cut the sheet, the spots and the vessel off as ways out: 12 lanes want 71 mm, of 60 mm they have ten."""
    wanted = Wanted(
        samples=tuple("abcdefghijkl"), width=60, height=80, spot=3, pitch=6, vessel=Vessel(diameter=64, height=90)
    )
    with pytest.raises(PlanError, match=r"or 9 samples instead of 12|9 samples instead of 12"):
        plan_of(wanted)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        pytest.param({"width": -1}, r"plan, width: wanted a length above 0 mm, given -1", id="negative"),
        pytest.param({"height": float("nan")}, r"plan, height: wanted a length above 0 mm, given nan", id="nan"),
        pytest.param({"spot": "wide"}, r"plan, spot: wanted a length above 0 mm, given 'wide'", id="text"),
        pytest.param({"samples": "abc"}, r"plan, samples: wanted a list of names, given 'abc'", id="one text"),
        pytest.param({"samples": ["a", " a"]}, r"plan, samples: wanted names that differ, given 'a' twice", id="twice"),
        pytest.param({"samples": [""]}, r"plan, samples: wanted names, given an empty one", id="empty"),
        pytest.param({"samples": []}, r"wanted at least one lane", id="no lane"),
        pytest.param({"replicates": 0}, r"replicates: wanted a whole number from 1 to 200, given 0", id="no replicate"),
        pytest.param({"replicates": 150}, r"at most 200 lanes, given 300", id="many"),
        pytest.param({"seed": 1.5}, r"seed: wanted a whole number", id="seed"),
        pytest.param(
            {"standing": "hung"}, r"standing: wanted one of flat, folded, rolled, given 'hung'", id="standing"
        ),
        pytest.param({"panels": 1}, r"panels: wanted a whole number from 2 to 20, given 1", id="panels"),
        pytest.param({"system": 3}, r"system: wanted a text, given 3", id="system"),
    ],
)
def test_values_that_are_not_possible_by_themselves(wrong, said):
    with pytest.raises(PlanError, match=said):
        plan(**({"samples": ["a", "b"], "width": 60, "height": 80} | wrong))


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        pytest.param({"height": 90}, r"either a diameter or a width and a breadth, given nothing", id="none"),
        pytest.param({"diameter": 70, "width": 60, "height": 90}, r"given diameter 70, width 60", id="both"),
        pytest.param({"width": 60, "height": 90}, r"given width 60", id="one side"),
        pytest.param(
            {"diameter": 0, "height": 90}, r"vessel, diameter: wanted a length above 0 mm, given 0", id="zero"
        ),
        pytest.param({"diameter": 70, "height": "9 cm"}, r"vessel, height: wanted a length.*given '9 cm'", id="text"),
    ],
)
def test_vessels_that_are_none(sizes, said):
    with pytest.raises(PlanError, match=said):
        Vessel(**sizes)


def test_distances_are_checked_and_have_sources():
    with pytest.raises(PlanError, match=r"distance 'wall': wanted a number above 0, given -1"):
        Distances(wall=-1)
    for one in fields(Distances):
        assert Distances.source_of(one.name)
        assert Distances.meaning_of(one.name)


# ---- against geometry worked out another way


def circle_about(points):
    """Diameter of the smallest circle about points, by trying pairs and triples."""
    from itertools import combinations

    def holds(x, y, r):
        return all(hypot(px - x, py - y) <= r + 1e-9 for px, py in points)

    best = float("inf")
    for (ax, ay), (bx, by) in combinations(points, 2):
        x, y, r = (ax + bx) / 2, (ay + by) / 2, hypot(ax - bx, ay - by) / 2
        best = min(best, 2 * r) if holds(x, y, r) else best
    for (ax, ay), (bx, by), (cx, cy) in combinations(points, 3):
        d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
        if abs(d) < 1e-9:
            continue
        a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
        x = (a2 * (by - cy) + b2 * (cy - ay) + c2 * (ay - by)) / d
        y = (a2 * (cx - bx) + b2 * (ax - cx) + c2 * (bx - ax)) / d
        r = hypot(ax - x, ay - y)
        best = min(best, 2 * r) if holds(x, y, r) else best
    return best


@pytest.mark.parametrize("panels", [2, 3, 4, 5])
def test_a_folded_sheet_stands_clear_of_a_round_wall(panels):
    """The zigzag drawn point by point, and the smallest circle about it."""
    width = Vessel(diameter=100, height=100).most_width("folded", panels, Distances())
    leg = width / panels
    corners = [(leg * n * cos(pi / 4), (n % 2) * leg * sin(pi / 4)) for n in range(panels + 1)]
    found = circle_about(corners)
    assert found <= 96.0 + 1e-6
    if panels in (2, 3, 5):  # with four panels one corner of the rectangle about them is free
        assert found == pytest.approx(96.0)


@pytest.mark.parametrize("panels", [2, 3, 4])
def test_a_folded_sheet_stands_clear_of_straight_walls(panels):
    vessel = Vessel(width=120, breadth=50, height=100)
    leg = vessel.most_width("folded", panels, Distances()) / panels
    best = 0.0
    for turn in np.linspace(0, pi / 2, 721):  # turn the zigzag in the vessel, take the largest that fits
        along = [(cos(pi / 4) * n, (n % 2) * sin(pi / 4)) for n in range(panels + 1)]
        xs = [x * cos(turn) - y * sin(turn) for x, y in along]
        ys = [x * sin(turn) + y * cos(turn) for x, y in along]
        best = max(best, min(116 / (max(xs) - min(xs)), 46 / (max(ys) - min(ys))))
    assert leg <= best + 1e-6


def kept(found):
    """Everything that a plan promises, worked out from its lanes and sizes alone, with the numbers of the page."""
    wanted, (origin, front, depth) = found.wanted, found.levels
    half, xs = wanted.spot / 2, [lane.x for lane in found.lanes]
    walls = [0.0, *found.folds, wanted.width]
    assert all(min(abs(x - wall) for wall in walls) >= 2 + half - 1e-6 for x in xs)
    for panel in range(1, len(walls)):
        on = [lane.x for lane in found.lanes if lane.panel == panel]
        assert all(walls[panel - 1] < x < walls[panel] for x in on)
    assert all(b - a >= 2 * wanted.spot - 1e-6 or _parted(a, b, found.folds) for a, b in pairwise(xs))
    assert xs == sorted(xs)
    assert depth <= origin - max(3, half + 1) + 1e-6
    assert origin + 10 <= front + 1e-6
    assert front <= wanted.height - 3 + 1e-6
    if wanted.vessel is not None:
        assert not wanted.vessel.lid or wanted.height <= wanted.vessel.height - 3 + 1e-6
        inner = (wanted.vessel.diameter or min(wanted.vessel.width, wanted.vessel.breadth)) - 4
        if wanted.standing == "rolled":
            assert (wanted.width + 5) / pi <= inner + 1e-6
        if wanted.standing == "flat":
            longest = wanted.vessel.diameter or max(wanted.vessel.width, wanted.vessel.breadth)
            assert wanted.width <= longest - 4 + 1e-6


def _parted(a, b, folds):
    return any(a < fold < b for fold in folds)


SIZES = st.integers(5, 250)
VESSELS = st.none() | st.builds(
    lambda shape, height, lid: Vessel(**shape, height=height, lid=lid),
    st.builds(lambda d: {"diameter": d}, st.integers(20, 200))
    | st.builds(lambda w, b: {"width": w, "breadth": b}, st.integers(20, 200), st.integers(20, 200)),
    st.integers(30, 250),
    st.booleans(),
)


@settings(max_examples=300, deadline=None)
@given(
    samples=st.integers(1, 15),
    standards=st.integers(0, 4),
    replicates=st.integers(1, 3),
    blank=st.booleans(),
    width=SIZES,
    height=SIZES,
    spot=st.integers(10, 80).map(lambda tenths: tenths / 10),
    pitch=st.none() | st.integers(3, 30),
    origin=st.none() | st.integers(1, 60),
    front=st.none() | st.integers(1, 250),
    depth=st.none() | st.integers(1, 30),
    vessel=VESSELS,
    standing=st.sampled_from(["flat", "folded", "rolled"]),
    panels=st.integers(2, 4),
    seed=st.none() | st.integers(0, 99),
)
@example(  # 29 lanes, a front far above the sheet and a jar as narrow as a thumb: five changes at once
    samples=14, standards=0, replicates=2, blank=True, width=76, height=60, spot=1.4, pitch=3, origin=None, front=139,
    depth=None, vessel=Vessel(diameter=20, height=30, lid=False), standing="flat", panels=2, seed=None,
)  # fmt: skip
def test_a_plan_keeps_what_it_promises_or_the_one_offered_does(samples, standards, **asked):
    names = [f"s{n}" for n in range(samples)]
    known = [f"k{n}" for n in range(standards)]
    found = made_or_offered(names, known, **asked)
    assert found is not None, "refused, and nothing was offered"
    kept(found)
    assert plan_of(found.wanted) == found


def made_or_offered(*names, **asked):
    try:
        return plan(*names, **asked)
    except PlanError as refused:
        return refused.nearest


def test_no_plan_of_a_whole_grid_is_nearer_than_the_one_offered():
    """Every width, height, spot and number of samples near a plan that is refused for its width and its height."""
    wanted = Wanted(samples=tuple("abcdefgh"), width=46, height=84, spot=3, vessel=Vessel(diameter=60, height=85))
    offered = made_or_offered(wanted.samples, width=46, height=84, spot=3, vessel=wanted.vessel)
    grid = (
        replace(wanted, samples=wanted.samples[:count], width=width, height=height, spot=spot / 10)
        for count in range(5, 9)
        for width in range(44, 58)
        for height in range(78, 86)
        for spot in range(20, 31)
    )
    working = [distance(wanted, one) for one in grid if not faults(one)]
    assert len(working) > 100
    assert distance(wanted, offered.wanted) == pytest.approx(min(working))
    assert [round(value, 3) for value in (offered.wanted.width, offered.wanted.height)] == [49.0, 82.0]
