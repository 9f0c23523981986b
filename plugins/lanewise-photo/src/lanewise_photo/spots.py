"""From the fit of a lane to its spots: places, uncertainties, states, colours and flags."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.colours import colour_of
from lanewise_photo.fitting import Fit, Peak, Profile, covariances
from lanewise_photo.flags import Flag
from lanewise_photo.grouping import grouped
from lanewise_photo.peaks import COLOURED, GAIN, GAIN_AT_ORIGIN, gains
from lanewise_photo.reading import CHANNELS, SpotReading, State
from lanewise_photo.shapes import edges
from lanewise_photo.tops import darkest, top_of

Array: TypeAlias = npt.NDArray[np.float64]

CENSORED = 1.5
"""Nearer to the origin or the front than this, a spot has no number, only a limit. [mm]"""

NEARLY = 1.64
"""So many standard uncertainties further off, half a millimetre at most, it may lie that near (one-sided 95 %)."""

SHOWS, SURE, SURE_GREY = 0.008, 0.02, 0.06
"""Optical density below which nothing is reported, below which a rise is reported without a number, and the same for
a grey one: uneven paper and lamp leave as much, shadows, creases and pencil are grey, and the eye sees a difference of
about 2 in CIELAB from 0.02 (common practice, no source)."""

GREY = 0.25
"""Share by which the channels of a spot differ below which it is grey: graphite's by a tenth, and noise adds to it."""

NARROW = 0.6
"""Standard deviation below which no drop stays: it wets 2 to 3 mm of paper (common practice, no source). [mm]"""

OVERLAP = 1.5
"""Two spots overlap that are nearer than so many times the sum of their standard deviations."""

CREST = 0.05
"""Standard uncertainty of a place because the crest of a spot is not square to its lane: it leans or bends by ten
degrees or so, and the middle of a lane is known to 0.3 mm. [mm]"""

LONG = 6.0
"""Standard deviation, or length of a tail, from which something pale is no spot but uneven light. [mm]"""

DISTINCT = 0.05
"""Optical density from which something so long is a streak after all."""

TAILING, STREAK = 1.0, 3.0
"""Tail over standard deviation from which a spot is called tailing, and a streak."""


@dataclass(frozen=True)
class Limits:
    """What holds for all spots of a lane.

    Attributes
    ----------
    origin : float
    front : float or None
        Heights of the two lines. [mm]
    u_origin, u_front : float
    threshold : float
        Strength above which a spot is certain.
    widening : float
        Factor on all uncertainties.
    """

    origin: float
    front: float | None
    u_origin: float
    u_front: float
    threshold: float
    widening: float


def evidence(profile: Profile, found: Fit) -> list[Array]:
    """Give for each spot of a lane how probable what was seen of it is for each of `SIZES`, as logarithm."""
    tops = [top_of(profile, found, parts) for parts in grouped(found)]
    return [top.likely() for top in tops if top is not None]


def spots_of(
    profile: Profile, found: Fit, x: Callable[[float], float], limits: Limits, sizes: Array
) -> tuple[SpotReading, ...]:
    """Turn the fit of a lane into spots, from the origin to the front; `sizes` as of `pooled`."""
    if not found.peaks:
        return ()
    strength = np.sqrt(gains(profile, found))
    shapes, heights = covariances(profile, found)
    made = []
    for parts in grouped(found):
        first = parts[0]
        peak, height = found.peaks[first], found.heights[first]
        if _outside(peak, height, limits) or height.max() < SHOWS or _uneven(peak, height):
            continue
        if _of_a_line(peak, height, limits):
            continue
        own = _Judged(float(strength[first]), shapes[first], heights[first])
        made.append(_spot(profile, found, parts, own, x, limits, sizes))
    return tuple(sorted(made, key=lambda spot: spot.centre))


@dataclass(frozen=True, eq=False)
class _Judged:
    """Strength of a spot, and covariances of its shape and its heights."""

    strength: float
    shape: Array
    heights: Array


def _grey(heights: Array) -> bool:
    return bool(heights.max() > 0 and (heights.max() - heights.min()) < GREY * heights.max())


def _of_a_line(peak: Peak, heights: Array, limits: Limits) -> bool:
    """Whether something grey on a line, narrower than any drop, is left of the line itself."""
    lines = [limits.origin] if limits.front is None else [limits.origin, limits.front]
    return _grey(heights) and peak.s < NARROW and any(abs(peak.mu - line) < 2.0 * NARROW for line in lines)


def _uneven(peak: Peak, heights: Array) -> bool:
    """Whether something is too long for its density to be a spot."""
    return bool(max(peak.s, abs(peak.tau)) > LONG and heights.max() < DISTINCT)


def _outside(peak: Peak, heights: Array, limits: Limits) -> bool:
    """Whether something lies beyond the two lines: writing, a mark, or what no dye can reach."""
    slack = 0.6 if heights.max() - heights.min() < 0.3 * heights.max() else CENSORED
    below = limits.origin - peak.mu
    return below > slack or (limits.front is not None and -below > limits.front - limits.origin + slack)


