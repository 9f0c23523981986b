"""Which spots belong to one lane, and the profile of a lane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.blobs import RIM, Blob, Search
from lanewise_photo.flat import Flat

Array: TypeAlias = npt.NDArray[np.float64]

NEAREST = 5.0
"""Lanes lie at least this far apart, unless there are too many for it. [mm]"""

FULL = 120.0
"""Strength from which a spot weighs no more in finding its lane, on a sheet with strong ones."""

DRIFT = 3.0
"""How far a spot may lie beside its lane. [mm]"""

MOST_LANES, MOST_SPOTS = 12, 40
"""Largest number of lanes that is looked for, and of spots that are asked."""

MOST_EMPTY = 1 / 3
"""Share of lanes without spots above which the empty ones are none: one lane alone says nothing of the distance to
others, and a hand leaves few lanes empty."""

SCATTER = (0.006, 0.012, 0.024)
"""How far spots lie beside evenly spaced lanes, as standard deviations: from half a millimetre to two on a sheet of
80 mm. [width of the sheet]"""

OFF_MIDDLE, PACES = 0.025, 0.35
"""How far the middle of all lanes commonly lies beside that of the sheet [width of the sheet], and the logarithm of
their distance beside that of lanes that fill it (common practice, no source)."""

REACH, GRID = 0.25, 0.008
"""How far the middle is looked for, and in what steps. [width of the sheet]"""

HALF_SURE = 0.25
"""Share of the strength of full weight at which a candidate is a spot as likely as not."""

HALF_STRIP = 1.5
"""Half of the width over which a lane is averaged. [mm]"""

STEP = 0.25
"""Distance of the rows of a profile. [mm]"""


def find_lanes(blobs: Sequence[Blob], width: float, count: int | None) -> list[float]:
    """Find where lanes run from the spots that were seen.

    Parameters
    ----------
    blobs : sequence of Blob
        Trusted spots.
    width : float
        Width of the sheet. [mm]
    count : int or None
        Number of lanes, where it is known.

    Returns
    -------
    list of float
        Places of the lanes from left to right, as many as `count` where that is known. [mm]
    """
    if not blobs:
        return []
    if count is not None:
        return _lattice(blobs, count, width)
    places = _lattice(blobs, count_lanes(blobs, width), width)
    held = [place for place in places if any(abs(blob.x - place) < DRIFT for blob in blobs)]
    few = len(held) < 2 or len(places) - len(held) > MOST_EMPTY * len(places)
    return held if held and few else places


def count_lanes(blobs: Sequence[Blob], width: float) -> int:
    """Tell how many lanes there are where nobody said: the number that explains the spots best.

    Lanes stand at even distances about the middle of the sheet. A spot lies in one of them, all alike likely, beside
    its middle by no more than `SCATTER`, or is none and lies anywhere, the likelier the fainter it is. The likelihood
    of all spots is averaged over all places and distances that a hand would choose, so that each further lane has to
    pay for itself: it takes its share of the likelihood from all others. Everything is in units of the sheet's width,
    which may be all that is known of its size.

    Parameters
    ----------
    blobs : sequence of Blob
        Trusted spots, at least one.
    width : float
        Width of the sheet. [mm]
    """
    strongest = sorted(blobs, key=lambda blob: -blob.strength)[:MOST_SPOTS]
    x = np.array([blob.x for blob in strongest]) / width
    strength = np.array([blob.strength for blob in strongest])
    doubt = 1.0 / (1.0 + (strength / (HALF_SURE * _full(strongest))) ** 2)
    return 1 + int(np.argmax([_evidence(x, doubt, count) for count in range(1, MOST_LANES + 1)]))


def _evidence(x: Array, doubt: Array, count: int) -> float:
    """Logarithm of the mean likelihood of spots at `x` in so many lanes, over all places and distances of these."""
    middles = np.arange(0.5 - REACH, 0.5 + REACH + GRID / 2, GRID)
    usual = 1.0 / (count + 0.3)
    pace = np.arange(0.5 * usual, 0.97 / max(count - 1, 0.7), 2 * GRID / max(count - 1, 1)) if count > 1 else np.ones(1)
    spread = np.log(pace / usual) / PACES if count > 1 else np.zeros(1)
    prior = (1.0 / (1.0 + ((middles - 0.5) / OFF_MIDDLE) ** 2))[:, None] * np.exp(-0.5 * spread**2)
    half = 0.5 * (count - 1)
    number = (x - middles[:, None, None]) / pace[:, None] + half
    away = np.abs(number - np.clip(np.rint(number), 0, count - 1)) * pace[:, None]
    best = []
    for scatter in SCATTER:
        lane = np.exp(-0.5 * (away / scatter) ** 2) / (scatter * np.sqrt(2 * np.pi) * count)
        best.append(np.log((1.0 - doubt) * lane + doubt).sum(axis=2))
    logarithm = np.stack(best) + np.log(prior / prior.sum())
    top = float(logarithm.max())
    return top + float(np.log(np.exp(logarithm - top).sum()))


def _full(blobs: Sequence[Blob]) -> float:
    return float(np.clip(0.6 * max(blob.strength for blob in blobs), 25.0, FULL))


def _lattice(blobs: Sequence[Blob], count: int, width: float) -> list[float]:
    """Find a known number of lanes: they stand at about even distances about the middle of the sheet.

    Of all places and paces the one is taken whose lanes hold most spots, less what it lies beside the middle of the
    sheet and the usual pace, each in units of what a hand commonly misses (common practice, no source). Each lane
    with spots then goes to its own.
    """
    x = np.array([blob.x for blob in blobs])
    full = _full(blobs)
    weights = np.array([min(blob.strength, full) ** 2 / full for blob in blobs])
    strengths = np.array([min(blob.strength, 2 * full) ** 2 for blob in blobs])
    usual = width / (count + 0.3)
    order = np.arange(count) - 0.5 * (count - 1)
    best, chosen, pitch = -np.inf, [], usual
    grid = np.arange(0.0, width + 0.25, 0.25)
    paces = (
        np.arange(min(NEAREST, 0.6 * usual), (width - 5.0) / max(count - 1, 1) + 0.05, 0.1)
        if count > 1
        else np.array([usual])
    )
    for pace in paces:
        spread = 0.3 + 0.06 * pace
        each = weights * np.exp(-0.5 * ((grid[:, None] - x) / spread) ** 2)
        course = np.partition(each, max(len(x) - 2, 0), axis=1)[:, -2:].sum(axis=1)  # many faint ones make no lane
        seen = np.minimum(course, full) / full
        middles = np.arange(0.3 * width, 0.7 * width, 0.25)
        places = middles[:, None] + pace * order
        held = seen[np.clip(np.rint(places / 0.25).astype(int), 0, len(grid) - 1)].sum(axis=1)
        cost = ((middles - width / 2) / (0.05 * width)) ** 2 + (np.log(pace / usual) / 0.35 if count > 1 else 0.0) ** 2
        score = np.where((places[:, 0] < 2.5) | (places[:, -1] > width - 2.5), -np.inf, held - 0.05 * cost)
        top = int(np.argmax(score))
        if score[top] > best:
            best, chosen, pitch = (float(score[top]), [float(one) for one in places[top]], float(pace))
    near = np.abs(x - np.array(chosen)[:, None]) < (0.25 * pitch if count > 1 else width)
    own = [_middle_of(x[one], strengths[one]) if one.any() else np.nan for one in near]
    return _with_empty(np.array(own), np.array(chosen), width)


def _with_empty(own: Array, planned: Array, width: float) -> list[float]:
    """Give lanes without spots, which are nan, the places that follow from those of two or more others."""
    seen = np.isfinite(own)
    if seen.sum() >= 2:
        order = np.arange(len(own))
        straight = np.polyval(np.polyfit(order[seen], own[seen], 1), order)
        planned = np.clip(straight, RIM, width - RIM)
    return [float(one) for one in np.where(seen, own, planned)]


def _middle_of(values: Array, weights: Array) -> float:
    """Weighted median, between the two values next to it."""
    order = np.argsort(values)
    share = (np.cumsum(weights[order]) - 0.5 * weights[order]) / weights.sum()
    return float(np.interp(0.5, share, values[order]))


@dataclass(frozen=True, eq=False)
class Rows:
    """The sheet in rows as lanes are read in them, summed up from the left so that any strip is a difference.

    Attributes
    ----------
    heights : array of shape (N,)
        Middle of each row. [mm]
    sums : array of shape (N, columns + 1, 3)
        Sum of the density over the columns before each.
    pitch : float
        Distance of columns. [mm]
    """

    heights: Array
    sums: Array
    pitch: float


def lane_rows(flat: Flat, low: float, high: float) -> Rows:
    """Take the rows between two heights in mm, each the mean of as many rows of the flat sheet as fit."""
    per = max(1, round(STEP / flat.pitch))
    pace = per * flat.pitch
    first, last = (max(0, int(np.ceil(low / pace))), min(int(np.floor(high / pace)), flat.density.shape[0] // per))
    part = flat.density[first * per : last * per]
    mean = part.reshape(last - first, per, *part.shape[1:]).mean(axis=1, dtype=np.float64)
    sums = np.zeros((mean.shape[0], mean.shape[1] + 1, 3))
    np.cumsum(mean, axis=1, out=sums[:, 1:])
    return Rows((np.arange(first, last) + 0.5) * pace, sums, flat.pitch)


def lane_profile(rows: Rows, x: Array, half: float) -> Array:
    """Average the density across a lane.

    Parameters
    ----------
    rows : Rows
        The sheet.
    x : array of shape (N,)
        Middle of the lane in each row. [mm]
    half : float
        Half of the width of the lane. [mm]

    Returns
    -------
    array of shape (N, 3)
        Mean optical density.
    """
    columns = rows.sums.shape[1] - 1
    reach = max(1, round(half / rows.pitch))
    middle = np.clip(np.rint(x / rows.pitch - 0.5).astype(int), reach, columns - 1 - reach)
    number = np.arange(len(rows.heights))
    made: Array = (rows.sums[number, middle + reach + 1] - rows.sums[number, middle - reach]) / (2 * reach + 1)
    return made


def blank_profiles(rows: Rows, search: Search, half: float) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Take profiles all over the sheet, and where in them no spot is.

    Returns
    -------
    profiles : array of shape (K, N, 3)
    used : array of shape (K, N)
    """
    from scipy.ndimage import binary_dilation

    busy = np.abs(search.strength) > max(4.0, 0.7 * search.threshold)
    spotted = np.array(binary_dilation(busy, iterations=max(1, round(1.5 / search.pitch))), dtype=bool, ndmin=2)
    width = (rows.sums.shape[1] - 1) * rows.pitch
    places = np.arange(2.5 + half, width - 2.5 - half, 2 * half)
    row = np.clip((rows.heights / search.pitch).astype(int), 0, spotted.shape[0] - 1)
    profiles, used = [], []
    for x in places:
        profiles.append(lane_profile(rows, np.full(len(row), x), half))
        columns = slice(max(0, int((x - half) / search.pitch)), int((x + half) / search.pitch) + 1)
        used.append(~np.any(spotted[:, columns], axis=1, keepdims=True)[row, 0])
    return np.stack(profiles), np.stack(used)


