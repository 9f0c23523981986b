import re
from xml.etree import ElementTree

import pytest
from photo_pictures import draw, saved

from lanewise_photo.applying import apply
from lanewise_photo.corrections import parse
from lanewise_photo.measuring import measure
from lanewise_photo.overlay import draw_overlay
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.shown import SHAPES

GIVEN = settings_of(PhotographOptions(size="80 x 100", orientation="up", names="ink A; ink B; <ink> & C; ink D"))
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def data():
    return saved(draw())


@pytest.fixture(scope="module")
def reading(data):
    return measure(data, "inks.png", GIVEN)


def _titles(root):
    return [title.text for title in root.iter(f"{SVG}title")]


def test_every_reading_is_drawn_and_told(reading, data):
    made = draw_overlay(reading, data)
    root = ElementTree.fromstring(made)
    titles = _titles(root)
    spots = [(lane, spot) for lane in reading.sheets[0].lanes for spot in lane.spots]
    for lane, spot in spots:
        (title,) = [text for text in titles if text.startswith(f"lane {lane.label}, spot {spot.label}, ")]
        assert f"{spot.centre:.2f} mm" in title
        assert spot.colour.word in title
    told = root.find(f"{SVG}desc").text
    assert all(f"{spot.centre:.2f} mm" in told for _, spot in spots)
    assert "<ink> & C" in told
    assert root.get("role") == "img"
    assert draw_overlay(reading, data) == made


def test_marks_lie_where_the_dye_was_drawn(reading, data):
    from photo_pictures import FRONT, LANES, MARKS, ORIGIN, grid_to_picture

    root = ElementTree.fromstring(draw_overlay(reading, data))
    places = [
        re.match(r"translate\(([\d.]+) ([\d.]+)\)", path.get("transform", "")) for path in root.iter(f"{SVG}path")
    ]
    drawn = {(float(found[1]), float(found[2])) for found in places if found}
    import numpy as np

    for lane, marks in MARKS.items():
        for _, rf in marks:
            x, y = grid_to_picture(np.array([LANES[lane], ORIGIN + rf * (FRONT - ORIGIN)]))
            assert min(np.hypot(x - u, y - v) for u, v in drawn) < 3.0  # pixels, 0.3 mm


def test_state_is_told_by_shape(reading, data):
    text = "state lane 2 spot 1 streak\nstate lane 4 spot 1 unread"
    root = ElementTree.fromstring(draw_overlay(apply(reading, parse(text)), data))
    drawn = [path.get("d") for path in root.iter(f"{SVG}path")]
    legend = 2  # rim and line, in the picture and in the key
    assert drawn.count(SHAPES["streak"]) == 2 + legend
    assert drawn.count(SHAPES["unread"]) == 2 + legend
    assert len(set(SHAPES.values())) == len(SHAPES)


def test_what_a_person_marked_has_a_dot(reading, data):
    made = draw_overlay(apply(reading, parse("by: A. Invented\nmove lane 2 spot 1 to 50")), data)
    root = ElementTree.fromstring(made)
    assert len(list(root.iter(f"{SVG}circle"))) == 2
    assert any("marked by A. Invented" in title for title in _titles(root))


def test_picture_is_embedded_or_linked(reading, data):
    embedded = ElementTree.fromstring(draw_overlay(reading, data, most=400)).find(f"{SVG}image").get("href")
    assert embedded.startswith("data:image/jpeg;base64,")
    linked = ElementTree.fromstring(draw_overlay(reading, data, link="inks & more.png")).find(f"{SVG}image")
    assert linked.get("href") == "inks & more.png"
    assert (linked.get("width"), linked.get("height")) == (str(reading.width), str(reading.height))
