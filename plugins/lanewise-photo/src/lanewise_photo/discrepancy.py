"""By how much real spots differ from the shape that is fitted, and from one colour throughout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.noise import Noise
from lanewise_photo.shapes import shape

Array: TypeAlias = npt.NDArray[np.float64]

SHAPE = 0.05
"""Standard deviation of a spot from the fitted shape, in its own colour, as a share of its height: a strip of even
density with soft edges differs from the Gaussian nearest to it by 0.09, a round spot of even density by 0.01 to 0.03
(root mean squares, computed here)."""

BEND = 0.03
"""The same of each colour by itself: its density bends with the amount of dye by the transfer curve of the camera, by
stray light and by bands narrower than the colour, a few per cent each (imaging, common practice, no source)."""

LEAK = 0.01
"""The same of a colour that the dye does not take up: colours of neighbouring pixels leak into each other."""

BROADER = 1.5
"""Feet are wrong by more than their own height: the discrepancy reaches so many times further than the spot."""

LENGTH = 0.75
"""Distance, in standard deviations of the spot, over which the discrepancy is alike: it has room for a flat top or a
lopsided one, not for more."""


UPTAKE, GRAIN = 0.015, 0.5
"""Share by which paper takes up dye unevenly, all colours alike, in the mean over a lane, and over what length [mm]:
the mass of paper varies by some 5 % from millimetre to millimetre (estimate), and a lane averages ten of them."""


UNEVEN = 0.0015
"""Optical density, in each colour, by which something as wide as a spot may rise on blank paper whose noise is less:
lamp, file and correction for both leave a few parts in a thousand."""


class Bend:
    """Discrepancy of one spot.

    Attributes
    ----------
    mu, s, tau : float
        Its shape. [mm]
    matrix : array of shape (3, 3)
        Covariance of the three densities at the darkest point.
    length : float
        Distance over which it is alike. [mm]
    """

    def __init__(self, mu: float, s: float, tau: float, height: Array) -> None:
        self.mu, self.s, self.tau = mu, s, tau
        size = float(height @ height)
        self.matrix = SHAPE**2 * np.outer(height, height) + BEND**2 * np.diag(height**2) + LEAK**2 * size * np.eye(3)
        self.length = LENGTH * s

    def reach(self, y: Array) -> Array:
        """How far it counts at each place, 1 at the darkest point."""
        return shape(y, self.mu, BROADER * self.s, BROADER * self.tau)

    def between(self, y: Array) -> Array:
        """Covariance between places, without the colours. Shape (N, N)."""
        reach = self.reach(y)
        away = np.sqrt(3.0) * np.abs(np.subtract.outer(y, y)) / self.length
        return np.asarray(np.outer(reach, reach) * (1.0 + away) * np.exp(-away))


def uneven(y: Array, density: Array) -> Array:
    """Covariance of what uneven uptake adds to densities of shape (N, 3), ordered by row, then by colour."""
    alike = np.exp(-np.abs(np.subtract.outer(y, y)) / GRAIN)
    return np.asarray(
        UPTAKE**2 * np.einsum("rs,ra,sb->rasb", alike, density, density).reshape(density.size, density.size)
    )


def weights(y: Array, noise: Noise, used: Array, bends: Sequence[Bend], size: float = 1.0) -> Array:
    """Give the weight of each row: the inverse of a covariance that takes rows as independent. Shape (N, 3, 3).

    Blank and discrepancy both count as often as rows are alike over the width of a usual spot.
    """
    pitch = float(y[1] - y[0])
    least = UNEVEN**2 * USUAL * np.sqrt(np.pi) / pitch
    whole = np.broadcast_to(noise.inflated(USUAL / pitch) + least * np.eye(3), (len(y), 3, 3)).copy()
    for bend in bends:
        count = max(1.0, bend.length * np.sqrt(2.0 * np.pi) / pitch)
        whole += (size**2 * count * bend.reach(y) ** 2)[:, None, None] * bend.matrix
    return np.asarray(np.linalg.inv(whole) * (used**2)[:, None, None])


USUAL = 1.3
"""Standard deviation of a usual spot. [mm]"""


SIZES = np.array([0.15, 0.3, 0.6, 1.0, 1.6, 2.6])
"""Factors on the standard deviations above that a spot may have; steps of less than a factor of 2 leave no gap."""

SPREAD_OF_SIZES = 0.7
"""Standard deviation of the logarithm of that factor from picture to picture: the constants above are known to a
factor of two."""

WORTH = 3.0
"""As many spots as the constants above count for against those of the sheet."""


def usual_sizes() -> Array:
    """How probable each of `SIZES` is before a picture was seen."""
    made = np.exp(-0.5 * (np.log(SIZES) / SPREAD_OF_SIZES) ** 2)
    return np.asarray(made / made.sum())


def pooled(evidence: Sequence[Array], rounds: int = 30) -> Array:
    """Learn from all spots of a sheet how ragged they are.

    Parameters
    ----------
    evidence : sequence of arrays of shape (S,)
        Logarithm of how probable what was seen of each spot is for each of `SIZES`, but for a constant.
    rounds : int
        Steps of expectation and maximisation.

    Returns
    -------
    array of shape (S,)
        How probable each size is for a spot of this sheet.

    Examples
    --------
    >>> clean = [np.array([0.0, -1.0, -4.0, -8.0, -12.0, -16.0])] * 20
    >>> bool(pooled(clean)[:2].sum() > 0.8), bool(np.allclose(pooled([]), usual_sizes()))
    (True, True)
    """
    prior = usual_sizes()
    made = prior
    if not len(evidence):
        return made
    table = np.stack(evidence)
    likely = np.exp(table - table.max(axis=1, keepdims=True))
    for _ in range(rounds):
        each = likely * made
        made = (WORTH * prior + (each / each.sum(axis=1, keepdims=True)).sum(axis=0)) / (WORTH + len(table))
    return np.asarray(made)