LEAN = 0.02
"""By what share of their height lanes commonly lean, as a standard deviation: 2 mm on 100 mm (common practice, no
source)."""

BESIDE, UNSURE = 0.5, 10.0
"""How far a spot commonly lies beside its lane, and over its strength what is not known of its place. [mm]"""

STRAY, STRAY_SHARE = 1.5, 0.2
"""Farther beside its lane [mm], a candidate of less than this share of the lane's strongest draws no course."""


def lean_of(places: Sequence[float], blobs: Sequence[Blob]) -> float:
    """By how much all lanes lean together, as millimetres to the right for each millimetre up.

    Spots of one lane tell, as deviations from their lane's mean; what they say is weighed against no lean, give or
    take `LEAN`, and a spot far beside its lane counts less.
    """
    rows = []
    for number in range(len(places)):
        own = [blob for blob in blobs if _is_of(blob.x, places, number)]
        if len(own) > 1:
            w = np.array([1.0 / (BESIDE**2 + (UNSURE / blob.strength) ** 2) for blob in own])
            x, y = np.array([(blob.x, blob.y) for blob in own]).T
            rows.append((x - np.average(x, weights=w), y - np.average(y, weights=w), w))
    if not rows:
        return 0.0
    x, y, w = (np.concatenate(part) for part in zip(*rows, strict=True))
    slope = 0.0
    for _ in range(6):
        off = np.abs(x - slope * y) * np.sqrt(w)
        weight = w * np.minimum(1.0, 1.5 / np.maximum(off, 1e-9))
        slope = float((weight * x * y).sum() / ((weight * y * y).sum() + LEAN**-2))
    return slope


