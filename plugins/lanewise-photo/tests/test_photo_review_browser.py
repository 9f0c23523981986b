"""The review page in a real browser: clicks, drags, touch and keys, and what the file says of them."""

from dataclasses import replace

import numpy as np
import pytest
from photo_pictures import LANES
from review_pages import (
    GIVEN,
    IN_A_BROWSER,
    centre_of,
    check_numbers,
    corrected,
    data_of_inks,
    fill,
    mark_of,
    now_of,
    reading_of_inks,
    screen_at,
    swipe,
    text_of,
)

from lanewise_photo.applying import apply
from lanewise_photo.corrections import parse
from lanewise_photo.review import review_page

pytestmark = IN_A_BROWSER


def test_untouched_page_shows_the_library_numbers_and_corrects_nothing(opened):
    page = opened()
    text = text_of(page)
    assert [line.split(":")[0] for line in text.splitlines()] == [
        "picture",
        "sha256",
        "accuracy",
        "on",
        "orientation",
    ]
    check_numbers(page, corrected(page))


def test_geometry_of_the_page_is_that_of_the_reader(opened):
    page = opened()
    mapping = reading_of_inks().sheets[0].mapping
    points = np.array([[0.0, 0.0], [80.0, 100.0], [31.4, 46.5], [66.0, 15.0]])
    seen = page.evaluate("points => points.map(([x, y]) => map(S.sheets[0]).pixels(x, y))", points.tolist())
    np.testing.assert_allclose(seen, mapping.pixels(points), atol=1e-6)
    back = page.evaluate("points => points.map(([x, y]) => map(S.sheets[0]).sheet(x, y))", seen)
    np.testing.assert_allclose(back, points, atol=1e-6)


def test_keys_move_drop_name_and_undo(opened):
    page = opened()
    page.locator("#by").fill("A. Invented")
    mark = mark_of(page, 2, 1)
    before = now_of(page, 2, 1)
    mark.focus()
    for key in ("ArrowUp", "ArrowUp", "Shift+ArrowUp", "ArrowDown"):
        page.keyboard.press(key)
    assert now_of(page, 2, 1) == pytest.approx(before + 1.1, abs=0.011)
    assert page.evaluate("document.activeElement.id") == mark.get_attribute("id")
    page.keyboard.press("Enter")
    page.keyboard.type("A1")
    page.keyboard.press("Enter")
    assert mark_of(page, 2, "A1").count() == 1
    assert page.evaluate("document.activeElement.id").startswith("m-")
    mark_of(page, 3, 2).focus()
    page.keyboard.press("Delete")
    assert mark_of(page, 3, 2).count() == 0
    study = corrected(page)
    assert [spot.label for spot in study.plates[0].lanes[2].spots] == ["1", "3"]
    assert study.plates[0].lanes[1].spots[0].label == "A1"
    assert "Corrected by A. Invented" in study.plates[0].note
    check_numbers(page, study)
    saved_text = text_of(page)
    for _ in range(3):
        page.keyboard.press("Control+z")
    assert [line.split(":")[0] for line in text_of(page).splitlines()][-2:] == ["on", "orientation"]
    for _ in range(3):
        page.keyboard.press("Control+y")
    assert text_of(page) == saved_text


def test_pointer_drags_a_mark_an_edge_and_a_line(opened):
    page = opened()
    x, y = centre_of(page, mark_of(page, 2, 1))
    before = now_of(page, 2, 1)
    page.mouse.move(x, y)
    page.mouse.down()
    target = screen_at(page, LANES[1], before + 12)
    page.mouse.move(x, (y + target[1]) / 2)
    page.mouse.move(target[0], target[1], steps=3)
    page.mouse.up()
    assert now_of(page, 2, 1) == pytest.approx(before + 12, abs=0.3)
    edge = page.locator("[role=slider][aria-label='Lane 2, spot 1, leading edge']")
    ex, ey = centre_of(page, edge)
    page.mouse.move(ex, ey)
    page.mouse.down()
    page.mouse.move(ex, ey - 12, steps=3)
    page.mouse.up()
    assert float(edge.get_attribute("aria-valuenow")) > now_of(page, 2, 1) + 4.5
    front = page.locator("[role=slider][aria-label='front']")
    fx, fy = centre_of(page, front)
    was = float(front.get_attribute("aria-valuenow"))
    page.mouse.move(fx, fy)
    page.mouse.down()
    page.mouse.move(fx, fy - 10, steps=2)
    page.mouse.up()
    assert float(front.get_attribute("aria-valuenow")) > was + 0.5
    assert [line.split(" to ")[0] for line in text_of(page).splitlines()[-2:]] == [
        "move front",
        f"move lane 2 spot 1 near {before:g}",
    ]
    check_numbers(page, corrected(page))


