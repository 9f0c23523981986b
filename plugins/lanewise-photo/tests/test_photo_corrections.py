import hashlib
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from photo_pictures import CORNERS, FRONT, ORIGIN, Scene, draw, saved

import lanewise
from lanewise_photo.applying import ACCURACY, apply, u_by_hand
from lanewise_photo.by_hand import corrections_of, read_corrected, recorded
from lanewise_photo.corrections import LINES, SIDES, STATES, Correction, Corrections, parse, write
from lanewise_photo.mapping import CORNER_U, through_corners
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

GIVEN = settings_of(PhotographOptions(size="80 x 100", orientation="up"))
BY = "by: A. Invented\n"


@cache
def _read():
    data = saved(draw())
    return data, measure(data, "inks.png", GIVEN)


@pytest.fixture
def picture():
    return _read()[0]


@pytest.fixture
def reading():
    return _read()[1]


def _lane(reading, label):
    return next(lane for lane in reading.sheets[0].lanes if lane.label == label)


def _spot(reading, lane, label):
    return next(spot for spot in _lane(reading, lane).spots if spot.label == label)


# ---- the text

NAMES = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x2FF, exclude_categories=("Zs", "Cc")), min_size=1, max_size=8
)
MM = st.integers(0, 999_999).map(lambda n: n / 1000)
WHEN = st.sampled_from(["", "2026-03-14", "2025-12-31"])
WHO = st.sampled_from(["not stated", "A. Invented", 'B. "Bee" Invented', '"C"', "D # Invented"])


def _step(draw):
    kind = draw(st.sampled_from(sorted(LINES)))
    given = {"kind": kind, "sheet": draw(st.sampled_from(["1", "2"])), "by": draw(WHO), "on": draw(WHEN)}
    if "lane" in kind or kind in {"move", "add", "drop", "state", "colour", "name", "rename"}:
        given["lane"] = draw(NAMES)
    if kind in {"move", "drop", "state", "colour", "rename", "add"}:
        given["spot"] = draw(NAMES)
    if "lane" in given and kind not in {"add", "new lane"}:
        given["near"] = draw(st.none() | MM)
    if kind in {"size", "origin", "front", "lane origin", "lane front", "new lane", "add", "move"}:
        given["at"] = draw(MM)
    if kind in {"add", "move"}:
        given |= {"trailing": draw(MM), "leading": draw(MM)}
    if kind == "size":
        given["leading"] = draw(MM)
    if kind in {"colour", "name", "rename", "add"}:
        given["text"] = draw(NAMES)
    if kind == "state":
        given["text"] = draw(st.sampled_from(STATES))
    if kind == "orientation":
        given["text"] = draw(st.sampled_from(SIDES))
    if kind == "corners":
        given["points"] = tuple((draw(MM), draw(MM)) for _ in range(4))
    return Correction(**given)


@settings(deadline=None, max_examples=150)
@given(
    st.lists(st.composite(_step)(), max_size=6).map(tuple),
    st.sampled_from(["", "inks.jpg", "my # inks.jpg"]),
    st.sampled_from(["", "0f" * 32]),
    st.none() | MM,
)
def test_written_corrections_are_read_back_equal(steps, picture, sha256, accuracy):
    made = Corrections(picture, sha256, accuracy, steps)
    assert parse(write(made)) == made
    assert write(parse(write(made))) == write(made)


@pytest.mark.parametrize("kind", LINES)
def test_every_example_of_a_line_is_understood(kind):
    (step,) = parse(LINES[kind].example).steps
    assert step.kind == kind


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_with_a_line(text):
    refused = ""
    try:
        parse(text)
    except lanewise.OptionError as why:
        refused = str(why)
    assert not refused or refused.startswith("corrections, line ")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("\n\nmove lane 2 spot 1 to 43,2", "line 3: not understood.*'move lane 2 spot 1 to 43.2"),
        ("move lane 2 spot 1", "line 1: not understood"),
        ('name lane 2 "ledger', "line 1: a quotation mark is not closed"),
        ("sha256: 12", "line 1: sha256: wanted 64 hexadecimal digits"),
        ("accuracy: small", "line 1: accuracy: wanted"),
        ("sheet: two", "line 1: sheet: wanted the number"),
        ("picture: a.jpg\npicture: b.jpg", "line 2: 'picture' was given before"),
        ("wipe lane 2", "line 1: not understood: 'wipe lane 2'. A line begins with picture"),
        ("state lane 1 spot 1 gone", "line 1: not understood"),
        ("corners: 1,2; 3,4", "line 1: not understood"),
    ],
    ids=["comma", "nothing moved", "quotation", "sha256", "accuracy", "sheet", "twice", "word", "state", "corners"],
)
def test_lines_that_are_refused(text, match):
    with pytest.raises(lanewise.OptionError, match=match):
        parse(text)


