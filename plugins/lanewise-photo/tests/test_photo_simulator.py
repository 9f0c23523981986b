"""The simulator is what it says: the same bytes each time, its truth is in its pixels, its formulas are the books'."""

import io

import numpy as np
import pytest
from PIL import Image, ImageOps
from scipy.ndimage import map_coordinates
from simulator import FAULTS, KINDS, make
from simulator.colour import BANDS, DYES, encode, lab
from simulator.draw import Draw
from simulator.files import encoded, reopened, stored
from simulator.mixing import MODELS, Mixture, endless, load_of
from simulator.paint import Outline
from simulator.spots import Spot, measure
from simulator.surface import SHAPES, Crease, Surface
from simulator.views import Places, Seen, draw_camera, draw_scanner

QUIET = {
    "electrons": 1e12,
    "read": 0.0,
    "contrast": 0.0,
    "saturation": 1.0,
    "flare": 0.0,
    "sharpen": 0.0,
    "core": 0.0,
    "texture": 0.001,
    "mottle": 0.0,
    "raggedness": 0.0,
    "soft": 0.0,
    "stains": 0.0,
    "specks": 0.0,
    "fibres": 0.0,
    "cast": (1.0, 1.0, 1.0),
    "outlined": False,
    "crease": False,
    "layer": "paper",
    "bulge": 0.0,
    "front": "pencil",
}
DARK = {
    "gradient": 0.0,
    "vignette": 0.0,
    "soft_shadow": False,
    "tone_mapped": False,
    "mixed_light": 0.0,
    "low_light": 0.0,
}


def linear(image):
    """Undo the curve of IEC 61966-2-1, written a second time."""
    v = image / (255.0 if image.dtype == np.uint8 else 65535.0)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


@pytest.fixture(scope="module")
def quiet():
    """A picture without noise, unevenness or processing."""
    return make("phone", 12, megapixels=1.2, smooth=0.0, desk="black bench", orientation_mark=True, **QUIET, **DARK)


@pytest.mark.parametrize("kind", [*KINDS, "turned", "screenshot"])
def test_the_same_seed_gives_the_same_bytes(kind):
    first, second = (make(kind, 5, megapixels=0.4) for _ in range(2))
    assert first.bytes() == second.bytes()
    assert first.bytes() != make(kind, 6, megapixels=0.4).bytes()


def test_a_change_leaves_all_other_choices_as_they_were():
    plain, other = make("phone", 3, megapixels=0.4), make("phone", 3, megapixels=0.4, quality=50, front_od=0.2)
    assert plain.truth.spots == other.truth.spots
    assert plain.truth.file["quality"] != other.truth.file["quality"] == 50
    bent = make("phone", 3, megapixels=0.4, bulge=2.0)
    assert bent.truth.spots == plain.truth.spots
    assert np.abs(bent.truth.corners - plain.truth.corners).max() > 0.5


def test_a_wrong_change_or_kind_is_refused():
    with pytest.raises(TypeError, match="without effect on this picture: colour"):
        make("phone", 1, megapixels=0.3, colour="red")
    with pytest.raises(ValueError, match="kind: wanted one of scan, phone, hard, no_sheet"):
        make("photo", 1)


@pytest.mark.parametrize("shape", SHAPES)
def test_the_way_back_from_a_pixel_to_the_sheet_undoes_the_way_there(shape):
    surface = Surface(width=80, height=120, bulge=3.0, shape=shape, turn=0.02)
    seen = Seen(draw_camera(Draw("hard", 4, {"megapixels": 1.0}), [surface]), surface)
    x, y = np.meshgrid(np.linspace(1, 79, 9), np.linspace(1, 119, 9))
    at = seen.pixels(x, y)
    back_x, back_y = seen.sheet(at[..., 0], at[..., 1])
    assert np.abs(back_x - x).max() < 2e-4
    assert np.abs(back_y - y).max() < 2e-4


def test_the_scanner_goes_there_and_back():
    surface = Surface(width=80, height=120)
    seen = Seen(draw_scanner(Draw("scan", 4, {}), [surface]), surface)
    x, y = np.meshgrid(np.linspace(1, 79, 9), np.linspace(1, 119, 9))
    at = seen.pixels(x, y)
    np.testing.assert_allclose(seen.sheet(at[..., 0], at[..., 1]), [x, y], atol=1e-6)


