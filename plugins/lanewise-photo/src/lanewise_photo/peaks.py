"""Which spots a lane holds: each is there because the lane cannot be described without it.

One rule decides: a spot is added where it lowers the weighted sum of squares by more than chance does, and kept as
long as it does. The weights know the noise of the blank paper and by how much real spots differ from fitted ones, so
that nothing is seen in the skirt of a strong spot that its own irregularity may explain.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.discrepancy import USUAL
from lanewise_photo.fitting import NARROWEST, Fit, Peak, Profile, fit, whitener
from lanewise_photo.shapes import slopes

Array: TypeAlias = npt.NDArray[np.float64]

GAIN = 25.0
"""By how much a spot must lower the sum of squares: with 5 parameters, at about 50 places of a lane, chance does so
once in a hundred lanes (chi-squared distribution)."""

WIDTHS = (0.7, 1.2, 2.0, 3.4)
"""Standard deviations with which spots are looked for. [mm]"""

SPACING = 0.7
"""Distance of places where spots are looked for, in these: half of it loses 3 % of the gain."""

SAME_PLACE = 0.5
"""Two spots nearer to each other than this share of the narrower's standard deviation cannot be told apart."""

GAIN_AT_ORIGIN = 18.0
"""The same on the origin line, where every sample was put: with four parameters at one place, chance does so once in a
thousand lanes."""

ON_ORIGIN = 1.0
"""How far from the origin line, as it was found, something that stayed there may have its darkest point. [mm]"""

COLOURED = 0.7
"""Least channel over largest, below which something is no pencil: graphite takes all colours alike to a tenth or so."""

CLEAR = 10.0
"""A spot that the others, by changing a little, cannot stand in for by so many times the least gain is not doubted."""

MOST = 14
"""Most spots of one lane."""

TRIES = 3
"""After so many rises in a row that came to nothing, no more are tried."""

AT_ONCE = 0.15
"""Several spots are added at once if they lie apart and each stands out by this share of the one that does most."""


@dataclass(frozen=True)
class Rise:
    """A place where a spot is wanting: where, how wide, and how much it would lower the sum of squares."""

    y: float
    s: float
    gain: float


def fit_lane(profile: Profile) -> Fit:
    """Fit the spots of a lane, from the origin to the front.

    Parameters
    ----------
    profile : Profile
        The lane.

    Returns
    -------
    Fit
    """
    found = settled(profile, ())
    barred: list[Rise] = []
    while len(found.peaks) < MOST and len(barred) < TRIES:
        rises = _apart([one for one in rises_of(profile, found) if not _barred(one, barred)])
        if not rises:
            break
        found, refused = _with(profile, found, rises)
        barred = [*barred, *refused] if refused else []
    found = _needed(profile, found)
    order = np.argsort([peak.mu for peak in found.peaks])
    return settled(profile, tuple(found.peaks[n] for n in order), 2)


def with_origin(profile: Profile, found: Fit, origin: float) -> Fit:
    """Add what stayed on the origin line, if it is coloured: what is grey there may be left of the line itself."""
    if any(abs(peak.mu - origin) < 2.0 * ON_ORIGIN for peak in found.peaks):
        return found
    near = [one for one in rises_of(profile, found, GAIN_AT_ORIGIN) if abs(one.y - origin) < ON_ORIGIN]
    if not near:
        return found
    rise = max(near, key=lambda one: one.gain)
    tried = fit(profile, found.weights, (*found.peaks, Peak(rise.y, rise.s)))
    height = tried.heights[-1]
    coloured = height.min() < COLOURED * height.max()
    if not coloured or abs(tried.peaks[-1].mu - origin) > 2.0 * ON_ORIGIN:
        return found
    if gains(profile, tried)[-1] < GAIN_AT_ORIGIN:
        return found
    order = np.argsort([peak.mu for peak in tried.peaks])
    return settled(profile, tuple(tried.peaks[n] for n in order), 1)


def settled(profile: Profile, peaks: tuple[Peak, ...], times: int = 2) -> Fit:
    """Fit with weights that follow from the fit itself."""
    given = profile.weights((), np.empty((0, 3)))
    found = fit(profile, given, peaks, 0)
    for _ in range(times if peaks else 0):
        found = fit(profile, profile.weights(found.peaks, found.heights), found.peaks)
    return found


