"""From strips of the sheet to what each lane holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.discrepancy import pooled
from lanewise_photo.fitting import Fit, Profile
from lanewise_photo.lines import Line
from lanewise_photo.noise import Noise
from lanewise_photo.overlaps import with_hidden
from lanewise_photo.peaks import fit_lane, with_origin
from lanewise_photo.reading import LaneReading
from lanewise_photo.spots import Limits, evidence, numbered, spots_of

Array: TypeAlias = npt.NDArray[np.float64]

CERTAIN = 7.0
"""Strength in its lane from which a spot is certain: blank paper now and then shows one of 5 to 7 (in simulation)."""

BEYOND = 2.0
"""How far below the origin and above the front spots are looked for. [mm]"""

MAPPED = 0.02
"""Standard uncertainty of a line's place that laying the sheet flat leaves: 0.005 mm without, 0.03 mm with the
distortion of a common lens, in simulation. [mm]"""

WRITTEN = 0.02
"""Optical density of all channels together from which something beyond the lines is writing."""

LINE, ON_LINE = 0.7, 0.7
"""How far from the middle of a line it disturbs what lies below it [mm], and what a row there counts once a pencil
line was taken out, or with a step in the model."""


@dataclass(frozen=True, eq=False)
class LaneStrip:
    """A lane that was found.

    Attributes
    ----------
    x : float
        Its place. [mm]
    course : array of shape (N,)
        Its middle at each height. [mm]
    profile : Profile
        What is fitted in it.
    """

    x: float
    course: Array
    profile: Profile


def read_lanes(
    strips: Sequence[LaneStrip], lines: tuple[Line, Line | None], widening: float, names: Sequence[str]
) -> list[LaneReading]:
    """Read all lanes of a sheet together: how ragged its spots are shows in all of them.

    Parameters
    ----------
    strips : sequence of LaneStrip
    lines : Line, and Line or None
        Origin and front.
    widening : float
        Factor on all uncertainties.
    names : sequence of str
        Names of the samples; without them if there are not as many as lanes.
    """
    fitted = [
        (strip.profile, with_origin(strip.profile, fit_lane(strip.profile), lines[0].near(strip.x))) for strip in strips
    ]
    seen = [evidence(profile, found) for profile, found in fitted]
    sizes = pooled([one for lane in seen for one in lane])
    told = [with_hidden(profile, found, sizes) for profile, found in fitted]
    if any(new[1] is not old[1] for new, old in zip(told, fitted, strict=True)):
        seen = [lane if new[1] is old[1] else evidence(*new) for lane, new, old in zip(seen, told, fitted, strict=True)]
        sizes = pooled([one for lane in seen for one in lane])
    named = len(names) == len(strips)
    return [
        _lane(number, replace(strip, profile=profile), found, sizes, lines, widening, names[number] if named else "")
        for number, (strip, (profile, found)) in enumerate(zip(strips, told, strict=True))
    ]


def _lane(
    number: int,
    strip: LaneStrip,
    found: Fit,
    sizes: Array,
    lines: tuple[Line, Line | None],
    widening: float,
    name: str,
) -> LaneReading:
    origin, front = lines
    heights, at_front = strip.profile.y, None if front is None else front.near(strip.x)
    limits = Limits(origin.near(strip.x), at_front, _u(origin), _u(front), CERTAIN, widening)
    spots = spots_of(strip.profile, found, lambda y: float(np.interp(y, heights, strip.course)), limits, sizes)
    return LaneReading(
        label=str(number + 1),
        sample=name,
        x=strip.x,
        origin=limits.origin,
        front=at_front,
        u_origin=limits.u_origin,
        u_front=limits.u_front,
        heights=heights,
        density=strip.profile.values,
        spots=numbered(spots),
    )


def _u(line: Line | None) -> float:
    """Standard uncertainty of a line at one lane: its course, its waves there, and what its kind leaves open."""
    if line is None:
        return 0.0
    return float(np.sqrt(line.u**2 + line.bias**2 / 3 + MAPPED**2))


def lane_model(heights: Array, density: Array, noise: Noise, origin: Line, front: Line | None, x: float) -> Profile:
    """Make what is fitted in a lane: baseline, lines of known place, and where lines hide what is below them."""
    t = np.linspace(-1, 1, len(heights))
    plain = [np.polynomial.chebyshev.chebvander(t, 3)]
    used = np.ones(len(heights))
    for line in (origin, front):
        if line is None or line.kind == "by hand":
            continue
        z = heights - float(line.at(x))
        if line.kind == "wet step":
            from scipy.special import erf

            plain.append(erf(z / max(line.spread, 0.3) / np.sqrt(2))[:, None])
        elif line.kind == "tide line":
            plain.append(line.across(z)[:, None])
            continue
        used[np.abs(z) < LINE] = ON_LINE
    used[_written(heights, density, float(origin.at(x)), None if front is None else float(front.at(x)))] = 0.0
    return Profile(heights, density, used, np.concatenate(plain, axis=1), noise)


def _written(heights: Array, density: Array, origin: float, front: float | None) -> npt.NDArray[np.bool_]:
    """Tell where something grey stands beyond the two lines, such as a lane's name: it is no dye and no baseline."""
    from scipy.ndimage import binary_dilation

    beyond = heights < origin - BEYOND
    if front is not None:
        beyond |= heights > front + BEYOND
    grey = beyond & (density.min(axis=1) > WRITTEN)
    return np.asarray(beyond & binary_dilation(grey, iterations=3))
