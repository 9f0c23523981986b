"""From light to code values: lens, sensor, and what a phone or a scanner does to a picture before it is stored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import convolve, gaussian_filter, uniform_filter, zoom

from simulator.colour import encode
from simulator.desk import Light
from simulator.draw import Draw

Canvas = NDArray[np.float32]
STRIP = 64  # rows worked on at a time


@dataclass(frozen=True, kw_only=True)
class Processing:
    """Settings of lens, sensor and software.

    Attributes
    ----------
    white : float
        Linear light that level paper in mean light comes out at, 1 is the brightest code value.
    cast : tuple of float
        What is left of the lamp's colour after white balance, by channel.
    flare : float
        Light strewn over the whole picture, as a share of its mean.
    blur : float
        Standard deviation of the image of a point. [pixel]
    disc : float
        Radius of the image of a point out of focus. [pixel]
    smear : tuple of float
        Length [pixel] and direction [rad] of a movement during exposure.
    fringe : float
        By how much red is larger and blue smaller than green.
    electrons : float
        At the brightest code value, per pixel.
    read : float
        Read noise. [electron]
    saturation : float
        1 leaves colours as they are.
    contrast : float
        Strength of an S-shaped tone curve, 0 to 0.6.
    smooth : float
        Standard deviation of the smoothing of colour noise. [pixel]
    sharpen, radius, core : float
        Unsharp mask: share added, its radius [pixel], and share of fine low-contrast detail that is taken away.
    tone : float
        Strength of a local tone mapping, 0 to 0.3.
    bits : int
        8 or 16.
    """

    white: float
    cast: tuple[float, float, float]
    flare: float
    blur: float
    disc: float
    smear: tuple[float, float]
    fringe: float
    electrons: float
    read: float
    saturation: float
    contrast: float
    smooth: float
    sharpen: float
    radius: float
    core: float
    tone: float
    bits: int


def draw_processing(draw: Draw, pixels_per_mm: float, megapixels: float, bits: int, glows: bool) -> Processing:
    """Draw the settings; a small picture is a large one that was made smaller, or came from a poor camera."""
    kind = draw.kind
    scale = 1.0 if kind != "phone" else float(np.sqrt(megapixels / 12))
    cast = {"scan": 0.015, "phone": 0.07, "hard": 0.13}[kind]
    electrons = {"scan": (8e3, 4e4), "phone": (3e3, 1.6e4), "hard": (350, 3e3)}[kind]
    rng = draw.rng("cast")
    warm, tint = float(np.clip(rng.normal(0.3, 1), -2, 2)) * cast, float(np.clip(rng.normal(0, 0.3), -1, 1)) * cast
    strength = float(np.exp(draw.rng("electrons").uniform(*np.log(electrons))))
    soft = draw.uniform("soft", *{"scan": (0.0, 0.03), "phone": (0.0, 0.03), "hard": (0.02, 0.14)}[kind])
    own = draw.uniform("blur", 0.7, 1.5)
    white = {"scan": (0.72, 0.9), "phone": (0.55, 0.86), "hard": (0.36, 0.84)}[kind]
    return Processing(
        white=draw.uniform("white", *white) * (0.75 if glows else 1.0),
        cast=tuple(draw.given("cast", (1 + warm, 1 + tint, 1 - warm))),
        flare=draw.uniform("flare", 0.0, {"scan": 0.01, "phone": 0.025, "hard": 0.05}[kind]),
        blur=float(np.hypot(np.hypot(own * scale, 0.45), soft * pixels_per_mm)),
        disc=draw.given("defocus", 0.0) * pixels_per_mm,
        smear=(draw.given("motion", 0.0) * pixels_per_mm, draw.uniform("motion_way", 0, 3.1)),
        fringe=draw.normal("fringe", 0, 1e-4 if kind != "scan" else 3e-5),
        electrons=draw.given("electrons", strength / scale**2),
        read=draw.uniform("read", 2, 6),
        saturation=draw.uniform("saturation", 0.98, 1.0 if kind == "scan" else 1.18),
        contrast=draw.uniform("contrast", 0.0, 0.05 if kind == "scan" else 0.4),
        smooth=draw.uniform("smooth", 0.5, 2.5) * scale if kind != "scan" else 0.0,
        sharpen=draw.uniform("sharpen", 0.0, {"scan": 0.4, "phone": 0.7, "hard": 0.9}[kind]),
        radius=max(0.7, draw.uniform("radius", 0.9, 1.8) * scale),
        core=draw.uniform("core", 0.0, {"scan": 0.0, "phone": 0.4, "hard": 0.7}[kind]),
        tone=draw.uniform("tone", 0.05, 0.25) if kind != "scan" and draw.chance("tone_mapped", 0.15) else 0.0,
        bits=bits,
    )


def expose(canvas: Canvas, light: Light, level: float, p: Processing) -> None:
    """Light the canvas; `level` is what it gives now for level paper in mean light."""
    gain = np.array(p.cast, dtype=np.float32) * np.float32(p.white / level)
    for start in range(0, len(canvas), STRIP):
        block = canvas[start : start + STRIP]
        block *= light.strip(start, start + len(block))
        block *= gain
    if p.flare:
        strewn = canvas.mean(axis=(0, 1)) * np.float32(p.flare)
        canvas *= np.float32(1 - p.flare)
        canvas += strewn


def develop(canvas: Canvas, p: Processing, rng: np.random.Generator) -> NDArray[Any]:
    """Take the picture, uint8 or uint16: consumes the canvas."""
    _lens(canvas, p)
    for start in range(0, len(canvas), STRIP):
        _count(canvas[start : start + STRIP], p, rng)
    if p.tone:
        _local_tone(canvas, p.tone)
    steps = np.linspace(0, 1, 65536)
    curve = encode(steps)
    table = (curve - p.contrast / (2 * np.pi) * 0.5 * np.sin(2 * np.pi * curve)).astype(np.float32)
    for start in range(0, len(canvas), STRIP):
        block = canvas[start : start + STRIP]
        np.clip(block, 0, 1, out=block)
        block *= 65535
        block[...] = table[block.astype(np.uint16)]
    return _stored(canvas, p)


def _count(block: Canvas, p: Processing, rng: np.random.Generator) -> None:
    """Count electrons, with the noise of light and of reading, and mix channels for more or less colour."""
    spread = np.sqrt(np.maximum(block, 0) / np.float32(p.electrons) + np.float32((p.read / p.electrons) ** 2))
    block += spread * rng.standard_normal(block.shape, dtype=np.float32)
    if p.saturation != 1.0:
        grey = block @ np.array([0.25, 0.6, 0.15], dtype=np.float32)
        block *= np.float32(p.saturation)
        block += (np.float32(1 - p.saturation) * grey)[..., None]


def _lens(canvas: Canvas, p: Processing) -> None:
    for k in range(3):
        plane = np.ascontiguousarray(canvas[..., k])
        if p.disc > 0.4:
            plane = convolve(plane, _disc(p.disc), mode="nearest") if p.disc < 4 else _wide(plane, p.disc)
        if p.smear[0] > 0.5:
            plane = convolve(plane, _streak(*p.smear), mode="nearest")
        plane = gaussian_filter(plane, p.blur, truncate=3.0)
        canvas[..., k] = plane
        if p.fringe and k != 1:
            _stretch(canvas[..., k], plane, p.fringe * (1 - k))


def _stretch(out: Canvas, plane: Canvas, share: float) -> None:
    """Enlarge a plane about its middle by so little that a first-order step does."""
    rows, columns = plane.shape
    down = (np.arange(rows, dtype=np.float32) - rows / 2) * np.float32(share / 2)
    across = (np.arange(1, columns - 1, dtype=np.float32) - columns / 2) * np.float32(share / 2)
    for start in range(1, rows - 1, STRIP):
        stop = min(rows - 1, start + STRIP)
        block = plane[start:stop]
        change = (block[:, 2:] - block[:, :-2]) * across.astype(np.float32)
        change += (plane[start + 1 : stop + 1, 1:-1] - plane[start - 1 : stop - 1, 1:-1]) * down[start:stop, None]
        out[start:stop, 1:-1] -= change


def _disc(radius: float) -> Canvas:
    reach = int(np.ceil(radius))
    v, u = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    made = np.clip(radius + 0.5 - np.hypot(u, v), 0, 1)
    return np.asarray(made / made.sum(), dtype=np.float32)


def _wide(plane: Canvas, radius: float) -> Canvas:
    """Blur by a disc, as two boxes and a normal distribution of the same spread."""
    side = max(1, round(radius * 0.9))
    for _ in range(2):
        plane = uniform_filter(plane, side, mode="nearest")
    rest = radius**2 / 4 - 2 * (side**2 - 1) / 12
    return np.asarray(gaussian_filter(plane, float(np.sqrt(max(rest, 0.1))), truncate=3.0))


def _streak(length: float, way: float) -> Canvas:
    reach = int(np.ceil(length / 2)) + 1
    made = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=np.float32)
    for t in np.linspace(-length / 2, length / 2, 8 * reach):
        made[round(reach + t * np.sin(way)), round(reach + t * np.cos(way))] += 1
    return made / made.sum()


def _local_tone(canvas: Canvas, strength: float) -> None:
    """Lift dark regions and lower bright ones, as phones do for scenes of high contrast."""
    step = max(1, min(canvas.shape[:2]) // 60)
    small = gaussian_filter(canvas[::step, ::step].mean(axis=2), 5.0)
    gain = (np.maximum(small, 1e-3) / np.median(small)) ** -strength
    rows, columns = canvas.shape[:2]
    wide = zoom(gain, ((rows + 1) / small.shape[0], (columns + 1) / small.shape[1]), order=1)
    canvas *= wide[:rows, :columns, None].astype(np.float32)


def _stored(coded: Canvas, p: Processing) -> NDArray[Any]:
    """Smooth colour noise, sharpen, and count out in code values of 8 or 16 bits."""
    luma = coded @ np.array([0.299, 0.587, 0.114], dtype=np.float32)
    if p.smooth:
        for k in (0, 2):
            coded[..., k] = luma + _smoothed(coded[..., k] - luma, p.smooth)
        coded[..., 1] = (luma - 0.299 * coded[..., 0] - 0.114 * coded[..., 2]) / np.float32(0.587)
    soft = gaussian_filter(luma, p.radius, truncate=2.5) if p.sharpen or p.core else luma
    limit = np.float32(1.6 * np.median(np.abs(luma[::7, ::7] - soft[::7, ::7])))
    most = 255 if p.bits == 8 else 65535
    made = np.empty(coded.shape, dtype=np.uint8 if p.bits == 8 else np.uint16)
    for start in range(0, len(coded), STRIP):
        rows = slice(start, start + STRIP)
        detail = luma[rows] - soft[rows]
        detail *= np.where(np.abs(detail) < limit, np.float32(-p.core), np.float32(p.sharpen))
        block = coded[rows] + detail[..., None]
        made[rows] = np.clip(block, 0, 1, out=block) * np.float32(most) + np.float32(0.5)
    return made


def _smoothed(plane: Canvas, sigma: float) -> Canvas:
    """Smooth colour, on every second pixel where that is enough, as cameras do."""
    if sigma < 1.2:
        return np.asarray(gaussian_filter(plane, sigma, truncate=2.0))
    rows, columns = plane.shape
    half = plane[: rows // 2 * 2, : columns // 2 * 2].reshape(rows // 2, 2, columns // 2, 2).mean(axis=(1, 3))
    soft = gaussian_filter(half, sigma / 2, truncate=2.0)
    wide = np.pad(soft.repeat(2, axis=0).repeat(2, axis=1), ((0, rows % 2), (0, columns % 2)), mode="edge")
    return np.asarray(wide)
