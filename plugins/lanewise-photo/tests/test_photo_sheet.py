from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from photo_pictures import CORNERS, FRONT, HEIGHT, ORIGIN, WIDTH, Scene, draw, grid_to_picture, saved
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

from lanewise import UnreadableFile
from lanewise_photo.faint import faint_corners
from lanewise_photo.measuring import measure
from lanewise_photo.orientation import placed_upright
from lanewise_photo.picture import PictureFile
from lanewise_photo.placing import outlines, place
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of
from lanewise_photo.sheet import find_sheets
from lanewise_photo.sides import quadrilateral

GIVEN = PhotographOptions(size="80 x 100", orientation="up", mirrored="no")
SQUARE = np.array([[20.0, 1020.0], [820.0, 1020.0], [820.0, 20.0], [20.0, 20.0]])  # 10 px/mm, as a scanner sees it


def _sheets(code, options=GIVEN, **how):
    return measure(saved(code, **how), "inks", settings_of(options)).sheets


def _rf(sheet):
    (spot,), lane = sheet.lanes[1].spots, sheet.lanes[1]
    return (spot.centre - lane.origin) / (lane.front - lane.origin)


def _codes(sheet):
    return [flag.code for flag in sheet.flags]


def _torn(code):
    """Take 14 mm of the upper left corner away, ragged."""
    teeth = [(14.0 - 14 * t, 100.0 - 14 * t + (1.2 if n % 2 else 0.0)) for n, t in enumerate(np.linspace(0, 1, 13))]
    outline = grid_to_picture(np.array([(14.0, 104.0), *teeth, (-6.0, 86.0), (-6.0, 104.0)]))
    return _painted(code, outline, code[0, 0])


def _finger(code):
    """Lay a finger over the right edge, in the colour of skin."""
    t = np.linspace(-np.pi / 2, np.pi / 2, 20)
    tip = np.stack([77.0 - 6.0 * np.cos(t), 62.0 + 7.0 * np.sin(t)], axis=1)
    outline = grid_to_picture(np.concatenate([[(130.0, 55.0)], tip, [(130.0, 69.0)]]))
    return _painted(code, outline, (52000, 40000, 34000))


def _painted(code, outline, colour):
    mask = Image.new("L", code.shape[1::-1])
    ImageDraw.Draw(mask).polygon([tuple(point) for point in outline], fill=1)
    made = code.copy()
    made[np.asarray(mask) > 0] = colour
    return made


def _on_a_screen(code):
    bars = np.zeros((260, code.shape[1], 3), np.uint16)
    bars[20:35, 30:60] = bars[20:35, -60:-30] = 60000
    return np.concatenate([bars, code, bars])


def _steep():
    return draw(Scene(corners=np.array([[75.0, 665.0], [560.0, 690.0], [470.0, 190.0], [150.0, 175.0]])))


PLACES = {
    "black desk": lambda: draw(Scene(desk=0.004)),
    "desk as bright as grey card": lambda: draw(Scene(desk=0.45)),
    "red desk": lambda: draw(Scene(desk=np.array([0.6, 0.05, 0.05]))),
    "yellow desk": lambda: draw(Scene(desk=np.array([0.8, 0.7, 0.1]))),
    "near the frame": lambda: draw()[55:677, 66:572],
    "torn corner": lambda: _torn(draw()),
    "finger": lambda: _finger(draw()),
    "screen": lambda: _on_a_screen(draw(Scene(desk=0.2))),
    "steep": _steep,
}


@pytest.mark.parametrize("made", PLACES.values(), ids=PLACES)
def test_sheet_is_read_wherever_it_lies(made):
    (sheet,) = _sheets(made())
    assert _rf(sheet) == pytest.approx(0.45, abs=0.006)


def test_desk_like_paper():
    code = draw(Scene(desk=0.82))  # paper 0.86: two code values of 255
    (sheet,) = _sheets(code)
    assert "background_bright" in _codes(sheet)
    assert _rf(sheet) == pytest.approx(0.45, abs=0.01)


def test_no_faint_sheet_in_plain_noise():
    rng = np.random.default_rng(3)
    noise = 200 + 2 * gaussian_filter(rng.normal(size=(240, 300, 3)), (1.5, 1.5, 0)) * 5
    assert faint_corners(noise.astype(np.float32)) is None


