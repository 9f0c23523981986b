"""The colour of a spot: as a word, as sRGB and as CIELAB, against the paper as white."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.light import encoded, lab

Array: TypeAlias = npt.NDArray[np.float64]

REFERENCE = 0.3
"""Optical density, in the strongest channel, at which hues are judged, so that they do not change with the amount."""

NOT_JUDGED = 3.0
"""Chroma below which a spot has no name, since the eye sees none (common practice, no source)."""

_SECTORS = (
    (48.0, "red"),
    (83.0, "orange"),
    (112.0, "yellow"),
    (200.0, "green"),
    (288.0, "blue"),
    (328.0, "violet"),
    (360.0, "pink"),
)
"""Hue angles at which names end, halfway between typical examples of the basic colour names; from memory, orange lies
near 65, yellow near 100, green near 160 and blue near 240 degrees. [deg]"""

BROWN, BROWNS = 0.2, (48.0, 88.0)
"""Share of its strongest channel by which an orange also dims its weakest from which it is brown, and the hues of which
that holds [deg]: a pure orange lets red light through, black mixed with it would leave no colour from 0.75."""

GLOW = 1.3
"""Ratio of green to red and to blue light of bare paper from which it is the layer that glows, as one with a
fluorescent indicator does under ultraviolet light; lamps and yellowed paper stay below (estimate)."""

NEUTRAL = 0.25
"""Share of its strongest channel by which the channels of a grey differ at most."""


@dataclass(frozen=True)
class Colour:
    """A colour, its name and how sure that is.

    Attributes
    ----------
    word : str
        Name, such as ``yellow``; empty where it is not judged.
    srgb : tuple of int
        Code values of the darkest point on white paper.
    lab : tuple of float
        CIELAB of the same.
    hue : float
        Hue angle of the dye at a fixed density, 0 to 360. [deg]
    u_hue : float
        Its standard uncertainty. [deg]
    """

    word: str
    srgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    hue: float
    u_hue: float


def glows(paper: Array) -> bool:
    """Tell from its code values whether the layer itself is the light: its spots are dark, and have no colour to judge.

    Examples
    --------
    >>> glows(np.array([70.0, 190.0, 90.0])), glows(np.array([235.0, 228.0, 205.0]))
    (True, False)
    """
    from lanewise_photo.light import linear

    light = linear(np.asarray(paper, dtype=float) / 255.0)
    return bool(light[1] > GLOW * max(light[0], light[2]))


def colour_of(density: Array, covariance: Array) -> Colour:
    """Judge the colour of a spot from its optical density in red, green and blue.

    Parameters
    ----------
    density : array of shape (3,)
        At the darkest point, over the paper.
    covariance : array of shape (3, 3)
        Of the three densities.

    Returns
    -------
    Colour

    Examples
    --------
    >>> colour_of(np.array([0.01, 0.03, 0.40]), np.eye(3) * 1e-6).word
    'yellow'
    """
    seen = 10.0 ** -np.maximum(density, 0.0)
    at = lab(seen)
    hue = _hue(density)
    slope = np.array([_turn(_hue(density + step) - hue) / 1e-5 for step in np.eye(3) * 1e-5])
    u_hue = float(np.sqrt(max(0.0, slope @ covariance @ slope)))
    code = np.rint(encoded(seen) * 255).astype(int)
    word = _word(float(np.hypot(at[1], at[2])), hue, u_hue, density)
    return Colour(
        word,
        (int(code[0]), int(code[1]), int(code[2])),
        (float(at[0]), float(at[1]), float(at[2])),
        hue,
        min(u_hue, 180.0),
    )


def _hue(density: Array) -> float:
    top = float(density.max())
    if top <= 0:
        return 0.0
    _, a, b = lab(10.0 ** -np.clip(density * (REFERENCE / top), -0.1, None))
    return float(np.degrees(np.arctan2(b, a)) % 360.0)


def _turn(angle: float) -> float:
    return (angle + 180.0) % 360.0 - 180.0


def _sector(hue: float) -> str:
    return next((word for edge, word in _SECTORS if hue % 360.0 < edge), "red")


def _word(chroma: float, hue: float, u_hue: float, density: Array) -> str:
    """Name the colour of a dye, whatever its amount; none where its 90 % interval reaches into another's."""
    top, least = float(density.max()), float(density.min())
    if top > 0.1 and top - least < NEUTRAL * top:
        return "grey"
    if chroma < NOT_JUDGED:
        return ""
    word = _sector(hue)
    nearby = {_sector(hue + share * u_hue) for share in (-1.645, 1.645)}
    if len(nearby | {word}) > 1:
        return ""
    return "brown" if BROWNS[0] < hue < BROWNS[1] and least > BROWN * top else word
