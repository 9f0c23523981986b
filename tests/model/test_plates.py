"""What must hold between the marks of a spot, the lines of a lane, and the lanes of a plate."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings

from lanewise.errors import RecordError
from lanewise.model.checks import lines
from lanewise.model.plates import Lane, Plate, Point, Reading, Role, SharedError, Sheet, Spot, State, Trace, Zero
from lanewise.model.record import decode, encode
from lanewise.model.studies import Study
from lanewise.tables import columns
from lanewise.testing.strategies import plates


def plate(*spots, origin=10.0, front=85.0, **fields):
    """A plate of one lane B."""
    lane = Lane(label="B", spots=spots)
    return Plate(label="bench 3", system="water", origin=origin, front=front, lanes=[lane], **fields)


def test_the_words_are_those_of_the_columns():
    assert set(get_args(State)) == set(columns.STATES)
    assert set(get_args(Role)) == set(columns.ROLES)
    assert set(get_args(Point)) == set(columns.POINTS)
    assert set(get_args(Zero)) == set(columns.ZEROS)


SPOTS = {
    "trailing above centre": (
        {"trailing": 33, "centre": 32},
        r"^spot '1': wanted trailing not above centre, given trailing 33 mm, centre 32 mm\. Trailing is the edge",
    ),
    "centre above leading": ({"centre": 34, "leading": 33.5}, r"wanted centre not above leading, given centre 34 mm"),
    "edges the wrong way": ({"trailing": 34, "leading": 30}, r"wanted trailing not above leading"),
    "nothing measured": ({}, r"^spot '1': wanted a centre or both edges, given no position\. Give centre, or"),
    "one edge measured": ({"trailing": 30}, r"wanted a centre or both edges, given a trailing edge at 30 mm"),
    "streak with one edge": (
        {"state": "streak", "leading": 60},
        r"^spot '1': wanted both edges of a streak, given a leading edge at 60 mm\. Give trailing and leading, or",
    ),
    "streak with its centre alone": ({"state": "streak", "centre": 60}, r"wanted both edges of a streak"),
    "absent with a centre": (
        {"state": "absent", "centre": 60},
        r"wanted no position of an absent spot, given a centre at 60 mm\. Leave the positions out",
    ),
    "absent with an edge": ({"state": "absent", "leading": 60}, r"given a leading edge at 60 mm"),
}


@pytest.mark.parametrize(("fields", "message"), SPOTS.values(), ids=SPOTS)
def test_a_spot_refuses(fields, message):
    with pytest.raises(RecordError, match=message):
        Spot(label="1", **fields)


@pytest.mark.parametrize(
    "fields",
    [
        {"centre": 32},
        {"trailing": 30, "leading": 33},
        {"trailing": 32, "centre": 32, "leading": 32},
        {"state": "streak", "trailing": 10, "leading": 60},
        {"state": "at origin"},
        {"state": "with front", "leading": 85},
        {"state": "unread"},
        {"state": "unread", "centre": 32},
        {"state": "absent"},
    ],
    ids=lambda fields: " ".join(f"{name}={value}" for name, value in fields.items()),
)
def test_a_spot_takes(fields):
    assert Spot(label="1", **fields).label == "1"


PLATES = {
    "front below the origin": (
        lambda: plate(front=8.0),
        r"^lane 'B' on plate 'bench 3': wanted a front above the origin at 10 mm, given 8 mm\. Correct one of them, or",
    ),
    "front on the origin": (lambda: plate(front=10.0), r"wanted a front above the origin at 10 mm, given 10 mm"),
    "no origin": (
        lambda: plate(origin=None),
        r"^lane 'B' on plate 'bench 3': wanted a position of the origin, given none for the lane and none for",
    ),
    "centre beyond the front": (
        lambda: plate(Spot(label="2", centre=91)),
        r"^lane 'B' on plate 'bench 3': spot '2': wanted a centre not beyond the front at 85 mm, given 91 mm\. Correct",
    ),
    "leading edge beyond the front": (
        lambda: plate(Spot(label="2", centre=84, leading=91)),
        r"spot '2': wanted a leading edge not beyond the front at 85 mm, given 91 mm",
    ),
    "middle beyond the front": (
        lambda: plate(Spot(label="2", trailing=86, leading=90)),
        r"wanted a middle not beyond the front at 85 mm, given 88 mm",
    ),
    "with the front, and beyond it": (
        lambda: plate(Spot(label="2", state="with front", centre=91)),
        r"wanted a centre not beyond the front",
    ),
    "below the origin": (
        lambda: plate(Spot(label="2", centre=5)),
        r"spot '2': wanted a centre not below the origin at 10 mm, given 5 mm\. Correct the mark or the origin\.",
    ),
    "at the origin, and above it": (
        lambda: plate(Spot(label="2", state="at origin", centre=40)),
        r"wanted a spot at the origin at 10 mm, given centre 40 mm\. Correct it, or call it 'measured'\.",
    ),
    "with the front, and below it": (
        lambda: plate(Spot(label="2", state="with front", leading=40)),
        r"wanted a spot that reaches the front at 85 mm, given leading edge 40 mm",
    ),
    "two lanes of one name": (
        lambda: Plate(label="1", origin=0, lanes=[Lane(label="A"), Lane(label="A")]),
        r"^plate '1', lanes: wanted names that differ, given 'A' twice\. Rename one of them\.",
    ),
    "two spots of one name": (
        lambda: Lane(label="B", spots=[Spot(label="1", centre=1), Spot(label="1", centre=2)]),
        r"^lane 'B', spots: wanted names that differ, given '1' twice",
    ),
    "uncertainty of no front": (
        lambda: Lane(label="B", u_front=0.5),
        r"^lane 'B', u_front: wanted the uncertainty of a front that is given here, given 0\.5 mm without front\. Give",
    ),
    "zero on the origin line, and an origin elsewhere": (
        lambda: plate(reading=Reading(zero="origin line")),
        r"^plate 'bench 3': wanted the origin at 0 mm, since the zero lay on the origin line, given 10 mm\. Call the "
        r"zero 'sheet edge' or 'liquid level' if positions were read from there, or correct them\.$",
    ),
    "zero on the origin line, and a lane's origin elsewhere": (
        lambda: Plate(
            label="1", reading=Reading(zero="origin line"), lanes=[Lane(label="A", origin=0), Lane(label="B", origin=9)]
        ),
        r"^lane 'B' on plate '1': wanted the origin at 0 mm, since the zero lay on the origin line, given 9 mm",
    ),
    "uncertainty of no origin": (lambda: Plate(label="1", u_origin=0.5), r"^plate '1', u_origin: .* without origin"),
}


@pytest.mark.parametrize(("make", "message"), PLATES.values(), ids=PLATES)
def test_a_plate_refuses(make, message):
    with pytest.raises(RecordError, match=message):
        make()


def test_a_front_that_was_not_seen():
    made = plate(Spot(label="1", centre=300), front=None)
    assert lines(made, made.lanes[0]).front is None


@pytest.mark.parametrize("state", ["measured", "at origin"], ids=str)
def test_a_spot_at_the_origin_may_begin_below_the_line(state):
    assert plate(Spot(label="1", state=state, trailing=8, centre=10, leading=12)).lanes


def test_a_spot_with_the_front_may_end_above_the_line():
    assert plate(Spot(label="1", state="with front", trailing=82, centre=85, leading=88)).lanes


# Three combined standard uncertainties (common practice, no source) of readings to 1 mm: JCGM 100:2008 F.2.2.1 gives
# 0.29 mm for each (from memory), so 1.22 mm for two.
@pytest.mark.parametrize(
    ("over", "fields", "fits"),
    [
        (1.2, {}, True),
        (1.3, {}, False),
        (0.6, {"reading": Reading(division=0.5)}, True),
        (0.7, {"reading": Reading(division=0.5)}, False),
        (4.2, {"reading": Reading(u=1.0)}, True),
        (4.3, {"reading": Reading(u=1.0)}, False),
        (3.1, {"u_front": 1.0}, True),
        (3.2, {"u_front": 1.0}, False),
    ],
    ids=["1 mm in", "1 mm out", "0.5 mm in", "0.5 mm out", "own u in", "own u out", "front's u in", "front's u out"],
)
def test_how_far_beyond_the_front_is_too_far(over, fields, fits):
    if fits:
        assert plate(Spot(label="1", centre=85 + over), **fields).lanes
    else:
        with pytest.raises(RecordError, match="not beyond the front"):
            plate(Spot(label="1", centre=85 + over), **fields)


def test_a_spots_own_uncertainty_counts():
    assert plate(Spot(label="1", centre=87.9, u_centre=1.0)).lanes
    with pytest.raises(RecordError, match="not beyond the front"):
        plate(Spot(label="1", centre=87.9, u_centre=0.1))


def test_a_lanes_own_lines_go_before_the_plates():
    own = Lane(label="A", origin=12, front=90, u_front=0.2)
    made = Plate(label="1", origin=10, front=85, u_origin=0.4, reading=Reading(u=0.3), lanes=[own, Lane(label="B")])
    assert lines(made, made.lanes[0]) == (12.0, 0.3, True, 90.0, 0.2, True)
    assert lines(made, made.lanes[1]) == (10.0, 0.4, False, 85.0, 0.3, False)


# Three standard uncertainties, 0.29 mm for a reading to 1 mm, as above.
@pytest.mark.parametrize(
    ("origin", "fields", "fits"),
    [
        (0.0, {"u_origin": 0.0}, True),
        (0.86, {}, True),
        (-0.86, {}, True),
        (0.87, {}, False),
        (-0.87, {}, False),
        (1.4, {"u_origin": 0.5}, True),
        (1.6, {"u_origin": 0.5}, False),
    ],
    ids=["at 0", "in", "in below", "out", "out below", "own u in", "own u out"],
)
def test_how_far_the_origin_may_lie_from_a_zero_on_it(origin, fields, fits):
    if fits:
        assert plate(origin=origin, reading=Reading(zero="origin line"), **fields).lanes
    else:
        with pytest.raises(RecordError, match="wanted the origin at 0 mm"):
            plate(origin=origin, reading=Reading(zero="origin line"), **fields)


@pytest.mark.parametrize("zero", ["not stated", "sheet edge", "liquid level"])
def test_other_zeros_take_any_origin(zero):
    assert plate(reading=Reading(zero=zero)).origin == 10.0


TRACES = {
    "one position": (lambda: Trace(positions=[1], values=[2]), r"^trace: wanted two positions at least, given 1\."),
    "a value too few": (
        lambda: Trace(channel="grey", positions=[1, 2, 3], values=[1, 2]),
        r"^trace 'grey': wanted 3 values, one a position, given 2\.",
    ),
    "falling": (
        lambda: Trace(channel="grey", positions=[1, 3, 2.5], values=[0, 0, 0]),
        r"^trace 'grey', position 3: wanted one above the position before it, 3 mm, given 2\.5 mm\.",
    ),
    "not a number": (
        lambda: Trace(positions=[1, 2], values=[0, float("nan")]),
        r"^trace, values: wanted a number, given nan",
    ),
    "two of one channel": (
        lambda: Lane(label="A", traces=[Trace(positions=[1, 2], values=[0, 0])] * 2),
        r"lane 'A', traces: .*''",
    ),
    "negative area": (
        lambda: Spot(label="1", centre=1, area=-0.1),
        r"area: wanted a number not below 0 \[mm\] or nothing",
    ),
}


@pytest.mark.parametrize(("make", "message"), TRACES.values(), ids=TRACES)
def test_a_trace_refuses(make, message):
    with pytest.raises(RecordError, match=message):
        make()


def test_a_trace_is_kept_to_the_last_bit():
    trace = Trace(channel="grey", positions=[0.1, 0.30000000000000004], values=[1e-300, -0.25], unit="V", note="dim")
    plate = Plate(label="1", origin=0, lanes=[Lane(label="A", traces=[trace])])
    assert decode(encode(Study(plates=[plate]))).plates[0].lanes[0].traces == (trace,)


SHARED = {
    "no position": (lambda: SharedError(name="lens", positions=[], shifts=[]), "one position at least, given 0"),
    "a shift too many": (
        lambda: SharedError(name="lens", positions=[1], shifts=[1, 2]),
        "1 values, one a position, given 2",
    ),
    "twice the same place": (
        lambda: SharedError(name="lens", positions=[1, 1], shifts=[1, 2]),
        "position 2: wanted one",
    ),
    "two of one name": (
        lambda: Plate(label="1", shared_errors=[SharedError(name="lens", positions=[1], shifts=[1])] * 2),
        "shared_errors.*'lens'",
    ),
}


@pytest.mark.parametrize(("make", "message"), SHARED.values(), ids=SHARED)
def test_a_shared_error_refuses(make, message):
    with pytest.raises(RecordError, match=message):
        make()


def test_a_sheet_need_not_state_its_layer():
    assert Sheet(height=100).stationary_phase == "not stated"


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plates("1"))
def test_random_plates_are_possible(made):
    assert made.label == "1"