def test_torn_corner_is_no_side():
    whole = np.array([[10.0, 10.0], [200.0, 20.0], [190.0, 240.0], [20.0, 230.0]])
    cut = [whole[0] + 0.25 * (whole[1] - whole[0]), *whole[1:], whole[0] + 0.25 * (whole[3] - whole[0])]
    points = np.concatenate(
        [a + np.linspace(0, 1, 300)[:, None] * (b - a) for a, b in zip(cut, cut[1:] + cut[:1], strict=True)]
    )
    np.testing.assert_allclose(quadrilateral(np.round(points)), whole, atol=1.5)


def test_sheet_that_is_cut_off_is_refused():
    with pytest.raises(UnreadableFile, match=r"sheet_cut|no_sheet"):
        _sheets(draw()[:, :500])


def test_scan_that_shows_nothing_but_the_sheet():
    code = draw(Scene(size=(840, 1040), corners=SQUARE))[24:1016, 24:816]
    (sheet,) = _sheets(code, dpi=(254, 254))
    assert "sheet_fills_frame" in _codes(sheet)
    assert _rf(sheet) == pytest.approx(0.45, abs=0.003)
    with pytest.raises(UnreadableFile, match=r"no_sheet|no_origin"):
        _sheets(code)  # no resolution: it may be part of a sheet


def test_several_sheets_only_when_asked_for():
    code = np.hstack([draw(), draw(Scene(marks={1: [("pink", 0.6)]}, seed=2))])
    with pytest.raises(UnreadableFile, match=r"several_sheets: .* Give plates"):
        _sheets(code)
    left, right = _sheets(code, replace(GIVEN, plates=2))
    assert [left.label, right.label] == ["1", "2"]
    assert _rf(left) == pytest.approx(0.45, abs=0.004)
    (spot,), lane = right.lanes[0].spots, right.lanes[0]
    assert (spot.centre - lane.origin) / (lane.front - lane.origin) == pytest.approx(0.6, abs=0.004)
    with pytest.raises(UnreadableFile, match="wanted 3 sheets, found 2"):
        _sheets(code, replace(GIVEN, plates=3))


def test_corners_by_hand_where_nothing_is_seen_of_the_edges():
    text = "; ".join(f"{x},{y}" for x, y in CORNERS)
    (sheet,) = _sheets(draw(Scene(desk=0.86)), replace(GIVEN, corners=text))
    assert _rf(sheet) == pytest.approx(0.45, abs=0.004)


def test_scale_by_a_drawn_bar_of_100_mm():
    ends = np.array([[820.0 + 15, 1020.0], [820.0 + 15, 20.0]])  # 100 mm at 10 px/mm beside the sheet
    text = "; ".join(f"{x:.1f},{y:.1f}" for x, y in ends) + "; 100"
    file = PictureFile(saved(draw(Scene(size=(860, 1040), corners=SQUARE))))
    settings = settings_of(PhotographOptions(orientation="up", bar=text))
    placed = place(file, outlines(file, settings)[0], settings)
    assert placed.scale == "bar"
    assert placed.mapping.height == pytest.approx(100.0, rel=0.003)
    assert placed.mapping.width == pytest.approx(80.0, rel=0.003)


def test_scale_by_the_resolution_of_a_scan():
    file = PictureFile(saved(draw(Scene(size=(860, 1040), corners=SQUARE)), dpi=(254, 254)))
    settings = settings_of(PhotographOptions(orientation="up"))
    placed = place(file, outlines(file, settings)[0], settings)
    assert placed.scale == "resolution"
    assert (placed.mapping.width, placed.mapping.height) == pytest.approx((80.0, 100.0), rel=0.004)


FOCAL, DISTANCE, SHAPE = 1500.0, 250.0, (1200, 900)  # [px], [mm], columns and rows


def _seen_from_above(points, bulge):
    """A pinhole right above a sheet that rises along its middle as a parabola, written out here."""
    x, y = points[..., 0] - WIDTH / 2, points[..., 1] - HEIGHT / 2
    depth = DISTANCE - bulge * (1 - (x / (WIDTH / 2)) ** 2)
    return np.stack([(SHAPE[0] - 1) / 2 + FOCAL * x / depth, (SHAPE[1] - 1) / 2 - FOCAL * y / depth], axis=-1)


