"""Finding spots on the flat sheet: round rises in density, in colours whitened by the blank paper's own noise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.flat import Flat

Array: TypeAlias = npt.NDArray[np.float64]

COARSE = 0.5
"""Pitch of the grid on which spots are looked for. [mm]"""

SCALES = (0.8, 1.3, 2.1)
"""Standard deviations of the inner part of the filters. [mm]"""

OUTER = 2.2
"""How much wider the outer part is."""

SKIRT, SKIRT_SHARE = 8.0, 0.04
"""A rise this near to another and less than this share of it is its skirt. [mm]"""

RIM = 3.0
"""How near to the sheet's sides no spot is looked for: no lane lies there, but edges and shadows do. [mm]"""

VISIBLE = 0.03
"""Optical density that any eye sees."""

EXTREME, EXPECTED = 99.8, 3.65
"""Share of the blank [%] and the strength that this share of the bright half does not reach: of the chi-squared
distribution with 3 degrees of freedom the square root of the quantile of 99.6 %, since half of the blank is dark."""

FEW = 200
"""Least number of places from which the extremes of the blank are told."""

ENOUGH = 6000
"""So many values tell a covariance to 2 %: neighbours are alike, so that more of them would add little."""

MIRROR, MOST = 1.15, 12.0
"""By what factor dye must stand out more than the bright extremes; the strongest threshold."""

LEAST = 5.0
"""Least distance from the blank, in its own standard deviations, of a candidate."""


@dataclass(frozen=True)
class Blob:
    """A candidate.

    Attributes
    ----------
    x, y : float
        Where it stands out most. [mm]
    scale : float
        Standard deviation of the filter that answers most. [mm]
    strength : float
        Distance from the blank in standard deviations, three channels together.
    density : tuple of float
        Answers of the three channels, as optical density.
    """

    x: float
    y: float
    scale: float
    strength: float
    density: tuple[float, float, float]

    @property
    def chroma(self) -> float:
        """How far the channels differ, 0 for neutral and 1 for one channel alone."""
        top = max(self.density)
        return (top - min(self.density)) / top if top > 0 else 0.0


@dataclass(frozen=True, eq=False)
class Search:
    """Candidates, the threshold that the blank itself suggests, and where the sheet is blank.

    Attributes
    ----------
    blobs : tuple of Blob
        Strongest first.
    threshold : float
        Strength above which a candidate is trusted.
    strength : array of shape (rows, columns)
        Largest strength over the scales, on the coarse grid; negative where the paper is brighter.
    pitch : float
        Pitch of that grid. [mm]
    """

    blobs: tuple[Blob, ...]
    threshold: float
    strength: Array
    pitch: float


def find_blobs(flat: Flat, low: Array, high: Array) -> Search:
    """Find candidates between two courses across the sheet.

    Parameters
    ----------
    flat : Flat
        The sheet.
    low, high : arrays of shape (columns of the flat sheet,)
        Lowest and highest place of a spot at each column. [mm]

    Returns
    -------
    Search
    """
    per = max(1, round(COARSE / flat.pitch))
    rows, columns = flat.density.shape[0] // per, flat.density.shape[1] // per
    coarse = cells(flat, per)
    pitch = per * flat.pitch
    y = (np.arange(rows) + 0.5) * pitch
    lowest, highest = (one[: columns * per].reshape(columns, per).mean(axis=1) for one in (low, high))
    inside = (y[:, None] > lowest) & (y[:, None] < highest)
    rim = round(RIM / pitch)
    inside[:, :rim] = inside[:, -rim:] = False
    best = np.zeros((rows, columns))
    scale = np.zeros((rows, columns), dtype=int)
    answers = _answers(coarse, pitch)
    away = inside & ~_ringed(answers, pitch)
    for number, answer in enumerate(answers):
        strength = _strength(answer, inside, away)
        better = np.abs(strength) > np.abs(best)
        best[better], scale[better] = strength[better], number
    blobs = _peaks(best, scale, answers, inside, pitch)
    return Search(tuple(blobs), _threshold(best, away, pitch), best, pitch)


def cells(flat: Flat, per: int) -> Array:
    """Average the density over squares of so many rows and columns. Shape (rows // per, columns // per, 3)."""
    rows, columns = flat.density.shape[0] // per, flat.density.shape[1] // per
    part = flat.density[: rows * per, : columns * per]
    across = np.sum([part[:, start::per] for start in range(per)], axis=0)
    return np.asarray(np.sum([across[start::per] for start in range(per)], axis=0), dtype=np.float64) / per**2


def _answers(coarse: Array, pitch: float) -> list[Array]:
    """Difference of two Gaussians in each channel, at each scale.

    A wider Gaussian is made from the next narrower one, since the squares of their widths add up.
    """
    from scipy.ndimage import gaussian_filter1d

    made, width = {}, 0.0
    blurred = coarse
    for sigma in sorted({*SCALES, *(OUTER * sigma for sigma in SCALES)}):
        more = float(np.sqrt(sigma**2 - width**2)) / pitch
        for axis in (0, 1):
            blurred = gaussian_filter1d(blurred, more, axis=axis, mode="nearest", truncate=3.5)
        made[sigma], width = blurred, sigma
    return [made[sigma] - made[OUTER * sigma] for sigma in SCALES]


