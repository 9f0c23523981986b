from dataclasses import replace

import numpy as np
import pytest
from photo_pictures import LANES, MARKS, Scene, draw, grid_to_picture, saved
from PIL import Image, ImageDraw, ImageFont

from lanewise_photo.flat import Flat
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.writing import Writing, writing_on

NAMES = "B2; E5; F7; K4"
GIVEN = PhotographOptions(size="80 x 100", names=NAMES)
PITCH = 0.25


def _written(text, size=26):
    """A sheet, row 0 at its lower edge, on which a text stands in the font that comes with Pillow, slanted a little."""
    canvas = Image.new("L", (320, 120))
    ImageDraw.Draw(canvas).text((20, 40), text, fill=255, font=ImageFont.load_default(size))
    slanted = canvas.transform(
        canvas.size, Image.Transform.AFFINE, (1, 0.15, -8, 0.03, 1, 0), Image.Resampling.BILINEAR
    )
    density = np.repeat(np.asarray(slanted, dtype=np.float32)[::-1, :, None] / 255 * 0.3, 3, axis=2)
    return Flat(np.ascontiguousarray(density), PITCH, np.full(3, 220.0), 0.0, 0.0, 0.0)


WAYS = {
    "as written": (lambda d: d, 0),
    "mirrored": (lambda d: d[:, ::-1], 1),
    "upside down": (lambda d: d[::-1, ::-1], 2),
    "mirrored upside down": (lambda d: d[::-1], 3),
}


@pytest.mark.parametrize(("turn", "way"), WAYS.values(), ids=WAYS)
def test_way_of_writing(turn, way):
    flat = _written("B E F K 2 4 5 7")
    found = writing_on(replace(flat, density=turn(flat.density)), ("B2", "E5", "F7", "K4"))
    assert len(found.likeness) == 8
    assert found.likeness.mean(axis=0).argmax() == way
    assert min(found.prefers(way, other) for other in range(4) if other != way) > 2.0


@pytest.mark.parametrize("names", [(), ("-",)], ids=["no names", "no letters"])
def test_writing_that_is_not_known_says_nothing(names):
    found = writing_on(_written("B E F K"), names)
    assert found.prefers(0, 1) == 0.0


def test_two_letters_that_agree_are_no_proof():
    # Pooled spread: sqrt((0 + 3 x 0.12^2) / (1 + 3)) = 0.104; two gains of 0.05 are 0.05 / 0.104 x sqrt(2) = 0.68.
    assert Writing(np.array([[0.80, 0.75, 0.1, 0.1]] * 2)).prefers(0, 1) == pytest.approx(0.68, abs=0.005)


def test_strokes_that_look_like_no_letter_do_not_count():
    assert Writing(np.array([[0.5, 0.1, 0.1, 0.1]] * 9)).prefers(0, 1) == 0.0


def _marked(code):
    """Print the corner mark: three discs of four, 2.5 mm wide, 3 and 7 mm from the lower left corner."""
    image = Image.new("L", code.shape[1::-1])
    for x, y in ((3.0, 3.0), (7.0, 3.0), (3.0, 7.0)):
        turn = np.linspace(0, 2 * np.pi, 40)
        disc = grid_to_picture(np.stack([x + 1.25 * np.cos(turn), y + 1.25 * np.sin(turn)], axis=1))
        ImageDraw.Draw(image).polygon([tuple(point) for point in disc], fill=1)
    made = code.copy()
    made[np.asarray(image) > 0] = 6000
    return made


def _labelled(code, names):
    """Write the names below the origin line, each under its lane."""
    made = code.astype(float)
    inverse = {}
    for x, name in zip(LANES, names, strict=True):
        canvas = Image.new("L", (160, 100))
        ImageDraw.Draw(canvas).text((10, 5), name, fill=255, font=ImageFont.load_default(80))
        values = np.asarray(canvas) / 255.0
        for row, column in zip(*np.nonzero(values > 0.5), strict=True):
            place = grid_to_picture(np.array([[x - 4 + column * 0.055, 11.0 - row * 0.055]]))[0]
            inverse[(round(place[1]), round(place[0]))] = 0.35
    for (row, column), density in inverse.items():
        made[row, column] *= 10.0 ** (-density / 2.2)
    return made.astype(np.uint16)


def _sheet(code, **how):
    return measure(saved(code), "inks", settings_of(replace(GIVEN, **how))).sheets[0]


def _found(sheet):
    return [len(lane.spots) for lane in sheet.lanes], [lane.sample for lane in sheet.lanes]


SPOTS = [len(marks) for marks in MARKS.values()]
NAMED = [name.strip() for name in NAMES.split(";")]


@pytest.mark.parametrize(
    "turn", [lambda c: c, lambda c: c[::-1, ::-1], lambda c: np.rot90(c)], ids=["upright", "turned", "sideways"]
)
def test_corner_mark_says_which_end_is_up(turn):
    sheet = _sheet(turn(_marked(draw())), size="80 x 100")
    codes = {flag.code: flag.detail for flag in sheet.flags}
    assert codes["orientation_told"] == "by the corner mark"
    assert not {"orientation_unknown", "mirrored", "mirror_unknown"} & set(codes)
    assert _found(sheet) == (SPOTS, NAMED)


def test_corner_mark_says_that_a_sheet_is_mirrored():
    sheet = _sheet(_marked(draw())[:, ::-1])
    assert "mirrored" in {flag.code for flag in sheet.flags}
    assert _found(sheet) == (SPOTS, NAMED)  # numbered from the right, each lane keeps its own name
    assert np.all(np.diff([lane.x for lane in sheet.lanes]) < 0)


def test_writing_says_that_a_sheet_is_not_mirrored():
    sheet = _sheet(_labelled(draw(), NAMED), orientation="up")
    assert not {"mirrored", "mirror_unknown"} & {flag.code for flag in sheet.flags}


def test_mirrored_writing_never_passes_silently():
    sheet = _sheet(_labelled(draw(), NAMED)[:, ::-1], orientation="up")
    assert {"mirrored", "mirror_unknown"} & {flag.code for flag in sheet.flags}


@pytest.mark.parametrize("turn", [lambda c: c, lambda c: c[::-1, ::-1]], ids=["upright", "turned"])
def test_without_evidence_there_are_two_questions(turn):
    codes = [flag.code for flag in _sheet(turn(draw())).flags]
    assert {"orientation_unknown", "mirror_unknown"} <= set(codes)


def test_user_who_says_that_it_is_mirrored_is_obeyed():
    sheet = _sheet(draw(), orientation="up", mirrored="yes")
    assert [lane.label for lane in sheet.lanes] == ["1", "2", "3", "4"]
    assert np.all(np.diff([lane.x for lane in sheet.lanes]) < 0)


def test_scan_of_no_camera_is_not_asked_about_a_mirror():
    corners = np.array([[20.0, 1020.0], [820.0, 1020.0], [820.0, 20.0], [20.0, 20.0]])
    codes = [flag.code for flag in _sheet(draw(Scene(size=(860, 1040), corners=corners)), orientation="up").flags]
    assert "mirror_unknown" not in codes
