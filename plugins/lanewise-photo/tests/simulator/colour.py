"""Light in nine bands of the visible range: layers, invented dyes, what a camera makes of them, and CIELAB.

A camera's channel is broad, so a dye that absorbs in a part of it only does not follow one exponential; nine bands
keep that. Widths and heights of the absorption bands are invented; their maxima are of the size that handbooks give
for dyes of that colour (yellow 426, orange 482, red 507, pink 530, blue 630 nm; chlorophyll a 430 and 662 nm).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating]

BANDS: Floats = np.array([415.0, 445, 475, 505, 535, 565, 595, 625, 665])
"""Centres of the bands. [nm]"""

SENSOR: Floats = np.array(
    [
        [0.00, 0.00, 0.00, 0.01, 0.03, 0.12, 0.32, 0.34, 0.18],
        [0.00, 0.01, 0.08, 0.22, 0.33, 0.25, 0.09, 0.02, 0.00],
        [0.16, 0.38, 0.34, 0.10, 0.02, 0.00, 0.00, 0.00, 0.00],
    ]
)
"""What a camera's red, green and blue take of each band after white balance; rows add up to 1."""

XYZ_OF_RGB: Floats = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1, four decimals."""


@dataclass(frozen=True)
class Dye:
    """An invented dye.

    Attributes
    ----------
    name : str
        Unique.
    colour : str
        Colour of a spot of it, as a word.
    peaks : tuple of (float, float, float)
        Maximum [nm], standard deviation [nm] and height of each absorption band.
    floor : float
        Absorption everywhere, relative to the highest band.
    """

    name: str
    colour: str
    peaks: tuple[tuple[float, float, float], ...]
    floor: float = 0.015

    @property
    def absorptivity(self) -> Floats:
        """Absorption in each band, the highest being 1; shape (9,)."""
        made = np.full(len(BANDS), self.floor)
        for centre, width, height in self.peaks:
            steps = np.linspace(-15.0, 15.0, 7)[:, None]
            made += height * np.exp(-0.5 * ((BANDS + steps - centre) / width) ** 2).mean(axis=0)
        return np.asarray(made / made.max())

    @property
    def neutral(self) -> bool:
        """Whether a spot of it has next to no hue."""
        return self.colour == "grey"


DYES: tuple[Dye, ...] = (
    Dye("yellow 1", "yellow", ((426, 36, 1.0),)),
    Dye("yellow 2", "yellow", ((412, 40, 1.0), (452, 24, 0.45))),
    Dye("orange 1", "orange", ((484, 36, 1.0), (420, 40, 0.35))),
    Dye("red 1", "red", ((507, 36, 1.0), (425, 40, 0.3))),
    Dye("red 2", "red", ((516, 30, 1.0), (460, 45, 0.35)), 0.03),
    Dye("pink 1", "pink", ((531, 20, 1.0), (497, 22, 0.42))),
    Dye("violet 1", "violet", ((586, 30, 1.0), (548, 26, 0.6)), 0.02),
    Dye("blue 1", "blue", ((630, 26, 1.0), (590, 30, 0.35), (415, 20, 0.06))),
    Dye("blue 2", "blue", ((612, 36, 1.0), (650, 30, 0.5)), 0.02),
    Dye("blue 3", "blue", ((668, 36, 1.0), (618, 30, 0.5), (340, 60, 0.2))),
    Dye("green 1", "green", ((633, 30, 1.0), (418, 32, 0.65))),
    Dye("brown 1", "brown", ((420, 70, 1.0), (520, 75, 0.45)), 0.06),
    Dye("grey 1", "grey", ((560, 140, 0.35),), 0.6),
    Dye("leaf green a", "green", ((430, 17, 1.0), (662, 14, 0.85), (615, 15, 0.16))),
    Dye("leaf green b", "green", ((456, 17, 1.0), (645, 14, 0.42))),
    Dye("leaf orange", "yellow", ((450, 17, 1.0), (478, 13, 0.85), (424, 15, 0.55))),
    Dye("leaf yellow", "yellow", ((444, 15, 1.0), (472, 12, 0.9), (420, 14, 0.6))),
    Dye("leaf grey", "grey", ((409, 26, 1.0), (666, 20, 0.6), (530, 60, 0.35)), 0.3),
)
INKS = tuple(dye for dye in DYES if not dye.name.startswith("leaf"))
LEAF = tuple(dye for dye in DYES if dye.name.startswith("leaf"))


def encode(linear: ArrayLike) -> Floats:
    """Code values 0 to 1 of linear light 0 to 1 (sRGB, IEC 61966-2-1)."""
    light = np.clip(np.asarray(linear, dtype=float), 0.0, 1.0)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)


def lab(linear: ArrayLike) -> Floats:
    """CIELAB of linear sRGB light relative to paper, which has L* 100 and no colour; shape (..., 3)."""
    light = np.asarray(linear, dtype=float)
    ratio = (light @ XYZ_OF_RGB.T) / (np.ones(3) @ XYZ_OF_RGB.T)
    root = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)
