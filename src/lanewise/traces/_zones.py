"""Gaussian zones with and without a tail, in numbers that a fit can search and from which the readings follow.

A zone is given by its mean, its standard deviation s and its lean p = (tau / sigma)^3. In these it is smooth through
p = 0, where mu, sigma and tau cannot be told apart; its skewness there is about -2 p. Landmarks are places in units
of s from the mean; they depend on the lean alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lanewise.traces._grids import Counts, Floats
from lanewise.traces.shapes import zone
from lanewise.traces.spots import READ

NAMES = (*READ, "mu", "sigma", "tau")
LANDMARKS = ("apex", "trailing", "leading", "before", "after", "rear", "lead", "ln height")
"""Apex, edges, half height before and after the apex, a tenth before and after it, and the height for s = 1."""

_HALF, _TENTH = np.sqrt(2.0 * np.log(2.0)), np.sqrt(2.0 * np.log(10.0))
GAUSSIAN = np.array([0.0, -2.0, 2.0, -_HALF, _HALF, -_TENTH, _TENTH, -0.5 * np.log(2.0 * np.pi)])
"""The landmarks where nothing leans."""

LEAST_LEAN = 1e-9  # nearer to 0 the derivative by p is lost in rounding; the shape moves by less than that
STEP = 1e-4  # of 1 + |p|, for the derivative of landmarks
ROUNDS, SETTLED = 60, 1e-8  # a smaller step of Newton's is followed by one within rounding


class Zones(NamedTuple):
    """Zones in the numbers of a fit, arrays of shape (P,); the lean is 0 where there is no tail."""

    mean: Floats
    s: Floats
    lean: Floats
    tailed: NDArray[np.bool_]

    def theta(self) -> Floats:
        """All means, then all ln s, then the leans of those with a tail."""
        return np.concatenate([self.mean, np.log(self.s), self.lean[self.tailed]])

    def at(self, theta: Floats) -> Zones:
        """Give zones with the same tails at other numbers."""
        spots = len(self.mean)
        lean, tails = np.zeros(spots), theta[2 * spots :]
        lean[self.tailed] = np.copysign(np.maximum(np.abs(tails), LEAST_LEAN), tails)
        return Zones(theta[:spots], np.exp(theta[spots : 2 * spots]), lean, self.tailed)

    def ordered(self, order: Counts) -> Zones:
        """Give the same zones in another order."""
        return Zones(self.mean[order], self.s[order], self.lean[order], self.tailed[order])

    def natural(self) -> tuple[Floats, Floats, Floats]:
        """Give sigma, tau, and the derivative of tau by the lean; that of sigma is -tau / sigma times as much."""
        ratio = np.cbrt(self.lean)
        sigma = self.s / np.sqrt(1.0 + ratio**2)
        by_lean = np.zeros_like(sigma)
        np.divide(sigma, 3.0 * ratio**2 * (1.0 + ratio**2), out=by_lean, where=self.tailed)
        return sigma, ratio * sigma, by_lean

    def shapes(self, x: Floats) -> tuple[Floats, Floats]:
        """Zones of unit area, (N, P), and their derivatives by each element of theta, (N, K)."""
        sigma, tau, by_lean = self.natural()
        at = zone(x[:, None], self.mean + tau, sigma, tau)
        shift, bend = at.by_tau - at.first, sigma * at.second
        leans = (by_lean * (shift - np.cbrt(self.lean) * bend))[:, self.tailed]
        return at.value, np.concatenate([-at.first, tau * shift + sigma * bend, leans], axis=1)

    def readings(self, areas: Floats) -> tuple[Floats, Floats]:
        """Readings `NAMES`, (K, P), and their derivatives by area, mean, ln s and lean of their spot, (K, P, 4)."""
        s, still, one = self.s, np.zeros_like(self.s), np.ones_like(self.s)
        sigma, tau, by_lean = self.natural()
        # Each landmark has two columns: where it is, and its derivative by the lean.
        at = dict(zip(LANDMARKS, np.stack(self._landmarks(), axis=-1), strict=True))
        height = areas / s * np.exp(at["ln height"][:, 0])
        rear, lead = at["apex"] - at["rear"], at["lead"] - at["apex"]
        asymmetry = rear[:, 0] / lead[:, 0]

        def point(place: Floats) -> list[Floats]:
            return [self.mean + s * place[:, 0], still, one, s * place[:, 0], s * place[:, 1]]

        def distance(place: Floats) -> list[Floats]:
            return [s * place[:, 0], still, still, s * place[:, 0], s * place[:, 1]]

        found = {
            "apex": point(at["apex"]),
            "trailing": point(at["trailing"]),
            "leading": point(at["leading"]),
            "centre": [self.mean, still, one, still, still],
            "height": [height, height / areas, still, -height, height * at["ln height"][:, 1]],
            "width": distance(at["leading"] - at["trailing"]),
            "half_width": distance(at["after"] - at["before"]),
            "area": [areas, one, still, still, still],
            "asymmetry": [asymmetry, still, still, still, (rear[:, 1] - asymmetry * lead[:, 1]) / lead[:, 0]],
            "mu": [self.mean + tau, still, one, tau, by_lean],
            "sigma": [sigma, still, still, sigma, -np.cbrt(self.lean) * by_lean],
            "tau": [tau, still, still, tau, by_lean],
        }
        table = np.array([found[name] for name in NAMES])
        return table[:, 0], np.moveaxis(table[:, 1:], 1, 2)

    def _landmarks(self) -> tuple[Floats, Floats]:
        """Landmarks and their derivatives by the lean, each of shape (8, P)."""
        at, by = np.tile(GAUSSIAN[:, None], len(self.s)), np.zeros((len(GAUSSIAN), len(self.s)))
        if self.tailed.any():
            p = self.lean[self.tailed]
            step = STEP * (1.0 + np.abs(p))
            three = landmarks(p + step * np.array([[-1.0], [0.0], [1.0]]))
            below, at[:, self.tailed], above = np.moveaxis(three, 1, 0)
            by[:, self.tailed] = (above - below) / (2.0 * step)
        return at, by


def landmarks(lean: Floats) -> Floats:
    """Landmarks, shape (8, ...), for leans of any shape; see `LANDMARKS`."""
    ratio = np.cbrt(lean)
    sigma = 1.0 / np.sqrt(1.0 + ratio**2)
    apex = mu = tau = ratio * sigma
    for _ in range(ROUNDS):  # Newton for the slope of ln f, from the side on which it comes in without a swing
        at = zone(apex, mu, sigma, tau)
        rate = at.first / at.value
        step = rate / (at.second / at.value - rate**2)
        apex = apex - step
        if np.abs(step).max(initial=0.0) < SETTLED:
            break
    top = zone(apex, mu, sigma, tau).value
    side = np.array([-1.0, 1.0, -1.0, 1.0]).reshape(-1, *[1] * lean.ndim)
    level = np.log(np.array([0.5, 0.5, 0.1, 0.1])).reshape(side.shape) + np.log(top)
    places = apex + side * np.where(side * lean <= 0.0, 8.0, 4.0 * sigma)
    for _ in range(ROUNDS):  # the same for ln f less a level: it is concave, so that Newton comes in from outside
        at = zone(places, mu, sigma, tau)
        step = (np.log(at.value) - level) * at.value / at.first
        places = places - step
        if np.abs(step).max(initial=0.0) < SETTLED:
            break
    return np.stack([apex, *_feet(apex, places[2:], mu, sigma, tau), *places, np.log(top)])


def _feet(apex: Floats, tenths: Floats, mu: Floats, sigma: Floats, tau: Floats) -> Floats:
    """Where the tangents at the points of inflection, which lie between apex and tenths, meet the baseline."""
    inner, outer = np.broadcast_to(apex, tenths.shape), tenths
    shares = np.linspace(0.0, 1.0, 33).reshape(-1, *[1] * tenths.ndim)
    for _ in range(2):
        places = inner + shares * (outer - inner)
        bent = zone(places, mu, sigma, tau).second
        last = (bent < 0.0).sum(axis=0)[None] - 1  # still bent downwards, as at the apex
        inner, outer = (np.take_along_axis(places, last + one, axis=0)[0] for one in (0, 1))
        first, second = (np.take_along_axis(bent, last + one, axis=0)[0] for one in (0, 1))
    steepest = inner + (outer - inner) * first / (first - second)
    at = zone(steepest, mu, sigma, tau)
    return np.asarray(steepest - at.value / at.first)