# ---- what they do


def test_no_corrections_change_nothing(reading, picture):
    assert apply(reading, Corrections()).sheets == reading.sheets
    study = study_of(reading, GIVEN)
    assert recorded(study, reading, Corrections()) == study


def test_moved_spot_keeps_its_width_and_says_by_whom(reading):
    before = _spot(reading, "1", "2")
    after = _spot(apply(reading, parse(BY + "move lane 1 spot 2 to 60")), "1", "2")
    assert (after.centre, after.by) == (60.0, "A. Invented")
    assert after.leading - after.trailing == pytest.approx(before.leading - before.trailing)
    assert _spot(reading, "1", "2") is before


def test_uncertainty_of_a_mark_by_hand(reading):
    mapping = reading.sheets[0].mapping
    # half a pixel over the square root of three, JCGM 100:2008, 4.3.7 (from memory), beside the accuracy
    pixel = 0.5 / mapping.scale / np.sqrt(3)
    assert _spot(apply(reading, parse("move lane 1 spot 2 to 60")), "1", "2").u_centre == pytest.approx(
        np.hypot(ACCURACY, pixel)
    )
    stated = apply(reading, parse("accuracy: 0.5\nmove lane 1 spot 2 to 60"))
    assert _spot(stated, "1", "2").u_centre == pytest.approx(np.hypot(0.5, pixel))
    assert u_by_hand(mapping, 0.0) == pytest.approx(pixel)


def test_added_spot_is_measured_where_the_lane_has_it(reading):
    lane = _lane(reading, "3")
    gone = apply(reading, parse("drop lane 3 spot 2"))
    assert [spot.label for spot in _lane(gone, "3").spots] == ["1", "3"]
    old = lane.spots[1]
    text = f"drop lane 3 spot 2\nadd lane 3 at {old.centre:.3f} from {old.trailing:.3f} to {old.leading:.3f}"
    back = _lane(apply(reading, parse(text)), "3").spots
    assert [spot.label for spot in back] == ["1", "2", "3"]
    assert back[1].colour.word == old.colour.word == "yellow"
    assert back[1].area == pytest.approx(
        old.area, rel=0.05
    )  # two ways to an area: a fit, and a sum above a straight line
    assert back[1].density[2] == pytest.approx(old.density[2], rel=0.05)


def test_each_sheet_is_corrected_on_its_own(reading):
    (sheet,) = reading.sheets
    two = replace(reading, sheets=(sheet, replace(sheet, label="2")))
    first, second = apply(two, parse("drop lane 4\nsheet: 2\ndrop lane 1\nname lane 2 x")).sheets
    assert [lane.label for lane in first.lanes] == ["1", "2", "3"]
    assert [(lane.label, lane.sample) for lane in second.lanes] == [("2", "x"), ("3", ""), ("4", "")]


def test_names_states_and_colours(reading):
    text = BY + 'name lane 2 "ledger blue"\nname lane 2 spot 1 A\nstate lane 2 spot A streak\ncolour lane 2 spot A rose'
    lane = _lane(apply(reading, parse(text)), "2")
    assert lane.sample == "ledger blue"
    assert [(spot.label, spot.state, spot.colour.word, spot.by) for spot in lane.spots] == [
        ("A", "streak", "rose", "A. Invented")
    ]