@pytest.mark.parametrize(
    ("crease", "allowed"),
    [(None, 0.002), (Crease(angle=1.4, place=60.0, height=0.5, reach=12.0), 0.02)],
    ids=["smooth", "creased"],
)
def test_places_between_the_points_of_the_coarse_grid_are_right(crease, allowed):
    surface = Surface(width=80, height=120, bulge=1.5, shape="skew", crease=crease)
    seen = Seen(draw_camera(Draw("hard", 7, {"megapixels": 2.0}), [surface]), surface)
    rows, columns = seen.box(0, 80, 0, 120)
    x, y = Places(seen.sheet, rows, columns).strip(rows.start + 200, rows.start + 208)
    column, row = np.meshgrid(np.arange(columns.start, columns.stop), np.arange(rows.start + 200, rows.start + 208))
    exact_x, exact_y = seen.sheet(column.astype(float), row.astype(float))
    inside = (exact_x > 0) & (exact_x < 80)
    assert np.hypot(x - exact_x, y - exact_y)[inside].max() < allowed  # mm


def test_an_arched_sheet_does_not_stretch():
    surface = Surface(width=80, height=100, bulge=6.0, shape="arch along")
    y = np.linspace(0, 100, 4001)
    place = np.stack(surface.space(np.full_like(y, 40.0), y))
    length = np.linalg.norm(np.diff(place, axis=1), axis=0).sum()
    assert abs(length - 100) < 0.01


def test_edges_lie_in_the_pixels_where_the_truth_says(quiet):
    """The half-way level between desk and sheet beside the middle between two true corners."""
    light, corners = linear(quiet.image)[..., 1], quiet.truth.corners
    for a, b, c in ((0, 3, 1), (1, 2, 0), (0, 1, 3), (3, 2, 0)):
        middle = (corners[a] + corners[b]) / 2
        inward = (corners[c] - corners[a]) / np.linalg.norm(corners[c] - corners[a])
        steps = np.arange(-8, 8, 0.05)
        places = middle + steps[:, None] * inward
        seen = map_coordinates(light, [places[:, 1], places[:, 0]], order=1)
        inside = seen > (seen[-20:].mean() + seen[:20].mean()) / 2
        crossing = steps[int(np.argmax(inside))]
        assert abs(crossing) / quiet.truth.pixels_per_mm < 0.15  # mm; scissors waver by up to 0.1


def test_spots_are_darkest_where_the_truth_says(quiet):
    light, truth, off = linear(quiet.image), quiet.truth, []
    for spot in truth.spots:
        if spot.overlapped or spot.near_end or spot.peak < 0.08 or spot.shape in ("streak", "fronting"):
            continue
        y = np.arange(-0.8, 0.8, 0.05) * spot.sigma
        channel = ("red", "green", "blue").index(spot.channel)
        lines = []
        for x in spot.x + spot.sigma_x * np.linspace(-0.5, 0.5, 7):
            at = truth.pixels(np.full_like(y, x), spot.apex + y)
            lines.append(map_coordinates(light[..., channel], [at[:, 1], at[:, 0]], order=3))
        third = np.polynomial.Polynomial.fit(y, -np.log10(np.mean(lines, axis=0)), 4)
        tops = third.deriv().roots()
        off.append(min(abs(top.real) for top in tops if abs(top.imag) < 1e-9))
    assert len(off) >= 3
    assert max(off) < 0.08  # mm


def test_density_in_the_pixels_is_the_true_one(quiet):
    light, truth = linear(quiet.image), quiet.truth
    checked = 0
    for spot in truth.spots:
        if spot.overlapped or spot.near_end or spot.sigma < 0.8 or spot.state != "measured":
            continue
        channel = ("red", "green", "blue").index(spot.channel)
        at = truth.pixels(spot.x + np.array([0, -4.6, 4.6]) * spot.sigma_x, np.full(3, spot.apex))
        here, *beside = map_coordinates(light[..., channel], [at[:, 1], at[:, 0]], order=1)
        assert -np.log10(here / np.mean(beside)) == pytest.approx(spot.peak, abs=0.03, rel=0.06)
        checked += 1
    assert checked >= 3


