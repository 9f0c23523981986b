"""Pixels of any kind as sRGB with eight bits: sixteen bits, palettes, ink colours, transparent parts, ICC profiles."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from PIL.Image import Image

DEEP = frozenset({"I;16", "I;16B", "I;16L", "I", "F"})
"""Modes with more than eight bits a pixel, which are grey."""

NOTICED = 2
"""Code values by which a profile must change some colour to be used: rounding of a profile's tables stays below."""


def in_colour(image: Image) -> Image:
    """Give a picture as sRGB with eight bits.

    What shows through transparent parts is taken to be white. A profile that cannot be used is passed over: it bears on
    colours, and on no position.
    """
    from PIL import Image

    profile = image.info.get("icc_profile")
    if image.mode in DEEP:
        return _eight_bits(image).convert("RGB")
    if image.mode in {"LA", "PA", "RGBA", "La", "RGBa"} or "transparency" in image.info:
        behind = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(behind, image.convert("RGBA")).convert("RGB")
    if image.mode not in {"L", "RGB", "CMYK"}:
        image = image.convert("RGB")
    return _by_profile(image, profile) if profile else _plain(image)


def _plain(image: Image) -> Image:
    return image if image.mode == "RGB" else image.convert("RGB")


def _eight_bits(image: Image) -> Image:
    from PIL import Image

    values = np.asarray(image)
    top = 65535.0 if values.max(initial=0) > 255 else 255.0
    return Image.fromarray(np.clip(np.rint(values * np.float32(255.0 / top)), 0, 255).astype(np.uint8))


def _by_profile(image: Image, profile: bytes) -> Image:
    """Convert by an embedded profile, where that makes a difference."""
    from PIL import Image, ImageCms

    try:
        given = ImageCms.ImageCmsProfile(BytesIO(profile))
        turn: Any = ImageCms.buildTransform(given, ImageCms.createProfile("sRGB"), image.mode, "RGB")
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        return _plain(image)
    count = len(image.getbands())
    steps = np.linspace(0, 255, 5).astype(np.uint8)
    grid = np.stack(np.meshgrid(*[steps] * count), axis=-1).reshape(1, -1, count)
    probe = Image.fromarray(grid[..., 0] if count == 1 else grid, image.mode)
    made = ImageCms.applyTransform(probe, turn)
    if made is None:
        return _plain(image)
    off = np.asarray(made, dtype=int) - np.asarray(_plain(probe), dtype=int)
    if np.abs(off).max() <= NOTICED:
        return _plain(image)
    converted = ImageCms.applyTransform(image, turn)
    return _plain(image) if converted is None else converted
