"""Spots hidden in the flank of a stronger one: told by the evidence, with all that may bend a spot's shape.

The fit of a lane takes neighbouring rows as independent and is lenient with the shape of dark spots, so that nothing is
seen in their skirts that is not there. Here what is left in the flank of each is looked at once more with all its
correlations: another spot is added where it makes what was seen that much more probable.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.fitting import Fit, Peak, Profile, fit
from lanewise_photo.grouping import grouped
from lanewise_photo.peaks import SAME_PLACE, Rise, rises_of
from lanewise_photo.tops import rows_of, top_of

Array: TypeAlias = npt.NDArray[np.float64]

SHARP = 0.4
"""Size of the discrepancy with which hidden spots are looked for: that of tidy spots."""

ODDS = 7.0
"""Logarithm of the odds from which another spot is there: 1000 to 1."""

ODDS_OF_SHAPE = 0.0
"""The same of a part of a spot of its colour, which makes no spot more: the more probable shape is taken."""

MOST = 4
"""Most hidden spots of one lane, and most places that are tried."""

DARK = 0.1
"""Optical density from which a spot can hide another by its discrepancy. [1]"""


def with_hidden(profile: Profile, found: Fit, sizes: Array) -> tuple[Profile, Fit]:
    """Add the spots that hide in others; give the profile back with the size of discrepancy that told them.

    Parameters
    ----------
    profile : Profile
    found : Fit
    sizes : array of shape (S,)
        How probable each of `discrepancy.SIZES` is for a spot of this sheet.
    """
    if not found.peaks or found.heights.max() < DARK:
        return profile, found
    sharp = replace(profile, size=SHARP)
    best, barred = fit(sharp, sharp.weights(found.peaks, found.heights), found.peaks), list[Rise]()
    started = len(best.peaks)
    for _ in range(MOST):
        rises = [one for one in rises_of(sharp, best) if _hides(one, best) and not _tried(one, barred)]
        if not rises:
            break
        rise = max(rises, key=lambda one: one.gain)
        more = fit(sharp, best.weights, (*best.peaks, Peak(rise.y, rise.s)))
        more = fit(sharp, sharp.weights(more.peaks, more.heights), more.peaks)
        if _apart(more) and gained(profile, best, more, sizes) > (ODDS if stands_alone(more) else ODDS_OF_SHAPE):
            best = more
        else:
            barred.append(rise)
    if len(best.peaks) == started:
        return profile, found
    order = np.argsort([peak.mu for peak in best.peaks])
    return sharp, fit(sharp, best.weights, tuple(best.peaks[n] for n in order), 2)


def gained(profile: Profile, found: Fit, more: Fit, sizes: Array) -> float:
    """Logarithm of how much more probable a fit with one more spot, the last, makes what was seen near it."""
    new = more.peaks[-1]
    touched = [peak for peak in found.peaks if abs(peak.mu - new.mu) < 2.0 * (peak.s + new.s)]
    rows = rows_of(profile, [new, *touched])
    if len(rows) < 5 or not touched:
        return -np.inf
    before = top_of(profile, found, [found.peaks.index(touched[0])], rows)
    after = top_of(profile, more, [len(more.peaks) - 1], rows)
    if before is None or after is None:
        return -np.inf
    odds = [np.logaddexp.reduce(np.log(sizes + 1e-9) + top.likely()) for top in (after, before)]
    return float(odds[0] - odds[1])


def stands_alone(found: Fit) -> bool:
    """Whether the last peak is a spot by itself."""
    last = len(found.peaks) - 1
    return any(group == [last] for group in grouped(found))


def _hides(rise: Rise, found: Fit) -> bool:
    return any(
        height.max() > DARK and abs(rise.y - peak.mu) < 2.0 * (rise.s + peak.s + abs(peak.tau))
        for peak, height in zip(found.peaks, found.heights, strict=True)
    )


def _tried(rise: Rise, barred: list[Rise]) -> bool:
    return any(abs(rise.y - one.y) < max(one.s, rise.s) for one in barred)


def _apart(found: Fit) -> bool:
    new, height = found.peaks[-1], found.heights[-1]
    return bool(height.max() > 0.01) and all(
        abs(peak.mu - new.mu) >= SAME_PLACE * min(peak.s, new.s) for peak in found.peaks[:-1]
    )
