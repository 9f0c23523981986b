import struct
from io import BytesIO

import msgspec
import numpy as np
import pytest
from photo_pictures import draw
from PIL import Image, ImageCms

import lanewise
from lanewise import UnreadableFile
from lanewise_photo.picture import PictureFile

SIDE = 260


def _saved(image, kind, **how):
    made = BytesIO()
    image.save(made, kind, **how)
    return made.getvalue()


def _flat(colour, mode="RGB"):
    return Image.new(mode, (SIDE, SIDE), colour)


def _middle(data, **how):
    return PictureFile(data, **how).decode(5000).pixels[SIDE // 2, SIDE // 2].astype(int).tolist()


BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
D50 = np.array([0.9642, 1.0, 0.8249])  # ICC.1:2010, the profile connection space


def _to_d50(primaries):
    """Linear RGB to XYZ of the connection space, from chromaticities with the white of (0.3127, 0.3290)."""
    full = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in (*primaries, (0.3127, 0.3290))]).T
    matrix = full[:, :3] * np.linalg.solve(full[:, :3], full[:, 3])
    scale = np.diag((BRADFORD @ D50) / (BRADFORD @ full[:, 3]))
    return np.linalg.inv(BRADFORD) @ scale @ BRADFORD @ matrix


P3 = _to_d50([(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)])  # SMPTE EG 432-1, from memory
SRGB = _to_d50([(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)])  # IEC 61966-2-1, from memory


def _profile(matrix, gamma):
    """A profile of ICC.1 with three colours, their curves and a white, written out here."""

    def fixed(values):
        return b"".join(struct.pack(">i", round(65536 * float(one))) for one in values)

    tags = {b"wtpt": b"XYZ \0\0\0\0" + fixed(D50)}
    for number, name in enumerate((b"r", b"g", b"b")):
        tags[name + b"XYZ"] = b"XYZ \0\0\0\0" + fixed(matrix[:, number])
        tags[name + b"TRC"] = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(256 * gamma)) + b"\0\0"
    tags[b"cprt"] = b"text\0\0\0\0none\0\0\0\0"
    tags[b"desc"] = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"made\0" + bytes(79)
    table, body = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    size = start + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"none", 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + bytes(28) + fixed(D50)
    return head + bytes(128 - len(head)) + table + body


@pytest.mark.parametrize("colour", [(200, 60, 60), (90, 180, 90), (230, 200, 90)], ids=["red", "green", "yellow"])
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_wider_primaries_are_converted(colour, kind):
    light = np.linalg.solve(SRGB, P3 @ (np.array(colour) / 255.0) ** 2.2).clip(0, 1)
    code = 255 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    found = _middle(_saved(_flat(colour), kind, icc_profile=_profile(P3, 2.2)))
    np.testing.assert_allclose(found, code, atol=2.0)
    assert np.abs(np.array(colour) - code).max() > 3  # else the test could not fail


def test_profile_of_srgb_changes_nothing():
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert _middle(_saved(_flat((200, 60, 61)), "PNG", icc_profile=srgb)) == [200, 60, 61]


def test_damaged_profile_is_passed_over():
    assert _middle(_saved(_flat((200, 60, 61)), "PNG", icc_profile=b"nothing of use")) == [200, 60, 61]


KINDS = {
    "palette": (lambda: _flat((200, 60, 60)).quantize(4), "PNG", [200, 60, 60], 3),
    "palette with a transparent colour": (lambda: _flat((0, 0, 0)).quantize(2), "PNG", [255, 255, 255], 0),
    "grey": (lambda: _flat(90, "L"), "PNG", [90, 90, 90], 0),
    "grey and alpha": (lambda: _flat((0, 51), "LA"), "PNG", [204, 204, 204], 1),
    "colour and alpha": (lambda: _flat((255, 0, 0, 51), "RGBA"), "PNG", [255, 204, 204], 1),
    "ink colours, TIFF": (lambda: _flat((0, 255, 255, 0), "CMYK"), "TIFF", [255, 0, 0], 1),
    "ink colours, JPEG": (lambda: _flat((0, 255, 255, 0), "CMYK"), "JPEG", [255, 0, 0], 4),
    "one bit": (lambda: _flat(1, "1"), "TIFF", [255, 255, 255], 0),
    "grey JPEG": (lambda: _flat(90, "L"), "JPEG", [90, 90, 90], 1),
}


