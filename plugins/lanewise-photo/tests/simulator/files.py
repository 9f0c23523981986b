"""Pictures as files: JPEG with its quantisation, PNG, TIFF of 8 and 16 bits, and what cameras note in them."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[Any]  # uint8 or uint16

# EXIF orientation: what to do to a stored picture to see it upright, as (turns by 90 degrees to the left, mirrored).
_UPRIGHT = {
    1: (0, False),
    2: (0, True),
    3: (2, False),
    4: (2, True),
    5: (3, True),
    6: (3, False),
    7: (1, True),
    8: (1, False),
}


def stored(upright: Pixels, orientation: int) -> Pixels:
    """Turn an upright picture into the one that, with this orientation flag, is seen so."""
    turns, mirrored = _UPRIGHT[orientation]
    back = np.rot90(upright, -turns)
    if mirrored:  # flags 5 and 7 mirror along the other axis of the stored picture
        back = back[:, ::-1] if turns % 2 == 0 else back[::-1]
    return np.ascontiguousarray(back)


def _exif(orientation: int, focal_35: float | None) -> Image.Exif:
    tags = Image.Exif()
    tags[0x0112] = orientation
    if focal_35:
        inner = tags.get_ifd(0x8769)
        inner[0x920A] = round(focal_35 / 6.2, 2)
        inner[0xA405] = round(focal_35)
    return tags


def jpeg(
    image: NDArray[np.uint8], quality: int, subsampling: int, exif: Image.Exif | None = None, dpi: float = 0
) -> bytes:
    """Write a JPEG; subsampling 0 is 4:4:4, 1 is 4:2:2, 2 is 4:2:0."""
    out = io.BytesIO()
    extra: dict[str, Any] = {"exif": exif.tobytes()} if exif is not None else {}
    if dpi:
        extra["dpi"] = (round(dpi), round(dpi))
    Image.fromarray(image).save(out, "JPEG", quality=quality, subsampling=subsampling, **extra)
    return out.getvalue()


def reopened(data: bytes) -> NDArray[np.uint8]:
    """Decode a picture as stored."""
    with Image.open(io.BytesIO(data)) as image:
        return np.asarray(image.convert("RGB"))


def tiff(image: Pixels, orientation: int, dpi: float) -> bytes:
    """Write an uncompressed baseline TIFF of 8 or 16 bits a sample (TIFF 6.0, section 3 to 6)."""
    rows, columns, samples = image.shape
    bits = image.dtype.itemsize * 8
    body = image.astype(image.dtype.newbyteorder("<")).tobytes()
    entries = [
        (256, 4, 1, columns),
        (257, 4, 1, rows),
        (258, 3, samples, None),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, None),
        (274, 3, 1, orientation),
        (277, 3, 1, samples),
        (278, 4, 1, rows),
        (279, 4, 1, len(body)),
        (282, 5, 1, None),
        (283, 5, 1, None),
        (284, 3, 1, 1),
        (296, 3, 1, 2),
    ]
    after = 8 + 2 + 12 * len(entries) + 4
    extra = (
        struct.pack("<3H", *[bits] * samples)
        + b"\0\0"
        + struct.pack("<4I", round(dpi * 100), 100, round(dpi * 100), 100)
    )
    places = {258: after, 282: after + 8, 283: after + 16, 273: after + len(extra)}
    head = struct.pack("<2sHIH", b"II", 42, 8, len(entries))
    for tag, kind, count, value in entries:
        number = places.get(tag, value)
        packed = struct.pack("<HH", number, 0) if kind == 3 and count == 1 else struct.pack("<I", number)
        head += struct.pack("<HHI", tag, kind, count) + packed
    return head + struct.pack("<I", 0) + extra + body


def png16(image: NDArray[np.uint16]) -> bytes:
    """Write a PNG of 16 bits a sample (W3C recommendation, third edition)."""
    rows, columns, _ = image.shape

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    lines = image.astype(">u2").reshape(rows, -1).view(np.uint8).reshape(rows, -1)
    packed = zlib.compress(np.hstack([np.zeros((rows, 1), np.uint8), lines]).tobytes(), 3)
    head = struct.pack(">IIBBBBB", columns, rows, 16, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


def encoded(image: Pixels, form: str, file: dict[str, Any]) -> bytes:
    """Write an upright picture as ``jpeg``, ``png`` or ``tiff``, with the notes in `file`."""
    orientation = file.get("orientation", 1)
    pixels = stored(image, orientation)
    tags = _exif(orientation, file.get("focal_35"))
    if form == "tiff":
        return tiff(pixels, orientation, file.get("dpi") or 72)
    if form == "png" and pixels.dtype == np.uint16:
        return png16(pixels)
    eight = pixels if pixels.dtype == np.uint8 else ((pixels.astype(np.uint32) + 128) // 257).astype(np.uint8)
    if form == "jpeg":
        return jpeg(eight, file["quality"], file["subsampling"], tags, file.get("dpi") or 0)
    if form == "png":
        out = io.BytesIO()
        Image.fromarray(eight).save(out, "PNG", compress_level=1, exif=tags)
        return out.getvalue()
    raise ValueError(f"format: wanted jpeg, png or tiff, given {form!r}")