def _ringed(answers: list[Array], pitch: float) -> npt.NDArray[np.bool_]:
    """Where the filters make bright rings of their own, about spots that any eye sees."""
    from scipy.ndimage import distance_transform_edt

    ringed = np.zeros(answers[0].shape[:2], dtype=bool)
    for sigma, answer in zip(SCALES, answers, strict=True):
        seen = (answer[..., 0] > VISIBLE) | (answer[..., 1] > VISIBLE) | (answer[..., 2] > VISIBLE)
        if seen.any():
            ringed |= distance_transform_edt(~seen) * pitch < 3.0 * OUTER * sigma
    return ringed


def _strength(answer: Array, inside: npt.NDArray[np.bool_], away: npt.NDArray[np.bool_]) -> Array:
    """Signed distance from the blank, in its own standard deviations.

    Where most of the blank was wiped out by compression, what is left of it is rare and strong, so that its covariance
    says too little: the scale then comes from its bright extremes, which no dye makes.
    """
    lower = np.linalg.cholesky(blank_covariance(answer[inside]))
    white = answer @ np.linalg.inv(lower).T
    strength = np.sqrt(sum(white[..., c] ** 2 for c in range(3)))
    strength = strength * np.sign(answer @ np.ones(3))
    if away.sum() < FEW:
        return np.asarray(strength)
    return np.asarray(strength / max(1.0, float(np.percentile(-strength[away], EXTREME)) / EXPECTED))


def blank_covariance(values: Array) -> Array:
    """Covariance of what most of N values, shape (N, 3), scatter by; spots among them do not count.

    Examples
    --------
    >>> made = blank_covariance(np.random.default_rng(1).normal(size=(4000, 3)) * [1.0, 2.0, 3.0])
    >>> np.sqrt(np.diag(made)).round(1).tolist()
    [1.0, 2.0, 3.0]
    """
    floor = np.eye(3) * 1e-8
    if len(values) < 10:
        return np.asarray(floor)
    values = np.asarray(values[:: -(-len(values) // ENOUGH)], dtype=np.float64)
    middle = np.median(values, axis=0)
    spread = 1.4826 * np.median(np.abs(values - middle), axis=0) + 1e-6
    near = (np.abs(values - middle) < 3.0 * spread).all(axis=1)
    matrix = np.cov(values[near].T) + floor
    for _ in range(6):
        away = values - middle
        distance = np.einsum("ni,ij,nj->n", away, np.linalg.inv(matrix), away)
        near = distance < 11.34  # 99 % of the chi-squared distribution with 3 degrees of freedom
        middle = values[near].mean(axis=0)
        matrix = np.cov(values[near].T) / 0.953 + floor  # what cutting at 99 % takes away, computed here
    return np.asarray(matrix)


def _peaks(
    best: Array, scale: npt.NDArray[np.int_], answers: list[Array], inside: npt.NDArray[np.bool_], pitch: float
) -> list[Blob]:
    from scipy.ndimage import maximum_filter

    reach = 2 * round(1.0 / pitch) + 1
    tops = (best == maximum_filter(best, reach)) & (best > LEAST) & inside
    found = []
    for row, column in zip(*np.nonzero(tops), strict=True):
        number = int(scale[row, column])
        r, g, b = (float(one) for one in answers[number][row, column])
        x = column + 0.5 + _between(best[row], column)
        y = row + 0.5 + _between(best[:, column], row)
        found.append(Blob(x * pitch, y * pitch, SCALES[number], float(best[row, column]), (r, g, b)))
    found.sort(key=lambda blob: blob.strength, reverse=True)
    return [blob for number, blob in enumerate(found) if not any(_skirt(blob, other) for other in found[:number])]


def _skirt(blob: Blob, other: Blob) -> bool:
    """Whether a candidate is no more than the skirt of a much stronger one beside it."""
    away = float(np.hypot(blob.x - other.x, blob.y - other.y))
    return away < SKIRT and max(blob.density) < SKIRT_SHARE * max(other.density)


def _between(values: Array, top: int) -> float:
    """How far beside its highest value a course is highest, as a share of the pitch, by a parabola."""
    if not 0 < top < len(values) - 1:
        return 0.0
    bend = values[top - 1] - 2 * values[top] + values[top + 1]
    return float(np.clip(0.5 * (values[top - 1] - values[top + 1]) / bend, -0.5, 0.5)) if bend < 0 else 0.0


def _threshold(best: Array, away: npt.NDArray[np.bool_], pitch: float) -> float:
    """Take the threshold from places that are brighter than the paper around them, where no dye can be.

    A sheet without dye would show as strong dark places as it shows bright ones. Of the bright ones the third counts,
    so that a scratch or a speck of light does not make all dye vanish.
    """
    from scipy.ndimage import minimum_filter

    if away.sum() < FEW:
        return 7.0
    reach = 2 * round(1.0 / pitch) + 1
    lowest = np.sort(best[away & (best == minimum_filter(best, reach))])
    return float(np.clip(-MIRROR * lowest[min(2, len(lowest) - 1)], 6.0, MOST)) if len(lowest) else 6.0