@pytest.mark.parametrize(("made", "kind", "expected", "off"), KINDS.values(), ids=KINDS)
def test_kinds_of_pixels(made, kind, expected, off):
    how = {"transparency": 0} if expected == [255, 255, 255] and kind == "PNG" else {}
    np.testing.assert_allclose(_middle(_saved(made(), kind, **how)), expected, atol=off)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_flag_of_a_reduced_jpeg(orientation):
    # TIFF 6.0, tag 274: where row 0 and column 0 of what is stored belong.
    corner = {1: "tl", 2: "tr", 3: "br", 4: "bl", 5: "tl", 6: "tr", 7: "br", 8: "bl"}[orientation]
    stored = np.full((480, 640, 3), 40, np.uint8)
    stored[:160, :160] = 220
    exif = Image.Exif()
    exif[0x0112] = orientation
    made = PictureFile(_saved(Image.fromarray(stored), "JPEG", quality=95, exif=exif)).decode(300)
    assert made.step == 2.0
    assert made.pixels.shape[:2] == ((240, 320) if orientation < 5 else (320, 240))
    row, column = 0 if corner[0] == "t" else -1, 0 if corner[1] == "l" else -1
    bright = [(r, c) for r in (0, -1) for c in (0, -1) if made.pixels[r, c, 0] > 200]
    assert bright == [(row, column)]


def _pages(*images, **how):
    return _saved(images[0], "TIFF", save_all=True, append_images=list(images[1:]), **how)


def test_several_pages_are_refused_until_one_is_chosen():
    data = _pages(_flat((10, 0, 0)), _flat((20, 0, 0)), _flat((30, 0, 0)))
    with pytest.raises(UnreadableFile, match=r"the file holds 3 pictures: wanted one. Give page, 1 to 3"):
        PictureFile(data)
    with pytest.raises(UnreadableFile, match=r"wanted page 4, but the file holds 3"):
        PictureFile(data, page=4)
    assert _middle(data, page=2) == [20, 0, 0]


def test_preview_in_a_file_is_no_page():
    preview = _flat((20, 0, 0)).reduce(4)
    preview.encoderinfo = {"tiffinfo": {254: 1}}
    data = _pages(_flat((10, 0, 0)), preview)
    assert PictureFile(data).facts.pages == 1
    assert _middle(data) == [10, 0, 0]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_cut_short(kind):
    noise = np.random.default_rng(1).integers(0, 255, (400, 400, 3)).astype(np.uint8)
    whole = _saved(Image.fromarray(noise), kind)
    with pytest.raises(UnreadableFile, match=r"damaged|cut short"):
        PictureFile(whole[: len(whole) // 2]).decode(5000)


def test_place_and_person_are_not_recorded(tmp_path):
    exif = Image.Exif()
    exif[0x013B], exif[0x010F], exif[0x8298] = "Invented Person", "Invented Maker", "Invented Owner"
    exif[0x8825] = {1: "N", 2: (12.0, 34.0, 56.0), 29: "2026:01:02"}
    exif[0x8769] = {0x9286: b"ASCII\0\0\0Invented Remark"}
    path = tmp_path / "sheet.jpg"
    Image.fromarray((draw() / 257.0).round().astype(np.uint8)).save(path, quality=95, exif=exif)
    assert b"Invented Person" in path.read_bytes()
    from lanewise_photo.measuring import measure
    from lanewise_photo.plugin import PhotographOptions
    from lanewise_photo.settings import settings_of
    from lanewise_photo.study import study_of

    settings = settings_of(PhotographOptions(size="80 x 100", orientation="up"))
    study = study_of(measure(path.read_bytes(), path.name, settings), settings)
    assert isinstance(study, lanewise.Study)
    assert not any(word in msgspec.json.encode(study) for word in (b"Invented", b"2026:01:02", b"34.0"))
