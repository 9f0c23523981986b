"""The darkest point of a spot, whatever its shape: drawn from all courses of density that agree with what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.discrepancy import SIZES, Bend, uneven
from lanewise_photo.fitting import SPREAD_OF_TAILS, SPREAD_OF_WIDTHS, Fit, Peak, Profile
from lanewise_photo.shapes import slopes

Array: TypeAlias = npt.NDArray[np.float64]

DRAWS = 200
"""Courses that are drawn: their spread is known to 5 %."""

ROWS = 36
"""Most rows of a profile that are looked at for one spot."""

REACH = 2.0
"""How far beyond its components' darkest points a spot is looked at, in standard deviations."""


NOISIER = 1.25
"""Factor on the noise of the blank for the place of a spot: texture of paper varies from place to place, so that it has
longer tails than its mean size tells (factor found for pale spots in simulated photographs of paper)."""

JITTER = 0.01
"""Share of the variance that is taken as each row's own, so that covariances learnt from few profiles are possible."""

LEAST_SHARE = 0.02
"""Sizes of the discrepancy less probable than this are left out."""


LOCAL = 0.3
"""Share of what is thought of a parameter before anything was seen within which the fitted shape changes in proportion
to it: where spots overlap, drawing further would follow straight lines to shapes that no parameter has."""


@dataclass(frozen=True, eq=False)
class Top:
    """The surroundings of a spot: what its density is thought to be before, and what was seen.

    Attributes
    ----------
    y : array of shape (R,)
        Rows that are looked at. [mm]
    seen : array of shape (3 R,)
        What was seen beyond the fitted densities.
    sure, ragged : array of shape (3 R, 3 R)
        Its covariance by noise, uneven uptake and free parameters, and by discrepancies of size 1.
    mean : array of shape (R,)
        Fitted density of the spot in its own colour.
    own : tuple of two arrays of shape (R, 3 R)
        Its covariance with what was seen, again by either.
    both : tuple of two arrays of shape (R, R)
        Its own covariance, again by either.
    """

    y: Array
    seen: Array
    sure: Array
    ragged: Array
    mean: Array
    own: tuple[Array, Array]
    both: tuple[Array, Array]

    def likely(self) -> Array:
        """Logarithm of how probable what was seen is for each of `SIZES`, but for a constant."""
        return np.array([self._likely(float(size)) for size in SIZES])

    def _likely(self, size: float) -> float:
        root = np.linalg.cholesky(self.sure + size**2 * self.ragged)
        rest = np.linalg.solve(root, self.seen)
        return -0.5 * float(rest @ rest) - float(np.log(np.diag(root)).sum())

    def draw(self, size: float) -> Array:
        """Darkest points of courses drawn with discrepancies of one size. [mm]."""
        own, both = (one[0] + size**2 * one[1] for one in (self.own, self.both))
        gain = np.linalg.solve(self.sure + size**2 * self.ragged, own.T).T
        return _drawn(self.y, self.mean + gain @ self.seen, both - gain @ own.T)


def top_of(profile: Profile, found: Fit, parts: Sequence[int], rows: npt.NDArray[np.int_] | None = None) -> Top | None:
    """Gather what bears on the darkest point of a spot; None where too few rows are left.

    Density is the fitted shape, whose parameters are free to vary, plus a discrepancy of some size and smoothness,
    plus noise of the blank.

    Parameters
    ----------
    profile : Profile
    found : Fit
    parts : sequence of int
        The peaks that make up the spot, the strongest first.
    rows : array of shape (R,), optional
        Which rows to look at; those that the spot reaches by default.
    """
    rows = rows_of(profile, [found.peaks[n] for n in parts]) if rows is None else rows
    if len(rows) < 5:
        return None
    y = profile.y[rows]
    near = [
        n for n, peak in enumerate(found.peaks) if (Bend(peak.mu, peak.s, peak.tau, np.ones(3)).reach(y) > 0.01).any()
    ]
    unit = found.heights[parts[0]] / np.linalg.norm(found.heights[parts[0]])
    sure, ragged = NOISIER**2 * profile.noise.between(rows), np.zeros((3 * len(y), 3 * len(y)))
    sure[np.diag_indices_from(sure)] *= 1.0 + JITTER
    own = np.zeros((2, len(y), 3 * len(y)))
    both = np.zeros((2, len(y), len(y)))
    density, mean, seen = np.zeros((len(y), 3)), np.zeros(len(y)), found.rest[rows].ravel()
    for number in sorted({*near, *parts}):
        jacobian, spread = _parameters(found, number, y)
        peak, height = found.peaks[number], found.heights[number]
        bend = Bend(peak.mu, peak.s, peak.tau, height)
        bent = bend.between(y)
        density += np.outer(peak.at(y), height)
        flat = jacobian.reshape(-1, jacobian.shape[2])
        sure += (flat * spread) @ flat.T
        ragged += np.kron(bent, bend.matrix)
        if number in parts:
            mine = jacobian.transpose(0, 2, 1) @ unit
            own[0] += (mine * spread) @ flat.T
            own[1] += np.kron(bent, unit @ bend.matrix)
            both[0] += (mine * spread) @ mine.T
            both[1] += bent * float(unit @ bend.matrix @ unit)
            mean += peak.at(y) * float(height @ unit)
    sure += uneven(y, density)
    sure[np.diag_indices_from(sure)] *= np.repeat(1.0 + 1e-6 + 1e3 * (profile.used[rows] < 0.9), 3)
    return Top(y, seen, sure, ragged, mean, (own[0], own[1]), (both[0], both[1]))


