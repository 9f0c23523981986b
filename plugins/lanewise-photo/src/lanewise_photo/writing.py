"""Which way the writing on a sheet runs: upright, upside down, or as in a mirror, where it is known what is written.

Letters are compared with print. Handwriting is far from print, but a B resembles a B more than it resembles its mirror
image; each letter says little, several together say enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flat import Flat

Array: TypeAlias = npt.NDArray[np.float64]

STROKE = 1.8
"""Width that no stroke of writing reaches. [mm]"""

LEAST, MOST = 1.8, 9.0
"""Heights of letters. [mm]"""

DARK = 0.06
"""Optical density of a stroke of pencil at least."""

SIDE, SOFT = 26, 1.3
"""Side of the square that letters are fitted into, and how much they are blurred there, as hands differ. [px]"""

LIKE = 0.55
"""Correlation with some letter from which strokes are taken for one."""

SPREAD, WEIGHT = 0.12, 3.0
"""Usual standard deviation of what one letter says, and how many letters it counts for (estimate)."""


@dataclass(frozen=True, eq=False)
class Writing:
    """How much each stroke pattern on a sheet looks like a letter that is known to be written on it.

    Attributes
    ----------
    likeness : array of shape (N, 4)
        Correlation with the letter that fits best: as seen, mirrored, upside down, and both.
    """

    likeness: Array

    def prefers(self, one: int, other: int) -> float:
        """By how many standard errors one way of holding the sheet fits better than another; 0 with nothing to go by.

        The spread is pooled with the usual one, so that two letters that happen to agree are no proof.
        """
        letters = self.likeness[self.likeness.max(axis=1) > LIKE] if len(self.likeness) else self.likeness
        if len(letters) == 0:
            return 0.0
        gain = letters[:, one] - letters[:, other]
        free = len(gain) - 1
        own = float(((gain - gain.mean()) ** 2).sum())
        spread = np.sqrt((own + WEIGHT * SPREAD**2) / (free + WEIGHT))
        return float(gain.mean() / spread * np.sqrt(len(gain)))


def writing_on(flat: Flat, names: tuple[str, ...]) -> Writing:
    """Compare the strokes on a sheet with the letters of names.

    Parameters
    ----------
    flat : Flat
        The sheet.
    names : tuple of str
        What may be written on it.

    Returns
    -------
    Writing
        Empty where there are no names, no strokes, or no print to compare with.
    """
    from scipy import ndimage

    letters = sorted({letter for name in names for letter in name.upper() if letter.isalnum()})
    prints = [made for letter in letters if (made := _printed(letter)) is not None]
    if not prints:
        return Writing(np.empty((0, 4)))
    dark = flat.density.min(axis=2)[::-1]
    size = max(3, round(STROKE / flat.pitch))
    strokes = dark - ndimage.grey_opening(dark, (size, size))
    labels, _ = ndimage.label(strokes > DARK, np.ones((3, 3)))
    found = []
    for number, part in enumerate(ndimage.find_objects(labels), start=1):
        high, wide = ((one.stop - one.start) * flat.pitch for one in part)
        if not (LEAST < high < MOST and 0.3 * LEAST < wide < MOST):
            continue
        seen = _fitted(np.where(labels[part] == number, strokes[part], 0.0))
        ways = (seen, seen[:, ::-1], seen[::-1, ::-1], seen[::-1])
        found.append([max(float((way * made).sum()) for made in prints) for way in ways])
    return Writing(np.array(found).reshape(-1, 4))


@cache
def _printed(letter: str) -> Array | None:
    from PIL import Image, ImageDraw, ImageFont

    try:
        font = ImageFont.load_default(64)
    except (ImportError, OSError):  # Pillow without a font engine
        return None
    canvas = Image.new("L", (160, 160))
    ImageDraw.Draw(canvas).text((40, 30), letter, fill=255, font=font)
    values = np.asarray(canvas, dtype=float)
    return _fitted(values) if values.any() else None


def _fitted(values: npt.NDArray[np.floating]) -> Array:
    """Fit a letter into a square, blurred, of mean 0 and length 1."""
    from PIL import Image
    from scipy.ndimage import gaussian_filter

    rows, columns = np.nonzero(values > 0.3 * values.max())
    cut = values[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1] / values.max()
    room = SIDE - 6
    high, wide = (max(2, round(length * room / max(cut.shape))) for length in cut.shape)
    codes = np.clip(np.rint(255 * cut), 0, 255).astype(np.uint8)
    letter = np.asarray(Image.fromarray(codes).resize((wide, high), Image.Resampling.BILINEAR), dtype=float)
    square = np.zeros((SIDE, SIDE))
    top, left = (SIDE - high) // 2, (SIDE - wide) // 2
    square[top : top + high, left : left + wide] = letter
    square = gaussian_filter(square, SOFT)
    square -= square.mean()
    made: Array = square / np.linalg.norm(square)
    return made