def _reweighed(profile: Profile, found: Fit) -> Fit:
    return fit(profile, profile.weights(found.peaks, found.heights), found.peaks)


def _with(profile: Profile, found: Fit, rises: list[Rise]) -> tuple[Fit, list[Rise]]:
    """Add spots where they are wanting; give back those that did not earn their place."""
    starts = tuple(Peak(one.y, one.s) for one in rises[: MOST - len(found.peaks)])
    tried = _distinct(profile, fit(profile, found.weights, (*found.peaks, *starts)), len(found.peaks))
    gained = found.cost - tried.cost
    if len(tried.peaks) > len(found.peaks) and gained > GAIN * (len(tried.peaks) - len(found.peaks)):
        return _reweighed(profile, tried), []
    if len(rises) > 1:
        return _with(profile, found, rises[:1])
    return found, rises


def _distinct(profile: Profile, found: Fit, old: int) -> Fit:
    """Leave out new spots that have no colour left, lie outside, or lie where another is."""
    keep = list(range(len(found.peaks)))
    for number in range(len(found.peaks) - 1, -1, -1):
        peak = found.peaks[number]
        bad = found.heights[number].max() <= 1e-4 or not profile.y[0] - 1.0 < peak.mu < profile.y[-1] + 1.0
        for other in keep:
            mate = found.peaks[other]
            near = abs(mate.mu - peak.mu) < SAME_PLACE * min(mate.s, peak.s)
            bad |= near and other != number and found.heights[other].max() >= found.heights[number].max()
        bad |= number >= old and peak.s <= 1.01 * NARROWEST
        if bad:
            keep.remove(number)
    if len(keep) == len(found.peaks):
        return found
    return fit(profile, found.weights, tuple(found.peaks[n] for n in keep))


def _needed(profile: Profile, found: Fit) -> Fit:
    """Drop spots that, once the others stand, no longer earn their place."""
    sure: list[Peak] = []
    while found.peaks:
        gain = gains(profile, found)
        doubt = [n for n in np.argsort(gain) if gain[n] < CLEAR * GAIN and found.peaks[n] not in sure]
        if not doubt:
            break
        number = int(doubt[0])
        rest = tuple(peak for n, peak in enumerate(found.peaks) if n != number)
        given = profile.weights(rest, np.delete(found.heights, number, axis=0))
        bare = fit(profile, given, rest)
        if bare.cost - fit(profile, given, found.peaks, 3).cost < GAIN:
            found = _reweighed(profile, bare)
        else:
            sure.append(found.peaks[number])
    return found


def _barred(rise: Rise, barred: list[Rise]) -> bool:
    return any(abs(rise.y - one.y) < 1.0 * max(one.s, rise.s) for one in barred)


def _apart(rises: list[Rise]) -> list[Rise]:
    """Take the rise that stands out most, and those that lie far from it and from each other."""
    chosen: list[Rise] = []
    for rise in sorted(rises, key=lambda one: one.gain, reverse=True):
        if rise.gain < AT_ONCE * (chosen[0].gain if chosen else 0.0):
            break
        if all(abs(rise.y - one.y) > 3.0 * (rise.s + one.s) for one in chosen):
            chosen.append(rise)
    return chosen