def test_the_orientation_mark_is_in_the_pixels(quiet):
    light, truth = linear(quiet.image)[..., 1], quiet.truth
    at = truth.pixels(*truth.mark.T)
    dark = map_coordinates(light, [at[:, 1], at[:, 0]], order=1)
    missing = truth.pixels(7.0, 7.0)
    assert dark.max() < 0.4 * map_coordinates(light, [[missing[1]], [missing[0]]], order=1)[0]


# Textbook table of K/S: R 1, 0.9, 0.8, 0.5, 0.25, 0.1 (Kubelka and Munk 1931, (1 - R)^2 / (2 R)).
@pytest.mark.parametrize(
    ("reflectance", "load"), [(1, 0), (0.9, 0.005556), (0.8, 0.025), (0.5, 0.25), (0.25, 1.125), (0.1, 4.05)]
)
def test_kubelka_and_munk(reflectance, load):
    assert load_of(np.array(reflectance)) == pytest.approx(load, abs=5e-7)
    assert endless(load_of(np.array(reflectance))) == pytest.approx(reflectance, abs=1e-12)


def mixture(model, **changes):
    given = {"bare": 0.0, "outer": 0.03, "inner": 0.45, "depth": 2.0, "ground": 0.8} | changes
    sensor = np.full((3, len(BANDS)), 1 / len(BANDS))
    return Mixture(model=model, paper=np.full(len(BANDS), 0.86), sensor=sensor, **given)


def test_models_agree_where_they_must_and_differ_elsewhere():
    load = np.linspace(0, 1, 5)[:, None] * np.ones(len(BANDS))
    plain = mixture("kubelka-munk").density(load)
    np.testing.assert_allclose(mixture("saunderson", outer=0.0, inner=0.0).density(load), plain, atol=1e-12)
    np.testing.assert_allclose(mixture("finite", depth=200.0).density(load), plain, atol=1e-9)
    for model in MODELS[1:]:
        assert np.abs(mixture(model).density(load) - plain).max() > 0.01
    beer = mixture("density").density(load)[:, 0]
    np.testing.assert_allclose(np.diff(beer), beer[1], rtol=1e-9)  # density of a filter is proportional to load


@pytest.mark.parametrize("model", MODELS)
def test_a_dye_gets_the_density_that_was_asked_for(model):
    for dye in DYES:
        amount = mixture(model).amount(dye.absorptivity, 0.2)
        assert mixture(model).density(amount * dye.absorptivity[None, :]).max() == pytest.approx(0.2, abs=0.002)


# Code values 10, 64, 128, 200, 255 of linear light (IEC 61966-2-1, six decimals as printed in handbooks).
@pytest.mark.parametrize(
    ("code", "light"), [(10, 0.003035), (64, 0.051269), (128, 0.215861), (200, 0.577580), (255, 1.0)]
)
def test_code_values(code, light):
    assert encode(light) * 255 == pytest.approx(code, abs=2e-3)


# sRGB primaries in CIELAB, D65, 2 degrees (widely printed, two decimals; from memory).
@pytest.mark.parametrize(
    ("light", "expected"),
    [((1, 0, 0), (53.24, 80.09, 67.20)), ((0, 1, 0), (87.73, -86.18, 83.18)), ((0, 0, 1), (32.30, 79.19, -107.86))],
    ids=["red", "green", "blue"],
)
def test_cielab(light, expected):
    np.testing.assert_allclose(lab(np.array(light)), expected, atol=0.06)


def test_a_pale_normal_spot_is_four_sigma_wide_at_its_base():
    """Base width between tangents at the points of inflection of a normal distribution (textbook relation)."""
    dye = DYES[0]
    spot = Spot(lane=0, dye=dye, x=20, y=50, sigma=1.5, sigma_x=1.2, load=1e-4)
    found = measure(spot, mixture("density"), (0.0, 0.0), np.inf)
    assert found.apex == pytest.approx(50, abs=0.002)
    assert found.leading - found.trailing == pytest.approx(4 * 1.5, abs=0.02)
    assert found.centroid == pytest.approx(50, abs=0.005)


def test_a_tail_lies_towards_the_origin_and_has_its_mean_length():
    spot = Spot(lane=0, dye=DYES[0], x=20, y=60, sigma=1.2, sigma_x=1.2, tau=3.0, load=1e-4)
    found = measure(spot, mixture("density"), (0.0, 0.0), np.inf)
    assert found.trailing < found.centroid < found.apex < found.leading
    grid, made = spot.profile
    assert (grid * made).sum() / made.sum() == pytest.approx(-3.0, abs=0.03)


