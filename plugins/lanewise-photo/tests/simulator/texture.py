"""Unevenness of paper, silica and desks: tiles of noise with a chosen spectrum, laid over a plane without seams."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import map_coordinates

from simulator.draw import Draw

Tile32 = NDArray[np.float32]


@dataclass(frozen=True)
class Tile:
    """A square of noise that continues itself, `scale` pixels a millimetre."""

    values: Tile32
    scale: float

    def at(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> Tile32:
        """Values at places of the plane, by linear interpolation. [mm]"""
        places = np.stack([y * self.scale, x * self.scale]).astype(np.float32)
        return np.asarray(map_coordinates(self.values, places, order=1, mode="grid-wrap", prefilter=False))


def noise(
    rng: np.random.Generator,
    bands: list[tuple[float, float, float]],
    count: int,
    scale: float,
    angle: float = 0.0,
    pixel: float = 0.0,
) -> Tile:
    """Make a tile of noise.

    Parameters
    ----------
    rng : numpy.random.Generator
    bands : list of tuple
        Standard deviation, correlation length [mm] and elongation along `angle` of each part.
    count : int
        Pixels along a side.
    scale : float
        Pixels a millimetre.
    angle : float
        Direction of the fibres. [rad]
    pixel : float
        Size of a camera's pixel, over which it takes the mean. [mm]

    Returns
    -------
    Tile
        Mean 0.
    """
    spectrum = fft.rfft2(rng.standard_normal((count, count), dtype=np.float32))
    fy = (fft.fftfreq(count) * scale).astype(np.float32)[:, None]
    fx = (fft.rfftfreq(count) * scale).astype(np.float32)[None, :]
    along, across = fx * np.cos(angle) + fy * np.sin(angle), fy * np.cos(angle) - fx * np.sin(angle)
    weights = np.ones((count, fx.shape[1]), dtype=np.float32)
    weights[:, 1:-1] = 2
    power = np.zeros_like(weights)
    for sd, length, stretch in bands:
        one = np.exp(-((2 * np.pi * length) ** 2) * ((along * stretch) ** 2 + (across / stretch) ** 2) / 2)
        one[0, 0] = 0
        power += sd**2 * one * (count**2 / (weights * one).sum())
    seen = np.exp(-2 * (np.pi * 0.35 * pixel) ** 2 * (along**2 + across**2))
    return Tile(fft.irfft2(spectrum * np.sqrt(power) * seen, s=(count, count)).astype(np.float32), scale)


@dataclass(frozen=True)
class Grain:
    """The unevenness of one sheet.

    Attributes
    ----------
    neutral : Tile
        Optical density, the same in all channels: fibres, grain and clouds of the layer.
    hue : tuple of two Tile
        Optical density that red and blue have beyond green.
    tooth : float
        Standard deviation of `neutral`, by which it is divided where pencil or dye takes to it.
    shift : tuple of two Tile
        By how much spots and fronts are moved by an uneven layer, across and along. [mm]
    mottle : float
        How unevenly dye takes to the layer, relative standard deviation.
    """

    neutral: Tile
    hue: tuple[Tile, Tile]
    tooth: float
    shift: tuple[Tile, Tile]
    mottle: float


def draw_grain(draw: Draw, layer: str, pixel: float) -> Grain:
    """Draw the unevenness of a sheet that is seen with pixels of a given size [mm]."""
    rough = draw.uniform("texture", 0.5, 1.4 if draw.kind == "hard" else 1.2)
    angle = float(draw.rng("fibre direction").choice([0, np.pi / 2]) + draw.rng("fibre tilt").normal(0, 0.1))
    if layer == "paper":
        stretch = draw.uniform("fibre_stretch", 1.1, 1.9)
        bands = [(0.010, 0.10, stretch), (0.004, 0.6, stretch), (0.005, 2.6, 1.2)]
        moved, mottle = 0.11, 0.08
    else:
        bands = [(0.006, 0.06, 1.0), (0.002, 0.5, 1.0), (0.004, 6.0, 1.3)]
        moved, mottle = 0.04, 0.03
    bands = [(sd * rough, length, stretch) for sd, length, stretch in bands]
    scale = float(np.clip(1.1 / pixel, 5, 14))
    neutral = noise(draw.rng("texture"), bands, 1024 if scale < 9 else 1536, scale, angle, pixel)
    tint = draw.uniform("chroma_texture", 0.06, 0.16) * rough
    hue = tuple(
        noise(draw.rng(f"hue {k}"), [(0.010 * tint, 0.25, 1.2), (0.010 * tint, 1.2, 1.0)], 512, 5.0, angle, pixel)
        for k in (0, 1)
    )
    sd = draw.uniform("raggedness", 0.3, 1.4) * moved
    moves = [(sd, 1.4, 1.1), (0.6 * sd, 0.5, 1.1), (0.5 * sd, 5.0, 1.0)]
    shift = tuple(noise(draw.rng(f"shift {k}"), moves, 512, 4.0) for k in (0, 1))
    return Grain(
        neutral=neutral,
        hue=(hue[0], hue[1]),
        tooth=float(neutral.values.std()),
        shift=(shift[0], shift[1]),
        mottle=draw.uniform("mottle", 0.2, 1.3) * mottle,
    )
