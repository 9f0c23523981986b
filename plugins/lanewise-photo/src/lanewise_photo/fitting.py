"""All spots of a lane and its baseline at once, in three colours: shapes are shared, heights are each colour's own.

The heights and the baseline enter linearly and are eliminated (variable projection, in the form of Kaufman, from
memory). No dye makes paper brighter, so that heights are never below zero. Width and tail have a prior each, so that
a pale spot, which says nothing of them, takes the usual ones, and a dark one its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.discrepancy import USUAL, Bend, weights
from lanewise_photo.noise import Noise
from lanewise_photo.shapes import shape, slopes

Array: TypeAlias = npt.NDArray[np.float64]

NARROWEST, WIDEST, LONGEST = 0.35, 9.0, 25.0
"""Bounds of width and tail. [mm]"""

SPREAD_OF_WIDTHS = 0.6
"""Standard deviation of the logarithm of the widths of spots: two thirds lie within a factor of 1.8."""

SPREAD_OF_TAILS = 1.5
"""Standard deviation of tail over width: a tail as long as the spot is wide is nothing odd."""


@dataclass(frozen=True)
class Peak:
    """Shape of one spot: darkest point, standard deviation and tail. [mm]."""

    mu: float
    s: float
    tau: float = 0.0

    @property
    def odds(self) -> Array:
        """How far width and tail lie from the usual, in standard deviations of what is usual."""
        return np.array([np.log(self.s / USUAL) / SPREAD_OF_WIDTHS, self.tau / self.s / SPREAD_OF_TAILS])

    def moved(self, step: Array) -> Peak:
        """Take a step in darkest point, logarithm of the standard deviation, and tail over standard deviation."""
        s = float(np.clip(self.s * np.exp(np.clip(step[1], -0.5, 0.5)), NARROWEST, WIDEST))
        mu = self.mu + float(np.clip(step[0], -self.s, self.s))
        skew = self.tau / self.s + float(np.clip(step[2], -1.5, 1.5))
        return Peak(mu, s, float(np.clip(skew * s, -LONGEST, LONGEST)))

    def at(self, y: Array) -> Array:
        """Value of the shape."""
        return shape(y, self.mu, self.s, self.tau)


@dataclass(frozen=True, eq=False)
class Profile:
    """What is fitted.

    Attributes
    ----------
    y : array of shape (N,)
        Positions along the run, evenly spaced. [mm]
    values : array of shape (N, 3)
        Optical density.
    used : array of shape (N,)
        1 where a row counts, 0 where a line hides what is below it.
    plain : array of shape (N, M)
        Baseline and what else belongs to no spot.
    noise : Noise
        Of the blank sheet.
    size : float
        Factor on how far spots differ from their shapes.
    """

    y: Array
    values: Array
    used: Array
    plain: Array
    noise: Noise
    size: float = 1.0

    def weights(self, peaks: tuple[Peak, ...], heights: Array) -> Array:
        """Weights of the rows, shape (N, 3, 3), where these spots are."""
        bends = [Bend(peak.mu, peak.s, peak.tau, height) for peak, height in zip(peaks, heights, strict=True)]
        return weights(self.y, self.noise, self.used, bends, self.size)


@dataclass(frozen=True, eq=False)
class Fit:
    """Result of a fit.

    Attributes
    ----------
    peaks : tuple of Peak, length K
        Shapes.
    heights : array of shape (K, 3)
        Optical density at the darkest point, never below zero.
    rest : array of shape (N, 3)
        What is left, as optical density.
    cost : float
        Weighted sum of squares of what is left, and of how unusual the shapes are.
    weights : array of shape (N, 3, 3)
        Those it was made with.
    """

    peaks: tuple[Peak, ...]
    heights: Array
    rest: Array
    cost: float
    weights: Array


@dataclass(frozen=True, eq=False)
class State:
    """Where a fit stands: linear columns, whitened, with their normal matrix; what is left, whitened.

    Columns are ordered by baseline and spot, then by colour; those of heights held at zero are left out (`free`).
    """

    columns: Array
    free: npt.NDArray[np.bool_]
    factor: Array
    linear: Array
    rest: Array
    cost: float


def whitener(given: Array) -> Array:
    """Give U with U' U = weight for each row, shape (N, 3, 3)."""
    scale = given.trace(axis1=1, axis2=2)[:, None, None] * 1e-9 + 1e-12
    return np.asarray(np.linalg.cholesky(given + scale * np.eye(3)).transpose(0, 2, 1))