def rises_of(profile: Profile, found: Fit, least: float = GAIN) -> list[Rise]:
    """Find where a spot is wanting, in whatever colour, and how much it would lower the sum of squares.

    What the baseline and the other spots could still take up by changing a little does not count (score test).
    """
    root = whitener(found.weights)
    columns = _known(profile, root, found.peaks, found.heights)
    normal = columns @ columns.T
    normal[np.diag_indices_from(normal)] += 1e-6 * np.diag(normal) + 1e-12
    turn = np.linalg.inv(np.linalg.cholesky(normal))
    columns = turn @ columns
    stuck = columns @ (root @ found.rest[:, :, None]).ravel()
    apart = columns.reshape(len(columns), -1, 3).transpose(1, 2, 0)
    turned = [root[:, row, :, None] * apart[:, row, None] for row in range(3)]
    known = (turned[0] + turned[1] + turned[2]).reshape(len(profile.y), -1)
    pulled = (found.weights @ found.rest[:, :, None])[:, :, 0]
    made = []
    usual = np.linalg.det(profile.noise.inflated(USUAL / (profile.y[1] - profile.y[0])))
    for s in WIDTHS:
        centres = np.arange(profile.y[0], profile.y[-1] + 0.1, SPACING * s)
        shapes = np.exp(-0.5 * ((profile.y - centres[:, None]) / s) ** 2)
        cross = (shapes @ known).reshape(len(centres), 3, -1)
        own = (shapes**2 @ found.weights.reshape(-1, 9)).reshape(-1, 3, 3)
        left = own - cross @ cross.transpose(0, 2, 1) + 1e-6 * own.trace(axis1=1, axis2=2)[:, None, None] * np.eye(3)
        gain = _gains(left, shapes @ pulled - cross @ stuck)
        gain *= (usual / np.linalg.det(profile.noise.inflated(s / (profile.y[1] - profile.y[0])))) ** (1 / 3)
        for number in np.flatnonzero(gain > least):
            if all(abs(centres[number] - peak.mu) > SAME_PLACE * min(peak.s, s) for peak in found.peaks):
                made.append(Rise(float(centres[number]), s, float(gain[number])))
    return made


def _gains(normal: Array, pull: Array) -> Array:
    """By how much three heights, none of them below zero, lower the sum of squares at each place."""
    best = np.zeros(len(pull))
    for size in (3, 2, 1):
        for chosen in combinations(range(3), size):
            part = normal[:, chosen][:, :, chosen]
            height = np.linalg.solve(part, pull[:, chosen][..., None])[..., 0]
            gain = (height * pull[:, chosen]).sum(axis=1)
            best = np.where((height >= 0.0).all(axis=1), np.maximum(best, gain), best)
    return best


def gains(profile: Profile, found: Fit) -> Array:
    """Give by how much each spot lowers the sum of squares, as far as others cannot stand in for it. Shape (K,).

    It is judged against what noise and the other spots may be there; its own irregularity is no reason to doubt it.
    """
    made = np.empty(len(found.peaks))
    pitch = float(profile.y[1] - profile.y[0])
    usual = np.linalg.det(profile.noise.inflated(USUAL / pitch))
    for number, peak in enumerate(found.peaks):
        others = tuple(one for n, one in enumerate(found.peaks) if n != number)
        heights = np.delete(found.heights, number, axis=0)
        root = whitener(profile.weights(others, heights))
        columns = _known(profile, root, others, heights)
        own = (peak.at(profile.y)[None, :, None] * root.transpose(2, 0, 1)).reshape(3, -1)
        normal = columns @ columns.T
        normal[np.diag_indices_from(normal)] += 1e-6 * np.diag(normal) + 1e-12
        cross = own @ columns.T
        left = own @ own.T - cross @ np.linalg.solve(normal, cross.T)
        width = np.linalg.det(profile.noise.inflated(peak.s / pitch))
        gain = float(found.heights[number] @ left @ found.heights[number])
        made[number] = max(gain, 0.0) * (usual / width) ** (1 / 3)
    return made


def _known(profile: Profile, root: Array, peaks: tuple[Peak, ...], heights: Array) -> Array:
    """What baseline and spots can take up: whitened columns of heights and of shapes."""
    flat = [profile.plain.T]
    bent = []
    for peak, height in zip(peaks, heights, strict=True):
        value, turned = slopes(profile.y, peak.mu, peak.s, peak.tau)
        flat.append(value[None])
        bent.append((turned[:, :, None] * (root @ height)[None]).reshape(3, -1))
    basis = np.concatenate(flat)
    columns = (basis[:, None, :, None] * root.transpose(2, 0, 1)[None]).reshape(3 * len(basis), -1)
    free = np.concatenate([np.ones(3 * profile.plain.shape[1], dtype=bool), heights.ravel() > 0.0])
    return np.concatenate([columns[free], *bent])