def test_clicks_add_a_spot_and_a_lane(opened):
    page = opened()
    page.get_by_label("adds a spot").check()
    page.mouse.click(*screen_at(page, LANES[3] + 1, 30.0))
    page.get_by_label("adds a lane").check()
    page.mouse.click(*screen_at(page, 22.0, 50.0))
    page.locator(":focus").fill("ledger blue")
    page.get_by_role("button", name="Add a spot to lane 5").click()
    page.get_by_label("Colour of lane 5, spot 1").fill("pale rose")
    fill(page, "Darkest point of lane 5, spot 1, mm", "33.3")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "Leading edge of lane 5, spot 1, mm"
    study = corrected(page)
    lanes = {lane.label: lane for lane in study.plates[0].lanes}
    assert lanes["4"].spots[0].centre == pytest.approx(30.0, abs=0.3)
    assert (lanes["5"].sample, lanes["5"].spots[0].centre, lanes["5"].spots[0].colour) == (
        "ledger blue",
        33.3,
        "pale rose",
    )
    check_numbers(page, study)


def test_states_follow_the_place_and_can_be_stated(opened):
    page = opened()
    page.get_by_label("State of lane 3, spot 2").select_option("streak")
    fill(page, "Darkest point of lane 1, spot 1, mm", "15.6")
    fill(page, "Darkest point of lane 4, spot 1, mm", "84.4")
    page.get_by_label("State of lane 1, spot 2").select_option("unread")
    fill(page, "Origin here, mm", "14.4", nth=1)
    fill(page, "Front here, mm", "84.1", nth=1)
    page.locator("#accuracy").fill("0.4")
    study = corrected(page)
    states = [[spot.state for spot in lane.spots] for lane in study.plates[0].lanes]
    assert states == [["at origin", "unread"], ["measured"], ["measured", "streak", "measured"], ["with front"]]
    assert (study.plates[0].lanes[1].origin, study.plates[0].lanes[1].front) == (14.4, 84.1)
    check_numbers(page, study)
    fill(page, "Front, middle of the sheet, mm", "")
    assert "drop front" in text_of(page)
    check_numbers(page, corrected(page))


def test_impossible_edges_and_names_are_refused_in_words(opened):
    page = opened()
    before = text_of(page)
    low = page.get_by_label("Trailing edge of lane 2, spot 1, mm")
    old = low.input_value()
    low.fill("60")
    page.keyboard.press("Tab")
    assert page.locator("#live").inner_text() == "The darkest point lies between the two edges: not changed."
    assert low.input_value() == old
    fill(page, "Name of lane 1, spot 1", "2")
    assert "There is a spot 2" in page.locator("#live").inner_text()
    assert text_of(page) == before


def test_touch_moves_and_adds(opened):
    page = opened(width=390, height=844, has_touch=True, is_mobile=True)
    mark = mark_of(page, 3, 2)
    mark.scroll_into_view_if_needed()
    before, text = now_of(page, 3, 2), text_of(page)
    swipe(page, *centre_of(page, mark), 24)
    assert text_of(page) == text  # a swipe over a mark that was not tapped scrolls, and moves nothing
    page.wait_for_timeout(500)  # until the scrolling has come to rest, since a tap would stop it
    mark.scroll_into_view_if_needed()
    page.touchscreen.tap(*centre_of(page, mark))
    assert page.locator("#which").inner_text().startswith("Lane 3, spot 2")
    swipe(page, *centre_of(page, mark), 24)
    moved = now_of(page, 3, 2)
    assert moved > before + 3
    page.get_by_role("button", name="0.1 mm towards the front").tap()
    assert now_of(page, 3, 2) == pytest.approx(moved + 0.1)
    leading = page.locator("[role=slider][aria-label='Lane 3, spot 2, leading edge']")
    was = float(leading.get_attribute("aria-valuenow"))
    leading.scroll_into_view_if_needed()
    swipe(page, *centre_of(page, leading), 20)
    assert float(leading.get_attribute("aria-valuenow")) > was + 2
    assert now_of(page, 3, 2) == pytest.approx(moved + 0.1)
    page.get_by_label("adds a spot").tap()
    page.touchscreen.tap(*screen_at(page, LANES[1], 70.0))
    assert now_of(page, 2, 2) == pytest.approx(70.0, abs=0.6)
    check_numbers(page, corrected(page))


def test_front_that_is_taken_away_and_set_again(opened):
    page = opened()
    fill(page, "Front, middle of the sheet, mm", "")
    fill(page, "Front, middle of the sheet, mm", "86")
    check_numbers(page, corrected(page))


def test_two_sheets_have_names_and_lines_of_their_own(opened, files):
    (sheet,) = reading_of_inks().sheets
    two = replace(reading_of_inks(), sheets=(sheet, replace(sheet, label="2")))
    (files / "two.html").write_bytes(review_page(two, data_of_inks(), settings=GIVEN))
    page = opened("two.html")
    fill(page, "Darkest point of sheet 2, lane 2, spot 1, mm", "50")
    fill(page, "Darkest point of sheet 1, lane 1, spot 1, mm", "40")
    corrections = parse(text_of(page))
    assert [(one.sheet, one.kind, one.at) for one in corrections.steps[1:]] == [
        ("1", "move", 40.0),
        ("2", "move", 50.0),
    ]
    assert apply(two, corrections).sheets[1].lanes[1].spots[0].centre == 50.0


def test_text_can_be_copied(opened):
    page = opened()
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.get_by_role("button", name="Copy the text").click()
    page.wait_for_function("document.getElementById('live').textContent === 'Copied.'")
