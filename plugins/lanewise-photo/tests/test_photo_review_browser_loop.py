"""From a wrong or missing reading over the review page in a real browser to the record."""

import numpy as np
import pytest
from photo_pictures import CORNERS, FRONT, LANES, MARKS, ORIGIN, Scene, draw, saved
from review_pages import (
    GIVEN,
    IN_A_BROWSER,
    NAME,
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

import lanewise
from lanewise_photo.applying import apply
from lanewise_photo.by_hand import blur_at, read_corrected, recorded
from lanewise_photo.corrections import parse
from lanewise_photo.importing import read
from lanewise_photo.measuring import measure
from lanewise_photo.picture import PictureFile
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.review import review_page, tried
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

pytestmark = IN_A_BROWSER


def _read(text, data, name, folder):
    """Read a picture as the format does, with the saved file as its option."""
    path = folder / f"{name}.corrections.txt"
    path.write_text(text, "utf-8", newline="")

    class Source:
        def __init__(self):
            self.name = name

        def bytes(self):
            return data

    given = PhotographOptions(size="80 x 100", orientation="up", corrections=str(path))
    return read(Source(), given)


def _by_pointer(page):
    x, y = centre_of(page, mark_of(page, 2, 1))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(*screen_at(page, LANES[1], 60.0), steps=4)
    page.mouse.up()


def _by_touch(page):
    mark_of(page, 2, 1).scroll_into_view_if_needed()
    page.touchscreen.tap(*centre_of(page, mark_of(page, 2, 1)))
    to = screen_at(page, LANES[1], 60.0)[1]
    x, y = centre_of(page, mark_of(page, 2, 1))
    swipe(page, x, y, y - to)


def _by_keys(page):
    for _ in range(60):
        page.keyboard.press("Tab")
        if (page.evaluate("document.activeElement.getAttribute('aria-label')") or "").startswith("Lane 2, spot 1,"):
            break
    while now_of(page, 2, 1) < 59.0:
        page.keyboard.press("Shift+ArrowUp")
    while now_of(page, 2, 1) < 60.0:
        page.keyboard.press("ArrowUp")


@pytest.mark.parametrize("hand", [_by_pointer, _by_touch, _by_keys], ids=["pointer", "touch", "keys"])
def test_whole_way_from_a_wrong_mark_to_the_record(opened, tmp_path, hand):
    page = opened(height=900, has_touch=hand is _by_touch)
    was = now_of(page, 2, 1)
    hand(page)
    assert now_of(page, 2, 1) == pytest.approx(60.0, abs=0.4)
    moved = text_of(page)
    page.keyboard.press("Control+z")
    if hand is _by_keys:
        assert "move lane 2 spot 1" not in text_of(page)  # one run of arrow keys is one step
    page.get_by_role("button", name="Redo").press("Enter")
    assert text_of(page) == moved
    page.locator("#by").press_sequentially("A. Invented")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the file").press("Enter")
    text = download.value.path().read_text("utf-8")
    assert f"move lane 2 spot 1 near {was:g} to " in text
    study = _read(text, data_of_inks(), NAME, tmp_path)
    (plate,) = study.plates
    spot = plate.lanes[1].spots[0]
    assert spot.centre == pytest.approx(60.0, abs=0.4)
    assert f"{spot.centre:g}" in text
    today = page.evaluate("today()")
    assert spot.note.endswith(f"Marked by A. Invented, {today}.")
    assert f"Corrected by A. Invented, {today}: " in plate.note
    # a hand on a screen, half a millimetre or more where the picture is blurred, and a pixel
    blur = (
        blur_at(PictureFile(data_of_inks()), reading_of_inks().sheets[0].corners)
        / reading_of_inks().sheets[0].mapping.scale
    )
    assert 0.05 < blur < 0.35  # drawn with 0.6 pixels of blur and averaged over one, at 6 pixels a millimetre
    pixel = 1 / reading_of_inks().sheets[0].mapping.scale / np.sqrt(12)
    assert spot.u_centre == pytest.approx(np.hypot(np.hypot(0.5, blur), pixel), abs=0.006)
    check_numbers(page, study)


def test_review_goes_on_from_a_saved_file(opened, files):
    earlier = "by: B. Invented\non: 2026-03-14\nmove lane 2 spot 1 near 46.5 to 50 from 48 to 52\ndrop lane 1 spot 2\n"
    page = review_page(reading_of_inks(), data_of_inks(), settings=GIVEN, corrections=parse(earlier))
    (files / "again.html").write_bytes(page)
    page = opened("again.html")
    assert now_of(page, 2, 1) == 50.0
    assert page.locator("#by").input_value() == "B. Invented"
    page.locator("#by").fill("A. Invented")
    fill(page, "Darkest point of lane 4, spot 1, mm", "60")
    corrections = parse(text_of(page))
    by = {(one.kind, one.lane): one.who for one in corrections.steps}
    assert by["drop", "1"] == by["move", "2"] == "B. Invented, 2026-03-14"
    assert by["move", "4"].startswith("A. Invented, 20")
    study = corrected(page)
    assert [spot.label for spot in study.plates[0].lanes[0].spots] == ["1"]
    check_numbers(page, study)


def test_front_is_set_where_none_was_found(opened, files):
    data = saved(draw(Scene(front=False)))
    found = tried(data, "wet.png", GIVEN)
    (files / "wet.html").write_bytes(
        review_page(found.reading, data, name="wet.png", refused=found.refused, settings=GIVEN)
    )
    page = opened("wet.html")
    page.get_by_label("sets the front").check()
    page.mouse.click(*screen_at(page, 40.0, FRONT))
    settings = settings_of(PhotographOptions(size="80 x 100", orientation="up", corrections=text_of(page)))
    corrections = parse(text_of(page))
    reading = read_corrected(data, "wet.png", settings, corrections)
    study = recorded(study_of(reading, settings), reading, corrections)
    spots = lanewise.measure(lanewise.to_frame(study)).spots
    for lane, marks in MARKS.items():
        own = spots[spots["lane"] == str(lane + 1)]["rf"]
        assert all(np.abs(own - rf).min() < 0.01 for _, rf in marks)
    check_numbers(page, study)


SCENES = {
    "steep": Scene(corners=np.array([[75.0, 665.0], [590.0, 600.0], [500.0, 95.0], [125.0, 65.0]])),
    "coarse": Scene(size=(420, 480), corners=CORNERS * 0.655),
    "blurred": Scene(blur=2.2),
    "dim": Scene(light=0.4, texture=0.008),
}


@pytest.mark.parametrize("name", SCENES)
def test_numbers_are_those_of_the_library_on_other_pictures(opened, files, name):
    data = saved(draw(SCENES[name]))
    found = tried(data, f"{name}.png", GIVEN)
    (files / f"{name}.html").write_bytes(review_page(found.reading, data, settings=GIVEN))
    page = opened(f"{name}.html")
    check_numbers(page, study_of(found.reading, GIVEN))
    for label in page.evaluate("S.sheets[0].lanes.flatMap(l => l.spots.map(p => `lane ${l.label}, spot ${p.label}`))"):
        field = page.get_by_label(f"Darkest point of {label}, mm")
        field.fill(f"{float(field.input_value()) + 0.35:.2f}")
        page.keyboard.press("Tab")
    corrections = parse(text_of(page))
    reading = read_corrected(data, f"{name}.png", GIVEN, corrections)
    check_numbers(page, study_of(reading, GIVEN))
    shown = page.evaluate("S.sheets[0].lanes.flatMap(l => l.spots.map(p => rfText(ratio(S.sheets[0], l, p))))")
    rows = lanewise.measure(lanewise.to_frame(study_of(reading, GIVEN))).spots
    for (rf, _), row in zip(shown, rows.itertuples(), strict=True):
        assert not rf.startswith("Rf 0") or rf == f"Rf {row.rf:.3f}"


def test_refused_picture_is_measured_by_hand_and_saved(opened, files):
    page = opened("hand.html")
    assert "too_dark" in page.locator("header").inner_text()
    assert page.locator("#missing").is_visible()
    page.get_by_label("Width of the sheet, mm").fill("80")
    page.get_by_label("Height of the sheet, mm").fill("100")
    scale = page.evaluate("view.clientWidth / D.width")
    for name, (px, py) in zip(("Lower left", "Lower right", "Upper right", "Upper left"), CORNERS, strict=True):
        corner = page.locator(f"[role=slider][aria-label='{name} corner of the sheet']")
        corner.scroll_into_view_if_needed()
        x, y = centre_of(page, corner)
        box = page.locator("#view").bounding_box()
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(box["x"] + (px + 0.5) * scale, box["y"] + (py + 0.5) * scale, steps=3)
        page.mouse.up()
    page.locator("[role=slider][aria-label='Lower left corner of the sheet']").focus()
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Shift+ArrowRight")
    page.get_by_label("sets the origin").check()
    page.mouse.click(*screen_at(page, 40.0, ORIGIN))
    fill(page, "Front, middle of the sheet, mm", str(FRONT))
    for lane, marks in MARKS.items():
        page.get_by_label("adds a lane").check()
        page.mouse.click(*screen_at(page, LANES[lane], 50.0))
        page.get_by_label("adds a spot").check()
        for _, rf in marks:
            page.mouse.click(*screen_at(page, LANES[lane], ORIGIN + rf * (FRONT - ORIGIN)))
    page.locator("#by").fill("A. Invented")
    assert not page.locator("#missing").is_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the file").click()
    assert download.value.suggested_filename == "dark.corrections.txt"
    text = download.value.path().read_text("utf-8")
    assert text == text_of(page)
    settings, corrections = settings_of(PhotographOptions()), parse(text)
    reading = read_corrected((files / "dark.png").read_bytes(), "dark.png", settings, corrections)
    study = recorded(study_of(reading, settings), reading, corrections)
    spots = lanewise.measure(lanewise.to_frame(study)).spots
    drawn = [rf for marks in MARKS.values() for _, rf in marks]
    np.testing.assert_allclose(spots["rf"], drawn, atol=0.012)  # a pixel of the screen is 0.2 mm, of a run of 70 mm
    assert ((spots["rf_low"] < drawn) & (drawn < spots["rf_high"])).all()
    check_numbers(page, study, within=0.002)  # the corners' part is followed mode by mode here, by the largest there


def test_read_sheet_can_be_taken_over_by_hand(opened):
    page = opened()
    before = corrected(page)
    page.get_by_role("button", name="Measure it all by hand").click()
    after = corrected(page)
    assert "Measured by hand" in after.plates[0].note
    rf = [lanewise.measure(lanewise.to_frame(study)).spots["rf"].to_numpy() for study in (before, after)]
    np.testing.assert_allclose(rf[0], rf[1], atol=0.0005)
    fill(page, "Height of the sheet, mm", "200")
    taller = lanewise.measure(lanewise.to_frame(corrected(page))).spots["rf"].to_numpy()
    np.testing.assert_allclose(taller, rf[1], atol=0.0005)


OPERATIONS = """([seed, count]) => {
  S = { sheets: structuredClone(D.sheets) };
  for (const lane of S.sheets[0].lanes) lane.spots.forEach((spot) => { spot.id = uid++; });
  let n = seed;
  const next = () => { n = (1103515245 * n + 12345) % 2147483648; return n / 2147483648; };
  const any = (list) => list[Math.floor(next() * list.length)];
  const sheet = S.sheets[0];
  for (let i = 0; i < count; i++) {
    const lane = any(sheet.lanes), spot = any(lane.spots), to = 16 + 68 * next();
    const what = [
      () => spot && moveSpot(sheet, lane, spot, any(["trailing", "centre", "leading"]), to),
      () => spot && moveSpot(sheet, lane, spot, "centre", to),
      () => spot && drop(sheet, lane, spot),
      () => addSpot(sheet, lane, to),
      () => sheet.lanes.length < 7 && addLane(sheet, 5 + 70 * next()),
      () => setLine(sheet, "front", 84 + 4 * next()),
      () => setLine(sheet, "origin", 13 + 3 * next()),
      () => setLaneLine(sheet, lane, any(["origin", "front"]), any([15, 85]) + next()),
      () => spot && rename(lane, spot, any(["A", "B", "1", "2", "x y"])),
      () => spot && (spot.colour = any(["rose", "dark blue"])),
      () => spot && (spot.state = any(["measured", "streak", "unread"])),
      () => { lane.sample = any(["ink #1", 'the "black"']); },
    ];
    any(what)();
  }
  for (const lane of sheet.lanes) if (lane.front <= lane.origin + 40) setLaneLine(sheet, lane, "front", null);
  show();
  return missing();
}"""


def test_whatever_is_done_the_file_says_the_same_as_the_page(opened):
    page = opened()
    page.locator("#by").fill("A. Invented")
    done = 0
    for seed in range(1, 41):
        if page.evaluate(OPERATIONS, [seed, 12]):
            continue
        study = corrected(page)
        check_numbers(page, study)
        shown = page.evaluate(
            "S.sheets[0].lanes.map(l => [l.label, l.sample, l.spots.map(p => [p.label, p.colour]).sort()])"
        )
        kept = [
            [lane.label, lane.sample, sorted([spot.label, spot.colour] for spot in lane.spots)]
            for lane in study.plates[0].lanes
        ]
        colours = {(lane[0], spot[0]): spot[1] for lane in kept for spot in lane[2]}
        for label, sample, spots in shown:
            (own,) = [lane for lane in kept if lane[0] == label]
            assert own[1] == sample
            assert [spot[0] for spot in own[2]] == [spot[0] for spot in spots]
            assert all(colours[label, name] == colour for name, colour in spots if colour)
        done += 1
    assert done > 20


def test_hostile_names_stay_text(opened, files):
    bad = '"><img src=x onerror=alert(1)><script>alert(2)</script>{{data}}'
    given = settings_of(PhotographOptions(size="80 x 100", orientation="up", names=f"{bad}; 'b'; <c>; \u202ed"))
    name = f"{bad.replace('/', '')}.png"
    (files / "bad.html").write_bytes(review_page(measure(data_of_inks(), name, given), data_of_inks(), settings=given))
    page = opened("bad.html")
    assert page.locator("h1").inner_text() == f"Review of {name}"
    assert page.get_by_label("What was applied").first.input_value() == bad
    assert page.locator("img").count() == 0
    page.locator("#by").fill(bad)
    fill(page, "What was applied", '#1 "quoted" \\ name', nth=1)
    page.get_by_label("Name of lane 2, spot 1").fill("ein Punkt é #1")
    page.keyboard.press("Tab")
    corrections = parse(text_of(page))
    assert corrections.picture == name
    after = apply(measure(data_of_inks(), name, given), corrections).sheets[0].lanes[1]
    assert (after.sample, after.spots[0].label) == ('#1 "quoted" \\ name', "ein Punkt é #1")
    assert corrections.steps[-1].by == bad