def _spot(
    profile: Profile,
    found: Fit,
    parts: list[int],
    own: _Judged,
    x: Callable[[float], float],
    limits: Limits,
    sizes: Array,
) -> SpotReading:
    peak, heights = found.peaks[parts[0]], found.heights[parts[0]]
    centre, u_centre = darkest(profile, found, parts, sizes)
    ends = np.array([edges(found.peaks[n].mu, found.peaks[n].s, found.peaks[n].tau) for n in parts])
    trailing, leading = min(float(ends[:, 0].min()), centre), max(float(ends[:, 1].max()), centre)
    slope = _slopes(peak)
    u = np.sqrt(np.maximum(np.einsum("ki,ij,kj->k", slope, own.shape, slope), 0.0)) * limits.widening
    covariance = own.heights * limits.widening**2
    channel = int(np.argmax(heights))
    area = float(heights[channel]) * peak.s * np.sqrt(2 * np.pi)
    u_area = area * float(np.hypot(np.sqrt(covariance[channel, channel]) / heights[channel], np.sqrt(own.shape[1, 1])))
    flags = _flags(found, parts[0], own.strength, limits)
    state = _state((centre, u_centre), peak, heights, limits, own.strength)
    if state == "at origin":
        flags.append(Flag("at_origin", "", abs(centre - limits.origin), CENSORED))
    elif state == "with front" and limits.front is not None:
        flags.append(Flag("with_front", "", abs(limits.front - centre), CENSORED))
    return SpotReading(
        label=str(parts[0] + 1),
        state=state,
        x=x(centre),
        trailing=trailing,
        centre=centre,
        leading=leading,
        u_trailing=float(np.hypot(u[0], 0.05 * (centre - trailing))),
        u_centre=float(np.hypot(u_centre * limits.widening, CREST)),
        u_leading=float(np.hypot(u[1], 0.05 * (leading - centre))),
        sigma=peak.s,
        tail=peak.tau,
        density=_three(heights),
        channel=CHANNELS[channel],
        area=max(area, 0.0),
        u_area=u_area,
        strength=own.strength,
        colour=colour_of(heights, covariance),
        flags=tuple(flags),
    )


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _slopes(peak: Peak) -> Array:
    """Slopes of trailing and leading edge in place, log standard deviation and tail over standard deviation."""
    skew, step = peak.tau / peak.s, 0.02
    start = np.array(edges(peak.mu, peak.s, peak.tau))
    wider = peak.s * np.exp(step)
    moved = [
        (peak.mu + step, peak.s, peak.tau),
        (peak.mu, wider, skew * wider),
        (peak.mu, peak.s, (skew + step) * peak.s),
    ]
    return np.stack([(np.array(edges(*one)) - start) / step for one in moved], axis=1)


def _state(place: tuple[float, float], peak: Peak, heights: Array, limits: Limits, strength: float) -> State:
    near = CENSORED + min(NEARLY * place[1], 0.5)
    least = limits.threshold
    if abs(place[0] - limits.origin) < CENSORED and heights.min() < COLOURED * heights.max():
        least = float(np.sqrt(max(least**2 - GAIN + GAIN_AT_ORIGIN, 0.0)))
    if strength < least or heights.max() < (SURE_GREY if _grey(heights) else SURE):
        return "unread"
    if place[0] - limits.origin < near:
        return "at origin"
    if limits.front is not None and limits.front - place[0] < near:
        return "with front"
    return "streak" if abs(peak.tau) >= STREAK * peak.s else "measured"


def _flags(found: Fit, number: int, strength: float, limits: Limits) -> list[Flag]:
    peak, heights = found.peaks[number], found.heights[number]
    flags = []
    if heights.max() < SURE:
        flags.append(Flag("faint", f"optical density {heights.max():.3f}, wanted {SURE:g}", float(heights.max()), SURE))
    elif strength < limits.threshold:
        flags.append(
            Flag(
                "faint",
                f"{strength:.1f} standard deviations, wanted {limits.threshold:.1f}",
                strength,
                limits.threshold,
            )
        )
    ratio = abs(peak.tau) / peak.s
    long = f"tail {ratio:.1f} standard deviations long"
    if ratio >= STREAK:
        flags.append(Flag("streak", long, ratio, STREAK))
    elif ratio >= TAILING:
        flags.append(Flag("tailing", long, ratio, TAILING))
    if _grey(heights):
        flags.append(Flag("neutral", "", float(1.0 - heights.min() / heights.max()), GREY))
    for other, neighbour in enumerate(found.peaks):
        apart, limit = abs(neighbour.mu - peak.mu), OVERLAP * (neighbour.s + peak.s)
        if other != number and apart < limit:
            flags.append(Flag("overlap", f"{apart:.1f} mm apart", apart, limit))
            break
    return flags


def numbered(spots: Sequence[SpotReading]) -> tuple[SpotReading, ...]:
    """Number the spots of a lane from the origin; names given by hand stay."""
    from dataclasses import replace

    ordered = sorted(spots, key=lambda spot: spot.centre)
    return tuple(spot if spot.by else replace(spot, label=str(n)) for n, spot in enumerate(ordered, start=1))