def _is_of(x: float, places: Sequence[float], number: int) -> bool:
    return abs(x - places[number]) < DRIFT and int(np.argmin([abs(x - place) for place in places])) == number


def lane_courses(places: Sequence[float], start: float, lean: float, blobs: Sequence[Blob], y: Array) -> list[Array]:
    """Middle of each lane at each height: from its place at the origin along the lean of all, drawn to its spots.

    Parameters
    ----------
    places : sequence of K floats
        Where lanes start. [mm]
    start : float
        Height at which they do. [mm]
    lean : float
        As of `lean_of`.
    blobs : sequence of Blob
        Trusted spots.
    y : array of shape (N,)
        Heights. [mm]

    Returns
    -------
    list of K arrays of shape (N,)
        [mm]
    """
    made = []
    for number, place in enumerate(places):
        own = [
            (blob.y, blob.x - lean * (blob.y - start) - place, blob.strength)
            for blob in blobs
            if _is_of(blob.x - lean * (blob.y - start), places, number)
        ]
        own.sort(key=lambda one: one[2], reverse=True)
        kept: list[tuple[float, float]] = []
        for height, off, strength in own:
            stray = abs(off) > STRAY and strength < STRAY_SHARE * own[0][2]
            if not stray and all(abs(height - other) > 2.0 for other, _ in kept):
                kept.append((height, off))
        kept.sort()
        drawn = np.interp(y, *np.array(kept).T) if kept else 0.0
        made.append(np.asarray(place + lean * (y - start) + drawn, dtype=float))
    return made
