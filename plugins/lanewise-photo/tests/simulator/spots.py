"""Spots as amounts of dye on the sheet, and what is true of them.

A profile along the lane is built in the order in which it comes about: a band spread by diffusion (a normal
distribution), then a kinetic or overload tail, all on a fine grid by convolution; no closed form is used.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve

from simulator.colour import Dye, Floats, lab
from simulator.mixing import Mixture

STEP = 0.02  # of the grid on which a profile is made [mm]
REACH = 130.0  # of that grid to both sides [mm]
EDGE = 5e-4  # of the peak: amount at which a spot is cut off


def tail_kernel(kind: str, length: float) -> Floats:
    """Weights of a tail of mean length `length`, on the grid, starting at the spot."""
    count = max(2, round(min(14 * length, REACH) / STEP))
    t = np.arange(count) * STEP
    if kind == "exponential":
        made = np.exp(-t / length)
    elif kind == "triangle":
        made = np.clip(1 - t / (3 * length), 0, None)
    else:  # a long thin tail: most of the dye moved on, some was left behind all the way
        made = 0.75 * np.exp(-t / (0.5 * length)) / 0.5 + 0.25 * np.exp(-t / (2.5 * length)) / 2.5
    return np.asarray(made / made.sum())


@dataclass(frozen=True, kw_only=True)
class Spot:
    """One spot as it lies on the sheet.

    Attributes
    ----------
    lane : int
        Number of the lane.
    dye : Dye
        What it consists of.
    x, y : float
        Centre of the band before it got its tail. [mm]
    sigma, sigma_x : float
        Standard deviations along and across the lane. [mm]
    tau : float
        Mean length of the tail, positive towards the origin. [mm]
    tail : str
        ``exponential``, ``triangle`` or ``long``.
    flat : float
        0 for a normal distribution, up to 4 for a flat top with the same outlines.
    bow : float
        Sag of a crescent: y falls by bow times the square of the distance from the middle. [1/mm]
    lobes : tuple of four float
        How far its outline is from an ellipse: cosine and sine of twice and of three times the angle, as shares.
    load : float
        Load (K/S) at the peak, of the dye's strongest band.
    state, shape : str
        As in `SpotTruth`.
    rf : float
        Of the dye.
    cut : bool
        Whether it lies in the front, beyond which nothing goes.
    start : float
        Where the drop sat: a tail does not go beyond it. [mm]
    """

    lane: int
    dye: Dye
    x: float
    y: float
    sigma: float
    sigma_x: float
    tau: float = 0.0
    tail: str = "exponential"
    flat: float = 0.0
    bow: float = 0.0
    lobes: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    load: float = 0.0
    state: str = "measured"
    shape: str = "round"
    rf: float = 0.0
    cut: bool = False
    start: float = -np.inf

    @cached_property
    def profile(self) -> tuple[Floats, Floats]:
        """Grid along the lane, relative to `y`, and amount relative to the peak."""
        grid = np.arange(-REACH, REACH + STEP / 2, STEP)
        made = np.exp(-0.5 * (grid / self.sigma) ** 2)
        if self.tau:
            kernel = tail_kernel(self.tail, abs(self.tau))
            flipped = made if self.tau < 0 else made[::-1]
            spread = fftconvolve(flipped, kernel)[: len(grid)]
            made = spread if self.tau < 0 else spread[::-1]
        return grid, made / made.max()

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """Left, right, lower and upper limit beyond which there is nothing. [mm]"""
        grid, made = self.profile
        inside = grid[made > EDGE]
        across = 4.2 * self.sigma_x
        sag = abs(self.bow) * across**2
        return self.x - across, self.x + across, self.y + inside[0] - sag - 0.8, self.y + inside[-1] + sag + 0.8

    def amount(self, x: NDArray[np.floating], y: NDArray[np.floating]) -> Floats:
        """Load at places on the sheet."""
        grid, made = self.profile
        u = (x - self.x) / self.sigma_x
        v = y - self.y + self.bow * (x - self.x) ** 2
        if self.tau:  # a tail is narrower than its spot
            behind = np.clip(-np.sign(self.tau) * v / (4 * abs(self.tau)), 0, 1)
            u = u / (1 - 0.3 * behind)
        if any(self.lobes):
            angle = np.arctan2(v / self.sigma, u)
            a, b, c, d = self.lobes
            uneven = a * np.cos(2 * angle) + b * np.sin(2 * angle) + c * np.cos(3 * angle) + d * np.sin(3 * angle)
            out = np.hypot(u, v / self.sigma)
            wider = 1 + uneven * np.clip(out, 0, 1.5) / 1.5
            u, v = u * wider, v * wider
        made_here = np.exp(-0.5 * u * u) * np.interp(v, grid, made)
        if self.flat:
            made_here = (1 - np.exp(-self.flat * made_here)) / (1 - np.exp(-self.flat))
        if self.tau > 0 and np.isfinite(self.start):
            made_here = made_here * 0.5 * (1 + np.tanh((y - self.start) / 0.6))
        return np.asarray(self.load * made_here)


def density_along(spot: Spot, mixture: Mixture, y: Floats, shift: tuple[float, float] = (0.0, 0.0)) -> Floats:
    """Optical density along the middle of a spot, mean over half a standard deviation to both sides; shape (N, 3)."""
    across = spot.x + spot.sigma_x * np.linspace(-0.5, 0.5, 7)
    x, along = np.meshgrid(across, y)
    load = spot.amount(x - shift[0], along - shift[1])
    seen = mixture.density(load.reshape(-1, 1) * spot.dye.absorptivity)
    return np.asarray(seen.reshape(len(y), len(across), 3).mean(axis=1))


@dataclass(frozen=True)
class Measured:
    """What is true of one spot on its own: places along the lane [mm], densities, colour, mass."""

    apex: float
    trailing: float
    leading: float
    centroid: float
    od: tuple[float, float, float]
    channel: int
    lab: tuple[float, float, float]
    amount: float


def measure(spot: Spot, mixture: Mixture, shift: tuple[float, float], limit: float) -> Measured:
    """Find the darkest point and the edges of a spot from its density along the lane.

    Parameters
    ----------
    spot : Spot
    mixture : Mixture
    shift : tuple of float
        By how much the paper's unevenness moved it, across and along. [mm]
    limit : float
        Place beyond which there is no dye. [mm]
    """
    _, _, low, high = spot.box
    y = np.arange(low - 1, high + 1, 0.05)
    seen = density_along(spot, mixture, y, shift)
    seen[y > limit] = 0
    channel = int(seen.max(axis=0).argmax())
    one = seen[:, channel]
    top = int(one.argmax())
    apex = float(y[top])
    if 0 < top < len(y) - 1:
        a, b, c = one[top - 1 : top + 2]
        apex += 0.05 * 0.5 * float((a - c) / (a - 2 * b + c)) if a - 2 * b + c else 0.0
    slope = np.gradient(one, y)
    rise, fall = int(slope[: top + 1].argmax()), top + int(slope[top:].argmin())
    trailing = float(y[rise] - one[rise] / slope[rise]) if slope[rise] > 0 else apex
    leading = float(y[fall] - one[fall] / slope[fall]) if slope[fall] < 0 else apex
    od = seen[top]
    left, right, low, high = spot.box
    across, along = np.meshgrid(np.arange(left, right, 0.25), np.arange(low, high, 0.25))
    mass = float(spot.amount(across, along).sum()) * 0.25**2
    return Measured(
        apex=apex,
        trailing=min(trailing, apex),
        leading=max(leading, apex),
        centroid=float((one * y).sum() / one.sum()),
        od=(float(od[0]), float(od[1]), float(od[2])),
        channel=channel,
        lab=tuple(round(float(v), 3) for v in lab(10.0**-od)),  # type: ignore[arg-type]
        amount=round(0.2 * mass, 4),
    )


APART = 60.0
"""Angle between the colours of two spots, as directions of optical density, from which one is told apart from the other
by its colour where no channel shows it on its own. [deg]"""


def told_apart(densities: list[Floats], tops: list[int], sigmas: list[float], step: float) -> list[bool]:
    """Say of each spot of a lane whether it can be told from the others, by place or by colour.

    Parameters
    ----------
    densities : list of array, each shape (N, 3)
        Optical density of each spot alone along the lane, on a common grid.
    tops : list of int
        Where on the grid each has its apex.
    sigmas : list of float
        Standard deviation of each along the lane. [mm]
    step : float
        Of the grid. [mm]

    Returns
    -------
    list of bool
        Whether the sum of all, seen in a channel, has a maximum near the apex that stands out by a quarter of the
        spot's own height; or does so in the direction of colour that leaves out another spot whose colour is `APART`
        from its own and whose apex is a standard deviation away. A spot under others more than four times as dense as
        it is lost.
    """
    total = np.sum(densities, axis=0)
    heights = [one[top] for one, top in zip(densities, tops, strict=True)]
    result = []
    for k, top in enumerate(tops):
        own = heights[k]
        if not own.any() or 4 * np.linalg.norm(own) < np.linalg.norm(total[top] - own):
            result.append(False)
            continue
        unit = own / np.linalg.norm(own)
        views = [*np.eye(3)]
        for j, other in enumerate(heights):
            if j == k or not other.any():
                continue
            away = other / np.linalg.norm(other)
            rest = unit - (unit @ away) * away
            distance = abs(top - tops[j]) * step
            if np.linalg.norm(rest) > np.sin(np.radians(APART)) and distance >= min(sigmas[j], sigmas[k]):
                views.append(rest / np.linalg.norm(rest))
        reach = max(2, round(0.8 / step))
        result.append(any(_stands_out(total @ view, float(own @ view), top, reach) for view in views))
    return result


def _stands_out(seen: Floats, own: float, top: int, reach: int) -> bool:
    low, high = max(0, top - reach), min(len(seen), top + reach + 1)
    peak = low + int(seen[low:high].argmax())
    if own < 0.015 or peak in (low, high - 1):
        return False
    wanted = 0.25 * own
    return _falls(seen[peak:], wanted) and _falls(seen[peak::-1], wanted)


def _falls(seen: Floats, by: float) -> bool:
    """Whether a profile falls by so much before it rises above its start."""
    above = np.nonzero(seen > seen[0] + 1e-12)[0]
    end = above[0] if len(above) else len(seen)
    return bool(seen[:end].min() <= seen[0] - by)
