from dataclasses import replace

import numpy as np
import pytest
from photo_pictures import CORNERS, FRONT, LANES, MARKS, ORIGIN, Scene, draw, saved

import lanewise
from lanewise import UnreadableFile
from lanewise_photo.measuring import _from_the_right, measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.reading import LaneReading
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

GIVEN = PhotographOptions(size="80 x 100", orientation="up", mirrored="no")


def _measured(scene=None, options=GIVEN, kind="PNG", **how):
    return measure(saved(draw(scene), kind, **how), "inks", settings_of(options))


@pytest.fixture(scope="module")
def sheet():
    return _measured().sheets[0]


def _codes(sheet):
    return {flag.code for flag in sheet.flags}


def test_every_mark_is_read_where_it_was_drawn(sheet):
    for lane, (number, marks) in zip(sheet.lanes, MARKS.items(), strict=True):
        assert lane.x == pytest.approx(LANES[number], abs=0.2)
        assert lane.origin == pytest.approx(ORIGIN, abs=0.05)
        assert lane.front == pytest.approx(FRONT, abs=0.05)
        assert len(lane.spots) == len(marks)
        for spot, (dye, rf) in zip(lane.spots, marks, strict=True):
            at = ORIGIN + rf * (FRONT - ORIGIN)
            assert spot.state == "measured"
            assert spot.centre == pytest.approx(at, abs=max(4 * spot.u_centre, 0.05))
            assert spot.colour.word == dye
            # edges at a tenth of the height of a Gaussian: 2.1460 standard deviations, ln 10 by definition
            assert spot.leading - at == pytest.approx(1.7 * np.sqrt(2 * np.log(10)), abs=0.2)
    assert _codes(sheet) <= {"compressed"}


def test_study_gives_rf(sheet):
    study = study_of(_measured(), settings_of(GIVEN))
    table = lanewise.measure(lanewise.to_frame(study)).spots
    drawn = [rf for marks in MARKS.values() for _, rf in marks]
    np.testing.assert_allclose(table["rf"], drawn, atol=0.002)
    assert ((table["rf_low"] < drawn) & (table["rf_high"] > drawn)).all()
    plate = study.plates[0]
    assert {error.name for error in plate.shared_errors} >= {"sheet size", "rectification"}
    assert [trace.channel for trace in plate.lanes[0].traces] == [
        f"optical density, {one}" for one in ("red", "green", "blue")
    ]


def test_same_bytes_same_study():
    data = saved(draw(), "JPEG", quality=85)
    made = (
        [lanewise.to_json(study_of(measure(data, "inks", settings_of(GIVEN)), settings_of(GIVEN))) for _ in range(2)]
        if hasattr(lanewise, "to_json")
        else [study_of(measure(data, "inks", settings_of(GIVEN)), settings_of(GIVEN)) for _ in range(2)]
    )
    assert made[0] == made[1]


def test_orientation_is_asked_for_and_obeyed():
    assert "orientation_unknown" in _codes(_measured(options=PhotographOptions(size="80 x 100")).sheets[0])
    turned = draw()[::-1, ::-1]
    down = PhotographOptions(size="80 x 100", orientation="down")
    sheet = measure(saved(turned), "inks", settings_of(down)).sheets[0]
    assert [len(lane.spots) for lane in sheet.lanes] == [len(marks) for marks in MARKS.values()]


def test_without_size_rf_stays():
    sheet = _measured(options=PhotographOptions(orientation="up")).sheets[0]
    assert "scale_assumed" in _codes(sheet)
    lane = sheet.lanes[1]
    assert (lane.spots[0].centre - lane.origin) / (lane.front - lane.origin) == pytest.approx(0.45, abs=0.002)


def test_scale_bar():
    from photo_pictures import grid_to_picture

    ends = grid_to_picture(np.array([[20.0, 5.0], [70.0, 5.0]]))
    text = "; ".join(f"{x:.2f},{y:.2f}" for x, y in ends) + "; 50"
    sheet = _measured(options=PhotographOptions(orientation="up", bar=text)).sheets[0]
    assert sheet.mapping.width == pytest.approx(80.0, rel=0.02)
    assert sheet.scale == "bar"


def test_front_that_was_given_stands_in_for_one_that_is_not_seen():
    data = saved(draw(Scene(front=False)))
    given = measure(data, "inks", settings_of(replace(GIVEN, front=FRONT))).sheets[0]
    assert given.lanes[0].front == pytest.approx(FRONT)


def test_lanes_are_numbered_from_the_right_in_a_mirrored_picture():
    lanes = [LaneReading(str(n), "", 10.0 * n, 10.0, 80.0, 0.1, 0.1, np.empty(0), np.empty((0, 3)), ()) for n in (1, 2)]
    turned = _from_the_right(lanes, settings_of(PhotographOptions(names="a; b")))
    assert [(lane.x, lane.label, lane.sample) for lane in turned] == [(20.0, "1", "a"), (10.0, "2", "b")]


def test_near_a_line_there_is_a_limit_and_no_number():
    marks = {0: [("yellow", 0.012), ("blue", 0.5)], 1: [("pink", 0.99)]}
    sheet = _measured(Scene(marks=marks)).sheets[0]
    assert [spot.state for spot in sheet.lanes[0].spots] == ["at origin", "measured"]
    assert [spot.state for spot in sheet.lanes[1].spots] == ["with front"]


REFUSALS = {
    "no sheet": (lambda: np.full((600, 600, 3), 20000, np.uint16), "no_sheet"),
    "cut off": (lambda: draw()[: 730 - 150], "sheet_cut|no_sheet"),
    "no origin": (lambda: draw(Scene(origin=False, front=False)), "no_origin"),
    "no front": (lambda: draw(Scene(front=False)), "no_front"),
    "blank": (lambda: draw(Scene(marks={})), "no_spots"),
    "over-exposed": (lambda: draw(Scene(light=3.0)), "over_exposed"),
    "too dark": (lambda: draw(Scene(light=0.008)), "too_dark|no_sheet"),
    "out of focus": (lambda: draw(Scene(blur=9.0)), "out_of_focus"),
    "too small": (
        lambda: np.pad(draw()[::4, ::4], ((100, 100), (100, 100), (0, 0)), constant_values=15000),
        "too_small|low_resolution|no_origin|out_of_focus",
    ),
}


@pytest.mark.parametrize(("made", "code"), REFUSALS.values(), ids=REFUSALS)
def test_refused_with_a_reason(made, code):
    with pytest.raises(UnreadableFile, match=code):
        measure(saved(made()), "inks", settings_of(GIVEN))


def test_corners_by_hand():
    text = "; ".join(f"{x},{y}" for x, y in CORNERS)
    sheet = _measured(Scene(desk=0.80), replace(GIVEN, corners=text)).sheets[0]
    assert sheet.lanes[1].spots[0].centre == pytest.approx(ORIGIN + 0.45 * (FRONT - ORIGIN), abs=0.3)


@pytest.mark.parametrize(
    ("options", "match"),
    [
        (PhotographOptions(size="big"), "option 'size'"),
        (PhotographOptions(corners="1,2; 3,4"), "option 'corners'"),
        (PhotographOptions(bar="1,2"), "option 'bar'"),
        (PhotographOptions(lanes=3, names="a; b"), "option 'names'"),
    ],
    ids=["size", "corners", "bar", "names"],
)
def test_options_that_cannot_be_understood(options, match):
    with pytest.raises(lanewise.OptionError, match=match):
        settings_of(options)