def test_lines_move_as_a_whole_and_states_follow(reading):
    after = apply(
        reading,
        parse("move front to 50\ndrop lane 1 spot 2\ndrop lane 3 spot 2\ndrop lane 3 spot 3\ndrop lane 4 spot 1"),
    )
    shifts = [new.front - old.front for new, old in zip(after.sheets[0].lanes, reading.sheets[0].lanes, strict=True)]
    np.testing.assert_allclose(shifts, shifts[0])
    assert after.sheets[0].front.at(40.0) == pytest.approx(50.0)
    near = apply(reading, parse(f"move origin to {_spot(reading, '3', '1').centre - 1:.2f}\ndrop lane 1 spot 1"))
    assert _spot(near, "3", "1").state == "at origin"
    away = apply(reading, parse("drop front"))
    assert all(lane.front is None for lane in away.sheets[0].lanes)
    assert "no_front" in {flag.code for flag in away.sheets[0].flags}
    own = apply(reading, parse("move lane 2 origin to 14.5\nmove lane 2 front to 84.5"))
    assert [(lane.origin, lane.front) for lane in own.sheets[0].lanes][1] == (14.5, 84.5)
    assert _lane(own, "1").origin == _lane(reading, "1").origin


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("move lane 9 spot 1 to 40", "line 1: lane: wanted one of '1', '2', '3', '4', given '9'"),
        ("\ndrop lane 2 spot 7", "line 2: lane '2', spot: wanted one of '1', given '7'"),
        ("sheet: 2\ndrop lane 2", "line 2: sheet: wanted one of '1', given '2'"),
        (
            "move lane 2 spot 1 to 143",
            "line 1: lane '2', spot '1': wanted millimetres above the lower edge, 0 to 100, given 143",
        ),
        ("move lane 2 spot 1 from 60 to 50", "line 1: lane '2', spot '1': wanted the edge nearer the origin"),
        ("move lane 2 spot 1 to 95", "line 1: lane '2', spot '1': wanted a darkest point between origin and front"),
        ("move front to 10", "line 1: lane '1': wanted a front above the origin"),
        ("add lane 2 spot 1 at 60 from 58 to 62", "line 1: lane '2': spot '1' is there already"),
        ("name lane 1 spot 2 1", "line 1: lane '1': spot '1' is there already"),
        ("new lane 2 across 40", "line 1: lane '2' is there already"),
        ("new lane 5 across 140", "line 1: lane '5': wanted millimetres from the left edge, 0 to 80"),
        ('state lane 2 spot 1 "at origin"', "line 1: not understood"),
        ("state lane 2 spot 1 at origin", "line 1: lane '2', spot '1': wanted a spot at the origin"),
        ("state lane 2 spot 1 with front", "line 1: lane '2', spot '1': wanted a spot that reaches"),
    ],
    ids=[
        "lane",
        "spot",
        "sheet",
        "off sheet",
        "edges",
        "beyond",
        "lines cross",
        "twice",
        "name twice",
        "lane twice",
        "off to the side",
        "quoted",
        "not at origin",
        "not with front",
    ],
)
def test_corrections_that_cannot_be(reading, text, match):
    with pytest.raises(lanewise.OptionError, match=match):
        apply(reading, parse(text))


@settings(deadline=None, max_examples=60)
@given(st.floats(5.0, 80.0), st.floats(0.3, 4.0), st.floats(0.3, 4.0))
def test_corrected_marks_are_the_marks_of_the_study(at, below, above):
    reading = _read()[1]
    at, low, high = (round(at, 2), round(max(at - below, 0), 2), round(min(at + above, 100), 2))
    try:
        corrected = apply(reading, parse(f"{BY}move lane 2 spot 1 to {at} from {low} to {high}"))
    except lanewise.OptionError as why:
        assert "between origin and front" in str(why)  # noqa: PT017 (only some of the places are possible)
        assert not ORIGIN < at < FRONT
        return
    spot = study_of(corrected, GIVEN).plates[0].lanes[1].spots[0]
    if spot.state == "measured":
        assert (spot.trailing, spot.centre) == (low, at)
        front = _lane(corrected, "2").front
        assert spot.leading == pytest.approx(high if high <= front else max(at, front), abs=1e-4)
    else:
        assert min(at - ORIGIN, FRONT - at) < 1.6


# ---- with a picture


def test_corrections_belong_to_one_picture(picture):
    sha256 = hashlib.sha256(picture).hexdigest()
    right = parse(f"picture: other.png\nsha256: {sha256}\nname lane 1 x")
    assert read_corrected(picture, "inks.png", GIVEN, right).sheets[0].lanes[0].sample == "x"
    for wrong in (f"sha256: {'0' * 64}", "picture: other.png"):
        with pytest.raises(lanewise.OptionError, match=r"made for (another picture|other\.png)"):
            read_corrected(picture, "inks.png", GIVEN, parse(wrong))


