"""What is done to a finished picture, with its truth carried along."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from PIL import Image

from simulator.colour import Floats
from simulator.draw import Draw
from simulator.files import Pixels, jpeg, reopened
from simulator.truth import Truth


def _moved(truth: Truth, move: Callable[[Floats], Floats], scale: float = 1.0) -> Truth:
    """Carry all pixels of a truth along; `move` takes and gives columns and rows, shape (..., 2)."""
    return replace(
        truth,
        corners=move(truth.corners),
        grid_pixels=move(truth.grid_pixels),
        pixels_per_mm=truth.pixels_per_mm * scale,
    )


def turned(image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
    """Upside down."""
    last = np.array([image.shape[1] - 1.0, image.shape[0] - 1.0])
    return np.ascontiguousarray(image[::-1, ::-1]), _moved(truth, lambda at: last - at)


def mirrored(image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
    """Left and right changed."""
    last = image.shape[1] - 1.0
    return np.ascontiguousarray(image[:, ::-1]), _moved(
        truth, lambda at: np.stack([last - at[..., 0], at[..., 1]], axis=-1)
    )


def sideways(image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
    """By a right angle, to one side or the other."""
    turns = int(draw.rng("sideways").choice([1, 3]))
    columns, rows = image.shape[1] - 1.0, image.shape[0] - 1.0

    def move(at: Floats) -> Floats:
        column, row = at[..., 0], at[..., 1]
        return np.stack([row, columns - column] if turns == 1 else [rows - row, column], axis=-1)

    return np.ascontiguousarray(np.rot90(image, turns)), _moved(truth, move)


def _smaller(image: Pixels, scale: float) -> Pixels:
    size = max(1, round(image.shape[1] * scale)), max(1, round(image.shape[0] * scale))
    return np.asarray(Image.fromarray(image).resize(size, Image.Resampling.BICUBIC))


def _scaled(truth: Truth, before: Pixels, after: Pixels) -> Truth:
    ratio = np.array([after.shape[1] / before.shape[1], after.shape[0] / before.shape[0]])
    return _moved(truth, lambda at: (at + 0.5) * ratio - 0.5, float(ratio.mean()))


def compressed_twice(image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
    """Stored, made smaller to 1600 pixels, stored again, and so once more on the way."""
    rng = draw.rng("messenger")
    first = reopened(jpeg(image, int(rng.integers(80, 92)), 2))
    small = _smaller(first, min(0.8, 1600 / max(first.shape)))
    second = reopened(jpeg(small, int(rng.integers(45, 65)), 2))
    file = {**truth.file, "quality": int(rng.integers(40, 60)), "subsampling": 2, "orientation": 1, "focal_35": None}
    return second, replace(_scaled(truth, image, second), file=file)


def screenshot(image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
    """As a phone shows it: fitted to a narrow screen, plain bars above and below with small signs in them."""
    rng = draw.rng("screen")
    width, height = 1080, 2160
    small = _smaller(image, min(width / image.shape[1], 0.8 * height / image.shape[0]))
    shade = int(rng.choice([0, 18, 250]))
    screen = np.full((height, width, 3), shade, dtype=np.uint8)
    sign = 200 if shade < 100 else 70
    for left in (60, 890, 960):
        screen[36:62, left : left + int(rng.integers(30, 80))] = sign
    for k in range(4):
        screen[height - 130 : height - 80, 120 + 240 * k : 170 + 240 * k] = sign
    top, left = (height - small.shape[0]) // 2, (width - small.shape[1]) // 2
    screen[top : top + small.shape[0], left : left + small.shape[1]] = small
    shown = _moved(_scaled(truth, image, small), lambda at: at + np.array([left, top], dtype=float))
    file = {**truth.file, "format": "png", "orientation": 1, "focal_35": None}
    return screen, replace(shown, file=file)