def fit(profile: Profile, given: Array, peaks: tuple[Peak, ...], rounds: int = 12, least: float = 0.1) -> Fit:
    """Fit peaks and baseline by damped Gauss-Newton steps.

    Parameters
    ----------
    profile : Profile
        What to fit.
    given : array of shape (N, 3, 3)
        Weights of the rows.
    peaks : tuple of Peak
        Where to begin.
    rounds : int
        Most steps.
    least : float
        What a step must win of the cost, or it is the last.
    """
    root = whitener(given)
    values = np.einsum("nij,nj->ni", root, profile.values).ravel()
    state = solved(profile, root, values, peaks)
    damping = 1e-3
    for _ in range(rounds if peaks else 0):
        normal, pull = equations(profile, root, peaks, state)[:2]
        before = state.cost
        for _ in range(9):
            step: Array = np.linalg.solve(
                normal + damping * np.diag(np.maximum(np.diag(normal), 0.0) + 1.0), pull
            ).astype(float)
            trial = tuple(peak.moved(step[3 * n : 3 * n + 3]) for n, peak in enumerate(peaks))
            new = solved(profile, root, values, trial)
            if new.cost <= state.cost:
                peaks, state, damping = trial, new, max(damping / 8, 1e-8)
                break
            damping = max(damping * 10, 1e-2)
        if before - state.cost < least:
            break
    bare = len(state.linear) - 3 * len(peaks)
    heights = state.linear[bare:].reshape(-1, 3)
    model = profile.plain @ state.linear[:bare].reshape(-1, 3)
    for peak, height in zip(peaks, heights, strict=True):
        model = model + np.outer(peak.at(profile.y), height)
    return Fit(peaks, heights, profile.values - model, state.cost, given)


def solved(profile: Profile, root: Array, values: Array, peaks: tuple[Peak, ...]) -> State:
    """Work out heights and baseline for given shapes; heights below zero are held at zero."""
    basis = np.concatenate([profile.plain.T, *(peak.at(profile.y)[None] for peak in peaks)])
    columns = (basis[:, None, :, None] * root.transpose(2, 0, 1)[None]).reshape(3 * len(basis), -1)
    normal = columns @ columns.T
    normal[np.diag_indices_from(normal)] += 1e-9 * np.diag(normal) + 1e-12
    pull = columns @ values
    free = np.ones(len(normal), dtype=bool)
    bare = 3 * profile.plain.shape[1]
    for _ in range(4):
        linear = np.zeros(len(normal))
        part = normal if free.all() else normal[np.ix_(free, free)]
        linear[free] = np.linalg.solve(part, pull[free])
        wrong = linear < 0.0
        wrong[:bare] = False
        if not wrong.any():
            break
        free &= ~wrong
    linear[bare:] = np.maximum(linear[bare:], 0.0)
    rest = values - linear @ columns
    odd = sum(float(peak.odds @ peak.odds) for peak in peaks)
    return State(columns, free, normal, linear, rest, float(rest @ rest) + odd)


def equations(profile: Profile, root: Array, peaks: tuple[Peak, ...], state: State) -> tuple[Array, Array, Array]:
    """Normal matrix and pull of the shapes, without what the linear columns take up; whitened slopes (3 K, 3 N)."""
    bare = 3 * profile.plain.shape[1]
    made = []
    for number, peak in enumerate(peaks):
        height = state.linear[bare + 3 * number : bare + 3 * number + 3]
        turned = slopes(profile.y, peak.mu, peak.s, peak.tau)[1]
        made.append((turned[:, :, None] * (root @ height)[None]).reshape(3, -1))
    slope = np.concatenate(made)
    columns = state.columns[state.free]
    cross = slope @ columns.T
    normal = slope @ slope.T - cross @ np.linalg.solve(state.factor[np.ix_(state.free, state.free)], cross.T)
    pull = slope @ state.rest
    for number, peak in enumerate(peaks):
        for place, (odd, spread) in enumerate(
            zip(peak.odds, (SPREAD_OF_WIDTHS, SPREAD_OF_TAILS), strict=True), start=1
        ):
            normal[3 * number + place, 3 * number + place] += 1.0 / spread**2
            pull[3 * number + place] -= odd / spread
    return normal, pull, slope


def covariances(profile: Profile, found: Fit) -> tuple[Array, Array]:
    """Covariance of each spot's place, log width and tail over width, and of its heights. Two arrays (K, 3, 3)."""
    root = whitener(found.weights)
    values = np.einsum("nij,nj->ni", root, profile.values).ravel()
    state = solved(profile, root, values, found.peaks)
    slope = equations(profile, root, found.peaks, state)[2]
    columns = np.concatenate([slope, state.columns])
    normal = columns @ columns.T
    own = np.arange(len(found.peaks))
    for place, spread in ((1, SPREAD_OF_WIDTHS), (2, SPREAD_OF_TAILS)):
        normal[3 * own + place, 3 * own + place] += 1.0 / spread**2
    normal[np.diag_indices_from(normal)] += 1e-9 * np.diag(normal) + 1e-12
    inverse = np.linalg.inv(normal)
    first = 3 * len(own) + 3 * profile.plain.shape[1]
    shapes = np.stack([inverse[3 * n : 3 * n + 3, 3 * n : 3 * n + 3] for n in own])
    heights = np.stack([inverse[first + 3 * n : first + 3 * n + 3, first + 3 * n : first + 3 * n + 3] for n in own])
    return shapes, heights