def test_study_says_who_corrected_and_gives_the_same_numbers_again(picture, tmp_path):
    file = tmp_path / "inks.png"
    file.write_bytes(picture)
    corrections = tmp_path / "inks.corrections.txt"
    corrections.write_text(
        BY + "move lane 2 spot 1 to 47.5\nadd lane 2 at 70 from 68 to 72 colour blue  # pale\n", "utf-8"
    )
    options = replace(PhotographOptions(size="80 x 100", orientation="up"), corrections=str(corrections))
    from lanewise_photo.importing import read

    class Source:
        name = "inks.png"

        def bytes(self):
            return picture

    study = read(Source(), options)
    plate = study.plates[0]
    assert (
        "Corrected by A. Invented: move lane 2 spot 1 to 47.5; add lane 2 at 70 from 68 to 72 colour blue."
        in plate.note
    )
    assert "Marked by A. Invented." in plate.lanes[1].spots[1].note
    assert plate.lanes[1].spots[1].colour == "blue"
    rf = lanewise.measure(lanewise.to_frame(study)).spots
    own = rf[(rf["lane"] == "2") & (rf["spot"] == "1")].iloc[0]
    lane = plate.lanes[1]
    assert own["rf"] == pytest.approx((47.5 - lane.origin) / (lane.front - lane.origin))
    assert read(Source(), options) == study


BY_HAND = BY + "\n".join(
    [
        "measure: by hand",
        "size: 80 x 100",
        "corners: " + "; ".join(f"{x:g},{y:g}" for x, y in CORNERS),
        "move origin to 15",
        "move front to 85",
        "new lane 1 across 14",
        "name lane 1 'ledger'".replace("'", '"'),
        "add lane 1 at 36 from 33 to 39 colour yellow",
    ]
)


def test_picture_that_was_refused_is_measured_by_hand():

    dark = saved(draw(Scene(light=0.008)))
    with pytest.raises(lanewise.UnreadableFile, match=r"too_dark|no_sheet"):
        measure(dark, "dark.png", GIVEN)
    corrections = parse(BY_HAND)
    reading = read_corrected(dark, "dark.png", GIVEN, corrections)
    study = recorded(study_of(reading, GIVEN), reading, corrections)
    (lane,) = study.plates[0].lanes
    assert (lane.sample, lane.origin, lane.front, lane.traces) == ("ledger", 15.0, 85.0, ())
    assert (lane.spots[0].area, lane.spots[0].factors, lane.spots[0].colour) == (None, {}, "yellow")
    assert "Measured by hand" in study.plates[0].note
    spot = lanewise.measure(lanewise.to_frame(study)).spots.iloc[0]
    assert spot["rf"] == pytest.approx(0.3)
    assert spot["u_rf"] > 0.2 / 70


@pytest.mark.parametrize("left_out", ["size", "corners", "move origin"])
def test_by_hand_wants_all_that_it_needs(picture, left_out):
    text = "\n".join(line for line in BY_HAND.splitlines() if not line.startswith(left_out))
    with pytest.raises(lanewise.OptionError, match="sheet 1 is measured by hand: wanted a line such as"):
        read_corrected(picture, "inks.png", GIVEN, parse(text))


def test_mapping_by_hand_is_the_homography_of_its_corners():
    from photo_pictures import grid_to_picture

    points = np.array([[10.0, 20.0], [70.0, 90.0], [40.0, 50.0]])
    made = through_corners(CORNERS, (80.0, 100.0), (1280, 1460), None, CORNER_U)
    np.testing.assert_allclose(made.pixels(points), grid_to_picture(points), atol=1e-6)


@pytest.mark.parametrize("given", ["nowhere.txt", "nowhere.txt "], ids=["path", "space"])
def test_option_that_names_no_file(given):
    with pytest.raises(lanewise.OptionError, match="option 'corrections': wanted corrections or the path"):
        corrections_of(given)


def test_option_may_be_one_line_of_text():
    assert corrections_of("drop lane 1 spot 2").steps[0].kind == "drop"
    assert corrections_of("by: A. Invented").steps == ()


# ---- what a file may look like, and what it was written about


def test_line_ends_accents_and_spaces_do_not_matter():
    lines = ["by: A. Invented", "on: 2026-03-14", 'name lane 2 "Tinte blau é"', "move lane 2 spot 1 to 47.5"]
    plain = parse("\n".join(lines))
    assert parse("\ufeff" + "\r\n".join(lines) + "\r\n") == parse("\r".join(lines)) == plain
    assert parse("\n".join(f"  {line.replace(' lane ', '   lane  ')}\t " for line in lines)) == plain
    # the letter as e and an accent, as some file systems write it: Unicode Standard Annex 15, normal form C
    assert parse("\n".join(lines).replace("é", "e\u0301")) == plain
    assert plain.steps[0].text == "Tinte blau é"
    assert (plain.steps[0].by, plain.steps[0].on, plain.steps[0].who) == (
        "A. Invented",
        "2026-03-14",
        "A. Invented, 2026-03-14",
    )
    assert parse('name lane 2 "a\x85b"').steps[0].text == "a\x85b"  # only line feeds and returns end a line