@pytest.mark.parametrize("flag", range(1, 9))
@pytest.mark.parametrize("form", ["png", "tiff", "jpeg"])
def test_every_orientation_flag_gives_the_upright_picture(flag, form):
    image = np.zeros((48, 64, 3), dtype=np.uint8)
    image[:16, :16], image[-16:, :16] = (250, 20, 20), (20, 20, 250)
    data = encoded(image, form, {"orientation": flag, "quality": 95, "subsampling": 0, "focal_35": 26})
    with Image.open(io.BytesIO(data)) as opened:
        upright = np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))
    assert upright.shape == image.shape
    assert np.abs(upright.astype(int) - image).max() < 12
    assert stored(image, flag).shape == (image.shape if flag < 5 else (64, 48, 3))


def test_sixteen_bits_survive():
    image = (np.arange(24 * 32 * 3).reshape(24, 32, 3) * 28).astype(np.uint16)
    data = encoded(image, "tiff", {"dpi": 300})
    assert image.astype("<u2").tobytes() in data
    with Image.open(io.BytesIO(data)) as opened:
        assert opened.size == (32, 24)
        assert opened.tag_v2[258] == (16, 16, 16)
        assert float(opened.tag_v2[282]) == 300
    assert np.abs(reopened(encoded(image, "png", {})).astype(int) - image // 256).max() <= 1


def test_lower_quality_has_coarser_quantisation_and_a_focal_length_is_noted():
    picture = make("phone", 2, megapixels=0.3)
    tables = []
    for quality in (90, 50):
        with Image.open(
            io.BytesIO(encoded(picture.image, "jpeg", {**picture.truth.file, "quality": quality}))
        ) as opened:
            tables.append(np.sum(list(opened.quantization.values())))
            assert opened.getexif().get_ifd(0x8769)[0xA405] == picture.truth.file["focal_35"]
    assert tables[1] > 3 * tables[0]


def test_truth_of_good_pictures_is_whole():
    for kind in KINDS:
        picture = make(kind, 9, megapixels=0.6)
        truth = picture.truth
        rows, columns = picture.image.shape[:2]
        assert truth.readable
        assert truth.fault is None
        assert ((truth.corners >= 0) & (truth.corners <= [columns - 1, rows - 1])).all()
        assert 1 <= len(truth.lanes) <= 8
        for spot in truth.spots:
            assert spot.trailing <= spot.apex <= spot.leading
            assert -0.05 < spot.rf < 1.05
            assert spot.peak == max(spot.od) > 0
        np.testing.assert_allclose(truth.pixels(truth.grid_x[3], truth.grid_y[5]), truth.grid_pixels[5, 3], atol=1e-6)


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_can_be_made(name):
    own = {} if "megapixels" in FAULTS[name].changes else {"megapixels": 0.3}
    picture = make(name, 2, **own)
    assert picture.truth.fault == name
    assert picture.truth.readable == FAULTS[name].readable
    assert len(picture.bytes()) > 2000


@pytest.mark.parametrize("name", ["turned", "mirrored", "sideways", "compressed_twice", "screenshot"])
def test_truth_is_carried_along(name):
    """The darkest strong spot lies where the truth says, before and after."""
    plain, changed = make("phone", 12, megapixels=0.7, lanes=3), make(name, 12, megapixels=0.7, lanes=3)
    spot = max(plain.truth.spots, key=lambda one: one.peak)
    for picture in (plain, changed):
        light, truth = picture.image.astype(float), picture.truth
        channel = ("red", "green", "blue").index(spot.channel)
        at = truth.pixels(spot.x + np.array([0.0, 5 * spot.sigma_x]), np.full(2, spot.apex))
        here, beside = map_coordinates(light[..., channel], [at[:, 1], at[:, 0]], order=1)
        assert beside - here > 15


def test_an_outline_is_where_it_was_cut():
    outline = Outline(left=np.full(300, 0.3), right=np.zeros(300), low=np.zeros(300), high=np.zeros(300))
    assert outline.distance(np.array([0.3, 5.0]), np.array([50.0, 50.0]), 80, 100) == pytest.approx([0.0, 4.7])