def darkest(profile: Profile, found: Fit, parts: Sequence[int], sizes: Array) -> tuple[float, float]:
    """Give the darkest point of a spot and its standard uncertainty. [mm].

    Given what was seen, courses of the density are drawn; each has its darkest point. A pale spot's follow the shape;
    a dark one's follow what was seen; on a plateau they lie all over it. How ragged the spot is shows in what was seen
    of it, on top of what the sheet says. What took several peaks to fit may be one spot of an odd shape, whose darkest
    point is meant, or two of one colour, of which that of the stronger is meant: the truth lies somewhere between.

    Parameters
    ----------
    profile : Profile
    found : Fit
    parts : sequence of int
        The peaks that make up the spot, the strongest first.
    sizes : array of shape (S,)
        How probable each of `SIZES` is for a spot of this sheet.
    """
    top = top_of(profile, found, parts)
    if top is None:
        return found.peaks[parts[0]].mu, found.peaks[parts[0]].s
    likely = top.likely()
    share = sizes * np.exp(likely - likely.max())
    share /= share.sum()
    chosen = np.flatnonzero(share > LEAST_SHARE)
    drawn = np.stack([top.draw(float(SIZES[n])) for n in chosen])
    weight = share[chosen] / share[chosen].sum()
    mean = float(weight @ drawn.mean(axis=1))
    spread = float(weight @ ((drawn - mean) ** 2).mean(axis=1))
    other = mean - found.peaks[parts[0]].mu if len(parts) > 1 else 0.0
    return mean, float(np.sqrt(spread + other**2 / 3.0))


def rows_of(profile: Profile, peaks: Sequence[Peak]) -> npt.NDArray[np.int_]:
    """Give the rows that a spot made up of these peaks reaches, thinned out to `ROWS`."""
    low = min(peak.mu - REACH * peak.s - 0.5 * max(peak.tau, 0.0) for peak in peaks)
    high = max(peak.mu + REACH * peak.s + 0.5 * max(-peak.tau, 0.0) for peak in peaks)
    rows = np.flatnonzero((profile.y >= low) & (profile.y <= high))
    return rows[:: max(1, -(-len(rows) // ROWS))]


def _parameters(found: Fit, number: int, y: Array) -> tuple[Array, Array]:
    """Slopes of a spot's densities in its parameters (N, 3, 6), and how far each may lie from the fit, squared."""
    peak, height = found.peaks[number], found.heights[number]
    value, turned = slopes(y, peak.mu, peak.s, peak.tau)
    jacobian = np.concatenate(
        [turned.T[:, None, :] * height[None, :, None], value[:, None, None] * np.eye(3)[None]], axis=2
    )
    spread = LOCAL * np.array([peak.s, SPREAD_OF_WIDTHS, SPREAD_OF_TAILS, *(3 * [float(height.max())])])
    return jacobian, spread**2


def _drawn(y: Array, mean: Array, covariance: Array) -> Array:
    """Places where courses with this mean and covariance are highest."""
    size, turn = np.linalg.eigh(0.5 * (covariance + covariance.T))
    random = np.random.default_rng(1).standard_normal((DRAWS // 2, len(y)))
    random = np.concatenate([random, -random])
    courses = mean + random @ (turn * np.sqrt(np.maximum(size, 0.0))).T
    top = np.clip(np.argmax(courses, axis=1), 1, len(y) - 2)
    row = np.arange(len(courses))
    low, here, high = (courses[row, top + step] for step in (-1, 0, 1))
    bend = np.minimum(low - 2.0 * here + high, -1e-12)
    return np.asarray(y[top] + np.clip(0.5 * (low - high) / bend, -1.0, 1.0) * (y[1] - y[0]))