def test_who_and_when_hold_until_others_are_named():
    made = parse("by: A\non: 2026-03-14\ndrop lane 1\nby: B\ndrop lane 2\n")
    assert [one.who for one in made.steps] == ["A, 2026-03-14", "B"]
    with pytest.raises(lanewise.OptionError, match=r"line 1: on: wanted a date such as 2026-03-14, given '14\.3\.26'"):
        parse("on: 14.3.26")


ANY_ORDER = [
    "move origin to 14.6",
    "move front to 84.8",
    "new lane 5 across 22",
    'name lane 5 "ledger"',
    "add lane 5 spot x at 40 from 38 to 42",
    "colour lane 5 spot x rose",
    "drop lane 4",
    "move lane 2 origin to 14.2",
    "drop lane 1 spot 2",
    "move lane 2 spot 1 to 47.5",
    "state lane 2 spot 1 streak",
    "name lane 2 spot 1 A",
]


@settings(deadline=None, max_examples=25)
@given(st.permutations(ANY_ORDER))
def test_order_of_lines_does_not_matter(lines):
    def told(text):
        sheet = apply(_read()[1], parse(text)).sheets[0]
        spots = [
            (lane.label, lane.sample, lane.origin, lane.front, s.label, s.state, s.centre, s.colour and s.colour.word)
            for lane in sheet.lanes
            for s in lane.spots
        ]
        return spots, float(sheet.origin.at(40.0)), [flag.code for flag in sheet.flags]

    assert told("\n".join(lines)) == told("\n".join(ANY_ORDER))


def test_of_two_lines_about_one_thing_the_later_holds(reading):
    after = apply(reading, parse("move lane 2 spot 1 to 60\nmove lane 2 spot 1 to 47.5\ndrop front\nmove front to 84"))
    assert _spot(after, "2", "1").centre == 47.5
    assert after.sheets[0].front.at(40.0) == pytest.approx(84.0)


def test_two_spots_change_names_and_either_name_is_understood(reading):
    old = [spot.centre for spot in _lane(reading, "1").spots]
    after = apply(reading, parse("name lane 1 spot 1 2\nname lane 1 spot 2 1"))
    assert [(spot.label, spot.centre) for spot in _lane(after, "1").spots] == [("2", old[0]), ("1", old[1])]
    named = apply(reading, parse("state lane 1 spot B streak\nname lane 1 spot 2 B\ncolour lane 1 spot 2 rose"))
    assert [(s.label, s.state, s.colour.word) for s in _lane(named, "1").spots][1] == ("B", "streak", "rose")


def test_lines_about_what_is_no_longer_there_are_all_told(reading):
    at = _spot(reading, "2", "1").centre
    kept = apply(reading, parse(f"move lane 2 spot 1 near {at + 0.9:.2f} to 50"))
    assert _spot(kept, "2", "1").centre == 50.0
    text = (
        f"move lane 2 spot 1 near {at + 1.2:.2f} to 50\n"
        "name lane 3 near 52 ledger\n"
        "drop lane 2 spot 7 near 60\n"
        "name lane 9 x\n"
        "drop lane 1 spot 1\n"
    )
    with pytest.raises(lanewise.OptionError) as why:
        apply(reading, parse(text))
    said = str(why.value)
    assert [f"line {number}:" in said for number in (1, 2, 3, 4, 5)] == [True, True, True, True, False]
    assert f"lane '2', spot '1': wanted it near {round(at + 1.2, 2):g} mm" in said
    assert "lane '3': wanted it near 52 mm" in said


def test_a_mark_by_hand_is_less_certain_where_the_picture_is_blurred(picture):
    def u(scene):
        data = saved(draw(scene))
        after = read_corrected(data, "inks.png", GIVEN, parse("move lane 2 spot 1 to 46.6"))
        return _spot(after, "2", "1").u_centre

    sharp, blurred = u(Scene()), u(Scene(blur=2.2))
    assert 0.5 < sharp < 0.6
    # a Gaussian of 2.2 pixels beside that of one pixel's area, 1 / sqrt(12), at 5.9 pixels a millimetre
    assert blurred == pytest.approx(np.hypot(0.5, np.hypot(2.2, 0.29) / 5.9), rel=0.08)
    stated = read_corrected(picture, "inks.png", GIVEN, parse("accuracy: 0.3\nmove lane 2 spot 1 to 46.6"))
    assert _spot(stated, "2", "1").u_centre == pytest.approx(0.3, abs=0.01)
