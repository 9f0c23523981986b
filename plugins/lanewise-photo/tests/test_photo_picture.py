from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from lanewise import UnreadableFile
from lanewise_photo.picture import PictureFile


def _pattern(width=333, height=251):
    y, x = np.mgrid[:height, :width]
    return np.stack([x % 256, y % 256, (x // 256 + 4 * (y // 256)) * 16], axis=-1).astype(np.uint8)


def _saved(pixels, kind, **how):
    made = BytesIO()
    Image.fromarray(pixels).save(made, kind, **how)
    return made.getvalue()


TURNS = {  # TIFF 6.0, tag 274: what is to be done to the stored picture
    1: lambda p: p,
    2: lambda p: p[:, ::-1],
    3: lambda p: p[::-1, ::-1],
    4: lambda p: p[::-1],
    5: lambda p: p.transpose(1, 0, 2),
    6: lambda p: p.transpose(1, 0, 2)[:, ::-1],
    7: lambda p: p[::-1, ::-1].transpose(1, 0, 2),
    8: lambda p: p.transpose(1, 0, 2)[::-1],
}


@pytest.mark.parametrize("orientation", TURNS)
def test_orientation_flag(orientation):
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored = _pattern()
    made = PictureFile(_saved(stored, "PNG", exif=exif)).decode(5000)
    np.testing.assert_array_equal(made.pixels, TURNS[orientation](stored))
    assert (made.facts.height, made.facts.width) == made.pixels.shape[:2]


@pytest.mark.parametrize("orientation", TURNS)
def test_places_of_reduced_pixels(orientation):
    exif = Image.Exif()
    exif[0x0112] = orientation
    ramp = np.zeros((251, 333, 3), np.uint8)
    ramp[..., 0] = np.arange(333) // 2
    ramp[..., 1] = np.arange(251)[:, None] // 2
    file = PictureFile(_saved(ramp, "PNG", exif=exif))
    upright = TURNS[orientation](ramp)
    made = file.decode(80)
    assert made.step == 4.0
    row, column = 20, 30
    x, y = made.outside(np.array([column, row], dtype=float))
    expected = upright[round(y - 1.5) : round(y + 2.5), round(x - 1.5) : round(x + 2.5)].mean(axis=(0, 1))
    np.testing.assert_allclose(made.pixels[row, column], expected, atol=0.6)
    np.testing.assert_allclose(made.inside(np.array([x, y])), [column, row])


def test_jpeg_is_decoded_reduced_where_it_may_be():
    y, x = np.mgrid[:1200, :1600]
    wave = (128 + 60 * np.sin(x / 70) + 40 * np.cos(y / 50)).astype(np.uint8)
    file = PictureFile(_saved(np.stack([wave] * 3, axis=-1), "JPEG", quality=95))
    small, whole = file.decode(400), file.decode(1600)
    assert (small.step, whole.step) == (4.0, 1.0)
    place = small.outside(np.array([100.0, 100.0]))
    left, top = (int(one - 1.5) for one in place)
    assert small.pixels[100, 100, 0] == pytest.approx(whole.pixels[top : top + 4, left : left + 4, 0].mean(), abs=2.0)


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bits(kind):
    values = (np.arange(300)[None, :] * np.ones((260, 1)) * 218).astype(np.uint16)
    made = PictureFile(_saved(values, kind)).decode(5000)
    np.testing.assert_allclose(made.pixels[0, :, 1], values[0] / 257.0, atol=0.51)
    assert made.facts.grey


def test_transparent_parts_are_white():
    pixels = np.zeros((260, 260, 4), np.uint8)
    assert (PictureFile(_saved(pixels, "PNG")).decode(5000).pixels == 255).all()


def _bomb():
    import struct
    import zlib

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 30000, 30000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"\xff\xd8\xff nothing", "picture"),
        (b"GIF89a" + bytes(40), "wanted a JPEG, PNG or TIFF"),
        (
            _saved(np.zeros((100, 300, 3), np.uint8), "PNG"),
            "too small: wanted at least 240 pixels a side, given 300 x 100",
        ),
        (_bomb(), "at most 100 megapixels"),
    ],
    ids=["broken head", "other format", "too small", "bomb"],
)
def test_refused(data, match):
    with pytest.raises(UnreadableFile, match=match):
        PictureFile(data)


def test_cut_short():
    rng = np.random.default_rng(1)
    whole = _saved(rng.integers(0, 255, (400, 400, 3)).astype(np.uint8), "JPEG")
    with pytest.raises(UnreadableFile, match="damaged or cut short"):
        PictureFile(whole[: len(whole) // 2]).decode(5000)