def _bulged(bulge, camera=True):
    cover = np.zeros(SHAPE[::-1])
    for dx in (-0.375, -0.125, 0.125, 0.375):
        for dy in (-0.375, -0.125, 0.125, 0.375):
            px, py = np.meshgrid(np.arange(SHAPE[0]) + dx, np.arange(SHAPE[1]) + dy)
            x = np.zeros_like(px)
            for _ in range(12):
                depth = DISTANCE - bulge * np.maximum(1 - (x / (WIDTH / 2)) ** 2, 0.0)
                x = (px - (SHAPE[0] - 1) / 2) * depth / FOCAL
            y = -(py - (SHAPE[1] - 1) / 2) * depth / FOCAL
            cover += ((np.abs(x) < WIDTH / 2) & (np.abs(y) < HEIGHT / 2)) / 16
    light = gaussian_filter(0.03 + 0.69 * cover, 0.8)
    code = 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    exif = Image.Exif()
    if camera:
        exif[0x8769] = {0x920A: 4.2, 0xA405: round(FOCAL * 43.27 / np.hypot(*SHAPE))}
    made = BytesIO()
    Image.fromarray(np.repeat(code.round().astype(np.uint8)[..., None], 3, axis=2)).save(made, "PNG", exif=exif)
    return PictureFile(made.getvalue())


@pytest.mark.parametrize(("bulge", "limit"), [(0.0, 0.02), (2.0, 0.06)], ids=["flat", "2 mm"])
def test_rectification_of_a_sheet_seen_by_a_pinhole(bulge, limit):
    # Limits: the goals set for the reader, 0.06 mm rms for a bulge of 2 mm with a known focal length.
    settings, file = settings_of(GIVEN), _bulged(bulge)
    placed = place(file, outlines(file, settings)[0], settings)
    x, y = np.meshgrid(np.linspace(4, WIDTH - 4, 9), np.linspace(4, HEIGHT - 4, 11))
    grid = np.stack([x.ravel(), y.ravel()], axis=1)
    off = placed.mapping.sheet(_seen_from_above(grid, bulge)) - grid
    assert np.sqrt((off[:, 1] ** 2).mean()) < limit
    assert ("sheet_bulges" in {flag.code for flag in placed.flags}) == (bulge > 1)


@pytest.mark.parametrize("camera", [True, False], ids=["from a camera", "nothing known of the file"])
def test_strong_bulge_is_flagged_or_refused(camera):
    settings, file = settings_of(GIVEN), _bulged(6.0, camera)
    try:
        flags = [flag.code for flag in place(file, outlines(file, settings)[0], settings).flags]
    except UnreadableFile as refusal:
        flags = [str(refusal).split(":")[0]]
    assert {"sheet_bulges", "not_flat"} & set(flags)


def test_twelve_megapixels_are_never_decoded_whole():
    code = np.asarray(Image.fromarray((draw() / 257).astype(np.uint8)).resize((3200, 3650)))
    made = BytesIO()
    Image.fromarray(code).save(made, "JPEG", quality=90)
    file = PictureFile(made.getvalue())
    settings = settings_of(GIVEN)
    placed = placed_upright(file, outlines(file, settings)[0], settings).placed
    assert placed.picture.step >= 2.0
    assert placed.mapping.scale / placed.picture.step > 7.0  # enough pixels a millimetre are left


def test_places_of_lines_survive_the_way():
    (sheet,) = _sheets(draw())
    assert sheet.lanes[1].origin == pytest.approx(ORIGIN, abs=0.1)
    assert sheet.lanes[1].front == pytest.approx(FRONT, abs=0.1)


def test_others_come_last():
    code = np.hstack([draw(), draw()])
    found = find_sheets(PictureFile(saved(code)).decode(700), 1, others=1)
    assert len(found) == 2
    assert abs(found[0].corners[:, 0].mean() - found[1].corners[:, 0].mean()) == pytest.approx(640, abs=6)
